"""Pictures of braid work: ribbons in lanes, drawn so that over and under cannot be mistaken.

Each turn is one row.  Within a row every strand is one closed ribbon piece on
the role ``tone-K``; pieces are painted from the lowest to the highest, so the
later of two overlapping pieces is the one on top, and a reader can get the
crossings back out of the drawing.  Strands are told apart by tone, hatch and
letter together.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.braid.moves import Move, letter, moves
from strapwork.braid.passes import TabPass
from strapwork.braid.word import Turn
from strapwork.drawing.primitives import Disc, Drawing, Hatch, Layer, Path, Primitive, Text, line, polyline
from strapwork.drawing.style import TONES
from strapwork.geometry.shape import Arc, Line

LABELS = Layer.LABELS
HATCHES = (None, 45.0, 0.0, -45.0, 90.0)


def tone(strand: int) -> int:
    return (strand - 1) % len(TONES)


def hatch_angle(strand: int) -> float | None:
    """Hatch of a strand; strands that share a tone differ in hatch."""
    k = strand - 1
    return HATCHES[(k + k // len(TONES)) % len(HATCHES)] if k else None


@dataclass(frozen=True, slots=True)
class Lanes:
    """Where strands lie: lane 1 at ``x``, further lanes ``gap`` mm apart, ribbons ``width`` mm wide."""

    x: float
    gap: float
    width: float

    def at(self, position: float) -> float:
        return self.x + (position - 1.0) * self.gap


def paint_order(strands: Sequence[int], above: dict[tuple[int, int], bool], fresh: set[tuple[int, int]]) -> list[int]:
    """Strands from lowest to highest, so that each pair lies as ``above`` says.

    Pairs crossing in this row (``fresh``) rule; older pairs only settle the rest.
    """
    placed: list[int] = []
    left = list(strands)
    while left:
        for rules in (above, {k: v for k, v in above.items() if k in fresh}):
            low = next((s for s in left if not any(rules.get((s, o), False) for o in left if o != s)), None)
            if low is not None:
                break
        else:
            low = left[0]
        placed.append(low)
        left.remove(low)
    return placed


def _ribbon(lanes: Lanes, m: Move, top: float, bottom: float, extra: float = 0.0) -> list[tuple[float, float]]:
    half = lanes.width / 2.0 + extra
    a, b = lanes.at(m.start), lanes.at(m.end)
    return [(a - half, top), (a + half, top), (b + half, bottom), (b - half, bottom)]


def ribbon_piece(
    lanes: Lanes, m: Move, top: float, bottom: float, *, strong: bool, halo: bool = True
) -> list[Primitive]:
    """One ribbon piece: halo, tone, hatch and its two edges."""
    quad = _ribbon(lanes, m, top, bottom)
    out: list[Primitive] = []
    if halo and m.start != m.end:
        out.append(polyline(_ribbon(lanes, m, top, bottom, 0.7), LABELS, "halo", True))
    body = polyline(quad, LABELS, f"tone-{tone(m.strand)}", True)
    out.append(body)
    angle = hatch_angle(m.strand)
    if angle is not None:
        out.append(Hatch(body.segments, angle, 1.5, LABELS, "hatch"))
    role = "moving" if strong else "edge"
    out.append(line(*quad[0], *quad[3], LABELS, role))
    out.append(line(*quad[1], *quad[2], LABELS, role))
    return out


def arrow_head(x: float, y: float, angle: float, size: float) -> Primitive:
    """A filled head with its point at (x, y), pointing along ``angle`` degrees."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    pts = [(0.0, 0.0), (-size, 0.42 * size), (-size, -0.42 * size)]
    return polyline([(x + c * u - s * v, y + s * u + c * v) for u, v in pts], LABELS, "arrow-fill", True)


