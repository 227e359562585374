"""``strapwork make``: the whole job, everything a job file asks for."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import Any

from strapwork.catalogue import tr
from strapwork.cli import options
from strapwork.errors import InputError, Place

MOST_NUMBERS = 200_000_000


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    from strapwork.order.doors import JOB_KEYS

    c = commands.add_parser("make", help=tr("the whole job: everything a job file asks for"))
    c.add_argument(
        "job",
        type=Path,
        metavar="JOB",
        nargs="?",
        help=tr("a job file (.toml), a table of people (.csv), or a PDF that this tool made of one"),
    )
    c.add_argument(
        "--starter",
        type=Path,
        metavar="FILE",
        help=tr("write a job file (.toml) or a table of people (.csv) to begin with, and stop"),
    )
    keys = c.add_argument_group(tr("instead of what the job file says"))
    options.keys(keys, JOB_KEYS)
    options.output(c)
    options.dry(c)
    options.json(c, tr("numbers on standard output; files only where --out is given"))
    options.patterns(c)
    options.shelf(c)
    options.printers(c)
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Make the job, or write a starter."""
    from strapwork.cli.deliver import deliver
    from strapwork.files import folders, output
    from strapwork.files.reading import read_file
    from strapwork.order import doors
    from strapwork.order.description import LARGEST_JOB
    from strapwork.order.names import file_stem

    if args.starter is not None:
        kind = "table.csv" if args.starter.suffix.lower() == ".csv" else "job.toml"
        text = (folders.folder("templates") / kind).read_bytes()
        output.write_all(args.starter.parent, {args.starter.name: text}, args.force)
        print(tr("Wrote {starter}; fill it in and run 'strapwork make {starter}'.", starter=args.starter))
        return
    if args.job is None:
        raise InputError(
            "JOB.toml",
            tr("no job file is named"),
            tr("name one, or write one to begin with: strapwork make --starter job.toml"),
        )
    instead = _from_here(options.given(args, doors.JOB_KEYS), args.job.parent)
    place = Place(str(args.job), f"{args.job}, {{key}}", frozenset(instead))
    stem = file_stem(args.job.stem)
    if args.job.suffix.lower() == ".csv":
        table = read_file(args.job, "table", LARGEST_JOB)
        deliver(doors.of_table(table, str(args.job), instead, place, options.places(args), stem, args.job.parent), args)
        return
    raw, on_paper = _document(args.job)
    if "hand" in instead or "left_handed" in instead:
        raw.pop("hand", None)
        raw.pop("left_handed", None)
    job = doors.of_document({**raw, **instead}, place, options.places(args), stem, args.job.parent)
    deliver(job, args, on_paper)


def _from_here(given: dict[str, str], folder: Path) -> dict[str, str]:
    """The options with a price file that is found where one stands; any other is looked for beside the job."""
    said = given.get("prices")
    if not said or not os.path.isfile(said):  # of a path too long for any system as well
        return given
    try:
        found = Path(os.path.relpath(said, folder))
    except ValueError:  # on another drive
        found = Path(said).resolve()
    return given | {"prices": found.as_posix()}


def _document(path: Path) -> tuple[dict[str, Any], str]:
    """The job document of a file, and the fingerprint of its numbers where the file is a PDF that carries both."""
    from strapwork.files import carried, schema
    from strapwork.files.jsonin import parse_json
    from strapwork.job.job import NUMBERS, ORDER
    from strapwork.order.description import LARGEST_JOB

    if not carried.is_pdf(path):
        return schema.read_toml(path, tr("job file"), LARGEST_JOB), ""
    found = carried.taken_out(path, (ORDER, NUMBERS))
    raw = schema.parse_toml(found[ORDER], f"{path}, {ORDER}", LARGEST_JOB)
    try:
        kept = parse_json(found.get(NUMBERS, b"{}"), f"{path}, {NUMBERS}", MOST_NUMBERS)
    except InputError:
        kept = {}
    return raw, str(kept.get("fingerprint", "")) if isinstance(kept, dict) else ""
