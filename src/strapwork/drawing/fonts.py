"""What a line of text looks like on paper: its typeface, its width, and where it may be broken.

Open Sans covers Latin with all European accents, Greek and Cyrillic.  It comes
from the package ``ttf-opensans``; only its files are used, so the package
itself is not imported.  A line with any other script is shaped by
:mod:`strapwork.drawing.scripts`, where the extra ``scripts`` is installed.
What no typeface has is written out by number (:mod:`strapwork.characters`).
"""

from __future__ import annotations

import unicodedata
from functools import cache, lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from strapwork.characters import clean, clusters, composed, is_blank, is_unseen, marked_off, spelled

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont

    from strapwork.drawing.scripts import Line

REGULAR = "OpenSans"
STRONG = "OpenSans-SemiBold"
CSS_FAMILY = "'Open Sans', 'DejaVu Sans', 'Noto Sans', sans-serif"
KEPT = 16384  # texts remembered: some thousand pieces' worth, a few megabytes
# Scripts without spaces between words; a line of them may be broken between any two clusters.
_UNSPACED = (("\u0e00", "\u0eff"), ("\u1000", "\u109f"), ("\u1780", "\u17ff"))
_NEVER_FIRST = frozenset("、。，．・：；？！）］｝」』】〉》〕ー々…")


def file(strong: bool) -> Path:
    """The file of the usual typeface."""
    spec = find_spec("ttf_opensans")
    if spec is None or spec.origin is None:  # pragma: no cover - a broken install
        raise ModuleNotFoundError("the package ttf-opensans is not installed")
    return Path(spec.origin).parent / "ttf" / ("OpenSans-SemiBold.ttf" if strong else "OpenSans-Regular.ttf")


