"""Units are honest: inches and ounces where inches are asked for, millimetres where millimetres are."""

from __future__ import annotations

import re
from typing import Any

import pytest

from strapwork.cli import report
from strapwork.errors import InputError
from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.order import doors
from strapwork.stock.hardware import catalogue
from strapwork.units import say, say_at_least, say_at_most, say_thin, shown_in
from strapwork.web import form, show
from tests.helpers import HERE, job_of, pages_read

GOODS = [
    ("wristband", "6 3/4 in"),
    ("belt", "34 in"),
    ("bag-handle", "17 in"),
    ("key-fob", "3 1/2 in"),
    ("dog-lead", "48 in"),
]


def without_trade_names(text: str) -> str:
    """Hardware keeps its trade names, whatever the units ("double-cap rivet, 10 mm post")."""
    for family in catalogue().families:
        for size in family.sizes:
            text = text.replace(size.title, "")
    return text


def said(texts: dict[str, str]) -> list[str]:
    """What the terminal and the page say."""
    job = doors.of_texts(texts, HERE, Places())
    with shown_in(job.units):
        spoken = [report.of_piece(p, job.units) for p in jobs.work_out(job)]
    page = show.preview(form.read(texts, Places()))
    shown: list[Any] = [
        page["lengths"],
        page["rows"],
        page["band"],
        page["findings"],
        page["hardware"],
        page["braiding"],
    ]
    return [*spoken, str(shown)]


@pytest.mark.parametrize(("pattern", "measure"), GOODS)
def test_inches_stay_inches(pattern: str, measure: str) -> None:
    for text in said({"pattern": pattern, "measure": measure, "units": "in"}):
        left = without_trade_names(text)
        assert not re.search(r"\d mm\b", left), re.findall(r".{30}\d mm\b.{20}", left)


@pytest.mark.parametrize(("pattern", "measure"), GOODS)
def test_millimetres_stay_millimetres(pattern: str, measure: str) -> None:
    for text in said({"pattern": pattern, "measure": measure, "units": "mm"}):
        assert not re.search(r"\d (?:in|oz)\b", without_trade_names(text))


def test_leather_typed_in_ounces_comes_back_in_ounces() -> None:
    """1 oz is 1/64 in (common practice): 4-5 oz reads 4 oz to 5 oz, two layers of 4.5 oz 9 oz."""
    with shown_in("in"):
        assert (say_thin(4 * 25.4 / 64), say_thin(9 * 25.4 / 64), say(19.05)) == ("4 oz", "9 oz", "3/4 in")
    assert (say_thin(4 * 25.4 / 64), say(19.05)) == ("1.59 mm", "19.1 mm")


def test_the_sheet_names_the_leather_as_the_job_shows_it() -> None:
    texts = {"pattern": "wristband", "measure": "6 3/4 in", "leather": "4-5 oz", "units": "in", "card": "none"}
    data = jobs.make(doors.of_texts(texts, HERE, Places())).files["wristband.pdf"]
    text = " ".join(pages_read(data))
    assert "4 oz to 5 oz" in text
    assert "1.59 mm" not in text


@pytest.mark.parametrize(("units", "step"), [("mm", "0.1 mm"), ("in", "1/32 in"), ("in16", "1/16 in")])
def test_a_report_says_how_its_lengths_are_rounded(units: str, step: str) -> None:
    told = said({"pattern": "key-fob", "measure": "90 mm", "units": units})[0]
    assert f"Lengths are rounded half up to {step}; the column adds up as printed." in told


@pytest.mark.parametrize("units", ["mm", "in", "in16"])
@pytest.mark.parametrize("room", [2.24, 2.26, 3.999, 5.333333, 9.525])
def test_a_remedy_rounded_for_reading_is_on_the_right_side(units: str, room: float) -> None:
    from strapwork.units import parse_length

    with shown_in(units):
        assert parse_length(say_at_most(room), place="x") <= room + 1e-9
        assert parse_length(say_at_least(room), place="x") >= room - 1e-9


IN_BOTH = re.compile(r"[\d ./]+ (?:mm|in) ?\((?:about )?[\d ./]+ (?:mm|in)\)|50 mm × 50 mm")  # tools, the square


def test_everything_a_job_prints_stays_in_inches() -> None:
    """Sheets, cards, the order page (blades and slots too) and the map of a bed; a tool's size stands there in both."""
    pieces = [{"pattern": p, "measure": m} for p, m in GOODS if p in ("wristband", "belt")]
    job = job_of({"pieces": pieces, "units": "in", "machine": "oscillating-knife", "blade": "1/32 in"})
    made = jobs.make(job)
    for name, data in made.files.items():
        if not name.endswith(".pdf"):
            continue
        text = " ".join(pages_read(data))
        left = without_trade_names(IN_BOTH.sub("", " ".join(text.split())))
        assert not re.search(r"\d mm\b", left), re.findall(r".{40}\d mm\b.{20}", left)
        if "order" in name or name.startswith("x."):
            assert "blades at 1/4 in, 1/2 in" in left
    with shown_in("in"):
        assert made.cutting
        told = report.cutting(made.cutting)
    assert re.search(r"idle travel \d+\.\d ft,", told)
    assert not re.search(r"\d m?m\b", told)


@pytest.mark.parametrize("units", ["mm", "in", "in16"])
@pytest.mark.parametrize(
    ("key", "value"), [("measure", "5 mm"), ("width", "2 mm"), ("width", "1 m"), ("leather", "0.1 mm"), ("ease", "9 m")]
)
def test_the_limits_of_a_refusal_are_in_the_jobs_units_and_are_accepted(units: str, key: str, value: str) -> None:
    texts = {"pattern": "plain-strap", "measure": "900 mm", "strands": "1", "sets": "0", "units": units}
    if key == "ease":
        texts |= {"pattern": "wristband", "measure": "172 mm"}
    with pytest.raises(InputError) as told:
        jobs.work_out(doors.of_texts({**texts, key: value}, HERE, Places()))
    if key == "ease":  # a length that no strap has is refused as it is typed
        assert units == "mm" or not re.search(r"\d mm\b", told.value.remedy)
        return
    found = re.search(r"from (.+?) to ([\d ./]+(?:mm|in|oz))", told.value.remedy)
    assert found
    for limit in found.groups():
        assert limit.endswith(("mm",) if units == "mm" else ("in", "oz"))
        assert jobs.work_out(doors.of_texts({**texts, key: limit}, HERE, Places()))


@pytest.mark.parametrize("width", [15.0, 16.1, 17.77, 19.05, 20.3])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_remedy_for_relief_holes_is_accepted_when_typed_back(width: float, units: str) -> None:
    texts = {"pattern": "wristband", "measure": "172 mm", "width": f"{width} mm", "relief": "9 mm", "units": units}
    with pytest.raises(InputError, match="use at most") as told:
        jobs.work_out(doors.of_texts(texts, HERE, Places()))
    typed = told.value.remedy.removeprefix("use at most ")
    assert jobs.work_out(doors.of_texts({**texts, "relief": typed}, HERE, Places()))
