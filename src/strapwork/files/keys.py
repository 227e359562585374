"""What every door has to know of a key besides its type: how it is called, explained and hinted at."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pydantic import BaseModel
from pydantic.fields import FieldInfo

Group = Literal["goods", "leather", "strap", "braid", "name", "paper", "cutter", "whole"]


@dataclass(frozen=True, slots=True)
class Key:
    """One key of the description, as a person meets it.

    Attributes:
        label: on the page, in two or three words.
        help: one line, for the command line and the starter files.
        metavar: what stands for the value on the command line.
        hint: what a field of the page shows while it is empty.
        group: where on the page it stands.
        choices: what it may be, where it is one of a few, as (value, words).
        hidden: kept by the page, but too large to be shown in a field.
    """

    label: str
    help: str
    metavar: str = "TEXT"
    hint: str = ""
    group: Group = "strap"
    choices: tuple[tuple[str, str], ...] = ()
    hidden: bool = False

    @property
    def values(self) -> tuple[str, ...]:
        """The choices without their words."""
        return tuple(value for value, _ in self.choices)


def key_of(field: FieldInfo) -> Key | None:
    """The key behind a field of a model; None where no door shows it."""
    return next((m for m in field.metadata if isinstance(m, Key)), None)


def keys_of(model: type[BaseModel]) -> dict[str, Key]:
    """All keys of a model, in the order it describes them."""
    return {name: key for name, field in model.model_fields.items() if (key := key_of(field)) is not None}
