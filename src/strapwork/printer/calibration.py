"""Printers that lie: measure what came out, and correct what goes in.

The calibration sheet has two crosses a known distance apart along each edge
and along both diagonals.  A printer turns the drawn point (x, y) into
M (x, y); the four readings give M:

    x axis -> (X / x0) (1, 0),   y axis -> (Y / y0) (cos g, sin g)

with cos g from the diagonals of the printed parallelogram,
D1^2 - D2^2 = 4 X Y cos g.  Sheets are then drawn through the inverse of M, so
that they come out true.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pydantic import Field

from strapwork.drawing.primitives import Layer, Placed, Primitive, Sheet, Text, line, polyline, transformed
from strapwork.errors import InputError, shown
from strapwork.files import folders as data
from strapwork.files import schema, update
from strapwork.paper import furniture
from strapwork.units import format_mm

S = Layer.SHEET
INSET = 22.0
MARKER = 12.0
FIT_LOW, FIT_HIGH = 0.935, 0.975
MOST_OFF = 0.03
MOST_SKEW = 0.02
ENVIRONMENT = "STRAPWORK_PRINTERS"

# The first four markers of the open 4 x 4 ArUco dictionary as OpenCV publishes
# it (black cells are 0), rows from the top; a test compares them with OpenCV's.
MARKERS = (
    ("1011", "0101", "0011", "0010"),
    ("0000", "1111", "1001", "1010"),
    ("0011", "0011", "0010", "1101"),
    ("1001", "1001", "0100", "0110"),
)


@dataclass(frozen=True, slots=True)
class Printer:
    """What a printer does to a sheet fed upright.

    Attributes:
        name: the maker's name for it.
        x, y: printed over drawn length across and along the feed.
        skew: cosine of the angle between the printed axes (0 when square).
    """

    name: str
    x: float
    y: float
    skew: float = 0.0

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

    def words(self) -> str:
        """For the foot of a corrected sheet."""
        return (
            f"Corrected for the printer “{self.name}” ({100 * self.x:.2f} % × {100 * self.y:.2f} %): "
            "on that printer the square must read 50.0 mm."
        )


class PrinterSpec(schema.Strict):
    """A printer as it is stored."""

    x: float = Field(ge=1 - MOST_OFF, le=1 + MOST_OFF)
    y: float = Field(ge=1 - MOST_OFF, le=1 + MOST_OFF)
    skew: float = Field(default=0.0, ge=-MOST_SKEW, le=MOST_SKEW)


def crosses(paper: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    """The four crosses, from the lower left round to the upper left, in mm on an upright sheet."""
    w, h = paper
    return ((INSET, INSET), (w - INSET, INSET), (w - INSET, h - INSET), (INSET, h - INSET))


def distances(paper: tuple[float, float]) -> tuple[float, float, float]:
    """Across, along and diagonal between the crosses, in mm, as drawn."""
    x, y = paper[0] - 2 * INSET, paper[1] - 2 * INSET
    return x, y, math.hypot(x, y)


def marker_corner(k: int, paper: tuple[float, float]) -> tuple[float, float]:
    """Lower left corner of marker ``k`` on the sheet."""
    w, h = paper
    at = ((6.0, 6.0), (w - 6.0 - MARKER, 6.0), (w - 6.0 - MARKER, h - 6.0 - MARKER), (6.0, h - 6.0 - MARKER))
    return at[k]


def _marker(k: int, paper: tuple[float, float]) -> list[Primitive]:
    x, y = marker_corner(k, paper)
    cell = MARKER / 6.0
    out: list[Primitive] = [
        polyline(((x, y), (x + MARKER, y), (x + MARKER, y + MARKER), (x, y + MARKER)), S, "match-fill", True)
    ]
    for r, row in enumerate(MARKERS[k]):
        for c, bit in enumerate(row):
            if bit == "1":
                cx, cy = x + cell * (c + 1), y + MARKER - cell * (r + 2)
                out.append(
                    polyline(((cx, cy), (cx + cell, cy), (cx + cell, cy + cell), (cx, cy + cell)), S, "halo", True)
                )
    return out


def sheet(paper: tuple[float, float]) -> Sheet:
    """The calibration sheet, upright."""
    w, h = paper
    x0, y0, diagonal = distances(paper)
    out: list[Primitive] = []
    for k in range(4):
        out += _marker(k, paper)
    a, b, c, d = crosses(paper)
    for (px, py), (qx, qy) in ((a, b), (b, c), (a, d), (d, c), (a, c), (b, d)):
        out.append(line(px, py, qx, qy, S, "ruler"))
    for px, py in (a, b, c, d):
        out.append(line(px - 4, py, px + 4, py, S, "calibration"))
        out.append(line(px, py - 4, px, py + 4, S, "calibration"))
    out.append(Text(w / 2, a[1] - 5.0, f"X: cross to cross {format_mm(x0)} as drawn", 3.6, S, "text-strong", "middle"))
    out.append(
        Text(a[0] - 3.0, h / 2, f"Y: cross to cross {format_mm(y0)} as drawn", 3.6, S, "text-strong", "middle", 1)
    )
    # 2 in and 50 mm squares side by side, clear of both diagonals.
    left = w / 2 - 26.0
    out.append(polyline(_square(left, h * 0.74, 52.0 - 2.0), S, "calibration", True))
    out.append(Text(left + 25.0, h * 0.74 + 42.0, "50 mm", 4.4, S, "text-strong", "middle"))
    low = h * 0.26 - 50.8
    out.append(polyline(_square(w / 2 - 25.4, low, 50.8), S, "calibration", True))
    out.append(Text(w / 2, low + 5.0, "2 in", 4.4, S, "text-strong", "middle"))
    out += furniture.ruler(INSET, h - INSET + 8.5, math.floor(x0))
    upright = furniture.ruler(0.0, 0.0, math.floor(y0))
    out += [transformed(p, w - INSET + 9.5, INSET, 1) for p in upright]
    rows = [
        ("Printer calibration sheet", 5.0, "text-strong"),
        (
            "Print at 100 % (actual size). Measure with a good ruler, to a tenth of a millimetre if you can:",
            3.2,
            "text",
        ),
        (
            f"X and Y between the crosses, and both diagonals (D1 from lower left, D2 from lower right; {format_mm(diagonal)} as drawn).",
            3.2,
            "text",
        ),
        ("strapwork scale --measured X Y D1 D2 --printer NAME", 3.4, "text-strong"),
    ]
    out += furniture.notes(b[0] - 54.0, h / 2 + 26.0, 51.0, 80.0, rows)
    return Sheet(w, h, "scale", (Placed(tuple(out)),))


def _square(x: float, y: float, side: float) -> tuple[tuple[float, float], ...]:
    return (x, y), (x + side, y), (x + side, y + side), (x, y + side)


def check_share(what: str, share: float, place: str, remedy: str) -> None:
    """Refuse a printed length that no printer makes of a page sent to it unscaled.

    Args:
        what: what was measured.
        share: printed over drawn.
        place, remedy: for the message.
    """
    if FIT_LOW <= share <= FIT_HIGH:
        raise InputError(
            place,
            f"{what} came out at {100 * share:.1f} %: the page was fitted to the printer's margins",
            "print again at 100 % (choose 'actual size' or 'none' for scaling, not 'fit'), then measure",
        )
    if abs(share - 1.0) > MOST_OFF:
        raise InputError(place, f"{what} came out at {100 * share:.1f} %, too far off for a printer", remedy)


def judge(name: str, paper: tuple[float, float], readings: Sequence[float], place: str = "--measured") -> Printer:
    """A printer profile from X, Y and, if given, both diagonals, in mm.

    Raises:
        InputError: for readings in another unit, readings that point to "fit to
            page", and readings too far off or that do not go together.
    """
    x0, y0, diagonal = distances(paper)
    names = ("X", "Y", "D1", "D2")
    for label, value, drawn in zip(names, readings, (x0, y0, diagonal, diagonal), strict=False):
        share = value / drawn
        for factor, unit in (
            (10.0, "centimetres"),
            (25.4, "inches"),
            (0.1, "millimetres read as centimetres"),
            (1 / 25.4, "millimetres read as inches"),
        ):
            if abs(share * factor - 1.0) < 0.08:
                raise InputError(
                    place,
                    f"{label} reads {format_mm(value)} where {format_mm(drawn)} was drawn; that looks like {unit}",
                    "give the reading with its unit, such as '165.8 mm'",
                )
    for label, value, drawn in zip(names[:2], readings, (x0, y0), strict=False):
        check_share(label, value / drawn, place, "check the reading and print at 100 %")
    x, y = readings[0], readings[1]
    skew = 0.0
    if len(readings) == 4:
        d1, d2 = readings[2], readings[3]
        # For any parallelogram D1^2 + D2^2 = 2 (X^2 + Y^2).
        should = math.sqrt(2.0 * (x * x + y * y) - d1 * d1) if d1 * d1 < 2.0 * (x * x + y * y) else 0.0
        if abs(should - d2) > 0.004 * diagonal:
            raise InputError(
                place,
                f"the diagonals {format_mm(d1)} and {format_mm(d2)} do not go with X and Y (D2 should be near {format_mm(should)})",
                "measure all four again on one sheet",
            )
        skew = (d1 * d1 - d2 * d2) / (4.0 * x * y)
        if abs(skew) > MOST_SKEW:
            raise InputError(
                place,
                f"the diagonals say the page is {100 * abs(skew):.1f} % out of square",
                "check the feed and print again",
            )
    return Printer(name, x / x0, y / y0, skew)


def default_path() -> Path:
    """Where printers are kept: ``STRAPWORK_PRINTERS``, or the user's own data folder."""
    return data.user_file(ENVIRONMENT, "printers.toml")


