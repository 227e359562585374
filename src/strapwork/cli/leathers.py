"""``strapwork leathers``: the leathers on the shelf."""

from __future__ import annotations

import argparse

from strapwork.cli import options, terminal
from strapwork.errors import InputError


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    c = commands.add_parser("leathers", help="list, show or check the leathers on the shelf")
    c.add_argument("name", nargs="?", metavar="NAME", help="show this one in full")
    c.add_argument("--check", action="store_true", help="only check that the file can be read")
    options.json(c, "as JSON")
    options.shelf(c)
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """List, show or check leathers."""
    from strapwork.stock import shelf

    path = args.shelf or shelf.default_path()
    if args.shelf is not None and not path.exists():
        raise InputError(
            "--shelf", f"'{path}' does not exist", "name a file, or learn a leather with 'strapwork swatch'"
        )
    kept = {args.name: shelf.find(args.name, "NAME", path)} if args.name else shelf.read(path)
    if args.json:
        import json

        rows = {name: shelf.as_data(leather) for name, leather in kept.items()}
        terminal.say_json(json.dumps(rows, ensure_ascii=False, indent=1))
    elif args.check:
        print(f"{path}: {len(kept)} leather{'s' if len(kept) != 1 else ''}, all in order.")
    elif not kept:
        print(f"No leathers on {path} yet.")
    else:
        print("\n".join(shelf.words(leather) for leather in kept.values()))
