"""A maker's price file: what materials cost, what an hour is worth, what goes on top.

Amounts are decimal numbers throughout; a currency has the decimals of ISO 4217
(through the package ``iso4217``, which carries the standard's own table).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any, Literal, TypeAlias

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files import schema
from strapwork.files.reading import read_if_there
from strapwork.stock.leather import Leather
from strapwork.units import parse_length, parse_thickness
from strapwork.workshop.leathers import leather_key
from strapwork.workshop.stock_lengths import Stock

# Kinds of steps at the bench, in working order, and what the minutes of each are counted for.
STEPS = {
    "cut": tr("a strap cut to width and length"),
    "back": tr("a lining glued on"),
    "mark": tr("marks pricked through the paper"),
    "punch": tr("a round hole"),
    "slot": tr("a slot"),
    "slit": tr("a slit"),
    "end": tr("an end shaped"),
    "wet": tr("strands wetted"),
    "turn": tr("a turn of the braid, or a pass of the tab"),
    "even": tr("a braid evened out and set"),
    "set": tr("a snap, rivet or other part set"),
    "finish": tr("a finished piece measured and looked over"),
}
# Square metres; the foot is 0.3048 m by definition (international yard and pound agreement, 1959).
AREAS = {"m2": Decimal(1), "dm2": Decimal("0.01"), "ft2": Decimal("0.3048") ** 2}
LARGEST = Decimal(10) ** 9
MOST_STRIPS = 10_000


def _no_flag(value: Any) -> Any:
    if isinstance(value, bool):
        words = {
            "problem": tr("{value} is no amount", value=shown(str(value).lower())),
            "remedy": tr("write it in digits, such as '12.50'"),
        }
        raise PydanticCustomError("strapwork", "{problem}", words)
    return value


# A number or a text of a file; what it means is settled when it is read.
Raw: TypeAlias = Annotated[str | int | float, BeforeValidator(_no_flag)]


class LeatherSpec(schema.Strict):
    """Price of a leather by area, or by the side with the size of one."""

    price: Raw
    per: Literal["m2", "dm2", "ft2", "side"] = "m2"
    side: str | None = None


class StripSpec(schema.Strict):
    """Price of a ready-made strip."""

    leather: str
    width: Raw
    length: Raw
    price: Raw
    trim: Raw | None = None


class HardwareSpec(schema.Strict):
    """Price of a part, or of a hundred."""

    price: Raw
    per: Literal["piece", "hundred"] | int = 1


class PriceFile(schema.Strict):
    """A price file as it is written."""

    currency: str
    hour: Raw | None = None
    overhead: Raw = "0 %"
    margin: Raw | None = None
    markup: Raw | None = None
    round_to: Raw | None = None
    waste: Raw = "25 %"
    leather: dict[str, LeatherSpec] = Field(default_factory=dict, max_length=500)
    strips: tuple[StripSpec, ...] = Field(default=(), max_length=500)
    hardware: dict[str, HardwareSpec] = Field(default_factory=dict, max_length=1000)
    minutes: dict[str, Raw] = Field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Prices:
    """A price file, read.

    Attributes:
        currency: letters of ISO 4217; ``digits`` is its number of decimals.
        hour: what an hour is worth; None where it is not said.
        overhead: share on top of materials and labour.
        margin: share of the price that is left after all costs; None where a ``markup`` on them is used.
        round_to: prices go up to a multiple of this; None for the currency's own step.
        waste: share added to leather that is not planned.
        leather: price of a square metre by name.
        strips: strips on sale.
        hardware: price of one by name.
        minutes: by kind of step (see ``STEPS``).
    """

    currency: str
    digits: int
    hour: Decimal | None = None
    overhead: Decimal = Decimal(0)
    margin: Decimal | None = None
    markup: Decimal | None = None
    round_to: Decimal | None = None
    waste: Decimal = Decimal("0.25")
    leather: dict[str, Decimal] = field(default_factory=dict)
    strips: tuple[Stock, ...] = ()
    hardware: dict[str, Decimal] = field(default_factory=dict)
    minutes: dict[str, Decimal] = field(default_factory=dict)

    def of_leather(self, leather: Leather) -> Decimal | None:
        """Price of a square metre: from the file by name or thickness, else the shelf's; None where neither has one.

        The shelf's price is in the shop's own money, which is taken to be the file's currency.
        """
        key = leather_key(leather)
        if key in self.leather:
            return self.leather[key]
        if not leather.name:
            for name, price in self.leather.items():
                if _same_thickness(name, leather):
                    return price
        return Decimal(str(leather.price)) if leather.price is not None else None

    def show(self, amount: Decimal) -> str:
        """An amount with the currency's decimals."""
        return f"{amount:.{self.digits}f}"


