"""What has been done so far: turns worked and passes made, in order, and how a maker writes it down.

The lines are typed as ``4 turns, pass 2 front, 2 turns``: items with commas
between them.  ``N turns`` goes on with the turns of the braid in hand, ``pass G
FACE`` is a pass through the gap after G strands, ``Ru`` or ``(-2)`` is a turn
that was worked otherwise than the braid has it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from strapwork.braid import passes
from strapwork.braid.passes import FACES, Face, Schedule, TabPass
from strapwork.braid.word import MOST_CROSSINGS, Turn, parse_turns, parse_word
from strapwork.catalogue import tr
from strapwork.errors import InputError, shown

MOST_TEXT = 2000
MOST_ITEMS = 200
MOST_TURNS = 200
MOST_PASSES = 100


@dataclass(frozen=True, slots=True)
class Pass:
    """Pass the tab through the gap after ``gap`` strands, in from ``face``."""

    gap: int
    face: Face


@dataclass(frozen=True, slots=True)
class Work:
    """Work a turn."""

    turn: Turn


@dataclass(frozen=True, slots=True)
class Back:
    """Take back the last ``turns`` turns, and every pass made since the first of them."""

    turns: int


Step: TypeAlias = Pass | Work | Back


@dataclass(frozen=True, slots=True)
class Done:
    """Turns worked and passes made.

    Attributes:
        turns: the turns, in order.
        passes: the passes, in order; ``after_turn`` never falls.
    """

    turns: tuple[Turn, ...] = ()
    passes: Schedule = ()

    def back(self, turns: int) -> Done:
        """What is left when the last ``turns`` turns and every pass made since the first of them are taken back."""
        kept = len(self.turns) - turns
        return Done(self.turns[:kept], tuple(p for p in self.passes if p.after_turn <= kept))

    def then(self, steps: Iterable[Step]) -> Done:
        """The work after more steps."""
        now = self
        for step in steps:
            match step:
                case Pass(gap, face):
                    now = Done(now.turns, (*now.passes, TabPass(len(now.turns), gap, face)))
                case Work(turn):
                    now = Done((*now.turns, turn), now.passes)
                case Back(turns):
                    now = now.back(turns)
        return now

    def after(self, turns: int, made: int) -> Done:
        """The work without its first turns and passes, counted from there."""
        later = tuple(TabPass(p.after_turn - turns, p.gap, p.face) for p in self.passes[made:])
        return Done(self.turns[turns:], later)

    def is_finished(self, strands: int, per_set: int) -> bool:
        """Whether whole sets are worked and every strand hangs free and untwisted (proven)."""
        whole = len(self.turns) % per_set == 0
        return whole and passes.is_right(strands, self.turns, self.passes)


_COUNT = re.compile(r"([0-9]{1,4}) turns?", re.IGNORECASE)
_PASS = re.compile(r"pass ([0-9]{1,3}) ([a-z]{1,8})", re.IGNORECASE)
_CROSSINGS = re.compile(r"\(([-+0-9 ]{1,80})\)")


def parse_done(text: str, strands: int, pattern: Sequence[Turn], place: str = "--done") -> Done:
    """Read what was done; see the module docstring for the form.

    Args:
        text: e.g. ``"4 turns, pass 2 front, 2 turns"``.
        strands: number of strands.
        pattern: the turns of one set, which ``N turns`` goes on with.
        place: what to call the text in a message.

    Raises:
        InputError: naming the item that cannot be read.
    """
    if len(text) > MOST_TEXT:
        raise InputError(
            place,
            tr("{text} characters are too many", text=len(text)),
            tr("keep it to {most_text}", most_text=MOST_TEXT),
        )
    items = [" ".join(item.split()) for item in text.split(",")]
    if items == [""]:
        raise InputError(
            place, tr("nothing is said"), tr("write what was done, such as '4 turns, pass 2 front, 2 turns'")
        )
    if len(items) > MOST_ITEMS:
        raise InputError(
            place,
            tr("{items} items are too many", items=len(items)),
            tr("keep it to {most_items}", most_items=MOST_ITEMS),
        )
    turns: list[Turn] = []
    made: list[TabPass] = []
    for k, item in enumerate(items, start=1):
        where = tr("{place}, item {k}", place=place, k=k)
        if m := _COUNT.fullmatch(item):
            count = int(m.group(1))
            _bounded(len(turns) + count, MOST_TURNS, "turns", where)
            turns += [pattern[(len(turns) + i) % len(pattern)] for i in range(count)]
        elif m := _PASS.fullmatch(item):
            made.append(_pass(int(m.group(1)), m.group(2).lower(), len(turns), strands, where))
            _bounded(len(made), MOST_PASSES, "passes", where)
        elif m := _CROSSINGS.fullmatch(item):
            turns.append(Turn(".", parse_word(m.group(1), strands, where)))
        elif item[:1] in ("R", "L", "r", "l"):
            turns += parse_turns(item, strands, where)
        else:
            raise InputError(
                where,
                tr("{item} says no turns and no pass", item=shown(item)),
                tr("write '4 turns', 'pass 2 front', or a turn such as 'Ru', with commas between"),
            )
        _bounded(len(turns), MOST_TURNS, "turns", where)
    if sum(len(t.crossings) for t in turns) > MOST_CROSSINGS:
        raise InputError(
            place,
            tr("the work is too long"),
            tr("keep it under {most_crossings} crossings", most_crossings=MOST_CROSSINGS),
        )
    return Done(tuple(turns), tuple(made))


def _bounded(value: int, most: int, what: str, where: str) -> None:
    if value > most:
        raise InputError(
            where,
            tr("{value} {what} are too many", value=value, what=what),
            tr("keep it to {most}, or begin at the last good set", most=most),
        )


def _pass(gap: int, face: str, after: int, strands: int, where: str) -> TabPass:
    if not 1 <= gap <= strands - 1:
        raise InputError(
            where,
            tr("{strands} strands have no gap {gap}", strands=strands, gap=gap),
            tr("count the strands left of the gap: 1 to {strands}", strands=strands - 1),
        )
    for known in FACES:
        if face == known:
            return TabPass(after, gap, known)
    raise InputError(
        where, tr("{face} is no face", face=shown(face)), tr("write front or back: the face the tab goes in from")
    )
