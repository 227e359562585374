"""``strapwork made``: a finished piece, measured, teaches its leather."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from strapwork.cli import terminal
from strapwork.errors import InputError, shown

if TYPE_CHECKING:
    from strapwork.piece.made import Cut
    from strapwork.stock.leather import Leather


def add(commands: Any) -> None:
    """Add the command to the parser's sub-commands."""
    c = commands.add_parser("made", help="tell how long a finished piece came out, so that the next one fits better")
    c.add_argument(
        "numbers", type=Path, nargs="?", metavar="NUMBERS.json", help="the numbers that the sheets came with"
    )
    c.add_argument("name", nargs="?", metavar="NAME", help="the piece, as it is called on its sheet")
    c.add_argument(
        "--measured", metavar="LENGTH", help="between its reference points, along the middle of its thickness"
    )
    c.add_argument("--leather", metavar="NAME", help="leather of the shelf it was cut from, where it has no name yet")
    c.add_argument("--date", metavar="DATE", help="the day it was measured, such as 2026-05-02 (today)")
    c.add_argument(
        "--another", action="store_true", help="it is another one cut from the same numbers, beyond their count"
    )
    c.add_argument("--list", action="store_true", help="what was measured of every leather, or of --leather")
    c.add_argument("--undo", action="store_true", help="take the piece that was added last to --leather back")
    c.add_argument("--json", action="store_true", help="as JSON")
    c.add_argument("--shelf", type=Path, metavar="FILE", help="the leather shelf, instead of your usual one")
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Run the command."""
    from strapwork.stock import shelf

    path: Path = args.shelf or shelf.default_path()
    if args.list and args.undo:
        raise InputError("--undo", "a list and an undo are asked for", "give one of them")
    if (args.list or args.undo) and (args.numbers is not None or args.measured is not None):
        raise InputError(
            "--list" if args.list else "--undo", "this takes no piece", "leave the piece and --measured out"
        )
    if args.list:
        _list(args, path)
    elif args.undo:
        _undo(args, path)
    else:
        _add(args, path)


def _add(args: argparse.Namespace, path: Path) -> None:
    from strapwork import units
    from strapwork.piece import made
    from strapwork.stock import shelf
    from strapwork.stock.leather import thickness_text

    if args.numbers is None:
        raise InputError("NUMBERS.json", "no numbers are named", "name the numbers.json that the sheets came with")
    cut = made.read(args.numbers, args.name)
    if args.measured is None:
        raise InputError(
            "--measured",
            f"how long {shown(cut.label)} came out is missing",
            f"measure it and say, for example, --measured '{units.format_mm(cut.finished)}'",
        )
    finished = units.parse_length(args.measured, place="--measured")
    name, leather = _leather(args.leather, cut, path)
    strap = made.lesson(cut, finished, _day(args.date))
    shelf.store_made(path, name, strap, None if args.another else cut.count, cut.thickness)
    after = shelf.find(name, "--leather", path).learned
    assert after is not None  # it holds the piece just stored
    if args.json:
        import json

        terminal.say_json(json.dumps({"leather": name, **after.as_data()}, ensure_ascii=False, indent=1))
        return
    print(made.words(strap, name, leather.learned if leather else None, after))
    new = "" if leather else f" The leather is new there, {thickness_text(cut.thickness)} thick."
    print(f"Kept on {path}; 'strapwork made --undo --leather {name}' takes it back.{new}")


def _leather(asked: str | None, cut: Cut, path: Path) -> tuple[str, Leather | None]:
    """Name of the leather to teach, and the leather where it is on the shelf already."""
    from strapwork.piece import made
    from strapwork.stock import shelf

    kept = shelf.read(path)
    name = asked if asked is not None else cut.leather
    if asked is None and name not in kept:
        what = f"its leather {shown(name)} is not on {path}" if name else f"{shown(cut.label)} does not say its leather"
        raise InputError("--leather", what, "say --leather and a name; one that is not on the shelf yet is put there")
    shelf.check_name(name, "--leather")
    leather = kept.get(name)
    if leather is not None:
        made.refuse_other_leather(cut, leather, "--leather")
    return name, leather


def _day(text: str | None) -> str:
    import datetime

    from strapwork.stock import record

    today = datetime.date.today()
    if text is None:
        return today.isoformat()
    day = record.parse_day(text, "--date")
    if day > (today + datetime.timedelta(days=1)).isoformat():
        raise InputError("--date", f"{shown(day)} has not come yet", "give the day the piece was measured")
    return day


def _list(args: argparse.Namespace, path: Path) -> None:
    from strapwork.stock import learned, shelf

    kept = {args.leather: shelf.find(args.leather, "--leather", path)} if args.leather else shelf.read(path)
    taught = {name: leather.learned for name, leather in kept.items() if leather.learned}
    if args.json:
        import json

        terminal.say_json(json.dumps({name: x.as_data() for name, x in taught.items()}, ensure_ascii=False, indent=1))
    elif not taught:
        print(f"Nothing has been measured of any leather on {path} yet." if not args.leather else "Nothing yet.")
    for name, x in taught.items() if not args.json else ():
        print(f"{name}: {x.factor:.3f} times the model, from {x.many()}")
        for strap in x.straps:
            print(f"  {learned.line(strap)}")


def _undo(args: argparse.Namespace, path: Path) -> None:
    from strapwork.stock import shelf

    name = args.leather
    if name is None:
        taught = [k for k, leather in shelf.read(path).items() if leather.learned and leather.learned.pieces]
        if len(taught) != 1:
            raise InputError(
                "--leather",
                f"{len(taught)} leathers have finished pieces" if taught else f"no finished piece is on {path}",
                f"say which: {', '.join(taught)}" if taught else "there is nothing to take back",
            )
        name = taught[0]
    what = shelf.undo_made(path, name)
    left = shelf.find(name, "--leather", path).learned
    now = f"{left.factor:.3f} times the model, from {left.many()}" if left else "the model's own"
    print(f"Took back {what}. Take-up of {name}: {now}.")
