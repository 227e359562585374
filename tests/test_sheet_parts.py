"""What sheets and cards are put together from: captions, square and ruler, plain stretches, bed maps, tables, side views."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, Point, Polygon, box, unary_union

from strapwork.cutter import beds, paths
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Layer, Path, Primitive, Sheet, Text, on_sheet
from strapwork.errors import InputError
from strapwork.geometry.shape import Box
from strapwork.paper import bedmap, broken, captions, features, filling, furniture, inside, size_table
from strapwork.paper.joins import Columns
from strapwork.paper.runs import Run, Spot
from strapwork.paper.setting import Setting, frames
from strapwork.paper.strap_blocks import Block
from strapwork.paper.tiles import lay_out
from strapwork.piece.piece import Piece
from strapwork.say.table import Column
from strapwork.stock import machines
from strapwork.stock.papers import PAPERS
from tests.test_sheets import nothing_overlaps, text_box, texts

Draft = Callable[..., Piece]


def drawn(sheet: Sheet) -> list[Primitive]:
    return [p for placed in sheet.placed for p in on_sheet(placed)]


def lines(items: Iterable[Primitive], role: str) -> list[LineString]:
    """Every straight line of a role."""
    paths_ = [p for p in items if isinstance(p, Path) and p.role == role]
    return [LineString([s.start, s.end]) for p in paths_ for s in p.segments]


def corners(p: Path) -> list[tuple[float, float]]:
    return [s.start for s in p.segments]


def bounds(p: Path) -> Box:
    xs, ys = zip(*(end for s in p.segments for end in (s.start, s.end)), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


# -- captions under a strap ----------------------------------------------------

CAPTIONS = st.lists(
    st.tuples(st.integers(25, 275).map(float), st.sampled_from(("fold", "keeper", "slits stop", "rivet 3.2 mm"))),
    min_size=1,
    max_size=5,
    unique_by=lambda item: round(item[0] / 3.0),
)


@settings(max_examples=20)
@given(CAPTIONS)
def test_a_caption_hangs_from_its_feature_and_meets_no_other(items: list[tuple[float, str]]) -> None:
    """Leaders begin just under the strap's edge and end beside their words; of two captions neither is run through."""
    flags = captions.place(items, 300.0)
    out = captions.draw(flags)
    words = [p for p in out if isinstance(p, Text)]
    leaders = lines(out, "leader")
    assert sorted((a.coords[0][0], t.text) for a, t in zip(leaders, words, strict=True)) == sorted(items)
    boxes = [text_box(t) for t in words]
    for a, t, shape in zip(leaders, words, boxes, strict=True):
        (x, top), (foot_x, foot) = a.coords
        assert x == foot_x
        assert -1.5 < top < 0.0
        assert foot == t.y
        assert 0.5 < abs(t.x - x) < 1.5  # beside its line, not on it
        assert shape.distance(a) < 1.5
        assert len(items) > 2 or not any(a.crosses(other) for other in boxes)
        assert -captions.height(flags) < shape.bounds[1] < shape.bounds[3] < -captions.DROP
    for one, other in itertools.combinations(boxes, 2):
        assert one.distance(other) > 0.8
    lowest = min(b.bounds[1] for b in boxes)
    assert lowest + captions.height(flags) < 2.0  # no paper is left empty under them


def placed(items: Sequence[tuple[float, str]], length: float) -> list[tuple[str, int, str]]:
    return [(f.text, f.row, f.anchor) for f in sorted(captions.place(items, length), key=lambda f: f.x)]


def test_words_of_a_strap_s_left_half_and_middle_stand_right_of_their_lines_others_left() -> None:
    assert placed([(20.0, "rivet"), (150.0, "keeper"), (280.0, "snap")], 300.0) == [
        ("rivet", 0, "start"),
        ("keeper", 0, "start"),
        ("snap", 0, "end"),
    ]


@pytest.mark.parametrize(("apart", "anchor"), [(1.5, "start"), (0.5, "end")])
def test_captions_share_a_row_where_a_millimetre_stays_between_them(apart: float, anchor: str) -> None:
    """Closer ones go to the other side of their line."""
    first = captions.place([(40.0, "rivet 3.2 mm")], 300.0)[0]
    got = placed([(40.0, "rivet 3.2 mm"), (first.right + apart, "fold")], 300.0)
    assert got == [("rivet 3.2 mm", 0, anchor), ("fold", 0, "start")]
    other = {"start": "end", "end": "start"}
    mirrored = placed([(260.0, "rivet 3.2 mm"), (300.0 - first.right - apart, "fold")], 300.0)
    assert mirrored == [("fold", 0, "end"), ("rivet 3.2 mm", 0, other[anchor])]


@pytest.mark.parametrize(("over", "row", "anchor"), [(-1.0, 0, "start"), (1.0, 0, "start"), (3.0, 1, "end")])
def test_captions_reach_two_millimetres_over_a_strap_s_end_at_most(over: float, row: int, anchor: str) -> None:
    """The last feature's words have to go to the outer side of their line, or a row down where they would reach too far."""
    wide = captions.place([(0.0, "rivet 3.2 mm")], 300.0)[0].right
    length = 205.0 + wide - over
    got = placed([(200.0, "rivet 3.2 mm"), (205.0, "rivet 3.2 mm")], length)
    assert got == [("rivet 3.2 mm", 0, "end"), ("rivet 3.2 mm", row, anchor)]
    mirrored = placed([(wide - over, "rivet 3.2 mm"), (wide - over + 5.0, "rivet 3.2 mm")], length)
    other = {"start": "end", "end": "start"}
    assert mirrored == [("rivet 3.2 mm", row, other[anchor]), ("rivet 3.2 mm", 0, "start")]


@pytest.mark.parametrize(
    ("at", "clear"), [(10.2, True), (10.9, False), (25.0, False), (39.3, False), (39.7, True), (40.2, True)]
)
def test_a_line_runs_down_beside_words_but_not_through_them(at: float, clear: bool) -> None:
    """A caption at 10 mm reserves up to 40; its words begin 0.8 mm from its line and end 0.2 mm before that."""
    upper = captions.Flag(10.0, "rivet 3.2 mm", 0, 10.0, 40.0, "start")
    lower = captions.Flag(at, "fold", 1, at, at + 20.0, "start")
    assert captions._leaders_clear([upper], lower) is clear
    assert captions._leaders_clear([lower], upper) is clear


