"""Where the data folders are: inside the wheel, or at the top of the checkout."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

_HERE = Path(__file__).resolve().parents[1]


def folder(name: str) -> Path:
    """The folder ``patterns`` or ``templates``.

    A wheel carries them inside the package; an editable install finds them two
    levels above it, at the top of the repository.
    """
    packed = _HERE / name
    return packed if packed.is_dir() else _HERE.parents[1] / name


def user_file(environment: str, name: str) -> Path:
    """A file of the user's own: where ``environment`` points, or in the user's data folder."""
    named = os.environ.get(environment)
    if named:
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("strapwork") / name


@dataclass(frozen=True, slots=True)
class Places:
    """Where the maker's own things are; None for the usual places.

    Attributes:
        patterns: a folder with patterns, hardware and machines.
        shelf: the leather shelf.
        printers: the printer file.
        prices: the folder of price files.
    """

    patterns: Path | None = None
    shelf: Path | None = None
    printers: Path | None = None
    prices: Path | None = None
