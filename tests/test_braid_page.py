"""The page at the bench: the braid step by step, the mend of spoiled work, and the atlas."""

from __future__ import annotations

import gzip
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from urllib.parse import quote

import pytest

from strapwork.braid import passes
from strapwork.braid import plan as plans
from strapwork.braid.rescue import mend
from strapwork.braid.way import way_of
from strapwork.braid.work import Pass, Work, parse_done
from strapwork.cli import main as cli
from strapwork.web import app, braid_page
from tests.conftest import axe_in_both, framed, resized, until, watched, watched_page
from tests.helpers import STATIC

HOST = {"Host": "localhost"}
MOST_COMPRESSED = 300_000  # the project's own budget for a page of 13 strands


@pytest.fixture(scope="module")
def client() -> Any:
    return app.create_app().test_client()


def rescued(client: Any, **said: str) -> Any:
    query = "&".join(f"{k}={quote(v)}" for k, v in ({"strands": "3", "hand": "right", "weave": "over"} | said).items())
    return client.get(f"/braid/rescue?{query}", headers=HOST)


# -- at its edges ------------------------------------------------------------


@pytest.mark.parametrize("strands", ["009999999", "-3", "2", "27", "3.0", "٣", "x" * 100_000, "", "1e1"])
def test_a_silly_number_of_strands_gives_the_usual_braid(client: Any, strands: str) -> None:
    assert "Step 1 of 8" in client.get(f"/braid?strands={quote(strands)}", headers=HOST).get_data(as_text=True)
    page = client.get(f"/braid/atlas?strands={quote(strands)}", headers=HOST).get_data(as_text=True)
    assert "3.1a: Ro Lo" in page


