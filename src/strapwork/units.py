"""Lengths as a maker writes them, and back.

Inside the package every length is a float in millimetres.  Text is read by the
strict grammar below and only the number and the name of a known unit are handed
to pint; raw text never is (it would read ``7 1/4 in`` as 44.45 mm).

Grammar (spaces free, case of units ignored)::

    length    = feet inches | inches-part | number unit
    number    = 12 | 12.5 | 12,5 | 6 3/4 | 6-3/4 | 3/4 | 6½
    thickness = number unit | number - number unit        (a range)

A comma is a decimal comma.  ``1,500`` could mean 1500 or 1.5 and is refused.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown

if TYPE_CHECKING:
    from pint import UnitRegistry

LONGEST_TEXT = 40
MM_PER_INCH = 25.4
THINNEST = 0.3  # mm, of a leather

_LENGTH_HELP = tr("write a number and a unit, such as '17.2 cm', '172 mm', '6 3/4 in' or '1 ft 2 1/2 in'")
_THICKNESS_HELP = tr("write it as '1.8 mm', '4.5 oz' or a range such as '4-5 oz'")
_LIGNE_HELP = tr("write it as '24 L' (lignes, 40 to the inch) or '15.2 mm'")

_DEFINITIONS = (
    "milli- = 1e-3 = m-",
    "centi- = 1e-2 = c-",
    "meter = [length] = m = metre",
    "inch = 25.4e-3 meter = in",
    "foot = 12 inch = ft",
    "leather_ounce = inch / 64",
    "iron = inch / 48",
    "ligne = inch / 40",
)


@cache
def registry() -> UnitRegistry[float]:
    """Our pint registry: lengths, and the trade's leather ounce, iron and ligne.

    Built from its own short list instead of pint's full table, which would cost
    most of a second at every start; a test compares the two.
    """
    from pint import UnitRegistry

    ureg: UnitRegistry[float] = UnitRegistry(None)
    for line in _DEFINITIONS:
        ureg.define(line)
    return ureg


@cache
def mm_per(unit: str) -> float:
    """Millimetres in one of pint's units, e.g. ``mm_per("inch")``."""
    return float(registry().Quantity(1.0, unit).to("millimeter").magnitude)


_UNITS = {
    "mm": "millimeter", "millimetre": "millimeter", "millimetres": "millimeter",
    "millimeter": "millimeter", "millimeters": "millimeter",
    "cm": "centimeter", "centimetre": "centimeter", "centimetres": "centimeter",
    "centimeter": "centimeter", "centimeters": "centimeter",
    "m": "meter", "metre": "meter", "metres": "meter", "meter": "meter", "meters": "meter",
    "in": "inch", "in.": "inch", "inch": "inch", "inches": "inch", '"': "inch", "″": "inch", "”": "inch", "''": "inch",
    "ft": "foot", "ft.": "foot", "foot": "foot", "feet": "foot", "'": "foot", "′": "foot", "’": "foot",
}  # fmt: skip
_THIN_UNITS = {
    **{k: v for k, v in _UNITS.items() if v in ("millimeter", "inch")},
    "oz": "leather_ounce", "oz.": "leather_ounce", "ounce": "leather_ounce", "ounces": "leather_ounce",
    "iron": "iron", "irons": "iron",
}  # fmt: skip
_CAP_UNITS = {
    **{k: v for k, v in _UNITS.items() if v in ("millimeter", "inch")},
    "l": "ligne", "ligne": "ligne", "lignes": "ligne", "line": "ligne", "lines": "ligne",
}  # fmt: skip

_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
           "⅓": "1/3", "⅔": "2/3"}  # fmt: skip
_NUMBER = r"(?:\d{1,6}[ -]\d{1,3}/\d{1,3}|\d{1,3}/\d{1,3}|\d{1,6}(?:[.,]\d{1,9})?|[.,]\d{1,9})"
_PLAIN = re.compile(rf"({_NUMBER}) ?([^\d\s.,/-][^\d\s,/-]*)?", re.ASCII)
_FEET = re.compile(rf"(\d{{1,4}}) ?(ft\.?|foot|feet|'|′|’) ?({_NUMBER}) ?(in\.?|inch|inches|\"|″|”|'')?", re.ASCII)
_RANGE = re.compile(
    r"(\d{1,3}(?:[.,]\d{1,6})?) ?(?:-|–|to) ?(\d{1,3}(?:[.,]\d{1,6})?) ?([^\d\s.,/-][^\d\s,/-]*)?",
    re.ASCII,
)


