"""What an order costs: the maker's price file, and sums that a person can follow."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork.cli import main as cli
from strapwork.errors import InputError
from strapwork.piece.piece import Piece
from strapwork.workshop import cost, order, prices, strips
from strapwork.workshop.cost import Cost
from strapwork.workshop.prices import Prices
from strapwork.workshop.stock_lengths import Stock

FILE: dict[str, Any] = {
    "currency": "EUR",
    "hour": "24.00",
    "overhead": "12 %",
    "margin": "20 %",
    "waste": "25 %",
    "leather": {"2.4 mm": {"price": "95.00"}, "1.8 mm": {"price": 110}},
    "hardware": {"snap-20": {"price": "14.00", "per": 100}},
    "minutes": {
        "cut": 2, "mark": 2, "punch": 0.5, "slit": 1, "end": 1, "turn": "0,4", "even": 3, "set": 1, "finish": 2,
    },
}  # fmt: skip


def file(**changes: Any) -> Prices:
    return prices.from_data({**FILE, **changes}, "prices.toml")


def costed(pieces: list[Piece], p: Prices, people: list[str | None] | None = None, **more: Any) -> Cost:
    lists = order.of_pieces(pieces, people or [], waste=float(p.waste), **more)
    return cost.work_out(pieces, lists, p, more.get("plans", ()))


def test_a_worked_example_by_hand(draft: Callable[..., Piece]) -> None:
    # Three plain straps of 400 x 25 mm, not braided, at 95.00 a square metre with 25 % waste:
    #   leather   0.400 x 0.025 x 1.25 x 95.00        = 1.1875 each
    #   work      cut 2, mark 2, finish 2             = 6 min, at 24.00 an hour 2.40 each
    #   overhead  12 % of 3.5875                      = 0.4305 each
    #   price     4.018 with a fifth of it left over  = 4.018 / 0.8 = 5.0225, so 5.02 each
    strap = replace(draft("plain-strap", "400 mm", "2.4 mm", width=25.0, sets=0), count=3)
    c = costed([strap], file())
    line = c.lines[0]
    assert (line.materials, line.labour, line.overhead) == (Decimal("3.56"), Decimal("7.20"), Decimal("1.29"))
    assert (line.price, line.total, c.price) == (Decimal("5.02"), Decimal("15.06"), Decimal("15.06"))
    assert c.left == Decimal("15.06") - Decimal("3.56") - Decimal("7.20") - Decimal("1.29")
    assert (c.minutes, c.without) == (Decimal(18), ())


def test_the_steps_of_a_wristband_are_counted(draft: Callable[..., Piece]) -> None:
    # Two snap halves and two slits; two sets of six turns and two tab passes; both ends round.
    band = draft("wristband", "172 mm", "1.8 mm")
    assert cost.steps_of(band) == {
        "cut": 1, "mark": 1, "punch": 2, "slit": 2, "end": 2, "turn": 16, "even": 1, "set": 1, "finish": 1,
    }  # fmt: skip
    # 2 + 2 + 2 x 0.5 + 2 x 1 + 2 x 1 + 16 x 0.4 + 3 + 1 + 2 = 21.4 min; at 24.00 an hour 8.56.
    line = costed([band], file()).lines[0]
    assert (line.minutes, line.labour) == (Decimal("21.4"), Decimal("8.56"))


def test_what_has_no_price_is_listed_and_stands_in_no_sum(draft: Callable[..., Piece]) -> None:
    belt = draft("belt", "34 in", "3.2 mm")
    c = costed([belt], file(hour=None, minutes={}))
    assert c.materials == 0
    assert c.price == 0
    said = "; ".join(c.without)
    for what in ("leather 3.2 mm", "1 1/2 in buckle (buckle-38)", "double-cap rivet", "an hour of work", "(slot)"):
        assert what in said
    assert "Without a price, and in no sum" in cost.words(c)


def test_prices_by_piece_by_person_and_in_all_add_up(draft: Callable[..., Piece]) -> None:
    bands = [replace(draft("wristband", f"{150 + 7 * k} mm", "1.8 mm"), count=1 + k % 3) for k in range(6)]
    c = costed(bands, file(), ["Ada", "Ben", "Ada", None, "Ben", "Ada"])
    assert c.price == sum(x.price * x.count for x in c.lines)
    assert sum(total for _, total in c.people) == c.price - c.lines[3].total
    assert [person for person, _ in c.people] == ["Ada", "Ben"]
    assert c.materials + c.labour + c.overhead + c.left == c.price


@given(st.lists(st.integers(1, 40), min_size=1, max_size=5), st.integers(0, 60), st.integers(0, 60))
def test_sums_add_up_as_printed(draft: Callable[..., Piece], counts: list[int], overhead: int, margin: int) -> None:
    band = draft("wristband", "172 mm", "1.8 mm")
    c = costed([replace(band, count=n) for n in counts], file(overhead=f"{overhead} %", margin=f"{margin} %"))
    for part in ("materials", "labour", "overhead", "total"):
        printed = sum(Decimal(c.show(getattr(x, part))) for x in c.lines)
        assert printed == Decimal(c.show(c.price if part == "total" else getattr(c, part)))


def test_a_margin_is_a_share_of_the_price_and_a_markup_of_the_costs(draft: Callable[..., Piece]) -> None:
    strap = draft("plain-strap", "400 mm", "2.4 mm", width=25.0, sets=0)
    # 4.018 of costs: 4.018 / 0.75 = 5.3573.. and 4.018 x 1.25 = 5.0225
    assert costed([strap], file(margin="25 %")).price == Decimal("5.36")
    assert costed([strap], file(margin=None, markup="25 %")).price == Decimal("5.02")
    assert costed([strap], file(round_to="0.50")).price == Decimal("5.50")


@pytest.mark.parametrize(("currency", "price"), [("JPY", "5"), ("KWD", "5.023"), ("EUR", "5.02"), ("CLF", "5.0225")])
def test_amounts_have_the_decimals_of_the_currency(draft: Callable[..., Piece], currency: str, price: str) -> None:
    c = costed([draft("plain-strap", "400 mm", "2.4 mm", width=25.0, sets=0)], file(currency=currency))
    assert c.show(c.price) == price


def test_strips_are_charged_by_their_plan_and_shared_by_length(draft: Callable[..., Piece]) -> None:
    bands = [draft("wristband", mm, "1.8 mm") for mm in ("160 mm", "180 mm")]
    shop = [Stock(1300.0, price=Decimal("8.50"), leather="1.8 mm", width=19.05)]
    plans = strips.plans(bands, shop)
    c = costed(bands, file(overhead="0 %", margin="0 %"), plans=plans)
    snaps = 2 * Decimal("0.14")
    assert c.materials == Decimal("8.50") + snaps
    assert c.lines[0].materials < c.lines[1].materials


def test_strips_in_hand_without_a_price_are_charged_by_area_or_named(draft: Callable[..., Piece]) -> None:
    bands = [draft("wristband", "172 mm", "1.8 mm")]
    plans = strips.plans(bands, [Stock(1300.0, have=3, leather="1.8 mm", width=19.05)])
    c = costed(bands, file(), plans=plans)
    # The whole strip is used up for it: 1.3 m x 19.05 mm at 110.00, and a snap.
    assert c.materials == (Decimal("1.3") * Decimal("0.01905") * 110 + Decimal("0.14")).quantize(Decimal("0.01"))
    c = costed(bands, file(leather={}), plans=plans)
    assert "leather 1.8 mm" in c.without


@pytest.mark.parametrize(
    ("per", "each"),
    [("m2", "95"), ("dm2", "9500"), ("ft2", "1022.57149"), ("side", "43.1818")],
)
def test_leather_is_priced_by_whatever_it_is_sold_by(per: str, each: str) -> None:
    # 1 ft2 = 0.09290304 m2 exactly; a side of 2.2 m2.
    p = file(leather={"tan": {"price": "95.00", "per": per, "side": "2.2 m2"}})
    assert p.leather["tan"].quantize(Decimal("0.0001")) == Decimal(each).quantize(Decimal("0.0001"))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"currency": "Taler"}, "currency: 'Taler' is no currency"),
        ({"currency": "XAU"}, "'XAU' is no currency"),
        ({"hour": "1,500"}, "could mean thousands"),
        ({"hour": -3}, "hour: '-3' is no amount"),
        ({"hour": True}, "is no amount"),
        ({"hour": "24 €"}, "is no amount"),
        ({"overhead": 0.12}, "overhead: '0.12' is no share; write it as '12 %'"),
        ({"margin": "100 %"}, "leaves nothing for costs"),
        ({"markup": "10 %"}, "both a margin and a markup"),
        ({"minutes": {"braiding": 3}}, "minutes.braiding: no such step"),
        ({"leather": {"tan": {"price": 90, "per": "side"}}}, "the size of a side is missing"),
        ({"leather": {"tan": {"price": 90, "per": "hide"}}}, "leather.tan.per: 'hide' is not a choice here"),
        ({"hardware": {"snap-20": {"price": 3, "per": 0}}}, "hardware.snap-20.per: a price for 0 is none"),
        ({"strips": [{"leather": "tan", "width": "19 mm", "length": "long", "price": 8}]}, "strips[1].length: 'long'"),
        ({"round_to": 0}, "cannot be rounded to nothing"),
        ({"hourly": "24"}, "unknown key 'hourly'"),
    ],
)
def test_a_price_that_cannot_be_used_is_named(change: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError) as caught:
        file(**change)
    assert words in str(caught.value)


def test_the_starter_is_a_price_file_that_works(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "prices.toml"
    assert cli.main(["prices", "--starter", str(path)]) == 0
    assert cli.main(["prices", "--starter", str(path)]) == 2
    capsys.readouterr()
    assert cli.main(["prices", str(path), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert (data["currency"], data["decimals"], data["hardware_each"]["snap-20"]) == ("EUR", 2, "0.14")
    assert set(data["minutes"]) == set(prices.STEPS)
    assert cli.main(["prices", str(path)]) == 0
    assert "an hour is worth 24.00; overhead 12 %, margin 20 % of the price" in capsys.readouterr().out


def test_the_command_asks_for_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["prices"]) == 2
    assert "no price file is named" in capsys.readouterr().err


def test_strips_of_a_job_are_in_hand_or_on_sale() -> None:
    found = prices.strip("tan", "3/4 in", "1300", "job.toml, strips[1]", have=5, price="8,50", trim="10 mm", unit="mm")
    assert found == Stock(1300.0, 5, Decimal("8.50"), 10.0, "tan", 19.05)
    with pytest.raises(InputError, match="neither in hand nor on sale"):
        prices.strip("tan", "19 mm", "1300 mm", "job.toml, strips[1]")
    with pytest.raises(InputError, match=r"strips\[1\].have: -1 is no number of strips"):
        prices.strip("tan", "19 mm", "1300 mm", "job.toml, strips[1]", have=-1)
