"""The one-dimensional cutting stock problem: the plan of least cost, and a proof of how good it is.

The linear program over all ways to cut a strip is solved by column generation
(P. C. Gilmore and R. E. Gomory, A linear programming approach to the
cutting-stock problem, Operations Research 9, 1961, 849-859); its value, worked
out again in whole numbers, is a bound that no plan goes below.  Whole plans come
from filling strip after strip, and from fixing the program's own choices one by
one.  Where a gap stays, the search branches on how many strips of each stock are
used, the least bound first; once those numbers are settled, branch and bound over
the ways found, and over every way that could still serve, decides.
"""

from __future__ import annotations

import heapq
import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from strapwork.workshop import filling
from strapwork.workshop.filling import Plan
from strapwork.workshop.master import Bin, Item, Pattern, Relaxed, Task, best_whole
from strapwork.workshop.pricing import Pricing

MOST_LENGTHS = 1500  # different ones, beyond which plans are filled and measured, but not searched for


@dataclass(frozen=True, slots=True)
class Effort:
    """When to give up looking for better: nodes and seconds of searches, patterns of a listing.

    ``seconds`` are those of work; on a busy machine twice as many may pass.
    """

    nodes: int = 500
    seconds: float = 4.0
    whole_nodes: int = 20_000
    whole_seconds: float = 3.0
    listed: int = 40_000


@dataclass(frozen=True, slots=True)
class Solution:
    """Patterns with how often each is cut, their cost, and a cost that no plan goes below.

    ``uncut`` counts the pieces of each item for which no place was found; all zero for a plan.
    """

    patterns: tuple[tuple[Pattern, int], ...]
    cost: int
    bound: int
    uncut: tuple[int, ...]

    @property
    def proven(self) -> bool:
        return self.cost <= self.bound and not any(self.uncut)


class _Search:
    """One problem on its way to a solution."""

    def __init__(self, items: Sequence[Item], bins: Sequence[Bin], budget: int | None, effort: Effort) -> None:
        self.bins, self.effort = bins, effort
        shortest = min(i.size for i in items)
        high = tuple(b.limit if b.capacity >= shortest else 0 for b in bins)
        self.root = Task(tuple(i.wanted for i in items), (0,) * len(bins), high, budget)
        self.lp = Pricing(items, bins, self.root)
        self.best: Plan | None = None
        self.cost = 0
        self._work, self._clock = time.thread_time(), time.monotonic()

    def offer(self, plan: Plan) -> None:
        """Keep a plan that covers everything if it is the best so far."""
        cost = filling.cost_of(plan, self.bins)
        if self.best is None or cost < self.cost:
            self.best, self.cost = plan, cost
            for p in plan:
                self.lp.master.add(p)

    @property
    def late(self) -> bool:
        """Whether it is time to come to an end."""
        seconds = self.effort.seconds
        return time.thread_time() - self._work > seconds or time.monotonic() - self._clock > 2.0 * seconds

    def settles(self, bound: int) -> bool:
        """Whether nothing that costs ``bound`` or more is of interest."""
        return bound >= (self.lp.penalty if self.best is None else self.cost)

    # -- whole numbers -------------------------------------------------------

    def dive(self, task: Task) -> None:
        """Fix the program's largest choices one after the other, pricing anew in between."""
        plan: Plan = {}
        spent = 0
        while any(task.wanted):
            r = self.lp.master.solve(task)
            if not self.late and self.lp.price(r, task)[0]:
                r = self.lp.master.solve()
            if self.settles(spent + self.lp.up(r.cost - 1e-6)):
                return
            patterns = self.lp.master.patterns
            chosen = filling.largest_choices(r.values, patterns, self.lp.sizes, task, self.bins, self.late)
            if not chosen:
                return
            for p, n in chosen:
                plan[p] = plan.get(p, 0) + n
                spent += n * self.bins[p.bin].cost
                task = task.less(p, n, self.bins[p.bin].charge)
        self.offer(plan)

    def decided(self, task: Task, r: Relaxed, bound: int, exact: float) -> bool:
        """Whether nothing within ``task`` is better than the best plan, which is bettered first where it can be.

        Branch and bound over the patterns there are, then over every pattern
        whose reduced cost would still let it stand in a better plan.
        """
        e = self.effort
        if self.late:
            return False
        below = self.cost if self.best is not None else self.lp.penalty
        found, _ = best_whole(
            task, self.bins, self.lp.master.patterns, below, self.lp.step, e.whole_nodes, e.whole_seconds
        )
        if found is not None:
            self.offer(found)
            if self.settles(bound):
                return True
            below = self.cost
        listed = self.lp.listing(task, r, below - self.lp.step - exact, e.listed)
        if listed is None:
            return False
        found, done = best_whole(task, self.bins, listed, below, self.lp.step, e.whole_nodes, e.whole_seconds)
        if found is not None:
            self.offer(found)
        return done

    # -- the whole -----------------------------------------------------------

    def run(self) -> int:
        """Search; returns the bound."""
        least = self.lp.material()
        for plan in filling.plans(self.lp.sizes, self.root, self.bins, self.lp.sack):
            self.offer(plan)
            if self.settles(least):
                return least
        if len(self.root.wanted) > MOST_LENGTHS:
            return least
        queue: list[tuple[int, int, Task]] = [(least, 0, self.root)]
        open_bounds: list[int] = []
        made = 0
        while queue:
            before, _, task = heapq.heappop(queue)
            if self.settles(before):
                break
            if made > self.effort.nodes or (made and self.late):
                open_bounds.append(before)
                break
            r, bound, exact = self.lp.relax(task, self.settles, lambda: self.late)
            bound = max(before, bound)
            if self.settles(bound):
                continue
            strips = [0.0] * len(self.bins)
            for p, v in zip(self.lp.master.patterns, r.values, strict=False):
                strips[p.bin] += v
            loose = max(range(len(strips)), key=lambda b: abs(strips[b] - round(strips[b])))
            split = abs(strips[loose] - round(strips[loose])) > 1e-6
            if not split or made == 0:
                self.dive(task)
                if self.settles(bound):
                    continue
            parts = _branches(task, strips, loose if split else None)
            if not parts and not self.decided(task, r, bound, exact):
                open_bounds.append(bound)
            for part in parts:
                made += 1
                heapq.heappush(queue, (bound, made, part))
        rest = [q[0] for q in queue]
        return min([*open_bounds, *rest, self.lp.penalty if self.best is None else self.cost])


