"""What the page's server answers, word by word and at every limit: asked as a browser asks, without one."""

from __future__ import annotations

import gzip
import io
import json
import re
import shutil
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from flask import Flask, Response

from strapwork.cli import main as cli
from strapwork.errors import InputError
from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.order.order import Job
from strapwork.stock import patterns
from strapwork.web import app, asked, compressed, concerns, documents, guard
from tests.conftest import SAMPLES
from tests.helpers import job_of
from tests.hostile import token_of

HOST = {"Host": "localhost"}
PIECE = {"pattern": "wristband", "measure": "172 mm"}
LINK = HOST | {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}
NUMBERS = json.loads((SAMPLES / "class" / "numbers.json").read_text(encoding="utf-8"))
Ask = Callable[..., Any]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> tuple[Any, dict[str, str], Path]:
    """A page over a folder of its own: its client, what its own requests carry, the folder."""
    folder = tmp_path_factory.mktemp("shop")
    shutil.copy(SAMPLES / "leathers.toml", folder)
    client = app.create_app(Places(None, folder / "leathers.toml")).test_client()
    return client, HOST | {"X-Strapwork-Token": token_of(client)}, folder


@pytest.fixture
def ask(shop: tuple[Any, dict[str, str], Path]) -> Ask:
    client, head, _ = shop

    def one(address: str, body: Any = None, **more: str) -> Any:
        if body is None:
            return client.get(address, headers=head | more)
        given = {"data": body} if isinstance(body, bytes) else {"json": body}
        return client.post(address, headers=head | more, **given)

    return one


def error(reply: Any) -> str:
    assert reply.status_code == 400
    return str(reply.get_json()["error"])


# -- how an answer goes out ---------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "length", "takes", "packed"),
    [
        ("text/html", 1200, "gzip, deflate, br", True),
        ("text/html", 1199, "gzip", False),
        ("application/json", 5000, "gzip;q=0.3", True),
        ("image/svg+xml", 5000, "*", True),
        ("text/html", 5000, "br", False),
        ("text/html", 5000, "gzip;q=0", False),
        ("application/pdf", 5000, "gzip", False),
        ("", 5000, "gzip", False),
        ("text/html; said=twice", 5000, "gzip", False),
        ("text/html; status=404", 5000, "gzip", False),
    ],
)
def test_words_and_drawings_go_out_compressed_where_that_is_worth_it(
    kind: str, length: int, takes: str, packed: bool
) -> None:
    """1,200 bytes and what goes before them fit into one packet of an Ethernet (1,500), so packing fewer saves nothing."""
    said = (b"one strap, slit into strands " * 200)[:length]
    small = Flask("small")
    compressed.install(small)

    @small.get("/")
    def answer() -> Response:
        plain, _, more = kind.partition("; ")
        reply = Response(said, 404 if "404" in more else 200)
        reply.headers["Content-Type"] = plain
        if "twice" in more:
            reply.headers["Content-Encoding"] = "br"
        return reply

    reply = small.test_client().get("/", headers={"Accept-Encoding": takes})
    assert (reply.headers.get("Content-Encoding") == "gzip") == packed
    assert (gzip.decompress(reply.data) if packed else reply.data) == said
    assert (len(reply.data) < 200) == packed
    assert reply.headers["Vary"] == "Accept-Encoding"


def test_a_link_that_leads_nowhere_opens_a_page_and_a_script_gets_data(ask: Ask) -> None:
    for address, words in (
        ("/nowhere", "There is nothing at this address."),
        ("/file/pdf?measure=3+m", "out of range"),
    ):
        page = ask(address, **LINK)
        assert (page.mimetype, words in page.get_data(as_text=True)) == ("text/html", True)
        assert "Back to one piece" in page.get_data(as_text=True)
        data = ask(address)
        assert (data.mimetype, words in data.get_json()["error"]) == ("application/json", True)
        assert data.status_code == page.status_code
    assert ask("/job/check", {}, **LINK).mimetype == "application/json"  # no link sends this


@pytest.mark.parametrize(
    ("fields", "path", "status"),
    [(300, 9, 200), (301, 9, 400), (1, 2000, 404), (1, 2001, 414)],
)
def test_an_address_may_be_long_but_not_without_end(ask: Ask, fields: int, path: int, status: int) -> None:
    address = "/preview" if path == 9 else "/".ljust(path, "x")
    assert ask(f"{address}?{'&'.join(f'a{k}=' for k in range(fields))}").status_code == status


