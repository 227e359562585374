"""Single-stroke letters for pens and engravers, and what is written where they run out.

The letters are Hershey's (plain English ones); accents are set over and under
them here.  A label that still cannot be written, or is longer than its strap, is
replaced by the number of its piece in the job, and the lists name it, so that
no two labels on a bed are alike.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import cache
from typing import Any, TypeAlias

from strapwork.catalogue import tr
from strapwork.characters import composed

Stroke: TypeAlias = tuple[tuple[float, float], ...]

SIZE = 4.0
BASE, SMALL, TALL = 1.0, 3.0, 4.0  # height of the baseline, of x and of capitals at this size
ACCENT_ROOM = 0.8
_TALL = frozenset("bdfhklt")

# Strokes about the middle of a letter; heights above its top, or below the baseline.
_ABOVE: dict[str, tuple[Stroke, ...]] = {
    "\u0300": (((-0.45, 0.75), (0.1, 0.3)),),
    "\u0301": (((0.45, 0.75), (-0.1, 0.3)),),
    "\u0302": (((-0.5, 0.3), (0.0, 0.75), (0.5, 0.3)),),
    "\u0303": (((-0.6, 0.35), (-0.3, 0.65), (0.3, 0.35), (0.6, 0.65)),),
    "\u0304": (((-0.55, 0.5), (0.55, 0.5)),),
    "\u0306": (((-0.5, 0.75), (-0.25, 0.35), (0.25, 0.35), (0.5, 0.75)),),
    "\u0307": (((0.0, 0.4), (0.0, 0.65)),),
    "\u0308": (((-0.35, 0.4), (-0.35, 0.65)), ((0.35, 0.4), (0.35, 0.65))),
    "\u030a": (((0.0, 0.2), (0.3, 0.5), (0.0, 0.8), (-0.3, 0.5), (0.0, 0.2)),),
    "\u030b": (((-0.3, 0.3), (0.0, 0.75)), ((0.15, 0.3), (0.45, 0.75))),
    "\u030c": (((-0.5, 0.75), (0.0, 0.3), (0.5, 0.75)),),
}
_BELOW: dict[str, tuple[Stroke, ...]] = {
    "\u0323": (((0.0, -0.4), (0.0, -0.65)),),
    "\u0326": (((0.1, -0.3), (-0.15, -0.8)),),
    "\u0327": (((0.0, 0.0), (0.0, -0.3), (0.35, -0.5), (0.0, -0.8), (-0.3, -0.7)),),
    "\u0328": (((0.4, 0.0), (0.1, -0.4), (0.25, -0.8), (0.6, -0.7)),),
}
# Letters crossed by a stroke have no accent that comes off: their plain letter, and the stroke in shares of its box.
# The comma that hangs under other letters stands turned over the g, which has its tail there (The Unicode Standard 15.0, 7.1).
_CROSSED: dict[str, tuple[str, Stroke]] = {
    "ø": ("o", ((-0.1, -0.15), (1.1, 1.15))),
    "Ø": ("O", ((0.0, -0.1), (1.0, 1.1))),
    "ł": ("l", ((-6.0, 0.4), (6.0, 0.65))),
    "Ł": ("L", ((-0.3, 0.35), (0.5, 0.65))),
    "đ": ("d", ((0.45, 0.85), (1.35, 0.85))),
    "Đ": ("D", ((-0.3, 0.5), (0.45, 0.5))),
    "ħ": ("h", ((-0.3, 0.85), (0.5, 0.85))),
    "ģ": ("g", ((0.6, 1.27), (0.42, 1.2), (0.42, 1.1), (0.52, 1.1), (0.52, 1.17))),
}


@cache
def _font() -> Any:
    from HersheyFonts import HersheyFonts

    font = HersheyFonts()
    font.load_default_font("futural")
    font.normalize_rendering(SIZE)
    return font


@cache
def _plain(ch: str) -> tuple[tuple[Stroke, ...], float]:
    """The strokes of a printable ASCII character from x = 0 on, and its advance."""
    font = _font()
    strokes = tuple(tuple((float(x), float(y)) for x, y in s) for s in font.strokes_for_text(ch))
    (glyph,) = font.glyphs_for_text(ch)
    return strokes, float(glyph.char_width * font.render_options.scalex)


@cache
def _letter(ch: str) -> tuple[tuple[Stroke, ...], float] | None:
    """A letter with its accents, or None where these letters have no such thing."""
    if ch in _CROSSED:
        plain, bar = _CROSSED[ch]
        strokes, advance = _plain(plain)
        x0, y0, x1, y1 = _box(strokes)
        wide = max(x1 - x0, 0.1)
        return (*strokes, tuple((x0 + a * wide, y0 + b * (y1 - y0)) for a, b in bar)), advance
    base, *marks = list(unicodedata.normalize("NFD", ch))
    above = [m for m in marks if m in _ABOVE]
    below = [m for m in marks if m in _BELOW]
    if not (base.isascii() and base.isprintable()) or len(above) > 1 or len(below) > 1:
        return None
    if len(above) + len(below) < len(marks) or (marks and not base.isalpha()):
        return None
    strokes, advance = _plain(base)
    if above and base in "ij":  # the accent takes the place of the dot
        strokes = tuple(s for s in strokes if min(y for _, y in s) < SMALL + 0.1)
    added: list[Stroke] = []
    if marks:
        x0, _, x1, _ = _box(strokes)
        middle = (x0 + x1) / 2.0
        top = TALL if base.isupper() or base in _TALL else SMALL
        for m in above:
            added += [tuple((middle + x, top + y) for x, y in s) for s in _ABOVE[m]]
        for m in below:
            added += [tuple((middle + x, BASE + y) for x, y in s) for s in _BELOW[m]]
    return (*strokes, *added), advance


def _box(strokes: Sequence[Stroke]) -> tuple[float, float, float, float]:
    xs, ys = [x for s in strokes for x, _ in s], [y for s in strokes for _, y in s]
    return min(xs), min(ys), max(xs), max(ys)


def strokes(text: str) -> tuple[tuple[Stroke, ...], float] | None:
    """``text`` as single strokes in mm from (0, 0) on, baseline at ``BASE``, and its width; None if a letter is lacking."""
    out: list[Stroke] = []
    x = 0.0
    for ch in composed(text):
        found = _letter(ch)
        if found is None:
            return None
        drawn, advance = found
        out += [tuple((x + a, b) for a, b in s) for s in drawn]
        x += advance
    return tuple(out), x


def written(labels: Sequence[str], rooms: Sequence[float]) -> tuple[str, ...]:
    """What is written by each piece, in the job's order: its label, or its number where that cannot be.

    Args:
        labels: every piece's label.
        rooms: the length in mm that each has.
    """
    taken = set(labels)
    out: list[str] = []
    for k, (label, room) in enumerate(zip(labels, rooms, strict=True), start=1):
        found = strokes(label)
        if found is not None and found[1] <= room:
            out.append(label)
            continue
        number = tr("No. {k}", k=k)
        while number in taken:  # somebody's own label
            number += "*"
        out.append(number)
    return tuple(out)
