"""Jobs kept by name: job files in a folder of the maker's own, beside the leather shelf.

A job that is there already is changed key by key, so that the maker's comments
stay; one that cannot be read, or that someone changed since it was opened, is
left alone.  What is taken out is moved aside, never deleted.
"""

from __future__ import annotations

import datetime
import hashlib
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files import toml, update
from strapwork.files.reading import LARGEST_FILE, read_file, read_if_there
from strapwork.order import written

MOST_JOBS = 500
OUT = "taken out"  # folder of the jobs that were taken out
MOST_OUT = 50
_RESERVED = re.compile(
    r"(?:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?", re.IGNORECASE
)  # names that Windows keeps for itself


@dataclass(frozen=True, slots=True)
class Kept:
    """One job of the folder: its name, its title, rows, when it was changed, and what is wrong with the file."""

    name: str
    title: str = ""
    rows: int = 0
    changed: str = ""
    damaged: str = ""
    mark: str = ""


def folder(shelf: Path) -> Path:
    """Where jobs are kept, given where the shelf is."""
    return shelf.parent / "jobs"


def check_name(name: str, place: str) -> str:
    """``name`` if a job may be kept under it: it becomes the name of a file."""
    text = " ".join(name.split())
    if not re.fullmatch(r"[^\W_][\w -]{0,59}", text) or _RESERVED.fullmatch(text):
        raise InputError(
            place,
            tr("{name} is no name for a job's file", name=shown(name)),
            tr("use letters, digits, spaces and hyphens, 60 at most"),
        )
    return text


def listed(where: Path) -> list[Kept]:
    """The jobs of a folder by name; those that cannot be read say so."""
    if not where.is_dir():
        return []
    return [_glance(path) for path in sorted(where.glob("*.toml"))[:MOST_JOBS]]


def _glance(path: Path) -> Kept:
    mark = ""
    try:
        content = read_file(path, tr("job file"))
        mark = _mark(content)
        raw = toml.parse_toml(content, str(path))
        when = datetime.datetime.fromtimestamp(path.stat().st_mtime).isoformat(" ", "minutes")
    except (InputError, OSError) as e:
        return Kept(path.stem, damaged=str(e), mark=mark)
    rows = raw.get("pieces")
    return Kept(path.stem, str(raw.get("title", ""))[:120], len(rows) if isinstance(rows, list) else 0, when, mark=mark)


def read(where: Path, name: str) -> tuple[dict[str, Any], str]:
    """A kept job's document and the mark of its present state.

    Raises:
        InputError: where there is none, or it cannot be read.
    """
    path = _path(where, name)
    raw = read_if_there(path, tr("job file"))
    if raw is None:
        raise InputError(
            tr("the job {name}", name=shown(name)), tr("there is none of that name"), tr("open one that is listed")
        )
    return toml.parse_toml(raw, str(path)), _mark(raw)


def save(where: Path, name: str, document: Mapping[str, Any], mark: str = "") -> str:
    """Keep a job under a name; the version before stands beside it as ``.bak``.

    Args:
        where: the folder, made if need be.
        name: the job's.
        document: a job document.
        mark: that of the state which was opened; empty for a job that is new under this name.

    Returns:
        The mark of what is there now.

    Raises:
        InputError: where another job has the name, the file was changed since, is damaged, or cannot be written.
    """
    path = _path(where, name)
    after = b""

    def change(before: bytes | None) -> bytes:
        nonlocal after
        if before is not None and _mark(before) != mark:
            problem = (
                tr("it was changed since it was opened here") if mark else tr("there is a job of that name already")
            )
            raise InputError(
                tr("the job {name}", name=shown(name)), problem, tr("open it, or keep this one under another name")
            )
        after = written.toml(document).encode() if before is None else _merged(before, str(path), document)
        if len(after) > LARGEST_FILE:
            problem = tr("the job is larger than {largest_file:g} MB", largest_file=LARGEST_FILE / 1e6)
            raise InputError(tr("the job {name}", name=shown(name)), problem, tr("split it"))
        return after

    update.rewrite(path, change)
    return _mark(after)


