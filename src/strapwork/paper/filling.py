"""Filling: straps that fit one sheet in what is free on taped sheets, and on sheets of their own.

On a sheet of its own only the square and the ruler have a fixed place: straps
may stand beside the square, and the words in what they leave.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from strapwork.geometry.shape import Box
from strapwork.paper.joins import Columns
from strapwork.paper.runs import CELL_GAP, FOOT_LEAST, GRACE, LAST_LABEL, ROW_GAP, Run, Spot
from strapwork.paper.setting import Frame
from strapwork.paper.strap_blocks import Block

# Sheets with room left that are looked at for the next block, the newest ones: with all of them a large job
# would take a time that grows with the square of its pieces.
OPEN_SHEETS = 24
# So few blocks are moved about, where that might spare a sheet; from so many beginnings, and altogether so often for
# each that a dozen have 200 moves.
FEW, BEGINNINGS, MOVES = 24, 6, 2400
SLIVER = 10.0
# A block, and whether its label may run on beside it so that it is lower.
Item = tuple[Block, bool]


@dataclass
class Filling:
    """One way of filling: new sheets, and what goes where on them and into the gaps of runs."""

    runs: list[Run]
    gaps: list[tuple[Run, int, Spot]]
    sheets: list[Sheet]

    def use(self) -> list[Run]:
        for run, c, spot in self.gaps:
            run.fillers.setdefault(c, []).append(spot)
        for s in self.sheets:
            s.run.said = s.words()
        return self.runs


def fill(blocks: Sequence[Block], taped: Sequence[Run], frame: Frame, most: float, *, moved: bool) -> Filling | None:
    """Blocks on as few new sheets as the orders tried give; None where those are more than ``most``.

    With ``moved`` no other than moved orders are tried, of no more than :data:`FEW` blocks.
    """
    least = _least(blocks, taped, frame)
    if moved:
        return _moved(blocks, taped, frame, most) if least <= most else None
    best: Filling | None = None
    for order in _orders(blocks):
        trial = _fill(order, taped, frame, most)
        if trial is not None:
            best, most = trial, len(trial.runs) - 1
        if most < least:
            break
    return best


def _moved(blocks: Sequence[Block], taped: Sequence[Run], frame: Frame, most: float) -> Filling | None:
    """Blocks on ``most`` new sheets: one after the other is moved in their order, and what is no worse is kept.

    Better is an order that leaves less on the emptiest sheet.  The moves are drawn, the same ones at every run.
    """
    for seed in range(BEGINNINGS):
        draw = random.Random(seed)
        now: list[Item] = [(b, True) for b in blocks]
        least = math.inf
        for _ in range(MOVES // len(blocks)):
            new = _move(now, draw)
            trial = _fill(new, taped, frame, most + 1)
            if trial is not None and len(trial.runs) <= most:
                return trial
            rest = _emptiest(trial) if trial is not None else math.inf
            if rest <= least:
                now, least = new, rest
    return None


def _move(items: Sequence[Item], draw: random.Random) -> list[Item]:
    """Another order: two change places, one goes elsewhere, or one has its label over itself alone, or no longer."""
    out = list(items)
    i, j = draw.randrange(len(out)), draw.randrange(len(out))
    kind = draw.randrange(3)
    if kind == 0:
        out[i] = out[i][0], not out[i][1]
    elif kind == 1:
        out[i], out[j] = out[j], out[i]
    else:
        out.insert(j, out.pop(i))
    return out


def _emptiest(trial: Filling) -> float:
    """How much stands on the new sheet that has least on it."""
    on_it = {id(run): 0.0 for run in trial.runs}
    for run, _, spot in trial.gaps:
        if id(run) in on_it:
            on_it[id(run)] += spot.block.length * spot.tall
    return min(on_it.values(), default=0.0)


def _least(blocks: Sequence[Block], taped: Sequence[Run], frame: Frame) -> int:
    """New sheets that blocks need at least: as if poured, or those too long for beside the square one under the other."""
    few = len(blocks) <= FEW
    shapes = [b.shapes(frame.room[0]) if few else b.plain for b in blocks]
    area = sum(min((w + CELL_GAP) * (h + ROW_GAP) for w, h in some) for some in shapes)
    for run in taped:
        area -= run.count * _area(run.frame) - sum(s.block.length * s.tall for s in run.spots)
    poured = math.ceil(area / _area(frame))
    beside = frame.room[0] - min((x1 for _, _, x1, _ in frame.fixed), default=0.0)
    long = [some for some in shapes if some[0][0] > max(beside, frame.room[0] / 2.0)]
    if not long or not few:
        return max(0, poured)
    tall = sum(min(h for _, h in some) + ROW_GAP for some in long)
    wide = min(some[0][0] for some in long)
    tall -= sum(y1 - y0 + ROW_GAP for run in taped for s in _gaps(run) for x0, y0, x1, y1 in s.free if x1 - x0 >= wide)
    return max(0, poured, math.ceil(tall / (frame.room[1] + ROW_GAP) - GRACE))


def _area(frame: Frame) -> float:
    """What of a sheet may be filled, with the room round it."""
    taken = sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in frame.fixed)
    return (frame.room[0] + CELL_GAP) * (frame.deep + ROW_GAP) - taken


def different(orders: Sequence[list[Block]]) -> list[list[Block]]:
    """Each order once."""
    return [order for k, order in enumerate(orders) if order not in orders[:k]]


def _orders(blocks: Sequence[Block]) -> Iterator[list[Item]]:
    """Orders to try: as the job has them, and the largest first; of few blocks with longer labels as well."""
    size: list[Callable[[Block], float]] = [
        lambda b: -b.height(b.cell),
        lambda b: -b.cell,
        lambda b: -b.cell * b.height(b.cell),
    ]
    plain = different([list(blocks), *(sorted(blocks, key=key) for key in size)] if len(blocks) > 1 else [list(blocks)])
    yield from ([(b, False) for b in order] for order in plain)
    if len(blocks) <= FEW:
        yield from ([(b, True) for b in order] for order in plain)


class Sheet:
    """A sheet with free rectangles (left, top, right, bottom; mm of the whole, down from its top)."""

    def __init__(self, run: Run, column: int, free: list[Box], *, single: bool) -> None:
        self.run, self.column, self.free, self.single = run, column, free, single
        self.low = False  # whether something stands beside the square
        self.broken = any(s.block.gap for s in run.spots)

    def put(self, b: Block, wide: bool) -> Spot | None:
        """The block in the highest free place, then the leftmost; None where there is none.

        With ``wide`` its label may run on beside it, where the block ends higher up so.
        """
        best: tuple[tuple[float, float], Box, float, float] | None = None
        for w, h in b.shapes(self.run.frame.room[0]) if wide else b.plain:
            for f in self.free:
                if f[3] - f[1] < h - GRACE or f[2] - f[0] < w - GRACE:
                    continue
                key = (f[1] + h if wide else f[1], f[0])
                if (best is None or key < best[0]) and self._leaves_words(b, f, w, h):
                    best = key, f, w, h
        if best is None:
            return None
        _, f, w, h = best
        x, y = self._corner(f, w, h), f[1]
        self.free = taken(self.free, around(x, y, w, h))
        self.low = self.low or self._is_low(y + h)
        self.broken = self.broken or b.gap is not None
        # A foot without captions still counts as one where the strap's edge is looked for.
        return Spot(b, x, y, w, h - b.foot + max(b.foot, FOOT_LEAST))

    def _is_low(self, bottom: float) -> bool:
        return self.single and bottom > self.run.frame.room[1] + GRACE

    def _corner(self, f: Box, w: float, h: float) -> float:
        """Where a block begins: at the left, but beside the square at the right, so that the words stand next to it."""
        return f[2] - w if self._is_low(f[1] + h) else f[0]

    def _leaves_words(self, b: Block, f: Box, w: float, h: float) -> bool:
        """Whether the words still have a place when a block is put into a free rectangle."""
        if not self.single or not (self.low or self._is_low(f[1] + h)):
            return True  # they have theirs beside the square
        left = taken(self.free, around(self._corner(f, w, h), f[1], w, h))
        shapes = self.run.frame.shapes(broken=self.broken or b.gap is not None)
        return any(f[2] - f[0] >= w and f[3] - f[1] >= h for w, h in shapes for f in left)

    def words(self) -> Box | None:
        """Where the words stand; None where that is beside the square, which nothing shares with them."""
        if not self.low:
            return None
        band = self.run.frame.room[1]
        places = [
            (f[1] + h <= band, -w, -f[1], (f[0], max(f[1], min(band, f[3] - h)), w, h))
            for w, h in self.run.frame.shapes(broken=self.broken)
            for f in self.free
            if f[2] - f[0] >= w and f[3] - f[1] >= h
        ]
        *_, (x, y, w, h) = min(places)
        return x, y, x + w, y + h


def around(x: float, y: float, w: float, h: float) -> Box:
    """A block with the room round it."""
    return x - CELL_GAP, y - ROW_GAP, x + w + CELL_GAP, y + h + ROW_GAP


def taken(free: Sequence[Box], box: Box) -> list[Box]:
    """What is left of free rectangles without a box: every one that it meets becomes up to four."""
    out: list[Box] = []
    x0, y0, x1, y1 = box
    for f in free:
        if x0 >= f[2] or x1 <= f[0] or y0 >= f[3] or y1 <= f[1]:
            out.append(f)
            continue
        parts = ((f[0], f[1], x0, f[3]), (x1, f[1], f[2], f[3]), (f[0], f[1], f[2], y0), (f[0], y1, f[2], f[3]))
        out += [p for p in parts if p[2] - p[0] > SLIVER and p[3] - p[1] > SLIVER]
    return list(dict.fromkeys(f for f in out if not any(f != g and _holds(g, f) for g in out)))


def _holds(outer: Box, inner: Box) -> bool:
    return outer[0] <= inner[0] and outer[1] <= inner[1] and outer[2] >= inner[2] and outer[3] >= inner[3]


def _fill(items: Sequence[Item], taped: Sequence[Run], frame: Frame, most: float) -> Filling | None:
    """Blocks in what is free on runs and on sheets of their own; None where those are more than ``most``."""
    if most < 0:
        return None
    # As low and as narrow as any of them can be.
    least_w = min((b.cell for b, _ in items), default=0.0)
    least_h = min((b.shapes(frame.room[0])[-1][1] if wide else b.plain[0][1] for b, wide in items), default=0.0)

    def of_use(s: Sheet) -> bool:
        return any(f[2] - f[0] >= least_w and f[3] - f[1] >= least_h for f in s.free)

    open_ = [s for run in taped for s in _gaps(run) if of_use(s)]
    out = Filling([], [], [s for s in open_ if s.single])
    empty = _empty(frame)
    for b, wide in items:
        for s in open_[-OPEN_SHEETS:]:
            spot = s.put(b, wide)
            if spot is not None:
                break
        else:
            right, high = frame.room
            run = Run(frame, Columns(((0.0, right),), ()), ((0.0, high),))
            out.runs.append(run)
            if len(out.runs) > most:
                return None
            s = Sheet(run, 0, empty, single=True)
            out.sheets.append(s)
            spot = s.put(b, wide)
            assert spot is not None  # only blocks that fit are filled in
            open_.append(s)
        out.gaps.append((s.run, s.column, spot))
        if not of_use(s):
            open_.remove(s)
    return out


def _empty(frame: Frame) -> list[Box]:
    """What is free on a single sheet with nothing but square and ruler on it."""
    free: list[Box] = [(0.0, 0.0, frame.room[0], frame.deep)]
    for box in frame.fixed:
        free = taken(free, box)
    return free


def _gaps(run: Run) -> list[Sheet]:
    """What is free on the sheets of a run."""
    if len(run.rows) > 1 or any(s.angle for s in run.spots):
        return []
    high = run.frame.room[1]
    out = []
    for c in range(len(run.cols.windows)):
        a, b = run.cols.inner(c)
        free = _empty(run.frame) if run.count == 1 else [(a, 0.0, b, high)]
        for s in run.spots:
            v = run.visible(s, c)
            if v[0] < v[1]:
                right = min(max(s.end, v[0] + LAST_LABEL), b)
                free = taken(
                    free, (min(s.x, v[0]) - CELL_GAP, s.top - ROW_GAP, right + CELL_GAP, s.top + s.tall + ROW_GAP)
                )
        out.append(Sheet(run, c, free, single=run.count == 1))
    return out
