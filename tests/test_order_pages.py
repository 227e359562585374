"""The order and the workshop in the browser: what a person sees against ``numbers.json`` and ``order.csv``."""

from __future__ import annotations

import base64
import csv
import io
import json
import re
import shutil
import threading
import tomllib
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from strapwork.bodies import girths, sizes
from strapwork.cli import main as cli
from strapwork.errors import InputError, Place
from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.order import doors, kept
from strapwork.web import app, plots
from strapwork.web import server as servers
from tests.conftest import axe_in_both, resized, told, told_page, until, watched
from tests.helpers import STATIC

SAMPLES = Path(__file__).resolve().parents[1] / "samples"
HOST = {"Host": "localhost"}
CELLS = "key => [...document.querySelectorAll('#pieces [data-key=' + key + ']')].map(box => box.value)"
NAMES = """() => Object.keys(localStorage).filter(k => k.startsWith('job-kept:')).map(k => JSON.parse(localStorage[k]))
    .map(r => [r.name, r.doc.pieces.map(p => p.label)])"""
UP_TO_DATE = "() => document.querySelector('#order-state').textContent.startsWith('As on the order page')"

CELL = "() => document.activeElement.getAttribute('aria-label')"
# From 'Measure, row 1', its text marked as one comes to it: in it the arrows go by letters, at its ends to the next cell.
GRID_KEYS = (
    ("ArrowUp", "Measure, row 1"), ("Shift+Enter", "Measure, row 1"), ("ArrowRight", "Leather, row 1"),
    ("ArrowLeft", "Measure, row 1"), ("Home", "Measure, row 1"), ("ArrowRight", "Measure, row 1"),
    ("ArrowLeft", "Measure, row 1"), ("ArrowLeft", "Goods, row 1"), ("ArrowLeft", "Name, row 1"),
    ("ArrowLeft", "Name, row 1"), ("End", "Name, row 1"), ("ArrowLeft", "Name, row 1"), ("ArrowDown", "Name, new row"),
    ("ArrowDown", "Name, new row"), ("Shift+Enter", "Name, row 1"), ("Control+ArrowDown", "Name, row 1"),
    ("Enter", "Name, new row"), *(("ArrowRight", f"{name}, new row") for name in
    ("Goods", "Measure", "Leather", "Hand", "How many", "For", "For")), ("ArrowUp", "For, row 1"),
    *(("ArrowLeft", f"{name}, row 1") for name in ("How many", "Hand", "Leather", "Measure")),
)  # fmt: skip

STORE = f"const store = await import('{STATIC}/order_store.js');"
# As often as is said, the job is changed; how much of it can be taken back, and what the job would be then.
CHANGED = f"""async ([length, many]) => {{ {STORE}
  const next = (k) => length ? {{ pieces: [{{ label: 'x'.repeat(length) + k }}] }} : {{ job: {{ title: String(k) }} }};
  for (let k = 1; k <= many; k++) store.change({{ ...store.doc(), ...next(k) }});
  const {{ past }} = JSON.parse(localStorage.getItem('job-undo:' + store.id()));
  return [past.length, length ? past[0].pieces[0].label.slice(length) : past[0].job.title]; }}"""
# Another tab's job was held as long ago as is said: whether the job of this tab is the one that 'One piece' adds to.
HELD = f"""async (minutes) => {{ {STORE}
  localStorage.setItem('job-hold', JSON.stringify({{ id: 'other', at: Date.now() - minutes * 60000 }}));
  localStorage.setItem('job-open', 'other');
  window.dispatchEvent(new Event('focus'));
  return localStorage.getItem('job-open') === store.id(); }}"""
# Jobs as they were used last, wherever they lie in the storage and whatever else lies there.
LIST = f"""async () => {{ {STORE} localStorage.clear();
  for (const [name, at] of [['Stall', 1], ['Class', 3], ['Kiosk', 2]]) localStorage.setItem('job-kept:' + name, JSON.stringify({{ name, at, doc: {{}} }}));
  const alone = store.list().map((r) => r.name);
  for (const [name, text] of [['job-kept:bad', '{{'], ['job-kept:none', '{{}}'], ['a', '1'], ['z', '1']]) localStorage.setItem(name, text);
  const beside = store.list().map((r) => r.name);
  return String(alone) === String(beside) ? alone : [alone, beside]; }}"""
# The storage has room for 1000 letters more, or hardly any; the job gets a title of as many as is said.
FULL = f"""async (length) => {{ {STORE}
  for (const size of [1e6, 1e5, 1e4, 1e3, 100, 10, 1]) try {{ for (let k = 0; ; k++) localStorage.setItem(`z${{size}} ${{k}}`, 'z'.repeat(size)); }} catch {{ /* full */ }}
  localStorage.removeItem('z1000 0');
  document.querySelector('[data-problem=job]').textContent = '';
  store.change({{ ...store.doc(), job: {{ title: 'x'.repeat(length) }} }});
  return document.querySelector('[data-problem=job]').textContent; }}"""


def workshop(folder: Path) -> Places:
    """A shelf, printers and prices of one's own."""
    (folder / "prices").mkdir()
    shutil.copy(SAMPLES / "prices.toml", folder / "prices" / "stall.toml")
    shutil.copy(SAMPLES / "leathers.toml", folder)
    return Places(None, folder / "leathers.toml", folder / "printers.toml", folder / "prices")


