"""Sheets of paper: what stands on them and how they share it."""

from __future__ import annotations

import io
import itertools
from collections.abc import Callable
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from shapely import Polygon, STRtree, affinity, box

from strapwork.drawing import fonts, pdf, style, svg
from strapwork.drawing.pen import Recorder, replay
from strapwork.drawing.primitives import Disc, Layer, Path, Sheet, Text, on_sheet, primitive_box
from strapwork.errors import InputError
from strapwork.paper.tiles import Setting, lay_out, letters
from strapwork.piece.piece import Piece
from strapwork.stock.papers import PAPERS, parse_paper

Draft = Callable[..., Piece]


def texts(sheet: Sheet) -> list[Text]:
    return [p for placed in sheet.placed for p in on_sheet(placed) if isinstance(p, Text)]


def text_box(t: Text) -> Polygon:
    """What a text covers, turned as it stands, without a tenth of a millimetre all round."""
    wide = fonts.text_width(t.text, t.size, style.look(t.role).strong)
    back = {"start": 0.0, "middle": wide / 2, "end": wide}[t.anchor]
    left, right = t.x - back + 0.1, t.x - back + wide - 0.1
    upright = box(left, t.y - 0.2 * t.size + 0.1, right, t.y + 0.75 * t.size - 0.1)
    return affinity.rotate(upright, t.degrees, origin=(t.x, t.y))


def nothing_overlaps(sheet: Sheet) -> None:
    boxes = [(t.text, text_box(t)) for t in texts(sheet)]
    tree = STRtree([b for _, b in boxes])
    for i, (one, a) in enumerate(boxes):
        for j in tree.query(a, predicate="intersects"):
            assert i == j, f"{sheet.name}: {one!r} runs into {boxes[j][0]!r}"
        assert box(0.0, 0.0, sheet.width, sheet.height).contains(a), f"{one!r} is off the paper"


@pytest.mark.parametrize("paper", ["A5", "A4", "A3", "A0", "letter", "legal", "tabloid", "330 x 480 mm"])
def test_every_sheet_is_labelled_and_nothing_overlaps(draft: Draft, paper: str) -> None:
    pieces = [
        draft("wristband", "172 mm"),
        draft("belt", "850 mm"),
        draft("key-fob", "90 mm"),
        draft("keeper-loop", "88 mm"),
        draft("bag-handle", "400 mm"),
    ]
    sheets = lay_out(pieces, Setting(parse_paper(paper), "Tern & Tackle", paper_name=paper))
    seen = set()
    for sheet in sheets:
        words = [t.text for t in texts(sheet)]
        seen |= set(words)
        joined = " ".join(words)
        assert "50 mm × 50 mm" in joined
        assert "print at 100 %" in joined
        assert f"Sheet {sheet.name}" in words
        assert "leather" in joined
        nothing_overlaps(sheet)
    for p in pieces:
        assert p.label in seen


def test_long_straps_run_over_named_sheets_with_matching_marks(draft: Draft) -> None:
    sheets = lay_out([draft("belt", "900 mm")], Setting(PAPERS["A4"], "Harbour belt"))
    assert [s.name for s in sheets] == ["A1", "A2", "A3", "A4", "A5"]
    joins = []
    for s in sheets:
        dx = next(n["x_mm"] for n in s.notes["straps"])  # type: ignore[attr-defined]
        lines = [p for placed in s.placed for p in on_sheet(placed) if isinstance(p, Path) and p.role == "join"]
        rings = [p for placed in s.placed for p in on_sheet(placed) if isinstance(p, Disc) and p.role == "ring"]
        joins.append(([round(p.segments[0].start[0] - dx, 6) for p in lines], [round(r.cx - dx, 6) for r in rings]))
    for left, right in itertools.pairwise(joins):
        assert left[0][-1] == right[0][0]  # the same line of the strap on both sheets
        assert left[1][-1] == right[1][0]


def test_a_strap_higher_than_a_sheet_has_matching_marks_between_its_rows(draft: Draft) -> None:
    sheets = lay_out([draft("plain-strap", "300 mm", width="150 mm", sets=0)], Setting(PAPERS["A5"], "Harbour panel"))
    assert [s.name for s in sheets] == ["A1", "A2", "B1", "B2", "C1", "C2"]
    lines: dict[str, set[float]] = {}
    rings: dict[str, set[tuple[str, float]]] = {}
    for s in sheets:
        dy = next(n["y_mm"] for n in s.notes["straps"])  # type: ignore[attr-defined]
        drawn = [p for placed in s.placed for p in on_sheet(placed)]
        joins = [p.segments[0] for p in drawn if isinstance(p, Path) and p.role == "join"]
        lines[s.name] = {round(q.start[1] - dy, 6) for q in joins if abs(q.start[1] - q.end[1]) < 1e-9}
        rings[s.name] = {(t.text, round(t.y - dy, 6)) for t in texts(s) if t.text in ("A", "B")}
    for column in "12":
        first, middle, last = (lines[row + column] for row in "ABC")
        assert first | last == middle
        assert len(first) == len(last) == 1
        assert rings["A" + column] | rings["C" + column] == rings["B" + column]
        assert {name for name, _ in rings["B" + column]} == {"A", "B"}


