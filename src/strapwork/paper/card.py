"""The bench card: one page of numbers and steps for a piece, and the braid in pictures.

Everything is drawn with the drawing protocol, so the PDF and the SVG have it
alike.  A4 or letter, upright.
"""

from __future__ import annotations

from collections.abc import Sequence

from strapwork.braid.plan import Plan
from strapwork.braid.word import Turn
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Layer, Placed, Primitive, Sheet, Text, extent, line
from strapwork.paper import braid_pictures as picture
from strapwork.paper import finished
from strapwork.piece import load
from strapwork.piece.load import Load
from strapwork.piece.piece import Piece
from strapwork.say import braiding, findings, lengths, loads, steps, straps
from strapwork.units import MM_PER_INCH, format_mm, rounding_note

A4, LETTER = (210.0, 297.0), (215.9, 279.4)
MARGIN = 11.0
BODY = 3.6
LEAD = 1.42
CELL_HEIGHT = 60.0
NARROW, WIDE = 60.0, 92.0  # three pictures across, or two where strands are many
MANY = 6
CAPTION = 20.0


def card_paper(paper: tuple[float, float]) -> tuple[float, float]:
    """Letter for American papers, A4 for all others."""
    inches = [side / MM_PER_INCH for side in paper]
    return LETTER if all(abs(side * 2 - round(side * 2)) < 1e-6 for side in inches) else A4


class _Pages:
    """Text flowing down columns, page after page."""

    def __init__(self, size: tuple[float, float], head: str, under: str, prefix: str) -> None:
        self.size, self.head, self.under, self.prefix = size, head, under, prefix
        self.sheets: list[Sheet] = []
        self.items: list[Primitive] = []
        self.placed: list[Placed] = []
        self.y = 0.0
        self.begin()

    @property
    def width(self) -> float:
        return self.size[0] - 2 * MARGIN

    def begin(self) -> None:
        self.items, self.placed = [], []
        y = self.size[1] - MARGIN - 5.5
        self.items.append(
            Text(MARGIN, y, fonts.shortened(self.head, 6.0, self.width, True), 6.0, Layer.LABELS, "text-strong")
        )
        for row in fonts.wrapped(self.under, 3.4, self.width):
            y -= 5.0
            self.items.append(Text(MARGIN, y, row, 3.4, Layer.LABELS, "text"))
        y -= 2.4
        self.items.append(line(MARGIN, y, MARGIN + self.width, y, Layer.LABELS, "frame"))
        self.y = y - 0.5

    def close(self) -> None:
        name = f"{self.prefix}{len(self.sheets) + 1}"
        self.items.append(Text(self.size[0] - MARGIN, MARGIN - 5.0, name, 3.0, Layer.LABELS, "text-faint", "end"))
        everything = (*self.placed, Placed(tuple(self.items)))
        self.sheets.append(Sheet(*self.size, name, everything, {"card": self.head}))

    def need(self, height: float) -> None:
        """Begin a new page when less than ``height`` mm are left."""
        if self.y - height < MARGIN:
            self.close()
            self.begin()

    def words(self, text: str, size: float = BODY, role: str = "text", indent: float = 0.0, mark: str = "") -> None:
        """One paragraph, with ``mark`` (a number) hanging to the left of it."""
        rows = fonts.wrapped(text, size, self.width - indent, role == "text-strong")
        self.need(min(len(rows), 3) * size * LEAD)
        for k, row in enumerate(rows):
            if self.y - size * LEAD < MARGIN:
                self.need(size * LEAD + 1.0)
            self.y -= size * LEAD
            if k == 0 and mark:
                self.items.append(Text(MARGIN + indent - 2.0, self.y, mark, size, Layer.LABELS, "text-strong", "end"))
            self.items.append(Text(MARGIN + indent, self.y, row, size, Layer.LABELS, role))

    def row(self, what: str, value: str, why: str, at: float, size: float, *, strong: bool) -> None:
        """One line of a table: what, a value ending ``at`` mm from the margin, and why in small."""
        role = "text-strong" if strong else "text"
        self.need(BODY * LEAD)
        self.y -= BODY * LEAD
        room = at - fonts.text_width(value, size, strong) - 2.0
        texts = (
            Text(MARGIN, self.y, fonts.shortened(what, size, room, strong), size, Layer.LABELS, role),
            Text(MARGIN + at, self.y, value, size, Layer.LABELS, role, "end"),
            Text(
                MARGIN + at + 4.0,
                self.y,
                fonts.shortened(why, 3.2, self.width - at - 4.0),
                3.2,
                Layer.LABELS,
                "text-faint",
            ),
        )
        self.items += texts

    def heading(self, text: str) -> None:
        self.need(18.0)
        self.y -= 2.0
        self.words(text, 4.4, "text-strong")
        self.y -= 0.6

    def finish(self) -> list[Sheet]:
        self.close()
        return self.sheets