def rename(where: Path, name: str, to: str, mark: str) -> str:
    """Give a kept job another name.

    Args:
        where: the folder.
        name: the job's.
        to: its new name.
        mark: that of the state which was seen.

    Returns:
        The new name as it is kept.

    Raises:
        InputError: where another job has the name, or the file was changed since or cannot be moved.
    """
    new = check_name(to, tr("the new name"))
    try:
        update.shift(_path(where, name), where / f"{new}.toml", _unchanged(name, mark))
    except FileExistsError as e:
        raise InputError(
            tr("the new name"), tr("there is a job called {new} already", new=shown(new)), tr("take another name")
        ) from e
    return new


def take_out(where: Path, name: str, mark: str) -> str:
    """Take a kept job out: it is moved into a folder beside the others, from where it can be put back.

    Returns:
        What it is called there.

    Raises:
        InputError: where the file was changed since it was seen, or cannot be moved.
    """
    path = _path(where, name)
    for k in range(1, MOST_OUT + 1):
        called = path.stem if k == 1 else f"{path.stem}~{k}"
        try:
            update.shift(path, where / OUT / f"{called}.toml", _unchanged(name, mark))
        except FileExistsError:
            continue
        return called
    raise InputError(
        str(where / OUT),
        tr("{most_out} jobs of that name were taken out before", most_out=MOST_OUT),
        tr("clear that folder"),
    )


def put_back(where: Path, called: str) -> str:
    """Put a job back that was taken out; returns its name.

    Raises:
        InputError: where there is none, or another job has its name by now.
    """
    name, _, number = called.partition("~")
    if number and not re.fullmatch(r"\d{1,3}", number):
        raise InputError(
            tr("the name"),
            tr("no job called {called} was taken out", called=shown(called)),
            tr("choose one of the list"),
        )
    name = check_name(name, tr("the name"))
    path = where / OUT / f"{name}{'~' if number else ''}{number}.toml"
    try:
        update.shift(path, where / f"{name}.toml", lambda _: None)
    except FileExistsError as e:
        raise InputError(
            tr("the name"), tr("there is a job called {name} again", name=shown(name)), tr("rename that one first")
        ) from e
    return name


def taken_out(where: Path) -> list[str]:
    """What the jobs that were taken out are called, the last one first."""

    def when(path: Path) -> float:
        try:
            return path.stat().st_ctime
        except OSError:
            return 0.0

    found = list((where / OUT).glob("*.toml")) if (where / OUT).is_dir() else []
    return [path.stem for path in sorted(found, key=when, reverse=True)[:MOST_OUT]]


def _unchanged(name: str, mark: str) -> Callable[[bytes], None]:
    def check(there: bytes) -> None:
        if _mark(there) != mark:
            raise InputError(
                tr("the job {name}", name=shown(name)),
                tr("it was changed since it was seen here"),
                tr("look at it first"),
            )

    return check


def _path(where: Path, name: str) -> Path:
    return where / f"{check_name(name, 'the name')}.toml"


def _mark(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()


def _merged(before: bytes, place: str, document: Mapping[str, Any]) -> bytes:
    """The file with what differs from ``document`` changed, and its comments where they were."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    toml.parse_toml(before, place)  # a damaged file is not written over
    plain = written.toml(document)
    wanted = tomllib.loads(plain)
    try:
        doc = tomlkit.parse(before.decode("utf-8-sig"))
        fresh = tomlkit.parse(plain)
        _into(doc, fresh, wanted, ("pieces",))
        rows, new = cast(Any, doc["pieces"]), cast(Any, fresh["pieces"])
        for k, row in enumerate(wanted["pieces"]):
            if k < len(rows):
                _into(rows[k], new[k], row, ())
            else:
                rows[-1].add(tomlkit.nl())
                rows.append(new[k])
        while len(rows) > len(wanted["pieces"]):
            del rows[-1]
        out = tomlkit.dumps(doc)
        if tomllib.loads(out) == wanted:
            return out.encode()
    except (ArithmeticError, AttributeError, LookupError, RecursionError, TOMLKitError, TypeError, ValueError):
        pass  # laid out in a way that cannot be changed in place: written afresh, the one before stays as .bak
    return plain.encode()


def _into(table: Any, fresh: Any, wanted: Mapping[str, Any], leave: tuple[str, ...]) -> None:
    """Give ``table`` the keys of ``wanted``, touching only what differs."""
    for key in [k for k in table if k not in wanted and k not in leave]:
        del table[key]
    for key, value in wanted.items():
        if key not in leave and (key not in table or table[key].unwrap() != value):
            table[key] = fresh[key]
