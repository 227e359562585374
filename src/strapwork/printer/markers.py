"""The corner markers in a picture: found, sharp enough, flat, and on the paper that was named.

A wrong paper shows in the markers themselves: they are 12 mm on every sheet,
but their spacing goes with the paper, so size against spacing tells which sheet
was printed, whatever the printer's scale.
"""

from __future__ import annotations

import math
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.printer import calibration as scale
from strapwork.printer.calibration import MARKER
from strapwork.stock.papers import PAPERS

LEAST_SHARPNESS = 18.0
LEAST_PIXELS = 24
# Shares by which a marker's sides may differ from each other, and from the spacing, before the paper is doubted: ink
# spreads alike to all sides (0.1 mm is 0.8 %); the two papers most alike, A4 and letter, are 10 % apart.
MOST_UNEQUAL, MOST_SIZE = 0.03, 0.05
# Pixels and mm by which a corner may lie beside where a flat sheet would have it.
MOST_BENT_PIXELS, MOST_BENT = 1.0, 0.4


def marker_corners(k: int, paper: tuple[float, float]) -> list[tuple[float, float]]:
    """Corners of marker k on the sheet in mm, from its upper left clockwise, as OpenCV lists them."""
    x, y = scale.marker_corner(k, paper)
    return [(x, y + MARKER), (x + MARKER, y + MARKER), (x + MARKER, y), (x, y)]


def drawn(paper: tuple[float, float], np: Any) -> Any:
    """All sixteen corners as drawn, (16, 2) in mm."""
    return np.array([marker_corners(k, paper) for k in range(4)], dtype=float).reshape(-1, 2)


def find(grey: Any, place: str, np: Any, cv2: Any) -> Any:
    """The sixteen corners in the picture, (16, 2) in pixels, in the order of :func:`drawn`.

    Raises:
        InputError: when they are not all there, or too small or blurred to measure.
    """
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    parameters = cv2.aruco.DetectorParameters()
    # Read from the middle of each cell, where blur leaves black black.
    parameters.perspectiveRemovePixelPerCell = 8
    parameters.perspectiveRemoveIgnoredMarginPerCell = 0.25
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    parameters.cornerRefinementWinSize = 5
    parameters.cornerRefinementMaxIterations = 60
    parameters.cornerRefinementMinAccuracy = 0.005
    found, ids, _ = cv2.aruco.ArucoDetector(dictionary, parameters).detectMarkers(grey)
    seen = [(int(i), c.reshape(4, 2)) for c, i in zip(found, ids.flatten() if ids is not None else (), strict=False)]
    seen = [(i, c) for i, c in seen if i < 4]
    marks = dict(seen)
    if not marks:
        raise InputError(
            place,
            tr("no calibration sheet is in the picture"),
            tr("show the whole sheet with its four corner markers, sharp and evenly lit"),
        )
    if len(seen) > len(marks):
        raise InputError(place, tr("more than one calibration sheet is in the picture"), tr("show one sheet alone"))
    if len(marks) < 4:
        raise InputError(
            place,
            tr("only {marks} of the four corner markers can be seen", marks=len(marks)),
            tr("show the whole sheet, flat, without shadows or cut corners"),
        )
    side = min(float(abs(c[0] - c[2]).max()) for c in marks.values())
    if side < LEAST_PIXELS:
        raise InputError(
            place,
            tr("the corner markers are only {side:.0f} pixels wide", side=side),
            tr("take the picture closer or at a higher resolution"),
        )
    if min(_sharpness(grey, c, cv2) for c in marks.values()) < LEAST_SHARPNESS:
        raise InputError(
            place,
            tr("the picture is too blurred to measure"),
            tr("hold the camera still, in good light, and focus on the sheet"),
        )
    return np.array([marks[k] for k in range(4)], dtype=float).reshape(-1, 2)


def _sharpness(grey: Any, corners: Any, cv2: Any) -> float:
    """Steepest change in grey a pixel inside a marker, smoothed against noise: low where edges are smeared."""
    x0, y0 = (int(v) for v in corners.min(axis=0))
    x1, y1 = (int(v) for v in corners.max(axis=0))
    part = cv2.GaussianBlur(grey[max(0, y0 - 4) : y1 + 5, max(0, x0 - 4) : x1 + 5], (0, 0), 0.8)
    dx = cv2.Sobel(part, cv2.CV_32F, 1, 0, ksize=3) / 8.0
    dy = cv2.Sobel(part, cv2.CV_32F, 0, 1, ksize=3) / 8.0
    steep = (dx * dx + dy * dy) ** 0.5
    return float(steep.max())


