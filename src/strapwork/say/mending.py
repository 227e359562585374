"""Mends in words: is all well, what to do step by step, what comes then."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.braid.looks import look
from strapwork.braid.passes import TabPass
from strapwork.braid.rescue import Mend
from strapwork.braid.way import Way
from strapwork.braid.word import Turn, letter, positions_after
from strapwork.braid.work import Back, Done, Pass, Step, Work
from strapwork.catalogue import tr, trn
from strapwork.say import braiding
from strapwork.say.tangles import lies, listed, lower, turns_of


@dataclass(frozen=True, slots=True)
class Said:
    """One step in words.

    Attributes:
        step: what is done.
        before, after: the work before and after it.
        title, text: a heading of two or three words, and the sentence.
    """

    step: Step
    before: Done
    after: Done
    title: str
    text: str


def said(way: Way, done: Done, steps: Sequence[Step]) -> list[Said]:
    """Every step with its words, in order."""
    out: list[Said] = []
    now = done
    for step in steps:
        after = now.then([step])
        match step:
            case Back():
                title, text = _back(way.strands, now, after)
            case Pass(gap, face):
                title, text = tr("Pass the tab"), _pass(way.strands, now, TabPass(len(now.turns), gap, face))
            case Work(turn):
                title, text = tr("Turn {way}", way=number(way, len(after.turns))), turned(way.strands, now.turns, turn)
        out.append(Said(step, now, after, title, text))
        now = after
    return out


def number(way: Way, count: int) -> str:
    """The number of a turn, counted from the start of its set."""
    sets, turn = divmod(count - 1, way.per_set)
    return (
        str(turn + 1)
        if not sets
        else tr(
            "{turn} of the {which} set",
            turn=turn + 1,
            which=tr("next") if sets == 1 else tr("next but ") + str(sets - 1),
        )
    )


def where(gap: int, n: int) -> str:
    """A gap in a maker's words."""
    return braiding.where(TabPass(0, gap, "front"), n)


