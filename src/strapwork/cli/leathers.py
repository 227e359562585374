"""``strapwork leathers``: the leathers on the shelf."""

from __future__ import annotations

import argparse

from strapwork.catalogue import tr, trn
from strapwork.cli import options, terminal
from strapwork.errors import InputError


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    c = commands.add_parser("leathers", help=tr("list, show or check the leathers on the shelf"))
    c.add_argument("name", nargs="?", metavar="NAME", help=tr("show this one in full"))
    c.add_argument("--check", action="store_true", help=tr("only check that the file can be read"))
    options.json(c, tr("as JSON"))
    options.shelf(c)
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """List, show or check leathers."""
    from strapwork.stock import shelf

    path = args.shelf or shelf.default_path()
    if args.shelf is not None and not path.exists():
        raise InputError(
            "--shelf",
            tr("'{path}' does not exist", path=path),
            tr("name a file, or learn a leather with 'strapwork swatch'"),
        )
    kept = {args.name: shelf.find(args.name, "NAME", path)} if args.name else shelf.read(path)
    if args.json:
        import json

        rows = {name: shelf.as_data(leather) for name, leather in kept.items()}
        terminal.say_json(json.dumps(rows, ensure_ascii=False, indent=1))
    elif args.check:
        print(
            trn(
                "{path}: {kept} leather, all in order.",
                "{path}: {kept} leathers, all in order.",
                len(kept),
                path=path,
                kept=len(kept),
            )
        )
    elif not kept:
        print(tr("No leathers on {path} yet.", path=path))
    else:
        print("\n".join(shelf.words(leather) for leather in kept.values()))
