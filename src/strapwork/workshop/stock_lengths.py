"""Which strips to take: stock lengths with prices and numbers, turned into the solver's whole numbers and back."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from strapwork.workshop import cutting_stock
from strapwork.workshop.master import NO_LIMIT, Bin, Item, Pattern

UNIT = 0.1


@dataclass(frozen=True, slots=True)
class Stock:
    """Strips of one length in mm: how many are in hand, or what one costs (with both, at most so many at that price).

    ``trim`` is cut off each end before anything else, in mm; ``leather`` and
    ``width`` (mm) say what can be cut from them.
    """

    length: float
    have: int | None = None
    price: Decimal | None = None
    trim: float = 0.0
    leather: str = ""
    width: float = 0.0


@dataclass(frozen=True, slots=True)
class Want:
    """A piece of a job: its place in the list of pieces, its cut length in mm, and how many."""

    piece: int
    length: float
    count: int = 1
    label: str = ""


def units(mm: float, *, up: bool) -> int:
    """Tenths of a millimetre, rounded up or down."""
    return math.ceil(mm / UNIT - 1e-6) if up else math.floor(mm / UNIT + 1e-6)


@dataclass(frozen=True, slots=True)
class Choice:
    """The solver's answer: patterns over the distinct sizes, and what is proved of them."""

    sizes: tuple[int, ...]
    stocks: tuple[Stock, ...]
    missing: int | None
    patterns: tuple[tuple[Pattern, int], ...]
    fewest: int
    cost: Decimal | None
    cost_bound: Decimal | None
    proven: bool


def choose(fits: Sequence[tuple[Want, int]], stocks: Sequence[Stock], rooms: Sequence[int]) -> Choice:
    """Least money first (least length where nothing has a price), then least length of strip."""
    wanted: dict[int, int] = {}
    for w, size in fits:
        wanted[size] = wanted.get(size, 0) + w.count
    items = [Item(size, wanted[size]) for size in sorted(wanted)]
    prices = [s.price or Decimal(0) for s in stocks]
    scale = Decimal(10) ** max(0, *(-int(p.as_tuple().exponent) for p in prices))
    priced = any(prices)
    lengths = [units(s.length, up=False) for s in stocks]
    costs = [int(p * scale) for p in prices] if priced else list(lengths)
    limits = [NO_LIMIT if s.have is None else s.have for s in stocks]
    every, missing = list(stocks), None

    def bins(cost: Sequence[int], charge: Sequence[int]) -> list[Bin]:
        return [Bin(*row) for row in zip(rooms, cost, limits, charge, strict=True)]

    first = cutting_stock.solve(items, bins(costs, [0] * len(costs)))
    if not first.patterns:
        # All that is in hand is not enough: as few as can be of the longest on top of it.
        missing = len(every)
        longest = max(range(missing), key=lambda b: rooms[b])
        copies = sum(wanted.values())
        every.append(replace(stocks[longest], have=None, price=None))
        rooms, limits = [*rooms, rooms[longest]], [*limits, NO_LIMIT]
        costs.append(1 + sum(min(n, copies) * c for n, c in zip(limits, costs, strict=False)))
        lengths.append(lengths[longest])
        first = cutting_stock.solve(items, bins(costs, [0] * len(costs)))
    patterns = first.patterns
    if any(c * lengths[0] != costs[0] * n for c, n in zip(costs, lengths, strict=True)):
        brief = cutting_stock.Effort(nodes=60, whole_nodes=50, listed=2000, seconds=1.5)
        shorter = cutting_stock.solve(items, bins(lengths, costs), first.cost, brief, first)
        patterns = shorter.patterns or patterns
    if len(every) == 1:
        fewest = first.bound // costs[0]
    else:
        quick = cutting_stock.Effort(nodes=40, whole_nodes=50, listed=2000, seconds=0.7)
        fewest = cutting_stock.solve(items, bins([1] * len(every), costs), first.cost, quick, first).bound
    cost = cost_bound = None
    if any(s.price is not None for s in stocks):
        cost = sum((n * (every[p.bin].price or Decimal(0)) for p, n in patterns), Decimal(0))
        cost_bound = cost
        if priced and not first.proven:
            cost_bound = (Decimal(first.bound) / scale).quantize(1 / scale) if missing is None else Decimal(0)
    sizes = tuple(i.size for i in items)
    return Choice(sizes, tuple(every), missing, patterns, fewest, cost, cost_bound, first.proven)
