"""Blocks: what is placed on sheets as one: a strap or a half of one, its label above, its captions below."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

from strapwork.drawing import fonts
from strapwork.drawing.primitives import Drawing, Layer, Primitive, Text, transformed
from strapwork.geometry.shape import Box, rotate_point
from strapwork.paper import broken, captions, features, inside
from strapwork.paper.broken import Break
from strapwork.paper.features import Stretch
from strapwork.piece import drawn
from strapwork.piece.piece import Piece
from strapwork.say import straps

HEAD, FACT, RULE = 4.2, 3.1, 3.6
LEAD = 1.32
LABEL_ROOM = 1.4
BESIDE_NAME = 3.0
LEAST_BESIDE = 60.0
CELL_LEAST = 100.0
CROWN = 7.2
APART = 8.0
WIDER = 6.0
BESIDE_MARK = 5.0


@dataclass(frozen=True, slots=True)
class Word:
    """A piece of a label: ``down`` mm under its top, ``right`` mm from its left edge."""

    text: str
    size: float
    role: str
    right: float
    down: float


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the strap that a block shows, and where strap mm 0 lies in the block."""

    start: float
    stop: float
    origin: float


class Block:
    """A strap, whole or broken, or one half of it.

    Args:
        piece: the piece.
        index: its number in the job, from 0.
        units: of the job.
        gap: where the strap is broken; None for a whole one.
        halves: which halves are shown: 1, 2 or both.
    """

    def __init__(
        self, piece: Piece, index: int, units: str, gap: Break | None = None, halves: tuple[int, ...] = (1, 2)
    ) -> None:
        self.piece, self.index, self.units, self.gap, self.halves = piece, index, units, gap, halves
        self.width = piece.strap.width
        self.spans = self._spans()
        # The zigzag of a break line reaches beyond it.
        reach = broken.DEEP if gap and halves == (1,) else 0.0
        self.length = max(s.stop + s.origin for s in self.spans) + reach
        self.crown = CROWN if gap else 0.0
        self._words: dict[float, tuple[list[Word], float]] = {}
        self._shapes: dict[float, tuple[tuple[float, float], ...]] = {}

    def _spans(self) -> tuple[Span, ...]:
        whole = self.piece.strap.length
        if self.gap is None:
            return (Span(0.0, whole, 0.0),)
        out: list[Span] = []
        if 1 in self.halves:
            out.append(Span(0.0, self.gap.start, 0.0))
        if 2 in self.halves:
            left = self.gap.start + APART if out else broken.DEEP
            out.append(Span(self.gap.stop, whole, left - self.gap.stop))
        return tuple(out)

    @cached_property
    def flags(self) -> list[captions.Flag]:
        """The captions under the block."""
        items = straps.captions(self.piece, self.units)
        whole = captions.place(items, self.piece.strap.length)
        if self.gap is None:
            return whole
        # A half has its captions as the whole strap has them, where they stay under it.
        out: list[captions.Flag] = []
        for s in self.spans:
            own = [f for f in whole if s.start <= f.x <= s.stop]
            if any(f.left < s.start - captions.EDGE or f.right > s.stop + captions.EDGE for f in own):
                inside_it = [(x + s.origin, text) for s in self.spans for x, text in items if s.start <= x <= s.stop]
                return captions.place(inside_it, self.length)
            out += [replace(f, x=f.x + s.origin, left=f.left + s.origin, right=f.right + s.origin) for f in own]
        return out

    @cached_property
    def foot(self) -> float:
        """Room in mm that the captions need."""
        return captions.height(self.flags)

    @cached_property
    def _inside(self) -> inside.Words:
        shown: list[Stretch] = []
        for s in self.spans:
            # Nothing is written across a break line or a mark beside it.
            a = s.start if self.gap is None or s.start == 0.0 else self.gap.marks[3] + 1.0
            b = s.stop if self.gap is None or s.start > 0.0 else self.gap.mark - 1.0
            shown.append((a, b))
        return inside.place(self.piece, shown)

    @cached_property
    def _strap(self) -> Drawing:
        strap = (*drawn.of_strap(self.piece.strap), *self._inside.drawing)
        out: list[Primitive] = []
        for s in self.spans:
            shown: Drawing = strap
            if self.gap is not None:
                shown = broken.half(strap, self.gap, first=s.start == 0.0, width=self.width)
            out += [transformed(p, s.origin, 0.0) if s.origin else p for p in shown]
        if self.gap is not None and self._rule_at is not None:
            out.append(Text(self._rule_at, self.width + 3.4, self._rule, RULE, Layer.LABELS, "text-strong"))
        return tuple(out)

    def drawing(self, window: Stretch | None = None) -> Drawing:
        """Strap and captions, the left end of what is shown at x = 0, the lower edge at y = 0.

        With a ``window`` (mm of the block) the words that it would cut are left out: the next sheet has them whole.
        """
        if window is None:
            return (*self._strap, *captions.draw(self.flags))
        a, b = window
        kept = [
            p
            for p in self._strap
            if not isinstance(p, Text) or (inside.text_span(p)[0] >= a and inside.text_span(p)[1] <= b)
        ]
        return (*kept, *captions.draw([f for f in self.flags if f.left >= a and f.right <= b]))

    @cached_property
    def features(self) -> list[Stretch]:
        """Stretches of the block, in its own mm, that a join must not run through."""
        own = features.stretches(self.piece.strap)
        return features.joined(
            (a + s.origin, b + s.origin) for s in self.spans for a, b in own if b >= s.start and a <= s.stop
        )

    @cached_property
    def words_along(self) -> list[Stretch]:
        """Stretches with words on or under the strap."""
        inner = [
            (a + s.origin, b + s.origin)
            for s in self.spans
            for a, b in self._inside.stretches
            if b >= s.start and a <= s.stop
        ]
        return features.joined([*inner, *((f.left, f.right) for f in self.flags)])

    def label(self, width: float) -> tuple[list[Word], float]:
        """The label in ``width`` mm, and how high it is with the room under it."""
        if width not in self._words:
            self._words[width] = self._label(width)
        return self._words[width]

    @cached_property
    def _said(self) -> tuple[str, tuple[str, ...]]:
        """The piece's name and its facts."""
        return straps.headline(self.piece), tuple(straps.on_sheet(self.piece, self.units))

    def _label(self, width: float) -> tuple[list[Word], float]:
        words, down = _lettered(*self._said, width)
        out = list(words)
        if self.gap is not None and self._rule_at is None:
            for part in fonts.wrapped(self._rule, RULE, width, True):
                down += RULE * LEAD
                out.append(Word(part, RULE, "text-strong", 0.0, down))
        return out, down + LABEL_ROOM

    @property
    def _rule(self) -> str:
        """How far the marks of a broken view are from each other."""
        assert self.gap is not None
        return straps.broken(broken.words(self.gap, self.units))

    @cached_property
    def _rule_at(self) -> float | None:
        """Where that stands level with the letters of the marks; None where it has no room there."""
        assert self.gap is not None
        a, _, _, d = self.gap.marks
        first = self.spans[0]
        left = 0.0 if first.start == 0.0 else d + first.origin + BESIDE_MARK
        right = a - BESIDE_MARK if first.start == 0.0 else self.length
        return left if fonts.text_width(self._rule, RULE, True) <= right - left else None

    def height(self, width: float) -> float:
        """From the top of the label to the foot of the captions, the label in ``width`` mm."""
        return self.label(width)[1] + self.crown + self.width + self.foot

    @cached_property
    def cell(self) -> float:
        """Width in mm of the block with its label on a sheet that holds it whole."""
        return max(self.length, CELL_LEAST)

    @cached_property
    def plain(self) -> tuple[tuple[float, float]]:
        """Width and height of the block with its label over itself alone."""
        return ((self.cell, self.height(self.cell)),)

    def shapes(self, most: float) -> tuple[tuple[float, float], ...]:
        """Widths and heights that the block may take with its label running on beside it, the narrowest first.

        Args:
            most: width in mm that is there.
        """
        if most not in self._shapes:
            self._shapes[most] = tuple(self._lower(most))
        return self._shapes[most]

    def _lower(self, most: float) -> Iterator[tuple[float, float]]:
        ((wide, tall),) = self.plain
        yield wide, tall
        one_row = _one_row(*self._said)
        while wide < min(most, one_row):
            # Label rows are broken at facts: steps find every height that there is, near enough.
            wide = min(wide + WIDER, most, one_row)
            if self.height(wide) < tall - 1e-9:
                tall = self.height(wide)
                yield wide, tall

    def note(self, x: float, y: float, window: Box | None, angle: float) -> list[dict[str, object]]:
        """Where strap mm (0, 0) lies on the sheet, for every part of the strap that the block shows."""
        out: list[dict[str, object]] = []
        for s in self.spans:
            dx, dy = rotate_point((s.origin, 0.0), angle)
            row: dict[str, object] = {
                "piece": self.piece.label,
                "x_mm": x + dx,
                "y_mm": y + dy,
                "window_mm": list(window) if window else None,
            }
            if angle:
                row["angle_deg"] = angle
            out.append(row)
        return out

    @property
    def left_out(self) -> dict[str, object] | None:
        """What a broken view leaves out, for ``numbers.json``; None for a whole strap."""
        if self.gap is None:
            return None
        return {
            "piece": self.index,
            "left_out_from_mm": self.gap.start,
            "left_out_to_mm": self.gap.stop,
            "marks_mm": list(self.gap.marks),
            "distance_mm": self.gap.distance,
        }


