"""The page of a whole job where something is wrong, too much or on its way: what stands at its row, and what is kept of it."""

from __future__ import annotations

import json
import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from strapwork.files.folders import Places
from strapwork.piece.piece import Piece
from strapwork.stock import patterns
from strapwork.web import app
from strapwork.web import server as servers
from tests.conftest import SAMPLES, told, told_page, until

pytestmark = pytest.mark.browser
STORED = "() => JSON.parse(localStorage.getItem('job'))"
STATE = "() => document.querySelector('#order-state').textContent"
CELLS = "key => [...document.querySelectorAll('#pieces [data-key=' + key + ']')].map(box => box.value)"


class Served:
    """The page's server; started again, it knows nothing of the token that an open page has."""

    def __init__(self, places: Places) -> None:
        self._places = places
        self.start_again()

    def start_again(self) -> None:
        self._app = app.create_app(self._places)

    def __call__(self, *request: Any) -> Any:
        return self._app(*request)


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Served]]:
    folder = tmp_path_factory.mktemp("workshop")
    shutil.copy(SAMPLES / "leathers.toml", folder)
    one: Any = Served(Places(None, folder / "leathers.toml"))
    made = servers.create(one, "127.0.0.1", 0)
    threading.Thread(target=made.run, daemon=True).start()
    yield f"http://127.0.0.1:{made.effective_port}", one
    made.close()


@pytest.fixture
def job(browser: Any, served: tuple[str, Served]) -> Iterator[Callable[..., Any]]:
    """The page of a job that has been kept in the browser."""
    with told_page(browser, accept_downloads=True, viewport={"width": 1280, "height": 900}) as page:

        def opened(whole: dict[str, Any], *rows: dict[str, Any]) -> Any:
            kept = json.dumps({"job": whole, "pieces": rows})
            page.add_init_script(f"if (!localStorage.getItem('job')) localStorage.setItem('job', {json.dumps(kept)})")
            page.goto(f"{served[0]}/job")
            return page

        yield opened


def state(page: Any, words: str) -> None:
    """Until the order says that it is so far."""
    until(page, f"words => ({STATE})().startsWith(words)", arg=words)


def band(label: str, measure: str = "16 cm", **more: Any) -> dict[str, Any]:
    return {"label": label, "pattern": "wristband", "measure": measure, **more}


# What a person is told at each cell, by its name: what it holds, and what a reader of the screen says with it.
TOLD = """() => Object.fromEntries([...document.querySelectorAll('#pieces [data-key]')].filter((box) => box.getAttribute('aria-describedby'))
  .map((box) => [box.getAttribute('aria-label'), [box.getAttribute('aria-invalid'),
    ...box.getAttribute('aria-describedby').split(' ').map((id) => document.querySelectorAll('#' + id).length === 1 && document.getElementById(id).textContent)]]))"""


