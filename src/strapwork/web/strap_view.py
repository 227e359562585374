"""The flat strap for the screen: both ends large, the middle left out by the broken view of the paper.

The strap is laid out for a width in px: geometry in strap mm under one transform, letters, captions and
distances in px beside it, so that they stay legible whatever the strap's scale is.  Where a narrow screen would
make the ends small, the second end goes under the first.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from strapwork.catalogue import tr
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Disc, Drawing, Path
from strapwork.geometry.shape import Box, Segment
from strapwork.paper import broken, captions
from strapwork.piece import drawn
from strapwork.piece.piece import Piece
from strapwork.say import places, spots, straps
from strapwork.say.spots import Spot
from strapwork.say.table import number as bare
from strapwork.units import format_length
from strapwork.web.ink import number, path_data, words

USUAL_WIDTH = 720.0
LEAST_WIDTH, MOST_WIDTH = 240.0, 2600.0
MOST_LONG = 20_000.0  # px of a strap at its true size
SIDE, GAP = 16.0, 22.0
TALLEST = 170.0
NARROW = 620.0
SIZE, LINE = 12.5, 17.0
BOLD = 14.0
TOUCH = 24.0  # px: the least a finger or a pointer is given (WCAG 2.2, 2.5.8)
WIDER = 1.16  # how much wider than the paper's typeface a browser's own may be


@dataclass(frozen=True, slots=True)
class View:
    """The picture as markup, its size in px, px per mm of strap, and whether the middle is left out."""

    svg: str
    width: float
    height: float
    scale: float
    broken: bool


@dataclass(frozen=True, slots=True)
class _Part:
    """Strap from ``x0`` to ``x1`` (mm), drawn from ``left`` on in row ``row``."""

    x0: float
    x1: float
    left: float
    row: int
    ink: Drawing


def view(piece: Piece, units: str, wide: float = USUAL_WIDTH, scale: float | None = None) -> View:
    """The strap as wide as asked.

    Args:
        piece: the piece.
        units: of the job.
        wide: width of the picture in px.
        scale: px per mm of strap, for the true size: the strap is then drawn whole, as wide as it gets.
    """
    strap = piece.strap
    ink = drawn.of_strap(strap)
    whole = (_Part(0.0, strap.length, SIDE, 0, ink),)
    if scale is not None:
        scale = min(scale, MOST_LONG / strap.length)
        return _drawn(piece, units, whole, scale, strap.length * scale + 2 * SIDE)
    wide = min(max(wide, LEAST_WIDTH), MOST_WIDTH)
    room, tallest = wide - 2 * SIDE, min(TALLEST, wide * 0.3) / strap.width
    of_whole = min(room / strap.length, tallest)
    gap = broken.of(piece, units, strap.length)
    if gap is None:
        return _drawn(piece, units, whole, of_whole, wide)
    first, last = gap.start, strap.length - gap.stop
    of_row = min((room - GAP) / (first + last), tallest)
    of_rows = min(room / max(first, last), tallest)
    halves = [broken.half(ink, gap, first=k == 0, width=strap.width) for k in range(2)]
    if wide < NARROW and of_rows > 1.25 * max(of_row, of_whole):
        left = wide - SIDE - last * of_rows
        parts = (_Part(0.0, gap.start, SIDE, 0, halves[0]), _Part(gap.stop, strap.length, left, 1, halves[1]))
        return _drawn(piece, units, parts, of_rows, wide)
    if of_row > 1.15 * of_whole:
        left = wide - SIDE - last * of_row
        parts = (_Part(0.0, gap.start, SIDE, 0, halves[0]), _Part(gap.stop, strap.length, left, 0, halves[1]))
        return _drawn(piece, units, parts, of_row, wide)
    return _drawn(piece, units, whole, of_whole, wide)


def _drawn(piece: Piece, units: str, parts: Sequence[_Part], scale: float, wide: float) -> View:
    out: list[str] = []
    y = 6.0
    rows = [[p for p in parts if p.row == k] for k in range(1 + max(p.row for p in parts))]
    here = spots.of(piece, units)
    for row in rows:
        layout = _Row(piece, units, row, scale, wide, alone=len(rows) == 1)
        y = layout.draw(out, y, here) + 10.0
    title = tr("The flat strap of {label}", label=piece.label)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="strap" viewBox="0 0 {number(wide)} {number(y)}" '
        f'width="{number(wide)}" height="{number(y)}" data-scale="{scale:.5f}" role="group" aria-label="{words(title)}">'
        f"{''.join(out)}</svg>"
    )
    return View(svg, wide, y, scale, len(parts) > 1)


class _Row:
    """One row of the picture: the whole strap, both halves, or one of them."""

    def __init__(
        self, piece: Piece, units: str, parts: Sequence[_Part], scale: float, wide: float, *, alone: bool
    ) -> None:
        self.piece, self.units, self.parts, self.scale = piece, units, parts, scale
        self.wide, self.alone = wide, alone
        self.high = piece.strap.width * scale

    def x(self, mm: float) -> float | None:
        """Where a place of the strap is; None for what is left out."""
        for p in self.parts:
            if p.x0 - 1e-6 <= mm <= p.x1 + 1e-6:
                return p.left + (mm - p.x0) * self.scale
        return None

    def draw(self, out: list[str], top: float, here: Sequence[Spot]) -> float:
        """Write the row; returns its lower edge."""
        y = self._overall(out, top) if self.alone else top
        y = self._chain(out, y)
        letters = [(x, p.letter) for p in places.of(self.piece) if (x := self.x(p.x)) is not None]
        if letters:
            y += BOLD + 2.0
            out += [_text(x, y - 4.0, letter, "letter", "middle") for x, letter in letters]
        y += 3.0  # the break lines reach over the edges
        for part in self.parts:
            out.append(self._ink(part, y))
        for n, s in enumerate(here):
            out += self._spot(s, n, y)
        return self._captions(out, y + self.high + 3.0)

    def _overall(self, out: list[str], y: float) -> float:
        """The overall length and, where it is another, the one from reference point to reference point."""
        fit, r = self.piece.fit, self.piece.pattern
        lines = [
            (
                0.0,
                fit.cut_length,
                tr("overall cut length {cut_length}", cut_length=format_length(fit.cut_length, self.units)),
            )
        ]
        if fit.reference_to_reference < fit.cut_length - 1.0:
            text = tr(
                "{references}, as cut: {reference_to_reference}",
                references=straps.references(self.piece),
                reference_to_reference=format_length(fit.reference_to_reference, self.units),
            )
            lines.append((r.start.to_tip, fit.cut_length - r.finish.to_tip, text))
        for a, b, text in lines:
            y += LINE
            xa, xb = self.x(a), self.x(b)
            if xa is None or xb is None:
                continue
            out.append(_dimension(xa, xb, y + 5.0))
            out.append(_text((xa + xb) / 2.0, y, _fitting(text, xb - xa), "caption", "middle"))
            y += 7.0
        return y

    def _chain(self, out: list[str], y: float) -> float:
        """Distances from place to place over the strap; those that find no room go a line higher."""
        length = self.piece.strap.length
        every = [0.0, *(p.x for p in places.of(self.piece)), length]
        stops = [a for a, b in itertools.pairwise([*every, length + 1.0]) if b - a > 0.05]
        pairs = [(a, b) for a, b in itertools.pairwise(stops)]
        if len(pairs) < 2:
            return y
        used: list[float] = []
        texts: list[tuple[float, int, str]] = []
        ticks: dict[float, None] = {}
        spans: list[tuple[float, float]] = []
        for a, b in pairs:
            xa, xb = self.x(a), self.x(b)
            if xa is None and xb is None:
                continue
            left = xa if xa is not None else self.parts[0].left - SIDE / 2.0
            right = xb if xb is not None else self.wide - SIDE / 2.0
            spans.append((left, right))
            ticks |= {x: None for x in (xa, xb) if x is not None}
            text = bare(b - a, self.units)
            half = fonts.text_width(text, SIZE) * WIDER / 2.0 + 2.0
            middle = min(max((left + right) / 2.0, half), self.wide - half)
            level = next((k for k, end in enumerate(used) if middle - half > end), len(used))
            used[level : level + 1] = [middle + half]
            texts.append((middle, level, text))
        base = y + LINE * len(used) + 4.0
        for middle, level, text in texts:
            out.append(_text(middle, base - 5.0 - level * LINE, text, "caption", "middle"))
        d = "".join(f"M{number(x)} {number(base - 4)}v8" for x in ticks)
        d += "".join(f"M{number(a)} {number(base)}H{number(b)}" for a, b in spans)
        out.append(f'<path class="lead" d="{d}"/>')
        return base + 4.0

    def _ink(self, part: _Part, top: float) -> str:
        """The part's lines, in strap mm under one transform."""
        s, w = self.scale, self.piece.strap.width
        found: dict[str, list[str]] = {}
        hide, discs = "", ""
        for p in part.ink:
            if isinstance(p, Path) and p.role != "gauge":
                found.setdefault(p.role, []).append(path_data(p.segments, p.closed, w))
                if p.role == "cut":
                    hide = path_data(_from_gap(p.segments), True, w)
            elif isinstance(p, Disc):
                discs += f'<circle class="i-{p.role}" cx="{number(p.cx)}" cy="{number(w - p.cy)}" r="{p.r:.3f}"/>'
        move = f"translate({number(part.left - part.x0 * s)} {number(top)}) scale({s:.6g})"
        lines = "".join(f'<path class="i-{role}" d="{"".join(d)}"/>' for role, d in found.items())
        return f'<g class="ink" transform="{move}"><path class="i-hide" d="{hide}"/>{discs}{lines}</g>'

    def _spot(self, s: Spot, n: int, top: float) -> list[str]:
        """What answers to a pointer, a finger or the focus: a mark, and at least a finger's room round it."""
        out = []
        x0, y0, x1, y1 = s.box
        for part in self.parts:
            lo, hi = max(x0, part.x0), min(x1, part.x1)
            if hi - lo <= 0.0:
                continue
            left, right = (part.left + (v - part.x0) * self.scale for v in (lo, hi))
            box = (left, top + self.high - y1 * self.scale, right, top + self.high - y0 * self.scale)
            mark = _rect(box, "mark", 3.0 if s.kind in ("hole", "keeper") else 0.0, s.kind == "hole")
            wide = box if s.kind in ("braid", "keeper") else _grown(box, s.kind, self.high / max(1, self.piece.strands))
            label = words(s.words)
            out.append(
                f'<g class="spot s-{s.kind}" data-spot="{n}" tabindex="-1" role="img" aria-label="{label}">'
                f"<title>{label}</title>{mark}{_rect(wide, 'hit')}</g>"
            )
        return out

    def _captions(self, out: list[str], y: float) -> float:
        """Short words for what is on the strap, with a leader each."""
        k = captions.SIZE / (SIZE * WIDER)  # the places of captions are worked out in the paper's mm
        here = places.of(self.piece)
        said = _grouped(
            straps.captions(self.piece, self.units), self.piece.strap.length, lambda x: places.letter(here, x)
        )
        # Words lie towards the middle of the strap, which is beside the picture where it shows one end alone.
        shift = 0.0 if self.alone or self.parts[0].row == 0 else self.wide
        over = self.wide * (1.0 if self.alone else 2.0)
        found = [((x + shift) * k, text) for at, text in said if (x := self.x(at)) is not None]
        flags = [replace(f, x=f.x - shift * k) for f in captions.place(found, over * k)]
        d, said_there = "", []
        for f in flags:
            base = y + LINE * (f.row + 1)
            x = f.x / k
            d += f"M{number(x)} {number(y)}V{number(base - 3.0)}"
            wide = fonts.text_width(f.text, SIZE) * WIDER
            at = x + 4.0 if f.anchor == "start" else x - 4.0
            if f.anchor == "start":
                at = max(2.0, min(at, self.wide - wide - 2.0))
            else:
                at = min(self.wide - 2.0, max(at, wide + 2.0))
            said_there.append(_text(at, base, f.text, "flag", f.anchor))
        # Words come last and clear a little room round them, as leaders of lower ones pass behind them.
        out += [f'<path class="lead" d="{d}"/>', *said_there] if d else []
        return y + LINE * (1 + max((f.row for f in flags), default=-1)) + 6.0


