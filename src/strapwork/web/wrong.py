"""All that is wrong with what was asked, told at once: each fault is set aside for a text that can be used, and the rest is read on.

What is found behind a fault may hang on the text that stands in for it.  Every fault therefore has two such texts, and
what is found counts only where both of them find it in the same words.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from strapwork.errors import InputError
from strapwork.order import doors
from strapwork.stock.patterns import Pattern

MOST = 5  # of one piece; nobody mends more at a time, and each costs a piece or two worked out
_FITTING = re.compile(r"\b(start|finish) [a-z-]+$")
T = TypeVar("T")
StandsIn = Callable[[str], tuple[Mapping[str, Any], Mapping[str, Any]]]


@dataclass
class Told(Generic[T]):
    """What was made, if nothing is wrong; else what is, by key and of the whole, and what stood in for the faults."""

    made: T | None = None
    errors: dict[str, InputError] = field(default_factory=dict)
    general: InputError | None = None
    aside: dict[str, Any] = field(default_factory=dict)
    enough: bool = False  # with what stood in, all of it can be made


def blamed(e: InputError, absent: Collection[str] = ()) -> str:
    """The key that an error is about; empty where it is about the whole piece.

    Args:
        absent: keys that the goods have no field for.
    """
    name = e.place.partition(".")[0]
    if name in doors.ONE_PIECE_KEYS:
        return name
    if _FITTING.search(e.place) and "hardware" not in absent:
        # A fitting is chosen by the strap's width or by what its post goes through.
        return "width" if " wide" in e.problem else "hardware"
    return ""


def for_piece(pattern: Pattern | None) -> StandsIn:
    """What stands in for a key of one piece, twice; an empty value leaves the key out."""

    def stand_in(name: str) -> tuple[Mapping[str, Any], Mapping[str, Any]]:
        if name in ("measure", "sizes") and pattern is not None:
            low, span = pattern.measure.least, pattern.measure.most - pattern.measure.least
            one, other = (f"{low + share * span:g} mm" for share in (0.4, 0.7))
            return {"sizes": None, "measure": one}, {"sizes": None, "measure": other}
        usual: tuple[Any, Any] = {
            "strands": ("3", "5"), "leather": (None, "3 mm"), "width": (None, "40 mm"), "sets": (None, "1"),
            "pattern": ("wristband", "belt"),
        }.get(name, (None, None))  # fmt: skip
        return {name: usual[0]}, {name: usual[1]}

    return stand_in


def found(
    values: Mapping[str, Any],
    make: Callable[[Mapping[str, Any]], T],
    blame: Callable[[InputError], str],
    stand_in: StandsIn,
    known: Collection[str] = (),
) -> Told[T]:
    """Everything that is wrong with ``values`` and can be told now.

    Args:
        values: what is asked, by key.
        make: works it out; raises InputError for the first thing that cannot be used.
        blame: the key that an error is about.
        stand_in: what stands in for a key.
        known: keys whose faults are told already, or that are still to be asked.
    """
    told: Told[T] = Told()
    asides: tuple[dict[str, Any], dict[str, Any]] = ({}, {})

    def set_aside(name: str) -> None:
        for aside, text in zip(asides, stand_in(name), strict=True):
            aside |= text

    def fault(aside: Mapping[str, Any]) -> InputError | None:
        try:
            made = make({k: v for k, v in {**values, **aside}.items() if v is not None})
        except InputError as e:
            return e
        if not aside:
            told.made = made
        return None

    for name in known:
        set_aside(name)
    while len(told.errors) < MOST and (e := fault(asides[0])) is not None:
        other = fault(asides[1]) if asides[0] else e
        if other is None or str(other) != str(e):
            break
        name = blame(e)
        if not name or name in asides[0]:
            # What stands in does not mend it; where it is told at its field already, once is enough.
            if str(told.errors.get(name)) != str(e):
                told.general = e
            break
        told.errors[name] = e
        set_aside(name)
    else:
        told.enough = len(told.errors) < MOST
    told.aside = asides[0]
    return told
