"""The strap on the card: both ends large, the middle left out, its places lettered, one chain of dimensions under it."""

from __future__ import annotations

import itertools
from collections.abc import Iterable

from strapwork.drawing import fonts
from strapwork.drawing.primitives import Disc, Path, Primitive, Text, line, polyline, transformed
from strapwork.geometry.shape import Arc, Circle, Line, Segment
from strapwork.paper.blocks import BODY, CAPTION, LABELS, Block
from strapwork.piece.piece import Piece
from strapwork.say import places
from strapwork.say.places import Place
from strapwork.say.table import number

BEYOND = 14.0  # mm of strap shown past the last place of an end
BREAK = 9.0
TALLEST = 22.0
LARGEST = 1.25


class _Part:
    """A stretch of the strap from ``x0`` to ``x1``, drawn from ``at`` on at a scale."""

    def __init__(self, x0: float, x1: float, at: float, scale: float) -> None:
        self.x0, self.x1, self.at, self.scale = x0, x1, at, scale

    def x(self, x: float) -> float:
        return self.at + (x - self.x0) * self.scale

    def holds(self, x0: float, x1: float) -> bool:
        return x0 >= self.x0 - 1e-6 and x1 <= self.x1 + 1e-6

    def segments(self, segments: Iterable[Segment]) -> list[Segment]:
        """Those that lie in this part; straight ones along the strap are cut to it."""
        out: list[Segment] = []
        for s in segments:
            a, _, b, _ = s.box()
            if isinstance(s, Line) and s.y0 == s.y1:
                lo, hi = max(a, self.x0), min(b, self.x1)
                if hi > lo:
                    out.append(Line(self.x(lo), s.y0 * self.scale, self.x(hi), s.y0 * self.scale))
            elif self.holds(a, b):
                out.append(self._scaled(s))
        return out

    def _scaled(self, s: Segment) -> Segment:
        if isinstance(s, Line):
            return Line(self.x(s.x0), s.y0 * self.scale, self.x(s.x1), s.y1 * self.scale)
        return Arc(self.x(s.cx), s.cy * self.scale, s.r * self.scale, s.start_deg, s.sweep_deg)


def _parts(piece: Piece, here: tuple[Place, ...], width: float) -> list[_Part]:
    strap = piece.strap
    a = max((p.x for p in here if p.end == "start"), default=strap.width) + BEYOND
    b = min((p.x for p in here if p.end == "finish"), default=strap.length - strap.width) - BEYOND
    rows = [h.x for h in strap.holes if h.purpose == "adjustment"]
    for x in rows:
        if x < strap.length / 2.0:
            a = max(a, x + BEYOND)
        else:
            b = min(b, x - BEYOND)
    tall = TALLEST / strap.width
    if b - a < 25.0 or not here:
        scale = min(LARGEST, tall, width / strap.length)
        return [_Part(0.0, strap.length, 0.0, scale)]
    scale = min(LARGEST, tall, (width - BREAK) / (a + strap.length - b))
    at = width - (strap.length - b) * scale
    return [_Part(0.0, a, 0.0, scale), _Part(b, strap.length, at, scale)]


def block(piece: Piece, width: float, units: str) -> Block:
    """The picture of one piece, ``width`` mm wide; the other pieces of its card differ in the middle only."""
    here, strap = places.of(piece), piece.strap
    parts = _parts(piece, here, width)
    high = strap.width * parts[0].scale
    top = BODY * 1.35
    base = -top - high  # y of the strap's lower edge
    out: list[Primitive] = []
    for part in parts:
        out += _drawn(piece, part, high)
    out = [transformed(p, 0.0, base) for p in out]
    depth = 0.0
    for k, part in enumerate(parts):
        mine = [p for p in here if part.x0 <= p.x <= part.x1]
        out += [Text(part.x(p.x), base + high + 1.3, p.letter, BODY, LABELS, "text-strong", "middle") for p in mine]
        whole = len(parts) == 1
        stops = [
            *([part.x0] if whole or k == 0 else []),
            *(p.x for p in mine),
            *([part.x1] if whole or k == 1 else []),
        ]
        items, deep = _chain(part, stops, base, units, width)
        out += items
        depth = max(depth, deep)
    if len(parts) == 2:
        middle = (parts[0].x(parts[0].x1) + parts[1].at) / 2.0
        out.append(Text(middle, base + high + 1.3, "…", BODY, LABELS, "text", "middle"))
    return Block(-base + depth + 1.5, tuple(out))


def _drawn(piece: Piece, part: _Part, high: float) -> list[Primitive]:
    strap, out = piece.strap, list[Primitive]()
    edges = part.segments(strap.outline)
    out += [Path((s,), False, LABELS, "cut") for s in edges]
    out += [Path((s,), False, LABELS, "slit") for s in part.segments(strap.slits)]
    for h in strap.holes:
        if not part.holds(h.x, h.x):
            continue
        shape = h.shape()
        if isinstance(shape, Circle):
            out.append(Disc(part.x(h.x), h.y * part.scale, h.diameter / 2.0 * part.scale, LABELS, "hole"))
        else:
            scaled = tuple(part._scaled(s) for s in shape)
            out.append(Path(scaled, True, LABELS, "hole"))
    for m in strap.marks:
        if m.kind != "centre" and part.holds(m.line.x0, m.line.x1):
            ends = (part.x(m.line.x0), m.line.y0 * part.scale, part.x(m.line.x1), m.line.y1 * part.scale)
            out.append(line(*ends, LABELS, "fold" if m.kind == "fold" else "stop"))
    for p in strap.footprints:
        x0, _, x1, _ = p.shape.box()
        if not part.holds(x0, x1):
            continue
        if isinstance(p.shape, Circle):
            out.append(Disc(part.x(p.shape.cx), p.shape.cy * part.scale, p.shape.r * part.scale, LABELS, "footprint"))
        else:
            out.append(Path(tuple(part._scaled(s) for s in p.shape), True, LABELS, "footprint"))
    for x in (part.x0, part.x1):
        if 1e-6 < x < strap.length - 1e-6:
            out.append(_break(part.x(x), high))
    return out


def _break(x: float, high: float) -> Primitive:
    """A break line with its zigzag."""
    m = high / 2.0
    z = min(1.6, high / 6.0)
    return polyline(
        ((x, -1.5), (x, m - z), (x - z, m - z / 3), (x + z, m + z / 3), (x, m + z), (x, high + 1.5)), LABELS, "leader"
    )


def _chain(part: _Part, stops: list[float], base: float, units: str, width: float) -> tuple[list[Primitive], float]:
    """Distances between neighbours under the strap; those that do not fit go a line lower."""
    out: list[Primitive] = []
    y = base - 2.6
    used: list[float] = []  # right ends of the texts of each line
    for x in stops:
        out.append(line(part.x(x), base - 0.8, part.x(x), y - 0.9, LABELS, "leader"))
    if len(stops) > 1:
        out.append(line(part.x(stops[0]), y, part.x(stops[-1]), y, LABELS, "leader"))
    for a, b in itertools.pairwise(stops):
        text = number(b - a, units)
        half = fonts.text_width(text, CAPTION) / 2.0
        middle = min(max((part.x(a) + part.x(b)) / 2.0, half), width - half)
        level = next((k for k, right in enumerate(used) if middle - half > right + 0.8), len(used))
        if level == len(used):
            used.append(0.0)
        used[level] = middle + half
        out.append(Text(middle, y - 0.9 - CAPTION * (0.95 + 1.1 * level), text, CAPTION, LABELS, "text", "middle"))
    return out, 3.5 + CAPTION * 1.1 * max(1, len(used))
