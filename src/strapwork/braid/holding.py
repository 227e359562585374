"""What holds a finished braid together: which strands lie on which, and which need each other.

In a braid that can be worked with both ends joined no two strands are linked, so
no two hold each other.  Some group of three or more does, and the smallest such
groups are Brunnian: take any one strand out and the rest of the group lies free
(H. Brunn, Ueber Verkettung, 1892; the group of three in the plain braid closes to
the Borromean rings).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations

from strapwork.braid import proof
from strapwork.braid.word import Word


def only(strands: int, word: Iterable[int], kept: Iterable[int]) -> Word:
    """The word that is left when all strands but ``kept`` (start positions from 1) are taken out.

    >>> only(3, (-2, 1, -2, 1, -2, 1), (1, 3))
    (1, -1)
    """
    stay = set(kept)
    order = list(range(1, strands + 1))
    out = []
    for c in word:
        i = abs(c)
        a, b = order[i - 1], order[i]
        if a in stay and b in stay:
            place = sum(s in stay for s in order[:i])
            out.append(place if c > 0 else -place)
        order[i - 1], order[i] = b, a
    return tuple(out)


def layers(strands: int, word: Iterable[int]) -> tuple[tuple[int, ...], ...]:
    """Groups of strands that lie on each other as layers, each group held together by over and under.

    Two strands are in one group when one can get from each to the other by steps
    from a strand to one it somewhere goes over (C. R. J. Clapham, When a fabric
    hangs together, Bull. London Math. Soc. 12 (1980) 161-164; from memory).
    """
    over = {s: {s} for s in range(1, strands + 1)}
    order = list(range(1, strands + 1))
    for c in word:
        i = abs(c)
        a, b = order[i - 1], order[i]
        over[a if c > 0 else b].add(b if c > 0 else a)
        order[i - 1], order[i] = b, a
    for middle in over:
        for s in over:
            if middle in over[s]:
                over[s] |= over[middle]
    return tuple(dict.fromkeys(tuple(sorted(t for t in over if t in over[s] and s in over[t])) for s in over))


def least_braided(strands: int, word: Sequence[int]) -> tuple[tuple[int, ...], ...]:
    """The smallest groups of strands (start positions from 1) that stay braided when all others are taken out.

    >>> least_braided(3, (-2, 1, -2, 1, -2, 1))
    ((1, 2, 3),)
    """
    found: list[tuple[int, ...]] = []
    for size in range(2, strands + 1):
        for group in combinations(range(1, strands + 1), size):
            if any(set(g) <= set(group) for g in found):
                continue
            if not proof.is_trivial_braid(size, only(strands, word, group)):
                found.append(group)
    return tuple(found)