def test_captions_of_a_crowd_take_seven_rows_and_no_more_paper() -> None:
    """1.8 mm down to the first row and seven rows of 3.8 mm: 28.4 mm."""
    assert captions.height(captions.place([(100.0, "rivet 3.2 mm")] * 20, 300.0)) == pytest.approx(28.4)


# -- where a strap runs straight -----------------------------------------------


@pytest.mark.parametrize(
    ("pattern", "measure"),
    [("belt", "34 in"), ("wristband", "172 mm"), ("key-fob", "90 mm")],
)
def test_outside_its_features_a_strap_is_a_plain_strip(draft: Draft, pattern: str, measure: str) -> None:
    """The outline's area between two features is length times width, and nothing begins, ends or is punched there."""
    strap = draft(pattern, measure).strap
    things: list[Polygon | LineString | Point] = [
        *(h.shape().polygon() for h in strap.holes),
        *(LineString([m.line.start, m.line.end]) for m in strap.marks),
        *(f.shape.polygon() for f in strap.footprints),
        *(Point(end) for s in strap.slits for end in (s.start, s.end)),
    ]
    outline = strap.outline.polygon()
    found = features.stretches(strap)
    assert (found[0][0], found[-1][1]) == (0.0, strap.length)
    assert all(a <= b for a, b in found)
    for (_, a), (b, _) in itertools.pairwise(found):
        strip = box(a, 0.0, b, strap.width)
        assert outline.intersection(strip).area == pytest.approx(strip.area)
        assert not any(strip.buffer(-0.06).intersects(t) for t in things)
    # Nor is plain leather taken for a feature: whatever is one begins and ends with something.
    ends = [0.0, strap.length, *(x for t in things for x in t.bounds[::2])]
    ends += [x for s in strap.outline for x in (s.start[0], s.end[0])]
    for x in itertools.chain(*found):
        assert min(abs(x - end) for end in ends) < 0.06


STRETCHES = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 9)), max_size=8)


@settings(max_examples=25)
@given(STRETCHES, st.sampled_from([None, 0.0, 2.0]))
def test_features_that_meet_are_one(found: list[tuple[int, int]], apart: float | None) -> None:
    """Joined one by one, whichever two are near enough, until none are."""
    want = {(float(a), float(a + long)) for a, long in found}
    near = True
    while near:
        pairs = itertools.combinations(sorted(want), 2)
        near = next(((p, q) for p, q in pairs if max(p[0], q[0]) - min(p[1], q[1]) <= (apart or 0.0)), ())
        if near:
            want = want - set(near) | {(min(p[0] for p in near), max(p[1] for p in near))}
    given_ = [(float(a), float(a + long)) for a, long in found]
    assert features.joined(given_) == sorted(want) if apart is None else features.joined(given_, apart) == sorted(want)


def test_features_a_hair_apart_stay_two() -> None:
    assert features.joined([(0.0, 1.0), (1.25, 2.0)]) == [(0.0, 1.0), (1.25, 2.0)]


def test_a_broken_view_leaves_out_of_the_longest_plain_stretch() -> None:
    assert features.longest_gap([(0.0, 5.0), (40.0, 50.0), (120.0, 170.0), (200.0, 200.0)]) == (50.0, 120.0)
    assert features.longest_gap([(0.0, 95.0)]) == (0.0, 0.0)  # a strap that is one feature from end to end


# -- square, ruler and words ---------------------------------------------------


def test_the_ruler_has_every_millimetre_and_every_eighth_of_an_inch() -> None:
    """200 mm are 62 whole eighths of an inch (196.85 mm); the next would be at 200.025 mm."""
    out = furniture.ruler(10.0, 20.0, 200.0)
    base, *ticks = lines(out, "ruler")
    assert list(base.coords) == [(10.0, 20.0), (210.0, 20.0)]
    tall = {round(t.coords[0][0] - 10.0, 6): t.length for t in ticks if t.coords[1][1] > 20.0}
    deep = {round(t.coords[0][0] - 10.0, 6): t.length for t in ticks if t.coords[1][1] < 20.0}
    assert sorted(tall) == [float(k) for k in range(201)]
    assert sorted(deep) == [pytest.approx(k * 25.4 / 8, abs=1e-6) for k in range(63)]
    assert tall[10.0] == tall[190.0] > tall[5.0] == tall[195.0] > tall[1.0] == tall[199.0]
    assert deep[25.4] == deep[177.8] > deep[12.7] == deep[190.5] > deep[6.35] == deep[3.175]
    assert (tall[10.0], tall[5.0], tall[1.0]) == pytest.approx((deep[25.4], deep[12.7], deep[3.175]))
    words = [p for p in out if isinstance(p, Text)]
    said = {(t.text, round((t.x - 10.0 - 0.6) / (10.0 if t.y > 20.0 else 25.4), 6)) for t in words}
    assert said == {("cm", 0.0), ("in", 0.0), *((str(k), k) for k in range(1, 20)), *((str(k), k) for k in range(1, 8))}
    shapes = unary_union([text_box(t) for t in words])
    assert len(shapes.geoms) == len(words)  # none meets another
    assert not shapes.intersects(MultiLineString([base, *ticks]))


