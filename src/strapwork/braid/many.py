"""A sieve for the sphere condition: thousands of braids at once that differ only in over and under.

The Hurwitz action of :mod:`strapwork.braid.proof`, with numpy and in the smaller
field of 2**31 - 1 elements, where products fit 64 bits.  A braid that is inner
conjugates all matrices by one, and so keeps the trace of the product of every
two.  What the sieve rejects cannot be worked; what it lets through is left to
the proof.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

PRIME = 2**31 - 1
AT_ONCE = 8192

Numbers = NDArray[np.uint64]

_P, _BITS = np.uint64(PRIME), np.uint64(31)


def may_be_trivial_on_sphere(
    strands: int, places: Sequence[int], repeats: int, signs: Sequence[Sequence[int]]
) -> NDArray[np.bool_]:
    """Which braids pass the sieve.

    Args:
        strands: number of strands, at least 3.
        places: left position of every crossing of one round.
        repeats: rounds.
        signs: one row a braid, +1 or -1 for every crossing of a round.

    Returns:
        One value a row; False means certainly not trivial on the marked sphere.
    """
    rows = np.asarray(signs, dtype=np.int8).reshape(len(signs), len(places)) > 0
    parts = [_sieve(strands, places, repeats, rows[k : k + AT_ONCE]) for k in range(0, len(rows), AT_ONCE)]
    return np.concatenate(parts) if parts else np.zeros(0, dtype=np.bool_)


def _sieve(strands: int, places: Sequence[int], repeats: int, positive: NDArray[np.bool_]) -> NDArray[np.bool_]:
    base = _base(strands)
    state = [np.repeat(m[:, None], len(positive), axis=1) for m in base]
    columns = np.ascontiguousarray(positive.T)
    for _ in range(repeats):
        for i, plus in zip(places, columns, strict=True):
            x, y = state[i - 1], state[i]
            # +: (x, y) -> (x y x^-1, x);  -: (x, y) -> (y, y^-1 x y).
            kept, moved = np.where(plus, x, y), np.where(plus, y, x)
            back = _inverse(kept)
            g, h = np.where(plus, kept, back), np.where(plus, back, kept)
            moved = _product(_product(g, moved), h)
            state[i - 1], state[i] = np.where(plus, moved, kept), np.where(plus, kept, moved)
    passed = np.ones(len(positive), dtype=np.bool_)
    for a in range(strands):
        for b in range(a + 1, strands):
            passed &= _trace(state[a], state[b]) == _trace(base[a], base[b])
    return passed


def _base(strands: int) -> list[Numbers]:
    """Matrices of determinant 1 whose product is the identity; seeded, so that the sieve is always the same."""
    rng = random.Random(2)
    out: list[Numbers] = []
    whole: Numbers = np.array([1, 0, 0, 1], dtype=np.uint64)
    for _ in range(strands - 1):
        a, b, c = (rng.randrange(1, PRIME) for _ in range(3))
        out.append(np.array([a, b, c, (1 + b * c) * pow(a, -1, PRIME) % PRIME], dtype=np.uint64))
        whole = _product(whole, out[-1])
    return [*out, _inverse(whole)]


def _folded(x: Numbers) -> Numbers:
    """``x`` brought below 2**31 + 3 with the same remainder; sums of two products of such numbers fit 64 bits."""
    x = (x & _P) + (x >> _BITS)
    return (x & _P) + (x >> _BITS)


def _product(a: Numbers, b: Numbers) -> Numbers:
    out = np.empty(np.broadcast_shapes(a.shape, b.shape), dtype=np.uint64)
    out[0] = a[0] * b[0] + a[1] * b[2]
    out[1] = a[0] * b[1] + a[1] * b[3]
    out[2] = a[2] * b[0] + a[3] * b[2]
    out[3] = a[2] * b[1] + a[3] * b[3]
    return _folded(out)


def _inverse(a: Numbers) -> Numbers:
    twice = np.uint64(2 * PRIME)
    return _folded(np.stack([a[3], twice - a[1], twice - a[2], a[0]]))


def _trace(a: Numbers, b: Numbers) -> Numbers:
    return np.asarray((_folded(a[0] * b[0] + a[1] * b[2]) + _folded(a[2] * b[1] + a[3] * b[3])) % _P)
