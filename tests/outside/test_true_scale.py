"""True scale, by renderers and parsers that are not ours."""

from __future__ import annotations

import io
import json
import math
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cairosvg
import numpy as np
import pypdfium2
import pytest
import resvg_py
import svgelements
from PIL import Image
from pypdf import PdfReader

from strapwork.drawing import pdf, svg
from strapwork.drawing.primitives import Layer, Placed, Sheet, Text
from strapwork.geometry.shape import Arc
from strapwork.job import numbers
from strapwork.paper.tiles import Setting, lay_out
from strapwork.piece.piece import Piece
from strapwork.stock.papers import PAPERS
from strapwork.stock.printers import Printer
from tests.outside.pdf_reading import read

Draft = Callable[..., Piece]
DPI = 600
PX = DPI / 25.4


def dark(image: Image.Image) -> np.ndarray[Any, Any]:
    return np.asarray(image.convert("L")) < 128


def centre_span(mask: np.ndarray[Any, Any], axis: int) -> float:
    """Distance in mm between the middles of the first and the last dark line along an axis, in a band across it."""
    hit = np.flatnonzero(mask.any(axis=axis))
    runs = np.split(hit, np.flatnonzero(np.diff(hit) > 1) + 1)
    return float(runs[-1].mean() - runs[0].mean()) / PX


@pytest.fixture(scope="module")
def strap_200(draft: Draft) -> Any:
    """A known strap: plain, 200 mm by 30 mm, square ends."""
    p = draft("plain-strap", "200 mm", width=30.0, sets=0)
    assert p.strap.length == 200.0
    return p, lay_out([p], Setting(PAPERS["A4"], "Known strap"))


def check(image: Image.Image, piece: Piece, sheet: Any) -> None:
    mask = dark(image)
    height = sheet.height
    note = sheet.notes["straps"][0]

    def band(x0: float, y0: float, x1: float, y1: float) -> np.ndarray[Any, Any]:
        return mask[round((height - y1) * PX) : round((height - y0) * PX), round(x0 * PX) : round(x1 * PX)]

    # The 50 mm square stands at the margins; 12 mm up no words cross it.
    assert centre_span(band(5, 12, 62, 14), 0) == pytest.approx(50.0, abs=0.1)
    assert centre_span(band(12, 5, 14, 62), 1) == pytest.approx(50.0, abs=0.1)
    x, y = note["x_mm"], note["y_mm"]
    assert centre_span(band(x - 2, y + 8, x + 202, y + 10), 0) == pytest.approx(200.0, abs=0.1)
    assert centre_span(band(x + 100, y - 2, x + 102, y + 32), 1) == pytest.approx(30.0, abs=0.1)


def test_pdf_by_pdfium(strap_200: Any) -> None:
    p, sheets = strap_200
    page = pypdfium2.PdfDocument(pdf.write(sheets, "t"))[0]
    check(page.render(scale=DPI / 72, grayscale=True).to_pil(), p, sheets[0])


def test_pdf_by_poppler(strap_200: Any, tmp_path: Path) -> None:
    if shutil.which("pdftoppm") is None:
        pytest.skip("poppler is not on this machine")
    p, sheets = strap_200
    (tmp_path / "s.pdf").write_bytes(pdf.write(sheets, "t"))
    subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", "s.pdf", "s"], cwd=tmp_path, check=True)
    check(Image.open(next(tmp_path.glob("s*.pgm"))), p, sheets[0])


def test_svg_by_resvg_and_cairo(strap_200: Any) -> None:
    p, sheets = strap_200
    text = svg.write(sheets, "t")[0]
    size = (round(sheets[0].width * PX), round(sheets[0].height * PX))
    by_resvg = bytes(resvg_py.svg_to_bytes(svg_string=text, width=size[0], height=size[1], background="white", dpi=96))
    check(Image.open(io.BytesIO(by_resvg)), p, sheets[0])
    tree = cairosvg.parser.Tree(bytestring=text.encode())
    asked = {"output_width": size[0], "output_height": size[1], "background_color": "white"}
    by_cairo = cairosvg.surface.PNGSurface(tree, None, 96, **asked).cairo
    check(Image.frombuffer("RGBA", size, by_cairo.get_data(), "raw", "BGRA", by_cairo.get_stride()), p, sheets[0])