def _same_thickness(name: str, leather: Leather) -> bool:
    try:
        t = parse_thickness(name, place="")
    except InputError:
        return False
    return abs(t.low - leather.thickness.low) < 0.005 and abs(t.high - leather.thickness.high) < 0.005


def decimals(currency: str, place: str) -> int:
    """The number of decimals of a currency by ISO 4217.

    Raises:
        InputError: for letters that are no currency with decimals of its own.
    """
    from iso4217 import Currency

    code = currency.strip().upper()
    known = {c.code: c.exponent for c in Currency if c.exponent is not None}
    if code not in known:
        raise InputError(
            place,
            tr("{currency} is no currency", currency=shown(currency)),
            tr("use its three letters of ISO 4217, such as 'EUR'"),
        )
    return int(known[code])


def amount(value: Any, place: str) -> Decimal:
    """An amount of money as written: ``"12.50"``, ``"12,50"`` or a number; not below zero.

    Raises:
        InputError: for anything else, and for what could mean thousands.
    """
    remedy = tr("write it in digits, such as '12.50'")
    text = str(value).strip() if not isinstance(value, bool) else ""
    if not re.fullmatch(r"\d{1,12}(?:[.,]\d{1,9})?", text, re.ASCII):
        raise InputError(place, tr("{value} is no amount", value=shown(value)), remedy)
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", text, re.ASCII):
        raise InputError(
            place,
            tr("{value} could mean thousands or a decimal comma", value=shown(value)),
            tr("write the decimals with a point"),
        )
    out = Decimal(text.replace(",", "."))
    if out > LARGEST:
        raise InputError(
            place, tr("{value} is out of range", value=shown(value)), tr("give at most {largest}", largest=LARGEST)
        )
    return out


def share(value: Any, place: str, most: int = 1000) -> Decimal:
    """A share such as ``"12 %"`` or ``"12,5%"``, from 0 to ``most`` in a hundred.

    Raises:
        InputError: for anything else.
    """
    m = re.fullmatch(r"(\d{1,4}(?:[.,]\d{1,4})?) ?%", str(value).strip(), re.ASCII)
    out = Decimal(m.group(1).replace(",", ".")) if m else None
    if out is None or out > most:
        raise InputError(
            place,
            tr("{value} is no share", value=shown(value)),
            tr("write it as '12 %', from 0 % to {most} %", most=most),
        )
    return out / 100


def area(text: str, place: str) -> Decimal:
    """An area such as ``"2.2 m2"`` or ``"24 ft2"`` in square metres."""
    m = re.fullmatch(r"(\d{1,5}(?:[.,]\d{1,4})?) ?(m2|dm2|ft2|m²|dm²|ft²)", text.strip(), re.ASCII | re.IGNORECASE)
    if m is None or Decimal(m.group(1).replace(",", ".")) == 0:
        raise InputError(
            place, tr("{text} is no area", text=shown(text)), tr("write it as '2.2 m2', '220 dm2' or '24 ft2'")
        )
    return Decimal(m.group(1).replace(",", ".")) * AREAS[m.group(2).lower().replace("²", "2")]


def read(path: Path) -> Prices:
    """Read a price file.

    Raises:
        InputError: naming file, key and value.
    """
    raw = read_if_there(path, tr("price file"))
    if raw is None:
        raise InputError(
            str(path),
            tr("there is no such price file"),
            tr("give its path or its name in your folder of prices, at the terminal with --prices"),
        )
    return from_data(schema.parse_toml(raw, str(path)), str(path))


