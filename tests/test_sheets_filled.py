"""Few sheets, and every one of them right: packing, joins, broken views, words inside the strap."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from shapely import LineString, Point, Polygon, box, unary_union

from strapwork.drawing import fonts, style
from strapwork.drawing.primitives import Disc, Layer, Path, Sheet, Text, on_sheet, primitive_box
from strapwork.geometry.shape import Arc, rotate_point
from strapwork.job import job as jobs
from strapwork.paper import broken, captions, inside, lettered, sheet_words
from strapwork.paper.tiles import Setting, count_sheets, lay_out, saving
from strapwork.piece.piece import Piece
from strapwork.stock.papers import PAPERS
from tests.bench.pages import BUDGETS, market_kit
from tests.helpers import job_of
from tests.test_sheets import nothing_overlaps, text_box, texts

Draft = Callable[..., Piece]
LONG = [
    ("belt", "700 mm"),
    ("belt", "863.6 mm"),
    ("belt", "1010 mm"),
    ("dog-lead", "1.2 m"),
    ("hat-band", "57 cm"),
    ("carrier-handle", "18 in"),
    ("bag-handle", "420 mm"),
]


def drawn(sheet: Sheet) -> list[Any]:
    return [p for placed in sheet.placed for p in on_sheet(placed)]


def strap_notes(sheet: Sheet) -> list[dict[str, Any]]:
    return sheet.notes["straps"]  # type: ignore[return-value]


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize(("name", "raw", "sheets"), [(b[0], b[1], b[3]) for b in BUDGETS], ids=lambda v: str(v)[:25])
def test_usual_jobs_keep_to_their_sheets(name: str, raw: dict[str, Any], sheets: int, paper: str) -> None:
    job = job_of({**raw, "paper": paper})
    pieces = jobs.work_out(job)
    made = lay_out(pieces, jobs.setting(job))
    assert len(made) == count_sheets(pieces, jobs.setting(job)) <= sheets, name
    for sheet in made:
        nothing_overlaps(sheet)
    assert {str(n["piece"]) for s in made for n in strap_notes(s)} == {p.label for p in pieces}


@pytest.mark.parametrize("paper", ["A4", "letter", "A5"])
@pytest.mark.parametrize(("pattern", "measure"), LONG)
def test_no_join_runs_through_a_hole_a_fold_a_slot_or_a_word(
    draft: Draft, pattern: str, measure: str, paper: str
) -> None:
    p = draft(pattern, measure)
    for sheet in lay_out([p], Setting(PAPERS[paper], "Harbour")):
        joins = [q.segments[0].start[0] for q in drawn(sheet) if isinstance(q, Path) and q.role == "join"]
        (note,) = strap_notes(sheet)
        for x in joins:
            at = x - note["x_mm"]
            for h in p.strap.holes:
                assert abs(at - h.x) > h.length / 2 + 2.0
            for m in p.strap.marks:
                assert not m.line.box()[0] - 2.0 < at < m.line.box()[2] + 2.0
            line = LineString([(x, note["y_mm"] - 25), (x, note["y_mm"] + p.strap.width + 1.0)])
            for t in texts(sheet):
                assert not line.crosses(text_box(t)), t.text


@pytest.mark.parametrize(("pattern", "measure"), LONG)
def test_a_word_is_whole_or_not_there(draft: Draft, pattern: str, measure: str) -> None:
    for sheet in lay_out([draft(pattern, measure)], Setting(PAPERS["A4"], "Harbour")):
        for placed in sheet.placed:
            if placed.window is None:
                continue
            for t in on_sheet(placed):
                if isinstance(t, Text):
                    x0, _, x1, _ = text_box(t).bounds
                    assert placed.window[0] <= x0
                    assert x1 <= placed.window[2]


def test_a_strap_a_little_too_long_lies_askew_and_stays_itself(draft: Draft) -> None:
    p = draft("plain-strap", "286 mm", ends=("round", "round"), width=19.0, sets=0)
    (sheet,) = lay_out([p], Setting(PAPERS["A4"], "t"))
    (note,) = strap_notes(sheet)
    assert note["angle_deg"] > 0
    (outline,) = [q for q in drawn(sheet) if isinstance(q, Path) and q.layer is Layer.OUTLINE]
    assert [type(s) for s in outline.segments] == [type(s) for s in p.strap.outline]
    for s, want in zip(outline.segments, p.strap.outline, strict=True):
        assert s.length == pytest.approx(want.length, abs=1e-9)
        x, y = rotate_point(want.start, note["angle_deg"])
        assert s.start == pytest.approx((x + note["x_mm"], y + note["y_mm"]), abs=1e-9)
    assert any(isinstance(s, Arc) for s in outline.segments)
    for s in outline.segments:
        x0, y0, x1, y1 = s.box()
        assert 8.0 <= x0 <= x1 <= sheet.width - 8.0
        assert 58.0 <= y0 <= y1 <= sheet.height - 8.0
    nothing_overlaps(sheet)


def test_on_a_long_low_sheet_a_strap_a_little_too_long_lies_askew_by_a_few_degrees(draft: Draft) -> None:
    """1384 mm of room, 131 mm high: 1385 mm turned by six degrees would be 144 mm high without its label."""
    (sheet,) = lay_out([draft("plain-strap", "1385 mm", width="19 mm", sets=0)], Setting((1400.0, 200.0), "t"))
    (note,) = strap_notes(sheet)
    assert 0.0 < note["angle_deg"] < 6.0


@pytest.mark.parametrize(
    ("least", "sizes"),
    [
        (3, ((380, 30), (460, 19), (700, 60), (340, 45), (560, 19), (820, 60), (420, 45))),
        (3, ((300, 45), (300, 19), (820, 45), (620, 45), (700, 12), (380, 45), (300, 60), (300, 60), (560, 60))),
        (2, ((300, 12), (300, 19), (700, 60), (620, 60), (460, 60))),
    ],
)
def test_straps_over_several_sheets_share_the_fewest_whatever_their_order(
    draft: Draft, least: int, sizes: tuple[tuple[int, int], ...]
) -> None:
    """820 mm of a strap take three sheets of A3 (420 mm), 700 mm two; the others find room beside it."""
    pieces = [draft("plain-strap", f"{long} mm", width=f"{wide} mm", sets=0) for long, wide in sizes]
    assert len(lay_out(pieces, Setting(PAPERS["A3"], "t"))) == least


def test_nine_keepers_share_a_sheet(draft: Draft) -> None:
    assert len(lay_out([draft("keeper-loop", "95 mm")] * 9, Setting(PAPERS["A4"], "t"))) == 1


def test_ten_laces_stand_above_each_other(draft: Draft) -> None:
    """4 mm wide, with 6.9 mm of words and 3.5 mm between: 140.9 of the 141.5 mm that A4 has above the foot."""
    lace = draft("plain-strap", "260 mm", width="4 mm", sets=0, strands=1)
    assert len(lay_out([lace] * 10, Setting(PAPERS["A4"], "t"))) == 1


def test_every_corner_of_a_sheet_is_filled(draft: Draft) -> None:
    """Twelve short straps of seven kinds on one sheet of tabloid: what is free under a wide one is not forgotten."""
    kinds = {
        "narrow": ("plain-strap", "140 mm", {"width": "20 mm", "sets": 0}),
        "long": ("plain-strap", "260 mm", {"width": "20 mm", "sets": 0}),
        "wide": ("plain-strap", "260 mm", {"width": "110 mm", "sets": 0}),
        "keeper": ("keeper-loop", "95 mm", {}),
        "fob": ("key-fob", "60 mm", {}),
        "small": ("wristband", "150 mm", {}),
        "large": ("wristband", "180 mm", {}),
    }
    made = {name: draft(pattern, measure, **more) for name, (pattern, measure, more) in kinds.items()}
    row = "narrow narrow keeper wide fob keeper long large keeper small narrow keeper"
    assert len(lay_out([made[name] for name in row.split()], Setting(PAPERS["tabloid"], "t"))) == 1


def test_a_keeper_lies_beside_its_belt() -> None:
    job = job_of({"pieces": [{"pattern": "belt", "measure": "34 in"}]})
    made = lay_out(jobs.work_out(job), jobs.setting(job))
    assert len(made) == 5
    assert sum(str(n["piece"]).endswith("keeper") for s in made for n in strap_notes(s)) == 1


@pytest.mark.parametrize("units", ["mm", "in"])
def test_each_half_of_a_broken_view_has_the_same_marks_and_says_how_far_they_are(draft: Draft, units: str) -> None:
    """ISO 128-3: an interrupted view's parts end at continuous narrow lines, here straight with a zigzag; narrow and
    wide are 1 : 2 (ISO 128-2)."""
    p = draft("belt", "900 mm", broken=True)
    (sheet,) = lay_out([p], Setting(PAPERS["A4"], "t", units))
    out = sheet.notes["broken"][0]  # type: ignore[index]
    a1, b1, a2, b2 = out["marks_mm"]
    assert a2 - a1 == pytest.approx(b2 - b1) == pytest.approx(out["distance_mm"])
    step = 5.0 if units == "mm" else 6.35
    assert out["distance_mm"] / step == pytest.approx(round(out["distance_mm"] / step))
    said = [t.text for t in texts(sheet) if "A to A and B to B" in t.text]
    assert len(said) == 2
    assert said[0] == said[1]
    marks = [q for q in drawn(sheet) if isinstance(q, Path) and q.role == "gauge"]
    breaks = [q for q in drawn(sheet) if isinstance(q, Path) and q.role == "break"]
    assert (len(marks), len(breaks)) == (4, 2)
    assert style.look("break").width == pytest.approx(style.look("cut").width / 2, abs=0.01)
    assert not style.look("break").dash
    # No word stands in the way of a mark or a break line.
    for q in (*marks, *breaks):
        way = LineString([q.segments[0].start, *(end.end for end in q.segments)])
        assert [t.text for t in texts(sheet) if way.intersects(text_box(t))] == []
    # Both edges of either half run up to its break line.
    outlines = [q for q in drawn(sheet) if isinstance(q, Path) and q.layer is Layer.OUTLINE]
    assert len(outlines) == 2
    for half, x in zip(outlines, sorted(q.segments[0].start[0] for q in breaks)[::-1], strict=True):
        assert sum(x in (end[0] for end in (q.start, q.end)) for q in half.segments) == 2
    # They reach over both edges, so that the rule finds them beside the strap.
    reach = sorted(
        tuple(v for end in (q.segments[0].start, q.segments[-1].end) for v in end[1:]) for q in (*marks, *breaks)
    )
    edges = sorted(note["y_mm"] for note in strap_notes(sheet))
    for (low, high), edge in zip(reach, [edges[0]] * 3 + [edges[1]] * 3, strict=True):
        assert low < edge
        assert high > edge + p.strap.width
    # Nothing but the two edges and the slits runs through what is left out.
    lo, hi = out["left_out_from_mm"] - 15, out["left_out_to_mm"] + 15
    assert not any(lo < h.x < hi for h in p.strap.holes)
    assert all(s.x0 < lo and s.x1 > hi for s in p.strap.slits)
    nothing_overlaps(sheet)


@pytest.mark.parametrize(
    ("distance", "units", "words"),
    [
        (690.0, "mm", "690 mm (about 27 5/32 in)"),  # 27.165 in
        (635.0, "mm", "635 mm (25 in)"),
        (685.8, "in", "27 in (685.8 mm)"),
    ],
)
def test_the_distance_of_the_marks_is_said_in_both_units_and_which_is_rounded(
    distance: float, units: str, words: str
) -> None:
    assert broken.words(broken.Break(0.0, 0.0, 0.0, distance), units) == words


def test_a_half_that_a_sheet_can_hold_is_on_one_sheet(draft: Draft) -> None:
    """The buckle end runs alike from 228.6 mm on: with 10 mm clear, both marks, the break and its zigzag that is 257.1 mm."""
    p = draft("belt", "900 mm", broken=True)
    sheets = lay_out([p], Setting((274.0, 170.0), "t"))
    assert [note["window_mm"] for s in sheets for note in strap_notes(s)] == [None, None]


def test_the_marks_of_a_broken_view_stand_clear_of_holes_where_halves_are_kept_short(draft: Draft) -> None:
    p = draft("belt", "900 mm", broken=True)
    out = lay_out([p], Setting(PAPERS["A5"], "t"))[0].notes["broken"][0]  # type: ignore[index]
    drawn_there = [
        *(h.shape().box() for h in p.strap.holes),
        *(m.line.box() for m in p.strap.marks),
        *(f.shape.box() for f in p.strap.footprints),
    ]
    for mark in out["marks_mm"]:
        assert (
            min(max(x0 - mark, mark - x1) for x0, _, x1, _ in drawn_there) >= 8.0 - 1e-9
        )  # the least that the guide states


def test_only_paper_is_broken() -> None:
    raw: dict[str, Any] = {
        "machine": "oscillating-knife",
        "bed": "1300 mm x 600 mm",
        "card": "none",
        "pieces": [{"pattern": "belt", "measure": "34 in"}],
    }
    whole, broken = jobs.make(job_of(raw)), jobs.make(job_of({**raw, "broken": True}))
    beds = [name for name in whole.files if "-bed-" in name]
    assert beds
    assert all(whole.files[name] == broken.files[name] for name in beds)
    assert "broken" in broken.numbers["sheets"][0]
    assert "broken" not in whole.numbers["sheets"][0]


def test_what_fits_a_sheet_is_never_broken(draft: Draft) -> None:
    p = draft("wristband", "172 mm", broken=True)
    (sheet,) = lay_out([p], Setting(PAPERS["A4"], "t"))
    assert "broken" not in sheet.notes
    assert saving([p], Setting(PAPERS["A4"], "t")) == ""


def test_what_broken_views_save_is_said(draft: Draft) -> None:
    p, setting = draft("belt", "34 in"), Setting(PAPERS["A4"], "t")
    assert saving([p], setting) == "Broken views would save 4 sheets: 1 instead of 5."
    assert saving([replace(p, broken=True)], setting) == "Broken views save 4 sheets: whole straps would take 5."


@pytest.mark.parametrize(
    ("pattern", "measure"), [*LONG, ("wristband", "172 mm"), ("key-fob", "90 mm"), ("keeper-loop", "90 mm")]
)
def test_words_inside_a_strap_stand_on_plain_leather(draft: Draft, pattern: str, measure: str) -> None:
    p = draft(pattern, measure)
    words = inside.place(p, [(0.0, p.strap.length)]).drawing
    said = " ".join(w.text for w in words if isinstance(w, Text))
    for needed in ("start", "finish", "grain side up"):
        assert needed in said
    assert "".join(p.label.split()) in "".join(said.split())
    outline = p.strap.outline.polygon()
    taken: list[Polygon] = [
        *(h.shape().polygon() for h in p.strap.holes),
        *(LineString([s.start, s.end]).buffer(0.2) for s in p.strap.slits),
        *(LineString([m.line.start, m.line.end]).buffer(0.2) for m in p.strap.marks),
    ]
    busy = unary_union(taken)
    for w in words:
        if isinstance(w, Text):
            assert outline.contains(text_box(w)), w.text
            assert not busy.intersects(text_box(w)), w.text


def test_a_snap_strap_says_which_half_goes_where(draft: Draft) -> None:
    said = " ".join(t.text for t in texts(lay_out([draft("wristband", "172 mm")], Setting(PAPERS["A4"], "t"))[0]))
    assert "stud half, stud on" in said
    assert "cap half," in said
    assert "least stretch" in said


@pytest.mark.parametrize("paper", ["A4", "letter", "A5"])
def test_a_job_in_inches_has_a_square_of_two_inches_as_well(draft: Draft, paper: str) -> None:
    for sheet in lay_out([draft("belt", "34 in")], Setting(PAPERS[paper], "t", "in")):
        sides = [
            {round(s.length, 6) for s in q.segments}
            for q in drawn(sheet)
            if isinstance(q, Path) and q.role == "calibration"
        ]
        assert sides == [{50.0}, {50.8}]
        nothing_overlaps(sheet)


def test_furniture_takes_one_strip_of_58_mm_at_most(draft: Draft) -> None:
    for units in ("mm", "in"):
        for sheet in lay_out([draft("wristband", "172 mm")] * 4, Setting(PAPERS["A4"], "t", units)):
            low = min(note["y_mm"] for note in strap_notes(sheet))
            assert min(note["x_mm"] for note in strap_notes(sheet)) >= 8.0  # nothing in the margin
            for q in drawn(sheet):
                if isinstance(q, Text) and q.layer is Layer.SHEET:
                    assert q.y < 8.0 + 58.0 <= low + 10.0
            assert not [q for q in drawn(sheet) if isinstance(q, Disc) and q.role == "ring"]


BESIDE: list[dict[str, Any]] = [
    {**market_kit(), "broken": True, "paper": "A4"},
    {**market_kit(), "broken": True, "paper": "letter"},
    {"pieces": [{"pattern": "belt", "measure": "34 in"}], "broken": True},
    {**market_kit(), "broken": True, "paper": "letter", "units": "in"},
    {"pieces": [{"pattern": "keeper-loop", "measure": "90 mm", "label": f"Keeper {k}"} for k in range(14)]},
]


@pytest.mark.parametrize("raw", BESIDE, ids=["kit, A4", "kit, letter", "belt", "kit in inches", "keepers"])
def test_what_stands_beside_the_square_touches_neither_it_nor_the_words_nor_another(raw: dict[str, Any]) -> None:
    job = job_of(raw)
    low = 0
    for sheet in lay_out(jobs.work_out(job), jobs.setting(job)):
        nothing_overlaps(sheet)
        furniture, straps, said = [], [], ""
        for p in drawn(sheet):
            if isinstance(p, Text):
                shape = text_box(p)
                own = p.layer is Layer.SHEET and len(p.text) > 1  # A and B of a broken view stand at the strap
                said += f"{p.text} " if own else ""
            else:
                shape = box(*primitive_box(p))
                own = getattr(p, "role", "") in ("calibration", "ruler")
            if own:
                furniture.append(shape)
            elif p.layer is Layer.OUTLINE:
                straps.append(shape)
                low += shape.bounds[1] < 8.0 + 50.0
            elif not isinstance(p, Text):
                continue
            over = 0.0 if own or not isinstance(p, Text) else captions.EDGE
            assert 7.9 - over <= shape.bounds[0] <= shape.bounds[2] <= sheet.width - 7.9 + over
            assert 7.9 <= shape.bounds[1] <= shape.bounds[3] <= sheet.height - 7.9
        for a in straps:
            assert not any(a.intersects(b) for b in furniture), sheet.name
            assert sum(a.distance(b) < 3.0 for b in straps) == 1, sheet.name
        # The words at their full size, whatever they make room for.
        heads = [p.size for p in drawn(sheet) if isinstance(p, Text) and p.text == f"Sheet {sheet.name}"]
        assert heads == [sheet_words.NAME]
        assert "print at 100 %" in said
        assert "Measure this square" in said
    assert low


def test_no_join_line_runs_through_the_letter_of_its_ring() -> None:
    pieces = [{"pattern": p, "measure": m} for p, m in LONG]
    for sheet in jobs.make(job_of({"pieces": pieces, "card": "none", "lists": "none"})).sheets:
        rings = [p for p in drawn(sheet) if isinstance(p, Disc) and p.role == "ring"]
        lines = [p for p in drawn(sheet) if isinstance(p, Path) and p.role == "join"]
        assert bool(rings) == bool(lines)
        for ring in rings:
            for each in lines:
                s = each.segments[0]
                assert LineString([s.start, s.end]).distance(Point(ring.cx, ring.cy)) > ring.r - 1e-6


@pytest.mark.parametrize("strands", [3, 9, 13])
def test_both_ends_of_a_strap_bear_its_name(draft: Draft, strands: int) -> None:
    piece = draft("wristband", "172 mm", "1.8 mm", strands=strands, width="38 mm", sets=1)
    words = inside.place(piece, [(0.0, piece.strap.length)]).drawing
    names = [p.x for p in words if isinstance(p, Text) and p.text == piece.label]
    assert min(names) < piece.strap.length / 2.0 < max(names)


@pytest.mark.parametrize("pattern", ["belt", "dog-lead", "carrier-handle"])
def test_the_dimensions_on_a_card_stay_on_its_page(draft: Draft, pattern: str) -> None:
    piece = draft(pattern, {"belt": "34 in", "dog-lead": "1.2 m", "carrier-handle": "18 in"}[pattern])
    for t in (p for p in lettered.block(piece, 188.0, "in").items if isinstance(p, Text)):
        half = fonts.text_width(t.text, t.size, t.role == "text-strong") / 2.0
        assert t.x - half >= -1e-6
        assert t.x + half <= 188.0 + 1e-6