@pytest.mark.parametrize(("units", "paper"), [("mm", "A4"), ("in", "letter"), ("in", "A5")])
def test_the_foot_of_a_sheet_keeps_its_parts_apart(draft: Draft, units: str, paper: str) -> None:
    """Square, words, map and ruler: no word is over the square's upper edge, on a line of another part, or off its square."""
    for sheet in lay_out([draft("belt", "34 in")], Setting(PAPERS[paper], "Harbour belts", units)):
        items = drawn(sheet)
        squares = [bounds(p) for p in items if isinstance(p, Path) and p.role == "calibration"]
        top = max(b[3] for b in squares)
        says = [t for t in items if isinstance(t, Text) and t.layer is Layer.SHEET and t.y < top + 10.0]
        cells = [box(*bounds(p)) for p in items if isinstance(p, Path) and p.role in ("map", "map-here")]
        ruler = box(*bounds(next(p for p in items if isinstance(p, Path) and p.role == "ruler")))
        inner = [t for t in says if any(box(*b).contains(Point(t.x, t.y)) for b in squares)]
        assert len(inner) == 5 * len(squares)
        ask, figure, *then = [t.size for t in inner[:5]]
        assert 1.2 < figure / ask < 1.4  # the figure is the largest, and what to do if it is not met the smallest
        assert then == [then[0]] * 3
        assert 0.8 < then[0] / ask < 0.9
        for t in says:
            shape = text_box(t)
            assert shape.bounds[3] < top
            if t in inner:
                assert any(box(*b).buffer(-2.0).contains(shape) for b in squares), t.text
            else:
                assert not any(shape.intersects(box(*b)) for b in squares), t.text
                assert not any(shape.intersects(c) for c in cells), t.text
        assert all(ruler.distance(box(*b)) > 4.0 for b in squares)
        assert sheet.width - 9.0 < ruler.bounds[2] <= sheet.width - 8.0
        assert all(c.bounds[2] <= sheet.width - 8.0 + 1e-6 and not c.intersects(ruler) for c in cells)


def test_a_short_title_stands_on_the_line_of_the_sheet_s_name_and_a_long_one_under_it(draft: Draft) -> None:
    for title, beside in (("Harbour belts", True), ("Belts for the harbour market " * 4, False)):
        sheet = lay_out([draft("key-fob", "90 mm")], Setting(PAPERS["A4"], title.strip()))[0]
        (name,) = [t for t in texts(sheet) if t.text == "Sheet A"]
        first = next(t for t in texts(sheet) if title.startswith(t.text) and t.layer is Layer.SHEET)
        assert (first.y == pytest.approx(name.y)) is beside
        assert 1.0 < text_box(first).distance(text_box(name)) < 6.0
        assert (first.x == name.x) is not beside


def test_words_take_every_shape_that_holds_them_at_their_full_size() -> None:
    """From all the width there is down to 48 mm; narrower ones are higher, and the words stand in each of them."""
    rows = frames(Setting(PAPERS["A4"], "Harbour belts", paper_name="A4"))[0].told[True]
    shapes = furniture.shapes(rows, 190.0)
    assert shapes[0][0] <= 190.0
    assert 48.0 <= shapes[-1][0] < 54.0
    assert len(shapes) > 5
    for (wide, low), (narrow, high) in itertools.pairwise(shapes):
        assert wide > narrow
        assert low < high
    for wide, high in shapes:
        out = [p for p in furniture.notes(0.0, high, wide, high + 1e-6, rows) if isinstance(p, Text)]
        assert {t.size for t in out} == {size for _, size, _ in rows}
        assert all(box(-0.1, -0.1, wide + 0.1, high + 0.1).contains(text_box(t)) for t in out)
        said = " ".join(t.text for t in out)
        assert all(text in said for text, *_ in rows)


def test_words_with_too_little_room_are_set_smaller_and_none_is_left_out() -> None:
    rows = frames(Setting(PAPERS["A4"], "Harbour belts", paper_name="A4"))[0].told[True]
    out = [p for p in furniture.notes(0.0, 26.0, 120.0, 26.0, rows) if isinstance(p, Text)]
    assert all(text in " ".join(t.text for t in out) for text, *_ in rows)
    assert 0.6 < max(t.size for t in out) / max(size for _, size, _ in rows) < 1.0
    assert all(box(-0.1, -0.1, 120.1, 26.1).contains(text_box(t)) for t in out)


def test_the_map_shades_the_sheet_in_hand_and_shows_straps_over_the_sheets_that_have_them(draft: Draft) -> None:
    """A belt over five sheets: windows of 281 mm overlap by 15 mm or more, drawn in proportion from the first on."""
    belt = draft("belt", "34 in")
    sheets = lay_out([belt], Setting(PAPERS["A4"], "Harbour belts"))
    for k, sheet in enumerate(sheets):
        items = drawn(sheet)
        (shaded,) = [bounds(p) for p in items if isinstance(p, Path) and p.role == "map-here"]
        others = [bounds(p) for p in items if isinstance(p, Path) and p.role == "map"]
        cells = sorted([shaded, *others])
        assert len(cells) == len(sheets)
        assert cells.index(shaded) == k
        scale = (cells[0][2] - cells[0][0]) / 281.0
        for cell, other in zip(cells, sheets, strict=True):
            left = 8.0 - other.notes["straps"][0]["x_mm"]  # type: ignore[index]
            assert (cell[0] - cells[0][0]) / scale == pytest.approx(left, abs=1e-6)
            (name,) = [t for t in texts(sheet) if t.text == other.name]
            assert name.x == pytest.approx((cell[0] + cell[2]) / 2.0)
            assert -4.0 < name.y - cell[1] < 0.0
            assert (name.role == "text-strong") is (other is sheet)
        strap = [s for s in lines(items, "match") if cells[0][1] < s.bounds[1] < cells[0][3]]
        assert len(strap) == 1
        assert strap[0].length / scale == pytest.approx(belt.strap.length)
        assert strap[0].bounds[0] == pytest.approx(cells[0][0])
        assert cells[0][1] < strap[0].bounds[1] == strap[0].bounds[3] < cells[0][3]


def test_words_are_measured_as_they_are_printed(draft: Draft) -> None:
    """The room kept for a sheet's words is that of the very sentences it will bear, of whole straps and of broken ones."""
    setting = Setting(PAPERS["A4"], "Harbour belts", paper_name="A4")
    for in_halves, sheet in (
        (False, lay_out([draft("key-fob", "90 mm")], setting)[0]),
        (True, lay_out([draft("belt", "34 in", broken=True)], setting)[0]),
    ):
        said = " ".join(t.text for t in texts(sheet) if t.layer is Layer.SHEET)
        for text, *_ in frames(setting)[0].told[in_halves][2:]:
            assert text in said
        assert ("whole on this sheet" in said) is not in_halves


