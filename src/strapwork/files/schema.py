"""Parsed data in, checked data out; every refusal names file, key and value.

Shared by patterns, hardware, machines and job files.  pydantic does the
checking; this module turns its findings into one sentence for a maker.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, ValidationError

from strapwork.catalogue import tr
from strapwork.errors import InputError, Place, shown
from strapwork.files.reading import LARGEST_FILE as LARGEST_FILE
from strapwork.files.toml import dotted
from strapwork.files.toml import parse_toml as parse_toml
from strapwork.files.toml import read_toml as read_toml
from strapwork.files.toml import read_toml_if_there as read_toml_if_there


class Strict(BaseModel):
    """Base of all data from files: unknown keys and loose types are refused."""

    # Built on first use: a command pays only for the models that it reads.
    model_config = ConfigDict(extra="forbid", frozen=True, str_max_length=2000, allow_inf_nan=False, defer_build=True)


M = TypeVar("M", bound=BaseModel)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _model_at(model: type[BaseModel], path: tuple[str | int, ...]) -> type[BaseModel] | None:
    """The model that a location of a pydantic error points into."""
    current: Any = model
    for part in path:
        if isinstance(part, int):
            continue
        if not (isinstance(current, type) and issubclass(current, BaseModel)):
            return None
        field = current.model_fields.get(part)
        if field is None:
            return None
        current = _inner(field.annotation)
    return current if isinstance(current, type) and issubclass(current, BaseModel) else None


def _inner(annotation: Any) -> Any:
    """The model class inside ``X | None``, ``list[X]`` or ``dict[str, X]``."""
    origin = get_origin(annotation)
    if origin is None:
        return annotation
    args = [a for a in get_args(annotation) if a is not type(None)]
    if origin is dict:
        return _inner(args[1])
    if origin is Union or origin in (list, tuple) or str(origin) == "<class 'types.UnionType'>":
        return _inner(args[0])
    return annotation


def check(model: type[M], data: Any, place: str | Place, unit: str | None = None) -> M:
    """``data`` as a ``model``; the first thing wrong becomes an :class:`InputError`.

    Lists count from 1 in messages, as a maker counts.

    Args:
        model: what the data have to be.
        data: as read from a file, or texts by key.
        place: where they stand.
        unit: the unit of a bare number, where one was declared.
    """
    try:
        return model.model_validate(data, context={"unit": unit})
    except ValidationError as e:
        raise problems(model, e, place)[0][1] from None


def all_problems(
    model: type[BaseModel], data: Any, place: str | Place, unit: str | None = None
) -> list[tuple[str, InputError]]:
    """Everything that is wrong with ``data``, as :func:`problems` gives it; empty when all of it can be used."""
    try:
        model.model_validate(data, context={"unit": unit})
    except ValidationError as e:
        return problems(model, e, place)
    return []


def problems(model: type[BaseModel], e: ValidationError, place: str | Place) -> list[tuple[str, InputError]]:
    """Everything that is wrong, as (key of the model, error), the most helpful first."""
    where = Place.file(place) if isinstance(place, str) else place
    # A misspelt key is also a missing one; the misspelling is what helps.
    found = sorted(e.errors(include_url=False), key=lambda x: x["type"] != "extra_forbidden")
    return [(str(x["loc"][0]) if x["loc"] else "", _problem(model, x, where)) for x in found]


def _problem(model: type[BaseModel], err: Any, place: Place) -> InputError:
    loc, kind, ctx = tuple(err["loc"]), err["type"], err.get("ctx", {})
    # pydantic names the kind of value that it tried, too, where several may stand; no key of ours is called so.
    key = dotted(tuple(part for part in loc if not str(part).startswith("constrained-")))
    where = place.key(key) if key else str(place)
    value = shown(err.get("input"))
    if kind == "strapwork":
        return InputError(where, ctx["problem"], ctx["remedy"])
    if kind == "extra_forbidden":
        owner = _model_at(model, loc[:-1])
        names = sorted(owner.model_fields) if owner else []
        import difflib

        near = difflib.get_close_matches(str(loc[-1]), names, 1)
        remedy = (
            tr("did you mean '{near}'", near=near[0])
            if near
            else tr("the keys here are {names}", names=", ".join(names))
        )
        return InputError(where, tr("unknown key {loc}", loc=shown(loc[-1])), remedy)
    if kind == "missing":
        return InputError(where, tr("this key is missing"), tr("add it"))
    if kind == "literal_error":
        return InputError(
            where, tr("{value} is not a choice here", value=value), tr("use {choices}", choices=ctx["expected"])
        )
    if kind in _BOUNDS:
        bound = next(iter(ctx.values()))
        return InputError(
            where,
            tr("{value} is out of range", value=value),
            tr("use a number {bounds} {bound}", bounds=_BOUNDS[kind], bound=bound),
        )
    if kind == "too_long":
        return InputError(
            where,
            tr("{many} are too many here", many=ctx["actual_length"]),
            tr("keep it to {most} at the most", most=ctx["max_length"]),
        )
    if kind == "too_short":
        return InputError(where, tr("nothing is listed here"), tr("give at least {least}", least=ctx["min_length"]))
    if kind == "string_too_long":
        return InputError(
            where,
            tr("a text of more than {most} characters is too long here", most=ctx["max_length"]),
            tr("shorten it"),
        )
    if kind == "string_too_short":
        return InputError(
            where,
            tr("{value} is too short", value=value),
            tr("give at least {least} characters", least=ctx["min_length"]),
        )
    return InputError(
        where, tr("{value} cannot be used ({lower})", value=value, lower=_lower(err["msg"])), tr("change this value")
    )


_BOUNDS = {
    "less_than_equal": tr("at most"),
    "greater_than_equal": tr("at least"),
    "less_than": "below",
    "greater_than": "above",
}


def toml_files(*folders: Path) -> dict[str, Path]:
    """TOML files by name; a later folder wins over an earlier one."""
    return {p.stem: p for folder in folders for p in sorted(folder.glob("*.toml"))}


def named(known: dict[str, Path], name: str, place: str, what: str) -> Path:
    """The file called ``name``.

    Raises:
        InputError: naming the nearest one when there is none of that name.
    """
    if name not in known:
        raise InputError(
            place, tr("no {what} is called {name}", what=what, name=shown(name)), nearest(name, sorted(known))
        )
    return known[name]


def nearest(name: str, names: list[str]) -> str:
    """A remedy that offers the nearest of ``names``, or all of them."""
    import difflib  # rarely needed

    near = difflib.get_close_matches(name, names, 1, cutoff=0.5)
    return tr("did you mean '{near}'", near=near[0]) if near else tr("choose one of {names}", names=", ".join(names))
