"""Lengths as makers write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork import units
from strapwork.errors import InputError


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("17.2 cm", 172.0),
        ("172mm", 172.0),
        ("6 3/4 in", 171.45),
        ('6-3/4"', 171.45),
        ("6.75 inches", 171.45),
        ("18,5 cm", 185.0),
        ("1 ft 2 1/2 in", 368.3),
        ("1' 2\"", 355.6),
        ("6½ in", 165.1),
        ("½ in", 12.7),
        ("  172   MM ", 172.0),
        ("1.5 m", 1500.0),
        ("0,5 cm", 5.0),
    ],
)
def test_reads_what_makers_write(text: str, mm: float) -> None:
    assert units.parse_length(text, place="x") == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize(
    "text",
    ["172", "", " ", "9**9**9 in", "1e9 mm", "nan mm", "inf cm", "-3 cm", "−3 cm", "0 mm", "7 4/3 in", "1/0 in", "6,125 in",
     "1,500 mm", "3 parsec", "6 in 3 cm", "__import__('os')", "(1+1) mm", "1 ft 13 in", "٣ cm", "1 mm mm", "x" * 10_000],
)  # fmt: skip
def test_refuses_the_rest_and_says_what_would_work(text: str) -> None:
    with pytest.raises(InputError) as e:
        units.parse_length(text, place="--measure")
    assert str(e.value).startswith("--measure: ")
    assert "; " in str(e.value)
    assert len(str(e.value)) < 300


def test_a_bare_number_counts_only_where_a_unit_was_declared() -> None:
    assert units.parse_length("172", place="x", unit="mm") == 172.0
    assert units.parse_length("6 3/4", place="x", unit="in") == pytest.approx(171.45)
    with pytest.raises(InputError, match="no unit"):
        units.parse_length("172", place="x")


def test_a_number_that_is_no_text_is_refused() -> None:
    with pytest.raises(InputError, match="no unit"):
        units.parse_length(172, place="x")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("1.8 mm", 1.8, 1.8),
        ("4.5 oz", 1.7859375, 1.7859375),
        ("4-5 oz", 1.5875, 1.984375),
        ("1.8–2.2 mm", 1.8, 2.2),
        ("6 iron", 3.175, 3.175),
    ],
)
def test_reads_thickness(text: str, low: float, high: float) -> None:
    t = units.parse_thickness(text, place="x")
    assert (t.low, t.high) == pytest.approx((low, high))


@pytest.mark.parametrize("text", ["5-4 oz", "20 mm", "0 mm", "4-5", "4 cm", "4-5-6 oz", "0.1 mm"])
def test_refuses_thickness(text: str) -> None:
    with pytest.raises(InputError):
        units.parse_thickness(text, place="x")


def test_caps_in_lignes() -> None:
    assert units.parse_cap("24 L", place="x") == pytest.approx(15.24)
    assert units.parse_cap("20 lignes", place="x") == pytest.approx(12.7)
    with pytest.raises(InputError):
        units.parse_cap("24", place="x")


@given(
    whole=st.integers(0, 60),
    top=st.integers(0, 31),
    style=st.sampled_from([" ", "-"]),
    unit=st.sampled_from(["in", '"', " inches"]),
)
def test_every_thirty_second_survives_writing_and_reading(whole: int, top: int, style: str, unit: str) -> None:
    mm = (whole + top / 32) * 25.4
    text = units.format_inches(mm).removesuffix(" in").replace(" ", style) + unit
    if mm > 0:
        assert units.parse_length(text, place="x") == pytest.approx(mm, abs=1e-9)


@given(st.floats(0.05, 2000.0))
def test_shown_lengths_are_within_half_a_step(mm: float) -> None:
    assert units.parse_length(units.format_mm(mm, 1), place="x", allow_zero=True) == pytest.approx(mm, abs=0.05 + 1e-6)
    whole = units.format_inches(mm, 16)
    assert units.parse_length(whole, place="x", allow_zero=True) == pytest.approx(mm, abs=25.4 / 32 + 1e-6)


@given(st.text(max_size=60))
def test_no_text_hangs_or_escapes_the_error_family(text: str) -> None:
    for read in (units.parse_length, units.parse_thickness, units.parse_cap):
        try:
            value = read(text, place="x")
        except InputError:
            continue
        assert value


def test_rounding_is_half_up() -> None:
    assert units.format_inches(25.4 * (1 + 1 / 64), 32) == "1 1/32 in"
    assert units.format_mm(0.25, 1) == "0.3 mm"
    assert units.format_mm(0.35, 1) == "0.4 mm"
