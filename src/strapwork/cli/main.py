"""The command line: thin, and it imports what a command needs only when it runs."""

from __future__ import annotations

import argparse
import gc
import math
import sys
from collections.abc import Callable, Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from strapwork import __version__
from strapwork.cli import prices, sizes
from strapwork.errors import InputError, shown

if TYPE_CHECKING:
    from strapwork.job.job import Job, Result
    from strapwork.printer.calibration import Printer
    from strapwork.stock.leather import Leather
    from strapwork.stock.machines import Machine

DONE, FAULT, UNUSABLE = 0, 1, 2


class _Parser(argparse.ArgumentParser):
    """An argument parser whose errors read like the rest of ours."""

    def error(self, message: str) -> NoReturn:
        print(f"{self.prog}: {message}; see '{self.prog} --help'.", file=sys.stderr)
        raise SystemExit(UNUSABLE)


def _parser() -> argparse.ArgumentParser:
    p = _Parser(prog="strapwork", description="Full-scale, print-or-cut patterns for slit-and-braided strap goods.")
    p.add_argument("--version", action="version", version=f"strapwork {__version__}")
    sub = p.add_subparsers(dest="command", metavar="COMMAND", parser_class=_Parser)

    def common(c: argparse.ArgumentParser) -> None:
        c.add_argument("--out", type=Path, metavar="DIR", help="folder for the files (made if missing)")
        c.add_argument("--force", action="store_true", help="overwrite files that are there already")
        c.add_argument(
            "--json", action="store_true", help="numbers on standard output; files only where --out is given"
        )
        c.add_argument("--patterns", type=Path, metavar="DIR", help="a folder with patterns of your own")
        shelf(c)

    def shelf(c: argparse.ArgumentParser) -> None:
        c.add_argument("--shelf", type=Path, metavar="FILE", help="the leather shelf, instead of your usual one")

    def cutter(c: argparse.ArgumentParser) -> None:
        c.add_argument(
            "--machine", metavar="PROFILE", help="also write SVG and DXF for this cutter (a file in patterns/machines)"
        )
        c.add_argument(
            "--bed", metavar="SIZE", help="bed or sheet of leather, instead of the profile's, e.g. '900 mm x 600 mm'"
        )

    def printers(c: argparse.ArgumentParser, use: str) -> None:
        c.add_argument("--printer", metavar="NAME", help=use)
        c.add_argument("--printers", type=Path, metavar="FILE", help="the printer file, instead of your usual one")

    def cards(c: argparse.ArgumentParser) -> None:
        c.add_argument(
            "--card", choices=("with", "alone", "none"), help="bench card with the sheets, in its own file, or none"
        )
        c.add_argument(
            "--left-handed", action="store_true", default=None, help="braid pictures for a left-handed worker"
        )

    c = sub.add_parser("patterns", help="list the patterns and what each needs measured")
    c.add_argument("--patterns", type=Path, metavar="DIR", help="a folder with patterns of your own")
    c.add_argument("--json", action="store_true", help="the list as JSON")
    c.set_defaults(run=_patterns)

    c = sub.add_parser("draft", help="one piece, from one measure")
    c.add_argument("pattern", metavar="PATTERN", help="name of a pattern, as 'strapwork patterns' lists it")
    c.add_argument("--measure", metavar="LENGTH", help="what was measured, e.g. '17.2 cm' or '6 3/4 in'")
    c.add_argument(
        "--leather", metavar="LEATHER", help="a thickness such as '1.8 mm' or '4-5 oz', or a name on the shelf"
    )
    c.add_argument("--backing", metavar="THICKNESS", help="thickness of a lining glued on")
    c.add_argument("--load", metavar="LOAD", help="load to estimate for, e.g. '12 kg'")
    c.add_argument("--factor", type=float, metavar="N", help="what the weakest section is divided by (8)")
    c.add_argument("--temper", choices=("soft", "medium", "firm"), help="how supple the leather is")
    c.add_argument("--label", help="what to call the piece on paper")
    c.add_argument("--count", type=int, default=1, metavar="N", help="how many to cut")
    c.add_argument("--width", metavar="LENGTH", help="strap width")
    c.add_argument("--strands", type=int, metavar="N", help="number of strands")
    c.add_argument("--sets", type=int, metavar="N", help="number of braid sets; 0 for a plain strap")
    c.add_argument("--weave", choices=("plain", "over-under"), help="plain turns, or over-under")
    c.add_argument("--turns", metavar="PATTERN", help="turns of your own, such as 'Ro Lo'")
    c.add_argument("--ease", metavar="LENGTH", help="room added to the measure")
    c.add_argument(
        "--ends", metavar="SHAPES", help="round, pointed, square or clipped; two with a comma for start and finish"
    )
    c.add_argument(
        "--hardware",
        metavar="NAME",
        help="a size from patterns/hardware, such as snap-24, instead of the tool's choice",
    )
    c.add_argument("--holes", type=int, metavar="N", help="holes in a belt's row")
    c.add_argument("--relief", metavar="LENGTH", help="round holes of this diameter at the slit ends")
    c.add_argument(
        "--paper", default="A4", help="A5 to A0, letter, legal, tabloid, or a size such as '330 mm x 480 mm'"
    )
    c.add_argument("--margin", metavar="LENGTH", help="unprintable margin of the printer")
    c.add_argument(
        "--units",
        choices=("mm", "in", "in16"),
        help="units shown (inches to 1/32 or to 1/16), and meant by a bare number",
    )
    c.add_argument("--format", default="pdf", metavar="LIST", help="pdf, svg or pdf,svg")
    cards(c)
    cutter(c)
    printers(c, "correct the PDF for this printer (see 'strapwork scale')")
    common(c)
    c.set_defaults(run=_draft)

    c = sub.add_parser("make", help="the whole job: everything a job file asks for")
    c.add_argument("job", type=Path, metavar="JOB.toml", nargs="?", help="a job file")
    c.add_argument("--starter", type=Path, metavar="FILE", help="write a commented job file to begin with, and stop")
    c.add_argument("--paper", help="paper, instead of the job's own")
    c.add_argument("--units", choices=("mm", "in", "in16"), help="units shown, instead of the job's own")
    c.add_argument("--format", metavar="LIST", help="pdf, svg or pdf,svg, instead of the job's own")
    cards(c)
    cutter(c)
    printers(c, "correct the PDF for this printer (see 'strapwork scale')")
    common(c)
    c.set_defaults(run=_make)

    c = sub.add_parser("braid", help="a braid with joined ends: proof, set, tab passes, pictures")
    c.add_argument(
        "strands", type=int, nargs="?", metavar="STRANDS", help="number of strands; left out: 3 to 13, a line each"
    )
    c.add_argument("--weave", choices=("plain", "over-under"), default="plain", help="plain turns, or over-under")
    c.add_argument(
        "--turns", metavar="PATTERN", help="turns that repeat, such as 'Ro Lo' (o over, u under, from outside in)"
    )
    c.add_argument("--word", metavar="CROSSINGS", help="one set as crossings, such as '-2 1 -2 1 -2 1'")
    c.add_argument("--all", action="store_true", help="every schedule with the fewest passes, easiest first")
    c.add_argument("--search", action="store_true", help="small turn patterns: which work, and why the others do not")
    c.add_argument("--left-handed", action="store_true", help="mirrored")
    c.add_argument("--paper", default="A4", help="paper of the card: A4 or letter")
    c.add_argument("--format", default="pdf", metavar="LIST", help="pdf, svg or pdf,svg")
    c.add_argument("--out", type=Path, metavar="DIR", help="write the braid card into this folder")
    c.add_argument("--force", action="store_true", help="overwrite files that are there already")
    c.add_argument("--json", action="store_true", help="numbers on standard output")
    c.set_defaults(run=_braid)

    c = sub.add_parser("swatch", help="learn a leather's take-up from test braids")
    c.add_argument("file", type=Path, nargs="?", metavar="FILE", help="swatches as CSV or TOML")
    c.add_argument("--name", help="keep what was learned as this leather on the shelf")
    c.add_argument("--template", type=Path, metavar="FILE", help="write a CSV file to fill in, and stop")
    c.add_argument("--force", action="store_true", help="overwrite the template file")
    c.add_argument("--json", action="store_true", help="what was learned as JSON")
    shelf(c)
    c.set_defaults(run=_swatch)

    c = sub.add_parser("scale", help="calibration sheet, and what was measured on it")
    c.add_argument("--paper", default="A4", help="paper of the calibration sheet")
    c.add_argument("--out", type=Path, metavar="DIR", help="folder for the sheet")
    c.add_argument("--force", action="store_true", help="overwrite a sheet that is there already")
    c.add_argument("--measured", nargs="+", metavar="LENGTH", help="X and Y between the crosses, or X Y D1 D2")
    c.add_argument("--picture", type=Path, metavar="FILE", help="a scan or photograph of the printed sheet")
    c.add_argument(
        "--dpi",
        type=float,
        metavar="N",
        help="of a scan; left out, a photograph that shows all four edges of the paper",
    )
    c.add_argument("--json", action="store_true", help="numbers on standard output")
    printers(c, "keep the readings under this name")
    c.set_defaults(run=_scale)

    c = sub.add_parser("serve", help="open the page in the browser, on this machine only")
    c.add_argument("--port", type=int, default=8470, metavar="N", help="port (8470)")
    c.add_argument(
        "--host",
        default="127.0.0.1",
        metavar="ADDRESS",
        help="address to listen on; anything but loopback lets others in",
    )
    c.add_argument("--no-browser", action="store_true", help="only serve; do not open a browser")
    c.add_argument("--patterns", type=Path, metavar="DIR", help="a folder with patterns of your own")
    c.add_argument("--printers", type=Path, metavar="FILE", help="the printer file, instead of your usual one")
    shelf(c)
    c.set_defaults(run=_serve)

    c = sub.add_parser("leathers", help="list, show or check the leathers on the shelf")
    c.add_argument("name", nargs="?", metavar="NAME", help="show this one in full")
    c.add_argument("--check", action="store_true", help="only check that the file can be read")
    c.add_argument("--json", action="store_true", help="as JSON")
    shelf(c)
    c.set_defaults(run=_leathers)
    sizes.add(sub)
    prices.add(sub)
    return p