def _number(text: str) -> float | None:
    """The value of a number of the grammar; None where it cannot be told."""
    if "/" in text:
        whole, frac = "0", text
        m = re.fullmatch(r"(\d+)[ -](\d+/\d+)", text)
        if m:
            whole, frac = m.groups()
        top, bottom = frac.split("/")
        if int(bottom) == 0 or (m and int(top) >= int(bottom)):
            return None
        return int(whole) + int(top) / int(bottom)
    if re.fullmatch(r"\d{1,3},\d{3}", text) and not text.startswith("0,"):
        return None
    return float(text.replace(",", "."))


def _tidy(text: str, place: str, help_: str) -> str:
    if not isinstance(text, str):
        raise InputError(place, tr("{text} has no unit", text=shown(text)), help_)
    if len(text) > LONGEST_TEXT:
        raise InputError(place, tr("a text of {text} characters is no length", text=len(text)), help_)
    out = text.strip().replace("\u00a0", " ").replace("\u202f", " ")
    for sign, plain in _VULGAR.items():
        out = re.sub(rf"(?<=\d) ?{sign}", f" {plain}", out).replace(sign, plain)
    out = out.replace("⁄", "/")
    return re.sub(r"\s+", " ", out).lower()


def _quantity(text: str, units: dict[str, str], default: str | None, place: str, help_: str) -> float:
    tidy = _tidy(text, place, help_)
    feet = _FEET.fullmatch(tidy) if units is _UNITS else None
    if feet:
        inches = _number(feet.group(3))
        if inches is None or inches >= 12:
            raise InputError(place, tr("{text} has no clear number of inches", text=shown(text)), help_)
        return int(feet.group(1)) * mm_per("foot") + inches * mm_per("inch")
    m = _PLAIN.fullmatch(tidy)
    if m is None and re.match(r"[-−–] ?[\d.,]", tidy):
        raise InputError(place, tr("{text} is below zero", text=shown(text)), tr("give a length above zero"))
    if m is None:
        raise InputError(place, tr("{text} cannot be read", text=shown(text)), help_)
    value = _number(m.group(1))
    if value is None:
        if "," in m.group(1):
            raise InputError(
                place,
                tr("{text} could mean thousands or a decimal comma", text=shown(text)),
                tr("write the decimals with a point, or leave the comma out"),
            )
        raise InputError(place, tr("{text} has no clear fraction", text=shown(text)), help_)
    if m.group(2) is None:
        if default is None:
            raise InputError(place, tr("{text} has no unit", text=shown(text)), help_)
        unit = default
    else:
        name = units.get(m.group(2))
        if name is None:
            raise InputError(
                place, tr("{group} in {text} is not a unit used here", group=shown(m.group(2)), text=shown(text)), help_
            )
        unit = name
    return value * mm_per(unit)


def parse_length(
    text: str,
    *,
    place: str,
    unit: str | None = None,
    least: float = 0.0,
    most: float = 20_000.0,
    allow_zero: bool = False,
    allow_minus: bool = False,
) -> float:
    """Read a length as mm.

    Args:
        text: what was typed.
        place: where it stands, for the message.
        unit: the unit (one of ``SHOWN``) of a bare number, where one was declared.
        least: smallest value accepted, in mm.
        most: largest value accepted, in mm.
        allow_zero: whether ``0`` may be said.
        allow_minus: whether a minus sign may lead (for offsets).

    Raises:
        InputError: for anything outside the grammar or the limits.

    >>> parse_length("6 3/4 in", place="wrist")
    171.45
    """
    body, sign = text, 1.0
    if allow_minus and isinstance(text, str) and text.strip().startswith(("-", "−")):
        body, sign = text.strip()[1:], -1.0
    default = {"mm": "millimeter", "in": "inch", "in16": "inch", None: None}[unit]
    value = round(sign * _quantity(body, _UNITS, default, place, _LENGTH_HELP), 9)
    if value == 0 and not allow_zero:
        raise InputError(place, tr("{text} is zero", text=shown(text)), tr("give a length above zero"))
    if value and not least <= abs(value) <= most:
        raise InputError(
            place,
            tr("{text} is out of range", text=shown(text)),
            tr(
                "give a length from {least} to {most}",
                least=say_at_least(least),
                most=say_at_most(most),
            ),
        )
    return value


