"""The three lengths of a piece, how the cut length came about, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass

from strapwork.catalogue import tr
from strapwork.piece.fit import printed
from strapwork.piece.piece import Piece
from strapwork.say.straps import references
from strapwork.units import format_length


@dataclass(frozen=True, slots=True)
class Said:
    """One length with its words: what it is, the length as shown, and from where to where (or why)."""

    what: str
    length: str
    why: str


def three(piece: Piece, units: str) -> tuple[Said, Said, Said]:
    """Finished, as cut and overall cut length; never to be mixed up."""
    fit = piece.fit
    return (
        Said(tr("finished"), format_length(fit.finished, units), references(piece)),
        Said(tr("as cut"), format_length(fit.reference_to_reference, units), tr("the same points on the flat strap")),
        Said(tr("overall cut length"), format_length(fit.cut_length, units), tr("raw end to raw end")),
    )


def breakdown(piece: Piece, units: str) -> list[Said]:
    """The lines that add up to the overall cut length, as printed, and their sum last."""
    shown, total = printed(piece.fit, units)
    rows = [Said(tr(row.what), mm, row.why) for row, mm in shown]
    return [*rows, Said(tr("overall cut length"), total, tr("raw end to raw end"))]


def band(piece: Piece, units: str) -> str:
    """How far the cut length may be off, and what that rests on."""
    fit = piece.fit
    if fit.high - fit.low < 1e-9:
        return tr("{cut_length} exactly; {basis}.", cut_length=format_length(fit.cut_length, units), basis=fit.basis)
    return tr(
        "{low} to {high}; it rests on {basis}.",
        low=format_length(fit.low, units),
        high=format_length(fit.high, units),
        basis=fit.basis,
    )