@pytest.fixture
def places(tmp_path: Path) -> Places:
    return workshop(tmp_path)


Ask = Callable[..., Any]


@pytest.fixture
def ask(places: Places) -> Ask:
    """Ask the page's server, as the page does."""
    client = app.create_app(places).test_client()
    page = client.get("/", headers=HOST).get_data(as_text=True)
    head = HOST | {"X-Strapwork-Token": page.split('name="strapwork-token" content="')[1].split('"')[0]}

    def one(address: str, body: Any = None) -> Any:
        if body is None:
            return client.get(address, headers=head)
        if isinstance(body, bytes):
            return client.post(address, data=body, headers=head)
        return client.post(address, json=body, headers=head)

    return one


def class_rows(ask: Ask) -> list[dict[str, Any]]:
    reply = ask("/job/table/file?name=class.csv", (SAMPLES / "class.csv").read_bytes())
    return list(reply.get_json()["pieces"])


# -- what the server answers --------------------------------------------------


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_a_pasted_table_and_its_file_are_read_as_the_command_line_reads_them(ask: Ask, mark: str) -> None:
    text = (SAMPLES / "class.csv").read_text(encoding="utf-8").replace(",", mark)
    pasted = ask("/job/table", {"text": text, "piece": {}}).get_json()["pieces"]
    filed = ask("/job/table/file?name=class.csv", b"\xef\xbb\xbf" + text.encode()).get_json()["pieces"]
    place = Place.file("class.toml")
    asked = tomllib.loads((SAMPLES / "class.toml").read_text(encoding="utf-8"))
    whole = doors.of_document(asked, place, Places(), "class", SAMPLES)

    assert pasted == filed
    assert [p["label"] for p in pasted] == [o.label for o in whole.orders]
    assert [p["measure"] for p in pasted] == [o.ask.measure for o in whole.orders]
    assert [p["hand"] for p in pasted] == [o.hand for o in whole.orders]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("name;measure\nAda;16 cm\nBruno;\n", "row 3, measure: there is no measure"),
        ("Ada\t16 cm\ttwo", "row 1, count: 'two' is no whole number"),
        ("Ada,16 cm,1,left", "row 1: there are 4 values under 3 headings"),
        ("name,measure,hant\nAda,16 cm,left", "row 1, column 3: no column is called 'hant'; did you mean 'hand'"),
        ('name,measure\n"Ada,16 cm', "row 2, name: the quotation marks do not pair up"),
    ],
)
def test_a_table_that_cannot_be_read_names_row_and_column(ask: Ask, text: str, words: str) -> None:
    assert words in ask("/job/table", {"text": text, "piece": {}}).get_json()["error"]
    assert words in ask("/job/table/file?name=class.csv", text.encode()).get_json()["error"]


@pytest.mark.parametrize("text", ["Ada,16 cm\n\nBo,17 cm,two", "name,measure,count\nAda,16 cm,\nBo,17 cm,two"])
def test_a_row_is_named_by_its_number_in_the_file_whatever_the_file_is_called(ask: Ask, text: str) -> None:
    """A year in the name is no row of it; headings and empty rows count where the maker has them."""
    told = ask("/job/table/file?name=class-2026.csv", text.encode()).get_json()["error"]
    assert told == "class-2026.csv, row 3, count: 'two' is no whole number; write it in digits, such as 3."


def test_the_order_on_the_page_is_that_of_the_pdf_and_of_order_csv(ask: Ask) -> None:
    """The same tables, and the numbers of numbers.json, to the last digit shown."""
    raw = tomllib.loads((SAMPLES / "stall.toml").read_text(encoding="utf-8"))
    raw["prices"] = "stall"
    body = {"job": {k: v for k, v in raw.items() if k != "pieces"}, "pieces": raw["pieces"]}
    tables = {t["heading"]: t for group in ask("/job/order", body).get_json()["tables"] for t in group}
    data = json.loads((SAMPLES / "stall" / "numbers.json").read_bytes())["order"]

    cut = [row for s in tables["Cut, longest first"]["sections"] for row in s["rows"]]
    assert [(r[0], r[1], r[3]) for r in cut] == [
        (r["label"], f"{r['length_mm']:.1f}", str(r["count"])) for r in data["cut_list"]
    ]
    cost = tables["Cost and price, EUR"]
    assert cost["total"][-1] == data["cost"]["price"]
    assert [r[-1] for r in cost["sections"][0]["rows"]] == [p["total"] for p in data["cost"]["pieces"]]
    [snaps] = tables["Lay out"]["sections"][0]["rows"]
    assert snaps[1:] == [str(v) for v in (40, 4, 44)]
    rows = list(csv.DictReader(io.StringIO(ask("/job/order.csv", body).get_data().decode("utf-8-sig"))))
    mine = list(csv.DictReader(io.StringIO((SAMPLES / "stall" / "order.csv").read_text(encoding="utf-8-sig"))))
    assert rows == mine
    assert any("no plan costs less" in note for note in tables["From strips"]["notes"])


