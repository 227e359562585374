"""Every pattern whose strands come home unlinked, without trying them all.

Which strands meet depends on the reaches of the turns alone, not on over and
under.  So for given reaches the signed crossings of a pair of strands, summed up
to the first round at which every strand is home, are a sum of the pattern's
crossings (+1 or -1) with known weights.  All sums have to be zero.  The crossings
are split in two halves; the sums of one half are looked up among those of the
other, which asks for 2**(m/2) steps instead of 2**m.

Only the first homecoming counts
--------------------------------
Let p be the braid at the first round at which every strand is home.  Linking
numbers of p worked j times are j times those of p, and the pure mapping classes
of a sphere with three or more marked points have no elements of finite order
(a map of finite order is a rotation and keeps two points at most; B. Farb and
D. Margalit, A Primer on Mapping Class Groups, 2012, chapter 7, from memory).
So if p cannot be worked, no number of repeats can, and sets need no bound: with
seven strands and two turns the longest has 24 turns.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from strapwork.braid.patterns import Pattern

Sums = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Family:
    """Patterns with the same sides and reaches whose strands come home unlinked.

    Attributes:
        strands: number of strands.
        sides: order of the sides, such as ``"RL"``.
        reaches: how many strands each turn crosses.
        places: left position of every crossing of one round.
        repeats: rounds until every strand is home for the first time.
        signs: for every pattern its crossings' signs (+1: left strand over).
    """

    strands: int
    sides: str
    reaches: tuple[int, ...]
    places: tuple[int, ...]
    repeats: int
    signs: list[tuple[int, ...]]

    def pattern(self, signs: Sequence[int]) -> Pattern:
        """The pattern with these signs, as it is typed."""
        texts, at = [], 0
        for side, reach in zip(self.sides, self.reaches, strict=True):
            over = -1 if side == "R" else 1
            texts.append(side + "".join("o" if s == over else "u" for s in signs[at : at + reach]))
            at += reach
        return tuple(texts)


def families(strands: int, sides: str) -> Iterator[Family]:
    """All patterns of the given sides whose strands come home unlinked, reach by reach."""
    for reaches in product(range(1, strands), repeat=len(sides)):
        places = _places(strands, sides, reaches)
        repeats, weights = _weights(strands, places)
        yield Family(strands, sides, reaches, places, repeats, _solutions(weights))


def _places(strands: int, sides: str, reaches: Sequence[int]) -> tuple[int, ...]:
    """Left positions of the crossings of one round."""
    out: list[int] = []
    for side, reach in zip(sides, reaches, strict=True):
        out += range(strands - 1, strands - 1 - reach, -1) if side == "R" else range(1, reach + 1)
    return tuple(out)


def _weights(strands: int, places: Sequence[int]) -> tuple[int, list[Sums]]:
    """Rounds until all are home, and for every crossing how often it is made by which pair."""
    column = {pair: k for k, pair in enumerate((a, b) for a in range(strands) for b in range(a + 1, strands))}
    weights = [[0] * len(column) for _ in places]
    home = list(range(strands))
    order = home[:]
    repeats = 0
    while repeats == 0 or order != home:
        for row, i in zip(weights, places, strict=True):
            a, b = order[i - 1], order[i]
            row[column[min(a, b), max(a, b)]] += 1
            order[i - 1], order[i] = b, a
        repeats += 1
    return repeats, [tuple(row) for row in weights]


def _solutions(weights: Sequence[Sums]) -> list[tuple[int, ...]]:
    """All signs with which every weighted sum is zero."""
    half = len(weights) // 2
    left: dict[Sums, list[tuple[int, ...]]] = {}
    for signs, sums in _all_sums(weights[:half]):
        left.setdefault(sums, []).append(signs)
    return [
        start + signs
        for signs, sums in _all_sums(weights[half:])
        for start in left.get(tuple(-x for x in sums), ())
    ]  # fmt: skip


def _all_sums(weights: Sequence[Sums]) -> list[tuple[tuple[int, ...], Sums]]:
    out: list[tuple[tuple[int, ...], Sums]] = [((), (0,) * len(weights[0]))]
    for row in weights:
        out = [((*s, e), tuple(x + e * w for x, w in zip(v, row, strict=True))) for s, v in out for e in (1, -1)]
    return out
