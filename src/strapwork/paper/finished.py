"""The finished braid at true scale, as interlaced ribbons drawn from the word and the geometry.

Turns move strands in jerks, but a braid drawn tight lets every strand run
straight from edge to edge.  So each strand's way is straightened between its
turning points.  Two strands change who lies on top where they are furthest
apart between two crossings, which is where they do not overlap.  Between such
moments the ribbons are cut where others lie over them, so that what is hidden
is not drawn.
"""

from __future__ import annotations

import itertools
import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from strapwork.braid.geometry import BraidForm, Plait, step_across
from strapwork.braid.word import Turn
from strapwork.drawing.primitives import Drawing, Hatch, Path, Primitive, polyline
from strapwork.geometry.shape import Line
from strapwork.paper.ribbons import LABELS, hatch_angle, tone

Way = list[tuple[float, float]]
Pair = tuple[int, int]


def lane_ways(strands: int, turns: Sequence[Turn]) -> tuple[dict[int, Way], dict[Pair, list[tuple[float, bool]]]]:
    """Lane of every strand after each turn, and every pair's crossings.

    Returns:
        ``ways[strand]`` as (time in turns, lane) points; ``met[a, b]`` with a < b
        as (time, whether a went over b).
    """
    order = list(range(1, strands + 1))
    ways: dict[int, Way] = {s: [(0.0, float(p))] for p, s in enumerate(order, start=1)}
    met: dict[Pair, list[tuple[float, bool]]] = {}
    for k, turn in enumerate(turns):
        for c in turn.crossings:
            i = abs(c) - 1
            a, b = order[i], order[i + 1]
            met.setdefault((min(a, b), max(a, b)), []).append((k + 0.5, (c > 0) == (a < b)))
            order[i], order[i + 1] = b, a
        for p, s in enumerate(order, start=1):
            ways[s].append((k + 1.0, float(p)))
    return ways, met


def straightened(way: Way) -> Way:
    """A way with only its turning points, a rest at one place counted at its middle."""
    runs: list[list[float]] = []  # lane, first and last time there
    for t, lane in way:
        if runs and runs[-1][0] == lane:
            runs[-1][2] = t
        else:
            runs.append([lane, t, t])
    out: Way = [(runs[0][1], runs[0][0])]
    for before, here, after in zip(runs, runs[1:], runs[2:], strict=False):
        if (here[0] - before[0]) * (after[0] - here[0]) < 0:
            out.append(((here[1] + here[2]) / 2.0, here[0]))
    out.append((runs[-1][2], runs[-1][0]))
    return out


def at(way: Way, t: float) -> float:
    """Lane of a way at time ``t``."""
    k = min(max(bisect_right(way, t, key=lambda p: p[0]), 1), len(way) - 1)
    (t0, y0), (t1, y1) = way[k - 1], way[k]
    return y0 + (y1 - y0) * (t - t0) / (t1 - t0) if t1 > t0 else y0


def _meetings(a: Way, b: Way) -> list[float]:
    """Times at which two ways cross."""
    times = sorted({t for t, _ in (*a, *b)})
    out = []
    for t0, t1 in itertools.pairwise(times):
        d0, d1 = at(a, t0) - at(b, t0), at(a, t1) - at(b, t1)
        if d0 * d1 < 0 or (d0 == 0.0 and d1 != 0.0 and t0 > 0.0):
            out.append(t0 + (t1 - t0) * d0 / (d0 - d1))
    return out


@lru_cache(maxsize=64)
def weave(
    strands: int, turns: tuple[Turn, ...], repeats: int
) -> tuple[dict[int, Way], dict[Pair, list[tuple[float, bool]]], dict[Pair, list[float]]]:
    """Ways, crossings, and when each pair changes who is on top; the same for every size of braid."""
    ways, met = lane_ways(strands, turns * repeats)
    straight = {s: straightened(w) for s, w in ways.items()}
    if all(len(_meetings(straight[a], straight[b])) == len(list_) for (a, b), list_ in met.items()):
        ways = straight
    flips: dict[Pair, list[float]] = {}
    for (a, b), crossings_ in met.items():
        times = _meetings(ways[a], ways[b]) if ways is straight else [t for t, _ in crossings_]
        flips[a, b] = [furthest(ways[a], ways[b], t0, t1) for t0, t1 in itertools.pairwise(times)]
    return ways, met, flips


