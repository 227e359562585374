"""The command ``strapwork prices``: a price file to begin with, or what one says."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from strapwork.catalogue import tr
from strapwork.cli import terminal
from strapwork.errors import InputError


def add(commands: argparse._SubParsersAction[Any]) -> None:
    """Declare the command."""
    c = commands.add_parser("prices", help=tr("a price file to begin with, or what one says"))
    c.add_argument("file", type=Path, nargs="?", metavar="PRICES.toml", help=tr("a price file to read and check"))
    c.add_argument("--starter", type=Path, metavar="FILE", help=tr("write a commented price file to fill in, and stop"))
    c.add_argument("--force", action="store_true", help=tr("overwrite a file that is there already"))
    c.add_argument("--json", action="store_true", help=tr("what the file says as JSON"))
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Answer one ``strapwork prices`` command."""
    from strapwork.files import folders, output
    from strapwork.workshop import price_words, prices

    if args.starter is not None:
        text = (folders.folder("templates") / "prices.toml").read_bytes()
        output.write_all(args.starter.parent, {args.starter.name: text}, args.force)
        print(
            tr(
                "Wrote {starter}; put your own prices in and check it with 'strapwork prices {starter}'.",
                starter=args.starter,
            )
        )
        return
    if args.file is None:
        problem = tr("no price file is named")
        raise InputError(
            "PRICES.toml", problem, tr("name one, or write one to begin with: strapwork prices --starter prices.toml")
        )
    found = prices.read(args.file)
    if args.json:
        terminal.say_json(json.dumps(price_words.as_data(found), ensure_ascii=False, indent=1))
    else:
        print(price_words.words(found))
