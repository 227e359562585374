"""The pages of leathers, sizes, prices and printers where what was typed is wrong, long or left out; in a browser at the end."""

from __future__ import annotations

import html
import json
import re
import shutil
import threading
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from strapwork.bodies import girths, sizes
from strapwork.files.folders import Places
from strapwork.printer import photo
from strapwork.stock import printers
from strapwork.stock.papers import PAPERS
from strapwork.stock.printers import Printer
from strapwork.web import app, pictures
from strapwork.web import server as servers
from strapwork.web.bounds import Busy
from tests.conftest import SAMPLES, told, told_page, until

HOST = {"Host": "localhost"}
Ask = Callable[..., Any]


@pytest.fixture(scope="module")
def asking(tmp_path_factory: pytest.TempPathFactory) -> tuple[Ask, Path]:
    """The server of a workshop of one's own, and its folder: an address alone is opened, with data it is sent them."""
    folder = tmp_path_factory.mktemp("workshop")
    client = app.create_app(Places(None, None, folder / "printers.toml", folder / "prices")).test_client()
    page = client.get("/prices", headers=HOST).get_data(as_text=True)
    head = HOST | {"X-Strapwork-Token": page.split('name="strapwork-token" content="')[1].split('"')[0]}

    def one(address: str, body: Any = None, **query: str) -> Any:
        if body is None:
            return client.get(address, query_string=query, headers=head)
        if isinstance(body, bytes):
            return client.post(address, data=body, headers=head).get_json()
        return client.post(address, json=body, headers=head).get_json()

    return one, folder


@pytest.fixture
def folder(asking: tuple[Ask, Path]) -> Path:
    """The workshop's folder, empty."""
    for path in asking[1].iterdir():
        path.unlink() if path.is_file() else shutil.rmtree(path)
    (asking[1] / "prices").mkdir()
    return asking[1]


@pytest.fixture
def ask(asking: tuple[Ask, Path], folder: Path) -> Ask:
    """The server, beside an empty folder."""
    return asking[0]


# -- sizes ------------------------------------------------------------------------


@pytest.fixture
def shown(ask: Ask) -> Callable[..., str]:
    """The words of the page of sizes."""

    def words(**query: str) -> str:
        page = ask("/sizes", **query).get_data(as_text=True)
        return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page)))

    return words


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"of": "x"}, "How many sizes: 'x' cannot be used; give a whole number up to 50."),
        ({"of": "51"}, "How many sizes: '51' cannot be used; give a whole number up to 50."),
        ({"count": "10001"}, "Split this many pieces: '10001' cannot be used; give a whole number up to 10000."),
        (
            {"by": "reach"},
            "A piece still fits within: The reach is missing; say how far from its size a piece still fits.",
        ),
        (
            {"by": "reach", "reach": "6 mm", "step": "5 mm"},
            "Whole steps of: Whole steps do not go with the fewest out of reach; leave one of them out.",
        ),
        ({"women": "101"}, "Women in a hundred: '101' cannot be used; give a whole number up to 100."),
        (
            {"who": "men", "women": "40"},
            "Women in a hundred: A mix does not go with one sex alone; leave one of them out.",
        ),
        ({"list": "155 mm\n\n170 mm\n17 ells"}, "line 4 of your list: 'ells' in '17 ells'"),
        ({"list": "155 mm; 170 mm\r\n17 ells; 180 mm"}, "line 2 of your list: 'ells' in '17 ells'"),
        ({"reach": "6" * 61}, "A piece still fits within: A text of 61 characters is too long here; keep it to 60."),
    ],
)
def test_what_is_wrong_on_the_page_of_sizes_is_told_by_the_name_of_its_field(
    shown: Callable[..., str], query: dict[str, str], said: str
) -> None:
    assert said in shown(**query)


def test_a_list_of_many_measures_counts_to_its_end_or_is_refused_whole(shown: Callable[..., str]) -> None:
    """Cut short, its last line could be read as another measure, and those behind it would not count."""
    fits = "150 mm\n" + " " * (20_000 - 13) + "190 mm"
    assert len(fits) == 20_000
    assert "2 measures of your own" in shown(of="2", list=fits)
    refused = shown(of="2", list=fits + "0")
    assert "Measures of your own: A text of 20001 characters is too long here; keep it to 20000." in refused
    assert "measures of your own" not in refused.partition("too long")[2]


