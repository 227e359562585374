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

from strapwork.catalogue import tr
from strapwork.drawing.primitives import Layer, Placed, Primitive, Sheet, Text, line, polyline, transformed
from strapwork.errors import InputError
from strapwork.paper import furniture
from strapwork.stock.printers import MOST_OFF, MOST_SKEW, Printer
from strapwork.units import format_mm

S = Layer.SHEET
INSET = 22.0
MARKER = 12.0
FIT_LOW, FIT_HIGH = 0.935, 0.975
# A caliper of 150 mm has to reach over a bar that came out long.
LONGEST_BAR, BAR_FROM_EDGE, BAR_THICK = 140.0, 8.0, 2.5
# Common practice, no source: mm by which a careful reading of a printed length may be off, 95 times in 100 (the eye at
# both ends, and ink that spreads).
READING = 0.25

# The first four markers of the open 4 x 4 ArUco dictionary as OpenCV publishes
# it (black cells are 0), rows from the top; a test compares them with OpenCV's.
MARKERS = (
    ("1011", "0101", "0011", "0010"),
    ("0000", "1111", "1001", "1010"),
    ("0011", "0011", "0010", "1101"),
    ("1001", "1001", "0100", "0110"),
)


def crosses(paper: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    """The four crosses, from the lower left round to the upper left, in mm on an upright sheet."""
    w, h = paper
    return ((INSET, INSET), (w - INSET, INSET), (w - INSET, h - INSET), (INSET, h - INSET))


def distances(paper: tuple[float, float]) -> tuple[float, float, float]:
    """Across, along and diagonal between the crosses, in mm, as drawn."""
    x, y = paper[0] - 2 * INSET, paper[1] - 2 * INSET
    return x, y, math.hypot(x, y)


def bars(paper: tuple[float, float]) -> tuple[float, float]:
    """Length in mm, as drawn, of the bar across and of the bar along: tens of millimetres that fit between the markers."""
    room = 2.0 * (6.0 + MARKER + 4.0)
    across, along = (min(LONGEST_BAR, 10.0 * math.floor((side - room) / 10.0)) for side in paper)
    return across, along


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
    low = h * 0.26 - 50.8
    roomy = low > 10.0
    # Where the words need the middle of the sheet, a diagonal is drawn at its ends alone.
    diagonals = ((a, c), (b, d)) if roomy else ((a, c), (c, a), (b, d), (d, b))
    for ways, share in ((((a, b), (b, c), (a, d), (d, c)), 1.0), (diagonals, 1.0 if roomy else 0.25)):
        for (px, py), (qx, qy) in ways:
            out.append(line(px, py, px + share * (qx - px), py + share * (qy - py), S, "ruler"))
    for px, py in (a, b, c, d):
        out.append(line(px - 4, py, px + 4, py, S, "calibration"))
        out.append(line(px, py - 4, px, py + 4, S, "calibration"))
    out.append(
        Text(
            w / 2,
            a[1] - 5.0,
            tr("X: cross to cross {x0} as drawn", x0=format_mm(x0)),
            3.6,
            S,
            "text-strong",
            "middle",
        )
    )
    out.append(
        Text(
            a[0] - 3.0,
            h / 2,
            tr("Y: cross to cross {y0} as drawn", y0=format_mm(y0)),
            3.6,
            S,
            "text-strong",
            "middle",
            1,
        )
    )
    across, along = bars(paper)
    out.append(_strip((w - across) / 2.0, BAR_FROM_EDGE, across, BAR_THICK))
    out.append(_strip(BAR_FROM_EDGE, (h - along) / 2.0, BAR_THICK, along))
    near = BAR_FROM_EDGE + BAR_THICK + 1.2
    out.append(
        Text(w / 2, near, tr("bar across, {across} as drawn", across=format_mm(across)), 2.8, S, "text", "middle")
    )
    out.append(
        Text(
            near + 2.0,
            h / 2,
            tr("bar along, {along} as drawn", along=format_mm(along)),
            2.8,
            S,
            "text",
            "middle",
            1,
        )
    )
    if roomy:
        # 2 in and 50 mm squares one above the other, clear of both diagonals.
        left = w / 2 - 26.0
        out.append(polyline(_square(left, h * 0.74, 52.0 - 2.0), S, "calibration", True))
        out.append(Text(left + 25.0, h * 0.74 + 42.0, "50 mm", 4.4, S, "text-strong", "middle"))
        out.append(polyline(_square(w / 2 - 25.4, low, 50.8), S, "calibration", True))
        out.append(Text(w / 2, low + 5.0, "2 in", 4.4, S, "text-strong", "middle"))
    out += furniture.ruler(INSET, h - INSET + 8.5, math.floor(x0))
    upright = furniture.ruler(0.0, 0.0, math.floor(y0))
    out += [transformed(p, w - INSET + 9.5, INSET, 1) for p in upright]
    rows = [
        (tr("Printer calibration sheet"), 5.0, "text-strong"),
        (
            tr("Print at 100 % (actual size). Measure with a good ruler, to a tenth of a millimetre if you can:"),
            3.2,
            "text",
        ),
        (
            tr(
                "X and Y between the crosses, and both diagonals (D1 from lower left, D2 from lower right; {diagonal} as drawn).",
                diagonal=format_mm(diagonal),
            ),
            3.2,
            "text",
        ),
        ("strapwork scale --measured X Y D1 D2 --printer NAME", 3.4, "text-strong"),
    ]
    width = min(51.0, w / 2 - INSET - 8.0)
    out += furniture.notes(b[0] - 3.0 - width, h / 2 + 26.0, width, 80.0, rows)
    rows = [
        (tr("Or take a picture"), 4.0, "text-strong"),
        (
            tr("A scan, or a photograph from above on a dark ground. Measure the two black bars from end to end:"),
            3.2,
            "text",
        ),
        ("strapwork scale --picture FILE --bar ACROSS ALONG --printer NAME", 3.4, "text-strong"),
    ]
    out += furniture.notes(a[0] + 5.0, h / 2 + 20.0, width, 60.0, rows)
    return Sheet(w, h, "scale", (Placed(tuple(out)),))


def _strip(x: float, y: float, width: float, height: float) -> Primitive:
    return polyline(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), S, "match-fill", True)


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
            tr(
                "{what} came out at {share:.1f} %: the page was fitted to the printer's margins",
                what=what,
                share=100 * share,
            ),
            tr("print again at 100 % (choose 'actual size' or 'none' for scaling, not 'fit'), then measure"),
        )
    if abs(share - 1.0) > MOST_OFF:
        raise InputError(
            place,
            tr("{what} came out at {share:.1f} %, too far off for a printer", what=what, share=100 * share),
            remedy,
        )


