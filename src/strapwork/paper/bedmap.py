"""A printed map of every bed: which piece lies where, and what each one is called.

It goes beside the machine when labels cannot stand on the bed itself, because
the machine draws none or because single strokes cannot write them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from strapwork.catalogue import tr
from strapwork.cutter.beds import Spot
from strapwork.cutter.paths import Cutting
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Layer, Placed, Primitive, Sheet, Text, box_path
from strapwork.piece.piece import Piece
from strapwork.units import say

MARGIN = 12.0
HEAD, BODY, SMALLEST = 4.6, 3.4, 1.8
LEAD = 1.5
COLUMN = 85.0
ROUND, MOST = 50.0, 0.8  # what is shown of a bed: up to a round figure, and all of it from this share on
S = Layer.SHEET


def bed_maps(cut: Cutting, pieces: Sequence[Piece], paper: tuple[float, float], title: str) -> list[Sheet]:
    """A sheet for every bed (more where its names fill more than one), on ``paper`` (width and height in mm)."""
    out: list[Sheet] = []
    written = {k: text for k, text, _ in cut.numbered}
    for b, bed in enumerate(cut.beds):
        spots = [s for s in cut.plan.spots if s.bed == b]
        out += _sheets(cut, pieces, spots, written, max(paper), min(paper), f"{title}: {bed.sheet.name}")
    return [Sheet(s.width, s.height, f"map {k}", s.placed, {"map": s.name}) for k, s in enumerate(out, start=1)]


def _sheets(
    cut: Cutting,
    pieces: Sequence[Piece],
    spots: Sequence[Spot],
    written: dict[int, str],
    wide: float,
    high: float,
    title: str,
) -> list[Sheet]:
    room = wide - 2 * MARGIN
    items: list[Primitive] = []
    y = high - MARGIN - HEAD
    items.append(Text(MARGIN, y, fonts.shortened(title, HEAD, room, True), HEAD, S, "text-strong"))
    y -= HEAD * LEAD
    shown = _used(cut, pieces, spots)
    how = tr(
        "{title}. Numbers are the pieces in the order of the job. Not to scale for cutting.", title=cut.machine.title
    )
    if shown != cut.machine.bed:
        how += tr(
            " Shown is the lower left corner of the bed, {shown} × {shown2}.",
            shown=say(shown[0], 0),
            shown2=say(shown[1], 0),
        )
    for row in fonts.wrapped(how, BODY, room):
        items.append(Text(MARGIN, y, row, BODY, S, "text"))
        y -= BODY * LEAD
    y += BODY * LEAD - 3.0
    scale = min(1.0, room / shown[0], (high - 2 * MARGIN) * 0.55 / shown[1])
    tall = shown[1] * scale
    items += _picture(pieces, spots, shown, (MARGIN, y - tall), scale)
    y -= tall + 4.0
    rows = _rows(pieces, spots, written)
    columns = max(1, int(room // COLUMN))
    each = room / columns
    lines = [part for row in rows for part in _hanging(row, each - 8.0)]  # 3.5 mm of them for what hangs
    sheets: list[Sheet] = []
    while True:
        depth = max(1, int((y - MARGIN) // (BODY * LEAD)))
        here, lines = lines[: depth * columns], lines[depth * columns :]
        deep = min(depth, math.ceil(len(here) / columns)) or 1
        for k, text in enumerate(here):
            x, down = MARGIN + (k // deep) * each, (k % deep + 1) * BODY * LEAD
            items.append(Text(x, y - down, text, BODY, S, "text"))
        sheets.append(Sheet(wide, high, title, (Placed(tuple(items)),)))
        if not lines:
            return sheets
        y = high - MARGIN - HEAD
        head = fonts.shortened(tr("{title}, names continued", title=title), HEAD, room, True)
        items = [Text(MARGIN, y, head, HEAD, S, "text-strong")]
        y -= 3.0


def _used(cut: Cutting, pieces: Sequence[Piece], spots: Sequence[Spot]) -> tuple[float, float]:
    """Width and height in mm of the bed's corner that holds all pieces; of the whole bed where little would be spared."""
    wide, high = cut.machine.bed
    right = max(s.x + pieces[s.piece].strap.length for s in spots)
    top = max(s.y + pieces[s.piece].strap.width for s in spots)
    across, up = math.ceil(right / ROUND) * ROUND, math.ceil(top / ROUND) * ROUND
    return (wide if across >= MOST * wide else across, high if up >= MOST * high else up)


def _picture(
    pieces: Sequence[Piece],
    spots: Sequence[Spot],
    shown: tuple[float, float],
    corner: tuple[float, float],
    scale: float,
) -> list[Primitive]:
    x0, y0 = corner
    box = (x0, y0, x0 + shown[0] * scale, y0 + shown[1] * scale)
    out: list[Primitive] = [box_path(box, S, "calibration")]
    for s in spots:
        strap = pieces[s.piece].strap
        left, low = x0 + s.x * scale, y0 + s.y * scale
        box = (left, low, left + strap.length * scale, low + strap.width * scale)
        out.append(box_path(box, S, "map"))
        size = max(SMALLEST, min(BODY, strap.width * scale * 0.8))
        middle = ((box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0 - size * 0.36)
        out.append(Text(*middle, str(s.piece + 1), size, S, "text-strong", "middle"))
    return out


def _rows(pieces: Sequence[Piece], spots: Sequence[Spot], written: dict[int, str]) -> list[str]:
    copies: dict[int, int] = {}
    for s in spots:
        copies[s.piece] = copies.get(s.piece, 0) + 1
    out = []
    for k, count in sorted(copies.items()):
        times = tr(" ({count} here)", count=count) if count > 1 else ""
        note = (
            tr(", written {written}", written=written[k])
            if k in written and written[k] != tr("No. {k}", k=k + 1)
            else ""
        )
        out.append(f"{k + 1}{note}: {pieces[k].label}{times}")
    return out


def _hanging(row: str, width: float) -> list[str]:
    first, *rest = fonts.wrapped(row, BODY, width)
    return [first, *(f"    {part}" for part in rest)]
