"""Strips from the shop: what to cut from each, and how little is left over."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork.errors import InputError
from strapwork.piece.piece import Piece
from strapwork.workshop import strip_words, strips
from strapwork.workshop.stock_lengths import Stock, Want
from strapwork.workshop.strips import StripPlan

CLASS = [Want(k, 240.0 + 1.7 * k, 1, f"Learner {k + 1}") for k in range(12)]


def check(plan: StripPlan, wants: list[Want], kerf: float) -> None:
    """Every copy is cut once, cuts keep the blade's way apart, and nothing runs into a trimmed end."""
    cut = Counter((c.piece, c.copy) for s in plan.strips for c in s.cuts)
    asked = {(w.piece, copy) for w in wants if w not in plan.too_long for copy in range(1, w.count + 1)}
    assert set(cut) == asked
    assert all(n == 1 for n in cut.values())
    lengths = {w.piece: w.length for w in wants}
    for s in plan.strips:
        assert s.cuts
        at = s.stock.trim - kerf
        for c in s.cuts:
            assert c.start >= at + kerf - 1e-6
            assert c.end - c.start == pytest.approx(lengths[c.piece])
            at = c.end
        assert at <= s.stock.length - s.stock.trim + 1e-6
        room = s.stock.length - s.stock.trim - at - kerf
        assert s.offcut == pytest.approx(max(0.0, room), abs=0.1 * (2 * len(s.cuts) + 4))


LENGTHS = st.lists(st.tuples(st.floats(60.0, 900.0), st.integers(1, 4)), min_size=1, max_size=8)


@given(LENGTHS, st.floats(0.0, 3.0), st.floats(0.0, 20.0))
def test_every_piece_is_cut_once_and_nothing_overlaps(
    lengths: list[tuple[float, int]], kerf: float, trim: float
) -> None:
    wants = [Want(k, mm, n) for k, (mm, n) in enumerate(lengths)]
    plan = strips.plan(wants, [Stock(1300.0, price=Decimal("8.50"), trim=trim)], kerf)
    check(plan, wants, kerf)
    assert plan.bound <= plan.used
    assert plan.cost == plan.used * Decimal("8.50")
    assert plan.cost_bound is not None
    assert plan.cost_bound <= plan.cost


def test_a_class_of_twelve_is_cut_from_the_fewest_strips_and_that_is_proved() -> None:
    plan = strips.plan(CLASS, [Stock(1300.0, have=10)])
    # Five of the shortest come to 1217 mm and the five longest to 1276.5 mm, so five go into each strip: 12 take 3.
    assert (plan.used, plan.bound, plan.proven) == (3, 3, True)
    assert plan.cost is None


def test_the_cheaper_lengths_are_bought() -> None:
    # Two pieces of 500 mm: one strip of 1300 mm at 9.00, or two of 600 mm at 4.00 each.
    wants = [Want(0, 500.0, 2)]
    long, short = Stock(1300.0, price=Decimal("9.00")), Stock(600.0, price=Decimal("4.00"))
    plan = strips.plan(wants, [long, short])
    assert [s.stock for s in plan.strips] == [short, short]
    assert (plan.cost, plan.cost_bound, plan.proven) == (Decimal("8.00"), Decimal("8.00"), True)


def test_strips_in_hand_are_used_before_any_is_bought() -> None:
    plan = strips.plan(CLASS, [Stock(1300.0, have=2), Stock(900.0, price=Decimal("6.00"))])
    assert sorted(s.stock.length for s in plan.strips) == [900.0, 1300.0, 1300.0]
    assert (plan.cost, plan.proven) == (Decimal("6.00"), True)


def test_of_plans_that_cost_the_same_the_one_with_least_strip_is_taken() -> None:
    plan = strips.plan([Want(0, 250.0, 3)], [Stock(1300.0, have=5), Stock(800.0, have=5)])
    assert [s.stock.length for s in plan.strips] == [800.0]
    same = Decimal("5.00")
    plan = strips.plan([Want(0, 250.0, 3)], [Stock(1300.0, price=same), Stock(800.0, price=same)])
    assert [s.stock.length for s in plan.strips] == [800.0]


def test_what_is_in_hand_may_not_be_enough_and_the_plan_says_how_many_are_missing() -> None:
    plan = strips.plan(CLASS, [Stock(1300.0, have=1), Stock(600.0, have=1)])
    check(plan, CLASS, 0.0)
    # Five go into 1300 mm and two into 600 mm, which leaves five of twelve: one strip more.
    assert plan.missing == 1
    assert [s.stock.length for s in plan.strips if s.missing] == [1300.0]


