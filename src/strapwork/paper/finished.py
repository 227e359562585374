"""The finished braid at true scale, as interlaced ribbons drawn from the word and the geometry.

Turns move strands in jerks, but a braid drawn tight lets every strand run
straight from edge to edge.  So each strand's way is straightened between its
turning points.  Two strands change who lies on top where they are furthest
apart between two crossings, which is where they do not overlap; between such
moments the ribbons are painted from the lowest to the highest.
"""

from __future__ import annotations

import itertools
import math
from bisect import bisect_right
from collections.abc import Sequence
from functools import lru_cache

from strapwork.braid.geometry import BraidForm, Plait, step_across
from strapwork.braid.word import Turn
from strapwork.drawing.primitives import Drawing, Hatch, Path, Primitive, polyline
from strapwork.geometry.shape import Line
from strapwork.paper.braid_pictures import LABELS, hatch_angle, tone

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
    for t0, t1 in itertools.pairwise(cuts):
        if t1 - t0 < 1e-9:
            continue
        middle = (t0 + t1) / 2.0
        above: dict[Pair, bool] = {}
        for (a, b), crossings_ in met.items():
            over = crossings_[min(bisect_right(flips[a, b], middle), len(crossings_) - 1)][1]
            above[a, b], above[b, a] = over, not over
        for s in _lowest_first({s: at(w, middle) for s, w in ways.items()}, above, 2.0 * half / gap):
            x0, x1 = (t0 - first) * form.pitch, (t1 - first) * form.pitch
            y0, y1 = ((at(ways[s], t) - (n + 1) / 2.0) * gap for t in (t0, t1))
            quad = ((x0, y0 - half), (x1, y1 - half), (x1, y1 + half), (x0, y0 + half))
            body = polyline(quad, LABELS, f"tone-{tone(s)}", True)
            out.append(body)
            hatch = hatch_angle(s)
            if hatch is not None:
                out.append(Hatch(body.segments, hatch, 1.0, LABELS, "hatch"))
            out.append(Path((Line(*quad[0], *quad[1]), Line(*quad[3], *quad[2])), False, LABELS, "edge"))
    return tuple(out)


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
