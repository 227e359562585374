"""Hatches as the lines that a pen draws."""

from __future__ import annotations

import math

from strapwork.drawing.primitives import Hatch, Path
from strapwork.geometry.shape import Line, Segment


def hatch_path(h: Hatch) -> Path | None:
    """The lines of a hatch, cut to its region, as one path; None where the region is too small for any.

    Each line enters and leaves the region in turn, so its crossings with the
    edge are taken in pairs.
    """
    c, s = math.cos(math.radians(h.angle)), math.sin(math.radians(h.angle))
    ring = [(x * c + y * s, y * c - x * s) for seg in h.region for x, y in seg.points(0.05)]
    edges = list(zip(ring, ring[1:] + ring[:1], strict=True))
    low, high = min(p[1] for p in ring), max(p[1] for p in ring)
    lines: list[Segment] = []
    for k in range(math.ceil(low / h.spacing), math.floor(high / h.spacing) + 1):
        y = k * h.spacing
        hits = sorted(
            x0 + (x1 - x0) * (y - y0) / (y1 - y0) for (x0, y0), (x1, y1) in edges if (y0 <= y < y1) or (y1 <= y < y0)
        )
        for a, b in zip(hits[::2], hits[1::2], strict=False):
            if b - a > 0.05:
                lines.append(Line(a * c - y * s, a * s + y * c, b * c - y * s, b * s + y * c))
    return Path(tuple(lines), False, h.layer, h.role) if lines else None