@pytest.mark.parametrize(
    "said",
    [
        {"done": "4 turns," * 12_500},
        {"below": "1 " * 50_000},
        {"twisted": "A" * 100_000},
        {"done": "4 turns", "strands": "009999999"},
        {"done": "4 turns", "strands": "15"},
        {"done": "4 turns", "hand": "both"},
        {"done": "9999 turns"},
        {"done": "pass 7 front"},
        {"done": "<script>alert(1)</script>"},
        {"below": "free", "after": "9"},
        {"slip": "99"},
        {"below": "A over C", "after": ""},
        {},
    ],
)
def test_a_question_that_cannot_be_read_gets_one_sentence(
    client: Any, said: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("work began before the question was read")

    monkeypatch.setattr(braid_page.rescue, "mend", never)
    reply = rescued(client, **said)
    assert reply.status_code == 400
    text = reply.get_json()["error"]
    assert text.count("\n") == 0
    assert text.endswith(".")
    assert len(text) < 1_500
    assert "--" not in text  # the page has no options


def test_the_page_asks_the_same_engine_as_the_command_line(client: Any, capsys: pytest.CaptureFixture[str]) -> None:
    for done in ("6 turns", "4 turns, pass 1 front", "4 turns, pass 2 back", "4 turns"):
        assert cli.main(["rescue", "3", "--done", done, "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        got = rescued(client, done=done).get_json()
        assert got["state"] == told["state"]
        assert len(got["steps"]) <= len(told["steps"])
        assert all(s["svg"].startswith("<svg") for s in got["steps"])


def test_a_mend_and_the_card_after_it_make_a_finished_set(client: Any) -> None:
    """What the page shows and then the braid's own steps from ``go_on`` on, proven by the condition itself."""
    for hand in ("right", "left"):
        for strands in (3, 5, 7):
            plan = plans.for_hand(plans.standard(strands), hand)
            way = way_of(plans.standard(strands), hand == "left")
            first = plan.schedule[0].after_turn
            for text in (f"{first + 2} turns", f"{first - 1} turns", f"{first} turns, pass 1 back", "1 turns"):
                got = rescued(client, strands=str(strands), hand=hand, done=text).get_json()
                done = parse_done(text, strands, way.turns)
                shown = done.then(mend(way, done).steps[: len(got["steps"])])
                if got["go_on"] is not None:
                    frames = braid_page.braiding.frames(plan)[got["go_on"] - 1 :]
                    for f in frames:
                        step = Pass(f.tab_pass.gap, f.tab_pass.face) if f.tab_pass else Work(plan.turns[f.turn - 1])
                        shown = shown.then([step])
                assert len(shown.turns) == len(plan.turns)
                assert passes.is_right(strands, shown.turns, shown.passes), (hand, strands, text)


@pytest.mark.parametrize(
    ("hand", "gap", "turn"), [("right", 2, "right strand C over B"), ("left", 1, "left strand A over B")]
)
def test_a_pass_that_is_still_to_come_is_told_once(client: Any, hand: str, gap: int, turn: str) -> None:
    """Who is walked through the pass and then reads of it again would make it twice."""
    got = rescued(client, hand=hand, done=f"4 turns, pass {gap} front, 2 turns").get_json()
    assert got["headline"] == "All is well after turn 6: the pass of the tab comes next."
    (step,) = got["steps"]
    assert step["title"] == "Pass the tab"
    assert got["then"] == (
        f"Then the set is finished: every strand hangs free and untwisted. "
        f"Begin the next set with turn 1: {turn}, to the centre."
    )
    assert (got["go_on"], got["sets"]) == (None, 1)


def test_the_strands_as_they_lie_are_answered_without_knowing_what_was_done(client: Any) -> None:
    free = rescued(client, below="free", after="").get_json()
    assert free["state"] == "well"
    assert "All is well" in free["headline"]
    assert (
        rescued(client, below="A over B, A over B", after="6").get_json()["state"] == "well"
    )  # crossed, and crossed back
    # The same tangle as that of the forgotten pass.
    from strapwork.braid.looks import look

    way = way_of(plans.standard(3))
    done = parse_done("6 turns", 3, way.turns)
    seen = look(3, done.turns, done.passes)
    got = rescued(client, below=" ".join(map(str, seen.tangle)), after="6").get_json()
    assert got["state"] == "mend"
    assert got["steps"]
    unknown = rescued(client, twisted="none", after="6").get_json()
    assert "headline" in unknown


def test_thirteen_strands_stay_light(client: Any) -> None:
    for query in ("strands=13", "strands=13&learners=two"):
        whole = [client.get(f"/braid?{query}", headers=HOST).data]
        whole += [client.get(f"{STATIC}/{n}", headers=HOST).data for n in ("page.css", "braid.css", "ask.js")]
        whole += [client.get(f"{STATIC}/{n}.js", headers=HOST).data for n in ("braid", "braid_film", "braid_wrong")]
        assert sum(len(gzip.compress(part)) for part in whole) < MOST_COMPRESSED


def test_the_page_needs_no_script_to_show_a_step(client: Any) -> None:
    page = client.get("/braid?strands=5&hand=left&step=7&weave=under", headers=HOST).get_data(as_text=True)
    assert "Step 7 of 12" in page
    assert 'name="step" value="8"' in page
    assert 'name="step" value="6"' in page
    assert page.count('<div class="drawing still"') == 12
    for path in ("/braid?strands=5", "/braid/atlas?strands=7"):
        text = client.get(path, headers=HOST).get_data(as_text=True)
        assert " style=" not in text
        assert "onclick" not in text


def test_the_atlas_shows_what_the_command_line_lists(client: Any, capsys: pytest.CaptureFixture[str]) -> None:
    """The plain braid, over all along and to the middle, has its steps on the bench's page; of three strands its face and its
    back, a mirror image, are drawn of one size."""
    for strands in range(3, 8):
        assert cli.main(["braid", str(strands), "--atlas", "--json"]) == 0
        told = json.loads(capsys.readouterr().out)[0]
        for hand in ("", "left") if strands == 5 else ("",):
            page = client.get(f"/braid/atlas?strands={strands}&hand={hand}", headers=HOST).get_data(as_text=True)
            assert page.count('<article class="card entry"') == len(told["entries"])
            steps = f'href="/braid?strands={strands}{"&amp;hand=left" if hand else ""}"'
            for entry, article in zip(told["entries"], page.split('<article class="card entry"')[1:], strict=True):
                assert f"{entry['name']}: " in article
                assert f"Least tangle {entry['least_tangle']:.2f}." in article
                first = entry["pattern"][0]
                assert (steps in article) == (first[1:] == "o" * (strands // 2))
                face, back = re.findall(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', article)
                assert face == back or strands > 3
                assert ("Brunnian: any one strand out sets the others free. " in article) == entry["brunnian"]
            choices = re.search(r'<select id="strands"[^>]*>(.*?)</select>', page)
            assert choices
            assert re.findall(r"<option (?:selected)?>(\d+)", choices[1]) == ["3", "4", "5", "6", "7"]


def test_two_learners_sit_as_they_work_the_left_hand_on_the_left(client: Any) -> None:
    page = client.get("/braid?strands=3&learners=two&hand=left&step=4", headers=HOST).get_data(as_text=True)
    assert re.findall(r'aria-label="Steps, ([a-z]+)-handed"', page) == ["left", "right"]
    first, second = page.split('<section class="player"')[1:]
    for part, side, step in ((first, "Left", 4), (second, "Right", 1)):
        said = re.findall(r'<p class="do">(\w+) strand', part)
        assert said[0] == side
        assert len(said) == 6
        assert f"Step {step} of 8" in part


@pytest.mark.parametrize("hand", ["right", "left"])
def test_work_that_lies_as_the_moving_picture_shows_it_is_called_well(client: Any, hand: str) -> None:
    """What the picture draws under every step, told to the mends as if seen: they work it out from the crossings alone."""
    page = client.get(f"/braid?strands=3&hand={hand}", headers=HOST).get_data(as_text=True)
    frames = json.loads(re.search(r'class="data">(.*?)</script>', page)[1])["frames"]  # type: ignore[index]
    schedule = plans.for_hand(plans.standard(3), hand).schedule  # type: ignore[arg-type]
    passed = [f for f in frames if f["pass"]]
    assert [(f["turn"], f["pass"]["gap"], f["pass"]["face"]) for f in passed] == [
        (p.after_turn, p.gap, p.face) for p in schedule
    ]
    assert [f["turn"] for f in frames if not f["pass"]] == [1, 2, 3, 4, 5, 6]
    for f in frames:
        below = f["below"]
        lie = " ".join(map(str, below["crossings"])) or "free"
        assert rescued(client, hand=hand, below=lie, after=str(f["turn"])).get_json()["state"] == "well", f
        # Downwards each crossing changes neighbours; at the end of the strands they lie as in the tab, A on the left.
        order = below["order"]
        for c in below["crossings"]:
            i = abs(c)
            order = [*order[: i - 1], order[i], order[i - 1], *order[i + 1 :]]
        assert order == [1, 2, 3]
    assert frames[-1]["below"] == {"order": [1, 2, 3], "crossings": [], "twisted": [0, 0, 0]}
    assert any(any(f["below"]["twisted"]) for f in frames)  # between the two passes


@pytest.mark.parametrize(("strands", "mended"), [("13", True), ("15", False)])
def test_something_is_wrong_can_be_said_where_it_is_answered(
    client: Any, monkeypatch: pytest.MonkeyPatch, strands: str, mended: bool
) -> None:
    monkeypatch.setattr(braid_page, "_steps", lambda *_: ([{"svg": "", "title": "", "text": "", "state": ""}], {}))
    page = client.get(f"/braid?strands={strands}", headers=HOST).get_data(as_text=True)
    assert ('class="wrong"' in page) == ('id="wrong-dialog"' in page) == mended
    reply = rescued(client, strands=strands, done="nothing at all").get_json()["error"]
    assert (
        reply == "strands: mends are worked out here for 3 to 13 strands; open the page for one of these numbers."
    ) != mended


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"done": "4 turns," * 12_500}, "done: 100000 characters are too many; keep it to "),
        ({"below": "1 " * 50_000}, "below: 100000 characters are too many; keep it to "),
        ({"hand": "both", "done": "4 turns"}, "the page: the request names no hand or no weave; reload the page."),
        ({"weave": "", "done": "4 turns"}, "the page: the request names no hand or no weave; reload the page."),
        ({"slip": "99"}, "slip: there is no such slip; choose one that is shown."),
        ({"below": "free", "after": "7"}, "after: that is no turn of this set; choose from 0 to 6."),
        ({}, "what was done: nothing is said of the work; say how many turns and which passes were made."),
    ],
)
def test_a_refused_question_says_where_then_what_then_the_way_out(
    client: Any, said: dict[str, str], sentence: str
) -> None:
    assert rescued(client, **said).get_json()["error"].startswith(sentence)


def test_a_mend_that_may_not_be_the_shortest_says_how_far_it_can_be_beaten(
    client: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A forgotten pass noticed at the set's end takes four passes of one and a half turns each, six turns; it is certain that
    nothing is shorter.  Were only what is three half turns shorter ruled out, that is what would be said."""
    sure = rescued(client, done="6 turns").get_json()
    assert sure["bound"] == ""
    assert {re.search(r'viewBox="([^"]+)"', s["svg"])[1] for s in sure["steps"]} == {"0 0 64 66"}  # type: ignore[index]
    real = braid_page.rescue.mend

    def unsure(*args: Any, **more: Any) -> Any:
        m = real(*args, **more)
        return replace(m, at_least=m.cost - 3)

    monkeypatch.setattr(braid_page.rescue, "mend", unsure)
    said = rescued(client, done="6 turns").get_json()["bound"]
    assert "costs as much as 6 turns" in said
    assert "Only what costs less than 4½ turns is ruled out" in said


def test_whoever_asks_beside_others_is_told_so_within_half_a_minute(
    client: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    waited = []

    class Taken:
        """Places that are all taken."""

        def acquire(self, timeout: float) -> bool:
            waited.append(timeout)
            return False

    monkeypatch.setattr(braid_page, "_few", Taken())
    reply = rescued(client, done="6 turns")
    assert reply.status_code == 503
    assert reply.get_json()["error"] == "the page: other questions are being worked out; ask again in a moment."
    assert len(waited) == 1
    assert 5.0 <= waited[0] <= 30.0


# -- in a real browser -------------------------------------------------------


@pytest.fixture
def tablet(browser: Any, server: str) -> Iterator[Any]:
    """A page of a tablet that is not to move, watched like any other."""
    size = {"width": 820, "height": 1180}
    with watched_page(browser, viewport=size, has_touch=True, reduced_motion="reduce") as opened:
        yield opened


@pytest.mark.browser
def test_a_spoiled_set_is_mended_with_the_tablet_alone(tablet: Any, server: str) -> None:
    """The pass after turn 4 forgotten, noticed after turn 6: four passes, as worked out by hand.  All the same on a
    tablet that has no room left to keep the mend."""
    tablet.goto(f"{server}/braid?strands=3&step=7")
    tablet.evaluate(
        """() => { const kept = Storage.prototype.setItem; Storage.prototype.setItem = function (key, text) {
        if (key === 'braid-mend') throw new DOMException('full', 'QuotaExceededError'); kept.call(this, key, text); }; }"""
    )
    assert tablet.inner_text("#player .tell:not([hidden]) h2") == "Turn 6"
    tablet.tap(".wrong")
    tablet.tap("#wrong-passes button:has-text('Take out')")
    assert tablet.inner_text("#wrong-turns") == "6"
    tablet.tap("#wrong-go")
    tablet.wait_for_selector("#mend-headline:has-text('4 passes')")
    told = []
    for k in range(1, 5):
        tablet.tap("#mend-next")
        assert tablet.inner_text("#mend-where") == f"Mend step {k} of 4"
        told.append(tablet.inner_text("#mend-text"))
        (drawn,) = tablet.locator("#mend-picture svg > title").all_text_contents()
        assert drawn.startswith(f"{tablet.inner_text('#mend-title')}: {told[-1]}")
    assert ["right" if "right-hand" in t else "left" for t in told] == ["right", "left", "right", "left"]
    assert [t.rsplit("from the ", 1)[1].split()[0] for t in told] == ["front", "back", "back", "front"]
    tablet.tap("#mend-next")
    assert "the set is finished" in tablet.inner_text("#mend-text")
    tablet.tap("#mend-next")
    assert tablet.inner_text("#where") == "Step 1 of 8"
    assert "Set 2 of 2" in tablet.inner_text("#player .count")


def _words(page: Any, group: str) -> list[str]:
    return list(page.locator(f"{group} button").all_inner_texts())


def _pressed(page: Any, group: str) -> list[str]:
    return list(page.locator(f"{group} [aria-pressed=true]").all_inner_texts())


@pytest.mark.browser
def test_every_way_of_telling_what_went_wrong(tablet: Any, server: str, client: Any) -> None:
    """A left-handed braid of three: ABC, then BAC, BCA, CBA and CAB after turn 4, worked by hand.  What was done is told with
    buttons, and answered as the same said in a line."""

    def answered(done: str) -> None:
        tablet.tap("#wrong-go")
        told = rescued(client, hand="left", done=done).get_json()
        tablet.locator("#mend-headline").wait_for()  # what stood there before the answer is hidden
        assert tablet.inner_text("#mend-headline") == told["headline"]
        assert tablet.inner_text("#mend-text") == told["lies"]
        assert tablet.inner_text("#mend-note") == told["hint"]
        tablet.tap("#mend-ask")
        assert tablet.is_hidden("#wrong-answer")

    tablet.goto(f"{server}/braid?strands=3&hand=left&step=4")
    tablet.tap(".wrong")
    assert tablet.inner_text("#wrong-passes") == "None."
    # Round the wrong strand after turn 4, and one after turn 3 as well.
    tablet.tap("text=Add a pass that was made")
    assert _words(tablet, "#wrong-gaps") == ["C and A", "A and B"]
    assert tablet.is_disabled("#wrong-add")
    tablet.tap("#wrong-gaps button >> nth=1")
    assert _pressed(tablet, "#wrong-gaps") == ["A and B"]
    tablet.tap("#wrong-faces [data-face=back]")
    assert _pressed(tablet, "#wrong-faces") == ["back"]
    tablet.tap("#wrong-add")
    assert tablet.inner_text("#wrong-passes").splitlines()[0] == "After turn 4, between A and B, in from the back"
    out = "Take out: After turn 4, between A and B, in from the back"
    assert tablet.get_attribute("#wrong-passes button", "aria-label") == out
    answered("4 turns, pass 2 back")
    assert tablet.is_disabled("#wrong-add")  # a gap is chosen for each pass anew
    for way, turn in ((1, 4), (-1, 3)):  # no later than the work has come
        tablet.tap(f"#wrong-after-name ~ [data-by='{way}']")
        assert tablet.inner_text("#wrong-after") == str(turn)
    assert _words(tablet, "#wrong-gaps") == ["C and B", "B and A"]
    tablet.tap("#wrong-gaps button >> nth=0")
    tablet.tap("#wrong-faces [data-face=front]")
    tablet.tap("#wrong-add")
    assert tablet.locator("#wrong-passes li span").all_inner_texts() == [
        "After turn 3, between C and B, in from the front",
        "After turn 4, between A and B, in from the back",
    ]
    answered("3 turns, pass 1 front, 1 turns, pass 2 back")
    tablet.tap("#wrong-passes button >> nth=0")
    tablet.tap("#wrong-passes button")
    # Turn 4 worked under, and told once too often.
    tablet.tap("text=A strand was taken under")
    for pressed in (["Turn 4"], [], ["Turn 4"]):
        tablet.tap("#wrong-turned button >> nth=3")
        assert _pressed(tablet, "#wrong-turned") == pressed
        assert tablet.evaluate("document.activeElement.textContent") == "Turn 4"
    answered("3 turns, Ru")
    for way, turns in ((-1, 3), (1, 4)):  # what was not worked cannot have been worked wrong
        tablet.tap(f"#wrong-turns-name ~ [data-by='{way}']")
        assert tablet.inner_text("#wrong-turns") == tablet.inner_text("#wrong-after") == str(turns)
        assert _words(tablet, "#wrong-turned") == [f"Turn {k}" for k in range(1, turns + 1)]
    answered("4 turns")
    # Two sets at most, of six turns each, and a pass before the first turn at the earliest.
    for what, way, told in (("wrong-turns", 1, "12"), ("wrong-after", -1, "0"), ("wrong-turns", -1, "0")):
        tablet.evaluate(
            "([what, way]) => { for (let k = 0; k < 20; k++) document.querySelector(`#${what}-name ~ [data-by='${way}']`).click(); }",
            [what, way],
        )
        assert tablet.inner_text(f"#{what}") == told
    assert _words(tablet, "#wrong-gaps") == ["A and B", "B and C"]
    answered("0 turns")
    # How it lies, from the tab up: not crossed at all, then as six turns lie when the tab was never passed.
    tablet.tap("[data-way=below]")
    tablet.select_option("#wrong-below-after", "6")
    assert tablet.inner_text("#wrong-list") == "No crossing yet: the strands hang free."
    assert tablet.is_disabled("#wrong-less")
    tablet.tap("#wrong-go")
    tablet.wait_for_selector("#mend-headline:has-text('All is well')")
    tablet.tap("#mend-ask")
    for n, words in enumerate(("A over B", "C over A", "B over C", "A over B", "C over A", "B over C")):
        if n == 1:
            assert _words(tablet, "#wrong-crossings") == ["A over B", "B over A", "C over A", "A over C"]
        tablet.tap(f"#wrong-crossings button:has-text('{words}')")
    assert tablet.inner_text("#wrong-list") == "6 crossings."
    tablet.tap("#wrong-less")
    assert tablet.inner_text("#wrong-list") == "5 crossings."
    tablet.tap("#wrong-crossings button:has-text('B over C')")
    tablet.tap("#wrong-go")
    tablet.wait_for_selector("#mend-headline:has-text('4 passes')")
    tablet.tap("#mend-ask")
    tablet.tap("[data-way=twisted]")
    tablet.select_option("#wrong-twisted-after", "6")
    assert _words(tablet, "#wrong-strands") == ["A", "B", "C"]
    for pressed in (["B"], [], ["B"]):
        tablet.tap("#wrong-strands button:has-text('B')")
        assert _pressed(tablet, "#wrong-strands") == pressed
    tablet.tap("#wrong-go")
    told = rescued(client, hand="left", twisted="B", after="6").get_json()["headline"]
    until(tablet, "words => document.querySelector('#mend-headline').textContent === words", arg=told)
    assert "--" not in tablet.inner_text("#wrong-dialog")
    tablet.tap("#mend-ask")
    tablet.tap("[data-way=slips]")
    tablet.wait_for_selector("#wrong-slips svg")
    assert tablet.is_hidden("#wrong-go")  # there is nothing to tell, only to choose
    named = [words for words in _words(tablet, "#wrong-slips") if words == "Mend this: Pass after turn 4 forgotten"]
    assert len(named) == 1
    tablet.tap("#wrong-slips button:has-text('Pass after turn 4 forgotten')")
    tablet.wait_for_selector("#mend-headline:has-text('Not yet well')")
    assert "Pass after turn 4 forgotten." in tablet.inner_text("#mend-note")
    tablet.tap("#mend-ask")
    tablet.tap("#wrong-slips li:last-child button")
    tablet.wait_for_selector("#mend-note:has-text('wrong side')")
    tablet.tap("#wrong-dialog .close")


@pytest.mark.browser
def test_set_and_turn_survive_reload_and_a_closed_page(tablet: Any, server: str) -> None:
    tablet.goto(f"{server}/braid?strands=3&hand=left")
    for typed, taken in (("150", "99"), ("0", "1"), ("3", "3")):
        tablet.fill("#sets", typed)
        tablet.evaluate("document.activeElement.blur()")
        assert tablet.input_value("#sets") == taken
    for _ in range(10):
        tablet.keyboard.press("PageDown")
    assert tablet.inner_text("#where") == "Step 3 of 8"
    assert tablet.inner_text("#player .count") == "Set 2 of 3, turn 3 of 6"
    tablet.reload()
    assert tablet.inner_text("#where") == "Step 3 of 8"
    assert tablet.inner_text("#player .count") == "Set 2 of 3, turn 3 of 6"
    tablet.goto(f"{server}/job")
    tablet.goto(f"{server}/braid")  # no choice: the braid in hand
    tablet.wait_for_url("**hand=left**")
    assert tablet.inner_text("#player .count") == "Set 2 of 3, turn 3 of 6"
    tablet.fill("#sets", "1")  # no more than that after all
    tablet.evaluate("document.activeElement.blur()")
    assert tablet.inner_text("#player .count") == "Set 1 of 1, turn 3 of 6"
    tablet.fill("#sets", "3")
    tablet.evaluate("document.activeElement.blur()")
    tablet.goto(f"{server}/braid?strands=5")
    assert tablet.inner_text("#player .count") == "Set 1 of 3, turn 1 of 10"


@pytest.mark.browser
def test_a_mend_in_hand_survives_reload(tablet: Any, server: str) -> None:
    tablet.goto(f"{server}/braid?strands=3&step=7")
    tablet.tap(".wrong")
    tablet.tap("#wrong-passes button")
    tablet.tap("#wrong-go")
    tablet.wait_for_selector("#mend-headline:has-text('4 passes')")
    tablet.tap("#mend-next")
    tablet.tap("#mend-next")
    tablet.reload()
    assert tablet.inner_text("#mend-where") == "Mend step 2 of 4"
    # And goes on by the pedal, which turns no page under the maker's hands, to where the braid goes on.
    tablet.evaluate("addEventListener('keydown', e => { window.kept = e.defaultPrevented; })")
    for key, told, words in (
        ("PageUp", "Mend step 1 of 4", "Next"),
        ("PageUp", "How it lies now", "Next"),
        ("PageUp", "How it lies now", "Next"),
        *(("PageDown", f"Mend step {k} of 4", "Next") for k in (1, 2, 3, 4)),
        ("PageDown", "Put right", "Go on braiding"),
    ):
        tablet.keyboard.press(key)
        assert tablet.evaluate("kept")
        assert (tablet.inner_text("#mend-where"), tablet.inner_text("#mend-next")) == (told, words)
        assert tablet.is_disabled("#mend-back") == (told == "How it lies now")
        assert tablet.inner_text("#mend-title") != ""
        assert tablet.is_visible("#mend-picture") == (told != "Put right")
    assert tablet.inner_text("#where") == "Step 7 of 8"  # the pedal is the mend's
    tablet.keyboard.press("PageDown")
    assert tablet.evaluate("kept")
    assert (tablet.inner_text("#where"), tablet.inner_text("#player .count")) == (
        "Step 1 of 8",
        "Set 2 of 2, turn 1 of 6",
    )
    until(tablet, "() => localStorage.getItem('braid-mend') === null")
    tablet.reload()
    assert not tablet.is_visible("#wrong-dialog")


@pytest.mark.browser
def test_keys_and_pedals_go_on_and_back(page: Any, server: str) -> None:
    """Below them, each turn of three strands puts one crossing, and the last pass leaves none."""
    page.emulate_media(reduced_motion="reduce")
    page.goto(f"{server}/braid?strands=3")
    crossed = {1: 1, 2: 2, 3: 3, 4: 4, 8: 0}
    for key, step, of_set in (
        ("PageUp", 1, 1),  # before the first step there is none
        (" ", 2, 1),
        ("ArrowRight", 3, 1),
        ("PageDown", 4, 1),
        ("Shift+Space", 3, 1),
        ("PageUp", 2, 1),
        ("ArrowLeft", 1, 1),
        ("Control+ArrowRight", 1, 1),  # the browser's own
        ("x", 1, 1),
        ("End", 8, 1),
        ("PageDown", 1, 2),
        ("PageUp", 8, 1),
        ("PageDown", 1, 2),
        ("End", 8, 2),
        ("PageDown", 8, 2),  # nor is there one after the last
        ("Home", 1, 2),
        ("PageUp", 8, 1),
    ):
        page.keyboard.press(key)
        assert page.inner_text("#where") == f"Step {step} of 8", key
        assert page.inner_text("#player .count").startswith(f"Set {of_set} of 2, "), key
        assert page.is_disabled("#back") == (step == of_set == 1)
        assert page.inner_text("#next") == ("Next" if step < 8 else "Last step" if of_set == 2 else "Next set")
        assert page.is_disabled("#next") == (page.inner_text("#next") == "Last step")
        assert page.locator(".hang .halo").count() == 2 * crossed[step], key  # both strands of a crossing
    page.click("#back")  # with a finger; then the pedal's space still goes on
    page.keyboard.press(" ")
    assert page.inner_text("#where") == "Step 8 of 8"
    page.focus("#back")
    page.keyboard.press("Tab")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press(" ")  # the keyboard has gone to Back
    assert page.inner_text("#where") == "Step 7 of 8"
    page.focus("#sets")
    page.keyboard.press("ArrowLeft")  # within the field
    assert page.inner_text("#where") == "Step 7 of 8"


@pytest.mark.browser
def test_the_atlas_and_the_bench_turn_to_the_hand_that_is_chosen(page: Any, server: str) -> None:
    page.goto(f"{server}/braid/atlas?strands=5")
    assert "Turns: right over 2; left over 2." in page.inner_text("#braid-5\\.1a")
    page.select_option("#hand", "left")
    page.wait_for_url("**/atlas?strands=5&hand=left")
    assert "Turns: left over 2; right over 2." in page.inner_text("#braid-5\\.1a")
    page.click("text=Braid it step by step")
    assert page.inner_text("#player .do:visible").startswith("Left strand A over B and C")
    page.select_option("#hand", label="right")
    page.wait_for_url("**/braid?strands=5&hand=&**")
    assert page.inner_text("#player .do:visible").startswith("Right strand E over D and C")


@pytest.mark.browser
def test_two_learners_each_keep_their_place(page: Any, server: str) -> None:
    page.goto(f"{server}/braid?strands=3&learners=two")
    left, right = page.locator(".player").all()
    assert left.get_attribute("aria-label") == "Steps, left-handed"
    left.locator(".next").click()
    left.locator(".next").click()
    right.locator(".next").click()
    assert [one.evaluate("e => e.classList.contains('active')") for one in (left, right)] == [False, True]
    page.keyboard.press("PageDown")  # to the one touched last
    assert left.locator("[id^=where]").inner_text() == "Step 3 of 8"
    assert right.locator("[id^=where]").inner_text() == "Step 3 of 8"
    left.locator(".next").click()
    page.reload()
    assert left.locator("[id^=where]").inner_text() == "Step 4 of 8"
    assert right.locator("[id^=where]").inner_text() == "Step 3 of 8"


@pytest.mark.browser
def test_i_am_here_goes_to_any_step_of_any_set(page: Any, server: str) -> None:
    page.goto(f"{server}/braid?strands=5")
    page.click(".here")
    turns = [f"Turn {k}" for k in range(1, 11)]
    assert _words(page, "#here-steps") == [*turns[:6], "Pass after turn 6", *turns[6:], "Pass after turn 10"]
    assert page.locator("#here-steps [aria-current=step]").all_inner_texts() == ["Turn 1"]
    for by, of_set in (("-1", "1"), ("1", "2"), ("1", "2"), ("-1", "1"), ("1", "2")):  # of two sets
        page.click(f"#here-dialog [data-by='{by}']")
        assert page.inner_text("#here-set") == of_set
    page.keyboard.press("PageDown")  # the pedal waits for the answer
    page.click("#here-steps button:has-text('Pass after turn 6')")
    assert page.is_hidden("#here-dialog")
    assert page.inner_text("#where") == "Step 7 of 12"
    assert page.inner_text("#player .count") == "Set 2 of 2, after turn 6 of 10"


@pytest.mark.browser
def test_the_move_is_shown_unless_motion_is_unwanted(browser: Any, server: str) -> None:
    for motion, moves in (("no-preference", True), ("reduce", False)):
        context = browser.new_context(reduced_motion=motion)
        page = context.new_page()
        faults = watched(page)
        page.clock.install(time=0)
        page.goto(f"{server}/braid?strands=5&step=6")
        page.clock.pause_at(3_600_000)  # from here on time passes when it is told to
        assert page.is_visible(".again") == moves
        page.click("#next")
        assert page.is_visible("#player .moving") == moves
        if moves:
            paint = "document.querySelector('.carried').getAttribute('transform')"
            before = page.evaluate(paint)
            page.clock.run_for(1_500)  # a pass takes longer
            assert page.evaluate(paint) != before
            assert page.is_visible("#player .moving")
            page.clock.run_for(1_500)
            assert page.is_hidden("#player .moving")
        assert page.locator("#player .still:visible svg").count() == 1
        # What was done already is not shown again unless it is asked for: on the way back, from set to set, by "I am here".
        page.keyboard.press("End")
        for act, shown in (
            ("#next", True), ("#back", False), ("#back", False), (".here", False), ("#here-steps button >> nth=4", False),
        ):  # fmt: skip
            page.click(act)
            assert page.is_visible("#player .moving") == (shown and moves), act
        if moves:
            page.click(".again")
            page.clock.run_for(1_000)  # a turn takes no longer than 1.1 s
            assert page.is_visible("#player .moving")
            page.clock.run_for(200)
            assert page.is_hidden("#player .moving")
            page.click(".again")
            page.emulate_media(reduced_motion="reduce")  # wished while it moves
            page.wait_for_selector(".again", state="hidden")
            assert page.is_hidden("#player .moving")
        assert faults == []
        context.close()


@pytest.mark.browser
def test_the_braid_goes_on_while_the_server_sleeps(browser: Any, server: str) -> None:
    context = browser.new_context(reduced_motion="reduce")
    page = context.new_page()
    page.goto(f"{server}/braid?strands=5")
    errors: list[str] = []
    page.on("pageerror", lambda e: errors.append(str(e)))
    context.set_offline(True)
    for _ in range(13):
        page.click("#next")
    assert page.inner_text("#player .count") == "Set 2 of 2, turn 2 of 10"
    page.click(".here")
    page.click("#here-steps button:has-text('Turn 9')")
    page.click(".wrong")
    page.click("#wrong-go")
    page.wait_for_selector("#wrong-problem:has-text('lost its server')")
    assert "go on without it" in page.inner_text("#wrong-problem")
    context.set_offline(False)
    page.click("#wrong-go")
    page.wait_for_selector("#mend-headline:has-text('All is well')")
    assert errors == []
    context.close()


# What runs off the side, targets under 44 px (the size of WCAG 2.2's success criterion 2.5.5, enhanced) and what is cut off.
AMISS = """() => [
  document.documentElement.scrollWidth <= innerWidth ? [] : ['the page runs off the side'],
  [...document.querySelectorAll(`.bench button, .bench select, .bench a, .bench summary, .atlas select,
    .atlas button, .atlas a, .bench input[type=number], .tick`)].filter(e => e.checkVisibility())
    .map(e => [e, e.getBoundingClientRect()]).filter(([, r]) => r.height < 44 || r.width < 44)
    .map(([e, r]) => `too small: ${e.tagName} ${e.textContent.trim().slice(0, 30)} ${r.width}x${r.height}`),
  [...document.querySelectorAll('.words, .where, .tools button, .turns button, .drawing svg, dialog[open] button')]
    .filter(e => e.checkVisibility()).filter(e => { const r = e.getBoundingClientRect();
    return !e.ownerSVGElement && e.tagName !== 'svg' && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1) || r.right > innerWidth + 1 && !e.closest('.entry'); })
    .map(e => 'cut off: ' + e.className + ' ' + e.textContent.slice(0, 30))].flat()"""


@pytest.mark.browser
def test_each_braid_is_found_again_where_it_was_left(page: Any, server: str) -> None:
    for strands, clicks in ((5, 3), (3, 1)):
        page.goto(f"{server}/braid?strands={strands}")
        for _ in range(clicks):
            page.click("#next")
    for strands, at in ((5, 4), (3, 2)):
        page.goto(f"{server}/braid?strands={strands}")
        assert page.inner_text("#where").startswith(f"Step {at} of")


@pytest.mark.browser
def test_axe_finds_nothing_and_nothing_is_cut_off(browser: Any, server: str) -> None:
    """Every state at every size; axe at the last of them, as no size has what the others have not, and not where all that it
    judges has been judged: thirteen strands have more letters, an empty atlas fewer words, a step of a mend stands where its
    beginning stood."""
    context = browser.new_context(color_scheme="light", reduced_motion="reduce", bypass_csp=True)
    page = context.new_page()
    sizes = [(390, 844), (820, 1180), (1280, 900)]

    def fits(what: str) -> None:
        sizes.reverse()  # each state begins at the size at which the last one ended
        for size in sizes:
            if page.viewport_size != {"width": size[0], "height": size[1]}:
                resized(page, *size)
            assert page.evaluate(AMISS) == [], (what, size)

    def judge(what: str) -> None:
        fits(what)
        assert axe_in_both(page) == "", what

    for path in ("/braid?strands=13&step=15", "/braid/atlas?strands=4"):
        page.goto(server + path)
        fits(path)
    for path in (
        "/braid?strands=3&learners=two",
        "/braid?strands=4",
        "/braid/atlas?strands=5",
        "/braid?strands=3&step=7",
    ):
        page.goto(server + path)
        judge(path)
    page.click(".extra summary")
    judge("More")
    page.click(".extra summary")
    page.click(".here")
    judge("I am here")
    page.click("#here-dialog .close")
    page.click(".wrong")
    page.click("text=Add a pass that was made")
    page.click("text=A strand was taken under")
    judge("what was done")
    page.click("[data-way=twisted]")
    judge("twisted strands")
    page.click("[data-way=slips]")
    page.wait_for_selector("#wrong-slips svg")
    judge("the common slips")
    page.click("[data-way=below]")
    page.click("#wrong-crossings button >> nth=0")
    judge("how it lies")
    page.click("[data-way=done]")
    page.click("#wrong-passes button")
    page.click("#wrong-go")
    page.wait_for_selector("#mend-headline:has-text('4 passes')")
    judge("the mend")
    page.click("#mend-next")
    fits("a step of the mend")
    context.close()


# Where Next is at the first steps, round each pass, and at the last step, each place once.
PLACES = """() => { const next = document.querySelector('#next'), places = new Set(), who = Bench.learners[0];
  const passes = who.data.frames.flatMap((f, k) => (f.pass ? [k, k + 1] : []));
  for (const k of [1, 2, ...passes, who.steps]) {
    who.go(k, 1, false);
    const r = next.getBoundingClientRect();
    places.add([r.x, r.y, r.width, r.height].map(v => v.toFixed(1)).join(' '));
  } return [...places]; }"""


PLACED = """() => ['#next', '#back', '#player .still', '#player .do', '#where', '#player .hang', '#player'].map(name => {
  const r = [...document.querySelectorAll(name)].find(e => e.checkVisibility()).getBoundingClientRect();
  return [name, r.top, r.bottom, Math.min(r.width, r.height)]; })"""


@pytest.mark.browser
def test_picture_words_and_both_buttons_are_in_sight_and_stay_where_they_are(tablet: Any, server: str) -> None:
    for path in ("/braid?strands=3&sets=1&step=5", "/braid?strands=13&sets=1&hand=left&step=15"):
        tablet.goto(server + path)
        for size in ((390, 844), (820, 1180), (1180, 820), (1280, 900)):
            resized(tablet, *size)
            for name, top, foot, least in tablet.evaluate(PLACED):
                assert top >= 0, name
                assert foot <= size[1], name
                assert foot >= size[1] - 6 or name != "#player"  # the whole screen is used
                assert least >= 72 or name not in ("#next", "#back"), name  # a thumb, common practice, no source
            assert len(tablet.evaluate(PLACES)) == 1, (path, size)
            assert tablet.inner_text("#next") == "Last step"
            tablet.evaluate("Bench.learners[0].go(3, 1, false)")
        # Turned over while it is scrolled, the page is laid out no other way.
        assert tablet.evaluate(
            """() => { const top = () => document.querySelector('.bench').style.getPropertyValue('--top'), was = top();
            scrollTo(0, 30); dispatchEvent(new Event('resize')); return [scrollY, top() === was]; }"""
        ) == [30, True]


@pytest.mark.browser
def test_the_mends_buttons_stay_where_they_are(tablet: Any, server: str) -> None:
    tablet.goto(f"{server}/braid?strands=3&step=7")
    tablet.tap(".wrong")
    tablet.tap("#wrong-passes button")
    tablet.tap("#wrong-go")
    tablet.wait_for_selector("#mend-headline:has-text('4 passes')")
    for size in ((390, 844), (820, 1180), (1280, 900)):
        resized(tablet, *size)
        places = []
        for _ in range(5):
            places.append(tablet.locator("#mend-next").bounding_box())
            tablet.evaluate("document.querySelector('#mend-next').click()")
        places.append(tablet.locator("#mend-next").bounding_box())
        assert all(p == places[0] for p in places)
        assert places[0]["y"] + places[0]["height"] <= size[1]
        for _ in range(5):
            tablet.evaluate("document.querySelector('#mend-back').click()")


@pytest.mark.browser
def test_full_screen_keeps_step_tangle_and_both_buttons(tablet: Any, server: str) -> None:
    tablet.goto(f"{server}/braid?strands=5&hand=left&step=7")
    tablet.tap(".extra summary")
    tablet.tap("#full")
    tablet.wait_for_selector("#full:text-is('Leave full screen')")  # said once the page knows of it
    tablet.tap(".extra summary")
    framed(tablet)
    for name in ("#strands", "#hand", "#where", "#player .count", "#player .hang", "#back", "#next", ".wrong"):
        at = tablet.locator(name).bounding_box()
        assert at["y"] >= 0, name
        assert at["y"] + at["height"] <= 1180, name
    tablet.tap(".wrong")  # the questions come up within it
    assert tablet.is_visible("#wrong-go")
    assert tablet.evaluate("document.fullscreenElement !== null")


@pytest.mark.browser
def test_the_screen_is_asked_to_stay_awake_again_after_it_was_locked(tablet: Any, server: str) -> None:
    """A lock is gone once the page was hidden (W3C, Screen Wake Lock API), so it is asked for anew."""
    tablet.add_init_script(
        """let asked = 0; Object.defineProperty(navigator, 'wakeLock', { value: { request: async () => {
        asked += 1; window.held = { released: false, release: async () => { window.held.released = true; } };
        return window.held; } } }); Object.defineProperty(window, 'asked', { get: () => asked });"""
    )
    tablet.goto(f"{server}/braid?strands=3")
    assert tablet.evaluate("asked") == 1
    tablet.evaluate("held.released = true; document.dispatchEvent(new Event('visibilitychange'))")
    assert tablet.evaluate("asked") == 2
    tablet.tap(".extra summary")
    tablet.tap("#awake")  # no more
    assert tablet.evaluate("held.released")
    tablet.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    assert tablet.evaluate("asked") == 2
    tablet.reload()  # nor on the next day
    assert tablet.evaluate("asked") == 0
    tablet.tap(".extra summary")
    tablet.tap("#awake")
    assert tablet.evaluate("asked") == 1
    tablet.tap(".here")  # held already
    assert tablet.evaluate("asked") == 1
