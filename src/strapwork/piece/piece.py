"""One piece of goods, worked out: pattern, leather, fit, strap, braid and findings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from strapwork.braid import plan as plans
from strapwork.braid.plan import Plan
from strapwork.errors import InputError, shown
from strapwork.piece import checks
from strapwork.piece import fit as fitting
from strapwork.piece import strap as straps
from strapwork.piece.checks import Finding
from strapwork.piece.fit import Fit
from strapwork.piece.strap import Strap
from strapwork.stock import hardware
from strapwork.stock import patterns as pattern_files
from strapwork.stock.leather import Leather
from strapwork.stock.patterns import End, Fixture, Pattern
from strapwork.units import format_mm

SHAPES = ("round", "pointed", "square", "clipped")


@dataclass(frozen=True, slots=True)
class Order:
    """What is asked for; None means the pattern's own default.  Lengths in mm.

    ``load`` (N) and ``factor`` are for the load estimate; ``ends`` are the
    shapes of start and finish; ``hardware`` picks a size by name for every part of its kind;
    ``holes`` is the number in an adjustment row.  ``place`` names where the order stands, for messages.
    """

    label: str
    pattern: Pattern
    value: float
    leather: Leather | None = None
    count: int = 1
    width: float | None = None
    strands: int | None = None
    sets: int | None = None
    weave: str | None = None
    turns: str | None = None
    ease: float | None = None
    relief: float | None = None
    load: float | None = None
    factor: float | None = None
    ends: tuple[str, str] | None = None
    hardware: str | None = None
    holes: int | None = None
    place: str = "the piece"
    patterns: Path | None = None


@dataclass(frozen=True, slots=True)
class Piece:
    """Everything known of one piece."""

    label: str
    pattern: Pattern
    count: int
    value: float
    leather: Leather
    strands: int
    fit: Fit
    strap: Strap
    plan: Plan | None
    findings: tuple[Finding, ...]
    asked_load: float | None = None
    load_factor: float | None = None

    @property
    def stops(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if f.level == "stop")


def plan_for(strands: int, weave: str, turns: str | None, place: str) -> Plan:
    """The braid of a piece; refuses what cannot be worked with joined ends."""
    plan = plans.from_turns(strands, turns, f"{place}, turns") if turns is not None else plans.standard(strands, weave)
    if not plan.workable:
        remedy = "use plain turns with 3, 5, 7 or another odd number of strands"
        if turns is None and weave == "plain" and strands % 2 == 0:
            other = plans.neighbours(strands, 1) if strands == 4 else []
            if other:
                remedy += f", or the turns '{' '.join(t.text() for t in other[0].pattern)}'"
        raise InputError(
            place,
            f"{strands} strands braided {'by these turns' if turns else weave} cannot be worked with both ends joined "
            f"({plan.verdict.reason})",
            remedy,
        )
    return plan


def parse_ends(text: str, place: str) -> tuple[str, str]:
    """Shapes of start and finish: one word for both, or two with a comma.

    Raises:
        InputError: for a shape that is not drawn here.
    """
    words = [w.strip().lower() for w in text.split(",")]
    if not 1 <= len(words) <= 2 or any(w not in SHAPES for w in words):
        raise InputError(
            place,
            f"{shown(text)} is no shape of ends",
            f"use one or two of {', '.join(SHAPES)}, such as 'square,pointed'",
        )
    return words[0], words[-1]


def _altered(r: Pattern, order: Order, catalogue: hardware.Catalogue) -> Pattern:
    """The pattern with the ends and the hardware that the order asks for instead."""
    if order.ends is not None:
        start, finish = order.ends
        r = r.model_copy(
            update={
                "start": r.start.model_copy(
                    update={"shape": start, "depth": None if start != r.start.shape else r.start.depth}
                ),
                "finish": r.finish.model_copy(
                    update={"shape": finish, "depth": None if finish != r.finish.shape else r.finish.depth}
                ),
            }
        )
    if order.holes is not None:
        if _hole_row(r.start) is None and _hole_row(r.finish) is None:
            raise InputError(
                f"{order.place}, holes", f"{shown(r.name)} has no row of holes", "leave the number of holes out"
            )
        r = r.model_copy(
            update={"start": _with_holes(r.start, order.holes), "finish": _with_holes(r.finish, order.holes)}
        )
    if order.hardware is not None:
        place = f"{order.place}, hardware"
        kind = catalogue.family_of(catalogue.named(order.hardware, place)).kind
        if not any(f.part == kind for end in (r.start, r.finish) for f in end.fixtures):
            has = sorted(
                {f.part for end in (r.start, r.finish) for f in end.fixtures if f.part not in ("hole", "keeper")}
            )
            raise InputError(
                place,
                f"{shown(r.name)} has no {kind}",
                f"pick a {' or '.join(has)}" if has else "leave the hardware out",
            )

        def picked(end: End) -> End:
            fixtures = tuple(
                f.model_copy(update={"pick": order.hardware}) if f.part == kind else f for f in end.fixtures
            )
            return end.model_copy(update={"fixtures": fixtures})

        r = r.model_copy(update={"start": picked(r.start), "finish": picked(r.finish)})
    return r


def _hole_row(end: End) -> Fixture | None:
    """The row of holes of an end, as on a belt."""
    return next((f for f in end.fixtures if f.part == "hole" and f.count > 1), None)


def _with_holes(end: End, count: int) -> End:
    """The end with ``count`` holes in its row; plain leather and tip grow or shrink with the row's half."""
    row = _hole_row(end)
    if row is None:
        return end
    longer = (count - row.count) * (row.spacing or 0.0) / 2.0
    fixtures = tuple(f.model_copy(update={"count": count}) if f is row else f for f in end.fixtures)
    return end.model_copy(update={"fixtures": fixtures, "to_slit": end.to_slit + longer, "to_tip": end.to_tip + longer})