def _branches(task: Task, strips: Sequence[float], loose: int | None) -> list[Task]:
    """The task parted by the number of strips of one stock; nothing where all numbers are settled."""

    def between(b: int, low: int, high: int) -> Task:
        lows, highs = list(task.low), list(task.high)
        lows[b], highs[b] = low, high
        return replace(task, low=tuple(lows), high=tuple(highs))

    if loose is not None:
        cut = math.floor(strips[loose])
        return [between(loose, task.low[loose], cut), between(loose, cut + 1, task.high[loose])]
    for b, value in enumerate(strips):
        n, low, high = round(value), task.low[b], task.high[b]
        if low < high:
            parts = [between(b, n, n)]
            if n > low:
                parts.append(between(b, low, n - 1))
            if n < high:
                parts.append(between(b, n + 1, high))
            return parts
    return []


def solve(
    items: Sequence[Item],
    bins: Sequence[Bin],
    budget: int | None = None,
    effort: Effort | None = None,
    start: Solution | None = None,
) -> Solution:
    """The plan of least cost that cuts every item as often as it is wanted.

    Args:
        items: distinct sizes, each within the capacity of some bin.
        bins: the stocks.
        budget: the most that the charges of the strips used may add up to.
        effort: when to give up; what is then still open shows in the bound.
        start: a plan to better, of the same items and stocks.
    """
    s = _Search(items, bins, budget, effort or Effort())
    if start is not None and start.patterns:
        s.offer(dict(start.patterns))
    bound = s.run()
    if s.best is None:
        left = [math.ceil(x - 1e-6) for x in s.lp.master.solve(s.root).uncut]
        return Solution((), 0, bound, tuple(left) if any(left) else s.root.wanted)
    plan = filling.trimmed(s.best, s.root.wanted)
    patterns = tuple(sorted(plan.items(), key=lambda t: (t[0].bin, t[0].filling)))
    return Solution(patterns, s.cost, min(bound, s.cost), (0,) * len(items))