def test_a_piece_longer_than_every_strip_is_named_and_the_rest_is_planned() -> None:
    wants = [*CLASS, Want(12, 1400.0, 1, "Harbour belt"), Want(13, 1290.0, 1, "Quay belt")]
    plan = strips.plan(wants, [Stock(1300.0, have=10, trim=10.0)])
    assert [w.label for w in plan.too_long] == ["Harbour belt", "Quay belt"]  # 1280 mm are left between trimmed ends
    check(plan, wants, 0.0)


def test_the_blade_takes_its_way_between_pieces_but_not_after_a_last_one_that_ends_the_strip() -> None:
    wants = [Want(0, 260.0, 5)]
    assert strips.plan(wants, [Stock(1300.0, have=5)], kerf=0.0).used == 1
    assert strips.plan(wants, [Stock(1304.0, have=5)], kerf=1.0).used == 1
    assert strips.plan(wants, [Stock(1303.9, have=5)], kerf=1.0).used == 2


def test_a_plan_as_data_adds_up() -> None:
    plan = strips.plan(CLASS, [Stock(1300.0, price=Decimal("8.50"))], 0.5, leather="harbour-tan", width=19.05)
    data = strips.as_data(plan)
    assert data["used"] == len(data["plan"]) == data["bound"] == 3
    assert data["cost"] == data["cost_bound"] == "25.50"
    for s in data["plan"]:
        cuts = math.fsum(c["to_mm"] - c["from_mm"] for c in s["cuts"])
        assert cuts + 0.5 * len(s["cuts"]) + s["offcut_mm"] == pytest.approx(1300.0, abs=0.1 * len(s["cuts"]) + 0.1)


@pytest.mark.parametrize(
    ("stocks", "kerf", "words"),
    [
        ([], 0.0, "there is no strip to cut from"),
        ([Stock(1300.0)], 0.0, "neither in hand nor on sale"),
        ([Stock(1300.0, have=3, trim=700.0)], 0.0, "leaves nothing of a strip of 1300 mm"),
        ([Stock(1300.0, have=3)], 20.0, "a blade that takes 20 mm"),
    ],
)
def test_stock_that_makes_no_sense_is_refused(stocks: list[Stock], kerf: float, words: str) -> None:
    with pytest.raises(InputError, match=words):
        strips.plan(CLASS, stocks, kerf)


def test_nothing_to_cut_needs_no_strip() -> None:
    plan = strips.plan([], [Stock(1300.0, have=3)])
    assert (plan.used, plan.bound, plan.proven) == (0, 0, True)


def test_strips_cut_alike_stand_on_one_line_in_words() -> None:
    wants = [Want(0, 250.0, 10, "Class wristband"), Want(1, 1400.0, 1, "Harbour belt")]
    plan = strips.plan(wants, [Stock(1300.0, price=Decimal("8.50"))], leather="harbour-tan", width=19.0)
    said = strip_words.words(plan, [w.label for w in wants])
    assert "Strips of harbour-tan, 19 mm wide: 2 of 1300 mm." in said
    assert "They cost 17.00; no plan costs less." in said
    assert "No strip is long enough for Harbour belt (1400 mm)." in said
    assert "strips 1 to 2, each 1300 mm: 5 × Class wristband 250 mm · off-cut 50 mm" in said


def test_pieces_of_a_job_are_planned_by_leather_and_width(draft: Callable[..., Piece]) -> None:
    band, wide = draft("wristband", "172 mm", "1.8 mm"), draft("wristband", "172 mm", "1.8 mm", width=25.0)
    other = draft("wristband", "172 mm", "2.2 mm")
    stocks = [
        Stock(1300.0, have=4, leather="1.8 mm", width=19.05),
        Stock(1300.0, have=4, leather="2.2 mm", width=19.05),
    ]
    found = strips.plans([band, wide, other, band], stocks)
    assert [(p.leather, p.used) for p in found] == [("1.8 mm", 1), ("2.2 mm", 1)]
    assert [c.piece for c in found[0].strips[0].cuts] == [0, 3]


def test_a_plan_that_is_not_proved_says_what_no_plan_can_cost_less_than() -> None:
    # A bound is never below the pieces laid end to end at the cheapest price by length.
    wants = [Want(k, 300.0 + 17.3 * k) for k in range(18)]
    shop = [Stock(1300.0, price=Decimal("8.50")), Stock(900.0, price=Decimal("6.10"))]
    plan = strips.plan(wants, shop)
    assert plan.cost is not None
    assert plan.cost_bound is not None
    ends = sum(Decimal(str(w.length)) for w in wants)
    assert plan.cost >= plan.cost_bound >= min(ends * Decimal("8.50") / 1300, ends * Decimal("6.10") / 900)
    unproved = replace(plan, proven=False, cost_bound=Decimal("50.10"))
    assert "no plan can cost less than 50.10" in strip_words.words(unproved, [w.label for w in wants])
