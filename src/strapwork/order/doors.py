"""The doors: a job document, and texts by key from options, fields of the page or cells of a table.

Every door ends in :func:`strapwork.order.resolve.job`.  Here is only what is
particular to a door: how its keys are named in messages, and how texts become
what a job file would say.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, get_args

import pydantic

from strapwork.catalogue import tr
from strapwork.errors import InputError, Place, shown
from strapwork.files import values
from strapwork.files.folders import Places
from strapwork.files.keys import keys_of
from strapwork.order import resolve, written
from strapwork.order.description import JobAsk, PieceAsk
from strapwork.order.names import file_stem
from strapwork.order.order import Job
from strapwork.order.resolve import Asked

PIECE_KEYS = keys_of(PieceAsk)
JOB_KEYS = keys_of(JobAsk)
# A piece alone has one hand; the job's is the default for many.
ONE_PIECE_KEYS = {**{k: v for k, v in JOB_KEYS.items() if k not in PIECE_KEYS}, **PIECE_KEYS}

# In a job file: the table whose rows are the pieces.
TABLE = "from"

_BARE = re.compile(r"[\d .,/½¼¾⅛⅜⅝⅞-]+")


def of_document(raw: Mapping[str, Any], place: Place, places: Places, stem: str, folder: Path | None = None) -> Job:
    """A job from a job file's data; ``folder`` is where tables that it names are looked for.

    Raises:
        InputError: naming the file, the key (lists count from 1) and what would work.
    """
    whole = {k: v for k, v in raw.items() if k != "pieces"}
    return resolve.job(whole, _pieces(raw, place, folder), place, places, stem, folder)


def _pieces(raw: Mapping[str, Any], place: Place, folder: Path | None) -> Iterator[Asked]:
    where = place.key("pieces")
    if "pieces" not in raw:
        raise InputError(where, tr("this key is missing"), tr("add a table [[pieces]] for each piece"))
    rows = raw["pieces"]
    if not isinstance(rows, list):
        raise InputError(
            where, tr("{rows} is no list of pieces", rows=shown(rows)), tr("write a table [[pieces]] for each piece")
        )
    for k, row in enumerate(rows, start=1):
        if not isinstance(row, dict):
            raise InputError(
                f"{where}[{k}]", tr("{row} is no piece", row=shown(row)), tr("write a table [[pieces]] for each piece")
            )
        if TABLE in row:
            yield from _from_table(row, Place.part(f"{where}[{k}]"), folder)
        else:
            yield Asked(row, Place.part(f"{where}[{k}]"))


def _from_table(row: Mapping[str, Any], place: Place, folder: Path | None) -> Iterator[Asked]:
    name = row[TABLE]
    if not isinstance(name, str) or not name:
        raise InputError(
            place.key(TABLE), tr("{name} is no file", name=shown(name)), tr("name a table, such as 'class.csv'")
        )
    if folder is None:
        raise InputError(
            place.key(TABLE),
            tr("tables of people are read from files, which the page does not open"),
            tr("paste the table"),
        )
    from strapwork.order import people

    return people.read(folder / name, {k: v for k, v in row.items() if k != TABLE}, PIECE_KEYS)


def of_table(
    raw: bytes, name: str, texts: Mapping[str, Any], place: Place, places: Places, stem: str, folder: Path | None = None
) -> Job:
    """A job from a table of people alone; ``texts`` are keys of the job given elsewhere."""
    from strapwork.order import people

    return resolve.job(texts, people.of_bytes(raw, name, {}, PIECE_KEYS), place, places, stem, folder)


def of_texts(texts: Mapping[str, Any], place: Place, places: Places, folder: Path | None = None) -> Job:
    """A job of one piece from its own keys and those of the job, as options or fields give them."""
    whole, piece = split(texts)
    stem = file_stem(str(piece.get("pattern", "")))
    return resolve.job(whole, [Asked(piece, place)], place, places, stem, folder)


def split(texts: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """(keys of the job, keys of the piece) of what one piece was asked with."""
    whole = {k: v for k, v in texts.items() if k in JOB_KEYS and k not in PIECE_KEYS}
    return whole, {k: v for k, v in texts.items() if k not in whole}


def kinds(model: type[pydantic.BaseModel], key: str) -> set[str]:
    """How a key is read: any of ``length``, ``whole``, ``flag``, ``table``, ``pair``, ``list``; empty for plain text."""
    field = model.model_fields[key]
    found: set[str] = set()
    todo: list[Any] = [field.annotation, *field.metadata]
    while todo:
        part = todo.pop()
        todo += get_args(part)
        kind = getattr(getattr(part, "func", None), "kind", "")
        found.update(kind.split())
    return found


def as_written(model: type[pydantic.BaseModel], texts: Mapping[str, str], unit: str | None) -> dict[str, Any]:
    """Texts of fields as a job file would say them.

    Whole numbers become numbers, tables tables and lists lists, and a bare
    length gets its unit written down (unless ``unit`` is None): the file must not depend on the page.
    """
    out: dict[str, Any] = {}
    for key, text in texts.items():
        kind = kinds(model, key)
        value: Any = text.strip()
        if "tables" in kind and value.startswith("["):
            value = values.tables(value)
        elif value.startswith("{"):
            value = values.table(value)
            if key == "sizes":
                value = {k: _with_unit(v, unit) for k, v in value.items()}
        elif "whole" in kind and re.fullmatch(r"\d{1,9}", value, re.ASCII):
            value = int(value)
        elif "flag" in kind and value in ("true", "false"):
            value = value == "true"
        elif "list" in kind:
            value = values.as_list(value)
        elif "pair" in kind and "length" in kind:
            value = "; ".join(_with_unit(part.strip(), unit) for part in value.split(";"))
        elif "length" in kind:
            value = _with_unit(value, unit)
        out[key] = value
    return out


def _with_unit(text: Any, unit: str | None) -> Any:
    if unit is not None and isinstance(text, str) and text and _BARE.fullmatch(text):
        return f"{text} {'in' if unit == 'in16' else unit}"
    return text


def as_texts(values_: Mapping[str, Any]) -> dict[str, str]:
    """What a job file says, as texts for fields."""
    return {key: _text(value) for key, value in values_.items()}


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return str(written.inline(value).as_string())
    if isinstance(value, (list, tuple)) and value and all(isinstance(v, dict) for v in value):
        return f"[{', '.join(written.inline(v).as_string() for v in value)}]"
    if isinstance(value, (list, tuple)):
        return ", ".join(str(v) for v in value)
    return str(value)
