"""The edges of the paper in a photograph, to a part of a pixel, and what they tell of the lens.

Paper is cut straight.  Where its four edges come out bowed in a picture, the
lens bowed them: one coefficient k, p' = c + (p - c)(1 + k r^2) about the middle
of the picture with r = 1 in its corners (the first term of radial distortion,
Brown 1966), is chosen so that they come out as straight as they can.  What is
left of the bow says how far the correction can be trusted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError

HELP = tr("lay the sheet flat on a darker ground so that all four edges show, and photograph it from above")
MOST_BOW = 0.15
# Points beside a line by more than this many pixels are no edge, whatever the others do.
STRAY = 0.3
STATIONS = 240
# A whole sheet's edge lies on its line all along; where a damaged file shifted a band of the picture, half of it does.
LEAST_STRAIGHT = 0.75
STEPPED = tr("copy the picture again from the camera, as it may be damaged, and lay nothing over the edges")
# Of the grey that cameras write (IEC 61966-2-1 comes close to it).
GAMMA = 2.2


@dataclass(frozen=True, slots=True)
class Edges:
    """The paper as seen, the lens taken out.

    Attributes:
        corners: (4, 2) in pixels, straightened.
        left: the largest bow left in an edge, in pixels.
        lens: k above.
        size: width and height of the picture in pixels.
    """

    corners: Any
    left: float
    lens: float
    size: tuple[int, int]


def straighten(points: Any, k: float, size: tuple[int, int], np: Any) -> Any:
    """Points (n, 2) of a picture with the lens's bow taken out."""
    centre = np.array([(size[0] - 1) / 2.0, (size[1] - 1) / 2.0])
    off = points - centre
    r2 = (off**2).sum(axis=1, keepdims=True) / float((centre**2).sum())
    return centre + off * (1.0 + k * r2)


def find(grey: Any, middle: Any, clear: float, place: str, np: Any, cv2: Any) -> Edges:
    """The paper round ``middle``.

    Args:
        clear: pixels inside its edges in which nothing is printed.

    Raises:
        InputError: when it does not stand out, runs out of the picture, or an edge is unclear.
    """
    rough = _rough(cv2.GaussianBlur(grey, (0, 0), 1.2), middle, place, np, cv2)
    # Light, not grey, is what a blurred edge halves: taken from grey as it is, white paper spreads by half a pixel a side.
    light = 255.0 * (grey.astype(np.float32) / 255.0) ** GAMMA
    smooth = cv2.GaussianBlur(light, (0, 0), 1.2)
    sides = [_points(smooth, rough[k], rough[(k + 1) % 4], clear, place, np) for k in range(4)]
    size = (grey.shape[1], grey.shape[0])
    k = _lens(sides, size, np)
    lines, left = [], 0.0
    for points in sides:
        flat = straighten(points, k, size, np)
        (normal, centre), keep = _line(flat, np)
        if float(keep.mean()) < LEAST_STRAIGHT:
            raise InputError(place, tr("an edge of the paper has a step in it"), STEPPED)
        lines.append((normal, float(normal @ centre)))
        left = max(left, _bow(flat[keep], normal, centre, np))
    corners = []
    for i in range(4):
        (n1, c1), (n2, c2) = lines[i - 1], lines[i]
        corners.append(np.linalg.solve(np.array([n1, n2]), np.array([c1, c2])))
    return Edges(np.array(corners), left, k, size)


