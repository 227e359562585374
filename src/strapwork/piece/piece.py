"""One piece of goods, worked out: pattern, leather, fit, strap, braid and findings."""

from __future__ import annotations

from dataclasses import dataclass, replace

from strapwork.braid import plan as plans
from strapwork.braid.plan import Plan
from strapwork.catalogue import tr
from strapwork.errors import InputError, Place, shown
from strapwork.order.description import Hand
from strapwork.order.order import Order
from strapwork.piece import checks
from strapwork.piece import fit as fitting
from strapwork.piece import strap as straps
from strapwork.piece.altered import altered
from strapwork.piece.findings import Finding
from strapwork.piece.fit import Fit
from strapwork.piece.strap import Strap
from strapwork.stock import hardware
from strapwork.stock.leather import Leather
from strapwork.stock.patterns import Pattern
from strapwork.units import say, say_at_least, say_at_most

NARROWEST, WIDEST = 4.0, 150.0


@dataclass(frozen=True, slots=True)
class Piece:
    """Everything known of one piece."""

    label: str
    pattern: Pattern
    count: int
    value: float
    leather: Leather
    hand: Hand
    strands: int
    fit: Fit
    strap: Strap
    plan: Plan | None
    findings: tuple[Finding, ...]
    asked_load: float | None = None
    load_factor: float | None = None
    broken: bool = False
    person: str | None = None

    @property
    def stops(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if f.level == "stop")


_WORKED = {"over": tr("in plain turns"), "under": tr("in plain turns worked under"), "over-under": tr("over-under")}


def plan_for(strands: int, weave: str, turns: str | None, place: Place, hand: Hand = "right") -> Plan:
    """The braid of a piece as its hand works it; refuses what cannot be worked with joined ends."""
    plan = plans.from_turns(strands, turns, place.key("turns")) if turns is not None else plans.standard(strands, weave)
    if not plan.workable:
        remedy = tr("use plain turns with 3, 5, 7 or another odd number of strands")
        if turns is None and weave != "over-under" and strands % 2 == 0:
            other = plans.neighbours(strands, 1) if strands == 4 else ()
            if other:
                remedy += tr(", or the turns '{pattern}'", pattern=" ".join(t.text() for t in other[0].pattern))
        raise InputError(
            place.key("turns" if turns is not None else "strands"),
            tr(
                "{strands} strands braided {how} cannot be worked with both ends joined ({reason})",
                strands=strands,
                how=tr("by these turns") if turns else _WORKED[weave],
                reason=tr(plan.verdict.reason),
            ),
            remedy,
        )
    return plans.for_hand(plan, hand)


def work_out(order: Order) -> Piece:
    """Work one piece out.

    Raises:
        InputError: for a measure out of the pattern's limits, a strap too narrow
            for its strands, a braid that cannot be worked, hardware that cannot be had.
    """
    asked, place, leather = order.ask, order.place, order.leather
    width = asked.width or order.pattern.strap.width
    strands = asked.strands or order.pattern.braid.strands
    _check(order, width, strands)
    plan = _plan(order, strands)
    catalogue = hardware.catalogue(order.patterns)
    r = altered(order, width, strands, catalogue)
    thick = leather.worn
    ends = [
        fitting.FitEnd(end, straps.bar_of(end, name, catalogue, width, thick[1], str(place)))
        for name, end in (("start", r.start), ("finish", r.finish))
    ]
    ask = fitting.Ask(
        measure=r.measure,
        value=order.value,
        ease=r.measure.ease if asked.ease is None else asked.ease,
        start=ends[0],
        finish=ends[1],
        thickness=thick,
        strand_width=(width - order.slot * (strands - 1)) / strands,
        plait=plan.plait if plan else None,
        sets=0,
        place=place.key("measure"),
        learned=leather.learned,
    )
    if plan:
        wanted = asked.sets if asked.sets is not None else r.braid.sets
        if wanted is None or fitting.braided_length(ask, thick[1]) <= 0:
            sets = fitting.comfortable_sets(replace(ask, sets=1), leather.temper)
        else:
            sets = wanted
        ask = replace(ask, sets=sets, place=place.key("sets") if asked.sets is not None else ask.place)
    fitted = fitting.work_out(ask)
    strap = straps.build(r, fitted, width, thick[1], strands, catalogue, str(place))
    findings = checks.of_piece(r, leather, fitted, strap, strands, plan)
    return Piece(
        label=order.label,
        pattern=r,
        count=asked.count,
        person=asked.person,
        value=order.value,
        leather=leather,
        hand=order.hand,
        strands=strands,
        fit=fitted,
        strap=strap,
        plan=plan,
        findings=findings,
        asked_load=asked.load,
        load_factor=asked.factor,
        broken=order.broken,
    )


def _check(order: Order, width: float, strands: int) -> None:
    """Refuse a measure or a width that this pattern is not made for."""
    r, place = order.pattern, order.place
    if not r.measure.least <= order.value <= r.measure.most:
        raise InputError(
            place.key("measure"),
            tr(
                "a {what} of {value} is out of range for {name}",
                what=r.measure.called,
                value=say(order.value),
                name=shown(r.name),
            ),
            tr(
                "give from {least} to {most}",
                least=say_at_least(r.measure.least),
                most=say_at_most(r.measure.most),
            ),
        )
    if not NARROWEST <= width <= WIDEST:
        raise InputError(
            place.key("width"),
            tr("a strap {width} wide cannot be made here", width=say(width)),
            tr(
                "give from {narrowest} to {widest}",
                narrowest=say_at_least(NARROWEST),
                widest=say_at_most(WIDEST),
            ),
        )
    if width / strands < 2.0:
        raise InputError(
            place.key("width"),
            tr("a strap {width} wide is too narrow for {strands} strands", width=say(width), strands=strands),
            tr("make it at least {strands} wide or cut fewer strands", strands=say_at_least(2.0 * strands)),
        )


def _plan(order: Order, strands: int) -> Plan | None:
    """The braid of an order; None for a plain strap."""
    asked, braid = order.ask, order.pattern.braid
    sets = braid.sets if asked.sets is None else asked.sets
    if strands < 2 or sets == 0:
        return None
    turns = asked.turns
    if turns is None and asked.weave is None and asked.strands is None:
        turns = braid.turns
    return plan_for(strands, asked.weave or braid.weave, turns, order.place, order.hand)
