"""What a person sees on the page: every kind of goods, for either hand, without a fault behind it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from strapwork.cli import main as cli
from strapwork.files.folders import Places
from strapwork.order import doors
from strapwork.piece.companions import with_companions
from strapwork.say import findings, lengths
from strapwork.stock import patterns
from tests.conftest import alerts, settled, watched
from tests.helpers import HERE

pytestmark = pytest.mark.browser
# The goods are listed by the tool itself: a new pattern is tried as soon as it is there.
GOODS = patterns.all_patterns()


def shown(page: Any, selector: str) -> str:
    return re.sub(r"\s+", " ", page.inner_text(selector))


@pytest.fixture(scope="module")
def counter(browser: Any) -> Iterator[tuple[Any, list[str]]]:
    """One page for all goods, one after the other, and what goes wrong on it."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    yield page, watched(page)
    context.close()


@pytest.mark.parametrize("pattern", GOODS, ids=lambda p: p.name)
def test_every_goods_shows_its_lengths_drawing_cautions_and_sheets(
    counter: tuple[Any, list[str]], server: str, pattern: patterns.Pattern
) -> None:
    page, faults = counter
    texts = {"pattern": pattern.name, "measure": pattern.measure.example(), "units": "mm"}
    page.goto(f"{server}/?pattern={pattern.name}&measure={texts['measure'].replace(' ', '+')}&hand=right")
    judge(page, pattern, texts | {"hand": "right"})
    page.evaluate(
        "() => { byId('f-hand').value = 'left'; byId('f-hand').dispatchEvent(new Event('change', {bubbles: true})); }"
    )
    judge(page, pattern, texts | {"hand": "left"})
    assert (faults, alerts(page)) == ([], [])


def judge(page: Any, pattern: patterns.Pattern, texts: dict[str, str]) -> None:
    pieces = with_companions(doors.of_texts(texts, HERE, Places()).orders[0])
    settled(page)  # the drawing that came with the page gives way to one for the width there is

    assert page.locator("#rows tr").count() > 1
    for said in lengths.three(pieces[0], "mm"):
        assert f"{said.what} {said.length} {said.why}" in shown(page, "#lengths")
    drawing = page.locator("#strap svg").bounding_box()
    assert drawing["width"] > 300
    assert drawing["height"] > 20
    assert page.locator("#strap svg path").count() >= 1
    mind = shown(page, "#findings")
    for caution in findings.cautions(pieces[:1]):
        if caution in [findings.sentence(f) for f in pieces[0].findings]:
            assert caution in mind
    assert re.search(r"\d+ sheets? of A4", shown(page, "#sheets"))
    if pieces[0].plan:
        assert f"{texts['hand']}-handed" in shown(page, "#braiding")
    if "load" in pattern.hazards:
        assert "weakest" in shown(page, "#load-card")
    assert page.is_hidden("#general")


def test_a_fault_in_a_script_is_not_called_a_lost_server(browser: Any, server: str) -> None:
    context = browser.new_context()
    opened = context.new_page()
    faults: list[str] = []
    opened.on("pageerror", lambda e: faults.append(str(e)))
    opened.route("**/preview?*", lambda r: r.fulfill(json={"ok": True, "notes": {}, "errors": {}, "general": ""}))
    with opened.expect_event("pageerror"):
        opened.goto(f"{server}/?pattern=wristband&measure=172")
    told = opened.inner_text("body")
    context.close()

    assert faults
    assert "lost its server" not in told


