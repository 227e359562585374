"""What is said of a piece against its numbers: columns that add up, lengths, units, halves, the band."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any

from strapwork.drawing.primitives import Sheet
from strapwork.piece.piece import Piece
from strapwork.say import hardware, lengths
from strapwork.stock.hardware import catalogue

STEPS = {"mm": Fraction(1, 10), "in": Fraction(127, 160), "in16": Fraction(127, 80)}  # in mm
_MM = re.compile(r"(−?)(\d+(?:\.\d+)?) mm")
_IN = re.compile(r"(−?)(?:(\d+) in|(?:(\d+) )?(\d+)/(\d+) in)")


def read(text: str, units: str) -> Fraction:
    """A printed length in mm, exactly."""
    if units == "mm":
        found = _MM.fullmatch(text)
        assert found, text
        return Fraction(found[2]) * (-1 if found[1] else 1)
    found = _IN.fullmatch(text)
    assert found, text
    inches = Fraction(found[2] or found[3] or 0) + (Fraction(int(found[4]), int(found[5])) if found[4] else 0)
    return inches * Fraction(127, 5) * (-1 if found[1] else 1)


def columns(piece: Piece, units: str) -> Iterator[str]:
    """The breakdown as printed adds up, and no line is further from its number than rounding may put it."""
    rows = lengths.breakdown(piece, units)
    shown = [read(r.length, units) for r in rows]
    if sum(shown[:-1]) != shown[-1]:
        yield f"column in {units} does not add up"
    step = float(STEPS[units])
    if abs(float(shown[-1]) - piece.fit.cut_length) > step / 2 + 1e-6:
        yield f"total in {units} is not the cut length"
    for row, said, mm in zip(piece.fit.rows, rows, shown, strict=False):
        if row.what != said.what or abs(float(mm) - row.mm) > step / 2 + 1e-6:
            yield f"line '{row.what}' in {units} is not its number"
    extra = len(rows) - 1 - len(piece.fit.rows)
    if extra not in (0, 1) or (extra and rows[-2].what != "rounding"):
        yield "lines that no number stands behind"
    if extra and abs(float(shown[-2])) > step / 2 * (len(piece.fit.rows) + 1) + 1e-6:
        yield "a rounding line larger than rounding"
    by_number: dict[float, str] = {}
    for row, said in zip(piece.fit.rows, rows, strict=False):
        if by_number.setdefault(round(row.mm, 6), said.length) != said.length:
            yield f"equal lengths print unequal in {units}"
    three = lengths.three(piece, units)
    exact = (piece.fit.finished, piece.fit.reference_to_reference, piece.fit.cut_length)
    for said, mm in zip(three, exact, strict=True):
        if abs(float(read(said.length, units)) - mm) > step / 2 + 1e-6:
            yield f"'{said.what}' in {units} is not its number"


def numbers(piece: Piece, n: dict[str, Any]) -> Iterator[str]:
    """The numbers of a piece go together."""
    f, ends = n["fit"], (piece.pattern.start, piece.pattern.finish)
    if abs(math.fsum(r["mm"] for r in f["breakdown"]) - f["cut_length_mm"]) > 1e-6:
        yield "numbers of the breakdown do not add up"
    if abs(n["strap"]["length_mm"] - f["cut_length_mm"]) > 1e-9:
        yield "the strap is not as long as it is cut"
    if abs(f["reference_to_reference_mm"] + sum(e.to_tip for e in ends) - f["cut_length_mm"]) > 1e-6:
        yield "allowances do not make the cut length"
    if not all(map(math.isfinite, _floats(n))):
        yield "a number that is none"
    if not 0.0 < f["low_mm"] <= f["cut_length_mm"] + 1e-9 <= f["high_mm"] + 2e-9:
        yield "a band that does not hold its length"
    if f["high_mm"] > 2.5 * f["cut_length_mm"]:
        yield "a band that runs wild"
    thick = n["leather"]
    if thick["thickness_low_mm"] == thick["thickness_high_mm"] and n["braid"] is not None:
        plain = f["cut_length_mm"] - f["take_up_mm"]
        if f["low_mm"] <= plain + 1e-9:
            yield "a band that reaches to no take-up at all"
    b = n["braid"]
    if b is None:
        if n["slits"] or f["take_up_mm"]:
            yield "slits without a braid"
        return
    relief = piece.pattern.slits.relief or 0.0
    for s in n["slits"]:
        if abs(s["x1"] - s["x0"] + relief - b["slit_mm"]) > 1e-6:
            yield "a slit is not as long as the braid needs"
    if len(n["slits"]) != piece.strands - 1 == b["strands"] - 1:
        yield "slits do not make the strands"
    if abs(b["slit_mm"] - b["braided_mm"] - f["take_up_mm"]) > 1e-6:
        yield "take-up is not slit less braid"
    if not 0.0 < b["angle_deg"] <= 45.0 + 1e-9 or f["take_up_mm"] <= 0.0:
        yield "a braid that cannot be"
    if abs(b["sets"] * b["set_length_mm"] - b["braided_mm"]) > 1e-6:
        yield "sets do not make the braid"
    if len(b["turns"]) != b["turns_per_set"]:
        yield "turns do not make a set"


def _floats(value: Any) -> Iterator[float]:
    if isinstance(value, float):
        yield value
    elif isinstance(value, (dict, list, tuple)):
        for part in value.values() if isinstance(value, dict) else value:
            yield from _floats(part)


def halves(piece: Piece, n: dict[str, Any]) -> Iterator[str]:
    """A snap has a cap half and a stud half, and the words, the numbers and the way the ends meet agree."""
    snaps = [(f, row) for f, row in zip(piece.strap.fittings, n["hardware"], strict=True) if f.half]
    for f, row in snaps:
        meets = piece.pattern.start.meets if f.end == "start" else piece.pattern.finish.meets
        flesh = meets == "overlap" and f.half == "stud"
        side, other = ("flesh", "grain") if flesh else ("grain", "flesh")
        shown = f"cap on the {side}" if f.half == "cap" else f"stud on the {other}"
        if (row["faces"], row["half"]) != (side, f.half) or shown not in hardware.shows(f) or row["shows"] is None:
            yield "a half's words are not its numbers"
    if snaps and sum(f.half == "cap" for f, _ in snaps) != sum(f.half == "stud" for f, _ in snaps):
        yield "halves without their other half"


_TRADE: list[str] = []


def foreign(text: str, units: str) -> Iterator[str]:
    """Lengths in a unit that the job is not in, apart from what hardware and paper are called."""
    if not _TRADE:
        _TRADE.extend(sorted((s.title for f in catalogue().families for s in f.sizes), key=len, reverse=True))
    for title in _TRADE:
        text = text.replace(title, "")
    bad = r"\d (?:in\b(?!\s+(?:a|all|100)\b)|oz\b)" if units == "mm" else r"\d mm\b"
    for found in re.finditer(bad, text):
        yield f"in a job in {units}: …{_near(text, found)}…"


def _near(text: str, found: re.Match[str]) -> str:
    """The words before a find, and the find."""
    return " ".join(text[: found.end()].split()[-6:])


def grammar(text: str) -> Iterator[str]:
    """One of many, many of one."""
    for found in re.finditer(r"\b1 (?:sets|pieces|beds|strands|turns|sheets|holes|posts)\b|\bnan\b|\binf\b|None", text):
        yield f"…{_near(text, found)}…"


def broken(sheets: Sequence[Sheet]) -> Iterator[str]:
    """The halves of a broken view: what is written between A and A is how far they are from each other."""
    for sheet in sheets:
        for b in sheet.notes.get("broken", ()):  # type: ignore[attr-defined]
            a1, b1, a2, b2 = b["marks_mm"]
            if abs(a2 - a1 - b["distance_mm"]) + abs(b2 - b1 - b["distance_mm"]) > 1e-6:
                yield "the halves of a broken view are not as far apart as written"


_BOTH = re.compile(
    r"[\d ./]+ (?:mm|in) ?\((?:about )?[\d ./]+ (?:mm|in)\)|[\d.]+ mm [×x] [\d.]+ mm|2 in × 2 in|read\s[\d.]+ mm|± [\d.]+"
)


def without_both(text: str) -> str:
    """A text without what a sheet says in both units on purpose: the square, rulers, broken views, papers."""
    return _BOTH.sub("", text.replace("\r\n", " ").replace("\n", " "))
