"""The braider's atlas on paper: every class with its finished face and back, its turns and its passes."""

from __future__ import annotations

from collections.abc import Iterable

from strapwork.braid import patterns
from strapwork.braid.atlas import Atlas, Entry
from strapwork.braid.passes import Schedule
from strapwork.catalogue import tr, trn
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Layer, Placed, Primitive, Sheet, Text, extent, line
from strapwork.paper import any_braid
from strapwork.say import atlas as say
from strapwork.say import braiding

MARGIN = 11.0
CAPTION, BODY, HEAD, NAME = 3.2, 3.9, 4.9, 7.0  # 9, 11, 14 and 20 pt
LEAD = 1.35
BETWEEN = 6.0  # the two pictures, in mm
MOST_GROUPS = 6

TITLE = tr("Which braids can be worked in a strap")
UNDER = tr(
    "Both ends stay joined. Pictures are not to scale: the face, and the back with the work turned over; the work begins at the left. "
    "Letters tell the strands by their places at the start."
)


class _Pages:
    """Blocks going down page after page."""

    def __init__(self, size: tuple[float, float]) -> None:
        self.size = size
        self.width = size[0] - 2 * MARGIN
        self.sheets: list[Sheet] = []
        self.begin()

    def begin(self) -> None:
        self.placed: list[Placed] = []
        self.items: list[Primitive] = []
        self.y = self.size[1] - MARGIN
        if not self.sheets:
            self.words(TITLE, NAME, "text-strong")
            self.words(UNDER, CAPTION)
            self.words(say.HINT, CAPTION)
            self.rule()

    def close(self) -> None:
        name = f"atlas {len(self.sheets) + 1}"
        self.items.append(Text(self.size[0] - MARGIN, MARGIN - 5.0, name, CAPTION, Layer.LABELS, "text-faint", "end"))
        everything = (*self.placed, Placed(tuple(self.items)))
        self.sheets.append(Sheet(*self.size, name, everything, {"atlas": name}))

    def need(self, height: float) -> None:
        """Begin a new page when less than ``height`` mm are left."""
        if self.y - height < MARGIN:
            self.close()
            self.begin()

    def rule(self) -> None:
        self.y -= 2.5
        self.items.append(line(MARGIN, self.y, MARGIN + self.width, self.y, Layer.LABELS, "frame"))
        self.y -= 1.0

    def rows(self, text: str, size: float, role: str = "text") -> list[str]:
        return fonts.wrapped(text, size, self.width, role == "text-strong")

    def words(self, text: str, size: float, role: str = "text") -> None:
        for row in self.rows(text, size, role):
            self.y -= size * LEAD
            self.items.append(Text(MARGIN, self.y, row, size, Layer.LABELS, role))


def sheets(pages: Iterable[Atlas], paper: tuple[float, float], left_handed: bool = False) -> list[Sheet]:
    """The atlas for each number of strands in ``pages``, on upright paper of the given size in mm."""
    p = _Pages(paper)
    for a in pages:
        _page(p, a, left_handed)
    p.close()
    return p.sheets


def _page(p: _Pages, a: Atlas, left_handed: bool) -> None:
    said = say.summary(a) if a.entries else [*say.summary(a), say.NONE]
    p.need(sum(len(p.rows(t, CAPTION)) for t in said) * CAPTION * LEAD + (70.0 if a.entries else 12.0))
    p.y -= 3.0
    p.words(say.heading(a), HEAD, "text-strong")
    for text in said:
        p.words(text, CAPTION)
    worked = a.worked_out()
    for e in worked:
        _entry(p, e, left_handed)
    if len(worked) < len(a.entries):
        p.need(8.0)
        p.y -= 2.0
        p.words(say.left_out(a, False), CAPTION)
    p.rule()


def _entry(p: _Pages, e: Entry, left_handed: bool) -> None:
    pattern, schedule = say.handed(e, left_handed)
    told = [(f"{e.name}    {' '.join(pattern)}", HEAD, "text-strong")]
    turns = "; ".join(say.turn_in_words(t) for t in patterns.turns_of(e.strands, pattern))
    told.append((tr("Turns: {turns}. A set is {turns2} of them.", turns=turns, turns2=e.turns), BODY, "text"))
    told.append((_tab(e, schedule), BODY, "text"))
    told.append((_small(e, left_handed), CAPTION, "text"))
    room = (p.width - BETWEEN) / 2.0
    n = e.strands
    face = any_braid.drawing(n, patterns.turns_of(n, pattern) * e.repeats, room)
    turned = patterns.turns_of(n, patterns.turned_over(pattern)) * e.repeats
    back = any_braid.drawing(n, turned, room, tuple(range(n, 0, -1)))
    _, low, _, high = extent((*face, *back))
    p.need(sum(len(p.rows(*t)) * t[1] * LEAD for t in told) + high - low + 12.0)
    p.y -= 3.0
    for text, size, role in told:
        p.words(text, size, role)
    p.y -= CAPTION * LEAD + 1.0
    for k, (drawn, name) in enumerate(((face, "Face"), (back, "Back"))):
        x = MARGIN + k * (room + BETWEEN)
        p.items.append(Text(x + any_braid.LETTERS, p.y, name, CAPTION, Layer.LABELS, "text"))
        p.placed.append(Placed(drawn, x, p.y - 2.0 - high))
    p.y -= 2.0 + high - low


def _tab(e: Entry, schedule: Schedule | None) -> str:
    if schedule is None or not e.fewest_known:
        return tr("Tab: {passes_in_words}.", passes_in_words=say.passes_in_words(e, schedule))
    made = [braiding.tab_pass(q, e.strands) for q in schedule]
    return tr("Tab: {made}.", made="; ".join(made))


def _small(e: Entry, left_handed: bool) -> str:
    said = [tr("{patterns} in the class", patterns=say.patterns_of(e.size))]
    if e.least_tangle is not None:
        said.append(tr("least tangle {least_tangle:.2f}", least_tangle=e.least_tangle))
    groups = e.least_braided
    if not e.brunnian:
        many = trn("{count} group", "{count} groups", len(groups), count=say.spaced(len(groups)))
        listed = ", ".join(sorted(say.group(e, g, left_handed) for g in groups))
        said.append(
            tr(
                "braided together: {listed}",
                listed=listed
                if len(groups) <= MOST_GROUPS
                else tr("{many} of {groups}", many=many, groups=len(groups[0])),
            )
        )
    text = "; ".join([*said, *say.notes(e, left_handed)])
    return text[0].upper() + text[1:] + "."
