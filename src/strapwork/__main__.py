"""``python -m strapwork``, and where the installed command begins."""

from __future__ import annotations

import gc
import os
import signal
import sys


def main() -> int:
    """Run the command line; a signal that comes while its modules load ends the run without a word of Python."""
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda n, _: sys.exit(128 + n))
    # A short-lived process that builds many small objects and drops few: the collector's default threshold costs
    # a twentieth of the run, half of it while modules load, and frees nothing.
    gc.set_threshold(100_000, 20, 20)
    # No plugin of pydantic's takes part; to find that out it would read the metadata of everything that is installed.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    from strapwork.cli.main import main as run

    gc.freeze()  # what modules are made of stays: looking through it once would take 40 ms of a cold start
    return run()


if __name__ == "__main__":
    raise SystemExit(main())