def test_a_query_of_two_hundred_and_forty_thousand_characters_is_the_longest(ask: Ask) -> None:
    for more, status in ((0, 200), (1, 414)):
        assert ask("/preview?label=".ljust(len("/preview?") + 240_000 + more, "x")).status_code == status


def test_what_a_script_gives_as_nothing_is_left_out_however_deep(ask: Ask) -> None:
    piece = {"pattern": "belt", "label": None, "sizes": {"a": None, "b": "34 in"}, "hardware": [None, "buckle-38"]}
    fields = ask("/job/fields", {"piece": piece, "job": {"title": "Quay", "machine": None, "hand": "left"}}).get_json()
    assert fields == {"fields": {"hand": "left", "pattern": "belt", "sizes": '{b = "34 in"}', "hardware": "buckle-38"}}


def test_a_text_of_two_hundred_characters_is_read_and_a_longer_one_is_not(ask: Ask) -> None:
    def told(to: Any) -> str:
        return error(ask("/jobs/Class/rename", {"to": to, "mark": ""}))

    assert "is no name for a job's file" in told(200 * "x")
    assert told(201 * "x") == "to: a text of 201 characters is too long here; keep it to 200."
    assert told(["Class"]) == "to: this is no text; type it again."
    assert told("  ").startswith("the new name: ''")


def test_the_pages_shelf_is_the_command_lines_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(asked.shelf, "default_path", lambda: tmp_path / "usual.toml")
    assert asked.shelf_path(Places()) == tmp_path / "usual.toml"
    assert asked.shelf_path(Places(None, tmp_path / "own.toml")) == tmp_path / "own.toml"


# -- who may ask --------------------------------------------------------------


def test_on_a_network_the_page_answers_to_the_machines_name_and_on_its_own_it_does_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(guard.socket, "gethostname", lambda: "Harbour-Bench")
    assert guard.host_allowed("harbour-bench:8470", "0.0.0.0")
    assert not guard.host_allowed("harbour-bench.evil.example", "0.0.0.0")
    for bound in ("127.0.0.1", "localhost", "::1", "[::1]"):
        assert guard.is_loopback(bound)
        assert not guard.host_allowed("harbour-bench:8470", bound)
        assert not guard.host_allowed("192.168.1.5", bound)
        assert guard.host_allowed("localhost:1", bound)
    for bound in ("0.0.0.0", "::", "192.168.1.5", "harbour-bench"):
        assert not guard.is_loopback(bound)


def test_a_megabyte_is_read_and_a_byte_more_is_not(ask: Ask) -> None:
    note = b"# " + b"x" * (1_000_000 - 2)
    assert "pieces: this key is missing" in error(ask("/job/read", note))
    more = ask("/job/read", note + b"x")
    assert (more.status_code, more.get_json()["error"]) == (413, "That is too large; the limit is 1 MB.")


# -- which fields there are ---------------------------------------------------

BRAIDED = {"sets", "weave", "turns", "hand", "relief", "to_slit"}


@pytest.mark.parametrize(
    ("goods", "texts", "gone"),
    [
        # Both ends of a wristband snap and are round; a belt has a row of holes and a buckle, and no round end.
        ("wristband", {}, {"holes"}),
        ("belt", {}, {"end_radius"}),
        ("belt", {"ends": "square, Round"}, set()),
        ("belt", {"ends": "round;pointed"}, set()),
        ("wristband", {"ends": "pointed"}, {"holes", "end_radius"}),
        ("wristband", {"ends": "rounder"}, {"holes"}),  # no shape at all: the pattern's own count until it is put right
        ("wristband", {"ends": "pointed, rounder"}, {"holes"}),
        ("wristband", {"ends": " , "}, {"holes"}),
        ("belt", {"ends": "round, pointed, square"}, {"end_radius"}),  # three ends, which no strap has
        ("belt", {"ends": "round, pointed, square, clipped"}, {"end_radius"}),
        # A plain strap has neither hardware nor holes; a hat band's holes are tied and no row.
        ("plain-strap", {}, {"holes", "hardware", "end_radius"}),
        ("hat-band", {}, {"holes", "hardware", "end_radius"}),
        # A keeper loop is not slit unless it is asked for.
        ("keeper-loop", {}, {"holes", "hardware", "end_radius"} | BRAIDED),
        ("keeper-loop", {"strands": "3"}, {"holes", "hardware", "end_radius"}),
        ("keeper-loop", {"turns": "Ro Lo"}, {"holes", "hardware", "end_radius"}),
        ("wristband", {"strands": " 1 "}, {"holes"} | BRAIDED),
        ("wristband", {"strands": "0"}, {"holes"} | BRAIDED),
        ("wristband", {"strands": "1", "turns": "Ro Lo"}, {"holes"}),
        ("wristband", {"strands": "11"}, {"holes"}),
    ],
)
def test_goods_have_the_fields_that_their_strap_can_take(goods: str, texts: dict[str, str], gone: set[str]) -> None:
    assert set(concerns.absent(patterns.find(goods, ""), texts)) == gone