def test_every_row_is_judged_by_itself(ask: Ask) -> None:
    rows = [
        {"pattern": "wristband", "measure": "16 cm"},
        {"pattern": "wristband", "measure": "3 m"},
        {"pattern": "wristband", "measure": "16 cm", "leather": "rind"},
        {"pattern": "wristband"},
        {"pattern": "wristband", "measure": "16 cm", "ends": 5},
        {"pattern": "wristband", "sizes": {"of": 5, "bodies": "adults"}, "count": 40},
    ]
    got = ask("/job/rows", {"job": {"units": "mm", "title": ""}, "pieces": rows}).get_json()

    assert list(got["job"]) == ["title"]  # told at its own field, not at every row
    assert got["rows"][0]["cut"].endswith(" mm")
    assert "out of range" in got["rows"][1]["problems"]["measure"]
    assert "no leather is called 'rind'" in got["rows"][2]["problems"]["leather"].lower()
    assert "missing" in got["rows"][3]["problems"]["measure"]
    assert "'5' is no shape of ends" in got["rows"][4]["problems"]["ends"]
    assert got["rows"][5]["count"] == 40
    assert re.fullmatch(r"[\d.]+ mm to [\d.]+ mm", got["rows"][5]["cut"])


def test_a_job_kept_by_name_keeps_the_makers_comments_and_is_never_written_over(ask: Ask, tmp_path: Path) -> None:
    rows = class_rows(ask)
    body = {"job": {"title": "Class"}, "pieces": rows}
    first = ask("/jobs/Class in May", body).get_json()
    file = tmp_path / "jobs" / "Class in May.toml"
    assert "already" in ask("/jobs/Class in May", body).get_json()["error"]  # another job has the name

    file.write_text("# for the harbour hall\n" + file.read_text(encoding="utf-8"), encoding="utf-8")
    stale = {**body, "mark": first["mark"]}
    assert "changed since it was opened" in ask("/jobs/Class in May", stale).get_json()["error"]
    opened = ask("/jobs/Class in May").get_json()
    assert (opened["job"], opened["pieces"]) == (body["job"], rows)
    more = {"job": {"title": "Class", "hand": "left"}, "pieces": [*rows[1:], {"pattern": "belt", "measure": "34 in"}]}
    ask("/jobs/Class in May", {**more, "mark": opened["mark"]})
    text = file.read_text(encoding="utf-8")
    assert text.startswith("# for the harbour hall\n")
    assert tomllib.loads(text) == {**more["job"], "pieces": more["pieces"]}  # type: ignore[dict-item]
    assert (file.with_name("Class in May.toml.bak")).read_text(encoding="utf-8").count("Ada") == 1

    file.write_text("title = ", encoding="utf-8")
    [row] = ask("/jobs").get_json()["jobs"]
    assert "not valid TOML" in row["damaged"]
    mark = kept._mark(file.read_bytes())
    assert "not valid TOML" in ask("/jobs/Class in May", {**more, "mark": mark}).get_json()["error"]
    assert file.read_text(encoding="utf-8") == "title = "


@pytest.mark.parametrize("name", ["../evil", "a/b", "", ".hidden", "con", "x" * 61, "a\0b", "a:b"])
def test_a_job_can_only_be_kept_inside_its_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match="no name for a job"):
        kept.save(tmp_path / "jobs", name, {"pieces": [{"pattern": "belt", "measure": "34 in"}]})
    assert not (tmp_path / "jobs").exists()


