"""Sheets to SVG with svgwrite: one file a sheet, in millimetres, arcs as arcs.

Width and height are in mm and the viewBox has the same numbers, so one user
unit is one millimetre (CSS Values and Units: 96 px = 1 in = 25.4 mm).  Each
layer is one group with an id and a title a person can read; it carries the
attributes by which Inkscape, and editors that read its files, know a layer
(the groupmode and label of its documented namespace).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

import svgwrite

from strapwork.catalogue import language, tr
from strapwork.characters import clean, encodable
from strapwork.drawing import fonts
from strapwork.drawing.pen import draw
from strapwork.drawing.primitives import WORKING_ORDER, Disc, Layer, Path, Sheet, Text
from strapwork.drawing.style import Rgb, Style, look, rgb
from strapwork.geometry.shape import Arc, Box, Segment

if TYPE_CHECKING:
    from strapwork.drawing.scripts import Line
    from strapwork.stock.machines import Machine
    from strapwork.stock.printers import Printer

WIDEST_ARC = 45.0
LAYERS = "http://www.inkscape.org/namespaces/inkscape"


def number(value: float) -> str:
    """A coordinate with five decimals at most (0.01 micrometre) and no trailing noise."""
    text = f"{value:.5f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _hex(rgb: Rgb) -> str:
    return "#" + "".join(f"{round(255 * v):02x}" for v in rgb)


class SvgPen:
    """The pen that writes one SVG file a sheet; see :mod:`strapwork.drawing`."""

    def __init__(
        self,
        title: str,
        styles: Mapping[str, Style] | None = None,
        order: Sequence[Layer] = tuple(Layer),
        printer: Printer | None = None,
    ) -> None:
        self._title = title
        self._printer = printer
        self._styles = styles or {}
        self._order = order
        self._files: list[str] = []

    def begin(self, sheet: Sheet) -> None:
        w, h = number(sheet.width), number(sheet.height)
        self._height = sheet.height
        self._svg = svgwrite.Drawing(size=(f"{w}mm", f"{h}mm"), viewBox=f"0 0 {w} {h}", debug=False)
        self._svg.set_desc(title=encodable(clean(tr("{title}, sheet {name}", title=self._title, name=sheet.name))))
        self._svg["xml:lang"] = language()
        self._svg["xmlns:inkscape"] = LAYERS
        self._correction = self._corrected(sheet)
        self._groups: dict[Layer, Any] = {}
        self._clipped: dict[Layer, Any] = {}
        self._window: str | None = None
        self._windows = 0

    def _corrected(self, sheet: Sheet) -> str:
        """The printer's correction about the middle of the sheet, as SVG has it (y down); empty for none."""
        if self._printer is None:
            return ""
        a, b, c, d = self._printer.matrix(sheet.width > sheet.height)
        # With y down the two mixed terms change their signs.
        b, c = -b, -c
        mx, my = sheet.width / 2.0, sheet.height / 2.0
        numbers = (a, b, c, d, mx - a * mx - c * my, my - b * mx - d * my)
        return f"matrix({' '.join(f'{v:.8f}' for v in numbers)})"

    def _style(self, role: str) -> Style:
        return self._styles.get(role) or look(role)

    def clip(self, box: Box | None) -> None:
        self._clipped = {}
        if box is None:
            self._window = None
            return
        self._windows += 1
        self._window = f"window-{self._windows}"
        area = self._svg.clipPath(id=self._window)
        x0, y0, x1, y1 = box
        area.add(
            self._svg.rect(insert=(number(x0), number(self._height - y1)), size=(number(x1 - x0), number(y1 - y0)))
        )
        self._svg.defs.add(area)

    def path(self, path: Path) -> None:
        self._add(path.layer, self._svg.path(d=self._d(path.segments, path.closed), **_look(self._style(path.role))))

    def circle(self, disc: Disc) -> None:
        self._add(
            disc.layer,
            self._svg.circle(
                center=(number(disc.cx), number(self._height - disc.cy)),
                r=number(disc.r),
                **_look(self._style(disc.role)),
            ),
        )

    def text(self, text: Text) -> None:
        style = self._style(text.role)
        shown = fonts.printable(text.text)
        if not shown.strip():
            return
        line = fonts.shaped(text.text, style.strong)
        if line is not None:
            self._add(text.layer, self._outlined(line, shown, text, style))
            return
        x, y = number(text.x), number(self._height - text.y)
        extra: dict[str, Any] = {}
        if text.degrees:
            extra["transform"] = f"rotate({number(-text.degrees)} {x} {y})"
        if style.strong:
            extra["font_weight"] = "600"
        if text.anchor != "start":
            extra["text_anchor"] = text.anchor
        # The width is pinned, so that a viewer with another typeface cannot make lines run into each other.
        node = self._svg.text(
            shown,
            insert=(x, y),
            font_size=number(text.size),
            font_family=fonts.CSS_FAMILY,
            textLength=number(fonts.text_width(text.text, text.size, style.strong)),
            lengthAdjust="spacingAndGlyphs",
            fill=_hex(style.fill or (0.0, 0.0, 0.0)),
            **extra,
        )
        self._add(text.layer, node)

    def _outlined(self, line: Line, shown: str, text: Text, style: Style) -> Any:
        """A shaped line as outlines, which look the same with any typeface, and with its words for search and speech."""
        from strapwork.drawing.outlines import brief, inked

        place = f"translate({number(text.x)} {number(self._height - text.y)})"
        turn = f" rotate({number(-text.degrees)})" if text.degrees else ""
        k = text.size / 1000.0
        back = 1000.0 * line.width * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
        group = self._svg.g(
            transform=f"{place}{turn} scale({k:.6g} {-k:.6g})",
            fill=_hex(style.fill or (0.0, 0.0, 0.0)),
            role="img",
            aria_label=shown,
        )
        group.set_desc(title=shown)
        x = -back
        for cluster in line.clusters:
            drawn = inked(cluster).path
            if drawn:
                group.add(self._svg.path(d=drawn, transform=f"translate({brief(x)} 0)"))
            x += 1000.0 * cluster.advance
        return group

    def end(self) -> None:
        for layer in self._order:
            if layer in self._groups:
                self._svg.add(self._groups[layer])
        self._files.append('<?xml version="1.0" encoding="utf-8"?>\n' + self._svg.tostring() + "\n")

    def finish(self) -> list[str]:
        """The text of every sheet."""
        return self._files

    def _add(self, layer: Layer, node: Any) -> None:
        if layer not in self._groups:
            group = self._svg.g(id=layer.key)
            group["inkscape:groupmode"] = "layer"
            group["inkscape:label"] = layer.key
            group.set_desc(title=layer.label)
            if self._correction:
                group["transform"] = self._correction
            self._groups[layer] = group
        if self._window is None:
            self._groups[layer].add(node)
            return
        if layer not in self._clipped:
            self._clipped[layer] = self._svg.g(clip_path=f"url(#{self._window})")
            self._groups[layer].add(self._clipped[layer])
        self._clipped[layer].add(node)

    def _d(self, segments: tuple[Segment, ...], closed: bool) -> str:
        h = self._height
        out: list[str] = []
        at: tuple[float, float] | None = None
        for s in segments:
            if at is None or abs(at[0] - s.start[0]) > 1e-9 or abs(at[1] - s.start[1]) > 1e-9:
                out.append(f"M{number(s.start[0])} {number(h - s.start[1])}")
            if isinstance(s, Arc):
                # Readers that turn arcs into Bezier curves do it by quarter turns, which is a
                # hundredth of a millimetre too long round a strap's end; eighths stay exact.
                parts = max(1, math.ceil(abs(s.sweep_deg) / WIDEST_ARC - 1e-9))
                flag = 0 if s.sweep_deg > 0 else 1
                for k in range(1, parts + 1):
                    x, y = s.at(s.start_deg + s.sweep_deg * k / parts)
                    out.append(f"A{number(s.r)} {number(s.r)} 0 0 {flag} {number(x)} {number(h - y)}")
            else:
                out.append(f"L{number(s.x1)} {number(h - s.y1)}")
            at = s.end
        if closed:
            out.append("Z")
        return "".join(out)


@cache
def _look(style: Style) -> dict[str, Any]:
    out: dict[str, Any] = {"fill": _hex(style.fill) if style.fill else "none"}
    if style.stroke is not None:
        out["stroke"] = _hex(style.stroke)
        out["stroke_width"] = number(style.width)
        if style.dash:
            out["stroke_dasharray"] = " ".join(number(d) for d in style.dash)
    return out


def write(sheets: Iterable[Sheet], title: str, printer: Printer | None = None) -> list[str]:
    """Each sheet as the text of one SVG file, corrected for a printer where one is given."""
    return draw(sheets, SvgPen(title, printer=printer))


def write_beds(sheets: Sequence[Sheet], title: str, machine: Machine) -> list[str]:
    """Each bed as one SVG file for a cutter: groups in working order, looks as the driver wants them."""
    styles = {str(n): Style(stroke=rgb(op.colour), width=op.width) for n, op in machine.operations.items()}
    return draw(sheets, SvgPen(title, styles, WORKING_ORDER))