def test_sentences_of_a_sheet_are_as_large_as_small_print_of_a_book() -> None:
    """8 1/2 points of 25.4/72 mm, the sheet's name 16 and the title 12; the printer and the stamp are 8 points (common practice, no source)."""
    rows = Setting(PAPERS["A4"], "Harbour belts", printer="P", stamp="S").words("A", ["Cut."])
    points = [size / 25.4 * 72 for _, size, _ in rows]
    assert points[2:] == [pytest.approx(p, abs=0.07) for p in (8.5, 8.5, 8.0, 8.0)]
    assert points[:2] == [pytest.approx(p, abs=0.15) for p in (16.0, 12.0)]


def test_the_smallest_paper_leaves_80_by_40_mm() -> None:
    """Margins of 8 mm twice and a square of 50 mm with 2.5 mm over it: 96 by 108.5 mm."""
    (frame,) = frames(Setting((96.0, 108.5), "t"))
    assert frame.room == (80.0, 40.0)
    for paper in ((95.9, 108.5), (96.0, 108.4)):
        with pytest.raises(InputError, match=r"--margin: margins of 8 mm leave no room on this paper; use smaller"):
            frames(Setting(paper, "t"))


def test_a_strap_as_long_as_a_sheet_is_wide_between_its_margins_is_whole(draft: Draft) -> None:
    """A4 lying, 297 mm less two margins of 8 mm."""
    (sheet,) = lay_out([draft("plain-strap", "281 mm", width="19 mm", sets=0)], Setting(PAPERS["A4"], "t"))
    (note,) = sheet.notes["straps"]  # type: ignore[misc]
    assert "angle_deg" not in note
    assert (note["x_mm"], note["window_mm"]) == (8.0, None)


def test_two_panels_stand_side_by_side_with_8_mm_between(draft: Draft) -> None:
    """124 mm high with their words they leave room for no second row; 136.5 + 8 + 136.5 mm are the width of A4."""
    panel = draft("plain-strap", "136.5 mm", width="124 mm", sets=0)
    (sheet,) = lay_out([panel] * 2, Setting(PAPERS["A4"], "t"))
    assert [n["x_mm"] for n in sheet.notes["straps"]] == [8.0, 152.5]  # type: ignore[attr-defined]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("paper", [(210.0, 297.0), (148.0, 210.0), (200.0, 280.0), (215.9, 279.4)])
def test_the_room_that_is_kept_for_square_and_ruler_is_where_they_are_drawn(
    paper: tuple[float, float], units: str
) -> None:
    """Squares and ruler stand on the lower margin of 8 mm, between the margins, in the boxes that no strap enters."""
    for f in frames(Setting(paper, "Harbour belts", units)):
        items, _ = furniture.strip((8.0, 8.0), f.width - 16.0, units, (50.0, 50.0), ())
        squares = [bounds(p) for p in items if isinstance(p, Path) and p.role == "calibration"]
        ruler = bounds(next(p for p in items if isinstance(p, Path) and p.role == "ruler"))
        assert min(b[1] for b in squares) == 8.0
        assert ruler[1] == pytest.approx(8.0)
        assert f.zone == (8.0, max(b[3] for b in squares) + 2.5, f.width - 8.0, f.height - 8.0)
        kept = [(8.0 + x0, f.height - 8.0 - y1, 8.0 + x1, f.height - 8.0 - y0) for x0, y0, x1, y1 in f.fixed]
        for b in (*squares, ruler):
            assert any(box(*k).buffer(1e-6).contains(box(*b)) for k in kept)
        assert min(k[1] for k in kept) == pytest.approx(8.0)
        assert max(k[2] for k in kept) == pytest.approx(f.width - 8.0)
        assert f.deep == f.height - 16.0


# -- what is free on a sheet ---------------------------------------------------

BOXES = st.lists(
    st.tuples(st.integers(0, 80), st.integers(0, 80), st.integers(5, 60), st.integers(5, 60)), min_size=1, max_size=3
)


@settings(max_examples=30)
@given(BOXES)
def test_nothing_that_is_free_on_a_sheet_is_forgotten_and_nothing_taken_is_given_away(
    boxes: list[tuple[int, int, int, int]],
) -> None:
    """Every rectangle between edges of what stands there, wider and higher than 10 mm and clear of all, is in a free one."""
    free: list[Box] = [(0.0, 0.0, 100.0, 100.0)]
    there = [(float(x), float(y), float(x + w), float(y + h)) for x, y, w, h in boxes]
    for b in there:
        free = filling.taken(free, b)

    def meet(a: Box, b: Box) -> bool:
        return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]

    def holds(a: Box, b: Box) -> bool:
        return a[0] <= b[0] and a[1] <= b[1] and a[2] >= b[2] and a[3] >= b[3]

    assert not [f for f in free if any(meet(f, b) for b in there)]
    assert not [f for f in free if any(f is not g and holds(g, f) for g in free)]
    xs = sorted({0.0, 100.0, *(v for b in there for v in b[::2] if v < 100.0)})
    ys = sorted({0.0, 100.0, *(v for b in there for v in b[1::2] if v < 100.0)})
    for x0, x1 in itertools.combinations(xs, 2):
        for y0, y1 in itertools.combinations(ys, 2):
            one = (x0, y0, x1, y1)
            if x1 - x0 > 10.0 and y1 - y0 > 10.0 and not any(meet(one, b) for b in there):
                assert any(holds(f, one) for f in free), one


def test_a_panel_as_high_as_a_sheet_allows_stands_on_one(draft: Draft) -> None:
    """A4 lying leaves 141.5 mm over the square; a name of 5.544 mm and 1.4 mm under it leave 134.556 mm."""
    for wide, sheets in (("134.556 mm", 1), ("134.656 mm", 2)):
        panel = draft("plain-strap", "270 mm", width=wide, sets=0)
        assert len(lay_out([panel], Setting(PAPERS["A4"], "t"))) == sheets


def test_sheets_come_in_the_order_of_their_first_pieces(draft: Draft) -> None:
    """404 mm of paper hold panels of 240 and 150 mm beside each other, and of 220 and 170, but not of 240 and 170."""
    panels = [draft("plain-strap", f"{long} mm", width="120 mm", sets=0) for long in (240, 220, 170, 150)]
    named = [replace(p, label=name) for p, name in zip(panels, ("first", "second", "third", "fourth"), strict=True)]
    sheets = lay_out(named, Setting((250.0, 420.0), "t"))
    on_it = [sorted(str(n["piece"]) for n in s.notes["straps"]) for s in sheets]  # type: ignore[attr-defined]
    assert on_it == [["first", "fourth"], ["second", "third"]]


