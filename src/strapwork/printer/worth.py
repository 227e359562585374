"""What a measured printer is worth: how far each figure may be from the truth, 95 times in 100.

A picture is no better than its yardstick.  A photograph's is the paper, and
paper is not cut to a tenth of a millimetre; a scan's is the scanner.  Two bars
on the calibration sheet, short enough for a caliper, take the yardstick's
place: the picture then gives what a caliper cannot, whether the print is out of
square.

The limits that paper is cut to count in full, because a whole ream is off by
the same.  Of a scanner only "up to a" is known, a rectangular distribution; 97 %
of it lie within 0.97 a, a little more than is stated.  Independent parts add by
their squares (the Guide to the Expression of Uncertainty in Measurement,
JCGM 100, 4.3.7 and 5.1.2).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.printer import calibration as scale
from strapwork.stock.printers import Printer
from strapwork.units import format_mm

# No printer is corrected by a picture that may be further off than this.
ENOUGH = 0.003
RECTANGLE = 0.97
# Common practice, no source: what a flatbed scanner's own scale, and its squareness, may be off.
SCANNER, SCANNER_SQUARE = 0.003, 0.001
# Common practice, no source: mm by which the corners of a sheet may lean, over its long side.
LEAN = 1.0
# Pixels by which an edge of the paper may seem to lie elsewhere: light spreads over it, and its shadow is seen with it.
EDGE_PIXELS = 0.5


def paper_cut(side: float) -> float:
    """How far a side of a sheet may be off, in mm: the tolerances of ISO 216."""
    return 1.5 if side <= 150.0 else 2.0 if side <= 600.0 else 3.0


def of_scan(paper: tuple[float, float], apart: float) -> tuple[float, float, float]:
    """Shares by which x, y and skew of a scan may be off.

    Args:
        paper: its two sides in mm.
        apart: root mean square of the markers' corners beside where the fit puts them, in mm.
    """
    w, h = _between(paper)
    own = RECTANGLE * SCANNER
    noise = _noise(apart)
    return math.hypot(own, noise / w), math.hypot(own, noise / h), math.hypot(SCANNER_SQUARE, noise / w)


def of_photograph(paper: tuple[float, float], apart: float, pixel: float, bow: float) -> tuple[float, float, float]:
    """Shares by which x, y and skew of a photograph may be off.

    Args:
        paper: its two sides in mm.
        apart: as in :func:`of_scan`.
        pixel: mm that a pixel of the picture covers.
        bow: mm by which an edge of the paper is still bowed after the lens is taken out.
    """
    seen = math.hypot(EDGE_PIXELS * pixel * math.sqrt(2.0), _noise(apart), bow)
    x, y = (math.hypot(paper_cut(s), seen) / s for s in paper)
    return x, y, math.hypot(LEAN / paper[1], seen / paper[0])


def _between(paper: tuple[float, float]) -> tuple[float, float]:
    """Middle to middle of the markers, in mm."""
    (x0, y0), (x1, y1) = scale.marker_corner(0, paper), scale.marker_corner(2, paper)
    return x1 - x0, y1 - y0


def _noise(apart: float) -> float:
    """95 % of the distance between two pairs of markers, whose corners lie ``apart`` from the fit; a marker's own four
    corners err together."""
    return 2.0 * apart


def with_bars(printer: Printer, paper: tuple[float, float], readings: Sequence[float], place: str = "--bar") -> Printer:
    """The printer as a picture gives it, bettered by the bars as read with a caliper or a ruler.

    Args:
        printer: from the picture.
        paper: of the sheet.
        readings: the bar across, and the bar along if it was read, in mm.

    Raises:
        InputError: for readings that no bar can have, or that do not go with the picture.
    """
    figures = [(printer.x, printer.x_within), (printer.y, printer.y_within)]
    for k, (label, reading, drawn) in enumerate(zip(("across", "along"), readings, scale.bars(paper), strict=False)):
        share, within = reading / drawn, scale.READING / drawn
        scale.check_unit(tr("the bar {label}", label=label), reading, drawn, place)
        scale.check_share(tr("the bar {label}", label=label), share, place, tr("check the reading and print at 100 %"))
        seen, seen_within = figures[k]
        if seen_within is not None and abs(share - seen) > 1.5 * math.hypot(within, seen_within):
            raise InputError(
                place,
                tr(
                    "the bar {label} reads {reading}, {share:.2f} %, where the picture shows {seen:.2f} % to "
                    "within {seen_within:.2f} %",
                    label=label,
                    reading=format_mm(reading),
                    share=100 * share,
                    seen=100 * seen,
                    seen_within=100 * seen_within,
                ),
                tr("measure the bar again, and check --paper, --dpi and which bar is which"),
            )
        if seen_within is None or within < seen_within:
            figures[k] = (share, within)
    (x, x_within), (y, y_within) = figures
    return replace(printer, x=x, y=y, x_within=x_within, y_within=y_within)


def check(printer: Printer, paper: tuple[float, float], scan: bool, place: str = "--picture") -> None:
    """Refuse a printer that a picture shows less well than it has to be known.

    Raises:
        InputError: saying how far off it may be, and why, and what to do.
    """
    within = printer.within
    if within is None or within <= ENOUGH:
        return
    why = tr("a scanner's own scale is no better") if scan else tr("paper is not cut more exactly than that")
    a, b = (f"{v:g} mm" for v in scale.bars(paper))
    raise InputError(
        place,
        tr(
            "the picture shows across {x:.2f} % to within {x_within:.2f} % and along "
            "{y:.2f} % to within {y_within:.2f} % ({why}); a printer has to be known to "
            "{enough:g} %",
            x=100 * printer.x,
            x_within=100 * (printer.x_within or 0),
            y=100 * printer.y,
            y_within=100 * (printer.y_within or 0),
            why=why,
            enough=100 * ENOUGH,
        ),
        tr(
            "measure on the same print the two black bars, drawn {a} and {b}, with a caliper or a good ruler, and give both with "
            '--bar "ACROSS" "ALONG" (a sheet without bars: print it anew with strapwork scale)',
            a=a,
            b=b,
        ),
    )