def test_a_finished_piece_told_on_the_page_teaches_as_the_command_does(
    ask: Ask, places: Places, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = tmp_path / "other.toml"
    shutil.copy(SAMPLES / "leathers.toml", other)
    numbers = SAMPLES / "class" / "numbers.json"
    from_json = ask("/leathers/numbers?name=numbers.json", numbers.read_bytes()).get_json()
    from_pdf = ask("/leathers/numbers?name=class.pdf", (SAMPLES / "class" / "class.pdf").read_bytes()).get_json()
    assert from_json == from_pdf
    assert [p["label"] for p in from_json["pieces"]][:2] == ["Ada", "Bruno"]

    told = {"numbers": from_json["numbers"], "piece": "1", "measured": "17.2 cm", "date": "2026-11-02"}
    said = ask("/leathers/made", told).get_json()["said"]
    made = ["made", str(numbers), "Ada", "--measured", "17.2 cm", "--date", "2026-11-02", "--shelf", str(other)]
    assert cli.main(made) == 0
    assert said in capsys.readouterr().out
    assert places.shelf is not None
    assert places.shelf.read_text(encoding="utf-8") == other.read_text(encoding="utf-8")
    page = ask("/leathers").get_data(as_text=True)
    assert "Take the last finished piece back" in page
    assert "Ada" in page
    assert "already" in ask("/leathers/made", told).get_json()["error"]
    wrong = ask("/leathers/made", {**told, "piece": "2", "leather": "slip-soft", "measured": "4 m"}).get_json()["error"]
    assert wrong.startswith("the field 'Came out at'")
    assert "Took back Ada" in ask("/leathers/undo", {"leather": "harbour-tan"}).get_json()["said"]
    assert "Take the last" not in ask("/leathers").get_data(as_text=True)
    nothing = ask("/leathers/undo", {"leather": "harbour-tan"}).get_json()["error"]
    assert "no finished piece has been added" in nothing
    unknown = ask("/leathers/undo", {"leather": "rind"}).get_json()["error"]
    assert unknown.startswith("the field 'Leather of the shelf': no leather is called 'rind'")  # no option of a command


def test_readings_and_prices_are_kept_as_the_commands_keep_them(
    ask: Ask, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    readings = ["165.2 mm", "252.1", "301.4 mm", "301.6 mm"]
    said = ask("/printers", {"printer": "attic", "paper": "A4", "readings": readings}).get_json()["said"]
    other = tmp_path / "other.toml"
    measured = ["165.2 mm", "252.1 mm", "301.4 mm", "301.6 mm"]
    assert cli.main(["scale", "--measured", *measured, "--printer", "attic", "--printers", str(other)]) == 0
    assert said.split("\n")[0] in capsys.readouterr().out
    assert (tmp_path / "printers.toml").read_text() == other.read_text()
    assert "Y: the reading is missing" in ask("/printers", {"printer": "a", "readings": ["165 mm"]}).get_json()["error"]
    assert ask("/printers/sheet?paper=letter").data.startswith(b"%PDF")

    text = (SAMPLES / "prices.toml").read_text(encoding="utf-8")
    assert "already" in ask("/prices", {"name": "stall", "text": text}).get_json()["error"]
    there = ask("/prices/stall").get_json()
    dearer = text.replace('hour = "24.00"', 'hour = "30.00"')
    assert "30.00" in ask("/prices", {"name": "stall", "text": dearer, "mark": there["mark"]}).get_json()["said"]
    assert (tmp_path / "prices" / "stall.toml.bak").read_text(encoding="utf-8") == text
    bad = ask("/prices", {"name": "x", "text": 'currency = "XXZ"'}).get_json()["error"]
    assert "the price file, currency: 'XXZ' is no currency" in bad
    assert cli.main(["prices", str(tmp_path / "prices" / "stall.toml")]) == 0
    terminal = capsys.readouterr().out.splitlines()
    page = re.sub(r"\s+", " ", ask("/prices").get_data(as_text=True))
    assert all(row.strip() in page for row in terminal)


def test_the_sizes_page_says_what_the_command_says(ask: Ask, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["sizes", "wrist", "--of", "5", "--reach", "6 mm", "--count", "40"]) == 0
    terminal = capsys.readouterr().out.splitlines()
    page = ask("/sizes?measure=wrist&of=5&reach=6+mm&count=40").get_data(as_text=True)
    plain = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)).replace("&#39;", "'")
    for row in terminal[:1] + terminal[2:7] + terminal[8:]:
        assert re.sub(r"\s+", " ", row.strip()) in plain
    assert "How many sizes: 'x' cannot be used" in ask("/sizes?of=x").get_data(as_text=True).replace("&#39;", "'")
    own = ask("/sizes?of=2&list=" + "%0A".join(("15 cm", "16 cm", "18 cm", "19 cm"))).get_data(as_text=True)
    assert "4 measures of your own" in own


def test_the_picture_of_who_fits_shows_everyone_once() -> None:
    """Heights of the bars, near and far together, are the people; those beyond the reach are the far ones."""
    found = sizes.best_sizes(girths.spread(girths.find("adults", ""), "wrist"), 5)
    bars = re.findall(
        r'class="(near|near even|far)" x="[\d.]+" y="[\d.]+" width="[\d.]+" height="([\d.]+)"',
        plots.who_fits(found, 6.0, "mm"),
    )
    whole = sum(float(h) for _, h in bars)
    far = sum(float(h) for kind, h in bars if kind == "far")
    assert far / whole == pytest.approx(1.0 - found.within(6.0), abs=0.004)
    assert "far" not in {kind for kind, _ in re.findall(r'class="(near|far)" (x)', plots.who_fits(found, None, "mm"))}


# -- in a real browser ----------------------------------------------------------


@pytest.fixture(scope="module")
def own_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    places = workshop(tmp_path_factory.mktemp("workshop"))
    made = servers.create(app.create_app(places), "127.0.0.1", 0)
    threading.Thread(target=made.run, daemon=True).start()
    yield f"http://127.0.0.1:{made.effective_port}"
    made.close()


@pytest.fixture
def job(browser: Any, own_server: str) -> Iterator[Any]:
    """The page of a whole job, empty, whose faults fail the test."""
    context = browser.new_context(accept_downloads=True, viewport={"width": 1280, "height": 900})
    opened = context.new_page()
    faults = watched(opened)
    opened.goto(f"{own_server}/job")
    yield opened
    context.close()
    assert faults == []


def no_overflow(page: Any) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"))


# The lists as they are seen: words, the part of the table, heads of rows and columns, what stands at the end of its cell or
# in bold, what a box ticks off, and how many columns each row goes over.
DRAWN = """() => [...document.querySelectorAll('#order .o-list')].map((list) => ({
  heading: list.querySelector('h3').textContent,
  names: [list.querySelector('[role=group]').getAttribute('aria-label'), list.querySelector('caption').textContent],
  notes: [...list.querySelectorAll('p')].map((p) => p.textContent),
  wide: [...new Set([...list.querySelectorAll('tr')].map((tr) => [...tr.cells].reduce((sum, c) => sum + c.colSpan, 0)))],
  rows: [...list.querySelectorAll('tr')].map((tr) => [tr.parentElement.tagName, ...[...tr.cells].map((c) => [
    c.querySelector('input') ? c.querySelector('input').getAttribute('aria-label') : c.textContent, c.tagName === 'TH' ? c.scope : '',
    getComputedStyle(c).textAlign === 'right', Number(getComputedStyle(c).fontWeight) >= 600])]),
}))"""


