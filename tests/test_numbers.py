"""``numbers.json`` as others read it: its text, what stands in it, and the mark by which two jobs are told apart."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from strapwork.job import numbers
from strapwork.piece.piece import Piece, work_out
from strapwork.stock.learned import Learned, Measured
from strapwork.stock.leather import Leather
from strapwork.stock.patterns import find
from strapwork.units import Thickness
from tests.helpers import order as order_of

Draft = Callable[..., Piece]


def test_a_change_reads_line_by_line_down_to_four_levels() -> None:
    data = {"title": "Zoë", "pieces": [{"fit": {"rows": [{"mm": 2.0, "n": 1}], "none": None}}], "sheets": []}
    want = """\
{
 "title": "Zoë",
 "pieces": [
  {
   "fit": {
    "rows": [{"mm": 2.0, "n": 1}],
    "none": null
   }
  }
 ],
 "sheets": []
}
"""
    assert numbers.dumps(data) == want
    # One more key at the end is as if it had been there from the start.
    more = numbers.encoded_with(numbers.encoded(data), "files", {"x.pdf": 3})
    assert more == numbers.encoded({**data, "files": {"x.pdf": 3}})
    assert json.loads(more) == {**data, "files": {"x.pdf": 3}}


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_what_json_has_no_number_for_is_never_written(value: float) -> None:
    with pytest.raises(ValueError, match="JSON"):
        numbers.dumps({"pieces": [{"fit": {"finished_mm": value}}]})


def test_the_mark_of_a_job_leaves_the_last_digit_of_a_sine_out_and_no_ten_thousandth() -> None:
    def mark(by: float) -> str:
        return numbers.fingerprint([{"fit": {"mm": 10.0 + by, "rows": [{"mm": 3.0 + by}]}, "label": "Quay"}])

    assert mark(1e-9) == mark(0.0) == mark(-1e-9)
    assert mark(1e-4) != mark(0.0)
    assert len(mark(0.0)) == 8


def test_the_numbers_say_which_half_of_a_snap_shows_on_which_side(draft: Draft) -> None:
    """A wristband overlaps: the cap shows outside, the stud's back lies against the wrist (common practice, no source)."""
    band = numbers.of_piece(draft("wristband", "172 mm"))["hardware"]
    assert {h["half"]: h["shows"] for h in band} == {
        "cap": "cap half with its cap on the grain side and its socket on the flesh side",
        "stud": "stud half with its back on the flesh side and its stud on the grain side",
    }
    assert {h["shows"] for h in numbers.of_piece(draft("bag-handle", "400 mm"))["hardware"]} == {None}


def test_the_numbers_say_what_a_leather_taught_and_nothing_where_it_taught_nothing(draft: Draft) -> None:
    learned = Learned((Measured("s", 6.0, 9.0, "2026-05-02"),))
    order = order_of("x", find("wristband", "test"), 172.0, Leather(Thickness(1.8, 1.8), learned=learned))
    taught = numbers.of_piece(work_out(order))
    assert taught["leather"]["learned_factor"] == pytest.approx(1.5, rel=0.04)
    assert taught["fit"]["take_up_mm"] == pytest.approx(
        taught["leather"]["learned_factor"] * taught["fit"]["modelled_take_up_mm"]
    )
    assert numbers.of_piece(draft("wristband", "172 mm"))["leather"]["learned_factor"] is None


def test_a_strap_that_is_not_slit_has_no_braid_in_its_numbers(draft: Draft) -> None:
    assert numbers.of_piece(draft("plain-strap", "300 mm", sets=0))["braid"] is None


def test_what_is_said_of_a_piece_stands_in_its_numbers_with_its_remedy(draft: Draft) -> None:
    p = draft("wristband", "172 mm", "3 oz")
    told = {f["code"]: f for f in numbers.of_piece(p)["findings"]}
    assert set(told) == {f.code for f in p.findings}
    assert told["strand-curls"]["remedy"].startswith("line or back the leather to 1.59 mm or cut strands of ")
    for f in p.findings:
        assert told[f.code] == {
            "level": f.level,
            "code": f.code,
            "message": f.message,
            "remedy": f.remedy or None,
            "source": f.source,
        }