@cache
def font(strong: bool) -> TTFont:
    """The reportlab font object, registered on first use."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    made = TTFont(STRONG if strong else REGULAR, str(file(strong)))
    pdfmetrics.registerFont(made)
    return made


@cache
def _usual() -> frozenset[str]:
    """What the usual typeface draws well one after the other, unshaped."""
    both = set(font(False).face.charToGlyph) & set(font(True).face.charToGlyph)
    letters = (chr(code) for code in both)
    return frozenset(ch for ch in letters if unicodedata.category(ch) not in ("Cc", "Cf", "Mn", "Me"))


@cache
def _as_they_are() -> frozenset[str]:
    """Those of the usual typeface that are printed as they are written, whatever stands beside them."""
    lone = (ch for ch in _usual() if ch < "\u1100" or "\u1200" <= ch < "\U0001f000")  # nothing that joins in pairs
    return frozenset(ch for ch in lone if clean(ch) == ch and len(list(clusters(f"a{ch}"))) == 2)


def _plain(text: str) -> bool:
    return text.isascii() or _usual().issuperset(text)


@lru_cache(maxsize=KEPT)
def _printable(text: str) -> tuple[str, frozenset[str]]:
    """What is printed for ``text``, and the characters that had to be written out."""
    if _as_they_are().issuperset(text) and marked_off(text) == text:
        return text, frozenset()
    whole = marked_off(composed(clean(text)))
    if _plain(whole):
        return whole, frozenset()
    from strapwork.drawing import scripts

    shaped = scripts.available()
    glyphs = font(False).face.charToGlyph
    out: list[str] = []
    lacking: set[str] = set()
    for cluster in clusters(whole):
        if shaped and not any(map(is_blank, cluster)) and scripts.face_of(cluster) is not None:
            out.append(cluster)
            continue
        for ch in cluster:
            if not is_blank(ch) and (scripts.face_of(ch) is not None if shaped else ord(ch) in glyphs):
                out.append(ch)
            elif not is_unseen(ch):
                out.append(spelled(ch))
                lacking.add(ch)
    return "".join(out), frozenset(lacking)


def printable(text: str) -> str:
    """``text`` as it is printed: characters that no typeface has written out, such as ``<U+5C71>``.

    Two texts that differ in what can be seen differ here too.
    """
    if text.isascii() and text.isprintable() and "<U+" not in text:
        return text
    return _printable(text)[0]


def scripts_available() -> bool:
    """Whether the extra ``scripts`` is installed, so that more than the usual typeface can be printed."""
    from strapwork.drawing import scripts

    return scripts.available()


def missing(text: str) -> frozenset[str]:
    """The characters of ``text`` that no installed typeface has, and that are written out by number."""
    return frozenset() if text.isascii() else _printable(text)[1]


def shaped(text: str, strong: bool = False) -> Line | None:
    """The shaped line for a text that has more than the usual typeface; None where that one does."""
    if text.isascii():
        return None
    shown = printable(text)
    if _plain(shown):
        return None
    from strapwork.drawing import scripts

    return scripts.line(shown, strong) if scripts.available() else None


class _Widths(dict[str, float]):
    """Widths of letters in thousandths of an em, each looked up in the face when it is first met."""

    def __init__(self, strong: bool) -> None:
        super().__init__()
        self._face = font(strong).face

    def __missing__(self, letter: str) -> float:
        wide: float = self._face.charWidths.get(ord(letter), self._face.defaultWidth)
        self[letter] = wide
        return wide


@cache
def _widths(strong: bool) -> _Widths:
    return _Widths(strong)


@lru_cache(maxsize=KEPT)
def text_width(text: str, size: float, strong: bool = False) -> float:
    """Width in mm of ``text`` set at ``size`` mm."""
    line = shaped(text, strong)
    if line is not None:
        return line.width * size
    # What reportlab's stringWidth gives, letter by letter in C.
    return float(0.001 * size * sum(map(_widths(strong).__getitem__, printable(text))))


def shortened(text: str, size: float, width: float, strong: bool = False) -> str:
    """``text``, cut with an ellipsis if it would be wider than ``width`` mm; no letter loses its marks."""
    if text_width(text, size, strong) <= width:
        return text
    parts = list(text) if text.isascii() else list(clusters(text))
    lo, hi = 0, len(parts)
    while lo < hi:
        mid = (lo + hi + 1) // 2
        if text_width("".join(parts[:mid]).rstrip() + "…", size, strong) <= width:
            lo = mid
        else:
            hi = mid - 1
    return "".join(parts[:lo]).rstrip() + "…"


def wrapped(text: str, size: float, width: float, strong: bool = False) -> list[str]:
    """``text`` broken into lines no wider than ``width`` mm: at spaces, and where a script has none, between letters."""
    lines: list[str] = []
    current = ""
    for word in text.split(" "):
        trial = f"{current} {word}" if current else word
        if (not current and word.isascii()) or text_width(trial, size, strong) <= width:
            current = trial
            continue
        parts = _parts(word)
        if len(parts) == 1:
            if current:
                lines.append(current)
            current = word
            continue
        gap = " " if current else ""
        for part in parts:
            trial = f"{current}{gap}{part}"
            if current and text_width(trial, size, strong) > width:
                lines.append(current)
                trial = part
            current, gap = trial, ""
    lines.append(current)
    return [shortened(one, size, width, strong) for one in lines]


def _parts(word: str) -> list[str]:
    """``word`` in parts between which a line may be broken; one part for a script that has spaces."""
    if word.isascii():
        return [word]
    out: list[str] = []
    free = False
    for cluster in clusters(word):
        now = _unspaced(cluster[0]) or bool(missing(cluster))
        if out and not ((now or free) and cluster[0] not in _NEVER_FIRST):
            out[-1] += cluster
        else:
            out.append(cluster)
        free = now
    return out


def _unspaced(ch: str) -> bool:
    return unicodedata.east_asian_width(ch) in ("W", "F") or any(a <= ch <= b for a, b in _UNSPACED)


__all__ = [
    "CSS_FAMILY", "REGULAR", "STRONG", "file", "font", "missing", "printable", "scripts_available", "shaped",
    "shortened", "text_width", "wrapped",
]  # fmt: skip
