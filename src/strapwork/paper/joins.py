"""Joins: where a strap that runs over several sheets is cut on paper, and the marks that show a wrong join.

Neighbours overlap; on both of them the same join line is printed with the same
lettered ring.  No join runs through a hole, a fold, a slot or a word.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from strapwork.catalogue import tr
from strapwork.drawing.primitives import Disc, Layer, Primitive, Text, line, polyline
from strapwork.geometry.shape import Box
from strapwork.paper.features import Stretch, joined

OVERLAP = 15.0
CLEAR = 3.0
RING = 2.6
RING_UP = RING + 1.6  # a ring's middle over the strap's edge
CROWN = RING + RING_UP
LEAST_STEP = 40.0
CLEAR_OF_LINE = 2.0
CLEAR_OF_RING = 5.5


@dataclass(frozen=True, slots=True)
class Columns:
    """A strap's length, or that of several above each other, cut into windows of one sheet each.

    ``windows`` are stretches of the whole in mm; ``joins`` the lines between them.
    """

    windows: tuple[Stretch, ...]
    joins: tuple[float, ...]
    clean: bool = True

    def inner(self, k: int, clear: float = CLEAR_OF_LINE) -> Stretch:
        """What column ``k`` shows when the sheets are taped, ``clear`` mm from its joins."""
        a = self.joins[k - 1] + clear if k else self.windows[k][0]
        return a, self.joins[k] - clear if k < len(self.joins) else self.windows[k][1]


def columns(total: float, room: float, features: Sequence[Stretch], words: Sequence[Stretch]) -> Columns:
    """Windows of ``room`` mm that cover ``total`` mm, with joins where nothing is in their way.

    Args:
        total, room: in mm.
        features: holes, folds and the like; joins keep clear of them.
        words: text; joins keep clear of it, and one of the two windows shows it whole.
    """
    hard = joined((a - CLEAR, b + CLEAR) for a, b in features)
    whole = joined([*hard, *((a - CLEAR_OF_LINE, b + CLEAR_OF_LINE) for a, b in words)])
    least = math.ceil((total - OVERLAP) / (room - OVERLAP) - 1e-9)
    ways: list[Columns] = []
    for back in (room, room / 3.0, room / 8.0, 0.0):
        ways.append(_columns(total, room, whole, hard, back))
        if ways[-1].clean and len(ways[-1].windows) <= least:
            break  # no other has fewer
    return min(ways, key=lambda c: (len(c.windows), not c.clean))


def _columns(total: float, room: float, whole: Sequence[Stretch], hard: Sequence[Stretch], back: float) -> Columns:
    """Windows whose joins go back from the last place possible by up to ``back`` mm to cut nothing that is shown."""
    half = OVERLAP / 2.0
    at: list[float] = []
    left, clean = 0.0, True
    while left + room < total - 1e-9:
        most = left + room - half
        least = left + (half if at else 0.0) + LEAST_STEP
        x = _free(most, max(least, most - back), whole)
        if x is None:
            clean = False
            x = _free(most, least, hard)
        at.append(most if x is None else x)
        left = at[-1] - half
    edges = [0.0, *(x - half for x in at)]
    ends = [*(x + half for x in at), left + room]
    return Columns(tuple(zip(edges, ends, strict=True)), tuple(at), clean)


def _free(most: float, least: float, taken: Sequence[Stretch]) -> float | None:
    """The last place up to ``most`` that is in none of the stretches; None where there is none after ``least``."""
    x = most
    for a, b in reversed(taken):
        if a < x < b:
            x = a
    return x if x >= least else None


def rows(total: float, room: float) -> tuple[Stretch, ...]:
    """Windows of ``room`` mm that cover ``total`` mm from the top, neighbours overlapping."""
    if total <= room:
        return ((0.0, room),)
    step = room - OVERLAP
    n = math.ceil((total - OVERLAP) / step - 1e-9)
    return tuple((k * step, min(k * step + room, total)) for k in range(n))


def of_column(cols: Columns, c: int) -> list[tuple[int, float]]:
    """Joins of column ``c`` as (number from 1, mm of the whole): the left one, then the right one."""
    return [(k + 1, x) for k, x in enumerate(cols.joins) if k in (c - 1, c)]


def lines(cols: Columns, c: int, shift: float, window: Box, edges: Mapping[int, Sequence[float]]) -> list[Primitive]:
    """The join lines of a column, interrupted by their rings so that no line runs through a letter.

    Args:
        cols, c: the columns, and which of them.
        shift: takes mm of the whole to sheet mm.
        window: what the sheet shows.
        edges: by number of the join, the upper edges of the straps that have a ring there.
    """
    out: list[Primitive] = []
    for number, at in of_column(cols, c):
        y = window[1]
        for upper in sorted(edges.get(number, ())):
            middle = upper + RING_UP
            if y < middle - RING:
                out.append(line(at + shift, y, at + shift, middle - RING, Layer.SHEET, "join"))
            y = middle + RING
        if y < window[3]:
            out.append(line(at + shift, y, at + shift, window[3], Layer.SHEET, "join"))
    return out


def ring_marks(x: float, number: int, edges: tuple[float, float]) -> list[Primitive]:
    """A lettered ring at a join above a strap, and two wedges at its edges (lower, upper; sheet mm)."""
    # The ring stands off the line by a different amount at every join, so
    # that a wrong neighbour shows even where letters are overlooked.
    at = x + (-1.6, 0.0, 1.6)[number % 3]
    y = edges[1] + RING_UP
    out: list[Primitive] = [Disc(at, y, RING, Layer.SHEET, "ring")]
    out.append(Text(at, y - 1.15, letter(number), 3.4, Layer.SHEET, "text-strong", "middle"))
    for edge, sign in ((edges[1], 1.0), (edges[0], -1.0)):
        tip = edge + sign * 0.3
        wedge = ((x, tip), (x - 0.9, tip + sign * 1.3), (x + 0.9, tip + sign * 1.3))
        out.append(polyline(wedge, Layer.SHEET, "match-fill", True))
    return out


def row_marks(windows: Sequence[Stretch], r: int, y1: float, window: Box) -> list[Primitive]:
    """Lines and rings between rows of sheets, for a strap higher than one of them."""
    out: list[Primitive] = []
    for k in (r, r + 1):
        if 0 < k < len(windows):
            y = y1 - (windows[k][0] + OVERLAP / 2.0 - windows[r][0])
            out.append(line(window[0], y, window[2], y, Layer.SHEET, "join"))
            x = window[0] + 30.0 + 7.0 * k
            out.append(Disc(x, y, RING, Layer.SHEET, "ring"))
            out.append(Text(x, y - 1.15, chr(64 + k), 3.4, Layer.SHEET, "text-strong", "middle"))
    return out


def letter(number: int) -> str:
    """a, b, .. for the first join, the second, .."""
    return chr(96 + (number - 1) % 26 + 1)


def how(names: Sequence[Sequence[str]], r: int, c: int) -> list[str]:
    """What to do with the sheet in row ``r``, column ``c``."""
    row = names[r]
    out: list[str] = []
    if c > 0:
        out.append(
            tr(
                "Cut along the dashed line at the left, lay this sheet on {row} so that the lines and the rings "
                "marked {letter} meet, and tape.",
                row=row[c - 1],
                letter=letter(c),
            )
        )
    elif len(row) > 1:
        out.append(
            tr(
                "Start of {row} sheets, {row2} to {row3}: lay {row4} on the dashed line at the right.",
                row=len(row),
                row2=row[0],
                row3=row[-1],
                row4=row[1],
            )
        )
    if r > 0:
        out.append(tr("Then lay this row on row {names} at the line across.", names=names[r - 1][0][:-1]))
    return out
