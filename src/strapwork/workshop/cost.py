"""What an order costs and what to ask for it: by piece, by person and in all.

Decimal arithmetic.  A line is one piece of the job, all its copies: its
materials, labour and overhead are rounded half up to the currency's decimals,
and the sums are those of the rounded lines, so that they add up as printed.  A
price is that of one copy, worked out from the unrounded cost and then rounded;
a line's is that times its count.  What has no price is listed, not guessed, and
stands in no sum.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal, localcontext
from typing import TYPE_CHECKING

from strapwork.catalogue import tr, trn
from strapwork.piece.checks import WET_FROM
from strapwork.piece.piece import Piece
from strapwork.units import format_length
from strapwork.workshop.leathers import leather_key
from strapwork.workshop.order import HIDE, OrderList, backing_key, hardware_of, loose_of
from strapwork.workshop.prices import STEPS, Prices

if TYPE_CHECKING:
    from strapwork.workshop.strips import StripPlan

PRECISION = 60
SQUARE_MM = Decimal(10) ** 6  # in a square metre
ACTUAL = Decimal("0.000001")  # lengths are taken to a millionth of a millimetre


@dataclass(frozen=True, slots=True)
class Line:
    """One piece of the job: ``price`` is that of one copy, all other amounts are for all ``count`` copies."""

    piece: int
    label: str
    person: str | None
    count: int
    materials: Decimal
    labour: Decimal
    overhead: Decimal
    price: Decimal
    minutes: Decimal

    @property
    def total(self) -> Decimal:
        """Price of all copies."""
        return self.price * self.count


@dataclass(frozen=True, slots=True)
class Cost:
    """An order's cost: its lines, and what has no price."""

    currency: str
    digits: int
    lines: tuple[Line, ...]
    without: tuple[str, ...]

    @property
    def materials(self) -> Decimal:
        return sum((x.materials for x in self.lines), Decimal(0))

    @property
    def labour(self) -> Decimal:
        return sum((x.labour for x in self.lines), Decimal(0))

    @property
    def overhead(self) -> Decimal:
        return sum((x.overhead for x in self.lines), Decimal(0))

    @property
    def price(self) -> Decimal:
        return sum((x.total for x in self.lines), Decimal(0))

    @property
    def left(self) -> Decimal:
        """What the price leaves after materials, labour and overhead."""
        return self.price - self.materials - self.labour - self.overhead

    @property
    def minutes(self) -> Decimal:
        return sum((x.minutes for x in self.lines), Decimal(0))

    @property
    def people(self) -> tuple[tuple[str, Decimal], ...]:
        """What each person's pieces come to, in the order of the job; nothing where no piece is for anyone."""
        out: dict[str, Decimal] = {}
        for x in self.lines:
            if x.person:
                out[x.person] = out.get(x.person, Decimal(0)) + x.total
        return tuple(out.items())

    def show(self, amount: Decimal) -> str:
        """An amount with the currency's decimals."""
        return f"{amount:.{self.digits}f}"


def steps_of(piece: Piece) -> dict[str, int]:
    """How often each kind of step comes in the making of one copy (see :data:`strapwork.workshop.prices.STEPS`)."""
    form, plan, strap = piece.fit.braid, piece.plan, piece.strap
    braided = form is not None and plan is not None
    turns = 0
    if form is not None and plan is not None:
        turns = form.sets * (plan.plait.turns_per_set + len(plan.schedule))
    counts = {
        "cut": 1,
        "back": int(piece.leather.backing > 0),
        "mark": 1,
        "punch": sum(not h.is_slot for h in strap.holes),
        "slot": sum(h.is_slot for h in strap.holes),
        "slit": len(strap.slits),
        "end": sum(e.shape != "square" for e in (piece.pattern.start, piece.pattern.finish)),
        "wet": int(braided and piece.leather.thickness.mid >= WET_FROM - 1e-9),
        "turn": turns,
        "even": int(braided),
        "set": sum(n for _, n in hardware_of(piece)),
        "finish": 1,
    }
    return {kind: counts[kind] for kind in STEPS if counts[kind]}


def minutes_of(piece: Piece, prices: Prices) -> dict[str, Decimal]:
    """Minutes that each kind of step takes in the making of one copy, for the kinds that the price file speaks of."""
    return {kind: n * prices.minutes[kind] for kind, n in steps_of(piece).items() if kind in prices.minutes}


class _Purse:
    """Looks prices up and remembers what has none."""

    def __init__(self, prices: Prices, order: OrderList, plans: Sequence[StripPlan]) -> None:
        self.prices = prices
        self.waste = 1 + Decimal(repr(order.waste))
        self.leather = {row.leather: row for row in order.leather}
        self.plan_of = {c.piece: plan for plan in plans for s in plan.strips for c in s.cuts}
        self.cut_of = {
            id(plan): sum((_mm(c.end - c.start) for s in plan.strips for c in s.cuts), Decimal(0)) for plan in plans
        }
        self.without: dict[str, None] = {}

    def lacks(self, what: str) -> Decimal:
        self.without[what] = None
        return Decimal(0)


def work_out(pieces: Sequence[Piece], order: OrderList, prices: Prices, plans: Sequence[StripPlan] = ()) -> Cost:
    """The cost of an order.

    Leather that is cut from strips with a price is charged by the strips'
    plan, shared out by length; other leather by area, with what its plan or the
    estimate adds for waste.  Spare hardware is not charged: it goes back into
    its drawer.
    """
    people = {row.piece: row.person for row in order.cuts}
    with localcontext(prec=PRECISION):
        purse = _Purse(prices, order, plans)
        lines = [_line(k, p, people.get(k), purse) for k, p in enumerate(pieces)]
        for plan in plans:
            _strips_without(plan, purse)
    return Cost(prices.currency, prices.digits, tuple(lines), tuple(purse.without))


