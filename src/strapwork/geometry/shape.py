"""Exact plane geometry: lines, arcs and circles, with shapely views.

Every curve stays a line or an arc from here to the files; shapely only ever
sees a copy, made for checks, areas and layout.  Lengths are mm, angles degrees,
x to the right and y up, a positive sweep turns counter-clockwise.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from shapely import LineString, Polygon

Point: TypeAlias = tuple[float, float]
Box: TypeAlias = tuple[float, float, float, float]

_QUARTER = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


def cos_sin(degrees: float) -> Point:
    """Cosine and sine, exact at the quarter turns, so that ends meet without a hair's gap."""
    quarter, rest = divmod(degrees, 90.0)
    if rest == 0.0:
        return _QUARTER[int(quarter) % 4]
    r = math.radians(degrees)
    return math.cos(r), math.sin(r)


@dataclass(frozen=True, slots=True)
class Line:
    """A straight piece from (x0, y0) to (x1, y1)."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def start(self) -> Point:
        return self.x0, self.y0

    @property
    def end(self) -> Point:
        return self.x1, self.y1

    @property
    def length(self) -> float:
        return math.hypot(self.x1 - self.x0, self.y1 - self.y0)

    def moved(self, dx: float, dy: float) -> Line:
        return Line(self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy)

    def turned(self, quarters: int) -> Line:
        """Turned about the origin by quarter turns, counter-clockwise."""
        return Line(*turn_point(self.start, quarters), *turn_point(self.end, quarters))

    def rotated(self, degrees: float) -> Line:
        """Turned about the origin by any angle, counter-clockwise."""
        return Line(*rotate_point(self.start, degrees), *rotate_point(self.end, degrees))

    def mirrored(self) -> Line:
        """Mirrored in the x axis (y becomes -y)."""
        return Line(self.x0, -self.y0, self.x1, -self.y1)

    def reversed(self) -> Line:
        return Line(self.x1, self.y1, self.x0, self.y0)

    def points(self, tolerance: float) -> list[Point]:
        return [self.end]

    def box(self) -> Box:
        return (min(self.x0, self.x1), min(self.y0, self.y1), max(self.x0, self.x1), max(self.y0, self.y1))


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc about (cx, cy) from angle ``start_deg`` through ``sweep_deg``."""

    cx: float
    cy: float
    r: float
    start_deg: float
    sweep_deg: float

    def at(self, degrees: float) -> Point:
        c, s = cos_sin(degrees)
        return self.cx + self.r * c, self.cy + self.r * s

    @property
    def start(self) -> Point:
        return self.at(self.start_deg)

    @property
    def end(self) -> Point:
        return self.at(self.start_deg + self.sweep_deg)

    @property
    def length(self) -> float:
        return self.r * math.radians(abs(self.sweep_deg))

    def moved(self, dx: float, dy: float) -> Arc:
        return Arc(self.cx + dx, self.cy + dy, self.r, self.start_deg, self.sweep_deg)

    def turned(self, quarters: int) -> Arc:
        return Arc(*turn_point((self.cx, self.cy), quarters), self.r, self.start_deg + 90.0 * quarters, self.sweep_deg)

    def rotated(self, degrees: float) -> Arc:
        """Turned about the origin by any angle: an arc stays an arc."""
        return Arc(*rotate_point((self.cx, self.cy), degrees), self.r, self.start_deg + degrees, self.sweep_deg)

    def mirrored(self) -> Arc:
        return Arc(self.cx, -self.cy, self.r, -self.start_deg, -self.sweep_deg)

    def reversed(self) -> Arc:
        return Arc(self.cx, self.cy, self.r, self.start_deg + self.sweep_deg, -self.sweep_deg)

    def points(self, tolerance: float) -> list[Point]:
        """Points after the start, chords within ``tolerance`` mm of the arc."""
        step = 2.0 * math.acos(max(0.0, 1.0 - tolerance / self.r)) if self.r > tolerance else math.pi / 2
        n = max(2, math.ceil(math.radians(abs(self.sweep_deg)) / step))
        return [(self.cx + dx, self.cy + dy) for dx, dy in _about(self.r, self.start_deg, self.sweep_deg, n)]

    def box(self) -> Box:
        pts = [self.start, self.end]
        lo, hi = sorted((self.start_deg, self.start_deg + self.sweep_deg))
        k = math.ceil(lo / 90.0)
        while k * 90.0 <= hi:
            pts.append(self.at(k * 90.0))
            k += 1
        return _box_of(pts)


