"""The order as lists: what to cut, lay out and buy, on paper and for a spreadsheet."""

from __future__ import annotations

import csv
import io
import itertools
import json
import math
import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork.drawing import fonts, pdf
from strapwork.drawing.primitives import Sheet, Text, on_sheet
from strapwork.paper import order_page
from strapwork.piece.piece import Piece
from strapwork.say import alike, ready
from strapwork.stock.leather import Leather
from strapwork.units import Thickness
from strapwork.workshop import order, order_data, order_tables, strips
from strapwork.workshop.stock_lengths import Stock

A4, LETTER = (210.0, 297.0), (215.9, 279.4)
TAN = Leather(Thickness(1.6, 2.0), name="harbour-tan")
NAMES = ["Ada", "Ben", "Carys", "Dov", "Elif", "Finn", "Gwen", "Hamish", "Ines", "Joost", "Kerstin", "Leopoldine"]


@pytest.fixture(scope="module")
def pupils(draft: Callable[..., Piece]) -> list[Piece]:
    """Twelve wristbands of harbour-tan, a name each."""
    return [
        replace(draft("wristband", f"{150 + 4 * k} mm", "1.8 mm"), label=name, leather=TAN)
        for k, name in enumerate(NAMES)
    ]


@pytest.fixture(scope="module")
def stall(draft: Callable[..., Piece]) -> list[Piece]:
    """A mixed order: a belt with its keeper, handles, a lead, key fobs, a hat band."""
    return [
        draft("belt", "34 in", "3.4 mm"),
        replace(draft("carrier-handle", "18 in", "3.2 mm"), count=2),
        draft("dog-lead", "1200 mm", "3.4 mm"),
        replace(draft("key-fob", "90 mm", "1.8 mm"), count=10),
        draft("hat-band", "57 cm", "1.8 mm"),
        draft("keeper-loop", "90 mm", "1.8 mm"),
    ]


def texts(sheet: Sheet) -> list[Text]:
    return [p for placed in sheet.placed for p in on_sheet(placed) if isinstance(p, Text)]


def words(sheets: list[Sheet]) -> str:
    return " ".join(t.text.replace("\u00a0", " ") for s in sheets for t in texts(s))


def test_the_cut_list_is_by_leather_and_width_longest_first(stall: list[Piece], pupils: list[Piece]) -> None:
    lists = order.of_pieces([*stall, *pupils])
    assert len(lists.cuts) == len(stall) + len(pupils)
    seen = [key for key, _ in lists.groups()]
    assert len(seen) == len(set(seen))
    for _, rows in lists.groups():
        assert [r.length for r in rows] == sorted((r.length for r in rows), reverse=True)
    assert {r.piece for r in lists.cuts} == set(range(len(stall) + len(pupils)))


def test_a_row_says_where_the_slits_run(stall: list[Piece]) -> None:
    rows = {r.piece: r for r in order.of_pieces(stall).cuts}
    belt, keeper = rows[0], rows[5]
    assert belt.slit_from == pytest.approx(stall[0].strap.slits[0].x0)
    assert belt.slit_to == pytest.approx(stall[0].strap.slits[0].x1)
    assert (keeper.slit_from, keeper.slit_to) == (None, None)


def test_hardware_is_counted_whole_with_a_spare_of_what_bends(stall: list[Piece], pupils: list[Piece]) -> None:
    laid = {h.name: h for h in order.of_pieces([*stall, *pupils]).hardware}
    # Twelve wristbands and ten key fobs take a snap each, both its halves; a tenth of 22, rounded up, is 3.
    assert (laid["snap-20"].count, laid["snap-20"].spare) == (22, 3)
    assert (laid["buckle-38"].count, laid["buckle-38"].spare) == (1, 0)
    assert (laid["ring-25"].count, laid["ring-25"].spare) == (4, 0)  # two handles, two rings each
    rivets = sum(h.count for name, h in laid.items() if name.startswith("rivet"))
    assert rivets == 4 + 2 * 4 + 4  # belt, two handles, lead
    assert any(name.startswith("lace-") for name in laid)


