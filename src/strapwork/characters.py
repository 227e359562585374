"""What may stand in a name, and how a character that cannot be printed is written out.

A name is kept as its maker wrote it: only what cannot be seen and would let two
names look alike is taken out.  Where no typeface or terminal has a character it
is written as its number, ``<U+5C71>``, the same way on paper, on the bed and on
a terminal, so that two names stay two.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

ZWNJ, ZWJ = "\u200c", "\u200d"
# Written before digits or letters and drawn round them (Unicode Standard, 23.2, prepended concatenation marks).
_DRAWN_FORMAT = frozenset("\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u0890\u0891\u08e2\U000110bd\U000110cd")
# Letters by their category, blank by their look.
_BLANK_LETTERS = frozenset("\u3164\uffa0")
_BLACK_FLAG = "\U0001f3f4"
_VIRAMA = 9
_MARKED = "<U+"


def spelled(ch: str) -> str:
    """A character by its number, such as ``<U+5C71>``."""
    return f"<U+{ord(ch):04X}>"


def marked_off(text: str) -> str:
    """``text`` with a literal ``<U+`` changed, so that it is never taken for a character written out."""
    return text.replace(_MARKED, spelled("<") + _MARKED[1:]) if _MARKED in text else text


def is_variation(ch: str) -> bool:
    """Whether ``ch`` only chooses between looks of the character before it."""
    return "\ufe00" <= ch <= "\ufe0f" or "\U000e0100" <= ch <= "\U000e01ef" or "\u180b" <= ch <= "\u180f"


def is_tag(ch: str) -> bool:
    """Whether ``ch`` is one of the unseen letters that name a flag."""
    return "\U000e0020" <= ch <= "\U000e007f"


def is_blank(ch: str) -> bool:
    """Whether ``ch`` counts as a letter but leaves the paper empty."""
    return ch in _BLANK_LETTERS


def is_unseen(ch: str) -> bool:
    """Whether ``ch`` draws nothing of its own and needs no glyph."""
    return ch in (ZWJ, ZWNJ, "\u034f") or is_variation(ch) or is_tag(ch)


def _pictorial(ch: str) -> bool:
    return unicodedata.category(ch) in ("So", "Sk", "Cn") or is_variation(ch) or is_tag(ch)


def _joiner_counts(before: str, joiner: str, after: str) -> bool:
    """Whether a joiner between two characters changes how they are drawn.

    Beside a virama and between letters that join, as RFC 5892, appendix A.1 and
    A.2 have it; and between two pictures.
    """
    if _VIRAMA in (unicodedata.combining(before), unicodedata.combining(after)):
        return True
    if unicodedata.bidirectional(before) == "AL" and unicodedata.bidirectional(after) == "AL":
        return True
    return joiner == ZWJ and _pictorial(before) and _pictorial(after)


def clean(text: str) -> str:
    """``text`` without characters that cannot be seen: changes of direction, idle joiners, tags of no flag.

    Controls, breaks and every kind of space become a plain space.
    """
    if text.isascii() and text.isprintable():
        return text
    out: list[str] = []
    for k, ch in enumerate(text):
        kind = unicodedata.category(ch)
        if kind in ("Cc", "Zs", "Zl", "Zp"):
            out.append(" ")
        elif ch in (ZWJ, ZWNJ):
            if out and k + 1 < len(text) and _joiner_counts(out[-1][-1], ch, text[k + 1]):
                out.append(ch)
        elif is_tag(ch):
            if out and (out[-1] == _BLACK_FLAG or is_tag(out[-1][-1])):
                out.append(ch)
        elif kind != "Cf" or ch in _DRAWN_FORMAT:
            out.append(ch)
    return "".join(out)


def tidy(text: str) -> str:
    """A name on one line: cleaned, spaces folded, what is no character at all (a broken byte) written out."""
    return encodable(re.sub(r"\s+", " ", clean(text)).strip())


def encodable(text: str) -> str:
    """``text`` with unpaired surrogates, which no file can hold, written out."""
    return text if text.isascii() else text.encode("utf-8", "backslashreplace").decode("utf-8")


def composed(text: str) -> str:
    """``text`` with accents joined to their letters where Unicode has the letter whole.

    Nothing else changes: the compatibility ideographs, which the usual normal
    form replaces, are different letters to those who bear them.
    """
    if text.isascii():
        return text
    return "".join(unicodedata.normalize("NFC", part) if len(part) > 1 else part for part in clusters(text))


def clusters(text: str) -> Iterator[str]:
    """``text`` in parts that must not be torn: a letter with its marks, a joined picture, a flag.

    The marks, joiners and pairs of Unicode Standard Annex 29, rules GB6 to GB13,
    as far as names need them.
    """
    current = ""
    for ch in text:
        if current and _belongs(current, ch):
            current += ch
        else:
            if current:
                yield current
            current = ch
    if current:
        yield current


def _belongs(current: str, ch: str) -> bool:
    last = current[-1]
    if unicodedata.category(ch) in ("Mn", "Mc", "Me") or is_unseen(ch) or "\U0001f3fb" <= ch <= "\U0001f3ff":
        return True
    if last == ZWJ:
        return _pictorial(ch)
    if "\U0001f1e6" <= ch <= "\U0001f1ff":
        return len(current) == 1 and "\U0001f1e6" <= last <= "\U0001f1ff"
    # Hangul written in its letters: a syllable goes on with a vowel or a final.
    return "\u1160" <= ch <= "\u11ff" and "\u1100" <= last <= "\u11ff"