def drawing(plait: Plait, turns: Sequence[Turn], form: BraidForm, strand_width: float, length: float) -> Drawing:
    """The braid along +x from 0, its middle line on y = 0, at true scale.

    Args:
        plait, turns: the braid and one set of its turns.
        form: its geometry.
        strand_width: in mm.
        length: how much of it to draw, in mm; whole turns are drawn.
    """
    n, one = plait.strands, len(turns)
    count = max(1, int(length / form.pitch + 1e-9))
    ways, met, flips = weave(n, tuple(turns), 2 + math.ceil(count / one))
    angle = math.radians(form.angle_deg)
    gap, half = step_across(plait, strand_width) / math.cos(angle), strand_width / math.cos(angle) / 2.0
    first, last = float(one), float(one + count)
    stops = {first, last}
    stops |= {t for w in ways.values() for t, _ in w if first < t < last}
    stops |= {t for ts in flips.values() for t in ts if first < t < last}
    cuts = sorted(stops)
    out: list[Primitive] = []
    sides = _Sides()
    for t0, t1 in itertools.pairwise(cuts):
        if t1 - t0 < 1e-9:
            continue
        middle = (t0 + t1) / 2.0
        above: dict[Pair, bool] = {}
        for (a, b), crossings_ in met.items():
            over = crossings_[min(bisect_right(flips[a, b], middle), len(crossings_) - 1)][1]
            above[a, b], above[b, a] = over, not over
        lowest = _lowest_first({s: at(w, middle) for s, w in ways.items()}, above, 2.0 * half / gap)
        x0, x1 = (t0 - first) * form.pitch, (t1 - first) * form.pitch
        bands = []
        for s in lowest:
            y0, y1 = ((at(ways[s], t) - (n + 1) / 2.0) * gap for t in (t0, t1))
            bands.append(_Band(s, x0, x1, y0, y1, half))
        for k, band in enumerate(bands):
            hiding = [o for o in bands[k + 1 :] if band.near(o)]
            for quad in band.seen(hiding):
                body = polyline(quad, LABELS, f"tone-{tone(band.strand)}", True)
                out.append(body)
                hatch = hatch_angle(band.strand)
                if hatch is not None:
                    out.append(Hatch(body.segments, hatch, 1.0, LABELS, "hatch"))
            sides.add(band, hiding)
    return (*out, *sides.paths())


@dataclass(frozen=True, slots=True)
class _Band:
    """A strand between two heights of the work: its middle line from (x0, y0) to (x1, y1), ``half`` its width along y."""

    strand: int
    x0: float
    x1: float
    y0: float
    y1: float
    half: float

    def y(self, x: float) -> float:
        return self.y0 + (self.y1 - self.y0) * (x - self.x0) / (self.x1 - self.x0)

    def _meets(self, other: _Band, own: float, theirs: float) -> float | None:
        """Where this band's line ``own`` off its middle meets the other's ``theirs`` off its; None outside."""
        d0, d1 = (self.y0 + own) - (other.y0 + theirs), (self.y1 + own) - (other.y1 + theirs)
        if d0 * d1 >= 0.0:
            return None
        return self.x0 + (self.x1 - self.x0) * d0 / (d0 - d1)

    def _stops(self, over: Sequence[_Band], offsets: Sequence[float]) -> list[float]:
        """Places along x between which nothing changes: edges of this band meet edges of those over it, or those each other."""
        found = {self.x0, self.x1}
        h = self.half
        for k, o in enumerate(over):
            found |= {x for own in offsets for theirs in (-h, h) if (x := self._meets(o, own, theirs)) is not None}
            for q in over[k + 1 :]:
                found |= {x for u in (-h, h) for v in (-h, h) if (x := o._meets(q, u, v)) is not None}
        return sorted(found)

    def seen(self, over: Sequence[_Band]) -> list[list[tuple[float, float]]]:
        """What those over it leave of this band, as quadrilaterals."""
        h, out = self.half, []
        for a, b in itertools.pairwise(self._stops(over, (-h, h))):
            if b - a < 1e-9:
                continue
            m = (a + b) / 2.0
            low: tuple[_Band, float] = (self, -h)
            for o in sorted(over, key=lambda o: o.y(m)):
                if o.y(m) - h > self.y(m) + h:
                    break
                if o.y(m) - h > low[0].y(m) + low[1] + 1e-9:
                    out.append(_quad(a, b, low, (o, -h)))
                if o.y(m) + h > low[0].y(m) + low[1]:
                    low = (o, h)
            if low[0].y(m) + low[1] + 1e-9 < self.y(m) + h:
                out.append(_quad(a, b, low, (self, h)))
        return out

    def near(self, other: _Band) -> bool:
        """Whether the two share any ground."""
        d0, d1 = self.y0 - other.y0, self.y1 - other.y1
        return d0 * d1 < 0.0 or min(abs(d0), abs(d1)) < 2.0 * self.half - 1e-9

    def open_side(self, over: Sequence[_Band], own: float) -> list[tuple[float, float]]:
        """Where along x the side ``own`` off the middle is seen."""
        out = []
        for a, b in itertools.pairwise(self._stops(over, (own,))):
            m = (a + b) / 2.0
            y = self.y(m) + own
            if b - a > 1e-9 and not any(abs(o.y(m) - y) < o.half - 1e-9 for o in over):
                out.append((a, b))
        return out


