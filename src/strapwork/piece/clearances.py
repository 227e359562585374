"""Clearances on the flat strap: holes, slits, caps and edges against each other, found by the geometry itself."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from shapely import LineString, union_all

from strapwork.catalogue import tr
from strapwork.geometry.shape import Circle, line_string
from strapwork.piece.findings import GEOMETRY, TRADE, Finding
from strapwork.piece.fit import Fit
from strapwork.piece.strap import Hole, Strap
from strapwork.units import say

LEAST_EDGE = 2.0
CAP_CLEARANCE = 0.5
HOLE_CLEARANCE = 2.0
LEAST_STRAND = 2.0
LEAST_TAB = 5.0
UNEVEN = 1.15


def _called(h: Hole) -> str:
    """What a hole is called: a lace hole, the middle hole, a rivet's hole."""
    return (
        tr(h.purpose)
        if h.purpose.endswith("hole")
        else tr("{purpose} slot", purpose=tr(h.purpose))
        if h.is_slot
        else tr("{purpose} hole", purpose=tr(h.purpose))
    )


def outline(strap: Strap) -> Iterator[Finding]:
    polygon = strap.outline.polygon(0.005)
    if not polygon.is_valid or not polygon.is_simple or strap.outline.gap() > 1e-6:
        yield Finding(
            "stop", "outline", tr("the outline crosses itself"), tr("lengthen the strap or shorten its tips"), GEOMETRY
        )
    edge = polygon.exterior
    shapes = []
    for h in strap.holes:
        shape = h.shape().polygon(0.005)
        rest = shape.distance(edge) if polygon.contains(shape) else -1.0
        where = tr("the {called} {x} from the start", called=_called(h), x=say(h.x))
        if rest < 0:
            yield Finding(
                "stop",
                "hole-outside",
                tr("{where} runs off the leather", where=where),
                tr("move it inwards or use a wider strap"),
                GEOMETRY,
            )
        elif rest < LEAST_EDGE - 1e-9:
            yield Finding(
                "caution",
                "hole-near-edge",
                tr("{where} leaves only {rest} of leather to the edge", where=where, rest=say(rest)),
                tr("keep {least_edge} or more", least_edge=say(LEAST_EDGE)),
                TRADE,
            )
        shapes.append((h, shape))
    for i, (a, pa) in enumerate(shapes):
        for b, pb in shapes[i + 1 :]:
            if b.x - a.x > 60.0 + a.length + b.length:
                break
            if pa.distance(pb) < 0.5:
                yield Finding(
                    "stop",
                    "holes-touch",
                    tr(
                        "the {called} at {x} and the {called2} at {x2} run into each other",
                        called=_called(a),
                        x=say(a.x),
                        called2=_called(b),
                        x2=say(b.x),
                    ),
                    tr("move one of them"),
                    GEOMETRY,
                )


def slits(strap: Strap, fit: Fit) -> Iterator[Finding]:
    if not strap.slits:
        return
    if fit.slit_end > strap.length or fit.slit_start < 0:
        yield Finding(
            "stop", "slit-outside", tr("the slits run off the strap"), tr("give the plain ends more length"), GEOMETRY
        )
    yield from _strands(strap)
    yield from _open_ends(strap)
    # The slits as one shape: whichever of them is too near, the remedy is the same.
    cuts = union_all([line_string(line) for line in strap.slits])
    for p in strap.footprints:
        if p.shape.polygon(0.02).distance(cuts) < CAP_CLEARANCE:
            yield Finding(
                "stop",
                "slit-under-hardware",
                tr("a slit would run under the {what} at the {end}", what=tr(p.what), end=tr(p.end)),
                tr(
                    "end the slits at least {cap_clearance} before it, further from the reference point, "
                    "or choose smaller hardware",
                    cap_clearance=say(CAP_CLEARANCE),
                ),
                GEOMETRY,
            )
    for h in strap.holes:
        if h.purpose != "relief" and h.shape().polygon(0.02).distance(cuts) < HOLE_CLEARANCE:
            yield Finding(
                "caution",
                "slit-near-hole",
                tr(
                    "a slit ends within {hole_clearance} of the {called} at the {end}",
                    hole_clearance=say(HOLE_CLEARANCE),
                    called=_called(h),
                    end=tr(h.end),
                ),
                tr("leave more plain leather"),
                TRADE,
            )


def _strands(strap: Strap) -> Iterator[Finding]:
    """Strands as the slits really leave them, which a pattern of the maker's own may space as it likes."""
    edges = [0.0, *sorted(line.y0 for line in strap.slits), strap.width]
    widths = [b - a for a, b in itertools.pairwise(edges)]
    thinnest = min(widths)
    if thinnest < LEAST_STRAND - 1e-9:
        yield Finding(
            "stop",
            "strand-thin",
            tr("a strand would be {thinnest} wide", thinnest=say(thinnest, 2)),
            tr("space the slits so that every strand is {least_strand} or wider", least_strand=say(LEAST_STRAND)),
            GEOMETRY,
        )
    elif max(widths) > thinnest * UNEVEN:
        yield Finding(
            "caution",
            "strands-uneven",
            tr(
                "strands from {thinnest} to {widths} wide braid unevenly, and the take-up is "
                "worked out for strands of {width}",
                thinnest=say(thinnest),
                widths=say(max(widths)),
                width=say(strap.width / len(widths)),
            ),
            tr("space the slits evenly, or braid a swatch of just these strands"),
            GEOMETRY,
        )


def _open_ends(strap: Strap) -> Iterator[Finding]:
    """Slits that run out of an end leave loose strips instead of a strap."""
    polygon = strap.outline.polygon(0.005)
    # Along every slit, for a pointed or round end is shorter there than in its middle.
    across = [(line, *polygon.intersection(_along(line.y0, strap.length)).bounds[::2]) for line in strap.slits]
    for name, rest in (
        ("start", min(line.x0 - low for line, low, _ in across)),
        ("finish", min(high - line.x1 for line, _, high in across)),
    ):
        if rest < LEAST_TAB - 1e-9:
            yield Finding(
                "stop",
                "slit-open-end",
                tr(
                    "the slits come within {rest} of the raw end at the {name} and leave loose strips",
                    rest=say(max(0.0, rest)),
                    name=tr(name),
                ),
                tr(
                    "leave {least_tab} or more of plain leather (to_tip and to_slit), or make the strap plain",
                    least_tab=say(LEAST_TAB),
                ),
                GEOMETRY,
            )


def _along(y: float, length: float) -> LineString:
    return LineString([(-1.0, y), (length + 1.0, y)])


def under_hardware(strap: Strap) -> Iterator[Finding]:
    """Holes that a cap would cover or catch: every hole against every cap but its own."""
    caps = [(p, p.shape) for p in strap.footprints if isinstance(p.shape, Circle)]
    for h in strap.holes:
        for p, cap in caps:
            apart = math.dist((h.x, h.y), (cap.cx, cap.cy))
            if apart < 1e-6 or apart - h.diameter / 2.0 >= cap.r + CAP_CLEARANCE:
                continue
            yield Finding(
                "stop" if apart - h.diameter / 2.0 < cap.r else "caution",
                "hole-under-hardware",
                tr(
                    "the {called} {x} from the start lies {apart} from the middle of the {what}, which reaches {r}",
                    called=_called(h),
                    x=say(h.x),
                    apart=say(apart),
                    what=tr(p.what),
                    r=say(cap.r),
                ),
                tr("move one of them, or choose smaller hardware"),
                GEOMETRY,
            )
