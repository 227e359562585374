"""Beds to DXF with ezdxf: millimetres, one layer an operation, arcs as arcs.

Each layer has its operation's colour twice: exactly (which DXF knows from R2004 on) and as the nearest colour index.
Single lines are LINE, single arcs ARC, circles CIRCLE; longer chains are
LWPOLYLINE with bulges (the tangent of a quarter of each arc's sweep), closed
where the chain is closed.
"""

from __future__ import annotations

import io
import math
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Any

import ezdxf.filemanagement
from ezdxf import options  # type: ignore[attr-defined]
from ezdxf import units as dxf_units
from ezdxf.colors import aci2rgb

from strapwork.drawing.pen import draw
from strapwork.drawing.primitives import Disc, Layer, Path, Sheet, Text
from strapwork.errors import CannotDraw
from strapwork.geometry.shape import Arc, Box

if TYPE_CHECKING:
    from strapwork.stock.machines import Machine


_OPTION = threading.Lock()


@contextmanager
def _same_every_time() -> Iterator[None]:
    """Keep the time and random ids out of a file; the library's option is put back as it was."""
    with _OPTION:
        was = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = was


@cache
def nearest_index(rgb: tuple[int, int, int]) -> int:
    """The colour index that comes nearest, for drivers that tell operations apart by one of 255 colours."""
    return min(range(1, 256), key=lambda k: math.dist(rgb, aci2rgb(k)))


class DxfPen:
    """The pen that writes one DXF document a sheet; see :mod:`strapwork.drawing`."""

    def __init__(self, machine: Machine) -> None:
        self._machine = machine
        self._files: list[bytes] = []

    def begin(self, sheet: Sheet) -> None:
        with _same_every_time():
            self._doc = ezdxf.filemanagement.new("R2004", setup=False)
        self._doc.units = dxf_units.MM
        for layer in Layer:
            op = self._machine.operations.get(layer.key)  # type: ignore[call-overload]
            if op is not None:
                made = self._doc.layers.add(layer.key)
                r, g, b = (int(op.colour[i : i + 2], 16) for i in (1, 3, 5))
                made.rgb = (r, g, b)
                made.color = nearest_index((r, g, b))
        self._space = self._doc.modelspace()
        # The bed, so that a driver shows the whole of it: with the drawing as well, or the library unsets the header again.
        low, high = (0.0, 0.0, 0.0), (sheet.width, sheet.height, 0.0)
        self._space.reset_extents(low, high)
        self._doc.header["$EXTMIN"], self._doc.header["$EXTMAX"] = low, high

    def clip(self, box: Box | None) -> None:
        if box is not None:
            raise CannotDraw("a cutter's file has no windows")

    def path(self, path: Path) -> None:
        look: dict[str, Any] = {"layer": path.layer.key}
        first = path.segments[0]
        if len(path.segments) == 1 and not path.closed:
            if isinstance(first, Arc):
                a, b = sorted((first.start_deg, first.start_deg + first.sweep_deg))
                self._space.add_arc((first.cx, first.cy), first.r, a, b, dxfattribs=look)
            else:
                self._space.add_line(first.start, first.end, dxfattribs=look)
            return
        points = []
        for s in path.segments:
            bulge = math.tan(math.radians(s.sweep_deg) / 4.0) if isinstance(s, Arc) else 0.0
            points.append((*s.start, bulge))
        if not path.closed:
            points.append((*path.segments[-1].end, 0.0))
        self._space.add_lwpolyline(points, format="xyb", close=path.closed, dxfattribs=look)

    def circle(self, disc: Disc) -> None:
        self._space.add_circle((disc.cx, disc.cy), disc.r, dxfattribs={"layer": disc.layer.key})

    def text(self, text: Text) -> None:
        raise CannotDraw("a cutter's file has no text; letters are strokes")

    def end(self) -> None:
        out = io.StringIO()
        with _same_every_time():
            self._doc.write(out)
        self._files.append(out.getvalue().encode("utf-8"))

    def finish(self) -> list[bytes]:
        """Every document."""
        return self._files


def write(sheets: Sequence[Sheet], machine: Machine) -> list[bytes]:
    """Each bed as one DXF document."""
    return draw(sheets, DxfPen(machine))
