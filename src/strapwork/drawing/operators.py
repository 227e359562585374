"""What stands in the content of a PDF page: paths, circles and looks as operators (ISO 32000-1, Annex A).

Numbers are written in mm to a ten-thousandth, a tenth of a micrometre on the
strap.  They are put into words here, a whole operator at a time, because a
large job has half a million of them and reportlab words each number by itself.
Arcs become Bezier curves of at most 45 degrees each (within 5 millionths of
the radius).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from strapwork.drawing.primitives import Disc, Path
from strapwork.drawing.style import look
from strapwork.geometry.shape import Arc, Box, cos_sin

WIDEST_CURVE = 45.0
# Painting by (is there a line, is there a fill); fills by the even-odd rule.
_PAINT = {(False, False): "n", (True, False): "S", (False, True): "f*", (True, True): "B*"}
_MOVE, _LINE = "%.4f %.4f m", "%.4f %.4f l"
_CURVE = "%.4f %.4f %.4f %.4f %.4f %.4f c"


@dataclass(frozen=True, slots=True)
class Ink:
    """A role as operators: what sets its line, what sets its fill (empty for none), and what paints a path."""

    line: str
    fill: str
    paint: str
    strong: bool


@lru_cache(maxsize=256)
def ink(role: str) -> Ink:
    """How a role is drawn."""
    style = look(role)
    line = fill = ""
    if style.stroke is not None:
        dash = " ".join(f"{v:g}" for v in style.dash)
        line = f"{_rgb(style.stroke)} RG {style.width:g} w [{dash}] 0 d"
    if style.fill is not None:
        fill = f"{_rgb(style.fill)} rg"
    return Ink(line, fill, _PAINT[bool(line), bool(fill)], style.strong)


def _rgb(colour: tuple[float, float, float]) -> str:
    return " ".join(f"{v:g}" for v in colour)


def path(p: Path, paint: str) -> str:
    """Lines and arcs as one path, and its painting."""
    out: list[str] = []
    x, y = math.inf, math.inf
    for s in p.segments:
        x0, y0 = s.start
        if abs(x - x0) > 1e-9 or abs(y - y0) > 1e-9:
            out.append(_MOVE % (x0, y0))
        x, y = s.end
        out.append(_curves(s) if isinstance(s, Arc) else _LINE % (x, y))
    if p.closed:
        out.append("h")
    out.append(paint)
    return " ".join(out)


def circle(disc: Disc, paint: str) -> str:
    """A full circle, and its painting."""
    arc = Arc(disc.cx, disc.cy, disc.r, 0.0, 360.0)
    return f"{_MOVE % arc.start} {_curves(arc)} h {paint}"


def clip(box: Box) -> str:
    """From here on, until the state is restored, only the inside of an upright box shows."""
    return f"q {box[0]:.4f} {box[1]:.4f} {box[2] - box[0]:.4f} {box[3] - box[1]:.4f} re W n"


def matrix(a: float, b: float, c: float, d: float, x: float, y: float) -> str:
    """The six numbers of a transform."""
    return f"{a:.6f} {b:.6f} {c:.6f} {d:.6f} {x:.4f} {y:.4f}"


def string(codes: bytes) -> str:
    """A string: as it reads where that needs no escapes, else in hexadecimal digits."""
    text = codes.decode("latin-1")
    if text.isascii() and text.isprintable() and not any(ch in text for ch in "()\\"):
        return f"({text})"
    return f"<{codes.hex()}>"


def _curves(arc: Arc) -> str:
    cx, cy = arc.cx, arc.cy
    return " ".join(
        _CURVE % (cx + a, cy + b, cx + c, cy + d, cx + e, cy + f)
        for a, b, c, d, e, f in _bends(arc.r, arc.start_deg, arc.sweep_deg)
    )


@lru_cache(maxsize=4096)
def _bends(r: float, start: float, sweep: float) -> tuple[tuple[float, ...], ...]:
    """The points of an arc's curves, about its middle: pieces differ more in where arcs lie than in what they are.

    A curve for the sweep u has its inner points at 4/3 tan(u/4) radii along the
    tangents (the usual choice, which meets the arc at its middle).
    """
    n = max(1, math.ceil(abs(sweep) / WIDEST_CURVE - 1e-9))
    step = sweep / n
    k = 4.0 / 3.0 * math.tan(math.radians(step) / 4.0)
    out = []
    for i in range(n):
        (c0, s0), (c3, s3) = cos_sin(start + i * step), cos_sin(start + (i + 1) * step)
        out.append(
            tuple(r * v for v in (c0 - k * s0, s0 + k * c0, c3 + k * s3, s3 - k * c3, c3, s3)),
        )
    return tuple(out)