def test_what_is_wrong_stands_at_its_cell_and_the_order_waits_for_it(
    job: Callable[..., Any], draft: Callable[..., Piece]
) -> None:
    """Also what has no cell of its own, and what is wrong with the whole; as it is mended, the order comes nearer."""
    page = job(
        {"units": "mm", "waste": "much", "left_handed": True},
        band("Ada", sets=3, count=2),
        band("Bo", "3 m"),
        {"label": "Cem", "pattern": "wristband"},
        band("Dora", ends=5),
        {"label": "Stall", "pattern": "wristband", "sizes": {"of": 5, "bodies": "adults"}, "count": 40},
        {"label": "Own", "pattern": "wristband", "sizes": {"S": "15.5 cm", "M": "17 cm"}},
        band("Finn", leather={"thickness": "1.6 mm"}),
        band("Gro", pattern="sash", hand="both"),
        *({"pattern": "wristband", "measure": f"{n} cm"} for n in (15, 16, 17, 18)),
    )
    measure = "A wrist of 3000 mm is out of range for 'wristband'; give from 100 mm to 300 mm."
    state(page, f"The order waits for row 2 and 3 more: Measure: {measure}")
    ends = "Ends: '5' is no shape of ends; use one or two of round, pointed, square, clipped, such as 'square,pointed'."
    goods = ", ".join(sorted(p.name for p in patterns.all_patterns()))
    supple = "3 sets stand at 24 degrees and want supple leather; one set fewer is easier."
    assert page.evaluate(TOLD) == {
        "Goods, row 1": [None, "Also asked: sets 3.", supple],
        "Measure, row 2": ["true", measure],
        # What is not typed yet is not wrong.
        "Measure, row 3": [None, "The wrist is missing; measure it and say, for example, '175 mm'."],
        "Goods, row 4": ["true", ends, "Also asked: ends 5."],
        "Goods, row 8": ["true", f"No pattern is called 'sash'; choose one of {goods}."],
        "Hand, row 8": ["true", "'both' is not a choice here; use 'right' or 'left'."],
    }
    cells = page.evaluate("""() => [...document.querySelectorAll('#pieces [data-key]')]
        .filter((box) => box.readOnly || box.placeholder || (box.dataset.key === 'count' && box.value !== '1'))
        .map((box) => [box.getAttribute('aria-label'), box.value, box.placeholder, Boolean(box.readOnly)])""")
    assert cells == [
        ["How many, row 1", "2", "", False],
        ["Measure, row 5", "5 sizes from adults", "", True],
        ["How many, row 5", "40", "", False],
        ["Measure, row 6", "S 15.5 cm, M 17 cm", "", True],
        ["Leather, row 7", "1.6 mm, written out", "", True],
        ["Name, new row", "", "type a name", False],
        ["How many, new row", "", "", False],
    ]
    assert page.locator("#pieces th").all_inner_texts() == [str(k) for k in range(1, 14)]
    lengths = page.locator("#pieces .o-out").all_inner_texts()
    assert lengths[:4] == [f"{draft('wristband', '16 cm', sets=3).strap.length:.1f} mm", "", "", ""]

    # Going over cells that are worked out elsewhere leaves them as they are.
    before = page.evaluate(STORED)
    page.focus("#pieces tr:nth-child(5) [data-key=measure]")
    for key in ("ArrowDown", "ArrowRight", "ArrowDown", "ArrowDown", "Escape"):
        page.keyboard.press(key)
    assert page.evaluate("() => document.activeElement.getAttribute('aria-label')") == "Leather, row 8"
    assert page.evaluate(STORED) == before

    # Paper, cutter, waste and spare lie folded up: what is wrong in there is brought to sight.
    waste = """() => { const box = document.querySelector('#f-waste');
        return [box.checkVisibility(), box.getAttribute('aria-invalid'), document.querySelector('#n-waste').textContent]; }"""
    assert page.evaluate(waste) == [True, "true", "'much' is no share; write it as 0.1 or as '10 %'."]
    page.fill("#f-waste", " 0,25 ")
    page.press("#f-waste", "Enter")
    until(page, f"() => ({waste})()[1] === null")
    assert page.evaluate(waste) == [True, None, ""]
    page.fill("#f-title", " Class in May ")
    page.press("#f-title", "Enter")
    page.select_option("#f-broken", "true")
    assert page.evaluate(STORED)["job"] == {
        "units": "mm", "waste": 0.25, "left_handed": True, "title": "Class in May", "broken": True
    }  # fmt: skip
    page.fill("#f-title", " ")
    page.press("#f-title", "Enter")
    page.select_option("#f-broken", "")
    page.click("button[aria-label='Take out Dora']")
    for row in (2, 3):
        page.fill(f"#pieces tr:nth-child({row}) [data-key=measure]", "16 cm")
        page.keyboard.press("Enter")
    state(page, "The order waits for row 7: Hand: 'both' is not a choice here")

    # How far it is, where there is enough to wait for.
    held: list[Any] = []
    page.route("**/job/rows", lambda route: held.append(route))
    working = """() => [document.querySelector('#rows-working').hidden, document.querySelector('#rows-progress').value,
        document.querySelector('#rows-progress').max, document.querySelector('#pieces .o-out').textContent]"""

    def asked(many: int) -> list[Any]:
        while len(held) < many:
            page.wait_for_timeout(5)
        rows = json.loads(held[-1].request.post_data)["pieces"]
        return [len(rows), *page.evaluate(working)]

    page.select_option("#f-hand", "right")
    assert page.evaluate(STORED)["job"] == {"units": "mm", "waste": 0.25, "hand": "right"}
    assert asked(1) == [10, False, 0, 11, "…"]
    held[0].continue_()
    assert asked(2) == [1, False, 10, 11, lengths[0]]
    held[1].continue_()
    state(page, "The order waits for row 7")
    page.wait_for_selector("#rows-working", state="hidden")
    page.click("button[aria-label='Take out Gro']")
    assert asked(3)[:2] == [0, True]  # all is known by now
    held[2].continue_()
    state(page, "As on the order page of the PDF.")
    page.select_option("#f-hand", "left")
    assert asked(4)[:2] == [10, True]
    assert "o-old" in page.get_attribute("#order", "class").split()
    held[3].continue_()
    page.wait_for_selector("#order:not(.o-old)")
    assert page.is_visible("#order-buttons")