def test_a_lace_is_long_enough_to_cross_and_to_tie(draft: Callable[..., Piece]) -> None:
    band = draft("hat-band", "57 cm")
    assert order.lace_of(band) == 400.0  # what the pattern says
    # Without that: holes 8 mm apart, ends 20 mm apart: 8 + 2 x sqrt(20^2 + 8^2) + 2 x 120 = 291.1, to the cm 300 mm.
    bare = replace(band, pattern=band.pattern.model_copy(update={"join": None}))
    assert order.lace_of(bare) == 300.0
    assert order.lace_of(draft("wristband", "172 mm")) == 0.0


def test_the_order_lays_out_what_the_cards_want_ready(stall: list[Piece], pupils: list[Piece]) -> None:
    pieces = [*stall, *pupils]
    laid: dict[str, int] = {}
    for h in order.of_pieces(pieces).hardware:
        laid[h.title.removesuffix(" long")] = h.count
    wanted: dict[str, int] = {}
    for group in alike.groups(pieces):
        for text in ready.ready(group):
            n, times, title = text.partition(" × ")
            if times:
                title = title.partition(", that takes")[0]
                wanted[title] = wanted.get(title, 0) + int(n)
    assert wanted == laid
    assert laid["key ring, 3 mm wire"] == 10


def test_leather_is_net_and_with_waste(stall: list[Piece], pupils: list[Piece]) -> None:
    lists = order.of_pieces([*stall, *pupils], waste=0.3)
    for row in lists.leather:
        mine = [r for r in lists.cuts if r.leather == row.leather]
        assert row.net == pytest.approx(math.fsum(r.width * r.length * r.count for r in mine))
        assert (row.gross, row.by) == (pytest.approx(1.3 * row.net), "estimate")


def test_leather_cut_from_strips_is_what_the_strips_hold(pupils: list[Piece]) -> None:
    plans = strips.plans(pupils, [Stock(1300.0, have=9, leather="harbour-tan", width=19.05)])
    row = order.of_pieces(pupils, plans=plans).leather[0]
    assert (row.by, row.gross) == ("strips", pytest.approx(plans[0].used * 1300.0 * 19.05))


def test_hides_say_how_much_a_leather_takes(pupils: list[Piece]) -> None:
    row = order.of_pieces(pupils, hides={"harbour-tan": 123456.0}).leather[0]
    assert (row.by, row.gross) == ("hide", 123456.0)


def test_a_lining_is_leather_to_buy_too(draft: Callable[..., Piece]) -> None:
    band = draft("wristband", "172 mm", "1.8 mm")
    lined = replace(band, leather=replace(band.leather, backing=0.5))
    rows = order.of_pieces([lined, band]).leather
    assert [r.leather for r in rows] == ["1.8 mm", "backing 0.5 mm"]
    assert rows[1].net == pytest.approx(lined.strap.width * lined.strap.length)


def test_tools_name_every_punch_once(stall: list[Piece]) -> None:
    tools = order.of_pieces(stall).tools
    punches = [t for t in tools if t.what == "round punch"]
    holes = {round(h.diameter, 2) for p in stall for h in p.strap.holes if not h.is_slot}
    assert len(punches) == len(holes)
    assert any(t.what == "oblong punch" and t.size == "25 mm × 5 mm" for t in tools)
    assert any("snap setter" in t.what for t in tools)
    assert any("blades at 12.7 mm, 25.4 mm" in t.size for t in tools)


def test_the_data_have_the_keys_that_others_rely_on(pupils: list[Piece]) -> None:
    data = json.loads(json.dumps(order_data.as_data(order.of_pieces(pupils, ["Thursday class"]))))
    assert set(data["cut_list"][0]) == {
        "piece", "label", "for", "leather", "width_mm", "length_mm", "slit_from_mm", "slit_to_mm", "count",
    }  # fmt: skip
    assert {row["for"] for row in data["cut_list"]} == {"Thursday class", None}
    assert data["hardware"] == [{"name": "snap-20", "title": "size 20 snap", "count": 12, "spare": 2}]
    assert set(data["leather"][0]) == {"leather", "net_mm2", "gross_mm2", "by"}
    assert data["cost"] is None


