"""Drawings as plain data: primitives on named layers, in mm, y up.

A drawing is a tuple of primitives.  Each stands on a :class:`Layer` (what it is
for) with a *role* (how it should look); colours, line weights and file syntax
belong to the pens (:mod:`strapwork.drawing.pen`).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import TypeAlias

from strapwork.catalogue import marked, tr
from strapwork.geometry.shape import Box, Line, Outline, Segment, join_boxes, rotate_point, turn_point


class Layer(Enum):
    """Named layers, with a label a person reads in a viewer."""

    OUTLINE = ("outline", marked("Outline: cut round the piece"))
    SLITS = ("slits", marked("Slits: cut between strands"))
    HOLES = ("holes", marked("Holes: punch or cut"))
    MARKS = ("marks", marked("Marks: stops, folds and hole centres"))
    HARDWARE = ("hardware", marked("Hardware: where it lies, never cut"))
    LABELS = ("labels", marked("Labels"))
    SHEET = ("sheet", marked("Sheet: joins, calibration square, rulers"))

    def __init__(self, key: str, label: str) -> None:
        self.key = key
        self.label = tr(label)


# What a machine does first: nothing inside a piece is cut after the piece is free.
WORKING_ORDER = (Layer.LABELS, Layer.MARKS, Layer.HOLES, Layer.SLITS, Layer.OUTLINE)


@dataclass(frozen=True, slots=True)
class Path:
    """A chain of lines and arcs; ``closed`` when its end is its start."""

    segments: tuple[Segment, ...]
    closed: bool
    layer: Layer
    role: str


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle about (cx, cy)."""

    cx: float
    cy: float
    r: float
    layer: Layer
    role: str


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; ``size`` is the font size in mm, (x, y) the anchor on the baseline.

    ``anchor`` is ``start``, ``middle`` or ``end``; ``quarters`` turns the line
    counter-clockwise by right angles, ``angle`` by further degrees.
    """

    x: float
    y: float
    text: str
    size: float
    layer: Layer
    role: str = "text"
    anchor: str = "start"
    quarters: int = 0
    angle: float = 0.0

    @property
    def degrees(self) -> float:
        """The whole turn, counter-clockwise."""
        return 90.0 * (self.quarters % 4) + self.angle


@dataclass(frozen=True, slots=True)
class Hatch:
    """Parallel lines across a closed region, ``spacing`` mm apart at ``angle`` degrees."""

    region: tuple[Segment, ...]
    angle: float
    spacing: float
    layer: Layer
    role: str


Primitive: TypeAlias = Path | Disc | Text | Hatch
Drawing: TypeAlias = tuple[Primitive, ...]


@dataclass(frozen=True, slots=True)
class Placed:
    """A drawing turned (by quarter turns, then by ``angle`` degrees) and moved on to a sheet.

    It is seen through ``window`` (sheet mm).
    """

    drawing: Drawing
    dx: float = 0.0
    dy: float = 0.0
    quarters: int = 0
    window: Box | None = None
    angle: float = 0.0


@dataclass(frozen=True, slots=True)
class Later:
    """What is placed on a sheet, worked out whenever it is asked for and held by no one meanwhile: many sheets of straps
    are laid out long before the first is drawn."""

    drawn: Callable[[], Sequence[Placed]]

    def __iter__(self) -> Iterator[Placed]:
        return iter(self.drawn())


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page: size in mm, a short name, and what is placed on it."""

    width: float
    height: float
    name: str
    placed: tuple[Placed, ...] | Later
    notes: dict[str, object] = field(default_factory=dict, compare=False)


def line(x0: float, y0: float, x1: float, y1: float, layer: Layer, role: str) -> Path:
    """A single straight line."""
    return Path((Line(x0, y0, x1, y1),), False, layer, role)


def polyline(points: Sequence[tuple[float, float]], layer: Layer, role: str, closed: bool = False) -> Path:
    """Straight lines through ``points``."""
    ring = [*points, points[0]] if closed else list(points)
    return Path(tuple(Line(*a, *b) for a, b in itertools.pairwise(ring)), closed, layer, role)


def outline_path(outline: Outline, layer: Layer, role: str) -> Path:
    """An outline as a closed path."""
    return Path(outline.segments, True, layer, role)


def box_path(box: Box, layer: Layer, role: str) -> Path:
    """An upright rectangle."""
    x0, y0, x1, y1 = box
    return polyline(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), layer, role, closed=True)


def transformed(p: Primitive, dx: float, dy: float, quarters: int = 0, angle: float = 0.0) -> Primitive:
    """``p`` turned about the origin by quarter turns and ``angle`` degrees, then moved; an arc stays an arc."""

    if not (dx or dy or quarters or angle):
        return p

    def segments(of: tuple[Segment, ...]) -> tuple[Segment, ...]:
        if quarters:
            of = tuple(s.turned(quarters) for s in of)
        if angle:
            of = tuple(s.rotated(angle) for s in of)
        return tuple(s.moved(dx, dy) for s in of)

    def point(x: float, y: float) -> tuple[float, float]:
        x, y = turn_point((x, y), quarters)
        if angle:
            x, y = rotate_point((x, y), angle)
        return x + dx, y + dy

    # Every primitive of every sheet passes here, so they are made outright and not by dataclasses.replace.
    match p:
        case Path():
            return Path(segments(p.segments), p.closed, p.layer, p.role)
        case Disc():
            x, y = point(p.cx, p.cy)
            return Disc(x, y, p.r, p.layer, p.role)
        case Text():
            x, y = point(p.x, p.y)
            turned = (p.quarters + quarters) % 4
            return Text(x, y, p.text, p.size, p.layer, p.role, p.anchor, turned, p.angle + angle)
        case Hatch():
            return Hatch(segments(p.region), p.angle + 90.0 * quarters + angle, p.spacing, p.layer, p.role)


def primitive_box(p: Primitive) -> Box:
    """Box round a primitive; a text counts with its anchor only."""
    match p:
        case Path():
            return join_boxes(s.box() for s in p.segments)
        case Disc():
            return p.cx - p.r, p.cy - p.r, p.cx + p.r, p.cy + p.r
        case Hatch():
            return join_boxes(s.box() for s in p.region)
        case Text():
            return p.x, p.y, p.x, p.y


def extent(drawing: Iterable[Primitive]) -> Box:
    """Box round a drawing."""
    return join_boxes(primitive_box(p) for p in drawing)


def _visible(p: Primitive, window: Box | None) -> bool:
    if window is None:
        return True
    x0, y0, x1, y1 = primitive_box(p)
    return x1 >= window[0] and x0 <= window[2] and y1 >= window[1] and y0 <= window[3]


def on_sheet(placed: Placed) -> Iterator[Primitive]:
    """The primitives of a placed drawing in sheet coordinates, those out of sight left out."""
    for p in placed.drawing:
        q = transformed(p, placed.dx, placed.dy, placed.quarters, placed.angle)
        if _visible(q, placed.window):
            yield q