def test_women_men_and_a_mix_get_the_sizes_of_those_who_were_counted(shown: Callable[..., str]) -> None:
    """One size is the mean girth (least squares); the mean of a mix is the mix of the means."""
    counted = girths.find("adults", "").girths["wrist"]
    mean = {}
    for sex in ("women", "men"):
        counts = getattr(counted, sex)
        people = sum(counts.people)
        mean[sex] = sum(n * (counts.first_mm + k * counts.step_mm) for k, n in enumerate(counts.people)) / people
    mixed = 0.3 * mean["women"] + 0.7 * mean["men"]
    assert mean["women"] + 10 < mixed + 5 < mean["men"] + 5
    for query, want in (({"who": "women"}, mean["women"]), ({"who": "men"}, mean["men"]), ({"women": "30"}, mixed)):
        assert f" M {want:.1f} mm " in shown(of="1", **query), query


def test_the_fewest_out_of_reach_are_asked_for_by_their_name(shown: Callable[..., str]) -> None:
    """Both ways say how many have a size within 6 mm; the one that asks for it reaches more."""
    spread = girths.spread(girths.find("adults", ""), "wrist")
    near, most = sizes.best_sizes(spread, 3), sizes.most_in_reach(spread, 3, 6.0)
    assert most.within(6.0) > near.within(6.0) + 0.002
    for query, found in (({}, near), ({"by": "reach"}, most)):
        page = shown(of="3", reach="6 mm", **query)
        assert all(f" {s.name} {s.mm:.1f} mm " in page for s in found.sizes)


# -- prices -----------------------------------------------------------------------

PRICES = 'currency = "EUR"\nhour = "24.00"\n'


@pytest.mark.parametrize("name", ["two words", "-stall", "../stall", "a" * 41, "stall.toml"])
def test_a_price_file_gets_only_a_plain_name_inside_its_folder(ask: Ask, folder: Path, name: str) -> None:
    said = ask("/prices", {"name": name, "text": PRICES})["error"]
    assert re.fullmatch(r"Name: '.+' is no name for a price file; use letters, digits and hyphens\.?", said)
    missing = ask("/prices", {"name": "", "text": PRICES})["error"]
    assert missing.rstrip(".") == "Name: the price file has no name yet; type one, such as stall"
    assert [p.name for p in folder.rglob("*.toml*")] == []


def test_a_price_file_is_kept_to_its_last_line_or_not_at_all(ask: Ask, folder: Path) -> None:
    long = PRICES + "# " + "x" * (200_000 - len(PRICES) - 2)
    assert "error" in ask("/prices", {"name": "stall", "text": long + "x"})
    assert not (folder / "prices" / "stall.toml").exists()
    assert "Kept as 'stall'" in ask("/prices", {"name": "stall", "text": long})["said"]
    assert (folder / "prices" / "stall.toml").read_text(encoding="utf-8") == long + "\n"
    assert ask("/prices/stall").get_json()["text"] == long + "\n"
    again = ask("/prices", {"name": "stall", "text": PRICES})["error"]
    assert again.rstrip(".") == (
        "the price file 'stall': there is one of that name already; open it with 'Change', or take another name"
    )
    mark = ask("/prices/stall").get_json()["mark"]
    said = ask("/prices", {"name": "stall", "text": PRICES, "mark": mark})["said"]
    assert re.fullmatch(
        r"Prices in EUR .*an hour is worth 24\.00;.*\nKept as 'stall'; a job names it in the field 'Prices'\.", said
    )
    assert (folder / "prices" / "stall.toml").read_text(encoding="utf-8") == PRICES
    stale = ask("/prices", {"name": "stall", "text": long, "mark": mark})["error"]
    assert stale.startswith("the price file 'stall': it was changed since it was opened here; open it with 'Change'")


def test_a_damaged_price_file_is_named_among_the_others_with_what_is_wrong(ask: Ask, folder: Path) -> None:
    (folder / "prices" / "quay.toml").write_text('currency = "XXZ"\n', encoding="utf-8")
    (folder / "prices" / "stall.toml").write_text(PRICES, encoding="utf-8")
    page = re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", ask("/prices").get_data(as_text=True))))
    assert "'XXZ' is no currency" in page
    assert page.index("quay") < page.index("'XXZ'") < page.index("stall", page.index("'XXZ'"))
    assert "an hour is worth 24.00" in page


