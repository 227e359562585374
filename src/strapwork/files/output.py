"""Writing files: all of them or none, and nothing of the user's overwritten by accident."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from strapwork.errors import InputError


def check_free(folder: Path, names: list[str], force: bool) -> None:
    """Refuse early if a file is there already and ``force`` was not given."""
    if folder.exists() and not folder.is_dir():
        raise InputError("--out", f"'{folder}' is a file", "name a folder")
    if force:
        return
    there = [n for n in names if (folder / n).exists()]
    if there:
        more = f" and {len(there) - 1} more" if len(there) > 1 else ""
        raise InputError("--out", f"'{folder / there[0]}'{more} would be overwritten", "give another folder or --force")


def write_all(folder: Path, files: Mapping[str, bytes], force: bool) -> list[Path]:
    """Write ``files`` into ``folder``: each to a new file first, then moved into place.

    Raises:
        InputError: when the folder cannot be made or written; nothing is left behind then.
    """
    check_free(folder, list(files), force)
    made: list[Path] = []
    new_folders: list[Path] = []
    try:
        missing = [p for p in (folder, *folder.parents) if not p.exists()]
        folder.mkdir(parents=True, exist_ok=True)
        new_folders = missing
        for name, content in files.items():
            made.append(_new_file(folder, name, content))
        for temporary_path, name in zip(list(made), files, strict=True):
            os.replace(temporary_path, folder / name)
            made.remove(temporary_path)
    except OSError as e:
        for path in made:
            path.unlink(missing_ok=True)
        for made_folder in new_folders:
            with contextlib.suppress(OSError):
                made_folder.rmdir()
        raise InputError(
            "--out", f"'{folder}' cannot be written ({e.strerror})", "choose a folder that you may write to"
        ) from e
    return [folder / name for name in files]


def replace_file(path: Path, content: bytes) -> None:
    """Write one file beside its place and move it in; what was there stays until then.

    Raises:
        OSError: when it cannot be written; nothing is left behind then.
    """
    temporary = _new_file(path.parent, path.name, content)
    try:
        os.replace(temporary, path)
    except OSError:
        temporary.unlink(missing_ok=True)
        raise


def _new_file(folder: Path, name: str, content: bytes) -> Path:
    """``content`` in a new file beside where ``name`` will stand; removed again if it cannot be written whole."""
    handle, temporary = tempfile.mkstemp(prefix=f".{name}.", suffix=".new", dir=folder)
    try:
        with os.fdopen(handle, "wb") as f:
            f.write(content)
        os.chmod(temporary, 0o666 & ~_umask())
    except OSError:
        Path(temporary).unlink(missing_ok=True)
        raise
    return Path(temporary)


def update_toml(
    path: Path, name: str, change: Callable[[Any], None], heading: str, check: Callable[[], object]
) -> None:
    """Change one table of a TOML file safely, making file and table if need be.

    The file is locked, read afresh, changed and moved into place, so that two
    processes at once lose nothing; the user's comments and order stay.

    Args:
        path: the file.
        name: the table.
        change: gets the table to change it.
        heading: first line of a new file.
        check: reads the file that is there; what it raises stops the change.
    """
    import tomlkit
    from filelock import FileLock, Timeout

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with FileLock(f"{path}.lock", timeout=20):
            text = heading
            if path.exists():
                check()  # refuses before anything is touched
                text = path.read_text(encoding="utf-8")
            document = tomlkit.parse(text)
            if name not in document:
                document[name] = tomlkit.table()
            change(document[name])
            replace_file(path, tomlkit.dumps(document).encode())
    except Timeout as e:
        raise InputError(str(path), "the file is being written by someone else", "try again in a moment") from e
    except OSError as e:
        raise InputError(str(path), f"it cannot be written ({e.strerror})", "choose another file") from e


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