@pytest.mark.browser
def test_svg_by_chromium(strap_200: Any, browser: Any, tmp_path: Path) -> None:
    """CSS Values and Units: 96 px = 1 in; a screenshot at 6.25 device pixels a px is 600 dpi."""
    p, sheets = strap_200
    file = tmp_path / "sheet.svg"
    file.write_text(svg.write(sheets, "t")[0], encoding="utf-8")
    w, h = (math.ceil(v * 96 / 25.4) for v in (sheets[0].width, sheets[0].height))
    page = browser.new_page(viewport={"width": w, "height": h}, device_scale_factor=DPI / 96)
    page.goto(file.as_uri())
    shot = page.screenshot()
    page.close()
    check(Image.open(io.BytesIO(shot)), p, sheets[0])


@pytest.mark.parametrize(
    ("pattern", "measure"),
    [("wristband", "172 mm"), ("belt", "34 in"), ("carrier-handle", "18 in"), ("hat-band", "57 cm")],
)
def test_pdf_streams_hold_the_numbers(draft: Draft, pattern: str, measure: str) -> None:
    """Outline, every hole and every slit, read out of the content streams by pypdf, within 0.01 mm."""
    p = draft(pattern, measure, relief=1.5) if pattern == "wristband" else draft(pattern, measure)
    want = numbers.of_piece(p)
    sheets = lay_out([p], Setting(PAPERS["A4"], "t"))
    data = pdf.write(sheets, "t")
    slits, holes, outlines = set(), set(), []
    for k, sheet in enumerate(sheets):
        note = sheet.notes["straps"][0]  # type: ignore[index]
        for d in read(data, k):
            x0, y0, x1, y1 = (v - (note["x_mm"], note["y_mm"])[i % 2] for i, v in enumerate(d.box()))
            if d.layer == "slits":
                slits.add(tuple(round(v, 2) for v in (x0, y0, x1, y1)))
                assert min(abs(x0 - s["x0"]) + abs(x1 - s["x1"]) + abs(y0 - s["y0"]) for s in want["slits"]) < 0.01
            elif d.layer == "holes":
                cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
                best = min(want["holes"], key=lambda h: abs(h["x"] - cx) + abs(h["y"] - cy))
                assert (cx, cy, x1 - x0, y1 - y0) == pytest.approx(
                    (best["x"], best["y"], best["length"], best["diameter"]), abs=0.01
                )
                holes.add((best["x"], best["y"]))
            elif d.layer == "outline":
                outlines.append((x0, y0, x1, y1))
    assert len(slits) == len(want["slits"])
    assert len(holes) == len(want["holes"])
    assert outlines
    for box in outlines:
        assert box == pytest.approx((0, 0, want["strap"]["length_mm"], want["strap"]["width_mm"]), abs=0.01)


def test_a_correction_leaves_the_middle_of_the_page_where_it_is(draft: Draft) -> None:
    """A printer that prints 98.5 % across its feed, 99 % along it and 0.004 askew: every point is moved about the middle of
    the page by the inverse of what the printer does, worked out here by numpy.  The sheet lies and is fed by its short side."""
    p = draft("wristband", "172 mm")
    sheets = lay_out([p], Setting(PAPERS["A4"], "t"))
    x, y, skew = 0.985, 0.99, 0.004
    printed = np.array([[x, y * skew], [0.0, y * math.sqrt(1 - skew**2)]])
    quarter = np.array([[0.0, -1.0], [1.0, 0.0]])
    undone = (
        np.linalg.inv(printed) if sheets[0].width < sheets[0].height else quarter.T @ np.linalg.inv(printed) @ quarter
    )
    middle = np.array([sheets[0].width / 2, sheets[0].height / 2])

    plain = read(pdf.write(sheets, "t"), 0)
    moved = read(pdf.write(sheets, "t", printer=Printer("attic", x, y, skew)), 0)

    assert len(plain) == len(moved) > 20
    for a, b in zip(plain, moved, strict=True):
        for one, other in zip(a.subpaths, b.subpaths, strict=True):
            want = (np.array(one) - middle) @ undone.T + middle
            assert np.abs(want - np.array(other)).max() < 0.01