# A run of sizes: what was typed over what stands there -> what is told, where the keys are then, the row that came in.
PEOPLE = {"of": 5, "bodies": "adults"}
NUMBER = "{}: '{}' cannot be used; give a whole number from {}."
SIZES: list[tuple[dict[str, str], str, str, dict[str, Any] | None]] = [
    ({}, "", "", {"pattern": "bag-handle", "count": 40, "sizes": PEOPLE}),
    (
        {"pattern": "wristband", "label": " Stall ", "leather": " harbour-tan ", "count": " 999 ", "of": "50", "women": "40"},
        "",
        "",
        {
            "pattern": "wristband", "label": "Stall", "leather": "harbour-tan", "count": 999,
            "sizes": {"of": 50, "bodies": "adults", "women": 0.4},
        },
    ),
    ({"count": "1", "of": "1", "women": "0"}, "", "", {"sizes": PEOPLE | {"of": 1, "women": 0}, "count": 1}),
    ({"women": "100"}, "", "", {"sizes": PEOPLE | {"women": 1}, "count": 40}),
    ({"own": "S 15.5 cm;M  6 3/4 in\n\n L 18.5 cm \n", "of": "many"}, "", "", {"count": 40, "sizes": {"S": "15.5 cm", "M": "6 3/4 in", "L": "18.5 cm"}}),
    *(({"count": n}, NUMBER.format("How many", n, "1 to 999"), "s-count", None) for n in ("0", "1000", "12000", "2.5", "")),
    *(({"of": n}, NUMBER.format("Sizes", n, "1 to 50"), "s-of", None) for n in ("0", "51", "x")),
    *(({"women": n}, NUMBER.format("Women in a hundred", n, "0 to 100"), "s-women", None) for n in ("101", "half")),
    ({"own": "S 15.5 cm\nM"}, "'M' is no size; write its name and its measure, such as S 15.5 cm.", "", None),
]  # fmt: skip
TRY = """(tries) => tries.map((typed) => {
  const box = (name) => document.getElementById('s-' + name), pieces = () => JSON.parse(localStorage.getItem('job')).pieces;
  for (const [name, text] of Object.entries({ pattern: 'bag-handle', label: '', leather: '', count: '40', of: '5', women: '', own: '', ...typed })) box(name).value = text;
  document.activeElement.blur();
  const before = pieces().length;
  document.getElementById('add-sizes').click();
  const { ['row id']: _, ...last } = pieces().at(-1) || {};
  return [document.querySelector('[data-problem=sizes]').textContent, document.activeElement.id, pieces().length > before ? last : null, box('own').value];
})"""


