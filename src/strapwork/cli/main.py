"""The command line: which commands there are, and what becomes of their errors."""

from __future__ import annotations

import gc
import importlib
import sys
from collections.abc import Sequence

from strapwork import __version__
from strapwork.cli import options
from strapwork.errors import InputError

DONE, FAULT, UNUSABLE = 0, 1, options.UNUSABLE
# One module each, in the order that --help lists them.
COMMANDS = ("patterns", "draft", "make", "braid", "swatch", "scale", "serve", "leathers")


def parser(only: str | None = None) -> options.Parser:
    """The parser of all commands; of one command where only that one is wanted, which spares the rest's imports."""
    p = options.Parser(
        prog="strapwork", description="Full-scale, print-or-cut patterns for slit-and-braided strap goods."
    )
    p.add_argument("--version", action="version", version=f"strapwork {__version__}")
    commands = p.add_subparsers(dest="command", metavar="COMMAND", parser_class=options.Parser)
    for name in COMMANDS:
        if only is None or name == only:
            importlib.import_module(f"strapwork.cli.{name}").add(commands)
    return p


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code of the contract (0, 1 or 2)."""
    # A short-lived process that builds many small objects and drops few: the
    # collector's default threshold costs a twentieth of the run and frees nothing.
    gc.set_threshold(100_000, 20, 20)
    words = list(sys.argv[1:] if argv is None else argv)
    p = parser(words[0] if words and words[0] in COMMANDS else None)
    args = p.parse_args(words)
    if args.command is None:
        p.print_help()
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