@pytest.mark.parametrize(
    ("goods", "texts", "idle"),
    [
        ("wristband", {}, {"bed", "factor"}),
        ("wristband", {"machine": "laser"}, {"factor"}),
        ("wristband", {"load": "12 kg"}, {"bed"}),
        ("bag-handle", {}, {"bed"}),  # what carries something is always divided by a factor
        ("dog-lead", {"machine": "laser", "load": "12 kg"}, set()),
    ],
)
def test_a_bed_waits_for_a_machine_and_a_factor_for_a_load(goods: str, texts: dict[str, str], idle: set[str]) -> None:
    assert set(concerns.idle(patterns.find(goods, ""), texts)) == idle


# -- the job as a document ----------------------------------------------------


def test_two_hundred_rows_and_two_thousand_sizes_are_the_most() -> None:
    """Sizes are counted however a row writes them; a row without any is one."""
    table = {f"s{k}": "172 mm" for k in range(98)}
    rows = [{"sizes": table}, {"sizes": ",".join(["a = 1"] * 1704)}, *[PIECE] * 195, {"sizes": 5}, "none", {}]
    assert len(rows) == 200
    documents.refuse_many(rows)
    with pytest.raises(InputError, match="too many sizes in it for the page; use the command line"):
        documents.refuse_many([{"sizes": {**table, "one": "1 mm"}}, *rows[1:]])
    with pytest.raises(InputError, match="201 rows are too many for the page; keep it to 200"):
        documents.refuse_many([PIECE] * 201)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ({"pieces": [PIECE]}, "the job: there is no piece in the list; add one."),
        ({"job": {}, "pieces": PIECE}, "the job: there is no piece in the list; add one."),
        ({"job": {}, "pieces": []}, "the job: there is no piece in the list; add one."),
        ({"job": {}, "pieces": [PIECE, 3]}, "the job: a row of the list is no piece; open the job file again."),
    ],
)
def test_a_list_without_pieces_says_so(ask: Ask, body: dict[str, Any], words: str) -> None:
    for address in ("/job/check", "/job/text", "/job/order", "/jobs/Class"):
        assert error(ask(address, body)) == words
    assert not ask("/jobs").get_json()["jobs"]


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("# our class\nAda,16 cm\nBo,17 cm,2", [("Ada", "16 cm", None), ("Bo", "17 cm", 2)]),
        ("# our class\nname;count;measure\nAda;2;16 cm", [("Ada", "16 cm", 2)]),
        ('"# our class"\nMEASURE\n16 cm', [(None, "16 cm", None)]),
        ('"name","sizes"\nAda,"{ small = \'16 cm\' }"', [("Ada", None, None)]),
        ("pattern\tmeasure\nbelt\t34 in", [(None, "34 in", None)]),
        ("Ada;16,5 cm\n\n  \nBo;17 cm", [("Ada", "16,5 cm", None), ("Bo", "17 cm", None)]),
        ("Ada\t16 cm\r\nBo;17 cm;3\r\n", [("Ada", "16 cm", None), ("Bo", "17 cm", 3)]),
    ],
)
def test_a_pasted_table_may_have_headings_notes_and_any_mark(text: str, rows: list[tuple[Any, ...]]) -> None:
    like = {
        "label": "Quay",
        "measure": "9 cm",
        "sizes": {"x": "9 cm"},
        "count": 7,
        "hand": "left",
        "pattern": "key-fob",
    }
    found = documents.of_table(text, like)
    assert [(r.get("label"), r.get("measure"), r.get("count")) for r in found] == rows
    assert {r["hand"] for r in found} == {"left"}
    assert {r["pattern"] for r in found} == {"belt" if "belt" in text else "key-fob"}
    assert [r.get("sizes") for r in found] == [{"small": "16 cm"} if "small" in text else None] * len(rows)


