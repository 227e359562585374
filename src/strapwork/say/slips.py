"""Common slips in words: their names, how each looks, the mend, and what tells them apart."""

from __future__ import annotations

from strapwork.braid import slips as common
from strapwork.braid.lie import Guess
from strapwork.braid.looks import look
from strapwork.braid.passes import TabPass
from strapwork.braid.slips import Slip
from strapwork.braid.way import Way
from strapwork.braid.word import Turn
from strapwork.say.mending import bound, in_short, number, where
from strapwork.say.tangles import lies, lower, plural, strands


def title(way: Way, s: Slip, *, brief: bool = False) -> str:
    """A slip by name; with ``brief`` inner gaps by their number (:func:`strapwork.say.mending.brief_words` says what it means)."""
    n = way.strands
    match s.kind:
        case common.FORGOTTEN:
            return f"Pass after turn {s.after_turn} forgotten"
        case common.WRONG_STRAND:
            assert isinstance(s.did, TabPass)
            inner = brief and 1 < s.did.gap < n - 1
            through = f"through gap\u00a0{s.did.gap}" if inner else where(s.did.gap, n)
            return f"After turn {s.after_turn} passed {through}"
        case common.WRONG_FACE:
            assert isinstance(s.did, TabPass)
            return f"After turn {s.after_turn}: passed from the {s.did.face}"
        case common.LATE:
            return f"One turn too many before the pass after turn {s.after_turn}"
        case _:
            assert isinstance(s.did, Turn)
            side = {"R": "right strand", "L": "left strand"}.get(s.did.side, "strand")
            return f"In turn {s.after_turn} the {side} on the wrong side: {s.did.text()}"


BEST_FOUND = "(best found)"
NOT_RULED_OUT = f"{BEST_FOUND}: a way with less work is not ruled out."


def of_slip(way: Way, s: Slip, *, brief: bool = False) -> tuple[str, ...]:
    """A slip in three lines: how it looks, the mend at once, the mend at the end of the set.

    With ``brief`` in fewer words, and two of them stand for the sentence of what is not ruled out; see :data:`NOT_RULED_OUT`.
    """
    early, late = len(s.noticed.turns), len(s.whole.turns)
    seen = "After turn" if brief else "Noticed after turn"
    rows = [lies(s.look), f"{seen} {number(way, early)}: {in_short(way, s.at_once)}"]
    if (early, s.noticed) != (late, s.whole):
        rows.append(f"{seen} {number(way, late)}: {in_short(way, s.at_end)}")
        if brief and not s.at_end.exact:
            rows[-1] += f" {BEST_FOUND}"
        elif not s.at_end.exact:
            rows.append(bound(s.at_end))
    return tuple(rows)


def told_apart(way: Way, guess: Guess, twisted: frozenset[int]) -> str:
    """Why the twisted strands alone do not say what to do, and what would."""
    at = f"after turn {guess.after}"
    who = f"{strands(sorted(twisted))} twisted and no other" if twisted else "no strand twisted"
    if not guess.slips:
        return (
            f"No common slip leaves {who} {at}. Say which strand lies over which, from the work down to the tab "
            "(--below), or what was done (--done)."
        )
    rows = [f"{title(way, s)}: {lower(lies(look(way.strands, work.turns, work.passes)))}" for s, work in guess.slips]
    free = "" if twisted else "If the strands also hang free, or lie as the card has them, all is well. "
    return (
        f"{free}{plural(len(rows), 'common slip')} leave {who} {at}; look which it is, and say which strand lies over which "
        f"(--below) or what was done (--done). " + " ".join(f"({k}) {row}" for k, row in enumerate(rows, start=1))
    )


def guessed(way: Way, guess: Guess) -> str:
    """That one slip, and no other common one, looks like this."""
    slip, work = guess.slips[0]
    seen = lower(lies(look(way.strands, work.turns, work.passes)))
    return (
        f"Of the common slips only this looks like that: {lower(title(way, slip))}. Then it must lie so: {seen} "
        "If it does not, say which strand lies over which (--below)."
    )
