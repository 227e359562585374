"""A card's page as blocks set one under the other: words, numbered steps, heads.

Each block knows its height; its items stand in a frame whose upper left corner
is (0, 0), y up, so they lie below zero.  Type has four sizes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.drawing import fonts
from strapwork.drawing.primitives import Layer, Placed, Primitive, Sheet, Text, line
from strapwork.units import MM_PER_INCH

POINT = MM_PER_INCH / 72.0
CAPTION, BODY, HEAD, NAME = (p * POINT for p in (9.0, 11.0, 14.0, 20.0))
LEAD = 1.3
MARGIN = 11.0
STAMP_ROOM = 52.0
LABELS = Layer.LABELS
A4, LETTER = (210.0, 297.0), (215.9, 279.4)


@dataclass(frozen=True, slots=True)
class Block:
    """Something ``height`` mm high that a page does not break; ``again`` stands above it where it begins a page."""

    height: float
    items: tuple[Primitive, ...] = ()
    again: Block | None = None


def card_paper(paper: tuple[float, float]) -> tuple[float, float]:
    """Letter for American papers, A4 for all others."""
    inches = [side / MM_PER_INCH for side in paper]
    return LETTER if all(abs(side * 2 - round(side * 2)) < 1e-6 for side in inches) else A4


def width_of(size: tuple[float, float]) -> float:
    """Width in mm between the margins."""
    return size[0] - 2.0 * MARGIN


def room_of(size: tuple[float, float]) -> float:
    """Height in mm between the margins."""
    return size[1] - 2.0 * MARGIN


def words(text: str, size: float, width: float, role: str = "text", indent: float = 0.0) -> Block:
    """A paragraph."""
    rows = fonts.wrapped(text, size, width - indent, role == "text-strong")
    step = size * LEAD
    items = tuple(Text(indent, -step * k - size, row, size, LABELS, role) for k, row in enumerate(rows))
    return Block(step * len(rows), items)


def heading(text: str, width: float) -> Block:
    """A head of a part of the page."""
    text = fonts.shortened(text, HEAD, width, True)
    return Block(HEAD * 1.55, (Text(0.0, -HEAD * 1.15, text, HEAD, LABELS, "text-strong"),))


def step(mark: str, verb: str, text: str, size: float, width: float, indent: float = 7.5) -> Block:
    """One numbered step: its number, its verb in bold, and the rest of the sentence after it."""
    room = width - indent
    lead, y = size * LEAD, -size
    begin = fonts.text_width(f"{verb}  ", size, True)
    items: list[Primitive] = [
        Text(indent - 2.0, y, mark, size, LABELS, "text-strong", "end"),
        Text(indent, y, fonts.shortened(verb, size, room, True), size, LABELS, "text-strong"),
    ]
    first, rest = _first_line(text, size, room - begin)
    if first:
        items.append(Text(indent + begin, y, first, size, LABELS, "text"))
    for row in fonts.wrapped(rest, size, room) if rest else []:
        y -= lead
        items.append(Text(indent, y, row, size, LABELS, "text"))
    return Block(-y - size + lead, tuple(items))


def _first_line(text: str, size: float, room: float) -> tuple[str, str]:
    """What of ``text`` fits beside the verb, and the rest."""
    parts = text.split(" ")
    taken = 0
    while taken < len(parts) and fonts.text_width(" ".join(parts[: taken + 1]), size) <= room:
        taken += 1
    return " ".join(parts[:taken]), " ".join(parts[taken:])


def head(name: str, right: str, under: Sequence[str], width: float) -> Block:
    """The head of a page: its name large, a few words at the right, lines under it, and a rule."""
    beside = fonts.text_width(right, BODY) + 4.0 if right else 0.0
    size = NAME
    while size > HEAD and fonts.text_width(name, size, True) > width - beside:
        size -= 0.25 * POINT
    name = fonts.shortened(name, size, width - beside, True)
    y = -NAME * 0.95
    items: list[Primitive] = [Text(0.0, y, name, size, LABELS, "text-strong")]
    if right:
        items.append(Text(width, y, right, BODY, LABELS, "text", "end"))
    y -= 1.4
    for one in under:
        for row in fonts.wrapped(one, CAPTION, width):
            y -= CAPTION * LEAD
            items.append(Text(0.0, y, row, CAPTION, LABELS, "text"))
    y -= 2.0
    items.append(line(0.0, y, width, y, LABELS, "frame"))
    return Block(-y + 1.2, tuple(items))


def gap(height: float) -> Block:
    """Nothing."""
    return Block(height)


def fits(blocks: Sequence[Block], room: float) -> bool:
    """Whether the blocks go on one page."""
    return sum(b.height for b in blocks) <= room + 1e-6


def paged(blocks: Sequence[Block], room: float, top: Block | None = None) -> list[list[Block]]:
    """The blocks on as few pages as their order allows, each page begun with ``top``."""
    begin = [top] if top else []
    pages: list[list[Block]] = [list(begin)]
    left = room - (top.height if top else 0.0)
    for b in blocks:
        if b.height > left + 1e-6 and len(pages[-1]) > len(begin):
            pages.append(list(begin))
            left = room - (top.height if top else 0.0)
            if b.again is not None:
                pages[-1].append(b.again)
                left -= b.again.height
        pages[-1].append(b)
        left -= b.height
    return pages


def sheet(blocks: Sequence[Block], size: tuple[float, float], name: str, about: str) -> Sheet:
    """One page of blocks, with its name and what it is at the foot."""
    y = size[1] - MARGIN
    placed: list[Placed] = []
    for b in blocks:
        if b.items:
            placed.append(Placed(b.items, MARGIN, y))
        y -= b.height
    foot = (
        # To the right of the stamp that every page bears.
        Text(
            MARGIN + STAMP_ROOM,
            MARGIN - 5.0,
            fonts.shortened(about, CAPTION, size[0] - 4 * MARGIN - STAMP_ROOM),
            CAPTION,
            LABELS,
            "text-faint",
        ),
        Text(size[0] - MARGIN, MARGIN - 5.0, name, CAPTION, LABELS, "text-faint", "end"),
    )
    return Sheet(*size, name, (*placed, Placed(foot)), {"card": about})