@lru_cache(maxsize=1024)
def _about(r: float, start: float, sweep: float, n: int) -> tuple[Point, ...]:
    """``n`` points of an arc about the origin, its start left out: pieces differ more in where arcs lie than in what they are."""
    return tuple(Arc(0.0, 0.0, r, start, sweep).at(start + sweep * k / n) for k in range(1, n + 1))


Segment: TypeAlias = Line | Arc


def _box_of(points: Iterable[Point]) -> Box:
    pts = list(points)
    xs, ys = [p[0] for p in pts], [p[1] for p in pts]
    return min(xs), min(ys), max(xs), max(ys)


def turn_point(p: Point, quarters: int) -> Point:
    """``p`` turned about the origin by quarter turns, exactly."""
    x, y = p
    match quarters % 4:
        case 1:
            return -y, x
        case 2:
            return -x, -y
        case 3:
            return y, -x
    return x, y


def rotate_point(p: Point, degrees: float) -> Point:
    """``p`` turned about the origin by any angle, counter-clockwise."""
    c, s = cos_sin(degrees)
    return c * p[0] - s * p[1], s * p[0] + c * p[1]


def join_boxes(boxes: Iterable[Box]) -> Box:
    """The smallest box round all boxes."""
    bs = list(boxes)
    return min(b[0] for b in bs), min(b[1] for b in bs), max(b[2] for b in bs), max(b[3] for b in bs)


