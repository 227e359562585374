"""Pictures of braid work, a turn or a pass each: ribbons in lanes, so that over and under cannot be mistaken.

Each turn is one row.  What is hidden is not drawn (:mod:`strapwork.paper.ribbons`),
so a reader gets the crossings back out of the drawing, with fills or without.
"""

from __future__ import annotations

from collections.abc import Sequence

from strapwork.braid import passes, proof
from strapwork.braid.moves import Move, moves
from strapwork.braid.passes import Schedule, TabPass
from strapwork.braid.word import Turn, letter, reduced
from strapwork.catalogue import tr, trn
from strapwork.drawing.primitives import Disc, Drawing, Path, Primitive, Text, line, polyline
from strapwork.geometry.shape import Arc, Line
from strapwork.paper import ribbons
from strapwork.paper.ribbons import LABELS, Lanes, arrow_head, hatch_angle, tone

SHOWN_BEFORE = 2
MANY = 7  # strands from which a picture has height for one row before the turn
CAP, TAB, REST = 7.0, 7.0, 1.0  # heights of plain end and tab, and the space under the tab
PARTING, PARTED = 5.0, 6.4  # heights in which strands go apart for a pass, and at least of their letters below
LEAST_TURN = 4.4  # height of a turn over a pass
DOTS = 3.0  # height of the dots under a tangle that goes on
WORDS = 3.175  # 9 pt
MOST_ROWS, LEAST_ROW = 8, 2.2  # rows of a tangle that can be told apart, and the height of one in mm


class Work:
    """The order of the strands and who lies over whom, while rows are drawn."""

    def __init__(self, strands: int) -> None:
        self.order = list(range(1, strands + 1))

    def row(self, turn: Turn, lanes: Lanes, top: float, bottom: float, *, highlight: bool = False) -> list[Primitive]:
        """Draw one turn between two heights and step on."""
        rows, over, now, mover = moves(self.order, turn)
        out: list[Primitive] = []
        last: list[Primitive] = []
        for one in ribbons.lay(rows, over, lanes, top, bottom):
            moving = highlight and one.move.strand == mover
            drawn = ribbons.draw(one, lanes, top, bottom, moving=moving)
            if moving:
                last = drawn
            else:
                out += drawn
        self.order = now
        return [*out, *last]

    def skip(self, turns: Sequence[Turn]) -> None:
        """Step over turns that are not drawn."""
        for t in turns:
            self.order = moves(self.order, t)[2]


def _letter(x: float, y: float, strand: int, size: float) -> Primitive:
    return Text(x, y - size * 0.36, letter(strand), size, LABELS, "text-strong", "middle")


def _box(edge: tuple[float, float], top: float, bottom: float, words: str) -> list[Primitive]:
    """The plain end or the tab, with its name."""
    ring = ((edge[0], top), (edge[1], top), (edge[1], bottom), (edge[0], bottom))
    y = (top + bottom) / 2.0 - WORDS * 0.36
    return [
        polyline(ring, LABELS, "tab", True),
        Text((edge[0] + edge[1]) / 2.0, y, words, WORDS, LABELS, "text", "middle"),
    ]


def _lanes(strands: int, width: float, share: float) -> Lanes:
    gap = min(11.0, width * share / strands)
    return Lanes(width / 2.0 - gap * (strands - 1) / 2.0, gap, gap * 0.8)


def first_shown(strands: int, upto: int, tab_pass: TabPass | None) -> int:
    """How many turns are left out at the top of a picture."""
    made = upto if tab_pass else upto - 1
    return max(0, made - (SHOWN_BEFORE if strands < MANY else 1))


