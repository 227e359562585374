"""From the fields of the page to a job, field by field.

The whole state is the query of the address.  Which fields there are follows
from the description; each says how it was understood or what cannot be used.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import BaseModel

from strapwork.catalogue import tr
from strapwork.errors import InputError, Place
from strapwork.files import schema
from strapwork.files.folders import Places
from strapwork.order import doors
from strapwork.order.description import JobAsk, PieceAsk
from strapwork.order.order import Job
from strapwork.piece.companions import with_companions
from strapwork.piece.piece import Piece
from strapwork.stock import machines, papers, printers, shelf
from strapwork.stock import patterns as pattern_files
from strapwork.stock.hardware import catalogue
from strapwork.stock.leather import Leather
from strapwork.stock.patterns import Pattern
from strapwork.units import format_inches, format_mm, parse_length, parse_thickness, shown_in
from strapwork.web import concerns, wrong

LONGEST_FIELD = 200
LONGEST_HIDDEN = 20_000
USUAL = {"pattern": "wristband", "units": "mm"}
PAGE = Place("", "{key}")


@dataclass
class Read:
    """What was read: notes and errors by field, and the job if all of it can be used.

    ``absent`` are the keys that the goods have no use for, ``idle`` those that say nothing yet, ``left_out`` the
    absent ones that were filled all the same (with other goods in mind) and are not counted; ``aside`` is what the rest
    was read with in place of fields that are wrong or empty, ``enough`` whether that makes the piece.
    """

    values: dict[str, str]
    notes: dict[str, str] = field(default_factory=dict)
    errors: dict[str, str] = field(default_factory=dict)
    general: str = ""
    job: Job | None = None
    pieces: list[Piece] = field(default_factory=list)
    absent: tuple[str, ...] = ()
    idle: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    aside: dict[str, str] = field(default_factory=dict)
    enough: bool = False


def both(mm: float) -> str:
    """How a length was understood, in both systems."""
    return f"= {format_mm(mm, 2)} ({format_inches(mm)})"


def kinds_of(name: str) -> set[str]:
    """How a field is read; see :func:`strapwork.order.doors.kinds`."""
    return doors.kinds(PieceAsk if name in doors.PIECE_KEYS else JobAsk, name)


def sentence(e: InputError) -> str:
    """What is wrong and what would work, without the place: the field is beside it."""
    text = f"{e.problem}; {e.remedy}."
    return text[:1].upper() + text[1:]


def values_of(args: Mapping[str, str]) -> dict[str, str]:
    """The known fields of a query, one too long cut to just over its limit, so that it is refused; empty ones are empty texts."""
    return {
        name: str(args.get(name, "")).strip()[: (LONGEST_HIDDEN if key.hidden else LONGEST_FIELD) + 1]
        for name, key in doors.ONE_PIECE_KEYS.items()
    }


def asked(values: Mapping[str, str]) -> dict[str, str]:
    """What the fields ask for: the filled ones, and what the page takes for granted."""
    return USUAL | {name: text for name, text in values.items() if text}


def read(args: Mapping[str, str], places: Places) -> Read:
    """Read all fields and, if they can be used, work the piece out."""
    got = Read(values_of(args))
    texts = asked(got.values)
    got.values["pattern"] = texts["pattern"]
    unit = texts["units"]
    pattern = _pattern(texts, places, got)
    texts = _concerning(texts, pattern, got)
    whole, piece = doors.split(texts)
    for name, text in texts.items():
        if len(text) > (LONGEST_HIDDEN if doors.ONE_PIECE_KEYS[name].hidden else LONGEST_FIELD):
            got.errors[name] = tr(
                "A text of more than {longest_field} characters is too long here; shorten it.",
                longest_field=LONGEST_FIELD,
            )
    for model, values in ((JobAsk, whole), (PieceAsk, piece)):
        _read_fields(model, values, unit, got)
    _note_goods(texts, pattern, got)
    asked_for = bool({"measure", "sizes"} & texts.keys())

    def make(texts: Mapping[str, Any]) -> tuple[Job, list[Piece]]:
        job = doors.of_texts(texts, PAGE, places)
        with shown_in(job.units):
            pieces = with_companions(job.orders[0])
        if job.machine is not None:
            from strapwork.cutter import paths

            paths.refuse_fumes(pieces, job.machine, "tannage")
            pieces = paths.with_cautions(pieces, job.machine)
        return job, pieces

    told = wrong.found(
        texts,
        make,
        lambda e: wrong.blamed(e, got.absent),
        wrong.for_piece(pattern),
        [*got.errors, *(() if asked_for else ("measure",))],
    )
    got.errors |= {name: sentence(e) for name, e in told.errors.items()}
    got.general = sentence(told.general) if told.general else ""
    got.aside, got.enough = told.aside, told.enough
    if told.made:
        got.job, got.pieces = told.made
    return got


def _pattern(texts: Mapping[str, str], places: Places, got: Read) -> Pattern | None:
    """The goods; None, with the message, where nothing is called so."""
    try:
        return pattern_files.find(texts["pattern"], "pattern", places.patterns)
    except InputError as e:
        got.errors["pattern"] = sentence(e)
        return None


def _concerning(texts: dict[str, str], pattern: Pattern | None, got: Read) -> dict[str, str]:
    """The texts that concern the goods; what was typed for other goods is set aside."""
    if pattern is None:
        return texts
    got.absent, got.idle = concerns.absent(pattern, texts), concerns.idle(pattern, texts)
    got.left_out = tuple(name for name in got.absent if name in texts)
    for name in got.left_out:
        got.values[name] = ""
    return {name: text for name, text in texts.items() if name not in got.left_out}


def _read_fields(model: type[BaseModel], values: Mapping[str, str], unit: str, got: Read) -> None:
    """Errors of every field that cannot be used, and notes of those that can."""
    unit = unit if unit in ("mm", "in", "in16") else "mm"
    bad = schema.all_problems(model, dict(values), PAGE, unit)
    got.errors |= {name: sentence(e) for name, e in reversed(bad)}
    good = {name: text for name, text in values.items() if name not in got.errors}
    if "pattern" in model.model_fields:
        good.setdefault("pattern", USUAL["pattern"])
    try:
        ask = schema.check(model, good, PAGE, unit)
    except InputError:
        return
    for name in good:
        note = _note(model, name, getattr(ask, name), unit)
        if note:
            got.notes[name] = note


def _note(model: type[BaseModel], name: str, value: Any, unit: str) -> str:
    """How a value was understood; empty where the text says it all."""
    if isinstance(value, papers.Paper):
        return f"= {value.short:g} × {value.long:g} mm"
    kinds = doors.kinds(model, name)
    if name == "load":
        return f"= {value:.0f} N"
    if "length" not in kinds:
        return ""
    try:
        if isinstance(value, str):
            return both(parse_length(value, place="", unit=unit))
        if isinstance(value, tuple):
            return "; ".join(tr("as it is") if v is None else both(v) for v in dict.fromkeys(value))
        return both(value)
    except InputError:
        return ""


def _note_goods(texts: Mapping[str, str], pattern: Pattern | None, got: Read) -> None:
    """What follows from the goods and the leather before a measure is typed."""
    if pattern is not None and "measure" not in texts and "sizes" not in texts:
        got.notes["measure"] = tr(
            "Type what you measured, such as {example}.", example=pattern.measure.example(texts["units"])
        )
    said = texts.get("leather", "")
    if said and "leather" not in got.errors and shelf.is_thickness(said):
        try:
            thick = parse_thickness(said, place="leather")
            with shown_in("mm"):  # what was typed in ounces is said in millimetres, as the measure is
                got.notes["leather"] = f"= {Leather(thick).words()}, {texts.get('temper', 'medium')}"
        except InputError as e:
            got.errors["leather"] = sentence(e)


def hardware_for(pattern: Pattern, places: Places) -> list[tuple[str, str]]:
    """Names and titles of the sizes that can be picked for a pattern."""
    kinds = {f.part for end in (pattern.start, pattern.finish) for f in end.fixtures}
    return [(s.name, s.title) for f in catalogue(places.patterns).families if f.kind in kinds for s in f.sizes]


def choices(places: Places, pattern: Pattern | None = None) -> dict[str, list[tuple[str, str]]]:
    """What fields offer that depends on what the maker has: (value, words) by key."""
    return {
        "paper": [(name, name) for name in papers.PAPERS],
        "machine": [(name, name) for name in sorted(machines.files(places.patterns))],
        "printer": [(name, name) for name in _names(lambda: printers.read(places.printers or printers.default_path()))],
        "leather": [(name, name) for name in _names(lambda: shelf.read(places.shelf or shelf.default_path()))],
        "hardware": hardware_for(pattern, places) if pattern else [],
    }


def _names(read_file: Any) -> list[str]:
    """Names in a file of the maker's; none where it cannot be read."""
    try:
        return sorted(read_file())
    except InputError:
        return []
