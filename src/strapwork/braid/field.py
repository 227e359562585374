"""2 x 2 matrices of determinant 1 over the field with 2**31 - 1 elements, one at a time and by the column.

The prime is small enough for numpy to multiply in 64 bits and, being a
Mersenne prime, takes its remainders by shifts.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from strapwork.braid.word import Word

P = 2**31 - 1

Matrix = tuple[int, int, int, int]
ONE: Matrix = (1, 0, 0, 1)

Longs = NDArray[np.uint64]
Columns = tuple[Longs, Longs, Longs, Longs]

_P, _31, _0 = np.uint64(P), np.uint64(31), np.uint64(0)


def mul(a: Matrix, b: Matrix) -> Matrix:
    """The product of two matrices."""
    return (
        (a[0] * b[0] + a[1] * b[2]) % P,
        (a[0] * b[1] + a[1] * b[3]) % P,
        (a[2] * b[0] + a[3] * b[2]) % P,
        (a[2] * b[1] + a[3] * b[3]) % P,
    )


def inv(a: Matrix) -> Matrix:
    """The inverse of a matrix of determinant 1."""
    return (a[3], -a[1] % P, -a[2] % P, a[0])


def closed_tuple(count: int) -> list[Matrix]:
    """``count`` matrices whose product is 1; seeded, so that an answer never changes."""
    rng = random.Random(14)
    result, last = [], ONE
    for _ in range(count - 1):
        a, b, c = rng.randrange(1, P), rng.randrange(P), rng.randrange(P)
        m = (a, b, c, (1 + b * c) * pow(a, -1, P) % P)
        result.append(m)
        last = mul(last, m)
    return [*result, inv(last)]


def act(word: Word, tuple_: Sequence[Matrix]) -> list[Matrix]:
    """The Hurwitz action, as :func:`strapwork.braid.proof.act` has it over a larger field."""
    t = list(tuple_)
    for c in word:
        i = abs(c) - 1
        x, y = t[i], t[i + 1]
        if c > 0:
            t[i], t[i + 1] = mul(mul(x, y), inv(x)), x
        else:
            t[i], t[i + 1] = y, mul(mul(inv(y), x), y)
    return t


def conjugator(base: Sequence[Matrix], image: Sequence[Matrix]) -> Matrix | None:
    """The matrix g of determinant 1 with  image_i = g base_i g^-1  for all i, up to sign; None when there is none.

    The equations  image_i g = g base_i  are linear in the four entries of g.
    """
    rows: list[list[int]] = []
    for (x0, x1, x2, x3), (y0, y1, y2, y3) in zip(base, image, strict=True):
        rows += [
            [(y0 - x0) % P, -x2 % P, y1, 0],
            [-x1 % P, (y0 - x3) % P, 0, y1],
            [y2, 0, (y3 - x0) % P, -x2 % P],
            [0, y2, -x1 % P, (y3 - x3) % P],
        ]
    pivots: list[int] = []
    for col in range(4):
        rank = len(pivots)
        at = next((i for i in range(rank, len(rows)) if rows[i][col]), None)
        if at is None:
            continue
        rows[rank], rows[at] = rows[at], rows[rank]
        unit = pow(rows[rank][col], -1, P)
        rows[rank] = [v * unit % P for v in rows[rank]]
        for i, row in enumerate(rows):
            f = row[col]
            if i != rank and f:
                rows[i] = [(v - f * h) % P for v, h in zip(row, rows[rank], strict=True)]
        pivots.append(col)
    free = [c for c in range(4) if c not in pivots]
    if len(free) != 1:
        return None
    g = [0, 0, 0, 0]
    g[free[0]] = 1
    for row, col in zip(rows, pivots, strict=False):
        g[col] = -row[free[0]] % P
    det = (g[0] * g[3] - g[1] * g[2]) % P
    if det == 0 or pow(det, (P - 1) // 2, P) != 1:
        return None
    root = pow(det, -((P + 1) // 4), P)  # a square root's inverse, as P = 3 mod 4
    return (g[0] * root % P, g[1] * root % P, g[2] * root % P, g[3] * root % P)


def columns(matrices: Sequence[Matrix]) -> Columns:
    """Matrices as four columns of entries."""
    a, b, c, d = np.array(matrices, np.uint64).reshape(-1, 4).T.copy()
    return a, b, c, d


def _dot(a: Longs, b: Longs, c: Longs, d: Longs) -> Longs:
    """a b + c d over the field."""
    x = a * b + c * d
    x = (x & _P) + (x >> _31)
    x = (x & _P) + (x >> _31)
    return np.where(x == _P, _0, x)


def times(a: Columns, b: Columns) -> Columns:
    """Row by row products; either side may be a single row."""
    return (
        _dot(a[0], b[0], a[1], b[2]),
        _dot(a[0], b[1], a[1], b[3]),
        _dot(a[2], b[0], a[3], b[2]),
        _dot(a[2], b[1], a[3], b[3]),
    )


def minus(x: Longs) -> Longs:
    """The negative of every entry."""
    return np.where(x == _0, _0, _P - x)


def inverses(a: Columns) -> Columns:
    """The inverse of every row."""
    return a[3], minus(a[1]), minus(a[2]), a[0]


def rows(a: Columns, at: slice | NDArray[np.int64]) -> Columns:
    """Some of the rows."""
    return a[0][at], a[1][at], a[2][at], a[3][at]


def signless(a: Columns, weights: Longs) -> Longs:
    """One number for every row, the same for a matrix and its negative."""
    other = a[0] > _P // np.uint64(2)
    h = np.zeros(len(a[0]), np.uint64)
    for entry, k in zip(a, weights, strict=True):
        h += np.where(other, minus(entry), entry) * k
    return h
