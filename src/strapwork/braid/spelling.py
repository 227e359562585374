"""Passes read off the free group: the one way to put a tangle right without working a turn.

At one height the passes through the n - 1 gaps generate a free group: gap g is
the loop y_g round the first g strands.  A tangle that passes can undo is the
tab's run along one loop, and a reduced word in y_1 .. y_(n-1) is unique, so
reading the loop off letter by letter gives the only run of passes (without a
pass taken straight back) that undoes it there.  The loop is found as the
element g with  x_i -> g x_i g^-1  for the generators x_i of the free group
(E. Artin, Annals of Math. 48 (1947); x_1 x_2 .. x_n = 1 on the sphere).
"""

from __future__ import annotations

from collections.abc import Sequence

from strapwork.braid.passes import TabPass
from strapwork.braid.word import Word, reduced

MOST_LETTERS = 30_000


def _inverse(letters: Sequence[int]) -> list[int]:
    return [-x for x in reversed(letters)]


def _loop(strands: int, word: Word) -> list[int] | None:
    """The element g by which a pure ``word`` conjugates the free group on x_1 .. x_(n-1); None when it outgrows us."""
    n = strands
    image: list[list[int]] = [[i] for i in range(1, n)] + [list(range(-(n - 1), 0))]
    for c in word:
        i = abs(c) - 1
        x, y = image[i], image[i + 1]
        if c > 0:
            image[i], image[i + 1] = reduced([*x, *y, *_inverse(x)]), x
        else:
            image[i], image[i + 1] = y, reduced([*_inverse(y), *x, *y])
        if sum(len(w) for w in image) > MOST_LETTERS:
            return None
    one, two = image[0], image[1]
    a, b = one[: len(one) // 2], two[: len(two) // 2]
    # g = a x_1^p = b x_2^q; what is left of b^-1 a shows the powers.
    rest = reduced([*_inverse(b), *a])
    p = -sum(1 if v > 0 else -1 for v in rest if abs(v) == 1)
    return reduced([*a, *([1 if p > 0 else -1] * abs(p))])


def spelled(strands: int, below: Word, after_turn: int) -> tuple[TabPass, ...] | None:
    """The passes, all made after the same turn, that undo the tangle ``below`` on the sphere.

    Args:
        strands: number of strands, at least 3.
        below: a pure word, read downwards from the work.
        after_turn: where the passes are made.

    Returns:
        The shortest such run, in the order in which it is made; None when the
        words of the free group grow too long.  Whether the strands also come
        out untwisted is for the caller to prove.
    """
    loop = _loop(strands, below)
    if loop is None:
        return None
    letters: list[int] = []
    for v in loop:
        # x_i = y_(i-1)^-1 y_i
        i = abs(v)
        step = ([-(i - 1)] if i > 1 else []) + [i]
        letters += step if v > 0 else _inverse(step)
    # The passes' product, the last made on the left, is the inverse of the loop.
    run = reversed(_inverse(reduced(letters)))
    return tuple(TabPass(after_turn, abs(v), "front" if v > 0 else "back") for v in run)
