"""Measure a scanned or photographed calibration sheet.

The four corner markers are found with OpenCV.  A **scan** has its own scale
(dots per inch), so the markers' corners fix the printer's x and y scale and
skew directly.  A **photograph** has none; its yardstick is the paper itself,
whose four edges must show against a darker ground: they give a homography from
the picture to the paper, in which the markers are then measured.  How far each
figure may be off is worked out in ``worth``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.printer import calibration as scale
from strapwork.printer import markers, paper_edges, picture_file, worth
from strapwork.printer.picture_file import Picture
from strapwork.stock.printers import MOST_SKEW, Printer
from strapwork.units import parse_length

MOST_APART = 0.8
# The markers stand 6 mm inside the paper, and a printer may shift its page by half of that.
CLEAR = 3.0


def judge(
    picture: Picture, paper: tuple[float, float], name: str, dpi: float | None, bars: Sequence[str] = ()
) -> Printer:
    """The printer that a picture shows, bettered by the bars, and refused where it is not known well enough.

    Args:
        picture: PNG, JPEG or TIFF.
        paper: (short, long) side of the sheet in mm.
        name: what to call the printer.
        dpi: of a scan; None for a photograph.
        bars: the bar across and the bar along as they were read, as texts.

    Raises:
        InputError: saying what is wrong with the picture, the print or the readings; places are the options of ``scale``.
    """
    if len(bars) > 2:
        raise InputError(
            "--bar", tr("{bars} readings are given", bars=len(bars)), tr("give the bar across and the bar along")
        )
    read = [parse_length(t, place="--bar", most=1e5) for t in bars]
    printer = worth.with_bars(measure(picture, paper, name, dpi), paper, read)
    worth.check(printer, paper, scan=dpi is not None)
    return printer


def measure(
    picture: Picture | Path, paper: tuple[float, float], name: str, dpi: float | None, place: str = "--picture"
) -> Printer:
    """Measure a picture of the printed sheet.

    Args:
        picture: PNG, JPEG or TIFF.
        paper: (short, long) side of the sheet in mm.
        name: what to call the printer.
        dpi: of a scan; None for a photograph.

    Returns:
        The printer with how far each figure may be off, which can be too far: ask ``worth.check``.

    Raises:
        InputError: saying what is wrong with the picture, or with the print.
    """
    np, cv2 = picture_file.libraries(place)
    grey = picture_file.load(picture if isinstance(picture, Picture) else picture_file.read(picture, place), place)
    if dpi is not None and not 50 <= dpi <= 4800:
        raise InputError("--dpi", tr("{dpi:g} dots per inch is no scan", dpi=dpi), tr("give from 50 to 4800"))
    seen = markers.find(grey, place, np, cv2)
    if dpi is not None:
        markers.check_paper(seen, paper, place, np, cv2)
        markers.check_flat(seen, paper, place, np, cv2)
        printer, apart = _printer(markers.drawn(paper, np), seen * (25.4 / dpi) * (1.0, -1.0), name, place, np)
        return _with_doubt(printer, worth.of_scan(paper, apart))
    side = float(np.linalg.norm(seen.reshape(4, 4, 2) - np.roll(seen.reshape(4, 4, 2), 1, axis=1), axis=2).mean())
    edges = paper_edges.find(grey, seen.mean(axis=0), CLEAR * side / scale.MARKER, place, np, cv2)
    flat = paper_edges.straighten(seen, edges.lens, edges.size, np)
    markers.check_paper(flat, paper, place, np, cv2)
    markers.check_flat(flat, paper, place, np, cv2)
    printer, apart = _printer(
        markers.drawn(paper, np), _on_paper(flat, edges.corners, paper, place, np, cv2), name, place, np
    )
    around = float(np.linalg.norm(edges.corners - np.roll(edges.corners, 1, axis=0), axis=1).sum())
    pixel = 2.0 * sum(paper) / around
    return _with_doubt(printer, worth.of_photograph(paper, apart, pixel, edges.left * pixel))


def _with_doubt(printer: Printer, within: tuple[float, float, float]) -> Printer:
    return Printer(printer.name, printer.x, printer.y, printer.skew, *within)


def _on_paper(seen: Any, quad: Any, paper: tuple[float, float], place: str, np: Any, cv2: Any) -> Any:
    """Marker corners in mm on the paper, by the paper's own corners."""
    # Pair the paper's corners with the markers: corner k lies nearest to marker k.
    middles = seen.reshape(4, 4, 2).mean(axis=1)
    order = [int(np.argmin(((quad - m) ** 2).sum(axis=1))) for m in middles]
    if len(set(order)) != 4:
        raise InputError(
            place,
            tr("the paper's corners do not go with the markers"),
            tr("show the whole sheet flat on a darker ground"),
        )
    w, h = paper
    target = np.array([(0, 0), (w, 0), (w, h), (0, h)], dtype=float)
    homography, _ = cv2.findHomography(quad[order], target)
    return cv2.perspectiveTransform(seen.reshape(-1, 1, 2), homography).reshape(-1, 2)


def _printer(drawn: Any, printed: Any, name: str, place: str, np: Any) -> tuple[Printer, float]:
    """Least-squares affine map from drawn to printed points, and their root mean square distance from it in mm; turned
    pictures are allowed.

    The markers may be larger or smaller than their spacing says: ink spreads, and blur eats black.
    """
    own = drawn - drawn.reshape(4, 4, 2).mean(axis=1).repeat(4, axis=0)
    known = np.hstack([drawn, np.ones((len(drawn), 1)), own])
    solution, *_ = np.linalg.lstsq(known, printed, rcond=None)
    apart = np.linalg.norm(known @ solution - printed, axis=1)
    if float(apart.max()) > MOST_APART:
        raise InputError(place, tr("the sheet in the picture is bent or crumpled"), tr("lay it flat, or scan it"))
    ex, ey = solution[0], solution[1]
    x, y = float(math.hypot(*ex)), float(math.hypot(*ey))
    skew = float(ex @ ey) / (x * y)
    for what, share in ((tr("across, the print"), x), (tr("along, the print"), y)):
        scale.check_share(what, share, place, tr("check --dpi and --paper, and print at 100 %"))
    if abs(skew) > MOST_SKEW:
        raise InputError(
            place,
            tr("the sheet is {skew:.1f} % out of square", skew=100 * abs(skew)),
            tr("check the feed and print again"),
        )
    return Printer(name, x, y, skew), float(np.sqrt((apart**2).mean()))
