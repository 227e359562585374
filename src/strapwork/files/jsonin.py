"""JSON text in, plain data out, at a cost that is known before parsing begins."""

from __future__ import annotations

import json
import math
import re
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files.reading import LARGEST_FILE
from strapwork.files.toml import decoded, refuse_deep

MOST_DEPTH = 32
MOST_DIGITS = 18  # what fits into 64 bits, as other readers of JSON expect (RFC 8259, section 6)

_STRING = re.compile(r'"(?:[^"\\]++|\\.)*+"?', re.DOTALL)
# Half of a pair that stands for one character beyond the first 65,536.
_HALF = re.compile(r"\\u[dD][89a-fA-F]")


def parse_json(raw: bytes, place: str, most: int = LARGEST_FILE) -> Any:
    """Parse JSON bytes.

    Args:
        raw: UTF-8, with or without its mark at the front.
        place: names them in messages.
        most: bytes that there may be.

    Raises:
        InputError: when they are too many, not UTF-8, not JSON (with line and
            column), nested too deeply, or hold a number that is infinite, none,
            or of more than ``MOST_DIGITS`` digits, or half a character.
    """
    if len(raw) > most:
        raise InputError(place, tr("the text is larger than {most:g} MB", most=most / 1e6), tr("give less at a time"))
    text = decoded(raw, place)
    refuse_deep(_STRING.sub("", text), place, MOST_DEPTH)

    def whole(digits: str) -> int:
        if len(digits) > MOST_DIGITS + 1:
            raise InputError(
                place,
                tr("{digits} is out of range", digits=shown(digits, 24)),
                tr("give at most {most_digits} digits", most_digits=MOST_DIGITS),
            )
        return int(digits)

    def broken(digits: str) -> float:
        value = float(digits)
        if not math.isfinite(value):
            raise InputError(
                place, tr("{digits} is out of range", digits=shown(digits, 24)), tr("give a smaller number")
            )
        return value

    def constant(name: str) -> float:
        raise InputError(place, tr("{name} is no number to work with", name=shown(name)), tr("give a finite one"))

    try:
        data = json.loads(text, parse_int=whole, parse_float=broken, parse_constant=constant)
    except json.JSONDecodeError as e:
        problem = tr(
            "not valid JSON: {msg} (at line {lineno}, column {colno})",
            msg=e.msg[:1].lower() + e.msg[1:],
            lineno=e.lineno,
            colno=e.colno,
        )
        raise InputError(place, problem, tr("mend it and try again")) from e
    if _HALF.search(text):
        _refuse_halves(data, place)
    return data


def _refuse_halves(value: Any, place: str) -> None:
    """Refuse text that cannot be written down again in any file."""
    if isinstance(value, dict):
        for key, inner in value.items():
            _refuse_halves(key, place)
            _refuse_halves(inner, place)
    elif isinstance(value, list):
        for inner in value:
            _refuse_halves(inner, place)
    elif isinstance(value, str):
        try:
            value.encode()
        except UnicodeEncodeError as e:
            raise InputError(
                place, tr("{value} holds half a character", value=shown(value)), tr("type that text again")
            ) from e
