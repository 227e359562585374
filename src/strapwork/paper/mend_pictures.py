"""Pictures of spoiled work: the tangle below with its twisted strands, and turns being opened."""

from __future__ import annotations

from collections.abc import Sequence

from strapwork.braid.looks import Look, layers
from strapwork.braid.moves import Move
from strapwork.braid.word import Turn, letter
from strapwork.catalogue import tr, trn
from strapwork.drawing.primitives import Drawing, Primitive, Text, line, polyline
from strapwork.paper import ribbons
from strapwork.paper.braid_pictures import SHOWN_BEFORE, Work
from strapwork.paper.ribbons import LABELS, Lanes, arrow_head, tone

TAB = 6.5
CAP = 5.5
LETTERS = 6.0
HALF_TURN = 4.0
FLATTEST = 1.6
BAND = 5.0


def _lanes(strands: int, width: float, share: float) -> Lanes:
    gap = min(10.0, width * share / strands)
    return Lanes(width / 2.0 - gap * (strands - 1) / 2.0, gap, gap * 0.82)


def _box(lanes: Lanes, strands: int, top: float, bottom: float, words: str, size: float = 3.0) -> list[Primitive]:
    a, b = lanes.at(1) - lanes.gap / 2.0, lanes.at(strands) + lanes.gap / 2.0
    return [
        polyline(((a, top), (b, top), (b, bottom), (a, bottom)), LABELS, "tab", True),
        Text((a + b) / 2.0, (top + bottom) / 2.0 - size * 0.36, words, size, LABELS, "text", "middle"),
    ]


def _half_turn(lanes: Lanes, place: int, strand: int, top: float, bottom: float, sign: int) -> list[Primitive]:
    """One half turn of a ribbon: its edges change sides, the one in front unbroken."""
    half = lanes.width / 2.0
    x = lanes.at(place)
    y = (top + bottom) / 2.0
    left, right = x - half, x + half
    role = f"tone-{tone(strand)}"
    out: list[Primitive] = [
        polyline(((left, top), (right, top), (x, y)), LABELS, role, True),
        polyline(((left, bottom), (right, bottom), (x, y)), LABELS, role, True),
    ]
    # A left-handed turn has the edge that starts on the left in front.
    front = ((left, top), (right, bottom)) if sign > 0 else ((right, top), (left, bottom))
    behind = ((right, top), (left, bottom)) if sign > 0 else ((left, top), (right, bottom))
    out.append(line(*front[0], *front[1], LABELS, "edge"))
    for a, b in ((behind[0], (x, y)), (behind[1], (x, y))):
        out.append(line(*a, a[0] + 0.72 * (b[0] - a[0]), a[1] + 0.72 * (b[1] - a[1]), LABELS, "edge"))
    return out


def _hanging(lanes: Lanes, place: int, strand: int, top: float, bottom: float, at: float) -> list[Primitive]:
    """A strand hanging straight, with its letter at the height ``at``."""
    size = min(4.2, lanes.width * 0.72)
    return [
        *ribbons.straight(lanes, Move(strand, place, place), top, bottom, at, size * 0.75),
        Text(lanes.at(place), at - size * 0.36, letter(strand), size, LABELS, "text-strong", "middle"),
    ]


def tangle_picture(seen: Look, width: float, height: float, words: str = tr("work")) -> Drawing:
    """The strands from the work to the tab: crossings as rows, then every strand's ribbon turns, then its letter.

    Rows that would be too flat to read are left out, and a band says how many
    crossings they hold.
    """
    n = len(seen.order)
    lanes = _lanes(n, width, 0.8)
    rows = layers(seen.tangle)
    most = max(map(abs, seen.twisted), default=0)
    free = height - CAP - TAB - LETTERS - 1.0
    turns = min(2 * most * HALF_TURN, 0.36 * free) if most else 0.0
    shown = len(rows) if len(rows) * FLATTEST <= free - turns else int((free - turns - BAND) / FLATTEST)
    row = min(9.0, (free - turns - (BAND if shown < len(rows) else 0.0)) / max(1, shown))
    out = _box(lanes, n, height, height - CAP, words)
    work = Work(n)
    work.order = list(seen.order)
    y = height - CAP
    for crossings in rows[:shown]:
        out += work.row(Turn(".", crossings), lanes, y, y - row)
        y -= row
    if shown < len(rows):
        work.skip([Turn(".", crossings) for crossings in rows[shown:]])
        more = sum(map(len, rows[shown:]))
        out += _box(lanes, n, y, y - BAND, tr("and {more} more crossings", more=more), min(2.8, lanes.gap * n * 0.085))
        y -= BAND
    for place, strand in enumerate(work.order, start=1):
        f = seen.twisted[strand - 1]
        step = turns / (2 * most) if most else 0.0
        low = y
        for _ in range(2 * abs(f)):
            out += _half_turn(lanes, place, strand, low, low - step, f)
            low -= step
        out += _hanging(lanes, place, strand, low, TAB, TAB + LETTERS / 2.0)
    out += _box(lanes, n, TAB, 1.0, tr("tab"), 3.4)
    return tuple(out)


def back_picture(strands: int, turns: Sequence[Turn], back: int, width: float, height: float) -> Drawing:
    """The last turns, with an arrow up along those that are opened; at most three are drawn."""
    lanes = _lanes(strands, width, 0.7)
    shown = min(len(turns), max(SHOWN_BEFORE + 1, min(back, SHOWN_BEFORE + 1)))
    opened = min(back, shown)
    first = len(turns) - shown
    top, tab = height - CAP, 9.0
    row = min(13.0, (top - tab - 15.0) / max(1, shown))
    work = Work(strands)
    work.skip(turns[:first])
    out = _box(
        lanes,
        strands,
        height,
        top,
        trn("{first} turn above", "{first} turns above", first, first=first) if first else tr("plain end"),
    )
    y = top
    for t in turns[first:]:
        out += work.row(t, lanes, y, y - row)
        y -= row
    for place, strand in enumerate(work.order, start=1):
        out += _hanging(lanes, place, strand, y, tab, (y + tab) / 2.0)
    out += _box(lanes, strands, tab, 1.0, tr("tab"), 3.4)
    x = lanes.at(strands) + lanes.gap / 2.0 + 4.5
    high = y + row * opened
    out.append(line(x - 2.5, y, x + 1.0, y, LABELS, "arrow"))
    out.append(line(x, y, x, high - 2.0, LABELS, "arrow"))
    out.append(arrow_head(x, high, 90.0, 3.6))
    out.append(Text(x + 1.6, (y + high) / 2.0 - 1.2, str(back), 3.4, LABELS, "text-strong"))
    return tuple(out)