def test_a_table_is_measured_before_it_is_read() -> None:
    name, notes = "class.csv", "# note\n" * 248
    assert documents.of_table(f"{notes}Ada,16 cm\nBo,17 cm", {})[1]["label"] == "Bo"
    with pytest.raises(InputError, match=r"class.csv: 251 rows are too many for the page; keep it to 200"):
        documents.of_table(f"{notes}Ada,16 cm\nBo,17 cm\nCem,18 cm", {}, name)
    with pytest.raises(InputError, match=r"class.csv: there is no row in it"):
        documents.of_table(" \n\n", {}, name)
    assert documents.of_table("Ada,16 cm\n".ljust(200_000), {})[0]["label"] == "Ada"
    with pytest.raises(InputError, match=r"class.csv: more than 200000 characters are too many; take fewer rows"):
        documents.of_table("Ada,16 cm\n".ljust(200_001), {}, name)


def test_the_hand_of_a_job_becomes_that_of_the_piece_that_is_opened() -> None:
    for whole, hand in (({"left_handed": True}, "left"), ({"left_handed": True, "hand": "right"}, "right"), ({}, None)):
        fields = documents.to_fields({**whole, "title": "Class"}, PIECE)
        assert fields == PIECE | ({"hand": hand} if hand else {})
    assert documents.to_fields({"hand": "left"}, {**PIECE, "hand": "right"})["hand"] == "right"


# -- what is fetched ----------------------------------------------------------


@pytest.fixture(scope="module")
def one() -> Job:
    return job_of({"title": "One", "machine": "laser", "pieces": [{**PIECE, "count": 200}]})


def test_each_kind_of_download_makes_what_it_needs_and_no_more(one: Job) -> None:
    made = {k: app.options(one, k) for k in app.KINDS}
    assert {k: (j.formats, j.card, j.machine is not None) for k, j in made.items()} == {
        "pdf": (("pdf",), "with", False),
        "svg": (("svg",), "with", False),
        "card": (("pdf",), "alone", False),
        "dxf": (("pdf",), "none", True),
        "all": (("pdf", "svg"), "with", True),
    }


def test_two_hundred_copies_are_laid_on_a_bed_and_one_more_is_not(one: Job) -> None:
    [order] = one.orders
    more = replace(one, orders=(order, replace(order, ask=order.ask.model_copy(update={"count": 1}))))
    for kind in ("dxf", "all"):
        assert app.options(one, kind).orders == one.orders
        with pytest.raises(InputError, match="201 copies are too many to lay on a bed here; keep it to 200"):
            app.options(more, kind)
    for kind in ("pdf", "svg", "card"):  # sheets say how many to cut
        assert app.options(more, kind).orders == more.orders
    assert app.options(replace(more, machine=None), "all").orders == more.orders
    with pytest.raises(InputError, match="Cutter: none is chosen; choose the one that the files are for"):
        app.options(replace(one, machine=None), "dxf")


def test_a_download_holds_the_files_of_its_kind_under_a_name_that_says_so(one: Job) -> None:
    files = {
        "one.pdf": b"1", "one-card.pdf": b"2", "one-1.svg": b"3", "one-laser-bed-1.dxf": b"4",
        "one-laser-dune-bed-1.svg": b"5", "one-map.pdf": b"6", "numbers.json": b"7",
    }  # fmt: skip
    got = jobs.Result(replace(one, stem="one"), (), (), files, "a")
    with Flask("small").test_request_context():
        for kind, name, content in (("pdf", "one.pdf", b"1"), ("card", "one-card.pdf", b"2")):
            reply = app.deliver(got, kind)
            assert (reply.data, reply.mimetype) == (content, "application/pdf")
            assert reply.headers["Content-Disposition"] == f'attachment; filename="{name}"'
        for kind, held in (
            ("svg", {"one-1.svg", "one-laser-dune-bed-1.svg"}),
            ("dxf", {"one-laser-bed-1.dxf", "one-laser-dune-bed-1.svg"}),
            ("all", set(files)),
        ):
            reply = app.deliver(got, kind)
            assert reply.headers["Content-Disposition"] == f'attachment; filename="one-{kind}.zip"'
            packed = zipfile.ZipFile(io.BytesIO(reply.data))
            assert {n: packed.read(n) for n in packed.namelist()} == {n: files[n] for n in held}
            assert {i.date_time for i in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}  # the same job, the same bytes


