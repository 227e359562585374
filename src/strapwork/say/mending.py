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
from strapwork.say import braiding
from strapwork.say.tangles import lies, listed, lower, plural


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
                title, text = "Pass the tab", _pass(way.strands, now, TabPass(len(now.turns), gap, face))
            case Work(turn):
                title, text = f"Turn {number(way, len(after.turns))}", turned(way.strands, now.turns, turn)
        out.append(Said(step, now, after, title, text))
        now = after
    return out


def number(way: Way, count: int) -> str:
    """The number of a turn, counted from the start of its set."""
    sets, turn = divmod(count - 1, way.per_set)
    return (
        str(turn + 1) if not sets else f"{turn + 1} of the {'next' if sets == 1 else 'next but ' + str(sets - 1)} set"
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
        return f"{listed([f'{letter(a)} over {letter(b)}' for a, b in met])}."
    mover = next(iter(set(met[0]).intersection(*map(set, met)))) if len(met) > 1 else None
    if mover is None:
        mover = met[0][0] if (turn.side == "R") == (turn.crossings[0] < 0) else met[0][1]
    parts = [
        f"{'over' if over else 'under'} {listed([letter(b if a == mover else a) for a, b in group])}"
        for over, group in ((k, list(g)) for k, g in itertools.groupby(met, key=lambda m: m[0] == mover))
    ]
    place = order.index(mover) + 1
    lands = " to the centre" if place in (n // 2 + 1, (n + 1) // 2) else f" to place {place}"
    return f"{'Right' if turn.side == 'R' else 'Left'} strand {letter(mover)} {', '.join(parts)},{lands}."


def _pass(n: int, now: Done, p: TabPass) -> str:
    order = positions_after(n, tuple(c for t in now.turns for c in t.crossings))
    to = "back" if p.face == "front" else "front"
    return (
        f"Tab through between {letter(order[p.gap - 1])} and {letter(order[p.gap])} ({where(p.gap, n)}), "
        f"from the {p.face} to the {to}."
    )


def _back(n: int, now: Done, after: Done) -> tuple[str, str]:
    count = len(now.turns) - len(after.turns)
    title = f"Take back {plural(count, 'turn')}"
    text = "Open the last turn." if count == 1 else f"Open the last {count} turns, the last one first."
    undone: list[TabPass] = []
    for p in now.passes[len(after.passes) :]:
        if undone and (undone[-1].after_turn, undone[-1].gap) == (p.after_turn, p.gap) and undone[-1].face != p.face:
            undone.pop()  # taken out again before
        else:
            undone.append(p)
    if undone:
        which = listed([f"the one {where(p.gap, n)} made after turn {p.after_turn}" for p in reversed(undone)])
        text += f" The tab goes back through the {'passes' if len(undone) > 1 else 'pass'} made since: {which}."
    return title, text


def headline(way: Way, m: Mend) -> str:
    """Whether all is well, and if not how much there is to do."""
    at = len(m.done.turns)
    if m.state == "well":
        if not m.steps:
            return "All is well: the set is finished, the strands hang free and untwisted."
        return f"All is well {f'after turn {number(way, at)}' if at else 'before the first turn of the set'}."
    usual = usual_from(way, m)
    count = _counted(m.steps[:usual])
    if usual == len(m.steps):
        return f"Not yet well. To a good end of the set: {count}."
    return f"Not yet well. To put it right: {count}. Then as on the card: {_counted(m.steps[usual:])}."


def _counted(steps: Sequence[Step]) -> str:
    """So many turns taken back, so many passes, so many turns."""
    back = sum(s.turns for s in steps if isinstance(s, Back))
    made = sum(isinstance(s, Pass) for s in steps)
    worked = sum(isinstance(s, Work) for s in steps)
    parts = [f"{plural(back, 'turn')} taken back"] if back else []
    parts += [plural(made, "pass")] if made else []
    parts += [plural(worked, "turn")] if worked else []
    return listed(parts or ["nothing"])


def then(way: Way, m: Mend) -> str:
    """What comes after the steps, and how sure the answer is."""
    begin = f"Begin the next set with {way.turns[0].text()}."
    if not m.steps:
        return f"The set is finished. {begin}"
    if not m.end.turns:
        return "Then the last set is finished: every strand hangs free and untwisted."
    text = f"Then the set is finished: every strand hangs free and untwisted. {begin}"
    if m.state == "well":
        first = said(way, m.done, m.steps)[0]
        return f"Next: {lower(first.title)}. {first.text} {text}"
    return text if m.exact else f"{text} {bound(m)}"


def bound(m: Mend) -> str:
    """What is known of the least work where the best is not certain."""
    return (
        f"This is the best that was found: it costs as much as {halves(m.cost)}. "
        f"Only what costs less than {halves(max(0, m.at_least))} is ruled out."
    )


def halves(cost: int) -> str:
    """A cost in half turns, as turns."""
    whole, half = divmod(cost, 2)
    number = f"{whole or ''}{'½' if half else ''}" or "0"
    return f"{number} turn{'' if cost == 2 else 's'}"


def in_short(way: Way, m: Mend) -> str:
    """The steps of a mend in one line: what is out of the ordinary in full, turns counted."""
    if m.state == "well":
        made = [s for s in m.steps if isinstance(s, Pass)]
        if not m.steps:
            return "nothing is wrong."
        return (
            f"{_brief(way.strands, made)}." if len(made) == len(m.steps) else "nothing is lost; go on as on the card."
        )
    usual = usual_from(way, m)
    parts: list[str] = []
    for kind, group in itertools.groupby(m.steps[:usual], key=type):
        steps = list(group)
        if kind is Pass:
            parts.append(_brief(way.strands, [s for s in steps if isinstance(s, Pass)]))
        elif kind is Work:
            parts.append(f"work {plural(len(steps), 'turn')}")
        else:
            parts += [f"take back {plural(s.turns, 'turn')}" for s in steps if isinstance(s, Back)]
    if usual < len(m.steps):
        parts.append("go on as on the card")
    return f"{'; '.join(parts)}."


def _brief(n: int, made: Sequence[Pass]) -> str:
    """Passes one after the other, in the fewest words; :func:`brief_words` says what they mean."""
    names = {1: "left", n - 1: "right"}
    return "pass " + ", ".join(f"{names.get(p.gap, f'gap {p.gap}')} {p.face}" for p in made)


def brief_words(n: int) -> str:
    """What the short names of passes mean."""
    text = "Pass left front: round the left-hand strand, in from the front; right: round the right-hand strand"
    return f"{text}; gap 2: with two strands on the left." if n > 3 else f"{text}."


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
            f"{plural(m.sets_before, 'whole set')} before this one {'is' if m.sets_before == 1 else 'are'} good."
        )
    if m.state == "mend":
        out.append(f"After turn {number(way, at)}: {lower(lies(look(way.strands, m.done.turns, m.done.passes)))}")
    for k, s in enumerate(said(way, m.done, steps), start=1):
        gap = f" (gap {s.step.gap})" if isinstance(s.step, Pass) else ""
        out.append(f"{k:3d}. {s.title}{gap}. {s.text}")
    ending = then(way, m)
    out.append(
        ending if m.state == "mend" or not m.steps else ending.partition("Then ")[1] + ending.partition("Then ")[2]
    )
    return "\n".join(out)