@dataclass(frozen=True, slots=True)
class Thickness:
    """Leather thickness in mm: the least, the middle used for the figures, and the most."""

    low: float
    high: float

    @property
    def mid(self) -> float:
        """The thickness that point values use."""
        return round((self.low + self.high) / 2.0, 9)


def parse_thickness(text: str, *, place: str, most: float = 12.0) -> Thickness:
    """Read a leather thickness (or, with a larger ``most``, the grip of a post), single or a range, as mm.

    >>> parse_thickness("4-5 oz", place="leather").mid
    1.7859375
    """
    tidy = _tidy(text, place, _THICKNESS_HELP)
    m = _RANGE.fullmatch(tidy)
    if m:
        pair = [
            _quantity(f"{part} {m.group(3) or ''}".strip(), _THIN_UNITS, None, place, _THICKNESS_HELP)
            for part in m.groups()[:2]
        ]
        if pair[0] >= pair[1]:
            raise InputError(place, tr("{text} does not run from thin to thick", text=shown(text)), _THICKNESS_HELP)
        low, high = pair
    else:
        low = high = _quantity(text, _THIN_UNITS, None, place, _THICKNESS_HELP)
    if not THINNEST <= low <= high <= most:
        raise InputError(
            place,
            tr("{text} is no thickness of strap leather", text=shown(text)),
            tr(
                "give from {thinnest} to {most}",
                thinnest=say_thin_at_least(THINNEST),
                most=say_thin_at_most(most),
            ),
        )
    return Thickness(round(low, 9), round(high, 9))


def parse_cap(text: str, *, place: str) -> float:
    """Read the diameter of a cap or a button, in lignes or mm, as mm.

    >>> parse_cap("24 L", place="cap")
    15.24
    """
    value = round(_quantity(text, _CAP_UNITS, None, place, _LIGNE_HELP), 9)
    if not 1.0 <= value <= 100.0:
        raise InputError(place, tr("{text} is no cap that is made", text=shown(text)), tr("give from 1 mm to 100 mm"))
    return value


_LOAD_UNITS = {
    "kg": "kilogram", "kilo": "kilogram", "kilos": "kilogram", "kilogram": "kilogram", "kilograms": "kilogram",
    "lb": "pound", "lbs": "pound", "pound": "pound", "pounds": "pound",
    "n": "newton", "newton": "newton", "newtons": "newton",
}  # fmt: skip
_LOAD_HELP = tr("write it as '12 kg', '25 lb' or '120 N'")
STANDARD_GRAVITY = 9.80665  # m/s2, exact by definition (CGPM 1901)


@cache
def _newtons_per(unit: str) -> float:
    """Weight in N of one unit of mass under standard gravity, or of one unit of force."""
    ureg = registry()
    if "kilogram" not in ureg:
        for line in ("kilo- = 1e3 = k-", "gram = [mass] = g", "second = [time] = s", "pound = 0.45359237 kilogram",
                     "newton = kilogram * meter / second ** 2"):  # fmt: skip
            ureg.define(line)
    amount = ureg.Quantity(1.0, unit)
    if unit != "newton":
        amount = amount * ureg.Quantity(STANDARD_GRAVITY, "meter / second ** 2")
    return float(amount.to("newton").magnitude)


def parse_load(text: str, *, place: str) -> float:
    """Read a load, a mass or a force, as newtons.

    >>> round(parse_load("10 kg", place="load"), 2)
    98.07
    """
    tidy = _tidy(text, place, _LOAD_HELP)
    m = _PLAIN.fullmatch(tidy)
    value = _number(m.group(1)) if m else None
    unit = _LOAD_UNITS.get(m.group(2) or "") if m else None
    if value is None or unit is None:
        raise InputError(place, tr("{text} is no load", text=shown(text)), _LOAD_HELP)
    newtons = value * _newtons_per(unit)
    if not 0.1 <= newtons <= 20_000.0:
        raise InputError(
            place, tr("{text} is out of range", text=shown(text)), tr("give from 10 g to 2 t (0.1 N to 20 kN)")
        )
    return newtons


def format_mm(value: float, places: int = 1) -> str:
    """``value`` in mm, rounded half up, without a needless ``.0``."""
    step = 10**places
    # The tiny nudge undoes binary noise such as 2.675 -> 2.67499..
    whole = math.floor(abs(value) * step + 0.5 + 1e-9)
    text = f"{whole / step:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{'−' if value < 0 and whole else ''}{text} mm"