@pytest.mark.parametrize(("pattern", "measure"), [("wristband", "172 mm"), ("belt", "34 in"), ("key-fob", "90 mm")])
def test_svg_holds_the_numbers(draft: Draft, pattern: str, measure: str) -> None:
    """The same, read by svgelements out of the SVG, with arcs still arcs."""
    p = draft(pattern, measure)
    want = numbers.of_piece(p)
    slits, holes = set(), set()
    for sheet, text in zip(sheets := lay_out([p], Setting(PAPERS["A4"], "t")), svg.write(sheets, "t"), strict=True):
        note = sheet.notes["straps"][0]  # type: ignore[index]
        doc = svgelements.SVG.parse(io.StringIO(text), ppi=25.4)
        assert (doc.width, doc.height) == pytest.approx((sheet.width, sheet.height), abs=1e-3)
        for e in doc.elements():
            owner = _group(e, doc)
            if owner not in ("slits", "holes", "outline") or not isinstance(e, (svgelements.Path, svgelements.Circle)):
                continue
            bx0, by0, bx1, by1 = e.bbox()
            x0, x1 = bx0 - note["x_mm"], bx1 - note["x_mm"]
            y0, y1 = sheet.height - by1 - note["y_mm"], sheet.height - by0 - note["y_mm"]
            if owner == "slits":
                best = min(want["slits"], key=lambda s: abs(s["y0"] - y0))
                assert (x0, y0, x1, y1) == pytest.approx((best["x0"], best["y0"], best["x1"], best["y1"]), abs=0.01)
                slits.add(best["y0"])
            elif owner == "holes":
                cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
                best = min(want["holes"], key=lambda h: abs(h["x"] - cx) + abs(h["y"] - cy))
                assert (cx, cy, x1 - x0, y1 - y0) == pytest.approx(
                    (best["x"], best["y"], best["length"], best["diameter"]), abs=0.01
                )
                holes.add((best["x"], best["y"]))
            else:
                assert (x0, y0, x1, y1) == pytest.approx(
                    (0, 0, want["strap"]["length_mm"], want["strap"]["width_mm"]), abs=0.01
                )
                assert svgelements.Path(e).length(error=1e-6) == pytest.approx(p.strap.outline.length, abs=0.01)
    assert len(slits) == len(want["slits"])
    assert len(holes) == len(want["holes"])


def _group(element: Any, doc: Any) -> str:
    """The id of the layer group that holds an element."""
    for group in doc:
        if isinstance(group, svgelements.Group) and element in list(group.select()):
            return str(group.id)
    return ""


def test_a_belt_taped_together_is_the_belt(draft: Draft) -> None:
    """Sheets rasterised by pdfium, cut at the printed join lines and put side by side: 1.2 m within 0.05 mm."""
    p = draft("belt", "920 mm")
    assert 1180 < p.strap.length < 1220
    sheets = lay_out([p], Setting(PAPERS["A4"], "belt"))
    doc = pypdfium2.PdfDocument(pdf.write(sheets, "t"))
    strips, at = [], 0.0
    data = pdf.write(sheets, "t")
    for k, sheet in enumerate(sheets):
        # Join lines as they stand on the page, found in the content stream: upright dashed lines of layer "sheet".
        joins = sorted(
            {
                round(s[0][0], 4)
                for d in read(data, k)
                if d.layer == "sheet"
                for s in d.subpaths
                if len(s) == 2 and abs(s[0][0] - s[1][0]) < 1e-6 and abs(s[0][1] - s[1][1]) > 100
            }
        )
        left = joins[0] if k else 0.0
        right = joins[-1] if k + 1 < len(sheets) else sheet.width
        y = sheet.notes["straps"][0]["y_mm"]  # type: ignore[index]
        image = dark(doc[k].render(scale=DPI / 72, grayscale=True).to_pil())
        # One row of pixels 3 mm above the lower edge: inside a strand, it meets only the two ends of the strap.
        row = math.floor((sheet.height - y - 3.0) * PX)
        up = sheet.height - y - (row + 0.5) / PX
        columns = (np.flatnonzero(image[row]) + 0.5) / PX
        strips.append([(at - left + c, up) for c in columns if left < c < right and not _near(c, joins)])
        at += right - left
    marks = np.array([m for strip in strips for m in strip])
    runs = np.split(marks, np.flatnonzero(np.diff(marks[:, 0]) > 0.3) + 1)
    start, end = runs[0].mean(axis=0), runs[-1].mean(axis=0)
    arc = next(s for s in p.strap.outline if isinstance(s, Arc))
    tip = arc.cx + math.sqrt(arc.r**2 - (arc.cy - end[1]) ** 2)
    assert end[0] - start[0] == pytest.approx(tip, abs=0.05)


