"""Dynnikov coordinates: an exact second method, and a measure of tangle.

A braid of n strands acts on 2n integers; it is trivial exactly when it leaves
(0, 1, 0, 1, ..) as it was.  The numbers count how often a family of curves,
dragged along by the strands, meets fixed lines, so their size says how tangled
the strands are.  Formulas: P. Dehornoy, I. Dynnikov, D. Rolfsen, B. Wiest,
Ordering Braids (AMS 2008), chapter on Dynnikov coordinates (quoted from memory;
the tests check the group relations and compare with the matrix method).
"""

from __future__ import annotations

import math
from collections.abc import Sequence


def _pos(x: int) -> int:
    return x if x > 0 else 0


def _neg(x: int) -> int:
    return x if x < 0 else 0


def coordinates(strands: int, word: Sequence[int]) -> list[int]:
    """The image of (0, 1, 0, 1, ..) under ``word``; integers of linear size."""
    v = [0, 1] * strands
    move(v, word)
    return v


def move(v: list[int], word: Sequence[int]) -> None:
    """Let ``word`` act on coordinates, in place."""
    for c in word:
        k = 2 * (abs(c) - 1)
        a1, b1, a2, b2 = v[k : k + 4]
        if c > 0:
            z = a1 - _neg(b1) - a2 + _pos(b2)
            v[k : k + 4] = [
                a1 + _pos(b1) + _pos(_pos(b2) - z),
                b2 - _pos(z),
                a2 + _neg(b2) + _neg(_neg(b1) + z),
                b1 + _pos(z),
            ]
        else:
            z = a1 + _neg(b1) - a2 - _pos(b2)
            v[k : k + 4] = [
                a1 - _pos(b1) - _pos(_pos(b2) + z),
                b2 + _neg(z),
                a2 - _neg(b2) - _neg(_neg(b1) - z),
                b1 - _neg(z),
            ]


def tangle(strands: int, word: Sequence[int]) -> float:
    """How tangled the strands are: log2 of the growth of the coordinates; 0 when they hang free."""
    total = sum(abs(x) for x in coordinates(strands, word))
    return math.log2(total / strands)