# -- the rows of a job --------------------------------------------------------


def test_up_to_twenty_five_rows_are_worked_out_at_a_time(ask: Ask) -> None:
    assert len(ask("/job/rows", {"job": {}, "pieces": [PIECE] * 25}).get_json()["rows"]) == 25
    for rows in ([PIECE] * 26, PIECE, [3]):
        told = error(ask("/job/rows", {"job": {}, "pieces": rows}))
        assert told == "the page: a request takes up to 25 rows; reload the page."
    assert error(ask("/job/rows", {"pieces": [PIECE]})) == "the page: the request names no job; reload the page."


def test_a_row_of_twenty_thousand_characters_is_the_longest(ask: Ask) -> None:
    """Counted as JSON, what the row takes over from the job along with it, and what it does not left out."""

    def told(length: int) -> dict[str, str]:
        row = {**PIECE, "label": ""}
        row["label"] = "x" * (length - len(json.dumps(row)) - len(json.dumps({"units": "mm"})))
        whole = {"units": "mm", "title": "t" * 50, "prices": "p" * 500}
        return dict(ask("/job/rows", {"job": whole, "pieces": [row]}).get_json()["rows"][0]["problems"])

    assert list(told(20_000)) == ["label"]
    assert told(20_001) == {"": "There is too much in this row; shorten it."}


def test_a_row_says_its_length_its_copies_and_what_to_mind_in_its_units(ask: Ask) -> None:
    """A run of sizes is as long as its shortest and its longest size made alone; both systems say one length."""
    rows = [
        {**PIECE, "count": 3},
        {"pattern": "wristband", "measure": "190 mm"},
        {"pattern": "wristband", "sizes": {"L": "190 mm", "S": "172 mm", "M": "180 mm"}, "count": 2},
        {"pattern": "wristband", "sizes": {"S": "171.96 mm", "M": "172 mm"}},
        {"pattern": "belt", "measure": "34 in"},
    ]
    plain, long, sizes, alike, belt = ask("/job/rows", {"job": {"units": "mm"}, "pieces": rows}).get_json()["rows"]
    made = [p.fit.cut_length for p in jobs.work_out(job_of({"pieces": rows[:2]}))]
    assert [r["cut"] for r in (plain, long)] == [f"{mm:.1f}".removesuffix(".0") + " mm" for mm in made]
    assert sizes["cut"] == f"{plain['cut']} to {long['cut']}"
    assert alike["cut"] == plain["cut"]  # nobody cuts to a twentieth of a millimetre
    assert [r["count"] for r in (plain, sizes, belt)] == [3, 6, 1]  # the loop comes with the belt and is no piece of it
    inches = ask("/job/rows", {"job": {"units": "in16"}, "pieces": rows[:2]}).get_json()["rows"]
    whole, part = re.fullmatch(r"(\d+) (\d+/\d+) in", inches[0]["cut"]).groups()  # type: ignore[union-attr]
    top, bottom = map(int, part.split("/"))
    assert int(whole) + top / bottom == pytest.approx(made[0] / 25.4, abs=1 / 32)
    assert 16 % bottom == 0


def test_a_row_has_the_leather_that_is_on_the_shelf_now(ask: Ask, shop: tuple[Any, dict[str, str], Path]) -> None:
    """By hand: a wristband's girth takes in pi times its mean thickness of strap, so 1 mm more of it 3 to 7 mm more."""
    shelf = shop[2] / "leathers.toml"
    before = shelf.read_text(encoding="utf-8")
    cuts = []
    try:
        for thick in ("2.0", "3.0", "2.0"):
            shelf.write_text(f'{before}\n[quay-black]\nthickness = "{thick} mm"\n', encoding="utf-8")
            body = {"job": {}, "pieces": [{**PIECE, "leather": "quay-black"}]}
            cuts.append(float(ask("/job/rows", body).get_json()["rows"][0]["cut"].split()[0]))
    finally:
        shelf.write_text(before, encoding="utf-8")
    assert cuts[0] == cuts[2]
    assert 3.0 < cuts[1] - cuts[0] < 12.0