def test_straps_are_tried_as_they_come_and_the_highest_the_longest_and_the_largest_first(draft: Draft) -> None:
    """The first is the highest (100 mm), the third the longest (250 mm), the second has the largest area (200 x 90 mm)."""
    sizes = ((150, 100), (200, 90), (250, 20), (140, 60))
    pieces = [draft("plain-strap", f"{long} mm", width=f"{wide} mm", sets=0) for long, wide in sizes]
    for first in (0, 3):  # whatever comes first in the job
        blocks = [Block(p, k, "mm") for k, p in enumerate([*pieces[first:], *pieces[:first]])]
        orders = [[round(b.length) for b, wide in order if not wide] for order in filling._orders(blocks)]
        assert [round(b.length) for b in blocks] == orders[0]
        assert [150, 200, 140, 250] in orders
        assert [250, 200, 150, 140] in orders
        assert [200, 150, 140, 250] in orders


def test_beside_a_strap_that_begins_on_a_taped_sheet_all_is_free_but_8_mm(draft: Draft) -> None:
    """A strap of 140 mm from 150 to 290 mm over two sheets of A4 joined at 273.5 mm; its name runs on to 339 mm.

    The second sheet shows it from 5.5 mm behind the join, and 60 mm are kept for its name there.
    """
    frame = frames(Setting(PAPERS["A4"], "t"))[0]
    block = Block(draft("plain-strap", "140 mm", width="30 mm", sets=0), 0, "mm")
    cols = Columns(((0.0, 281.0), (266.0, 547.0)), (273.5,))
    run = Run(frame, cols, ((0.0, 141.5),), [Spot(block, 150.0, 0.0, 140.0, 45.0)])
    first, second = ({tuple(round(v, 6) for v in f) for f in s.free} for s in filling._gaps(run))
    assert first == {(0.0, 0.0, 142.0, 141.5), (0.0, 48.5, 271.5, 141.5)}
    assert second == {(347.0, 0.0, 547.0, 141.5), (275.5, 48.5, 547.0, 141.5)}


def test_each_sheet_shows_its_part_of_a_strap_and_the_label_stands_over_it(draft: Draft) -> None:
    """A strap of 140 x 30 mm from 150 to 290 mm, joined at 273.5 mm: the rings keep 5.5 mm on either side.

    Of 45 mm of height the lowest are its captions, at least 3 mm, over them its width: the rest is its label's.
    """
    frame = frames(Setting(PAPERS["A4"], "t"))[0]
    block = Block(draft("plain-strap", "140 mm", width="30 mm", sets=0), 0, "mm")
    spot = Spot(block, 150.0, 0.0, 140.0, 45.0)
    run = Run(frame, Columns(((0.0, 281.0), (266.0, 547.0)), (273.5,)), ((0.0, 141.5),), [spot])
    assert run.visible(spot, 0) == pytest.approx((150.0, 268.0))
    assert run.visible(spot, 1) == pytest.approx((279.0, 290.0))
    assert spot.head + 30.0 + max(block.foot, 3.0) == pytest.approx(45.0)


def test_the_map_of_taped_sheets_names_those_of_the_row_one_holds() -> None:
    """Two rows of three sheets, this one the middle of the second: D, E and F under its columns, E in bold."""
    columns, rows = [(0.0, 200.0), (185.0, 385.0), (370.0, 570.0)], [(0.0, 100.0), (85.0, 185.0)]
    items = furniture.tile_map((0.0, 0.0, 60.0, 30.0), columns, rows, (1, 1), ["ABC", "DEF"], [])
    names = [(t.text, t.role) for t in items if isinstance(t, Text)]
    assert names == [("D", "text"), ("E", "text-strong"), ("F", "text")]


def test_words_stand_next_to_the_square_and_what_shares_the_foot_with_them_at_the_right(draft: Draft) -> None:
    """The square of 50 mm at the margin of 8 mm, and 5 mm between."""
    pieces = [draft("belt", "34 in", broken=True), draft("keeper-loop", "99.3 mm")]
    (sheet,) = lay_out(pieces, Setting(PAPERS["A4"], "t"))
    items = drawn(sheet)
    words = [t for t in items if isinstance(t, Text) and t.layer is Layer.SHEET and t.y < 58.0 and t.anchor == "start"]
    said = [t for t in words if t.size > 2.7]  # what is smaller belongs to the ruler
    assert {t.x for t in said[:1]} == {63.0}
    low = [b for b in (bounds(p) for p in items if isinstance(p, Path) and p.layer is Layer.OUTLINE) if b[1] < 58.0]
    assert low
    assert max(b[2] for b in low) > sheet.width - 9.0


def test_pieces_are_moved_off_the_new_sheet_that_has_least_on_it(draft: Draft) -> None:
    """Two of 140 x 45 mm on one new sheet are 126 cm2, one of 270 x 60 mm on the other 162 cm2; taped ones do not count."""
    frame = frames(Setting(PAPERS["A4"], "t"))[0]
    short, long = (Block(draft("plain-strap", f"{mm} mm", width="30 mm", sets=0), 0, "mm") for mm in (140, 270))
    taped, one, other = (Run(frame, Columns(((0.0, 281.0),), ()), ((0.0, 141.5),)) for _ in range(3))
    spots = [(one, short, 45.0), (taped, short, 45.0), (other, long, 60.0), (one, short, 45.0)]
    gaps = [(run, 0, Spot(b, 0.0, 0.0, b.length, tall)) for run, b, tall in spots]
    assert filling._emptiest(filling.Filling([one, other], gaps, [])) == pytest.approx(12600.0)