def _rough(smooth: Any, middle: Any, place: str, np: Any, cv2: Any) -> Any:
    """The paper's four corners to a few pixels."""
    _, mask = cv2.threshold(smooth, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    at = tuple(float(v) for v in middle)
    around = [c for c in contours if cv2.contourArea(c) > 0.1 * smooth.size and cv2.pointPolygonTest(c, at, False) > 0]
    if not around:
        raise InputError(place, tr("the paper does not stand out from what it lies on"), HELP)
    contour = max(around, key=cv2.contourArea)
    rough = cv2.approxPolyDP(contour, 0.02 * cv2.arcLength(contour, True), True).reshape(-1, 2).astype(float)
    height, width = smooth.shape
    if len(rough) != 4 or (rough < 3).any() or (rough[:, 0] > width - 4).any() or (rough[:, 1] > height - 4).any():
        raise InputError(place, tr("the four edges of the paper cannot all be seen"), HELP)
    return rough


def _points(smooth: Any, a: Any, b: Any, clear: float, place: str, np: Any) -> Any:
    """Where the grey crosses half-way between paper and ground along the edge from a to b, (n, 2)."""
    along = b - a
    normal = np.array([-along[1], along[0]]) / math.hypot(*along)
    # A bowed edge leaves the straight line between its corners.
    reach = np.arange(-6.0, 6.01, 0.5)
    shares, asides = _outline(smooth, a, along, normal, clear, np)
    base = a + shares[:, None] * along + asides[:, None] * normal
    samples = base[:, None, :] + reach[:, None] * normal
    inside = _within(smooth, samples, np)
    base = base[inside]
    g = _grey(smooth, samples[inside], np)
    # The paper's own grey and the ground's differ along the edge; half-way between them is the edge.
    lo, hi = g[:, :4].mean(axis=1), g[:, -4:].mean(axis=1)
    half = ((lo + hi) / 2.0)[:, None]
    crossed = np.diff(np.sign(g - half), axis=1) != 0
    clear_cut = (np.abs(hi - lo) >= 20) & (crossed.sum(axis=1) == 1)
    base, g, half, i = base[clear_cut], g[clear_cut], half[clear_cut], crossed[clear_cut].argmax(axis=1)[:, None]
    before, after = np.take_along_axis(g, i, axis=1), np.take_along_axis(g, i + 1, axis=1)
    points = base + (reach[i] + 0.5 * (half - before) / (after - before)) * normal
    if len(points) < STATIONS // 4:
        raise InputError(
            place, tr("an edge of the paper is too unclear to measure"), tr("use an even, darker ground and even light")
        )
    return points


def _within(smooth: Any, samples: Any, np: Any) -> Any:
    """Of which rows all samples (rows, k, 2) are in the picture, its border left out."""
    last = np.array([smooth.shape[1] - 2, smooth.shape[0] - 2])
    return ((samples >= 1) & (samples <= last)).all(axis=(1, 2))


def _outline(smooth: Any, a: Any, along: Any, normal: Any, clear: float, np: Any) -> tuple[Any, Any]:
    """Shares of the way, and pixels aside there, of the steepest change across the edge: a parabola through it."""
    # Print near the edge is as steep as the edge: no further in than where the sheet is blank.
    most = float(min(24.0, max(6.0, math.floor(clear))))
    wide = np.arange(-most, most + 0.01, 1.0)
    s = np.linspace(0.06, 0.94, 60)
    samples = a + s[:, None, None] * along + wide[:, None] * normal
    inside = _within(smooth, samples, np)
    stations = np.linspace(0.06, 0.94, STATIONS)
    if inside.sum() < 20:
        return stations, np.zeros(STATIONS)
    steep = np.abs(np.diff(_grey(smooth, samples[inside], np), axis=1))
    s, v = s[inside], wide[steep.argmax(axis=1)] + 0.5
    for _ in range(4):
        curve = np.polyfit(s, v, 2)
        off = np.abs(np.polyval(curve, s) - v)
        keep = off <= max(2.0, 2.5 * float(np.median(off)))
        if keep.all() or keep.sum() < 12:
            break
        s, v = s[keep], v[keep]
    return stations, np.polyval(curve, stations)


def _grey(smooth: Any, at: Any, np: Any) -> Any:
    """Grey at points (.., 2) between pixels, (..)."""
    xs, ys = at[..., 0], at[..., 1]
    x0, y0 = np.floor(xs).astype(int), np.floor(ys).astype(int)
    fx, fy = xs - x0, ys - y0
    return (
        smooth[y0, x0] * (1 - fx) * (1 - fy)
        + smooth[y0, x0 + 1] * fx * (1 - fy)
        + smooth[y0 + 1, x0] * (1 - fx) * fy
        + smooth[y0 + 1, x0 + 1] * fx * fy
    )


def _line(points: Any, np: Any) -> tuple[tuple[Any, Any], Any]:
    """((normal, a point on it), which points lie on it) of the straight line through most of the points."""
    keep = np.ones(len(points), dtype=bool)
    for _ in range(3):
        centre = points[keep].mean(axis=0)
        _, _, v = np.linalg.svd(points[keep] - centre, full_matrices=False)
        off = np.abs((points - centre) @ v[1])
        again = off <= max(STRAY, 2.5 * float(off[keep].std()))
        done = (again == keep).all() or again.sum() < 2  # a line through fewer would be none
        keep = again
        if done:
            break
    return (v[1], centre), keep


def _bow(points: Any, normal: Any, centre: Any, np: Any) -> float:
    """Rise of the parabola through the points over their straight line, in pixels."""
    along = (points - centre) @ np.array([-normal[1], normal[0]])
    half = float(np.ptp(along)) / 2.0
    return abs(float(np.polyfit(along / half, (points - centre) @ normal, 2)[0]))


def _lens(sides: list[Any], size: tuple[int, int], np: Any) -> float:
    """The k that makes the four edges straightest."""
    from scipy.optimize import minimize_scalar

    def crooked(k: float) -> float:
        total = 0.0
        for points in sides:
            flat = straighten(points, k, size, np)
            centre = flat.mean(axis=0)
            off = np.linalg.svd(flat - centre, full_matrices=False)[1][1] ** 2
            total += float(off) / len(flat)
        return total

    # Stray points first put aside by the parabola that fits them best, so that a shadow's end is no lens.
    sides = [_without_strays(p, np) for p in sides]
    return float(minimize_scalar(crooked, bounds=(-MOST_BOW, MOST_BOW), method="bounded", options={"xatol": 1e-6}).x)


def _without_strays(points: Any, np: Any) -> Any:
    (normal, centre), _ = _line(points, np)
    along = (points - centre) @ np.array([-normal[1], normal[0]])
    aside = (points - centre) @ normal
    keep = np.ones(len(points), dtype=bool)
    for _ in range(4):
        off = np.abs(np.polyval(np.polyfit(along[keep], aside[keep], 2), along) - aside)
        again = off <= max(STRAY, 2.5 * float(np.median(off[keep])))
        if (again == keep).all():
            break
        keep = again
    return points[keep]
