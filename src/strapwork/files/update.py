"""Changing a file of the maker's own, so that all that was theirs in it stays.

Links are followed to the file, which keeps its owner, mode, line ends and the
mark at its front; comments and order stay; the version before stands beside it
as ``.bak``.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.files.lock import BusyError
from strapwork.files.reading import read_file, read_if_there
from strapwork.files.staging import Staging, held, keep_face, move, root_beside, sync_folder, write_file
from strapwork.files.toml import parse_toml

_MARK = b"\xef\xbb\xbf"
_WAIT = 20.0  # seconds; a shelf is quickly written, and many may want to


def replace_file(path: Path, content: bytes, check: Callable[[], None] = lambda: None) -> None:
    """Write one file anew; what was there stays until the new one is whole.

    Args:
        check: called when no one else can write it any more; what it raises stops it.

    Raises:
        BusyError: when someone else is writing it.
        OSError: when it cannot be written; nothing is left behind then.
    """
    real = Path(os.path.realpath(path))
    with held(real, root_beside(real)) as staging:
        staging.clear()
        check()
        _replace(staging, content, None)


def update_toml(
    path: Path, name: str, change: Callable[[Any], None], heading: str, check: Callable[[], object]
) -> None:
    """Change one table of a TOML file safely, making file and table if need be.

    The file is locked, read afresh, changed and moved into place, so that two
    processes at once lose nothing; the version before is kept as ``.bak``.

    Args:
        path: the file.
        name: the table.
        change: gets the table to change it.
        heading: first line of a new file.
        check: reads the file that is there; what it raises stops the change.

    Raises:
        InputError: when the file is damaged or cannot be written; it is then as it was.
    """
    rewrite(path, lambda raw: _changed(heading.encode() if raw is None else raw, str(path), name, change), check)


def rewrite(path: Path, change: Callable[[bytes | None], bytes], check: Callable[[], object] = lambda: None) -> None:
    """Change a file of the maker's own as a whole, making it if need be; the version before is kept as ``.bak``.

    Args:
        path: the file.
        change: from what is there (None for no file) to what shall be; what it raises stops the change.
        check: reads the file that is there; what it raises stops the change.

    Raises:
        InputError: when the file is damaged or cannot be written; it is then as it was.
    """
    try:
        real = Path(os.path.realpath(path))
        real.parent.mkdir(parents=True, exist_ok=True)
        with held(real, root_beside(real), _WAIT) as staging:
            staging.clear()
            check()  # refuses before anything is touched
            before = read_if_there(real, "file", place=str(path))
            after = change(before)
            if after != before:
                _replace(staging, after, before)
    except BusyError as e:
        raise InputError(str(path), tr("the file is being written by someone else"), tr("try again in a moment")) from e
    except (OSError, ValueError) as e:
        why = (e.strerror if isinstance(e, OSError) else None) or tr("the name cannot be used")
        raise InputError(str(path), tr("it cannot be written ({why})", why=why), tr("choose another file")) from e


def shift(path: Path, to: Path, check: Callable[[bytes], None]) -> None:
    """Give a file of the maker's own another name on the same disk; nothing is ever moved over another file.

    What was changed between the look at it and the move is put back where it was.

    Args:
        path: the file.
        to: its new name; its folder is made if need be.
        check: gets what is there; what it raises stops the move.

    Raises:
        FileExistsError: where something has the new name.
        InputError: where there is no such file, or it cannot be moved.
    """
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        with held(path, root_beside(path), _WAIT):
            check(read_file(path, "file"))
            _move_whole(path, to)
            try:
                check(read_file(to, "file"))
            except InputError:
                _move_whole(to, path)
                raise
            sync_folder(to.parent)
            sync_folder(path.parent)
    except BusyError as e:
        raise InputError(str(path), tr("the file is being written by someone else"), tr("try again in a moment")) from e
    except FileExistsError:
        raise
    except OSError as e:
        raise InputError(
            str(path), tr("it cannot be moved ({strerror})", strerror=e.strerror), tr("see who may write in its folder")
        ) from e


def _move_whole(path: Path, to: Path) -> None:
    """Move onto a name that is taken for it first, so that nobody else's file is there."""
    os.close(os.open(to, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    try:
        move(path, to)
    except BaseException:
        os.unlink(to)
        raise


def _changed(raw: bytes, place: str, name: str, change: Callable[[Any], None]) -> bytes:
    """The file with one table changed and everything else as it was, to the byte."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    before = parse_toml(raw, place)
    marked = raw.startswith(_MARK)
    text = raw.removeprefix(_MARK).decode()
    windows = "\r\n" in text and text.count("\r\n") == text.count("\n")
    try:
        document = tomlkit.parse(text.replace("\r\n", "\n") if windows else text)
        if name not in document:
            document[name] = tomlkit.table()
        change(document[name])
        out = tomlkit.dumps(document)
        after = parse_toml(out.encode(), place)
    except (ArithmeticError, AttributeError, LookupError, RecursionError, TOMLKitError, TypeError, ValueError) as e:
        raise InputError(
            place,
            tr("the table '{name}' cannot be written among what is there", name=name),
            tr("add it by hand or use another file"),
        ) from e
    if {k: v for k, v in before.items() if k != name} != {k: v for k, v in after.items() if k != name}:
        raise InputError(
            place,
            tr("writing the table '{name}' would change others", name=name),
            tr("add it by hand or use another file"),
        )
    if windows:
        out = out.replace("\n", "\r\n")
    return (_MARK if marked else b"") + out.encode()


def _replace(staging: Staging, content: bytes, before: bytes | None) -> None:
    """Move ``content`` into place, and ``before`` beside it."""
    real = staging.target
    there = real.exists()
    if there and not os.access(real, os.W_OK):
        raise PermissionError(13, os.strerror(13))  # the maker has protected it
    os.mkdir(staging.new)
    try:
        parts = [(real.name, content)] + ([(f"{real.name}.bak", before)] if before is not None else [])
        for name, part in parts:
            fresh = staging.new / name
            write_file(fresh, part, True)
            if there:
                keep_face(real, fresh)
                os.utime(fresh)
        sync_folder(staging.new)
        for name, _ in reversed(parts):
            move(staging.new / name, real.with_name(name))
        sync_folder(real.parent)
    finally:
        staging.clear()