def test_rows_come_in_as_runs_of_sizes_tables_and_files(job: Callable[..., Any], tmp_path: Path) -> None:
    page = job({})
    page.click("#sizes-part summary")
    for (typed, *expected), got in zip(SIZES, page.evaluate(TRY, [typed for typed, *_ in SIZES]), strict=True):
        added = expected[2] and {"pattern": typed.get("pattern", "bag-handle"), **expected[2]}
        assert got == [*expected[:2], added, typed.get("own", "") if expected[0] else ""], typed
    page.click("#clear")

    # What a row of a table leaves out is as the one that was chosen, or as the last of the list.
    page.fill("#table", "Ada,420 mm")
    page.select_option("#like", "bag-handle")
    page.click("#add-table")
    until(page, f"() => ({CELLS})('label').includes('Ada')")
    assert page.input_value("#table") == ""
    page.fill("#pieces tr:first-child [data-key=leather]", "quay-brown")
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowLeft")
    page.keyboard.type("430 mm")  # one typed under the last is as that one as well
    page.keyboard.press("Enter")
    page.select_option("#like", "last")
    (tmp_path / "more.csv").write_text("Bo,440 mm,2", encoding="utf-8")
    page.set_input_files("#table-file", tmp_path / "more.csv")
    until(page, f"() => ({CELLS})('label').includes('Bo')")
    handle = {"pattern": "bag-handle", "leather": "quay-brown"}
    rows = [
        {"label": "Ada", "measure": "420 mm"},
        {"measure": "430 mm"},
        {"label": "Bo", "measure": "440 mm", "count": 2},
    ]
    stored = page.evaluate(STORED)["pieces"]
    for piece in stored:
        del piece["row id"]
    assert stored == [handle | row for row in rows]

    # What cannot come in is told beside where it was asked for, and nothing has changed.
    (tmp_path / "large.csv").write_bytes(b" " * 1_000_001)
    (tmp_path / "Market.toml").write_text(
        'title = "Market day"\npieces = [{pattern = "belt", measure = "34 in"}]\n[leathers.dune]\nthickness = "2 mm"\n'
    )
    page.click("summary:text-is('Job file')")
    page.fill("#table", "Cem,17 cm,two")
    page.click("#add-table")
    told(
        page,
        "table",
        "the table, row 1, count: 'two' is no whole number; write it in digits, such as 3.",
    )
    assert page.input_value("#table") == "Cem,17 cm,two"
    for section, box in (("table", "#table-file"), ("file", "#open")):
        page.set_input_files(box, tmp_path / "large.csv")
        told(page, section, "That is too large; the limit is 1 MB.")
        assert page.input_value(box) == ""  # so that it can be chosen again
    page.route("**/job/table", lambda r: r.fulfill(json={"pieces": [{"pattern": "belt"}] * 198}))
    page.click("#add-table")
    told(page, "table", "201 rows are too many for the page; keep it to 200, or use 'strapwork make class.csv'.")
    assert page.inner_text("#many") == "3 rows"

    # A file is opened beside the job that is open, and says what it has that the page does not show.
    page.set_input_files("#open", tmp_path / "Market.toml")
    page.wait_for_selector("#kept:text-is('Kept as the job file has it: leathers of this job.')")
    assert (page.input_value("#job-name"), page.input_value("#f-title"), page.inner_text("#many")) == (
        "Market",
        "Market day",
        "1 row",
    )
    page.click("#jobs summary")
    page.wait_for_selector("#job-list li >> nth=1")
    assert page.locator("#job-list span").all_inner_texts() == ["Market, 1 row, open here", "Without a name, 3 rows"]


MAKING = """() => [document.querySelector('#working').checkVisibility(), document.querySelector('#progress').value, document.querySelector('#progress').max]"""