def _arrow(lanes: Lanes, m: Move, top: float, bottom: float) -> list[Primitive]:
    """An arrow down the middle of a moving ribbon."""
    a, b = lanes.at(m.start), lanes.at(m.end)
    x0, y0 = a + 0.12 * (b - a), top + 0.12 * (bottom - top)
    x1, y1 = a + 0.9 * (b - a), top + 0.9 * (bottom - top)
    angle = math.degrees(math.atan2(y1 - y0, x1 - x0))
    back = 2.0
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return [line(x0, y0, x1 - back * c, y1 - back * s, LABELS, "arrow"), arrow_head(x1, y1, angle, 3.0)]


class Work:
    """The order of the strands and who lies over whom, while rows are drawn."""

    def __init__(self, strands: int) -> None:
        self.order = list(range(1, strands + 1))
        self.above: dict[tuple[int, int], bool] = {}

    def row(
        self,
        turn: Turn,
        lanes: Lanes,
        top: float,
        bottom: float,
        *,
        highlight: bool = False,
    ) -> list[Primitive]:
        """Draw one turn between two heights and step on."""
        rows, over, now, mover = moves(self.order, turn)
        self.above.update(over)
        out: list[Primitive] = []
        by_strand = {m.strand: m for m in rows}
        for strand in paint_order([m.strand for m in rows], self.above, set(over)):
            m = by_strand[strand]
            strong = highlight and strand == mover
            out += ribbon_piece(lanes, m, top, bottom, strong=strong)
            if strong:
                out += _arrow(lanes, m, top, bottom)
        self.order = now
        return out

    def skip(self, turns: Sequence[Turn]) -> None:
        """Step over turns that are not drawn."""
        for t in turns:
            _, over, now, _ = moves(self.order, t)
            self.above.update(over)
            self.order = now


SHOWN_BEFORE = 2
PARTING = 6.0


def hanging(
    order: Sequence[int], lanes: Lanes, top: float, bottom: float, split: int | None = None, spread: float = 0.0
) -> list[Primitive]:
    """Strands hanging from the work to the tab, parted at a gap, with their letters."""
    out: list[Primitive] = []
    neck = PARTING if split is not None else 0.0
    for place, strand in enumerate(order, start=1):
        shift = 0.0 if split is None else (-spread if place <= split else spread)
        moved = Lanes(lanes.x + shift, lanes.gap, lanes.width)
        if split is not None:
            aside = place + shift / lanes.gap
            out += ribbon_piece(lanes, Move(strand, place, aside), top, top - neck, strong=False, halo=False)
        out += ribbon_piece(moved, Move(strand, place, place), top - neck, bottom, strong=False)
        x, y = moved.at(place), (top - neck + bottom) / 2.0 - (2.0 if split is not None else 0.0)
        size = min(4.2, lanes.width * 0.62)
        out.append(Disc(x, y, size * 0.72, LABELS, "paper"))
        out.append(Text(x, y - size * 0.36, letter(strand), size, LABELS, "text-strong", "middle"))
    return out


