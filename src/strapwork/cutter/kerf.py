"""Kerf: the path of a tool that takes away a strip of its own width.

Outlines grow by half the kerf, holes and slots shrink by half, slits stay.
Lines move along their normals, arcs change their radius, and an outer corner
gets an arc about the corner: the exact parallel curve, arcs still arcs.
"""

from __future__ import annotations

import math

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.geometry.shape import Arc, Circle, Line, Outline, Segment, stadium
from strapwork.piece.strap import Hole
from strapwork.stock.machines import Machine
from strapwork.units import say


def grown(outline: Outline, by: float) -> Outline:
    """The parallel curve ``by`` mm outside a convex, counter-clockwise outline.

    Every strap outline is convex: round, pointed, square and clipped ends turn
    one way only.
    """
    if by == 0.0:
        return outline
    moved: list[Segment] = []
    for s in outline:
        if isinstance(s, Line):
            nx, ny = (s.y1 - s.y0) / s.length, (s.x0 - s.x1) / s.length
            moved.append(s.moved(nx * by, ny * by))
        else:
            moved.append(Arc(s.cx, s.cy, s.r + by, s.start_deg, s.sweep_deg))
    out: list[Segment] = []
    for k, s in enumerate(moved):
        out.append(s)
        after = moved[(k + 1) % len(moved)]
        if math.dist(s.end, after.start) > 1e-9:
            x, y = outline.segments[k].end
            a = math.degrees(math.atan2(s.end[1] - y, s.end[0] - x))
            b = math.degrees(math.atan2(after.start[1] - y, after.start[0] - x))
            out.append(Arc(x, y, by, a, (b - a) % 360.0))
    return Outline(tuple(out))


def hole_path(hole: Hole, kerf: float, place: str) -> Circle | Outline:
    """The path that leaves a hole of the right size.

    Raises:
        InputError: for a hole no wider than the kerf.
    """
    if hole.diameter <= kerf + 1e-9:
        raise InputError(
            place,
            tr(
                "a {diameter} {purpose} hole is no wider than the kerf of {kerf}",
                diameter=say(hole.diameter),
                purpose=tr(hole.purpose),
                kerf=say(kerf),
            ),
            tr("punch it by hand (leave holes out of the profile) or use a finer tool"),
        )
    d, length = hole.diameter - kerf, hole.length - kerf
    if hole.is_slot:
        return stadium(length, d, hole.x - length / 2.0, hole.y - d / 2.0)
    return Circle(hole.x, hole.y, d / 2.0)


def slit_path(line: Line, machine: Machine) -> Line | Outline:
    """A slit as the machine cuts it: the line itself, or a narrow slot round it."""
    if machine.slits == "line" or machine.slot_width is None:
        return line
    d = machine.slot_width - machine.kerf
    return stadium(line.length - machine.kerf, d, line.x0 + machine.kerf / 2.0, line.y0 - d / 2.0)


def check(machine: Machine, strand: float, place: str) -> None:
    """Refuse a kerf that would eat a strand.

    Raises:
        InputError: naming the kerf and the strand.
    """
    eats = max(machine.kerf, machine.slot_width or 0.0 if machine.slits == "slot" else 0.0)
    if eats >= strand:
        raise InputError(
            place,
            tr(
                "the machine takes away {eats} but the strands are only {strand} wide",
                eats=say(eats),
                strand=say(strand),
            ),
            tr("cut fewer or wider strands, or use a finer tool"),
        )