def assert_drawn(page: Any, groups: list[list[dict[str, Any]]]) -> None:
    """All lists of an order stand on the page as the server said them, with a box for each row that can be ticked off."""
    for shown, table in zip(page.evaluate(DRAWN), [t for group in groups for t in group], strict=True):
        heads, box = table["columns"], [["", "", False, True]] if table["ticks"] else []
        of_head = [["done", "col", False, False]] if table["ticks"] else []

        def cells(texts: list[str], bold: bool = False, heads: Any = heads) -> list[list[Any]]:
            return [
                [text, "" if k else "row", head["end"], head["strong"] or bold]
                for k, (text, head) in enumerate(zip(texts, heads, strict=True))
            ]

        rows = [["THEAD", *of_head, *([h["head"], "col", h["end"], False] for h in heads)]] if heads[0]["head"] else []
        for part in table["sections"]:
            if part["heading"]:
                remark = f" {part['remark']}" if part["remark"] else ""
                rows.append(["TBODY", [part["heading"] + remark, "rowgroup", False, True]])
            for row in part["rows"]:
                done = "Done: " + ", ".join([text for text in row if text][:2])
                rows.append(["TBODY", *([[done, "", False, False]] if table["ticks"] else []), *cells(row)])
            rows += [["TBODY", *box, *cells(part["total"], True)]] if part["total"] else []
        rows += [["TFOOT", *box, *cells(table["total"], True)]] if table["total"] else []
        assert shown == {
            "heading": table["heading"] + (f" {table['remark']}" if table["remark"] else ""),
            "names": [table["heading"]] * 2,
            "notes": table["notes"],
            "wide": [len(heads) + len(box)],
            "rows": rows,
        }


@pytest.mark.browser
def test_a_class_of_twelve_from_a_spreadsheet(job: Any) -> None:
    """From the file to ticked lists, order.csv and the PDF, with nothing off the side of a phone, a tablet or a desk."""
    answers: list[Any] = []
    job.on("response", lambda r: answers.append(r) if r.url.endswith("/job/order") else None)
    job.set_input_files("#table-file", str(SAMPLES / "class.csv"))
    until(job, UP_TO_DATE)
    assert_drawn(job, answers[-1].json()["tables"])
    numbers = json.loads((SAMPLES / "class" / "numbers.json").read_bytes())["order"]["cut_list"]
    # The samples have the plain leathers of their job file; the shelf here has learned of one of them.
    shown = job.eval_on_selector_all(
        "#order .o-list:first-child tbody tr:not(.o-section)",
        "rows => rows.map(r => [r.cells[1].textContent, r.cells[2].textContent])",
    )
    assert {name for name, _ in shown} == {r["label"] for r in numbers}
    with job.expect_download() as wait_for:
        job.click("#order-csv")
    rows = list(csv.DictReader(io.StringIO(Path(wait_for.value.path()).read_text(encoding="utf-8-sig"))))
    assert [[r["name"], r["length_mm"]] for r in rows if r["list"] == "cut"] == shown
    in_grid = job.eval_on_selector_all("#pieces .o-out", "cells => cells.map(c => c.textContent)")[:12]
    assert sorted(in_grid) == sorted(f"{float(mm):g} mm" for _, mm in shown)
    # Two straps alike are two to cut; with prices, what they cost is added up below.
    job.fill("#table", "Zoë,16 cm,1\nZoë,16 cm,1")
    job.click("#add-table")
    job.wait_for_selector("#order .o-tick input[aria-label^='Done: Zoë'] >> nth=1")
    job.fill("#f-prices", "stall")
    job.press("#f-prices", "Enter")
    job.wait_for_selector("#order h3:has-text('Cost and price, EUR')")
    assert_drawn(job, answers[-1].json()["tables"])
    zoe = job.locator("#order .o-tick input[aria-label^='Done: Zoë']")
    for ticked in (zoe.nth(0), zoe.nth(1)):
        ticked.check()
    zoe.nth(0).uncheck()
    job.reload()
    until(job, UP_TO_DATE)
    assert [zoe.nth(0).is_checked(), zoe.nth(1).is_checked()] == [False, True]
    assert job.locator("#order input:checked").count() == 1
    with job.expect_download() as wait_for:
        job.click("[data-make=pdf]")
    job.wait_for_selector("#state:text-is('Done.')")
    assert Path(wait_for.value.path()).read_bytes().startswith(b"%PDF")
    for width in (320, 390, 820, 1280):
        resized(job, width, 900)
        assert no_overflow(job), width