def _formats(text: str) -> tuple[str, ...]:
    from strapwork.job.job import FORMATS

    names = tuple(dict.fromkeys(x.strip().lower() for x in text.split(",")))
    for name in names:
        if name not in FORMATS:
            raise InputError(
                "--format", f"{shown(name)} is no format", f"use {' or '.join(FORMATS)}, or both with a comma"
            )
    return names


def _patterns(args: argparse.Namespace) -> None:
    from strapwork.say import report
    from strapwork.stock import patterns as pattern_files

    found = pattern_files.all_patterns(args.patterns)
    if args.json:
        import json

        rows = [
            {"name": r.name, "title": r.title, "about": r.about, "measure": r.measure.what, "how": r.measure.how}
            for r in found
        ]
        print(json.dumps(rows, ensure_ascii=False, indent=1))
    else:
        print(report.patterns(found))


def _draft_job(args: argparse.Namespace) -> Job:
    from strapwork import units
    from strapwork.job import job as jobs
    from strapwork.paper.tiles import MARGIN
    from strapwork.piece.piece import Order, parse_ends
    from strapwork.stock import patterns as pattern_files
    from strapwork.stock.leather import Leather
    from strapwork.stock.papers import parse_paper

    r = pattern_files.find(args.pattern, "PATTERN", args.patterns)
    if args.measure is None:
        raise InputError(
            "--measure",
            f"the {r.measure.what} is missing",
            f"measure it and say, for example, --measure '{units.format_mm(_between(r.measure.least, r.measure.most))}'",
        )

    def length(name: str, **limits: Any) -> float | None:
        text = getattr(args, name)
        return None if text is None else units.parse_length(text, place=f"--{name}", unit=args.units, **limits)

    if not 1 <= args.count <= 999:
        raise InputError("--count", f"{args.count} is no count", "give from 1 to 999")
    if args.strands is not None and not 1 <= args.strands <= 25:
        raise InputError("--strands", f"{args.strands} is no number of strands", "give from 1 to 25")
    if args.sets is not None and not 0 <= args.sets <= 200:
        raise InputError("--sets", f"{args.sets} is no number of sets", "give from 0 to 200")
    if args.holes is not None and not 1 <= args.holes <= 25:
        raise InputError("--holes", f"{args.holes} is no number of holes", "give from 1 to 25")
    leather = _leather_of(args, Leather(r.leather))
    if args.factor is not None and not 1 <= args.factor <= 100:
        raise InputError("--factor", f"{args.factor:g} is no factor", "give from 1 to 100")
    value = length("measure")
    assert value is not None
    label = jobs.tidy_label(args.label or "")[: jobs.MOST_LABEL] or r.title
    margin = length("margin")
    order = Order(
        label=label,
        pattern=r,
        value=value,
        leather=leather,
        count=args.count,
        width=length("width"),
        strands=args.strands,
        sets=args.sets,
        weave=args.weave,
        turns=args.turns,
        ease=length("ease", allow_zero=True, allow_minus=True),
        relief=length("relief"),
        load=units.parse_load(args.load, place="--load") if args.load is not None else None,
        factor=args.factor,
        ends=parse_ends(args.ends, "--ends") if args.ends is not None else None,
        hardware=args.hardware,
        holes=args.holes,
        place=r.name,
        patterns=args.patterns,
    )
    return jobs.Job(
        title=label,
        orders=(order,),
        paper=parse_paper(args.paper),
        paper_name=jobs.tidy_label(args.paper),
        margin=MARGIN if margin is None else jobs.check_margin(margin, "--margin"),
        units=args.units or "mm",
        formats=_formats(args.format),
        card=args.card or "with",
        left_handed=bool(args.left_handed),
        machine=_machine(args, None),
        printer=_printer(args),
        stem=jobs.file_stem(r.name),
    )


