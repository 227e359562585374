"""Words inside the strap: they stay with the pattern when it is cut out.

Name, end, hardware and the way the leather lies, set into the plain stretches
of the ends; where an end has no room, into the strands beside it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from strapwork.drawing import fonts
from strapwork.drawing.primitives import Layer, Path, Primitive, Text, primitive_box, transformed
from strapwork.drawing.style import look
from strapwork.geometry.shape import Box, Line
from strapwork.paper import features
from strapwork.piece.piece import Piece
from strapwork.say import straps
from strapwork.say.straps import Inside

SIZE = 2.6
LEAD = 1.24
AIR = 0.9
EDGE = 1.2
FROM_STOP = 3.5
LANE = 90.0
ARROW = 12.0
MARGIN_ROW = 0.5
L = Layer.LABELS


@dataclass(frozen=True, slots=True)
class Words:
    """What stands inside a strap, and the stretches of strap mm that it takes up."""

    drawing: tuple[Primitive, ...] = ()
    stretches: tuple[tuple[float, float], ...] = ()


def place(piece: Piece, spans: Sequence[tuple[float, float]]) -> Words:
    """The words of both ends, in strap coordinates, inside the ``spans`` (strap mm) that are shown."""
    drawing: list[Primitive] = []
    taken: list[tuple[float, float]] = []
    start, finish = straps.inside(piece, "start"), straps.inside(piece, "finish")
    for end, items in (("start", start), ("finish", finish)):
        left = list(items)
        for box in _boxes(piece, end, spans):
            if not left:
                break
            placed, left = _fill(box, left)
            if end == "finish":
                # Close to their own end, so that the middle stays free for a join.
                shift = box[2] - max((_span(p)[1] for p in placed), default=box[2])
                placed = [transformed(p, shift, 0.0) for p in placed]
            drawing += placed
            taken += [_span(p) for p in placed]
    return Words(tuple(drawing), tuple(features.joined(taken)))


def _span(p: Primitive) -> tuple[float, float]:
    """How far a word or an arrow reaches along the strap."""
    if isinstance(p, Text):
        return text_span(p)
    x0, _, x1, _ = primitive_box(p)
    return x0, x1


def text_span(t: Text) -> tuple[float, float]:
    """How far a text reaches along the strap."""
    if t.quarters % 2:
        return t.x - t.size, t.x + 0.3 * t.size
    wide = fonts.text_width(t.text, t.size, look(t.role).strong)
    left = t.x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[t.anchor]
    return left, left + wide


def _boxes(piece: Piece, end: str, spans: Sequence[tuple[float, float]]) -> Iterator[Box]:
    """Where words may stand at an end: plain stretches from the widest down, then the strands beside it."""
    s, fit = piece.strap, piece.fit
    found = features.stretches(s)
    stop = (fit.slit_start if end == "start" else fit.slit_end) if s.slits else s.length / 2.0
    lo, hi = (0.0, stop) if end == "start" else (stop, s.length)
    plain: list[Box] = []
    for (_, a), (b, _) in itertools.pairwise(found):
        for p, q in spans:
            x0, x1 = max(a, lo, p) + EDGE, min(b, hi, q) - EDGE
            if x1 - x0 >= SIZE * LEAD:
                x0, x1 = (x0, min(x1, x0 + LANE)) if end == "start" else (max(x0, x1 - LANE), x1)
                plain.append((x0, EDGE, x1, s.width - EDGE))
    yield from sorted(plain, key=lambda box: box[0] - box[2])
    if not s.slits:
        return
    ys = [0.0, *(slit.y0 for slit in s.slits), s.width]
    for y0, y1 in itertools.pairwise(ys):
        a, b = (stop + FROM_STOP, stop + LANE) if end == "start" else (stop - LANE, stop - FROM_STOP)
        # Words of both ends must not meet in the middle of a short strap.
        middle = (fit.slit_start + fit.slit_end) / 2.0
        a, b = (a, min(b, middle - 2.0)) if end == "start" else (max(a, middle + 2.0), b)
        for p, q in spans:
            x0, x1 = max(a, p + EDGE), min(b, q - EDGE)
            if x1 - x0 > 10.0:
                yield x0, y0 + MARGIN_ROW, x1, y1 - MARGIN_ROW


def _fill(box: Box, items: Sequence[Inside]) -> tuple[list[Primitive], list[Inside]]:
    """As many of ``items`` as the box takes, and those that it does not; upright words where they fit better."""
    lying, rest = _rows(box, items, upright=False)
    standing, other = _rows(box, items, upright=True)
    # Where both leave as much over, a name must not be among it.
    upright = (len(other), sum(i.strong for i in other)) < (len(rest), sum(i.strong for i in rest))
    return (standing, other) if upright else (lying, rest)


def _rows(box: Box, items: Sequence[Inside], *, upright: bool) -> tuple[list[Primitive], list[Inside]]:
    x0, y0, x1, y1 = box
    along, across = (y1 - y0, x1 - x0) if upright else (x1 - x0, y1 - y0)
    rest: list[Inside] = []
    rows: list[tuple[str, Inside]] = []
    step = SIZE * LEAD
    for item in items:
        parts = _broken(item, along)
        if parts is None or (item.arrow and upright) or (len(rows) + len(parts)) * step > across + 0.3:
            rest.append(item)
        else:
            rows += [(part, item) for part in parts]
    out: list[Primitive] = []
    # A little air between one thing said and the next, where there is room.
    said = {id(item): k for k, item in enumerate(dict.fromkeys(item for _, item in rows))}
    air = min(AIR, max(0.0, across - len(rows) * step) / len(said)) if said else 0.0
    down = (across - len(rows) * step - air * (len(said) - 1)) / 2.0
    for k, (part, item) in enumerate(rows):
        base = down + (k + 0.78) * step + air * said[id(item)]
        role = "text-strong" if item.strong else "text"
        if upright:
            out.append(Text(x0 + base, y0, part, SIZE, L, role, "start", 1))
            continue
        y = y1 - base
        out.append(Text(x0, y, part, SIZE, L, role))
        if item.arrow:
            out += _arrow(x0 + fonts.text_width(part, SIZE, item.strong) + 1.5, y + SIZE * 0.3)
    return out, rest


def _broken(item: Inside, width: float) -> list[str] | None:
    """The item's lines; None where a word of it would have to be cut."""
    room = width - (ARROW + 2.0 if item.arrow else 0.0)
    if room <= 0:
        return None
    lines = fonts.wrapped(item.text, SIZE, room, item.strong)
    if item.arrow and len(lines) > 1:
        return None
    return lines if "".join(lines).replace(" ", "") == item.text.replace(" ", "") else None


def _arrow(x: float, y: float) -> list[Primitive]:
    """A line along the strap with a head at both ends."""
    z, h = x + ARROW, 0.8
    heads = (
        Line(x + 1.6, y + h, x, y),
        Line(x, y, x + 1.6, y - h),
        Line(z - 1.6, y + h, z, y),
        Line(z, y, z - 1.6, y - h),
    )
    return [Path((Line(x, y, z, y),), False, L, "match"), Path(heads, False, L, "match")]
