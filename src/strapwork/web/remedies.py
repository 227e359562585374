"""The way out of a message, as a button: only what has been tried and makes the piece.

A remedy is a change of one field.  Candidates come from the text itself (a number without its unit) and from
what the message says would work; each is read again as if it had been typed, and only those that clear the field
are offered.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.files.folders import Places
from strapwork.order import doors
from strapwork.units import parse_length
from strapwork.web import form

MOST = 3
MOST_TRIES = 8
# A number with nothing behind it, or with a unit that may be the wrong one.
_NUMBER = re.compile(r"\s*([\d.,/½¼¾⅛⅜⅝⅞ -]*[\d½¼¾⅛⅜⅝⅞])\s*(mm|cm|m|in|\")?\s*", re.ASCII)
_AMOUNT = r"(\d[\d ./]*(?: ?(?:mm|in|oz))?)"
# The words that stand before an amount that would work, and those that show an example, in the maker's language: a
# translation names those that its remedies have.
_BEFORE = "|".join(re.escape(words) for words in tr("at most|at least|ask for|give from|from").split("|"))
_UP_TO = re.escape(tr(" to "))
_TURNS = re.escape(tr("turns"))
_SUCH_AS = tr("such as")
_SAID = (
    re.compile(rf"(?:{_BEFORE}) {_AMOUNT}(?!{_UP_TO}\d+ {_TURNS})"),
    re.compile(rf"{_UP_TO}{_AMOUNT}$"),
)
_QUOTED = re.compile(r"'([^']{1,80})'")


@dataclass(frozen=True, slots=True)
class Remedy:
    """One way out: the words of its button, and the field with the text that it fills in."""

    words: str
    field: str
    text: str


def of(got: form.Read, places: Places) -> dict[str, list[Remedy]]:
    """The remedies of every field that cannot be used, best first; a field without one is left out."""
    out: dict[str, list[Remedy]] = {}
    tries = 0
    for name, message in got.errors.items():
        found: list[Remedy] = []
        for remedy in _candidates(name, got.values.get(name, ""), message):
            if len(found) == MOST or tries == MOST_TRIES:
                break
            if any((r.field, r.text) == (remedy.field, remedy.text) for r in found):
                continue
            tries += 1
            if _works(got, name, remedy, places):
                found.append(remedy)
        if found:
            out[name] = found
    return out


def _works(got: form.Read, name: str, remedy: Remedy, places: Places) -> bool:
    if got.enough and remedy.field == name and remedy.text == (got.aside.get(name) or ""):
        return True  # just that has been tried
    # The other fields that are wrong keep their messages; here something else stands in for them.
    others = {key: text or "" for key, text in got.aside.items() if key != name}
    again = form.read({**got.values, **others, remedy.field: remedy.text}, places)
    return again.job is not None


def _candidates(name: str, text: str, message: str) -> Iterator[Remedy]:
    _, _, remedy = message.rpartition("; ")
    if "length" in form.kinds_of(name) or name == "measure":
        yield from _other_units(name, text)
    if name == "strands" and text.strip().isdigit():
        n = int(text)
        for odd in (n - 1, n + 1) if n % 2 == 0 else ():
            if odd >= 3:
                yield Remedy(tr("Cut {odd} strands", odd=odd), name, str(odd))
        turns = next((q for q in _QUOTED.findall(remedy) if " " in q and q[0] in "RL"), "")
        if turns:
            yield Remedy(tr("Use the turns {turns}", turns=turns), "turns", turns)
    # What stands after "such as" shows how one is written; it is nobody's answer.
    for quoted in _QUOTED.findall(remedy.partition(_SUCH_AS)[0]):
        if name in ("leather", "hardware", "ends", "printer", "machine", "paper", "pattern"):
            yield Remedy(tr("Use {quoted}", quoted=quoted), name, quoted)
    # A measure is taken, not chosen: no button fills one in.
    for pattern in _SAID if name != "measure" else ():
        for amount in pattern.findall(remedy.rstrip(".")):
            yield Remedy(tr("Use {amount}", amount=amount.strip()), name, amount.strip())
    if name in doors.ONE_PIECE_KEYS and name != "measure" and name != "pattern":
        yield Remedy(tr("Leave it empty"), name, "")


def _other_units(name: str, text: str) -> Iterator[Remedy]:
    m = _NUMBER.fullmatch(text)
    if not m:
        return
    bare, said = m.group(1).strip(), (m.group(2) or "").replace('"', "in")
    fraction = "/" in bare or any(c in bare for c in "½¼¾⅛⅜⅝⅞")
    for unit in ("in", "cm", "mm") if fraction else ("cm", "in", "mm"):
        if unit == said:
            continue
        other = f"{bare} {unit}"
        try:
            parse_length(other, place=name)
        except InputError:
            continue
        yield Remedy(tr("You mean {other}?", other=other), name, other)


# What may still become a length: a number that has begun, and a unit that has begun.
_BEGUN = re.compile(
    r"\s*(?:\d{1,6}(?:[.,]\d*)?|[.,]\d*|\d{1,6}[ -]\d{0,3}(?:/\d{0,3})?|\d{1,3}/\d{0,3}|\d*\s*[½¼¾⅛⅜⅝⅞])?\s*"
    r"(?:(?:ft|'|′) ?(?:\d{0,3}(?:[ -]\d{0,3})?(?:/\d{0,3})?)? ?)?(?P<unit>[a-z]*)\s*",
    re.ASCII,
)
_UNITS = ("metres", "meters", "millimetres", "millimeters", "mm", "centimetres", "centimeters", "cm", "inches", "in", "feet", "foot", "ft",
          "oz", "ounces", "irons", "kg", "lb")  # fmt: skip
_WHOLE_UNITS = frozenset(("mm", "cm", "in", "oz", "kg", "lb", "inch", "inches"))


def unfinished(text: str) -> bool:
    """Whether a text may be the beginning of a length, as ``6 3/`` is of ``6 3/4 in``."""
    m = _BEGUN.fullmatch(text.lower())
    if not m:
        return False
    unit = m.group("unit")
    return not unit or (unit not in _WHOLE_UNITS and any(u.startswith(unit) for u in _UNITS))
