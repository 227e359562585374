"""A table of people (or of anything that is made by the dozen): each row of a spreadsheet's CSV is a piece.

Columns are keys of a piece, in any order; ``name`` stands for the label.  What
a row leaves out comes from the ``[[pieces]]`` entry that names the table.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError, Place
from strapwork.files.reading import read_file
from strapwork.files.table import read_table
from strapwork.order.description import LARGEST_JOB, MOST_PIECES
from strapwork.order.resolve import Asked

NAME = "name"
# What a row says of the piece it is; an entry that has these itself speaks of one piece, not of a table.
ITS_OWN = ("measure", "sizes")


def read(path: Path, like: Mapping[str, Any], keys: Mapping[str, object]) -> Iterator[Asked]:
    """The pieces of a table file; see :func:`of_bytes`."""
    return of_bytes(read_file(path, "table", LARGEST_JOB), str(path), like, keys)


def of_bytes(
    raw: bytes, place: str, like: Mapping[str, Any], keys: Mapping[str, object], first: int = 1
) -> Iterator[Asked]:
    """The pieces of a table.

    Args:
        raw: the table as a spreadsheet saves it: comma, semicolon or tab, UTF-8 with or without its mark.
        place: names it in messages.
        like: what every row has that says nothing else.
        keys: the keys of a piece.
        first: the number of the first row, see :func:`~strapwork.files.table.read_table`.

    Raises:
        InputError: naming row and column.
    """
    rows = read_table(raw, place, {*keys, NAME}, MOST_PIECES, LARGEST_JOB, first)
    if not rows:
        raise InputError(place, tr("there is no row under the headings"), tr("write a row for each piece"))
    for row in rows:
        values = dict(row.cells)
        if NAME in values:
            values.setdefault("label", values.pop(NAME))
        own = {k: v for k, v in like.items() if not (k in ITS_OWN and any(o in values for o in ITS_OWN))}
        yield Asked({**own, **values}, Place(row.place(), f"{row.place()}, {{key}}"))
