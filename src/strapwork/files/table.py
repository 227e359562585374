"""Tables as spreadsheets write them (CSV): a row of headings, then rows, every one with its number.

Columns are parted by commas, semicolons or tabs, whichever make known headings
of the first row; quoting is that of RFC 4180.  Empty rows are left out, and
rows that are a note (``# like this``).  Both count, since a spreadsheet counts
them.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files.reading import LARGEST_FILE
from strapwork.files.schema import nearest
from strapwork.files.toml import decoded

MARKS = (",", ";", "\t")
LONGEST_CELL = 2_000
MOST_COLUMNS = 100


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table.

    Attributes:
        table: what names the table in messages.
        number: of the row, as a spreadsheet shows it.
        cells: texts by heading, without spaces around them; empty cells are left out.
    """

    table: str
    number: int
    cells: Mapping[str, str]

    def place(self, heading: str = "") -> str:
        """Where the row, or its cell under ``heading``, stands."""
        return tr("{table}, row {number}", table=self.table, number=self.number) + (f", {heading}" if heading else "")


def read_table(
    raw: bytes, place: str, known: Collection[str], most_rows: int, most: int = LARGEST_FILE, first: int = 1
) -> list[Row]:
    """Read a table.

    Args:
        raw: UTF-8, with or without its mark at the front.
        place: names the table in messages.
        known: the headings that there may be, in small letters; a table may have
            them in any order, in capitals, and leave some out.
        most_rows: how many rows there may be under the headings.
        most: bytes that there may be.
        first: the number of the first row; 0 where its headings are no row of what the maker gave.

    Raises:
        InputError: naming row and column.
    """
    if len(raw) > most:
        raise InputError(place, tr("the table is larger than {most:g} MB", most=most / 1e6), tr("give a smaller one"))
    text = decoded(raw, place)
    if "\0" in text:
        row = text.count("\n", 0, text.index("\0")) + first
        raise InputError(
            tr("{place}, row {row}", place=place, row=row),
            tr("there is a NUL in it, so it is no text"),
            tr("save it as CSV in UTF-8"),
        )
    lines = iter(io.StringIO(text, newline=""))  # keeps line ends, which may stand inside quoted cells
    numbered = enumerate(lines, start=first)
    top = next(((k, t) for k, t in numbered if t.strip(" \t\r\n,;") and not t.startswith(("#", '"#'))), None)
    if top is None:
        raise InputError(
            place, tr("there is no row of headings"), tr("begin with one, such as {known}", known=",".join(known))
        )
    mark, headings = _headings(top[1], tr("{place}, row {top}", place=place, top=top[0]), known)
    rows: list[Row] = []
    for number, line in numbered:
        where = tr("{place}, row {number}", place=place, number=number)
        cells = _cells(line, lines, mark, where, headings)
        if not any(cells) or _is_note(line, cells, where):
            continue
        if len(rows) == most_rows:
            raise InputError(
                where, tr("there are more than {most_rows} rows", most_rows=most_rows), tr("split the table")
            )
        rows.append(Row(place, number, _by_heading(cells, headings, where)))
    if not rows:
        raise InputError(place, tr("there is no row under the headings"), tr("write at least one"))
    return rows


def _headings(line: str, where: str, known: Collection[str]) -> tuple[str, list[str]]:
    """The mark between columns and the headings; the mark is the one that makes every heading a known one."""
    best: tuple[int, int] = (-1, 0)
    mark, found = MARKS[0], [""]
    for m in MARKS:
        try:
            heads = [c.strip().casefold() for c in next(csv.reader([line], delimiter=m, skipinitialspace=True))]
        except csv.Error:
            continue
        score = (sum(h in known for h in heads), len(heads))
        if score > best:
            best, mark, found = score, m, heads
    if len(found) > MOST_COLUMNS:
        raise InputError(
            where,
            tr("there are {found} columns", found=len(found)),
            tr("keep to {most_columns}", most_columns=MOST_COLUMNS),
        )
    for k, h in enumerate(found, start=1):
        if h and h not in known:
            raise InputError(
                tr("{where}, column {k}", where=where, k=k),
                tr("no column is called {h}", h=shown(h)),
                nearest(h[:40], sorted(known)),
            )
        if h and h in found[: k - 1]:
            raise InputError(
                tr("{where}, column {k}", where=where, k=k),
                tr("there are two columns {h}", h=shown(h)),
                tr("take one out"),
            )
    return mark, found


def _cells(line: str, more: Iterator[str], mark: str, where: str, headings: list[str]) -> list[str]:
    """The cells of the row that begins with ``line``; a quoted cell may run on over ``more`` lines."""
    taken = [line]

    def lines() -> Iterator[str]:
        yield line
        for further in more:
            taken.append(further)
            yield further

    try:
        cells = next(csv.reader(lines(), delimiter=mark, skipinitialspace=True, strict=True), [])
    except csv.Error as e:
        column = _column_at_fault("".join(taken), mark)
        problem = tr("the quotation marks do not pair up") if "limit" not in str(e) else tr("a cell is too long")
        raise InputError(
            f"{where}, {_named(column, headings)}",
            problem,
            tr("close every cell that begins with one, and double one inside"),
        ) from e
    for k, cell in enumerate(cells, start=1):
        if len(cell) > LONGEST_CELL:
            problem = tr("the cell holds {cell} characters", cell=len(cell))
            raise InputError(
                f"{where}, {_named(k, headings)}", problem, tr("keep to {longest_cell}", longest_cell=LONGEST_CELL)
            )
    return [c.strip() for c in cells]


def _column_at_fault(text: str, mark: str) -> int:
    """The column, from 1, of the first cell that is not written as one."""
    cell = re.compile(rf' *+(?:"(?:[^"]++|"")*+"(?=[{mark}\r\n]|\Z)|(?!")[^{mark}\r\n]*+)')
    column, at = 1, 0
    while (m := cell.match(text, at)) and m.end() - at <= LONGEST_CELL and text[m.end() : m.end() + 1] == mark:
        column, at = column + 1, m.end() + 1
    return column


def _named(column: int, headings: list[str]) -> str:
    heading = headings[column - 1] if column <= len(headings) else ""
    return heading or tr("column {column}", column=column)


def _is_note(line: str, cells: list[str], where: str) -> bool:
    """Whether the row is a note; refused where it might as well be data."""
    if not cells[0].startswith("#"):
        return False
    if not any(cells[1:]) or re.match(r"#[\s#]", line):
        return True
    if line.startswith("#"):
        raise InputError(
            where,
            tr("the row begins with '#' and holds values"),
            tr("write '# ' to leave the row out, or put the first cell in quotation marks to keep it"),
        )
    return False


def _by_heading(cells: list[str], headings: list[str], where: str) -> dict[str, str]:
    if len(cells) > len(headings):
        raise InputError(
            where,
            tr("there are {cells} values under {headings} headings", cells=len(cells), headings=len(headings)),
            tr("quote values that hold a comma"),
        )
    for k, (heading, cell) in enumerate(zip(headings, cells, strict=False), start=1):
        if cell and not heading:
            raise InputError(
                tr("{where}, column {k}", where=where, k=k),
                tr("{cell} stands under no heading", cell=shown(cell)),
                tr("give the column one"),
            )
    return {h: c for h, c in zip(headings, cells, strict=False) if c}
