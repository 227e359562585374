"""The order page: lists to work down with a ticking box a row, on as many pages as they need.

Knows tables, not orders: what stands in them is made up elsewhere.  Sizes of
type are those of all our paper: 9, 11, 14 and 20 points.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from strapwork.catalogue import tr
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Layer, Placed, Primitive, Sheet, Text, box_path, line

POINT = 25.4 / 72.0
SMALL, BODY, HEAD, NAME = 9 * POINT, 11 * POINT, 14 * POINT, 20 * POINT
MARGIN = 11.0
LEAD = 1.36
BOX = 3.8  # side of a ticking box
GUTTER = 3.0
FOOT = 3.0
ABOVE = 3.0  # over a table
NUMBER_AND_UNIT = re.compile(r"\d (?:mm|in|oz|m|ft)\b")
LEAST_UNDER = 1.1  # between a line of writing and the rule under it


@dataclass(frozen=True, slots=True)
class Setting:
    """How wide the rows are set: size of the hand's numbers, of other cells, and the shares of the space round them."""

    strong: float
    body: float
    space: float


# From generous to tight; the first that takes the fewest pages is used.
SETTINGS = (
    Setting(HEAD, BODY, 1.0),
    Setting(12 * POINT, BODY, 0.7),
    Setting(12 * POINT, 10 * POINT, 0.25),
    Setting(BODY, SMALL, 0.25),
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its head, its share of the page's width, and how its cells stand.

    ``strong`` cells are numbers that the hand needs, large and bold; they are
    made smaller rather than cut off.
    """

    head: str
    share: float
    align: Literal["start", "end"] = "start"
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """Rows of a table that belong together, with a heading and a remark over them and a row of sums under them."""

    rows: tuple[tuple[str, ...], ...]
    heading: str = ""
    remark: str = ""
    total: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """One list: a heading with a remark beside it, columns, sections, a row of sums, and notes in small."""

    heading: str
    columns: tuple[Column, ...]
    sections: tuple[Section, ...]
    remark: str = ""
    total: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    ticks: bool = True


def sheets(
    title: str,
    under: str,
    tables: Sequence[Table | tuple[Table, Table]],
    paper: tuple[float, float],
    prefix: str = "order ",
) -> list[Sheet]:
    """The pages, upright; a pair of tables stands side by side where a page has room for both.

    ``under`` stands under the title; sheets are named ``prefix`` and a number.
    """
    tries = [_paged(title, under, tables, paper, setting) for setting in SETTINGS]
    return min(tries, key=lambda pages: len(pages.pages)).finish(prefix)


def _paged(
    title: str, under: str, tables: Sequence[Table | tuple[Table, Table]], paper: tuple[float, float], setting: Setting
) -> _Pages:
    pages = _Pages(title, under, paper, setting)
    for each in tables:
        if isinstance(each, Table):
            pages.table(each)
        else:
            pages.pair(*each)
    return pages


@dataclass(frozen=True, slots=True)
class _Line:
    """A laid-out row: texts (x, how far down, text, size, role, anchor), height, where its box stands, rule under it."""

    texts: tuple[tuple[float, float, str, float, str, str], ...]
    height: float
    box: tuple[float, float, float] | None = None  # left, how far down its lower edge, side
    rule: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class _Block:
    """Lines that stay together, with those that come before them at the head of a new page."""

    lines: tuple[_Line, ...]
    again: tuple[_Line, ...]

    @property
    def height(self) -> float:
        return sum(x.height for x in self.lines)


class _Layout:
    """A table's lines between two sides of the page."""

    def __init__(self, table: Table, left: float, width: float, setting: Setting) -> None:
        self.table, self.left, self.width, self.setting = table, left, width, setting
        self.right = left + width

    def blocks(self) -> list[_Block]:
        """The whole table; heads stay with the first two rows, and sums with the last."""
        table = self.table
        again = (*self._heads(again=True),)
        out: list[_Block] = []
        for n, section in enumerate(table.sections):
            head = (self._subhead(section),) if section.heading else ()
            rows = [self._row(r, tick=table.ticks) for r in section.rows]
            sums = [self._row(section.total, total=True)] if section.total else []
            if n == len(table.sections) - 1:
                sums += [self._row(table.total, total=True)] if table.total else []
                sums += [self._note(text, k == 0) for k, text in enumerate(table.notes)]
            opening = (*(self._heads(again=False) if n == 0 else ()), *head)
            # The first two rows with the heads, the last with the sums, all others by themselves.
            groups = [rows[:2], *([r] for r in rows[2:])]
            for k, group in enumerate(groups):
                last = k == len(groups) - 1
                lines = (*(opening if k == 0 else ()), *group, *(sums if last else ()))
                before = again if n == 0 and k else (*again, *head) if k else again if n else ()
                out.append(_Block(lines, before))
        return out

    def _spans(self) -> list[tuple[float, float]]:
        """(left, right) of every column."""
        left = self.left + (BOX + GUTTER if self.table.ticks else 0.0)
        free = self.right - left - GUTTER * (len(self.table.columns) - 1)
        whole = sum(c.share for c in self.table.columns)
        out = []
        for c in self.table.columns:
            wide = free * c.share / whole
            out.append((left, left + wide))
            left += wide + GUTTER
        return out

    def _title(self, text: str, remark: str, size: float, above: float, below: float, *, rule: bool) -> _Line:
        beside = min(size, BODY)
        wide = fonts.text_width(remark, beside) + 4.0 if remark else 0.0
        rows = fonts.wrapped(text, size, self.width - wide, True)
        down = above + size
        texts = [(self.left, down + k * size * LEAD, row, size, "text-strong", "start") for k, row in enumerate(rows)]
        if remark:
            texts.append((self.right, down, remark, beside, "text", "end"))
        height = down + (len(rows) - 1) * size * LEAD + below
        return _Line(tuple(texts), height, rule=(self.left, self.right) if rule else None)

    def _heads(self, *, again: bool) -> Iterator[_Line]:
        heading = tr("{heading}, continued", heading=self.table.heading) if again else self.table.heading
        space = max(self.setting.space, 0.6)
        yield self._title(heading, "" if again else self.table.remark, HEAD, 0.6 * space, 1.8 * space, rule=False)
        if any(c.head for c in self.table.columns):
            heads = []
            for c, (left, right) in zip(self.table.columns, self._spans(), strict=True):
                x = left if c.align == "start" else right
                heads.append((x, SMALL, fonts.shortened(c.head, SMALL, right - left), SMALL, "text-faint", c.align))
            yield _Line(tuple(heads), SMALL * LEAD + 0.6, rule=(self.left, self.right))

    def _subhead(self, section: Section) -> _Line:
        space = self.setting.space
        return self._title(section.heading, section.remark, self.setting.body, 1.6 * space, 1.4 * space, rule=True)

    def _row(self, cells: Sequence[str], *, tick: bool = False, total: bool = False) -> _Line:
        fitted = [
            _fitted(cell, right - left, self.setting.strong if c.strong else self.setting.body, c.strong or total)
            for c, (left, right), cell in zip(self.table.columns, self._spans(), cells, strict=True)
        ]
        largest = max(size for size, rows in fitted if rows != [""])
        base = 0.7 * self.setting.space + largest  # the first lines of all cells stand on one line
        texts: list[tuple[float, float, str, float, str, str]] = []
        deepest = base
        for c, (left, right), (size, rows) in zip(self.table.columns, self._spans(), fitted, strict=True):
            x = left if c.align == "start" else right
            role = "text-strong" if c.strong or total else "text"
            texts += [(x, base + k * size * LEAD, row, size, role, c.align) for k, row in enumerate(rows)]
            deepest = max(deepest, base + (len(rows) - 1) * size * LEAD)
        box = (self.left, base + 0.4, min(BOX, largest)) if tick else None
        return _Line(
            tuple(texts),
            deepest + max(1.35 * self.setting.space, LEAST_UNDER),
            box,
            None if total else (self.left, self.right),
        )

    def _note(self, text: str, first: bool) -> _Line:
        rows = fonts.wrapped(text, SMALL, self.width)
        down = SMALL + (1.0 if first else 0.3)
        texts = tuple((self.left, down + k * SMALL * LEAD, row, SMALL, "text", "start") for k, row in enumerate(rows))
        return _Line(texts, down + (len(rows) - 1) * SMALL * LEAD + 0.3 * SMALL)


class _Pages:
    """Lines flowing down page after page."""

    def __init__(self, title: str, under: str, paper: tuple[float, float], setting: Setting) -> None:
        self.title, self.under, self.setting = title, under, setting
        self.size = min(paper), max(paper)
        self.width = self.size[0] - 2 * MARGIN
        self.pages: list[list[Primitive]] = []
        self.y = 0.0
        self.begin()

    def begin(self) -> None:
        """A new page with the title."""
        self.pages.append([])
        first = len(self.pages) == 1
        y = self.size[1] - MARGIN
        size = NAME if first else HEAD
        for row in fonts.wrapped(self.title, size, self.width, True)[: 3 if first else 1]:
            y -= size * 1.2
            self.put(MARGIN, y, row, size, "text-strong")
        for row in fonts.wrapped(self.under, BODY, self.width) if first and self.under else ():
            y -= BODY * LEAD + 0.6
            self.put(MARGIN, y, row, BODY, "text")
        y -= 3.0
        self.pages[-1].append(line(MARGIN, y, MARGIN + self.width, y, Layer.LABELS, "frame"))
        self.y = y

    def put(self, x: float, y: float, text: str, size: float, role: str, anchor: str = "start") -> None:
        self.pages[-1].append(Text(x, y, text, size, Layer.LABELS, role, anchor))

    @property
    def room(self) -> float:
        return self.y - MARGIN - FOOT

    def table(self, table: Table) -> None:
        """One list; its heads come again on every page that it runs on to."""
        self.y -= ABOVE * self.setting.space
        for block in _Layout(table, MARGIN, self.width, self.setting).blocks():
            if block.height > self.room:
                self.begin()
                self.draw(block.again)
            self.draw(block.lines)

    def pair(self, one: Table, other: Table) -> None:
        """Two lists side by side, or one after the other where they are too long for that."""
        half = (self.width - 2.0 * GUTTER) / 2.0
        sides = [
            _Layout(one, MARGIN, half, self.setting).blocks(),
            _Layout(other, MARGIN + self.width - half, half, self.setting).blocks(),
        ]
        tall = max(sum(b.height for b in blocks) for blocks in sides)
        if tall > self.size[1] / 3.0:
            self.table(one)
            self.table(other)
            return
        self.y -= ABOVE * self.setting.space
        if tall > self.room:
            self.begin()
        top = self.y
        for blocks in sides:
            self.y = top
            for block in blocks:
                self.draw(block.lines)
        self.y = top - tall

    def draw(self, lines: Sequence[_Line]) -> None:
        """Lines from here downwards."""
        items = self.pages[-1]
        for x in lines:
            for left, down, text, size, role, anchor in x.texts:
                self.put(left, self.y - down, text, size, role, anchor)
            if x.box:
                left, base, side = x.box[0], self.y - x.box[1], x.box[2]
                items.append(box_path((left, base, left + side, base + side), Layer.LABELS, "edge"))
            self.y -= x.height
            if x.rule:
                items.append(line(x.rule[0], self.y, x.rule[1], self.y, Layer.LABELS, "frame"))

    def finish(self, prefix: str) -> list[Sheet]:
        """The sheets, numbered."""
        out = []
        for k, items in enumerate(self.pages, start=1):
            words = tr("page {k} of {pages}", k=k, pages=len(self.pages))
            foot = Text(MARGIN + self.width, MARGIN - 4.0, words, SMALL, Layer.LABELS, "text-faint", "end")
            out.append(Sheet(*self.size, f"{prefix}{k}", (Placed((*items, foot)),), {"order": self.title}))
        return out


def _fitted(text: str, width: float, size: float, strong: bool) -> tuple[float, list[str]]:
    """Size and lines of a cell: broken at spaces, made smaller where a word is wider than the column.

    A number keeps its unit beside it.
    """
    text = NUMBER_AND_UNIT.sub(lambda m: m[0].replace(" ", "\u00a0"), text)
    for smaller in dict.fromkeys(s for s in (size, BODY, SMALL, 0.8 * SMALL) if s <= size):
        if all(fonts.text_width(word, smaller, strong) <= width for word in text.split(" ")):
            return smaller, fonts.wrapped(text, smaller, width, strong)
    return SMALL, fonts.wrapped(text, SMALL, width, strong)