def from_data(raw: dict[str, Any], place: str) -> Prices:
    """Prices from parsed TOML; ``place`` names it in messages."""
    spec = schema.check(PriceFile, raw, place)
    if spec.margin is not None and spec.markup is not None:
        raise InputError(f"{place}, markup", tr("both a margin and a markup are given"), tr("leave one of them out"))
    margin = share(spec.margin, f"{place}, margin") if spec.margin is not None else None
    if margin is not None and margin >= 1:
        raise InputError(
            f"{place}, margin",
            tr("{margin} leaves nothing for costs", margin=shown(spec.margin)),
            tr("give less than 100 %"),
        )
    for kind in spec.minutes:
        if kind not in STEPS:
            raise InputError(f"{place}, minutes.{kind}", tr("no such step"), schema.nearest(kind, list(STEPS)))
    round_to = amount(spec.round_to, f"{place}, round_to") if spec.round_to is not None else None
    if round_to == 0:
        raise InputError(
            f"{place}, round_to", tr("prices cannot be rounded to nothing"), tr("give a step, such as '0.50'")
        )
    return Prices(
        currency=spec.currency.strip().upper(),
        digits=decimals(spec.currency, f"{place}, currency"),
        hour=amount(spec.hour, f"{place}, hour") if spec.hour is not None else None,
        overhead=share(spec.overhead, f"{place}, overhead"),
        margin=margin,
        markup=share(spec.markup, f"{place}, markup") if spec.markup is not None else None,
        round_to=round_to,
        waste=share(spec.waste, f"{place}, waste", 400),
        leather={name: _by_area(x, f"{place}, leather.{name}") for name, x in spec.leather.items()},
        strips=tuple(_strip(x, f"{place}, strips[{i}]") for i, x in enumerate(spec.strips, start=1)),
        hardware={name: _each(x, f"{place}, hardware.{name}") for name, x in spec.hardware.items()},
        minutes={kind: amount(x, f"{place}, minutes.{kind}") for kind, x in spec.minutes.items()},
    )


def _by_area(x: LeatherSpec, place: str) -> Decimal:
    price = amount(x.price, f"{place}.price")
    if x.per != "side":
        return price / AREAS[x.per]
    if x.side is None:
        raise InputError(f"{place}.side", tr("the size of a side is missing"), "add it, such as side = '2.2 m2'")
    return price / area(x.side, f"{place}.side")


def _each(x: HardwareSpec, place: str) -> Decimal:
    per = {"piece": 1, "hundred": 100}[x.per] if isinstance(x.per, str) else x.per
    if not 1 <= per <= 10_000:
        raise InputError(
            f"{place}.per", tr("a price for {per} is none", per=per), tr("give for how many the price is, such as 100")
        )
    return amount(x.price, f"{place}.price") / per


def _strip(x: StripSpec, place: str) -> Stock:
    return strip(x.leather, x.width, x.length, place, price=x.price, trim=x.trim)


def strip(
    leather: str,
    width: Any,
    length: Any,
    place: str,
    *,
    have: int | None = None,
    price: Any = None,
    trim: Any = None,
    unit: str | None = None,
) -> Stock:
    """Strips of one length as a file describes them: in hand, on sale, or both.

    Args:
        leather: name of the leather, as the pieces have it.
        width, length, trim: lengths as written; ``unit`` is that of a bare number.
        place: where they stand, for the message.
        have: how many are in hand.
        price: what one costs, as written.

    Raises:
        InputError: naming key and value.
    """
    if have is None and price is None:
        remedy = tr("add have, how many there are, or price, what one costs")
        raise InputError(place, tr("these strips are neither in hand nor on sale"), remedy)
    if have is not None and not 0 <= have <= MOST_STRIPS:
        raise InputError(
            f"{place}.have",
            tr("{have} is no number of strips", have=have),
            tr("give from 0 to {most_strips}", most_strips=MOST_STRIPS),
        )

    def mm(value: Any, key: str, *, zero: bool = False) -> float:
        return parse_length(str(value), place=f"{place}.{key}", unit=unit, allow_zero=zero)

    return Stock(
        length=mm(length, "length"),
        have=have,
        price=amount(price, f"{place}.price") if price is not None else None,
        trim=mm(trim, "trim", zero=True) if trim is not None else 0.0,
        leather=leather,
        width=mm(width, "width"),
    )
