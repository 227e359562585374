"""Work a job out, write its files and say what was done."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

from strapwork.cli import report, terminal
from strapwork.say import sheets

if TYPE_CHECKING:
    from strapwork.job.job import Result
    from strapwork.order.order import Job


def deliver(job: Job, args: argparse.Namespace, on_paper: str = "") -> None:
    """Make a job; ``args`` has ``out``, ``force`` and ``json``.

    ``on_paper`` is the fingerprint of the numbers that a PDF carried, where the job is made again from one.

    Raises:
        InputError: for what cannot be made, or a folder that cannot be written.
    """
    from strapwork.files import output
    from strapwork.job import job as jobs
    from strapwork.job import numbers

    out: Path | None = args.out
    if out is None and not args.json:
        out = Path(job.stem)
    if out is not None:
        names = [f"{job.stem}.{x}" for x in job.formats if x == "pdf"] + ["numbers.json"]
        output.check_free(out, names, args.force)
    with _progress(len(job.orders)) as step:
        result = jobs.make(job, step)
    if out is not None:
        paths = output.write_all(out, result.files, args.force)
    if args.json:
        terminal.say_json(numbers.dumps(result.numbers if out is not None else {**result.numbers, "sheets": []}))
        return
    for piece in result.pieces:
        print(report.of_piece(piece, job.units))
        print()
    print(report.safety(result.pieces))
    _say_files(result, paths)
    if on_paper:
        print(sheets.compared(on_paper, result.numbers["fingerprint"]))


def _say_files(result: Result, paths: Sequence[Path]) -> None:
    if result.cutting is not None:
        print(report.cutting(result.cutting))
    names = ", ".join(p.name for p in paths if p.suffix != ".svg") or ""
    svgs = [p.name for p in paths if p.suffix == ".svg"]
    if svgs:
        names += f", {svgs[0]}" + (f" to {svgs[-1]}" if len(svgs) > 1 else "")
    count = len(result.sheets)
    print(f"{count} sheet{'s' if count > 1 else ''} in {paths[0].parent}: {names}")
    saving = result.saving
    if saving:
        print(saving if any(p.broken for p in result.pieces) else f"{saving} Ask for them with --broken.")
    print("Print at 100 % and measure the 50 mm square before you cut.")


def _progress(total: int) -> Any:
    """A progress bar for long work on a terminal; silence in a pipe."""
    if total < 8 or not sys.stderr.isatty():
        return nullcontext(None)
    from rich.console import Console
    from rich.progress import Progress

    class _Bar(Progress):
        def __enter__(self) -> Callable[[int], None]:  # type: ignore[override]
            super().__enter__()
            task = self.add_task("working out", total=total)
            return lambda k: self.update(task, completed=k)

    return _Bar(console=Console(stderr=True), transient=True)
