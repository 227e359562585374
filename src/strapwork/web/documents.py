"""The page's job: a job document, held by the page as it is and shown as far as a list can show it.

The page keeps what a job file says, key by key, so that nothing is lost that
has no field: it is kept, and the page says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from strapwork.errors import InputError, shown
from strapwork.order import doors
from strapwork.order.description import JobAsk, PieceAsk
from strapwork.order.written import toml
from strapwork.web import form

MOST_ROWS = 200
# What a row of a pasted table says for itself, so that it is not taken over from the row before.
OWN = ("label", "measure", "sizes", "count")


def of_page(body: Mapping[str, Any]) -> dict[str, Any]:
    """The job document that the page holds.

    Raises:
        InputError: for what is no job document, or one too long for the page.
    """
    whole, pieces = body.get("job"), body.get("pieces")
    if not isinstance(whole, dict) or not isinstance(pieces, list) or not pieces:
        raise InputError("the job", "there is no piece in the list", "add one")
    if len(pieces) > MOST_ROWS:
        raise InputError("the job", f"{len(pieces)} rows are too many for the page", f"keep it to {MOST_ROWS}")
    if not all(isinstance(p, dict) for p in pieces):
        raise InputError("the job", "a row of the list is no piece", "open the job file again")
    return {**whole, "pieces": pieces}


def to_page(raw: Mapping[str, Any]) -> dict[str, Any]:
    """A checked job document as the page holds it, with the sentence that says what is only kept."""
    whole = {k: v for k, v in raw.items() if k != "pieces"}
    return {"job": whole, "pieces": list(raw["pieces"]), "kept": kept(whole)}


def kept(whole: Mapping[str, Any]) -> str:
    """What the page keeps of a job without showing it; empty for nothing."""
    names = [key.label.lower() for name, key in doors.JOB_KEYS.items() if name in whole and key.hidden]
    return f"Kept as the job file has it: {', '.join(names)}." if names else ""


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


def of_table(text: str, base: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Rows pasted from a spreadsheet: name, measure and, if there is one, count, a tab or semicolon between them.

    Args:
        text: what was pasted.
        base: the piece they are made like.

    Raises:
        InputError: naming the row that cannot be read.
    """
    rows = [(k, line) for k, line in enumerate(text.splitlines(), start=1) if line.strip()]
    if not rows:
        raise InputError("the table", "there is no row in it", "paste rows with a name and a measure")
    if len(rows) > MOST_ROWS:
        raise InputError("the table", f"{len(rows)} rows are too many", f"keep it to {MOST_ROWS}")
    like = {"pattern": "wristband"} | {k: v for k, v in base.items() if k not in OWN}
    return [like | _row(line, f"the table, row {number}") for number, line in rows]


def _row(line: str, place: str) -> dict[str, Any]:
    cells: Sequence[str] = [c.strip() for c in line.split("\t" if "\t" in line else ";")]
    if len(cells) < 2 or not cells[1]:
        raise InputError(place, f"{shown(line)} has no measure", "put a tab or a semicolon between name and measure")
    row: dict[str, Any] = {"measure": cells[1][:40]}
    if cells[0]:
        row["label"] = cells[0][:80]
    if len(cells) > 2 and cells[2]:
        if not (cells[2].isascii() and cells[2].isdigit() and len(cells[2]) < 10):
            raise InputError(place, f"{shown(cells[2])} is no count", "write a whole number or leave it out")
        row["count"] = int(cells[2])
    return row


__all__ = ["kept", "of_fields", "of_page", "of_table", "to_fields", "to_page", "toml"]
