"""Leathers apart: every bed holds pieces of one leather, and what fits no bed is named and left out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from strapwork.catalogue import tr, trn
from strapwork.cutter.beds import BedPlan, Spot, arrange, fits, larger, room
from strapwork.errors import InputError
from strapwork.piece.piece import Piece
from strapwork.stock.leather import Leather
from strapwork.stock.machines import Machine
from strapwork.units import say


@dataclass(frozen=True, slots=True)
class Apart:
    """A layout by leather.

    Attributes:
        plan: all beds of all leathers.
        leathers: what lies on each bed.
        left_out: indices of the pieces that fit no bed.
    """

    plan: BedPlan
    leathers: tuple[Leather, ...]
    left_out: tuple[int, ...]


def arrange_apart(pieces: Sequence[Piece], machine: Machine, place: str) -> Apart:
    """Lay out each leather on beds of its own.

    Raises:
        InputError: when not one piece fits the bed; all of them are named.
    """
    left_out = tuple(k for k, p in enumerate(pieces) if not fits(p, machine))
    if len(left_out) == len(pieces):
        raise InputError(
            place,
            too_long(pieces, left_out, machine),
            tr(
                "use {bed} or sheet of leather; a strap is never split",
                bed=larger([pieces[k] for k in left_out], machine),
            ),
        )
    groups: dict[Leather, list[int]] = {}
    for k, p in enumerate(pieces):
        if k not in left_out:
            groups.setdefault(replace(p.leather, learned=None), []).append(k)
    spots: list[Spot] = []
    used: list[float] = []
    leathers: list[Leather] = []
    least = 0
    for leather, members in groups.items():
        plan = arrange([pieces[k] for k in members], machine, place)
        spots += [replace(s, piece=members[s.piece], bed=s.bed + len(used)) for s in plan.spots]
        used += plan.used
        leathers += [leather] * plan.beds
        least += plan.least
    return Apart(BedPlan(tuple(spots), len(used), least, tuple(used)), tuple(leathers), left_out)


def too_long(pieces: Sequence[Piece], which: Sequence[int], machine: Machine) -> str:
    """Which pieces fit no bed, with their sizes and what the bed takes."""
    named = ", ".join(
        f"{pieces[k].label!r} ({say(pieces[k].strap.length)} × {say(pieces[k].strap.width)})" for k in which
    )
    long, wide = room(machine)
    return trn(
        "{named} fits no bed: the bed takes pieces up to {long} × {wide}",
        "{named} fit no bed: the bed takes pieces up to {long} × {wide}",
        len(which),
        named=named,
        long=say(long),
        wide=say(wide),
    )
