"""The page at the bench: the braid step by step for one hand or two, and the mend of spoiled work.

Everything that the braid itself needs goes out with the page.  Texts of an
address are measured before any work begins, and long work is done by a few at
a time.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from strapwork.braid import lie, rescue
from strapwork.braid import plan as plans
from strapwork.braid import slips as common
from strapwork.braid.looks import Look, look
from strapwork.braid.plan import Plan
from strapwork.braid.rescue import Mend
from strapwork.braid.way import Way, way_of
from strapwork.braid.word import MOST_STRANDS
from strapwork.braid.work import MOST_TEXT, Pass, Step, parse_done
from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.paper import mend_card, mend_pictures
from strapwork.say import braiding, mending, tangles
from strapwork.say import slips as say_slips
from strapwork.web import show
from strapwork.web.bounds import Busy

HANDS = ("right", "left")
WEAVES = ("over", "under")
LEAST_STRANDS = 3
MOST_SETS = 99
USUAL_SETS = 2
MOST_MENDED = 13  # strands; beyond them a question can take minutes
MOST_DRAWN = 40  # steps of a mend with a picture
AT_ONCE, PATIENCE = 2, 20.0
BOX = (60.0, 58.0)

# What the command line calls by an option, the page asks under a heading.
NAMES = {
    "(--done has the form for it)": "(under 'I know what was done')",
    "(--below)": "(under 'It lies like this')",
    "(--done)": "(under 'I know what was done')",
    "with --after": tr("under 'Turns made in this set'"),
    "with --done": tr("under 'I know what was done'"),
    "--below": tr("how it lies"),
    "--after": tr("turns made in this set"),
    "--done": tr("what was done"),
    "--twisted": tr("twisted strands"),
}

_making = threading.Lock()
_few = threading.BoundedSemaphore(AT_ONCE)


def within(text: str, least: int, most: int) -> int | None:
    """A small whole number of an address; None where it is none or out of bounds."""
    if not (len(text) <= 5 and text.isascii() and text.isdigit()):
        return None
    return int(text) if least <= int(text) <= most else None


@dataclass(frozen=True)
class Asked:
    """What the address asks for."""

    strands: int
    hand: str
    weave: str
    two: bool
    step: int
    sets: int | None


def asked(args: Mapping[str, str]) -> Asked:
    """The address of the page; what cannot be read counts as not said."""
    return Asked(
        within(args.get("strands", ""), LEAST_STRANDS, MOST_STRANDS) or LEAST_STRANDS,
        "left" if args.get("hand") == "left" else "right",
        "under" if args.get("weave") == "under" else "over",
        args.get("learners") == "two",
        within(args.get("step", ""), 1, 99_999) or 1,
        within(args.get("sets", ""), 1, MOST_SETS),
    )


def page(args: Mapping[str, str]) -> dict[str, Any]:
    """What the page shows."""
    want = asked(args)
    plan = plans.standard(want.strands, want.weave)
    hands = HANDS[::-1] if want.two else (want.hand,)
    learners = []
    for hand in hands:
        steps, data = _steps(want.strands, hand, want.weave) if plan.workable else ([], {})
        at = min(want.step if hand == want.hand else 1, max(1, len(steps)))
        learners.append({"hand": hand, "first": hand == want.hand, "at": at, "steps": steps, "data": data})
    return {
        "asked": want,
        "plan": plan,
        "learners": learners,
        "choices": [n for n in range(LEAST_STRANDS, MOST_STRANDS + 1) if n % 2],
        "sets": want.sets or USUAL_SETS,
        "mended": want.strands <= MOST_MENDED,
    }


def _steps(strands: int, hand: str, weave: str) -> tuple[list[dict[str, str]], dict[str, Any]]:
    with _making:  # the second of two that ask at once finds it made
        return _made(strands, hand, weave)


@lru_cache(maxsize=48)  # every count of strands for both hands and weaves
def _made(strands: int, hand: str, weave: str) -> tuple[list[dict[str, str]], dict[str, Any]]:
    """Pictures and words of every step, and the plain data that the moving picture is drawn from."""
    plan = plans.for_hand(plans.standard(strands, weave), hand)
    frames = braiding.frames(plan)
    data = {
        "strands": strands,
        "hand": hand,
        "weave": weave,
        "turns": [{"text": t.text(), "side": t.side, "crossings": list(t.crossings)} for t in plan.turns],
        "frames": [_frame(plan, f) for f in frames],
    }
    return show.player(plan), data


def _frame(plan: Plan, f: braiding.Frame) -> dict[str, Any]:
    made = tuple(p for p in plan.schedule if p.after_turn < f.turn)
    if f.tab_pass is not None:
        made = plan.schedule[: plan.schedule.index(f.tab_pass) + 1]
    seen = look(plan.strands, plan.turns[: f.turn], made)
    return {
        "turn": f.turn,
        "pass": None if f.tab_pass is None else {"gap": f.tab_pass.gap, "face": f.tab_pass.face},
        "below": {"order": seen.order, "crossings": seen.tangle, "twisted": seen.twisted},
    }


# -- something is wrong ------------------------------------------------------


def mended(args: Mapping[str, str]) -> dict[str, Any]:
    """Spoiled work as the page describes it, and its mend step by step.

    Raises:
        InputError: naming what cannot be read or does not settle the question.
    """
    texts = {
        name: args.get(name, "") for name in ("strands", "hand", "weave", "done", "below", "twisted", "after", "slip")
    }
    for name, text in texts.items():
        if len(text) > MOST_TEXT:
            raise InputError(
                name,
                tr("{text} characters are too many", text=len(text)),
                tr("keep it to {most_text}", most_text=MOST_TEXT),
            )
    way = _way(texts)
    with _one_of_few():
        try:
            return _answer(way, texts)
        except Busy:
            raise
        except InputError as e:
            raise InputError(*map(on_the_page, (e.place, e.problem, e.remedy))) from e


def _way(args: Mapping[str, str]) -> Way:
    """The braid in hand, as the request names it."""
    strands = within(args.get("strands", ""), LEAST_STRANDS, MOST_MENDED)
    if strands is None:
        raise InputError(
            "strands", tr("mends are worked out here for 3 to 13 strands"), tr("open the page for one of these numbers")
        )
    if args.get("hand") not in HANDS or args.get("weave") not in WEAVES:
        raise InputError(tr("the page"), tr("the request names no hand or no weave"), tr("reload the page"))
    return way_of(plans.standard(strands, args["weave"]), args["hand"] == "left", "strands")


def on_the_page(text: str) -> str:
    """A sentence of the command line with the page's names for what is asked."""
    for option, name in NAMES.items():
        text = text.replace(option, name)
    return text


