"""The leather shelf: named leathers in one TOML file that a maker can read and edit.

tomlkit keeps the maker's own comments and order when the tool writes.  Writing
takes a lock, reads the file afresh, changes one leather and moves the new file
into place, so that two processes at once lose nothing.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from strapwork.errors import InputError, shown
from strapwork.files import folders as data
from strapwork.files import schema, update
from strapwork.stock.leather import Learned, Leather
from strapwork.units import format_mm

ENVIRONMENT = "STRAPWORK_SHELF"


class LearnedSpec(schema.Strict):
    """What ``strapwork swatch`` stores; see :class:`strapwork.leather.Learned`."""

    factor: float = Field(gt=0, lt=10)
    error: float = Field(ge=0, lt=10)
    scatter_mm: float = Field(ge=0, le=1000)
    freedom: int = Field(ge=0, le=100_000)
    quantile: float = Field(ge=0, le=100)
    swatches: int = Field(ge=1, le=100_000)
    settle: float | None = Field(default=None, ge=0, lt=0.5)


class LeatherSpec(schema.Strict):
    """One leather of the shelf or of a job file."""

    thickness: schema.Thick
    temper: Literal["soft", "medium", "firm"] = "medium"
    tannage: Literal["vegetable", "chrome", "combination", "unknown"] = "unknown"
    backing: schema.LengthOrZero = 0.0
    price_per_m2: float | None = Field(default=None, gt=0, le=1_000_000)
    tensile_n_per_mm2: float | None = Field(default=None, ge=1, le=60)
    take_up: LearnedSpec | None = None

    def leather(self, name: str) -> Leather:
        """The leather it describes."""
        t = self.take_up
        learned = (
            Learned(t.factor, t.error, t.scatter_mm, t.freedom, t.quantile, t.swatches, t.settle)
            if t is not None
            else None
        )
        return Leather(
            self.thickness,
            self.temper,
            name,
            self.tannage,
            self.backing,
            self.price_per_m2,
            self.tensile_n_per_mm2,
            learned,
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
    out = {}
    for name, row in schema.read_toml_if_there(path, "leather shelf").items():
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


def store_learned(path: Path, name: str, learned: Learned, thickness: str) -> None:
    """Keep what swatches taught of a leather."""
    import tomlkit

    def change(table: Any) -> None:
        if "thickness" not in table:
            table["thickness"] = thickness
        row = tomlkit.inline_table()
        row["factor"] = round(learned.factor, 5)
        row["error"] = round(learned.error, 5)
        row["scatter_mm"] = round(learned.scatter, 4)
        row["freedom"] = learned.freedom
        row["quantile"] = round(learned.quantile, 4)
        row["swatches"] = learned.swatches
        if learned.settle is not None:
            row["settle"] = round(learned.settle, 5)
        table["take_up"] = row

    update.update_toml(path, name, change, "# Leathers, one table each.\n", lambda: read(path))


def words(leather: Leather) -> str:
    """One leather in full, for the terminal."""
    lines = [f"{leather.name}: {leather.words()}, {leather.temper}, {leather.tannage} tannage"]
    if leather.price is not None:
        lines.append(f"    price {leather.price:g} a square metre")
    if leather.tensile is not None:
        lines.append(f"    tensile strength {leather.tensile:g} N/mm2, the maker's own figure")
    t = leather.learned
    if t is None:
        lines.append("    take-up: the model's own (no swatch yet)")
    else:
        many = f"{t.swatches} swatch{'es' if t.swatches > 1 else ''}"
        band = (
            f" ± {t.quantile * t.error:.2f} (95 %), scatter {format_mm(t.scatter, 2)}"
            if t.freedom
            else ", band of the model"
        )
        lines.append(f"    take-up: {t.factor:.2f} times the model{band}, from {many}")
        if t.settle is not None:
            lines.append(f"    settles by {100 * t.settle:.1f} % in wear")
    return "\n".join(lines)