def _line(k: int, p: Piece, person: str | None, purse: _Purse) -> Line:
    prices = purse.prices
    materials = _leather(k, p, purse) + _hardware(p, purse)
    minutes, labour = _labour(p, purse)
    overhead = (materials + labour) * prices.overhead
    cost = materials + labour + overhead
    price = cost * (1 + prices.markup) if prices.markup is not None else cost / (1 - (prices.margin or Decimal(0)))
    step = Decimal(1).scaleb(-prices.digits)
    if prices.round_to is not None:
        price = (price / prices.round_to).to_integral_value(ROUND_CEILING) * prices.round_to
    return Line(
        piece=k,
        label=p.label,
        person=person,
        count=p.count,
        materials=(materials * p.count).quantize(step, ROUND_HALF_UP),
        labour=(labour * p.count).quantize(step, ROUND_HALF_UP),
        overhead=(overhead * p.count).quantize(step, ROUND_HALF_UP),
        price=price.quantize(step, ROUND_HALF_UP),
        minutes=minutes * p.count,
    )


def _mm(value: float) -> Decimal:
    return Decimal(repr(value)).quantize(ACTUAL)


def _leather(k: int, p: Piece, purse: _Purse) -> Decimal:
    """Leather and lining of one copy."""
    key = leather_key(p.leather)
    square = _mm(p.strap.width) * _mm(p.strap.length) / SQUARE_MM
    total = Decimal(0)
    lining = backing_key(p)
    if lining:
        price = purse.prices.leather.get(lining)
        total += square * purse.waste * price if price is not None else purse.lacks(lining)
    plan = purse.plan_of.get(k)
    if plan is not None and plan.cost is not None:
        return total + plan.cost * _mm(p.strap.length) / purse.cut_of[id(plan)]
    by_area = purse.prices.of_leather(p.leather)
    if by_area is None:
        return total + purse.lacks(tr("leather {key}", key=key))
    row = purse.leather[key]
    if plan is not None:
        factor = _mm(plan.length) / purse.cut_of[id(plan)]
    elif row.by == HIDE:
        factor = _mm(row.gross) / _mm(row.net)
    else:
        factor = purse.waste
    return total + square * factor * by_area


def _hardware(p: Piece, purse: _Purse) -> Decimal:
    """Hardware of one copy, laces and rings too."""
    total = Decimal(0)
    for size, n in hardware_of(p):
        price = purse.prices.hardware.get(size.name)
        total += n * price if price is not None else purse.lacks(f"{size.title} ({size.name})")
    for name, title in loose_of(p):
        price = purse.prices.hardware.get(name)
        total += price if price is not None else purse.lacks(f"{title} ({name})")
    return total


def _labour(p: Piece, purse: _Purse) -> tuple[Decimal, Decimal]:
    """Minutes and their worth, of one copy."""
    known = minutes_of(p, purse.prices)
    for kind in steps_of(p):
        if kind not in known:
            purse.lacks(tr("minutes for {steps} ({kind})", steps=STEPS[kind], kind=kind))
    minutes = sum(known.values(), Decimal(0))
    if purse.prices.hour is None:
        return minutes, purse.lacks(tr("an hour of work (hour)"))
    return minutes, minutes * purse.prices.hour / 60


def _strips_without(plan: StripPlan, purse: _Purse) -> None:
    """Strips of a plan that have no price, where others have."""
    if plan.cost is None:
        return
    free = [s for s in plan.strips if s.stock.price is None]
    for length in sorted({s.stock.length for s in free}, reverse=True):
        n = sum(s.stock.length == length for s in free)
        purse.lacks(
            trn(
                "{n} strip of {leather}, {length}, in hand or to be had",
                "{n} strips of {leather}, {length}, in hand or to be had",
                n,
                n=n,
                leather=plan.leather,
                length=format_length(length),
            )
        )


def words(cost: Cost) -> str:
    """The cost for a person."""
    wide = max([len(x.label) for x in cost.lines] + [8])
    count = tr("count")
    heads = " ".join(f"{head:>12}" for head in (tr("materials"), tr("labour"), tr("each"), tr("price")))
    lines = [tr("Cost in {currency}:", currency=cost.currency), f"  {'':<{wide}}  {count:>5} {heads}"]
    for x in cost.lines:
        cells = (cost.show(v) for v in (x.materials, x.labour, x.price, x.total))
        lines.append(f"  {x.label:<{wide}}  {x.count:>5} " + " ".join(f"{c:>12}" for c in cells))
    sums = (cost.show(cost.materials), cost.show(cost.labour), "", cost.show(cost.price))
    in_all = tr("in all")
    lines.append(f"  {in_all:<{wide}}  {sum(x.count for x in cost.lines):>5} " + " ".join(f"{c:>12}" for c in sums))
    lines.append(
        tr(
            "  Overhead {overhead}; the price leaves {left} after all costs.",
            overhead=cost.show(cost.overhead),
            left=cost.show(cost.left),
        )
    )
    lines.append(tr("  {time} of work.", time=_time(cost.minutes)))
    lines += [tr("  For {person}: {total}", person=person, total=cost.show(total)) for person, total in cost.people]
    if cost.without:
        lines.append(tr("  Without a price, and in no sum: {without}.", without="; ".join(cost.without)))
    return "\n".join(lines)


def _time(minutes: Decimal) -> str:
    whole = math.floor(minutes + Decimal("0.5"))
    return f"{whole // 60} h {whole % 60} min" if whole >= 60 else f"{whole} min"
