"""Straps from ready-made strips: how many strips, and what to cut from each.

Lengths are taken in tenths of a millimetre: pieces, blade and trimmed ends
rounded up, strips rounded down, so that a plan never asks for more than is there.
The plan is the one of least cost; of plans that cost the same, the one that
uses least strip.  See :mod:`strapwork.workshop.cutting_stock` for how it is
found and proved.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.piece.piece import Piece
from strapwork.units import format_mm
from strapwork.workshop.leathers import SAME_WIDTH, leather_key
from strapwork.workshop.master import Pattern
from strapwork.workshop.stock_lengths import UNIT, Choice, Stock, Want, choose, units

MOST_COPIES = 10_000


@dataclass(frozen=True, slots=True)
class Cut:
    """One copy of a piece on a strip, from and to in mm from the strip's end."""

    piece: int
    copy: int
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Strip:
    """One strip: what is cut from it, and the off-cut in mm; ``missing`` where there is no such strip in hand."""

    stock: Stock
    cuts: tuple[Cut, ...]
    offcut: float
    missing: bool = False


@dataclass(frozen=True, slots=True)
class StripPlan:
    """What to cut from which strips, for one leather and width.

    Attributes:
        bound: no plan uses fewer strips.
        cost: what the strips cost together; None where none has a price.
        cost_bound: no plan costs less.
        proven: whether no plan costs less, or, where nothing has a price, uses less length of strip.
        too_long: pieces that no strip is long enough for.
    """

    leather: str
    width: float
    kerf: float
    strips: tuple[Strip, ...]
    bound: int
    cost: Decimal | None
    cost_bound: Decimal | None
    proven: bool
    too_long: tuple[Want, ...] = ()

    @property
    def used(self) -> int:
        return len(self.strips)

    @property
    def length(self) -> float:
        """Length of all strips used, in mm."""
        return math.fsum(s.stock.length for s in self.strips)

    @property
    def missing(self) -> int:
        """Strips that the plan needs beyond those in hand."""
        return sum(s.missing for s in self.strips)


def plans(
    pieces: Sequence[Piece], stocks: Sequence[Stock], kerf: float = 0.0, place: str = "strips"
) -> list[StripPlan]:
    """A plan for every leather and width that there are strips of, in the order of the pieces.

    Raises:
        InputError: see :func:`plan`.
    """
    out: list[StripPlan] = []
    done: set[int] = set()
    for k, first in enumerate(pieces):
        if k in done:
            continue
        name, width = leather_key(first.leather), first.strap.width
        group = [
            j
            for j, p in enumerate(pieces)
            if leather_key(p.leather) == name and abs(p.strap.width - width) < SAME_WIDTH
        ]
        done.update(group)
        mine = [s for s in stocks if s.leather == name and abs(s.width - width) < SAME_WIDTH]
        if mine:
            wants = [Want(j, pieces[j].strap.length, pieces[j].count, pieces[j].label) for j in group]
            out.append(plan(wants, mine, kerf, place, name, width))
    return out


def plan(
    wants: Sequence[Want],
    stocks: Sequence[Stock],
    kerf: float = 0.0,
    place: str = "strips",
    leather: str = "",
    width: float = 0.0,
) -> StripPlan:
    """The cutting plan of least cost for pieces of one leather and width.

    Strips in hand without a price cost nothing.  Where those in hand do not
    suffice and none is on sale, the plan says how many of the longest are missing.

    Args:
        wants: the pieces.
        stocks: strips in hand or on sale.
        kerf: width in mm that the blade takes with every cut.

    Raises:
        InputError: for a stock that is neither in hand nor on sale or that is all trimmed away,
            and for more pieces than can be planned.
    """
    usable = _check(wants, stocks, kerf, place)
    longest = max(usable)
    blade = units(kerf, up=True)
    sizes = [units(w.length, up=True) for w in wants]
    too_long = tuple(w for w, s in zip(wants, sizes, strict=True) if s > longest)
    fits = [(w, s + blade) for w, s in zip(wants, sizes, strict=True) if s <= longest and w.count]
    if not fits:
        cost = Decimal(0) if any(s.price is not None for s in stocks) else None
        return StripPlan(leather, width, kerf, (), 0, cost, cost, True, too_long)
    found = choose(fits, stocks, [u + blade for u in usable])
    strips = _strips(fits, found)
    return StripPlan(leather, width, kerf, strips, found.fewest, found.cost, found.cost_bound, found.proven, too_long)


