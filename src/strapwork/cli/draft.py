"""``strapwork draft``: one piece, from one measure."""

from __future__ import annotations

import argparse
from pathlib import Path

from strapwork.catalogue import tr
from strapwork.cli import options


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    from strapwork.order.doors import ONE_PIECE_KEYS

    c = commands.add_parser("draft", help=tr("one piece, from one measure"))
    c.add_argument("pattern", metavar="PATTERN", help=ONE_PIECE_KEYS["pattern"].help)
    options.keys(c, ONE_PIECE_KEYS, leave_out=("pattern",))
    options.output(c)
    options.dry(c)
    options.json(c, tr("numbers on standard output; files only where --out is given"))
    options.patterns(c)
    options.shelf(c)
    options.printers(c)
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Draft the piece that the options describe."""
    from strapwork.cli.deliver import deliver
    from strapwork.errors import Place
    from strapwork.order import doors

    texts = options.given(args, doors.ONE_PIECE_KEYS)
    deliver(doors.of_texts(texts, Place(args.pattern, "--{option}"), options.places(args), Path()), args)
