"""Optimal one-dimensional quantisation: the few values that stand best for many.

Sorted values are cut into runs, each with one centre, so that the mean squared
distance to the centre is least.  The best cut is found exactly by dynamic
programming (H. Wang and M. Song, Ckmeans.1d.dp: Optimal k-means Clustering in
One Dimension by Dynamic Programming, The R Journal 3/2, 2011, 29-33).  The cost
of a run obeys the quadrangle inequality, so that the best last cut never moves
back as the row goes on; a row is therefore filled middle first, and each half
looks on its own side of the cut found there: O(n log n) a row instead of O(n2).
The inequality also holds where centres are kept to whole steps.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Numbers: TypeAlias = NDArray[np.float64]
Places: TypeAlias = NDArray[np.int64]


class Quantiser:
    """Values with weights, cut into ever more runs on request.

    Args:
        values: distinct and rising.
        weights: above zero.
        step: centres are whole multiples of it; None for the mean of each run.
    """

    def __init__(self, values: Sequence[float], weights: Sequence[float], step: float | None = None) -> None:
        v, w = np.asarray(values, dtype=float), np.asarray(weights, dtype=float)
        self.size = len(v)
        self.step = step
        # Sums of squares lose digits far from zero.
        self.zero = float(np.average(v, weights=w))
        x = v - self.zero
        self._w, self._s, self._q = (np.concatenate(([0.0], np.cumsum(t))) for t in (w, w * x, w * x * x))
        self._rows: list[Numbers] = [np.concatenate(([0.0], np.full(self.size, np.inf)))]
        self._cuts: list[Places] = [np.zeros(self.size + 1, dtype=np.int64)]

    def centres(self, first: Places, after: Places) -> Numbers:
        """Best centres of the runs ``first`` .. ``after`` - 1."""
        mean: Numbers = (self._s[after] - self._s[first]) / (self._w[after] - self._w[first]) + self.zero
        if self.step is not None:
            mean = np.round(mean / self.step) * self.step
        return mean

    def _cost(self, first: Places, after: Places) -> Numbers:
        w, s = self._w[after] - self._w[first], self._s[after] - self._s[first]
        q = self._q[after] - self._q[first]
        c = s / w if self.step is None else self.centres(first, after) - self.zero
        cost: Numbers = np.maximum(q - 2.0 * c * s + c * c * w, 0.0)
        return cost

    def _fill(self) -> None:
        """The row for one run more: the least cost of the first i values, for every i."""
        k, n = len(self._rows), self.size
        previous = self._rows[-1]
        row = np.full(n + 1, np.inf)
        cut = np.zeros(n + 1, dtype=np.int64)
        # (from, to) of the places still to fill, and of the cuts that they need to look at.
        todo = np.array([[k, n, k - 1, n - 1]], dtype=np.int64)
        while len(todo):
            low, high, left, right = todo.T
            middle = (low + high) // 2
            right = np.minimum(right, middle - 1)
            many = right - left + 1
            starts = np.concatenate(([0], np.cumsum(many)[:-1]))
            j = np.arange(int(many.sum())) + np.repeat(left - starts, many)
            value = previous[j] + self._cost(j, np.repeat(middle, many))
            least = np.minimum.reduceat(value, starts)
            hits = np.flatnonzero(value == np.repeat(least, many))
            owner = np.searchsorted(starts, hits, side="right") - 1
            best = j[hits[np.unique(owner, return_index=True)[1]]]
            row[middle], cut[middle] = least, best
            before = np.stack([low, middle - 1, left, best], axis=1)
            behind = np.stack([middle + 1, high, best, todo[:, 3]], axis=1)
            todo = np.concatenate([before[before[:, 0] <= before[:, 1]], behind[behind[:, 0] <= behind[:, 1]]])
        self._rows.append(row)
        self._cuts.append(cut)

    def runs(self, of: int) -> list[tuple[int, int]]:
        """The best ``of`` runs as (first, after) places in the values; ``of`` at most their number."""
        while len(self._rows) <= of:
            self._fill()
        out: list[tuple[int, int]] = []
        after = self.size
        for k in range(of, 0, -1):
            first = int(self._cuts[k][after])
            out.append((first, after))
            after = first
        return out[::-1]

    def best(self, of: int) -> list[float]:
        """The best ``of`` centres, rising."""
        edges = np.array(self.runs(of), dtype=np.int64)
        return [float(c) for c in self.centres(edges[:, 0], edges[:, 1])]


def windows(
    values: Sequence[float], weights: Sequence[float], of: int, reach: float
) -> tuple[float, list[tuple[int, int]]]:
    """The most weight that any ``of`` centres can have within ``reach``, and the runs of values that lie there.

    A centre covers a window twice ``reach`` wide; the windows that cover most
    are found exactly, by dynamic programming over their right ends.  Fewer runs
    than ``of`` come back where fewer cover everything.
    """
    v = np.asarray(values, dtype=float)
    total = np.concatenate(([0.0], np.cumsum(np.asarray(weights, dtype=float))))
    first = np.searchsorted(v, v - 2.0 * reach - 1e-9, side="left")
    window = total[1:] - total[first]
    rows = [np.zeros(len(v) + 1)]
    for _ in range(of):
        rows.append(np.maximum.accumulate(np.concatenate(([0.0], rows[-1][first] + window))))
    runs: list[tuple[int, int]] = []
    after = len(v)
    for k in range(of, 0, -1):
        # The leftmost end that already has all of this row's weight.
        after = int(np.searchsorted(rows[k][: after + 1], rows[k][after], side="left"))
        if after == 0:
            break
        runs.append((int(first[after - 1]), after))
        after = int(first[after - 1])
    return float(rows[of][-1]), runs[::-1]