@given(st.text(max_size=30))
def test_no_cell_begins_a_formula(text: str) -> None:
    safe = order_data.cell(text)
    if safe.startswith(order_data.FORMULA):
        float(safe)  # a number, which no spreadsheet calculates with in a harmful way
        assert safe == text
    assert safe.removeprefix("'") == text or safe == text


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("=HYPERLINK(1)", "'=HYPERLINK(1)"),
        ("+1+cmd", "'+1+cmd"),
        ("@SUM(1)", "'@SUM(1)"),
        ("-2+3", "'-2+3"),
        ("\t=1", "'\t=1"),
        ("＝1", "'＝1"),
        ("-12.5", "-12.5"),
        ("+3", "+3"),
        ("Ada -the tall-", "Ada -the tall-"),
        ("", ""),
    ],
)
def test_formulas_are_defused_and_numbers_stay_numbers(text: str, safe: str) -> None:
    assert order_data.cell(text) == safe


def test_the_table_for_a_spreadsheet_reads_back(pupils: list[Piece]) -> None:
    named = [replace(pupils[0], label='=1+1; Zoë, "the first"'), *pupils[1:]]
    raw = order_data.as_csv(order.of_pieces(named))
    assert raw.startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(io.StringIO(raw.decode("utf-8-sig"))))
    cuts = [r for r in rows if r["list"] == "cut"]
    assert len(cuts) == 12
    assert cuts[-1]["name"] == '\'=1+1; Zoë, "the first"'
    assert [float(r["length_mm"]) for r in cuts] == sorted((float(r["length_mm"]) for r in cuts), reverse=True)


@pytest.mark.parametrize("units", ["mm", "in", "in16"])
def test_a_class_of_twelve_stands_on_one_page(pupils: list[Piece], units: str) -> None:
    plans = strips.plans(pupils, [Stock(1300.0, price=Decimal("8.50"), leather="harbour-tan", width=19.05)])
    sheets = order_tables.sheets("Tern & Tackle: beginners' class", A4, order.of_pieces(pupils), plans, units=units)
    assert len(sheets) == 1
    said = words(sheets)
    for what in (*NAMES, "size 20 snap", "no plan costs less", "Round punch", "harbour-tan"):
        assert what in said


def test_nothing_runs_off_the_page_or_into_its_neighbour(pupils: list[Piece], stall: list[Piece]) -> None:
    pieces = [*stall, *(replace(p, label=f"{p.label} of the beginners' class at the harbour") for p in pupils)] * 3
    lists = order.of_pieces(pieces, ["Thursday class with the long name"] * 20)
    for paper, units in ((A4, "mm"), (LETTER, "in")):
        sheets = order_tables.sheets("Market", paper, lists, units=units)
        assert len(sheets) > 2
        for sheet in sheets:
            boxes = []
            for t in texts(sheet):
                wide = fonts.text_width(t.text, t.size, t.role == "text-strong")
                left = t.x if t.anchor == "start" else t.x - wide
                assert left >= 10.9
                assert left + wide <= paper[0] - 10.9
                assert 5.0 <= t.y <= paper[1] - 11.0
                boxes.append((left, left + wide, t.y, t.y + 0.7 * t.size))
            for k, a in enumerate(boxes):
                for b in boxes[k + 1 :]:
                    apart = a[1] <= b[0] + 0.01 or b[1] <= a[0] + 0.01 or a[3] <= b[2] or b[3] <= a[2]
                    assert apart, (a, b)


def test_every_row_has_a_box_to_tick_and_heads_come_again(pupils: list[Piece]) -> None:
    lists = order.of_pieces(pupils * 5)
    sheets = order_tables.sheets("Market", A4, lists)
    assert [t.text for s in sheets for t in texts(s) if t.text.startswith("page ")] == [
        f"page {k} of {len(sheets)}" for k in range(1, len(sheets) + 1)
    ]
    assert sum("Cut, longest first, continued" in words([s]) for s in sheets) >= 1
    names = [t.text for s in sheets for t in texts(s) if t.text in NAMES]
    assert len(names) == 60


