"""Measure a scanned or photographed calibration sheet.

The four corner markers are found with OpenCV.  A **scan** has its own scale
(dots per inch), so the markers' corners fix the printer's x and y scale and
skew directly.  A **photograph** has none; its yardstick is the paper itself,
whose four edges must show against a darker ground: they give a homography from
the picture to the paper, in which the markers are then measured.

OpenCV comes with the optional extra ``scan``.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from strapwork.errors import InputError
from strapwork.files.reading import read_file
from strapwork.printer import calibration as scale
from strapwork.printer.calibration import MARKER
from strapwork.stock.printers import MOST_SKEW, Printer

LARGEST_FILE = 80_000_000
LEAST_SIDE, MOST_SIDE = 500, 20_000
LEAST_SHARPNESS = 18.0


def measure(path: Path, paper: tuple[float, float], name: str, dpi: float | None, place: str = "--picture") -> Printer:
    """Measure a picture of the printed sheet.

    Args:
        path: PNG, JPEG or TIFF.
        paper: (short, long) side of the sheet in mm.
        name: what to call the printer.
        dpi: of a scan; None for a photograph.

    Raises:
        InputError: saying what is wrong with the picture, or with the print.
    """
    np, cv2 = _libraries(place)
    grey = _load(path, place, np, cv2)
    if dpi is not None and not 50 <= dpi <= 4800:
        raise InputError("--dpi", f"{dpi:g} dots per inch is no scan", "give from 50 to 4800")
    corners = _markers(grey, place, cv2)
    drawn = np.array([_marker_corners(k, paper) for k in range(4)], dtype=float).reshape(-1, 2)
    seen = np.array([corners[k] for k in range(4)], dtype=float).reshape(-1, 2)
    printed = seen * (25.4 / dpi) * (1.0, -1.0) if dpi is not None else _on_paper(grey, seen, paper, place, np, cv2)
    return _printer(drawn, printed, name, place, np)


def _libraries(place: str) -> tuple[Any, Any]:
    try:
        import cv2
        import numpy as np
    except ImportError as e:
        raise InputError(
            place, "reading pictures needs OpenCV", 'install it with: pip install "strapwork[scan]"'
        ) from e
    return np, cv2


def _load(path: Path, place: str, np: Any, cv2: Any) -> Any:
    raw = np.frombuffer(read_file(path, "picture", LARGEST_FILE, place), dtype=np.uint8)
    grey = cv2.imdecode(raw, cv2.IMREAD_GRAYSCALE) if len(raw) else None
    if grey is None:
        raise InputError(place, f"'{path}' is no picture", "give a PNG, JPEG or TIFF file")
    if min(grey.shape) < LEAST_SIDE or max(grey.shape) > MOST_SIDE:
        raise InputError(
            place,
            f"the picture is {grey.shape[1]} × {grey.shape[0]} pixels",
            "give 500 to 20000 pixels a side; 2000 or more are best",
        )
    return grey


def _marker_corners(k: int, paper: tuple[float, float]) -> list[tuple[float, float]]:
    """Corners of marker k on the sheet in mm, from its upper left clockwise, as OpenCV lists them."""
    x, y = scale.marker_corner(k, paper)
    return [(x, y + MARKER), (x + MARKER, y + MARKER), (x + MARKER, y), (x, y)]


def _markers(grey: Any, place: str, cv2: Any) -> dict[int, Any]:
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    parameters.cornerRefinementWinSize = 5
    parameters.cornerRefinementMaxIterations = 60
    parameters.cornerRefinementMinAccuracy = 0.005
    found, ids, _ = cv2.aruco.ArucoDetector(dictionary, parameters).detectMarkers(grey)
    marks = {
        int(i): c.reshape(4, 2)
        for c, i in zip(found, ids.flatten() if ids is not None else (), strict=False)
        if int(i) < 4
    }
    if not marks:
        raise InputError(
            place,
            "no calibration sheet is in the picture",
            "show the whole sheet with its four corner markers, sharp and evenly lit",
        )
    if len(marks) < 4:
        raise InputError(
            place,
            f"only {len(marks)} of the four corner markers can be seen",
            "show the whole sheet, flat, without shadows or cut corners",
        )
    side = min(float(abs(c[0] - c[2]).max()) for c in marks.values())
    if side < 24:
        raise InputError(
            place,
            f"the corner markers are only {side:.0f} pixels wide",
            "take the picture closer or at a higher resolution",
        )
    worst = min(_sharpness(grey, c, cv2) for c in marks.values())
    if worst < LEAST_SHARPNESS:
        raise InputError(
            place,
            "the picture is too blurred to measure",
            "hold the camera still, in good light, and focus on the sheet",
        )
    return marks


def _sharpness(grey: Any, corners: Any, cv2: Any) -> float:
    """Steepest change in grey a pixel inside a marker, smoothed against noise: low where edges are smeared."""
    x0, y0 = (int(v) for v in corners.min(axis=0))
    x1, y1 = (int(v) for v in corners.max(axis=0))
    part = cv2.GaussianBlur(grey[max(0, y0 - 4) : y1 + 5, max(0, x0 - 4) : x1 + 5], (0, 0), 0.8)
    dx = cv2.Sobel(part, cv2.CV_32F, 1, 0, ksize=3) / 8.0
    dy = cv2.Sobel(part, cv2.CV_32F, 0, 1, ksize=3) / 8.0
    steep = (dx * dx + dy * dy) ** 0.5
    return float(steep.max())


def _on_paper(grey: Any, seen: Any, paper: tuple[float, float], place: str, np: Any, cv2: Any) -> Any:
    """Marker corners in mm on the paper, by the paper's own edges."""
    quad = _paper_corners(grey, seen, place, np, cv2)
    # Pair the paper's corners with the markers: corner k lies nearest to marker k.
    middles = seen.reshape(4, 4, 2).mean(axis=1)
    order = [int(np.argmin(((quad - m) ** 2).sum(axis=1))) for m in middles]
    if len(set(order)) != 4:
        raise InputError(
            place, "the paper's corners do not go with the markers", "show the whole sheet flat on a darker ground"
        )
    w, h = paper
    target = np.array([(0, 0), (w, 0), (w, h), (0, h)], dtype=float)
    homography, _ = cv2.findHomography(quad[order], target)
    return cv2.perspectiveTransform(seen.reshape(-1, 1, 2), homography).reshape(-1, 2)