def test_a_lost_server_is_told_and_found_again(browser: Any, server: str) -> None:
    context = browser.new_context()
    opened = context.new_page()
    opened.goto(f"{server}/?pattern=wristband&measure=172")
    opened.wait_for_selector("#rows tr")
    opened.route("**/preview?*", lambda r: r.abort("connectionrefused"))
    opened.fill("#f-measure", "180")
    opened.wait_for_selector("#general:has-text('lost its server')")
    opened.unroute("**/preview?*")
    opened.fill("#f-measure", "185")
    opened.wait_for_selector("#lengths:has-text('206.')")
    assert opened.is_hidden("#general")
    assert shown(opened, "#say") == "The server is back; nothing was lost."

    # Whatever finds no server says so, once; what is refused says why and calls no server lost.
    gone = "The page has lost its server; start 'strapwork serve' again. What you typed is kept."
    busy = "the page: too much is asked at once; try again in a moment"
    opened.evaluate(
        "() => { window.busy = []; const a = document.querySelector('[data-file=pdf]');"
        " new MutationObserver(() => busy.push(a.getAttribute('aria-busy'))).observe(a, { attributeFilter: ['aria-busy'] }); }"
    )
    for there, press in (("**/job/piece?*", "#to-job"), ("**/file/pdf?*", "[data-file=pdf]")):
        opened.route(there, lambda r: r.abort("connectionrefused"))
        opened.click(press)
        opened.wait_for_selector(f'#general:text-is("{gone}")')
        opened.route(there, lambda r: r.fulfill(status=503, json={"error": busy}))
        opened.click(press)
        opened.wait_for_selector(f"#general:text-is('{busy}')")
        opened.evaluate("messages()")  # as the pause after a key does, and a field that is left
        assert shown(opened, "#general") == busy
        assert opened.get_attribute("#piece", "data-state") == "new"
        opened.unroute(there)
    assert opened.evaluate("busy") == ["true", None, "true", None]  # at work while a file is made, and no longer
    opened.click("#to-job")
    opened.wait_for_selector("#added:text-is('Added; 1 in the job.')")
    assert opened.is_hidden("#general")
    context.close()


def test_a_piece_of_a_job_is_opened_changed_and_put_back(page: Any, server: str) -> None:
    """Hand, leathers and what has no field come back; the row is not doubled."""
    raw = {
        "job": {"title": "Class", "hand": "left", "leathers": {"dune": {"thickness": "1.8 mm", "backing": "0.5 mm"}}},
        "pieces": [
            {"label": "Ines", "pattern": "wristband", "measure": "16 cm", "leather": "dune", "turns": "Ro Lo"},
            {"label": "Bruno", "pattern": "wristband", "measure": "18 cm", "hand": "right"},
        ],
    }
    page.goto(f"{server}/job")
    page.evaluate("doc => localStorage.setItem('job', JSON.stringify(doc))", raw)
    page.reload()
    page.click("button[aria-label='Open Ines']")
    page.wait_for_selector("#rows tr")
    assert "leathers of this job" in shown(page, "#kept")
    assert page.input_value("#f-hand") == "left"
    page.click("summary:has-text('More fields')")
    page.fill("#f-label", "Ines B.")
    page.press("#f-label", "Tab")
    settled(page)
    assert "row=" in page.url  # after a reload it would still be that row
    assert shown(page, "#to-job") == "Put it back into the job"
    page.click("#to-job")
    page.wait_for_selector("#added:text-is('Put back; 2 in the job.')")
    kept = page.evaluate("() => JSON.parse(localStorage.getItem('job'))")

    assert kept["job"]["leathers"] == raw["job"]["leathers"]  # type: ignore[index]
    assert [p["label"] for p in kept["pieces"]] == ["Ines B.", "Bruno"]
    kept["pieces"][0].pop("row id")  # an identity that the row has in the browser only
    assert kept["pieces"][0] | {"label": "Ines", "hand": "left"} == raw["pieces"][0] | {"hand": "left"}  # type: ignore[index, operator]


def test_the_command_line_and_the_page_name_the_same_goods(page: Any, server: str, capsys: Any) -> None:
    assert cli.main(["patterns", "--json"]) == 0
    named = set(re.findall(r'"name": "([^"]+)"', capsys.readouterr().out))
    page.goto(server)
    assert set(page.eval_on_selector_all("input[name=pattern]", "all => all.map(e => e.value)")) == named
