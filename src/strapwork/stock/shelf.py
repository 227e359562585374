"""The leather shelf: named leathers in one TOML file that a maker can read and edit.

tomlkit keeps the maker's own comments and order when the tool writes.  Writing
takes a lock, reads the file afresh, changes one leather and moves the new file
into place, so that two processes at once lose nothing.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from strapwork.errors import InputError, shown
from strapwork.files import folders as data
from strapwork.files import output, schema
from strapwork.stock import learned, record
from strapwork.stock.learned import Measured
from strapwork.stock.leather import Leather, thickness_text
from strapwork.stock.record import TakeUpSpec
from strapwork.units import Thickness

ENVIRONMENT = "STRAPWORK_SHELF"


class LeatherSpec(schema.Strict):
    """One leather of the shelf or of a job file."""

    thickness: schema.Thick
    temper: Literal["soft", "medium", "firm"] = "medium"
    tannage: Literal["vegetable", "chrome", "combination", "unknown"] = "unknown"
    backing: schema.LengthOrZero = 0.0
    price_per_m2: float | None = Field(default=None, gt=0)
    tensile_n_per_mm2: float | None = Field(default=None, ge=1, le=60)
    take_up: TakeUpSpec | None = None

    def leather(self, name: str) -> Leather:
        """The leather it describes."""
        return Leather(
            self.thickness,
            self.temper,
            name,
            self.tannage,
            self.backing,
            self.price_per_m2,
            self.tensile_n_per_mm2,
            self.take_up.learned() if self.take_up is not None else None,
        )


def default_path() -> Path:
    """Where the shelf is kept: ``STRAPWORK_SHELF``, or the user's own data folder."""
    return data.user_file(ENVIRONMENT, "leathers.toml")


def check_name(name: str, place: str) -> str:
    """``name`` if a leather may be called that."""
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}", name):
        raise InputError(
            place, f"{shown(name)} is no name for a leather", "use letters, digits and hyphens, such as 'harbour-tan'"
        )
    return name


def read(path: Path) -> dict[str, Leather]:
    """All leathers of a shelf; a shelf that is not there yet is empty.

    Raises:
        InputError: naming file, leather, key and value.
    """
    if not path.exists():
        return {}
    raw = schema.read_toml(path, "leather shelf")
    out = {}
    for name, row in raw.items():
        check_name(name, f"{path}, {name}")
        if not isinstance(row, dict):
            raise InputError(
                f"{path}, {name}",
                f"{shown(row)} is no leather",
                f"write a table, such as [{name}] with thickness = '2 mm'",
            )
        spec = schema.check(LeatherSpec, row, f"{path}, [{name}]")
        out[name] = spec.leather(name)
    return out


def find(name: str, place: str, path: Path | None = None) -> Leather:
    """The leather called ``name`` on the shelf."""
    where = path or default_path()
    shelf = read(where)
    if name not in shelf:
        remedy = (
            schema.nearest(name, sorted(shelf))
            if shelf
            else "give a thickness such as '1.8 mm', or put it on the shelf"
        )
        raise InputError(place, f"no leather is called {shown(name)} on {where}", remedy)
    return shelf[name]


def by_name(text: str, place: str, others: Sequence[str] = (), shelf_path: Path | None = None) -> Leather | None:
    """The leather of the shelf that ``text`` names; None when ``text`` is a thickness instead.

    Raises:
        InputError: for a name that is on no shelf, offering the nearest.
    """
    if re.match(r"\s*[\d.,½¼¾⅛⅜⅝⅞−-]", text):
        return None
    where = shelf_path or default_path()
    kept = read(where)
    if text in kept:
        return kept[text]
    names = sorted({*others, *kept})
    remedy = (
        schema.nearest(text, names)
        if names
        else "give a thickness such as '1.8 mm', or name a leather of the job or the shelf"
    )
    raise InputError(place, f"no leather is called {shown(text)}", remedy)


def store_swatches(path: Path, name: str, straps: Sequence[Measured], thickness: Thickness) -> None:
    """Keep the swatches of a leather in place of those that were there; finished pieces stay.

    Args:
        path: the shelf.
        name: of the leather, which is put on the shelf if it is not there.
        straps: the swatches; one without a date keeps that of the line it replaces, or gets today's.
        thickness: of a leather that is new.
    """
    _change(path, name, lambda table: record.put_swatches(table, straps, datetime.date.today().isoformat()), thickness)


def store_made(path: Path, name: str, strap: Measured, copies: int | None, thickness: Thickness) -> None:
    """Add a finished piece to a leather; see :func:`strapwork.stock.record.add_made`."""
    _change(path, name, lambda table: record.add_made(table, strap, copies, f"{path}, [{name}]"), thickness)


def undo_made(path: Path, name: str) -> str:
    """Take back the finished piece that was added last to a leather; returns what it was."""
    find(name, "--leather", path)
    undone: list[str] = []
    _change(path, name, lambda table: undone.append(record.undo_made(table, f"{path}, [{name}]")))
    return undone[0]


def _change(path: Path, name: str, change: Callable[[Any], None], thickness: Thickness | None = None) -> None:
    def with_thickness(table: Any) -> None:
        if "thickness" not in table and thickness is not None:
            table["thickness"] = thickness_text(thickness)
        change(table)

    output.update_toml(path, name, with_thickness, "# Leathers, one table each.\n", lambda: read(path))


def as_data(leather: Leather) -> dict[str, Any]:
    """One leather as plain data, for ``--json``."""
    data = {f.name: getattr(leather, f.name) for f in fields(leather)}
    data["thickness"] = {"low": leather.thickness.low, "high": leather.thickness.high}
    data["learned"] = leather.learned.as_data() if leather.learned else None
    return data


def words(leather: Leather) -> str:
    """One leather in full, for the terminal."""
    lines = [f"{leather.name}: {leather.words()}, {leather.temper}, {leather.tannage} tannage"]
    if leather.price is not None:
        lines.append(f"    price {leather.price:g} a square metre")
    if leather.tensile is not None:
        lines.append(f"    tensile strength {leather.tensile:g} N/mm2, the maker's own figure")
    t = leather.learned
    if t is None:
        lines.append("    take-up: the model's own (nothing measured yet)")
    else:
        first, *rest = learned.words(t)
        lines += [f"    {first}", *(f"    {row}" for row in rest)]
        lines += [f"      {learned.line(s)}" for s in t.straps]
        if t.summary:
            lines.append(
                f"      {t.summary.swatches} swatch{'es' if t.summary.swatches > 1 else ''} of which only a fit was kept; "
                f"'strapwork swatch FILE --name {leather.name}' keeps every one"
            )
    return "\n".join(lines)
