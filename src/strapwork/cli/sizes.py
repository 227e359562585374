"""The command ``strapwork sizes``: the sizes that fit the most people best, and how many of each to cut."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from strapwork.catalogue import tr
from strapwork.cli import terminal
from strapwork.errors import InputError

if TYPE_CHECKING:
    from strapwork.bodies.girths import Distribution
    from strapwork.bodies.sizes import Sizes

MOST_COUNT = 10_000


def add(commands: argparse._SubParsersAction[Any]) -> None:
    """Declare the command."""
    c = commands.add_parser("sizes", help=tr("the sizes that fit the most people best, and how many of each to cut"))
    c.add_argument(
        "measure", nargs="?", metavar="MEASURE", help=tr("a girth such as wrist; left out: those that are known")
    )
    c.add_argument("--of", type=int, metavar="N", help=tr("how many sizes"))
    c.add_argument(
        "--bodies", default="adults", metavar="NAME", help=tr("the people, a file in patterns/bodies (adults)")
    )
    c.add_argument("--for", dest="who", choices=("women", "men", "both"), default="both", help=tr("whom to cut for"))
    c.add_argument("--women", type=float, metavar="N", help=tr("of a hundred people, how many are women (50)"))
    c.add_argument("--list", type=Path, metavar="FILE", help=tr("your own measures instead: one a line, or a table"))
    c.add_argument("--reach", metavar="LENGTH", help=tr("how far from its size a piece still fits, up or down"))
    c.add_argument(
        "--by",
        choices=("distance", "reach"),
        default="distance",
        help=tr("least mean squared distance to a size, or fewest people out of reach"),
    )
    c.add_argument("--step", metavar="LENGTH", help=tr("keep the sizes to whole steps, such as '5 mm'"))
    c.add_argument("--count", type=int, metavar="N", help=tr("split this many pieces over the sizes"))
    c.add_argument("--units", choices=("mm", "in", "in16"), help=tr("units shown, and meant by a bare number"))
    c.add_argument("--patterns", type=Path, metavar="DIR", help=tr("a folder with patterns and bodies of your own"))
    c.add_argument("--json", action="store_true", help=tr("numbers on standard output"))
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
        raise InputError("--of", tr("the number of sizes is missing"), tr("add it, such as --of 5"))
    if args.count is not None and not 0 <= args.count <= MOST_COUNT:
        raise InputError(
            "--count",
            tr("{count} is no count", count=args.count),
            tr("give from 0 to {most_count}", most_count=MOST_COUNT),
        )

    def length(text: str | None, place: str) -> float | None:
        return None if text is None else units.parse_length(text, place=place, unit=args.units)

    reach, step = length(args.reach, "--reach"), length(args.step, "--step")
    more: Sizes | None = None
    if args.by == "reach":
        if reach is None:
            raise InputError("--reach", tr("the reach is missing"), tr("add how far from its size a piece still fits"))
        if step is not None:
            raise InputError("--step", tr("whole steps do not go with --by reach"), tr("leave one of them out"))
        found = sizes.most_in_reach(spread, args.of, reach)
        more = _one_more(lambda: sizes.most_in_reach(spread, args.of + 1, reach))
    else:
        found = sizes.best_sizes(spread, args.of, step)
        more = _one_more(lambda: sizes.best_sizes(spread, args.of + 1, step))
    if args.json:
        terminal.say_json(json.dumps(said.as_data(found, more, reach, args.count), ensure_ascii=False, indent=1))
    else:
        what = args.measure if args.list is None else tr("your list")
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
            raise InputError("MEASURE", tr("both a girth and a list are given"), tr("give one of them"))
        if args.who != "both" or args.women is not None:
            raise InputError("--list", tr("a list of your own is not parted by sex"), tr("leave --for and --women out"))
        return bodies.read_list(args.list, args.units)
    if args.women is not None and args.who != "both":
        raise InputError("--women", tr("a mix does not go with --for {who}", who=args.who), tr("leave one of them out"))
    if args.women is not None and not 0 <= args.women <= 100:
        raise InputError(
            "--women", tr("{women:g} in a hundred is no share", women=args.women), tr("give from 0 to 100")
        )
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
    print(tr("Sizes: strapwork sizes {girth} --of 5", girth=next(iter(group.girths))))
