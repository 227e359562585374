"""The command ``strapwork sizes``: the sizes that fit the most people best, and how many of each to cut."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from strapwork.cli import terminal
from strapwork.errors import InputError

if TYPE_CHECKING:
    from strapwork.bodies.girths import Distribution
    from strapwork.bodies.sizes import Sizes

MOST_COUNT = 10_000


def add(commands: argparse._SubParsersAction[Any]) -> None:
    """Declare the command."""
    c = commands.add_parser("sizes", help="the sizes that fit the most people best, and how many of each to cut")
    c.add_argument(
        "measure", nargs="?", metavar="MEASURE", help="a girth such as wrist; left out: those that are known"
    )
    c.add_argument("--of", type=int, metavar="N", help="how many sizes")
    c.add_argument("--bodies", default="adults", metavar="NAME", help="the people, a file in patterns/bodies (adults)")
    c.add_argument("--for", dest="who", choices=("women", "men", "both"), default="both", help="whom to cut for")
    c.add_argument("--women", type=float, metavar="N", help="of a hundred people, how many are women (50)")
    c.add_argument("--list", type=Path, metavar="FILE", help="your own measures instead: one a line, or a table")
    c.add_argument("--reach", metavar="LENGTH", help="how far from its size a piece still fits, up or down")
    c.add_argument(
        "--by",
        choices=("distance", "reach"),
        default="distance",
        help="least mean squared distance to a size, or fewest people out of reach",
    )
    c.add_argument("--step", metavar="LENGTH", help="keep the sizes to whole steps, such as '5 mm'")
    c.add_argument("--count", type=int, metavar="N", help="split this many pieces over the sizes")
    c.add_argument("--units", choices=("mm", "in", "in16"), help="units shown, and meant by a bare number")
    c.add_argument("--patterns", type=Path, metavar="DIR", help="a folder with patterns and bodies of your own")
    c.add_argument("--json", action="store_true", help="numbers on standard output")
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Answer one ``strapwork sizes`` command."""
    from strapwork import units
    from strapwork.bodies import said, sizes

    if args.measure is None and args.list is None:
        _known(args)
        return
    spread = _spread(args)
    if args.of is None:
        raise InputError("--of", "the number of sizes is missing", "add it, such as --of 5")
    if args.count is not None and not 0 <= args.count <= MOST_COUNT:
        raise InputError("--count", f"{args.count} is no count", f"give from 0 to {MOST_COUNT}")

    def length(text: str | None, place: str) -> float | None:
        return None if text is None else units.parse_length(text, place=place, unit=args.units)

    reach, step = length(args.reach, "--reach"), length(args.step, "--step")
    more: Sizes | None = None
    if args.by == "reach":
        if reach is None:
            raise InputError("--reach", "the reach is missing", "add how far from its size a piece still fits")
        if step is not None:
            raise InputError("--step", "whole steps do not go with --by reach", "leave one of them out")
        found = sizes.most_in_reach(spread, args.of, reach)
        more = _one_more(lambda: sizes.most_in_reach(spread, args.of + 1, reach))
    else:
        found = sizes.best_sizes(spread, args.of, step)
        more = _one_more(lambda: sizes.best_sizes(spread, args.of + 1, step))
    if args.json:
        terminal.say_json(json.dumps(said.as_data(found, more, reach, args.count), ensure_ascii=False, indent=1))
    else:
        what = args.measure if args.list is None else "your list"
        print(said.words(what, args.by, found, more, reach, args.count, args.units or "mm"))


def _one_more(work: Any) -> Sizes | None:
    """One size more; None where it cannot be had."""
    try:
        found: Sizes = work()
    except InputError:
        return None
    return found


def _spread(args: argparse.Namespace) -> Distribution:
    from strapwork.bodies import girths as bodies

    if args.list is not None:
        if args.measure is not None:
            raise InputError("MEASURE", "both a girth and a list are given", "give one of them")
        if args.who != "both" or args.women is not None:
            raise InputError("--list", "a list of your own is not parted by sex", "leave --for and --women out")
        return bodies.read_list(args.list, args.units)
    if args.women is not None and args.who != "both":
        raise InputError("--women", f"a mix does not go with --for {args.who}", "leave one of them out")
    if args.women is not None and not 0 <= args.women <= 100:
        raise InputError("--women", f"{args.women:g} in a hundred is no share", "give from 0 to 100")
    share = {"women": 1.0, "men": 0.0}.get(args.who, None if args.women is None else args.women / 100.0)
    return bodies.spread(bodies.find(args.bodies, "--bodies", args.patterns), args.measure, share)


def _known(args: argparse.Namespace) -> None:
    """The girths that were counted."""
    from strapwork.bodies import girths as bodies

    group = bodies.find(args.bodies, "--bodies", args.patterns)
    if args.json:
        rows = [{"measure": name, "note": g.note} for name, g in group.girths.items()]
        terminal.say_json(
            json.dumps({"bodies": args.bodies, "source": group.source, "about": group.about, "measures": rows})
        )
        return
    for name, g in group.girths.items():
        print(f"{name}  {g.note}".rstrip())
    print(f"Counted on: {group.source}. {group.about}".rstrip())
    print(f"Sizes: strapwork sizes {next(iter(group.girths))} --of 5")
