"""The table of sizes on a card: a row a piece, the numbers that the hand needs large."""

from __future__ import annotations

from collections.abc import Sequence

from strapwork.catalogue import tr
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Primitive, Text, box_path, line
from strapwork.paper.blocks import BODY, CAPTION, HEAD, LABELS, POINT, Block
from strapwork.say import table
from strapwork.say.table import Column

PAD = 3.4
NAMES = 34.0  # least width of the names
BOX = 7.0  # a box to tick
MARK = 6.0  # the number of a row


def blocks(columns: Sequence[Column], width: float, units: str, row: float) -> list[Block]:
    """The head of a table of :func:`strapwork.say.table.columns` and its rows, each a block ``row`` mm high."""
    rows = len(columns[0].values)
    numbered = rows > 1
    left = MARK if numbered else 0.0
    size, widths = _widths(columns, width - left - BOX, row)
    head: list[Primitive] = []
    xs = [left]
    for w in widths:
        xs.append(xs[-1] + w)
    for c, x, w in zip(columns, xs, widths, strict=False):
        first = c is columns[0]
        title = tr("for (lengths in {unit})", unit=table.unit(units)) if first else c.head
        shown = fonts.shortened(title, CAPTION, w - 1.0)
        head.append(_cell(shown, x, w, -CAPTION * 1.1, CAPTION, "text", first))
    high = CAPTION * 1.6
    head.append(line(0.0, -high, width, -high, LABELS, "edge"))
    out = [Block(high, tuple(head))]
    for k in range(rows):
        items: list[Primitive] = []
        y = -row / 2.0 - size * 0.36
        if numbered:
            items.append(Text(MARK - 2.0, y, str(k + 1), CAPTION, LABELS, "text-strong", "end"))
        for c, x, w in zip(columns, xs, widths, strict=False):
            value = c.values[k]
            if not value:
                continue
            fit = size if c.large else min(size, BODY)
            role = "text-strong" if c.large or c is columns[0] else "text"
            while fit > CAPTION and fonts.text_width(value, fit, role == "text-strong") > w - 1.0:
                fit -= 0.25 * POINT
            value = fonts.shortened(value, fit, w - 1.0, role == "text-strong")
            items.append(_cell(value, x, w, y, fit, role, c is columns[0]))
        side = min(3.6, row - 2.0)
        items.append(box_path((width - side, -row / 2.0 - side / 2.0, width, -row / 2.0 + side / 2.0), LABELS, "edge"))
        items.append(line(0.0, -row, width, -row, LABELS, "frame"))
        out.append(Block(row, tuple(items), out[0]))
    return out


def _cell(text: str, x: float, w: float, y: float, size: float, role: str, first: bool) -> Text:
    return Text(x if first else x + w - PAD / 2.0, y, text, size, LABELS, role, "start" if first else "end")


def _widths(columns: Sequence[Column], room: float, row: float) -> tuple[float, list[float]]:
    """Type size of the numbers and the width of every column; the names take what is left."""
    size = min(HEAD, row * 0.72)
    while True:
        widths = [_natural(c, size) for c in columns]
        spare = room - sum(widths[1:])
        wanted = max(NAMES, min(widths[0], room * 0.42))
        if spare >= wanted or size <= CAPTION:
            return size, [max(spare, 12.0), *widths[1:]]
        size -= 0.5 * POINT


def _natural(c: Column, size: float) -> float:
    own = size if c.large else min(size, BODY)
    widest = max(c.values, key=lambda v: fonts.text_width(v, 1.0, c.large), default="")
    values = fonts.text_width(widest, own, c.large)
    return max(values, fonts.text_width(c.head, CAPTION)) + PAD
