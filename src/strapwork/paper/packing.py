"""Packing: which block stands on which sheet and where, before anything is drawn.

Long straps are stacked, and laid end to end, across runs of sheets that are
taped; short ones fill what is left beside and under them, and then sheets of
their own.  A strap a little too long for the sheet may lie askew on it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from strapwork.geometry.shape import Box, cos_sin, rotate_point
from strapwork.paper import filling as filling_
from strapwork.paper import joins
from strapwork.paper.features import joined
from strapwork.paper.joins import Columns
from strapwork.paper.runs import CELL_GAP, FOOT_LEAST, GRACE, LAST_LABEL, ROW_GAP, Run, Spot
from strapwork.paper.setting import Frame
from strapwork.paper.strap_blocks import Block

TILTS = [(k / 2.0, cos_sin(k / 2.0)) for k in range(6, 71)]  # up to 35 degrees
# How much further along a row a strap is tried where its own holes and words are in the way of the joins.
FURTHER = (0.0, 15.0, 30.0, 45.0, 60.0, 90.0, 120.0, 160.0, 200.0)
# Whether a strap a little too long lies askew: never, where it would begin a run of sheets, or always.
ASKEW = ("never", "rather", "always")
# Runs with room left that are looked at for the next block, the newest ones: with all of them a large job
# would take a time that grows with the square of its pieces.
OPEN_RUNS = 8
ABOUT = 0.9  # of another's length: a strap about as long


def pack(
    blocks: Sequence[Block], long: Frame, short: Frame, askew: str, most: int | None = None, *, moved: bool = False
) -> list[Run] | None:
    """All blocks on runs of sheets; None where that takes more than ``most`` sheets.

    Args:
        blocks: what has to be placed.
        long: how the paper lies for straps that run over several sheets.
        short: how it lies for the others.
        askew: one of :data:`ASKEW`.
        most: sheets, where another way is known that takes so many.
        moved: whether what fits a sheet is moved about until it takes no more, which takes longer.
    """
    fill: list[Block] = []
    over: list[Block] = []
    for b in blocks:
        fits = b.cell <= short.room[0] + GRACE and b.height(b.cell) <= short.room[1] + GRACE
        (fill if fits else over).append(b)
    if moved and not 0 < len(fill) <= filling_.FEW:
        return None
    # Of orders that take as many sheets the first is taken: a later one is given up where it is no better.
    left, best = math.inf if most is None else most, None
    for order in _long_orders(over):
        runs = _tape(order, long, askew, left)
        if runs is not None:
            best, left = runs, count_sheets(runs) - 1
    if best is None:
        return None
    left = math.inf if most is None else most - count_sheets(best)
    filling = filling_.fill(fill, best, short, left, moved=moved)
    return None if filling is None else sorted([*best, *filling.use()], key=lambda r: r.first)


def count_sheets(runs: Sequence[Run]) -> int:
    """How many sheets the runs take."""
    return sum(r.count for r in runs)


def lies_askew(b: Block, frame: Frame) -> bool:
    """Whether a block is one that may lie askew."""
    return _askew(b, frame) is not None


def _long_orders(blocks: list[Block]) -> list[list[Block]]:
    """Orders to try for straps that run over several sheets: the longest first, among those about as long the widest
    first, and the highest next to the longest."""
    longest = sorted(blocks, key=lambda b: -b.length)
    if len(blocks) < 3:
        return [longest]
    about: list[list[Block]] = []
    for b in longest:
        if not about or b.length < ABOUT * about[-1][0].length:
            about.append([])
        about[-1].append(b)
    widest = [b for group in about for b in sorted(group, key=lambda b: (-b.width, -b.length))]
    highest = [longest[0], *sorted(longest[1:], key=lambda b: (-b.width, -b.length))]
    return filling_.different([longest, widest, highest])


def _tape(blocks: Sequence[Block], frame: Frame, askew: str, most: float) -> list[Run] | None:
    """Blocks on runs of sheets; None where that takes more than ``most``."""
    runs: list[Run] = []
    open_: list[Run] = []
    count = 0
    length, width = _least_after(blocks)
    for k, b in enumerate(blocks):
        turned = _askew(b, frame) if askew == "always" else None
        if turned is not None:
            runs.append(turned)
            count += turned.count
        elif not any(_join_in(run, b) for run in open_):
            runs.append((_askew(b, frame) if askew == "rather" else None) or _run(b, frame))
            open_.append(runs[-1])
            count += runs[-1].count
        if count > most:
            return None
        open_ = [run for run in open_ if not _full(run, length[k], width[k])][-OPEN_RUNS:]
    return runs


def _least_after(blocks: Sequence[Block]) -> tuple[list[float], list[float]]:
    """The least length and the least width of the blocks that come after each."""
    length, width = [math.inf], [math.inf]
    for b in reversed(blocks[1:]):
        length.append(min(length[-1], b.length))
        width.append(min(width[-1], b.width))
    return length[::-1], width[::-1]


def _full(run: Run, length: float, width: float) -> bool:
    """Whether nothing as long and as wide as this, or more, can be joined in."""
    if len(run.rows) > 1 or any(s.angle for s in run.spots):
        return True
    wide, high = run.frame.room
    if max(s.top + s.tall for s in run.spots) + ROW_GAP + width + FOOT_LEAST + joins.CROWN <= high:
        return False
    ends: dict[float, float] = {}
    for s in run.spots:
        ends[s.top] = max(ends.get(s.top, 0.0), s.end)
    return min(ends.values()) + CELL_GAP + length > _reach(run, wide)


def _reach(run: Run, wide: float) -> float:
    """How far the columns of a run reach, in mm of the whole."""
    return len(run.cols.windows) * (wide - joins.OVERLAP) + joins.OVERLAP


def _run(b: Block, frame: Frame) -> Run:
    wide, high = frame.room
    cols = joins.columns(b.length, wide, b.features, b.words_along)
    run = Run(frame, cols, ())
    spot = Spot(b, 0.0, 0.0, 0.0, 0.0)
    label = max(z - a for a, z in (run.visible(spot, c) for c in range(len(cols.windows))))
    if len(cols.windows) == 1:
        label = min(max(label, b.cell), wide)
    spot = Spot(b, 0.0, 0.0, label, _tall(b, label))
    return Run(frame, cols, joins.rows(spot.tall, high), [spot], features=b.features, words=b.words_along)


def _tall(b: Block, label: float) -> float:
    return max(b.label(label)[1] + b.crown, joins.CROWN) + b.width + max(b.foot, FOOT_LEAST)


def _join_in(run: Run, b: Block) -> bool:
    """Add a block to a run where there is room for it without a further sheet; whether there was."""
    if len(run.rows) > 1 or any(s.angle for s in run.spots):
        return False
    high = run.frame.room[1]
    levels = sorted({s.top for s in run.spots})
    for top in levels:
        row = [s for s in run.spots if s.top == top]
        # Under the lowest row there is nothing yet: it may grow.
        tall = high - top if top == levels[-1] else max(s.tall for s in row)
        if _in_row(run, b, max(s.end for s in row) + CELL_GAP, top, tall):
            return True
    below = max(s.top + s.tall for s in run.spots) + ROW_GAP
    return _in_row(run, b, 0.0, below, high - below)


def _in_row(run: Run, b: Block, begin: float, top: float, room: float) -> bool:
    """Add a block to a row of a run, ``begin`` mm along it or further; whether there was room."""
    reach = _reach(run, run.frame.room[0])
    # Its label has no more room than it is long: where it is too high so, no place along the row needs to be tried.
    if b.width + FOOT_LEAST + joins.CROWN > room or begin + b.length > reach or _tall(b, b.length) > room + GRACE:
        return False
    return any(_try(run, b, begin + f, top, room) for f in FURTHER if begin + f + b.length <= reach)


def _try(run: Run, b: Block, x: float, top: float, room: float) -> bool:
    wide, n = run.frame.room[0], len(run.cols.windows)
    trial = Spot(b, x, top, 0.0, 0.0)
    spots = [*run.spots, trial]
    features = joined([*run.features, *((p + x, q + x) for p, q in b.features)])
    words = joined([*run.words, *((p + x, q + x) for p, q in b.words_along)])
    cols = joins.columns(max(s.end for s in spots), wide, features, words)
    if len(cols.windows) > n or not cols.clean:
        return False
    shown = [cols.inner(c, joins.CLEAR_OF_RING) for c in range(len(cols.windows))]
    widest = [max(min(z, s.end) - max(a, s.x) for a, z in shown) for s in spots]
    if min(widest) < LAST_LABEL:
        return False
    # Joins may have moved: labels that have less room now must not grow higher than they were.
    labels = [min(w, s.label or w) for w, s in zip(widest, spots, strict=True)]
    talls = [_tall(s.block, label) for s, label in zip(spots, labels, strict=True)]
    limits = [*(s.tall for s in run.spots), room]
    if any(tall > limit + GRACE for tall, limit in zip(talls, limits, strict=True)):
        return False
    run.cols, run.features, run.words = cols, features, words
    run.spots = [Spot(s.block, s.x, s.top, wide, tall) for s, wide, tall in zip(spots, labels, talls, strict=True)]
    return True


def _askew(b: Block, frame: Frame) -> Run | None:
    """A sheet of its own for a block that lies askew; None where it does not fit so."""
    wide, high = frame.room
    if b.length <= wide or b.length >= math.hypot(wide, high):
        return None
    long, tall = b.length, b.height(b.length)
    for angle, (c, s) in TILTS:
        # The box round it, as tilted() has it, but without its corners: this is asked of every strap in turn.
        if c * long + s * tall <= wide and s * long + c * tall <= high:
            spot = Spot(b, 0.0, 0.0, long, tall, angle)
            return Run(frame, Columns(((0.0, wide),), ()), ((0.0, high),), [spot])
    return None


def tilted(length: float, tall: float, angle: float) -> Box:
    """The box round an upright one of ``length`` by ``tall`` mm, turned about its lower left corner."""
    corners = [rotate_point(p, angle) for p in ((0.0, 0.0), (length, 0.0), (length, tall), (0.0, tall))]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return min(xs), min(ys), max(xs), max(ys)
