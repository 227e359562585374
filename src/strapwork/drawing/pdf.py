"""Sheets to PDF with reportlab.

Content streams are written in millimetres under one scaling matrix, so that
what stands in the file is what stands on the strap.  Arcs become Bezier curves
of at most 45 degrees each (within 5 millionths of the radius).  Every layer is
an optional-content group of the same name.  The file asks viewers not to scale
(ViewerPreferences PrintScaling None, ISO 32000-1, 12.2) and is byte-identical
for identical input.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from reportlab import rl_config
from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen import canvas

from strapwork.characters import clean, encodable
from strapwork.drawing import fonts
from strapwork.drawing.pdf_script import ScriptFonts
from strapwork.drawing.pen import draw
from strapwork.drawing.primitives import Disc, Layer, Path, Sheet, Text
from strapwork.drawing.style import Rgb, Style, look
from strapwork.geometry.shape import Arc, Box, cos_sin

if TYPE_CHECKING:
    from strapwork.stock.printers import Printer

POINTS_PER_MM = 72.0 / 25.4
WIDEST_CURVE = 45.0
# Streams as bytes: every reader takes them, they are a fifth smaller, and writing them out in letters takes longer
# than compressing them.
rl_config.useA85 = 0


class PdfPen:
    """The pen that writes one PDF document; see :mod:`strapwork.drawing`."""

    def __init__(self, title: str, subject: str = "", printer: Printer | None = None) -> None:
        fonts.font(False)
        fonts.font(True)
        self._buffer = io.BytesIO()
        self._canvas = canvas.Canvas(
            self._buffer, invariant=1, pageCompression=1, lang="en", initialFontName="Helvetica"
        )
        self._canvas.setTitle(encodable(clean(title)))
        self._canvas.setAuthor("")
        self._canvas.setSubject(encodable(clean(subject)))
        self._canvas.setCreator("Strapwork")
        self._canvas.setViewerPreference("PrintScaling", "None")
        self._canvas.setViewerPreference("DisplayDocTitle", "true")
        self._scripts = ScriptFonts(self._canvas)
        self._printer = printer
        self._groups = self._optional_content()
        self._pages = 0
        self._layer: Layer | None = None
        self._stroke: tuple[Any, ...] | None = None
        self._fill: Rgb | None = None

    def _optional_content(self) -> dict[Layer, Any]:
        # reportlab has no public way to optional content: these few lines, and the resources in end(),
        # are the only ones here that reach below its canvas.
        doc = self._canvas._doc
        groups: dict[Layer, Any] = {}
        for layer in Layer:
            entry = pdfdoc.PDFDictionary(
                {"Type": pdfdoc.PDFName("OCG"), "Name": pdfdoc.PDFString(layer.key), "Intent": pdfdoc.PDFName("View")}
            )
            groups[layer] = doc.Reference(entry, f"ocg-{layer.key}")
        order = pdfdoc.PDFArray(list(groups.values()))
        catalog = doc.Catalog
        catalog.OCProperties = pdfdoc.PDFDictionary(
            {
                "OCGs": order,
                "D": pdfdoc.PDFDictionary(
                    {"Order": order, "ON": order, "Name": pdfdoc.PDFString("Layers"), "BaseState": pdfdoc.PDFName("ON")}
                ),
            }
        )
        # reportlab writes only the catalogue entries it knows; this adds ours.
        catalog.__NoDefault__ = [*catalog.__NoDefault__, "OCProperties"]
        return groups

    # -- the pen protocol -------------------------------------------------

    def begin(self, sheet: Sheet) -> None:
        c = self._canvas
        c.setPageSize((sheet.width * POINTS_PER_MM, sheet.height * POINTS_PER_MM))
        c.addPageLabel(self._pages, prefix=sheet.name)
        self._pages += 1
        c.saveState()
        if self._printer is not None:
            # About the middle of the page, so that the margins stay even.
            a, b, cc, d = self._printer.matrix(sheet.width > sheet.height)
            mx, my = sheet.width * POINTS_PER_MM / 2.0, sheet.height * POINTS_PER_MM / 2.0
            c.transform(a, b, cc, d, mx - a * mx - cc * my, my - b * mx - d * my)
        c.transform(POINTS_PER_MM, 0, 0, POINTS_PER_MM, 0, 0)
        c.setLineCap(0)
        c.setLineJoin(1)
        self._forget()

    def clip(self, box: Box | None) -> None:
        self._on(None)
        c = self._canvas
        if box is None:
            c.restoreState()
        else:
            c.saveState()
            p = c.beginPath()
            p.rect(box[0], box[1], box[2] - box[0], box[3] - box[1])
            c.clipPath(p, stroke=0, fill=0)
        self._forget()

    def path(self, path: Path) -> None:
        style = self._use(path.layer, path.role)
        p = self._canvas.beginPath()
        at: tuple[float, float] | None = None
        for s in path.segments:
            if at is None or abs(at[0] - s.start[0]) > 1e-9 or abs(at[1] - s.start[1]) > 1e-9:
                p.moveTo(*s.start)
            if isinstance(s, Arc):
                _curves(p, s)
            else:
                p.lineTo(s.x1, s.y1)
            at = s.end
        if path.closed:
            p.close()
        self._canvas.drawPath(p, stroke=int(style.stroke is not None), fill=int(style.fill is not None))

    def circle(self, disc: Disc) -> None:
        style = self._use(disc.layer, disc.role)
        p = self._canvas.beginPath()
        arc = Arc(disc.cx, disc.cy, disc.r, 0.0, 360.0)
        p.moveTo(*arc.start)
        _curves(p, arc)
        p.close()
        self._canvas.drawPath(p, stroke=int(style.stroke is not None), fill=int(style.fill is not None))

    def text(self, text: Text) -> None:
        style = self._use(text.layer, text.role)
        c = self._canvas
        width = fonts.text_width(text.text, text.size, style.strong)
        back = {"start": 0.0, "middle": width / 2.0, "end": width}[text.anchor]
        cos, sin = cos_sin(text.degrees)
        x, y = text.x - back * cos, text.y - back * sin
        line = fonts.shaped(text.text, style.strong)
        if line is not None:
            self._scripts.draw(line, text.size, x, y, (cos, sin))
            return
        t = c.beginText()
        t.setTextTransform(cos, sin, -sin, cos, x, y)
        t.setFont(fonts.STRONG if style.strong else fonts.REGULAR, text.size)
        t.textOut(fonts.printable(text.text))
        c.drawText(t)

    def end(self) -> None:
        self._on(None)
        c = self._canvas
        c.restoreState()
        c.showPage()
        page = c._doc.Pages.pages[-1]
        resources = pdfdoc.PDFResourceDictionary()
        resources.basicFonts()
        resources.Properties = {f"L{i}": ref for i, ref in enumerate(self._groups.values())}
        page.Resources = resources

    def finish(self) -> bytes:
        """The whole document."""
        self._scripts.embed()
        self._canvas.save()
        return self._buffer.getvalue()

    # -- state ------------------------------------------------------------

    def _forget(self) -> None:
        self._stroke = None
        self._fill = None

    def _on(self, layer: Layer | None) -> None:
        if layer is self._layer:
            return
        if self._layer is not None:
            self._canvas.addLiteral("EMC")
        if layer is not None:
            self._canvas.addLiteral(f"/OC /L{list(Layer).index(layer)} BDC")
        self._layer = layer

    def _use(self, layer: Layer, role: str) -> Style:
        self._on(layer)
        style = look(role)
        c = self._canvas
        stroke = (style.stroke, style.width, style.dash)
        if style.stroke is not None and stroke != self._stroke:
            c.setStrokeColorRGB(*style.stroke)
            c.setLineWidth(style.width)
            c.setDash(list(style.dash)) if style.dash else c.setDash()
            self._stroke = stroke
        if style.fill is not None and style.fill != self._fill:
            c.setFillColorRGB(*style.fill)
            self._fill = style.fill
        return style


def _curves(p: Any, arc: Arc) -> None:
    """Append an arc to a reportlab path as Bezier curves.

    A curve for the sweep u has its inner points at 4/3 tan(u/4) radii along the
    tangents (the usual choice, which meets the arc at its middle).
    """
    n = max(1, math.ceil(abs(arc.sweep_deg) / WIDEST_CURVE - 1e-9))
    step = arc.sweep_deg / n
    k = 4.0 / 3.0 * math.tan(math.radians(step) / 4.0)
    for i in range(n):
        a = arc.start_deg + i * step
        (x0, y0), (x3, y3) = arc.at(a), arc.at(a + step)
        dx0, dy0 = y0 - arc.cy, x0 - arc.cx
        dx3, dy3 = y3 - arc.cy, x3 - arc.cx
        p.curveTo(x0 - k * dx0, y0 + k * dy0, x3 + k * dx3, y3 - k * dy3, x3, y3)


def write(sheets: Sequence[Sheet], title: str, subject: str = "", printer: Printer | None = None) -> bytes:
    """All sheets as one PDF document."""
    return draw(sheets, PdfPen(title, subject, printer))
