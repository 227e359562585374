"""Ribbons that lie over each other, drawn so that what is hidden is not there: a plotter draws what the eye would see.

A strand within one row of work is a ribbon; where another lies over it, its
visible parts end a little before that one.  Each visible part is a closed path
on the role ``tone-K`` with its hatch; the edges are lines.  Nothing is painted
over, so a picture holds without its fills.  Strands are told apart by tone,
hatch and letter together.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from strapwork.braid.moves import Move
from strapwork.drawing.primitives import Hatch, Layer, Path, Primitive, line, polyline
from strapwork.drawing.style import TONES
from strapwork.geometry.shape import Line

if TYPE_CHECKING:
    from shapely import LineString, Polygon
    from shapely.geometry.base import BaseGeometry

LABELS = Layer.LABELS
HATCHES = (None, 45.0, 0.0, -45.0, 90.0)
AIR = 0.7  # mm between a ribbon and the one over it
SMALL = 1e-6
Points = Sequence[tuple[float, float]]


def tone(strand: int) -> int:
    return (strand - 1) % len(TONES)


def hatch_angle(strand: int) -> float | None:
    """Hatch of a strand; strands that share a tone differ in hatch."""
    k = strand - 1
    return HATCHES[(k + k // len(TONES)) % len(HATCHES)] if k else None


@dataclass(frozen=True, slots=True)
class Lanes:
    """Where strands lie: lane 1 at ``x``, further lanes ``gap`` mm apart, ribbons ``width`` mm wide."""

    x: float
    gap: float
    width: float

    def at(self, position: float) -> float:
        return self.x + (position - 1.0) * self.gap


def bends(lanes: Lanes, m: Move, top: float, bottom: float) -> tuple[float, float]:
    """How far down the two sides of a ribbon run before they bend, the one on the side it goes to first; 0 for a straight way.

    One lane or none is a straight way.  A strand that goes further runs down a
    little, across, and down again, so that it keeps its width: where a ribbon
    bends by an angle, its sides bend its width times the tangent of half that
    angle apart.
    """
    if abs(m.end - m.start) <= 1.0 + SMALL:
        return 0.0, 0.0
    high, across = top - bottom, abs(m.end - m.start) * lanes.gap
    first = 0.04 * high
    return first, min(0.52 * high, first + lanes.width * math.tan(math.atan2(across, 0.5 * high) / 2.0))


def middle_line(lanes: Lanes, m: Move, top: float, bottom: float) -> list[tuple[float, float]]:
    """The way of a strand through a row."""
    a, b = lanes.at(m.start), lanes.at(m.end)
    down = sum(bends(lanes, m, top, bottom)) / 2.0
    if not down:
        return [(a, top), (b, bottom)]
    return [(a, top), (a, top - down), (b, bottom + down), (b, bottom)]


def ribbon(lanes: Lanes, m: Move, top: float, bottom: float) -> list[tuple[float, float]]:
    """The corners of the ribbon of a strand through a row; it stays within the row and its lanes."""
    a, b = lanes.at(m.start), lanes.at(m.end)
    # The half width towards the side that it goes to, so that one list of corners does for both.
    h = lanes.width / 2.0 * (1.0 if b >= a else -1.0)
    first, last = bends(lanes, m, top, bottom)
    if not last:
        return [(a - h, top), (a + h, top), (b + h, bottom), (b - h, bottom)]
    right = [(a + h, top), (a + h, top - first), (b + h, bottom + last), (b + h, bottom)]
    left = [(b - h, bottom), (b - h, bottom + first), (a - h, top - last), (a - h, top)]
    return [*right, *left]


def air(lanes: Lanes) -> float:
    """The gap beside a ribbon that lies on top, less where lanes are narrow."""
    return min(AIR, 0.45 * (lanes.gap - lanes.width))


def part(points: Points, strand: int) -> list[Primitive]:
    """One visible part of a ribbon: its tone and its hatch, no edge."""
    body = polyline(points, LABELS, f"tone-{tone(strand)}", True)
    angle = hatch_angle(strand)
    return [body] if angle is None else [body, Hatch(body.segments, angle, 1.5, LABELS, "hatch")]


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """The polygons of a shape that are more than slivers."""
    found = getattr(shape, "geoms", [shape])
    return [g for g in found if g.geom_type == "Polygon" and g.area > 0.02]


def ways(shape: BaseGeometry) -> list[LineString]:
    """The lines of a shape that are more than specks."""
    found = getattr(shape, "geoms", [shape])
    return [g for g in found if g.geom_type == "LineString" and g.length > 0.02]


def edges(shape: Points, top: float, bottom: float) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """The two long sides of a ribbon: its outline without what lies on the row's upper and lower line."""
    out = []
    for a, b in itertools.pairwise([*shape, shape[0]]):
        level = abs(a[1] - b[1]) < SMALL and min(abs(a[1] - top), abs(a[1] - bottom)) < SMALL
        if not level:
            out.append((a, b))
    return out


