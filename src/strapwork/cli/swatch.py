"""``strapwork swatch``: learn a leather's take-up from test braids."""

from __future__ import annotations

import argparse
from pathlib import Path

from strapwork.catalogue import tr
from strapwork.cli import options, terminal
from strapwork.errors import InputError


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    c = commands.add_parser("swatch", help=tr("learn a leather's take-up from test braids"))
    c.add_argument("file", type=Path, nargs="?", metavar="FILE", help=tr("swatches as CSV or TOML"))
    c.add_argument("--name", help=tr("keep what was learned as this leather on the shelf"))
    c.add_argument("--template", type=Path, metavar="FILE", help=tr("write a CSV file to fill in, and stop"))
    c.add_argument("--force", action="store_true", help=tr("overwrite the template file"))
    options.json(c, tr("what was learned as JSON"))
    options.shelf(c)
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Learn from swatches, or write a file to fill in."""
    from strapwork.files import output
    from strapwork.piece import swatches as swatch
    from strapwork.stock import shelf

    if args.template is not None:
        output.write_all(args.template.parent, {args.template.name: swatch.TEMPLATE.encode()}, args.force)
        print(
            tr(
                "Wrote {template}; fill it in and run 'strapwork swatch {template} --name LEATHER'.",
                template=args.template,
            )
        )
        return
    if args.file is None:
        raise InputError(
            "FILE",
            tr("no swatch file is named"),
            tr("name one, or write one to fill in: strapwork swatch --template swatches.csv"),
        )
    name = shelf.check_name(args.name, "--name") if args.name is not None else None
    lesson = swatch.learn(swatch.read(args.file), str(args.file))
    if name is not None:
        path = args.shelf or shelf.default_path()
        shelf.store_swatches(path, name, lesson.learned.straps, lesson.thickness)
    if args.json:
        import json

        terminal.say_json(json.dumps(lesson.as_data(), ensure_ascii=False, indent=1))
    else:
        print(swatch.words(lesson, name or args.file.name))
        if name is not None:
            print(tr("Kept as '{name}' on {path}.", name=name, path=path))
