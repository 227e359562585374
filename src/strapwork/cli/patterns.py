"""``strapwork patterns``: the patterns and what each needs measured."""

from __future__ import annotations

import argparse

from strapwork.cli import options, terminal


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    c = commands.add_parser("patterns", help="list the patterns and what each needs measured")
    options.patterns(c)
    options.json(c, "the list as JSON")
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """List the patterns."""
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