# -- words inside a strap ------------------------------------------------------


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("quarters", [0, 1])
def test_a_word_inside_a_strap_takes_as_much_of_it_as_it_is_drawn(anchor: str, quarters: int) -> None:
    t = Text(40.0, 5.0, "Harbour belt", 2.6, Layer.LABELS, "text-strong", anchor, quarters)
    x0, _, x1, _ = text_box(t).buffer(0.1).bounds
    a, b = inside.text_span(t)
    if quarters:
        assert a - 0.1 <= x0 < x1 <= b + 0.1
        assert b - a < 1.5 * t.size
    else:
        assert (a, b) == pytest.approx((x0, x1), abs=0.1)


def inner_words(piece: Piece, spans: Sequence[tuple[float, float]]) -> list[tuple[Text, Box]]:
    words = [p for p in inside.place(piece, spans).drawing if isinstance(p, Text)]
    return [(t, text_box(t).bounds) for t in words]


def test_words_inside_a_strap_keep_clear_of_where_it_is_broken(draft: Draft) -> None:
    """A millimetre from wherever what is shown of the strap ends, its sides included."""
    piece = replace(draft("wristband", "172 mm", sets=1), label="Quay and harbour, first row, west")
    long = piece.strap.length
    for k in range(60):
        a, b = 50.0 + k, long - 80.0 + k / 2.0
        words = inner_words(piece, [(0.0, a), (b, long)])
        assert words
        for t, (x0, y0, x1, y1) in words:
            assert (x0 > 1.0 and x1 < a - 1.0) or (b + 1.0 < x0 and x1 < long - 1.0), t.text
            assert 0.3 < y0 < y1 < piece.strap.width - 0.3


def test_words_inside_a_strap_stand_in_the_middle_of_its_width_at_their_own_end(draft: Draft) -> None:
    """Capitals of the typeface are 0.714 of its size high, so rows in the middle have it half that over their base."""
    piece = draft("plain-strap", "140 mm", width="30 mm", sets=0)
    words = inner_words(piece, [(0.0, piece.strap.length)])
    halves = [[t for t, b in words if (b[0] < 70.0) is first] for first in (True, False)]
    assert [t.text for t in halves[1]] == [piece.label, "finish"]
    assert halves[0][0].text == piece.label
    assert len(halves[0]) == 4
    assert all(b[2] < 70.0 or b[0] > 70.0 for _, b in words)
    for some in halves:
        rows = sorted({t.y for t in some})
        assert (rows[0] + rows[-1]) / 2.0 + 0.357 * 2.6 == pytest.approx(15.0, abs=0.3)


def test_a_short_strap_without_slits_has_a_half_for_the_words_of_each_end(draft: Draft) -> None:
    """A name of 50 mm stands on one line at both ends of 140 mm."""
    label = "Tern & Tackle, harbour class, first row"
    assert 47.0 < fonts.text_width(label, 2.6, True) < 66.0
    piece = replace(draft("plain-strap", "140 mm", width="30 mm", sets=0), label=label)
    names = [b for t, b in inner_words(piece, [(0.0, piece.strap.length)]) if t.text == label]
    assert len(names) == 2
    assert names[0][2] < 70.0 < names[1][0]


def test_the_line_along_a_strap_follows_its_words(draft: Draft) -> None:
    piece = draft("belt", "34 in")
    out = inside.place(piece, [(0.0, piece.strap.length)]).drawing
    (words,) = [t for t in out if isinstance(t, Text) and t.text == "least stretch"]
    shaft = next(line for line in lines(out, "match") if line.length > 5.0)
    _, y0, x1, y1 = text_box(words).bounds
    assert 1.0 < shaft.bounds[0] - x1 < 2.2
    assert y0 < shaft.bounds[1] == shaft.bounds[3] < y1
    assert shaft.length == 12.0
    heads = [line for line in lines(out, "match") if line.length < 5.0]
    assert len(heads) == 4
    assert all(min(line.distance(Point(end)) for end in shaft.coords) < 1e-6 for line in heads)


def test_words_among_the_strands_begin_close_to_the_end_of_the_slits(draft: Draft) -> None:
    """Where an end has no room they stand 3.5 mm from the stop: clear of its line and still with their end."""
    piece = draft("wristband", "172 mm", "1.8 mm", strands=3, width="38 mm", sets=1)
    fit = piece.fit
    words = inner_words(piece, [(0.0, piece.strap.length)])
    among = [b for _, b in words if fit.slit_start < b[0] and b[2] < fit.slit_end]
    assert among
    nearest = min(min(b[0] - fit.slit_start, fit.slit_end - b[2]) for b in among)
    assert nearest == pytest.approx(3.5, abs=0.3)


# -- labels and broken views ---------------------------------------------------


def test_facts_stand_beside_a_name_from_60_mm_of_room_on(draft: Draft) -> None:
    """A name of 4.2 mm and 3 mm after it; 5.544 mm are a row of it, 1.4 mm stay under the label."""
    block = Block(replace(draft("wristband", "172 mm"), label="Quay"), 0, "mm")
    name = fonts.text_width("Quay", 4.2, True) + 3.0
    for room, beside in ((59.6, False), (60.4, True)):
        words, high = block.label(name + room)
        assert (words[0].text, words[0].right, words[0].size) == ("Quay", 0.0, 4.2)
        assert (words[1].right == pytest.approx(name)) is beside
        assert all(w.right == 0.0 for w in words[2:])
        assert all(w.right + fonts.text_width(w.text, w.size, w.role == "text-strong") <= name + room for w in words)
        rows = sorted({w.down for w in words})
        assert rows[0] == pytest.approx(5.544)
        assert all(b - a == pytest.approx(3.1 * 1.32) for a, b in itertools.pairwise(rows))
        assert high == pytest.approx(rows[-1] + 1.4)


def test_a_label_that_runs_on_beside_its_strap_comes_down_to_one_row(draft: Draft) -> None:
    """A row of a name is 5.544 mm high, with 1.4 mm under it; no wider shape is any lower."""
    for label in ("Fob", "Harbour class by the old quay wall, first row of straps"):
        block = Block(replace(draft("key-fob", "90 mm"), label=label), 0, "mm")
        shapes = block.shapes(2000.0)
        assert shapes[0] == block.plain[0]
        assert all(a[0] < b[0] and a[1] > b[1] for a, b in itertools.pairwise(shapes))
        assert shapes[-1][1] == pytest.approx(5.544 + 1.4 + block.width + block.foot)
        assert len(block.label(shapes[-1][0])[0]) == 2


