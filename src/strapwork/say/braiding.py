"""How a braid is worked: its set, the tab passes, and every turn of it, for the hand that works it.

A plan belongs to a hand (:func:`strapwork.braid.plan.for_hand`); nothing here
or later mirrors anything.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.braid import moves, passes
from strapwork.braid.passes import Schedule, TabPass
from strapwork.braid.plan import Plan
from strapwork.braid.word import Turn, letter
from strapwork.catalogue import tr, trn
from strapwork.piece.piece import Piece
from strapwork.units import format_length


def where(p: TabPass, strands: int) -> str:
    """The gap of a pass in a maker's words, e.g. ``round the right-hand strand``."""
    if p.gap == strands - 1:
        return tr("round the right-hand strand")
    if p.gap == 1:
        return tr("round the left-hand strand")
    return tr(
        "between the {gap} strands on the left and the {strands} on the right", gap=p.gap, strands=strands - p.gap
    )


def through(p: TabPass) -> str:
    """The faces of a pass, e.g. ``from the front to the back``."""
    return tr("from the front to the back") if p.face == "front" else tr("from the back to the front")


def tab_pass(p: TabPass, strands: int) -> str:
    """One pass, e.g. ``after turn 4 round the right-hand strand, from the front to the back``."""
    return tr(
        "after turn {after_turn} {where}, {through}",
        after_turn=p.after_turn,
        where=where(p, strands),
        through=through(p),
    )


def tab_passes(plan: Plan) -> str:
    """All passes of a set in one sentence, without its full stop."""
    if not plan.schedule:
        return tr("no tab pass is needed")
    return tr("pass the tab {passes}", passes=tr(", then ").join(tab_pass(p, plan.strands) for p in plan.schedule))


def pass_sentences(plan: Plan) -> str:
    """All passes of a set, a short sentence each."""
    if not plan.schedule:
        return tr("No tab pass is needed.")
    return " ".join(
        tr("Pass the tab {way}.", way=tab_pass(p, plan.strands))
        if k == 0
        else tr("Pass it again {way}.", way=tab_pass(p, plan.strands))
        for k, p in enumerate(plan.schedule)
    )


def hand(plan: Plan) -> str:
    """Whose hand the plan is for."""
    return tr("left-handed") if plan.hand == "left" else tr("right-handed")


def how_to_read(plan: Plan) -> list[str]:
    """How the pictures are held and read, for the head of their page."""
    return [
        tr(
            "Fix the plain end at the top, grain side up. Letters show where each strand lies; the strand that moves has an arrow. "
            "Every crossing at the top makes the opposite one below: leave it, the passes take it out."
        ),
        tr(
            "A pass: full line in front, dashed line behind; ring with a cross: the tab goes in; ring with a dot: it comes out. "
            "Then pull the tab down and lay the strands flat; none may stay twisted at the end of the set."
        ),
    ][: 2 if plan.schedule else 1]


def worked(piece: Piece, units: str) -> list[str]:
    """The braid of a piece in two sentences; none for a plain strap."""
    form, plan = piece.fit.braid, piece.plan
    if form is None or plan is None:
        return []
    return [
        tr(
            "Braid, {hand}: {strands} strands, {sets} of {turns} turns, "
            "{set_length} a set, {angle_deg:.1f}°, about {width} wide.",
            hand=hand(plan),
            strands=piece.strands,
            sets=sets(form.sets),
            turns=len(plan.turns),
            set_length=format_length(form.set_length, units),
            angle_deg=form.angle_deg,
            width=format_length(form.width, units),
        ),
        tr("In every set {tab_passes}.", tab_passes=tab_passes(plan)),
    ]


def sets(count: int) -> str:
    """``1 set``, ``2 sets``, .."""
    return trn("{count} set", "{count} sets", count, count=count)


@dataclass(frozen=True, slots=True)
class Frame:
    """One picture of the step-by-step braid.

    Attributes:
        turn: turns made by then (from 1).
        tab_pass: the pass shown, None for a turn.
        title, text: what is done.
        state: what the strands below look like then.
    """

    turn: int
    tab_pass: TabPass | None
    title: str
    text: str
    state: str


def frames(plan: Plan) -> list[Frame]:
    """Every turn and pass of one set, in order."""
    turns, schedule = plan.turns, plan.schedule
    n = plan.strands
    out: list[Frame] = []
    order = list(range(1, n + 1))
    for p in (p for p in schedule if p.after_turn == 0):
        out.append(_pass_frame(n, turns, schedule, p, order))
    for k, turn in enumerate(turns, start=1):
        _, over, now, mover = moves.moves(order, turn)
        crossed = _crossed(mover, over)
        side = {"R": tr("right strand"), "L": tr("left strand")}.get(turn.side, "strand")
        place = now.index(mover) + 1
        centre = tr(" to the centre") if place in (n // 2 + 1, (n + 1) // 2) else tr(" to place {place}", place=place)
        out.append(
            Frame(
                k,
                None,
                tr("Turn {k}", k=k),
                f"{side.capitalize()} {letter(mover)} {crossed},{centre}.",
                _state(n, turns, schedule, k, None),
            )
        )
        order = now
        for p in (p for p in schedule if p.after_turn == k):
            out.append(_pass_frame(n, turns, schedule, p, order))
    return out


def _crossed(mover: int, over: dict[tuple[int, int], bool]) -> str:
    others = [b if a == mover else a for a, b in over if mover in (a, b)]
    others = list(dict.fromkeys(others))
    parts = []
    for above, group in itertools.groupby(others, key=lambda o: over[mover, o]):
        names = [letter(o) for o in group]
        met = tr("{a} and {b}", a=names[0], b=names[1]) if len(names) == 2 else ", ".join(names)
        parts.append(tr("over {strands}", strands=met) if above else tr("under {strands}", strands=met))
    return ", ".join(parts)


def _pass_frame(n: int, turns: Sequence[Turn], schedule: Schedule, p: TabPass, order: Sequence[int]) -> Frame:
    a, b = letter(order[p.gap - 1]), letter(order[p.gap])
    text = tr("Tab through between {a} and {b} ({where}), {through}.", a=a, b=b, where=where(p, n), through=through(p))
    state = _state(n, turns, schedule, p.after_turn, p)
    return Frame(p.after_turn, p, tr("Pass the tab"), text, state)


def _state(n: int, turns: Sequence[Turn], schedule: Schedule, upto: int, made: TabPass | None) -> str:
    """What the strands below look like at that moment."""
    done = schedule[: schedule.index(made) + 1] if made else tuple(p for p in schedule if p.after_turn < upto)
    word = passes.below(n, turns, done, upto)
    twisted = any(passes.ribbon_turns(n, turns, done, upto))
    if passes.hangs_free(n, word):
        lie = tr("twisted, not crossed") if twisted else tr("strands hang free")
    else:
        lie = tr("crossed and twisted; leave it") if twisted else tr("crossed; leave it")
    return tr("Then below: {lie}.", lie=lie) if made else tr("Below: {lie}.", lie=lie)