def work_out(order: Order) -> Piece:
    """Work one piece out.

    Raises:
        InputError: for a measure out of the pattern's limits, a strap too narrow
            for its strands, a braid that cannot be worked, hardware that cannot be had.
    """
    r = order.pattern
    place = order.place
    leather = order.leather or Leather(r.leather)
    width = order.width or r.strap.width
    strands = order.strands or r.braid.strands
    if not r.measure.least <= order.value <= r.measure.most:
        raise InputError(
            f"{place}, measure",
            f"a {r.measure.what} of {format_mm(order.value)} is out of range for {shown(r.name)}",
            f"give from {format_mm(r.measure.least)} to {format_mm(r.measure.most)}",
        )
    if not 4.0 <= width <= 150.0:
        raise InputError(
            f"{place}, width", f"a strap {format_mm(width)} wide cannot be made here", "give from 4 mm to 150 mm"
        )
    if width / strands < 2.0:
        raise InputError(
            f"{place}, width",
            f"a strap {format_mm(width)} wide is too narrow for {strands} strands",
            f"make it at least {format_mm(2.0 * strands)} wide or cut fewer strands",
        )
    if order.strands is not None and r.slits.at is not None and len(r.slits.at) != strands - 1:
        r = r.model_copy(update={"slits": r.slits.model_copy(update={"at": None})})
    if order.relief is not None:
        if order.relief > width / strands - 1.0:
            raise InputError(
                f"{place}, relief",
                f"relief holes of {format_mm(order.relief)} leave nothing of strands {format_mm(width / strands)} wide",
                f"use at most {format_mm(max(0.5, width / strands - 1.0))}",
            )
        r = r.model_copy(update={"slits": r.slits.model_copy(update={"relief": order.relief})})
    plan: Plan | None = None
    braided = strands > 1 and order.sets != 0 and not (order.sets is None and r.braid.sets == 0)
    if braided:
        weave = order.weave or r.braid.weave
        turns = (
            order.turns
            if order.turns is not None
            else (r.braid.turns if order.weave is None and order.strands is None else None)
        )
        plan = plan_for(strands, weave, turns, place)
    catalogue = hardware.catalogue(order.patterns)
    r = _altered(r, order, catalogue)
    thick = leather.worn
    ends = [
        fitting.FitEnd(end, straps.bar_of(end, name, catalogue, width, thick[1], place))
        for name, end in (("start", r.start), ("finish", r.finish))
    ]
    ask = fitting.Ask(
        measure=r.measure,
        value=order.value,
        ease=r.measure.ease if order.ease is None else order.ease,
        start=ends[0],
        finish=ends[1],
        thickness=thick,
        strand_width=width / strands,
        plait=plan.plait if plan else None,
        sets=0,
        place=f"{place}, measure",
        learned=leather.learned,
    )
    if plan:
        wanted = order.sets if order.sets is not None else r.braid.sets
        if wanted is None or fitting.braided_length(ask, thick[1]) <= 0:
            sets = fitting.comfortable_sets(replace(ask, sets=1), leather.temper)
        else:
            sets = wanted
        ask = replace(ask, sets=sets, place=f"{place}, sets" if order.sets is not None else ask.place)
    fitted = fitting.work_out(ask)
    strap = straps.build(r, fitted, width, thick[1], strands, catalogue, place)
    findings = checks.of_piece(r, leather, fitted, strap, strands, plan)
    return Piece(
        label=order.label,
        pattern=r,
        count=order.count,
        value=order.value,
        leather=leather,
        strands=strands,
        fit=fitted,
        strap=strap,
        plan=plan,
        findings=tuple(findings),
        asked_load=order.load,
        load_factor=order.factor,
    )


def refuse_stops(piece: Piece, place: str) -> None:
    """Raise the first ``stop`` finding of a piece as an error."""
    if piece.stops:
        message = piece.stops[0].message
        problem, _, remedy = message.rpartition("; ")
        raise InputError(place, problem, remedy)


def companion(piece: Piece, order: Order) -> Order | None:
    """The order for the piece that goes with this one, such as a belt's keeper loop."""
    c = piece.pattern.companion
    if c is None:
        return None
    place = f"{order.place}, {c.label}"
    other = pattern_files.find(c.pattern, place, order.patterns)
    girth = 2.0 * (piece.strap.width + 2.0 * piece.leather.worn[1])
    return Order(
        label=f"{piece.label}: {c.label}",
        pattern=other,
        value=girth,
        count=piece.count,
        place=place,
        patterns=order.patterns,
    )


def with_companions(order: Order) -> list[Piece]:
    """The piece of an order and, after it, what goes with it; stops are raised."""
    piece = work_out(order)
    refuse_stops(piece, order.place)
    extra = companion(piece, order)
    return [piece, *(with_companions(extra) if extra else [])]
