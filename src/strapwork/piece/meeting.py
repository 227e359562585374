"""A load that the weakest section does not meet with its factor, and what would meet it, found by trying."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from strapwork.catalogue import tr, trn
from strapwork.errors import InputError
from strapwork.order.order import Order
from strapwork.piece import load
from strapwork.piece.findings import TRADE, Finding
from strapwork.piece.piece import Piece
from strapwork.units import STANDARD_GRAVITY, parse_length, parse_thickness, say_at_least, say_thin_at_least

STEPS = (1.2, 1.4, 1.7, 2.0, 2.5, 3.0, 4.0, 5.0, 6.5, 8.0)
WIDEST, THICKEST = 150.0, 12.0


def shortfall(piece: Piece, order: Order, work_out: Callable[[Order], Piece]) -> Finding | None:
    """The caution for a load asked about that is more than the advised one; None where it is met.

    Args:
        piece: as worked out.
        order: what it was worked out from.
        work_out: works out another order, without asking this again.
    """
    if piece.asked_load is None:
        return None
    e = load.estimate(piece)
    if e.advised >= piece.asked_load - 1e-9:
        return None
    remedies = [_wider(order, work_out), _thicker(order, work_out), _posts(piece, order, work_out)]
    remedies = [r for r in remedies if r]
    kilos = math.floor(e.advised / STANDARD_GRAVITY * 10) / 10
    least = tr("hang no more than {kilos:g} kg on it", kilos=kilos) if kilos else tr("hang nothing on it")
    remedies.append(f"{'or ' if remedies else ''}{least}")
    return Finding(
        "caution",
        "load-short",
        tr(
            "the weakest section ({what}) holds {newtons:.1f} times the load asked about, by the estimate; "
            "with the factor {factor:g} it should be {factor:g} times",
            what=e.weakest.what,
            newtons=e.weakest.newtons / piece.asked_load,
            factor=e.factor,
        ),
        ", ".join(remedies),
        TRADE,
    )


def _meets(order: Order, work_out: Callable[[Order], Piece]) -> bool:
    try:
        piece = work_out(order)
    except InputError:
        return False
    return not piece.stops and order.ask.load is not None and load.estimate(piece).advised >= order.ask.load - 1e-9


def _wider(order: Order, work_out: Callable[[Order], Piece]) -> str:
    now = order.ask.width or order.pattern.strap.width
    for value in _tries(now, WIDEST, 1.0):
        # What is tried is what will be read and typed back.
        said = say_at_least(value)
        width = parse_length(said, place="width")
        if _meets(replace(order, ask=order.ask.model_copy(update={"width": width})), work_out):
            return tr("make it {said} wide", said=said)
    return ""


def _thicker(order: Order, work_out: Callable[[Order], Piece]) -> str:
    for value in _tries(order.leather.thickness.high, THICKEST - 0.1, 0.1):
        said = say_thin_at_least(value)
        if _meets(
            replace(order, leather=replace(order.leather, thickness=parse_thickness(said, place="leather"))), work_out
        ):
            return tr("use leather {said} thick", said=said)
    return ""


def _tries(now: float, most: float, step: float) -> Iterator[float]:
    """Larger values to try, each a whole number of steps."""
    for factor in STEPS:
        value = round(math.ceil(now * factor / step - 1e-9) * step, 6)
        if value <= most:
            yield value


def _posts(piece: Piece, order: Order, work_out: Callable[[Order], Piece]) -> str:
    """More posts, where posts are what gives way; on a wider strap where the rest of this one does not hold either."""
    e = load.estimate(piece)
    if e.asked is None or not e.weakest.posts:
        return ""
    need = e.asked * e.factor
    short = [s for s in e.sections if s.posts and s.newtons < need - 1e-9]
    count = max(math.ceil(s.posts * need / s.newtons - 1e-9) for s in short)
    have = min(s.posts for s in short)
    posts = trn(
        "set {count} posts instead of {have} at that end (in a pattern of your own)",
        "set {count} posts instead of {have} at each end (in a pattern of your own)",
        len(short),
        count=count,
        have=have,
    )

    def rest_holds(width: float) -> bool:
        """Whether all but the posts holds, and the posts hold as much as before, on a strap so wide."""
        try:
            wider = work_out(replace(order, ask=order.ask.model_copy(update={"width": width})))
        except InputError:
            return False
        found = load.estimate(wider)
        return not wider.stops and all(
            s.newtons * (count / s.posts if s.posts else 1.0) >= need - 1e-9 for s in found.sections
        )

    if rest_holds(piece.strap.width):
        return posts
    for value in _tries(piece.strap.width, WIDEST, 1.0):
        said = say_at_least(value)
        if rest_holds(parse_length(said, place="width")):
            return tr("{posts} and make it {said} wide", posts=posts, said=said)
    return ""