def check_unit(label: str, value: float, drawn: float, place: str) -> None:
    """Refuse a reading that was made in another unit than it was given in; both lengths in mm."""
    for factor, unit in (
        (10.0, "centimetres"),
        (25.4, "inches"),
        (0.1, tr("millimetres read as centimetres")),
        (1 / 25.4, tr("millimetres read as inches")),
    ):
        if abs(value / drawn * factor - 1.0) < 0.08:
            raise InputError(
                place,
                tr(
                    "{label} reads {value} where {drawn} was drawn; that looks like {unit}",
                    label=label,
                    value=format_mm(value),
                    drawn=format_mm(drawn),
                    unit=unit,
                ),
                tr("give the reading with its unit, such as '165.8 mm'"),
            )


def judge(name: str, paper: tuple[float, float], readings: Sequence[float], place: str = "--measured") -> Printer:
    """A printer profile from X, Y and, if given, both diagonals, in mm.

    Raises:
        InputError: for readings in another unit, readings that point to "fit to
            page", and readings too far off or that do not go together.
    """
    x0, y0, diagonal = distances(paper)
    names = ("X", "Y", "D1", "D2")
    for label, value, drawn in zip(names, readings, (x0, y0, diagonal, diagonal), strict=False):
        check_unit(label, value, drawn, place)
    for label, value, drawn in zip(names[:2], readings, (x0, y0), strict=False):
        check_share(label, value / drawn, place, tr("check the reading and print at 100 %"))
    x, y = readings[0], readings[1]
    skew, skew_within = 0.0, None
    if len(readings) == 4:
        d1, d2 = readings[2], readings[3]
        # For any parallelogram D1^2 + D2^2 = 2 (X^2 + Y^2).
        should = math.sqrt(2.0 * (x * x + y * y) - d1 * d1) if d1 * d1 < 2.0 * (x * x + y * y) else 0.0
        if abs(should - d2) > 0.004 * diagonal:
            raise InputError(
                place,
                tr(
                    "the diagonals {d1} and {d2} do not go with X and Y (D2 should be near {should})",
                    d1=format_mm(d1),
                    d2=format_mm(d2),
                    should=format_mm(should),
                ),
                tr("measure all four again on one sheet"),
            )
        skew = (d1 * d1 - d2 * d2) / (4.0 * x * y)
        if abs(skew) > MOST_SKEW:
            raise InputError(
                place,
                tr("the diagonals say the page is {skew:.1f} % out of square", skew=100 * abs(skew)),
                tr("check the feed and print again"),
            )
        # Both diagonals err by READING: the change of (d1^2 - d2^2) / 4xy.
        skew_within = READING * math.hypot(d1, d2) / (2.0 * x * y)
    return Printer(name, x / x0, y / y0, skew, READING / x0, READING / y0, skew_within)


def words(printer: Printer) -> str:
    """What was found, and how far it can be trusted, for the terminal."""
    square = tr("{skew:+.2f} %{give} out of square", skew=100 * printer.skew, give=_give(printer.skew_within))
    if printer.skew_within is None and abs(printer.skew) <= 5e-4:
        square = tr("taken as square")
    said = tr(
        "{name}: across {x:.2f} %{give}, "
        "along {y:.2f} %{give2}, {square}. "
        "A 50 mm square drawn plain comes out {x2:.2f} mm × {y2:.2f} mm.",
        name=printer.name,
        x=100 * printer.x,
        give=_give(printer.x_within),
        y=100 * printer.y,
        give2=_give(printer.y_within),
        square=square,
        x2=50 * printer.x,
        y2=50 * printer.y,
    )
    within = printer.within
    if within is None:
        return said
    return tr(
        "{said} Corrected with this, a metre comes out within {within:.1f} mm, 95 times in 100.",
        said=said,
        within=1000 * within,
    )


def _give(within: float | None) -> str:
    return "" if within is None else f" ± {100 * within:.2f} %"
