"""The drawing of one strap: what is cut, marked and labelled, in strap coordinates."""

from __future__ import annotations

from strapwork.drawing.primitives import Disc, Drawing, Layer, Path, Primitive, outline_path
from strapwork.geometry.shape import Circle, Outline
from strapwork.piece.strap import Strap


def _closed(shape: Circle | Outline, layer: Layer, role: str) -> Primitive:
    if isinstance(shape, Circle):
        return Disc(shape.cx, shape.cy, shape.r, layer, role)
    return outline_path(shape, layer, role)


def of_strap(strap: Strap) -> Drawing:
    """Outline, slits, holes, marks and footprints."""
    out: list[Primitive] = [_closed(p.shape, Layer.HARDWARE, "footprint") for p in strap.footprints]
    out += [Path((m.line,), False, Layer.MARKS, m.kind) for m in strap.marks]
    out += [_closed(h.shape(), Layer.HOLES, "hole") for h in strap.holes]
    out += [Path((s,), False, Layer.SLITS, "slit") for s in strap.slits]
    out.append(outline_path(strap.outline, Layer.OUTLINE, "cut"))
    return tuple(out)
