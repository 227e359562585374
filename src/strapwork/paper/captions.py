"""Flags under a strap: a thin leader down from each feature, its words beside the leader."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from strapwork.drawing import fonts
from strapwork.drawing.primitives import Layer, Primitive, Text, line

SIZE = 2.9
ROW = 3.8
DROP = 1.8
MOST_ROWS = 6
EDGE = 2.0


@dataclass(frozen=True, slots=True)
class Flag:
    """One placed caption: leader at x, words from ``left`` to ``right`` in row ``row``."""

    x: float
    text: str
    row: int
    left: float
    right: float
    anchor: str


def place(items: Sequence[tuple[float, str]], length: float) -> list[Flag]:
    """Give every caption a row so that no words meet other words or a leader.

    Features of the left half have their words to the right of the leader and
    are placed from the middle outwards, those of the right half the other way
    round, so that leaders run down clear of the words beside them.
    """
    return list(_placed(tuple(items), length))


@lru_cache(maxsize=4096)  # asked again where broken views are weighed
def _placed(items: tuple[tuple[float, str], ...], length: float) -> tuple[Flag, ...]:
    left = sorted((i for i in items if i[0] <= length / 2), key=lambda i: -i[0])
    right = sorted((i for i in items if i[0] > length / 2), key=lambda i: i[0])
    placed: list[Flag] = []
    for x, text in (*left, *right):
        wide = fonts.text_width(text, SIZE) + 1.0
        ahead = Flag(x, text, 0, x, x + wide, "start")
        behind = Flag(x, text, 0, x - wide, x, "end")
        sides = (ahead, behind) if x <= length / 2 else (behind, ahead)
        placed.append(_free(placed, sides, length) or replace(ahead, row=MOST_ROWS))
    return tuple(placed)


def _free(placed: Sequence[Flag], sides: Sequence[Flag], length: float) -> Flag | None:
    """The first place clear of all; in crowded ends of words only, for a leader through them is the lesser evil."""
    lesser: Flag | None = None
    for f in _tries(sides, length):
        if _words_clear(placed, f):
            if _leaders_clear(placed, f):
                return f
            lesser = lesser or f
    return lesser


def _tries(sides: Sequence[Flag], length: float) -> Iterator[Flag]:
    """A caption in every row, on either side; words that stay under the strap first: beside it may be off the paper."""
    beyond = [f for f in sides if f.left < -EDGE or f.right > length + EDGE]
    for some in ([f for f in sides if f not in beyond], beyond):
        for row in range(MOST_ROWS):
            for f in some:
                yield Flag(f.x, f.text, row, f.left, f.right, f.anchor)


def _words_clear(placed: Sequence[Flag], new: Flag) -> bool:
    return not any(f.row == new.row and f.left < new.right + 1.0 and f.right > new.left - 1.0 for f in placed)


def _leaders_clear(placed: Sequence[Flag], new: Flag) -> bool:
    for f in placed:
        if f.row < new.row and f.left + 0.5 < new.x < f.right - 0.5:
            return False
        if f.row > new.row and new.left + 0.5 < f.x < new.right - 0.5:
            return False
    return True


def height(flags: Sequence[Flag]) -> float:
    """Room in mm that the flags need under the strap."""
    return DROP + ROW * (1 + max(f.row for f in flags)) if flags else 0.0


def draw(flags: Sequence[Flag]) -> list[Primitive]:
    """The flags, hanging from y = 0 downwards."""
    out: list[Primitive] = []
    for f in flags:
        y = -DROP - ROW * (f.row + 1) + 1.2
        out.append(line(f.x, -0.8, f.x, y, Layer.LABELS, "leader"))
        dx = 0.8 if f.anchor == "start" else -0.8
        out.append(Text(f.x + dx, y, f.text, SIZE, Layer.LABELS, "text", f.anchor))
    return out