def _machine(args: argparse.Namespace, usual: Machine | None) -> Machine | None:
    """The machine that the options name, with the bed they give."""
    if args.machine is None and args.bed is None:
        return usual
    from strapwork.stock import machines
    from strapwork.stock.papers import parse_bed

    machine = machines.find(args.machine, "--machine", args.patterns) if args.machine else usual
    if args.bed is not None:
        if machine is None:
            raise InputError("--bed", "a bed without a machine", "name the machine with --machine")
        machine = machine.model_copy(update={"bed": parse_bed(args.bed)})
    return machine


def _printer(args: argparse.Namespace) -> Printer | None:
    if not args.printer:
        return None
    from strapwork.printer import calibration as scale

    return scale.find(args.printer, "--printer", args.printers)


def _leather_of(args: argparse.Namespace, usual: Leather) -> Leather:
    """The leather that the options name, what they leave open filled in from ``usual``."""
    from dataclasses import replace

    from strapwork import units
    from strapwork.stock.leather import Leather

    leather = usual
    if args.leather is not None:
        from strapwork.stock import shelf

        known = shelf.by_name(args.leather, "--leather", shelf_path=args.shelf)
        leather = known or Leather(units.parse_thickness(args.leather, place="--leather"))
    if args.temper is not None:
        leather = replace(leather, temper=args.temper)
    if args.backing is not None:
        leather = replace(
            leather, backing=units.parse_length(args.backing, place="--backing", unit=args.units, most=6.0)
        )
    return leather


