"""How a piece is worn, in words: round what was measured, or standing as a handle."""

from __future__ import annotations

import math

from strapwork.piece.piece import Piece
from strapwork.units import format_length


def round_it(piece: Piece, units: str) -> str:
    """A band round what was measured."""
    fit, what = piece.fit, piece.pattern.measure.what
    return (
        f"Round the {what}, to scale: {format_length(fit.finished, units)} along the middle of its thickness, "
        f"{format_length(fit.ease, units)} of it ease"
    )


def standing(piece: Piece, units: str) -> str:
    """A handle as a half circle: 2 L / pi from foot to foot and L / pi high, along its middle line of length L."""
    r, p = piece.fit.finished / math.pi, piece.pattern
    feet = p.start.reference
    between = f"from {feet} to {feet}" if feet == p.finish.reference else f"from {feet} to {p.finish.reference}"
    return f"Standing as a half circle, to scale: {format_length(2.0 * r, units)} {between}, {format_length(r, units)} high"