@pytest.mark.browser
def test_the_grid_takes_spreadsheet_keys_and_every_change_can_be_undone(job: Any) -> None:
    job.click("#pieces [data-key=label]")
    for text, key in (("Ines", "Tab"), ("", "Tab"), ("16 cm", "Enter"), ("", "ArrowUp")):
        job.keyboard.type(text)
        job.keyboard.press(key)
    assert job.evaluate(CELLS, "label") == ["Ines", ""]  # a row has added itself
    assert job.evaluate(CELL) == "Measure, row 1"
    for key, cell in GRID_KEYS:
        job.keyboard.press(key)
        assert job.evaluate(CELL) == cell, key
    job.keyboard.type("20 cm")
    job.keyboard.press("Escape")  # typed by mistake
    assert job.evaluate(CELLS, "measure") == ["16 cm", ""]
    job.keyboard.press("Control+a")
    job.keyboard.type("3 m")
    job.keyboard.press("ArrowDown")
    job.keyboard.type("17 cm")
    job.keyboard.press("Enter")
    job.wait_for_selector("#pieces tr:first-child .wrong:has-text('out of range')")
    assert job.get_attribute("#pieces tr:first-child [data-key=measure]", "aria-invalid") == "true"
    assert "row 1" in job.inner_text("#order-state")
    job.evaluate("document.activeElement.blur()")
    for key in ("z", "Control+c", "Control+Alt+z", "Control+z", "Control+z"):  # the last two are asked for
        job.keyboard.press(key)
    assert job.evaluate(CELLS, "measure") == ["16 cm", ""]
    job.keyboard.press("Control+y")
    assert job.evaluate(CELLS, "measure") == ["3 m", ""]
    job.click("#undo")
    plain = """() => [...document.querySelectorAll('#pieces [data-key=label]')]
        .filter((box) => getComputedStyle(box).backgroundColor === 'rgba(0, 0, 0, 0)').map((box) => box.getAttribute('aria-label'))"""
    assert job.evaluate(plain) == ["Name, new row"]  # what is no row yet looks like none
    job.click("#clear")
    assert job.evaluate(CELLS, "label") == [""]
    job.keyboard.type("Jo")  # and the page is left before the cell is
    job.reload()
    assert job.evaluate(CELLS, "label") == ["Jo", ""]
    job.click("#undo")
    job.click("#undo")  # also after a reload
    assert job.evaluate(CELLS, "label") == ["Ines", ""]
    job.click("#redo")
    assert job.evaluate(CELLS, "label") == [""]

    # Strips are typed in the same way; how many there are is a number, and a row that is emptied is none.
    kept = "() => JSON.parse(localStorage.getItem('job')).job"
    job.click("#strips-part summary")
    job.click("#strips [data-key=leather]")
    for text, key in (("harbour-tan", "Tab"), ("3/4 in", "Tab"), ("1.3 m", "Tab"), (" 6 ", "Enter"), ("few", "Enter")):
        job.keyboard.type(text)
        job.keyboard.press(key)
    first = {"leather": "harbour-tan", "width": "3/4 in", "length": "1.3 m", "have": 6}
    assert job.evaluate(kept) == {"strips": [first, {"have": "few"}]}
    assert job.evaluate(CELL) == "In hand, new row"
    job.click("button[aria-label='Take out strips, row 1']")
    assert job.evaluate(kept) == {"strips": [{"have": "few"}]}
    job.fill("#strips [data-key=have]", "")
    job.keyboard.press("Enter")
    assert job.evaluate(kept) == {}
    job.click("#undo")
    job.click("button[aria-label='Take out strips, row 1']")
    assert job.evaluate(kept) == {}


@pytest.mark.browser
def test_jobs_are_kept_under_names_and_two_tabs_lose_nothing(job: Any, own_server: str) -> None:
    job.fill("#job-name", "Market")
    job.press("#job-name", "Tab")
    job.fill("#table", "Ada,16 cm")
    job.click("#add-table")
    until(job, f"() => ({CELLS})('label').includes('Ada')")
    job.click("summary:has-text('Jobs: open')")
    job.click("#job-list button:has-text('Duplicate')")
    assert job.input_value("#job-name") == "Market, again"
    job.fill("#pieces tr:first-child [data-key=label]", "Bruno")
    job.press("#pieces tr:first-child [data-key=label]", "Enter")

    other = job.context.new_page()  # a second tab goes on with the same job
    faults = watched(other)
    other.goto(f"{own_server}/job")
    assert other.evaluate(CELLS, "label") == ["Bruno", ""]
    other.fill("#table", "Célia,17 cm")
    other.click("#add-table")
    until(other, f"() => ({CELLS})('label').includes('Célia')")
    until(job, f"() => ({CELLS})('label').includes('Célia')")
    # While one types, the other writes: both are kept, under two names.
    job.focus("#pieces tr:first-child [data-key=label]")
    job.keyboard.type(" B.")
    other.click("#pieces button[aria-label='Take out Célia']")
    # A browser hands what one tab has stored to another in its own time.
    until(job, f"() => ({NAMES})().some(([name, labels]) => name === 'Market, again' && labels.length === 1)")
    job.keyboard.press("Enter")
    job.wait_for_selector("[data-problem=job]:has-text('Another tab changed this job')")
    found = dict(job.evaluate(NAMES))
    assert found["Market"] == ["Ada"]
    assert found["Market, again"] == ["Bruno"]
    assert len(found["Market, again, of this tab"]) == 2
    assert faults == []
    other.close()

    job.click("#job-list li:has-text('Market, 1 row') button:has-text('Open')")
    assert job.evaluate(CELLS, "label") == ["Ada", ""]
    job.click("#copy-link")
    job.wait_for_selector("#link", state="visible")  # packed with what takes its time
    link = job.input_value("#link")
    packed = base64.urlsafe_b64decode(link.partition("#job=")[2] + "==")
    inside = json.loads(zlib.decompress(packed, -15))  # RFC 1951, in the letters of RFC 4648 for addresses
    assert inside == {
        "name": "Market",
        "job": {},
        "pieces": [{"pattern": "wristband", "label": "Ada", "measure": "16 cm"}],
    }
    job.click("#keep")
    job.wait_for_selector("#where:has-text(\"Saved as 'Market'.\")")
    job.goto(link)  # the job in the link is one more, beside that which it was made of
    markets = f"many => ({NAMES})().filter(([name]) => name === 'Market').length === many"
    until(job, markets, arg=2)
    assert job.input_value("#job-name") == "Market"
    assert job.evaluate(CELLS, "label") == ["Ada", ""]
    job.goto(link)  # the page is there already, and only the address changes
    until(job, markets, arg=3)
    job.goto(link[:-9])
    told(job, "job", "The link is cut short or damaged; ask for it again.")
    assert job.evaluate(markets, 3)


