"""The card of a mend, a picture a step, and the page of common slips."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.braid.looks import look
from strapwork.braid.passes import TabPass
from strapwork.braid.rescue import Mend
from strapwork.braid.slips import Slip
from strapwork.braid.way import Way
from strapwork.braid.work import Back, Done, Pass, Step
from strapwork.catalogue import tr
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Drawing, Layer, Placed, Primitive, Sheet, Text, line
from strapwork.paper import braid_pictures as picture
from strapwork.paper import mend_pictures
from strapwork.paper.blocks import MARGIN
from strapwork.paper.card import card_paper
from strapwork.say import mending, slips, tangles

CELL_HEIGHT = 60.0
NARROW, WIDE = 60.0, 92.0  # three pictures across, or two where strands are many
MANY = 6
HEAD, STRONG, TEXT, SMALL = 6.0, 3.5, 3.4, 3.1
LEAD = 1.28
BETWEEN = 3.0


@dataclass(frozen=True, slots=True)
class _Cell:
    """A picture with a heading and lines of text, under it or beside it."""

    drawing: Drawing
    title: str
    texts: tuple[str, ...]


class _Page:
    """Sheets filled from the top, a row of cells at a time."""

    def __init__(self, paper: tuple[float, float], head: str, under: str, name: str) -> None:
        self.size, self.head, self.under, self.name = card_paper(paper), head, under, name
        self.width = self.size[0] - 2 * MARGIN
        self.sheets: list[Sheet] = []
        self._begin()

    def _begin(self) -> None:
        self.items: list[Primitive] = []
        self.placed: list[Placed] = []
        self.y = self.size[1] - MARGIN - 5.5
        self._text(MARGIN, self.y, fonts.shortened(self.head, HEAD, self.width, True), HEAD, "text-strong")
        for row in fonts.wrapped(self.under, TEXT, self.width):
            self.y -= 5.0
            self._text(MARGIN, self.y, row, TEXT)
        self.y -= 2.4
        self.items.append(line(MARGIN, self.y, MARGIN + self.width, self.y, Layer.LABELS, "frame"))
        self.y -= 3.0

    def _text(self, x: float, y: float, words: str, size: float, role: str = "text", anchor: str = "start") -> None:
        self.items.append(Text(x, y, words, size, Layer.LABELS, role, anchor))

    def _close(self) -> None:
        name = f"{self.name}{len(self.sheets) + 1}"
        self._text(self.size[0] - MARGIN, MARGIN - 5.0, name, 3.0, "text-faint", "end")
        everything = (*self.placed, Placed(tuple(self.items)))
        self.sheets.append(Sheet(*self.size, name, everything, {"card": self.head}))

    def _room(self, height: float) -> None:
        if self.y - height < MARGIN:
            self._close()
            self._begin()

    def paragraph(self, words: str) -> None:
        """Text across the page."""
        rows = fonts.wrapped(words, TEXT, self.width)
        self._room(len(rows) * 5.0)
        for row in rows:
            self.y -= 5.0
            self._text(MARGIN, self.y, row, TEXT)

    def _words(self, x: float, y: float, cell: _Cell, width: float) -> float:
        """A cell's words from the height ``y`` down; the height where they end."""
        for row in fonts.wrapped(cell.title, STRONG, width, True):
            y -= STRONG * LEAD
            self._text(x, y, row, STRONG, "text-strong")
        for text in cell.texts:
            for row in fonts.wrapped(text, SMALL, width):
                y -= SMALL * LEAD
                self._text(x, y, row, SMALL)
        return y

    def _lines(self, cell: _Cell, width: float) -> float:
        titles = len(fonts.wrapped(cell.title, STRONG, width, True))
        rows = sum(len(fonts.wrapped(t, SMALL, width)) for t in cell.texts)
        return (titles * STRONG + rows * SMALL) * LEAD

    def grid(self, cells: Sequence[_Cell], width: float) -> None:
        """Cells side by side, words under the pictures; a row as high as its longest words."""
        across = max(1, int((self.width + 3.0) // (width + 3.0)))
        step = width + ((self.width - across * width) / max(1, across - 1) if across > 1 else 0.0)
        for k in range(0, len(cells), across):
            row = cells[k : k + across]
            words = max(self._lines(c, width) for c in row)
            self._room(CELL_HEIGHT + words + BETWEEN)
            self.y -= CELL_HEIGHT
            for i, cell in enumerate(row):
                self.placed.append(Placed(cell.drawing, MARGIN + i * step, self.y))
                self._words(MARGIN + i * step, self.y, cell, width)
            self.y -= words + BETWEEN

    def beside(self, cells: Sequence[_Cell], width: float, height: float) -> None:
        """Pictures with their words to the right of them, in two columns read downwards."""
        column = (self.width - 2.0 * BETWEEN) / 2.0
        room = column - width - 3.0
        highs = [max(height, self._lines(c, room)) + BETWEEN for c in cells]
        while cells:
            free = self.y - MARGIN + BETWEEN
            split = self._split(highs, free)
            taken, top = 0, self.y
            for x in (MARGIN, MARGIN + column + 2.0 * BETWEEN):
                y, first = top, taken
                while (
                    taken < len(cells) and (taken == first or top - y + highs[taken] <= free) and taken - first < split
                ):
                    self.placed.append(Placed(cells[taken].drawing, x, y - height))
                    self._words(x + width + 3.0, y, cells[taken], room)
                    y -= highs[taken]
                    taken += 1
            cells, highs = cells[taken:], highs[taken:]
            if cells:
                self._close()
                self._begin()

    @staticmethod
    def _split(highs: Sequence[float], free: float) -> int:
        """How many go into the first column: as nearly half of the height as fits, or as many as fit."""
        for k in sorted(range(1, len(highs) + 1), key=lambda k: max(sum(highs[:k]), sum(highs[k:]))):
            if max(sum(highs[:k]), sum(highs[k:])) <= free:
                return k
        return len(highs)

    def finish(self) -> list[Sheet]:
        self._close()
        return self.sheets


def step_picture(n: int, before: Done, after: Done, step: Step, width: float, height: float) -> Drawing:
    """One step of a mend, in the form of the bench card's pictures."""
    match step:
        case Back(turns):
            return mend_pictures.back_picture(n, before.turns, turns, width, height)
        case Pass(gap, face):
            made = TabPass(len(before.turns), gap, face)
            return picture.step_picture(n, before.turns, len(before.turns), made, width, height)
        case _:
            return picture.step_picture(n, after.turns, len(after.turns), None, width, height)


def mend_card(way: Way, m: Mend, paper: tuple[float, float], steps: Sequence[Step] | None = None) -> list[Sheet]:
    """How the work lies, every step of the mend in a picture, and what comes then.

    Args:
        way: the braid in hand.
        m: the mend.
        paper: size of the paper in mm; the card is A4 or letter.
        steps: the steps to show, where they are not the mend's own.
    """
    n = way.strands
    hand = tr("left-handed") if way.left_handed else tr("right-handed")
    page = _Page(paper, tr("Putting {n} strands right, {hand}", n=n, hand=hand), mending.headline(way, m), "mend ")
    width = WIDE if n >= MANY else NARROW
    high = CELL_HEIGHT - 2.0
    seen = look(n, m.done.turns, m.done.passes)
    at = len(m.done.turns)
    now = tr("After turn {way}", way=mending.number(way, at)) if at else tr("Before the first turn")
    cells = [
        _Cell(mend_pictures.tangle_picture(seen, width, high), tr("{now} it lies so", now=now), (tangles.lies(seen),))
    ]
    for k, s in enumerate(mending.said(way, m.done, m.steps if steps is None else steps), start=1):
        drawn = step_picture(n, s.before, s.after, s.step, width, high)
        cells.append(_Cell(drawn, f"{k}. {s.title}", (s.text,)))
    page.grid(cells, width)
    page.paragraph(mending.then(way, m))
    if any(seen.twisted):
        page.paragraph(tangles.S_AND_Z)
    return page.finish()


# Width and height of a picture: the largest that keeps to one page.
SETTINGS = (
    (40.0, 45.0),
    (32.0, 45.0),
    (40.0, 38.0),
    (36.0, 36.0),
    (32.0, 35.0),
    (30.0, 33.0),
    (28.0, 30.0),
    (26.0, 27.0),
)


def slips_page(way: Way, found: Sequence[Slip], paper: tuple[float, float], name: str = "slips ") -> list[Sheet]:
    """The common slips of a braid on one page, where it holds them: how each looks at the end of the set, and the mend.

    Args:
        way: the braid in hand.
        found: its slips.
        paper: size of the paper in mm; the page is A4 or letter.
        name: the page is called by it and its number.
    """
    tried = []
    for setting in SETTINGS:
        tried.append(_slips(way, found, paper, name, setting))
        if len(tried[-1]) == 1:
            break
    return min(tried, key=len)


def _slips(
    way: Way,
    found: Sequence[Slip],
    paper: tuple[float, float],
    name: str,
    setting: tuple[float, float],
) -> list[Sheet]:
    n = way.strands
    hand = tr("left-handed") if way.left_handed else tr("right-handed")
    under = tr(
        "One set is {per_set}. Each picture shows how the strands lie at the end of the set "
        "after that slip and no other, lettered as they lie in the tab; the mends are for whoever notices after that turn. {s_and_z} {brief_words}",
        per_set=tangles.turns_of(way.per_set),
        s_and_z=tangles.S_AND_Z,
        brief_words=mending.brief_words(n),
    )
    if not all(s.at_end.exact for s in found):
        under += f" {slips.NOT_RULED_OUT}"
    page = _Page(paper, tr("When {n} strands go wrong, {hand}", n=n, hand=hand), under, name)
    width, height = setting
    cells = [
        _Cell(
            mend_pictures.tangle_picture(s.look, width, height),
            slips.title(way, s, brief=True),
            slips.of_slip(way, s, brief=True),
        )
        for s in found
    ]
    page.beside(cells, width, height)
    return page.finish()
