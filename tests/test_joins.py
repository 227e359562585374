"""A strap over several sheets: where its paper is cut, what tells a wrong neighbour, and what the words say."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork.drawing.primitives import Disc, Path, Text
from strapwork.paper import joins

Stretches = list[tuple[float, float]]


@st.composite
def straps(draw: st.DrawFn) -> tuple[float, float, Stretches, Stretches]:
    """A strap's length, a sheet's, and along the strap holes of up to 8 mm and words of up to 60, at least 30 mm of plain leather between them."""
    room = draw(st.floats(180.0, 400.0))
    total = draw(st.floats(100.0, 2000.0))
    features: Stretches = []
    words: Stretches = []
    x = 0.0
    while True:
        x += draw(st.floats(30.0, 150.0))
        word = draw(st.booleans())
        wide = draw(st.floats(10.0, 60.0)) if word else draw(st.floats(1.0, 8.0))
        if x + wide > total:
            return total, room, features, words
        (words if word else features).append((x, x + wide))
        x += wide


@given(straps())
def test_sheets_cover_a_strap_with_15_mm_to_tape_and_no_join_near_a_hole(
    case: tuple[float, float, Stretches, Stretches],
) -> None:
    total, room, features, words = case
    cols = joins.columns(total, room, features, words)
    assert cols.windows[0][0] == 0.0
    assert cols.windows[-1][1] >= total
    assert all(b - a <= room + 1e-9 for a, b in cols.windows)
    # Beside a join both sheets show 7.5 mm more, half of what is taped.
    assert len(cols.joins) == len(cols.windows) - 1
    for (left, right), x in zip(itertools.pairwise(cols.windows), cols.joins, strict=True):
        assert left[1] - x == pytest.approx(7.5)
        assert x - right[0] == pytest.approx(7.5)
    for x in cols.joins:
        assert all(x <= a - 3.0 + 1e-9 or x >= b + 3.0 - 1e-9 for a, b in features)
    # With plain leather everywhere no word need be cut; where one was, it is owned up to.
    cut = [x for x in cols.joins for a, b in words if a - 2.0 + 1e-9 < x < b + 2.0 - 1e-9]
    assert cols.clean == (not cut)


@given(st.floats(100.0, 2000.0), st.floats(180.0, 400.0))
def test_a_plain_strap_takes_as_few_sheets_as_can_be(total: float, room: float) -> None:
    """A first sheet shows all of itself, each further one 15 mm less, which lie on its neighbour."""
    count = len(joins.columns(total, room, [], []).windows)
    assert room + (count - 1) * (room - 15.0) >= total - 1e-6
    assert count == 1 or room + (count - 2) * (room - 15.0) < total


def test_a_word_is_cut_only_where_that_saves_a_sheet() -> None:
    """Two sheets of 200 mm hold 385 mm, with their join at 192.5, in a word from 100 to 230 mm; a third sheet would spare it.
    In a strap of 285 mm they may be joined 2 mm before a word at 120 mm."""
    assert joins.columns(385.0, 200.0, [], []).joins == pytest.approx((192.5,))
    whole = joins.columns(285.0, 200.0, [], [(120.0, 230.0)])
    assert (whole.clean, len(whole.windows), whole.joins) == (True, 2, pytest.approx((118.0,)))
    cut = joins.columns(385.0, 200.0, [], [(100.0, 230.0)])
    assert (cut.clean, len(cut.windows)) == (False, 2)


@given(st.floats(50.0, 1500.0), st.floats(120.0, 400.0))
def test_rows_of_sheets_end_with_the_strap(total: float, room: float) -> None:
    windows = joins.rows(total, room)
    assert windows[0][0] == 0.0
    assert windows[-1][1] == pytest.approx(max(total, room) if len(windows) == 1 else total)
    assert all(b - a <= room + 1e-9 for a, b in windows)
    assert all(upper[1] - lower[0] == pytest.approx(15.0) for upper, lower in itertools.pairwise(windows))
    assert len(windows) == 1 or windows[-2][1] < total


def test_taped_sheets_show_all_of_a_strap_but_the_joins() -> None:
    cols = joins.columns(500.0, 200.0, [], [])
    shown = [cols.inner(k, 2.0) for k in range(len(cols.windows))]
    assert shown[0][0] == 0.0
    assert shown[-1][1] == cols.windows[-1][1]
    for (_, end), (begin, _), x in zip(shown, shown[1:], cols.joins, strict=False):
        assert (end, begin) == pytest.approx((x - 2.0, x + 2.0))


def test_a_ring_stands_above_the_strap_with_its_letter_in_the_middle_and_wedges_that_point_at_the_join() -> None:
    for number, name in ((1, "a"), (2, "b"), (3, "c"), (26, "z"), (27, "a")):
        marks = joins.ring_marks(100.0, number, (40.0, 60.0))
        (ring,) = (p for p in marks if isinstance(p, Disc))
        (letter,) = (p for p in marks if isinstance(p, Text))
        assert letter.text == name
        assert letter.x == ring.cx
        # A small letter is about half as high as its type.
        assert abs(letter.y + letter.size / 4.0 - ring.cy) < 0.5
        assert ring.cy - ring.r > 60.0 + 1.3
        tips = [min(p.segments, key=lambda s: abs(s.start[0] - 100.0)).start for p in marks if isinstance(p, Path)]
        assert sorted(tips) == [(100.0, pytest.approx(39.7)), (100.0, pytest.approx(60.3))]
    # Neighbours' rings stand off their lines differently, so that a wrong sheet shows.
    offs = [next(p.cx for p in joins.ring_marks(0.0, k, (0.0, 10.0)) if isinstance(p, Disc)) for k in range(1, 8)]
    assert all(abs(a - b) > 1.0 for a, b in itertools.pairwise(offs))


def test_a_join_is_one_line_up_the_sheet_but_for_its_rings() -> None:
    """Of two straps above each other, 40 and 120 mm up at their upper edges, on a sheet shown from 20 to 280 mm."""
    cols = joins.columns(500.0, 200.0, [], [])
    edges = [40.0, 120.0]
    for c in range(3):
        # Sheet mm are 12 more than those of the whole, less what the sheets before it show.
        shift = 12.0 - cols.windows[c][0]
        drawn = joins.lines(cols, c, shift, (12.0, 20.0, 212.0, 280.0), dict.fromkeys((1, 2), edges))
        assert all(isinstance(p, Path) and p.role == "join" for p in drawn)
        found = [p.segments[0] for p in drawn if isinstance(p, Path)]
        at = sorted({s.start[0] for s in found} | {s.end[0] for s in found})
        # On the first sheet at its right only, 7.5 mm from its end; on the last at its left only.
        assert at == pytest.approx([[204.5], [19.5, 204.5], [19.5]][c])
        for x in at:
            mine = [(s.start[1], s.end[1]) for s in found if s.start[0] == x]
            rings = [p for e in edges for p in joins.ring_marks(x, 1, (e - 20.0, e)) if isinstance(p, Disc)]
            gaps = [(r.cy - r.r, r.cy + r.r) for r in rings]
            assert [y for part in mine for y in part] == pytest.approx([20.0, *(y for gap in gaps for y in gap), 280.0])


def test_a_line_across_runs_over_the_whole_sheet_with_its_ring_on_it() -> None:
    windows = joins.rows(450.0, 200.0)
    box = (10.0, 20.0, 190.0, 280.0)
    lines = {}
    for r in range(len(windows)):
        marks = joins.row_marks(windows, r, 250.0, box)
        for p, ring, text in zip(marks[::3], marks[1::3], marks[2::3], strict=True):
            assert isinstance(p, Path)
            assert isinstance(ring, Disc)
            assert isinstance(text, Text)
            (s,) = p.segments
            assert (s.start[0], s.end[0]) == (10.0, 190.0)
            assert s.start[1] == s.end[1] == ring.cy
            assert ring.cx - ring.r > 10.0
            assert text.x == ring.cx
            # Where the strap's own top, 250 mm up on the first sheet, is as high on every sheet of it.
            lines.setdefault(text.text, set()).add((round(250.0 - s.start[1] + windows[r][0], 6), ring.cx))
    # 200 mm shown, half of the 15 mm that is taped over: the first line 192.5 mm down the strap, the next 185 mm below it.
    assert {name: {y for y, _ in at} for name, at in lines.items()} == {"A": {192.5}, "B": {377.5}}
    assert all(len({x for _, x in at}) == 1 for at in lines.values())
    assert len({x for at in lines.values() for _, x in at}) == 2


def test_every_sheet_says_on_which_it_is_laid() -> None:
    names = [["A1", "A2"], ["B1", "B2"]]
    assert joins.how([["A1"]], 0, 0) == []
    assert joins.how(names, 0, 0) == ["Start of 2 sheets, A1 to A2: lay A2 on the dashed line at the right."]
    assert joins.how([["A1", "A2", "A3"]], 0, 2) == [
        "Cut along the dashed line at the left, lay this sheet on A2 so that the lines and the rings marked b meet, and tape."
    ]
    assert joins.how(names, 1, 1)[1:] == ["Then lay this row on row A at the line across."]


def test_a_sheet_has_the_joins_at_its_left_and_its_right_and_no_other() -> None:
    """Sheets of 200 mm joined in the middle of 15 mm: at 192.5 mm, and 185 mm further."""
    cols = joins.columns(500.0, 200.0, [], [])
    assert [joins.of_column(cols, c) for c in (0, 1, 2)] == [[(1, 192.5)], [(1, 192.5), (2, 377.5)], [(2, 377.5)]]
