"""Reading a file that someone else wrote: a regular file, no larger than said, and never waiting for one."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

from strapwork.catalogue import tr
from strapwork.errors import InputError

LARGEST_FILE = 1_000_000

# A pipe without a writer would hold an ordinary open for ever; O_BINARY keeps Windows from changing line ends.
_FLAGS = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0) | getattr(os, "O_BINARY", 0)


def read_file(path: Path, what: str, most: int = LARGEST_FILE, place: str | None = None) -> bytes:
    """The bytes of a regular file.

    Args:
        path: the file; links are followed.
        what: what it is, for the message, such as ``"job file"``.
        most: bytes that it may hold.
        place: names it in messages; its path when left out.

    Raises:
        InputError: when it cannot be read, is no regular file, or is too large.
    """
    raw = read_if_there(path, what, most, place)
    if raw is None:
        raise _unreadable(path, what, place, OSError(errno.ENOENT, os.strerror(errno.ENOENT)))
    return raw


def read_if_there(path: Path, what: str, most: int = LARGEST_FILE, place: str | None = None) -> bytes | None:
    """As :func:`read_file`, but None where there is no such file."""
    where = str(path) if place is None else place
    try:
        # Asked before opening as well: to open some devices is to use them.
        _refuse_odd(os.stat(path), what, where)
        handle = os.open(path, _FLAGS)
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as e:
        raise _unreadable(path, what, place, e) from e
    try:
        _refuse_odd(os.fstat(handle), what, where)
        raw = _read_most(handle, most + 1)
    except OSError as e:
        raise _unreadable(path, what, place, e) from e
    finally:
        os.close(handle)
    if len(raw) > most:
        raise InputError(
            where, tr("the {what} is larger than {size}", what=what, size=_size(most)), tr("give a smaller file")
        )
    return raw


def _read_most(handle: int, most: int) -> bytes:
    """Up to ``most`` bytes; the size that the system tells is not trusted, since a file may grow."""
    parts: list[bytes] = []
    left = most
    while left > 0 and (part := os.read(handle, min(left, 1 << 20))):
        parts.append(part)
        left -= len(part)
    return b"".join(parts)


def _refuse_odd(found: os.stat_result, what: str, where: str) -> None:
    if stat.S_ISREG(found.st_mode):
        return
    kind = tr("a folder") if stat.S_ISDIR(found.st_mode) else tr("a pipe or a device")
    raise InputError(where, tr("the {what} is {kind}, not a file", what=what, kind=kind), tr("name a file"))


def _unreadable(path: Path, what: str, place: str | None, e: Exception) -> InputError:
    # ValueError: a name that no system can hold, such as one with a NUL in it.
    why = (e.strerror if isinstance(e, OSError) else None) or tr("the name cannot be used")
    if place is None:
        return InputError(
            str(path), tr("the {what} cannot be read ({why})", what=what, why=why), tr("check the name and the folder")
        )
    return InputError(
        place, tr("'{path}' cannot be read ({why})", path=path, why=why), tr("check the name and the folder")
    )


def _size(most: int) -> str:
    return f"{most / 1e6:g} MB" if most >= 100_000 else f"{most / 1e3:g} kB"
