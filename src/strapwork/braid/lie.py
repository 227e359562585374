"""Work that is only known by how it lies: over and under below the work, or which strands are twisted.

How the strands lie below the work settles everything: the turns are known from
the places at the work, and passes that leave the strands lying so can be read
off the free group.  Those stand in for what was really done, which the strap
cannot tell apart.  Which strands are twisted does not settle it: many tangles
twist the same strands.  Then the common slips are looked through, and the
answer is the one that fits or what would have to be known to tell them apart.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.braid import passes, proof
from strapwork.braid.passes import TabPass, inverse
from strapwork.braid.slips import Slip, slips
from strapwork.braid.spelling import spelled
from strapwork.braid.way import Way
from strapwork.braid.word import Word, crossings, letter, parse_word, positions_after
from strapwork.braid.work import Back, Done, Pass, Step
from strapwork.catalogue import tr
from strapwork.errors import InputError, shown

MOST_PAIRS = 300

_PAIR = re.compile(r"([A-Y]) over ([A-Y])", re.IGNORECASE)


def parse_lie(text: str, strands: int, place: str = "--below") -> Word:
    """Read how the strands lie below the work, from the work downwards.

    Either crossings by place, ``"1 -2 1"`` (``+i``: the strand at place i goes
    over the one on its right), or pairs, ``"A over B, C over A"``.  Strands are
    lettered as they lie in the tab, A on the left; ``"free"`` is no crossing.

    Raises:
        InputError: for a pair that does not lie side by side, and the like.
    """
    if text.strip().lower() == "free":
        return ()
    if "over" not in text.lower():
        return parse_word(text, strands, place)
    items = [" ".join(item.split()) for item in text.split(",")]
    if len(items) > MOST_PAIRS:
        raise InputError(
            place,
            tr("{items} crossings are too many", items=len(items)),
            tr("keep it to {most_pairs}", most_pairs=MOST_PAIRS),
        )
    order = list(range(1, strands + 1))
    word: list[int] = []
    # The order is known at the tab, so the pairs are read from there upwards.
    for k in range(len(items), 0, -1):
        where = tr("{place}, item {k}", place=place, k=k)
        m = _PAIR.fullmatch(items[k - 1])
        if m is None:
            raise InputError(where, tr("{items} is no crossing", items=shown(items[k - 1])), tr("write 'A over B'"))
        over, under = (ord(x.upper()) - 64 for x in m.groups())
        if max(over, under) > strands or over == under:
            raise InputError(
                where,
                tr("{items} names no two of the {strands} strands", items=shown(items[k - 1]), strands=strands),
                tr(
                    "use two letters from A to {letter}, lettered from the left as they lie in the tab",
                    letter=letter(strands),
                ),
            )
        a, b = sorted((order.index(over), order.index(under)))
        if b != a + 1:
            between = ", ".join(letter(s) for s in order[a + 1 : b])
            raise InputError(
                where,
                tr(
                    "{letter} and {letter2} do not lie side by side there, {between} is between them",
                    letter=letter(over),
                    letter2=letter(under),
                    between=between,
                ),
                tr("say every crossing, from the work down to the tab"),
            )
        # Read downwards the strand that lies on the left below comes from the right.
        word.append(a + 1 if order[b] == over else -(a + 1))
        order[a], order[b] = order[b], order[a]
    return tuple(reversed(word))


def parse_twisted(text: str, strands: int, place: str = "--twisted") -> frozenset[int]:
    """Read which strands are twisted: ``"A, C"``, or ``"none"``."""
    if text.strip().lower() == "none":
        return frozenset()
    names = [x for x in re.split(r"[,\s]+", text.strip().upper()) if x and x != "AND"]
    for x in names:
        if len(x) != 1 or not 1 <= ord(x) - 64 <= strands:
            raise InputError(
                place,
                tr("{x} is no strand", x=shown(x)),
                tr("use letters from A to {letter} with commas, or 'none'", letter=letter(strands)),
            )
    if not names:
        raise InputError(place, tr("no strand is named"), tr("name the twisted ones, such as 'A, C', or write 'none'"))
    return frozenset(ord(x) - 64 for x in names)


def check_after(after: int, per_set: int) -> int:
    """A number of turns of the set in hand."""
    if not 0 <= after <= per_set:
        raise InputError(
            "--after",
            tr("{after} is no turn of this set", after=after),
            tr("give from 0 to {per_set}: turns since the last good set", per_set=per_set),
        )
    return after


def from_lie(way: Way, below: Word, after: int | None) -> Done:
    """Turns and passes that leave the strands lying like this.

    Args:
        way: the braid in hand.
        below: crossings below the work, read downwards.
        after: turns of this set worked so far; None to work it out from where the strands lie.

    Raises:
        InputError: where the lie does not settle it, saying what more must be known.
    """
    n = way.strands
    at_work = positions_after(n, inverse(below))
    candidates = range(1, way.per_set + 1) if after is None else (check_after(after, way.per_set),)
    fitting = [k for k in candidates if positions_after(n, crossings(way.turns[:k])) == at_work]
    if not fitting:
        lie = ", ".join(letter(s) for s in at_work)
        raise InputError(
            "--below",
            tr("below these crossings' upper end the strands lie {lie}, which no turn of this set leaves", lie=lie)
            if after is None
            else tr(
                "these crossings lead up to {lie}, but after turn {after} the strands at the work lie ",
                lie=lie,
                after=after,
            )
            + ", ".join(letter(s) for s in positions_after(n, crossings(way.turns[:after]))),
            tr("follow every strand from the tab up to the work again"),
        )
    possible = [k for k in fitting if proof.judge(n, crossings(way.turns[:k]) + below).reason != "cannot be undone"]
    if not possible:
        raise InputError(
            "--below",
            tr("turns of this braid and passes alone do not make these crossings"),
            tr(
                "look again which strand is on top, and say whether a turn was worked otherwise (--done has the form for it)"
            ),
        )
    if len(possible) > 1:
        turns = tr(" or ").join(map(str, possible))
        raise InputError(
            "--below", tr("this can be the lie after {turns} turns", turns=turns), tr("say which with --after")
        )
    return _stand_in(way, below, possible[0])


def _stand_in(way: Way, below: Word, at: int) -> Done:
    """Passes, all after one turn, that leave ``below`` after turn ``at``."""
    n = way.strands
    read = True
    for h in range(at, -1, -1):
        undo = spelled(n, crossings(way.turns[h:at]) + below + crossings(way.turns[:h]), h)
        if undo is None:
            read = False
            continue
        made = tuple(TabPass(h, p.gap, "back" if p.face == "front" else "front") for p in reversed(undo))
        lies = passes.below(n, way.turns[:at], made)
        if proof.is_trivial_braid(n, (*inverse(lies), *below)):
            return Done(way.turns[:at], made)
    raise InputError(
        "--below",
        tr("the whole strap below is turned round itself, which passes between two turns do not do")
        if read
        else tr("the tangle is too long to be read"),
        tr("turn the tab once round, the way that leaves fewer strands twisted, and describe it again")
        if read
        else tr("say what was done, with --done"),
    )


def spelled_out(done: Done, steps: Sequence[Step]) -> tuple[Step, ...]:
    """``steps`` where passes that nobody remembers are taken out one by one before turns are taken back."""
    out: list[Step] = []
    now = done
    for step in steps:
        if isinstance(step, Back):
            left = len(now.turns) - step.turns
            while made := [p for p in now.passes if p.after_turn > left]:
                last = made[-1]
                if len(now.turns) > last.after_turn:
                    opened = Back(len(now.turns) - last.after_turn)
                    out.append(opened)
                    now = now.back(opened.turns)
                out.append(Pass(last.gap, "back" if last.face == "front" else "front"))
                now = Done(now.turns, now.passes[:-1])
            step = Back(len(now.turns) - left)
        out.append(step)
        now = now.then([step])
    return tuple(out)


@dataclass(frozen=True)
class Guess:
    """The common slips that twist these strands and no others.

    Attributes:
        slips: those that fit, with the work as it stands after ``after`` turns.
        after: turns of the set worked.
    """

    slips: tuple[tuple[Slip, Done], ...]
    after: int

    @property
    def settled(self) -> Done | None:
        """The work, when all that fit lie the same."""
        return self.slips[0][1] if len({work for _, work in self.slips}) == 1 else None


def from_twisted(way: Way, twisted: frozenset[int], after: int | None) -> Guess:
    """Which common slips leave exactly these strands twisted, after ``after`` turns (else at the end of the set)."""
    at = way.per_set if after is None else check_after(after, way.per_set)
    found: list[tuple[Slip, Done]] = []
    for s in slips(way):
        if len(s.whole.turns) < at or s.after_turn > at:
            continue
        work = s.whole.back(len(s.whole.turns) - at)
        turned = passes.ribbon_turns(way.strands, work.turns, work.passes)
        if frozenset(i for i, f in enumerate(turned, start=1) if f) == twisted:
            found.append((s, work))
    return Guess(tuple(found), at)