def test_what_is_wrong_with_a_row_is_told_where_the_order_is_asked_for(ask: Ask) -> None:
    """The lists name the row as the list numbers it; what no key of the row is to blame for is told of the row."""
    chrome = {"dune": {"thickness": "2 mm", "tannage": "chrome"}}
    for whole, row, words in (
        (
            {},
            {"measure": "3 m"},
            "row 2, measure: A wrist of 3000 mm is out of range for 'wristband'; give from 100 mm",
        ),
        (
            {},
            {"holes": 4},
            "row 2, holes: 'wristband' has no row of holes; leave the number of holes out; mend it in the",
        ),
        (
            {"machine": "laser", "leathers": chrome},
            {"leather": "dune"},
            "row 2, tannage: 'Wristband with a snap' is in chr",
        ),
    ):
        assert error(ask("/job/order", {"job": whole, "pieces": [PIECE, {**PIECE, **row}]})).startswith(words)


def test_the_table_to_begin_with_is_the_one_that_the_command_writes(ask: Ask, tmp_path: Path) -> None:
    assert cli.main(["make", "--starter", str(tmp_path / "class.csv")]) == 0
    reply = ask("/job/starter.csv")
    assert reply.data == (tmp_path / "class.csv").read_bytes()
    assert reply.mimetype == "text/csv"
    assert reply.headers["Content-Disposition"] == 'attachment; filename="class.csv"'


def test_a_tables_file_is_made_like_the_row_it_is_asked_from_and_named_in_short(ask: Ask) -> None:
    like = json.dumps({"pattern": "belt", "measure": "3 m", "label": "Quay", "leather": "3 mm"})
    rows = ask(f"/job/table/file?like={like}", b"Ada,34 in").get_json()["pieces"]
    assert rows == [{"pattern": "belt", "leather": "3 mm", "label": "Ada", "measure": "34 in"}]
    assert ask("/job/table/file?like=[]", b"Ada,16 cm").get_json()["pieces"][0]["pattern"] == "wristband"
    for name, place in (("%20our%20%20class.csv%20", "our class.csv"), ("x" * 81, "x" * 80), ("", "the table")):
        assert error(ask(f"/job/table/file?name={name}", b"\n")).startswith(f"{place}: there is no row in it;")


def test_lists_on_the_page_have_figures_at_the_right_and_boxes_to_tick(ask: Ask) -> None:
    """Set as accounts are: names begin a row, figures end their column, and what is cut or laid out can be ticked off."""
    body = {"job": {"units": "mm"}, "pieces": [{"pattern": "belt", "measure": "34 in", "label": "Quay", "count": 2}]}
    tables = {t["heading"]: t for group in ask("/job/order", body).get_json()["tables"] for t in group}
    cut = tables["Cut, longest first"]
    assert [c["head"] for c in cut["columns"]] == ["name", "cut length", "slits, from the start", "cut"]
    for table in tables.values():
        for k, column in enumerate(table["columns"]):
            cells = [row[k] for s in table["sections"] for row in s["rows"]]
            if all(re.fullmatch(r"[\d.]+( mm)?", cell) for cell in cells):
                assert column["end"], (table["heading"], column)
            if k == 0:
                assert not column["end"]
    assert cut["ticks"]
    assert tables["Lay out"]["ticks"]
    assert cut["total"][-1] == str(2 + 2)  # two belts, and a loop with each
    assert {s["rows"][0][0] for s in cut["sections"]} == {"Quay", "Quay: keeper"}


# -- the bench ----------------------------------------------------------------