def test_totals_add_up_as_printed(stall: list[Piece]) -> None:
    for units, read in (("mm", float), ("in", inches)):
        cuts = order_tables.tables(order.of_pieces(stall), units=units)[0]
        assert isinstance(cuts, order_tables.Table)
        at = [c.head for c in cuts.columns].index("cut length")
        printed = sum(read(r[at]) * int(r[-1]) for section in cuts.sections for r in section.rows)
        assert printed == pytest.approx(read(cuts.total[at].removesuffix(" mm")))
        assert sum(int(r[-1]) for section in cuts.sections for r in section.rows) == int(cuts.total[-1])


def inches(text: str) -> float:
    """Inches as a person reads them."""
    m = re.fullmatch(r"(?:(\d+) ?)?(?:(\d+)/(\d+) )?in", text.replace(" in", " in"))
    assert m, text
    return int(m[1] or 0) + (int(m[2]) / int(m[3]) if m[2] else 0.0)


def test_the_page_is_a_file_that_can_be_printed(pupils: list[Piece]) -> None:
    made = pdf.write(order_tables.sheets("Market", A4, order.of_pieces(pupils)), "Market")
    assert made.startswith(b"%PDF")


LIST = (
    order_page.Column("piece", 0.5),
    order_page.Column("cut", 0.3, "end", True),
    order_page.Column("count", 0.2, "end"),
)


def pages(rows: list[tuple[str, ...]], columns: tuple[order_page.Column, ...] = LIST, **more: Any) -> list[Sheet]:
    return order_page.sheets(
        "Market", "", [order_page.Table("Cut", columns, (order_page.Section(tuple(rows)),), **more)], A4
    )


@pytest.mark.parametrize(
    ("rows", "sheets", "points"),
    [(34, 1, (14, 11)), (40, 1, (12, 11)), (44, 1, (12, 10)), (47, 1, (11, 9)), (50, 2, (14, 11))],
)
def test_a_list_is_set_as_large_as_its_pages_allow(rows: int, sheets: int, points: tuple[float, float]) -> None:
    """A number for the hand is 14 points and grows no smaller than 11; rows of 34 are 7 mm, of 47 5.2 mm high."""
    made = pages([(f"Strap {k}", "221.4", "1") for k in range(rows)])
    found = {
        (t.text == "221.4", round(t.size / 25.4 * 72, 2))
        for s in made
        for t in texts(s)
        if t.text in ("221.4", "Strap 1")
    }
    assert len(made) == sheets
    assert found == {(True, points[0]), (False, points[1])}


def test_a_cell_is_made_smaller_before_it_runs_into_the_next_column(pupils: list[Piece]) -> None:
    """Names grow a letter a row; a row of sums and a column for the hand are set strong, which is wider."""
    names = [("i" * k, "i" * (k - k // 3), "i" * (k // 2)) for k in range(50, 90)]
    for columns in (LIST, (replace(LIST[0], strong=True), LIST[1], LIST[2])):
        for total in ((), *names[::6]):
            for sheet in pages(names, columns, total=total, ticks=False):
                cells = [t for t in texts(sheet) if set(t.text) == {"i"}]
                rows: dict[float, list[tuple[float, float]]] = {}
                for t in cells:
                    wide = fonts.text_width(t.text, t.size, t.role == "text-strong")
                    left = t.x if t.anchor == "start" else t.x - wide
                    rows.setdefault(t.y, []).append((left, left + wide))
                for row in rows.values():
                    for (_, end), (begin, _) in itertools.pairwise(sorted(row)):
                        assert begin - end > 2.99


def test_a_word_wider_than_its_column_is_set_small_and_cut_with_a_mark() -> None:
    """80 W, which no column of 30 mm holds in any size that can be read; the words beside it stay whole."""
    size, rows = order_page._fitted(f"Ada {'W' * 80} Bo", 30.0, order_page.BODY, True)
    assert size == order_page.SMALL
    assert all(fonts.text_width(row, size, True) <= 30.0 for row in rows)
    assert re.fullmatch("Ada W+… Bo", " ".join(rows))
