"""The outlines of shaped glyphs, in thousandths of an em, as PDF operators and as SVG path data.

Curves of the second degree are raised to the third, which changes nothing of
their shape; numbers are rounded to a tenth of a thousandth of an em, less than
a micrometre at the sizes printed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

from strapwork.drawing import scripts
from strapwork.drawing.scripts import Cluster

Step: TypeAlias = tuple[str, tuple[float, ...]]


class _Trace:
    """Collects an outline from HarfBuzz, every curve of the third degree."""

    def __init__(self, scale: float) -> None:
        self.steps: list[Step] = []
        self._scale = scale
        self._at = (0.0, 0.0)

    def _add(self, letter: str, *points: tuple[float, float]) -> None:
        self.steps.append((letter, tuple(v * self._scale for p in points for v in p)))
        self._at = points[-1]

    def moveTo(self, p: tuple[float, float]) -> None:  # noqa: N802 - the pen protocol's own names
        self._add("M", p)

    def lineTo(self, p: tuple[float, float]) -> None:  # noqa: N802
        self._add("L", p)

    def curveTo(self, *points: tuple[float, float]) -> None:  # noqa: N802
        self._add("C", *points)

    def qCurveTo(self, bend: tuple[float, float], end: tuple[float, float]) -> None:  # noqa: N802
        (x0, y0), (xb, yb), (x1, y1) = self._at, bend, end
        first = (x0 + 2.0 / 3.0 * (xb - x0), y0 + 2.0 / 3.0 * (yb - y0))
        second = (x1 + 2.0 / 3.0 * (xb - x1), y1 + 2.0 / 3.0 * (yb - y1))
        self._add("C", first, second, end)

    def closePath(self) -> None:  # noqa: N802
        self.steps.append(("Z", ()))

    def endPath(self) -> None: ...  # noqa: N802


@lru_cache(maxsize=4096)
def _glyph(face: int, strong: bool, number: int) -> tuple[Step, ...]:
    font = scripts.faces()[face].font(strong)
    trace = _Trace(1000.0 / font.face.upem)
    font.draw_glyph_with_pen(number, trace)
    return tuple(trace.steps)


def steps(cluster: Cluster) -> list[Step]:
    """The outline of a cluster: letters M, L, C and Z with their points, y up."""
    out: list[Step] = []
    for number, x, y in cluster.glyphs:
        shift = (1000.0 * x, 1000.0 * y)
        for letter, values in _glyph(cluster.face, cluster.strong, number):
            out.append((letter, tuple(v + shift[k % 2] for k, v in enumerate(values))))
    return out


def brief(value: float) -> str:
    """A number with one decimal at most."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


@dataclass(frozen=True, slots=True)
class Inked:
    """A cluster's outline ready for a file, and the box (x0, y0, x1, y1) round its points."""

    operators: str
    path: str
    box: tuple[float, float, float, float]


_OPERATORS = {"M": "m", "L": "l", "C": "c", "Z": "h"}


@lru_cache(maxsize=4096)
def inked(cluster: Cluster) -> Inked:
    """The outline of ``cluster`` as PDF path operators and as SVG path data; both empty for a space."""
    found = steps(cluster)
    values = [v for _, points in found for v in points]
    box = (min(values[::2]), min(values[1::2]), max(values[::2]), max(values[1::2])) if values else (0.0,) * 4
    pdf = "\n".join(" ".join((*map(brief, points), _OPERATORS[letter])) for letter, points in found)
    svg = "".join(letter + " ".join(map(brief, points)) for letter, points in found)
    return Inked(pdf, svg, box)


def appearance(text: str, strong: bool = False) -> tuple[tuple[str, str], ...]:
    """What ``text`` looks like: two texts with the same appearance cannot be told apart on paper."""
    drawn = [(inked(c).path, brief(1000.0 * c.advance)) for c in scripts.line(text, strong).clusters]
    return tuple(d for d in drawn if d != ("", "0"))
