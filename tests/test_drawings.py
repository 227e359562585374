"""What the files of sheets ask of a reader, and how they write shapes, words and a printer's correction."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable

import numpy as np
import pypdfium2
import pytest
import resvg_py
import svgelements
from PIL import Image
from pypdf import PdfReader

from strapwork.drawing import pdf, svg
from strapwork.drawing.primitives import Layer, Path, Placed, Sheet, Text, box_path, polyline
from strapwork.geometry.shape import Arc
from strapwork.paper.tiles import Setting, lay_out
from strapwork.piece.piece import Piece
from strapwork.stock.papers import PAPERS
from strapwork.stock.printers import Printer

Draft = Callable[..., Piece]


@pytest.fixture(scope="module")
def band(draft: Draft) -> list[Sheet]:
    return lay_out([draft("wristband", "172 mm")], Setting(PAPERS["A4"], "Quay band"))


def drawn(*shapes: Path | Text, size: tuple[float, float] = (210.0, 297.0), printer: Printer | None = None) -> str:
    (text,) = svg.write([Sheet(*size, "A", (Placed(shapes),))], "Quay band", printer)
    return text


def test_a_pdf_asks_of_its_reader_what_layers_ask_and_no_more(band: list[Sheet]) -> None:
    """Optional content came with PDF 1.5 (ISO 32000-1, 8.11).  Streams are bytes: in letters (ASCII85) four take five, in the
    fonts of other scripts too."""
    name = Sheet(210.0, 40.0, "B", (Placed((Text(10.0, 20.0, "ميناء मेघा", 8.0, Layer.LABELS),)),))
    data = pdf.write([*band, name], "Quay band")
    assert data.startswith(b"%PDF-1.5\n")
    assert b"FlateDecode" in data
    assert b"ASCII85Decode" not in data


def test_a_viewer_names_the_pages_of_a_pdf_as_their_sheets_are_named() -> None:
    sheets = [Sheet(210.0, 297.0, name, ()) for name in ("A1", "A2", "card 1.1")]
    assert PdfReader(io.BytesIO(pdf.write(sheets, "Quay band"))).page_labels == ["A1", "A2", "card 1.1"]


def test_strands_have_the_tones_that_tell_them_apart_on_either_file() -> None:
    """Squares of 20 mm, black ones among them, looked at in their middles after pdfium and resvg."""
    roles = ["match-fill", "tone-1", "tone-2", "match-fill", "paper", "tone-2"]
    want = [0, 0.84, 0.66, 0, 1, 0.66]
    boxes = [box_path((30.0, 20.0 + 40 * k, 50.0, 40.0 + 40 * k), Layer.LABELS, role) for k, role in enumerate(roles)]
    # A line between them sets another pen, and leaves the fill alone.
    shapes = [shape for box in boxes for shape in (box, polyline([(10.0, 5.0), (200.0, 5.0)], Layer.SHEET, "ruler"))]
    sheet = Sheet(210.0, 297.0, "A", (Placed(tuple(shapes)),))
    by_pdfium = pypdfium2.PdfDocument(pdf.write([sheet], "t"))[0].render(scale=1, grayscale=True).to_pil()
    text = svg.write([sheet], "t")[0]
    by_resvg = Image.open(
        io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=text, width=420, height=594, background="white", dpi=96)))
    )
    for image in (by_pdfium, by_resvg.convert("L")):
        dots = image.width / 210.0
        grey = [image.getpixel((round(40.0 * dots), round((297.0 - 30.0 - 40 * k) * dots))) for k in range(len(roles))]
        assert grey == pytest.approx([255 * w for w in want], abs=1.5)


@pytest.mark.parametrize(("sweep", "flag", "side"), [(180.0, "0", 50.0), (-180.0, "1", 150.0)])
def test_no_arc_of_an_svg_is_wider_than_an_eighth_of_a_turn(sweep: float, flag: str, side: float) -> None:
    """Quarter turns come out of Chromium as curves that are 0.011 mm too long round a strap's end.  From the top of a circle
    to its bottom by the left (sweep-flag 0, SVG 2, 9.3.8) or by the right (1)."""
    half = Path((Arc(100.0, 100.0, 50.0, 90.0, sweep),), False, Layer.OUTLINE, "cut")
    (data,) = re.findall(r' d="(M[^"]+)"', drawn(half))
    assert re.findall(r"A(\S+ \S+ \S+ \S+ \S+) ", data) == [f"50 50 0 0 {flag}"] * 4
    arcs = [e for e in svgelements.Path(data) if isinstance(e, svgelements.Arc)]
    assert [math.degrees(abs(a.sweep)) for a in arcs] == pytest.approx([45.0] * 4, abs=1e-3)
    assert sum(a.length(error=1e-9) for a in arcs) == pytest.approx(50.0 * math.pi, abs=1e-4)
    assert (arcs[0].start.x, arcs[0].start.y, arcs[-1].end.y) == pytest.approx((100.0, 147.0, 247.0))
    assert arcs[1].end.x == pytest.approx(side)


@pytest.mark.parametrize("size", [(210.0, 297.0), (297.0, 210.0)])
def test_an_svg_is_corrected_about_the_middle_of_its_sheet_as_the_pdf_is(size: tuple[float, float]) -> None:
    """A printer that prints 98.5 % across its feed, 99 % along it and 0.004 askew: its inverse by numpy, with y up as on
    paper.  A sheet that lies is turned a quarter to be fed."""
    x, y, skew = 0.985, 0.99, 0.004
    undone = np.linalg.inv(np.array([[x, y * skew], [0.0, y * math.sqrt(1 - skew**2)]]))
    quarter = np.array([[0.0, -1.0], [1.0, 0.0]])
    if size[0] > size[1]:
        undone = quarter.T @ undone @ quarter
    corners = [(20.0, 40.0), (190.0, 40.0), (190.0, 200.0)]
    line, middle = polyline(corners, Layer.OUTLINE, "cut"), np.array(size) / 2
    doc = svgelements.SVG.parse(io.StringIO(drawn(line, size=size, printer=Printer("attic", x, y, skew))), ppi=25.4)
    path = next(e for e in doc.elements() if isinstance(e, svgelements.Path))
    found = [(p.x, size[1] - p.y) for p in svgelements.Path(path).as_points()]
    for at in corners:
        want = undone @ (np.array(at) - middle) + middle
        assert min(math.dist(want, f) for f in found) < 0.001
    assert "transform" not in drawn(line, size=size)


@pytest.mark.parametrize("words", ["Quay", "ميناء"])
def test_faint_words_are_grey_in_whatever_script(words: str) -> None:
    """0.35 of white is 89 of 255, 59 in sixteens."""
    for role, colour in (("text-faint", "#595959"), ("text", "#000000")):
        assert f'fill="{colour}"' in drawn(Text(20.0, 20.0, words, 5.0, Layer.LABELS, role))
