"""What every sheet carries besides the goods: calibration square, rulers, notes, map."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache, lru_cache
from typing import TypeAlias

from strapwork.catalogue import tr
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Layer, Path, Placed, Primitive, Sheet, Text, box_path, line
from strapwork.geometry.shape import Box, Line

SQUARE = 50.0
INCH = 25.4
TWO_INCHES = 2 * INCH
GAP = 3.0
BESIDE = 5.0
ROOM_ABOVE = 2.5
RULER_UP = 4.2  # the ruler's line over its own lower edge
RULER = 8.6
LEAST_NOTES = 70.0
NARROWEST, NARROWER = 48.0, 6.0
LEADING = 1.4
HAIR = 1e-6
MAP = 100.0
SMALLEST = 0.6
STAMP_AT = (11.0, 6.0)
S = Layer.SHEET
Row: TypeAlias = tuple[str, float, str]


def squares(units: str) -> tuple[float, ...]:
    """Sides in mm of the squares that a sheet carries: one for each ruler the maker may hold."""
    return (SQUARE, TWO_INCHES) if units.startswith("in") else (SQUARE,)


def _stacked(width: float, units: str) -> bool:
    """Whether squares stand over each other, because the paper is too narrow for both and the words."""
    sides = squares(units)
    return sum(sides) + GAP * (len(sides) - 1) + BESIDE + LEAST_NOTES > width


def strip_height(width: float, units: str) -> float:
    """Height in mm of the strip of furniture along the lower edge, the gap above it counted in."""
    sides = squares(units)
    tall = sum(sides) + GAP * (len(sides) - 1) if _stacked(width, units) else max(sides)
    return tall + ROOM_ABOVE


def fixed(width: float, height: float, units: str) -> tuple[Box, ...]:
    """What squares and ruler take of an area, with the room round them: left, top, right, bottom, down from its top."""
    beside = _beside(width, units)
    out = [
        (x, height - up - side - ROOM_ABOVE, x + side + BESIDE, height - up) for side, x, up in _standing(width, units)
    ]
    return (*out, (beside, height - RULER - ROOM_ABOVE, width, height))


def _standing(width: float, units: str) -> list[tuple[float, float, float]]:
    """Side, left and lower edge of every square, from the lower left corner."""
    sides = squares(units)
    at = [sum(sides[:k]) + GAP * k for k in range(len(sides))]
    stacked = _stacked(width, units)
    return [(side, 0.0 if stacked else a, a if stacked else 0.0) for side, a in zip(sides, at, strict=True)]


def _beside(width: float, units: str) -> float:
    """Where words and ruler begin, from the left edge."""
    return max(x + side for side, x, _ in _standing(width, units)) + BESIDE


def strip(
    corner: tuple[float, float],
    width: float,
    units: str,
    reads: tuple[float, float],
    rows: Sequence[Row],
    *,
    mapped: bool = False,
    place: Box | None = None,
) -> tuple[list[Primitive], Box]:
    """The strip along the lower edge: squares at the left, words and a ruler beside them.

    Args:
        corner: lower left corner, in mm.
        width: between the margins.
        units: of the job; inches bring a square of their own.
        reads: what the 50 mm square measures in width and height.
        rows: (text, size, role) of every sentence.
        mapped: whether room for a map of the sheets is left at the right.
        place: where the words stand instead, on a sheet that has straps beside its square.

    Returns:
        What is drawn, and the box left for the map.
    """
    x, y = corner
    out: list[Primitive] = []
    for side, at, up in _standing(width, units):
        out += calibration_square(x + at, y + up, side, reads if side == SQUARE else (side, side))
    left, right = x + _beside(width, units), x + width
    top = y + strip_height(width, units) - ROOM_ABOVE
    out += ruler(left, y + RULER_UP, math.floor(right - left))
    room = min(MAP, (right - left) * 0.45) if mapped else 0.0
    if place is None:
        place = left, y + RULER, right - (room + BESIDE if mapped else 0.0), top
    # A hair more, so that words that were measured into their place stand in it.
    out += notes(place[0], place[3], place[2] - place[0] + HAIR, place[3] - place[1] + HAIR, rows)
    return out, (right - room, y + RULER + 2.0, right, min(top, y + RULER + 24.0))


def calibration_square(
    x: float, y: float, side: float = SQUARE, reads: tuple[float, float] = (SQUARE, SQUARE)
) -> list[Primitive]:
    """A square with its lower left corner at (x, y) and what it has to measure."""
    mid = x + side / 2.0
    if side == TWO_INCHES:
        says = "2 in × 2 in"
    else:
        w, h = (f"{v:.1f}".removesuffix(".0") for v in reads)
        says = f"{w} mm × {h} mm"
    out: list[Primitive] = [box_path((x, y, x + side, y + side), S, "calibration")]
    out.append(Text(mid, y + 32.0, tr("Measure this square"), 3.6, S, "text-strong", "middle"))
    out.append(Text(mid, y + 26.5, says, 4.6, S, "text-strong", "middle"))
    for k, row in enumerate(
        (tr("If it does not, set the printer"), tr("to 100 % (actual size),"), tr("and print again."))
    ):
        out.append(Text(mid, y + 19.5 - 4.2 * k, row, 3.0, S, "text", "middle"))
    return out


@cache
def ruler(x: float, y: float, width: float) -> tuple[Primitive, ...]:
    """A ruler along +x: centimetres above the line y, inches below it, each number beside its line."""
    ticks: list[Line] = [Line(x, y, x + width, y)]
    out: list[Primitive] = []
    for mm in range(int(width) + 1):
        high = 4.2 if mm % 10 == 0 else 2.8 if mm % 5 == 0 else 1.6
        ticks.append(Line(x + mm, y, x + mm, y + high))
        if mm % 10 == 0 and mm and mm + 4 < width:
            out.append(Text(x + mm + 0.6, y + 2.2, str(mm // 10), 2.6, S, "text"))
    for k in range(math.floor(width / INCH * 8) + 1):
        at = k * INCH / 8
        low = 4.2 if k % 8 == 0 else 2.8 if k % 4 == 0 else 1.6
        ticks.append(Line(x + at, y, x + at, y - low))
        if k % 8 == 0 and k and at + 4 < width:
            out.append(Text(x + at + 0.6, y - 3.7, str(k // 8), 2.6, S, "text"))
    out.append(Path(tuple(ticks), False, S, "ruler"))
    out.append(Text(x + 0.6, y + 2.2, "cm", 2.6, S, "text"))
    out.append(Text(x + 0.6, y - 3.7, "in", 2.6, S, "text"))
    return tuple(out)


def notes(x: float, top: float, width: float, room: float, rows: Sequence[Row]) -> list[Primitive]:
    """Lines of text going down from ``top``; (text, size, role) each, wrapped to ``width``.

    Where they would not all stand in ``room`` mm they are set smaller: nothing is left out.
    """
    scale = 1.0
    while True:
        parts, tall = _set(rows, width, scale)
        if tall <= room or scale < SMALLEST:
            break
        scale *= 0.95
    return [Text(x + right, top - down + size * 0.3, text, size, S, role) for text, size, role, right, down in parts]


def _set(
    rows: Sequence[Row], width: float, scale: float = 1.0
) -> tuple[list[tuple[str, float, str, float, float]], float]:
    """Rows in ``width`` mm: (text, size, role, right, down) of every part, and how high they are.

    The second stands beside the first where both are strong and it has room there.
    """
    out: list[tuple[str, float, str, float, float]] = []
    down = 0.0
    for k, (text, size, role) in enumerate((text, size * scale, role) for text, size, role in rows):
        strong = role == "text-strong"
        if k == 1 and strong and len(out) == 1:
            first, high, *_ = out[0]
            right = fonts.text_width(first, high, True) + 0.8 * high
            if right + fonts.text_width(text, size, True) <= width:
                out.append((text, size, role, right, down - 0.3 * (high - size)))
                continue
        for part in fonts.wrapped(text, size, width, strong):
            down += size * LEADING
            out.append((part, size, role, 0.0, down))
    return out, down


@lru_cache(maxsize=256)
def shapes(rows: tuple[Row, ...], most: float) -> tuple[tuple[float, float], ...]:
    """Width and height in mm that words at their full size may take, the widest first, up to ``most`` mm wide."""
    out: list[tuple[float, float]] = []
    for k in range(math.floor((most - NARROWEST) / NARROWER) + 1):
        wide = most - k * NARROWER
        tall = _set(rows, wide)[1]
        if out and tall <= out[-1][1]:
            out.pop()
        out.append((wide, tall))
    return tuple(out)


def stamped(sheet: Sheet, stamp: str) -> Sheet:
    """A sheet with the version and the fingerprint of its numbers along its foot."""
    text = Text(STAMP_AT[0], STAMP_AT[1], stamp, 2.6, S, "text-faint")
    return replace(sheet, placed=(*sheet.placed, Placed((text,))))


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
        label = names[here[0]][c]
        size = min(3.0, (z - a) * k / 3.2)
        role = "text-strong" if c == here[1] else "text"
        out.append(Text(x0 + (a + z) / 2 * k, y0, label, max(size, 1.6), S, role, "middle"))
    for a, b, z, t in straps:
        mid = y1 - (b + t) / 2 * ky
        out.append(line(x0 + a * k, mid, x0 + z * k, mid, S, "match"))
    return out