@contextmanager
def _one_of_few() -> Iterator[None]:
    """A place among the few that work at once."""
    if not _few.acquire(timeout=PATIENCE):
        raise Busy(tr("the page"), tr("other questions are being worked out"), tr("ask again in a moment"))
    try:
        yield
    finally:
        _few.release()


def slips(args: Mapping[str, str]) -> dict[str, Any]:
    """The common slips of a set: how each looks at the end of it."""
    return {"slips": _slips(_way(args))}


@lru_cache(maxsize=16)
def _slips(way: Way) -> list[dict[str, str]]:
    with _one_of_few():
        return [
            {"title": say_slips.title(way, s), "lies": tangles.lies(s.look), "svg": _tangle(s.look)}
            for s in common.slips(way)
        ]


def _answer(way: Way, texts: Mapping[str, str]) -> dict[str, Any]:
    told = ""
    if texts["slip"]:
        found = common.slips(way)
        k = within(texts["slip"], 0, len(found) - 1)
        if k is None:
            raise InputError("slip", tr("there is no such slip"), tr("choose one that is shown"))
        m = found[k].at_end
        return told_step_by_step(way, m, m.steps) | {"told": f"{say_slips.title(way, found[k])}."}
    after = None
    if texts["after"]:
        after = within(texts["after"], 0, way.per_set)
        if after is None:
            raise InputError(
                "after", tr("that is no turn of this set"), tr("choose from 0 to {per_set}", per_set=way.per_set)
            )
    if texts["done"]:
        done = parse_done(texts["done"], way.strands, way.turns, tr("what was done"))
    elif texts["below"]:
        done = lie.from_lie(way, lie.parse_lie(texts["below"], way.strands, tr("how they lie")), after)
    elif texts["twisted"]:
        twisted = lie.parse_twisted(texts["twisted"], way.strands, tr("twisted strands"))
        guess = lie.from_twisted(way, twisted, after)
        if guess.settled is None:
            said = on_the_page(say_slips.told_apart(way, guess, twisted))
            return {"state": "unknown", "headline": said, "steps": []}
        done, told = guess.settled, on_the_page(say_slips.guessed(way, guess))
    else:
        raise InputError(
            tr("what was done"), tr("nothing is said of the work"), tr("say how many turns and which passes were made")
        )
    m = rescue.mend(way, done)
    steps = m.steps if texts["done"] else lie.spelled_out(m.done, m.steps)
    return told_step_by_step(way, m, steps) | {"told": told}


