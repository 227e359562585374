"""The dearest filling of a strip: pieces with a worth each, as many as go in.

A bounded knapsack in whole units, solved exactly for every capacity at once by
dynamic programming over the capacity (R. Bellman's recursion).  Pieces wanted
several times stand as bundles of 1, 2, 4, .. so that any number is a sum of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Filling: TypeAlias = tuple[tuple[int, int], ...]  # (item, how many), items rising
Table: TypeAlias = NDArray[Any]


class Knapsack:
    """Sizes in whole units and a largest capacity, filled again and again with new worths."""

    def __init__(self, sizes: Sequence[int], capacity: int) -> None:
        self.sizes = list(sizes)
        self.capacity = capacity
        self._bundles: list[tuple[int, int]] = []
        self._taken: list[NDArray[np.bool_]] = []

    def fill(
        self,
        worth: Sequence[float] | Table,
        most: Sequence[int],
        exact: bool = False,
        only: Sequence[int] | None = None,
    ) -> Table:
        """The best worth within each capacity 0, 1, .. (whole numbers where ``exact``).

        ``most[i]`` is how often item i may be taken; worths must not be negative.
        With ``only`` no other items are looked at.
        """
        c = self.capacity
        best: Table = np.zeros(c + 1, dtype=np.int64 if exact else np.float64)
        trial: Table = np.empty_like(best)
        self._bundles = []
        for i in range(len(self.sizes)) if only is None else only:
            size = self.sizes[i]
            left = min(most[i], c // size) if worth[i] > 0 else 0
            n = 1
            while left > 0:
                n = min(n, left)
                left -= n
                weight = n * size
                k = len(self._bundles)
                if k == len(self._taken):
                    self._taken.append(np.zeros(c + 1, dtype=np.bool_))
                taken = self._taken[k]
                np.add(best[: c + 1 - weight], n * worth[i], out=trial[weight:])
                taken[:weight] = False
                np.greater(trial[weight:], best[weight:], out=taken[weight:])
                np.maximum(best[weight:], trial[weight:], out=best[weight:])
                self._bundles.append((i, n))
                n *= 2
        return best

    def filling(self, capacity: int, bundles: int | None = None) -> Filling:
        """What the best filling of the last :meth:`fill` holds, of the first ``bundles`` bundles only if given."""
        chosen: dict[int, int] = {}
        room = capacity
        for k in range((len(self._bundles) if bundles is None else bundles) - 1, -1, -1):
            if self._taken[k][room]:
                i, n = self._bundles[k]
                chosen[i] = chosen.get(i, 0) + n
                room -= n * self.sizes[i]
        return tuple(sorted(chosen.items()))

    def fillings(self, capacity: int, most: int) -> list[Filling]:
        """The best filling, and up to ``most`` - 1 others that are best without the pieces looked at last."""
        out: dict[Filling, None] = {}
        for k in range(len(self._bundles), 0, -1):
            if self._taken[k - 1][capacity]:
                out[self.filling(capacity, k)] = None
                if len(out) == most:
                    break
        return list(out)


def all_fillings(
    sizes: Sequence[int], worth: Sequence[float], most: Sequence[int], capacity: int, least: float, limit: int
) -> list[Filling] | None:
    """Every filling worth ``least`` or more that no further piece goes into; None beyond ``limit`` of them.

    A depth-first walk that turns back where even the best filling of what is
    left over would not be worth enough.
    """
    n = len(sizes)
    rest = np.zeros((n + 1, capacity + 1))
    for i in range(n - 1, -1, -1):
        row = rest[i]
        row[:] = rest[i + 1]
        for times in range(1, min(most[i], capacity // sizes[i]) + 1):
            weight = times * sizes[i]
            np.maximum(row[weight:], rest[i + 1][: capacity + 1 - weight] + times * worth[i], out=row[weight:])
    out: list[Filling] = []
    chosen: list[tuple[int, int]] = []
    steps = 0

    def walk(first: int, room: int, value: float) -> bool:
        nonlocal steps
        for i in range(first, n):
            if value + rest[i][room] < least:
                return True
            steps += 1
            if steps > 40 * limit:
                return False
            for times in range(1, min(most[i], room // sizes[i]) + 1):
                chosen.append((i, times))
                on = walk(i + 1, room - times * sizes[i], value + times * worth[i])
                chosen.pop()
                if not on:
                    return False
        if value >= least:
            taken = dict(chosen)
            if not any(sizes[i] <= room and taken.get(i, 0) < most[i] for i in range(n)):
                out.append(tuple(chosen))
        return len(out) <= limit

    return out if walk(0, capacity, 0.0) else None
