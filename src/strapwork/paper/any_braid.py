"""Any finished braid, drawn as tight as its over and under can still be seen.

:mod:`strapwork.paper.finished` draws at true scale.  Drawn tight, the usual braids
show well; in others three strands lie over each other in a ring, or two change
faces while one still lies on the other, and the picture has to cut a strand off.
Here the lanes are moved apart until neither happens: first as the geometry has it,
then wider, and at last with every turn drawn as it is worked, where a strand never
crosses two others that cross each other.  So what is drawn is always the word.
"""

from __future__ import annotations

import itertools
import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from strapwork.braid.geometry import plait_of, step_across
from strapwork.braid.word import Turn, letter
from strapwork.drawing.primitives import Drawing, Hatch, Layer, Path, Primitive, Text, polyline
from strapwork.geometry.shape import Line
from strapwork.paper import finished
from strapwork.paper.braid_pictures import hatch_angle, tone
from strapwork.paper.finished import Pair, Way

ANGLE = 20.0
NARROWEST, WIDEST = 2.4, 3.6  # a strand, in mm
HIGHEST = 25.0  # the braid, in mm
LETTERS = 5.0  # room at the left end
LOOSER = (0.0, 1.0, 1.3, 1.6)  # lanes at least so many strand widths apart; 0 as tight as the geometry has it
LAP = 0.05  # mm that a piece runs under the next, so that no seam shows
HALVINGS = 4


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of time in which nobody changes faces, and the strands from the lowest to the highest."""

    start: float
    end: float
    order: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Weave:
    """A braid ready to be drawn.

    Attributes:
        ways: lane of every strand by time in turns.
        pieces: what lies on what, from the first turn shown to the last.
        apart: distance of two lanes in strand widths.
    """

    ways: dict[int, Way]
    pieces: tuple[Piece, ...]
    apart: float


def woven(strands: int, turns: Sequence[Turn], count: int) -> Weave:
    """The tightest true picture of ``count`` turns, beginning with a set."""
    turns = tuple(turns)
    sets = 2 + math.ceil(count / len(turns))
    tight = step_across(plait_of(strands, turns), 1.0)
    span = (float(len(turns)), float(len(turns) + count))
    ways, met, flips = finished.weave(strands, turns, sets)
    for looser in LOOSER:
        apart = max(tight, looser)
        pieces = _pieces(ways, met, flips, span, 1.0 / apart)
        if pieces is not None:
            return Weave(ways, pieces, apart)
    as_worked, met = finished.lane_ways(strands, turns * sets)
    flips = {
        (a, b): [
            finished.furthest(as_worked[a], as_worked[b], t0, t1) for (t0, _), (t1, _) in itertools.pairwise(crossings)
        ]
        for (a, b), crossings in met.items()
    }
    for apart in (1.0, 1.6, 3.0):
        pieces = _pieces(as_worked, met, flips, span, 1.0 / apart)
        if pieces is not None:
            return Weave(as_worked, pieces, apart)
    raise AssertionError("a strand that crosses one neighbour at a time can always be drawn")


def _pieces(
    ways: dict[int, Way],
    met: dict[Pair, list[tuple[float, bool]]],
    flips: dict[Pair, list[float]],
    span: tuple[float, float],
    reach: float,
) -> tuple[Piece, ...] | None:
    """What lies on what; None where that cannot be drawn with ribbons ``reach`` lanes wide."""
    first, last = span
    for (a, b), crossings in met.items():
        for t, ((_, before), (_, after)) in zip(flips[a, b], itertools.pairwise(crossings), strict=True):
            changes = before != after
            if changes and first < t < last and abs(finished.at(ways[a], t) - finished.at(ways[b], t)) < reach - 1e-9:
                return None
    stops = {float(t) for t in range(int(first), int(last) + 1)} | {
        t for w in ways.values() for t, _ in w if first < t < last
    }
    stops |= {t for ts in flips.values() for t in ts if first < t < last}
    out: list[Piece] = []
    for t0, t1 in itertools.pairwise(sorted(stops)):
        if t1 - t0 < 1e-9:
            continue
        above = {}
        for (a, b), crossings in met.items():
            k = min(bisect_right(flips[a, b], (t0 + t1) / 2.0), len(crossings) - 1)
            above[a, b] = crossings[k][1]
        parts = list(_settled(ways, above, t0, t1, reach, HALVINGS))
        if any(p is None for p in parts):
            return None
        out += [p for p in parts if p is not None]
    return tuple(out)


def _settled(
    ways: dict[int, Way], above: dict[Pair, bool], t0: float, t1: float, reach: float, halvings: int
) -> Iterator[Piece | None]:
    """The stretch as one piece, or in halves where three strands lie in a ring; None if that does not help."""
    lower: dict[int, set[int]] = {s: set() for s in ways}  # who has to be painted before s
    for (a, b), over in above.items():
        d0, d1 = (finished.at(ways[a], t) - finished.at(ways[b], t) for t in (t0, t1))
        if d0 * d1 <= 0 or min(abs(d0), abs(d1)) < reach - 1e-9:
            lower[a if over else b].add(b if over else a)
    order: list[int] = []
    while len(order) < len(ways):
        free = [s for s in ways if s not in order and lower[s] <= set(order)]
        if not free:
            break
        order += free
    if len(order) == len(ways):
        yield Piece(t0, t1, tuple(order))
    elif halvings:
        middle = (t0 + t1) / 2.0
        yield from _settled(ways, above, t0, middle, reach, halvings - 1)
        yield from _settled(ways, above, middle, t1, reach, halvings - 1)
    else:
        yield None


def drawing(strands: int, turns: Sequence[Turn], length: float, numbers: Sequence[int] | None = None) -> Drawing:
    """The braid along +x from 0, its middle line on y = 0, with the strands' letters at the left.

    Not to scale: a whole set is drawn where there is room for strands that can be told apart, and more in short sets.

    Args:
        strands, turns: the braid and one set of its turns.
        length: of the picture, in mm.
        numbers: by start place, the strand shown there (letter, tone, hatch); its place by default.
    """
    turns = tuple(turns)
    numbers = numbers or range(1, strands + 1)
    plait = plait_of(strands, turns)
    weave = woven(strands, turns, len(turns))
    slope = math.radians(ANGLE)
    # With strands 1 mm wide: a set drawn tight is steps x across / sin a long, and lanes further apart make it longer.
    one = plait.steps * weave.apart / math.sin(slope)
    high = (strands - 1) * weave.apart / math.cos(slope) + 1.1
    room = length - LETTERS
    width = min(WIDEST, HIGHEST / high, max(NARROWEST, room / one))
    pitch = width * one / len(turns)
    count = max(1, int(room / pitch + 1e-9))
    if count <= len(turns):
        weave = replace(weave, pieces=tuple(p for p in weave.pieces if p.end <= len(turns) + count + 1e-9))
    else:
        more = woven(strands, turns, count)
        weave = more if more.apart == weave.apart else weave
    gap, half = weave.apart * width / math.cos(slope), width / math.cos(slope) / 2.0
    first = float(len(turns))

    def place(strand: int, t: float) -> tuple[float, float]:
        return LETTERS + (t - first) * pitch, (finished.at(weave.ways[strand], t) - (strands + 1) / 2.0) * gap

    out: list[Primitive] = []
    for piece in weave.pieces:
        for s in piece.order:
            out += _ribbon(place(s, piece.start), place(s, piece.end), half, numbers[s - 1])
    # Drawn tight, strands lie at the edge of a set in another order than their places.
    out += _letters(sorted(((numbers[s - 1], place(s, first)[1]) for s in weave.ways), key=lambda one: one[1]))
    return tuple(out)


def _ribbon(a: tuple[float, float], b: tuple[float, float], half: float, number: int) -> Iterator[Primitive]:
    (x0, y0), (x1, y1) = a, b
    lap = LAP * (y1 - y0) / (x1 - x0)
    quad = ((x0, y0 - half), (x1 + LAP, y1 + lap - half), (x1 + LAP, y1 + lap + half), (x0, y0 + half))
    body = polyline(quad, Layer.LABELS, f"tone-{tone(number)}", True)
    yield body
    angle = hatch_angle(number)
    if angle is not None:
        yield Hatch(body.segments, angle, 1.0, Layer.LABELS, "hatch")
    yield Path((Line(x0, y0 - half, x1, y1 - half), Line(x0, y0 + half, x1, y1 + half)), False, Layer.LABELS, "edge")


def _letters(places: Sequence[tuple[int, float]]) -> Iterator[Text]:
    """Letters at the left end from the lowest up, moved apart where strands lie on each other there."""
    size = 2.6
    heights: list[float] = []
    for _, y in places:
        heights.append(max(y, heights[-1] + size) if heights else y)
    shift = sum(h - y for h, (_, y) in zip(heights, places, strict=True)) / len(places)
    for (number, _), y in zip(places, heights, strict=True):
        yield Text(1.2, y - shift - 0.9, letter(number), size, Layer.LABELS, "text-strong")
