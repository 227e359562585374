"""``strapwork scale``: the calibration sheet, and what was measured on it."""

from __future__ import annotations

import argparse
from pathlib import Path

from strapwork.catalogue import tr
from strapwork.cli import options, terminal
from strapwork.errors import InputError


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    c = commands.add_parser("scale", help=tr("calibration sheet, and what was measured on it"))
    c.add_argument("--paper", default="A4", help=tr("paper of the calibration sheet"))
    options.output(c)
    c.add_argument("--measured", nargs="+", metavar="LENGTH", help=tr("X and Y between the crosses, or X Y D1 D2"))
    c.add_argument("--picture", type=Path, metavar="FILE", help=tr("a scan or photograph of the printed sheet"))
    c.add_argument(
        "--dpi",
        type=float,
        metavar="N",
        help=tr("of a scan; left out, a photograph that shows all four edges of the paper"),
    )
    c.add_argument(
        "--bar",
        nargs="+",
        metavar="LENGTH",
        help=tr("with a picture: the bar across, and the bar along, as a caliper reads them on the same print"),
    )
    options.json(c)
    c.add_argument("--printer", metavar="NAME", help=tr("keep the readings under this name"))
    options.printers(c)
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Write the sheet, or keep what was measured on it."""
    from strapwork import units
    from strapwork.files import output
    from strapwork.printer import calibration as scale
    from strapwork.stock import printers as kept
    from strapwork.stock.papers import parse_paper

    paper = parse_paper(args.paper)
    if args.bar is not None and args.picture is None:
        raise InputError(
            "--bar", tr("the bars go with a picture"), tr("give --picture as well, or --measured X Y D1 D2")
        )
    if args.measured is None and args.picture is None:
        from strapwork.drawing import pdf

        out = args.out or Path("scale")
        paths = output.write_all(
            out, {"scale.pdf": pdf.write([scale.sheet(paper)], tr("Printer calibration sheet"))}, args.force
        )
        print(
            tr(
                "Wrote {paths}. Print it at 100 %, measure between the crosses, then: strapwork scale --measured X Y D1 D2 --printer NAME",
                paths=paths[0],
            )
        )
        return
    if args.measured is not None and args.picture is not None:
        raise InputError("--picture", tr("both readings and a picture are given"), tr("give one of them"))
    name = kept.check_name(args.printer, "--printer") if args.printer is not None else tr("this printer")
    if args.picture is not None:
        from strapwork.printer import photo, picture_file

        picture_file.libraries("--picture")
        printer = photo.judge(picture_file.read(args.picture, "--picture"), paper, name, args.dpi, args.bar or ())
    else:
        if len(args.measured) not in (2, 4):
            raise InputError(
                "--measured",
                tr("{measured} readings are given", measured=len(args.measured)),
                tr("give X and Y, or X Y D1 D2"),
            )
        readings = [units.parse_length(t, place="--measured", most=1e5) for t in args.measured]
        printer = scale.judge(name, paper, readings)
    if args.printer:
        path = args.printers or kept.default_path()
        kept.store(path, printer)
    if args.json:
        import json
        from dataclasses import asdict

        terminal.say_json(json.dumps(asdict(printer)))
    else:
        print(scale.words(printer))
        if args.printer:
            print(tr("Kept on {path}; use it with --printer '{name}'.", path=path, name=printer.name))
