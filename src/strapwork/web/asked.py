"""What the workshop's pages take out of a request, and where the shelf is."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.files.folders import Places
from strapwork.stock import shelf


def text(data: Mapping[str, Any], key: str, most: int = 200) -> str:
    """A text of the request, without spaces around it; empty where it is not there."""
    value = data.get(key, "")
    if not isinstance(value, str):
        raise InputError(key, tr("this is no text"), tr("type it again"))
    if len(value) > most:
        raise InputError(
            key,
            tr("a text of {value} characters is too long here", value=len(value)),
            tr("keep it to {most}", most=most),
        )
    return value.strip()


def shelf_path(places: Places) -> Path:
    """Where the shelf is."""
    return places.shelf or shelf.default_path()
