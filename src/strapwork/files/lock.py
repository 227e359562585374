"""One writer at a time: a lock that the system lets go when its process ends, however it ends."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

_STEP = 0.05  # seconds between two tries
# Some network drives know no locks.  Refusing to write there would help nobody.
_NO_LOCKS = (errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP, errno.EINVAL)
_FLAGS = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)


class BusyError(Exception):
    """Someone else holds the lock, and went on holding it."""


@contextlib.contextmanager
def locked(path: Path, seconds: float) -> Iterator[None]:
    """Hold the lock file ``path``, which is there only while someone holds it or waits.

    Raises:
        BusyError: when it cannot be had within ``seconds``.
        OSError: when the file cannot be made.
    """
    handle = _acquire(path, time.monotonic() + seconds)
    try:
        yield
    finally:
        _release(handle, path)


def _release(handle: int, path: Path) -> None:
    # Windows removes no open file; elsewhere it must go while it is still
    # held, or it could be the lock of the next one that is removed.
    try:
        if os.name != "nt":
            surely(os.unlink, path)
    finally:
        with contextlib.suppress(OSError):
            os.close(handle)
    if os.name == "nt":
        surely(os.unlink, path)


def surely(step: Callable[[Path], None], path: Path) -> None:
    """Try a last step of clearing up, once more if a signal stops it; that it fails is no matter."""
    with contextlib.suppress(OSError):
        try:
            step(path)
        except (KeyboardInterrupt, SystemExit):
            step(path)
            raise


def _acquire(path: Path, deadline: float) -> int:
    while True:
        handle = os.open(path, _FLAGS, 0o600)
        try:
            # A lock on a file that its holder has removed since is a lock on nothing.
            if _try(handle) and _still(handle, path):
                return handle
        except BaseException:
            if _try(handle) and _still(handle, path):
                _release(handle, path)
            else:
                os.close(handle)
            raise
        os.close(handle)
        if time.monotonic() >= deadline:
            raise BusyError
        time.sleep(_STEP)


def _still(handle: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(handle), os.stat(path))
    except FileNotFoundError:
        return False


def _try(handle: int) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as e:
        if e.errno in (errno.EACCES, errno.EAGAIN, errno.EDEADLK):
            return False
        if e.errno not in _NO_LOCKS:
            raise
    return True