def test_a_server_that_was_started_again_is_asked_again_and_what_it_refuses_is_told(
    job: Callable[..., Any], served: tuple[str, Served]
) -> None:
    page = job({"title": "Class in May"}, band("Ada"))
    state(page, "As on the order page of the PDF.")
    served[1].start_again()
    with page.expect_download() as got:
        page.click("#order-csv")
    assert got.value.suggested_filename == "order.csv"
    assert ",Ada," in Path(got.value.path()).read_text(encoding="utf-8-sig")
    page.fill("#job-name", "Harbour class")
    page.press("#job-name", "Enter")
    served[1].start_again()
    with page.expect_download() as got:
        page.click("[data-make=card]")
    assert got.value.suggested_filename == "harbour-class-card.pdf"
    page.wait_for_selector("#state:text-is('Done.')")

    tried: list[str] = []
    answers: list[dict[str, Any]] = [{"status": 403, "json": {"error": "Not from here."}}] * 2
    answers += [{"status": 500, "body": "<p>"}]

    def answer(route: Any) -> None:
        tried.append(route.request.headers["x-strapwork-token"])
        route.fulfill(**answers[len(tried) - 1])

    page.route("**/job/text", answer)
    page.click("summary:text-is('Job file')")
    page.click("#save")
    told(page, "file", "Not from here.")
    assert len(tried) == 2
    page.click("#save")
    told(page, "file", "That did not work.")
    assert len(tried) == 3
    page.unroute("**/job/text")
    page.click("[data-make=dxf]")
    told(page, "make", "No cutter is chosen yet; choose the one that the files are for in the field 'Cutter'.")
    until(page, "() => document.activeElement.id === 'f-machine'")
    assert page.is_visible("#f-machine")  # the fold that it stands in is open
    with page.expect_download() as got:
        page.click("#save")
    assert got.value.suggested_filename == "harbour-class.toml"
    told(page, "file", "")
    page.fill("#f-prices", "nowhere")
    page.press("#f-prices", "Enter")
    page.wait_for_selector("[data-problem=order]:has-text('nowhere')")
    assert page.evaluate(STATE) == "The lists are not up to date."
    assert page.is_hidden("#order-buttons")


def test_making_is_followed_given_up_and_found_again_after_a_reload(job: Callable[..., Any]) -> None:
    """The server is played here, so that it can be slow."""
    page = job({}, band("Ada"))
    now: dict[str, Any] = {}
    slow: list[int] = []

    def play(route: Any) -> None:
        address = route.request.url.rpartition("/job/")[2]
        if address.endswith("/cancel"):
            now.update(state="cancelled")
        if slow and address == "task/t1":
            slow.pop()
            return
        if address == "task/t1/svg":
            route.fulfill(status=404, json={"error": "It is gone."})
        elif address == "task/t1/pdf":
            route.fulfill(body=b"%PDF-", headers={"Content-Disposition": 'attachment; filename="ada.pdf"'})
        else:
            route.fulfill(json={"task": "t1"} if address == "make" else now)

    page.route("**/job/make", play)
    page.route("**/job/task/**", play)

    def begun(kind: str, **state: Any) -> None:
        now.clear()
        now.update(state)
        page.click(f"[data-make={kind}]")

    def seen(*expected: Any) -> None:
        until(page, f"seen => String(({MAKING})()) === String(seen)", arg=expected)

    def left_and_found() -> None:
        """The page is left while its question how far it is has no answer yet, and opened again."""
        slow.append(1)
        while slow:
            page.wait_for_timeout(5)
        page.reload()
        seen(True, 0, 1)

    begun("pdf", state="working", total=4, done=1)
    seen(True, 1, 4)
    now.update(done=3)
    seen(True, 3, 4)
    page.click("#cancel")
    page.wait_for_selector("#state:text-is('Cancelled.')")
    assert page.evaluate("() => document.activeElement.dataset.make") == "pdf"
    seen(False, 3, 4)
    begun("card", state="failed", error="row 1: it is out of range.")
    told(page, "make", "row 1: it is out of range.")
    assert page.inner_text("#state") == ""
    begun("card", state="failed")
    told(page, "make", "That did not work.")
    begun("pdf", state="working")
    seen(True, 0, 1)
    told(page, "make", "")
    left_and_found()
    with page.expect_download() as got:
        now.update(state="done")
    assert got.value.suggested_filename == "ada.pdf"
    page.wait_for_selector("#state:text-is('Done.')")
    begun("svg", state="working")
    left_and_found()
    now.update(state="done")
    told(page, "make", "The files were not fetched in time; make them again.")
    seen(False, 0, 1)
    assert page.evaluate("() => sessionStorage.getItem('job-task')") is None  # nothing is gone on with
