"""What an order comes to: its piece, refused or with all findings, and the pieces that go with it."""

from __future__ import annotations

from dataclasses import replace

from strapwork.errors import InputError, Place
from strapwork.order import resolve
from strapwork.order.order import Order
from strapwork.piece import checks, meeting
from strapwork.piece.piece import Piece, work_out


def refuse_stops(piece: Piece, place: Place) -> None:
    """Raise the first ``stop`` finding of a piece as an error."""
    if piece.stops:
        found = piece.stops[0]
        raise InputError(str(place), found.problem, found.remedy)


def companion(piece: Piece, order: Order) -> Order | None:
    """The order for the piece that goes with this one, such as a belt's keeper loop."""
    c = piece.pattern.companion
    if c is None:
        return None
    girth = 2.0 * (piece.strap.width + 2.0 * piece.leather.worn[1])
    return resolve.companion(order, c.pattern, c.label, girth)


def with_companions(order: Order) -> list[Piece]:
    """The piece of an order and, after it, what goes with it; stops are raised."""
    piece = work_out(order)
    refuse_stops(piece, order.place)
    if piece.asked_load is not None:
        # The remedies are found by working other pieces out, so this comes on top of them.
        found = meeting.shortfall(piece, order, work_out)
        piece = replace(piece, findings=checks.sorted_findings([*piece.findings, *([found] if found else [])]))
    extra = companion(piece, order)
    return [piece, *(with_companions(extra) if extra else [])]
