"""The linear program of a cutting plan: which fillings to cut, how often, at the least cost.

One row a piece length (all that is wanted must be covered), one a stock (from
how many to how many strips of it), one for a budget where there is one.  HiGHS
keeps its basis from one column to the next.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from strapwork.workshop.knapsack import Filling

NO_LIMIT = 1 << 30
DUAL, PRIMAL = 1, 4  # HiGHS's numbers for its simplex methods


@dataclass(frozen=True, slots=True)
class Item:
    """A size in whole units (the blade's way included) and how often it is wanted."""

    size: int
    wanted: int


@dataclass(frozen=True, slots=True)
class Bin:
    """A stock: capacity in whole units, cost of one, how many there are, and what one takes of the budget."""

    capacity: int
    cost: int
    limit: int = NO_LIMIT
    charge: int = 0


@dataclass(frozen=True, slots=True)
class Pattern:
    """One way to cut one strip of a stock."""

    bin: int
    filling: Filling


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be covered: pieces of each item, strips of each stock from ``low`` to ``high``, and the budget."""

    wanted: tuple[int, ...]
    low: tuple[int, ...]
    high: tuple[int, ...]
    budget: int | None = None

    def less(self, p: Pattern, times: int, charge: int) -> Task:
        """What is left when ``p`` has been cut ``times`` times."""
        wanted, low, high = list(self.wanted), list(self.low), list(self.high)
        for i, n in p.filling:
            wanted[i] = max(0, wanted[i] - n * times)
        low[p.bin] = max(0, low[p.bin] - times)
        high[p.bin] -= times
        budget = None if self.budget is None else self.budget - charge * times
        return Task(tuple(wanted), tuple(low), tuple(high), budget)


@dataclass(frozen=True, slots=True)
class Relaxed:
    """A solution of the linear program: values of the patterns and of uncut pieces, and the rows' duals.

    The cost is infinite where so many strips as are asked for go beyond the budget.
    """

    cost: float
    values: tuple[float, ...]
    uncut: tuple[float, ...]
    pieces: tuple[float, ...]
    stocks: tuple[float, ...]
    budget: float


def _solver() -> Any:
    import highspy

    class Quiet(highspy.Highs):
        """HiGHS that says nothing, not even its name while it is being set up."""

        def enableCallbacks(self) -> None:  # noqa: N802 - highspy's name
            self.setOptionValue("output_flag", False)
            super().enableCallbacks()  # type: ignore[no-untyped-call]

    h = Quiet()  # type: ignore[no-untyped-call]
    h.setOptionValue("threads", 1)
    return h


class _Program:
    """Rows for a task, and columns for patterns."""

    def __init__(self, task: Task, bins: Sequence[Bin]) -> None:
        import highspy

        self.infinity = highspy.kHighsInf
        self.infeasible = highspy.HighsModelStatus.kInfeasible
        self.bins = bins
        self.count = len(task.wanted)
        self.h = _solver()
        for _ in range(self.count + len(bins) + 1):
            self.h.addRow(-self.infinity, self.infinity, 0, np.array([], dtype=np.int32), np.array([]))
        self.set(task)

    def set(self, task: Task) -> None:
        """Change what is wanted, between which numbers of strips, and the budget."""
        for i, n in enumerate(task.wanted):
            self.h.changeRowBounds(i, float(n), self.infinity)
        for b, (low, high) in enumerate(zip(task.low, task.high, strict=True)):
            self.h.changeRowBounds(self.count + b, float(low), float(high) if high < NO_LIMIT // 2 else self.infinity)
        most = self.infinity if task.budget is None else float(task.budget)
        self.h.changeRowBounds(self.count + len(self.bins), -self.infinity, most)

    def add(self, p: Pattern, most: float) -> None:
        rows, values = [i for i, _ in p.filling], [float(n) for _, n in p.filling]
        rows.append(self.count + p.bin)
        values.append(1.0)
        if self.bins[p.bin].charge:
            rows.append(self.count + len(self.bins))
            values.append(float(self.bins[p.bin].charge))
        self.column(float(self.bins[p.bin].cost), most, rows, values)

    def column(self, cost: float, most: float, rows: Sequence[int], values: Sequence[float]) -> None:
        self.h.addCol(cost, 0.0, most, len(rows), np.array(rows, dtype=np.int32), np.array(values))


class Master:
    """The linear program over the patterns added so far.

    A piece may stay uncut at the cost ``penalty``, so that there is always a
    solution; and a longer piece may stand for the next shorter one at no cost,
    which is true of every plan and steadies the duals (H. Ben Amor, J.
    Desrosiers and J. M. Valerio de Carvalho, Dual-optimal inequalities for
    stabilized column generation, Operations Research 54, 2006, 454-463).
    """

    def __init__(self, sizes: Sequence[int], task: Task, bins: Sequence[Bin], penalty: float) -> None:
        self.patterns: list[Pattern] = []
        self._known: set[Pattern] = set()
        self._bins = bins
        self._program = _Program(task, bins)
        self._count = len(task.wanted)
        for i in range(self._count):
            self._program.column(penalty, self._program.infinity, [i], [1.0])
        order = sorted(range(self._count), key=lambda i: -sizes[i])
        for long, short in pairwise(order):
            self._program.column(0.0, self._program.infinity, [long, short], [-1.0, 1.0])
        self._first = self._count + max(0, self._count - 1)

    def add(self, p: Pattern) -> bool:
        """Add a pattern; False if it is there already."""
        if p in self._known or not p.filling:
            return False
        self._known.add(p)
        self.patterns.append(p)
        self._program.add(p, self._program.infinity)
        return True

    def solve(self, task: Task | None = None) -> Relaxed:
        """The least cost of covering ``task`` (the last one if None) in parts of strips."""
        h, n = self._program.h, self._count
        if task is not None:
            self._program.set(task)
        # New columns leave the last solution feasible, other bounds its duals.
        h.setOptionValue("simplex_strategy", PRIMAL if task is None else DUAL)
        h.run()
        if h.getModelStatus() == self._program.infeasible:
            none = (0.0,) * n
            return Relaxed(math.inf, (), none, none, (0.0,) * len(self._bins), 0.0)
        s = h.getSolution()
        x, dual = list(s.col_value), list(s.row_dual)
        cost = float(h.getInfo().objective_function_value)
        return Relaxed(cost, tuple(x[self._first :]), tuple(x[:n]), tuple(dual[:n]), tuple(dual[n:-1]), float(dual[-1]))


def best_whole(
    task: Task, bins: Sequence[Bin], patterns: Sequence[Pattern], below: int, step: int, nodes: int, seconds: float
) -> tuple[dict[Pattern, int] | None, bool]:
    """The best whole-number choice of ``patterns`` that costs less than ``below``, by branch and bound.

    Every cost is a multiple of ``step``; ``nodes`` and ``seconds`` say when to
    give up.  Returns the choice (None for none found) and whether the search was finished.
    """
    import highspy

    program = _Program(task, bins)
    h = program.h
    for name, value in (
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 0.99 * step),
        ("mip_max_nodes", nodes),
        ("time_limit", seconds),
        ("objective_bound", below - 0.5 * step),
    ):
        h.setOptionValue(name, value)
    most = float(sum(task.wanted))
    for p in patterns:
        program.add(p, min(most, float(task.high[p.bin])))
    count = len(patterns)
    whole = np.full(count, int(highspy.HighsVarType.kInteger), dtype=np.uint8)
    h.changeColsIntegrality(count, np.arange(count, dtype=np.int32), whole)
    h.run()
    status, info = h.getModelStatus(), h.getInfo()
    done = status in (
        highspy.HighsModelStatus.kOptimal,
        highspy.HighsModelStatus.kInfeasible,
        highspy.HighsModelStatus.kObjectiveBound,
    )
    if info.primal_solution_status != highspy.kSolutionStatusFeasible:
        return None, done
    values = list(h.getSolution().col_value)
    chosen = {p: round(v) for p, v in zip(patterns, values, strict=True) if round(v)}
    return (chosen if sum(bins[p.bin].cost * n for p, n in chosen.items()) < below else None), done