def step_picture(
    strands: int, turns: Sequence[Turn], upto: int, tab_pass: TabPass | None, width: float, height: float
) -> Drawing:
    """The work after turn ``upto``, or the pass that follows it, in a box of ``width`` x ``height`` mm.

    The row of the turn just made is strong and carries an arrow; up to two
    rows before it are shown.  For a pass the strands are parted at the gap and
    the tab's way is drawn: a full line in front of the strands, dashed behind.
    """
    wide = width * (0.62 if tab_pass else 0.8)
    gap = min(10.0, wide / strands)
    lanes = Lanes(width / 2.0 - gap * (strands - 1) / 2.0, gap, gap * 0.82)
    edge = (lanes.at(1) - gap / 2.0, lanes.at(strands) + gap / 2.0)
    first = max(0, upto - 1 - SHOWN_BEFORE) if tab_pass is None else max(0, upto - SHOWN_BEFORE)
    shown = turns[first:upto]
    cap = height - 7.0
    tab_top = 9.0
    hang = 15.0 if tab_pass is None else 27.0
    row = min(13.0, (cap - tab_top - hang) / max(1, len(shown)))
    work_end = cap - row * len(shown)
    out: list[Primitive] = []
    work = Work(strands)
    work.skip(turns[:first])
    # The upper end: the strap's plain end at the start, finished work later on.
    top_box = ((edge[0], height), (edge[1], height), (edge[1], cap), (edge[0], cap))
    out.append(polyline(top_box, LABELS, "tab", True))
    words = "plain end" if first == 0 else f"{first} turn{'s' if first > 1 else ''} above"
    out.append(Text(width / 2.0, cap + 2.2, words, 3.0, LABELS, "text", "middle"))
    y = cap
    for k, turn in enumerate(shown):
        new = tab_pass is None and first + k + 1 == upto
        out += work.row(turn, lanes, y, y - row, highlight=new)
        y -= row
    spread = 3.2 if tab_pass else 0.0
    out += hanging(work.order, lanes, work_end, tab_top, tab_pass.gap if tab_pass else None, spread)
    out.append(
        polyline(
            (
                (edge[0] - spread, tab_top),
                (edge[1] + spread, tab_top),
                (edge[1] + spread, 1.0),
                (edge[0] - spread, 1.0),
            ),
            LABELS,
            "tab",
            True,
        )
    )
    # Clear of the tab's own way down, which runs below the gap.
    name_x = width / 2.0 if tab_pass is None else (edge[0] + 5.0 if tab_pass.gap > strands / 2.0 else edge[1] - 5.0)
    out.append(Text(name_x, 3.9, "tab", 3.4, LABELS, "text", "middle"))
    if tab_pass is not None:
        out += _tab_way(tab_pass, lanes, (edge[0] - spread, edge[1] + spread), work_end, tab_top)
    return tuple(out)


def _tab_way(p: TabPass, lanes: Lanes, edge: tuple[float, float], work_end: float, tab_top: float) -> list[Primitive]:
    """The tab's way through the gap: up one side of the work's face, through, and down the other face."""
    x = (lanes.at(p.gap) + lanes.at(p.gap + 1)) / 2.0
    y = work_end - PARTING - 1.5
    # It swings out past the nearer edge, so that the line does not lie on the strands' letters.
    right = edge[1] - x <= x - edge[0]
    side = edge[1] + 6.0 if right else edge[0] - 6.0
    front = p.face == "front"
    out: list[Primitive] = []
    go = "way-front" if front else "way-back"
    come = "way-back" if front else "way-front"
    low = tab_top / 2.0 + 0.5
    r = 4.0
    sign = 1.0 if right else -1.0
    # Out of the tab, up the side, and across to the gap.
    up = (
        Line(edge[1] if right else edge[0], low, side - sign * r, low),
        Arc(side - sign * r, low + r, r, -90.0, 90.0 * sign),
        Line(side, low + r, side, y - r),
        Arc(side - sign * r, y - r, r, 0.0 if right else 180.0, 90.0 * sign),
        Line(side - sign * r, y, x + sign * 2.2, y),
    )
    out.append(Path(up, False, LABELS, go))
    out.append(arrow_head(x + sign * 1.6, y, 180.0 if right else 0.0, 3.2))
    # Through the gap and down on the other face.
    out.append(line(x, y - 2.4, x, tab_top - 5.0, LABELS, come))
    out.append(arrow_head(x, tab_top - 7.5, -90.0, 3.2))
    out.append(Disc(x, y, 1.9, LABELS, "ring"))
    if front:
        for dx, dy in ((1.2, 1.2), (1.2, -1.2)):
            out.append(line(x - dx, y - dy, x + dx, y + dy, LABELS, "match"))
    else:
        out.append(Disc(x, y, 0.7, LABELS, "arrow-fill"))
    return out
