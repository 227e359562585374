"""Shaped lines in a PDF: real text, in fonts made of the outlines that the line needs.

Each cluster that is used becomes one character of a Type 3 font (ISO 32000-1,
9.6.5): its outline is a small content stream, its width the advance that
HarfBuzz gave, and its entry in the font's ToUnicode map (9.10.3) the characters
it stands for.  So it prints as drawn, takes the colour of its line, is stored
once however often it stands on the sheets, and can be searched and copied,
joined letters and marks included.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportlab import rl_config
from reportlab.pdfbase import pdfdoc

if TYPE_CHECKING:
    from strapwork.drawing.scripts import Cluster, Line

# Codes of one byte, and 0 left out: some readers take it for the end of the text.
MOST = 255


class ScriptFonts:
    """The Type 3 fonts of one document."""

    def __init__(self, canvas: Any) -> None:
        self._canvas = canvas
        self._codes: dict[Cluster, int] = {}

    def drawn(self, line: Line, size: float, x: float, y: float, turn: tuple[float, float]) -> str:
        """The operators that write ``line`` at ``size`` mm from (x, y) on, along the direction (cos, sin) ``turn``."""
        cos, sin = turn
        matrix = " ".join(f"{v:.5f}".rstrip("0").rstrip(".") for v in (cos, sin, -sin, cos, x, y))
        out = [f"BT {matrix} Tm"]
        name, codes = -1, ""
        for cluster in line.clusters:
            code = self._codes.setdefault(cluster, len(self._codes))
            if code // MOST != name:
                if codes:
                    out.append(f"<{codes}> Tj")
                name, codes = code // MOST, ""
                out.append(f"/S{name} {size:g} Tf")
            codes += f"{code % MOST + 1:02X}"
        out.append(f"<{codes}> Tj ET")
        return " ".join(out)

    def embed(self) -> None:
        """Put the fonts into the document; once, when its last page is done."""
        doc = self._canvas._doc
        known = doc.idToObject[pdfdoc.BasicFonts].dict
        clusters = list(self._codes)
        for k in range(0, len(clusters), MOST):
            name = f"S{k // MOST}"
            known[name] = doc.Reference(_font(doc, name, clusters[k : k + MOST]), f"script-font-{name}")


def _font(doc: Any, name: str, clusters: list[Cluster]) -> Any:
    from strapwork.drawing.outlines import brief, inked

    drawn = [inked(c) for c in clusters]
    glyphs = pdfdoc.PDFDictionary()
    for k, (cluster, ink) in enumerate(zip(clusters, drawn, strict=True), start=1):
        box = " ".join(brief(v) for v in ink.box)
        content = f"{brief(1000.0 * cluster.advance)} 0 {box} d1\n{ink.operators}\nf" if ink.path else ""
        content = content or f"{brief(1000.0 * cluster.advance)} 0 d0"
        glyphs[f"g{k}"] = doc.Reference(_stream(content), f"script-glyph-{name}-{k}")
    boxes = [i.box for i in drawn]
    whole = [min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)]
    differences = pdfdoc.PDFArray([1, *(pdfdoc.PDFName(f"g{k}") for k in range(1, len(clusters) + 1))])
    return pdfdoc.PDFDictionary(
        {
            "Type": pdfdoc.PDFName("Font"),
            "Subtype": pdfdoc.PDFName("Type3"),
            "Name": pdfdoc.PDFName(name),
            "FontBBox": pdfdoc.PDFArray([round(v, 1) for v in whole]),
            "FontMatrix": pdfdoc.PDFArray([0.001, 0, 0, 0.001, 0, 0]),
            "FirstChar": 1,
            "LastChar": len(clusters),
            "Widths": pdfdoc.PDFArray([round(1000.0 * c.advance, 1) for c in clusters]),
            "Resources": pdfdoc.PDFDictionary(),
            "CharProcs": glyphs,
            "Encoding": pdfdoc.PDFDictionary({"Type": pdfdoc.PDFName("Encoding"), "Differences": differences}),
            "ToUnicode": doc.Reference(_stream(_to_unicode(clusters)), f"script-text-{name}"),
        }
    )


def _to_unicode(clusters: list[Cluster]) -> str:
    rows = [f"<{k:02X}> <{c.text.encode('utf-16-be').hex().upper()}>" for k, c in enumerate(clusters, start=1)]
    parts = [rows[k : k + 100] for k in range(0, len(rows), 100)]  # at most 100 entries a section
    maps = "\n".join(f"{len(p)} beginbfchar\n" + "\n".join(p) + "\nendbfchar" for p in parts)
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n"
        "/CMapName /Strapwork-UCS def\n/CMapType 2 def\n"
        f"1 begincodespacerange\n<00> <FF>\nendcodespacerange\n{maps}\n"
        "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
    )


def _stream(content: str) -> Any:
    made = pdfdoc.PDFStream(content=content)
    made.filters = [pdfdoc.PDFBase85Encode, pdfdoc.PDFZCompress] if rl_config.useA85 else [pdfdoc.PDFZCompress]
    return made
