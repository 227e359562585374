"""The command ``strapwork braid``: verdict, set, passes and why, as words, JSON or a card."""

from __future__ import annotations

import argparse
import json
import sys
from itertools import product
from typing import Any

from strapwork.braid import passes
from strapwork.braid import plan as plans
from strapwork.braid.passes import Schedule
from strapwork.braid.plan import Plan
from strapwork.braid.word import check_strands, parse_word, reach, turn, turns_of_word
from strapwork.catalogue import tr, trn
from strapwork.cli import options, terminal
from strapwork.errors import InputError
from strapwork.say import braiding
from strapwork.stock.patterns import WEAVES

MOST_SEARCHED = 4096


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    c = commands.add_parser("braid", help=tr("a braid with joined ends: proof, set, tab passes, pictures"))
    c.add_argument(
        "strands", type=int, nargs="?", metavar="STRANDS", help=tr("number of strands; left out: 3 to 13, a line each")
    )
    c.add_argument(
        "--weave",
        choices=("plain", *(value for value, _ in WEAVES)),
        default="over",
        help=tr("plain turns worked over (the same as plain) or under, or over-under"),
    )
    c.add_argument(
        "--turns", metavar="TURNS", help=tr("turns that repeat, such as 'Ro Lo' (o over, u under, from outside in)")
    )
    c.add_argument("--word", metavar="CROSSINGS", help=tr("one set as crossings, such as '-2 1 -2 1 -2 1'"))
    c.add_argument("--all", action="store_true", help=tr("every schedule with the fewest passes, easiest first"))
    c.add_argument(
        "--search", action="store_true", help=tr("small turn patterns: which work, and why the others do not")
    )
    c.add_argument(
        "--atlas",
        action="store_true",
        help=tr("which braids of 3 to 7 strands can be worked at all (--all: every class)"),
    )
    c.add_argument(
        "--pairs",
        type=int,
        metavar="N",
        help=tr("right turns in a pattern of the atlas, and left turns: 1, or 2 or 3 (minutes)"),
    )
    c.add_argument("--left-handed", action="store_true", help="mirrored")
    c.add_argument("--paper", default="A4", help=tr("paper of the card: A4 or letter"))
    c.add_argument("--formats", "--format", default="pdf", metavar="LIST", help=tr("pdf, svg or pdf,svg"))
    options.output(c)
    options.json(c)
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Answer one ``strapwork braid`` command."""
    if args.atlas or args.pairs is not None:
        from strapwork.cli import atlas

        atlas.run(args, options.formats(args.formats))
        return
    if args.strands is None:
        if args.turns or args.word or args.search or args.out:
            raise InputError(
                "STRANDS", tr("the number of strands is missing"), tr("write it first, such as 'strapwork braid 5'")
            )
        found = [plans.standard(n, args.weave) for n in range(3, 14)]
        if args.json:
            terminal.say_json(json.dumps([as_data(p) for p in found], indent=1))
        else:
            print("\n".join(line(p) for p in found))
        return
    n = check_strands(args.strands, "STRANDS")
    if args.search:
        _search(n, args.json)
        return
    plan = plans.for_hand(plan_of(n, args), "left" if args.left_handed else "right")
    if args.json:
        terminal.say_json(json.dumps(as_data(plan, args.all), indent=1))
    else:
        print(words(plan, args.all))
    if args.out is not None:
        _card(plan, args)


def plan_of(n: int, args: argparse.Namespace) -> Plan:
    """The plan that the options name, as a right hand works it."""
    if args.turns and args.word:
        raise InputError("--word", tr("both turns and a word are given"), tr("give one of them"))
    if args.turns:
        return plans.from_turns(n, args.turns, "--turns")
    if args.word:
        return plans.decide(n, turns_of_word(parse_word(args.word, n)), 1)
    return plans.standard(n, args.weave)


def as_data(plan: Plan, every: bool = False) -> dict[str, Any]:
    """The plan as plain data."""
    found = plan.schedules if every else plan.schedules[:1]

    def rows(s: Schedule) -> list[dict[str, Any]]:
        return [{"after_turn": p.after_turn, "gap": p.gap, "face": p.face} for p in s]

    data: dict[str, Any] = {
        "strands": plan.strands,
        "workable": plan.workable,
        "reason": plan.verdict.reason,
        "strands_named": list(plan.verdict.strands_named),
        "pattern": [t.text() for t in plan.pattern],
        "repeats": plan.repeats,
        "repeats_tried": plan.tried,
        "turns_per_set": len(plan.turns) if plan.workable else None,
        "turns": [t.text() for t in plan.turns],
        "word": [c for t in plan.turns for c in t.crossings],
        "left_handed": plan.hand == "left",
        "passes": rows(found[0]) if found else [],
    }
    if every:
        data["schedules"] = [rows(s) for s in found]
    return data


def line(plan: Plan) -> str:
    """One line for a list."""
    if not plan.workable:
        return tr(
            "{strands:2d} strands: not workable in {tried} repeats ({reason})",
            strands=plan.strands,
            tried=plan.tried,
            reason=tr(plan.verdict.reason),
        )
    where = ", ".join(
        tr("after turn {after_turn} through gap {gap}", after_turn=p.after_turn, gap=p.gap) for p in plan.schedule
    )
    return tr(
        "{strands:2d} strands: set of {turns} turns; tab passes {where}",
        strands=plan.strands,
        turns=len(plan.turns),
        where=where,
    )


def words(plan: Plan, every: bool) -> str:
    """The whole answer for a person."""
    n = plan.strands
    pattern = " ".join(t.text() for t in plan.pattern)
    out = [
        tr("{n} strands, turns {pattern}", n=n, pattern=pattern)
        if len(plan.pattern) < 12
        else tr("{n} strands, {pattern} crossings", n=n, pattern=len(plan.pattern))
    ]
    out.append(plan.verdict.sentence())
    if not plan.workable:
        tried = ", ".join(f"{count} × {tr(reason)}" for reason, count in plan.reasons)
        out.append(
            trn(
                "Tried {tried} repeat: {tried2}.",
                "Tried {tried} repeats: {tried2}.",
                plan.tried,
                tried=plan.tried,
                tried2=tried,
            )
        )
        if plan.verdict.turns_left:
            left = ", ".join(
                tr("strand {i}: {f:+d}", i=i, f=f) for i, f in enumerate(plan.verdict.turns_left, start=1) if f
            )
            out.append(tr("Full ribbon turns left: {left}.", left=left))
        return "\n".join(out)
    turns = plan.turns
    out.append(tr("A set is {turns} turns: {turns2}.", turns=len(turns), turns2=" ".join(t.text() for t in turns)))
    found = plan.schedules if every else plan.schedules[:1]
    if not found:
        out.append(tr("No schedule was found within the limits of the search."))
    for k, s in enumerate(found, start=1):
        if every:
            out.append(tr("Schedule {k}:", k=k))
        if not s:
            out.append(tr("  No pass is needed."))
        for p in s:
            out.append(
                tr(
                    "  After turn {after_turn} pass the tab {where} (gap {gap}), {through}.",
                    after_turn=p.after_turn,
                    where=braiding.where(p, n),
                    gap=p.gap,
                    through=braiding.through(p),
                )
            )
        if s:
            e = passes.effort(n, turns, s)
            out.append(
                tr(
                    "    {passes} passes, {face_changes} changes of face, {twisted_strand_turns} strand-turns worked twisted, "
                    "{turns_after_last} turns after the last pass, tangle {tangle:.2f}",
                    passes=e.passes,
                    face_changes=e.face_changes,
                    twisted_strand_turns=e.twisted_strand_turns,
                    turns_after_last=e.turns_after_last,
                    tangle=e.tangle,
                )
            )
    if not every and len(plan.schedules) > 1:
        out.append(
            tr("{schedules} other schedules need as many passes; --all shows them.", schedules=len(plan.schedules) - 1)
        )
    return "\n".join(out)


def _search(n: int, as_json: bool) -> None:
    """Every over and under of the right and left turn of the usual reach."""
    right, left = reach(n, "R"), reach(n, "L")
    if 2 ** (right + left) > MOST_SEARCHED:
        raise InputError(
            "--search", tr("{n} strands have too many turn patterns to try", n=n), tr("search up to 13 strands")
        )
    rows = []
    for overs_r in product((True, False), repeat=right):
        for overs_l in product((True, False), repeat=left):
            pattern = (turn(n, "R", overs_r), turn(n, "L", overs_l))
            rows.append(plans.decide(n, pattern, 3 * n))
    others = plans.neighbours(n) if not any(p.workable for p in rows) else ()
    if as_json:
        terminal.say_json(json.dumps([as_data(p) for p in (*rows, *others)], indent=1))
        return
    for p in (*rows, *others):
        name = " ".join(t.text() for t in p.pattern)
        verdict = (
            tr("workable, set of {turns} turns", turns=len(p.turns))
            if p.workable
            else tr("not workable: {reason}", reason=tr(p.verdict.reason))
        )
        sys.stdout.write(f"{name:<24} {verdict}\n")
    if others:
        print(tr("The last ones run past the centre; they are the smallest found that work."))


def _card(plan: Plan, args: argparse.Namespace) -> None:
    from strapwork.files import output
    from strapwork.job import job as jobs
    from strapwork.paper import card
    from strapwork.stock import papers

    if not plan.workable or not plan.schedules:
        raise InputError(
            "--out",
            tr("there is no card for a braid that cannot be worked"),
            tr("choose another order of over and under"),
        )
    paper = papers.read(args.paper, "--paper")
    sheets = card.braid_card(plan, paper.size, "braid ")
    title = tr("Braiding {strands} strands", strands=plan.strands)
    files = jobs.render(f"braid-{plan.strands}", sheets, title, options.formats(args.formats), paper)
    paths = output.write_all(args.out, files, args.force)
    if not args.json:
        print(tr("Card: {paths}", paths=", ".join(str(p) for p in paths)))
