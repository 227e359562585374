"""Work a job out, write its files and say what was done."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

from strapwork.catalogue import tr, trn
from strapwork.cli import report, terminal
from strapwork.errors import InputError
from strapwork.say import sheets
from strapwork.units import shown_in

if TYPE_CHECKING:
    from strapwork.job.job import Result
    from strapwork.order.order import Job


def deliver(job: Job, args: argparse.Namespace, on_paper: str = "") -> None:
    """Make a job; ``args`` has ``out``, ``force``, ``dry`` and ``json``.

    ``on_paper`` is the fingerprint of the numbers that a PDF carried, where the job is made again from one.

    Raises:
        InputError: for what cannot be made, or a folder that cannot be written.
    """
    from strapwork.files import output
    from strapwork.job import job as jobs

    out: Path | None = args.out
    if out is None and not args.json:
        out = Path(job.stem)
    refused: InputError | None = None
    if out is not None and not args.dry:
        names = [f"{job.stem}.{x}" for x in job.formats if x == "pdf"] + ["numbers.json"]
        try:
            output.check_free(out, names, args.force)
        except InputError as e:
            refused = e
    with _progress(len(job.orders)) as step:
        result = jobs.make(job, step, keep_sheets=False)
    if out is not None and (refused or args.dry):
        _say_changes(out, result)
    if refused:
        raise refused
    if out is None or args.dry:
        _say(result, args, None)
    else:
        _say(result, args, output.write_all(out, result.files, args.force))
    if on_paper and not args.json:
        print(sheets.compared(on_paper, result.fingerprint))


def _say_changes(out: Path, result: Result) -> None:
    """What is different from the run that is in the folder already."""
    from strapwork.job import changes

    for sentence in changes.of_folder(out, result.numbers, result.job.units):
        terminal.complain(f"{out}: {sentence}")


def _say(result: Result, args: argparse.Namespace, paths: Sequence[Path] | None) -> None:
    """Numbers, or words for a person; ``paths`` are the files written, None where none were."""
    from strapwork.job import numbers

    job = result.job
    if args.json:
        terminal.say_json(
            numbers.dumps(result.numbers if paths is not None else {**result.numbers, "sheets": [], "files": []})
        )
        return
    with shown_in(job.units):
        for piece in result.pieces:
            print(report.of_piece(piece, job.units))
            print()
        print(report.safety(result.pieces))
        if job.lists:
            print(report.order(result, whole=paths is None))
        if result.cutting is not None:
            print(report.cutting(result.cutting, result.pieces, job.units))
    if paths is None:
        count = result.sheet_count
        print(trn("{count} sheet; nothing was written.", "{count} sheets; nothing was written.", count, count=count))
    else:
        _say_files(result, paths)


def _say_files(result: Result, paths: Sequence[Path]) -> None:
    names = ", ".join(p.name for p in paths if p.suffix != ".svg") or ""
    svgs = [p.name for p in paths if p.suffix == ".svg"]
    if svgs:
        names += f", {svgs[0]}" + (tr(" to {svgs}", svgs=svgs[-1]) if len(svgs) > 1 else "")
    count = result.sheet_count
    print(
        trn(
            "{count} sheet in {parent}: {names}",
            "{count} sheets in {parent}: {names}",
            count,
            count=count,
            parent=paths[0].parent,
            names=names,
        )
    )
    saving = result.saving
    if saving:
        print(
            saving
            if any(p.broken for p in result.pieces)
            else tr("{saving} Ask for them with --broken.", saving=saving)
        )
    print(tr("Print at 100 % and measure the 50 mm square before you cut."))


def _progress(total: int) -> Any:
    """A progress bar for long work on a terminal; silence in a pipe."""
    if total < 8 or not sys.stderr.isatty():
        return nullcontext(None)
    from rich.console import Console
    from rich.progress import Progress

    class _Bar(Progress):
        def __enter__(self) -> Callable[[int], None]:  # type: ignore[override]
            super().__enter__()
            task = self.add_task("making", total=total)
            return lambda k: self.update(task, completed=k)

    return _Bar(console=Console(stderr=True), transient=True)
