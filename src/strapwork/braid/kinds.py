"""When two patterns give the same finished braid.

Three things change how a braid is worked and not what is worked: crossings that
have no strand in common change places (``+1 -3`` is ``-3 +1``), the round begins
elsewhere, and a crossing directly followed by its opposite is left out.  Two
words that these make of each other are the same braid, begun elsewhere.  The
normal form here is exact for those three; words that only the relation
``1 2 1 = 2 1 2`` makes equal may get two forms, so forms bound the number of
finished braids from above.

A word up to changes of place is known from the order of its crossings at every
two neighbouring positions.  Round a closed word that order has no beginning, so
one crossing at position 1 is chosen as the first, the next crossing at position 2
after it as the first of those, and so on; of all choices the least counts.
(P. Cartier and D. Foata, Problemes combinatoires de commutation, 1969, for words
up to changes of place; from memory.)
"""

from __future__ import annotations

from collections.abc import Sequence

from strapwork.braid.word import Word

Form = tuple[Word, ...]


def reduced(word: Sequence[int]) -> Word:
    """The closed word without crossings that are directly taken back."""
    left = list(word)
    k = 0
    while k < len(left):
        at = _next_near(left, k)
        if at is not None and left[at] == -left[k]:
            for i in sorted((k, at), reverse=True):
                left.pop(i)
            k = 0
        else:
            k += 1
    return tuple(left)


def _next_near(word: Sequence[int], k: int) -> int | None:
    """Where the next crossing, going round, shares a strand's place with crossing ``k``."""
    for step in range(1, len(word)):
        at = (k + step) % len(word)
        if abs(abs(word[at]) - abs(word[k])) <= 1:
            return at
    return None


def form(strands: int, word: Sequence[int]) -> Form:
    """The normal form of a closed word, the same for its mirror image and its back."""
    word = reduced(word)
    swapped = tuple(-c for c in word)
    return min(
        _closed_form(strands, w)
        for v in (word, swapped)
        for w in (v, tuple(c - strands if c > 0 else c + strands for c in v))
    )


def _closed_form(strands: int, word: Word) -> Form:
    if {abs(c) for c in word} != set(range(1, strands)):
        # The strands fall into groups; a first crossing of one says nothing of the next.
        return (word,)
    return min(_from(strands, word, k) for k, c in enumerate(word) if abs(c) == 1)


def _from(strands: int, word: Word, first: int) -> Form:
    out = []
    for place in range(1, strands):
        round_ = word[first:] + word[:first]
        out.append(tuple(c for c in round_ if abs(c) in (place, place + 1)))
        first += next((k for k, c in enumerate(round_) if abs(c) == place + 1), 0)
        first %= len(word)
    return tuple(out)
