"""Writing files: all of them or none, and nothing of the maker's overwritten by accident."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterable, Mapping
from pathlib import Path

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files import runs, update
from strapwork.files.lock import BusyError
from strapwork.files.runs import Written as Written

_CHOOSE = tr("choose a folder that you may write to")
_REMEDIES = {
    errno.ENOSPC: tr("make room on the disk, or choose a folder on another"),
    errno.EDQUOT: tr("make room on the disk, or choose a folder on another"),
    errno.EFBIG: tr("choose a folder on a disk that takes files of this size"),
    errno.ENAMETOOLONG: tr("give a shorter name"),
    errno.EBUSY: tr("close what has a file in it open, and try again"),
    errno.ETXTBSY: tr("close what has a file in it open, and try again"),
}
_OPEN_ELSEWHERE = (32, 33)  # Windows: ERROR_SHARING_VIOLATION, ERROR_LOCK_VIOLATION


def check_free(folder: Path, names: Iterable[str], force: bool) -> None:
    """Refuse early if a file is there already and ``force`` was not given.

    What a killed run left at the folder is cleared first.

    Raises:
        InputError: naming the folder or the file.
    """
    try:
        runs.recover(folder)
        _check(folder, names, force)
    except (OSError, ValueError) as e:
        raise _refusal(folder, e) from e


def write_all(folder: Path, files: Mapping[str, bytes], force: bool) -> list[Path]:
    """Write ``files`` into ``folder`` together; see :func:`write_run`."""
    return list(write_run(folder, files, force).paths)


def write_run(folder: Path, files: Mapping[str, bytes], force: bool) -> Written:
    """Write ``files`` into ``folder`` together, whatever happens meanwhile: all of them or none.

    If they hold a ``numbers.json``, the files of the run before go, as the
    ``numbers.json`` that is there lists them.  All else in the folder stays.

    Raises:
        InputError: when a file would be overwritten, the folder cannot be made or
            written, or someone else is writing there; the folder is then as it was.
    """
    names = list(files)
    try:
        if len(files) == 1 and folder.is_dir():
            path = folder / names[0]
            update.replace_file(path, files[names[0]], lambda: _check(folder, names, force))
            return Written((path,))
        return runs.write_run(folder, files, lambda: _check(folder, names, force))
    except BusyError as e:
        raise InputError(
            "--out",
            tr("{folder} is being written by someone else", folder=shown(folder, 200)),
            tr("try again in a moment"),
        ) from e
    except (OSError, ValueError) as e:
        raise _refusal(folder, e) from e


def _check(folder: Path, names: Iterable[str], force: bool) -> None:
    nearest = next((p for p in (folder, *folder.parents) if p.exists()), folder)
    if nearest.exists() and not nearest.is_dir():
        raise InputError("--out", tr("{nearest} is a file", nearest=shown(nearest, 200)), tr("name a folder"))
    there = [n for n in names if os.path.lexists(folder / n)]
    if there and not force:
        more = tr(" and {there} more", there=len(there) - 1) if len(there) > 1 else ""
        raise InputError(
            "--out",
            tr("{folder}{more} would be overwritten", folder=shown(folder / there[0], 200), more=more),
            tr("give another folder or --force"),
        )
    for name in there:
        if (folder / name).is_dir():
            raise InputError(
                "--out",
                tr("{folder} is a folder", folder=shown(folder / name, 200)),
                tr("move it away or give another folder"),
            )


def _refusal(folder: Path, e: OSError | ValueError) -> InputError:
    """The system's no as a sentence."""
    if isinstance(e, OSError) and getattr(e, "winerror", None) in _OPEN_ELSEWHERE:
        remedy = _REMEDIES[errno.EBUSY]
    else:
        remedy = _REMEDIES.get(e.errno or 0, _CHOOSE) if isinstance(e, OSError) else _CHOOSE
    # ValueError: a name that no system can hold, such as one with a NUL in it.
    why = (e.strerror if isinstance(e, OSError) else None) or tr("the name cannot be used")
    return InputError("--out", tr("{folder} cannot be written ({why})", folder=shown(folder, 200), why=why), remedy)
