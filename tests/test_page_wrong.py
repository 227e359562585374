"""All that is wrong is told at once, each at its field with its way out: on the page of one piece and in a job's rows."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import pytest

from strapwork.errors import InputError
from strapwork.files.folders import Places
from strapwork.web import app, wrong
from tests.conftest import SAMPLES, settled, until

HOST = {"Host": "localhost"}


@pytest.fixture(scope="module")
def client() -> Any:
    return app.create_app(Places(None, SAMPLES / "leathers.toml")).test_client()


def answer(client: Any, query: str) -> dict[str, Any]:
    return dict(client.get(f"/preview?{query}", headers=HOST).get_json())


def rows(client: Any, whole: dict[str, Any], *pieces: dict[str, Any]) -> dict[str, Any]:
    page = client.get("/", headers=HOST).get_data(as_text=True)
    head = HOST | {"X-Strapwork-Token": page.split('name="strapwork-token" content="')[1].split('"')[0]}
    return dict(client.post("/job/rows", json={"job": whole, "pieces": list(pieces)}, headers=head).get_json())


@pytest.mark.parametrize(
    ("query", "wanted"),
    [
        ("measure=9000&strands=4", {"measure": "from 100 mm to 300 mm", "strands": "odd number"}),
        ("measure=abc&strands=x", {"measure": "write a number and a unit", "strands": "in digits"}),
        ("strands=4&leather=nope", {"strands": "odd number", "leather": "'nope'"}),  # nothing measured yet
        (
            "measure=9000&leather=nope&machine=laserx&printer=attik&paper=A9&hardware=nail",
            {
                "measure": "from 100",
                "leather": "'nope'",
                "machine": "'laser'",
                "printer": "measure it first",
                "paper": "A4",
                "hardware": "choose one of",
            },
        ),
        (
            "pattern=belt&measure=2+mm&width=900&holes=x",
            {"measure": "give from", "width": "give from", "holes": "digits"},
        ),
        # A fitting is the width's fault or the choice of hardware, by what it does not go on.
        ("pattern=carrier-handle&measure=18+in&width=90+mm", {"width": "takes a strap 90 mm wide"}),
        ("measure=172&leather=10+mm", {"hardware": "No snap holds a stack of 10 mm"}),
        # What one piece lacks is told to the last field, however it was found.
        (
            "measure=9000&leather=nope&strands=4&machine=laserx&printer=attik&width=x&sets=y&hand=up&card=no",
            {
                "measure": "from 100",
                "leather": "'nope'",
                "strands": "odd number",
                "machine": "'laser'",
                "printer": "measure it first",
                "width": "cannot be read",
                "sets": "in digits",
                "hand": "'right' or 'left'",
                "card": "'alone' or 'none'",
            },
        ),
    ],
)
def test_every_wrong_field_has_its_own_message(client: Any, query: str, wanted: dict[str, str]) -> None:
    got = answer(client, query)
    assert set(got["errors"]) == set(wanted)
    for name, words in wanted.items():
        assert words in got["errors"][name], name
    assert not got["ok"]


def judged(values: dict[str, str], known: tuple[str, ...] = (), whole: str = "") -> wrong.Told[str]:
    """Faults of a thing whose parts a to g must not be 'bad', in that order, and all in all not be as ``whole`` says."""

    def make(asked: Mapping[str, Any]) -> str:
        for name in "abcdefg":
            if asked.get(name) == "bad":
                raise InputError(name, f"{name} is bad", "take another")
        said = "".join(str(asked.get(name, "-"))[0] for name in "abcdefg")
        if said == whole:
            raise InputError("whole", f"{whole} cannot be", "change it")
        return said

    return wrong.found(values, make, lambda e: e.place.replace("whole", ""), stand_in, known)


def stand_in(name: str) -> tuple[dict[str, Any], dict[str, Any]]:
    return {name: "plain"}, ({name: None} if name == "c" else {name: "quaint"})


BAD = dict.fromkeys("abcdefg", "bad")


@pytest.mark.parametrize("faults", range(8))
def test_up_to_five_faults_are_told_in_their_order_each_once(faults: int) -> None:
    """What is made with what stood in is never handed over as what was asked for."""
    told = judged({**dict.fromkeys("abcdefg", "good"), **dict.fromkeys("abcdefg"[:faults], "bad")})
    assert list(told.errors) == list("abcdefg"[: min(faults, 5)])
    assert [str(e) for e in told.errors.values()] == [f"{n}: {n} is bad; take another." for n in told.errors]
    assert told.made == ("ggggggg" if faults == 0 else None)
    assert told.enough == (faults < 5)
    assert told.aside == dict.fromkeys(told.errors, "plain")
    assert told.general is None


def test_what_only_one_of_two_stand_ins_meets_is_not_told() -> None:
    """With b plain all is not as it should be, with b quaint it is, so it is not known to be a fault of what was asked."""
    asked = dict.fromkeys("abcdefg", "good")
    told = judged({**asked, "b": "bad"}, whole="gpggggg")
    assert (list(told.errors), told.general, told.enough, told.made) == (["b"], None, False, None)
    told = judged({**asked, "b": "bad"}, whole="gqggggg")
    assert (list(told.errors), told.general, told.enough) == (["b"], None, True)
    told = judged(asked, whole="ggggggg")
    assert (told.errors, str(told.general), told.enough) == ({}, "whole: ggggggg cannot be; change it.", False)


def test_faults_that_are_known_already_are_set_aside_and_not_told_again() -> None:
    told = judged({**BAD, "f": "good", "g": "good"}, known=("a", "c"))
    assert list(told.errors) == ["b", "d", "e"]
    assert (told.enough, told.made, set(told.aside)) == (True, None, set("abcde"))
    told = judged({"a": "good"}, known=("c",))
    assert (told.errors, told.enough, told.made, told.aside) == ({}, True, None, {"c": "plain"})


def test_a_message_that_hangs_on_another_wrong_field_is_not_guessed(client: Any) -> None:
    # How many sets go in follows from the strands; with a number of strands that cannot be braided nobody knows.
    assert set(answer(client, "measure=172&strands=4&sets=40")["errors"]) == {"strands"}
    assert set(answer(client, "measure=172&strands=5&sets=40")["errors"]) == {"sets"}
    assert set(answer(client, "measure=9000&strands=3&sets=40")["errors"]) == {"measure"}


def test_each_wrong_field_has_its_way_out_although_the_other_is_still_wrong(client: Any) -> None:
    ways = answer(client, "measure=6+3/4+mm&strands=4")["remedies"]
    assert [w["text"] for w in ways["measure"]] == ["6 3/4 in"]
    assert [w["text"] for w in ways["strands"]][:2] == ["3", "5"]
    # Taken one after the other they make the piece.
    assert answer(client, "measure=6+3/4+in&strands=5")["ok"]


@pytest.mark.parametrize(
    ("query", "field", "ways"),
    [
        ("measure=172&strands=6", "strands", ["5", "7", ""]),
        ("measure=172&strands=2", "strands", ["3", ""]),
        ("measure=172&strands=4", "strands", ["3", "5", "Rooo Luoo Ruuu Louu"]),
        ("measure=172&width=1.5", "width", ["1.5 cm", "1.5 in", ""]),
        ("measure=172&width=1+1/2", "width", ["1 1/2 in", "1 1/2 cm", ""]),  # fractions are of an inch
        ("measure=172&width=1%C2%BD", "width", ["1½ in", "1½ cm", ""]),
        ("measure=172&machine=lazer", "machine", ["laser", ""]),
        ("pattern=wristbant&measure=172", "pattern", ["wristband"]),  # goods have to be something
        ("measure=6.75", "measure", ["6.75 in"]),
    ],
)
def test_ways_out_are_offered_likeliest_first(client: Any, query: str, field: str, ways: list[str]) -> None:
    assert [w["text"] for w in answer(client, query)["remedies"][field]] == ways


@pytest.mark.parametrize("row", [False, True])
def test_leather_too_thick_for_any_snap_is_said_once(client: Any, row: bool) -> None:
    """No other size of snap mends that, so it is the same fault again when the size is set aside."""
    if row:
        (got,) = rows(client, {}, {"pattern": "wristband", "measure": "172 mm", "leather": "6.5 mm"})["rows"]
        assert list(got["problems"]) == ["hardware"]
    else:
        got = answer(client, "measure=172&leather=6.5+mm")
        assert (list(got["errors"]), got["general"]) == (["hardware"], "")


def test_three_wrong_fields_have_a_way_out_each(client: Any) -> None:
    ways = answer(client, "measure=6+3/4+mm&strands=4&leather=harbour-tann")["remedies"]
    assert {name: found[0]["text"] for name, found in ways.items()} == {
        "measure": "6 3/4 in",
        "strands": "3",
        "leather": "harbour-tan",
    }


def test_the_form_without_scripts_shows_both_messages_and_their_links(client: Any) -> None:
    page = client.get("/?measure=6+3/4+mm&strands=4", headers=HOST).get_data(as_text=True)
    for name, words, link in (
        ("measure", "out of range", "You mean 6 3/4 in?"),
        ("strands", "4 strands", "Cut 5 strands"),
    ):
        part = page.split(f'data-field="{name}"')[1].split('data-field="')[0]
        assert words in part.split(f'id="n-{name}"')[1].split("</p>")[0]
        assert re.search(rf'<a class="way" href="/\?[^"]*">{re.escape(link)}</a>', part), name
        assert 'aria-invalid="true"' in part
    assert re.search(r'id="fields" open', page)  # the strands are behind a word


def test_what_is_wrong_and_has_no_field_is_told_over_the_piece(client: Any) -> None:
    got = answer(client, "measure=9000&lists=perhaps&formats=doc")
    assert set(got["errors"]) == {"measure", "lists", "formats"}
    assert "'perhaps' is not a choice here" in got["general"]
    assert "Sheets as: " in got["general"]
    page = client.get("/?measure=172&formats=doc", headers=HOST).get_data(as_text=True)
    assert re.search(r'id="general" class="problem" role="status"\s*>Sheets as: ', page)


def test_a_row_of_a_job_tells_all_its_faults_and_the_job_its_own_at_its_fields(client: Any) -> None:
    got = rows(
        client,
        {"machine": "laserx", "printer": "attik", "prices": "none-such", "spare": "lots"},
        {"pattern": "wristband", "measure": "9 m", "strands": 4, "leather": "nope"},
        {"pattern": "wristband", "measure": "172 mm"},
        {"pattern": "wristbant", "measure": "172 mm", "leather": "nope"},
    )
    assert set(got["job"]) == {"machine", "printer", "prices", "spare"}
    assert "'lots' is no share; write it as 0.1 or as '10 %'" in got["job"]["spare"]
    assert set(got["rows"][0]["problems"]) == {"measure", "strands", "leather"}
    assert got["rows"][0]["labels"]["strands"] == "Strands"  # it has no column, so its name is said
    assert got["rows"][1]["problems"] == {}  # what is wrong with the job is not held against its rows
    assert got["rows"][1]["cut"]
    assert set(got["rows"][2]["problems"]) == {"pattern", "leather"}


IN_SIGHT = """(name) => { const seen = (e) => e.getBoundingClientRect();
  const field = seen(byId('f-' + name).closest('.field')), panel = seen(document.querySelector('.panel'));
  return field.top >= panel.top && field.bottom <= panel.bottom; }"""


@pytest.mark.browser
def test_two_messages_stand_at_their_fields_and_the_pdf_goes_to_the_first(page: Any, server: str) -> None:
    page.goto(f"{server}/?measure=6+3/4+mm&count=x")
    settled(page)
    # The one at the panel's end is brought into sight; its way out leaves what was typed since the page came.
    assert page.evaluate(IN_SIGHT, "count")
    page.fill("#f-label", "Quay")
    page.click(".way >> text=You mean 6 3/4 in?")
    assert page.evaluate("() => document.activeElement.id") == "f-measure"
    assert page.input_value("#f-measure") == "6 3/4 in"
    assert page.input_value("#f-label") == "Quay"
    until(page, "() => location.search.includes('label=Quay')")
    page.fill("#f-count", "2")
    page.press("#f-count", "Tab")
    page.wait_for_selector("form[data-state=new]")
    assert page.inner_text("#n-count") == ""
    assert page.get_attribute("#f-count", "aria-invalid") is None
    # While someone is at work in the panel it stays where it is.
    page.evaluate("() => document.querySelector('.panel').scrollTo(0, 0)")
    page.focus("#f-temper")
    page.fill("#f-strands", "4")
    page.evaluate("() => { byId('f-count').value = 'y'; }")
    page.press("#f-strands", "Enter")
    page.wait_for_selector("#n-count.wrong")
    assert page.evaluate("() => document.querySelector('.panel').scrollTop") == 0
    page.evaluate("() => { byId('f-count').value = '2'; }")
    page.fill("#f-measure", "9000")
    page.keyboard.press("Enter")
    page.wait_for_selector("#n-measure.wrong")
    page.wait_for_selector("#n-strands.wrong")
    assert page.get_attribute("#f-measure", "aria-invalid") == "true"
    assert page.locator("#w-strands button").count() >= 2
    page.click("#dock [data-file=pdf]")
    until(page, "() => document.activeElement.id === 'f-measure'")
    page.fill("#f-measure", "172 mm")
    page.keyboard.press("Enter")
    page.click("#w-strands button >> text=Cut 5 strands")
    page.wait_for_selector("form[data-state=new]")
    settled(page)