@pytest.mark.parametrize(("renderer", "units"), [("pdfium", "mm"), ("pdfium", "in"), ("poppler", "mm")])
def test_both_halves_and_the_stated_distance_make_the_strap(
    draft: Draft, units: str, renderer: str, tmp_path: Path
) -> None:
    """A broken view (ISO 128-3) as printed: start to mark, the distance written down, mark to finish, within 0.05 mm."""
    p = draft("belt", "935 mm", broken=True)
    sheets = lay_out([p], Setting(PAPERS["A4"], "belt", units))
    data = pdf.write(sheets, "t")
    want = numbers.of_piece(p)["strap"]["length_mm"]
    left_out = sheets[0].notes["broken"][0]  # type: ignore[index]
    sides: dict[str, list[float]] = {}
    stated: set[float] = set()
    for k, sheet in enumerate(sheets):
        image = 255.0 - np.asarray(_rendered(data, k, renderer, tmp_path).convert("L"))
        for note in sheet.notes["straps"]:  # type: ignore[attr-defined]
            # 1.2 mm above the upper edge of the strap: only what is printed across it, marks and break line, is met.
            y = sheet.height - (note["y_mm"] + p.strap.width + 1.2)
            across = _middles(image[math.floor(y * PX)])
            # 3 mm above the lower edge, inside a strand: the outline's end.
            row = math.floor((sheet.height - note["y_mm"] - 3.0) * PX)
            ends = _middles(image[row])
            first = note["x_mm"] > 0
            near = [note["x_mm"] + x for x in left_out["marks_mm"][0 if first else 2 :][:2]]
            marks = [min(across, key=lambda x, at=at: abs(x - at)) for at in near]
            sides["first" if first else "second"] = [ends[0] if first else ends[-1], *marks]
            if not first:
                up = sheet.height - note["y_mm"] - (row + 0.5) / PX
        for text in _words(data, k):
            found = re.search(r"A to A and B to B are both (.+?)\.$", text)
            if found:
                stated.add(_in_mm(found.group(1)))
    assert len(stated) == 1
    distance = stated.pop()
    (start, a1, b1), (finish, a2, b2) = sides["first"], sides["second"]
    arc = next(s for s in p.strap.outline if isinstance(s, Arc))
    tip = arc.cx + math.sqrt(arc.r**2 - (arc.cy - up) ** 2)
    for mine, other in ((a1, a2), (b1, b2)):
        assert (mine - start) + distance + (finish - other) == pytest.approx(tip, abs=0.05)
    assert left_out["left_out_from_mm"] < left_out["left_out_to_mm"] < want


@pytest.mark.parametrize(("quarters", "angle"), [(0, 0.0), (1, 0.0), (0, 30.0), (2, 10.0)])
@pytest.mark.parametrize(("anchor", "share"), [("start", 0.0), ("middle", 0.5), ("end", 1.0)])
def test_words_stand_at_their_anchor_whichever_way_they_run(
    anchor: str, share: float, quarters: int, angle: float
) -> None:
    """Letters as pdfium finds them: the anchor at (100, 120) mm lies at the run's start, middle or end, along its direction."""
    word = Text(100.0, 120.0, "HHHHHHHHHH", 5.0, Layer.LABELS, "text", anchor, quarters, angle)
    data = pdf.write([Sheet(210.0, 297.0, "A", (Placed((word,)),))], "t")
    page = pypdfium2.PdfDocument(data)[0].get_textpage()
    boxes = [page.get_charbox(k) for k in range(page.count_chars()) if page.get_text_range(k, 1) == "H"]
    assert len(boxes) == 10
    degrees = 90.0 * quarters + angle
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    middles = [((a + c) / 2 / 72 * 25.4 - 100.0, (b + d) / 2 / 72 * 25.4 - 120.0) for a, b, c, d in boxes]
    way = [x * cos + y * sin for x, y in middles]
    step = (way[-1] - way[0]) / 9
    assert step > 2.0
    # The letters are alike, so the run reaches half a step beyond the middles of its first and last.
    first, last = way[0] - step / 2, way[-1] + step / 2
    assert first + share * (last - first) == pytest.approx(0.0, abs=0.1)
    # All of them as high over the line: half a capital.
    assert [y * cos - x * sin for x, y in middles] == pytest.approx([0.36 * 5.0] * 10, abs=0.3)


