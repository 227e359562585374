"""Where along a strap something stands: tips, holes, folds, hardware and the ends of slits."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from typing import TypeAlias

from strapwork.geometry.shape import Line
from strapwork.piece.strap import Strap

Stretch: TypeAlias = tuple[float, float]


def stretches(strap: Strap) -> list[Stretch]:
    """Stretches of strap mm, sorted and joined, outside of which the strap runs straight and alike."""
    found: list[Stretch] = [(0.0, 0.0), (strap.length, strap.length)]
    for s in strap.outline:
        if not (isinstance(s, Line) and s.y0 == s.y1):
            x0, _, x1, _ = s.box()
            found.append((x0, x1))
    for h in strap.holes:
        x0, _, x1, _ = h.shape().box()
        found.append((x0, x1))
    for m in strap.marks:
        x0, _, x1, _ = m.line.box()
        found.append((x0, x1))
    for p in strap.footprints:
        x0, _, x1, _ = p.shape.box()
        found.append((x0, x1))
    for slit in strap.slits:
        found += [(slit.x0, slit.x0), (slit.x1, slit.x1)]
    return joined(found)


def joined(found: Iterable[Stretch], apart: float = 0.0) -> list[Stretch]:
    """Stretches in order; those that meet, or are less than ``apart`` from each other, as one."""
    out: list[Stretch] = []
    for a, b in sorted(found):
        if out and a <= out[-1][1] + apart:
            out[-1] = (out[-1][0], max(out[-1][1], b))
        else:
            out.append((a, b))
    return out


def longest_gap(found: list[Stretch]) -> Stretch:
    """The longest stretch with nothing on it."""
    gaps = [(a[1], b[0]) for a, b in itertools.pairwise(found)]
    return max(gaps, key=lambda g: g[1] - g[0]) if gaps else (0.0, 0.0)