def _quad(a: float, b: float, low: tuple[_Band, float], high: tuple[_Band, float]) -> list[tuple[float, float]]:
    (p, u), (q, v) = low, high
    return [(a, p.y(a) + u), (b, p.y(b) + u), (b, q.y(b) + v), (a, q.y(a) + v)]


class _Sides:
    """The sides of all strands as they are seen, straight pieces that go on joined to one line."""

    def __init__(self) -> None:
        self._lines: dict[tuple[int, bool], list[Line]] = {}

    def add(self, band: _Band, over: Sequence[_Band]) -> None:
        for own in (-band.half, band.half):
            kept = self._lines.setdefault((band.strand, own > 0), [])
            for a, b in band.open_side(over, own):
                new = Line(a, band.y(a) + own, b, band.y(b) + own)
                if kept and math.dist(kept[-1].end, new.start) < 1e-6 and _in_line(kept[-1], new):
                    new = Line(*kept.pop().start, *new.end)
                kept.append(new)

    def paths(self) -> list[Primitive]:
        return [Path((s,), False, LABELS, "edge") for lines in self._lines.values() for s in lines]


def _in_line(a: Line, b: Line) -> bool:
    return abs((a.y1 - a.y0) * (b.x1 - b.x0) - (b.y1 - b.y0) * (a.x1 - a.x0)) < 1e-6 * a.length * b.length + 1e-9


def furthest(a: Way, b: Way, t0: float, t1: float) -> float:
    """When between two meetings the strands are furthest apart."""
    times = [t0, *(t for t, _ in (*a, *b) if t0 < t < t1), t1]
    best = max(times, key=lambda t: round(abs(at(a, t) - at(b, t)), 9))
    far = [t for t in times if abs(abs(at(a, t) - at(b, t)) - abs(at(a, best) - at(b, best))) < 1e-9]
    return (min(far) + max(far)) / 2.0


def _lowest_first(lanes: dict[int, float], above: dict[Pair, bool], reach: float) -> list[int]:
    """Strands from the lowest to the highest.

    Three ribbons may lie over each other in a ring by a sliver; the pairs that
    overlap most are settled first, and a pair that would close a ring is let go.
    """
    pairs = sorted((abs(lanes[a] - lanes[b]), a, b) for a in lanes for b in lanes if a < b)
    # As bits: everything known to lie above a strand.
    over = dict.fromkeys(lanes, 0)
    for distance, a, b in pairs:
        if distance >= reach - 1e-9:
            break
        if (a, b) not in above:
            continue
        low, high = (b, a) if above[a, b] else (a, b)
        if over[high] >> low & 1:
            continue
        gained = over[high] | 1 << high
        for s in lanes:
            if s == low or over[s] >> low & 1:
                over[s] |= gained
    # Whoever has most above it lies lowest: everything above it has less.
    return sorted(lanes, key=lambda s: (-over[s].bit_count(), s))
