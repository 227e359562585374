"""Names as they come out: what no typeface here has, and names that nobody could tell apart.

Called once for a job, when all its pieces are worked out, since two names are
alike only beside each other.
"""

from __future__ import annotations

import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace

from strapwork.catalogue import tr
from strapwork.characters import spelled
from strapwork.drawing import fonts
from strapwork.piece.findings import Finding
from strapwork.piece.piece import Piece

SOURCE = tr("the typefaces installed here")
MOST_NAMED = 4


def checked(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces, with a finding for each name that is written out by number or looks like another."""
    alike = lookalikes(p.label for p in pieces)
    out: list[Piece] = []
    for p in pieces:
        found = [f for f in (of_name(p.label), _of_pair(p.label, alike.get(p.label, ()))) if f is not None]
        out.append(replace(p, findings=(*p.findings, *found)) if found else p)
    return out


def of_name(label: str) -> Finding | None:
    """The finding for a name with characters that no typeface here has."""
    lacking = sorted(fonts.missing(label))
    if not lacking:
        return None
    named = ", ".join(_named(ch) for ch in lacking[:MOST_NAMED])
    if len(lacking) > MOST_NAMED:
        named += tr(" and {lacking} more", lacking=len(lacking) - MOST_NAMED)
    remedy = (
        tr("write the name in other letters as well")
        if fonts.scripts_available()
        else tr('for other scripts and emoji: pip install "strapwork[scripts]"')
    )
    return Finding(
        "caution",
        "name-not-printable",
        tr(
            "the name '{label}' has characters that cannot be printed here: {named}. On paper it reads {printable}",
            label=label,
            named=named,
            printable=fonts.printable(label),
        ),
        remedy,
        SOURCE,
    )


def lookalikes(labels: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """For every label that looks like others on paper, those others.

    Letters of two alphabets can be drawn the same (Latin A and Cyrillic А), and
    black pictures do not show colours.  Where nothing can be shaped, texts that
    differ are printed differently or in the letters of one typeface, and only
    labels that are the same but for composed accents are found.
    """
    different = list(dict.fromkeys(labels))
    if all(label.isascii() for label in different):
        return {}
    groups: dict[object, list[str]] = defaultdict(list)
    foreign = any(ch > "\u024f" for label in different for ch in label)
    for label in different:
        groups[_look(label) if foreign else fonts.printable(label)].append(label)
    return {a: tuple(b for b in group if b != a) for group in groups.values() if len(group) > 1 for a in group}


def _look(label: str) -> object:
    shown = fonts.printable(label)
    if not fonts.scripts_available():
        return shown
    from strapwork.drawing.outlines import appearance

    return appearance(shown)


def _of_pair(label: str, others: Sequence[str]) -> Finding | None:
    if not others:
        return None
    other = others[0]
    return Finding(
        "caution",
        "names-alike",
        tr(
            "the name '{label}' ({numbers}) looks the same on paper as another piece's ({numbers2})",
            label=label,
            numbers=_numbers(label, other),
            numbers2=_numbers(other, label),
        ),
        tr("give one of them another name"),
        SOURCE,
    )


def _numbers(label: str, other: str) -> str:
    """The characters of ``label`` that ``other`` lacks, by number."""
    return " ".join(spelled(ch) for ch in dict.fromkeys(label) if ch not in other) or tr("in another order or number")


def _named(ch: str) -> str:
    name = unicodedata.name(ch, "")
    return f"{spelled(ch)} ({name.lower()})" if name else spelled(ch)