# -- printers ---------------------------------------------------------------------


def test_every_paper_is_offered_once_a4_first(ask: Ask) -> None:
    page = ask("/printers").get_data(as_text=True)
    links = re.findall(r'href="/printers/sheet\?paper=([^"]+)"', page)
    assert links[0] == "A4"
    assert sorted(links) == sorted(PAPERS)
    [offered, again] = re.findall(r'<select id="[pc]-paper">(.*?)</select>', page)
    assert re.findall("<option>([^<]+)", offered) == re.findall("<option>([^<]+)", again) == links


def test_readings_left_out_are_told_at_their_own_field(ask: Ask, folder: Path) -> None:
    good = ["165.2 mm", "252.1 mm", "301.4 mm", "301.6 mm"]
    for readings, said in (
        ([], "X: the reading is missing; measure it."),
        ("165.2 mm", "X: the reading is missing"),
        (["", *good[1:]], "X: the reading is missing"),
        (good[:1], "Y: the reading is missing"),
        ([*good[:3], ""], "D2: the reading is missing; measure it, or leave both diagonals out"),
        ([*good[:2], "", good[3]], "D1: the reading is missing"),
        (["150 m", *good[1:]], "X: '150 m' is out of range"),
    ):
        assert ask("/printers", {"printer": "attic", "readings": readings})["error"].startswith(said), readings
    missing = ask("/printers", {"printer": "", "readings": good})["error"]
    assert missing.rstrip(".") == "Printer: the printer has no name yet; type one, such as attic"
    assert not (folder / "printers.toml").exists()


@pytest.mark.parametrize("rest", [[], ["", ""], [" ", ""]])
def test_a_sheet_measured_without_its_diagonals_is_taken_as_square(ask: Ask, folder: Path, rest: list[str]) -> None:
    """Drawn on A4: 166 mm between the crosses across and 253 mm along; 165.17 and 252.494 mm are 99.5 and 99.8 %."""
    said = ask("/printers", {"printer": "attic", "readings": ["165.17 mm", "252.494 mm", *rest]})["said"]
    assert said.startswith("attic: across 99.50 %")
    assert "taken as square" in said
    kept = printers.read(folder / "printers.toml")["attic"]
    assert (kept.x, kept.y, kept.skew) == pytest.approx((0.995, 0.998, 0.0))


