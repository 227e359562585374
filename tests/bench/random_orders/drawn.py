"""What is drawn against the numbers, and whether it can be cut: judged by shapely from ``numbers.json`` alone."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import Any

from shapely import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from strapwork.drawing.primitives import Disc, Layer, Path, Sheet, on_sheet
from strapwork.geometry.shape import Line, Segment
from strapwork.piece.piece import Piece

NEAR = 1e-5
FINE = 96  # straight pieces of a full turn


def outline(n: dict[str, Any]) -> Polygon:
    """The outline of a strap, from its segments."""
    points: list[tuple[float, float]] = []
    for s in n["outline"]["segments"]:
        if "line" in s:
            points.append((s["line"][0], s["line"][1]))
            continue
        cx, cy, r, start, sweep = s["arc"]
        steps = max(2, math.ceil(abs(sweep) / 360 * FINE))
        angles = [math.radians(start + sweep * k / steps) for k in range(steps)]
        points += [(cx + r * math.cos(a), cy + r * math.sin(a)) for a in angles]
    return Polygon(points)


def hole(h: dict[str, Any]) -> BaseGeometry:
    """A hole or slot as an area."""
    half = (h["length"] - h["diameter"]) / 2.0
    return (
        LineString([(h["x"] - half, h["y"]), (h["x"] + half, h["y"])]).buffer(h["diameter"] / 2.0)
        if half > 1e-9
        else (Point(h["x"], h["y"]).buffer(h["diameter"] / 2.0))
    )


def inside(n: dict[str, Any]) -> Iterator[str]:
    """Everything lies in the leather and clear of everything else, or a finding says so."""
    whole = outline(n)
    long, wide = n["strap"]["length_mm"], n["strap"]["width_mm"]
    said = {f["code"] for f in n["findings"]}
    if not whole.is_valid or any(abs(a - b) > 1e-2 for a, b in zip(whole.bounds, (0.0, 0.0, long, wide), strict=True)):
        yield "the outline is no strap of its length and width"
    if abs(whole.area - n["outline"]["area_mm2"]) > 0.01 * wide**2:
        yield "the outline's area is not its own"
    holes = [hole(h) for h in n["holes"]]
    slits = [LineString([(s["x0"], s["y0"]), (s["x1"], s["y1"])]) for s in n["slits"]]
    for h, shape in zip(n["holes"], holes, strict=True):
        if not whole.contains(shape.buffer(-0.02)):
            yield f"a {h['for']} hole off the leather"
        elif whole.exterior.distance(shape) < 1.9 and "hole-near-edge" not in said:
            yield f"a {h['for']} hole at the edge without a word"
        near = min((s.distance(shape) for s in slits), default=99.0)
        if h["for"] != "relief" and near < 1.9 and "slit-near-hole" not in said:
            yield f"a slit at a {h['for']} hole without a word"
    for i, a in enumerate(holes):
        for b in holes[i + 1 :]:
            if a.distance(b) < 0.4:
                yield "holes that run into each other"
    for s in slits:
        if not whole.buffer(-0.5).contains(s):
            yield "a slit off the leather"
    if n["slits"]:
        edges = [0.0, *sorted(s["y0"] for s in n["slits"]), wide]
        widths = [b - a for a, b in itertools.pairwise(edges)]
        if min(widths) < 1.99:
            yield "a strand too thin to be one"
        if max(widths) > 1.16 * min(widths) and "strands-uneven" not in said:
            yield "uneven strands without a word"
        if min(s["x0"] for s in n["slits"]) < 4.99 or long - max(s["x1"] for s in n["slits"]) < 4.99:
            yield "loose strips"


def sheets(pieces: Sequence[Piece], told: Sequence[dict[str, Any]], made: Sequence[Sheet]) -> Iterator[str]:
    """What the sheets show, taken back by where they say the straps lie, is what the numbers say, all of it."""
    by_label = {p.label: n for p, n in zip(pieces, told, strict=True)}
    edges = {label: outline(n).exterior for label, n in by_label.items()}
    seen: dict[str, set[tuple[float, float]]] = {label: set() for label in by_label}
    ends: dict[str, set[float]] = {label: set() for label in by_label}
    for sheet in made:
        straps = sheet.notes.get("straps")
        if not isinstance(straps, list):
            continue
        for placed in sheet.placed:
            for q in on_sheet(placed):
                if q.layer is Layer.HOLES and isinstance(q, Disc):
                    if not any(_is_hole(q, s, by_label[s["piece"]], seen[s["piece"]]) for s in straps):
                        yield "a hole on paper that no number knows"
                elif q.layer is Layer.SLITS and isinstance(q, Path):
                    if not any(_is_slit(q, s, by_label[s["piece"]], ends[s["piece"]]) for s in straps):
                        yield "a slit on paper that no number knows"
                elif (
                    q.layer is Layer.OUTLINE
                    and isinstance(q, Path)
                    and not any(_is_edge(q.segments, s, edges[s["piece"]]) for s in straps)
                ):
                    yield "an edge on paper that no number knows"
    for label, n in by_label.items():
        if any(
            not h["length"] > h["diameter"] and (round(h["x"], 3), round(h["y"], 3)) not in seen[label]
            for h in n["holes"]
        ):
            yield "a hole that no sheet shows"
        if any(round(v, 3) not in ends[label] for s in n["slits"] for v in (s["x0"], s["x1"])):
            yield "an end of a slit that no sheet shows"


def _back(x: float, y: float, strap: dict[str, Any]) -> tuple[float, float]:
    a = -math.radians(strap.get("angle_deg", 0.0))
    x, y = x - strap["x_mm"], y - strap["y_mm"]
    return x * math.cos(a) - y * math.sin(a), x * math.sin(a) + y * math.cos(a)


def _is_hole(q: Disc, strap: dict[str, Any], n: dict[str, Any], seen: set[tuple[float, float]]) -> bool:
    x, y = _back(q.cx, q.cy, strap)
    for h in n["holes"]:
        if math.dist((x, y), (h["x"], h["y"])) < NEAR and abs(2.0 * q.r - h["diameter"]) < NEAR:
            seen.add((round(h["x"], 3), round(h["y"], 3)))
            return True
    return False


def _is_slit(q: Path, strap: dict[str, Any], n: dict[str, Any], ends: set[float]) -> bool:
    (x0, y0), (x1, y1) = sorted(_back(*p, strap) for p in (q.segments[0].start, q.segments[-1].end))
    for s in n["slits"]:
        if abs(y0 - s["y0"]) + abs(y1 - s["y1"]) > NEAR or x0 < s["x0"] - NEAR or x1 > s["x1"] + NEAR:
            continue
        found = {round(v, 3) for v, w in ((s["x0"], x0), (s["x1"], x1)) if abs(v - w) < NEAR}
        ends |= found
        return bool(found)
    return False


def _is_edge(segments: Sequence[Segment], strap: dict[str, Any], edge: BaseGeometry) -> bool:
    points = [p for s in segments for p in (s.start, s.end)]
    return all(edge.distance(Point(_back(*p, strap))) < 0.02 for p in points)


def beds(told: Sequence[dict[str, Any]], cutting: dict[str, Any], made: Sequence[Sheet], kerf: float) -> Iterator[str]:
    """Every hole on a bed is one of the numbers, less the kerf, where the bed says the piece lies."""
    by_bed: dict[int, list[dict[str, Any]]] = {}
    for spot in cutting["spots"]:
        by_bed.setdefault(spot["bed"], []).append(spot)
    for k, sheet in enumerate(made, start=1):
        field = box(0.0, 0.0, sheet.width, sheet.height)
        discs = [q for placed in sheet.placed for q in placed.drawing if isinstance(q, Disc)]
        wanted = [
            (s["x_mm"] + h["x"], s["y_mm"] + h["y"], h["diameter"] - kerf)
            for s in by_bed.get(k, ())
            for h in told[s["piece"]]["holes"]
            if not h["length"] > h["diameter"]
        ]
        for q in discs:
            if not any(math.dist((q.cx, q.cy), (x, y)) < NEAR and abs(2 * q.r - d) < NEAR for x, y, d in wanted):
                yield "a hole on a bed that no number knows"
        for placed in sheet.placed:
            for p in placed.drawing:
                if isinstance(p, Path) and not all(
                    field.covers(Point(e)) for s in p.segments if isinstance(s, Line) for e in (s.start, s.end)
                ):
                    yield "a path off the bed"