@lru_cache(maxsize=8192)  # asked again where broken views are weighed
def _lettered(name: str, said: tuple[str, ...], width: float) -> tuple[tuple[Word, ...], float]:
    """A name and facts in ``width`` mm, and how high they are."""
    # The whole name, however long: cut short, two names could look alike.
    names = fonts.wrapped(name, HEAD, width, True)
    out = [Word(n, HEAD, "text-strong", 0.0, (k + 1) * HEAD * LEAD) for k, n in enumerate(names)]
    down = len(names) * HEAD * LEAD
    facts = list(said)
    # What of the facts stands beside the name.
    left = fonts.text_width(names[-1], HEAD, True) + BESIDE_NAME
    if width - left >= LEAST_BESIDE:
        row, facts = _row(facts, width - left)
        if row:
            out.append(Word(row, FACT, "text", left, down))
    while facts:
        row, facts = _row(facts, width)
        parts = [row] if row else fonts.wrapped(facts.pop(0), FACT, width)
        for part in parts:
            down += FACT * LEAD
            out.append(Word(part, FACT, "text", 0.0, down))
    return tuple(out), down


def _one_row(name: str, said: Sequence[str]) -> float:
    """Width in mm in which a name has all its facts beside it."""
    facts = fonts.text_width(" · ".join(said), FACT) + 1e-6
    return fonts.text_width(name, HEAD, True) + BESIDE_NAME + max(facts, LEAST_BESIDE)


def _row(facts: Sequence[str], width: float) -> tuple[str, list[str]]:
    """As many facts as stand in one row of ``width`` mm, and the rest."""
    row = ""
    left = list(facts)
    while left:
        trial = f"{row} · {left[0]}" if row else left[0]
        if fonts.text_width(trial, FACT) > width:
            break
        row = trial
        left.pop(0)
    return row, left


def draw_label(words: Sequence[Word], x: float, top: float) -> list[Primitive]:
    """A label with its upper left corner at (x, top)."""
    return [Text(x + w.right, top - w.down + w.size * 0.25, w.text, w.size, Layer.LABELS, w.role) for w in words]