def step_picture(
    strands: int,
    turns: Sequence[Turn],
    upto: int,
    tab_pass: TabPass | None,
    width: float,
    height: float,
    schedule: Schedule = (),
) -> Drawing:
    """The work after turn ``upto``, or the pass that follows it, in a box of ``width`` x ``height`` mm.

    The strand of the turn just made carries an arrow, dashed where it runs
    under; up to two rows before it are shown.  For a pass the strands are parted
    at the gap, the tangle hangs below as it lies just before the pass (by
    ``schedule``, all passes of the set; straight without it), and the tab's way is drawn: a full line
    in front of the strands, dashed behind.
    """
    lanes = _lanes(strands, width, 0.66 if tab_pass else 0.84)
    edge = (lanes.at(1) - lanes.gap / 2.0, lanes.at(strands) + lanes.gap / 2.0)
    first = first_shown(strands, upto, tab_pass)
    top, tab_top = height - CAP, REST + TAB
    room = top - tab_top
    hang = room * (0.28 if tab_pass is None else 0.68 if strands < MANY else 0.76)
    before = below(strands, turns, schedule, tab_pass) if tab_pass is not None and tab_pass in schedule else []
    if tab_pass is not None:
        # The tangle is what a pass is about: where it needs more height, the turns above it are lower, or fewer.
        needed = PARTING + PARTED + min(len(before), MOST_ROWS) * LEAST_ROW
        if needed > room - LEAST_TURN * (upto - first):
            first = max(first, upto - 1)
        hang = max(hang, min(needed, room - LEAST_TURN * (upto - first)))
    words = tr("plain end") if first == 0 else trn("{first} turn above", "{first} turns above", first, first=first)
    out = _box(edge, height, top, words)
    work = Work(strands)
    work.skip(turns[:first])
    shown = turns[first:upto]
    # A turn that runs far across needs height to stay a strand.
    weight = [1.0] * len(shown)
    if tab_pass is None and shown:
        weight[-1] = 1.5 if strands > 4 else 1.15
    unit = min(13.0, (room - hang) / max(1.0, sum(weight)))
    y = top
    for k, turn in enumerate(shown):
        new = tab_pass is None and k == len(shown) - 1
        out += work.row(turn, lanes, y, y - unit * weight[k], highlight=new)
        y -= unit * weight[k]
    if tab_pass is not None:
        return (*out, *_passing(work.order, lanes, edge, y, tab_top, tab_pass, before))
    size = min(4.2, max(2.2, lanes.width * 0.72))
    middle = (y + tab_top) / 2.0
    for place, strand in enumerate(work.order, start=1):
        out += ribbons.straight(lanes, Move(strand, place, place), y, tab_top, middle, size * 0.75)
        out.append(_letter(lanes.at(place), middle, strand, size))
    return (*out, *_box(edge, tab_top, REST, tr("tab")))


def below(strands: int, turns: Sequence[Turn], schedule: Schedule, p: TabPass) -> list[tuple[int, ...]]:
    """The tangle under the work just before a pass, as rows of crossings read downwards.

    It is what the turns have put there; where the pass takes all of it out it is
    the twist that the pass undoes, which is shorter and lies just so.
    """
    word = passes.below(strands, turns, schedule, before_pass=p)
    twist = passes.inverse(passes.pass_word(strands, p.gap, p.sign))
    undone = passes.pass_word(strands, p.gap, p.sign) + word
    if len(twist) < len(word) and proof.is_trivial_braid(strands, undone):
        word = twist
    return layers(reduced(word))


def layers(word: Sequence[int]) -> list[tuple[int, ...]]:
    """A word in rows: each crossing as high up as those before it let it lie."""
    depth: dict[int, int] = {}
    rows: list[list[int]] = []
    for c in word:
        i = abs(c)
        k = max(depth.get(i, 0), depth.get(i + 1, 0))
        if k == len(rows):
            rows.append([])
        rows[k].append(c)
        depth[i] = depth[i + 1] = k + 1
    return [tuple(r) for r in rows]


