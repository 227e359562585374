"""The class sheet for the teacher: order of work, who has what with boxes to tick, and the slips to watch for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from strapwork.braid.way import Way
from strapwork.catalogue import tr
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Primitive, Sheet, Text, box_path, line, transformed
from strapwork.paper import blocks
from strapwork.paper.blocks import BODY, CAPTION, LABELS, LEAD, POINT, Block
from strapwork.piece.piece import Piece
from strapwork.say import alike, findings, teaching
from strapwork.say.alike import Group
from strapwork.say.teaching import Minutes

GAP = 3.0
SIDE = 4.0  # of a box to tick
BOX = 6.6  # and of its column
MARK = 6.0  # the number of a stage or a row
ROW = 6.6
TIME = 16.0
AIR = 2.0  # between a column of words and the numbers after it
SMALLEST = 7.0 * POINT
# Columns of words; the others are numbers.
HANDED = {tr("hand"), tr("leather")}
WHO = tr("who (lengths in {unit})").partition("{unit}")[0]


def sheets(
    title: str,
    pieces: Sequence[Piece],
    minutes: Minutes,
    units: str,
    paper: tuple[float, float],
    prefix: str = "class ",
) -> list[Sheet]:
    """The class sheet of a job on as few pages as hold it.

    Args:
        title: of the job.
        pieces: each followed by what goes with it, such as a belt's keeper.
        minutes: the maker's own minutes of a piece by kind of step.
        units: as in :func:`strapwork.units.format_length`.
        paper: of the page, A4 or letter, in mm.
    """
    width, room = blocks.width_of(paper), blocks.room_of(paper)
    groups = alike.groups(pieces)
    known = any(minutes(p) for p in pieces)
    out = [blocks.head(title, "", [f"{teaching.UNDER} {teaching.MINUTES if known else teaching.NO_MINUTES}"], width)]
    for g in groups:
        out += _group(g, minutes, units, width)
    out += [blocks.gap(1.0), *_cautions(groups, width)]
    found = teaching.ways(pieces)
    later = [b for way in found for b in _slips(way, found, width)]
    later += [blocks.words(teaching.slips_note(found), CAPTION, width)] if found else []
    pages = blocks.paged([*out, blocks.gap(2.0), *later], room)
    apart = [*blocks.paged(out, room), *(blocks.paged(later, room) if later else [])]
    if len(apart) <= len(pages):  # the slips on a page of their own, where that takes no more paper
        pages = apart
    about = tr("Class sheet: {title}", title=title)
    made = [blocks.sheet(page, paper, f"{prefix}{k}", about) for k, page in enumerate(pages, start=1)]
    return [replace(s, notes={"class": title}) for s in made]


def _cautions(groups: Sequence[Group], width: float) -> list[Block]:
    """What can hurt someone, once; whoever teaches says it before the first cut."""
    texts = findings.cautions([p for g in groups for p in g.rows])
    return [blocks.step("!", "", text, CAPTION, width, 6.0) for text in texts]


def _group(group: Group, minutes: Minutes, units: str, width: float) -> list[Block]:
    """Order of work and learners of goods that are alike."""
    stages = teaching.stages(group)
    head = blocks.heading(group.pieces[0].pattern.title, width)
    name = fonts.text_width(group.pieces[0].pattern.title, blocks.HEAD, True) + 4.0
    facts = fonts.shortened(teaching.about(group), BODY, width - name)
    titled = Block(head.height, (*head.items, Text(width, -blocks.HEAD * 1.15, facts, BODY, LABELS, "text", "end")))
    out = [blocks.gap(1.0), *_opened(titled, _stages(stages, group, minutes, width)), blocks.gap(2.0)]
    return [*out, *_learners(group, len(stages), units, width), blocks.gap(1.0)]


def _opened(first: Block, rest: Sequence[Block]) -> list[Block]:
    """A heading that stays with what follows it."""
    joined = Block(first.height + rest[0].height, (*first.items, *_down(rest[0], first.height)))
    return [joined, *rest[1:]]


def _down(block: Block, by: float) -> list[Primitive]:
    return [transformed(p, 0.0, -by) for p in block.items]


def _stages(stages: Sequence[teaching.Stage], group: Group, minutes: Minutes, width: float) -> list[Block]:
    """A row a stage: its number, what is done, what to check, minutes, and when it begins."""
    what = 50.0
    check = width - MARK - what - 2 * (TIME + GAP) - GAP
    columns = (
        (MARK, what, tr("order of work, steps of the card")),
        (MARK + what, check, tr("check before going on")),
        (width - 2 * TIME - GAP, TIME, "minutes"),
        (width - TIME, TIME, tr("begin at")),
    )
    high = CAPTION * 1.6
    heads = [Text(x, -CAPTION * 1.1, text, CAPTION, LABELS, "text-faint") for x, _, text in columns]
    out = [Block(high, (*heads, line(0.0, -high, width, -high, LABELS, "edge")))]
    for k, s in enumerate(stages, start=1):
        out.append(_stage(k, s, teaching.minutes(s, group, minutes), columns, width, out[0]))
    return [*_opened(out[0], out[1:2]), *out[2:]]


def _stage(
    k: int,
    s: teaching.Stage,
    span: tuple[Decimal, Decimal] | None,
    columns: Sequence[tuple[float, float, str]],
    width: float,
    again: Block,
) -> Block:
    rows = fonts.wrapped(s.check, CAPTION, columns[1][1])
    high = max(ROW, len(rows) * CAPTION * LEAD + 2.2)
    y = -1.1 - BODY
    items: list[Primitive] = [
        Text(MARK - 2.0, y, str(k), BODY, LABELS, "text-strong", "end"),
        Text(columns[0][0], y, s.title, BODY, LABELS, "text-strong"),
    ]
    after = columns[0][0] + fonts.text_width(s.title, BODY, True) + 2.0
    items.append(Text(after, y, s.on_card, CAPTION, LABELS, "text-faint"))
    for n, row in enumerate(rows):
        items.append(Text(columns[1][0], y - n * CAPTION * LEAD, row, CAPTION, LABELS, "text"))
    if span is not None:
        items.append(Text(columns[2][0], y, teaching.in_minutes(span), BODY, LABELS, "text-strong"))
    else:
        items.append(line(columns[2][0], y - 0.6, columns[2][0] + TIME - GAP, y - 0.6, LABELS, "frame"))
    items.append(line(columns[3][0], y - 0.6, width, y - 0.6, LABELS, "frame"))
    return Block(high, tuple(items), again)


def _learners(group: Group, stages: int, units: str, width: float) -> list[Block]:
    """A row a learner, with a box for every stage."""
    heads, rows = teaching.heads(group, units), teaching.learners(group, units)
    boxes = width - stages * BOX
    widths = _widths(heads, [r.cells for r in rows], boxes - MARK)
    xs = [MARK]
    for w in widths:
        xs.append(xs[-1] + w)
    high = CAPTION * 1.6
    top: list[Primitive] = [
        _cell(h, h, x, w, -CAPTION * 1.1, "text-faint") for h, x, w in zip(heads, xs, widths, strict=False)
    ]
    for k in range(stages):
        middle = boxes + (k + 0.5) * BOX
        top.append(Text(middle, -CAPTION * 1.1, str(k + 1), CAPTION, LABELS, "text-strong", "middle"))
    top.append(line(0.0, -high, width, -high, LABELS, "edge"))
    out = [Block(high, tuple(top))]
    for n, r in enumerate(rows, start=1):
        y = -ROW / 2.0 - CAPTION * 0.36
        items: list[Primitive] = [Text(MARK - 2.0, y, str(n), CAPTION, LABELS, "text-strong", "end")]
        for h, c, x, w in zip(heads, r.cells, xs, widths, strict=False):
            items.append(_cell(h, c, x, w, y, "text-strong" if h == heads[0] else "text"))
        for k in range(stages):
            x0 = boxes + (k + 0.5) * BOX - SIDE / 2.0
            items.append(box_path((x0, -ROW / 2.0 - SIDE / 2.0, x0 + SIDE, -ROW / 2.0 + SIDE / 2.0), LABELS, "edge"))
        items.append(line(0.0, -ROW, width, -ROW, LABELS, "frame"))
        out.append(Block(ROW, tuple(items), out[0]))
    return [*_opened(out[0], out[1:2]), *out[2:]]


def _cell(head: str, text: str, x: float, w: float, y: float, role: str) -> Text:
    """A cell: words from the left, numbers to the right; smaller rather than cut off, as far as it can be read."""
    words = head in HANDED or head.startswith(WHO)
    strong = role == "text-strong"
    size = CAPTION
    while size > SMALLEST and fonts.text_width(text, size, strong) > w - 1.5:
        size -= 0.25 * POINT
    text = fonts.shortened(text, size, w - 1.5, strong)
    return Text(x if words else x + w - GAP, y, text, size, LABELS, role, "start" if words else "end")


def _widths(heads: Sequence[str], rows: Sequence[Sequence[str]], room: float) -> list[float]:
    """Widths of the columns; leathers give way, then names, as far as both stay whole when set smaller; then a leather is cut
    short, then a name, and last goes the air before the others."""
    natural = [
        max(fonts.text_width(t, CAPTION, k == 0) for t in (h, *(r[k] for r in rows))) + GAP + (AIR if k else 0.0)
        for k, h in enumerate(heads)
    ]
    over = sum(natural) - room
    leather = list(heads).index(tr("leather"))

    def whole(k: int) -> float:
        return max(fonts.text_width(r[k], SMALLEST, k == 0) for r in rows) + 1.6

    for k, least in ((leather, whole(leather)), (0, max(whole(0), 22.0)), (leather, 16.0), (0, 22.0)):
        if over > 0:
            taken = min(over, max(0.0, natural[k] - least))
            natural[k] -= taken
            over -= taken
    spared = min(AIR, max(0.0, over) / (len(natural) - 1))
    natural[1:] = [n - spared for n in natural[1:]]
    natural[0] += max(0.0, room - sum(natural))
    return natural


def _slips(way: Way, every: Sequence[Way], width: float) -> list[Block]:
    """The slips of one braid in one hand, a row each."""
    alone = len({w.turns for w in every if (w.strands, w.left_handed) == (way.strands, way.left_handed)}) == 1
    shares = (0.24, 0.32, 0.20, 0.24)
    widths = [s * width for s in shares]
    xs = [sum(widths[:k]) for k in range(len(widths))]
    high = CAPTION * 1.6
    heads = [
        Text(x, -CAPTION * 1.1, t, CAPTION, LABELS, "text-faint") for x, t in zip(xs, teaching.SLIP_HEADS, strict=True)
    ]
    top = Block(high, (*heads, line(0.0, -high, width, -high, LABELS, "edge")))
    out: list[Block] = []
    for cells in teaching.slip_rows(way):
        lines = [fonts.wrapped(t, CAPTION, w - GAP, k == 0) for k, (t, w) in enumerate(zip(cells, widths, strict=True))]
        tall = max(map(len, lines)) * CAPTION * 1.18 + 1.4
        items: list[Primitive] = [
            Text(x, -0.7 - CAPTION * (0.95 + 1.18 * n), row, CAPTION, LABELS, "text-strong" if k == 0 else "text")
            for k, (x, rows) in enumerate(zip(xs, lines, strict=True))
            for n, row in enumerate(rows)
        ]
        items.append(line(0.0, -tall, width, -tall, LABELS, "frame"))
        out.append(Block(tall, tuple(items), top))
    headed = _opened(blocks.heading(teaching.slips_title(way, alone), width), [top])
    return [blocks.gap(1.0), *_opened(headed[0], out[:1]), *out[1:], blocks.gap(1.0)]
