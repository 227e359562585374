"""The places along a strap by letters: A, B, C, .. from its start, for the picture, the steps and the table alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.catalogue import tr
from strapwork.piece.piece import Piece
from strapwork.piece.strap import EndName

NEAR = 0.05


@dataclass(frozen=True, slots=True)
class Place:
    """One place along the strap: its letter, where it is in strap mm, and the end it belongs to."""

    letter: str
    x: float
    end: EndName


def name(k: int) -> str:
    """A to Z, then AA, AB, .. for the places 0, 1, .."""
    return name(k // 26 - 1) + chr(65 + k % 26) if k >= 26 else chr(65 + k)


def of(piece: Piece) -> tuple[Place, ...]:
    """Every fold, hole and slit stop of a piece; a row of holes has one place, that of its measured hole."""
    strap, found = piece.strap, dict[float, EndName]()
    middle = strap.length / 2.0

    def add(x: float) -> None:
        if not any(abs(x - other) < NEAR for other in found):
            found[x] = "start" if x < middle else "finish"

    rows: dict[str, list[float]] = {}
    for h in strap.holes:
        if h.purpose == "adjustment":
            rows.setdefault(h.end, []).append(h.x)
        elif h.purpose != "relief":
            add(h.x)
    for end, xs in rows.items():
        mine = reference(piece, end)
        add(min(xs, key=lambda x: abs(x - mine)))
    for m in strap.marks:
        if m.kind == "fold":
            add(m.line.x0)
    if strap.slits:
        add(piece.fit.slit_start)
        add(piece.fit.slit_end)
    ordered = sorted(found)
    return tuple(Place(name(k), x, found[x]) for k, x in enumerate(ordered))


def reference(piece: Piece, end: str) -> float:
    """Where the reference point of an end lies, in strap mm."""
    if end == "start":
        return piece.pattern.start.to_tip
    return piece.fit.cut_length - piece.pattern.finish.to_tip


def letter(places: Sequence[Place], x: float) -> str:
    """The letter of the place at ``x``; empty where that place has none."""
    return next((p.letter for p in places if abs(p.x - x) < NEAR), "")


def letters(places: Sequence[Place], xs: Sequence[float]) -> str:
    """``A``, ``A and D``, ``A, B and D``; places without a letter are left out."""
    return listed([p.letter for p in places if any(abs(p.x - x) < NEAR for x in xs)])


def listed(words: Sequence[str]) -> str:
    """Words with commas, and ``and`` before the last."""
    if len(words) < 2:
        return "".join(words)
    return tr("{words} and {words2}", words=", ".join(words[:-1]), words2=words[-1])


def span(piece: Piece) -> str:
    """From reference point to reference point by letters, e.g. ``A–D``; ``ends`` where that is the whole strap."""
    here = of(piece)
    a, b = letter(here, reference(piece, "start")), letter(here, reference(piece, "finish"))
    return f"{a}–{b}" if a and b else tr("as cut")


def slits(piece: Piece) -> str:
    """The stops of the slits by letters, e.g. ``B–C``; empty where there are none."""
    here = of(piece)
    return f"{letter(here, piece.fit.slit_start)}–{letter(here, piece.fit.slit_end)}" if piece.strap.slits else ""
