"""Options that several commands share; those of a piece and a job follow from the description."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import NoReturn

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files.folders import Places
from strapwork.files.keys import Key

UNUSABLE = 2
# Second names of options, for hands that are used to them.
ALSO = {"formats": "--format"}


class Parser(argparse.ArgumentParser):
    """An argument parser whose errors read like the rest of ours."""

    def error(self, message: str) -> NoReturn:
        print(tr("{prog}: {message}; see '{prog} --help'.", prog=self.prog, message=message), file=sys.stderr)
        raise SystemExit(UNUSABLE)


def keys(c: argparse._ActionsContainer, described: Mapping[str, Key], leave_out: Iterable[str] = ()) -> None:
    """One option for each key of the description; what it may be is checked where every door is checked."""
    for name, key in described.items():
        if name in leave_out:
            continue
        if name == "left_handed":
            c.add_argument("--left-handed", dest=name, action="store_const", const="true", help=_percent(key.help))
            continue
        if key.metavar == "YES":
            c.add_argument(
                f"--{name.replace('_', '-')}",
                dest=name,
                action=argparse.BooleanOptionalAction,
                default=None,
                help=_percent(key.help),
            )
            continue
        names = [f"--{name.replace('_', '-')}", *([ALSO[name]] if name in ALSO else [])]
        some = f": {', '.join(key.values)}" if key.choices else ""
        c.add_argument(*names, dest=name, metavar=key.metavar, help=_percent(f"{key.help}{some}"))


def _percent(text: str) -> str:
    return text.replace("%", "%%")


def given(args: argparse.Namespace, described: Iterable[str]) -> dict[str, str]:
    """The keys that were given as options, as texts."""
    got = {name: value for name in described if (value := getattr(args, name, None)) is not None}
    return {name: str(value).lower() if isinstance(value, bool) else value for name, value in got.items()}


def output(c: argparse.ArgumentParser) -> None:
    """Where files go."""
    c.add_argument("--out", type=Path, metavar="DIR", help=tr("folder for the files (made if missing)"))
    c.add_argument("--force", action="store_true", help=tr("overwrite files that are there already"))


def dry(c: argparse.ArgumentParser) -> None:
    """Numbers and lists without files."""
    c.add_argument(
        "--dry", action="store_true", help=tr("say the numbers and lists, and what would change; write nothing")
    )


def json(c: argparse.ArgumentParser, what: str = tr("numbers on standard output")) -> None:
    """Numbers for other programs."""
    c.add_argument("--json", action="store_true", help=what)


def patterns(c: argparse.ArgumentParser) -> None:
    """The maker's own patterns."""
    c.add_argument("--patterns", type=Path, metavar="DIR", help=tr("a folder with patterns of your own"))


def shelf(c: argparse.ArgumentParser) -> None:
    """The leather shelf."""
    c.add_argument("--shelf", type=Path, metavar="FILE", help=tr("the leather shelf, instead of your usual one"))


def printers(c: argparse.ArgumentParser) -> None:
    """The printer file."""
    c.add_argument("--printers", type=Path, metavar="FILE", help=tr("the printer file, instead of your usual one"))


def places(args: argparse.Namespace) -> Places:
    """Where the maker's own things are, as the options say."""
    return Places(getattr(args, "patterns", None), getattr(args, "shelf", None), getattr(args, "printers", None))


def formats(text: str) -> tuple[str, ...]:
    """The kinds of sheets that ``--formats`` names."""
    from strapwork.drawing.outputs import FORMATS

    names = tuple(dict.fromkeys(f.strip().lower() for f in text.split(",")))
    for name in names:
        if name not in FORMATS:
            raise InputError(
                "--formats",
                tr("{name} is no format", name=shown(name)),
                tr("use {formats}, or both", formats=tr(" or ").join(FORMATS)),
            )
    return names
