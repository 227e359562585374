"""Sheets to PDF with reportlab.

Content streams are written in millimetres under one scaling matrix, so that
what stands in the file is what stands on the strap; their operators are put
into words by :mod:`strapwork.drawing.operators`, and reportlab makes pages,
fonts and the file of them.  Every layer is an optional-content group of the
same name.  The file asks viewers not to scale (ViewerPreferences PrintScaling
None, ISO 32000-1, 12.2) and is byte-identical for identical input.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from reportlab import rl_config
from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen import canvas

from strapwork.catalogue import language
from strapwork.characters import clean, encodable
from strapwork.drawing import fonts, operators, pdf_carried
from strapwork.drawing.operators import Ink
from strapwork.drawing.pdf_script import ScriptFonts
from strapwork.drawing.pen import draw
from strapwork.drawing.primitives import Disc, Layer, Path, Sheet, Text
from strapwork.geometry.shape import Box, cos_sin

if TYPE_CHECKING:
    from strapwork.stock.printers import Printer

POINTS_PER_MM = 72.0 / 25.4
_BEGIN = {layer: f"/OC /L{k} BDC" for k, layer in enumerate(Layer)}
# Streams as bytes: every reader takes them, they are a fifth smaller, and writing them out in letters takes longer
# than compressing them.
rl_config.useA85 = 0


class PdfPen:
    """The pen that writes one PDF document; see :mod:`strapwork.drawing`."""

    def __init__(
        self,
        title: str,
        subject: str = "",
        printer: Printer | None = None,
        carried: Mapping[str, bytes] | None = None,
    ) -> None:
        self._buffer = io.BytesIO()
        self._canvas = canvas.Canvas(
            self._buffer,
            invariant=1,
            pageCompression=1,
            lang=language(),
            initialFontName="Helvetica",
            pdfVersion=(1, 5),  # the first with layers
        )
        self._canvas.setTitle(encodable(clean(title)))
        self._canvas.setAuthor("")
        self._canvas.setSubject(encodable(clean(subject)))
        self._canvas.setCreator("Strapwork")
        self._canvas.setViewerPreference("PrintScaling", "None")
        self._canvas.setViewerPreference("DisplayDocTitle", "true")
        self._scripts = ScriptFonts(self._canvas)
        self._lettering = _Lettering(self._canvas._doc)
        self._printer = printer
        self._carried = carried or {}
        self._groups = self._optional_content()
        self._pages = 0
        self._out: list[str] = []
        self._layer: Layer | None = None
        self._line = self._fill = ""

    def _optional_content(self) -> dict[Layer, Any]:
        # reportlab has no public way to optional content: these few lines, and what end() does to a page,
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
        width, height = sheet.width * POINTS_PER_MM, sheet.height * POINTS_PER_MM
        c.setPageSize((width, height))
        c.addPageLabel(self._pages, prefix=sheet.name)
        self._pages += 1
        self._out = ["q"]
        if self._printer is not None:
            # About the middle of the page, so that the margins stay even.
            a, b, cc, d = self._printer.matrix(sheet.width > sheet.height)
            mx, my = width / 2.0, height / 2.0
            self._out.append(f"{operators.matrix(a, b, cc, d, mx - a * mx - cc * my, my - b * mx - d * my)} cm")
        self._out.append(f"{POINTS_PER_MM:.6f} 0 0 {POINTS_PER_MM:.6f} 0 0 cm 0 J 1 j")
        self._line = self._fill = ""

    def clip(self, box: Box | None) -> None:
        self._on(None)
        self._out.append("Q" if box is None else operators.clip(box))
        self._line = self._fill = ""

    def path(self, path: Path) -> None:
        self._out.append(operators.path(path, self._use(path.layer, path.role).paint))

    def circle(self, disc: Disc) -> None:
        self._out.append(operators.circle(disc, self._use(disc.layer, disc.role).paint))

    def text(self, text: Text) -> None:
        strong = self._use(text.layer, text.role).strong
        x, y, cos, sin = text.x, text.y, 1.0, 0.0
        if text.quarters or text.angle:
            cos, sin = cos_sin(text.degrees)
        if text.anchor != "start":
            width = fonts.text_width(text.text, text.size, strong)
            back = width / 2.0 if text.anchor == "middle" else width
            x, y = x - back * cos, y - back * sin
        line = fonts.shaped(text.text, strong)
        if line is not None:
            self._out.append(self._scripts.drawn(line, text.size, x, y, (cos, sin)))
            return
        place = f"{x:.4f} {y:.4f} Td" if cos == 1.0 else f"{operators.matrix(cos, sin, -sin, cos, x, y)} Tm"
        self._out.append(f"BT {place} {self._lettering.shown(fonts.printable(text.text), text.size, strong)} ET")

    def end(self) -> None:
        self._on(None)
        c = self._canvas
        self._out.append("Q")
        c.addLiteral("\n".join(self._out))
        c.showPage()
        page = c._doc.Pages.pages[-1]
        resources = pdfdoc.PDFResourceDictionary()
        resources.basicFonts()
        resources.Properties = {f"L{i}": ref for i, ref in enumerate(self._groups.values())}
        page.Resources = resources
        # Compressed now and not when all is saved: the pages of a large job are a hundred megabytes in letters.
        flate = pdfdoc.PDFDictionary({"Filter": pdfdoc.PDFArray([pdfdoc.PDFName("FlateDecode")])})
        page.Contents = pdfdoc.PDFStream(flate, pdfdoc.PDFZCompress.encode(page.stream))
        page.Contents.__Comment__ = "page stream"
        page.stream = None
        self._out = []

    def finish(self) -> bytes:
        """The whole document."""
        self._scripts.embed()
        pdf_carried.embed(self._canvas._doc, self._carried)
        self._canvas.save()
        return self._buffer.getvalue()

    # -- state ------------------------------------------------------------

    def _on(self, layer: Layer | None) -> None:
        if layer is self._layer:
            return
        if self._layer is not None:
            self._out.append("EMC")
        if layer is not None:
            self._out.append(_BEGIN[layer])
        self._layer = layer

    def _use(self, layer: Layer, role: str) -> Ink:
        self._on(layer)
        ink = operators.ink(role)
        if ink.line and ink.line != self._line:
            self._out.append(ink.line)
            self._line = ink.line
        if ink.fill and ink.fill != self._fill:
            self._out.append(ink.fill)
            self._fill = ink.fill
        return ink


class _Lettering:
    """Lines of the usual typeface in one document, as the subsets of reportlab's fonts have their letters."""

    def __init__(self, document: Any) -> None:
        self._document = document
        self._fonts = {strong: fonts.font(strong) for strong in (False, True)}
        # Letters that a subset has under their own ASCII codes need not be looked up one by one.
        self._plain = {strong: self._as_they_are(font) for strong, font in self._fonts.items()}
        self._begun: dict[tuple[bool, float], str] = {}

    def _as_they_are(self, font: Any) -> frozenset[str]:
        letters = (chr(code) for code in range(32, 127) if chr(code) not in "()\\")
        return frozenset(ch for ch in letters if font.splitString(ch, self._document) == [(0, ch.encode())])

    def shown(self, text: str, size: float, strong: bool) -> str:
        """The operators that choose the font and show ``text``."""
        if self._plain[strong].issuperset(text):
            begun = self._begun.get((strong, size))
            if begun is None:
                begun = self._begun[strong, size] = self._chosen(strong, 0, size)
            return f"{begun} ({text}) Tj"
        parts = self._fonts[strong].splitString(text, self._document)
        return " ".join(f"{self._chosen(strong, subset, size)} {operators.string(codes)} Tj" for subset, codes in parts)

    def _chosen(self, strong: bool, subset: int, size: float) -> str:
        return f"{self._fonts[strong].getSubsetInternalName(subset, self._document)} {size:.6f} Tf"


def write(
    sheets: Iterable[Sheet],
    title: str,
    subject: str = "",
    printer: Printer | None = None,
    carried: Mapping[str, bytes] | None = None,
) -> bytes:
    """All sheets as one PDF document, which carries the files ``carried`` (name to content)."""
    return draw(sheets, PdfPen(title, subject, printer, carried))
