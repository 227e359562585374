"""Findings as sentences: what to mind about a piece, and the cautions that are said once."""

from __future__ import annotations

from collections.abc import Sequence

from strapwork.piece import load
from strapwork.piece.findings import Finding
from strapwork.piece.piece import Piece
from strapwork.say import loads


def sentence(f: Finding) -> str:
    """A finding with its capital and full stop."""
    return f"{f.message[:1].upper()}{f.message[1:]}."


def to_mind(piece: Piece) -> list[Finding]:
    """What this piece in particular needs minding; the cautions of all work are apart."""
    return [f for f in piece.findings if not f.is_safety]


def cautions(pieces: Sequence[Piece]) -> list[str]:
    """The cautions that these pieces need, each once."""
    said = dict.fromkeys(sentence(f) for p in pieces for f in p.findings if f.is_safety)
    if any(load.wanted(p) for p in pieces):
        said[loads.WARNING] = None
    return list(said)
