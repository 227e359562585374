"""How a girth is spread over people: counts by the millimetre, or a maker's own list of measures.

The counts are data in ``patterns/bodies/*.toml``, one group of people a file.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from pydantic import Field

from strapwork.catalogue import tr, trn
from strapwork.errors import InputError, shown
from strapwork.files import folders, schema, values
from strapwork.units import parse_length

MOST_MEASURES = 100_000
DELIMITERS = ";\t,"


class Counts(schema.Strict):
    """People counted by girth: ``people[k]`` of them measure ``first_mm`` + k x ``step_mm`` mm."""

    first_mm: float = Field(gt=0, le=5000)
    step_mm: float = Field(default=1.0, ge=0.1, le=100)
    people: tuple[Annotated[int, Field(ge=0, le=10_000_000)], ...] = Field(min_length=1, max_length=5000)

    @property
    def total(self) -> int:
        return sum(self.people)


class Girth(schema.Strict):
    """One girth of a group, for women, men or both; ``note`` is said wherever it is used."""

    note: values.Words = ""
    women: Counts | None = None
    men: Counts | None = None


class Bodies(schema.Strict):
    """A group of people: where the counts come from, who they are, and their girths."""

    title: values.Words
    source: str
    about: values.Words = ""
    girths: dict[str, Girth] = Field(min_length=1)


@dataclass(frozen=True, slots=True)
class Distribution:
    """Girths in mm, rising, with the share of people that has each; the shares add up to one.

    ``who``, ``source`` and ``notes`` are words for the reader.
    """

    girths: tuple[float, ...]
    shares: tuple[float, ...]
    who: str = ""
    source: str = ""
    notes: tuple[str, ...] = ()


def names(extra: Path | None = None) -> list[str]:
    """The groups of people that are known; ``extra`` is the maker's own patterns folder."""
    return sorted(_files(extra))


def _files(extra: Path | None) -> dict[str, Path]:
    own = [extra / "bodies"] if extra else []
    return schema.toml_files(folders.folder("patterns") / "bodies", *own)


def find(name: str, place: str, extra: Path | None = None) -> Bodies:
    """The group of people called ``name``.

    Raises:
        InputError: naming the nearest one when there is none of that name.
    """
    path = schema.named(_files(extra), name, place, tr("group of people"))
    bodies = schema.check(Bodies, schema.read_toml(path, tr("file of girths")), str(path))
    for girth, counted in bodies.girths.items():
        if not any(c is not None and c.total for c in (counted.women, counted.men)):
            raise InputError(
                f"{path}, girths.{girth}", tr("nobody was measured"), tr("add women or men with first_mm and people")
            )
    return bodies


def spread(bodies: Bodies, girth: str, women: float | None = None, place: str = "MEASURE") -> Distribution:
    """How ``girth`` is spread where ``women`` is the share of women, from 0 to 1.

    Left out, the share is one half, or all of those who were measured where only one sex was.

    Raises:
        InputError: for a girth that was not counted, or a sex that was not.
    """
    if girth not in bodies.girths:
        raise InputError(
            place,
            tr("the {girth} of {title} was not counted", girth=shown(girth), title=bodies.title.lower()),
            schema.nearest(girth, sorted(bodies.girths)),
        )
    counted = bodies.girths[girth]
    if women is None:
        women = 0.5 if counted.women and counted.men else 1.0 if counted.women else 0.0
    if not 0.0 <= women <= 1.0:
        raise InputError(
            "--women", tr("{women:g} in a hundred is no share", women=100 * women), tr("give from 0 to 100")
        )
    weight: dict[float, float] = {}
    for share, counts, sex in ((women, counted.women, "women"), (1.0 - women, counted.men, "men")):
        if share == 0.0:
            continue
        if counts is None or not counts.total:
            raise InputError(
                place,
                tr("no {sex} were measured in {title}", sex=sex, title=bodies.title),
                tr("ask for sizes without {sex}", sex=sex),
            )
        for k, people in enumerate(counts.people):
            if people:
                mm = round(counts.first_mm + k * counts.step_mm, 9)
                weight[mm] = weight.get(mm, 0.0) + share * people / counts.total
    notes = tuple(n for n in (bodies.about, counted.note) if n)
    return _spread(weight, _mix(women), bodies.source, notes)


def _mix(women: float) -> str:
    if women in (0.0, 1.0):
        return "women" if women else "men"
    if women == 0.5:
        return tr("women and men, half and half")
    return tr("{women:g} women and {women2:g} men in a hundred", women=100 * women, women2=100 * (1 - women))


def _spread(weight: dict[float, float], who: str, source: str, notes: tuple[str, ...]) -> Distribution:
    girths = tuple(sorted(weight))
    total = math.fsum(weight.values())
    return Distribution(girths, tuple(weight[g] / total for g in girths), who, source, notes)


def of_list(measures: list[float], who: str = "", source: str = "") -> Distribution:
    """The spread of measures in mm, each counting alike."""
    weight: dict[float, float] = {}
    for mm in measures:
        weight[mm] = weight.get(mm, 0.0) + 1.0
    many = len(measures)
    return _spread(
        weight, who or trn("{many} measure of your own", "{many} measures of your own", many, many=many), source, ()
    )


def read_list(path: Path, unit: str | None = None) -> Distribution:
    """A maker's own measures: one a line, or the column ``measure`` of a table with a row of headings.

    Empty lines and lines that begin with ``#`` are passed over.  ``unit`` is
    what a bare number means; see :func:`strapwork.units.parse_length`.

    Raises:
        InputError: naming file and line.
    """
    try:
        raw = path.read_bytes() if path.stat().st_size <= schema.LARGEST_FILE else None
    except OSError as e:
        raise InputError(
            str(path),
            tr("the list cannot be read ({strerror})", strerror=e.strerror),
            tr("check the name and the folder"),
        ) from e
    if raw is None:
        raise InputError(str(path), tr("the list is larger than 1 MB"), tr("give a smaller file"))
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as e:
        raise InputError(str(path), tr("the list is not UTF-8 text"), tr("save it as UTF-8")) from e
    cells = _cells(text, str(path))
    measures = [parse_length(t, place=tr("{path}, line {n}", path=path, n=n), unit=unit) for n, t in cells]
    if not 1 <= len(measures) <= MOST_MEASURES:
        many = "no" if not measures else f"{len(measures)}"
        raise InputError(
            str(path),
            tr("there are {many} measures in the list", many=many),
            tr("give from 1 to {most_measures}", most_measures=MOST_MEASURES),
        )
    return of_list(measures, source=path.name)


def _cells(text: str, place: str) -> list[tuple[int, str]]:
    """(line, text) of every measure of a list or a table."""
    lines = [(n, t.strip()) for n, t in enumerate(text.splitlines(), start=1)]
    kept = [(n, t) for n, t in lines if t and not t.startswith("#")]
    if not kept:
        return []
    for delimiter in DELIMITERS:
        heads = [h.strip().casefold() for h in next(csv.reader([kept[0][1]], delimiter=delimiter))]
        if "measure" in heads:
            column = heads.index("measure")
            break
    else:
        return kept
    out: list[tuple[int, str]] = []
    rows = csv.reader(io.StringIO(text), delimiter=delimiter)
    try:
        for row in rows:
            if rows.line_num > kept[0][0] and column < len(row) and row[column].strip():
                out.append((rows.line_num, row[column].strip()))
    except csv.Error as e:
        raise InputError(
            tr("{place}, line {line_num}", place=place, line_num=rows.line_num),
            tr("the table cannot be read ({e})", e=e),
            tr("mend that line"),
        ) from e
    return out
