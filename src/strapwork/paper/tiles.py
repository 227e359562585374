"""Straps on sheets of paper: short ones share a sheet, long ones run over several.

Sheets are named by a letter for the row and, where a strap runs over several,
a number for the column: A1, A2, A3 are taped side by side.  Neighbours overlap;
on both of them the same join line is printed with the same lettered ring, so
that a wrong join shows.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from strapwork.drawing import fonts
from strapwork.drawing.primitives import Disc, Drawing, Layer, Placed, Primitive, Sheet, Text, line, polyline
from strapwork.errors import InputError
from strapwork.geometry.shape import Box
from strapwork.paper import captions, furniture
from strapwork.piece import drawn
from strapwork.piece.piece import Piece
from strapwork.say import straps
from strapwork.units import format_mm

MARGIN = 8.0
OVERLAP = 15.0
BAND = furniture.SQUARE + 2.0
RULER = 15.0
LABEL_ROOM = 2.0
ROW_GAP = 6.0
CELL_GAP = 8.0
CELL_LEAST = 100.0
HEAD, FACT = 4.2, 3.1
MATCH_ROOM = 9.0
RING = 2.6


@dataclass(frozen=True, slots=True)
class Setting:
    """Paper and words common to all sheets of a job.  Lengths in mm."""

    paper: tuple[float, float]
    title: str
    units: str = "mm"
    margin: float = MARGIN
    paper_name: str = ""
    square_reads: tuple[float, float] = (furniture.SQUARE, furniture.SQUARE)
    printer: str = ""


class _Block:
    """One strap with its label above and its captions below."""

    def __init__(self, piece: Piece, units: str) -> None:
        self.piece = piece
        self.units = units
        self.length = piece.strap.length
        self.width = piece.strap.width
        self.flags = captions.place(straps.captions(piece, units), self.length)
        self.foot = captions.height(self.flags)
        self._facts = straps.facts(piece, units)
        self._words: dict[float, list[tuple[str, float, str]]] = {}
        self.drawing: Drawing = (*drawn.of_strap(piece.strap), *captions.draw(self.flags))

    def words(self, width: float) -> list[tuple[str, float, str]]:
        """Label lines no wider than ``width``."""
        if width not in self._words:
            self._words[width] = self._wrap(width)
        return self._words[width]

    def _wrap(self, width: float) -> list[tuple[str, float, str]]:
        # The whole name, however long: cut short, two names could look alike.
        rows = [(part, HEAD, "text-strong") for part in fonts.wrapped(straps.headline(self.piece), HEAD, width, True)]
        current = ""
        for fact in self._facts:
            trial = f"{current} · {fact}" if current else fact
            if current and fonts.text_width(trial, FACT) > width:
                rows.append((current, FACT, "text"))
                current = fact
            else:
                current = trial
        rows += [(part, FACT, "text") for part in fonts.wrapped(current, FACT, width)]
        return rows

    def head(self, width: float) -> float:
        return sum(size * 1.32 for _, size, _ in self.words(width)) + LABEL_ROOM

    def label(self, x: float, top: float, width: float) -> list[Primitive]:
        out: list[Primitive] = []
        y = top
        for text, size, role in self.words(width):
            y -= size * 1.32
            out.append(Text(x, y + size * 0.25, text, size, Layer.LABELS, role))
        return out


@dataclass(frozen=True, slots=True)
class _Frame:
    """One way of turning the paper, and the zone it leaves for straps."""

    width: float
    height: float
    margin: float
    ruler: bool

    @property
    def zone(self) -> Box:
        bottom = self.margin + BAND + (RULER if self.ruler else 4.0)
        return self.margin, bottom, self.width - self.margin, self.height - self.margin

    @property
    def room(self) -> tuple[float, float]:
        x0, y0, x1, y1 = self.zone
        return x1 - x0, y1 - y0


def _frames(setting: Setting) -> list[_Frame]:
    short, long = setting.paper
    out = []
    for w, h in ((long, short), (short, long)):
        ruler = h - 2 * setting.margin - BAND - RULER >= 55.0
        frame = _Frame(w, h, setting.margin, ruler)
        if frame.room[0] >= 80.0 and frame.room[1] >= 40.0:
            out.append(frame)
    if not out:
        raise InputError(
            "--margin",
            f"margins of {format_mm(setting.margin)} leave no room on this paper",
            "use smaller margins or larger paper",
        )
    return out


@dataclass(frozen=True, slots=True)
class _Cell:
    block: _Block
    x: float
    width: float


_Pages: TypeAlias = list[list[tuple[float, list[_Cell]]]]


def _pack_short(blocks: Sequence[_Block], frame: _Frame) -> _Pages:
    """Pages of (height, cells) rows for straps that fit across the zone."""
    wide, high = frame.room
    rows: list[list[_Cell]] = []
    for b in blocks:
        need = max(b.length, CELL_LEAST)
        for row in rows:
            x = row[-1].x + row[-1].width + CELL_GAP
            if x + need <= wide:
                row.append(_Cell(b, x, need))
                break
        else:
            rows.append([_Cell(b, 0.0, need)])
    pages: _Pages = []
    left = -1.0
    for row in rows:
        last = row[-1]
        row[-1] = _Cell(last.block, last.x, wide - last.x)
        tall = max(c.block.head(c.width) + c.block.width + c.block.foot for c in row) + ROW_GAP
        if tall - ROW_GAP > left:
            pages.append([])
            left = high
        pages[-1].append((tall, row))
        left -= tall
    return pages


@dataclass(frozen=True, slots=True)
class _Group:
    """Long straps stacked over each other, seen through a grid of windows.

    ``tops`` are the upper edges of the straps' rows, measured down from the top
    of the whole; columns and rows are stretches of the whole in mm.
    """

    blocks: tuple[_Block, ...]
    tops: tuple[float, ...]
    columns: tuple[tuple[float, float], ...]
    rows: tuple[tuple[float, float], ...]


def _stretches(total: float, room: float) -> tuple[tuple[float, float], ...]:
    """Windows of ``room`` mm that cover ``total`` mm, neighbours overlapping."""
    if total <= room:
        return ((0.0, total),)
    step = room - OVERLAP
    n = math.ceil((total - OVERLAP) / step - 1e-9)
    return tuple((k * step, min(k * step + room, total)) for k in range(n))


def _pack_long(blocks: Sequence[_Block], frame: _Frame) -> list[_Group]:
    wide, high = frame.room

    def need(b: _Block) -> float:
        return b.head(wide - 2 * OVERLAP) + MATCH_ROOM + b.width + max(b.foot, 4.0) + ROW_GAP

    # Longest first, each under the first stack that has room for it, so that
    # straps of like length share their sheets.
    stacks: list[list[_Block]] = []
    heights: list[float] = []
    for b in sorted(blocks, key=lambda b: -b.length):
        tall = need(b)
        for k, height in enumerate(heights):
            if height + tall - ROW_GAP <= high:
                stacks[k].append(b)
                heights[k] += tall
                break
        else:
            stacks.append([b])
            heights.append(tall)
    groups: list[_Group] = []
    for stack in stacks:
        tops, y = [], 0.0
        for b in stack:
            tops.append(y)
            y += need(b)
        total = y - ROW_GAP
        rows = _stretches(total, high) if total > high + 1e-9 else ((0.0, high),)
        groups.append(_Group(tuple(stack), tuple(tops), _stretches(stack[0].length, wide), rows))
    return groups


def letters(index: int) -> str:
    """A, B, .. Z, AA, AB, .. for 0, 1, .."""
    out = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        out = chr(65 + rest) + out
    return out


def _band(frame: _Frame, setting: Setting, name: str, where: Sequence[tuple[str, float, str]]) -> list[Primitive]:
    m = frame.margin
    out = furniture.calibration_square(m, m, setting.square_reads)
    if frame.ruler:
        out += furniture.ruler(m, m + BAND + 7.5, math.floor(frame.width - 2 * m))
    x = m + furniture.SQUARE + 5.0
    width = frame.width - m - x
    paper = f"{setting.paper_name} paper, " if setting.paper_name else ""
    rows: list[tuple[str, float, str]] = [
        (setting.title, 4.4, "text-strong"),
        (f"Sheet {name}", 5.6, "text-strong"),
        *where,
        (f"{paper}print at 100 % (actual size), never “fit to page”.", 3.0, "text"),
    ]
    if setting.printer:
        rows.append((setting.printer, 3.0, "text"))
    out += furniture.notes(x, m + furniture.SQUARE + 1.0, width, furniture.SQUARE + 2.0, rows)
    return out


def _short_sheets(pages: _Pages, frame: _Frame, setting: Setting) -> list[Sheet]:
    sheets = []
    x0, _, _, y1 = frame.zone
    for k, page in enumerate(pages):
        name = letters(k)
        placed: list[Placed] = []
        labels: list[Primitive] = []
        notes: list[dict[str, object]] = []
        y = y1
        for tall, row in page:
            # Straps of one row stand on a common lower edge.
            drop = max(c.block.head(c.width) + c.block.width for c in row)
            for c in row:
                head = c.block.head(c.width)
                base = y - drop
                labels += c.block.label(x0 + c.x, base + c.block.width + head, c.width)
                placed.append(Placed(c.block.drawing, x0 + c.x, base))
                notes.append(_note(c.block, x0 + c.x, base, None))
            y -= tall
        words = [("Each strap is whole on this sheet: cut along the solid outline.", 3.0, "text")]
        furniture_ = (*labels, *_band(frame, setting, name, words))
        sheets.append(Sheet(frame.width, frame.height, name, (*placed, Placed(furniture_)), {"straps": notes}))
    return sheets


def _note(block: _Block, x: float, y: float, window: Box | None) -> dict[str, object]:
    return {"piece": block.piece.label, "x_mm": x, "y_mm": y, "window_mm": list(window) if window else None}


def _long_sheets(group: _Group, frame: _Frame, setting: Setting, first: int) -> list[Sheet]:
    x0, y0, x1, y1 = frame.zone
    names = [[f"{letters(first + r)}{c + 1}" for c in range(len(group.columns))] for r in range(len(group.rows))]
    wide = x1 - x0
    strips = []
    for b, top in zip(group.blocks, group.tops, strict=True):
        base = top + b.head(wide - 2 * OVERLAP) + MATCH_ROOM + b.width
        strips.append((b, top, base))
    sheets = []
    for r, (down0, down1) in enumerate(group.rows):
        for c, (left, right) in enumerate(group.columns):
            # Half a millimetre of grace where the whole begins and ends, for the width of the line.
            ends = (0.5 if c == 0 else 0.0, 0.5 if c + 1 == len(group.columns) else 0.0)
            window = (x0 - ends[0], max(y0, y1 - (down1 - down0)), x0 + (right - left) + ends[1], y1)
            placed: list[Placed] = []
            notes: list[dict[str, object]] = []
            over: list[Primitive] = []
            rings: list[Primitive] = []
            for b, top, base in strips:
                sx, sy = x0 - left, y1 - (base - down0)
                placed.append(Placed(b.drawing, sx, sy, 0, window))
                notes.append(_note(b, sx, sy, window))
                inset = OVERLAP + 2.0 if c else 0.0
                label_top = y1 - (top - down0)
                if label_top - b.head(wide - 2 * OVERLAP) >= y0 - 1e-6 and label_top <= y1 + 1e-6:
                    over += b.label(x0 + inset, label_top, wide - 2 * OVERLAP)
                rings += _ring_marks(b, sy, group, c, x0, left, (y0, y1))
            over += _join_lines(group, c, x0, left, window)
            if len(group.rows) > 1:
                over += _row_joins(group, r, y1, down0, window)
            name = names[r][c]
            words = _how_to_join(names, r, c)
            furniture_ = [*over, *rings, *_band(frame, setting, name, words)]
            map_x = frame.margin + furniture.SQUARE + 5.0
            furniture_ += furniture.tile_map(
                (map_x, frame.margin, min(frame.width - frame.margin, map_x + 150.0), frame.margin + 16.0),
                group.columns,
                group.rows,
                (r, c),
                names,
                [(0.0, base - b.width, b.length, base) for b, _, base in strips],
            )
            sheets.append(
                Sheet(frame.width, frame.height, name, (*placed, Placed(tuple(furniture_))), {"straps": notes})
            )
    return sheets


def _joins(group: _Group, c: int) -> list[tuple[int, float]]:
    """Joins of column c as (number, x in the whole): the left one, then the right one."""
    out = []
    if c > 0:
        out.append((c, group.columns[c][0] + OVERLAP / 2.0))
    if c + 1 < len(group.columns):
        out.append((c + 1, group.columns[c + 1][0] + OVERLAP / 2.0))
    return out


def _join_lines(group: _Group, c: int, x0: float, left: float, window: Box) -> list[Primitive]:
    return [
        line(x0 + at - left, window[1], x0 + at - left, window[3], Layer.SHEET, "join") for _, at in _joins(group, c)
    ]


def _ring_marks(
    b: _Block, sy: float, group: _Group, c: int, x0: float, left: float, limits: tuple[float, float]
) -> list[Primitive]:
    """A lettered ring across each join above the strap and two wedges at its edges."""
    out: list[Primitive] = []
    for number, at in _joins(group, c):
        x = x0 + at - left
        if not limits[0] <= sy <= limits[1]:
            continue
        # The ring stands off the line by a different amount at every join, so
        # that a wrong neighbour shows even where letters are overlooked.
        ring_x = x + (-1.6, 0.0, 1.6)[number % 3]
        y = sy + b.width + 1.6 + RING
        out.append(Disc(ring_x, y, RING, Layer.SHEET, "ring"))
        out.append(Text(ring_x, y - 1.15, chr(96 + (number - 1) % 26 + 1), 3.4, Layer.SHEET, "text-strong", "middle"))
        for edge, sign in ((sy + b.width, 1.0), (sy, -1.0)):
            tip = edge + sign * 0.3
            out.append(
                polyline(
                    ((x, tip), (x - 0.9, tip + sign * 1.3), (x + 0.9, tip + sign * 1.3)),
                    Layer.SHEET,
                    "match-fill",
                    True,
                )
            )
    return out


def _row_joins(group: _Group, r: int, y1: float, down0: float, window: Box) -> list[Primitive]:
    out: list[Primitive] = []
    for k in (r, r + 1):
        if 0 < k < len(group.rows):
            y = y1 - (group.rows[k][0] + OVERLAP / 2.0 - down0)
            out.append(line(window[0], y, window[2], y, Layer.SHEET, "join"))
            ring_x = window[0] + 30.0 + 7.0 * k
            out.append(Disc(ring_x, y, RING, Layer.SHEET, "ring"))
            out.append(Text(ring_x, y - 1.15, chr(64 + k), 3.4, Layer.SHEET, "text-strong", "middle"))
    return out


def _how_to_join(names: Sequence[Sequence[str]], r: int, c: int) -> list[tuple[str, float, str]]:
    row = names[r]
    text = []
    if c > 0:
        text.append(
            f"Cut along the dashed line at the left, lay this sheet on {row[c - 1]} so that the lines and the rings "
            f"marked {chr(96 + c)} meet, and tape."
        )
    else:
        text.append(
            f"Start of {len(row)} sheets, {row[0]} to {row[-1]}: lay {row[1]} on the dashed line at the right."
            if len(row) > 1
            else ""
        )
    if r > 0:
        text.append(f"Then lay this row on row {names[r - 1][0][:-1]} at the line across.")
    return [(t, 3.0, "text") for t in text if t]


def lay_out(pieces: Sequence[Piece], setting: Setting) -> list[Sheet]:
    """All pieces on as few sheets as the two ways of turning the paper allow.

    Short straps first, then the long ones; each set is turned the way that
    takes fewer sheets (lying on a tie).
    """
    best = _plan(pieces, setting)
    sheets = _short_sheets(best.pages, best.short_frame, setting)
    row = len(sheets)
    for group in best.groups:
        sheets += _long_sheets(group, best.long_frame, setting, row)
        row += len(group.rows)
    return sheets


def count_sheets(pieces: Sequence[Piece], setting: Setting) -> int:
    """How many sheets :func:`lay_out` would make, without drawing them."""
    return _plan(pieces, setting).count


def _plan(pieces: Sequence[Piece], setting: Setting) -> _Plan:
    blocks = [_Block(p, setting.units) for p in pieces]
    best: _Plan | None = None
    for a in _frames(setting):
        short = [b for b in blocks if _is_short(b, a)]
        long = [b for b in blocks if b not in short]
        pages = _pack_short(short, a)
        for z in _frames(setting):
            plan = _Plan(a, pages, z, _pack_long(long, z))
            if best is None or plan.count < best.count:
                best = plan
    assert best is not None  # there is always a frame
    return best


@dataclass(frozen=True, slots=True)
class _Plan:
    """Who stands where, before anything is drawn."""

    short_frame: _Frame
    pages: _Pages
    long_frame: _Frame
    groups: list[_Group]

    @property
    def count(self) -> int:
        return len(self.pages) + sum(len(g.rows) * len(g.columns) for g in self.groups)


def _is_short(b: _Block, frame: _Frame) -> bool:
    wide, high = frame.room
    return b.length <= wide and b.head(max(b.length, min(CELL_LEAST, wide))) + b.width + b.foot <= high
