"""The command ``strapwork rescue``: is all well, and the least work that puts spoiled work right."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from strapwork.catalogue import tr
from strapwork.cli import options, terminal
from strapwork.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from strapwork.braid.rescue import Mend
    from strapwork.braid.slips import Slip
    from strapwork.braid.way import Way
    from strapwork.braid.work import Done, Step
    from strapwork.drawing.primitives import Sheet

MOST_SETS = 200


def add(commands: argparse._SubParsersAction[Any]) -> None:
    """Declare the command."""
    c = commands.add_parser("rescue", help=tr("a braid gone wrong: is all well, and the least work that puts it right"))
    c.add_argument("strands", type=int, metavar="STRANDS", help=tr("number of strands"))
    c.add_argument("--done", metavar="WORK", help=tr("what was done, such as '4 turns, pass 2 front, 2 turns'"))
    c.add_argument(
        "--below",
        metavar="CROSSINGS",
        help=tr(
            "how the strands lie, from the work down to the tab, such as 'A over B, C over A', or '1 -2', or 'free'"
        ),
    )
    c.add_argument("--twisted", metavar="STRANDS", help=tr("which strands are twisted, such as 'A, C', or 'none'"))
    c.add_argument(
        "--after", type=int, metavar="N", help=tr("turns of this set worked so far, with --below or --twisted")
    )
    c.add_argument("--slips", action="store_true", help=tr("the common slips, how each looks, and the mend"))
    c.add_argument("--keep-turns", action="store_true", help=tr("take no turn back"))
    c.add_argument(
        "--sets", type=int, metavar="N", help=tr("sets that the strap is to have; no mend goes past the last")
    )
    c.add_argument(
        "--weave",
        choices=("plain", "over", "under", "over-under"),
        default="over",
        help=tr("plain turns worked over or under, or over-under"),
    )
    c.add_argument(
        "--turns", metavar="PATTERN", help=tr("turns that repeat, such as 'Ro Lo' (o over, u under, from outside in)")
    )
    c.add_argument("--word", metavar="CROSSINGS", help=tr("one set as crossings, such as '-2 1 -2 1 -2 1'"))
    c.add_argument("--left-handed", action="store_true", help="mirrored")
    c.add_argument("--paper", default="A4", help=tr("paper of the card: A4 or letter"))
    c.add_argument("--formats", "--format", default="pdf", metavar="LIST", help=tr("pdf, svg or pdf,svg"))
    c.add_argument(
        "--out", type=Path, metavar="DIR", help=tr("write a card with a picture of each step into this folder")
    )
    c.add_argument("--force", action="store_true", help=tr("overwrite files that are there already"))
    c.add_argument("--json", action="store_true", help=tr("the answer as JSON on standard output"))
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Answer one ``strapwork rescue`` command."""
    from strapwork.braid.way import way_of
    from strapwork.braid.word import check_strands
    from strapwork.cli.braid import plan_of

    formats = options.formats(args.formats)
    _check(args)
    way = way_of(plan_of(check_strands(args.strands, "STRANDS"), args), args.left_handed)
    if args.slips:
        _slips(way, args, formats)
    elif args.below is None and args.twisted is not None:
        _twisted(way, args, formats)
    else:
        _answer(way, _done(way, args), args, formats)


def _check(args: argparse.Namespace) -> None:
    """One question at a time."""
    asked = [name for name in ("done", "below", "slips") if getattr(args, name) not in (None, False)]
    if not asked and args.twisted is None:
        raise InputError(
            "--done",
            tr("nothing is said of the work"),
            tr("say what was done, such as --done '4 turns, pass 2 front, 2 turns'"),
        )
    if len(asked) > 1 or (args.twisted is not None and asked and asked != ["below"]):
        raise InputError(
            f"--{'twisted' if args.twisted is not None and len(asked) == 1 else asked[1]}",
            tr("two descriptions are given"),
            tr("give one: --done, or --below and --twisted, or --slips"),
        )
    if args.after is not None and asked in (["done"], ["slips"]):
        raise InputError("--after", tr("it goes with --below or --twisted only"), tr("leave it out"))
    if args.sets is not None and not 1 <= args.sets <= MOST_SETS:
        raise InputError(
            "--sets",
            tr("{sets} is no number of sets", sets=args.sets),
            tr("give from 1 to {most_sets}", most_sets=MOST_SETS),
        )


def _done(way: Way, args: argparse.Namespace) -> Done:
    from strapwork.braid import lie, passes
    from strapwork.braid.work import parse_done
    from strapwork.say import tangles

    if args.done is not None:
        return parse_done(args.done, way.strands, way.turns)
    done = lie.from_lie(way, lie.parse_lie(args.below, way.strands), args.after)
    if args.twisted is not None:
        said = lie.parse_twisted(args.twisted, way.strands)
        turned = passes.ribbon_turns(way.strands, done.turns, done.passes)
        must = {i for i, f in enumerate(turned, start=1) if f}
        if said != must:
            raise InputError(
                "--twisted",
                tr(
                    "with these crossings {strands} must be twisted",
                    strands=tangles.strands(sorted(must)) if must else tr("no strand"),
                ),
                tr("look again at the crossings and at the twisted strands"),
            )
    return done


