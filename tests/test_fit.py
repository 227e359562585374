"""From measure to cut length."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork.errors import InputError
from strapwork.files.folders import Places
from strapwork.order import doors
from strapwork.piece import fit, piece
from strapwork.piece.piece import Piece
from strapwork.units import display_step, format_column
from tests.helpers import HERE

Draft = Callable[..., Piece]


@pytest.mark.parametrize("pattern_measure", [("wristband", "172 mm"), ("belt", "34 in"), ("bag-handle", "420 mm"), ("carrier-handle", "18 in"),
                                             ("key-fob", "90 mm"), ("dog-lead", "1.2 m"), ("hat-band", "57 cm"), ("plain-strap", "30 cm"),
                                             ("keeper-loop", "88 mm")])  # fmt: skip
def test_breakdown_adds_up_and_three_lengths_are_in_order(draft: Draft, pattern_measure: tuple[str, str]) -> None:
    p = draft(*pattern_measure)
    assert math.fsum(r.mm for r in p.fit.rows) == p.fit.cut_length == p.strap.length
    before_ends = [r.mm for r in p.fit.rows if not r.what.endswith("allowance")]
    assert math.fsum(before_ends) == p.fit.reference_to_reference
    assert p.fit.low <= p.fit.cut_length <= p.fit.high
    assert p.fit.finished <= p.fit.reference_to_reference <= p.fit.cut_length
    assert p.fit.basis
    assert all(r.why for r in p.fit.rows)


def test_a_plain_band_is_as_long_as_its_thinnest_and_thickest_leather_make_it(draft: Draft) -> None:
    """172 mm round and 10 mm of ease; over the 25.4 mm beyond either snap the ends lie on each other, so that the strap lies
    on average 1 + 50.8 / finished layers out; half of that all round is pi t (1 + 50.8 / finished)."""
    p = draft("wristband", "172 mm", "1.6-2.0 mm", sets=0)
    for told, t in ((p.fit.low, 1.6), (p.fit.cut_length, 1.8), (p.fit.high, 2.0)):
        finished = told - 50.8
        assert finished == pytest.approx(182.0 + math.pi * t * (1.0 + 50.8 / finished), abs=0.005)
    assert p.fit.take_up == 0.0
    assert not any(r.what == "take-up" for r in p.fit.rows)


def test_what_a_fold_takes_is_a_length_and_no_credit(draft: Draft) -> None:
    fob = draft("key-fob", "90 mm", "2 mm")
    (fold,) = (r.mm for r in fob.fit.rows if r.what == "fold")
    assert fob.fit.turn == fold > 0
    belt = draft("belt", "34 in", "3.4 mm")
    (turn,) = (r.mm for r in belt.fit.rows if r.what.startswith("turn"))
    assert belt.fit.turn == turn > 0


def test_reference_points_stand_where_the_lengths_say(draft: Draft) -> None:
    for pattern, measure, kind in (("wristband", "172 mm", "snap"), ("bag-handle", "420 mm", "rivet")):
        p = draft(pattern, measure)
        xs = sorted(h.x for h in p.strap.holes if h.purpose == kind)
        inner = (xs[len(xs) // 2 - 1], xs[len(xs) // 2])
        assert inner[1] - inner[0] == pytest.approx(p.fit.reference_to_reference, abs=1e-9)
    belt = draft("belt", "900 mm")
    fold = next(m.line.x0 for m in belt.strap.marks if m.kind == "fold")
    holes = sorted(h.x for h in belt.strap.holes if h.purpose == "adjustment")
    assert len(holes) == 5
    assert holes[2] - fold == pytest.approx(belt.fit.reference_to_reference, abs=1e-9)
    assert {round(b - a, 9) for a, b in itertools.pairwise(holes)} == {25.4}


@pytest.mark.parametrize("wrist", ["6 in", "6 1/2 in", "7 in", "7 1/2 in", "8 in"])
def test_thicker_leather_and_more_sets_lengthen_the_strap(draft: Draft, wrist: str) -> None:
    by_leather = [draft("wristband", wrist, leather).fit.cut_length for leather in ("3 oz", "4 oz", "5 oz", "6 oz")]
    assert by_leather == sorted(by_leather)
    assert len(set(by_leather)) == 4
    by_sets = [draft("wristband", wrist, "3 oz", sets=n).fit.cut_length for n in (0, 1, 2, 3)]
    assert by_sets == sorted(by_sets)
    assert len(set(by_sets)) == 4


@given(
    girth=st.floats(80, 900),
    t=st.floats(0.5, 5),
    plain=st.floats(0, 60),
    overlap=st.floats(0, 60),
    braided=st.booleans(),
)
def test_wrap_solves_its_own_equation(girth: float, t: float, plain: float, overlap: float, braided: bool) -> None:
    length = fit.wrapped_length(girth, plain, overlap, braided, t)
    double = length - plain if braided else overlap
    single = length - double
    assert length == pytest.approx(girth + math.pi * (single * t + double * 2 * t) / length, rel=1e-12)


def test_a_plain_band_is_the_circle_half_a_thickness_out() -> None:
    # Radius of the inside plus half the thickness, times two pi.
    inside = 200.0 / (2 * math.pi)
    assert fit.wrapped_length(200.0, 0.0, 0.0, False, 3.0) == pytest.approx(2 * math.pi * (inside + 1.5))


@given(st.floats(105, 290), st.floats(5, 25), st.floats(20, 60), st.sampled_from(["mm", "in", "in16"]))
def test_printed_lines_add_up_to_the_printed_total(girth: float, ease: float, tip: float, units: str) -> None:
    """Each line is the length rounded by itself; a line named rounding carries what that leaves over."""
    fit_ = fitted(girth, ease, tip)
    step = display_step(units)
    rows, total = fit.printed(fit_, units)

    assert math.fsum(row.mm for row, _ in rows if row.what == "rounding") + math.fsum(
        step * math.floor(row.mm / step + 0.5 + 1e-9) for row in fit_.rows
    ) == pytest.approx(step * math.floor(fit_.cut_length / step + 0.5 + 1e-9))
    assert total == format_column(step * math.floor(fit_.cut_length / step + 0.5 + 1e-9), units)
    printed = {row.what: text for row, text in rows}
    assert printed["start allowance"] == printed["finish allowance"]


def fitted(girth: float, ease: float, tip: float) -> fit.Fit:
    texts = {"pattern": "wristband", "measure": f"{girth:.6f} mm", "ease": f"{ease:.6f} mm", "to_tip": f"{tip:.6f} mm"}
    return piece.work_out(doors.of_texts(texts, HERE, Places()).orders[0]).fit


def test_equal_allowances_print_equal_in_inches(draft: Draft) -> None:
    """45 mm is 1.7717 in, 1 25/32 to the nearest 1/32, at either end."""
    p = draft("bag-handle", "420 mm")
    rows, _ = fit.printed(p.fit, "in")
    assert [text for row, text in rows if "allowance" in row.what] == ["1 25/32 in", "1 25/32 in"]


def test_turn_round_a_bar_is_a_quarter_circle(draft: Draft) -> None:
    p = draft("carrier-handle", "500 mm", "3.2 mm")
    turns = [r.mm for r in p.fit.rows if r.what.startswith("turn at")]
    assert turns == pytest.approx([math.pi / 2 * (4.0 + 3.2) / 2] * 2)


def test_too_many_sets_are_refused_with_the_number_that_fits(draft: Draft) -> None:
    with pytest.raises(InputError, match="ask for 4 or fewer"):
        draft("wristband", "172 mm", sets=9)
    jammed = draft("wristband", "172 mm", sets=4)
    assert "sets-very-tight" in {f.code for f in jammed.findings}


def test_no_room_between_the_ends_is_refused(draft: Draft) -> None:
    with pytest.raises(InputError, match="no room for slits"):
        draft("plain-strap", "140 mm", to_slit="70 mm")
