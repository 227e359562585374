"""Turns and crossings: how a braid is written down.

Positions are numbered 1..n from the left.  A crossing is a non-zero integer:
``+i`` takes the strand at position i *over* the one at i+1, ``-i`` takes it
*under*.  A *turn* brings one outer strand to the centre, from the right and
from the left alternately; in three strands a right turn over is ``(-2,)`` and
a left turn over is ``(+1,)``.

A turn is typed as its side and one letter for each strand it crosses, from the
outside inwards: ``Ro`` is "right strand over one", ``Luo`` "left strand under
one, then over one".
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown

MOST_STRANDS = 25
MOST_CROSSINGS = 4000

Word = tuple[int, ...]


def reduced(letters: Sequence[int]) -> list[int]:
    """A word of a free group, or of crossings, without a letter next to its inverse."""
    out: list[int] = []
    for x in letters:
        if out and out[-1] == -x:
            out.pop()
        else:
            out.append(x)
    return out


def letter(strand: int) -> str:
    """A, B, C, .. for strand 1, 2, 3, .., by their places in the tab."""
    return chr(64 + strand)


@dataclass(frozen=True, slots=True)
class Turn:
    """One outer strand's way to its new place.

    Attributes:
        side: ``"R"`` when the right outer strand moves, ``"L"`` the left one,
            ``"."`` for a group of crossings that is not such a move.
        crossings: the crossings it makes, in order.
    """

    side: str
    crossings: Word

    def text(self) -> str:
        """The turn as it is typed, e.g. ``"Ro"``."""
        if self.side == "R":
            return "R" + "".join("o" if c < 0 else "u" for c in self.crossings)
        if self.side == "L":
            return "L" + "".join("o" if c > 0 else "u" for c in self.crossings)
        return "(" + " ".join(f"{c:+d}" for c in self.crossings) + ")"


def turn(strands: int, side: str, overs: Sequence[bool]) -> Turn:
    """The turn of an outer strand that crosses ``len(overs)`` strands inwards.

    Args:
        strands: number of strands, at least 2.
        side: ``"R"`` or ``"L"``.
        overs: for each strand crossed, from the outside in, whether the moving
            strand goes over it.
    """
    if side == "R":
        word = tuple(-(strands - 1 - k) if over else strands - 1 - k for k, over in enumerate(overs))
    else:
        word = tuple(k + 1 if over else -(k + 1) for k, over in enumerate(overs))
    return Turn(side, word)


def reach(strands: int, side: str) -> int:
    """How many strands an outer strand crosses on its way to the centre.

    With an odd count both sides cross the same number; with an even count the
    right strand crosses one more, else the two halves would never mix.
    """
    return strands // 2 if side == "R" else (strands - 1) // 2


def plain_turns(strands: int, over: bool = True) -> tuple[Turn, Turn]:
    """Right and left turn of the plain braid: the outer strand over all, or under all."""
    return (
        turn(strands, "R", [over] * reach(strands, "R")),
        turn(strands, "L", [over] * reach(strands, "L")),
    )


def weave_turns(strands: int, first_over: bool = False) -> tuple[Turn, Turn]:
    """Right and left turn of the over-under weave.

    Each outer strand goes alternately under and over.  ``first_over`` chooses
    what it does with the first strand it meets.
    """

    def overs(side: str) -> list[bool]:
        return [(k % 2 == 0) == first_over for k in range(reach(strands, side))]

    return turn(strands, "R", overs("R")), turn(strands, "L", overs("L"))


def crossings(turns: Sequence[Turn]) -> Word:
    """All crossings of ``turns`` in order."""
    return tuple(c for t in turns for c in t.crossings)


def positions_after(strands: int, word: Sequence[int]) -> tuple[int, ...]:
    """Which strand (numbered 1..n by its place at the start) lies where.

    >>> positions_after(3, (-2, 1))
    (3, 1, 2)
    """
    order = list(range(1, strands + 1))
    for c in word:
        i = abs(c) - 1
        order[i], order[i + 1] = order[i + 1], order[i]
    return tuple(order)


def linking(strands: int, word: Sequence[int]) -> dict[tuple[int, int], int]:
    """Signed crossings of every pair of strands; twice the linking number of a pure braid.

    A crossing of either sign counts +1 or -1 whichever of the two strands is
    on the left.  Pairs are keyed (lower, higher) by their start positions.
    """
    order = list(range(1, strands + 1))
    count = {(a, b): 0 for a in range(1, strands + 1) for b in range(a + 1, strands + 1)}
    for c in word:
        i = abs(c) - 1
        a, b = order[i], order[i + 1]
        count[min(a, b), max(a, b)] += 1 if c > 0 else -1
        order[i], order[i + 1] = b, a
    return count


def crossings_per_strand(strands: int, word: Sequence[int]) -> tuple[int, ...]:
    """How many crossings each strand takes part in, by start position."""
    order = list(range(strands))
    count = [0] * strands
    for c in word:
        i = abs(c) - 1
        a, b = order[i], order[i + 1]
        count[a] += 1
        count[b] += 1
        order[i], order[i + 1] = b, a
    return tuple(count)


def mirrored(strands: int, turns: Sequence[Turn]) -> tuple[Turn, ...]:
    """The same work seen in a mirror, as a left-handed worker does it."""
    swap = {"R": "L", "L": "R", ".": "."}
    return tuple(
        Turn(swap[t.side], tuple(-(strands - abs(c)) if c > 0 else strands - abs(c) for c in t.crossings))
        for t in turns
    )


def check_strands(strands: int, place: str) -> int:
    """``strands`` if it is a count this module can work with."""
    if not 2 <= strands <= MOST_STRANDS:
        raise InputError(
            place,
            tr("{strands} strands cannot be braided here", strands=strands),
            tr("give a count from 2 to {most_strands}", most_strands=MOST_STRANDS),
        )
    return strands


_TURN = re.compile(r"([RrLl])([OoUu]{1,24})")


def parse_turns(text: str, strands: int, place: str = "--turns") -> tuple[Turn, ...]:
    """Read a turn pattern such as ``"Ro Lo"``.

    Raises:
        InputError: for a turn that is no side and letters, or that crosses
            more strands than there are.
    """
    result = []
    for part in text.split():
        m = _TURN.fullmatch(part)
        if m is None:
            raise InputError(
                place,
                tr("{part} is not a turn", part=shown(part)),
                tr("write R or L and one o (over) or u (under) for each strand crossed, such as 'Ro Lo'"),
            )
        side, letters = m.group(1).upper(), m.group(2).lower()
        if len(letters) > strands - 1:
            raise InputError(
                place,
                tr(
                    "{part} crosses {letters} strands but only {strands} others are there",
                    part=shown(part),
                    letters=len(letters),
                    strands=strands - 1,
                ),
                tr("cross at most {strands}", strands=strands - 1),
            )
        result.append(turn(strands, side, [x == "o" for x in letters]))
    if not result:
        raise InputError(place, tr("no turns were given"), tr("write at least one, such as 'Ro Lo'"))
    if sum(len(t.crossings) for t in result) > MOST_CROSSINGS:
        raise InputError(
            place,
            tr("the pattern is too long"),
            tr("keep it under {most_crossings} crossings", most_crossings=MOST_CROSSINGS),
        )
    return tuple(result)


def parse_word(text: str, strands: int, place: str = "--word") -> Word:
    """Read a word such as ``"-2 1 -2 1"`` (commas allowed)."""
    parts = text.replace(",", " ").split()
    if not parts:
        raise InputError(place, tr("no crossings were given"), tr("write numbers such as '-2 1 -2 1'"))
    if len(parts) > MOST_CROSSINGS:
        raise InputError(
            place,
            tr("{parts} crossings are too many", parts=len(parts)),
            tr("keep it to {most_crossings} or fewer", most_crossings=MOST_CROSSINGS),
        )
    word = []
    for part in parts:
        if not re.fullmatch(r"[+-]?\d{1,3}", part) or not 1 <= abs(int(part)) <= strands - 1:
            raise InputError(
                place,
                tr("{part} is not a crossing of {strands} strands", part=shown(part), strands=strands),
                tr("use whole numbers from 1 to {strands}, with a minus sign for 'under'", strands=strands - 1),
            )
        word.append(int(part))
    return tuple(word)


def turns_of_word(word: Sequence[int]) -> tuple[Turn, ...]:
    """Each crossing of a bare word as a step of its own."""
    return tuple(Turn(".", (c,)) for c in word)
