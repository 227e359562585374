"""Every tab pass of one way of working as one small matrix.

A pass is the tab's way round a loop of the sphere with n marked points, the
strands (see :mod:`strapwork.braid.proof`).  Loops make a free group, and a free
group has faithful pictures in 2 x 2 matrices, so:

* Let the strands at the good end of the set carry matrices x_1 .. x_n whose
  product is 1, and let the turns, unworked from the end upwards, act on them.
  At every height a pass through gap g then conjugates the whole tuple by
  y_g = x_1 .. x_g of *that* height, or by its inverse from the back: the
  product of all strands is 1, so the twist of the strands left of the gap and
  the opposite twist of those right of it are conjugation by one matrix.
* Passes made one after the other therefore multiply, the later one on the left,
  and they put the work right exactly when their product is one fixed matrix
  (up to sign, which conjugation cannot see) and the ribbon turns of every
  strand add up to zero.  The ribbon turns settle what the sphere forgets, the
  full twist of all strands together, which would turn every ribbon.

Many passes at different heights are the same: a gap on the left does not
notice a turn on the right.  A :class:`Slot` is one such pass with the span of
turns in which it can be made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from strapwork.braid.field import ONE, Matrix, act, closed_tuple, conjugator, inv, mul
from strapwork.braid.passes import TabPass, inverse
from strapwork.braid.word import Turn, positions_after


@dataclass(frozen=True, slots=True)
class Slot:
    """One pass that can be made anywhere from turn ``low`` to turn ``high``.

    Attributes:
        low, high: it is the same pass after each of these turns.
        gap, sign: as in :class:`strapwork.braid.passes.TabPass`.
        matrix: of its loop.
        twist: the ribbon turn it gives every strand, by start position.
    """

    low: int
    high: int
    gap: int
    sign: int
    matrix: Matrix
    twist: tuple[int, ...]


class Loops:
    """All passes of one way of working, from the first turn to a good end.

    Args:
        strands: number of strands, at least 3.
        turns: every turn from the start to the end of a set.
    """

    def __init__(self, strands: int, turns: Sequence[Turn]) -> None:
        self.n = strands
        self.turns = tuple(turns)
        self.end = len(self.turns)
        self.base = closed_tuple(strands)
        tuples = [self.base]
        for t in reversed(self.turns):
            tuples.append(act(inverse(t.crossings), tuples[-1]))
        self.tuples = tuples[::-1]
        self.orders = [tuple(range(1, strands + 1))]
        for t in self.turns:
            order = self.orders[-1]
            self.orders.append(tuple(order[p - 1] for p in positions_after(strands, t.crossings)))
        self.home = conjugator(self.base, self.tuples[0])

    @cached_property
    def loops(self) -> list[list[Matrix]]:
        """For every height the matrices y_1 .. y_(n-1) of its gaps."""
        out = []
        for tuple_ in self.tuples:
            row, y = [], ONE
            for x in tuple_[:-1]:
                y = mul(y, x)
                row.append(y)
            out.append(row)
        return out

    def matrix(self, p: TabPass) -> Matrix:
        """The matrix of one pass."""
        y = self.loops[p.after_turn][p.gap - 1]
        return y if p.sign > 0 else inv(y)

    def product(self, made: Sequence[TabPass]) -> Matrix:
        """The matrix of passes made in this order."""
        result = ONE
        for p in made:
            result = mul(self.matrix(p), result)
        return result

    def twist(self, p: TabPass) -> tuple[int, ...]:
        """The ribbon turn that a pass gives every strand, by start position."""
        e = [0] * self.n
        for place, strand in enumerate(self.orders[p.after_turn], start=1):
            e[strand - 1] = p.sign if place <= p.gap else -p.sign
        return tuple(e)

    def twists(self, made: Sequence[TabPass]) -> tuple[int, ...]:
        """The ribbon turns of all these passes together."""
        return tuple(map(sum, zip(*map(self.twist, made), strict=True))) if made else (0,) * self.n

    def wanted(self, made: Sequence[TabPass]) -> Matrix | None:
        """The matrix that the passes still to come must have after ``made``; None when no passes can help."""
        return mul(inv(self.home), inv(self.product(made))) if self.home is not None else None

    def slots(self, low: int) -> list[Slot]:
        """Every different pass that can be made after turn ``low`` or later."""
        out: list[Slot] = []
        for gap in range(1, self.n):
            begun = low
            for h in range(low, self.end + 1):
                here, twist = self.loops[h][gap - 1], self.twist(TabPass(h, gap, "front"))
                if h < self.end and self.loops[h + 1][gap - 1] == here:
                    continue
                back = tuple(-x for x in twist)
                out += [Slot(begun, h, gap, 1, here, twist), Slot(begun, h, gap, -1, inv(here), back)]
                begun = h + 1
        return out