@pytest.mark.browser
def test_a_forgotten_job_comes_back_with_its_rows_and_the_others_stay(job: Any) -> None:
    """Three jobs; forgetting one that is not open leaves the open one on the screen, forgetting the open one opens another."""
    listed = "() => [...document.querySelectorAll('#job-list span')].map(e => e.textContent).sort()"

    def begun(name: str, row: str) -> None:
        job.fill("#job-name", name)
        job.press("#job-name", "Tab")
        job.fill("#table", row)
        job.click("#add-table")
        until(job, f"name => ({CELLS})('label').includes(name)", arg=row.partition(",")[0])

    begun("Stall", "Ada,16 cm")
    job.click("summary:has-text('Jobs: open')")
    for name, row in (("Class", "Bruno,17 cm"), ("Kiosk", "Celia,18 cm\nDora,19 cm")):
        job.click("#begin")
        begun(name, row)
    assert job.evaluate(listed) == ["Class, 1 row", "Kiosk, 2 rows, open here", "Stall, 1 row"]
    job.click("#job-list li:has-text('Class') button:has-text('Forget')")
    assert job.evaluate(listed) == ["Kiosk, 2 rows, open here", "Stall, 1 row"]
    assert job.evaluate(CELLS, "label") == ["Celia", "Dora", ""]
    job.click("#bring-back:has-text(\"Bring back 'Class'\")")
    assert job.evaluate(CELLS, "label") == ["Bruno", ""]
    assert job.is_hidden("#bring-back")
    job.click("#job-list li:has-text('open here') button:has-text('Forget')")
    assert job.evaluate(CELLS, "label") == ["Celia", "Dora", ""]  # the one used last
    job.reload()
    assert job.evaluate(CELLS, "label") == ["Celia", "Dora", ""]
    assert sorted(name for name, _ in job.evaluate(NAMES)) == ["Kiosk", "Stall"]

    # Sixty changes can be taken back, fewer where they are long.
    assert job.is_hidden("#job-list")
    assert job.evaluate(CHANGED, [0, 62]) == [60, "2"]
    assert job.evaluate(CHANGED, [99_000, 9]) == [6, "3"]
    # A row that is edited as one piece holds the place of its job for half an hour.
    assert [job.evaluate(HELD, minutes) for minutes in (29.9, 30.1)] == [False, True]
    full = "This browser's storage is full: forget a job you no longer need, or save this one as a file."
    # It holds a job more than once: there may be room for the one and not for the other.
    assert [job.evaluate(FULL, letters) for letters in (1500, 700)] == [full, full]
    assert job.input_value("#job-name") == "Kiosk"  # and no copy, as where another tab changed it
    assert job.evaluate(LIST) == ["Class", "Kiosk", "Stall"]


@pytest.mark.browser
def test_a_row_edited_as_one_piece_holds_its_job_only_until_it_is_back(job: Any, own_server: str) -> None:
    """While a row is at 'One piece', what is added there goes to its job; back at the jobs, to the one that is opened next."""
    job.fill("#table", "Ada,16 cm")
    job.click("#add-table")
    job.click("#pieces button[aria-label='Open Ada']")
    job.wait_for_url(f"{own_server}/?*")
    job.goto(f"{own_server}/job")
    job.click("summary:has-text('Jobs: open')")
    job.click("#begin")
    job.goto(f"{own_server}/?measure=17+cm")
    job.click("#to-job")
    job.wait_for_selector("#added:has-text('Added')")
    job.goto(f"{own_server}/job")
    assert job.evaluate(CELLS, "measure") == ["17 cm", ""]


@pytest.mark.browser
def test_a_lost_server_is_said_and_nothing_typed_is_lost(browser: Any, own_server: str) -> None:
    """It is looked for every two seconds, and found without anybody doing anything; time is played here."""
    looked: list[str] = []
    lost = "The page has lost its server; start 'strapwork serve' again. Nothing is lost: all of it is kept in this browser."
    with told_page(browser) as page:
        page.clock.install()
        page.goto(f"{own_server}/job")
        page.fill("#table", "\n".join(f"Ada {k},16 cm" for k in range(1, 12)))
        page.click("#add-table")
        until(page, UP_TO_DATE)
        page.clock.pause_at(page.evaluate("() => Date.now()") + 60_000)
        page.on("request", lambda q: looked.append(q.url) if q.url.endswith("/job") else None)
        page.context.set_offline(True)
        page.select_option("#f-hand", "left")  # eleven rows to work out
        page.clock.run_for(120)
        told(page, "rows", lost)
        assert page.inner_text("#where") == "The server is away; start 'strapwork serve' again. Kept in this browser."
        assert page.is_hidden("#rows-working")
        page.click("[data-make=pdf]")
        told(page, "make", lost)
        assert page.inner_text("#state") == ""
        page.fill("#pieces tr:first-child [data-key=label]", "Ines")
        page.press("#pieces tr:first-child [data-key=label]", "Enter")
        page.clock.run_for(1999)
        assert looked == []
        with page.expect_request("**/job"):
            page.clock.run_for(1)
        page.context.set_offline(False)
        while page.inner_text("#where") != "Kept in this browser.":
            page.clock.run_for(2000)
        page.clock.resume()
        until(page, UP_TO_DATE)
        assert page.is_hidden("[data-problem=make]")
        assert page.is_hidden("[data-problem=rows]")
        assert page.evaluate(CELLS, "label")[:2] == ["Ines", "Ada 2"]


