"""All turn patterns there are, and which of them are the same work seen otherwise.

A pattern is written as a maker types it: one text a turn, ``("Roo", "Loo")``.
In that notation what a worker may do with a pattern is plain:

* **mirror** (left for right): the sides change places, the letters stay;
* **turn over** (look at the back): sides change places and so do over and under,
  for the strand that goes over is seen to go under, and from the other side;
* **turn round** (begin with another turn): the texts move round.

Together they make a group, and a class is an orbit of it.  All three leave a
braid workable: mirror and turning over swap the passes among themselves, and
beginning elsewhere conjugates the braid, which the condition of
:mod:`strapwork.braid.proof` does not see.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from strapwork.braid.word import Turn, turn

Pattern = tuple[str, ...]

_SIDES = str.maketrans("RL", "LR")
_FACES = str.maketrans("ou", "uo")


def side_orders(pairs: int) -> tuple[str, ...]:
    """In which order ``pairs`` right and as many left turns may follow each other.

    Orders that turning round or the mirror makes of each other count once; each
    begins with a right turn.

    >>> side_orders(1), side_orders(2), side_orders(3)
    (('RL',), ('RLRL', 'RRLL'), ('RLRLRL', 'RRLRLL', 'RRRLLL'))
    """
    found: dict[str, None] = {}
    for order in product("LR", repeat=2 * pairs):
        text = "".join(order)
        if text.count("R") == pairs:
            found.setdefault(max(_turned_round(text) | _turned_round(text.translate(_SIDES))))
    return tuple(sorted(found))


def _turned_round(text: str) -> set[str]:
    return {text[k:] + text[:k] for k in range(len(text))}


def mirrored(pattern: Pattern) -> Pattern:
    """Left for right."""
    return tuple(t.translate(_SIDES) for t in pattern)


def upside_down(pattern: Pattern) -> Pattern:
    """Over for under: the mirror image of the back."""
    return tuple(t.translate(_FACES) for t in pattern)


def turned_over(pattern: Pattern) -> Pattern:
    """The pattern as it is seen from the back."""
    return mirrored(upside_down(pattern))


def sides(pattern: Pattern) -> str:
    """The order of the sides, such as ``"RL"``."""
    return "".join(t[0] for t in pattern)


def beginnings(pattern: Pattern) -> Iterator[Pattern]:
    """The pattern begun with each of its turns."""
    for k in range(len(pattern)):
        yield pattern[k:] + pattern[:k]


def members(pattern: Pattern) -> set[Pattern]:
    """The class of a pattern: every image whose sides follow each other as the pattern's do."""
    wanted = sides(pattern)
    seen = (pattern, mirrored(pattern), upside_down(pattern), turned_over(pattern))
    return {b for p in seen for b in beginnings(p) if sides(b) == wanted}


def first_choice(pattern: Pattern) -> tuple[int, int, Pattern]:
    """Order in which patterns of a class are offered: most overs, then the shortest first turn."""
    return sum(t.count("u") for t in pattern), len(pattern[0]), pattern


def is_repeat(pattern: Pattern) -> bool:
    """Whether the pattern is a shorter one worked several times."""
    return pattern in (pattern[k:] + pattern[:k] for k in range(1, len(pattern)))


def count(strands: int, turns: int) -> int:
    """How many patterns of ``turns`` turns with given sides there are: 2 + 4 + .. + 2**(n-1) for each turn."""
    return int((2**strands - 2) ** turns)


def turns_of(strands: int, pattern: Pattern) -> tuple[Turn, ...]:
    """The turns that a pattern writes down."""
    return tuple(turn(strands, t[0], [letter == "o" for letter in t[1:]]) for t in pattern)
