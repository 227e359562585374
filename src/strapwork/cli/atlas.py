"""The command ``strapwork braid --atlas``: a table, JSON, or sheets with pictures."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator

from strapwork.braid.atlas import LEAST_STRANDS, MOST_STRANDS, Atlas, atlas, check_listed
from strapwork.catalogue import tr
from strapwork.cli import terminal
from strapwork.errors import InputError
from strapwork.say import atlas as say


def run(args: argparse.Namespace, formats: tuple[str, ...]) -> None:
    """Answer one ``strapwork braid --atlas`` command."""
    pairs = 1 if args.pairs is None else args.pairs
    if not args.atlas:
        raise InputError(
            "--pairs", tr("it belongs to the atlas, which is not asked for"), tr("add --atlas, or leave it out")
        )
    for option in ("turns", "word", "search"):
        if getattr(args, option):
            raise InputError(
                f"--{option}",
                tr("the atlas goes through all turns by itself"),
                tr("leave it out, or leave out --atlas"),
            )
    check_listed(LEAST_STRANDS if args.strands is None else args.strands, pairs)
    if args.out is not None:
        from strapwork.files import output

        output.check_free(args.out, [f"{_stem(args, pairs)}.pdf"] if "pdf" in formats else [], args.force)
    pages = []
    for page in _pages(args, pairs):
        pages.append(page)
        if not args.json:
            print(say.words(page, args.left_handed, args.all), end="\n\n", flush=True)
    if args.json:
        terminal.say_json(json.dumps([say.as_data(page, args.left_handed) for page in pages], indent=1))
    else:
        print(say.HINT)
    if args.out is not None:
        _sheets(pages, args, pairs, formats)


def _pages(args: argparse.Namespace, pairs: int) -> Iterator[Atlas]:
    if args.strands is not None:
        yield atlas(args.strands, pairs)
        return
    for strands in range(LEAST_STRANDS, MOST_STRANDS[pairs] + 1):
        yield atlas(strands, pairs)


def _stem(args: argparse.Namespace, pairs: int) -> str:
    return "atlas" + (f"-{args.strands}" if args.strands else "") + (f"-pairs-{pairs}" if pairs > 1 else "")


def _sheets(pages: list[Atlas], args: argparse.Namespace, pairs: int, formats: tuple[str, ...]) -> None:
    from strapwork.files import output
    from strapwork.job import job as jobs
    from strapwork.paper import atlas as sheets
    from strapwork.paper.card import card_paper
    from strapwork.stock import papers

    paper = papers.read(args.paper, "--paper")
    made = sheets.sheets(pages, card_paper(paper.size), args.left_handed)
    files = jobs.render(_stem(args, pairs), made, sheets.TITLE, formats, paper)
    paths = output.write_all(args.out, files, args.force)
    if not args.json:
        print(tr("Atlas: {paths}", paths=", ".join(str(p) for p in paths)))