@pytest.mark.browser
def test_axe_finds_nothing_on_the_order_and_the_workshop(browser: Any, own_server: str) -> None:
    context = browser.new_context(
        color_scheme="light", viewport={"width": 1280, "height": 900}, reduced_motion="reduce", bypass_csp=True
    )
    page = context.new_page()
    faults = watched(page)
    for path in ("/job", "/leathers", "/sizes?reach=6+mm&count=40", "/printers", "/prices"):
        page.goto(own_server + path)
        if path == "/job":
            page.fill("#table", "Ada,16 cm\nBruno,3 m")
            page.click("#add-table")
            page.wait_for_selector("#pieces .wrong")
            page.evaluate("for (const d of document.querySelectorAll('details')) d.open = true")
        assert axe_in_both(page) == "", path
        for width in (320, 390):
            resized(page, width, 844)
            assert no_overflow(page), f"{path} runs off the side at {width}"
        page.set_viewport_size({"width": 1280, "height": 900})
    assert faults == []
    context.close()


def test_rows_worked_out_one_by_one_make_the_job_that_is_made_at_once(ask: Ask) -> None:
    """The lists of the page against those of the files, companions and left hands included."""
    rows = [
        {"label": "Quay", "pattern": "belt", "measure": "34 in", "count": 2},
        {"label": "Ines", "pattern": "wristband", "measure": "16 cm", "hand": "left"},
    ]
    body = {"job": {"units": "in"}, "pieces": rows}
    tables = [t for group in ask("/job/order", body).get_json()["tables"] for t in group]
    made = jobs.make(doors.of_document({"units": "in", "pieces": rows}, Place.file("x"), Places(), "x"))
    assert made.lists is not None
    for mine, theirs in zip(tables[0]["sections"], made.numbers["order"]["cut_list"], strict=False):
        assert mine["rows"][0][0] == theirs["label"]
    assert ask("/job/order.csv", body).data == made.lists.csv()


def test_a_price_file_is_looked_for_where_one_stands_then_beside_the_job(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A PDF holds no prices: made again elsewhere it asks for them, and finds them where they are typed."""
    monkeypatch.chdir(tmp_path)
    Path("sub").mkdir()
    for folder, currency in (("sub", "NOK"), (".", "EUR")):
        Path(folder, "prices.toml").write_text(f'currency = "{currency}"\nhour = "24.00"\n', encoding="utf-8")
    shutil.copy("sub/prices.toml", "sub/theirs.toml")
    Path("sub/kit.toml").write_text('[[pieces]]\npattern = "wristband"\nmeasure = "172 mm"\n', encoding="utf-8")

    def currency_of(prices: str) -> str:
        assert cli.main(["make", "sub/kit.toml", "--prices", prices, "--json", "--dry"]) == 0
        return str(json.loads(capsys.readouterr().out)["order"]["cost"]["currency"])

    assert currency_of("prices.toml") == "EUR"
    assert currency_of("sub/prices.toml") == "NOK"
    assert currency_of("theirs.toml") == "NOK"  # there is none of that name here
    no_system_has_it = f"{'x' * 300}.toml"
    assert cli.main(["make", "sub/kit.toml", "--prices", no_system_has_it, "--dry"]) == 2
    assert "a text of 305 characters is too long here" in capsys.readouterr().err
    assert cli.main(["make", "sub/kit.toml", "--prices", "prices.toml", "--out", "made"]) == 0
    Path("else/where").mkdir(parents=True)
    shutil.copy("made/kit.pdf", "else/where/kit.pdf")
    capsys.readouterr()
    assert cli.main(["make", "else/where/kit.pdf", "--out", "again"]) == 2
    assert capsys.readouterr().err.endswith(
        "there is no such price file; give its path or its name in your folder of prices, at the terminal with --prices.\n"
    )
    assert cli.main(["make", "else/where/kit.pdf", "--out", "again", "--prices", "prices.toml"]) == 0
    assert "The numbers are those of the paper" in capsys.readouterr().out


def test_a_dry_run_says_the_lists_and_what_each_person_comes_to(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two pieces for Ines and one for Bruno; sums by person are those of the pieces (12.18 + 13.97 = 26.15)."""
    shutil.copy(SAMPLES / "prices.toml", tmp_path)
    rows = (
        "name,person,pattern,measure\nBand,Ines,wristband,16 cm\nFob,Ines,key-fob,90 mm\nBand,Bruno,wristband,18 cm\n"
    )
    (tmp_path / "who.csv").write_text(rows, encoding="utf-8")
    assert cli.main(["make", str(tmp_path / "who.csv"), "--prices", "prices.toml", "--dry"]) == 0
    said = [row.split() for row in capsys.readouterr().out.splitlines()]
    assert ["Fob", "1", "0.14", "9.84", "1.20", "13.97", "13.97"] in said
    assert ["Ines", "26.15"] in said
    assert ["Bruno", "12.18"] in said
    assert ["size", "20", "snap", "3", "1", "4"] in said
    assert not (tmp_path / "who").exists()
