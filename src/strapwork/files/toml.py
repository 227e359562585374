"""TOML text in, plain data out, at a cost that is known before parsing begins.

Parsing a dotted key costs the square of its parts: 40 kB of one key take
1.5 GB and many seconds.  So text is measured first, with strings and
comments set aside: how many parts keys have, how deep brackets go.  Then the
numbers are looked at: TOML allows infinities and numbers of any size, no
measure does.
"""

from __future__ import annotations

import math
import re
import tomllib
from pathlib import Path
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError, printable, shown
from strapwork.files.reading import LARGEST_FILE, read_file, read_if_there

MOST_PARTS = 10
MOST_DOTS = 20_000
MOST_DEPTH = 20
_LARGEST_INTEGER = 2**63  # TOML 1.0: 64-bit signed integers are to be handled without loss

# Strings and comments.  Every piece is possessive, so nothing is read twice.
# A string that does not close takes the rest of the text: parsing ends there.
_SET_ASIDE = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*+"{0,5}'
    r"|'''(?:[^']|'(?!''))*+'{0,5}"
    r'|"(?:[^"\\\n]|\\[^\n])*+(?:"|.*+)'
    r"|'[^'\n]*+(?:'|.*+)"
    r"|\#[^\n]*+",
    re.DOTALL,
)
# Runs between marks; one before an equals sign is a key, one before a closing bracket may be a table's heading.
_RUN = re.compile(r"([^,=\[\]{}\n]++)([=\]]?)")
_NOT_BRACKETS = re.compile(r"[^\[\]{}]++")
_POSITION = re.compile(r" \(at end of document\)$")


def read_toml(path: Path, what: str, most: int = LARGEST_FILE) -> dict[str, Any]:
    """Parse a TOML file of up to ``most`` bytes.

    Raises:
        InputError: if it is missing, no regular file, too large, not UTF-8, not
            TOML (with line and column), or beyond the limits of this module.
    """
    return parse_toml(read_file(path, what, most), str(path), most)


def read_toml_if_there(path: Path, what: str) -> dict[str, Any]:
    """As :func:`read_toml`, but nothing where there is no such file."""
    raw = read_if_there(path, what)
    return {} if raw is None else parse_toml(raw, str(path))


def parse_toml(raw: bytes, place: str, most: int = LARGEST_FILE) -> dict[str, Any]:
    """Parse TOML bytes; ``place`` names them in messages."""
    if len(raw) > most:
        raise InputError(place, tr("the text is larger than {most:g} MB", most=most / 1e6), tr("give less at a time"))
    text = decoded(raw, place)
    _refuse_costly(_SET_ASIDE.sub("", text), place)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as e:
        raise InputError(
            place,
            tr("not valid TOML: {lower}", lower=_lower(_with_position(str(e), text))),
            tr("mend that line and try again"),
        ) from e
    except RecursionError as e:
        raise InputError(place, tr("tables are nested too deeply"), tr("keep the nesting shallow")) from e
    except ValueError as e:
        raise InputError(place, tr("a number has thousands of digits"), tr("write fewer digits")) from e
    _refuse_strange(data, place, ())
    return data


def decoded(raw: bytes, place: str) -> str:
    """UTF-8 text, with or without its mark at the front.

    Raises:
        InputError: naming line and column of the first byte that is none.
    """
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as e:
        good = e.object[: e.start].decode("utf-8", "replace")
        line, column = good.count("\n") + 1, len(good) - good.rfind("\n")
        raise InputError(
            place,
            tr("the file is not UTF-8 text (at line {line}, column {column})", line=line, column=column),
            tr("save it as UTF-8"),
        ) from e


def dotted(path: tuple[str | int, ...]) -> str:
    """A place in parsed data as a maker would say it; lists count from 1."""
    out = ""
    for part in path:
        name = printable(str(part), 40)
        out += f"[{part + 1}]" if isinstance(part, int) else (f".{name}" if out else name)
    return out


def _refuse_costly(code: str, place: str) -> None:
    dots = 0
    for run, mark in _RUN.findall(code):
        n = run.count(".")
        dots += n if mark else 0
        if n >= MOST_PARTS:
            raise InputError(
                place,
                tr("a key has {n} parts", n=n + 1),
                tr("keep to {most_parts} parts joined by dots", most_parts=MOST_PARTS),
            )
    if dots > MOST_DOTS:
        raise InputError(
            place, tr("there are {dots} dots in keys", dots=dots), tr("write tables instead of keys joined by dots")
        )
    refuse_deep(code, place, MOST_DEPTH)


def refuse_deep(code: str, place: str, most: int) -> None:
    """Refuse text, its strings set aside, with brackets more than ``most`` deep."""
    depth = 0
    for bracket in _NOT_BRACKETS.sub("", code):
        depth = depth + 1 if bracket in "[{" else max(0, depth - 1)
        if depth > most:
            raise InputError(
                place, tr("brackets are nested more than {most} deep", most=most), tr("keep the nesting shallow")
            )


def _refuse_strange(value: Any, place: str, path: tuple[str | int, ...]) -> None:
    if isinstance(value, dict):
        for key, inner in value.items():
            if not isinstance(inner, str):
                _refuse_strange(inner, place, (*path, key))
    elif isinstance(value, list):
        for k, inner in enumerate(value):
            if not isinstance(inner, str):
                _refuse_strange(inner, place, (*path, k))
    elif isinstance(value, float) and not math.isfinite(value):
        raise InputError(
            f"{place}, {dotted(path)}",
            tr("{value} is no number to work with", value=shown(value)),
            tr("give a finite one"),
        )
    elif isinstance(value, int) and not -_LARGEST_INTEGER <= value < _LARGEST_INTEGER:
        raise InputError(
            f"{place}, {dotted(path)}", tr("{value} is out of range", value=shown(value)), tr("give a smaller number")
        )


def _with_position(message: str, text: str) -> str:
    """The parser's message with line and column also where the text ends too early."""
    line, column = text.count("\n") + 1, len(text) - text.rfind("\n")
    return _POSITION.sub(f" (at line {line}, column {column}, where the text ends)", message)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
