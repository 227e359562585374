"""The command line: which commands there are, and what becomes of their errors."""

from __future__ import annotations

import importlib
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from strapwork import __version__
from strapwork.catalogue import tr
from strapwork.cli import options, terminal
from strapwork.errors import InputError

DONE, FAULT, UNUSABLE = 0, 1, options.UNUSABLE
# One module each, in the order that --help lists them.
COMMANDS = (
    "patterns",
    "draft",
    "make",
    "braid",
    "rescue",
    "swatch",
    "made",
    "scale",
    "serve",
    "leathers",
    "sizes",
    "prices",
)


def parser(only: str | None = None) -> options.Parser:
    """The parser of all commands; of one command where only that one is wanted, which spares the rest's imports."""
    p = options.Parser(
        prog="strapwork", description=tr("Full-scale, print-or-cut patterns for slit-and-braided strap goods.")
    )
    p.add_argument("--version", action="version", version=tr("strapwork {version}", version=__version__))
    p.add_argument("--debug", action="store_true", help=tr("with a fault of ours, write all that is known of it"))
    commands = p.add_subparsers(dest="command", metavar="COMMAND", parser_class=options.Parser)
    for name in COMMANDS:
        if only is None or name == only:
            importlib.import_module(f"strapwork.cli.{name}").add(commands)
    return p


class Stopped(BaseException):
    """The run was told to stop by a signal."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


def _stop(number: int, _frame: object) -> None:
    raise Stopped(number)


@contextmanager
def _stoppable() -> Iterator[None]:
    """Let SIGINT and SIGTERM end a run in order, its temporary files taken away; as it was before, afterwards."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    numbers = [signal.SIGINT, signal.SIGTERM]
    before = [signal.signal(n, _stop) for n in numbers]
    try:
        yield
    finally:
        for n, was in zip(numbers, before, strict=True):
            signal.signal(n, was)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns:
        0 done; 2 what was given cannot be used; 1 a fault of ours; 128 and the number of a signal that stopped it.
    """
    words = list(sys.argv[1:] if argv is None else argv)
    debug = "--debug" in words
    words = [w for w in words if w != "--debug"]
    try:
        with _stoppable(), terminal.streams():
            p = parser(words[0] if words and words[0] in COMMANDS else None)
            args = p.parse_args(words)
            if args.command is None:
                p.print_help()
            else:
                args.run(args)
    except InputError as e:
        terminal.complain(tr("strapwork: {e}", e=e))
        return UNUSABLE
    except BrokenPipeError:
        return DONE
    except (Stopped, KeyboardInterrupt) as e:
        terminal.complain(tr("strapwork: stopped; nothing half-made is left."))
        return 128 + (e.number if isinstance(e, Stopped) else signal.SIGINT)
    except Exception as e:
        if debug:
            import traceback

            terminal.complain(traceback.format_exc())
        terminal.complain(
            tr(
                "strapwork: a fault of ours ({name}), not yours; run the same again with --debug and send what it "
                "writes to those who keep the tool.",
                name=type(e).__name__,
            )
        )
        return FAULT
    return DONE


if __name__ == "__main__":
    raise SystemExit(main())
