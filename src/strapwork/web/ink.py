"""The pen for the screen: a drawing as one small SVG element, lines of one look together.

It writes what a browser needs and no more: no layers and no pinned type, in the same strap or picture
millimetres as the sheets, with arcs as arcs.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cache
from html import escape

from strapwork.characters import clean, encodable
from strapwork.drawing import pen
from strapwork.drawing.fonts import CSS_FAMILY, printable
from strapwork.drawing.primitives import Disc, Drawing, Path, Placed, Sheet, Text, extent
from strapwork.drawing.style import Rgb, Style, look
from strapwork.geometry.shape import Arc, Box, Segment


def number(value: float) -> str:
    """A coordinate to a hundredth: finer than any screen."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def words(text: str) -> str:
    """Text as it may stand in markup."""
    return escape(encodable(clean(text)))


def path_data(segments: Iterable[Segment], closed: bool, high: float = 0.0) -> str:
    """The ``d`` of a path with y down from ``high``; arcs go out in halves at most."""
    out: list[str] = []
    at_x, at_y = math.inf, math.inf
    for s in segments:
        if isinstance(s, Arc):
            (x0, y0), (x1, y1) = s.start, s.end
        else:
            x0, y0, x1, y1 = s.x0, s.y0, s.x1, s.y1
        if abs(at_x - x0) > 1e-6 or abs(at_y - y0) > 1e-6:
            out.append(f"M{number(x0)} {number(high - y0)}")
        if isinstance(s, Arc):
            parts = max(1, math.ceil(abs(s.sweep_deg) / 170.0))
            flag = 0 if s.sweep_deg > 0 else 1
            for k in range(1, parts + 1):
                x, y = s.at(s.start_deg + s.sweep_deg * k / parts)
                out.append(f"A{number(s.r)} {number(s.r)} 0 0 {flag} {number(x)} {number(high - y)}")
        else:
            out.append(f"L{number(x1)} {number(high - y1)}")
        at_x, at_y = x1, y1
    return "".join(out) + ("Z" if closed else "")


def _hex(colour: Rgb) -> str:
    return "#" + "".join(f"{round(255 * v):02x}" for v in colour)


@cache
def _look(style: Style) -> str:
    out = f' fill="{_hex(style.fill) if style.fill else "none"}"'
    if style.stroke is not None:
        out += f' stroke="{_hex(style.stroke)}" stroke-width="{number(style.width)}"'
        if style.dash:
            out += f' stroke-dasharray="{" ".join(number(d) for d in style.dash)}"'
    return out


class ScreenPen:
    """A pen that writes the inside of an SVG element, one text a sheet."""

    def __init__(self) -> None:
        self._made: list[str] = []

    def begin(self, sheet: Sheet) -> None:
        self._high = sheet.height
        self._out: list[str] = []
        self._style: Style | None = None  # of the lines that wait to be written as one path
        self._lines: list[str] = []

    def clip(self, box: Box | None) -> None:
        """Pictures of the page are drawn whole."""

    def path(self, path: Path) -> None:
        style = look(path.role)
        if style != self._style or style.fill is not None:
            self._flush()
            self._style = style
        self._lines.append(path_data(path.segments, path.closed, self._high))

    def circle(self, disc: Disc) -> None:
        self._flush()
        at = f'cx="{number(disc.cx)}" cy="{number(self._high - disc.cy)}" r="{number(disc.r)}"'
        self._out.append(f"<circle {at}{_look(look(disc.role))}/>")

    def text(self, text: Text) -> None:
        self._flush()
        style = look(text.role)
        x, y = number(text.x), number(self._high - text.y)
        turn = f' transform="rotate({number(-text.degrees)} {x} {y})"' if text.degrees else ""
        strong = ' font-weight="600"' if style.strong else ""
        anchor = f' text-anchor="{text.anchor}"' if text.anchor != "start" else ""
        self._out.append(
            f'<text x="{x}" y="{y}" font-size="{number(text.size)}" font-family="{CSS_FAMILY}" '
            f'fill="{_hex(style.fill or (0.0, 0.0, 0.0))}"{strong}{anchor}{turn}>{words(printable(text.text))}</text>'
        )

    def _flush(self) -> None:
        if self._lines and self._style is not None:
            self._out.append(f'<path d="{"".join(self._lines)}"{_look(self._style)}/>')
        self._lines, self._style = [], None

    def end(self) -> None:
        self._flush()
        self._made.append("".join(self._out))

    def finish(self) -> list[str]:
        """The inside of each sheet's element."""
        return self._made


def inline(drawing: Drawing, title: str, margin: float = 2.0, box: Box | None = None) -> str:
    """A drawing as an SVG element for a page, cropped to what it holds; a user unit is a millimetre."""
    x0, y0, x1, y1 = box or extent(drawing)
    wide, high = x1 - x0 + 2 * margin, y1 - y0 + 2 * margin
    # The view is moved to the drawing, not the drawing, line by line, to the view.
    inside = pen.draw([Sheet(wide, y1 + margin, "", (Placed(drawing, 0.0, 0.0),))], ScreenPen())[0]
    view = " ".join(number(v) for v in (x0 - margin, 0.0, wide, high))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" width="{number(wide)}mm" '
        f'height="{number(high)}mm" role="img" aria-label="{words(title)}"><title>{words(title)}</title>{inside}</svg>'
    )
