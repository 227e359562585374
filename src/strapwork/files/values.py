"""Types that read a value from a file's own type or from text alike.

A job file says ``count = 3``, an option, a cell of a table and a field of the
page say ``"3"``; all of them mean the same and go through the same type.
Lengths take the unit of a bare number from the validation context
(``{"unit": "mm"}``), so that ``units`` means the same at every door.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Iterable
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, ValidationInfo
from pydantic_core import PydanticCustomError

from strapwork import units
from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files.toml import parse_toml

LONGEST_TABLE = 20_000

# Words of a file that are read by people: those of the files that come with the tool are in the catalogue, a maker's own
# stay as they were written.
Words = Annotated[str, AfterValidator(tr)]


def wrong(problem: str, remedy: str) -> PydanticCustomError:
    """What a validator raises for a value, or for data that do not go together."""
    return PydanticCustomError("strapwork", "{problem}", {"problem": problem, "remedy": remedy})


def unit_of(info: ValidationInfo) -> str | None:
    """The unit that a bare number has, where one was declared."""
    return (info.context or {}).get("unit")


def reader(read: Callable[[Any, str | None], Any], kind: str = "") -> BeforeValidator:
    """A validator from a function of value and declared unit that raises :class:`InputError`.

    ``kind`` says how a text is read, for doors that have to know: ``length``, ``whole``, ``flag``, ``table``,
    ``pair`` or ``list``.
    """

    def validate(value: Any, info: ValidationInfo) -> Any:
        try:
            return read(value, unit_of(info))
        except InputError as e:
            raise wrong(e.problem, e.remedy) from e

    validate.kind = kind  # type: ignore[attr-defined]
    return BeforeValidator(validate)


def length(**limits: Any) -> BeforeValidator:
    """A reader of lengths with the limits of :func:`strapwork.units.parse_length`; a number stays what it is in mm."""

    def read(value: Any, unit: str | None) -> float:
        return units.parse_length(_plain(value), place="", unit=unit, **limits)

    return reader(read, "length")


def _plain(value: Any) -> Any:
    """A number of a file as its text: ``172`` under ``units = "mm"`` means what ``"172"`` means."""
    if isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value):
        return f"{value:.9f}".rstrip("0").rstrip(".") if abs(value) < 1e9 else tr("too large")
    return value


def _whole(value: Any, _: str | None) -> int:
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    if isinstance(value, str) and re.fullmatch(r"[+-]?\d{1,9}", value.strip(), re.ASCII):
        return int(value)
    raise InputError("", tr("{value} is no whole number", value=shown(value)), tr("write it in digits, such as 3"))


def _number(value: Any, _: str | None) -> float:
    if isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value):
        return float(value)
    if isinstance(value, str) and re.fullmatch(r"\d{1,9}(?:[.,]\d{1,9})?", value.strip(), re.ASCII):
        return float(value.strip().replace(",", "."))
    raise InputError("", tr("{value} is no number", value=shown(value)), tr("write it in digits, such as 8 or 2.5"))


def _share(value: Any, _: str | None) -> float:
    """A share of one, or in a hundred where it says so."""
    text = value.strip() if isinstance(value, str) else value
    hundred = isinstance(text, str) and text.endswith("%")
    try:
        number = _number(text[:-1], None) if hundred else _number(text, None)
    except InputError:
        raise InputError(
            "", tr("{value} is no share", value=shown(value)), tr("write it as 0.1 or as '10 %'")
        ) from None
    if not hundred and number > 1.0:
        # Five for "5 %" would be five times as much again.
        raise InputError(
            "",
            tr("{value} could be hundredths or whole times", value=shown(value)),
            tr("write '{hundredths:g} %' or '{times:g} %'", hundredths=number, times=100.0 * number),
        )
    return number / 100.0 if hundred else number


_YES, _NO = ("true", "yes", "1", "on"), ("false", "no", "0", "off")


def _flag(value: Any, _: str | None) -> bool:
    if isinstance(value, bool):
        return value
    text = value.strip().lower() if isinstance(value, str) else ""
    if text in (*_YES, *_NO):
        return text in _YES
    raise InputError("", tr("{value} is neither yes nor no", value=shown(value)), tr("write true or false"))


def table(value: Any, _: str | None = None) -> Any:
    """A table of a file as it is; a text in braces as the inline table it spells."""
    if not isinstance(value, str):
        return value
    text = value.strip()
    if len(text) > LONGEST_TABLE:
        raise InputError(
            "",
            tr("a table of {text} characters is too long", text=len(text)),
            tr("keep it to {longest_table}", longest_table=LONGEST_TABLE),
        )
    if not text.startswith("{"):
        raise InputError(
            "", tr("{value} is no table", value=shown(value)), tr("write it in braces, such as { small = '15.5 cm' }")
        )
    try:
        return parse_toml(f"it = {' '.join(text.splitlines())}".encode("utf-8", "replace"), "")["it"]
    except InputError as e:
        if not e.problem.startswith("not valid TOML"):
            raise InputError("", e.problem, e.remedy) from e
        raise InputError(
            "",
            tr("{value} is no table", value=shown(value)),
            tr("write key = 'value' with commas between, all in braces"),
        ) from e


def tables(value: Any, _: str | None = None) -> Any:
    """A list of tables of a file as it is; a text in brackets as the list it spells."""
    if not isinstance(value, str):
        return value
    text = value.strip()
    if not (text.startswith("[") and text.endswith("]")) or len(text) > LONGEST_TABLE:
        raise InputError(
            "",
            tr("{value} is no list of tables", value=shown(value)),
            tr("write it in brackets, such as [{ length = '1.3 m' }]"),
        )
    return table(f"{{it = {text}}}")["it"]


def as_list(value: Any) -> Any:
    """A list of a file as it is; a text as what stands between its commas."""
    if isinstance(value, str):
        return [part.strip() for part in value.split(",") if part.strip()]
    return value


def text(most: int, kind: str = "") -> BeforeValidator:
    """A text of at most ``most`` characters; a number of a file as it is written."""

    def read(value: Any, _: str | None) -> Any:
        value = _plain(value)
        if isinstance(value, str) and len(value) > most:
            raise InputError(
                "",
                tr("a text of {value} characters is too long here", value=len(value)),
                tr("keep it to {most}", most=most),
            )
        return value

    return reader(read, kind)


def each_of(names: Collection[str], what: str) -> AfterValidator:
    """A check that every item of a list is one of ``names``; repeats are dropped."""

    def check(items: tuple[str, ...]) -> tuple[str, ...]:
        for item in items:
            if item.lower() not in names:
                raise wrong(
                    tr("{item} is no {what}", item=shown(item), what=what),
                    tr("use {names}, or several with commas", names=tr(" or ").join(names)),
                )
        return tuple(dict.fromkeys(item.lower() for item in items))

    return AfterValidator(check)


def pair(read: Callable[[Any, str | None], Any], kind: str = "pair") -> BeforeValidator:
    """A reader of what both ends share or each end has for itself.

    ``"1 in"`` is for both ends, ``"1 in; 3/4 in"`` or ``["1 in", "3/4 in"]`` for start and finish;
    ``{ finish = "3/4 in" }`` leaves the other end as the pattern has it.  The value is a pair with None for an end
    that is left alone.
    """

    def both(value: Any, unit: str | None) -> tuple[Any, Any]:
        parts: Iterable[Any]
        if isinstance(value, str) and value.strip().startswith("{"):
            value = table(value)
        if isinstance(value, dict):
            odd = [k for k in value if k not in ("start", "finish")]
            if odd or not value:
                raise InputError(
                    "",
                    tr("{odd} is no end of a strap", odd=shown(odd[0] if odd else value)),
                    tr("name start, finish or both"),
                )
            parts = (value.get("start"), value.get("finish"))
        elif isinstance(value, str):
            parts = [p.strip() or None for p in value.split(";")]
        elif isinstance(value, (list, tuple)):
            parts = value
        else:
            parts = [value]
        items = list(parts)
        if not 1 <= len(items) <= 2 or all(p is None for p in items):
            raise InputError(
                "",
                tr("{value} is not one value or two", value=shown(value)),
                tr("give one for both ends, or start; finish"),
            )
        got = [None if p is None else read(p, unit) for p in items]
        return got[0], got[-1]

    return reader(both, kind)


def _lengths(**limits: Any) -> BeforeValidator:
    return pair(lambda v, unit: units.parse_length(_plain(v), place="", unit=unit, **limits), "pair length")


Whole = Annotated[int, reader(_whole, "whole")]
Number = Annotated[float, reader(_number)]
Share = Annotated[float, reader(_share)]
Flag = Annotated[bool, reader(_flag, "flag")]
Table = reader(table, "table")
Tables = reader(tables, "tables")
Listed = reader(lambda v, _: as_list(v), "list")
Length = Annotated[float, length()]
LengthOrZero = Annotated[float, length(allow_zero=True)]
Offset = Annotated[float, length(allow_zero=True, allow_minus=True)]
Thick = Annotated[units.Thickness, reader(lambda t, _: units.parse_thickness(t, place=""))]
Grip = Annotated[units.Thickness, reader(lambda t, _: units.parse_thickness(t, place="", most=30.0))]
Cap = Annotated[float, reader(lambda t, _: units.parse_cap(t, place=""))]
Load = Annotated[float, reader(lambda t, _: units.parse_load(t, place=""))]
Ends = Annotated[tuple[float | None, float | None], _lengths()]
EndsOrZero = Annotated[tuple[float | None, float | None], _lengths(allow_zero=True)]