def told_step_by_step(way: Way, m: Mend, steps: tuple[Step, ...]) -> dict[str, Any]:
    """A mend up to where it goes on as the card has it, in words and pictures.

    ``go_on`` is the step of the set that comes then, None when the set is finished,
    and ``sets`` how many whole sets are worked by then, of those that were told.
    """
    usual = len(steps) - (len(m.steps) - mending.usual_from(way, m))
    said = mending.said(way, m.done, steps)
    seen = look(way.strands, m.done.turns, m.done.passes)
    at = len(m.done.turns)
    return {
        "state": m.state,
        "headline": mending.headline(way, m),
        "at": tr("After turn {way}", way=mending.number(way, at)) if at else tr("Before the first turn"),
        "lies": tangles.lies(seen),
        "hint": tangles.S_AND_Z if any(seen.twisted) else "",
        "now": _tangle(seen),
        "steps": [_mend_step(way, s, k < MOST_DRAWN) for k, s in enumerate(said[:usual])],
        "sets": m.sets_before + len(said[usual].before.turns if usual < len(said) else m.end.turns) // way.per_set,
        "go_on": _frame_of(way, said[usual]) if usual < len(said) else None,
        "then": mending.then(way, m) if usual == len(said) else tr("Then go on as on the card."),
        "bound": "" if m.exact else mending.bound(m),
    }


def _tangle(seen: Look) -> str:
    wide = BOX[0] if len(seen.order) < 6 else 92.0
    drawn = mend_pictures.tangle_picture(seen, wide, BOX[1])
    return show.inline(drawn, tr("How the strands lie below the work"), box=(0.0, 0.0, wide, BOX[1]))


def _mend_step(way: Way, s: mending.Said, drawn: bool) -> dict[str, str]:
    out = {"title": s.title, "text": s.text, "svg": ""}
    if drawn:
        wide = BOX[0] if way.strands < 6 else 92.0
        made = mend_card.step_picture(way.strands, s.before, s.after, s.step, wide, BOX[1])
        out["svg"] = show.inline(made, f"{s.title}: {s.text}", box=(0.0, -2.0, wide, 60.0))
    return out


def _frame_of(way: Way, s: mending.Said) -> int:
    """Which step of the set this is, from 1."""
    turn = (len(s.before.turns)) % way.per_set
    if isinstance(s.step, Pass):
        earlier = sum(1 for p in way.schedule if p.after_turn <= turn)
        return turn + max(1, earlier)
    return turn + 1 + sum(1 for p in way.schedule if p.after_turn <= turn)