def read(path: Path) -> dict[str, Printer]:
    """All printers kept in a file; none where there is no file yet."""
    out = {}
    for name, row in schema.read_toml_if_there(path, "printer file").items():
        spec = schema.check(PrinterSpec, row, f"{path}, [{name}]")
        out[name] = Printer(name, spec.x, spec.y, spec.skew)
    return out


def find(name: str, place: str, path: Path | None = None) -> Printer:
    """The printer called ``name``."""
    where = path or default_path()
    kept = read(where)
    if name not in kept:
        remedy = schema.nearest(name, sorted(kept)) if kept else "measure it first with 'strapwork scale'"
        raise InputError(place, f"no printer is called {shown(name)}", remedy)
    return kept[name]


def store(path: Path, printer: Printer) -> None:
    """Keep a printer, with the same care as the leather shelf."""

    def change(table: dict[str, float]) -> None:
        table["x"] = round(printer.x, 6)
        table["y"] = round(printer.y, 6)
        table["skew"] = round(printer.skew, 6)

    update.update_toml(
        path, printer.name, change, "# Printers, as measured on the calibration sheet.\n", lambda: read(path)
    )


def words(printer: Printer) -> str:
    """What was found, for the terminal."""
    square = f", {100 * printer.skew:+.2f} % out of square" if abs(printer.skew) > 5e-4 else ", square"
    return (
        f"{printer.name}: across {100 * printer.x:.2f} %, along {100 * printer.y:.2f} %{square}. "
        f"A 50 mm square drawn plain comes out {50 * printer.x:.2f} mm × {50 * printer.y:.2f} mm."
    )
