"""What every sheet carries besides the goods: calibration square, rulers, notes, map."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

from strapwork.drawing import fonts
from strapwork.drawing.primitives import Layer, Path, Primitive, Text, box_path, line
from strapwork.geometry.shape import Box, Line

SQUARE = 50.0
INCH = 25.4
S = Layer.SHEET


def calibration_square(x: float, y: float, reads: tuple[float, float] = (SQUARE, SQUARE)) -> list[Primitive]:
    """A 50 mm square with its lower left corner at (x, y) and what it has to measure."""
    mid = x + SQUARE / 2.0
    w, h = (f"{v:.1f}".removesuffix(".0") for v in reads)
    out: list[Primitive] = [box_path((x, y, x + SQUARE, y + SQUARE), S, "calibration")]
    out.append(Text(mid, y + 32.0, "Measure this square", 3.6, S, "text-strong", "middle"))
    out.append(Text(mid, y + 26.5, f"{w} mm × {h} mm", 4.6, S, "text-strong", "middle"))
    for k, row in enumerate(("If it does not, set the printer", "to 100 % (actual size),", "and print again.")):
        out.append(Text(mid, y + 19.5 - 4.2 * k, row, 3.0, S, "text", "middle"))
    return out


@cache
def ruler(x: float, y: float, width: float) -> tuple[Primitive, ...]:
    """A ruler along +x: centimetres above the line y, inches below it."""
    ticks: list[Line] = [Line(x, y, x + width, y)]
    out: list[Primitive] = []
    for mm in range(int(width) + 1):
        high = 4.0 if mm % 10 == 0 else 2.8 if mm % 5 == 0 else 1.6
        ticks.append(Line(x + mm, y, x + mm, y + high))
        if mm % 10 == 0 and mm and mm + 4 < width:
            out.append(Text(x + mm, y + 4.6, str(mm // 10), 2.6, S, "text", "middle"))
    for k in range(math.floor(width / INCH * 8) + 1):
        at = k * INCH / 8
        low = 4.0 if k % 8 == 0 else 2.8 if k % 4 == 0 else 1.6
        ticks.append(Line(x + at, y, x + at, y - low))
        if k % 8 == 0 and k and at + 4 < width:
            out.append(Text(x + at, y - 6.6, str(k // 8), 2.6, S, "text", "middle"))
    out.append(Path(tuple(ticks), False, S, "ruler"))
    out.append(Text(x + 0.8, y + 4.6, "cm", 2.6, S, "text"))
    out.append(Text(x + 0.8, y - 6.6, "in", 2.6, S, "text"))
    return tuple(out)


def notes(x: float, top: float, width: float, room: float, rows: Sequence[tuple[str, float, str]]) -> list[Primitive]:
    """Lines of text going down from ``top``; (text, size, role) each, wrapped to ``width``."""
    out: list[Primitive] = []
    y = top
    for text, size, role in rows:
        for part in fonts.wrapped(text, size, width, role == "text-strong"):
            y -= size * 1.4
            if top - y > room:
                return out
            out.append(Text(x, y, part, size, S, role))
    return out


def tile_map(
    box: Box,
    columns: Sequence[tuple[float, float]],
    rows: Sequence[tuple[float, float]],
    here: tuple[int, int],
    names: Sequence[Sequence[str]],
    straps: Sequence[Box],
) -> list[Primitive]:
    """A small picture of all sheets of a group with this one shaded.

    Args:
        box: where to draw it.
        columns, rows: the stretches (mm of the whole) that the sheets show.
        here: (row, column) of this sheet.
        names: sheet names by row and column.
        straps: the straps' boxes in mm of the whole.
    """
    x0, y0, x1, y1 = box
    total_w, total_h = columns[-1][1], rows[-1][1]
    name_room = 3.6
    k = min((x1 - x0) / total_w, (y1 - y0 - name_room) / total_h)
    # A belt is long and low: stretch the picture upwards so that it can be read.
    ky = (y1 - y0 - name_room) / total_h
    out: list[Primitive] = []
    cells = [(r, c) for r in range(len(rows)) for c in range(len(columns))]
    # This sheet's shade goes down first, so that its neighbours' edges stay visible.
    for r, c in sorted(cells, key=lambda cell: cell != here):
        (a, z), (b, t) = columns[c], rows[r]
        role = "map-here" if (r, c) == here else "map"
        out.append(box_path((x0 + a * k, y1 - t * ky, x0 + z * k, y1 - b * ky), S, role))
    for c, (a, z) in enumerate(columns):
        label = names[here[0]][c] if len(rows) > 1 else names[0][c]
        size = min(3.0, (z - a) * k / 3.2)
        role = "text-strong" if c == here[1] else "text"
        out.append(Text(x0 + (a + z) / 2 * k, y0, label, max(size, 1.6), S, role, "middle"))
    for a, b, z, t in straps:
        mid = y1 - (b + t) / 2 * ky
        out.append(line(x0 + a * k, mid, x0 + z * k, mid, S, "match"))
    return out
