"""Changing many files of a folder in one step, by swapping the folder with a twin.

The twin is a new folder beside the real one: the new run's files, and hard
links to all that the maker keeps there.  The two change places in one step of
the system, the real folder is brought up to date out of sight, and they change
back.  Whoever looks, or is cut off, at any moment finds the files of one run,
whole, and everything of the maker's; the folder itself stays the same one, with
its rights, its place in open windows and whoever stands in it.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import sys
from collections.abc import Container, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from strapwork.files.staging import Staging, keep_face, move, sync_folder

MOST_CARRIED = 5_000  # entries of the maker's own; a folder with more is no folder of sheets


class CannotSwapError(Exception):
    """The system or the folder does not allow it; nothing has changed."""


def swap(staging: Staging, gone: Sequence[str], new: Sequence[str]) -> None:
    """Put the files ``new`` into the folder and take ``gone`` out of it, in one step.

    The plan must be noted; ``new`` must be staged.

    Raises:
        CannotSwapError: before anything has changed.
        OSError: when a file cannot be moved; the folder is then as it was.
    """
    folder, other = staging.target, staging.twin
    real = os.stat(folder)
    if _exchange_call() is None:
        raise CannotSwapError
    try:
        _make_twin(staging, set(gone), new)
    except (OSError, NotImplementedError) as e:  # no links on this disk, or none to such a thing
        raise CannotSwapError from e
    if not exchange(folder, other):
        raise CannotSwapError
    try:
        # From here on the twin stands in for the folder, which is at ``other``.
        os.mkdir(staging.old)
        for name in gone:
            with contextlib.suppress(FileNotFoundError):
                move(other / name, staging.old / name)
        for name in new:
            if os.path.lexists(other / name):
                raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST))
            move(staging.new / name, other / name)
        sync_folder(other)
        if not exchange(folder, other):
            raise OSError(errno.EBUSY, os.strerror(errno.EBUSY))
    except BaseException:
        if os.path.samestat(os.stat(other), real):
            _restore(staging, new)
            exchange(folder, other)
        raise
    sync_folder(folder.parent)


def _restore(staging: Staging, new: Sequence[str]) -> None:
    """The folder at ``twin`` as it was before the run."""
    for name in new:
        with contextlib.suppress(FileNotFoundError):
            if os.path.samestat(os.lstat(staging.twin / name), os.lstat(staging.target / name)):
                os.unlink(staging.twin / name)
    if staging.old.exists():
        for name in os.listdir(staging.old):
            move(staging.old / name, staging.twin / name)


def _make_twin(staging: Staging, gone: Container[str], new: Sequence[str]) -> None:
    folder, twin = staging.target, staging.twin
    left = [MOST_CARRIED]
    os.mkdir(twin)
    _link_all(folder, twin, gone, left, os.stat(folder).st_dev)
    for name in new:
        os.link(staging.new / name, twin / name)
    keep_face(folder, twin)
    if os.stat(twin).st_uid != os.stat(folder).st_uid:
        raise CannotSwapError  # it would change hands if we were cut off
    sync_folder(twin)


def _link_all(folder: Path, twin: Path, without: Container[str], left: list[int], device: int) -> None:
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.name in without:
                continue
            left[0] -= 1
            if left[0] < 0:
                raise CannotSwapError
            there = twin / entry.name
            if not entry.is_dir(follow_symlinks=False):
                os.link(entry.path, there, follow_symlinks=False)
            elif entry.stat(follow_symlinks=False).st_dev != device:
                raise CannotSwapError  # another disk is mounted there
            else:
                os.mkdir(there)
                _link_all(Path(entry.path), there, (), left, device)
                keep_face(Path(entry.path), there)


def drop(hidden: Path, shown: Path, ours: Container[str]) -> None:
    """Clear a folder that stands, or stood, in for ``shown``.

    Names in ``ours`` are removed.  Everything else is the maker's: what has a
    link in ``shown`` is removed, what is found only here goes over to it, and of
    two that differ the one written last stays.
    """
    mode = stat.S_IMODE(os.stat(hidden).st_mode)
    if mode & 0o700 != 0o700:
        os.chmod(hidden, mode | 0o700)
    for name in os.listdir(hidden):
        here, there = hidden / name, shown / name
        found = os.lstat(here)
        if name in ours and not stat.S_ISDIR(found.st_mode):
            os.unlink(here)
        elif stat.S_ISDIR(found.st_mode):
            if there.is_dir() or not os.path.lexists(there):
                drop(here, there, ())
            else:
                _rescue(here, there)
        elif _is_spare(found, there):
            os.unlink(here)
        else:
            _rescue(here, there)
    os.rmdir(hidden)


def _is_spare(found: os.stat_result, there: Path) -> bool:
    try:
        other = os.lstat(there)
    except FileNotFoundError:
        # Another link to it is somewhere: the maker moved it after we were cut off.
        return found.st_nlink > 1
    if stat.S_ISDIR(other.st_mode):
        return found.st_nlink > 1
    return os.path.samestat(found, other) or found.st_nlink > 1 or found.st_mtime_ns <= other.st_mtime_ns


def _rescue(here: Path, there: Path) -> None:
    os.makedirs(there.parent, exist_ok=True)
    if there.is_dir() and not there.is_symlink():
        there = there.with_name(f"{there.name}-kept")
    move(here, there)


def exchange(a: Path, b: Path) -> bool:
    """Let two folders change places in one step; False where that cannot be done."""
    call = _exchange_call()
    return call is not None and call(os.fsencode(a), os.fsencode(b)) == 0


@cache
def _exchange_call() -> Any:
    """The system's call, as a function of two paths; None where there is none."""
    import ctypes

    if sys.platform.startswith("linux"):
        # renameat2(2): AT_FDCWD is -100, RENAME_EXCHANGE is 2.
        call = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
        return call and (lambda a, b: call(-100, a, -100, b, ctypes.c_uint(2)))
    if sys.platform == "darwin":
        # renamex_np(2): RENAME_SWAP is 2.
        call = getattr(ctypes.CDLL(None, use_errno=True), "renamex_np", None)
        return call and (lambda a, b: call(a, b, ctypes.c_uint(2)))
    return None
