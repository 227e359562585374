"""A file layer that fails on purpose: it counts every operation that changes files, and at one of them does harm.

The harm is done where the process calls the system, so whatever the code under
test goes through (``pathlib``, ``shutil``, its own functions) is met.  Runs that
are killed are children of the test, killed by SIGKILL as by ``kill -9``.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import signal
import stat
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any
from unittest import mock

from strapwork.errors import InputError
from strapwork.files import earlier, runs, swap
from strapwork.job import numbers

CHANGING = (
    "open",
    "write",
    "fsync",
    "close",
    "mkdir",
    "rmdir",
    "rename",
    "replace",
    "link",
    "unlink",
    "chmod",
    "chown",
    "utime",
)
WAYS = ("before", "after", "within")

# The workshop's own run and the next one: fewer pieces, and one sheet of the same name.
OLD = ("market-kit.pdf", "market-kit-A.svg", "market-kit-B.svg", "market-kit-C.svg")
NEW = ("market-kit.pdf", "market-kit-A.svg", "order.csv")


def files_of(tag: str, names: tuple[str, ...]) -> dict[str, bytes]:
    """The files of a run that can be told from every other run's."""
    files = {name: f"{tag} {name}\n".encode() * 40 for name in names}
    data = {"strapwork": tag, "pieces": [], "sheets": [{"file": n} for n in names], "files": earlier.record(files)}
    return {**files, "numbers.json": numbers.dumps(data).encode()}


