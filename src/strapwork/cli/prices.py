"""The command ``strapwork prices``: a price file to begin with, or what one says."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from strapwork.cli import terminal
from strapwork.errors import InputError

if TYPE_CHECKING:
    from strapwork.workshop.prices import Prices


def add(commands: argparse._SubParsersAction[Any]) -> None:
    """Declare the command."""
    c = commands.add_parser("prices", help="a price file to begin with, or what one says")
    c.add_argument("file", type=Path, nargs="?", metavar="PRICES.toml", help="a price file to read and check")
    c.add_argument("--starter", type=Path, metavar="FILE", help="write a commented price file to fill in, and stop")
    c.add_argument("--force", action="store_true", help="overwrite a file that is there already")
    c.add_argument("--json", action="store_true", help="what the file says as JSON")
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Answer one ``strapwork prices`` command."""
    from strapwork.files import folders, output
    from strapwork.workshop import prices

    if args.starter is not None:
        text = (folders.folder("templates") / "prices.toml").read_bytes()
        output.write_all(args.starter.parent, {args.starter.name: text}, args.force)
        print(f"Wrote {args.starter}; put your own prices in and check it with 'strapwork prices {args.starter}'.")
        return
    if args.file is None:
        problem = "no price file is named"
        raise InputError(
            "PRICES.toml", problem, "name one, or write one to begin with: strapwork prices --starter prices.toml"
        )
    found = prices.read(args.file)
    if args.json:
        terminal.say_json(json.dumps(as_data(found), ensure_ascii=False, indent=1))
    else:
        print(words(found))


def as_data(p: Prices) -> dict[str, Any]:
    """A price file as plain data; amounts and shares are texts."""

    def text(value: Any) -> str | None:
        return None if value is None else f"{value:f}"

    return {
        "currency": p.currency,
        "decimals": p.digits,
        "hour": text(p.hour),
        "overhead": text(p.overhead),
        "margin": text(p.margin),
        "markup": text(p.markup),
        "round_to": text(p.round_to),
        "waste": text(p.waste),
        "leather_per_m2": {name: text(v) for name, v in p.leather.items()},
        "strips": [
            {"leather": s.leather, "width_mm": s.width, "length_mm": s.length, "price": text(s.price)} for s in p.strips
        ],
        "hardware_each": {name: text(v) for name, v in p.hardware.items()},
        "minutes": {kind: text(v) for kind, v in p.minutes.items()},
    }


def words(p: Prices) -> str:
    """A price file for a person."""
    from strapwork.units import format_length
    from strapwork.workshop.prices import STEPS

    def share(value: Any) -> str:
        return f"{100 * value:f}".rstrip("0").rstrip(".") + " %" if value else "none"

    top = f"markup {share(p.markup)} on all costs" if p.markup is not None else f"margin {share(p.margin)} of the price"
    hour = f"an hour is worth {p.show(p.hour)}" if p.hour is not None else "what an hour is worth is not said"
    lines = [
        f"Prices in {p.currency} ({p.digits} decimals): {hour}; overhead {share(p.overhead)}, {top}.",
        f"  waste of leather {share(p.waste)}, where strips or hides are not planned",
    ]
    if p.round_to is not None:
        lines.append(f"  prices go up to the next {p.round_to}")
    lines += [f"  leather {name}: {v:.{p.digits + 2}f} a square metre" for name, v in p.leather.items()]
    for s in p.strips:
        size = f"{format_length(s.width)} × {format_length(s.length)}"
        lines.append(f"  strip of {s.leather}, {size}: {s.price} each")
    lines += [f"  {name}: {v:.{p.digits + 2}f} each" for name, v in p.hardware.items()]
    lines += [f"  {p.minutes[kind]} min: {what}" for kind, what in STEPS.items() if kind in p.minutes]
    missing = [kind for kind in STEPS if kind not in p.minutes]
    if missing:
        lines.append(f"  no minutes are said for: {', '.join(missing)}")
    return "\n".join(lines)
