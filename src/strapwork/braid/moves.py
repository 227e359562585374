"""What one turn does to the strands: who moves, over whom, and where all of them lie then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.braid.word import Turn


@dataclass(frozen=True, slots=True)
class Move:
    """One strand within one row: from position to position (between two where it is drawn aside)."""

    strand: int
    start: float
    end: float


def moves(order: Sequence[int], turn: Turn) -> tuple[list[Move], dict[tuple[int, int], bool], list[int], int]:
    """What a turn does to the strands lying in ``order``.

    Returns:
        The moves by start position, for every crossing pair ``(a, b)`` whether a
        is over b, the new order, and the strand that the maker moves.
    """
    now = list(order)
    over: dict[tuple[int, int], bool] = {}
    for c in turn.crossings:
        i = abs(c) - 1
        a, b = now[i], now[i + 1]
        over[a, b] = c > 0
        over[b, a] = c < 0
        now[i], now[i + 1] = b, a
    rows = [Move(s, k, now.index(s) + 1) for k, s in enumerate(order, start=1)]
    if turn.side == "R":
        mover = order[-1]
    elif turn.side == "L":
        mover = order[0]
    else:
        i = abs(turn.crossings[0]) - 1
        mover = order[i] if turn.crossings[0] > 0 else order[i + 1]
    return rows, over, now, mover