def test_the_common_slips_on_the_page_are_those_of_the_terminal(ask: Ask, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["rescue", "3", "--slips"]) == 0
    terminal = capsys.readouterr().out
    shown = ask("/braid/slips?strands=3&hand=right&weave=over").get_json()["slips"]
    rows = terminal.splitlines()
    heads = [k for k, row in enumerate(rows[:-1]) if not row.startswith(" ") and rows[k + 1].startswith(" ")]
    assert [(s["title"], s["lies"]) for s in shown] == [(rows[k], rows[k + 1].strip()) for k in heads]
    assert all(s["svg"].startswith("<svg") for s in shown)


# -- jobs by name -------------------------------------------------------------


@pytest.fixture
def clean(shop: tuple[Any, dict[str, str], Path]) -> Iterator[Path]:
    yield shop[2] / "jobs"
    shutil.rmtree(shop[2] / "jobs", ignore_errors=True)


def test_a_job_saved_by_name_is_listed_and_opened_as_it_was_saved(ask: Ask, clean: Path) -> None:
    body = {"job": {"title": "Class", "leathers": {"dune": {"thickness": "1.8 mm"}}}, "pieces": [PIECE, PIECE]}
    saved = ask("/jobs/Class  in May", body).get_json()
    assert (saved["name"], saved["folder"]) == ("Class in May", str(clean))
    listed = ask("/jobs").get_json()
    [row] = listed["jobs"]
    assert (listed["folder"], listed["out"]) == (str(clean), [])
    assert (row["name"], row["title"], row["rows"], row["damaged"]) == ("Class in May", "Class", 2, "")
    opened = ask("/jobs/Class in May").get_json()
    assert {k: opened[k] for k in ("job", "pieces", "name", "mark")} == {
        **body,
        **{k: saved[k] for k in ("name", "mark")},
    }
    assert "leathers of this job" in opened["kept"]
    again = ask("/jobs/Class in May", {**body, "mark": f" {saved['mark']} "})
    assert again.get_json()["mark"] == saved["mark"]  # nothing had changed
    assert error(ask("/jobs/a:b")).startswith("the name: 'a:b' is no name for a job's file")


def test_a_file_of_the_folder_that_is_no_job_is_refused(ask: Ask, clean: Path) -> None:
    clean.mkdir()
    (clean / "Notes.toml").write_text('title = "Notes"\n', encoding="utf-8")
    assert error(ask("/jobs/Notes")) == "the job: there is no piece in the list; add one."


# -- leathers -----------------------------------------------------------------


def numbers(*pieces: dict[str, Any]) -> bytes:
    return json.dumps({**NUMBERS, "pieces": list(pieces)}).encode()


def piece(k: int, **changed: Any) -> dict[str, Any]:
    return {**NUMBERS["pieces"][k], **changed}


def test_the_braided_pieces_of_a_file_are_offered_by_their_number_in_it(ask: Ask) -> None:
    """Ada's 152 mm of wrist, 10 mm of ease and pi x 3.57 mm are 173.2 mm; Bruno's leather is another."""
    plain = piece(0, label="Plain", braid=None)
    nameless = piece(2, leather={**NUMBERS["pieces"][2]["leather"], "name": ""})
    got = ask("/leathers/numbers?name=day.json", numbers(plain, piece(1), piece(0), plain, nameless)).get_json()
    assert [(p["number"], p["label"]) for p in got["pieces"]] == [(2, "Bruno"), (3, "Ada"), (5, "Célia")]
    assert got["pieces"][1]["finished"] == "173.2 mm"
    assert got["leathers"] == ["harbour-tan", "slip-soft"]
    kept = json.loads(got["numbers"])
    assert kept["strapwork"] == NUMBERS["strapwork"]
    assert len(kept["pieces"]) == 5
    assert "holes" not in kept["pieces"][1]  # nothing that is not needed goes back and forth
    said = {"numbers": got["numbers"], "measured": ""}
    assert error(ask("/leathers/made", {**said, "piece": "3"})) == (
        "the field 'Came out at': how long 'Ada' came out is missing; measure it and type it, for example 173.2 mm."
    )
    for number in ("0", "6", "-1", "x", "", "²", "1.0"):
        told = error(ask("/leathers/made", {**said, "piece": number}))
        assert told == "the field 'Piece': no piece is chosen; choose the one that was measured."
    assert "no piece is chosen" in error(ask("/leathers/made", {"piece": "1"}))