def turned(n: int, before: Sequence[Turn], turn: Turn) -> str:
    """A turn by the letters of the strands."""
    order = list(positions_after(n, tuple(c for t in before for c in t.crossings)))
    met: list[tuple[int, int]] = []  # over, under
    for c in turn.crossings:
        i = abs(c) - 1
        a, b = order[i], order[i + 1]
        met.append((a, b) if c > 0 else (b, a))
        order[i], order[i + 1] = b, a
    if turn.side == ".":
        return listed([tr("{a} over {b}", a=letter(a), b=letter(b)) for a, b in met]) + "."
    mover = next(iter(set(met[0]).intersection(*map(set, met)))) if len(met) > 1 else None
    if mover is None:
        mover = met[0][0] if (turn.side == "R") == (turn.crossings[0] < 0) else met[0][1]
    parts = [
        tr("over {strands}", strands=met) if over else tr("under {strands}", strands=met)
        for over, met in (
            (k, listed([letter(b if a == mover else a) for a, b in g]))
            for k, g in itertools.groupby(met, key=lambda m: m[0] == mover)
        )
    ]
    place = order.index(mover) + 1
    lands = tr(" to the centre") if place in (n // 2 + 1, (n + 1) // 2) else tr(" to place {place}", place=place)
    return tr(
        "{side} strand {letter} {parts},{lands}.",
        side=tr("Right") if turn.side == "R" else tr("Left"),
        letter=letter(mover),
        parts=", ".join(parts),
        lands=lands,
    )


def _pass(n: int, now: Done, p: TabPass) -> str:
    order = positions_after(n, tuple(c for t in now.turns for c in t.crossings))
    to = "back" if p.face == "front" else "front"
    return tr(
        "Tab through between {letter} and {letter2} ({where}), from the {face} to the {to}.",
        letter=letter(order[p.gap - 1]),
        letter2=letter(order[p.gap]),
        where=where(p.gap, n),
        face=tr(p.face),
        to=tr(to),
    )


def _back(n: int, now: Done, after: Done) -> tuple[str, str]:
    count = len(now.turns) - len(after.turns)
    title = tr("Take back {turns}", turns=turns_of(count))
    text = (
        tr("Open the last turn.") if count == 1 else tr("Open the last {count} turns, the last one first.", count=count)
    )
    undone: list[TabPass] = []
    for p in now.passes[len(after.passes) :]:
        if undone and (undone[-1].after_turn, undone[-1].gap) == (p.after_turn, p.gap) and undone[-1].face != p.face:
            undone.pop()  # taken out again before
        else:
            undone.append(p)
    if undone:
        which = listed(
            [
                tr("the one {where} made after turn {after_turn}", where=where(p.gap, n), after_turn=p.after_turn)
                for p in reversed(undone)
            ]
        )
        text += trn(
            " The tab goes back through the pass made since: {which}.",
            " The tab goes back through the passes made since: {which}.",
            len(undone),
            which=which,
        )
    return title, text


def headline(way: Way, m: Mend) -> str:
    """Whether all is well, and if not how much there is to do."""
    at = len(m.done.turns)
    if m.state == "well":
        if not m.steps:
            return tr("All is well: the set is finished, the strands hang free and untwisted.")
        when = tr("after turn {way}", way=number(way, at)) if at else tr("before the first turn of the set")
        # Strands that wait for a pass are twisted, and that is as it should be.
        if isinstance(m.steps[0], Pass):
            return tr("All is well {when}: the pass of the tab comes next.", when=when)
        return tr("All is well {when}.", when=when)
    usual = usual_from(way, m)
    count = _counted(m.steps[:usual])
    if usual == len(m.steps):
        return tr("Not yet well. To a good end of the set: {count}.", count=count)
    return tr(
        "Not yet well. To put it right: {count}. Then as on the card: {counted}.",
        count=count,
        counted=_counted(m.steps[usual:]),
    )


def _counted(steps: Sequence[Step]) -> str:
    """So many turns taken back, so many passes, so many turns."""
    back = sum(s.turns for s in steps if isinstance(s, Back))
    made = sum(isinstance(s, Pass) for s in steps)
    worked = sum(isinstance(s, Work) for s in steps)
    parts = [tr("{turns} taken back", turns=turns_of(back))] if back else []
    parts += [trn("{made} pass", "{made} passes", made, made=made)] if made else []
    parts += [turns_of(worked)] if worked else []
    return listed(parts or [tr("nothing")])


def then(way: Way, m: Mend) -> str:
    """What comes after the steps, and how sure the answer is."""
    if not m.steps:
        return tr("The set is finished. {begin}", begin=_begin(way))
    text = _finished(way, m)
    return text if m.exact or not m.end.turns else f"{text} {bound(m)}"


def _begin(way: Way) -> str:
    return tr("Begin the next set with turn 1: {turn}", turn=lower(turned(way.strands, (), way.turns[0])))


def _finished(way: Way, m: Mend) -> str:
    if not m.end.turns:
        return tr("Then the last set is finished: every strand hangs free and untwisted.")
    return tr("Then the set is finished: every strand hangs free and untwisted. {begin}", begin=_begin(way))


def bound(m: Mend) -> str:
    """What is known of the least work where the best is not certain."""
    return tr(
        "This is the best that was found: it costs as much as {halves}. "
        "Only what costs less than {halves2} is ruled out.",
        halves=halves(m.cost),
        halves2=halves(max(0, m.at_least)),
    )


def halves(cost: int) -> str:
    """A cost in half turns, as turns."""
    whole, half = divmod(cost, 2)
    number = f"{whole or ''}{'½' if half else ''}" or "0"
    return trn("{number} turn", "{number} turns", 1 if cost == 2 else 2, number=number)


def in_short(way: Way, m: Mend) -> str:
    """The steps of a mend in one line: what is out of the ordinary in full, turns counted."""
    if m.state == "well":
        made = [s for s in m.steps if isinstance(s, Pass)]
        if not m.steps:
            return tr("nothing is wrong.")
        return (
            f"{_brief(way.strands, made)}."
            if len(made) == len(m.steps)
            else tr("nothing is lost; go on as on the card.")
        )
    usual = usual_from(way, m)
    parts: list[str] = []
    for kind, group in itertools.groupby(m.steps[:usual], key=type):
        steps = list(group)
        if kind is Pass:
            parts.append(_brief(way.strands, [s for s in steps if isinstance(s, Pass)]))
        elif kind is Work:
            parts.append(tr("work {turns}", turns=turns_of(len(steps))))
        else:
            parts += [tr("take back {turns}", turns=turns_of(s.turns)) for s in steps if isinstance(s, Back)]
    if usual < len(m.steps):
        parts.append(tr("go on as on the card"))
    return f"{'; '.join(parts)}."


def _brief(n: int, made: Sequence[Pass]) -> str:
    """Passes one after the other, in the fewest words; :func:`brief_words` says what they mean."""
    names = {1: tr("left"), n - 1: tr("right")}
    faces = {"front": tr("front"), "back": tr("back")}
    ways = [names.get(p.gap) or tr("gap {gap}", gap=p.gap) for p in made]
    return tr("pass {ways}", ways=", ".join(f"{way} {faces[p.face]}" for way, p in zip(ways, made, strict=True)))


def brief_words(n: int) -> str:
    """What the short names of passes mean."""
    text = tr("Pass left front: round the left-hand strand, in from the front; right: round the right-hand strand")
    return tr("{text}; gap 2: with two strands on the left.", text=text) if n > 3 else f"{text}."


def usual_from(way: Way, m: Mend) -> int:
    """From which step on the mend goes on as the card has it: from a turn, or not at all."""
    planned = set(way.planned(len(m.end.turns)))
    first = next((k for k, s in enumerate(m.steps) if isinstance(s, Work)), len(m.steps))
    points = [m.done]
    for step in m.steps:
        points.append(points[-1].then([step]))
    usual = len(m.steps)
    for k in range(len(m.steps) - 1, first - 1, -1):
        step, at = m.steps[k], len(points[k].turns)
        if isinstance(step, Pass) and TabPass(at, step.gap, step.face) not in planned:
            break
        if isinstance(step, Work):
            made = sum(isinstance(s, Pass) for s in m.steps[k:])
            if made != sum(p.after_turn > at for p in planned):
                break
            usual = k
    return usual


def answer(way: Way, m: Mend, steps: Sequence[Step]) -> str:
    """The whole answer for a person."""
    out = [headline(way, m)]
    at = len(m.done.turns)
    if m.sets_before:
        out.append(
            trn(
                "{sets} whole set before this one is good.",
                "{sets} whole sets before this one are good.",
                m.sets_before,
                sets=m.sets_before,
            )
        )
    if m.state == "mend":
        out.append(
            tr(
                "After turn {way}: {lies}",
                way=number(way, at),
                lies=lower(lies(look(way.strands, m.done.turns, m.done.passes))),
            )
        )
    for k, s in enumerate(said(way, m.done, steps), start=1):
        gap = tr(" (gap {gap})", gap=s.step.gap) if isinstance(s.step, Pass) else ""
        out.append(f"{k:3d}. {s.title}{gap}. {s.text}")
    out.append(then(way, m))
    return "\n".join(out)
