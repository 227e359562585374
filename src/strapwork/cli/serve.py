"""``strapwork serve``: the page in the browser, on this machine only."""

from __future__ import annotations

import argparse
import sys

from strapwork.catalogue import tr
from strapwork.cli import options
from strapwork.errors import InputError, shown


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    c = commands.add_parser("serve", help=tr("open the page in the browser, on this machine only"))
    c.add_argument("--port", type=int, default=8470, metavar="N", help=tr("port (8470)"))
    c.add_argument(
        "--host",
        default="127.0.0.1",
        metavar="ADDRESS",
        help=tr("address to listen on; anything but loopback lets others in"),
    )
    c.add_argument("--no-browser", action="store_true", help=tr("only serve; do not open a browser"))
    options.patterns(c)
    options.shelf(c)
    options.printers(c)
    c.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Serve the page until interrupted."""
    import socket

    from strapwork.web import app, guard

    if not 1 <= args.port <= 65535:
        raise InputError("--port", tr("{port} is no port", port=args.port), tr("give a number from 1024 to 65535"))
    if not args.host.strip():
        raise InputError("--host", tr("no address is given"), tr("leave it out, or name one such as 127.0.0.1"))
    try:
        family = socket.AF_INET6 if ":" in args.host else socket.AF_INET
        with socket.socket(family) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((args.host, args.port))
    except (ValueError, TypeError) as e:  # a name that no system can look up: a NUL in it, a part too long
        raise InputError(
            "--host", tr("{host} is no address", host=shown(args.host)), tr("name one such as 127.0.0.1")
        ) from e
    except OSError as e:
        raise InputError(
            "--port",
            tr(
                "{host} port {port} cannot be used ({strerror})",
                host=args.host,
                port=args.port,
                strerror=e.strerror or e,
            ),
            tr("choose another with --port"),
        ) from e
    if not guard.is_loopback(args.host):
        print(
            tr(
                "Warning: {host} can be reached from other machines. Anyone on this network can use the page and read your "
                "leathers and patterns.",
                host=args.host,
            ),
            file=sys.stderr,
        )
    name = f"[{args.host}]" if ":" in args.host else args.host
    address = f"http://{name}:{args.port}/"
    print(tr("Strapwork is at {address} (stop it with Ctrl-C).", address=address), flush=True)
    if not args.no_browser:
        import webbrowser

        webbrowser.open(address)
    app.serve(args.host, args.port, options.places(args))