def piece_card(piece: Piece, paper: tuple[float, float], units: str, prefix: str) -> list[Sheet]:
    """The card of one piece: lengths, steps in working order, cautions, the finished braid."""
    under = " · ".join(straps.facts(piece, units))
    p = _Pages(card_paper(paper), f"Bench card: {straps.headline(piece)}", under, prefix)
    _lengths(p, piece, units)
    p.heading("In working order")
    for k, step in enumerate(steps.steps(piece), start=1):
        p.words(f"{step.title}. {step.text}", indent=8.0, mark=str(k))
        p.y -= 0.8
    if piece.fit.braid and piece.plan:
        _true_braid(p, piece)
    minded = findings.to_mind(piece)
    if minded:
        p.heading("Mind")
        for f in minded:
            p.words(f"{f.level.capitalize()}: {f.message}. ({f.source})", 3.4, indent=8.0, mark="–")
    if load.wanted(piece):
        _load(p, load.estimate(piece))
    p.heading("Cautions")
    for text in findings.cautions([piece]):
        p.words(text, 3.4, indent=8.0, mark="!")
    return p.finish()


def _lengths(p: _Pages, piece: Piece, units: str) -> None:
    fit = piece.fit
    p.heading("Lengths")
    rows = lengths.breakdown(piece, units)
    for k, said in enumerate(rows):
        p.row(said.what, said.length, said.why, 66.0, BODY, strong=k == len(rows) - 1)
    p.y -= 1.4
    p.words(f"Finished, {straps.references(piece)}: {steps.both(fit.finished)}.", role="text-strong")
    p.words(f"The same as cut, on the flat strap: {steps.both(fit.reference_to_reference)}.", role="text-strong")
    p.words(f"Band of the cut length: {lengths.band(piece, units)} {rounding_note(units)}", 3.2)


def _true_braid(p: _Pages, piece: Piece) -> None:
    form, plan = piece.fit.braid, piece.plan
    assert form is not None
    assert plan is not None
    strand = piece.strap.width / piece.strands
    drawn = finished.drawing(plan.plait, plan.turns, form, strand, min(form.finished, p.width))
    x0, y0, x1, y1 = extent(drawn)
    p.need(y1 - y0 + 16.0)
    p.heading("The finished braid, at true scale")
    p.placed.append(Placed(drawn, MARGIN, p.y - (y1 - y0) / 2.0 - 2.0))
    p.y -= y1 - y0 + 4.0
    p.words(f"One set is {steps.both(form.set_length)} long; shown: {format_mm(x1 - x0)}.", 3.2)


def _load(p: _Pages, e: Load) -> None:
    p.heading("Load estimate")
    p.words(loads.introduction(e), 3.2)
    for k, s in enumerate(e.sections):
        p.row(s.what, loads.newtons(s.newtons), s.how, 96.0, 3.4, strong=k == 0)
    p.y -= 1.0
    for text in loads.conclusions(e):
        p.words(text, role="text-strong")


def braid_card(plan: Plan, paper: tuple[float, float], prefix: str) -> list[Sheet]:
    """The braid in pictures as its hand works it, one for each turn and pass of a set."""
    turns, schedule, n = plan.turns, plan.schedule, plan.strands
    under = (
        f"One set is {len(turns)} turns"
        + (f" and {len(schedule)} tab passes" if schedule else "")
        + ". Letters show where each strand lies. The strand that moves has heavy edges and an arrow. A full line runs in front, "
        "a dashed one behind; the ring with a cross is the tab going in, the ring with a dot the tab coming out."
    )
    p = _Pages(card_paper(paper), f"Braiding {n} strands with both ends joined, {braiding.hand(plan)}", under, prefix)
    p.words(
        "Fix the plain end at the top, grain side up. Every crossing at the top makes the opposite one below: that is expected, "
        "and the passes take it out. After a pass pull the tab down and lay the strands flat; none may stay twisted at the end of the set.",
        3.5,
    )
    p.y -= 1.0
    cell = WIDE if n >= MANY else NARROW
    across = max(1, int((p.width + 3.0) // (cell + 3.0)))
    step = (p.width - across * cell) / max(1, across - 1) + cell
    for k, f in enumerate(braiding.frames(plan)):
        column = k % across
        if column == 0:
            p.need(CELL_HEIGHT + CAPTION - 2.0)
            top = p.y
            p.y -= CELL_HEIGHT + CAPTION
        x = MARGIN + column * step
        drawn = picture.step_picture(n, turns, f.turn, f.tab_pass, cell, CELL_HEIGHT - 2.0)
        p.placed.append(Placed(drawn, x, top - CELL_HEIGHT))
        y = top - CELL_HEIGHT - 4.0
        p.items.append(Text(x, y, f"{k + 1}. {f.title}", 3.8, Layer.LABELS, "text-strong"))
        for row in (*fonts.wrapped(f.text, 3.1, cell)[:3], f.state):
            y -= 3.9
            p.items.append(Text(x, y, row, 3.1, Layer.LABELS, "text"))
    return p.finish()


def job_cards(pieces: Sequence[Piece], paper: tuple[float, float], units: str) -> list[Sheet]:
    """A card for every piece, and the pictures of every braid once for each hand that works it."""
    sheets: list[Sheet] = []
    for k, piece in enumerate(pieces, start=1):
        sheets += piece_card(piece, paper, units, f"card {k}.")
    shown: dict[tuple[int, tuple[Turn, ...]], Plan] = {}
    for piece in pieces:
        if piece.plan and piece.fit.braid:
            shown.setdefault((piece.strands, piece.plan.turns), piece.plan)
    for k, plan in enumerate(shown.values(), start=1):
        sheets += braid_card(plan, paper, f"braid {k}.")
    return sheets