def _passing(
    order: Sequence[int],
    lanes: Lanes,
    edge: tuple[float, float],
    top: float,
    tab_top: float,
    p: TabPass,
    tangle: Sequence[tuple[int, ...]],
) -> list[Primitive]:
    """Parted strands with their letters, the tangle under them, the tab, and its way."""
    spread = 3.4
    n = len(order)
    parted = top - PARTING
    size = min(4.2, max(2.2, lanes.width * 0.72))
    rows = min(len(tangle), MOST_ROWS) * LEAST_ROW
    tangle_top = parted - max(PARTED, min(0.24 * (top - tab_top), parted - tab_top - rows))
    out: list[Primitive] = []
    shifts = [-spread if place <= p.gap else spread for place in range(1, n + 1)]
    for place, strand in enumerate(order, start=1):
        aside = place + shifts[place - 1] / lanes.gap
        at = parted - (parted - tangle_top) * 0.68
        out += ribbons.straight(lanes, Move(strand, place, aside), top, parted)
        out += ribbons.straight(lanes, Move(strand, aside, aside), parted, tangle_top, at, size * 0.75)
        out.append(_letter(lanes.at(aside), at, strand, size))
    # A tangle of many rows is shown from its upper end; dots say that it goes on.
    most, whole = (
        max(2, min(MOST_ROWS, int((tangle_top - low) / LEAST_ROW + 1e-6))) for low in (tab_top + DOTS, tab_top)
    )
    drawn, more = (tangle, False) if len(tangle) <= whole else (tangle[:most], True)
    foot = tab_top + (DOTS if more else 0.0)
    out += ribbons.cords(drawn, lanes, shifts, tangle_top, foot)
    if more:
        out += [
            Disc(lanes.at((n + 1) / 2.0) + dx, tab_top + 1.4, 0.35, LABELS, "arrow-fill") for dx in (-2.0, 0.0, 2.0)
        ]
    out += _box(edge, tab_top, REST, tr("tab"))
    return [*out, *_tab_way(p, lanes, (edge[0] - spread, edge[1] + spread), edge, parted, tangle_top, tab_top)]


def _tab_way(
    p: TabPass,
    lanes: Lanes,
    wide: tuple[float, float],
    edge: tuple[float, float],
    parted: float,
    tangle_top: float,
    tab_top: float,
) -> list[Primitive]:
    """The tab's way: out of the tab, up beside the strands, through the marked gap, and down on the other face."""
    x = (lanes.at(p.gap) + lanes.at(p.gap + 1)) / 2.0
    y = parted - 1.6
    # It swings out past the nearer edge, so that the line does not lie on the strands' letters.
    right = wide[1] - x <= x - wide[0]
    sign = 1.0 if right else -1.0
    side = wide[1] + 3.0 if right else wide[0] - 3.0
    front = p.face == "front"
    go, come = ("way-front", "way-back") if front else ("way-back", "way-front")
    low, r, ring = (tab_top + REST) / 2.0, 3.0, 2.1
    up = (
        Line(edge[1] if right else edge[0], low, side - sign * r, low),
        Arc(side - sign * r, low + r, r, -90.0, 90.0 * sign),
        Line(side, low + r, side, y - r),
        Arc(side - sign * r, y - r, r, 0.0 if right else 180.0, 90.0 * sign),
        Line(side - sign * r, y, x + sign * (ring + 2.6), y),
    )
    out: list[Primitive] = [Path(up, False, LABELS, go), arrow_head(x + sign * ring, y, 180.0 if right else 0.0, 3.2)]
    # The gap: a ring in the opening; a cross goes away from the eye, a dot comes to it.
    out.append(Disc(x, y, ring, LABELS, "stop"))
    if front:
        d = ring * 0.64
        out += [line(x - d, y - e, x + d, y + e, LABELS, "stop") for e in (d, -d)]
    else:
        out.append(Disc(x, y, 0.8, LABELS, "arrow-fill"))
    out.append(line(x, y - ring, x, tangle_top - 0.4, LABELS, come))
    out.append(arrow_head(x, tangle_top - 2.2, -90.0, 3.2))
    return out


__all__ = ["LABELS", "SHOWN_BEFORE", "Lanes", "arrow_head", "hatch_angle", "letter", "moves", "step_picture", "tone"]
