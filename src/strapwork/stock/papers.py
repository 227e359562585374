"""Paper sizes.

A sizes: ISO 216.  Letter, legal and tabloid: ANSI/ASME Y14.1 (A and B) and the
customary 8.5 x 14 in.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.units import parse_length, say

IN = 25.4
PAPERS: dict[str, tuple[float, float]] = {
    "A0": (841.0, 1189.0),
    "A1": (594.0, 841.0),
    "A2": (420.0, 594.0),
    "A3": (297.0, 420.0),
    "A4": (210.0, 297.0),
    "A5": (148.0, 210.0),
    "letter": (8.5 * IN, 11.0 * IN),
    "legal": (8.5 * IN, 14.0 * IN),
    "tabloid": (11.0 * IN, 17.0 * IN),
}
LEAST_SIDE, MOST_SIDE = 120.0, 2000.0
LEAST_BED, MOST_BED = 50.0, 20_000.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper: what the maker calls it, and its short and long side in mm."""

    name: str
    short: float
    long: float

    @property
    def size(self) -> tuple[float, float]:
        """Short and long side in mm."""
        return self.short, self.long


DEFAULT = Paper("A4", *PAPERS["A4"])


def read(text: str, place: str = "") -> Paper:
    """A paper as a maker names it; see :func:`parse_paper`."""
    named = next((name for name in PAPERS if name.lower() == str(text).strip().lower()), None)
    return Paper(named or " ".join(str(text).split()), *parse_paper(text, place))


def parse_paper(text: str, place: str = "--paper") -> tuple[float, float]:
    """A paper by name, or ``"330 x 480 mm"``; (short, long) side in mm.

    Raises:
        InputError: for an unknown name or a size out of range.
    """
    names = {name.lower(): size for name, size in PAPERS.items()}
    key = text.strip().lower() if isinstance(text, str) else ""
    if key in names:
        return names[key]
    sides = _two_sides(text, place)
    if sides is None:
        raise InputError(
            place,
            tr("{text} is no paper", text=shown(text)),
            tr("use {papers} or a size such as '330 mm x 480 mm'", papers=", ".join(PAPERS)),
        )
    a, b = sides
    if not (min(a, b) >= LEAST_SIDE and max(a, b) <= MOST_SIDE):
        raise InputError(
            place, tr("paper of {text} cannot be laid out", text=shown(text)), tr("give sides from 120 mm to 2000 mm")
        )
    return min(a, b), max(a, b)


def _two_sides(text: str, place: str) -> tuple[float, float] | None:
    """``"330 mm x 480 mm"`` or ``"13 x 19 in"`` as two lengths in mm; None when it is not of that form."""
    m = re.fullmatch(r"(.{1,20}?) ?[x×] ?(.{1,20})", text.strip()) if isinstance(text, str) else None
    if m is None:
        return None
    unit = re.search(r"(mm|cm|in|m|\")\s*$", m.group(2))
    first = m.group(1) if re.search(r"[a-z\"]", m.group(1)) or unit is None else f"{m.group(1)} {unit.group(1)}"
    return parse_length(first, place=place, most=1e5), parse_length(m.group(2), place=place, most=1e5)


def parse_bed(text: str, place: str = "--bed") -> tuple[float, float]:
    """A bed or sheet of leather as (length along the straps, width) in mm."""
    sides = _two_sides(text, place)
    if sides is not None and all(LEAST_BED <= s <= MOST_BED for s in sides):
        return sides
    remedy = (
        tr("give length and width, such as '900 mm x 600 mm'")
        if sides is None
        else tr("give a length and a width from {least} to {most}", least=say(LEAST_BED), most=say(MOST_BED))
    )
    raise InputError(place, tr("{text} is no bed", text=shown(text)), remedy)
