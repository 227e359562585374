"""Swatches: what short test braids teach of a leather's take-up.

The maker measured what a swatch ate: y = reference length before braiding less
after.  Beside it stands m, what the first-principles model
(:mod:`strapwork.braid.geometry`) says of a braid of that length *as it came
out*: that is how a draft asks for it, which knows the finished length and wants
the slit.  What y and m of all swatches say of a new strap is worked out in
:mod:`strapwork.stock.take_up`.

A swatch that the others least expect, beyond what chance explains, is named as
the outlier; it is not thrown away silently.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import Field

from strapwork.braid import geometry
from strapwork.catalogue import tr
from strapwork.errors import InputError, Place, shown
from strapwork.files import schema, table, values
from strapwork.files.reading import read_file
from strapwork.piece.piece import plan_for
from strapwork.stock import learned as teaching
from strapwork.stock import record, take_up
from strapwork.stock.learned import Learned, Measured
from strapwork.stock.patterns import Weaving
from strapwork.stock.record import LEAST_RATIO, MOST_RATIO
from strapwork.stock.record import MOST_STRAPS as MOST_SWATCHES
from strapwork.units import Thickness, format_mm

LEAST_TAKE_UP = 0.05

TEMPLATE = tr("""\
# Swatches of one leather: braid short test straps and write one line for each.
#   swatch     your name for it
#   thickness  of the leather, such as 1.8 mm or 4-5 oz
#   width      of the strap
#   strands    number of strands
#   sets       braid sets worked
#   slit       length of the slits as cut
#   before     between two pricked points, one beyond each slit end, before braiding
#   after      between the same points when the braid is evened out
#   worn       the same after a few weeks of wear; leave empty if not known
#   date       the day it was measured, such as 2026-05-02; leave empty for today
swatch,thickness,width,strands,sets,slit,before,after,worn,date
example,1.8 mm,19 mm,3,2,150 mm,170 mm,161 mm,,
""")


class Row(schema.Strict):
    """One swatch as written down; lengths in mm."""

    swatch: str = Field(min_length=1, max_length=60)
    thickness: values.Thick
    width: values.Length
    strands: int = Field(ge=3, le=25)
    sets: int = Field(ge=1, le=200)
    slit: values.Length
    before: values.Length
    after: values.Length
    worn: values.Length | None = None
    date: record.Day | None = None
    weave: Weaving = "over"


class _TomlFile(schema.Strict):
    swatches: tuple[Row, ...] = Field(min_length=1, max_length=MOST_SWATCHES)


@dataclass(frozen=True, slots=True)
class Lesson:
    """What a set of swatches taught.

    Attributes:
        learned: what they say together.
        rows: the swatches, as learned.straps has them.
        outlier: index of the swatch that stands out, None when none does.
    """

    learned: Learned
    rows: tuple[Row, ...]
    outlier: int | None

    def as_data(self) -> dict[str, Any]:
        """As plain data, for ``--json``."""
        outlier = self.rows[self.outlier].swatch if self.outlier is not None else None
        return {**self.learned.as_data(), "outlier": outlier}

    @property
    def thickness(self) -> Thickness:
        """Of the leather: from the thinnest swatch to the thickest."""
        return Thickness(min(r.thickness.low for r in self.rows), max(r.thickness.high for r in self.rows))


def read(path: Path) -> list[Row]:
    """Read swatches from CSV (with a heading line) or TOML (``[[swatches]]``).

    Raises:
        InputError: naming file, line and column, or for nonsense.
    """
    if path.suffix.lower() == ".toml":
        raw = schema.read_toml(path, tr("swatch file"))
        rows = list(schema.check(_TomlFile, raw, str(path)).swatches)
        places = [f"{path}, swatches[{i}]" for i in range(1, len(rows) + 1)]
    else:
        rows, places = _read_csv(path)
    _refuse_nonsense(rows, places)
    return rows


def _read_csv(path: Path) -> tuple[list[Row], list[str]]:
    known = tuple(Row.model_fields)
    rows, places = [], []
    for line in table.read_table(read_file(path, tr("swatch file")), str(path), known, MOST_SWATCHES):
        raw: dict[str, Any] = dict(line.cells)
        for name in ("strands", "sets"):
            if name in raw:
                if not re.fullmatch(r"[0-9]{1,6}", raw[name]):
                    raise InputError(
                        line.place(name), tr("{raw} is no whole number", raw=shown(raw[name])), tr("write it in digits")
                    )
                raw[name] = int(raw[name])
        rows.append(schema.check(Row, raw, line.place()))
        places.append(line.place())
    return rows, places


def _refuse_nonsense(rows: Sequence[Row], places: Sequence[str]) -> None:
    seen: dict[tuple[object, ...], str] = {}
    for row, place in zip(rows, places, strict=True):
        if row.after >= row.before:
            raise InputError(
                place,
                tr(
                    "{swatch} is no shorter after braiding ({after}) than before ({before})",
                    swatch=shown(row.swatch),
                    after=format_mm(row.after),
                    before=format_mm(row.before),
                ),
                tr("check which length is which"),
            )
        if row.slit > row.before:
            raise InputError(
                place,
                tr(
                    "the slits of {swatch} ({slit}) are longer than what was measured ({before})",
                    swatch=shown(row.swatch),
                    slit=format_mm(row.slit),
                    before=format_mm(row.before),
                ),
                tr("measure between points beyond both slit ends"),
            )
        if row.before - row.after >= 0.6 * row.slit:
            raise InputError(
                place,
                tr("{swatch} would have lost more than half of its slits", swatch=shown(row.swatch)),
                tr("measure it again; no braid eats that much"),
            )
        if row.worn is not None and not row.after * 0.98 <= row.worn <= row.after * 1.3:
            raise InputError(
                place,
                tr(
                    "{swatch} went from {after} to {worn} in wear",
                    swatch=shown(row.swatch),
                    after=format_mm(row.after),
                    worn=format_mm(row.worn),
                ),
                tr("measure again; straps lengthen a little in wear"),
            )
        key = (row.swatch.casefold(),)
        facts = (row.thickness, row.width, row.strands, row.sets, row.slit, row.before, row.after, row.worn)
        for k in (key, facts):
            if k in seen:
                raise InputError(
                    place,
                    tr(
                        "{swatch} is the swatch of {rpartition} again",
                        swatch=shown(row.swatch),
                        rpartition=seen[k].rpartition(", ")[2],
                    ),
                    tr("write every swatch once; measuring one strap ten times does not make ten"),
                )
            seen[k] = place


def modelled(row: Row, place: str) -> float:
    """Take-up in mm that the model gives a swatch, for the length that it came out at.

    A swatch that came out shorter than the model can braid it is taken by its slits instead.
    """
    plan = plan_for(row.strands, row.weave, None, Place.part(place))
    strand, thick, took = row.width / row.strands, row.thickness.mid, row.before - row.after
    form = geometry.from_finished(plan.plait, strand, thick, row.sets, row.slit - took) or geometry.from_slit(
        plan.plait, strand, thick, row.sets, row.slit
    )
    if form is None:
        raise InputError(
            place,
            tr("{sets} sets cannot be packed into slits of {slit}", sets=row.sets, slit=format_mm(row.slit)),
            tr("check sets and slit length"),
        )
    return form.take_up


def learn(rows: Sequence[Row], place: str = "swatches") -> Lesson:
    """What the swatches of one leather teach.

    Raises:
        InputError: for a swatch that cannot be braided, or took up what no braid does.
    """
    straps = tuple(_strap(r, f"{place}, {shown(r.swatch)}") for r in rows)
    return Lesson(Learned(straps), tuple(rows), take_up.stands_out([s.group for s in straps]))


def _strap(row: Row, place: str) -> Measured:
    model, measured = modelled(row, place), row.before - row.after
    if measured < LEAST_TAKE_UP or not LEAST_RATIO <= measured / model <= MOST_RATIO:
        raise InputError(
            place,
            tr(
                "it took up {measured} where the model says {model}",
                measured=format_mm(measured, 2),
                model=format_mm(model, 2),
            ),
            tr("measure it again, or braid a longer one with more sets"),
        )
    return Measured(
        row.swatch, model, measured, row.date or "", after=row.after if row.worn else 0.0, worn=row.worn or 0.0
    )


def words(lesson: Lesson, name: str) -> str:
    """What was learned, for the terminal."""
    known = lesson.learned
    first, *rest = teaching.words(known)
    lines = [f"{name}: {first}", *rest]
    for k, s in enumerate(known.straps):
        mark = "   <- stands out, measure it again" if lesson.outlier == k else ""
        lines.append(
            tr(
                "  {what}: ate {measured}, model {model}, fit {factor}{mark}",
                what=s.what,
                measured=format_mm(s.measured, 2),
                model=format_mm(s.model, 2),
                factor=format_mm(known.factor * s.model, 2),
                mark=mark,
            )
        )
    return "\n".join(lines)