@pytest.mark.parametrize(
    ("name", "place"),
    [("%20our%20%20day.json%20", "our day.json"), ("x" * 81, "x" * 80), ("", "the file")],
)
def test_a_file_that_teaches_nothing_is_named(ask: Ask, name: str, place: str) -> None:
    plain = numbers(piece(0, braid=None))
    assert error(ask(f"/leathers/numbers?name={name}", plain)) == (
        f"{place}: no braided piece is in it; choose another file."
    )
    for other in (b"[]", b"{}", b'{"pieces": []}', b'{"strapwork": "1"}', b'{"strapwork": "1", "pieces": [1]}'):
        told = error(ask(f"/leathers/numbers?name={name}", other))
        assert told.startswith(f"{place}: this holds no pieces of ours;")


def test_a_thousand_pieces_are_the_most_that_the_page_looks_through(ask: Ask) -> None:
    assert "no braided piece is in it" in error(ask("/leathers/numbers", numbers(*[{}] * 1000)))
    told = error(ask("/leathers/numbers?name=fair.pdf", numbers(*[{}] * 1001)))
    assert told == "fair.pdf: 1001 pieces are too many here; use 'strapwork made' in a terminal."


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"measured": "long"}, "the field 'Came out at': "),
        ({"date": "yesterday"}, "the field 'Measured on': 'yesterday' is no date"),
        ({"date": "2099-01-01"}, "the field 'Measured on': '2099-01-01' has not come yet"),
        ({"leather": "a/b"}, "the field 'Leather of the shelf': 'a/b' is no name for a leather"),
        ({"measured": "4 m"}, "the field 'Came out at': "),
    ],
)
def test_what_is_wrong_with_a_finished_piece_is_told_at_its_field(ask: Ask, given: dict[str, str], words: str) -> None:
    told = {"numbers": numbers(piece(0)).decode(), "piece": "1", "measured": "17.2 cm", **given}
    assert error(ask("/leathers/made", told)).startswith(words)


def test_the_page_tells_swatches_from_finished_pieces_and_takes_back_only_what_is_there(
    ask: Ask, shop: tuple[Any, dict[str, str], Path]
) -> None:
    """Ada was to come out at 173.22 mm with 9.26 mm of take-up; at 172 mm she took up 1.22 mm more, 10.48 mm."""
    shelf = shop[2] / "leathers.toml"
    before = shelf.read_text(encoding="utf-8")
    told = {"numbers": numbers(piece(0)).decode(), "piece": "1", "measured": "172 mm", "date": "2026-11-02"}
    try:
        assert "'Ada' ate 10.5 mm" in ask("/leathers/made", told).get_json()["said"]
        page = ask("/leathers").get_data(as_text=True)
        [rows] = re.findall(r"<tbody>(.*?)</tbody>", page, re.DOTALL)
        cells = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row) for row in re.findall(r"<tr>(.*?)</tr>", rows)]
        assert [c[:3] for c in cells] == [
            ["bench one", "swatch", "2026-04-18"],
            ["bench two", "swatch", "2026-04-18"],
            ["Ines", "swatch", "2026-04-25"],
            ["Bruno", "swatch", "2026-04-25"],
            ["window", "swatch", "2026-04-25"],
            ["Ada", "finished piece", "2026-11-02"],
        ]
        assert [c[3] for c in cells] == ["9.3 mm", "8.6 mm", "20.8 mm", "14.7 mm", "3.3 mm", "10.48 mm"]
        assert cells[0][4] == "8.88 mm"
        # The straps stand in the table and nowhere else; what is known of a leather without any stands in words.
        words = page.replace(rows, "")
        assert "9.3 mm" not in re.sub(r"<svg.*?</svg>", "", words, flags=re.DOTALL)
        assert page.count("<table") == 1
        assert page.count("data-undo=") == 1
        assert 'data-undo="harbour-tan"' in page
    finally:
        shelf.write_text(before, encoding="utf-8")


def test_a_shelf_that_cannot_be_read_is_said_on_its_page(tmp_path: Path) -> None:
    (tmp_path / "leathers.toml").write_text("[tan]\nthickness = ", encoding="utf-8")
    client = app.create_app(Places(None, tmp_path / "leathers.toml")).test_client()
    page = client.get("/leathers", headers=HOST).get_data(as_text=True)
    assert "not valid TOML" in page
    assert page.count('role="alert">') == 1
