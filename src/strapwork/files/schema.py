"""Parsed data in, checked data out; every refusal names file, key and value.

Shared by patterns, hardware, machines and job files.  pydantic does the
checking; this module turns its findings into one sentence for a maker.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError
from pydantic_core import PydanticCustomError

from strapwork import units
from strapwork.errors import InputError, shown
from strapwork.files.reading import LARGEST_FILE as LARGEST_FILE
from strapwork.files.toml import dotted
from strapwork.files.toml import parse_toml as parse_toml
from strapwork.files.toml import read_toml as read_toml
from strapwork.files.toml import read_toml_if_there as read_toml_if_there


class Strict(BaseModel):
    """Base of all data from files: unknown keys and loose types are refused."""

    # Built on first use: a command pays only for the models that it reads.
    model_config = ConfigDict(extra="forbid", frozen=True, str_max_length=2000, allow_inf_nan=False, defer_build=True)


def _reader(read: Callable[[str], Any]) -> BeforeValidator:
    def validate(value: Any) -> Any:
        try:
            return read(value)
        except InputError as e:
            raise PydanticCustomError("strapwork", "{problem}", {"problem": e.problem, "remedy": e.remedy}) from e

    return BeforeValidator(validate)


Length = Annotated[float, _reader(lambda t: units.parse_length(t, place=""))]
LengthOrZero = Annotated[float, _reader(lambda t: units.parse_length(t, place="", allow_zero=True))]
Offset = Annotated[float, _reader(lambda t: units.parse_length(t, place="", allow_zero=True, allow_minus=True))]
Thick = Annotated[units.Thickness, _reader(lambda t: units.parse_thickness(t, place=""))]
Grip = Annotated[units.Thickness, _reader(lambda t: units.parse_thickness(t, place="", most=30.0))]
Cap = Annotated[float, _reader(lambda t: units.parse_cap(t, place=""))]

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


def check(model: type[M], data: Any, place: str) -> M:
    """``data`` as a ``model``; the first thing wrong becomes an :class:`InputError`.

    Lists count from 1 in messages, as a maker counts.
    """
    try:
        return model.model_validate(data)
    except ValidationError as e:
        found = e.errors(include_url=False)
    # A misspelt key is also a missing one; the misspelling is what helps.
    err = next((x for x in found if x["type"] == "extra_forbidden"), found[0])
    loc, kind, ctx = tuple(err["loc"]), err["type"], err.get("ctx", {})
    key = dotted(loc)
    where = f"{place}, {key}" if key else place
    value = shown(err.get("input"))
    if kind == "strapwork":
        raise InputError(where, ctx["problem"], ctx["remedy"])
    if kind == "extra_forbidden":
        owner = _model_at(model, loc[:-1])
        names = sorted(owner.model_fields) if owner else []
        near = difflib.get_close_matches(str(loc[-1]), names, 1)
        remedy = f"did you mean '{near[0]}'" if near else f"the keys here are {', '.join(names)}"
        raise InputError(where, f"unknown key {shown(loc[-1])}", remedy)
    if kind == "missing":
        raise InputError(where, "this key is missing", "add it")
    if kind == "literal_error":
        raise InputError(where, f"{value} is not a choice here", f"use {ctx['expected']}")
    if kind in ("less_than_equal", "greater_than_equal", "less_than", "greater_than"):
        sign = {
            "less_than_equal": "at most",
            "greater_than_equal": "at least",
            "less_than": "below",
            "greater_than": "above",
        }[kind]
        bound = next(iter(ctx.values()))
        raise InputError(where, f"{value} is out of range", f"use a number {sign} {bound}")
    raise InputError(where, f"{value} cannot be used ({_lower(err['msg'])})", "change this value")


def wrong(problem: str, remedy: str) -> PydanticCustomError:
    """What a model's own validator raises for data that do not go together."""
    return PydanticCustomError("strapwork", "{problem}", {"problem": problem, "remedy": remedy})


def toml_files(*folders: Path) -> dict[str, Path]:
    """TOML files by name; a later folder wins over an earlier one."""
    return {p.stem: p for folder in folders for p in sorted(folder.glob("*.toml"))}


def named(known: dict[str, Path], name: str, place: str, what: str) -> Path:
    """The file called ``name``.

    Raises:
        InputError: naming the nearest one when there is none of that name.
    """
    if name not in known:
        raise InputError(place, f"no {what} is called {shown(name)}", nearest(name, sorted(known)))
    return known[name]


def nearest(name: str, names: list[str]) -> str:
    """A remedy that offers the nearest of ``names``, or all of them."""
    near = difflib.get_close_matches(name, names, 1, cutoff=0.5)
    return f"did you mean '{near[0]}'" if near else f"choose one of {', '.join(names)}"
