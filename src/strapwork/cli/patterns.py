"""``strapwork patterns``: the patterns and what each needs measured, and whether they can be made."""

from __future__ import annotations

import argparse

from strapwork.catalogue import tr
from strapwork.cli import options, terminal


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    c = commands.add_parser("patterns", help=tr("list the patterns and what each needs measured"))
    options.patterns(c)
    options.json(c, tr("the list as JSON"))
    c.add_argument(
        "--check",
        action="store_true",
        help=tr("work every pattern out at many sizes, in either hand, and say what cannot be made"),
    )
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """List the patterns, or try them."""
    if args.check:
        _check(args)
        return
    from strapwork.cli import report
    from strapwork.stock import patterns

    found = patterns.all_patterns(args.patterns)
    if not args.json:
        print(report.patterns(found))
        return
    import json

    rows = [
        {"name": r.name, "title": r.title, "about": r.about, "measure": r.measure.what, "how": r.measure.how}
        for r in found
    ]
    terminal.say_json(json.dumps(rows, ensure_ascii=False, indent=1))


def _check(args: argparse.Namespace) -> None:
    """Say what came of every pattern.

    Raises:
        InputError: when one of them cannot be made.
    """
    from dataclasses import asdict

    from strapwork.errors import InputError
    from strapwork.job import tried

    found = tried.all_patterns(args.patterns)
    if args.json:
        import json

        terminal.say_json(json.dumps([asdict(t) for t in found], ensure_ascii=False, indent=1))
    else:
        for t in found:
            print("\n".join(t.words()))
    bad = [t.name for t in found if t.trouble]
    if bad:
        raise InputError(
            "--check", tr("{bad} cannot be made as drawn", bad=", ".join(bad)), tr("mend what is named above")
        )
