"""Broken views: both ends of a long strap at full scale, its middle left out, and the distance that puts it back.

The parts of an interrupted view are bounded by continuous narrow lines with
zigzags (ISO 128-3, views; ISO 128-2 for the kind of line).  Each half carries
the same two marks A and B, and says how far A is from A and B from B: laid
along a steel rule at both edges the two readings agree only when both halves
are the right ones, of true scale, and in line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from strapwork.catalogue import tr
from strapwork.drawing.primitives import Drawing, Layer, Path, Primitive, Text, line, polyline, primitive_box
from strapwork.geometry.shape import Line, Segment
from strapwork.paper import features
from strapwork.piece.piece import Piece
from strapwork.units import MM_PER_INCH, format_inches, format_mm

NEAR = 8.0
WELL = 34.0
FORMS = (WELL, (WELL + NEAR) / 2.0, NEAR)  # the shorter ones where they spare a sheet
STEP = 10.0
END = 5.0
LEAST = 80.0
OVER, UNDER = 3.0, 1.4
DEEP = 2.5
ROUND = {"mm": 5.0, "in": MM_PER_INCH / 4.0, "in16": MM_PER_INCH / 4.0}
S = Layer.SHEET


@dataclass(frozen=True, slots=True)
class Break:
    """What is left out of a strap, in strap mm.

    Attributes:
        start, stop: the stretch left out.
        mark: where A stands in the first half; B stands ``STEP`` further on.
        distance: from A to A and from B to B, a round figure in the job's units.
    """

    start: float
    stop: float
    mark: float
    distance: float

    @property
    def marks(self) -> tuple[float, float, float, float]:
        """A and B of the first half, A and B of the second."""
        far = self.mark + self.distance
        return self.mark, self.mark + STEP, far, far + STEP


def of(piece: Piece, units: str, room: float, most: float = WELL) -> Break | None:
    """Where a strap is best broken; None where it does not run alike for long enough.

    Args:
        piece: the piece.
        units: of the job: the distance is a multiple of 5 mm or of a quarter of an inch.
        room: width in mm that a half should not exceed, if the strap allows it.
        most: what a half keeps at most of the stretch that runs alike, up to its first mark; one of :data:`FORMS`.
    """
    lo, hi = features.longest_gap(features.stretches(piece.strap))
    for well in FORMS[FORMS.index(most) :]:
        found = _between(lo, hi, piece.strap.length - hi, well, ROUND[units], room)
        if found.stop - found.start >= LEAST:
            return found
    return None


def _between(lo: float, hi: float, last: float, well: float, step: float, room: float) -> Break:
    """A break in the stretch from ``lo`` to ``hi`` that keeps up to ``well`` mm of it at both ends."""

    def keep(end: float) -> float:
        return max(NEAR, min(well, room - end - STEP - END - DEEP))

    a, far = lo + keep(lo), hi - keep(last) - STEP
    distance = math.floor((far - a) / step + 1e-9) * step
    # What rounding leaves over goes to the half that has room for it.
    spare = far - a - distance
    if a + spare + STEP + END + DEEP <= room:
        a += spare
    return Break(a + STEP + END, a + distance - END, a, distance)


def words(b: Break, units: str) -> str:
    """The distance between the marks, in both units; the one the job is in is exact."""
    inches = format_inches(b.distance)
    if units == "mm":
        exact = abs(b.distance / MM_PER_INCH * 32 - round(b.distance / MM_PER_INCH * 32)) < 1e-6
        as_inches = inches if exact else tr("about {inches}", inches=inches)
        return f"{format_mm(b.distance, 2)} ({as_inches})"
    return f"{inches} ({format_mm(b.distance, 2)})"


def half(drawing: Drawing, b: Break, *, first: bool, width: float) -> Drawing:
    """The part of a strap's drawing before or behind the break, with its break line and its marks."""
    at = b.start if first else b.stop
    out: list[Primitive] = []
    for p in drawing:
        cut = _cut(p, at, first)
        if cut is not None:
            out.append(cut)
    out.append(_zigzag(at, width))
    for name, x in zip("AB", b.marks[:2] if first else b.marks[2:], strict=True):
        out.append(line(x, -UNDER, x, width + OVER, S, "gauge"))
        out.append(Text(x, width + OVER + 0.7, name, 3.4, S, "text-strong", "middle"))
    return tuple(out)


def _cut(p: Primitive, at: float, first: bool) -> Primitive | None:
    x0, _, x1, _ = primitive_box(p)
    if (x1 <= at) if first else (x0 >= at):
        return p
    if not isinstance(p, Path) or ((x0 >= at) if first else (x1 <= at)):
        return None
    kept: list[Segment] = []
    for s in p.segments:
        a, _, z, _ = s.box()
        if (z <= at) if first else (a >= at):
            kept.append(s)
        elif isinstance(s, Line) and a < at < z:
            # Only straight edges and slits along the strap run through a break.
            keeps_start = (s.x0 < at) == first
            kept.append(Line(s.x0, s.y0, at, s.y1) if keeps_start else Line(at, s.y0, s.x1, s.y1))
    return replace(p, segments=tuple(kept), closed=False) if kept else None


def _zigzag(x: float, width: float) -> Primitive:
    """A break line: straight and narrow across the strap, with one zigzag in its middle."""
    mid, high = width / 2.0, min(2.4, width / 5.0)
    points = [
        (x, -UNDER),
        (x, mid - high),
        (x - DEEP, mid - high / 2.0),
        (x + DEEP, mid + high / 2.0),
        (x, mid + high),
        (x, width + OVER),
    ]
    return polyline(points, S, "break")