def drawn_line(one: LineString, role: str) -> Primitive:
    return polyline([(x, y) for x, y in one.coords], LABELS, role)


def dashed(one: LineString, role: str, dash: float = 1.1, space: float = 0.8) -> list[Primitive]:
    """A line as dashes that are really there, a dash at either end."""
    from shapely.ops import substring

    n = max(1, round((one.length + space) / (dash + space)))
    period = (one.length + space) / n
    parts = (substring(one, k * period, k * period + period - space) for k in range(n))
    return [drawn_line(p, role) for p in parts if p.geom_type == "LineString" and p.length > 0.05]


def arrow_head(x: float, y: float, angle: float, size: float) -> Primitive:
    """A filled head with its point at (x, y), pointing along ``angle`` degrees."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    pts = [(0.0, 0.0), (-size, 0.42 * size), (-size, -0.42 * size)]
    return polyline([(x + c * u - s * v, y + s * u + c * v) for u, v in pts], LABELS, "arrow-fill", True)


@dataclass(frozen=True, slots=True)
class Lying:
    """A strand's ribbon in a row, what hides it there, and what clears it by a little."""

    move: Move
    shape: Points
    hidden: BaseGeometry | None
    cover: BaseGeometry | None


def lay(
    rows: Iterable[Move], above: dict[tuple[int, int], bool], lanes: Lanes, top: float, bottom: float
) -> list[Lying]:
    """Every strand of a row with what crosses over it; ``above[a, b]`` says whether a is over b."""
    shapes = {m.strand: (m, ribbon(lanes, m, top, bottom)) for m in rows}
    kept: dict[int, tuple[BaseGeometry, BaseGeometry]] = {}
    out: list[Lying] = []
    for s, (m, shape) in shapes.items():
        over = [o for o in shapes if o != s and above.get((o, s), False)]
        if not over:
            out.append(Lying(m, shape, None, None))
            continue
        from shapely import Polygon
        from shapely.ops import unary_union

        for o in over:
            if o not in kept:
                polygon = Polygon(shapes[o][1])
                kept[o] = (polygon, polygon.buffer(air(lanes), join_style="mitre"))
        both = [kept[o] for o in over]
        first = both[0] if len(both) == 1 else (unary_union([p for p, _ in both]), unary_union([c for _, c in both]))
        out.append(Lying(m, shape, *first))
    return out


def draw(one: Lying, lanes: Lanes, top: float, bottom: float, *, moving: bool) -> list[Primitive]:
    """What is seen of a strand; of the one that moves also, dashed, what is hidden, and its arrow."""
    role = "moving" if moving and lanes.width > 6.0 else "arrow" if moving else "edge"
    sides = edges(one.shape, top, bottom)
    out: list[Primitive] = []
    if one.cover is None:
        out += part(one.shape, one.move.strand)
        out += [line(*a, *b, LABELS, role) for a, b in sides]
    else:
        from shapely import LineString, Polygon

        for p in polygons(Polygon(one.shape).difference(one.cover)):
            out += part([(x, y) for x, y in p.exterior.coords[:-1]], one.move.strand)
        for side in map(LineString, sides):
            out += [drawn_line(v, role) for v in ways(side.difference(one.cover))]
            if moving and one.hidden is not None:
                out += [d for v in ways(side.intersection(one.hidden)) for d in dashed(v, "edge")]
    if not moving:
        return out
    from shapely import LineString

    points = middle_line(lanes, one.move, top, bottom)
    # Where the way bends, the arrow runs across, which is what the hand does.
    way = LineString(points if len(points) == 2 else points[1:3])
    return [*out, *_arrow(way, one.cover, min(3.0, 0.75 * lanes.width))]