def test_a_strap_over_several_sheets_bears_its_name_as_large_and_as_high_on_each(draft: Draft) -> None:
    belt = draft("belt", "900 mm")
    names = []
    for s in lay_out([belt], Setting(PAPERS["A4"], "t")):
        edge = next(n["y_mm"] for n in s.notes["straps"]) + belt.strap.width  # type: ignore[attr-defined]
        names.append([(t.size, round(t.y - edge, 6)) for t in texts(s) if t.text == belt.label and t.y > edge])
    assert len(names) == 5
    assert names == [names[0]] * 5
    assert len(names[0]) == 1


def test_short_straps_share_and_the_better_turn_is_taken(draft: Draft) -> None:
    assert len(lay_out([draft("key-fob", "80 mm")] * 4, Setting(PAPERS["A3"], "t"))) == 1
    fobs = lay_out([draft("key-fob", "60 mm")] * 6, Setting(PAPERS["A4"], "t"))
    assert len(fobs) == 1
    assert fobs[0].height > fobs[0].width


@given(st.integers(0, 20_000))
def test_sheet_letters_are_unique_and_in_order(k: int) -> None:
    a, b = letters(k), letters(k + 1)
    assert (len(a), a) < (len(b), b)


def test_paper_by_size() -> None:
    assert parse_paper("330 mm x 480 mm") == (330.0, 480.0)
    assert parse_paper("13 x 19 in") == pytest.approx((330.2, 482.6))
    for bad in ("", "A", "10 mm x 20 mm", "x", "9 m x 9 m", "A4 x A4"):
        with pytest.raises(InputError):
            parse_paper(bad)


def test_pdf_is_the_same_every_time_and_carries_names_and_layers(draft: Draft) -> None:
    sheets = lay_out([draft("wristband", "172 mm")], Setting(PAPERS["A4"], "Zoë Łódź Ærø Őry Θήρα"))
    one = pdf.write(sheets, "Zoë Łódź Ærø Őry Θήρα")
    assert one == pdf.write(sheets, "Zoë Łódź Ærø Őry Θήρα")
    reader = PdfReader(io.BytesIO(one))
    root = reader.trailer["/Root"]
    assert [g.get_object()["/Name"] for g in root["/OCProperties"]["/OCGs"]] == [x.key for x in Layer]
    assert root["/Lang"] == "en"
    assert reader.metadata is not None
    assert reader.metadata.title == "Zoë Łódź Ærø Őry Θήρα"
    assert reader.page_labels == ["A"]
    text = reader.pages[0].extract_text()
    assert "Zoë Łódź Ærø Őry Θήρα" in text
    fonts_used = [f.get_object() for f in reader.pages[0]["/Resources"]["/Font"].values()]
    assert any("/FontDescriptor" in f and "/FontFile2" in f["/FontDescriptor"] for f in fonts_used)


def test_odd_labels_neither_break_files_nor_leave_them(draft: Draft) -> None:
    for label in ("<script>alert(1)</script>", "a & b \"c\" 'd'", "🐕 lead", "\u202eright to left", "x" * 300):
        p = draft("wristband", "172 mm")
        odd = replace(p, label=label)
        sheets = lay_out([odd], Setting(PAPERS["A4"], label))
        assert pdf.write(sheets, label).startswith(b"%PDF")
        for text in svg.write(sheets, label):
            assert "<script>" not in text
            assert "\u202e" not in text


def test_recorder_hears_the_whole_protocol(draft: Draft) -> None:
    rec = Recorder()
    for sheet in lay_out([draft("belt", "700 mm")], Setting(PAPERS["A4"], "t")):
        replay(sheet, rec)
    kinds = {type(p).__name__ for page in rec.sheets for p in page}
    assert {"Path", "Disc", "Text", "tuple", "NoneType"} <= kinds
    for page in rec.sheets:
        for p in page:
            if isinstance(p, (Path, Disc)):
                assert primitive_box(p)[2] > -2000


def test_layers_open_as_layers(draft: Draft) -> None:
    """The attributes that Inkscape's manual documents for a layer: groupmode "layer" and a label, in its namespace."""
    text = svg.write(lay_out([draft("wristband", "172 mm")], Setting(PAPERS["A4"], "t")), "t")[0]
    name = "{http://www.inkscape.org/namespaces/inkscape}"
    groups = [g for g in ElementTree.fromstring(text) if g.tag == "{http://www.w3.org/2000/svg}g"]
    assert [g.get(f"{name}groupmode") for g in groups] == ["layer"] * len(groups)
    assert [g.get(f"{name}label") for g in groups] == [g.get("id") for g in groups]
    assert {"outline", "slits", "holes", "labels", "sheet"} <= {g.get("id") for g in groups}
