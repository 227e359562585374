"""The flat strap and what the checks say of it."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork.errors import InputError
from strapwork.files.folders import Places, folder
from strapwork.geometry.shape import Line, line_string, strap_outline
from strapwork.order import doors
from strapwork.piece import companions, piece
from strapwork.piece import strap as straps
from strapwork.piece.piece import Piece
from strapwork.stock import patterns as pattern_files
from strapwork.stock.leather import Leather
from strapwork.units import Thickness
from tests.helpers import HERE
from tests.helpers import order as order_of

Draft = Callable[..., Piece]


@given(
    pattern=st.sampled_from(
        ["wristband", "belt", "bag-handle", "carrier-handle", "key-fob", "dog-lead", "hat-band", "plain-strap"]
    ),
    share=st.floats(0.02, 0.98),
    thickness=st.floats(1.0, 4.2),
    strands=st.sampled_from([3, 5]),
)
def test_whatever_is_drafted_can_be_cut(pattern: str, share: float, thickness: float, strands: int) -> None:
    r = pattern_files.find(pattern, "test")
    value = r.measure.least + share * (r.measure.most - r.measure.least)
    order = order_of("any", r, value, Leather(Thickness(thickness, thickness)), strands=strands)
    try:
        p = piece.work_out(order)
    except InputError:
        return
    polygon = p.strap.outline.polygon()
    assert polygon.is_valid
    for line in p.strap.slits:
        assert polygon.contains(line_string(line))
    if p.stops:
        return
    for h in p.strap.holes:
        assert polygon.contains(h.shape().polygon())
    for f in p.strap.footprints:
        for line in p.strap.slits:
            assert f.shape.polygon(0.01).distance(line_string(line)) > 0.4


def test_slits_divide_the_strap_evenly_and_are_marked_at_both_ends(draft: Draft) -> None:
    p = draft("wristband", "172 mm", strands=5, width=30.0, sets=1)
    assert [s.y0 for s in p.strap.slits] == pytest.approx([6, 12, 18, 24])
    stops = [m for m in p.strap.marks if m.kind == "stop"]
    assert len(stops) == 8
    assert {round(m.line.x0, 6) for m in stops} == {round(p.fit.slit_start, 6), round(p.fit.slit_end, 6)}


def test_relief_holes_take_the_place_of_stop_marks(draft: Draft) -> None:
    p = draft("wristband", "172 mm", relief=1.5)
    holes = [h for h in p.strap.holes if h.purpose == "relief"]
    assert len(holes) == 4
    assert not [m for m in p.strap.marks if m.kind == "stop"]
    assert p.strap.slits[0].x0 == pytest.approx(p.fit.slit_start + 0.75)


def test_snap_halves_face_as_they_meet(draft: Draft) -> None:
    wrapping = {f.half: f.faces for f in draft("wristband", "172 mm").strap.fittings}
    assert wrapping == {"cap": "grain", "stud": "flesh"}
    face_to_face = {f.half: f.faces for f in draft("key-fob", "90 mm").strap.fittings}
    assert face_to_face == {"cap": "grain", "stud": "grain"}


def test_the_stack_chooses_the_snap(draft: Draft) -> None:
    sizes = [draft("wristband", "172 mm", t, width=25.4).strap.fittings[0].size for t in ("4-5 oz", "8 oz")]
    assert [s.name for s in sizes if s] == ["snap-20", "snap-24"]
    with pytest.raises(InputError, match="no snap holds a stack"):
        draft("wristband", "172 mm", "11 oz", width=40.0)


def test_rivets_grip_both_layers_of_a_turned_end(draft: Draft) -> None:
    fittings = [f for f in draft("carrier-handle", "500 mm", "3 mm").strap.fittings if f.part == "rivet"]
    assert {f.stack for f in fittings} == {6.0}


@pytest.mark.parametrize(
    ("at", "to_slit", "doubled", "onto", "layers"),
    [
        (0.0, 20.0, False, 0.0, 1),
        (19.9, 20.0, False, 0.0, 1),  # plain leather up to the slits
        (22.0, 20.0, False, 0.0, 2),  # in the braid, which is two strands thick
        (-10.0, 20.0, False, 0.0, 1),  # on the tip, beyond the reference point
        (22.0, 0.0, False, 0.0, 1),  # no plain end: a strap that is not slit
        (10.0, 20.0, True, 0.0, 2),  # turned back
        (22.0, 20.0, True, 0.0, 4),  # turned back over the braid
        (0.0, 20.0, False, 1.6, 2),  # on to 1.6 mm of bag
    ],
)
def test_a_post_goes_through_the_layers_that_lie_there(
    at: float, to_slit: float, doubled: bool, onto: float, layers: int
) -> None:
    """Leather of 1.6 mm; the raw end is 25 mm beyond the reference point, which has no say in it."""
    end = pattern_files.End(meets="turned", reference="bar", to_tip="25 mm", to_slit=f"{to_slit} mm")
    post = pattern_files.Fixture(part="rivet", at=f"{at} mm", doubled=doubled, onto=f"{onto} mm")
    assert straps.stack_of(post, end, 1.6) == pytest.approx(1.6 * layers)


def test_a_row_of_posts_stands_about_its_place_and_a_row_of_holes_has_one_on_it() -> None:
    """Two rivets 10 mm apart stand 5 mm to either side; of two holes one is at the measure, the odd one outwards."""
    r = pattern_files.find("plain-strap", "test")
    rivets = pattern_files.Fixture(part="rivet", at="60 mm", count=2, spacing="10 mm", onto="1 mm")
    holes = pattern_files.Fixture(part="hole", at="60 mm", count=2, spacing="10 mm", diameter="3 mm")
    for fixture, want in ((rivets, [55.0, 65.0]), (holes, [50.0, 60.0])):
        start = r.start.model_copy(update={"fixtures": (fixture,), "to_slit": 100.0})
        p = piece.work_out(order_of("row", r.model_copy(update={"start": start}), 400.0))
        assert [h.x for h in p.strap.holes] == want


def test_every_hole_has_a_cross_of_two_millimetres_for_the_awl(draft: Draft) -> None:
    p = draft("belt", "34 in")
    crosses = [m.line for m in p.strap.marks if m.kind == "centre"]
    for h in p.strap.holes:
        mine = sorted((c.x0 - h.x, c.y0 - h.y, c.x1 - h.x, c.y1 - h.y) for c in crosses if _middle(c) == (h.x, h.y))
        assert mine == [pytest.approx((-1, 0, 1, 0)), pytest.approx((0, -1, 0, 1))]


def _middle(line: Line) -> tuple[float, float]:
    return pytest.approx((line.x0 + line.x1) / 2), pytest.approx((line.y0 + line.y1) / 2)


def test_a_stop_mark_is_three_millimetres_across_its_slit_and_shorter_in_narrow_strands(draft: Draft) -> None:
    for strands, width, long in ((3, 19.05, 3.0), (5, 20.0, 2.4)):
        p = draft("wristband", "172 mm", strands=strands, width=width, sets=1)
        stops = [m.line for m in p.strap.marks if m.kind == "stop"]
        assert {round(m.y1 - m.y0, 6) for m in stops} == {long}
        assert {round((m.y0 + m.y1) / 2, 6) for m in stops} == {round(s.y0, 6) for s in p.strap.slits}


def test_a_tip_longer_than_half_the_strap_is_refused(draft: Draft) -> None:
    """A pointed end is as long as the strap is wide: 100 mm of a strap 199 mm long at either end."""
    with pytest.raises(InputError, match="a strap 199 mm long has no room for a tip of 100 mm"):
        draft("plain-strap", "199 mm", width=100.0, ends="pointed", sets=0)
    draft("plain-strap", "201 mm", width=100.0, ends="pointed", sets=0)


@pytest.mark.parametrize(
    ("goods", "measure", "name", "width", "words"),
    [
        ("belt", "34 in", "buckle-25", None, "'buckle-25' is 25.4 mm inside but the strap is 38.1 mm wide; pick 'buckle-38'"),
        ("carrier-handle", "400 mm", "ring-19", None, "'ring-19' is 19.1 mm inside but the strap is 25.4 mm wide; pick 'ring-25'"),
        ("dog-lead", "1.2 m", "hook-25", 26.0, "'hook-25' is 25.4 mm inside but the strap is 26 mm wide; pick 'hook-32'"),
    ],
)  # fmt: skip
def test_hardware_that_the_strap_does_not_go_through_is_refused(
    draft: Draft, goods: str, measure: str, name: str, width: float | None, words: str
) -> None:
    """A strap is at most as wide as what it goes through (common practice, no source); 25.9 mm goes through 25.4 mm."""
    asked = {"hardware": name} | ({} if width is None else {"width": width})
    with pytest.raises(InputError, match=re.escape(f"{words} or make the strap at most ")):
        draft(goods, measure, **asked)
    made = draft("dog-lead", "1.2 m", hardware="hook-25", width=25.9)
    assert "hook-25" in {f.size.name for f in made.strap.fittings if f.size}


def test_a_bar_is_drawn_as_thick_as_it_is_across_the_strap_at_the_fold(draft: Draft) -> None:
    belt = draft("belt", "34 in")
    (bar,) = (p.shape.box() for p in belt.strap.footprints if p.what == "buckle bar")
    (size,) = (f.size for f in belt.strap.fittings if f.part == "buckle")
    fold = next(m.line.x0 for m in belt.strap.marks if m.kind == "fold")
    assert size
    assert bar == pytest.approx((fold - size.bar / 2, 0.0, fold + size.bar / 2, belt.strap.width))


def test_ends_are_clipped_by_less_than_half_the_width(tmp_path: Path) -> None:
    text = (folder("patterns") / "plain-strap.toml").read_text(encoding="utf-8")
    for depth, fits in (("9.9 mm", True), ("10 mm", False)):
        own = re.sub(r'shape = "[a-z]+"', f'shape = "clipped"\ndepth = "{depth}"', text)
        (tmp_path / "own.toml").write_text(own, encoding="utf-8")
        texts = {"pattern": "own", "measure": "300 mm", "width": "20 mm", "sets": "0"}
        order = doors.of_texts(texts, HERE, Places(tmp_path)).orders[0]
        if fits:
            assert piece.work_out(order).strap.width == 20.0
        else:
            with pytest.raises(InputError, match="is clipped by 10 mm on a strap 20 mm wide"):
                piece.work_out(order)


@pytest.mark.parametrize("at", ["20 mm", "21 mm"])
def test_a_slit_on_or_beyond_the_edge_is_named(tmp_path: Path, at: str) -> None:
    text = (folder("patterns") / "plain-strap.toml").read_text(encoding="utf-8")
    (tmp_path / "own.toml").write_text(f'{text}\n[slits]\nat = ["{at}", "10 mm"]\n', encoding="utf-8")
    texts = {"pattern": "own", "measure": "300 mm", "width": "20 mm", "sets": "1", "strands": "3"}
    with pytest.raises(InputError, match=f"a slit at {at} lies off a strap 20 mm wide"):
        piece.work_out(doors.of_texts(texts, HERE, Places(tmp_path)).orders[0])


def test_a_post_that_does_not_hold_is_told_what_would(draft: Draft) -> None:
    with pytest.raises(InputError, match=r"'rivet-8' holds 4 mm to 6 mm but the stack is 6\.8 mm; pick 'rivet-10' \("):
        draft("belt", "34 in", "3.4 mm", hardware="rivet-8")
    with pytest.raises(InputError, match="stack is 12 mm; "):
        draft("belt", "34 in", "6 mm", hardware="rivet-12")


def codes(p: Piece) -> set[str]:
    return {f.code for f in p.findings if not f.code.startswith("safety-")}


def test_findings_that_matter(draft: Draft) -> None:
    assert "strand-curls" in codes(draft("wristband", "172 mm", "3 oz"))
    assert "strand-curls" not in codes(draft("wristband", "172 mm", "4-5 oz"))
    assert "hardware-too-big" in codes(draft("wristband", "172 mm", width=12.0))
    assert "sets-tight" in codes(draft("wristband", "172 mm", sets=3))
    assert "sets-tight" not in codes(draft("wristband", "172 mm", sets=3, leather="4-5 oz", temper="soft"))
    assert "wet-first" in codes(draft("belt", "900 mm", "9 oz"))
    assert "longer-than-a-side" in codes(draft("dog-lead", "2.4 m"))
    assert not codes(draft("wristband", "172 mm"))
    for f in draft("wristband", "172 mm", "3 oz", width=12.0).findings:
        assert f.message
        assert f.source
        assert f.level in ("stop", "caution", "note")


def test_a_slit_is_never_let_under_a_cap(tmp_path: object) -> None:
    r = pattern_files.find("wristband", "test")
    close = r.start.model_copy(update={"to_slit": 5.0})
    p = piece.work_out(order_of("close", r.model_copy(update={"start": close}), 172.0))
    assert "slit-under-hardware" in {f.code for f in p.stops}
    with pytest.raises(InputError, match="under the snap cap"):
        companions.refuse_stops(p, "close")


def test_a_belt_brings_its_keeper() -> None:
    r = pattern_files.find("belt", "test")
    both = companions.with_companions(order_of("Harbour belt", r, 900.0, count=2))
    assert [p.pattern.name for p in both] == ["belt", "keeper-loop"]
    t = both[0].leather.thickness.mid
    assert both[1].value == pytest.approx(2 * (38.1 + 2 * t))
    assert both[1].count == 2


def test_what_cannot_be_worked_is_refused(draft: Draft) -> None:
    with pytest.raises(InputError, match="cannot be worked with both ends joined"):
        draft("wristband", "172 mm", strands=4)
    with pytest.raises(InputError, match="too narrow for 9 strands"):
        draft("wristband", "172 mm", width=15.0, strands=9)
    with pytest.raises(InputError, match="out of range for 'wristband'"):
        draft("wristband", "3 m")


def test_ends_and_hardware_as_asked(draft: Draft) -> None:
    p = draft("wristband", "172 mm", "2.2 mm", ends=("square", "pointed"), hardware="snap-24", width=25.4)
    assert p.pattern.start.shape == "square"
    assert p.strap.outline == strap_outline(p.strap.length, 25.4, "square", "pointed")
    assert {f.size.name for f in p.strap.fittings if f.size} == {"snap-24"}
    with pytest.raises(InputError, match="'wristband' has no buckle; pick a snap"):
        draft("wristband", "172 mm", hardware="buckle-38")
    with pytest.raises(InputError, match="did you mean 'snap-24'"):
        draft("wristband", "172 mm", hardware="snap-2")
    with pytest.raises(InputError, match=r"'snap-24' holds 2 mm to 3\.6 mm but the stack is 1\.8 mm; pick 'snap-20'"):
        draft("wristband", "172 mm", "1.8 mm", hardware="snap-24")
    shaped = draft("wristband", "172 mm", "2.2 mm", ends="Square, pointed").pattern
    assert (shaped.start.shape, shaped.finish.shape) == ("square", "pointed")
    for bad in ("", "star", "round,round,round"):
        with pytest.raises(InputError, match="no shape of ends"):
            draft("wristband", "172 mm", ends=bad)


def test_a_belt_with_seven_holes_keeps_its_plain_leather(draft: Draft) -> None:
    five, seven = draft("belt", "900 mm"), draft("belt", "900 mm", holes=7)
    rows = [[h.x for h in p.strap.holes if h.purpose == "adjustment"] for p in (five, seven)]
    assert [len(r) for r in rows] == [5, 7]
    assert seven.fit.finished == five.fit.finished
    # From the innermost hole to the slit end, and from the outermost to the tip, as before.
    assert rows[1][0] - seven.fit.slit_end == pytest.approx(rows[0][0] - five.fit.slit_end)
    assert seven.strap.length - rows[1][-1] == pytest.approx(five.strap.length - rows[0][-1])
    with pytest.raises(InputError, match="has no row of holes"):
        draft("wristband", "172 mm", holes=5)
    with pytest.raises(InputError, match="has no row of holes"):
        draft("hat-band", "570 mm", holes=5)  # a lace hole at either end is no row


def test_the_number_of_holes_is_of_holes_and_not_of_the_rivets_beside_them() -> None:
    belt = pattern_files.find("belt", "test")
    rivets = pattern_files.Fixture(part="rivet", at="-60 mm", count=2, spacing="10 mm", onto="1 mm")
    finish = belt.finish.model_copy(update={"fixtures": (rivets, *belt.finish.fixtures)})
    p = piece.work_out(order_of("belt", belt.model_copy(update={"finish": finish}), 900.0, holes=7))
    there = [h.purpose for h in p.strap.holes if h.end == "finish"]
    assert (there.count("rivet"), there.count("adjustment")) == (2, 7)


def test_relief_holes_leave_a_millimetre_of_each_strand(draft: Draft) -> None:
    """Three strands of 24 / 3 = 8 mm: holes of 7 mm and no more, and that is what the maker is told."""
    with pytest.raises(InputError, match=r"leave nothing of strands 8 mm wide; use at most 7 mm\."):
        draft("wristband", "172 mm", width=24.0, relief=7.1)
    holes = draft("wristband", "172 mm", width=24.0, relief=7.0).strap.holes
    assert [h.diameter for h in holes if h.purpose == "relief"] == [7.0] * 4


def test_slits_stay_where_the_pattern_has_them_until_there_are_other_strands(draft: Draft) -> None:
    """A wristband of 19.05 mm slit at 6 and 12 mm; with five strands a fifth of the width each."""
    r = pattern_files.find("wristband", "test")
    own = r.model_copy(update={"slits": r.slits.model_copy(update={"at": (6.0, 12.0)})})
    for asked, rows in (({}, [6.0, 12.0]), ({"strands": 5}, [3.81, 7.62, 11.43, 15.24])):
        p = piece.work_out(order_of("band", own, 172.0, sets=1, **asked))
        assert [line.y0 for line in p.strap.slits] == pytest.approx(rows)