def _answer(way: Way, done: Done, args: argparse.Namespace, formats: Sequence[str]) -> None:
    from strapwork.braid.lie import spelled_out
    from strapwork.braid.rescue import mend
    from strapwork.say import mending

    m = mend(way, done, keep_turns=args.keep_turns, most_sets=args.sets)
    steps = m.steps if args.done is not None else spelled_out(m.done, m.steps)
    if args.json:
        terminal.say_json(json.dumps(as_data(way, m, steps), indent=1))
    else:
        print(mending.answer(way, m, steps))
        if m.turns_back and not args.keep_turns:
            _without_opening(way, done, args)
    if args.out is not None:
        from strapwork.paper import mend_card

        _card(f"rescue-{way.strands}", mend_card.mend_card(way, m, _paper(args), steps), args, formats)


def _without_opening(way: Way, done: Done, args: argparse.Namespace) -> None:
    """The other way out, for who would rather not take a turn back."""
    from strapwork.braid.rescue import mend
    from strapwork.say import mending

    try:
        other = mend(way, done, keep_turns=True, most_sets=args.sets)
    except InputError:
        return
    print(
        tr(
            "Or without taking a turn back: {in_short} ({brief_words})",
            in_short=mending.in_short(way, other),
            brief_words=mending.brief_words(way.strands),
        )
    )


def _twisted(way: Way, args: argparse.Namespace, formats: Sequence[str]) -> None:
    from strapwork.braid import lie
    from strapwork.say import slips as slip_words

    twisted = lie.parse_twisted(args.twisted, way.strands)
    guess = lie.from_twisted(way, twisted, args.after)
    if guess.settled is not None:
        if not args.json:
            print(slip_words.guessed(way, guess))
        _answer(way, guess.settled, args, formats)
        return
    said = slip_words.told_apart(way, guess, twisted)
    if args.json:
        terminal.say_json(json.dumps({"state": "unknown", "steps": [], "then": said}, indent=1))
    else:
        print(said)


def _slips(way: Way, args: argparse.Namespace, formats: Sequence[str]) -> None:
    from strapwork.braid.slips import slips
    from strapwork.say import mending, tangles
    from strapwork.say import slips as slip_words

    found = slips(way)
    if args.json:
        terminal.say_json(json.dumps([slip_as_data(way, s) for s in found], indent=1))
    else:
        print(f"{tangles.S_AND_Z}\n{mending.brief_words(way.strands)}")
        for s in found:
            print(slip_words.title(way, s))
            print("\n".join(f"    {row}" for row in slip_words.of_slip(way, s)))
    if args.out is not None:
        from strapwork.paper import mend_card

        _card(f"slips-{way.strands}", mend_card.slips_page(way, found, _paper(args)), args, formats)


def step_as_data(step: Step) -> dict[str, Any]:
    """One step as plain data."""
    from strapwork.braid.work import Back, Pass

    match step:
        case Pass(gap, face):
            return {"do": "pass", "gap": gap, "face": face}
        case Back(turns):
            return {"do": "back", "turns": turns}
        case _:
            return {"do": "turn", "turn": step.turn.text()}


def as_data(way: Way, m: Mend, steps: Sequence[Step]) -> dict[str, Any]:
    """The answer as plain data."""
    from strapwork.say import mending

    return {"state": m.state, "steps": [step_as_data(s) for s in steps], "then": mending.then(way, m)}


def slip_as_data(way: Way, s: Slip) -> dict[str, Any]:
    """A common slip as plain data; strands by their letters in the tab."""
    from strapwork.braid.word import letter
    from strapwork.say import slips as slip_words

    return {
        "slip": s.kind,
        "title": slip_words.title(way, s),
        "after_turn": s.after_turn,
        "twisted": {letter(i): f for i, f in enumerate(s.look.twisted, start=1) if f},
        "wound": [[letter(a), letter(b), times] for (a, b), times in sorted(s.look.wound.items())],
        "below": list(s.look.tangle),
        "at_once": as_data(way, s.at_once, s.at_once.steps),
        "at_end": as_data(way, s.at_end, s.at_end.steps),
    }


def _paper(args: argparse.Namespace) -> tuple[float, float]:
    from strapwork.stock.papers import parse_paper

    return parse_paper(args.paper)


def _card(stem: str, sheets: Sequence[Sheet], args: argparse.Namespace, formats: Sequence[str]) -> None:
    from strapwork.files import output
    from strapwork.job import job as jobs
    from strapwork.stock import papers

    title = str(sheets[0].notes["card"])
    files = jobs.render(stem, sheets, title, formats, papers.read(args.paper, "--paper"))
    paths = output.write_all(args.out, files, args.force)
    if not args.json:
        print(tr("Card: {paths}", paths=", ".join(str(p) for p in paths)))
