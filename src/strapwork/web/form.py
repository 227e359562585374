"""From the fields of the page to an order, field by field.

The whole state is the query of the address.  Every field is read on its own,
so that each can say how it was understood or what cannot be used.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from strapwork import units
from strapwork.errors import InputError, shown
from strapwork.job import job as jobs
from strapwork.paper.tiles import MARGIN
from strapwork.piece.piece import Order, Piece, parse_ends, with_companions
from strapwork.printer import calibration as scale
from strapwork.stock import machines, papers, shelf
from strapwork.stock import patterns as pattern_files
from strapwork.stock.hardware import catalogue
from strapwork.stock.leather import Leather
from strapwork.units import format_inches, format_length, format_mm

MOST_STRANDS = 13
LONGEST_FIELD = 200
FIELDS = (
    "pattern", "measure", "units", "leather", "temper", "backing", "width", "strands", "sets", "weave", "ease", "relief", "ends", "hardware", "holes",
    "label", "count", "paper", "machine", "printer", "hand", "load",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Places:
    """Where the maker's own things are; None for the usual places."""

    patterns: Path | None = None
    shelf: Path | None = None
    printers: Path | None = None


@dataclass
class Read:
    """What was read: notes and errors by field, and the job if all of it can be used."""

    values: dict[str, str]
    notes: dict[str, str] = field(default_factory=dict)
    errors: dict[str, str] = field(default_factory=dict)
    general: str = ""
    job: jobs.Job | None = None
    pieces: list[Piece] = field(default_factory=list)


def both(mm: float) -> str:
    """How a length was understood, in both systems."""
    return f"= {format_mm(mm, 2)} ({format_inches(mm)})"


def sentence(e: InputError) -> str:
    """What is wrong and what would work, without the place: the field is beside it."""
    text = f"{e.problem}; {e.remedy}."
    return text[:1].upper() + text[1:]


def values_of(args: Mapping[str, str]) -> dict[str, str]:
    """The known fields of a query, cut to a sane length."""
    return {name: str(args.get(name, ""))[: LONGEST_FIELD + 1].strip() for name in FIELDS}


def read(args: Mapping[str, str], places: Places) -> Read:
    """Read all fields and, if they can be used, work the piece out."""
    got = Read(values_of(args))
    v = got.values

    def take(name: str, reader: Callable[[str], Any], note: Callable[[Any], str] | None = None) -> Any:
        text = v[name]
        if not text:
            return None
        try:
            if len(text) > LONGEST_FIELD:
                raise InputError(name, f"a text of more than {LONGEST_FIELD} characters is too long here", "shorten it")
            value = reader(text)
        except InputError as e:
            got.errors[name] = sentence(e)
            return None
        if note is not None:
            got.notes[name] = note(value)
        return value

    unit = v["units"] if v["units"] in units.SHOWN else "mm"
    pattern = take("pattern", lambda t: pattern_files.find(t, "pattern", places.patterns)) or pattern_files.find(
        "wristband", "pattern", places.patterns
    )
    v["pattern"] = v["pattern"] or pattern.name

    def length(**limits: Any) -> Callable[[str], float]:
        return lambda t: units.parse_length(t, place="", unit=unit, **limits)

    measure = take("measure", length(), both)
    leather = take("leather", lambda t: _leather(t, places), lambda x: f"= {x.words()}, {x.temper}") or Leather(
        pattern.leather
    )
    if v["temper"] in ("soft", "medium", "firm"):
        leather = replace(leather, temper=v["temper"])
    backing = take("backing", length(allow_zero=True, most=6.0), both)
    if backing is not None:
        leather = replace(leather, backing=backing)
    order = Order(
        label=jobs.tidy_label(v["label"])[: jobs.MOST_LABEL] or pattern.title,
        pattern=pattern,
        value=measure or 0.0,
        leather=leather,
        count=take("count", _whole(1, 999)) or 1,
        width=take("width", length(), both),
        strands=take("strands", _whole(1, MOST_STRANDS)),
        sets=take("sets", _whole(0, 200)),
        weave=v["weave"] if v["weave"] in ("plain", "over-under") else None,
        ease=take("ease", length(allow_zero=True, allow_minus=True), both),
        relief=take("relief", length(), both),
        ends=take("ends", lambda t: parse_ends(t, "")),
        hardware=take("hardware", lambda t: _hardware(t, places)),
        holes=take("holes", _whole(1, 25)),
        load=take("load", lambda t: units.parse_load(t, place=""), lambda n: f"= {n:.0f} N"),
        place="piece",
        patterns=places.patterns,
    )
    paper = (
        take("paper", lambda t: papers.parse_paper(t, ""), lambda p: f"= {p[0]:g} × {p[1]:g} mm") or papers.PAPERS["A4"]
    )
    machine = take("machine", lambda t: machines.find(t, "", places.patterns))
    printer = take("printer", lambda t: scale.find(t, "", places.printers))
    if measure is None and "measure" not in got.errors:
        example = format_length(round((pattern.measure.least * pattern.measure.most) ** 0.5 / 5) * 5, unit)
        got.notes["measure"] = f"Type what you measured, such as {example}."
    if got.errors or measure is None:
        return got
    try:
        got.pieces = with_companions(order)
    except InputError as e:
        _blame(e, got)
        return got
    got.job = jobs.Job(
        title=order.label,
        orders=(order,),
        paper=paper,
        paper_name=jobs.tidy_label(v["paper"] or "A4"),
        margin=MARGIN,
        units=unit,
        left_handed=v["hand"] == "left",
        machine=machine,
        printer=printer,
        stem=jobs.file_stem(pattern.name),
    )
    return got


def _whole(least: int, most: int) -> Callable[[str], int]:
    def reader(text: str) -> int:
        if not (text.isascii() and text.isdigit() and least <= int(text[:9]) <= most):
            raise InputError("", f"{shown(text)} is no whole number from {least} to {most}", "type it in digits")
        return int(text)

    return reader


def _leather(text: str, places: Places) -> Leather:
    known = shelf.by_name(text, "", shelf_path=places.shelf)
    return known or Leather(units.parse_thickness(text, place=""))


def _hardware(text: str, places: Places) -> str:
    return catalogue(places.patterns).named(text, "").name


def hardware_for(pattern: pattern_files.Pattern, places: Places) -> list[tuple[str, str]]:
    """Names and titles of the sizes that can be picked for a pattern."""
    kinds = {f.part for end in (pattern.start, pattern.finish) for f in end.fixtures}
    return [(s.name, s.title) for f in catalogue(places.patterns).families if f.kind in kinds for s in f.sizes]


def _blame(e: InputError, got: Read) -> None:
    """Put an error beside the field it names, or over the whole piece."""
    name = e.place.rpartition(", ")[2]
    if name in FIELDS:
        got.errors[name] = sentence(e)
    else:
        got.general = sentence(e)


def shelf_names(places: Places) -> list[str]:
    """Leathers on the shelf; none where the shelf cannot be read."""
    try:
        return sorted(shelf.read(places.shelf or shelf.default_path()))
    except InputError:
        return []


def printer_names(places: Places) -> list[str]:
    """Printers that are kept; none where the file cannot be read."""
    try:
        return sorted(scale.read(places.printers or scale.default_path()))
    except InputError:
        return []