def test_the_words_of_a_broken_view_stand_clear_of_its_marks(draft: Draft) -> None:
    """Names grow a word at a time: each line of them is broken, or goes elsewhere, before it reaches a mark."""
    for k in range(3, 16, 2):
        piece = replace(draft("plain-strap", "600 mm", width="40 mm", sets=0), label="tern " * k + "k")
        gap = broken.of(piece, "mm", 194.0)
        assert gap is not None
        first, second = (Block(piece, 0, "mm", gap, (half,)) for half in (1, 2))
        for block in (first, second):
            items = list(block.drawing())
            marks = sorted(lines(items, "gauge"), key=lambda mark: mark.bounds[0])
            words = [t for t in items if isinstance(t, Text) and t.layer is Layer.LABELS]
            inner = [t for t in words if t.y < block.width]
            assert inner
            assert len(marks) == 2
            for t in inner:
                assert min(mark.distance(text_box(t)) for mark in marks) > 0.9, t.text
                assert min(mark.distance(text_box(t)) for mark in lines(items, "break")) > 0.9


def test_the_rule_of_a_broken_view_begins_where_its_half_does(draft: Draft) -> None:
    """At the strap's end over the first half, 5 mm behind B over the second."""
    piece = draft("belt", "900 mm")
    gap = broken.of(piece, "mm", 281.0)
    assert gap is not None
    for half in (1, 2):
        block = Block(piece, 0, "mm", gap, (half,))
        (rule,) = [t for t in block.drawing() if isinstance(t, Text) and t.text.startswith("Broken view")]
        last = max(mark.bounds[0] for mark in lines(block.drawing(), "gauge"))
        assert rule.x == (0.0 if half == 1 else pytest.approx(last + 5.0))
        assert rule.y > block.width + 3.0
        assert [n.keys() & {"angle_deg"} for n in block.note(0.0, 0.0, None, 0.0)] == [set()]


# -- the map of a bed ----------------------------------------------------------


def mapped(
    draft: Draft, at: Sequence[tuple[float, float]], label: str = "Quay", high: float = 500.0
) -> tuple[Sheet, Piece]:
    """The map of a bed 1000 mm long with straps of 180 x 20 mm at these corners; the last of them lies there twice."""
    piece = replace(draft("plain-strap", "180 mm", width="20 mm", sets=0), label=label)
    machine = machines.find("laser", "test").model_copy(update={"bed": (1000.0, high)})
    cut = paths.plan([piece], machine)
    spots = tuple(beds.Spot(k, 0, x, y) for k, (x, y) in enumerate([*at, at[-1]]))
    spots = (*spots[:-1], replace(spots[-1], piece=len(at) - 1, y=at[-1][1] + 25.0))
    own = replace(cut, plan=replace(cut.plan, spots=spots))
    (sheet,) = bedmap.bed_maps(own, [replace(piece, label=f"{label} {k}") for k in range(len(at))], (210.0, 297.0), "t")
    return sheet, piece


@pytest.mark.parametrize(
    ("x", "y", "shown", "words"),
    [
        (10.0, 10.0, (200.0, 100.0), "Shown is the lower left corner of the bed, 200 mm × 100 mm."),
        (560.0, 280.0, (750.0, 350.0), "Shown is the lower left corner of the bed, 750 mm × 350 mm."),
        (610.0, 280.0, (1000.0, 350.0), "Shown is the lower left corner of the bed, 1000 mm × 350 mm."),
        (620.0, 350.0, (1000.0, 500.0), ""),
        (570.0, 330.0, (750.0, 500.0), "Shown is the lower left corner of the bed, 750 mm × 500 mm."),
    ],
)
def test_a_map_shows_what_is_used_of_a_bed_and_all_of_it_from_four_fifths_on(
    draft: Draft, x: float, y: float, shown: tuple[float, float], words: str
) -> None:
    """Straps of 180 x 20 mm, one 25 mm over the other, end 180 mm right of x and 45 mm over y, in steps of 50 mm."""
    sheet, _ = mapped(draft, [(x, y)])
    bed = next(bounds(p) for p in drawn(sheet) if isinstance(p, Path) and p.role == "calibration")
    assert (bed[2] - bed[0]) / (bed[3] - bed[1]) == pytest.approx(shown[0] / shown[1])
    said = " ".join(t.text for t in texts(sheet))
    assert said.count("Shown is") == bool(words)
    assert words in said
    straps = [bounds(p) for p in drawn(sheet) if isinstance(p, Path) and p.role == "map"]
    scale = (bed[2] - bed[0]) / shown[0]
    for b, (left, low) in zip(straps, [(x, y), (x, y + 25.0)], strict=True):
        want = (
            bed[0] + left * scale,
            bed[1] + low * scale,
            bed[0] + (left + 180.0) * scale,
            bed[1] + (low + 20.0) * scale,
        )
        assert b == pytest.approx(want)


