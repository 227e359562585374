"""Pictures of a printed calibration sheet, made by the laws of optics from what is true, for the tests and tests/bench/photos.py.

A sheet of paper that is not cut to size carries a print from a printer that is
off.  A camera of square pixels looks at it from somewhere above through a lens
that bows; its light falls off, a shadow lies over the table, the picture is
blurred, grainy and kept as a JPEG.  Or a scanner whose own scale is off takes it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
import pypdfium2

from strapwork.drawing import pdf
from strapwork.printer import calibration as scale

CANVAS = 7.0  # pixels a mm
MARGIN = 12.0  # mm of table round the sheet on the canvas


@dataclass(frozen=True)
class Truth:
    """What is so.

    x, y, skew: of the printer.  cut: mm by which the sheet is wider and longer than its paper; lean, taper: mm by which
    its upper edge stands aside, and is wider than its lower edge.  shift: of the print on the sheet in mm.
    """

    x: float = 1.0
    y: float = 1.0
    skew: float = 0.0
    cut: tuple[float, float] = (0.0, 0.0)
    lean: float = 0.0
    taper: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class Camera:
    """How it is seen: tilts and turn in degrees; bow, the share by which the lens moves a corner of the picture; pixels of
    blur and of crop (the middle of the lens is not the middle of the picture); the depth of a shadow."""

    tilt: tuple[float, float] = (0.0, 0.0)
    turn: float = 0.0
    bow: float = 0.0
    blur: float = 1.0
    crop: tuple[float, float] = (0.0, 0.0)
    shadow: float = 0.0
    soft: float = 20.0
    ground: float = 0.08
    noise: float = 3.0
    size: tuple[int, int] = (1500, 2000)
    focus: float = 1.0  # focal length over the longer side of the picture
    fill: float = 0.86  # share of the picture's longer side that the sheet takes


@cache
def _print(paper: tuple[float, float]) -> np.ndarray:
    page = pypdfium2.PdfDocument(pdf.write([scale.sheet(paper)], "t"))[0]
    plain = np.asarray(page.render(scale=2 * CANVAS * 25.4 / 72).to_pil().convert("L"))
    # pdfium stretches a page to whole pixels; brought back to the size it has.
    size = (math.ceil(paper[0] * CANVAS), math.ceil(paper[1] * CANVAS))
    k, m = paper[0] * CANVAS / plain.shape[1], paper[1] * CANVAS / plain.shape[0]
    to = np.array([[k, 0.0, k / 2 - 0.5], [0.0, m, m / 2 - 0.5]])
    plain = cv2.GaussianBlur(plain, (0, 0), 0.7)
    return cv2.warpAffine(plain, to, size, flags=cv2.INTER_LINEAR, borderValue=255).astype(np.float32) / 255.0


def _does(truth: Truth) -> np.ndarray:
    return np.array([[truth.x, truth.y * truth.skew], [0.0, truth.y * math.sqrt(1.0 - truth.skew**2)]])


def _table(truth: Truth, drawn_for: tuple[float, float], paper: tuple[float, float], ground: float) -> np.ndarray:
    """Print, paper and table from straight above; the middle of the sheet is the middle of the canvas, y downwards."""
    w, h = paper[0] + truth.cut[0], paper[1] + truth.cut[1]
    size = (int((paper[0] + 2 * MARGIN) * CANVAS), int((paper[1] + 2 * MARGIN) * CANVAS))
    centre = np.array(size) / 2.0
    flip = np.diag([1.0, -1.0])
    m = flip @ _does(truth) @ flip
    plain = _print(drawn_for)
    middle = np.array(drawn_for) * CANVAS / 2.0
    # Pixel centres are half a pixel from the corner that mm are counted from.
    t = centre + np.array(truth.shift) * CANVAS - m @ middle + (m @ np.full(2, 0.5) - 0.5)
    canvas = cv2.warpAffine(plain, np.hstack([m, t[:, None]]), size, flags=cv2.INTER_LINEAR, borderValue=1.0)
    half = truth.taper / 2.0
    corners = np.array(
        [
            (-w / 2 - half + truth.lean, -h / 2),
            (w / 2 + half + truth.lean, -h / 2),
            (w / 2 - half, h / 2),
            (-w / 2 + half, h / 2),
        ]
    )
    at = centre + corners * CANVAS
    # The sheet's share of a pixel, from its distance to each edge: OpenCV's smooth polygons come out half a pixel large.
    xs, ys = np.arange(size[0])[None, :] + 0.5, np.arange(size[1])[:, None] + 0.5
    share = np.ones_like(canvas)
    for k in range(4):
        (ax, ay), (bx, by) = at[k], at[(k + 1) % 4]
        long = math.hypot(bx - ax, by - ay)
        inwards = ((bx - ax) / long * (ys - ay)).astype(np.float32) - ((by - ay) / long * (xs - ax)).astype(np.float32)
        inwards += np.float32(0.5)
        share *= np.clip(inwards, 0.0, 1.0, out=inwards)
    canvas *= np.float32(0.87)
    canvas += np.float32(0.03 - ground)
    canvas *= share
    canvas += np.float32(ground)
    return canvas


def photograph(
    truth: Truth,
    camera: Camera,
    drawn_for: tuple[float, float],
    seed: int,
    paper: tuple[float, float] | None = None,
) -> np.ndarray:
    """A photograph in grey: a sheet drawn for one paper and printed on it, or on another ``paper``."""
    paper = paper or drawn_for
    rng = np.random.default_rng(seed)
    table = _table(truth, drawn_for, paper, camera.ground)
    width, height = camera.size
    focus = camera.focus * height
    away = focus * paper[1] / (camera.fill * height)
    a, b, c = (math.radians(v) for v in (*camera.tilt, camera.turn))
    about_x = np.array([[1, 0, 0], [0, math.cos(a), -math.sin(a)], [0, math.sin(a), math.cos(a)]])
    about_y = np.array([[math.cos(b), 0, math.sin(b)], [0, 1, 0], [-math.sin(b), 0, math.cos(b)]])
    about_z = np.array([[math.cos(c), -math.sin(c), 0], [math.sin(c), math.cos(c), 0], [0, 0, 1]])
    r = about_x @ about_y @ about_z
    back = np.linalg.inv(np.column_stack([r[:, 0], r[:, 1], (0.0, 0.0, away)])).astype(np.float32)
    # Where every pixel looks: lens, then plane.
    u = np.arange(width, dtype=np.float32)[None, :] - np.float32(width / 2 - 0.5 + camera.crop[0])
    v = np.arange(height, dtype=np.float32)[:, None] - np.float32(height / 2 - 0.5 + camera.crop[1])
    r2 = (u * u + v * v) / np.float32((width / 2) ** 2 + (height / 2) ** 2)
    # Brown 1966, with a second term of a fifth of the first.
    lens = (1.0 + camera.bow * r2 + 0.2 * camera.bow * r2 * r2) / np.float32(focus)
    # The sheet stays in the middle of a picture that was cropped.
    u, v = u * lens + np.float32(camera.crop[0] / focus), v * lens + np.float32(camera.crop[1] / focus)
    z = back[2, 0] * u + back[2, 1] * v + back[2, 2]
    px = (back[0, 0] * u + back[0, 1] * v + back[0, 2]) / z
    py = (back[1, 0] * u + back[1, 1] * v + back[1, 2]) / z
    mapx = px * np.float32(CANVAS) + np.float32(table.shape[1] / 2 - 0.5)
    mapy = py * np.float32(CANVAS) + np.float32(table.shape[0] / 2 - 0.5)
    light = cv2.remap(table, mapx, mapy, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=camera.ground)
    light *= np.float32(1.0) - np.float32(0.25) * r2
    if camera.shadow:
        way, at = float(rng.uniform(0, 2 * math.pi)), float(rng.uniform(-0.3, 0.3) * paper[0])
        aside = px * math.cos(way) + py * math.sin(way) - at
        light *= 1.0 - camera.shadow * np.clip(0.5 + aside / camera.soft, 0.0, 1.0)
    light = cv2.GaussianBlur(light, (0, 0), camera.blur)
    return _taken(light, camera.noise, rng)


def scan(
    truth: Truth, paper: tuple[float, float], dpi: float, own: tuple[float, float, float], turn: float, seed: int
) -> np.ndarray:
    """A scan in grey from a scanner of scale ``own`` across and along, and its axes out of square."""
    table = _table(truth, paper, paper, 0.9)
    a, k = math.radians(turn), dpi / 25.4 / CANVAS
    spin = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    m = np.array([[own[0], own[1] * own[2]], [0.0, own[1]]]) @ spin * k
    size = (int((paper[0] + MARGIN) * dpi / 25.4), int((paper[1] + MARGIN) * dpi / 25.4))
    t = np.array(size) / 2.0 - m @ (np.array([table.shape[1], table.shape[0]]) / 2.0)
    page = cv2.warpAffine(table, np.hstack([m, t[:, None]]), size, flags=cv2.INTER_LINEAR, borderValue=0.9)
    rng = np.random.default_rng(seed)
    light = cv2.GaussianBlur(page, (0, 0), 0.8)
    return _taken(light, 3.0, rng)


def _taken(light: np.ndarray, noise: float, rng: np.random.Generator) -> np.ndarray:
    """Light as the grey of a picture, with grain."""
    grey = rng.standard_normal(light.shape, dtype=np.float32)
    grey *= np.float32(noise)
    grey += np.float32(255.0) * cv2.pow(np.clip(light, 0.0, 1.0), 1 / 2.2)
    return np.clip(grey, 0, 255, out=grey).astype(np.uint8)


def kept(image: np.ndarray, kind: str = ".jpg", quality: int = 90) -> bytes:
    """The picture as a file."""
    ok, data = cv2.imencode(kind, image, [cv2.IMWRITE_JPEG_QUALITY, quality] if kind == ".jpg" else [])
    assert ok
    return bytes(data.tobytes())


def damaged(data: bytes, rng: np.random.Generator) -> bytes:
    """The file cut short, with bytes changed, or with a stretch blanked or left out."""
    at = int(rng.integers(len(data) // 50, len(data)))
    how = int(rng.integers(0, 4))
    if how == 0:
        return data[:at]
    if how == 1:
        out = bytearray(data)
        for k in rng.integers(200, len(data), int(rng.integers(1, 20))):
            out[int(k)] ^= 1 << int(rng.integers(0, 8))
        return bytes(out)
    length = int(rng.integers(16, max(17, len(data) // 20)))
    gap = bytes(length) if how == 2 else b""
    return data[:at] + gap + data[at + length :]