@contextlib.contextmanager
def harm(act: Callable[[str, Callable[[], Any], tuple[Any, ...]], Any]) -> Iterator[None]:
    """Send every operation through ``act(name, go on, arguments)``."""

    def wrapped(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        return lambda *a, **k: act(name, lambda: real(*a, **k), a)

    with contextlib.ExitStack() as stack:
        for name in CHANGING:
            stack.enter_context(mock.patch.object(os, name, wrapped(name, getattr(os, name))))
        stack.enter_context(mock.patch.object(swap, "exchange", wrapped("exchange", swap.exchange)))
        yield


def killed(work: Callable[[], Any], at: int, how: str, only: str = "") -> bool:
    """Run ``work`` in a child that kills itself at operation ``at``, of those called ``only`` if that is given.

    Returns:
        False if it got to its end.
    """
    child = os.fork()
    if child:
        _, status = os.waitpid(child, 0)
        if not os.WIFSIGNALED(status) and os.WEXITSTATUS(status):
            raise AssertionError(f"the child failed with {os.WEXITSTATUS(status)}")
        return os.WIFSIGNALED(status)
    code = 1
    try:
        with harm(_killer(at, how, only)):
            work()
        code = 0
    finally:
        os._exit(code)


def write_many(folder: str, tag: str, rounds: int) -> int:
    """Write one run again and again; how often someone else was in the way for too long."""
    busy = 0
    for _ in range(rounds):
        try:
            write(Path(folder), tag, OLD if tag == "old" else NEW)
        except InputError:
            busy += 1
    return busy


def endless(folder: Path) -> int:
    """A child that writes one run after another, and ends as the command line does when it is stopped."""
    ready, tell = os.pipe()
    child = os.fork()
    if child:
        os.read(ready, 1)
        os.close(ready)
        os.close(tell)
        return child
    code = 1
    try:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
        os.write(tell, b".")
        while True:
            write(folder, "new", NEW)
            write(folder, "old", OLD)
    except KeyboardInterrupt:
        code = 130
    except SystemExit:
        code = 143
    finally:
        os._exit(code)


def end(child: int, number: int) -> int:
    """Send a signal to a child, and again if it has not ended in two seconds; its exit code, minus the signal if killed."""
    while True:
        os.kill(child, number)
        for _ in range(200):
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                return os.waitstatus_to_exitcode(status)
            time.sleep(0.01)


def _killer(at: int, how: str, only: str) -> Callable[[str, Callable[[], Any], tuple[Any, ...]], Any]:
    count = 0

    def act(name: str, go: Callable[[], Any], args: tuple[Any, ...]) -> Any:
        nonlocal count
        count += only in ("", name)
        if count == at and only in ("", name):
            if how == "within" and name == "write":
                os.pwrite(args[0], bytes(args[1])[: len(args[1]) // 2], 0)
            elif how == "after":
                with contextlib.suppress(OSError):
                    go()
            os.kill(os.getpid(), signal.SIGKILL)
        return go()

    return act


class Failing:
    """An ``act`` that raises at operation ``at``, and at all later ones that need room if ``forever``."""

    def __init__(self, at: int, fault: Callable[[], BaseException], forever: bool = False) -> None:
        self.at, self.fault, self.forever, self.count = at, fault, forever, 0

    def __call__(self, name: str, go: Callable[[], Any], args: tuple[Any, ...]) -> Any:
        self.count += 1
        if self.count == self.at or (self.forever and self.count > self.at and _needs_room(name, args)):
            if name == "close":
                go()  # a handle is given back whatever is said of it
            raise self.fault()
        return go()


def _needs_room(name: str, args: tuple[Any, ...]) -> bool:
    return name in ("write", "mkdir", "link", "fsync") or (name == "open" and len(args) > 1 and args[1] & os.O_CREAT)


def state(folder: Path) -> dict[str, tuple[str, int]]:
    """All that stands in a folder, at any depth: what it is and holds, and its mode."""
    out: dict[str, tuple[str, int]] = {}
    for root, folders, names in os.walk(folder):
        for name in (*folders, *names):
            path = Path(root) / name
            found = os.lstat(path)
            if stat.S_ISLNK(found.st_mode):
                held = f"link {os.readlink(path)}"
            elif stat.S_ISREG(found.st_mode):
                held = hashlib.sha256(path.read_bytes()).hexdigest()
            else:
                held = f"kind {stat.S_IFMT(found.st_mode)}"
            out[str(path.relative_to(folder))] = (held, stat.S_IMODE(found.st_mode))
    return out


def run_in(found: Mapping[str, tuple[str, int]]) -> dict[str, str]:
    """Of a folder's state, the files that runs write, by name and hash."""
    known = {*OLD, *NEW, "numbers.json"}
    return {name: held for name, (held, _) in found.items() if name in known}


def hashes(files: Mapping[str, bytes]) -> dict[str, str]:
    return {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}


def makers_own(found: Mapping[str, tuple[str, int]]) -> dict[str, tuple[str, int]]:
    """Of a folder's state, what is the maker's."""
    return {name: held for name, held in found.items() if name not in run_in(found)}


def set_up(place: Path, full: bool = True) -> Path:
    """A folder with a run in it and, if ``full``, with things of the maker's own."""
    shutil.rmtree(place, ignore_errors=True)
    folder = place / "market-kit"
    folder.mkdir(parents=True)
    for name, content in files_of("old", OLD).items():
        (folder / name).write_bytes(content)
    if full:
        (folder / "notes for Ines.txt").write_text("strap ends: thin them", encoding="utf-8")
        os.chmod(folder / "notes for Ines.txt", 0o640)
        (folder / "photos" / "fair").mkdir(parents=True)
        (folder / "photos" / "fair" / "stall.jpg").write_bytes(b"\xff\xd8 not a real picture")
        os.chmod(folder / "photos" / "fair", 0o750)
        os.symlink("photos/fair/stall.jpg", folder / "cover.jpg")
        os.symlink("nowhere", folder / "lost")
        os.chmod(folder, 0o751)
    return folder


def write(folder: Path, tag: str = "new", names: tuple[str, ...] = NEW, swapping: bool = True) -> runs.Written:
    """Write a run with ``--force``, by the swap or, if not ``swapping``, by moves."""
    from strapwork.files import output

    with contextlib.ExitStack() as stack:
        if not swapping:
            stack.enter_context(mock.patch.object(swap, "_exchange_call", return_value=None))
        return output.write_run(folder, files_of(tag, names), force=True)
