"""Sheets of paper with straps at full scale.

Sheets are named by a letter and, where a strap runs over several, a number for
the column: A1, A2, A3 are taped side by side.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TypeAlias

from strapwork.drawing import fonts
from strapwork.drawing.primitives import Drawing, Later, Layer, Placed, Primitive, Sheet, Text
from strapwork.geometry.shape import Box, rotate_point
from strapwork.paper import broken, furniture, joins, packing, runs, sheet_words, strap_blocks
from strapwork.paper.runs import Run, Spot
from strapwork.paper.setting import Frame, Setting, frames
from strapwork.paper.strap_blocks import Block
from strapwork.piece.piece import Piece
from strapwork.say import sheets as say

GRACE = 0.5
SMALLER = (1.0, 0.8, 0.62)
# Of more blocks than MANY, the way of turning the paper is chosen by a sample.
MANY, SAMPLE = 200, 100
# How the paper lies for straps over several sheets and for others, and what may lie askew on it.
Turn: TypeAlias = tuple[Frame, Frame, str]


def lay_out(pieces: Sequence[Piece], setting: Setting) -> list[Sheet]:
    """All pieces on as few sheets as the ways of turning and packing allow."""
    out: list[Sheet] = []
    row = 0
    for run in _plan(pieces, setting):
        out += _sheets(run, setting, row)
        row += len(run.rows)
    return out


def count_sheets(pieces: Sequence[Piece], setting: Setting) -> int:
    """How many sheets :func:`lay_out` would make, without drawing them."""
    return packing.count_sheets(_plan(pieces, setting))


def saving(pieces: Sequence[Piece], setting: Setting, now: int | None = None) -> str:
    """What broken views save or would save, as a sentence; empty where they make no difference.

    ``now`` is how many sheets there are, where that is known.
    """
    wide = max(f.room[0] for f in frames(setting))
    long = [p for p in pieces if p.strap.length > wide]
    if not long:
        return ""
    now = count_sheets(pieces, setting) if now is None else now
    as_they_are = any(p.broken for p in long)
    other = count_sheets([replace(p, broken=not as_they_are) for p in pieces], setting)
    return say.saved(now, other, broken=as_they_are)


def _plan(pieces: Sequence[Piece], setting: Setting) -> list[Run]:
    ways = frames(setting)
    room = max(f.room[0] for f in ways)
    best: tuple[Turn, list[Run]] | None = None
    for form in broken.FORMS:
        items = [b for k, p in enumerate(pieces) for b in _blocks(p, k, setting.units, room, form)]
        best = _laid(items, ways, room, None if best is None else packing.count_sheets(best[1]) - 1) or best
        if len(items) > MANY or not any(b.gap for b in items):
            break
    assert best is not None  # without others to beat, every form gives runs
    turn, runs_ = best
    return packing.pack(items, *turn, packing.count_sheets(runs_) - 1, moved=True) or runs_


def _laid(
    items: Sequence[Block], ways: Sequence[Frame], room: float, most: int | None
) -> tuple[Turn, list[Run]] | None:
    """The best way for blocks, and its runs; None where it takes more than ``most`` sheets."""
    over = any(b.length > room for b in items)
    if len(items) <= MANY:
        return _best(items, _turns(items, ways, over), most)
    sample = items[:: len(items) // SAMPLE]
    chosen = _best(sample, _turns(sample, ways, over), None)
    assert chosen is not None  # without others to beat, every way gives runs
    return _best(items, [chosen[0]], most)


def _turns(items: Sequence[Block], ways: Sequence[Frame], over: bool) -> list[Turn]:
    """Every way of turning the paper; askew ones where a strap is too long for any sheet and one may lie so."""
    return [
        (long, short, askew)
        for short in ways
        for long in ways
        for askew in packing.ASKEW[: 3 if over and any(packing.lies_askew(b, long) for b in items) else 1]
    ]


def _best(items: Sequence[Block], turns: Sequence[Turn], most: int | None) -> tuple[Turn, list[Run]] | None:
    """The way of turning the paper that takes the fewest sheets, and of those the fewest joins; and its runs.

    None where each takes more than ``most`` sheets.
    """
    best: tuple[tuple[int, int], Turn, list[Run]] | None = None
    for turn in turns:
        runs_ = packing.pack(items, *turn, most)
        if runs_ is not None and (best is None or _cost(runs_) < best[0]):
            best = _cost(runs_), turn, runs_
            most = best[0][0]
    return None if best is None else best[1:]


def _cost(runs: Sequence[Run]) -> tuple[int, int]:
    """Sheets, and joins."""
    return packing.count_sheets(runs), sum(run.count - 1 for run in runs)


def _blocks(piece: Piece, index: int, units: str, room: float, form: float = broken.WELL) -> list[Block]:
    """A piece as one block, or as two where a broken view is wanted and its halves do not stand side by side."""
    whole = Block(piece, index, units)
    if not piece.broken or whole.length <= room:
        return [whole]
    gap = broken.of(piece, units, room, form)
    if gap is None:
        return [whole]
    both = Block(piece, index, units, gap)
    if both.length <= room:
        return [both]
    return [Block(piece, index, units, gap, (1,)), Block(piece, index, units, gap, (2,))]


def letters(index: int) -> str:
    """A, B, .. Z, AA, AB, .. for 0, 1, .."""
    out = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        out = chr(65 + rest) + out
    return out


def _sheets(run: Run, setting: Setting, first: int) -> list[Sheet]:
    wide = len(run.cols.windows)
    names = [
        [f"{letters(first + r)}{c + 1}" if wide > 1 or len(run.rows) > 1 else letters(first + r) for c in range(wide)]
        for r in range(len(run.rows))
    ]
    return [_sheet(run, setting, names, r, c) for r in range(len(run.rows)) for c in range(wide)]


def _sheet(run: Run, setting: Setting, names: Sequence[Sequence[str]], r: int, c: int) -> Sheet:
    """A sheet, with what ``numbers.json`` says of it; its drawing is made when it is asked for."""
    notes: list[dict[str, object]] = []
    left_out: list[dict[str, object]] = []
    for spot, x, y, window, _ in _put(run, r, c):
        notes += spot.block.note(x, y, window, spot.angle)
        out = spot.block.left_out
        if out is not None and out not in left_out:
            left_out.append(out)
    about: dict[str, object] = {"straps": notes}
    if left_out:
        about["broken"] = left_out
    drawn = Later(lambda: _drawn(run, setting, names, r, c, bool(left_out)))
    return Sheet(run.frame.width, run.frame.height, names[r][c], drawn, about)


def _window(run: Run, r: int, c: int) -> Box:
    """What a sheet of several shows of the whole, in its own mm."""
    x0, y0, _, y1 = run.frame.zone
    (left, right), (down, deep) = run.cols.windows[c], run.rows[r]
    last = c + 1 == len(run.cols.windows)
    # Half a millimetre of grace where the whole begins and ends, for the width of the line.
    return (
        x0 - (0.0 if c else GRACE),
        max(y0, y1 - (deep - down)),
        x0 + (right - left) + (GRACE if last else 0.0),
        y1,
    )


def _put(run: Run, r: int, c: int) -> Iterator[tuple[Spot, float, float, Box | None, bool]]:
    """Everything with a place on a sheet: where strap mm (0, 0) lies, the window through which it is seen, and whether it
    fills a gap."""
    x0, _, _, y1 = run.frame.zone
    (left, right), (down, _) = run.cols.windows[c], run.rows[r]
    through = None if run.count == 1 else _window(run, r, c)
    for s in run.spots:
        if s.x >= right or s.end <= left:
            continue
        if s.angle:
            yield s, *_askew_at(s, run.frame.zone), None, False
        else:
            yield s, x0 + s.x - left, y1 - (s.top + s.head + s.block.width - down), through, False
    for s in run.fillers.get(c, ()):
        yield s, x0 + s.x - left, y1 - (s.top + s.head + s.block.width - down), None, True


def _drawn(
    run: Run, setting: Setting, names: Sequence[Sequence[str]], r: int, c: int, halves: bool
) -> tuple[Placed, ...]:
    x0, y0, _, y1 = run.frame.zone
    (left, _), (down, _) = run.cols.windows[c], run.rows[r]
    window = _window(run, r, c)
    placed: list[Placed] = []
    over: list[Primitive] = []
    ringed: dict[int, list[float]] = {}
    for s, x, y, seen, fills in _put(run, r, c):
        if s.angle:
            placed.append(Placed(_askew(s), x, y, 0, None, s.angle))
            continue
        placed.append(Placed(s.block.drawing(None if seen is None else (seen[0] - x, seen[2] - x)), x, y, 0, seen))
        if fills:
            over += strap_blocks.draw_label(s.block.label(s.label)[0], x, y1 - s.top)
            continue
        for number, at in joins.of_column(run.cols, c):
            if s.x < at < s.end and y0 <= y <= y1:
                over += joins.ring_marks(x0 + at - left, number, (y, y + s.block.width))
                ringed.setdefault(number, []).append(y + s.block.width)
        if y0 - 1e-6 <= y1 - (s.top + s.head - down) and s.top >= down - 1e-6:
            over += _label(run, s, c, x0 - left, y1 + down)
    over += joins.lines(run.cols, c, x0 - left, window, ringed)
    over += joins.row_marks(run.rows, r, y1, window) if len(run.rows) > 1 else []
    over += _furniture(run, setting, names, (r, c), halves)
    return (*placed, Placed(tuple(over)))


def _askew_at(s: Spot, zone: Box) -> tuple[float, float]:
    """Where strap mm (0, 0) of a turned strap lies, so that its box is in the middle of the zone."""
    bx0, by0, bx1, by1 = packing.tilted(s.block.length, s.tall, s.angle)
    # The box is that of the block with its captions; the drawing's own origin is the strap's lower edge.
    right, up = rotate_point((0.0, s.block.foot), s.angle)
    return (zone[0] + zone[2]) / 2.0 - (bx0 + bx1) / 2.0 + right, (zone[1] + zone[3]) / 2.0 - (by0 + by1) / 2.0 + up


def _askew(s: Spot) -> Drawing:
    """A strap with its label, before it is turned."""
    words, tall = s.block.label(s.label)
    return (*s.block.drawing(), *strap_blocks.draw_label(words, 0.0, s.block.width + s.block.crown + tall))


def _label(run: Run, s: Spot, c: int, shift: float, top: float) -> list[Primitive]:
    """The label of a strap on one of its sheets: whole where there is room for it, else its name."""
    a, b = run.visible(s, c)
    if run.count > 1:
        later = min((t.x - runs.CELL_GAP for t in run.spots if t.top == s.top and t.x > s.x), default=b)
        b = min(max(b, a + runs.LAST_LABEL), run.cols.inner(c, joins.CLEAR_OF_RING)[1], later)
    x, up = a + shift, top - s.top
    if len(run.cols.windows) == 1 or b - a >= s.label - runs.GRACE:
        return strap_blocks.draw_label(s.block.label(s.label)[0], x, up)
    for size in (strap_blocks.HEAD * k for k in SMALLER):
        rows = fonts.wrapped(s.block.piece.label, size, b - a, True)
        if len(rows) * size * strap_blocks.LEAD <= s.head or size == strap_blocks.HEAD * SMALLER[-1]:
            break
    most = max(1, int(s.head / (size * strap_blocks.LEAD)))
    if len(rows) > most:
        rows = [*rows[: most - 1], fonts.shortened(" ".join(rows[most - 1 :]), size, b - a, True)]
    return [
        Text(x, up - (k + 1) * size * strap_blocks.LEAD + size * 0.25, row, size, Layer.LABELS, "text-strong")
        for k, row in enumerate(rows)
    ]


def _furniture(
    run: Run, setting: Setting, names: Sequence[Sequence[str]], here: tuple[int, int], halves: bool
) -> list[Primitive]:
    frame, (r, c) = run.frame, here
    m = frame.margin
    if run.count > 1:
        told = [*joins.how(names, r, c), *sheet_words.told(broken=halves, askew=False)[: int(halves)]]
    else:
        told = sheet_words.told(broken=halves, askew=any(s.angle for s in run.spots))
    rows = setting.words(names[r][c], told)
    mapped = run.count > 1
    place = None
    if run.said is not None:
        x0, down, x1, deep = run.said
        place = m + x0, frame.height - m - deep, m + x1, frame.height - m - down
    out, box = furniture.strip(
        (m, m), frame.width - 2 * m, setting.units, setting.square_reads, rows, mapped=mapped, place=place
    )
    if mapped:
        straps = [
            (s.x, s.top + s.head, s.end, s.top + s.head + s.block.width)
            for s in [*run.spots, *(f for row in run.fillers.values() for f in row)]
        ]
        out += furniture.tile_map(box, run.cols.windows, run.rows, here, names, straps)
    return out


__all__ = ["Setting", "count_sheets", "lay_out", "letters", "saving"]