def _middles(corners: Any, np: Any) -> Any:
    """Where the diagonals of each marker cross, (4, 2): the middle in any perspective."""
    out = []
    for a, b, c, d in corners.reshape(4, 4, 2):
        m = np.array([c - a, b - d]).T
        out.append(a + np.linalg.solve(m, b - a)[0] * (c - a))
    return np.array(out)


def _size(seen: Any, paper: tuple[float, float], np: Any, cv2: Any) -> tuple[float, float]:
    """Width and height of the markers in mm, on the scale that their spacing on this paper gives."""
    target = _middles(drawn(paper, np), np)
    plane = cv2.getPerspectiveTransform(_middles(seen, np).astype(np.float32), target.astype(np.float32))
    flat = cv2.perspectiveTransform(seen.reshape(-1, 1, 2), plane).reshape(4, 4, 2)
    across = np.concatenate([flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 3]])[:, 0]
    along = np.concatenate([flat[:, 0] - flat[:, 3], flat[:, 1] - flat[:, 2]])[:, 1]
    return float(across.mean()), float(along.mean())


def _unlike(size: tuple[float, float]) -> float:
    """How far a marker's sides are from what the right paper gives; above one is too far."""
    w, h = size[0] / MARKER, size[1] / MARKER
    if min(w, h) <= 0.0:
        return 99.0
    return max(abs(w / h - 1.0) / MOST_UNEQUAL, abs(math.sqrt(w * h) - 1.0) / MOST_SIZE)


def check_paper(seen: Any, paper: tuple[float, float], place: str, np: Any, cv2: Any) -> None:
    """Refuse a sheet that was not drawn for ``paper``.

    Raises:
        InputError: saying which paper it looks like.
    """
    size = _size(seen, paper, np, cv2)
    if _unlike(size) <= 1.0:
        return
    fits = {name: _unlike(_size(seen, other, np, cv2)) for name, other in PAPERS.items()}
    best = min(fits, key=lambda name: fits[name])
    looks = tr("; it looks like the sheet for {best}", best=best) if fits[best] <= 1.0 else ""
    raise InputError(
        place,
        tr(
            "the sheet in the picture was drawn for another paper than the {paper:g} mm × {paper2:g} mm named: its markers "
            "come to {size:.1f} mm × {size2:.1f} mm where {marker:g} mm were drawn{looks}",
            paper=paper[0],
            paper2=paper[1],
            size=size[0],
            size2=size[1],
            marker=MARKER,
            looks=looks,
        ),
        tr("use --paper {best}", best=best)
        if looks
        else tr("name with --paper the paper that the sheet was drawn for"),
    )


def check_flat(seen: Any, paper: tuple[float, float], place: str, np: Any, cv2: Any) -> None:
    """Refuse a sheet whose markers no flat print can show like this, however it was printed and seen."""
    plane = drawn(paper, np)
    homography, _ = cv2.findHomography(plane, seen)
    beside = cv2.perspectiveTransform(seen.reshape(-1, 1, 2), np.linalg.inv(homography)).reshape(-1, 2) - plane
    # Ink that spreads and blur that eats black make all markers larger or smaller alike; that bends nothing.
    own = plane - plane.reshape(4, 4, 2).mean(axis=1).repeat(4, axis=0)
    beside -= own * (own * beside).sum(axis=0) / (own * own).sum(axis=0)
    sides = np.linalg.norm(seen.reshape(4, 4, 2) - np.roll(seen.reshape(4, 4, 2), 1, axis=1), axis=2)
    pixel = MARKER / float(sides.mean())
    if float(np.linalg.norm(beside, axis=1).max()) > max(MOST_BENT_PIXELS * pixel, MOST_BENT):
        raise InputError(
            place,
            tr("the sheet in the picture is bent or crumpled, or the lens bows it"),
            tr("lay it flat and stand back a little, or scan it"),
        )