def _from_gap(segments: Sequence[Segment]) -> Sequence[Segment]:
    """A chain with one gap, as a break leaves it, begun behind the gap, so that it can be filled."""
    for k, (a, b) in enumerate(itertools.pairwise(segments), start=1):
        if math.dist(a.end, b.start) > 1e-6:
            return (*segments[k:], *segments[:k])
    return segments


def _grouped(
    found: Sequence[tuple[float, str]], length: float, letter: Callable[[float], str]
) -> list[tuple[float, str]]:
    """Captions with the same words at one end as one, at the innermost of their places and with all their letters."""
    out: dict[tuple[bool, str], list[float]] = {}
    for x, text in found:
        out.setdefault((x < length / 2.0, text), []).append(x)
    return [
        (xs[-1] if first else xs[0], f"{' '.join(filter(None, map(letter, xs)))} {text}" if len(xs) > 1 else text)
        for (first, text), xs in out.items()
    ]


def _fitting(text: str, room: float) -> str:
    """A line's words, or its last ones where there is no room for all."""
    if fonts.text_width(text, SIZE) * WIDER <= room or ": " not in text:
        return text
    return tr("as cut: ") + text.rpartition(": ")[2]


def _grown(box: Box, kind: str, strand: float) -> Box:
    """A box grown to what a finger can hit; a slit's only as far as the next one lets it."""
    x0, y0, x1, y1 = box
    least = min(TOUCH, strand) if kind == "slit" else TOUCH
    dx, dy = max(0.0, (TOUCH - (x1 - x0)) / 2.0), max(0.0, (least - (y1 - y0)) / 2.0)
    return x0 - dx, y0 - dy, x1 + dx, y1 + dy


