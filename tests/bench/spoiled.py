"""A copy of the checkout that may be spoiled, and tests run in it.  For edits.py and mutants.py.

The libraries are loaded once; each trial is a fork of that process, in a session
of its own, so that whatever it starts ends with it.  Nothing of the project is
loaded before the fork: a trial takes all of it from the copy.
"""

from __future__ import annotations

import importlib
import os
import shutil
import signal
import sys
import tempfile
import time
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Literal

ROOT = Path(__file__).resolve().parents[2]
PARTS = ("src", "tests", "patterns", "templates", "samples", "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml")
LIBRARIES = (
    "pytest", "hypothesis", "numpy", "scipy.stats", "scipy.optimize", "shapely.ops", "pydantic", "pint", "ezdxf", "svgwrite",
    "ezdxf.recover", "reportlab.pdfgen.canvas", "pypdf", "pypdfium2", "flask", "waitress", "svgelements", "rectpack",
    "sympy", "cairosvg", "PIL.Image", "resvg_py", "tomlkit",
)  # fmt: skip
Verdict = Literal["green", "red", "late"]


def load_libraries() -> None:
    """Import what every trial would import for itself; what is missing is left to the trial."""
    warnings.simplefilter("ignore")
    for name in LIBRARIES:
        with suppress(ImportError):
            importlib.import_module(name)
    if any(name.partition(".")[0] == "strapwork" for name in sys.modules):
        raise SystemExit("strapwork was loaded before the copy was made; run this file as a script")


class Copy:
    """One copy of the checkout."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        # Python takes a compiled file for fresh by its time to the second: each edit gets a second of its own.
        self._clock = int(time.time()) - 10_000_000
        for part in PARTS:
            source = ROOT / part
            if source.is_dir():
                shutil.copytree(source, folder / part, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(source, folder / part)

    @contextmanager
    def changed(self, file: str, text: str) -> Iterator[None]:
        """The copy with another text in one file."""
        path = self.folder / file
        before = path.read_text(encoding="utf-8") if path.exists() else None
        self._write(path, text)
        try:
            yield
        finally:
            if before is None:
                path.unlink()
            else:
                self._write(path, before)

    def _write(self, path: Path, text: str) -> None:
        path.write_text(text, encoding="utf-8")
        self._clock += 10
        os.utime(path, (self._clock, self._clock))

    def run(self, tests: Sequence[str], limit: float = 120.0, also: Sequence[str] = ()) -> tuple[Verdict, str]:
        """Whether the tests stay green in the copy, and the end of what they said; ``also`` are options of pytest."""
        log = self.folder / "trial.log"
        child = os.fork()
        if not child:
            self._trial(log, [*tests, *also])
        end = time.monotonic() + limit
        done, status = 0, 0
        while not done and time.monotonic() < end:
            time.sleep(0.05)
            done, status = os.waitpid(child, os.WNOHANG)
        with suppress(ProcessLookupError):  # what the trial started ends with it
            os.killpg(child, signal.SIGKILL)
        if not done:
            os.waitpid(child, 0)
            return "late", ""
        said = log.read_text(encoding="utf-8", errors="replace")[-4000:]
        code = os.waitstatus_to_exitcode(status)
        if (code == 4 and "ERROR: not found" in said) or (code in (2, 4, 5) and "error" not in said.lower()):
            raise SystemExit(f"no test was run by {' '.join(tests)}:\n{said}")
        return ("red" if code else "green"), said

    def _trial(self, log: Path, args: list[str]) -> None:
        code = 3
        try:
            os.setsid()
            out = os.open(log, os.O_CREAT | os.O_WRONLY | os.O_TRUNC)
            os.dup2(out, 1)
            os.dup2(out, 2)
            os.chdir(self.folder)
            sys.path[:0] = [str(self.folder / "src"), str(self.folder)]
            os.environ["PYTHONPATH"] = str(self.folder / "src")
            import pytest

            code = int(pytest.main(["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "--no-header", *args]))
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(code)


@contextmanager
def copy() -> Iterator[Copy]:
    """A copy of the checkout in a folder of its own, gone afterwards."""
    with tempfile.TemporaryDirectory(prefix="spoiled-") as folder:
        yield Copy(Path(folder))
