"""The page's job: a job document, held by the page as it is and shown as far as a list can show it.

The page keeps what a job file says, key by key, so that nothing is lost that
has no field: it is kept, and the page says so.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.files import schema
from strapwork.files.toml import decoded
from strapwork.order import doors, people
from strapwork.order.description import JobAsk, PieceAsk
from strapwork.order.names import file_stem
from strapwork.order.written import toml
from strapwork.web import asked, form

MOST_ROWS = 200
MOST_SIZES = 2_000
LONGEST_TABLE = 200_000
HEADINGS = ("measure", "sizes", "pattern")
# What a row of a pasted table says for itself, so that it is not taken over from the row before.
OWN = ("label", "measure", "sizes", "count")


def of_page(body: Mapping[str, Any]) -> dict[str, Any]:
    """The job document that the page holds.

    Raises:
        InputError: for what is no job document, or one too long for the page.
    """
    whole, pieces = body.get("job"), body.get("pieces")
    if not isinstance(whole, dict) or not isinstance(pieces, list) or not pieces:
        raise InputError(tr("the job"), tr("there is no piece in the list"), tr("add one"))
    refuse_many(pieces)
    if not all(isinstance(p, dict) for p in pieces):
        raise InputError(tr("the job"), tr("a row of the list is no piece"), tr("open the job file again"))
    return {**whole, "pieces": pieces}


def stem(body: Mapping[str, Any]) -> str:
    """What the job's files are called: as its own file would be, by the job's name; else by its title."""
    whole = body.get("job")
    title = whole.get("title") if isinstance(whole, dict) else None
    return file_stem(asked.text(body, "name") or str(title or "job"))


def refuse_many(pieces: Any) -> None:
    """Refuse a list of more rows, or of more sizes in them, than the page works with, before any is looked at."""
    if not isinstance(pieces, list):
        return
    if len(pieces) > MOST_ROWS:
        raise InputError(
            tr("the job"),
            tr("{pieces} rows are too many for the page", pieces=len(pieces)),
            tr("keep it to {most_rows}", most_rows=MOST_ROWS),
        )
    if sum(_sizes(p) for p in pieces) > MOST_SIZES:
        raise InputError(tr("the job"), tr("there are too many sizes in it for the page"), tr("use the command line"))


def _sizes(piece: Any) -> int:
    said = piece.get("sizes") if isinstance(piece, dict) else None
    return len(said) if isinstance(said, dict) else said.count("=") if isinstance(said, str) else 1


def to_page(raw: Mapping[str, Any]) -> dict[str, Any]:
    """A checked job document as the page holds it, with the sentence that says what is only kept."""
    whole = {k: v for k, v in raw.items() if k != "pieces"}
    return {"job": whole, "pieces": list(raw["pieces"]), "kept": kept(whole)}


def kept(whole: Mapping[str, Any]) -> str:
    """What the page keeps of a job without showing it; empty for nothing."""
    names = [key.label.lower() for name, key in doors.JOB_KEYS.items() if name in whole and key.hidden]
    return tr("Kept as the job file has it: {names}.", names=", ".join(names)) if names else ""


def of_fields(values: Mapping[str, str]) -> dict[str, Any]:
    """The document of one piece as the page's fields describe it: ``{"job": .., "piece": ..}``."""
    texts = form.asked(values)
    unit = texts["units"]
    whole, piece = doors.split(texts)
    return {"job": doors.as_written(JobAsk, whole, unit), "piece": doors.as_written(PieceAsk, piece, unit)}


def to_fields(whole: Mapping[str, Any], piece: Mapping[str, Any]) -> dict[str, str]:
    """Texts of the page's fields for one piece of a job.

    The job's hand is the default of its pieces, so it becomes the piece's own.
    """
    texts = doors.as_texts({k: v for k, v in whole.items() if k in doors.ONE_PIECE_KEYS and k != "title"})
    if whole.get("left_handed") and "hand" not in whole:
        texts["hand"] = "left"
    texts.pop("left_handed", None)
    return texts | doors.as_texts(piece)


def of_table(table: str | bytes, base: Mapping[str, Any], name: str = tr("the table")) -> list[dict[str, Any]]:
    """Rows pasted from a spreadsheet, or its file, as pieces; read as ``strapwork make class.csv`` reads them.

    With a row of headings the columns are the keys of a piece; without one they are name, measure and, if there is
    one, count, parted by tabs, semicolons or commas.

    Args:
        table: what was pasted, or the bytes of a file.
        base: the piece they are made like.
        name: of the table, for messages.

    Raises:
        InputError: naming the row and the column that cannot be read.
    """
    if len(table) > LONGEST_TABLE:
        raise InputError(
            name,
            tr("more than {longest_table} characters are too many", longest_table=LONGEST_TABLE),
            tr("take fewer rows"),
        )
    text = decoded(table, name) if isinstance(table, bytes) else table
    lines = [line for line in text.splitlines() if line.strip()]
    if not lines:
        raise InputError(name, tr("there is no row in it"), tr("paste rows with a name and a measure"))
    if len(lines) > MOST_ROWS + 50:  # some are headings and notes
        raise InputError(
            name,
            tr("{lines} rows are too many for the page", lines=len(lines)),
            tr("keep it to {most_rows}", most_rows=MOST_ROWS),
        )
    like = {"pattern": "wristband"} | {k: v for k, v in base.items() if k not in OWN}
    first = next((line for line in lines if not line.startswith(("#", '"#'))), lines[0])
    headed = any(cell.strip(' "').lower() in HEADINGS for cell in re.split(r"[\t;,]", first))
    if not headed:
        text = _with_headings(text, lines)
    # Headings of ours are no row of the table: the maker's first row is row 1.
    rows = list(people.of_bytes(text.encode("utf-8", "replace"), name, like, doors.PIECE_KEYS, 1 if headed else 0))
    for row in rows:
        if not ({"measure", "sizes"} & row.values.keys()):
            raise InputError(row.place.key("measure"), tr("there is no measure"), tr("write one, such as 16 cm"))
        schema.check(PieceAsk, dict(row.values), row.place)
    return [
        doors.as_written(PieceAsk, {k: v for k, v in row.values.items() if isinstance(v, str)}, None)
        | {k: v for k, v in row.values.items() if not isinstance(v, str)}
        for row in rows
    ]


def _with_headings(text: str, lines: list[str]) -> str:
    """Rows without headings with ours on top, all parted by the one mark that they have in common."""
    marks = [m for m in "\t;," if any(m in line for line in lines)]
    mark = marks[0] if marks else ";"
    # Where tabs part the cells, a line typed among them with semicolons is taken for one of them.
    rows = [line if mark in line else line.replace(";", mark) for line in text.split("\n")]
    return mark.join(("name", "measure", "count")) + "\n" + "\n".join(rows)


__all__ = ["kept", "of_fields", "of_page", "of_table", "to_fields", "to_page", "toml"]