def format_inches(value: float, denominator: int = 32) -> str:
    """``value`` mm as inches and a fraction, rounded half up to 1/``denominator``.

    >>> format_inches(171.45)
    '6 3/4 in'
    """
    parts = math.floor(abs(value) / MM_PER_INCH * denominator + 0.5 + 1e-9)
    whole, top = divmod(parts, denominator)
    sign = "−" if value < 0 and parts else ""
    if top == 0:
        return f"{sign}{whole} in"
    g = math.gcd(top, denominator)
    frac = f"{top // g}/{denominator // g}"
    return f"{sign}{whole} {frac} in" if whole else f"{sign}{frac} in"


# What ``units`` may be wherever lengths are shown: millimetres, inches to 1/32 or to 1/16.
SHOWN = ("mm", "in", "in16")
_DENOMINATOR = {"in": 32, "in16": 16}


def display_step(units: str) -> float:
    """The step in mm that columns of lengths are shown to: 0.1 mm, 1/32 in or 1/16 in."""
    return MM_PER_INCH / _DENOMINATOR[units] if units in _DENOMINATOR else 0.1


def format_length(value: float, units: str = "mm") -> str:
    """``value`` mm in the units chosen: ``"mm"``, ``"in"`` (to 1/32) or ``"in16"``; rounded half up."""
    return format_inches(value, _DENOMINATOR[units]) if units in _DENOMINATOR else format_mm(value)


def format_column(value: float, units: str = "mm") -> str:
    """``value`` mm for a column: like :func:`format_length`, but millimetres keep their decimal."""
    return format_length(value, units) if units in _DENOMINATOR else f"{value:.1f} mm".replace("-", "−")


def rounding_note(units: str) -> str:
    """How lengths are rounded, for the foot of a report."""
    step = f"1/{_DENOMINATOR[units]} in" if units in _DENOMINATOR else "0.1 mm"
    return tr("Lengths are rounded half up to {step}; the column adds up as printed.", step=step)


# Findings and reasons are worded deep inside, where no command's options reach: what a job shows its lengths in
# goes with the work on it, like the precision of decimal arithmetic does.
_IN_USE: ContextVar[str] = ContextVar("units shown", default="mm")


@contextmanager
def shown_in(units: str) -> Iterator[None]:
    """Word lengths and thicknesses in these units (one of ``SHOWN``) from here on, in this thread of work."""
    before = _IN_USE.set(units)
    try:
        yield
    finally:
        _IN_USE.reset(before)


def say(value: float, places: int = 1) -> str:
    """A length of ``value`` mm in the units in use; millimetres with up to ``places`` decimals."""
    units = _IN_USE.get()
    return format_length(value, units) if units in _DENOMINATOR else format_mm(value, places)


def say_thin(value: float) -> str:
    """A thickness of ``value`` mm: leather ounces where inches are in use, else millimetres to 0.01."""
    if _IN_USE.get() not in _DENOMINATOR:
        return format_mm(value, 2)
    ounces = math.floor(value / mm_per("leather_ounce") * 10 + 0.5 + 1e-9) / 10
    return f"{ounces:g} oz"


def say_far(value: float) -> str:
    """A long way of ``value`` mm: feet where inches are in use, else metres."""
    feet = value / mm_per("foot")
    return f"{feet:.1f} ft" if _IN_USE.get() in _DENOMINATOR else f"{value / 1000.0:.2f} m"


def _thin_step() -> float:
    return mm_per("leather_ounce") / 10.0 if _IN_USE.get() in _DENOMINATOR else 0.01


def say_thin_at_most(value: float) -> str:
    """A thickness of ``value`` mm rounded down as it is shown, for a remedy to be typed back."""
    return say_thin(math.floor(value / _thin_step() + 1e-9) * _thin_step())


def say_thin_at_least(value: float) -> str:
    """A thickness of ``value`` mm rounded up as it is shown, for a remedy to be typed back."""
    return say_thin(math.ceil(value / _thin_step() - 1e-9) * _thin_step())


def say_at_most(value: float) -> str:
    """``value`` mm rounded down as it is shown, for a remedy that has to be accepted when it is typed back."""
    step = display_step(_IN_USE.get())
    return say(math.floor(value / step + 1e-9) * step)


def say_at_least(value: float) -> str:
    """``value`` mm rounded up as it is shown, for a remedy that has to be accepted when it is typed back."""
    step = display_step(_IN_USE.get())
    return say(math.ceil(value / step - 1e-9) * step)
