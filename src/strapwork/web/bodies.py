"""What a request brings, read at a cost that is known before: documents as JSON, and the queries of addresses."""

from __future__ import annotations

from typing import Any

from flask import Request, abort

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.files import jsonin

PLACE = tr("the page")
LONGEST_PATH = 2_000
LONGEST_QUERY = 240_000
MOST_FIELDS = 300


def refuse_overlong(r: Request) -> None:
    """Refuse an address that no page of ours has, before it is taken apart."""
    if len(r.path) > LONGEST_PATH or len(r.query_string) > LONGEST_QUERY:
        abort(414, tr("The address is too long."))
    if r.query_string.count(b"&") >= MOST_FIELDS:
        abort(400, tr("The address has more than {most_fields} fields.", most_fields=MOST_FIELDS))
    if "\0" in r.path:
        abort(400, tr("The address holds a NUL."))


def document(r: Request) -> dict[str, Any]:
    """The JSON object that a request brings; what it gives as null counts as not given.

    Raises:
        InputError: for what is no JSON object, or beyond the limits of :mod:`strapwork.files.jsonin`.
    """
    if r.mimetype != "application/json":
        abort(415, tr("Data come to the page as application/json."))
    data = jsonin.parse_json(r.get_data(), PLACE)
    if not isinstance(data, dict):
        raise InputError(PLACE, tr("the request holds no data"), tr("reload the page"))
    return {k: _without_nulls(v) for k, v in data.items() if v is not None}


def _without_nulls(value: Any) -> Any:
    """TOML has no null, so nothing of ours means anything by one."""
    if isinstance(value, dict):
        return {k: _without_nulls(v) for k, v in value.items() if v is not None}
    if isinstance(value, list):
        return [_without_nulls(v) for v in value if v is not None]
    return value
