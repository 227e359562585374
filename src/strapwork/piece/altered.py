"""The pattern with what an order asks to be otherwise: ends, distances, slits, holes, hardware."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.order.order import Order
from strapwork.stock.hardware import Catalogue
from strapwork.stock.patterns import End, Fixture, Pattern
from strapwork.units import say, say_at_most


@dataclass(frozen=True, slots=True)
class Sides:
    """The two ends of a pattern, changed alike or each for itself."""

    start: End
    finish: End

    def each(self, change: Callable[[End, int], End]) -> Sides:
        """Both ends changed; ``change`` is told which one it has (0 start, 1 finish)."""
        return Sides(change(self.start, 0), change(self.finish, 1))


def altered(order: Order, width: float, strands: int, catalogue: Catalogue) -> Pattern:
    """The pattern of an order with everything it asks for instead.

    Raises:
        InputError: for a row of holes, hardware or relief that this pattern or width does not take.
    """
    r, ask = order.pattern, order.ask
    slits = r.slits
    if slits.at is not None and len(slits.at) != strands - 1:
        slits = slits.model_copy(update={"at": None})
    if ask.relief is not None:
        if ask.relief > width / strands - 1.0:
            raise InputError(
                order.place.key("relief"),
                tr(
                    "relief holes of {relief} leave nothing of strands {width} wide",
                    relief=say(ask.relief),
                    width=say(width / strands),
                ),
                tr("use at most {room}", room=say_at_most(width / strands - 1.0)),
            )
        slits = slits.model_copy(update={"relief": ask.relief})
    sides = Sides(r.start, r.finish)
    sides = sides.each(lambda end, k: _shaped(order, end, k, width))
    sides = _with_holes(order, sides)
    sides = sides.each(lambda end, k: _spaced(order, end, k))
    sides = _with_hardware(order, sides, catalogue)
    return r.model_copy(update={"slits": slits, "start": sides.start, "finish": sides.finish})


def _shaped(order: Order, end: End, k: int, width: float) -> End:
    ask = order.ask
    if ask.ends is not None and ask.ends[k] != end.shape:
        end = end.model_copy(update={"shape": ask.ends[k], "depth": None, "radius": None})
    radius = ask.end_radius[k] if ask.end_radius is not None else None
    if radius is None:
        return end
    where, name = order.place.key("end_radius"), ("start", "finish")[k]
    if end.shape != "round":
        # One radius for both ends means the round ones; for this end alone it would do nothing.
        if ask.end_radius == (radius, radius) and "round" in _shapes(order):
            return end
        raise InputError(
            where,
            tr("the {name} is {shape}, not round", name=name, shape=tr(end.shape)),
            tr("ask for round ends with {key}", key=order.place.key("ends")),
        )
    if radius > width / 2.0 + 1e-9:
        raise InputError(
            where,
            tr("a radius of {radius} does not go on a strap {width} wide", radius=say(radius), width=say(width)),
            tr("use at most {width}", width=say_at_most(width / 2.0)),
        )
    return end.model_copy(update={"radius": radius})


def _shapes(order: Order) -> tuple[str, str]:
    return order.ask.ends or (order.pattern.start.shape, order.pattern.finish.shape)


def _spaced(order: Order, end: End, k: int) -> End:
    """The end with the distances that the maker chooses each time."""
    update: dict[str, float] = {}
    for key in ("to_tip", "to_slit"):
        asked = getattr(order.ask, key)
        if asked is not None and asked[k] is not None:
            update[key] = asked[k]
    return end.model_copy(update=update) if update else end


def hole_row(end: End) -> Fixture | None:
    """The row of holes of an end, as on a belt."""
    return next((f for f in end.fixtures if f.part == "hole" and f.count > 1), None)


def _with_holes(order: Order, sides: Sides) -> Sides:
    count = order.ask.holes
    if count is None:
        return sides
    if hole_row(sides.start) is None and hole_row(sides.finish) is None:
        raise InputError(
            order.place.key("holes"),
            tr("{name} has no row of holes", name=shown(order.pattern.name)),
            tr("leave the number of holes out"),
        )

    def changed(end: End, _: int) -> End:
        row = hole_row(end)
        if row is None:
            return end
        # Plain leather grows or shrinks with the holes inwards of the measure, the tip with those outwards of it.
        spacing = row.spacing or 0.0
        inwards = (count - 1) // 2 - (row.count - 1) // 2
        outwards = count // 2 - row.count // 2
        fixtures = tuple(f.model_copy(update={"count": count}) if f is row else f for f in end.fixtures)
        return end.model_copy(
            update={
                "fixtures": fixtures,
                "to_slit": end.to_slit + inwards * spacing,
                "to_tip": end.to_tip + outwards * spacing,
            }
        )

    return sides.each(changed)


def _with_hardware(order: Order, sides: Sides, catalogue: Catalogue) -> Sides:
    """The sizes that the order names, each for every part of its kind."""
    has = sorted(
        {f.part for end in (sides.start, sides.finish) for f in end.fixtures if f.part not in ("hole", "keeper")}
    )
    where = order.place.key("hardware")
    for said in order.ask.hardware or ():
        if not has:
            raise InputError(
                where, tr("{name} takes no hardware", name=shown(order.pattern.name)), tr("leave the hardware out")
            )
        size = catalogue.understood(said, has, where)
        kind = catalogue.family_of(size).kind

        def picked(end: End, _: int, kind: str = kind, name: str = size.name) -> End:
            fixtures = tuple(f.model_copy(update={"pick": name}) if f.part == kind else f for f in end.fixtures)
            return end.model_copy(update={"fixtures": fixtures})

        if kind not in has:
            raise InputError(
                where,
                tr("{name} has no {kind}", name=shown(order.pattern.name), kind=tr(kind)),
                tr("pick a {has}", has=tr(" or ").join(has)),
            )
        sides = sides.each(picked)
    return sides