def _paper_corners(grey: Any, seen: Any, place: str, np: Any, cv2: Any) -> Any:
    """The four corners of the paper to a part of a pixel: straight lines fitted to its edges."""
    help_ = "lay the sheet flat on a darker ground so that all four edges show, and photograph it from above"
    smooth = cv2.GaussianBlur(grey, (0, 0), 1.2)
    level, mask = cv2.threshold(smooth, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    middle = tuple(float(v) for v in seen.mean(axis=0))
    around = [
        c for c in contours if cv2.contourArea(c) > 0.1 * grey.size and cv2.pointPolygonTest(c, middle, False) > 0
    ]
    if not around:
        raise InputError(place, "the paper does not stand out from what it lies on", help_)
    contour = max(around, key=cv2.contourArea)
    rough = cv2.approxPolyDP(contour, 0.02 * cv2.arcLength(contour, True), True).reshape(-1, 2).astype(float)
    height, width = grey.shape
    if len(rough) != 4 or (rough < 3).any() or (rough[:, 0] > width - 4).any() or (rough[:, 1] > height - 4).any():
        raise InputError(place, "the four edges of the paper cannot all be seen", help_)
    lines = []
    for k in range(4):
        a, b = rough[k], rough[(k + 1) % 4]
        lines.append(_edge(smooth, a, b, float(level), place, np))
    corners = []
    for k in range(4):
        (n1, c1), (n2, c2) = lines[k - 1], lines[k]
        corners.append(np.linalg.solve(np.array([n1, n2]), np.array([c1, c2])))
    return np.array(corners)


def _edge(smooth: Any, a: Any, b: Any, level: float, place: str, np: Any) -> tuple[Any, float]:
    """A straight line (normal, distance) through where the grey crosses ``level`` along the edge from a to b."""
    along = b - a
    normal = np.array([-along[1], along[0]]) / math.hypot(*along)
    reach = np.arange(-6.0, 6.01, 0.5)
    points = []
    for share in np.linspace(0.06, 0.94, 240):
        base = a + share * along
        samples = base + reach[:, None] * normal
        xs, ys = samples[:, 0], samples[:, 1]
        if xs.min() < 1 or ys.min() < 1 or xs.max() > smooth.shape[1] - 2 or ys.max() > smooth.shape[0] - 2:
            continue
        x0, y0 = np.floor(xs).astype(int), np.floor(ys).astype(int)
        fx, fy = xs - x0, ys - y0
        g = (
            smooth[y0, x0] * (1 - fx) * (1 - fy)
            + smooth[y0, x0 + 1] * fx * (1 - fy)
            + smooth[y0 + 1, x0] * (1 - fx) * fy
            + smooth[y0 + 1, x0 + 1] * fx * fy
        )
        # The paper's own grey and the ground's differ along the edge; half-way between them is the edge.
        lo, hi = float(g[:4].mean()), float(g[-4:].mean())
        if abs(hi - lo) < 20:
            continue
        half = (lo + hi) / 2.0
        sign = np.flatnonzero(np.diff(np.sign(g - half)))
        if len(sign) != 1:
            continue
        i = int(sign[0])
        at = reach[i] + 0.5 * (half - g[i]) / (g[i + 1] - g[i])
        points.append(base + at * normal)
    if len(points) < 60:
        raise InputError(
            place, "an edge of the paper is too unclear to measure", "use an even, darker ground and even light"
        )
    pts = np.array(points)
    for _ in range(3):
        centre = pts.mean(axis=0)
        _, _, v = np.linalg.svd(pts - centre)
        off = (pts - centre) @ v[1]
        keep = abs(off) <= max(0.3, 2.5 * float(off.std()))
        if keep.all():
            break
        pts = pts[keep]
    return v[1], float(v[1] @ centre)


def _printer(drawn: Any, printed: Any, name: str, place: str, np: Any) -> Printer:
    """Least-squares affine map from drawn to printed points; turned pictures are allowed."""
    ones = np.ones((len(drawn), 1))
    solution, *_ = np.linalg.lstsq(np.hstack([drawn, ones]), printed, rcond=None)
    apart = np.hstack([drawn, ones]) @ solution - printed
    if float(np.sqrt((apart**2).sum(axis=1)).max()) > 0.8:
        raise InputError(place, "the sheet in the picture is bent or crumpled", "lay it flat, or scan it")
    ex, ey = solution[0], solution[1]
    x, y = float(math.hypot(*ex)), float(math.hypot(*ey))
    skew = float(ex @ ey) / (x * y)
    for what, share in (("across, the print", x), ("along, the print", y)):
        scale.check_share(what, share, place, "check --dpi and --paper, and print at 100 %")
    if abs(skew) > MOST_SKEW:
        raise InputError(place, f"the sheet is {100 * abs(skew):.1f} % out of square", "check the feed and print again")
    return Printer(name, x, y, skew)
