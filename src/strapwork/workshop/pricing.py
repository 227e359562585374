"""The linear program and its bound: fillings of use are priced in, and the duals are turned into a proof."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from strapwork.workshop.knapsack import Knapsack, all_fillings
from strapwork.workshop.master import NO_LIMIT, Bin, Item, Master, Pattern, Relaxed, Task

TINY = 1e-7
MANY = 12  # patterns added at a time
STEADY = 0.7
SCALE = 1 << 20
MOST_TABLE = 12_000_000  # numbers in the table of a listing, about 100 MB


class Pricing:
    """The linear program of one problem, with all its patterns so far."""

    def __init__(self, items: Sequence[Item], bins: Sequence[Bin], root: Task) -> None:
        self.items, self.bins = items, bins
        self.sizes = [i.size for i in items]
        self.pieces = sum(root.wanted)
        self.step = math.gcd(*(b.cost for b in bins)) or 1
        # Dearer than any plan, so that a piece stays uncut only where nothing has room for it.
        self.penalty = max(b.cost for b in bins) * self.pieces + 1
        self.master = Master(self.sizes, root, bins, float(self.penalty))
        self.sack = Knapsack(self.sizes, max(b.capacity for b in bins))
        shortest = min(range(len(items)), key=lambda i: self.sizes[i])
        for b, high in enumerate(root.high):
            if high > 0:  # one pattern a stock, so that any number of its strips can be asked for
                self.master.add(Pattern(b, ((shortest, 1),)))

    def up(self, value: float) -> int:
        """The least possible cost that is no less than ``value``."""
        return self.step * math.ceil(value / self.step)

    def material(self) -> int:
        """What the pieces cost where no strip leaves an off-cut: a bound that is worked out at once."""
        total = sum(i.size * i.wanted for i in self.items)
        if any(b.limit < NO_LIMIT for b in self.bins):
            return 0
        return min(self.step * -(-total * b.cost // (b.capacity * self.step)) for b in self.bins)

    def net(self, b: int, r: Relaxed) -> float:
        """What a filling of stock ``b`` must be worth to be of use."""
        return self.bins[b].cost - r.stocks[b] - r.budget * self.bins[b].charge

    def price(self, r: Relaxed, task: Task, at: Sequence[float] | None = None) -> tuple[bool, float]:
        """Add the patterns that are of use at the duals of ``r``, looked for where the pieces' duals are ``at``.

        Returns whether there were any, and by what factor the duals ``at`` are too large.
        """
        worth = [max(0.0, d) for d in r.pieces]
        where = worth if at is None else [max(0.0, d) for d in at]
        table = self.sack.fill(where, task.wanted)
        grew, factor = False, 1.0
        for b, each in enumerate(self.bins):
            net, value = self.net(b, r), float(table[each.capacity])
            if task.high[b] < 1:
                continue
            if value > net:
                factor = max(factor, value / net) if net > 0 else math.inf
            if at is None and value <= net + TINY * max(1.0, abs(net)):
                continue
            for f in self.sack.fillings(each.capacity, MANY):
                if sum(worth[i] * n for i, n in f) > net + TINY * max(1.0, abs(net)):
                    grew = self.master.add(Pattern(b, f)) or grew
        return grew, factor

    def relax(self, task: Task, settles: Callable[[int], bool], late: Callable[[], bool]) -> tuple[Relaxed, int, float]:
        """Solve the linear program of a task: (solution, bound rounded up to a cost that can be, bound as it is).

        Stops early when a bound ``settles`` the matter, or when it is ``late``.
        """
        r = self.master.solve(task)
        if math.isinf(r.cost):
            return r, self.penalty, float(self.penalty)
        free = all(low == 0 for low in task.low) and min(task.high) >= NO_LIMIT and task.budget is None
        if free and min(b.cost for b in self.bins) > 0:
            r = self._steadied(r, task, settles, late)
        else:
            while self.price(r, task)[0] and not late():
                r = self.master.solve()
        bound, exact = self.whole_bound(r, task, free)
        return r, bound, exact

    def _steadied(self, r: Relaxed, task: Task, settles: Callable[[int], bool], late: Callable[[], bool]) -> Relaxed:
        """The linear program without limits, priced between its duals and the best so far (P. Wentges, ITOR 4, 1997).

        Duals shrunk by the factor that they are too large by prove a bound at
        once (A. A. Farley, Operations Research 38, 1990, 922-923); when that and
        the program's own value round to the same cost, no more can be learned.
        The duals that come back are the best, shrunk.
        """
        best: tuple[float, ...] = ()
        bound = -1.0
        while True:
            at = (
                tuple(STEADY * a + (1.0 - STEADY) * d for a, d in zip(best, r.pieces, strict=True))
                if best
                else r.pieces
            )
            for duals in (at, r.pieces) if best else (at,):
                grew, factor = self.price(r, task, duals)
                proved = sum(max(0.0, d) * n for d, n in zip(duals, task.wanted, strict=True)) / factor
                if proved > bound:
                    bound, best = proved, tuple(max(0.0, d) / factor for d in duals)
                if grew:
                    break
            rounded = self.up(bound - 1e-6)
            if not grew or late() or settles(rounded) or rounded >= self.up(r.cost - 1e-6):
                return replace(r, pieces=best)
            r = self.master.solve()

    def whole_bound(self, r: Relaxed, task: Task, free: bool) -> tuple[int, float]:
        """The bound that the duals of ``r`` prove, worked out in whole numbers.

        With whole numbers u >= 0 for the pieces, v for the stocks (times the least
        number of strips where above zero, the greatest where below) and w <= 0 for
        the budget, in units of cost / SCALE, a plan costs at least
        sum(u wanted) + sum(v strips) + w budget, less what any filling is worth
        beyond cost - v - w charge, for every strip that can be used.
        """
        u = [max(0, math.floor(d * SCALE)) for d in r.pieces]
        if free:
            table = self.sack.fill(u, task.wanted, exact=True)
            over = [(int(table[b.capacity]), SCALE * b.cost) for b in self.bins if b.cost]
            value, net = max(over, key=lambda t: Fraction(*t), default=(0, 1))
            if value > net:
                u = [x * net // value for x in u]
        table = self.sack.fill(u, task.wanted, exact=True)
        w = min(0, math.floor(r.budget * SCALE)) if task.budget is not None else 0
        total = sum(x * n for x, n in zip(u, task.wanted, strict=True)) + w * (task.budget or 0)
        for b, each in enumerate(self.bins):
            v = math.floor(r.stocks[b] * SCALE)
            if v < 0 and task.high[b] >= NO_LIMIT:
                v = 0
            worth = max(0, int(table[each.capacity]) - (SCALE * each.cost - v - w * each.charge))
            total += v * (task.low[b] if v > 0 else task.high[b]) if v else 0
            total -= worth * min(self.pieces, task.high[b])
        return max(0, self.step * -(-total // (SCALE * self.step))), total / SCALE

    def listing(self, task: Task, r: Relaxed, slack: float, limit: int) -> list[Pattern] | None:
        """Every pattern with a reduced cost of at most ``slack``; None where they are more than ``limit`` a stock."""
        if len(self.items) * self.sack.capacity > MOST_TABLE:
            return None
        order = sorted(range(len(self.items)), key=lambda i: -self.sizes[i])
        worth = [max(0.0, r.pieces[i]) for i in order]
        out: list[Pattern] = []
        for b, each in enumerate(self.bins):
            if task.high[b] < 1:
                continue
            most = [min(task.wanted[i], each.capacity // self.sizes[i]) for i in order]
            least = self.net(b, r) - slack - 1e-6
            room = [self.sizes[i] for i in order]
            found = all_fillings(room, worth, most, each.capacity, least, limit)
            if found is None:
                return None
            out += [Pattern(b, tuple(sorted((order[k], n) for k, n in f))) for f in found]
        return out
