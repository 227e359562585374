"""The shapes that strands may take: a repeating unit, and a whole braid with its ends held.

Both say of any strand at any place its y, y', y'', z, z', z'', roll and roll' as linear functions
of the unknowns, with the matrix, and which of two strands lies over the other.  In the plain braid
of an odd number of strands that never changes: every pair crosses twice in a set and is unlinked.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from strapwork.braid.word import Turn

from .ribbon import F1, Y1, Y2, Z1, Z2, Array, F, Ribbon, Y, Z

APART = 2.0  # turns from a crossing of theirs within which two strands overlap
Ints = NDArray[np.int64]


class Shape(Protocol):
    """What the relaxation has to know."""

    strands: int
    ribbon: Ribbon
    axis: float
    size: int
    followed: Sequence[int]
    stations: Array
    points: Array
    weight: float
    over: Ints

    def rows(self, strand: Ints, x: Array) -> tuple[Array, Array]:
        """Matrix (points, 8, size) and constant (points, 8) of the strands at the places."""

    def beside(self, strand: Ints, other: Ints, x: Array) -> NDArray[np.bool_]:
        """Whether the two strands run side by side there, so that neither may ride up on the other."""


class Unit:
    """One pitch of the endless plain braid of an odd number of strands.

    The braid is carried into itself by moving on half a pitch and mirroring across (y to -y), by
    moving on a pitch over n and renaming the strands, and by half a turn about the line across it
    through a strand's outermost point (x to -x, z to -z).  So one strand's quarter pitch says all:
    y a series of odd cosines, z of even sines, the roll of odd sines.

    Args:
        ribbon: the strand.
        strands: n, odd.
        step: length of braid between two crossings of a strand, in mm.
        waves: number of terms of each series, the fineness of the mesh.
    """

    def __init__(self, ribbon: Ribbon, strands: int, step: float, waves: int) -> None:
        self.ribbon, self.strands, self.waves = ribbon, strands, waves
        self.pitch = 2 * (strands - 1) * step
        self.axis = self.pitch
        self.size = 3 * waves
        self.followed = (0,)
        base = 2.0 * math.pi / self.pitch
        self.odd = base * (2 * np.arange(waves) + 1)
        self.even = base * 2 * np.arange(1, waves + 1)
        quarter = self.pitch / 4.0
        self.stations = (np.arange(3 * waves) + 0.5) / (3 * waves) * quarter
        self.points = (np.arange(4 * waves) + 0.5) / (4 * waves) * quarter
        self.weight = 4.0 * quarter / (4 * waves)
        # On its way in a strand goes over all it meets: those more than half a pitch behind.
        ahead = (np.arange(strands)[None, :] - np.arange(strands)[:, None]) % strands
        self.over = np.where(ahead > strands / 2, 1, -1)

    def rows(self, strand: Ints, x: Array) -> tuple[Array, Array]:
        x = (x + strand * self.pitch / self.strands)[:, None]
        n = self.waves
        m = np.zeros((x.shape[0], 8, self.size))
        cos, sin = np.cos(self.odd * x), np.sin(self.odd * x)
        m[:, Y, :n], m[:, Y1, :n], m[:, Y2, :n] = cos, -self.odd * sin, -(self.odd**2) * cos
        m[:, F, 2 * n :], m[:, F1, 2 * n :] = sin, self.odd * cos
        cos, sin = np.cos(self.even * x), np.sin(self.even * x)
        m[:, Z, n : 2 * n], m[:, Z1, n : 2 * n], m[:, Z2, n : 2 * n] = sin, self.even * cos, -(self.even**2) * sin
        return m, np.zeros((x.shape[0], 8))

    def beside(self, strand: Ints, other: Ints, x: Array) -> NDArray[np.bool_]:
        # Two strands cross half a pitch apart; a turn is a 2n-th of a pitch.
        turns = 2 * self.strands * x / self.pitch + strand + other  # since one of their crossings
        near = np.mod(turns, self.strands)
        return np.minimum(near, self.strands - near) > APART

    def start(self, spread: float = 1.0) -> Array:
        """A smoothed zigzag edge to edge, over and under by more than it needs."""
        q = np.zeros(self.size)
        k = 2 * np.arange(self.waves) + 1
        reach = spread * self.strands * self.ribbon.width / 4.0
        q[: self.waves] = 8.0 / math.pi**2 * reach / k**2 * np.exp(-((k / (2.0 * self.strands)) ** 2))
        q[self.waves] = 1.5 * self.ribbon.thickness
        return q


class Held:
    """A whole braid: at both ends all strands run on side by side, flat and along the strap.

    Every strand has cubic splines of its own for y, z and roll; no symmetry is assumed.

    Args:
        ribbon: the strand.
        strands: their number.
        axis: length of the braid between its ends, in mm.
        turns: the turns in order.
        spans: spline spans to a turn, the fineness of the mesh.
    """

    def __init__(self, ribbon: Ribbon, strands: int, axis: float, turns: Sequence[Turn], spans: float) -> None:
        self.ribbon, self.strands, self.axis, self.turns = ribbon, strands, axis, tuple(turns)
        count = round(spans * len(self.turns)) + 3
        knots = np.concatenate([[0.0] * 3, np.linspace(0.0, axis, count - 2), [axis] * 3])
        spline = BSpline(knots, np.eye(count), 3)
        self.basis = (spline, spline.derivative(1), spline.derivative(2))
        self.inner = np.arange(2, count - 2)  # place and slope are held at the ends
        self.rolls = np.arange(1, count - 1)
        self.each = 2 * len(self.inner) + len(self.rolls)
        self.size = strands * self.each
        self.followed = range(strands)
        stations, points = round(2 * spans) * len(self.turns), 4 * count
        self.stations = (np.arange(stations) + 0.5) / stations * axis
        self.points = (np.arange(points) + 0.5) / points * axis
        self.weight = axis / points
        self.flat = (np.arange(strands) - (strands - 1) / 2.0) * ribbon.width
        self._follow()

    def _follow(self) -> None:
        """Read from the turns where every strand lies after each, and who crosses over whom."""
        order = list(range(self.strands))
        self.over = np.zeros((self.strands, self.strands), dtype=np.int64)
        self.crossings: dict[tuple[int, int], list[float]] = {}
        places = [list(range(self.strands))]
        self.heights: list[list[tuple[float, int]]] = [[] for _ in order]
        for number, turn in enumerate(self.turns):
            for k, crossing in enumerate(turn.crossings):
                left = abs(crossing) - 1
                a, b = order[left], order[left + 1]
                up = 1 if crossing > 0 else -1
                if self.over[a, b] not in (0, up):
                    raise ValueError("a pair of strands changes its order of over and under")
                self.over[a, b], self.over[b, a] = up, -up
                when = number + (k + 0.5) / len(turn.crossings)
                self.heights[a].append((when, up))
                self.heights[b].append((when, -up))
                self.crossings.setdefault((a, b), []).append(when)
                order[left], order[left + 1] = b, a
            places.append([order.index(s) for s in range(self.strands)])
        self.places = np.array(places, dtype=float)

    def rows(self, strand: Ints, x: Array) -> tuple[Array, Array]:
        x = np.clip(x, 0.0, self.axis)
        m, constant = np.zeros((len(x), 8, self.size)), np.zeros((len(x), 8))
        values = [b(x) for b in self.basis]
        n = len(self.inner)
        for s in range(self.strands):
            of = np.flatnonzero(strand == s)
            first = s * self.each
            for k, value in enumerate(values):
                m[of, Y + k, first : first + n] = value[np.ix_(of, self.inner)]
                m[of, Z + k, first + n : first + 2 * n] = value[np.ix_(of, self.inner)]
                if k < 2:
                    m[of, F + k, first + 2 * n : first + self.each] = value[np.ix_(of, self.rolls)]
            constant[of, Y] = self.flat[s]
        return m, constant

    def beside(self, strand: Ints, other: Ints, x: Array) -> NDArray[np.bool_]:
        turn = x * len(self.turns) / self.axis
        apart = np.full(len(x), np.inf)
        for (a, b), when in self.crossings.items():
            of = ((strand == a) & (other == b)) | ((strand == b) & (other == a))
            for t in when:
                apart[of] = np.minimum(apart[of], np.abs(turn[of] - t))
        return apart > APART

    def start(self, spread: float = 1.0) -> Array:
        """A smoothed zigzag between the places, over and under by more than it needs."""
        fine = 12 * len(self.turns) + 1
        turn = np.linspace(0.0, len(self.turns), fine)
        x = turn * self.axis / len(self.turns)
        window = np.hanning(15)[1:-1] / np.hanning(15).sum()
        pad = len(window) // 2
        basis = self.basis[0](x)[:, self.inner]
        gap = spread * self.ribbon.width  # as wide as the flat strap: nothing overlaps yet
        q = np.zeros(self.size)
        n = len(self.inner)
        for s in range(self.strands):
            y = (np.interp(turn, np.arange(len(self.places)), self.places[:, s]) - (self.strands - 1) / 2.0) * gap
            steps = [(0.0, 0), *self.heights[s], (float(len(self.turns)), 0)]
            z = np.interp(turn, [a for a, _ in steps], [1.3 * self.ribbon.thickness * b for _, b in steps])
            first = s * self.each
            for k, (line, start) in enumerate(((y, self.flat[s]), (z, 0.0))):
                soft = np.convolve(np.pad(line, pad, mode="edge"), window, "valid") - start
                q[first + k * n : first + (k + 1) * n] = np.linalg.lstsq(basis, soft, rcond=None)[0]
        return q
