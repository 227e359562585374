"""The back of a card: every turn and pass of a set in pictures, and the finished braid at true scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.braid.plan import Plan
from strapwork.catalogue import tr
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Primitive, Sheet, Text, extent, line, transformed
from strapwork.paper import blocks, finished
from strapwork.paper import braid_pictures as picture
from strapwork.paper.blocks import BODY, CAPTION, LABELS, Block
from strapwork.piece.piece import Piece
from strapwork.say import braiding
from strapwork.say.braiding import Frame
from strapwork.units import say

GAP = 3.0
LOWEST, HIGHEST = 40.0, 74.0
TALLER = 1.35


def sheets(
    plan: Plan,
    size: tuple[float, float],
    prefix: str,
    first: int,
    pieces: Sequence[Piece] = (),
    after: Sequence[Block] = (),
) -> list[Sheet]:
    """The pictures of one plan on as few pages as hold them, as large as the pages allow.

    Args:
        plan: as its hand works it.
        size: of the page, in mm.
        prefix, first: the pages are called by ``prefix`` and the numbers from ``first`` on.
        pieces: the goods it is for, all worked with this hand; their braid is shown at true scale.
        after: what stands at the end of the last page.
    """
    width, room = blocks.width_of(size), size[1] - 2.0 * blocks.MARGIN
    rows, cell = _rows(plan, width)
    top, end = _head(plan, width), [*_end(plan, pieces, width), *after]
    high, _ = _height(plan, size, end)
    drawn = [*(_drawn(plan, r, cell, r.high(high)) for r in rows), *end]
    about = tr("Braiding, {hand}", hand=braiding.hand(plan)) + (f": {pieces[0].pattern.title}" if pieces else "")
    pages = blocks.paged(drawn, room, top)
    return [blocks.sheet(page, size, f"{prefix}{k}", about) for k, page in enumerate(pages, start=first)]


def count(plan: Plan, size: tuple[float, float], pieces: Sequence[Piece] = (), after: Sequence[Block] = ()) -> int:
    """How many pages :func:`sheets` would make."""
    return _height(plan, size, [*_end(plan, pieces, blocks.width_of(size)), *after])[1]


def _head(plan: Plan, width: float) -> Block:
    title = tr(
        "Braiding {strands} strands with both ends joined, {hand}", strands=plan.strands, hand=braiding.hand(plan)
    )
    return blocks.head(title, "", braiding.how_to_read(plan), width)


def _rows(plan: Plan, width: float) -> tuple[list[_Row], float]:
    """The pictures in rows, and the width of one."""
    across = 4 if plan.strands <= 4 else 3 if plan.strands <= 8 else 2
    frames = braiding.frames(plan)
    rows = [_Row(k, plan.strands, tuple(frames[k : k + across])) for k in range(0, len(frames), across)]
    return rows, (width - GAP * (across - 1)) / across


def _height(plan: Plan, size: tuple[float, float], end: Sequence[Block]) -> tuple[float, int]:
    """The height of the pictures, as large as the fewest pages allow, and the number of pages."""
    width, room = blocks.width_of(size), size[1] - 2.0 * blocks.MARGIN
    rows, cell = _rows(plan, width)
    top = _head(plan, width)
    captions = [(r, r.caption(cell)) for r in rows]
    tries = [HIGHEST - k for k in range(int(HIGHEST - LOWEST) + 1)]
    pages = {
        high: len(blocks.paged([*(Block(r.high(high) + c) for r, c in captions), *end], room, top)) for high in tries
    }
    fewest = min(pages.values())
    return max(high for high, n in pages.items() if n == fewest), fewest


@dataclass(frozen=True, slots=True)
class _Row:
    """Pictures beside each other; ``first`` is the number of the first, from 0."""

    first: int
    strands: int
    frames: tuple[Frame, ...]

    def high(self, usual: float) -> float:
        """Height of its pictures: the tangle of many strands under a pass wants more than a turn does."""
        passes = any(f.tab_pass for f in self.frames)
        return usual * TALLER if passes and self.strands >= picture.MANY else usual

    def texts(self, cell: float) -> list[list[str]]:
        return [[*fonts.wrapped(f.text, CAPTION, cell), *fonts.wrapped(f.state, CAPTION, cell)] for f in self.frames]

    def caption(self, cell: float) -> float:
        return BODY * 1.25 + max(len(t) for t in self.texts(cell)) * CAPTION * 1.22 + 3.0


def _drawn(plan: Plan, row: _Row, cell: float, high: float) -> Block:
    items: list[Primitive] = []
    for k, (f, texts) in enumerate(zip(row.frames, row.texts(cell), strict=True)):
        x = k * (cell + GAP)
        own = picture.step_picture(plan.strands, plan.turns, f.turn, f.tab_pass, cell, high, plan.schedule)
        items += [transformed(p, x, -high) for p in own]
        y = -high - BODY * 1.1
        items.append(Text(x, y, f"{row.first + k + 1}. {f.title}", BODY, LABELS, "text-strong"))
        for text in texts:
            y -= CAPTION * 1.22
            items.append(Text(x, y, text, CAPTION, LABELS, "text"))
    return Block(high + row.caption(cell), tuple(items))


def _end(plan: Plan, pieces: Sequence[Piece], width: float) -> list[Block]:
    """How often to repeat it, and what comes of it."""
    if not pieces:
        text = tr("for every set, as many as the card of the piece says. At the end of each the strands hang free.")
        return [blocks.gap(1.0), blocks.step("", tr("Repeat"), text, BODY, width, 0.0)]
    forms = [p.fit.braid for p in pieces if p.fit.braid]
    sets = {f.sets for f in forms}
    one = {round(f.set_length, 1) for f in forms}
    times = tr("{sets} of them", sets=sets.pop()) if len(sets) == 1 else tr("as many as the table says")
    long = (
        tr("one set measures {set_length}", set_length=say(forms[0].set_length))
        if len(one) == 1
        else tr("the table says how long one set is")
    )
    again = blocks.step(
        "", tr("Repeat"), tr("for every set: {times}; {long}.", times=times, long=long), BODY, width, 0.0
    )
    drawn = _true(pieces[0], plan, width)
    out = blocks.step("", tr("What came out:"), "", BODY, width, 0.0)
    begin = fonts.text_width(tr("What came out:  "), BODY, True)
    ruled = Block(out.height + 1.5, (*out.items, line(begin, -BODY * 1.1, width, -BODY * 1.1, LABELS, "frame")))
    return [blocks.gap(1.0), again, blocks.gap(1.0), drawn, ruled]


def _true(piece: Piece, plan: Plan, width: float) -> Block:
    form = piece.fit.braid
    assert form is not None  # only braided pieces come here
    drawn = finished.drawing(
        plan.plait, plan.turns, form, piece.strap.width / piece.strands, min(form.finished, width - 1.0)
    )
    _, y0, x1, y1 = extent(drawn)
    items: list[Primitive] = [transformed(p, 0.0, -y1) for p in drawn]
    y = -(y1 - y0) - 2.2
    end = min(form.set_length, x1)
    items.append(line(0.0, y, end, y, LABELS, "edge"))
    for x in (0.0, *([end] if end == form.set_length else [])):
        items.append(line(x, y - 1.1, x, y + 1.1, LABELS, "edge"))
    whole = (
        tr("one set")
        if end == form.set_length
        else tr("of one set, which is {set_length} long", set_length=say(form.set_length))
    )
    text = tr(
        "{whole}; the finished braid at true scale, about {width} wide, {angle_deg:.0f}° to the strap",
        whole=whole,
        width=say(form.width),
        angle_deg=form.angle_deg,
    )
    items.append(Text(0.0, y - CAPTION * 1.3, fonts.shortened(text, CAPTION, width), CAPTION, LABELS, "text"))
    return Block(-y + CAPTION * 1.9, tuple(items))