def test_a_map_of_a_bed_leaves_room_for_the_names_and_every_number_stands_in_its_strap(draft: Draft) -> None:
    """No higher than 55 % of the 186 mm between the margins of A4 lying, and no larger than it is."""
    sheet, _ = mapped(draft, [(10.0 + 200.0 * (k % 4), 5.0 + 90.0 * (k // 4)) for k in range(28)], high=700.0)
    nothing_overlaps(sheet)
    items = drawn(sheet)
    bed = next(bounds(p) for p in items if isinstance(p, Path) and p.role == "calibration")
    assert bed[3] - bed[1] == pytest.approx(0.55 * 186.0)
    straps = [box(*bounds(p)) for p in items if isinstance(p, Path) and p.role == "map"]
    numbers = [t for t in texts(sheet) if t.anchor == "middle"]
    assert [t.text for t in numbers] == [*(str(k) for k in range(1, 29)), "28"]
    assert all(b.contains(text_box(t)) for b, t in zip(straps, numbers, strict=True))
    rows = [t for t in texts(sheet) if t.text[0].isdigit() and t.anchor == "start"]
    assert [t.text for t in rows] == [*(f"{k + 1}: Quay {k}" for k in range(27)), "28: Quay 27 (2 here)"]
    assert all(12.0 < t.y < bed[1] - 3.0 for t in rows)
    tiny, _ = mapped(draft, [(0.0, 0.0)])
    (one, _) = [bounds(p) for p in drawn(tiny) if isinstance(p, Path) and p.role == "map"]
    assert one[2] - one[0] <= 180.0 + 1e-6


def test_long_names_on_a_map_of_a_bed_keep_to_their_columns(draft: Draft) -> None:
    """Three columns of 91 mm between the margins of 12 mm."""
    sheet, _ = mapped(draft, [(10.0, 5.0 + 30.0 * k) for k in range(12)], "as far in as it is on to " * 5)
    nothing_overlaps(sheet)
    rows = [t for t in texts(sheet) if "far in" in t.text and t.anchor == "start"]
    assert {t.x for t in rows} == {12.0, 103.0, 194.0}
    widest = max(text_box(t).bounds[2] - t.x for t in rows)
    assert 80.0 < widest < 88.0


# -- the table of sizes --------------------------------------------------------

COLUMNS = [
    Column("for", ("Ada", "Ben", "Carys"), large=False),
    Column("wrist", ("152", "163", ""), large=False),
    Column("cut", ("221.4", "232.6", "99.3")),
    Column("slits", ("42 to 179.4", "42 to 190.6", "")),
    Column("finished", ("172", "183", "")),
]


def rows_of(width: float, row: float = 8.0, columns: Sequence[Column] = COLUMNS) -> list[list[Any]]:
    """What the head and every row of the table of sizes draw."""
    return [list(b.items) for b in size_table.blocks(columns, width, "mm", row)]


@pytest.mark.parametrize(("width", "row"), [(188.0, 8.0), (188.0, 5.2), (120.0, 8.0), (105.0, 6.0)])
def test_the_table_of_sizes_keeps_words_numbers_and_boxes_apart(width: float, row: float) -> None:
    """Heads over a rule, a level rule under every row, names from the left, numbers flush under their heads, a box."""
    made = size_table.blocks(COLUMNS, width, "mm", row)
    assert [b.again is made[0] for b in made] == [False, True, True, True]
    for k, b in enumerate(made):
        words = [p for p in b.items if isinstance(p, Text)]
        rule = next(p for p in b.items if isinstance(p, Path) and not p.closed)
        boxes = [box(*bounds(p)) for p in b.items if isinstance(p, Path) and p.closed]
        assert bounds(rule) == (0.0, -b.height, width, -b.height)
        shapes = [text_box(t) for t in words]
        for one, other in itertools.combinations([*shapes, *boxes], 2):
            assert not one.intersects(other)
        assert all(box(0.0, -b.height, width, 0.0).contains(s) for s in (*shapes, *boxes))
        assert len(boxes) == (k > 0)
        if k:
            assert b.height == row
            assert boxes[0].bounds[2] == width
            assert words[0].text == str(k)
    heads = [p for p in made[0].items if isinstance(p, Text)]
    assert 1.0 < heads[0].y + made[0].height < 2.0
    for b in made[1:]:
        number, name, *cells = [p for p in b.items if isinstance(p, Text)]
        assert (number.anchor, name.x - number.x) == ("end", 2.0)
        assert (name.x, name.anchor, name.role) == (heads[0].x, "start", "text-strong")
        assert {(c.x, c.anchor) for c in cells} <= {(h.x, "end") for h in heads[1:]}
        assert all(abs(c.y + row / 2.0 + 0.36 * c.size) < row / 8.0 for c in cells)  # figures stand in the middle
    first = {t.text: t for t in made[1].items if isinstance(t, Text)}
    assert first["152"].role == "text"  # typed in, not cut by
    assert first["221.4"].role == "text-strong"
    assert first["221.4"].size >= first["152"].size


def test_numbers_of_the_table_are_as_large_as_leaves_34_mm_for_the_names() -> None:
    """14 points from the width on at which names have 34 mm; half a point smaller where they would have less."""
    room: dict[float, float] = {}
    for k in range(1150, 1220):
        cells = [t for t in rows_of(k / 10.0)[1] if isinstance(t, Text)]
        size = next(t.size for t in cells if t.text == "221.4")
        room.setdefault(round(size / 25.4 * 72.0, 3), k / 10.0)
    assert max(room) == 14.0
    widest = {
        c.head: max(fonts.text_width(v, room_size, c.large) for v in c.values)
        for c in COLUMNS[1:]
        for room_size in [14 * 25.4 / 72]
    }
    small = fonts.text_width("wrist", 9 * 25.4 / 72)
    heads = {c.head: fonts.text_width(c.head, 9 * 25.4 / 72) for c in COLUMNS}
    wrist = max(fonts.text_width("152", 11 * 25.4 / 72), small)
    taken = wrist + sum(max(widest[h], heads[h]) for h in ("cut", "slits", "finished")) + 4 * 3.4
    assert room[14.0] == pytest.approx(6.0 + 34.0 + taken + 7.0, abs=0.11)


def test_a_value_wider_than_its_column_is_set_smaller_and_not_cut_off() -> None:
    label = "Wristband of the harbour class"
    columns = [replace(COLUMNS[0], values=(label, "Ben", "Carys")), *COLUMNS[1:]]
    for width in (188.0, 150.0, 132.0):
        _, first, second, _ = rows_of(width, columns=columns)
        name, other = (next(t for t in row if isinstance(t, Text) and t.anchor == "start") for row in (first, second))
        number = min(
            t.x - fonts.text_width(t.text, t.size, True) for t in first if isinstance(t, Text) and t.text == "152"
        )
        assert text_box(name).bounds[2] < number
        assert other.size == pytest.approx(11 * 25.4 / 72)
        if width > 140.0:
            assert name.text == label
        assert name.size >= 9 * 25.4 / 72 - 0.1


def test_a_single_size_has_no_number_before_it() -> None:
    columns = [replace(c, values=c.values[:1]) for c in COLUMNS]
    _, row = rows_of(188.0, columns=columns)
    assert [t.text for t in row if isinstance(t, Text)] == ["Ada", "152", "221.4", "42 to 179.4", "172"]
    assert next(t.x for t in row if isinstance(t, Text)) == 0.0
