"""What a run would change in a folder that holds an earlier one: pieces that come, go or come out otherwise."""

from __future__ import annotations

import itertools
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.files.earlier import NUMBERS
from strapwork.files.jsonin import parse_json
from strapwork.files.reading import read_if_there
from strapwork.job.numbers import dumps
from strapwork.units import format_length

LARGEST = 200_000_000
MOST_SAID = 20
NOTHING = tr("without a name")  # a leather that is only a thickness


def of_folder(folder: Path, now: Mapping[str, Any], units: str) -> list[str]:
    """Sentences on what is different between the run in a folder and a new one; none where no run is there.

    Args:
        folder: where the run before was written.
        now: the new run's numbers.
        units: how lengths are shown.
    """
    try:
        raw = read_if_there(folder / NUMBERS, tr("numbers of the run before"), LARGEST)
        before = parse_json(raw, str(folder / NUMBERS), LARGEST) if raw is not None else None
    except InputError:
        return []
    if not isinstance(before, dict):
        return []
    old, new = _pieces(before), _pieces(now)
    out = [tr("New: {name}.", name=name) for name in new if name not in old]
    out += [tr("Gone: {name}.", name=name) for name in old if name not in new]
    for name in new:
        if name in old:
            out += _compared(name, old[name], new[name], units)
    for how, files in (("go", _files(before) - _files(now)), ("come", _files(now) - _files(before))):
        if files:
            out.append(tr("Files that {how}: {named}.", how=how, named=_few(sorted(files))))
    return out or [_besides(before, now)]


def _besides(before: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    """What is different where no piece is: paper, prices, waste and the like."""
    if before == json.loads(dumps(dict(now))):
        return tr("Nothing changes.")
    old, new = _sums(before), _sums(now)
    other = [name for name in new if old.get(name) != new[name]]
    if not other:
        return tr("No piece changes, but other numbers do.")
    return tr("No piece changes, but what is in these files does: {named}.", named=_few(other))


def _few(names: Sequence[str]) -> str:
    return ", ".join(names[:MOST_SAID]) + (" .." if len(names) > MOST_SAID else "")


def _rows(numbers: Mapping[str, Any], key: str) -> list[Mapping[str, Any]]:
    """What is listed under a key; nothing where an earlier run says something else there."""
    found = numbers.get(key)
    return [row for row in found if isinstance(row, dict)] if isinstance(found, list) else []


def _pieces(numbers: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    """By label; of pieces that share one, the second and on with their number."""
    out: dict[str, Mapping[str, Any]] = {}
    for p in _rows(numbers, "pieces"):
        label = str(p.get("label"))
        names = itertools.chain([label], (f"{label} ({k})" for k in itertools.count(2)))
        out[next(name for name in names if name not in out)] = p
    return out


def _sums(numbers: Mapping[str, Any]) -> dict[str, str]:
    """The checksum of every file."""
    return {str(f.get("file")): str(f.get("sha256")) for f in _rows(numbers, "files")}


def _files(numbers: Mapping[str, Any]) -> set[str]:
    return {str(s.get("file")) for s in _rows(numbers, "sheets")}


def _compared(name: str, a: Mapping[str, Any], b: Mapping[str, Any], units: str) -> list[str]:
    """The differences of one piece that a maker would want to know before anything is cut."""
    said = []
    for what, path in (
        (tr("cut length"), ("fit", "cut_length_mm")),
        (tr("finished"), ("fit", "finished_mm")),
        (tr("width"), ("strap", "width_mm")),
    ):
        x, y = (
            format_length(float(v), units) if isinstance(v, (int, float)) else "" for v in (_at(a, path), _at(b, path))
        )
        if x and y and x != y:
            said.append(tr("{what} {x} to {y}", what=what, x=x, y=y))
    plain: tuple[tuple[str, tuple[str, ...]], ...] = (
        (tr("count"), ("count",)),
        (tr("hand"), ("hand",)),
        (tr("leather"), ("leather", "name")),
        (tr("sets"), ("braid", "sets")),
    )
    for what, keys in plain:
        x, y = _at(a, keys), _at(b, keys)
        if x != y:
            nothing = NOTHING if keys[0] == "leather" else tr("none")
            said.append(tr("{what} {x} to {y}", what=what, x=x or nothing, y=y or nothing))
    if not said and any(_at(a, (key,)) != _at(b, (key,)) for key in ("outline", "slits", "holes", "hardware", "braid")):
        said.append(tr("holes, slits or braid"))
    return [f"{name}: {', '.join(said)}."] if said else []


def _at(data: Any, path: tuple[str, ...]) -> Any:
    for key in path:
        data = data.get(key) if isinstance(data, dict) else None
    return data