@pytest.mark.parametrize("renderer", ["pdfium", "poppler"])
def test_outline_holes_and_slits_lie_on_the_rendered_page_where_the_numbers_say(
    draft: Draft, renderer: str, tmp_path: Path
) -> None:
    """A wristband 30 mm wide at 600 dpi: columns and rows of pixels laid across every feature, within 0.1 mm."""
    p = draft("wristband", "172 mm", "1.8 mm", width=30.0)
    want = numbers.of_piece(p)
    sheets = lay_out([p], Setting(PAPERS["A4"], "t"))
    image = 255.0 - np.asarray(_rendered(pdf.write(sheets, "t"), 0, renderer, tmp_path).convert("L"))
    note = sheets[0].notes["straps"][0]  # type: ignore[index]

    def up(x: float) -> list[float]:
        """Heights above the strap's lower edge of what a column at ``x`` of the strap meets."""
        column = image[:, math.floor((note["x_mm"] + x) * PX)]
        return [sheets[0].height - y - note["y_mm"] for y in _middles(column)]

    def along(y: float) -> list[float]:
        row = image[math.floor((sheets[0].height - note["y_mm"] - y) * PX)]
        return [x - note["x_mm"] for x in _middles(row)]

    def met(found: list[float], at: float) -> bool:
        return min(abs(f - at) for f in found) < 0.1

    middle = want["strap"]["length_mm"] / 2 + 20
    for y in (0.0, *(s["y0"] for s in want["slits"]), 30.0):
        assert met(up(middle), y)
    # Beside the cross for the awl: a chord of the hole 1.2 mm off its middle.
    for h in want["holes"]:
        chord = math.sqrt((h["diameter"] / 2) ** 2 - 1.2**2)
        for y in (0.0, h["y"] - chord, h["y"] + chord, 30.0):
            assert met(up(h["x"] + 1.2), y)
    # 1 mm off a slit a row meets the marks at its two stops, and round ends of 15 mm radius.
    stops = along(want["slits"][0]["y0"] - 1.0)
    reach = 15 - math.sqrt(15**2 - (15 - 9) ** 2)
    for x in (reach, want["slits"][0]["x0"], want["slits"][0]["x1"], want["strap"]["length_mm"] - reach):
        assert met(stops, x)


def _rendered(data: bytes, page: int, renderer: str, folder: Path) -> Image.Image:
    if renderer == "pdfium":
        return pypdfium2.PdfDocument(data)[page].render(scale=DPI / 72, grayscale=True).to_pil()
    if shutil.which("pdftoppm") is None:
        pytest.skip("poppler is not on this machine")
    (folder / "b.pdf").write_bytes(data)
    name = f"b{page}"
    args = ["pdftoppm", "-r", str(DPI), "-f", str(page + 1), "-l", str(page + 1), "-singlefile", "-gray", "b.pdf", name]
    subprocess.run(args, cwd=folder, check=True)
    return Image.open(folder / f"{name}.pgm")


def _middles(row: np.ndarray[Any, Any]) -> list[float]:
    """Middles in mm of the dark runs of a row of pixels, each pixel weighed by how dark it is."""
    hit = np.flatnonzero(row)
    runs = np.split(hit, np.flatnonzero(np.diff(hit) > 1) + 1)
    return [(float(np.average(r, weights=row[r])) + 0.5) / PX for r in runs if row[r].max(initial=0.0) > 127.0]


def _words(data: bytes, page: int) -> list[str]:
    return PdfReader(io.BytesIO(data)).pages[page].extract_text().splitlines()


def _in_mm(words: str) -> float:
    """``645 mm (about 25 13/32 in)`` or ``26 in (660.4 mm)``: the millimetres, as a maker reads them."""
    found = re.search(r"([\d.]+) mm", words)
    assert found, words
    return float(found.group(1))


def _near(x: float, joins: list[float]) -> bool:
    return any(abs(x - j) < 0.4 for j in joins)


def test_sample_numbers_are_the_ones_on_the_sample_sheets() -> None:
    data = json.loads(
        (Path(__file__).resolve().parents[2] / "samples" / "market-kit" / "numbers.json").read_text(encoding="utf-8")
    )
    assert re.fullmatch(r"\d+\.\d+\.\d+", data["strapwork"])
    assert {p["pattern"] for p in data["pieces"]} >= {"wristband", "belt", "bag-handle", "carrier-handle"}
