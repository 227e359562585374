"""The embedded typeface, and how wide a line of text is in it.

Open Sans covers Latin with all European accents, Greek and Cyrillic.  It comes
from the package ``ttf-opensans``; only its files are used, so the package
itself is not imported.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont

REGULAR = "OpenSans"
STRONG = "OpenSans-SemiBold"
CSS_FAMILY = "'Open Sans', 'DejaVu Sans', 'Noto Sans', sans-serif"


def _file(name: str) -> Path:
    spec = find_spec("ttf_opensans")
    if spec is None or spec.origin is None:  # pragma: no cover - a broken install
        raise ModuleNotFoundError("the package ttf-opensans is not installed")
    return Path(spec.origin).parent / "ttf" / name


@cache
def font(strong: bool) -> TTFont:
    """The reportlab font object, registered on first use."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    name = STRONG if strong else REGULAR
    file = "OpenSans-SemiBold.ttf" if strong else "OpenSans-Regular.ttf"
    made = TTFont(name, str(_file(file)))
    pdfmetrics.registerFont(made)
    return made


def clean(text: str) -> str:
    """``text`` without control, bidirectional-override and unpaired surrogate characters."""
    return (
        "".join(ch for ch in text if unicodedata.category(ch) not in ("Cc", "Cf", "Cs", "Co", "Cn") or ch == "\u00ad")
        .replace("\u2028", " ")
        .replace("\u2029", " ")
    )


def printable(text: str, strong: bool = False) -> str:
    """``text`` with characters that the typeface lacks shown as ``?``."""
    if text.isascii() and text.isprintable():
        return text
    glyphs = font(strong).face.charToGlyph
    return "".join(ch if ord(ch) in glyphs else "?" for ch in clean(text))


@cache
def text_width(text: str, size: float, strong: bool = False) -> float:
    """Width in mm of ``text`` set at ``size`` mm."""
    return float(font(strong).stringWidth(printable(text, strong), size))


def shortened(text: str, size: float, width: float, strong: bool = False) -> str:
    """``text``, cut with an ellipsis if it would be wider than ``width`` mm."""
    if text_width(text, size, strong) <= width:
        return text
    lo, hi = 0, len(text)
    while lo < hi:
        mid = (lo + hi + 1) // 2
        if text_width(text[:mid].rstrip() + "…", size, strong) <= width:
            lo = mid
        else:
            hi = mid - 1
    return text[:lo].rstrip() + "…"


def wrapped(text: str, size: float, width: float, strong: bool = False) -> list[str]:
    """``text`` broken at spaces into lines no wider than ``width`` mm."""
    lines: list[str] = []
    current = ""
    for word in text.split(" "):
        trial = f"{current} {word}" if current else word
        if current and text_width(trial, size, strong) > width:
            lines.append(current)
            current = word
        else:
            current = trial
    lines.append(current)
    return [shortened(one, size, width, strong) for one in lines]