def _arrow(way: LineString, cover: BaseGeometry | None, head: float) -> list[Primitive]:
    """An arrow down the middle of a moving strand, dashed where the strand is hidden."""
    from shapely.ops import substring

    end = 0.93 * way.length
    shaft = substring(way, 0.1 * way.length, end - 0.7 * head)
    tip, before = way.interpolate(end), way.interpolate(end - 0.5)
    out: list[Primitive] = [drawn_line(v, "arrow") for v in ways(shaft.difference(cover) if cover else shaft)]
    if cover:
        for v in ways(shaft.intersection(cover)):
            out += dashed(v, "arrow")
    angle = math.degrees(math.atan2(tip.y - before.y, tip.x - before.x))
    return [*out, arrow_head(tip.x, tip.y, angle, head)]


def straight(
    lanes: Lanes, m: Move, top: float, bottom: float, letter_at: float | None = None, room: float = 0.0
) -> list[Primitive]:
    """A strand that nothing lies over; its hatch keeps clear of a letter at the height ``letter_at``."""
    half = lanes.width / 2.0
    a, b = lanes.at(m.start), lanes.at(m.end)
    body = polyline(
        [(a - half, top), (a + half, top), (b + half, bottom), (b - half, bottom)],
        LABELS,
        f"tone-{tone(m.strand)}",
        True,
    )
    out: list[Primitive] = [body]
    angle = hatch_angle(m.strand)
    if angle is not None:
        spans = [(top, bottom)] if letter_at is None else [(top, letter_at + room), (letter_at - room, bottom)]
        for hi, lo in spans:
            if hi - lo > 0.5:
                u, v = (a + (b - a) * (top - y) / (top - bottom) for y in (hi, lo))
                ring = polyline([(u - half, hi), (u + half, hi), (v + half, lo), (v - half, lo)], LABELS, "hatch", True)
                out.append(Hatch(ring.segments, angle, 1.5, LABELS, "hatch"))
    out.append(line(a - half, top, b - half, bottom, LABELS, "edge"))
    out.append(line(a + half, top, b + half, bottom, LABELS, "edge"))
    return out


def cords(
    word: Sequence[tuple[int, ...]], lanes: Lanes, shifts: Sequence[float], top: float, bottom: float
) -> list[Primitive]:
    """A tangle as cords, a row of crossings after the other; the cord below breaks off under the one over it.

    Args:
        word: rows of crossings that do not touch each other.
        shifts: how far each lane stands aside at the top, in mm; none does at the bottom.
    """
    rows = max(1, len(word))
    high = (top - bottom) / rows
    clear = min(0.22, 0.9 / max(high, 1.0))
    n = len(shifts)
    out: list[Primitive] = []

    def x(place: int, row: float) -> float:
        return lanes.at(place) + shifts[place - 1] * (1.0 - row / rows)

    for k, row in enumerate(word or ((),)):
        y0, y1 = top - k * high, top - (k + 1) * high
        crossed: set[int] = set()
        for c in row:
            i = abs(c)
            crossed |= {i, i + 1}
            down, up = (x(i, k), x(i + 1, k + 1)), (x(i + 1, k), x(i, k + 1))
            first, second = (down, up) if c > 0 else (up, down)
            out.append(line(first[0], y0, first[1], y1, LABELS, "stop"))
            for a, b in ((0.0, 0.5 - clear), (0.5 + clear, 1.0)):
                u, v = (second[0] + (second[1] - second[0]) * t for t in (a, b))
                out.append(Path((Line(u, y0 + (y1 - y0) * a, v, y0 + (y1 - y0) * b),), False, LABELS, "stop"))
        out += [line(x(p, k), y0, x(p, k + 1), y1, LABELS, "stop") for p in range(1, n + 1) if p not in crossed]
    return out