def test_a_picture_is_read_with_what_was_typed_and_kept_only_under_a_name(
    ask: Ask, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What reads pictures is tried elsewhere; here is what it is asked, and what becomes of its answer."""
    asked: list[Any] = []

    def judge(picture: Any, paper: Any, name: str, dpi: float | None, bars: list[str]) -> Printer:
        asked.append((picture.raw, picture.called, paper, name, dpi, bars))
        return Printer(name, 0.99, 0.995, 0.001, 0.001, 0.001, 0.001)

    monkeypatch.setattr(photo, "judge", judge)

    def read(**said: str) -> Any:
        key = ask("/printers/picture", {"size": 7})["key"]
        assert [ask(f"/printers/picture/{key}", part)["there"] for part in (b"four", b"---")] == [4, 7]
        return ask(f"/printers/picture/{key}/read", said)

    alone = read(dpi="299,5", across="138,2 mm", file="attic.png", paper="letter")
    assert alone["kept"] is False
    assert "Not kept: give the printer a name" in alone["said"]
    assert not (folder / "printers.toml").exists()
    named = read(printer="attic", across="138.2 mm", along="139.2 mm")
    assert named["kept"] is True
    assert named["said"].endswith("choose it in the field 'Measured printer'.")
    assert printers.read(folder / "printers.toml")["attic"].x == 0.99
    assert asked == [
        (b"four---", "attic.png", pytest.approx((215.9, 279.4)), "this printer", 299.5, ["138,2 mm"]),
        (b"four---", "the picture", (210.0, 297.0), "attic", None, ["138.2 mm", "139.2 mm"]),
    ]
    assert "the bar across is missing" in read(printer="attic", along="139.2 mm")["error"]
    assert "Dots per inch: 'many' is no number" in read(printer="attic", dpi="many")["error"]


@pytest.mark.parametrize(
    ("size", "said"),
    [
        (31_500_000, "31.5 MB"),
        (20_000_001, "20.0 MB"),
        (0, "0.0 MB"),
        (-5, "0.0 MB"),
        ("7", "0.0 MB"),
        (True, "0.0 MB"),
    ],
)
def test_a_picture_too_large_to_be_sent_is_refused_in_megabytes_before_it_is(ask: Ask, size: Any, said: str) -> None:
    """A megabyte is 10^6 bytes (IEC 80000-13, from memory)."""
    told = ask("/printers/picture", {"size": size})["error"].replace("-0.0", "0.0")
    assert told.rstrip(".") == f"Picture: a picture of {said} cannot be read here; keep it to 20 MB"


def test_a_picture_that_nobody_goes_on_with_makes_room_after_a_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    now = 1000.0
    monkeypatch.setattr(pictures, "time", SimpleNamespace(monotonic=lambda: now))
    coming = pictures.Pictures()
    left, sent = coming.begin(10), coming.begin(10)
    now += 50.0
    assert coming.add(sent, b"12345") == 5
    now += 9.5
    with pytest.raises(Busy, match=r"^Picture: other pictures are being read; ask again in a moment"):
        coming.begin(10)
    now += 1.0
    assert len(coming.begin(10)) >= 16  # 12 bytes that nobody guesses
    with pytest.raises(pictures.InputError, match=r"^Picture: the picture did not come whole; send it again"):
        coming.add(left, b"1")
    assert coming.add(sent, b"67890") == 10
    with coming.whole(sent) as raw:
        assert raw == b"1234567890"


# -- in a browser -----------------------------------------------------------------


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """The page served over a workshop of one's own: its address, and its folder."""
    folder = tmp_path_factory.mktemp("shop")
    (folder / "prices").mkdir()
    (folder / "prices" / "stall.toml").write_text(PRICES, encoding="utf-8")
    shutil.copy(SAMPLES / "leathers.toml", folder)
    places = Places(None, folder / "leathers.toml", folder / "printers.toml", folder / "prices")
    made = servers.create(app.create_app(places), "127.0.0.1", 0)
    threading.Thread(target=made.run, daemon=True).start()
    yield f"http://127.0.0.1:{made.effective_port}", folder
    made.close()


FOCUSED = "() => document.activeElement.id"


@pytest.fixture
def bench(browser: Any) -> Iterator[Any]:
    with told_page(browser) as opened:
        yield opened


@pytest.mark.browser
def test_a_finished_piece_is_told_from_its_file_and_taken_back(
    bench: Any, shop: tuple[str, Path], tmp_path: Path
) -> None:
    """Before a file is given, and after one that is none, the form says so.

    What the braid ate is what was cut between the reference points, by numbers.json, less what came out.
    """
    numbers = SAMPLES / "class" / "numbers.json"
    (tmp_path / "large.json").write_bytes(b" " * 1_000_001)
    bench.goto(f"{shop[0]}/leathers")
    nothing = (["give the file first"], True, "")
    chosen = """() => { const box = document.querySelector('#m-name');
        return [[...box.options].map(o => o.text), box.disabled, box.value]; }"""

    bench.press("#m-measured", "Enter")
    told(bench, "made", "No file is chosen yet; give the PDF or the numbers.json that the sheets came with.")
    assert bench.evaluate(FOCUSED) == "m-file"
    bench.set_input_files("#m-file", numbers)
    until(bench, "() => !document.querySelector('#m-name').disabled")
    told(bench, "made", "")
    shown, _, first = bench.evaluate(chosen)
    pieces = json.loads(numbers.read_bytes())["pieces"]
    assert shown == [f"{p['label']}, meant {p['fit']['finished_mm']:.1f} mm" for p in pieces]
    assert first == "1"
    assert bench.get_attribute("#m-leather", "placeholder") == "harbour-tan, slip-soft"
    # A file that is too large, and none: nothing of the one before is left to choose from.
    bench.set_input_files("#m-file", [])
    until(bench, "() => document.querySelector('#m-name').disabled")
    assert tuple(bench.evaluate(chosen)) == nothing
    bench.set_input_files("#m-file", tmp_path / "large.json")
    told(bench, "made", "That is too large here; 'strapwork made' reads it in a terminal.")
    assert tuple(bench.evaluate(chosen)) == nothing
    bench.press("#m-measured", "Enter")
    told(bench, "made", "No file is chosen yet; give the PDF or the numbers.json that the sheets came with.")
    bench.set_input_files("#m-file", numbers)
    until(bench, "() => !document.querySelector('#m-name').disabled")
    bench.select_option("#m-name", label=shown[1])
    for field, text in (("measured", "20.3 cm"), ("leather", "quay-brown"), ("date", "2026-11-02")):
        bench.fill(f"#m-{field}", text)
    bench.press("#m-measured", "Enter")
    bench.wait_for_selector("#made-said:has-text('Bruno')")
    assert bench.evaluate(FOCUSED) == "made-said"
    row = bench.locator("section:has(#h-quay-brown) tbody tr").inner_text().split("\t")
    ate = pieces[1]["fit"]["reference_to_reference_mm"] - 203.0
    assert row[:4] == ["Bruno", "finished piece", "2026-11-02", f"{ate:.2f} mm"]
    assert bench.inner_text("#made-said").startswith(f"'Bruno' ate {ate:.1f} mm")
    bench.press("#m-measured", "Enter")
    told(bench, "made", "No file is chosen yet; give the PDF or the numbers.json that the sheets came with.")
    assert bench.inner_text("#made-said") == ""
    bench.click("[data-undo=quay-brown]")
    bench.wait_for_selector("#made-said:has-text('Took back Bruno')")
    assert bench.locator("[data-undo]").count() == 0


@pytest.mark.browser
def test_a_large_picture_is_sent_in_parts_once_and_readings_are_kept_from_the_same_page(
    bench: Any, shop: tuple[str, Path], tmp_path: Path
) -> None:
    """The server is played here, and waits: one request is no larger than a megabyte, the parts make up the picture."""
    picture = bytes(range(250)) * 7200  # 1.8 MB
    (tmp_path / "quay.png").write_bytes(picture)
    parts: list[bytes] = []
    asked: list[Any] = []
    held: list[Any] = []
    answers = [{"said": "across 99.4 %\nNot kept", "kept": False}, {"said": "quay: across 99.4 %", "kept": True}]

    def begin(route: Any) -> None:
        asked.append(json.loads(route.request.post_data))
        route.fulfill(json={"key": f"way-{len(asked)}"})

    def part(route: Any) -> None:
        parts.append(route.request.post_data_buffer)
        held.append(route) if len(asked) == 1 else route.fulfill(json={"there": 0})

    def read(route: Any) -> None:
        asked.append(json.loads(route.request.post_data))
        route.fulfill(json=answers[len(asked) // 2 - 1])

    for where, play in (("picture", begin), ("picture/way-*", part), ("picture/way-*/read", read)):
        bench.route(f"**/printers/{where}", play)
    bench.goto(f"{shop[0]}/printers")
    bench.press("#c-dpi", "Enter")
    told(bench, "picture", "No picture is chosen yet; give a scan or a photograph of the printed sheet.")
    assert bench.evaluate(FOCUSED) == "c-file"
    bench.evaluate("() => { document.querySelector('#picture').dataset.largest = 1700000; }")
    bench.set_input_files("#c-file", tmp_path / "quay.png")
    bench.press("#c-dpi", "Enter")
    told(bench, "picture", "The picture has 1.8 MB; keep it to 1.7 MB.")
    assert asked == []
    bench.evaluate("() => { document.querySelector('#picture').dataset.largest = 1800000; }")
    for name, text in (("dpi", "300"), ("across", "138.2 mm"), ("along", "139.2 mm"), ("printer", "quay")):
        bench.fill(f"#c-{name}", text)
    bench.select_option("#c-paper", "letter")
    bench.press("#c-dpi", "Enter")
    button = bench.locator("#picture button")
    shown = []
    for k in range(2):
        until(bench, "() => document.querySelector('#picture button').textContent === 'Measuring …'")
        while len(held) == k:
            bench.wait_for_timeout(5)
        bench.press("#c-dpi", "Enter")  # impatient: nothing is sent twice
        shown.append(bench.evaluate("() => document.querySelector('#c-progress').value"))
        assert bench.is_visible("#c-progress")
        assert button.get_attribute("aria-busy") == "true"
        held[k].fulfill(json={"there": 0})
    bench.wait_for_selector("#picture-said:has-text('Not kept')")
    assert bench.evaluate(FOCUSED) == "picture-said"
    assert [len(p) for p in parts] == [900_000, 900_000]
    assert b"".join(parts) == picture
    assert shown == pytest.approx([0.0, 0.5])
    assert bench.is_hidden("#c-progress")
    assert (button.inner_text(), button.get_attribute("aria-busy")) == ("Measure the picture", None)
    fields = {"printer": "quay", "paper": "letter", "dpi": "300", "across": "138.2 mm", "along": "139.2 mm"}
    assert asked == [{"size": 1_800_000}, {"file": "quay.png", **fields}]
    # What is kept is said on a page that has it in its list.
    with bench.expect_navigation():
        bench.press("#c-dpi", "Enter")
    assert bench.inner_text("#picture-said") == "quay: across 99.4 %"
    assert len(asked) == 4

    # Readings are typed on the same page: drawn on A4 are 166 mm between the crosses across and 253 mm along.
    bench.fill("#p-printer", "quay")
    bench.fill("#p-X", " 165.17 mm ")
    bench.press("#p-X", "Enter")
    told(bench, "scale", "Y: the reading is missing; measure it.")
    bench.fill("#p-Y", "252.494")
    bench.press("#p-Y", "Enter")
    bench.wait_for_selector("#scale-said:has-text('quay: across 99.50 %')")
    assert bench.evaluate(FOCUSED) == "scale-said"
    assert "quay: across 99.50 %" in bench.inner_text("h2:text-is('Kept') ~ ul")
    kept = printers.read(shop[1] / "printers.toml")["quay"]
    assert (kept.x, kept.y, kept.skew) == pytest.approx((0.995, 0.998, 0.0))
    bench.fill("#p-printer", "quay")
    bench.fill("#p-X", "100 mm")
    bench.press("#p-X", "Enter")
    told(bench, "scale", "Y: the reading is missing; measure it.")
    assert bench.inner_text("#scale-said") == ""  # what was kept before is no answer to this


@pytest.mark.browser
def test_a_price_file_is_changed_on_the_page_and_never_over_what_another_wrote(
    bench: Any, shop: tuple[str, Path]
) -> None:
    file = shop[1] / "prices" / "stall.toml"
    file.write_text(PRICES, encoding="utf-8")
    bench.goto(f"{shop[0]}/prices")
    bench.click("button:text-is('Change stall')")
    until(bench, "() => document.activeElement.id === 'q-text'")
    assert (bench.input_value("#q-name"), bench.input_value("#q-text")) == ("stall", PRICES)
    dearer = PRICES.replace("24.00", "30.00")
    file.write_text("# mine\n" + PRICES, encoding="utf-8")
    bench.fill("#q-text", dearer)
    bench.click("#prices button")
    told(
        bench,
        "prices",
        "the price file 'stall': it was changed since it was opened here; open it with 'Change', or take another name.",
    )
    assert file.read_text(encoding="utf-8") == "# mine\n" + PRICES
    bench.click("button:text-is('Change stall')")
    until(bench, "() => document.querySelector('#q-text').value.startsWith('# mine')")
    bench.fill("#q-text", "# mine\n" + dearer)
    bench.click("#prices button")
    bench.wait_for_selector("#prices-said:has-text(\"Kept as 'stall'\")")
    assert bench.evaluate(FOCUSED) == "prices-said"
    assert tomllib.loads(file.read_text(encoding="utf-8")) == {"currency": "EUR", "hour": "30.00"}
    assert "an hour is worth 30.00" in bench.inner_text("section:has(#h-stall)")
    file.rename(file.with_name("elsewhere"))
    bench.click("button:text-is('Change stall')")
    bench.wait_for_selector("[data-problem=prices]:has-text('the price file cannot be read')")
    file.with_name("elsewhere").rename(file)
    bench.fill("#q-name", "stall")
    bench.fill("#q-text", "hour =")
    bench.click("#prices button")
    bench.wait_for_selector("[data-problem=prices]:has-text('not valid TOML')")
    assert bench.inner_text("#prices-said") == ""