def _between(low: float, high: float) -> float:
    """A likely measure to show as an example."""
    return 5.0 * round(math.sqrt(low * high) / 5.0)


def _draft(args: argparse.Namespace) -> None:
    job = _draft_job(args)
    _deliver(job, args, job.stem)


def _make(args: argparse.Namespace) -> None:
    from dataclasses import replace

    from strapwork.files import folders as data
    from strapwork.files import output
    from strapwork.job import job as jobs
    from strapwork.job import jobfile
    from strapwork.stock.papers import parse_paper

    if args.starter is not None:
        text = (data.folder("templates") / "job.toml").read_bytes()
        output.write_all(args.starter.parent, {args.starter.name: text}, args.force)
        print(f"Wrote {args.starter}; fill it in and run 'strapwork make {args.starter}'.")
        return
    if args.job is None:
        raise InputError(
            "JOB.toml",
            "no job file is named",
            "name one, or write one to begin with: strapwork make --starter job.toml",
        )
    job = jobfile.read(args.job, args.patterns, args.shelf)
    if args.paper:
        job = replace(job, paper=parse_paper(args.paper), paper_name=jobs.tidy_label(args.paper))
    if args.units:
        job = replace(job, units=args.units)
    if args.format:
        job = replace(job, formats=_formats(args.format))
    if args.card:
        job = replace(job, card=args.card)
    if args.left_handed:
        job = replace(job, left_handed=True)
    job = replace(job, machine=_machine(args, job.machine), printer=_printer(args))
    _deliver(job, args, job.stem)


