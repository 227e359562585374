"""Printers as measured on the calibration sheet: one TOML file of the maker's, and what each does to a sheet."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path

from pydantic import Field

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files import folders, schema, update

ENVIRONMENT = "STRAPWORK_PRINTERS"
MOST_OFF = 0.03
MOST_SKEW = 0.02


@dataclass(frozen=True, slots=True)
class Printer:
    """What a printer does to a sheet fed upright.

    Attributes:
        name: the maker's name for it.
        x, y: printed over drawn length across and along the feed.
        skew: cosine of the angle between the printed axes (0 when square).
        x_within, y_within, skew_within: how far each may be from the truth, 95 times in 100; None where nobody knows.
    """

    name: str
    x: float
    y: float
    skew: float = 0.0
    x_within: float | None = None
    y_within: float | None = None
    skew_within: float | None = None

    @property
    def within(self) -> float | None:
        """The share by which a corrected length may be off, whichever way it lies on the sheet; None where nobody knows.

        At an angle f to the feed's across it is x cos^2 f + y sin^2 f + skew sin f cos f.
        """
        if self.x_within is None or self.y_within is None:
            return None
        halfway = math.hypot(self.x_within, self.y_within, self.skew_within or 0.0) / 2.0
        return max(self.x_within, self.y_within, halfway)

    def matrix(self, lying: bool) -> tuple[float, float, float, float]:
        """The correction (a, b, c, d) for a sheet: x' = a x + c y, y' = b x + d y.

        A lying sheet is turned by a quarter to be fed, so its axes change places.
        """
        sin = math.sqrt(1.0 - self.skew**2)
        # M = [[x, y skew], [0, y sin]]; its inverse, column by column.
        a, c = 1.0 / self.x, -self.skew / (self.x * sin)
        d = 1.0 / (self.y * sin)
        if lying:
            # R^-1 M^-1 R for a quarter turn R.
            return d, -c, 0.0, a
        return a, 0.0, c, d

    def spill(self, side: float) -> float:
        """How far in mm a correction moves the edge of a sheet outwards: what is drawn for a printer that shrinks has to
        start so much further in to stay on the paper (``side`` is the sheet's longer one)."""
        largest = max(1.0 / self.x, 1.0 / self.y) - 1.0
        return max(0.0, largest * side / 2.0) + abs(self.skew) * side / 2.0


class PrinterSpec(schema.Strict):
    """A printer as it is stored."""

    x: float = Field(ge=1 - MOST_OFF, le=1 + MOST_OFF)
    y: float = Field(ge=1 - MOST_OFF, le=1 + MOST_OFF)
    skew: float = Field(default=0.0, ge=-MOST_SKEW, le=MOST_SKEW)
    x_within: float | None = Field(default=None, ge=0.0, le=MOST_OFF)
    y_within: float | None = Field(default=None, ge=0.0, le=MOST_OFF)
    skew_within: float | None = Field(default=None, ge=0.0, le=MOST_SKEW)


def default_path() -> Path:
    """Where printers are kept: ``STRAPWORK_PRINTERS``, or the user's own data folder."""
    return folders.user_file(ENVIRONMENT, "printers.toml")


def check_name(name: str, place: str) -> str:
    """``name`` if a printer may be called that, in a file and on a sheet."""
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,39}", name):
        raise InputError(
            place,
            tr("{name} is no name for a printer", name=shown(name)),
            tr("use letters, digits, spaces and hyphens"),
        )
    return name


def read(path: Path) -> dict[str, Printer]:
    """All printers kept in a file; none where there is no file yet."""
    out = {}
    for name, row in schema.read_toml_if_there(path, tr("printer file")).items():
        spec = schema.check(PrinterSpec, row, f"{path}, [{name}]")
        out[name] = Printer(name, **spec.model_dump())
    return out


def find(name: str, place: str, path: Path | None = None) -> Printer:
    """The printer called ``name``."""
    where = path or default_path()
    kept = read(where)
    if name not in kept:
        remedy = schema.nearest(name, sorted(kept)) if kept else tr("measure it first with 'strapwork scale'")
        raise InputError(place, tr("no printer is called {name}", name=shown(name)), remedy)
    return kept[name]


def store(path: Path, printer: Printer) -> None:
    """Keep a printer, with the same care as the leather shelf."""

    def change(table: dict[str, float]) -> None:
        for key in PrinterSpec.model_fields:
            value = getattr(printer, key)
            if value is not None:
                table[key] = round(value, 6)
            else:
                table.pop(key, None)

    update.update_toml(
        path, printer.name, change, tr("# Printers, as measured on the calibration sheet.\n"), lambda: read(path)
    )