@dataclass(frozen=True, slots=True)
class Circle:
    """A round hole or a cap."""

    cx: float
    cy: float
    r: float

    def box(self) -> Box:
        return self.cx - self.r, self.cy - self.r, self.cx + self.r, self.cy + self.r

    def polygon(self, tolerance: float = 0.001) -> Polygon:
        """A shapely view whose sides stay within ``tolerance`` mm of the circle."""
        return Outline((Arc(self.cx, self.cy, self.r, 0.0, 360.0),)).polygon(tolerance)


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed chain of segments, counter-clockwise.

    >>> stadium(100.0, 20.0).area == 20.0 * 80.0 + math.pi * 100.0
    True
    """

    segments: tuple[Segment, ...]

    def __iter__(self) -> Iterator[Segment]:
        return iter(self.segments)

    @property
    def area(self) -> float:
        """Enclosed area in mm2, exact for lines and arcs (Green's theorem)."""
        total = 0.0
        for s in self.segments:
            (x0, y0), (x1, y1) = s.start, s.end
            total += x0 * y1 - x1 * y0
            if isinstance(s, Arc):
                sweep = math.radians(s.sweep_deg)
                total += s.r**2 * (sweep - math.sin(sweep))
        return total / 2.0

    @property
    def length(self) -> float:
        """Length of the edge in mm."""
        return math.fsum(s.length for s in self.segments)

    def box(self) -> Box:
        return join_boxes(s.box() for s in self.segments)

    def gap(self) -> float:
        """Largest distance between the end of one segment and the start of the next, in mm."""
        following = (*self.segments[1:], self.segments[0])
        return max(math.dist(a.end, b.start) for a, b in zip(self.segments, following, strict=True))

    def polygon(self, tolerance: float = 0.001) -> Polygon:
        """A shapely view whose sides stay within ``tolerance`` mm of the arcs."""
        return _polygon(self.segments, tolerance)

    def moved(self, dx: float, dy: float) -> Outline:
        return Outline(tuple(s.moved(dx, dy) for s in self.segments))


@lru_cache(maxsize=64)  # one check of a strap after the other asks for the same shapes
def _polygon(segments: tuple[Segment, ...], tolerance: float) -> Polygon:
    import numpy as np
    from shapely import polygons

    # As an array: a list of points costs shapely several times what the points do.
    ring: Polygon = polygons(np.array([p for s in segments for p in s.points(tolerance)]))
    return ring


def line_string(line: Line) -> LineString:
    """A shapely view of a straight segment."""
    from shapely import LineString

    return LineString([line.start, line.end])


def _clean(segments: Iterable[Segment]) -> tuple[Segment, ...]:
    return tuple(s for s in segments if s.length > 1e-12)


def stadium(length: float, width: float, x: float = 0.0, y: float = 0.0) -> Outline:
    """An oblong with half-round ends, lower left of its box at (x, y)."""
    r = width / 2.0
    return Outline(
        _clean(
            (
                Line(x + r, y, x + length - r, y),
                Arc(x + length - r, y + r, r, -90.0, 180.0),
                Line(x + length - r, y + width, x + r, y + width),
                Arc(x + r, y + r, r, 90.0, 180.0),
            )
        )
    )


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Outline:
    """An upright rectangle."""
    return Outline((Line(x0, y0, x1, y0), Line(x1, y0, x1, y1), Line(x1, y1, x0, y1), Line(x0, y1, x0, y0)))


def tip(shape: str, width: float, depth: float, radius: float | None = None) -> tuple[Segment, ...]:
    """The end of a strap pointing to +x, from (0, 0) round to (0, width).

    The strap's edges end at x = 0; the tip reaches x = ``depth``.

    Args:
        shape: ``"round"`` (a half circle, or corners of ``radius``), ``"pointed"``,
            ``"square"`` or ``"clipped"`` (corners cut off).
        width: strap width in mm.
        depth: how far the tip reaches, in mm; see :func:`tip_depth`.
        radius: for ``"round"``: of its corners, in mm; None for half the width.
    """
    half = width / 2.0
    if shape == "round" and radius is not None and radius < half - 1e-9:
        return (
            Arc(0.0, radius, radius, -90.0, 90.0),
            Line(radius, radius, radius, width - radius),
            Arc(0.0, width - radius, radius, 0.0, 90.0),
        )
    if shape == "round":
        return (Arc(0.0, half, half, -90.0, 180.0),)
    if shape == "square":
        return (Line(0.0, 0.0, 0.0, width),)
    if shape == "clipped":
        # Corners cut at 45 degrees: the cut is as deep as it is high.
        return (
            Line(0.0, 0.0, depth, depth),
            Line(depth, depth, depth, width - depth),
            Line(depth, width - depth, 0.0, width),
        )
    # Two arcs, each tangent to its edge, meeting in the middle: a circle of
    # radius r touching y = 0 at x = 0 passes (depth, half) when
    # depth^2 + (r - half)^2 = r^2.
    r = (depth**2 + half**2) / (2.0 * half)
    sweep = math.degrees(math.atan2(depth, r - half))
    return (Arc(0.0, r, r, -90.0, sweep), Arc(0.0, width - r, r, 90.0 - sweep, sweep))


def tip_depth(shape: str, width: float, wanted: float | None, radius: float | None = None) -> float:
    """How far a tip of this shape reaches beyond the straight edges, in mm.

    A round tip reaches its radius, a square one nothing; a clipped or pointed one what is wanted.
    """
    if shape == "round":
        return width / 2.0 if radius is None else min(radius, width / 2.0)
    if shape == "square":
        return 0.0
    if shape == "clipped":
        return width / 4.0 if wanted is None else wanted
    return width if wanted is None else wanted


def strap_outline(
    length: float,
    width: float,
    start: str = "round",
    finish: str = "round",
    start_depth: float | None = None,
    finish_depth: float | None = None,
    start_radius: float | None = None,
    finish_radius: float | None = None,
) -> Outline:
    """The outline of a strap along +x, its lower edge on y = 0, both tips inside 0..length."""
    a = tip_depth(start, width, start_depth, start_radius)
    b = tip_depth(finish, width, finish_depth, finish_radius)
    right = [s.moved(length - b, 0.0) for s in tip(finish, width, b, finish_radius)]
    left = [s.turned(2).moved(a, width) for s in tip(start, width, a, start_radius)]
    return Outline(_clean((Line(a, 0.0, length - b, 0.0), *right, Line(length - b, width, a, width), *left)))
