"""The files of a run, written together: the folder holds the run before or this one, never some of both.

A folder that is not there yet is made ready aside and moved in whole.  One that
is there is swapped with a twin (:mod:`strapwork.files.swap`).  Where the system
cannot swap folders, or the folder is a disk of its own or far too full to
link, the files of the run before are moved out and then the new ones in; a run
that is cut off in between is undone or finished by the next.
"""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from strapwork.files import earlier, swap
from strapwork.files.lock import BusyError
from strapwork.files.staging import Plan, Staging, held, move, root_beside, root_inside, sync_folder


@dataclass(frozen=True, slots=True)
class Written:
    """What a run did to its folder.

    Attributes:
        paths: the files written, in the order given.
        gone: names of the run before that are no longer there.
        kept: names of the run before that the maker has changed since; they stay.
    """

    paths: tuple[Path, ...]
    gone: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()


def write_run(folder: Path, files: Mapping[str, bytes], check: Callable[[], None]) -> Written:
    """Write ``files`` into ``folder`` together; files of the run before go if this run has its numbers.

    Args:
        folder: made if it is not there.
        files: contents by plain name.
        check: called when no one else can write any more; what it raises stops the run.

    Raises:
        BusyError: when someone else is writing there.
        OSError: when something cannot be written; the folder is then as it was.
    """
    real = Path(os.path.realpath(folder))
    made: list[Path] = []
    try:
        _make_parents(real, made)
        roots = _roots(real)
        # A second try: a folder may turn out to be on another disk than what is beside it.
        for root in roots:
            try:
                with held(real, root) as staging:
                    _recover_others(real, root)
                    _recover(staging)
                    check()
                    gone, kept = _write(staging, files)
                    return Written(tuple(folder / name for name in files), gone, kept)
            except OSError as e:
                if e.errno != errno.EXDEV or root == roots[-1]:
                    raise
        raise AssertionError("there is always a place to make a run ready")
    finally:
        for path in reversed(made):
            with contextlib.suppress(OSError):
                path.rmdir()  # those that hold the new folder stay


def recover(folder: Path) -> None:
    """Finish or undo what a killed run left at ``folder``; nothing to do while another is at work."""
    real = Path(os.path.realpath(folder))
    for root in (root_beside(real), root_inside(real)):
        if os.path.lexists(root):
            with contextlib.suppress(OSError, BusyError), held(real, root, 0) as staging:
                _recover(staging)


def _recover_others(real: Path, mine: Path) -> None:
    for root in (root_beside(real), root_inside(real)):
        if root != mine and os.path.lexists(root):
            with held(real, root) as staging:
                _recover(staging)


def _roots(real: Path) -> list[Path]:
    """Where the run may be made ready: beside the folder if that can be, else inside it."""
    roots = []
    if os.access(real.parent, os.W_OK | os.X_OK) and not os.path.ismount(real):
        roots.append(root_beside(real))
    if real.exists():
        roots.append(root_inside(real))
    return roots or [root_beside(real)]


def _make_parents(real: Path, made: list[Path]) -> None:
    missing = []
    path = real.parent
    while not path.exists():
        missing.append(path)
        path = path.parent
    for path in reversed(missing):
        path.mkdir(exist_ok=True)
        made.append(path)


def _write(staging: Staging, files: Mapping[str, bytes]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Write the run; returns names of the run before that went, and those that the maker has changed."""
    folder, names = staging.target, tuple(files)
    try:
        if not folder.exists():
            staging.write_new(list(files.items()))
            move(staging.new, folder)
            sync_folder(folder.parent)
            return (), ()
        if not os.access(folder, os.W_OK | os.X_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        before, kept = earlier.of_run_before(folder, names) if earlier.NUMBERS in files else ((), ())
        gone = (*(n for n in names if os.path.lexists(folder / n)), *before)
        staging.write_new(list(files.items()))
        if not _swapped(staging, gone, names):
            _move(staging, gone, names)
        with contextlib.suppress(OSError):  # the run stands; the next one clears the rest
            _clear(staging)
        return before, kept
    except BaseException:
        with contextlib.suppress(OSError):
            _back(staging)
        raise


def _swapped(staging: Staging, gone: Sequence[str], new: Sequence[str]) -> bool:
    """Whether the folder could be swapped; if not, the plan stands at "out"."""
    if staging.root.parent == staging.target:
        staging.note(Plan("out", tuple(gone), tuple(new)))
        return False
    staging.note(Plan("twin", tuple(gone), tuple(new)))
    try:
        swap.swap(staging, gone, new)
    except swap.CannotSwapError:
        if staging.twin.exists():
            swap.drop(staging.twin, staging.target, set(new))
        staging.turn("twin", "out")
        return False
    return True


def _move(staging: Staging, gone: Sequence[str], new: Sequence[str]) -> None:
    """Files out, then files in.  The numbers leave first and come last: where they are, the run is whole."""
    folder = staging.target
    os.mkdir(staging.old)
    for name in sorted(gone, key=lambda n: n != earlier.NUMBERS):
        with contextlib.suppress(FileNotFoundError):
            move(folder / name, staging.old / name)
    sync_folder(folder)
    staging.turn("out", "in")
    _move_in(staging, new)
    staging.turn("in", "done")


def _move_in(staging: Staging, new: Sequence[str]) -> None:
    for name in sorted(new, key=lambda n: n == earlier.NUMBERS):
        if os.path.lexists(staging.new / name):
            if os.path.lexists(staging.target / name):
                raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST))
            move(staging.new / name, staging.target / name)
    sync_folder(staging.target)


def _move_back(staging: Staging, new: Sequence[str]) -> None:
    """What was moved in goes out, what was moved out comes back."""
    for name in new:
        if not os.path.lexists(staging.new / name) and os.path.lexists(staging.target / name):
            move(staging.target / name, staging.new / name)
    if staging.old.exists():
        for name in os.listdir(staging.old):
            if not os.path.lexists(staging.target / name):
                move(staging.old / name, staging.target / name)
    sync_folder(staging.target)


def _back(staging: Staging) -> None:
    """Undo what this process has begun.  A swapped folder has undone itself, or is the new run, whole."""
    plan = staging.plan()
    if plan is not None and plan.stage == "in":
        staging.turn("in", "out")
    _recover(staging)


def _recover(staging: Staging) -> None:
    """Bring the folder to the run before or the new one, whichever the plan says, and clear up."""
    plan = staging.plan()
    if plan is not None and plan.stage == "out":
        _move_back(staging, plan.new)
        staging.turn("out", "done")
    elif plan is not None and plan.stage == "in":
        with contextlib.suppress(FileExistsError):  # something of the maker's stands there by now
            _move_in(staging, plan.new)
        staging.turn("in", "done")
    _clear(staging)


def _clear(staging: Staging) -> None:
    plan = staging.plan()
    if plan is not None and staging.twin.exists():
        swap.drop(staging.twin, staging.target, {*plan.gone, *plan.new})
    staging.clear()
