"""The page of one piece in use: the answer beside the question, the drawing, nothing lost, made with care."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from strapwork.braid import geometry
from strapwork.files.folders import Places
from strapwork.order import doors
from strapwork.paper import broken
from strapwork.piece.piece import work_out
from strapwork.say import lengths, spots
from strapwork.web import app, form, remedies, strap_view, worn
from tests.conftest import ALL_RULES, axe_in_both, framed, resized, settled, until
from tests.helpers import HERE, STATIC, pages_read

BAND = "pattern=wristband&measure=172&leather=4-5+oz"
BELT = "pattern=belt&measure=34+in"
SIZES = ((320, 640), (390, 844), (820, 1100), (1280, 900), (2560, 1400))
HOST = {"Host": "localhost"}


def piece(pattern: str, measure: str, **more: str) -> Any:
    return work_out(
        doors.of_texts({"pattern": pattern, "measure": measure, "units": "mm", **more}, HERE, Places()).orders[0]
    )


def answer(query: str) -> dict[str, Any]:
    client = app.create_app(Places()).test_client()
    return dict(client.get(f"/preview?{query}", headers=HOST).get_json())


def inside(opened: Any, selector: str) -> bool:
    """Whether a thing is in sight without scrolling."""
    box = opened.locator(selector).first.bounding_box()
    size = opened.viewport_size
    return bool(
        box
        and box["y"] >= 0
        and box["y"] + box["height"] <= size["height"] + 1
        and box["x"] >= 0
        and box["x"] + box["width"] <= size["width"] + 1
    )


@pytest.fixture
def context(browser: Any) -> Iterator[Any]:
    made = browser.new_context(accept_downloads=True, viewport={"width": 1280, "height": 900}, reduced_motion="reduce")
    yield made
    made.close()


# -- the words and the picture, without a browser ---------------------------


@pytest.mark.parametrize("pattern", ["wristband", "belt", "carrier-handle", "keeper-loop"])
def test_every_hole_slit_stop_and_fold_has_a_spot_with_its_own_place(pattern: str) -> None:
    made = piece(pattern, {"belt": "864", "carrier-handle": "460", "keeper-loop": "90"}.get(pattern, "172"))
    found = spots.of(made, "mm")

    kinds = [s.kind for s in found]
    assert kinds.count("hole") == len(made.strap.holes)
    assert kinds.count("slit") == len(made.strap.slits)
    assert kinds.count("stop") == (2 if made.strap.slits else 0)
    assert kinds.count("fold") == sum(m.kind == "fold" for m in made.strap.marks)
    for s, hole in zip([s for s in found if s.kind == "hole"], made.strap.holes, strict=True):
        said = float(re.search(r"([\d.]+) mm from the (start|finish)'s raw end", s.more)[1])  # type: ignore[index]
        assert said == pytest.approx(min(hole.x, made.strap.length - hole.x), abs=0.051)


@pytest.mark.parametrize("wide", [320, 390, 820, 1280, 2560])
def test_the_drawing_fills_its_width_with_captions_of_twelve_px(wide: int) -> None:
    made = piece("belt", "864")
    view = strap_view.view(made, "mm", wide - 40)

    assert view.broken
    assert view.width == wide - 40
    assert min(float(s) for s in re.findall(r'font-size="([\d.]+)"', view.svg)) >= 12.0
    gap = broken.of(made, "mm", made.strap.length)
    assert gap is not None
    # Both ends are far larger than the whole strap could be, and the same on either side of the break.
    assert view.scale > 1.5 * (wide - 40) / made.strap.length or made.strap.width * view.scale >= strap_view.TALLEST - 1
    assert len(set(re.findall(r"scale\(([\d.]+)\)", view.svg))) == 1
    for said in lengths.three(made, "mm")[1:] if wide >= 820 else ():
        assert said.length in view.svg


def test_a_strap_at_its_true_size_is_drawn_whole_at_that_scale() -> None:
    made = piece("wristband", "172")
    view = strap_view.view(made, "mm", 400, scale=3.9)
    outline = re.search(r'class="i-cut" d="([^"]+)"', view.svg)
    assert outline
    xs = [float(x) for x in re.findall(r"[ML]([\d.]+) ", outline[1])]

    assert not view.broken
    assert view.scale == 3.9
    assert max(xs) <= made.strap.length
    assert view.width == pytest.approx(made.strap.length * 3.9 + 2 * strap_view.SIDE)


def test_hostile_sizes_of_the_drawing_are_taken_as_the_usual() -> None:
    for text in ("", "x", "nan", "inf", "-3", "1e999"):
        assert strap_view.asked_width(text) == strap_view.USUAL_WIDTH
        assert strap_view.asked_scale(text) is None
    made = piece("wristband", "172")
    assert strap_view.view(made, "mm", 1e9).width == strap_view.MOST_WIDTH
    assert strap_view.view(piece("plain-strap", "3000"), "mm", 400, scale=40.0).width <= strap_view.MOST_LONG + 40


def test_the_worn_picture_has_the_circles_of_what_was_measured() -> None:
    """Circumference = 2 pi r (Euclid's circle): the wrist's circle, and the band's middle line outside of it."""
    made = piece("wristband", "172")
    got = worn.of(made, "mm")
    assert got is not None
    radii = [float(r) for r in re.findall(r"A([\d.]+) ", got.svg)]

    assert radii[0] == pytest.approx(172 / (2 * math.pi), abs=0.006)
    middle = made.fit.finished / (2 * math.pi)
    assert any(r > middle for r in radii)
    assert any(radii[0] < r < middle for r in radii)
    assert worn.of(piece("dog-lead", "1200"), "mm") is None
    assert worn.of(piece("belt", "864"), "mm") is None
    handle = worn.of(piece("bag-handle", "420"), "mm")
    assert handle is not None
    high = float(re.search(r"([\d.]+) mm high", handle.words)[1])  # type: ignore[index]
    assert math.pi * high == pytest.approx(420, abs=0.2)


@pytest.mark.parametrize("whole", ["6 3/4 in", "17.2 cm", "1 ft 2 1/2 in", "6½ in", "172 mm"])
def test_no_beginning_of_a_length_is_wrong_while_it_is_typed(whole: str) -> None:
    for k in range(1, len(whole)):
        assert remedies.unfinished(whole[:k]), whole[:k]
    assert not remedies.unfinished(whole)
    assert not remedies.unfinished("rind")


@pytest.mark.parametrize(
    ("query", "field", "wanted"),
    [
        ("measure=7+1/4", "measure", "7 1/4 in"),
        ("measure=17.2", "measure", "17.2 cm"),
        ("measure=172&units=in", "measure", "172 mm"),
        ("measure=172&strands=4", "strands", "3"),
        ("measure=172&sets=60", "sets", "4"),
        ("measure=172&relief=9", "relief", "5.3 mm"),
        ("pattern=belt&measure=1200&width=60", "width", "50.8 mm"),
    ],
)
def test_a_remedy_makes_the_piece_when_it_is_taken(query: str, field: str, wanted: str) -> None:
    got = answer(query)
    assert field in got["errors"]
    ways = got["remedies"][field]
    assert wanted in [w["text"] for w in ways]
    values = dict(p.split("=") for p in query.replace("+", " ").split("&"))
    for way in ways:
        assert form.read({**values, way["field"]: way["text"]}, Places()).job is not None


def test_no_button_makes_up_a_measure() -> None:
    assert answer("measure=2")["remedies"] == {}


def test_what_was_typed_for_other_goods_does_not_block() -> None:
    got = answer(f"{BAND}&holes=7&hardware=")
    assert got["ok"]
    assert {"holes"} <= set(got["absent"])
    assert "holes" not in answer(BELT)["absent"]
    assert {"holes", "hardware", "weave", "turns"} <= set(answer("pattern=keeper-loop&measure=90")["absent"])
    assert "weave" not in answer("pattern=keeper-loop&measure=90&strands=3")["absent"]
    assert "end_radius" in answer(f"{BAND}&ends=square")["absent"]


def test_the_page_without_scripts_shows_the_result_and_its_files() -> None:
    client = app.create_app(Places()).test_client()
    made = piece("wristband", "172", leather="4-5 oz")
    html = client.get(f"/?{BAND}", headers=HOST).get_data(as_text=True)

    for said in lengths.three(made, "mm"):
        assert f"<b>{said.length}</b>" in html
    assert 'class="strap"' in html
    assert "fresh" in html.partition('id="findings"')[2] or "blade" in html.partition('id="findings"')[2]
    link = re.search(r'data-file="pdf" href="([^"]+)"', html)
    assert link
    assert client.get(link[1].replace("&amp;", "&"), headers=HOST).data.startswith(b"%PDF")
    assert "Without scripts" in html.partition("<noscript>")[2].partition("</noscript>")[0]
    refused = client.get("/file/pdf?measure=3+m", headers=HOST | {"Accept": "text/html,*/*;q=0.8"})
    assert refused.status_code == 400
    assert "out of range" in refused.get_data(as_text=True)
    assert refused.mimetype == "text/html"


def test_the_page_is_light_and_goes_out_compressed() -> None:
    client = app.create_app(Places()).test_client()
    files = ("page.css", "piece.css", "ask.js", "piece.js", "piece_view.js", "piece_keep.js")
    for query, most in ((BAND, 250_000), ("pattern=plain-strap&measure=1000&strands=13&width=80", 300_000)):
        plain = packed = 0
        for path in (f"/?{query}", f"/preview?{query}&view=1240", *(f"{STATIC}/{name}" for name in files)):
            plain += len(client.get(path, headers=HOST).data)
            reply = client.get(path, headers=HOST | {"Accept-Encoding": "gzip"})
            packed += len(reply.data)
            assert reply.headers.get("Content-Encoding") == "gzip" or len(reply.data) < 1200
        assert plain < most
        assert packed < most / 3


# -- in a browser -----------------------------------------------------------


@pytest.mark.browser
@pytest.mark.parametrize("size", SIZES, ids=lambda s: str(s[0]))
def test_the_answer_is_beside_the_question(context: Any, server: str, size: tuple[int, int]) -> None:
    opened = context.new_page()
    opened.set_viewport_size({"width": size[0], "height": size[1]})
    opened.goto(f"{server}/?{BAND}")
    settled(opened)

    for selector in ("#goods summary", "#f-measure", "#lengths b", "#count a", "[data-file=pdf]"):
        assert inside(opened, selector), selector
    assert opened.locator("#strap svg").bounding_box()["y"] < size[1] * 0.72
    assert opened.locator("#f-measure").bounding_box()["y"] < 140
    assert opened.evaluate("document.documentElement.scrollWidth <= innerWidth")
    # The captions as they are seen, not as they are written.
    least = opened.evaluate(
        "() => Math.min(...[...document.querySelectorAll('#strap text')].map(t => parseFloat(t.getAttribute('font-size')) * t.getScreenCTM().a))"
    )
    assert least >= 12
    opened.evaluate("scrollTo(0, document.body.scrollHeight / 2)")
    for selector in ("#lengths b", "[data-file=pdf]"):
        assert inside(opened, selector), selector


@pytest.mark.browser
def test_nothing_turns_red_while_typing_and_the_last_result_stays(page: Any, server: str) -> None:
    page.clock.install()
    page.goto(f"{server}/?{BAND}")
    settled(page)
    page.evaluate(
        "() => { window.reds = 0; new MutationObserver(() => { reds += document.querySelectorAll('[aria-invalid=true], .note.wrong').length; })"
        ".observe(document.getElementById('piece'), {subtree: true, attributes: true, childList: true}); }"
    )
    page.fill("#f-measure", "")
    for letter in "6 3/4 in":
        page.keyboard.type(letter)
        page.clock.run_for(160)
    page.wait_for_selector("#n-measure:has-text('6 3/4 in')")
    settled(page)
    assert page.evaluate("reds") == 0

    page.fill("#f-measure", "7 1/4")
    page.wait_for_selector("#piece[data-state=old]")
    assert "wrist 171.5 mm" in page.inner_text("#old")  # 6 3/4 in
    assert page.locator("#lengths b").count() == 3
    page.clock.run_for(1000)
    page.wait_for_selector(".way:has-text('You mean 7 1/4 in?')")
    assert page.evaluate("reds") == 0
    page.press("#f-measure", "Tab")
    page.wait_for_selector("#n-measure.wrong:has-text('out of range')")
    page.click(".way:has-text('You mean 7 1/4 in?')")
    page.wait_for_selector("#piece[data-state=new]")
    assert page.input_value("#f-measure") == "7 1/4 in"
    assert "measure=7+1%2F4+in" in page.url


@pytest.mark.browser
def test_fields_come_and_go_with_the_goods_and_keep_their_values(page: Any, server: str) -> None:
    page.goto(f"{server}/?{BELT}&holes=7")
    settled(page)
    assert page.inner_text("#set") == "(1 filled)"
    page.click("summary:has-text('More fields')")
    assert page.is_visible("#f-holes")
    # A bed is a machine's and a factor a load's: without those they are no question.
    assert page.is_hidden("#f-bed")
    page.fill("#f-load", "12 kg")
    page.wait_for_selector("#f-factor", state="visible")
    page.fill("#f-load", "")
    page.focus("#f-factor")
    settled(page)
    assert page.evaluate("() => document.activeElement.id") == "f-factor"  # nothing goes from under a hand
    page.focus("#f-machine")
    page.select_option("#f-machine", "laser")
    page.wait_for_selector("#f-bed", state="visible")
    assert page.is_hidden("#f-factor")
    page.click("#goods summary")
    page.click("#f-measure")
    assert page.is_hidden(".shelf")  # looked at and left
    page.click("#goods summary")
    page.check("input[value=wristband]", force=True)
    assert page.is_hidden(".shelf")
    page.wait_for_selector("#what:text-is('wrist')")
    page.wait_for_url(lambda url: "pattern=wristband" in url and "holes" not in url)
    page.fill("#f-measure", "172")
    page.press("#f-measure", "Tab")
    page.wait_for_selector("#lengths:has-text('raw end to raw end')")
    settled(page)
    assert page.is_hidden("#f-holes")
    page.wait_for_url(lambda url: "pattern=wristband&measure=172" in url and "holes" not in url)
    page.click("#goods summary")
    page.check("input[value=belt]", force=True)
    page.wait_for_selector("#f-holes", state="visible")


@pytest.mark.browser
def test_what_is_taken_is_what_the_fields_say_at_the_click(page: Any, server: str, tmp_path: Path) -> None:
    page.goto(f"{server}/?{BAND}")
    settled(page)
    with page.expect_download() as wait_for:
        page.evaluate(
            "() => { byId('f-measure').value = '185'; byId('f-measure').dispatchEvent(new Event('input', {bubbles: true}));"
            " document.querySelector('[data-file=pdf]').click(); }"
        )
    words = " ".join(pages_read(wait_for.value.path()))
    assert "wrist 185 mm" in words
    assert "wrist 172 mm" not in words
    page.fill("#f-measure", "3 m")
    page.click("[data-file=pdf]")
    page.wait_for_selector("#n-measure.wrong")
    until(page, "() => document.activeElement.id === 'f-measure'")  # the answer to the click may come after it


@pytest.mark.browser
def test_a_file_taken_while_the_page_asks_again_is_made(page: Any, server: str) -> None:
    """Other goods and the click in one moment: their hardware is asked for first, then the piece once more."""
    page.goto(f"{server}/?{BAND}")
    settled(page)
    with page.expect_download() as wait_for:
        page.evaluate(
            "() => { const other = document.querySelector('input[value=plain-strap]'); other.checked = true;"
            " other.dispatchEvent(new Event('change', {bubbles: true})); document.querySelector('[data-file=job]').click(); }"
        )
    assert 'pattern = "plain-strap"' in Path(wait_for.value.path()).read_text(encoding="utf-8")


@pytest.mark.browser
def test_old_numbers_say_so_while_the_server_is_gone(context: Any, server: str) -> None:
    opened = context.new_page()
    opened.clock.install()
    opened.goto(f"{server}/?{BAND}")
    settled(opened)
    late: list[Any] = []
    opened.route("**/preview?*", lambda r: late.append(r))  # Playwright marks what it is given
    opened.fill("#f-measure", "180")
    opened.wait_for_selector("#piece[data-state=old]")  # while the answer is on its way
    assert (
        opened.inner_text("#old").strip()
        == "Still the drawing and numbers of before: Wristband with a snap, wrist 172 mm."
    )
    assert opened.is_hidden("#general")
    for asked in late:
        asked.abort("connectionrefused")
    opened.wait_for_selector("#general:has-text('What you typed is kept')")
    assert opened.inner_text("#old").endswith("wrist 172 mm. The server is gone.")
    opened.unroute("**/preview?*")
    opened.clock.run_for(1500)  # it comes back by itself, without a touch

    opened.wait_for_selector("#say:has-text('The server is back')")
    assert opened.input_value("#f-measure") == "180"
    assert opened.is_hidden("#general")
    assert opened.get_attribute("#piece", "data-state") == "new"


VIEW = "() => document.querySelector('#strap svg').getAttribute('viewBox').split(' ').map(Number)"
ALONG = """() => [...document.querySelectorAll('#strap .spot')].map((s) => [s.querySelector('.hit').getBoundingClientRect(), s.getAttribute('aria-label')])
  .sort(([a], [b]) => Math.abs(a.x - b.x) < 0.01 ? a.y - b.y : a.x - b.x).map(([, label]) => label)"""


@pytest.mark.browser
def test_spots_answer_to_the_pointer_and_to_the_arrow_keys_from_end_to_end(page: Any, server: str) -> None:
    page.goto(f"{server}/?{BELT}")
    settled(page)
    page.locator(".s-hole").first.hover()
    assert "A: rivet hole 3.2 mm" in page.inner_text("#spot")
    assert page.locator("#strap .spot.on").count() == 1
    page.mouse.move(640, 100)  # off the drawing
    page.wait_for_selector("#spot:has-text('Point at a hole')")
    assert page.locator("#strap .spot.on").count() == 0
    page.locator(".s-braid").first.click(position={"x": 60, "y": 8})
    assert "Braid of 3 strands" in page.inner_text("#spot")
    assert page.locator("#strap .spot.on").count() == 2  # it goes on beyond the break
    along = page.evaluate(ALONG)
    page.evaluate(
        "() => { window.said = []; document.addEventListener('focusin', (e) => said.push(document.getElementById('spot').textContent)); }"
    )
    page.locator(".spot[tabindex='0']").focus()  # where the Tab key comes in
    for _ in along:
        page.keyboard.press("ArrowRight")
    assert page.evaluate("said") == along  # each once, and no further than the last
    page.keyboard.press("ArrowLeft")
    assert page.locator(".spot[tabindex='0']").get_attribute("aria-label") == along[-2] == page.inner_text("#spot")


@pytest.mark.browser
def test_the_drawing_is_zoomed_and_moved_by_keys_and_pointer_and_leaves_the_page_its_wheel(
    page: Any, server: str
) -> None:
    page.goto(f"{server}/?{BELT}")
    settled(page)
    stage = page.locator("#strap svg").bounding_box()
    wide, high = stage["width"], stage["height"]

    def box() -> list[float]:
        return list(page.evaluate(VIEW))

    def near(*wanted: float) -> Any:
        return pytest.approx(wanted, abs=0.02)

    assert box() == near(0, 0, wide, high)
    page.focus("#strap")
    page.keyboard.press("+")  # 1.25 as large about its middle: a tenth of it goes on every side
    assert box() == near(wide * 0.1, high * 0.1, wide * 0.8, high * 0.8)
    page.keyboard.press("+")
    larger = box()
    for there, back, axis in (("ArrowRight", "ArrowLeft", 0), ("ArrowDown", "ArrowUp", 1)):
        page.keyboard.press(there)
        assert box()[axis] > larger[axis]
        assert box()[1 - axis] == larger[1 - axis]
        page.keyboard.press(back)
        assert box() == near(*larger)
    for _ in range(10):  # it ends with its edge
        page.keyboard.press("ArrowRight")
    assert box() == near(wide * 0.36, larger[1], wide * 0.64, high * 0.64)
    page.keyboard.press("0")
    assert box() == near(0, 0, wide, high)

    # What can become no smaller leaves the wheel to the page, and so does a drawing that is passed by.
    x, y = 400, 270  # whole px, as a browser tells the wheel's place
    across, down = (x - stage["x"]) / wide, (y - stage["y"]) / high
    page.mouse.move(x, y)
    page.mouse.wheel(0, 40)
    until(page, "() => scrollY === 40")
    page.evaluate("document.activeElement.blur()")
    page.mouse.wheel(0, -10)
    until(page, "() => scrollY === 30")
    assert box() == near(0, 0, wide, high)

    # At the page's top it is the drawing's; what lies under the pointer stays there.
    page.evaluate("scrollTo(0, 0)")
    page.mouse.wheel(0, -300)
    until(page, f"wide => ({VIEW})()[2] < wide", arg=wide)
    left, top, width, height = box()
    assert (left + across * width, top + down * height) == near(across * wide, down * high)
    page.mouse.move(x + 25, y + 5)  # no button is pressed
    framed(page)
    assert box() == near(left, top, width, height)
    page.mouse.down()
    page.mouse.move(x - 15, y - 5, steps=3)
    page.mouse.up()
    page.mouse.move(x + 90, y)
    framed(page)
    # It went with the pointer.
    assert box() == near(left + 40 * width / wide, top + 10 * width / wide, width, height)
    page.click("[data-zoom=in]")
    page.click("[data-zoom=out]")
    assert box()[2] == pytest.approx(width, abs=0.02)
    page.click("[data-zoom=fit]")
    settled(page)
    assert box() == near(0, 0, wide, high)
    page.focus("#strap")
    page.keyboard.press("ArrowDown")  # the whole of it leaves the page its keys as well
    until(page, "() => scrollY > 0")
    resized(page, 1100, 900)  # and it follows the window
    settled(page)
    assert box()[2] == pytest.approx(page.locator("#strap").bounding_box()["width"], abs=1)


@pytest.mark.browser
def test_the_true_size_comes_after_a_bank_card_has_been_matched(page: Any, server: str) -> None:
    """ISO/IEC 7810 ID-1: a bank card is 85.60 mm wide."""
    page.goto(f"{server}/?{BAND}")
    settled(page)
    assert "not to scale" in page.inner_text("#scale").lower()
    page.click("[data-zoom=true]")
    page.wait_for_selector("dialog[open]")
    # A screen that nobody has measured has 96 px to the inch (CSS).
    assert float(page.get_attribute("#card-svg", "width")) == round(85.6 * 96 / 25.4)
    page.evaluate(
        "() => { const s = document.getElementById('card-size'); s.value = '428'; s.dispatchEvent(new Event('input')); }"
    )
    card = page.locator("#card-svg").bounding_box()
    assert (card["width"], card["height"]) == pytest.approx((428, 428 * 53.98 / 85.6), abs=0.1)
    page.click("#card-done")
    page.wait_for_selector("#scale:has-text('True size')")
    assert float(page.get_attribute("#strap svg", "data-scale")) == pytest.approx(428 / 85.6, rel=1e-3)
    assert [page.get_attribute(f"[data-zoom={how}]", "aria-pressed") for how in ("true", "fit")] == ["true", "false"]
    # It is longer than the screen is wide, and the arrow keys go along it.
    page.focus("#strap")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("() => document.getElementById('strap').scrollLeft") > 0
    page.keyboard.press("ArrowLeft")
    assert page.evaluate("() => document.getElementById('strap').scrollLeft") == 0
    page.keyboard.press("ArrowDown")
    until(page, "() => scrollY > 0")
    page.click("[data-zoom=true]")  # once more opens the match, as it was kept
    assert page.input_value("#card-size") == "428"
    page.click("#card-cancel")
    assert page.locator("dialog[open]").count() == 0
    page.reload()
    settled(page)
    assert "not to scale" in page.inner_text("#scale").lower()
    page.click("[data-zoom=true]")  # the match is kept for this screen
    page.wait_for_selector("#scale:has-text('True size')")


@pytest.mark.browser
def test_every_change_can_be_undone_and_done_again(page: Any, server: str) -> None:
    page.goto(f"{server}/?{BAND}")
    settled(page)
    page.fill("#f-measure", "185")
    page.press("#f-measure", "Tab")
    page.select_option("#f-units", "in")
    settled(page)
    page.focus("#f-units")
    page.keyboard.press("Control+z")
    until(page, "() => byId('f-units').value === 'mm'")
    assert page.input_value("#f-measure") == "185"
    page.click("#undo")
    until(page, "() => byId('f-measure').value === '172'")
    page.wait_for_selector("#lengths:has-text('252 mm')")
    page.reload()
    settled(page)
    page.click("#redo")
    until(page, "() => byId('f-measure').value === '185'")
    assert "measure=185" in page.url
    assert page.is_enabled("#redo")
    page.focus("#f-units")
    page.keyboard.press("Control+y")
    assert page.input_value("#f-units") == "in"
    # Nothing more is done again than was undone, a plain letter undoes nothing, and a field keeps its own undo.
    page.keyboard.press("Control+Shift+Z")
    page.keyboard.press("z")
    page.type("#f-measure", "9")
    page.keyboard.press("Control+z")
    assert page.input_value("#f-units") == "in"
    assert page.input_value("#f-measure").startswith("185")
    assert page.is_disabled("#redo")
    page.focus("#f-units")
    for _ in range(4):
        page.keyboard.press("Control+z")
    assert (page.input_value("#f-measure"), page.input_value("#f-units")) == ("172", "mm")
    assert page.is_disabled("#undo")
    settled(page)
    # However long the afternoon, the last two hundred changes are there.
    page.evaluate(
        "() => { for (let mm = 100; mm < 300; mm += 1) note('pattern=wristband&measure=' + mm); step(-199); }"
    )
    assert page.input_value("#f-measure") == "100"
    assert page.is_disabled("#undo")
    assert page.is_enabled("#redo")
    settled(page)


NAMES = "#kept-pieces a"
QUAY, COPY = "Quay band (Wristband with a snap, wrist 172 mm)", "Quay band, copy (Wristband with a snap, wrist 185 mm)"
KEEP = """([name, count, at]) => { for (let k = 0; k < count; k += 1)
  write(OWN + name + k, { name, title: 'Band ' + k, query: 'pattern=wristband&measure=' + (100 + k), at: at + k }); }"""


@pytest.mark.browser
def test_pieces_are_kept_named_reopened_and_duplicated(page: Any, server: str) -> None:
    def kept() -> list[str]:
        return list(page.locator(NAMES).all_text_contents())

    page.goto(f"{server}/?{BAND}")
    settled(page)
    page.click("summary:has-text('Kept pieces')")
    page.fill("#piece-name", "Quay band")
    page.click("#keep")
    page.wait_for_selector("#say:text-is('Kept as Quay band.')")
    assert kept() == [QUAY]
    page.click("#duplicate")
    page.wait_for_selector("#kept-pieces:has-text('Quay band, copy')")
    assert page.input_value("#piece-name") == "Quay band, copy"
    page.fill("#f-measure", "185")
    page.press("#f-measure", "Tab")
    page.wait_for_selector("#kept-pieces:has-text('wrist 185 mm')")
    assert kept() == [COPY, QUAY]  # the other stays as it was, the last one at work is first
    assert page.locator("[aria-current=true] a").text_content() == COPY
    page.goto(server)
    assert page.inner_text("#go-on") == "Or go on with Quay band, copy."
    page.click("#go-on a")
    page.wait_for_url("**measure=185**")
    settled(page)
    assert page.input_value("#f-measure") == "185"
    page.click("summary:has-text('Kept pieces')")
    page.click(f"{NAMES}:text-is('{QUAY}')")
    page.wait_for_url("**measure=172**")
    settled(page)
    assert page.input_value("#f-measure") == "172"
    assert page.input_value("#piece-name") == "Quay band"
    page.click("summary:has-text('Kept pieces')")
    page.click("button[aria-label='Take out Quay band']")
    page.wait_for_selector("#say:has-text('Taken out: Quay band.')")
    assert kept() == [COPY]
    page.click("#say button")
    assert kept() == [COPY, QUAY]
    assert page.is_hidden("#none-kept")

    # What has no name makes room when there is much of it: forty beside the one at work.  What has one never does.
    page.evaluate(KEEP, ["", 45, 1])
    page.evaluate(KEEP, ["Old band", 2, 1])
    page.click("#fresh")
    page.wait_for_url(f"{server}/")
    page.fill("#f-measure", "200 mm")
    page.wait_for_selector("#lengths b")
    settled(page)
    assert kept() == [
        "Wristband with a snap, wrist 200 mm", COPY, QUAY, "Band 44", "Band 43", "Band 42",
        *(f"Band {k}" for k in range(41, 4, -1)), "Old band (Band 1)", "Old band (Band 0)",
    ]  # fmt: skip


@pytest.mark.browser
def test_two_tabs_do_not_overwrite_each_other(context: Any, server: str) -> None:
    def change(opened: Any, measure: str) -> None:
        opened.fill("#f-measure", measure)
        opened.press("#f-measure", "Tab")

    one, two = context.new_page(), context.new_page()
    for opened in (one, two):
        opened.goto(f"{server}/?{BAND}")
        settled(opened)
    change(one, "178")
    two.click("#say button:text-is('Show theirs')")
    settled(two)
    assert two.input_value("#f-measure") == "178"
    assert "measure=178" in two.url
    assert two.inner_text("#say") == ""
    change(one, "180")
    two.wait_for_selector("#say:has-text('Another tab')")
    change(two, "190")
    two.wait_for_selector("#say:has-text('kept beside it')")

    kept = two.evaluate("() => every().map((p) => p.title)")
    assert kept == ["Wristband with a snap, wrist 190 mm", "Wristband with a snap, wrist 180 mm"]


@pytest.mark.browser
def test_printed_the_sheet_says_what_it_is_and_that_it_is_not_to_scale(page: Any, server: str) -> None:
    page.goto(f"{server}/?{BAND}")
    settled(page)
    page.emulate_media(media="print")
    head = page.inner_text(".print-head")
    assert "Wristband with a snap, wrist 172 mm" in head
    assert "1.59 mm to 1.98 mm" in head
    for said in lengths.three(piece("wristband", "172", leather="4-5 oz"), "mm"):
        assert f"{said.what} {said.length}" in head
    assert "Not to scale: use the PDF" in head
    assert page.is_hidden(".asks")
    assert page.is_visible("#strap svg")


@pytest.mark.browser
def test_without_scripts_the_form_still_shows_and_gives(browser: Any, server: str) -> None:
    made = browser.new_context(java_script_enabled=False)
    opened = made.new_page()
    opened.goto(server)
    opened.fill("#f-measure", "172")
    opened.click("noscript button")
    opened.wait_for_url("**measure=172**")
    assert "mm" in opened.inner_text("#lengths")
    assert opened.locator("#strap svg text").count() > 4
    opened.fill("#f-measure", "7 1/4")
    opened.click("noscript button")
    opened.wait_for_url("**measure=7+1%2F4**")
    assert "out of range" in opened.inner_text("#n-measure")
    opened.click(".way:has-text('You mean 7 1/4 in?')")
    opened.wait_for_url("**measure=7+1%2F4+in**")
    assert "mm" in opened.inner_text("#lengths")
    made.close()


@pytest.mark.browser
def test_axe_finds_nothing_in_any_state(browser: Any, server: str) -> None:
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    rules = ALL_RULES | {"runOnly": {"type": "tag", "values": tags}}
    made = browser.new_context(
        color_scheme="light", viewport={"width": 390, "height": 844}, reduced_motion="reduce", bypass_csp=True
    )
    opened = made.new_page()

    def clean(what: str) -> None:
        assert axe_in_both(opened, rules) == "", what

    opened.goto(f"{server}/?{BELT}")
    settled(opened)
    for summary in ("More fields", "Kept pieces"):
        opened.click(f"summary:has-text('{summary}')")
    opened.locator(".s-hole").first.hover()
    clean("all fields and kept pieces: ")
    opened.click("#goods summary")
    clean("goods: ")
    opened.keyboard.press("Escape")
    opened.fill("#f-strands", "4")
    opened.press("#f-strands", "Tab")
    opened.wait_for_selector(".way")
    opened.wait_for_selector("#piece[data-state=old]")
    clean("old numbers and remedies: ")
    opened.click("[data-zoom=true]")
    clean("bank card: ")
    made.close()


def test_the_geometry_of_the_braid_is_what_its_spot_says() -> None:
    made = piece("wristband", "172")
    assert made.fit.braid is not None
    spot = next(s for s in spots.of(made, "mm") if s.kind == "braid")
    assert f"{made.fit.slit_end - made.fit.slit_start:.1f}".rstrip("0").rstrip(".") in spot.more
    again = geometry.from_finished(
        made.plan.plait, made.strap.width / 3, made.leather.worn[1], made.fit.braid.sets, made.fit.braid.finished
    )
    assert again is not None
    assert f"{again.finished:.1f}".rstrip("0").rstrip(".") in spot.more
