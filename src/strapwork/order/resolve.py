"""From what was asked to orders: the one check that every door goes through."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from strapwork.errors import InputError, Place, shown
from strapwork.files import schema
from strapwork.files.folders import Places
from strapwork.order import names
from strapwork.order.description import MOST_PIECES, Hand, JobAsk, PieceAsk
from strapwork.order.order import Job, Order
from strapwork.stock import machines, printers, shelf
from strapwork.stock import patterns as pattern_files
from strapwork.stock.leather import Leather
from strapwork.stock.machines import Machine
from strapwork.stock.patterns import Pattern
from strapwork.stock.shelf import LeatherSpec
from strapwork.units import parse_length, parse_thickness

MARGIN = 8.0
MOST_SIZE_NAME = 20


@dataclass(frozen=True, slots=True)
class Asked:
    """One piece as a door hands it on: keys and values (texts or a file's own types), and where they stand."""

    values: Mapping[str, Any]
    place: Place


def job(values: Mapping[str, Any], pieces: Iterable[Asked], place: Place, places: Places, stem: str) -> Job:
    """A job from the keys of a job and of its pieces.

    Args:
        values: keys of the job, as texts or a file's own types.
        pieces: what is asked of each piece.
        place: where the job's own keys stand.
        places: where the maker's own patterns, leathers and printers are.
        stem: names the files.

    Raises:
        InputError: for the first thing that cannot be used, naming the place, the value and the remedy.
    """
    ask = schema.check(JobAsk, dict(values), place, _unit(values))
    machine = _machine(ask, place, places.patterns)
    orders: list[Order] = []
    find = _Finder(ask, places, machine.takes if machine else 0.0)
    rows: list[dict[str, Any]] = []
    for piece in pieces:
        rows.append(dict(piece.values))
        orders += find.orders(schema.check(PieceAsk, dict(piece.values), piece.place, ask.units), piece.place)
        if len(orders) > MOST_PIECES:
            raise InputError(
                place.key("pieces"), f"more than {MOST_PIECES} pieces are too many for one job", "split the job"
            )
    if not orders:
        raise InputError(place.key("pieces"), "there is no piece in the job", "add one")
    title = names.tidy(ask.title or "") or orders[0].label
    return Job(
        title=title,
        orders=tuple(orders),
        paper=replace(ask.paper, name=names.tidy(ask.paper.name)),
        margin=MARGIN if ask.margin is None else ask.margin,
        units=ask.units or "mm",
        formats=ask.formats,
        card=ask.card,
        machine=machine,
        printer=printers.find(ask.printer, place.key("printer"), places.printers) if ask.printer else None,
        stem=stem,
        asked={**values, "pieces": rows},
    )


def _unit(values: Mapping[str, Any]) -> str | None:
    """The unit of a bare number among the job's own keys; a wrong one is refused by the check itself."""
    unit = values.get("units")
    return unit if unit in ("mm", "in", "in16") else None


def _machine(ask: JobAsk, place: Place, folder: Path | None) -> Machine | None:
    if ask.machine is None:
        if ask.bed is not None:
            raise InputError(
                place.key("bed"), "a bed without a machine", f"name the machine with {place.key('machine')}"
            )
        return None
    machine = machines.find(ask.machine, place.key("machine"), folder)
    return machine if ask.bed is None else machine.model_copy(update={"bed": ask.bed})


class _Finder:
    """Looks up what pieces name, each file once."""

    def __init__(self, job: JobAsk, places: Places, slot: float) -> None:
        self.job, self.places, self.slot = job, places, slot
        self.pattern = cache(self._pattern)
        self.named = {name: spec.leather(names.tidy(name)) for name, spec in job.leathers.items()}
        self.kept = cache(lambda: shelf.read(places.shelf or shelf.default_path()))

    def _pattern(self, name: str) -> Pattern:
        return pattern_files.find(name, "", self.places.patterns)

    def orders(self, ask: PieceAsk, place: Place) -> list[Order]:
        """The order, or one for each size of a run."""
        try:
            pattern = self.pattern(ask.pattern)
        except InputError as e:
            raise e.at(e.place or place.key("pattern")) from e
        label = names.tidy(ask.label) if ask.label is not None else pattern.title
        if not label:
            raise InputError(
                place.key("label"), f"{shown(ask.label)} has no letter that can be printed", "give the piece a name"
            )
        leather = self.leather(ask, pattern, place)
        hand: Hand = ask.hand or self.job.default_hand
        return [
            Order(
                f"{label} {size}".strip(),
                pattern,
                parse_length(text, place=where, unit=self.job.units),
                leather,
                hand,
                ask,
                place,
                self.places.patterns,
                self.slot,
                bool(self.job.broken if ask.broken is None else ask.broken),
            )
            for size, text, where in _sizes(ask, pattern, place)
        ]

    def leather(self, ask: PieceAsk, pattern: Pattern, place: Place) -> Leather:
        """The leather of a piece: named, written out or by thickness, with what the piece itself says of it."""
        return ask.over(self._leather(ask.leather, pattern, place.key("leather")))

    def _leather(self, said: str | LeatherSpec | None, pattern: Pattern, where: str) -> Leather:
        if said is None:
            return Leather(pattern.leather)
        if isinstance(said, LeatherSpec):
            return said.leather("")
        if said in self.named:
            return self.named[said]
        if shelf.is_thickness(said):
            return Leather(parse_thickness(said, place=where))
        return shelf.pick(said, where, self.kept(), list(self.named))


def _sizes(ask: PieceAsk, pattern: Pattern, place: Place) -> list[tuple[str, str, str]]:
    """(size name, measure text, place) of every size of a piece."""
    if ask.measure is not None and ask.sizes is not None:
        raise InputError(str(place), "both measure and sizes are given", "give one of them")
    if ask.sizes is not None:
        if not ask.sizes:
            raise InputError(place.key("sizes"), "no sizes are given", "give at least one, such as { S = '16 cm' }")
        return [
            (names.tidy(name)[:MOST_SIZE_NAME], text, f"{place.key('sizes')}.{name}")
            for name, text in ask.sizes.items()
        ]
    if ask.measure is None:
        raise InputError(
            place.key("measure"),
            f"the {pattern.measure.what} is missing",
            f"measure it and say, for example, '{pattern.measure.example()}'",
        )
    return [("", ask.measure, place.key("measure"))]


def companion(order: Order, pattern_name: str, label: str, value: float) -> Order:
    """The order for a piece that goes with another, such as a belt's keeper."""
    place = Place.part(f"{order.place}, {label}")
    pattern = pattern_files.find(pattern_name, str(place), order.patterns)
    ask = PieceAsk(pattern=pattern_name, count=order.ask.count)
    return Order(
        f"{order.label}: {label}", pattern, value, Leather(pattern.leather), order.hand, ask, place, order.patterns
    )
