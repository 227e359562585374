"""The files of the run before: which they are, and whether they are still as that run wrote them."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files.jsonin import parse_json
from strapwork.files.reading import read_if_there

NUMBERS = "numbers.json"
_LARGEST_NUMBERS = 400_000_000  # ten thousand pieces with their outlines
_LARGEST_OTHER = 50_000_000
# As numbers.dumps lays it out: one row a line, so that the list can be had without the rest.
_BEGIN, _END = b'\n "files": [\n', b"\n ]"


def record(files: Mapping[str, bytes]) -> list[dict[str, Any]]:
    """What ``numbers.json`` says of the files of its run: name, bytes and SHA-256 of each."""
    return [
        {"file": name, "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
        for name, content in files.items()
        if name != NUMBERS
    ]


def of_run_before(folder: Path, but: Collection[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names in ``folder``, other than ``but``, that its ``numbers.json`` lists.

    Returns:
        those that are as the run before wrote them, and those that the maker has
        changed since.  Numbers from before there was a record list names alone:
        then every file of such a name counts as unchanged.

    Raises:
        InputError: when the numbers are there and cannot be read.
    """
    same: list[str] = []
    changed: list[str] = []
    for row in _listed(folder / NUMBERS):
        name = row.get("file") if isinstance(row, dict) else None
        if not isinstance(name, str) or name in but or not _is_plain(name):
            continue
        try:
            found = os.lstat(folder / name)
        except (OSError, ValueError):
            continue
        if not stat.S_ISREG(found.st_mode):
            continue
        (same if "sha256" not in row or _is_same(folder / name, found.st_size, row) else changed).append(name)
    return tuple(dict.fromkeys(same)), tuple(dict.fromkeys(changed))


def _listed(path: Path) -> list[Any]:
    """The rows of the record, or of the sheets where there is no record; none where there are no numbers of ours."""
    raw = read_if_there(path, tr("list of numbers"), _LARGEST_NUMBERS, "--out")
    if raw is None:
        return []
    begin = raw.find(_BEGIN)
    end = raw.find(_END, begin)
    try:
        if begin >= 0 and end >= 0:
            data = parse_json(b"[" + raw[begin + len(_BEGIN) : end] + b"]", str(path), _LARGEST_OTHER)
        else:
            whole = parse_json(raw, str(path), _LARGEST_OTHER)
            data = (whole.get("files") or whole.get("sheets")) if isinstance(whole, dict) else None
    except InputError as e:
        # Going on would leave sheets of two runs side by side.
        problem = tr(
            "{path} is damaged, so that nobody can tell which files here are the earlier run's", path=shown(path, 200)
        )
        raise InputError("--out", problem, tr("move what is there away, or give another folder")) from e
    return data if isinstance(data, list) else []


def _is_plain(name: str) -> bool:
    """A name in the folder itself, as a run gives them; the list may have been written by anyone."""
    return name == os.path.basename(name) and not name.startswith(".") and not any(ch in name for ch in "/\\:\0")


def _is_same(path: Path, size: int, row: Mapping[str, Any]) -> bool:
    if row.get("bytes") != size:
        return False
    try:
        with open(path, "rb") as f:
            return bool(hashlib.file_digest(f, "sha256").hexdigest() == row["sha256"])
    except OSError:
        return False
