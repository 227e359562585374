"""Common slips in words: their names, how each looks, the mend, and what tells them apart."""

from __future__ import annotations

from strapwork.braid import slips as common
from strapwork.braid.lie import Guess
from strapwork.braid.looks import look
from strapwork.braid.passes import TabPass
from strapwork.braid.slips import Slip
from strapwork.braid.way import Way
from strapwork.braid.word import Turn
from strapwork.catalogue import tr, trn
from strapwork.say.mending import bound, in_short, number, where
from strapwork.say.tangles import lies, lower, strands


def title(way: Way, s: Slip, *, brief: bool = False) -> str:
    """A slip by name; with ``brief`` inner gaps by their number (:func:`strapwork.say.mending.brief_words` says what it means)."""
    n = way.strands
    match s.kind:
        case common.FORGOTTEN:
            return tr("Pass after turn {after_turn} forgotten", after_turn=s.after_turn)
        case common.WRONG_STRAND:
            assert isinstance(s.did, TabPass)
            inner = brief and 1 < s.did.gap < n - 1
            through = tr("through gap\xa0{gap}", gap=s.did.gap) if inner else where(s.did.gap, n)
            return tr("After turn {after_turn} passed {through}", after_turn=s.after_turn, through=through)
        case common.WRONG_FACE:
            assert isinstance(s.did, TabPass)
            return tr("After turn {after_turn}: passed from the {face}", after_turn=s.after_turn, face=tr(s.did.face))
        case common.LATE:
            return tr("One turn too many before the pass after turn {after_turn}", after_turn=s.after_turn)
        case _:
            assert isinstance(s.did, Turn)
            side = {"R": tr("right strand"), "L": tr("left strand")}.get(s.did.side, "strand")
            return tr(
                "In turn {after_turn} the {side} on the wrong side: {text}",
                after_turn=s.after_turn,
                side=side,
                text=s.did.text(),
            )


BEST_FOUND = "(best found)"
NOT_RULED_OUT = tr("{best_found}: a way with less work is not ruled out.", best_found=BEST_FOUND)


def of_slip(way: Way, s: Slip, *, brief: bool = False) -> tuple[str, ...]:
    """A slip in three lines: how it looks, the mend at once, the mend at the end of the set.

    With ``brief`` in fewer words, and two of them stand for the sentence of what is not ruled out; see :data:`NOT_RULED_OUT`.
    """
    early, late = len(s.noticed.turns), len(s.whole.turns)

    def seen(turns: int) -> str:
        at = number(way, turns)
        return tr("After turn {turn}", turn=at) if brief else tr("Noticed after turn {turn}", turn=at)

    rows = [lies(s.look), f"{seen(early)}: {in_short(way, s.at_once)}"]
    if (early, s.noticed) != (late, s.whole):
        rows.append(f"{seen(late)}: {in_short(way, s.at_end)}")
        if brief and not s.at_end.exact:
            rows[-1] += f" {BEST_FOUND}"
        elif not s.at_end.exact:
            rows.append(bound(s.at_end))
    return tuple(rows)


def told_apart(way: Way, guess: Guess, twisted: frozenset[int]) -> str:
    """Why the twisted strands alone do not say what to do, and what would."""
    at = tr("after turn {after}", after=guess.after)
    who = tr("{strands} twisted and no other", strands=strands(sorted(twisted))) if twisted else tr("no strand twisted")
    if not guess.slips:
        return tr(
            "No common slip leaves {who} {at}. Say which strand lies over which, from the work down to the tab "
            "(--below), or what was done (--done).",
            who=who,
            at=at,
        )
    rows = [f"{title(way, s)}: {lower(lies(look(way.strands, work.turns, work.passes)))}" for s, work in guess.slips]
    free = "" if twisted else tr("If the strands also hang free, or lie as the card has them, all is well. ")
    return (
        free
        + trn(
            "{slips} common slip leaves {who} {at}; look which it is, and say which strand lies over which "
            "(--below) or what was done (--done). ",
            "{slips} common slips leave {who} {at}; look which it is, and say which strand lies over which "
            "(--below) or what was done (--done). ",
            len(rows),
            slips=len(rows),
            who=who,
            at=at,
        )
        + " ".join(f"({k}) {row}" for k, row in enumerate(rows, start=1))
    )


def guessed(way: Way, guess: Guess) -> str:
    """That one slip, and no other common one, looks like this."""
    slip, work = guess.slips[0]
    seen = lower(lies(look(way.strands, work.turns, work.passes)))
    return tr(
        "Of the common slips only this looks like that: {way}. Then it must lie so: {seen} "
        "If it does not, say which strand lies over which (--below).",
        way=lower(title(way, slip)),
        seen=seen,
    )
