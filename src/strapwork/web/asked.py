"""What arrives in a request, read with bounds before anything else looks at it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from flask import request

from strapwork.errors import InputError
from strapwork.files.folders import Places
from strapwork.files.jsonin import parse_json
from strapwork.stock import shelf

PLACE = "the page"


def body() -> dict[str, Any]:
    """The data of a request that changes or asks something."""
    got = parse_json(request.get_data(), PLACE)
    if not isinstance(got, dict):
        raise InputError(PLACE, "the request holds no data", "reload the page")
    return got


def text(data: dict[str, Any], key: str, most: int = 200) -> str:
    """A text of the request, without spaces around it; empty where it is not there."""
    value = data.get(key, "")
    if not isinstance(value, str):
        raise InputError(key, "this is no text", "type it again")
    if len(value) > most:
        raise InputError(key, f"a text of {len(value)} characters is too long here", f"keep it to {most}")
    return value.strip()


def shelf_path(places: Places) -> Path:
    """Where the shelf is."""
    return places.shelf or shelf.default_path()