def _braid(args: argparse.Namespace) -> None:
    from strapwork.cli import braid as braid_report

    braid_report.run(args, _formats(args.format))


def _swatch(args: argparse.Namespace) -> None:
    from strapwork.files import output
    from strapwork.piece import swatches as swatch
    from strapwork.stock import shelf

    if args.template is not None:
        output.write_all(args.template.parent, {args.template.name: swatch.TEMPLATE.encode()}, args.force)
        print(f"Wrote {args.template}; fill it in and run 'strapwork swatch {args.template} --name LEATHER'.")
        return
    if args.file is None:
        raise InputError(
            "FILE",
            "no swatch file is named",
            "name one, or write one to fill in: strapwork swatch --template swatches.csv",
        )
    name = shelf.check_name(args.name, "--name") if args.name is not None else None
    lesson = swatch.learn(swatch.read(args.file), str(args.file))
    if name is not None:
        path = args.shelf or shelf.default_path()
        thick = [r.thickness for r in lesson.rows]
        low, high = min(t.low for t in thick), max(t.high for t in thick)
        shelf.store_learned(path, name, lesson.learned, f"{low:g}-{high:g} mm" if high > low else f"{low:g} mm")
    if args.json:
        import json
        from dataclasses import asdict

        outlier = lesson.rows[lesson.outlier].swatch if lesson.outlier is not None else None
        print(
            json.dumps(
                {**asdict(lesson.learned), "outlier": outlier, "model": lesson.model, "measured": lesson.measured},
                indent=1,
            )
        )
    else:
        print(swatch.words(lesson, name or args.file.name))
        if name is not None:
            print(f"Kept as '{name}' on {path}.")


def _scale(args: argparse.Namespace) -> None:
    from strapwork import units
    from strapwork.files import output
    from strapwork.printer import calibration as scale
    from strapwork.stock.papers import parse_paper

    paper = parse_paper(args.paper)
    if args.measured is None and args.picture is None:
        from strapwork.drawing import pdf

        out = args.out or Path("scale")
        paths = output.write_all(
            out, {"scale.pdf": pdf.write([scale.sheet(paper)], "Printer calibration sheet")}, args.force
        )
        print(
            f"Wrote {paths[0]}. Print it at 100 %, measure between the crosses, then: strapwork scale --measured X Y D1 D2 --printer NAME"
        )
        return
    if args.measured is not None and args.picture is not None:
        raise InputError("--picture", "both readings and a picture are given", "give one of them")
    name = _printer_name(args.printer)
    if args.picture is not None:
        from strapwork.printer import photo as picture

        printer = picture.measure(args.picture, paper, name, args.dpi)
    else:
        if len(args.measured) not in (2, 4):
            raise InputError("--measured", f"{len(args.measured)} readings are given", "give X and Y, or X Y D1 D2")
        readings = [units.parse_length(t, place="--measured", most=1e5) for t in args.measured]
        printer = scale.judge(name, paper, readings)
    if args.printer:
        path = args.printers or scale.default_path()
        scale.store(path, printer)
    if args.json:
        import json
        from dataclasses import asdict

        print(json.dumps(asdict(printer)))
    else:
        print(scale.words(printer))
        if args.printer:
            print(f"Kept on {path}; use it with --printer '{printer.name}'.")


def _printer_name(name: str | None) -> str:
    """A printer's name that can stand in a file and on a sheet."""
    import re

    if name is None:
        return "this printer"
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,39}", name):
        raise InputError(
            "--printer", f"{shown(name)} is no name for a printer", "use letters, digits, spaces and hyphens"
        )
    return name


