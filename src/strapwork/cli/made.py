"""``strapwork made``: a finished piece, measured, teaches its leather."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from strapwork.catalogue import tr
from strapwork.cli import terminal
from strapwork.errors import InputError, shown


def add(commands: Any) -> None:
    """Add the command to the parser's sub-commands."""
    c = commands.add_parser(
        "made", help=tr("tell how long a finished piece came out, so that the next one fits better")
    )
    c.add_argument(
        "numbers", type=Path, nargs="?", metavar="NUMBERS.json", help=tr("the numbers that the sheets came with")
    )
    c.add_argument("name", nargs="?", metavar="NAME", help=tr("the piece, as it is called on its sheet"))
    c.add_argument(
        "--measured", metavar="LENGTH", help=tr("between its reference points, along the middle of its thickness")
    )
    c.add_argument(
        "--leather", metavar="NAME", help=tr("leather of the shelf it was cut from, where it has no name yet")
    )
    c.add_argument("--date", metavar="DATE", help=tr("the day it was measured, such as 2026-05-02 (today)"))
    c.add_argument(
        "--another", action="store_true", help=tr("it is another one cut from the same numbers, beyond their count")
    )
    c.add_argument("--list", action="store_true", help=tr("what was measured of every leather, or of --leather"))
    c.add_argument("--undo", action="store_true", help=tr("take the piece that was added last to --leather back"))
    c.add_argument("--json", action="store_true", help=tr("as JSON"))
    c.add_argument("--shelf", type=Path, metavar="FILE", help=tr("the leather shelf, instead of your usual one"))
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Run the command."""
    from strapwork.stock import shelf

    path: Path = args.shelf or shelf.default_path()
    if args.list and args.undo:
        raise InputError("--undo", tr("a list and an undo are asked for"), tr("give one of them"))
    if (args.list or args.undo) and (args.numbers is not None or args.measured is not None):
        raise InputError(
            "--list" if args.list else "--undo", tr("this takes no piece"), tr("leave the piece and --measured out")
        )
    if args.list:
        _list(args, path)
    elif args.undo:
        _undo(args, path)
    else:
        _add(args, path)


def _add(args: argparse.Namespace, path: Path) -> None:
    from strapwork import units
    from strapwork.piece import made, teaching

    if args.numbers is None:
        raise InputError(
            "NUMBERS.json", tr("no numbers are named"), tr("name the numbers.json that the sheets came with")
        )
    cut = made.read(args.numbers, args.name)
    if args.measured is None:
        raise InputError(
            "--measured",
            tr("how long {label} came out is missing", label=shown(cut.label)),
            tr("measure it and say, for example, --measured '{finished}'", finished=units.format_mm(cut.finished)),
        )
    finished = units.parse_length(args.measured, place="--measured")
    taught = teaching.teach(path, cut, finished, args.leather, args.date, another=args.another)
    if args.json:
        import json

        data = {"leather": taught.leather, **taught.after.as_data()}
        terminal.say_json(json.dumps(data, ensure_ascii=False, indent=1))
        return
    print(taught.words())
    print(
        tr(
            "Kept on {path}; 'strapwork made --undo --leather {leather}' takes it back.{new}",
            path=path,
            leather=taught.leather,
            new=taught.new(),
        )
    )


def _list(args: argparse.Namespace, path: Path) -> None:
    from strapwork.stock import learned, shelf

    kept = {args.leather: shelf.find(args.leather, "--leather", path)} if args.leather else shelf.read(path)
    taught = {name: leather.learned for name, leather in kept.items() if leather.learned}
    if args.json:
        import json

        terminal.say_json(json.dumps({name: x.as_data() for name, x in taught.items()}, ensure_ascii=False, indent=1))
    elif not taught:
        print(
            tr("Nothing has been measured of any leather on {path} yet.", path=path)
            if not args.leather
            else tr("Nothing yet.")
        )
    for name, x in taught.items() if not args.json else ():
        print(tr("{name}: {factor:.3f} times the model, from {many}", name=name, factor=x.factor, many=x.many()))
        for strap in x.straps:
            print(f"  {learned.line(strap)}")


def _undo(args: argparse.Namespace, path: Path) -> None:
    from strapwork.piece import teaching

    print(teaching.take_back(path, args.leather))
