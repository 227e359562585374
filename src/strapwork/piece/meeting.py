"""A load that the weakest section does not meet with its factor, and what would meet it, found by trying."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from strapwork.errors import InputError
from strapwork.order.order import Order
from strapwork.piece import load
from strapwork.piece.findings import TRADE, Finding
from strapwork.piece.load import Load
from strapwork.piece.piece import Piece
from strapwork.units import STANDARD_GRAVITY, Thickness, say, say_thin

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
    remedies = [r for r in (_wider(order, work_out), _thicker(order, work_out), _posts(e)) if r]
    kilos = math.floor(e.advised / STANDARD_GRAVITY * 10) / 10
    remedies.append(f"{'or ' if remedies else ''}hang no more than {kilos:g} kg on it")
    return Finding(
        "caution",
        "load-short",
        f"the weakest section ({e.weakest.what}) holds {e.weakest.newtons / piece.asked_load:.1f} times the load asked about, by the estimate; "
        f"with the factor {e.factor:g} it should be {e.factor:g} times",
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
    for width in _tries(now, WIDEST, 1.0):
        if _meets(replace(order, ask=order.ask.model_copy(update={"width": width})), work_out):
            return f"make it {say(width)} wide"
    return ""


def _thicker(order: Order, work_out: Callable[[Order], Piece]) -> str:
    for t in _tries(order.leather.thickness.high, THICKEST, 0.1):
        if _meets(replace(order, leather=replace(order.leather, thickness=Thickness(t, t))), work_out):
            return f"use leather {say_thin(t)} thick"
    return ""


def _tries(now: float, most: float, step: float) -> Iterator[float]:
    """Larger values to try, each a whole number of steps."""
    for factor in STEPS:
        value = round(math.ceil(now * factor / step - 1e-9) * step, 6)
        if value <= most:
            yield value


def _posts(e: Load) -> str:
    """More posts, where posts are what gives way and nothing else does."""
    if e.asked is None or not e.weakest.posts:
        return ""
    others = [s for s in e.sections if not s.posts]
    if any(s.newtons / e.factor < e.asked for s in others):
        return ""
    need = math.ceil(e.weakest.posts * e.asked * e.factor / e.weakest.newtons - 1e-9)
    return f"set {need} posts instead of {e.weakest.posts} at that end (in a pattern of your own)"
