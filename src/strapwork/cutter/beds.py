"""Pieces on the bed of a cutter or on a sheet of leather.

Straps run along the bed (along the back of the hide) and are never turned.
Packing is rectpack's; all its rules are tried and the layout with the fewest
beds, then the most compact one, is taken.  Nothing is random: the same job
gives the same layout.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.piece.piece import Piece
from strapwork.stock.machines import Machine
from strapwork.units import say, say_at_most

MICRO = 1000  # packed in whole micrometres, rounded up
MOST_COPIES = 2000


@dataclass(frozen=True, slots=True)
class Spot:
    """One copy of a piece: its index in the job, bed, and lower left corner in bed mm."""

    piece: int
    bed: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class BedPlan:
    """All copies placed.

    Attributes:
        spots: where each copy lies.
        beds: how many beds are used.
        least: beds that the areas alone would need (a bound no layout beats).
        used: share of each bed covered by leather of the pieces.
    """

    spots: tuple[Spot, ...]
    beds: int
    least: int
    used: tuple[float, ...]


def room(machine: Machine) -> tuple[float, float]:
    """Length and width in mm of the largest piece that the bed takes."""
    return machine.bed[0] - 2 * machine.edge - machine.kerf, machine.bed[1] - 2 * machine.edge - machine.kerf


def fits(piece: Piece, machine: Machine) -> bool:
    """Whether a piece fits the bed at all."""
    return not any(_beyond(piece, machine))


def _beyond(piece: Piece, machine: Machine) -> tuple[bool, bool]:
    """Whether a piece is too long for the bed, and whether it is too wide."""
    long, wide = room(machine)
    return piece.strap.length > long + 1e-9, piece.strap.width > wide + 1e-9


def larger(pieces: Sequence[Piece], machine: Machine) -> str:
    """The bed that pieces would need which do not fit this one, by what it lacks."""
    beyond = [_beyond(p, machine) for p in pieces]
    short, narrow = any(long for long, _ in beyond), any(wide for _, wide in beyond)
    return tr("a longer and wider bed") if short and narrow else tr("a wider bed") if narrow else tr("a longer bed")


def arrange(pieces: Sequence[Piece], machine: Machine, place: str = "--machine") -> BedPlan:
    """Put every copy of every piece on as few beds as can be found.

    Raises:
        InputError: when a piece is larger than the bed, saying what would fit.
    """
    from rectpack import PackingBin, PackingMode, guillotine, maxrects, newPacker, skyline

    long, wide = machine.bed[0] - 2 * machine.edge, machine.bed[1] - 2 * machine.edge
    # Every box carries the gap at its right and upper side; so may the bed.
    bed = (math.floor((long + machine.gap) * MICRO), math.floor((wide + machine.gap) * MICRO))
    boxes: list[tuple[int, int, int]] = []
    for k, p in enumerate(pieces):
        need = (p.strap.length + machine.kerf, p.strap.width + machine.kerf)
        if not fits(p, machine):
            raise InputError(
                place,
                tr(
                    "{label!r} is {length} × {width}, the bed takes pieces up to {long} × {wide}",
                    label=p.label,
                    length=say(p.strap.length),
                    width=say(p.strap.width),
                    long=say_at_most(long - machine.kerf),
                    wide=say_at_most(wide - machine.kerf),
                ),
                tr("make it a job of its own on {bed}; a strap is never split", bed=larger([p], machine)),
            )
        # It fits: rounding up to the next micrometre may not make it larger than the bed.
        box = tuple(min(math.ceil((v + machine.gap) * MICRO), side) for v, side in zip(need, bed, strict=True))
        boxes += [(box[0], box[1], k)] * p.count
    if len(boxes) > MOST_COPIES:
        raise InputError(
            place,
            tr("{boxes} pieces to cut are too many for one layout of beds", boxes=len(boxes)),
            tr("keep count, over all pieces, to {most_copies}, or split the job", most_copies=MOST_COPIES),
        )
    best: list[Spot] | None = None
    key: tuple[float, ...] = ()
    order = sorted(boxes, key=lambda b: (-b[0], -b[1], b[2]))
    rules: tuple[Any, ...] = (
        maxrects.MaxRectsBssf,
        maxrects.MaxRectsBl,
        maxrects.MaxRectsBaf,
        skyline.SkylineBlWm,
        guillotine.GuillotineBssfSas,
    )
    if len(boxes) > 150:
        rules = rules[3:]  # the slower rules grow with the square of the pieces
    for rule in rules:
        packer = newPacker(
            mode=PackingMode.Offline, bin_algo=PackingBin.BFF, pack_algo=rule, sort_algo=list, rotation=False
        )
        for n, (w, h, _) in enumerate(order):
            packer.add_rect(w, h, rid=n)
        packer.add_bin(*bed, count=len(order))
        packer.pack()
        spots = [
            Spot(
                order[rid][2],
                b,
                machine.edge + machine.kerf / 2 + x / MICRO,
                machine.edge + machine.kerf / 2 + y / MICRO,
            )
            for b, x, y, _, _, rid in packer.rect_list()
        ]
        if len(spots) < len(order):
            continue
        # Few beds first, then a compact block: the least area of the boxes round each bed's pieces.
        count = max(s.bed for s in spots) + 1
        block = 0.0
        for b in range(count):
            here = [s for s in spots if s.bed == b]
            block += max(s.x + pieces[s.piece].strap.length for s in here) * max(
                s.y + pieces[s.piece].strap.width for s in here
            )
        this = (count, block)
        if best is None or this < key:
            best, key = spots, this
    if best is None:
        raise InputError(place, tr("the pieces could not be laid on the bed"), tr("use a larger bed or a smaller gap"))
    beds = int(key[0])
    area = machine.bed[0] * machine.bed[1]
    used = [sum(pieces[s.piece].strap.outline.area for s in best if s.bed == b) / area for b in range(beds)]
    total = sum(w * h for w, h, _ in boxes)
    best.sort(key=lambda s: (s.bed, s.y, s.x))
    return BedPlan(tuple(best), beds, max(1, math.ceil(total / (bed[0] * bed[1]) - 1e-12)), tuple(used))
