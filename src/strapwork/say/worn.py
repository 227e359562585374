"""How a piece is worn, in words: round what was measured, or standing as a handle."""

from __future__ import annotations

import math

from strapwork.catalogue import tr
from strapwork.piece.piece import Piece
from strapwork.units import format_length


def spanned(piece: Piece) -> float:
    """How much of a band's turn the lace spans from reference point to reference point, in mm; 0 where no ends are tied."""
    return piece.pattern.start.gap + piece.pattern.finish.gap


def round_it(piece: Piece, units: str) -> str:
    """A band round what was measured."""
    fit, what = piece.fit, piece.pattern.measure.called
    if spanned(piece):
        return tr(
            "Round the {what}, to scale: {whole} along the middle of its thickness, {ease} of it ease and {lace} "
            "from {reference} to {reference2}, where it is laced",
            what=what,
            whole=format_length(fit.finished + spanned(piece), units),
            ease=format_length(fit.ease, units),
            lace=format_length(spanned(piece), units),
            reference=piece.pattern.start.reference,
            reference2=piece.pattern.finish.reference,
        )
    return tr(
        "Round the {what}, to scale: {finished} along the middle of its thickness, {ease} of it ease",
        what=what,
        finished=format_length(fit.finished, units),
        ease=format_length(fit.ease, units),
    )


def standing(piece: Piece, units: str) -> str:
    """A handle as a half circle: 2 L / pi from foot to foot and L / pi high, along its middle line of length L."""
    r, p = piece.fit.finished / math.pi, piece.pattern
    feet = p.start.reference
    between = (
        tr("from {feet} to {feet}", feet=feet)
        if feet == p.finish.reference
        else tr("from {feet} to {reference}", feet=feet, reference=p.finish.reference)
    )
    return tr(
        "Standing as a half circle, to scale: {r} {between}, {r2} high",
        r=format_length(2.0 * r, units),
        between=between,
        r2=format_length(r, units),
    )
