"""A hidden folder beside what is to be written, where it is made ready.

It has a name that follows from the target's, so that the next writer finds what
a killed one left, and a lock, so that it knows whether the other one is dead.
Inside it::

    lock                 held while someone works here
    new/                 files that are complete and on the disk
    old/                 files of the run before, until the new run stands
    twin/                a folder that stands in for the target; see swap.py
    twin.json, out.json, in.json or done.json    the plan; its name is how far it got
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import shutil
import stat
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from strapwork.errors import InputError
from strapwork.files.jsonin import parse_json
from strapwork.files.lock import BusyError, locked, surely
from strapwork.files.reading import read_if_there

WAIT = 5.0  # seconds that a second writer waits for the first
STAGES = ("twin", "out", "in", "done")
_LARGEST_PLAN = 20_000_000
# More files than this are told to the disk together instead of one by one.
_MANY = 32


@dataclass(frozen=True, slots=True)
class Plan:
    """What a run is about to do: names that go from the target folder, and names that come."""

    stage: str
    gone: tuple[str, ...]
    new: tuple[str, ...]


class Staging:
    """The hidden folder ``root`` for ``target``, held by this process."""

    def __init__(self, target: Path, root: Path) -> None:
        self.target, self.root = target, root
        self.new, self.old, self.twin = root / "new", root / "old", root / "twin"

    def write_new(self, files: Sequence[tuple[str, bytes]]) -> None:
        """Put ``files`` into ``new/``, whole and on the disk."""
        os.mkdir(self.new)
        for name, content in files:
            write_file(self.new / name, content, len(files) <= _MANY)
        if len(files) > _MANY:
            _sync_all(self.new, [name for name, _ in files])
        sync_folder(self.new)

    def note(self, plan: Plan) -> None:
        """Write the plan down, whole or not at all."""
        draft = self.root / "draft"
        data = json.dumps({"gone": plan.gone, "new": plan.new}).encode("ascii")
        write_file(draft, data, True)
        move(draft, self.root / f"{plan.stage}.json")
        sync_folder(self.root)

    def turn(self, before: str, after: str) -> None:
        """Move the plan on from one stage to another; needs no room on the disk."""
        move(self.root / f"{before}.json", self.root / f"{after}.json")
        sync_folder(self.root)

    def plan(self) -> Plan | None:
        """The plan that was written down; None where there is none.

        Raises:
            OSError: when it cannot be read.
        """
        for stage in STAGES:
            try:
                raw = read_if_there(self.root / f"{stage}.json", "plan", _LARGEST_PLAN)
                if raw is not None:
                    data = parse_json(raw, str(self.root), _LARGEST_PLAN)
                    return Plan(stage, tuple(data["gone"]), tuple(data["new"]))
            except (InputError, KeyError, TypeError) as e:
                raise OSError(errno.EIO, f"what a stopped run left in '{self.root}' cannot be read") from e
        return None

    def clear(self) -> None:
        """Remove what is of no more use; the plan goes last, since it says what the rest is."""
        for folder in (self.old, self.new):
            with contextlib.suppress(FileNotFoundError):
                for entry in os.listdir(folder):
                    os.unlink(folder / entry)
                os.rmdir(folder)
        for name in ("draft", *(f"{stage}.json" for stage in STAGES)):
            with contextlib.suppress(FileNotFoundError):
                os.unlink(self.root / name)


def root_beside(target: Path) -> Path:
    """Where the hidden folder of ``target`` stands: beside it."""
    return target.parent / f".strapwork-{_digest(target.name)}"


def root_inside(target: Path) -> Path:
    """Where it stands for a folder that has nothing beside it that could be written."""
    return target / f".strapwork-{_digest('.')}"


def _digest(name: str) -> str:
    return hashlib.sha256(os.fsencode(os.path.normcase(name))).hexdigest()[:12]


@contextlib.contextmanager
def held(target: Path, root: Path, seconds: float | None = None) -> Iterator[Staging]:
    """Work in the hidden folder ``root``, alone; it is gone afterwards if nothing was left in it.

    Raises:
        BusyError: when someone else works there for longer than ``seconds``, or it is someone else's.
        OSError: when it cannot be made.
    """
    for _ in range(100):
        try:
            with contextlib.suppress(FileExistsError):
                os.mkdir(root, 0o700)
            _refuse_foreign(root)
            lock = locked(root / "lock", WAIT if seconds is None else seconds)
            lock.__enter__()
        except FileNotFoundError:
            if not root.parent.is_dir():
                raise
            continue  # the one before has just cleared it away
        except BaseException:
            surely(os.rmdir, root)
            raise
        try:
            yield Staging(target, root)
        finally:
            try:
                lock.__exit__(None, None, None)
            finally:
                surely(os.rmdir, root)  # unless something is left in it for the next run
        return
    raise BusyError


def _refuse_foreign(root: Path) -> None:
    """In a folder that many may write, anyone can make a folder of that name; what it holds is not to be trusted."""
    found = os.lstat(root)
    mine = not hasattr(os, "geteuid") or found.st_uid == os.geteuid()
    if not stat.S_ISDIR(found.st_mode) or not mine:
        raise OSError(errno.EEXIST, f"'{root.name}' in that place belongs to someone else")


def write_file(path: Path, content: bytes, sync: bool) -> None:
    """A new file with ``content``; on the disk when this returns, if ``sync``."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    try:
        rest = memoryview(content)
        while rest:
            rest = rest[os.write(handle, rest) :]
        if sync:
            os.fsync(handle)
    finally:
        os.close(handle)


def sync_folder(folder: Path) -> None:
    """Have the disk know what stands in ``folder``, where the system can be asked for that."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sync_all(folder: Path, names: Sequence[str]) -> None:
    """Have the disk know many files: one by one, a thousand would take seconds."""
    import ctypes

    handle = os.open(folder, os.O_RDONLY) if os.name != "nt" else -1
    try:
        whole = getattr(ctypes.CDLL(None), "syncfs", None) if handle >= 0 else None
        if whole is not None and whole(handle) == 0:
            return
    finally:
        if handle >= 0:
            os.close(handle)
    for name in names:
        handle = os.open(folder / name, os.O_RDWR | getattr(os, "O_BINARY", 0))
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def move(here: Path, there: Path) -> None:
    """Move a file or a folder on one disk, in one step."""
    # Windows refuses while a virus scanner reads what was just written; it is soon done.
    for seconds in (0.05, 0.1, 0.2, 0.4) if os.name == "nt" else ():
        try:
            return os.replace(here, there)
        except PermissionError:
            time.sleep(seconds)
    return os.replace(here, there)


def keep_face(model: Path, path: Path) -> None:
    """Give ``path`` the owner, mode and attributes of ``model``, as far as the system lets us."""
    was = os.stat(model)
    if hasattr(os, "chown") and (was.st_uid, was.st_gid) != (os.stat(path).st_uid, os.stat(path).st_gid):
        with contextlib.suppress(PermissionError):
            os.chown(path, was.st_uid, was.st_gid)
    shutil.copystat(model, path)