def _serve(args: argparse.Namespace) -> None:
    import socket

    from strapwork.web import app, guard
    from strapwork.web.form import Places

    if not 1 <= args.port <= 65535:
        raise InputError("--port", f"{args.port} is no port", "give a number from 1024 to 65535")
    try:
        family = socket.AF_INET6 if ":" in args.host else socket.AF_INET
        with socket.socket(family) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((args.host, args.port))
    except OSError as e:
        raise InputError(
            "--port", f"{args.host} port {args.port} cannot be used ({e.strerror or e})", "choose another with --port"
        ) from e
    if not guard.is_loopback(args.host):
        print(
            f"Warning: {args.host} can be reached from other machines. Anyone on this network can use the page and read your "
            "leathers and patterns.",
            file=sys.stderr,
        )
    name = f"[{args.host}]" if ":" in args.host else args.host
    address = f"http://{name}:{args.port}/"
    print(f"Strapwork is at {address} (stop it with Ctrl-C).", flush=True)
    if not args.no_browser:
        import webbrowser

        webbrowser.open(address)
    app.serve(args.host, args.port, Places(args.patterns, args.shelf, args.printers))


def _leathers(args: argparse.Namespace) -> None:
    from strapwork.stock import shelf

    path = args.shelf or shelf.default_path()
    if args.shelf is not None and not path.exists():
        raise InputError(
            "--shelf", f"'{path}' does not exist", "name a file, or learn a leather with 'strapwork swatch'"
        )
    kept = {args.name: shelf.find(args.name, "NAME", path)} if args.name else shelf.read(path)
    if args.json:
        import json
        from dataclasses import asdict

        print(json.dumps({name: asdict(leather) for name, leather in kept.items()}, indent=1))
    elif args.check:
        print(f"{path}: {len(kept)} leather{'s' if len(kept) != 1 else ''}, all in order.")
    elif not kept:
        print(f"No leathers on {path} yet.")
    else:
        print("\n".join(shelf.words(leather) for leather in kept.values()))


def _deliver(job: Job, args: argparse.Namespace, folder: str) -> None:
    """Work a job out, write its files and say what was done."""
    from strapwork.files import output
    from strapwork.job import job as jobs
    from strapwork.say import report

    out: Path | None = args.out
    if out is None and not args.json:
        out = Path(folder)
    if out is not None:
        names = [f"{job.stem}.{x}" for x in job.formats if x == "pdf"] + ["numbers.json"]
        output.check_free(out, names, args.force)
    with _progress(len(job.orders)) as step:
        result = jobs.make(job, step)
    if out is not None:
        paths = output.write_all(out, result.files, args.force)
    if args.json:
        from strapwork.job import numbers

        data = result.numbers if out is not None else {**result.numbers, "sheets": []}
        sys.stdout.write(numbers.dumps(data))
        return
    for piece in result.pieces:
        print(report.of_piece(piece, job.units))
        print()
    print(report.safety(result.pieces))
    _say_files(result, paths)


def _say_files(result: Result, paths: Sequence[Path]) -> None:
    if result.cutting is not None:
        from strapwork.say import report

        print(report.cutting(result.cutting))
    names = ", ".join(p.name for p in paths if p.suffix != ".svg") or ""
    svgs = [p.name for p in paths if p.suffix == ".svg"]
    if svgs:
        names += f", {svgs[0]}" + (f" to {svgs[-1]}" if len(svgs) > 1 else "")
    count = len(result.sheets)
    print(f"{count} sheet{'s' if count > 1 else ''} in {paths[0].parent}: {names}")
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


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code of the contract (0, 1 or 2)."""
    # A short-lived process that builds many small objects and drops few: the
    # collector's default threshold costs a twentieth of the run and frees nothing.
    gc.set_threshold(100_000, 20, 20)
    parser = _parser()
    args = parser.parse_args(argv)
    if args.command is None:
        parser.print_help()
        return DONE
    try:
        args.run(args)
    except InputError as e:
        print(f"strapwork: {e}", file=sys.stderr)
        return UNUSABLE
    except BrokenPipeError:
        sys.stderr.close()
        return DONE
    except KeyboardInterrupt:
        print("strapwork: stopped.", file=sys.stderr)
        return FAULT
    return DONE


if __name__ == "__main__":
    raise SystemExit(main())
