"""All short runs of passes, listed, and met in the middle.

A run of passes needs heights that never go back up.  With the *latest start*
of a run (the least upper end of its slots' spans) and its *earliest end* (the
greatest lower end), two runs join when the one ends no later than the other can
start.  A run of 2k passes with a given product is found by listing all runs of
k passes, and for each the run of k passes that would have to come before it.

Equal loops have equal matrices, so no run is missed; two different ones meet by
chance in about one of 2**43 comparisons, and what is found is proven afterwards.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strapwork.braid.field import ONE, Columns, Longs, Matrix, columns, inverses, rows, signless, times
from strapwork.braid.loops import Loops, Slot

MOST_ROWS = 1_500_000  # runs in one half of a search
MOST_LISTED = 60_000  # runs written out
MOST_HALF = 5
A_BLOCK = 800  # what starting on a block costs, in rows
MOST_FOUND = 2_000
ROW_BITS = np.uint64(21)
ROW_MASK = np.uint64(2**21 - 1)

Heights = NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Runs:
    """All runs of one number of passes, in the order of ``end``.

    Attributes:
        slots: which slots, in the order they are made; shape (rows, passes).
        matrices: their products, the later pass on the left.
        twists: hashes of the ribbon turns, which add up as the turns do.
        start: the latest turn after which the first can be made.
        end: the earliest turn after which the last can be made.
    """

    slots: NDArray[np.int16]
    matrices: Columns
    twists: Longs
    start: Heights
    end: Heights

    def ordered(self) -> Runs:
        order = np.argsort(self.end, kind="stable")
        return Runs(
            self.slots[order], rows(self.matrices, order), self.twists[order], self.start[order], self.end[order]
        )


def _packed(hashes: Longs) -> Longs:
    """Hashes in order, the row of each in its lower bits."""
    out = (hashes & ~ROW_MASK) | np.arange(len(hashes), dtype=np.uint64)
    out.sort()
    return out


class Tables:
    """The runs of passes that can be made after turn ``now`` or later."""

    def __init__(self, loops: Loops, now: int) -> None:
        self.now, self.end = now, loops.end
        self.slots: list[Slot] = loops.slots(now)
        rng = random.Random(3)
        self._for_twist = [rng.randrange(1, 2**64, 2) for _ in range(loops.n)]
        self._for_matrix = np.array([rng.randrange(1, 2**64, 2) for _ in range(4)], dtype=np.uint64)
        none = Runs(
            np.zeros((1, 0), np.int16),
            columns([ONE]),
            np.zeros(1, np.uint64),
            np.array([self.end], np.int16),
            np.array([now], np.int16),
        )
        one = Runs(
            np.arange(len(self.slots), dtype=np.int16)[:, None],
            columns([s.matrix for s in self.slots]),
            np.array([self._hash(s.twist) for s in self.slots], np.uint64),
            np.array([s.high for s in self.slots], np.int16),
            np.array([s.low for s in self.slots], np.int16),
        )
        self._runs: list[Runs] = [none, one.ordered()]
        self._first_halves: dict[int, Longs] = {}

    def _hash(self, twist: Sequence[int]) -> int:
        return sum(e * k for e, k in zip(twist, self._for_twist, strict=True)) % 2**64

    def _list(self, passes: int) -> Runs | None:
        """All runs of ``passes`` passes written out; None where they are too many."""
        while len(self._runs) <= passes:
            if self.rows(len(self._runs)) > MOST_LISTED:
                return None
            shorter, one = self._runs[-1], self._runs[1]
            a, b = np.nonzero(shorter.end[:, None] <= one.start[None, :])
            made = Runs(
                np.concatenate([shorter.slots[a], one.slots[b]], axis=1),
                times(rows(one.matrices, b), rows(shorter.matrices, a)),
                shorter.twists[a] + one.twists[b],
                np.minimum(shorter.start[a], one.start[b]),
                np.maximum(shorter.end[a], one.end[b]),
            )
            self._runs.append(made.ordered())
        return self._runs[passes]

    def rows(self, passes: int) -> int:
        """How many runs of ``passes`` passes there are; more than ``MOST_ROWS`` where that is not known."""
        if passes < 2:
            return len(self._runs[passes].end)
        shorter = self._list(passes - 1)
        if shorter is None:
            return MOST_ROWS + 1
        return int(np.searchsorted(shorter.end, self._runs[1].start, "right").sum())

    def price(self, passes: int) -> int | None:
        """Rows that :meth:`find` has to look at, a block counted as so many more; None when it cannot answer."""
        many = passes - passes // 2
        if many > MOST_HALF or self.rows(many) > MOST_ROWS:
            return None
        blocks = A_BLOCK * len(self.slots)
        return blocks + self.rows(passes // 2) + (0 if many in self._first_halves else blocks + self.rows(many))

    def _half(self, passes: int, goal: Matrix | None, twist: int) -> Longs:
        """Hashes of all runs, or with ``goal`` of what must come before each of them to reach it.

        A run is one listed, then one slot more.  For each slot the runs that
        fit before it are the first rows of the list, so the work is done in
        blocks small enough for the processor's cache.
        """
        listed, one, fit = self._parts(passes)
        before = listed.matrices if goal is None else inverses(listed.matrices)
        whole = np.uint64(twist)
        out: list[Longs] = []
        for k, fitting in enumerate(fit):
            last = rows(one.matrices, slice(k, k + 1))
            head = rows(before, slice(0, fitting))
            twists = listed.twists[:fitting] + one.twists[k]
            if goal is None:
                out.append(signless(times(last, head), self._for_matrix) + twists)
            else:
                needed = times(inverses(last), columns([goal]))
                out.append(signless(times(head, needed), self._for_matrix) + (whole - twists))
        return np.concatenate(out)

    def _parts(self, passes: int) -> tuple[Runs, Runs, NDArray[np.int64]]:
        listed, one = self._list(max(0, passes - 1)), self._runs[min(1, passes)]
        if listed is None:
            raise ValueError("more passes than the tables hold")
        return listed, one, np.searchsorted(listed.end, one.start, "right")

    def _pick(self, passes: int, at: NDArray[np.int64]) -> tuple[NDArray[np.int16], Heights, Heights]:
        """Slots, latest start and earliest end of these rows of :meth:`_half`."""
        listed, one, fit = self._parts(passes)
        after = np.cumsum(fit)
        k = np.searchsorted(after, at, "right")
        j = at - (after[k] - fit[k])
        slots = np.concatenate([listed.slots[j], one.slots[k]], axis=1)
        return slots, np.minimum(listed.start[j], one.start[k]), np.maximum(listed.end[j], one.end[k])

    def find(self, passes: int, wanted: Matrix, twist: Sequence[int], now: int) -> list[tuple[Slot, ...]]:
        """Every run of exactly ``passes`` passes with this matrix and these ribbon turns.

        ``now`` is the turn after which the first can be made, at least the
        tables' own.  At most ``MOST_FOUND``, those that can be made soonest.

        Raises:
            ValueError: where :meth:`price` is None.
        """
        many, few = passes - passes // 2, passes // 2
        if many not in self._first_halves:
            self._first_halves[many] = _packed(self._half(many, None, 0))
        have, seek = self._first_halves[many], _packed(self._half(few, wanted, self._hash(twist)))
        keys, sought = have >> ROW_BITS, seek >> ROW_BITS
        left = np.searchsorted(keys, sought, "left")
        hit = keys[np.minimum(left, len(keys) - 1)] == sought
        left = left[hit]
        count = np.searchsorted(keys, sought[hit], "right") - left
        offset = np.arange(int(count.sum())) - np.repeat(np.cumsum(count) - count, count)
        early = (have[np.repeat(left, count) + offset] & ROW_MASK).astype(np.int64)
        late = np.repeat((seek[hit] & ROW_MASK).astype(np.int64), count)
        a, begins, ends = self._pick(many, early)
        b, starts, _ = self._pick(few, late)
        good = (begins >= now) & (np.maximum(ends, now) <= starts)
        found = np.concatenate([a[good], b[good]], axis=1)
        low = np.array([max(now, s.low) for s in self.slots], np.int64)
        soonest = np.argsort(low[found].sum(axis=1), kind="stable")[:MOST_FOUND]
        return [tuple(self.slots[i] for i in row) for row in found[soonest]]
