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
from typing import TYPE_CHECKING, Any, TypeVar

import ezdxf.filemanagement
from ezdxf import options  # type: ignore[attr-defined]
from ezdxf import units as dxf_units
from ezdxf.colors import aci2rgb
from ezdxf.entities.arc import Arc as ArcEntity
from ezdxf.entities.circle import Circle
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.entities.line import Line
from ezdxf.entities.lwpolyline import LWPolyline

from strapwork.drawing.pen import draw
from strapwork.drawing.primitives import Disc, Layer, Path, Sheet, Text
from strapwork.errors import CannotDraw
from strapwork.geometry.shape import Arc, Box

if TYPE_CHECKING:
    from ezdxf.lldxf.tagwriter import AbstractTagWriter

    from strapwork.stock.machines import Machine


E = TypeVar("E", bound=DXFGraphic)
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


class _Plain(DXFGraphic):
    """What has nothing of its own but its layer says only that.

    The library asks each entity for fifteen properties, one by one, and leaves out what is unset: on a full bed more
    than a tenth of a whole run.  The file is the same.
    """

    def export_acdb_entity(self, tagwriter: AbstractTagWriter) -> None:
        tagwriter.write_tag2(100, "AcDbEntity")
        tagwriter.write_tag2(8, self.dxf.layer)


class _Line(_Plain, Line):
    pass


class _Arc(_Plain, ArcEntity):
    pass


class _Circle(_Plain, Circle):
    pass


class _Chain(_Plain, LWPolyline):
    pass


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
        first = path.segments[0]
        if len(path.segments) == 1 and not path.closed:
            if isinstance(first, Arc):
                a, b = sorted((first.start_deg, first.start_deg + first.sweep_deg))
                self._add(_Arc, path, center=(first.cx, first.cy), radius=first.r, start_angle=a, end_angle=b)
            else:
                self._add(_Line, path, start=first.start, end=first.end)
            return
        points = []
        for s in path.segments:
            bulge = math.tan(math.radians(s.sweep_deg) / 4.0) if isinstance(s, Arc) else 0.0
            points.append((*s.start, bulge))
        if not path.closed:
            points.append((*path.segments[-1].end, 0.0))
        chain = self._add(_Chain, path)
        chain.set_points(points, format="xyb")
        chain.closed = path.closed

    def circle(self, disc: Disc) -> None:
        self._add(_Circle, disc, center=(disc.cx, disc.cy), radius=disc.r)

    def _add(self, kind: type[E], drawn: Path | Disc, **place: Any) -> E:
        entity = kind.new(dxfattribs={"layer": drawn.layer.key, **place})
        self._space.add_entity(entity)
        return entity

    def text(self, text: Text) -> None:
        raise CannotDraw("a cutter's file has no text; letters are strokes")

    def end(self) -> None:
        out = io.StringIO()
        # The library lists the classes it needs in the order of a set, which is another in every process.
        listed = self._doc.classes
        listed.add_required_classes(self._doc.dxfversion)
        listed.classes = dict(sorted(listed.classes.items()))
        with _same_every_time():
            self._doc.write(out)
        self._files.append(out.getvalue().encode("utf-8"))

    def finish(self) -> list[bytes]:
        """Every document."""
        return self._files


def write(sheets: Sequence[Sheet], machine: Machine) -> list[bytes]:
    """Each bed as one DXF document."""
    return draw(sheets, DxfPen(machine))