def _check(wants: Sequence[Want], stocks: Sequence[Stock], kerf: float, place: str) -> list[int]:
    """Usable length of every stock in units."""
    if not stocks:
        raise InputError(place, tr("there is no strip to cut from"), tr("add one with a length and how many you have"))
    if not 0.0 <= kerf <= 10.0:
        raise InputError(
            place,
            tr("a blade that takes {kerf} cannot be right", kerf=format_mm(kerf)),
            tr("give from 0 mm to 10 mm"),
        )
    copies = sum(w.count for w in wants)
    if copies > MOST_COPIES:
        raise InputError(
            place,
            tr("{copies} pieces are too many for one plan", copies=copies),
            tr("keep it to {most_copies}", most_copies=MOST_COPIES),
        )
    usable = []
    for s in stocks:
        if s.have is None and s.price is None:
            problem = tr("strips of {length} are neither in hand nor on sale", length=format_mm(s.length))
            raise InputError(place, problem, tr("add have, how many there are, or price, what one costs"))
        room = units(s.length, up=False) - 2 * units(s.trim, up=True)
        if room <= 0:
            problem = tr(
                "{trim} trimmed off each end leaves nothing of a strip of {length}",
                trim=format_mm(s.trim),
                length=format_mm(s.length),
            )
            raise InputError(place, problem, tr("trim less"))
        usable.append(room)
    return usable


def _strips(fits: Sequence[tuple[Want, int]], found: Choice) -> tuple[Strip, ...]:
    """The patterns with the copies of pieces dealt out to them, the longest strips first."""
    waiting: dict[int, list[tuple[Want, int]]] = {size: [] for size in found.sizes}
    for w, size in fits:
        waiting[size] += [(w, copy) for copy in range(1, w.count + 1)]
    for copies in waiting.values():
        copies.reverse()
    order = sorted(found.patterns, key=lambda t: (-found.stocks[t[0].bin].length, t[0].bin, -_filled(t[0], found)))
    out: list[Strip] = []
    for pattern, times in order:
        stock = found.stocks[pattern.bin]
        for _ in range(times):
            at = units(stock.trim, up=True)
            end = units(stock.length, up=False) - at
            cuts: list[Cut] = []
            for i, n in sorted(pattern.filling, key=lambda t: -found.sizes[t[0]]):
                for _ in range(n):
                    want, copy = waiting[found.sizes[i]].pop()
                    start = round(at * UNIT, 6)
                    cuts.append(Cut(want.piece, copy, start, round(start + want.length, 9)))
                    at += found.sizes[i]
            out.append(Strip(stock, tuple(cuts), round(max(0, end - at) * UNIT, 6), pattern.bin == found.missing))
    return tuple(out)


def _filled(pattern: Pattern, found: Choice) -> int:
    return sum(found.sizes[i] * n for i, n in pattern.filling)


def as_data(plan: StripPlan) -> dict[str, Any]:
    """A plan as plain data, for ``numbers.json``; pieces count from 0, copies from 1."""
    return {
        "leather": plan.leather,
        "width_mm": plan.width,
        "kerf_mm": plan.kerf,
        "used": plan.used,
        "bound": plan.bound,
        "proven": plan.proven,
        "cost": None if plan.cost is None else str(plan.cost),
        "cost_bound": None if plan.cost_bound is None else str(plan.cost_bound),
        "missing": plan.missing,
        "too_long": [w.piece for w in plan.too_long],
        "plan": [
            {
                "stock_mm": s.stock.length,
                "missing": s.missing,
                "cuts": [{"piece": c.piece, "copy": c.copy, "from_mm": c.start, "to_mm": c.end} for c in s.cuts],
                "offcut_mm": s.offcut,
            }
            for s in plan.strips
        ],
    }