def _rect(box: Box, name: str, more: float = 0.0, round_: bool = False) -> str:
    x0, y0, x1, y1 = box[0] - more, box[1] - more, box[2] + more, box[3] + more
    corner = f' rx="{number(min(x1 - x0, y1 - y0) / 2.0)}"' if round_ else ""
    return (
        f'<rect class="{name}" x="{number(x0)}" y="{number(y0)}" width="{number(x1 - x0)}" '
        f'height="{number(y1 - y0)}"{corner}/>'
    )


def _text(x: float, y: float, text: str, name: str, anchor: str) -> str:
    return (
        f'<text class="{name}" x="{number(x)}" y="{number(y)}" font-size="{BOLD if name == "letter" else SIZE}" '
        f'text-anchor="{anchor}">{words(text)}</text>'
    )


def _dimension(a: float, b: float, y: float) -> str:
    """A line with a head at either end."""
    ya, yb = number(y - 3), number(y + 3)
    d = f"M{number(a)} {number(y)}H{number(b)}M{number(a + 6)} {ya}L{number(a)} {number(y)}L{number(a + 6)} {yb}"
    d += f"M{number(b - 6)} {ya}L{number(b)} {number(y)}L{number(b - 6)} {yb}"
    return f'<path class="lead" d="{d}"/>'


def asked_width(text: str) -> float:
    """The width that a query asks for; the usual one where it says nothing of use."""
    try:
        value = float(text)
    except ValueError:
        return USUAL_WIDTH
    return value if math.isfinite(value) and value > 0 else USUAL_WIDTH


def asked_scale(text: str) -> float | None:
    """The px per mm that a query asks for; None for the usual broken view."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and 0.5 <= value <= 40.0 else None


__all__ = ["View", "asked_scale", "asked_width", "view"]
