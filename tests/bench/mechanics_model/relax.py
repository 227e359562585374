"""The least energy that contact allows, by sequential quadratic programming (scipy's SLSQP).

Points of every followed strand, a few across its width at every station, are kept one thickness
off every other strand's middle surface, on the side where they belong.  The unknowns are scaled by
the Cholesky factor of the energy of a straight braid, so that fineness does not slow the search.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular
from scipy.optimize import minimize

from .ribbon import F1, PLACE, RATES, STEP, Y1, Y2, Z1, Z2, Array, distance, energy, seen_from
from .shapes import Ints, Shape

ALONG = (Y1, Y2, Z1, Z2, F1)  # how what PLACE names changes along the strand
NEAR = 1.5  # thicknesses within which a pair of points is watched
MOST_ROUNDS = 8
MOST_STEPS = 40


@dataclass(frozen=True, slots=True)
class Relaxed:
    """What came out.

    Attributes:
        unknowns: of the shape.
        strand: mean strand length over the shape's axis, in mm.
        excess: strand used per braid length, less one.
        bending: energy of bending and twist over the axis, per unit of stiffness.
        overlap: how deep the deepest contact point lies too deep, in mm.
        settled: whether the last round changed the excess by less than a ten-thousandth of itself.
    """

    unknowns: Array
    strand: float
    excess: float
    bending: float
    overlap: float
    settled: bool


class Relaxation:
    """One shape under one pull (see ``Ribbon.pull``)."""

    def __init__(self, shape: Shape, pull: float, across: int = 5) -> None:
        self.shape, self.pull = shape, pull
        half = shape.ribbon.half
        followed = np.array(list(shape.followed))
        grid = np.meshgrid(
            followed,
            np.arange(shape.strands),
            np.arange(len(shape.stations)),
            np.linspace(-half, half, across),
            indexing="ij",
        )
        strand, other, station, offset = (g.ravel() for g in grid)
        keep = strand != other
        self.strand, self.other = strand[keep].astype(int), other[keep].astype(int)
        self.station, self.offset = station[keep].astype(int), offset[keep]
        self.side = shape.over[self.strand, self.other].astype(float)
        self.beside = shape.beside(self.strand, self.other, shape.stations[self.station]) & (self.offset == 0.0)
        self.meets = shape.stations[self.station].copy()  # where on the other strand each point is opposite
        self.at_stations = {int(s): shape.rows(np.full(len(shape.stations), s), shape.stations) for s in followed}
        self.at_points = [shape.rows(np.full(len(shape.points), s), shape.points) for s in followed]

    def lengths(self, q: Array) -> tuple[Array, Array]:
        """Length of every followed strand in mm, and its derivatives."""
        values, slopes = [], []
        for rows, constant in self.at_points:
            at = rows @ q + constant
            g = np.sqrt(1.0 + at[:, Y1] ** 2 + at[:, Z1] ** 2)
            values.append(g.sum() * self.shape.weight)
            slopes.append(self.shape.weight * ((at[:, Y1] / g) @ rows[:, Y1] + (at[:, Z1] / g) @ rows[:, Z1]))
        return np.array(values), np.array(slopes)

    def energy(self, q: Array) -> tuple[float, Array]:
        """Energy of the followed strands and its derivatives."""
        total, slope = 0.0, np.zeros(self.shape.size)
        for rows, constant in self.at_points:
            at = rows @ q + constant
            density, by = energy(self.shape.ribbon, self.pull, [at[:, k] for k in RATES])
            total += self.shape.weight * density.sum()
            for k, d in zip(RATES, by, strict=True):
                slope += self.shape.weight * (d @ rows[:, k])
        return total, slope

    def clearances(self, q: Array, watched: Ints, with_slopes: bool = True) -> tuple[Array, Array]:
        """How much more than one thickness every watched point is away, in mm, and the derivatives."""
        shape, half = self.shape, self.shape.ribbon.half
        strand, other, station = self.strand[watched], self.other[watched], self.station[watched]
        offset, side, x = self.offset[watched], self.side[watched], shape.stations[station]
        beside = self.beside[watched]
        rows = np.empty((len(watched), 8, shape.size))
        constant = np.empty((len(watched), 8))
        for s, (r, c) in self.at_stations.items():
            of = strand == s
            rows[of], constant[of] = r[station[of]], c[station[of]]
        at = rows @ q + constant
        here = [at[:, k] for k in PLACE]
        w = self.meets[watched]
        for _ in range(12):  # Newton's method for the section that each point is opposite to
            rows_, constant_ = shape.rows(other, w)
            at_ = rows_ @ q + constant_
            moving = [at_[:, a] + 1j * STEP * at_[:, b] for a, b in zip(PLACE, ALONG, strict=True)]
            ahead, _, _ = seen_from(here, x, offset, moving, w + 1j * STEP, beside)
            usual = -np.sqrt(1.0 + at_[:, Y1] ** 2 + at_[:, Z1] ** 2)
            rate = np.minimum(ahead.imag / STEP, 0.2 * usual)
            step = np.clip(-ahead.real / rate, -shape.axis / 20.0, shape.axis / 20.0)
            if np.abs(step).max(initial=0.0) < 1e-9:
                break
            w = w + step
        there = [at_[:, k] for k in PLACE]
        _, along, above = seen_from(here, x, offset, there, w, beside)
        self.meets[watched] = w
        value, by_along, by_above = distance(along, side * above, half, beside)
        if not with_slopes:
            return value - shape.ribbon.thickness, np.empty((0, shape.size))
        slope, ahead_slope = np.zeros((len(w), shape.size)), np.zeros((len(w), shape.size))
        value_by_w, ahead_by_w = np.zeros(len(w)), np.zeros(len(w))
        for k in range(11):
            a: list[Array] = [v.astype(complex) for v in here]
            b: list[Array] = [v.astype(complex) for v in there]
            v = w.astype(complex)
            if k < 5:
                a[k] = a[k] + 1j * STEP
            elif k < 10:
                b[k - 5] = b[k - 5] + 1j * STEP
            else:
                v = v + 1j * STEP
            d_ahead, d_along, d_above = (d.imag / STEP for d in seen_from(a, x, offset, b, v, beside))
            d_value = by_along * d_along + by_above * side * d_above
            if k < 10:
                r = rows[:, PLACE[k]] if k < 5 else rows_[:, PLACE[k - 5]]
                slope += d_value[:, None] * r
                ahead_slope += d_ahead[:, None] * r
            if k >= 5:
                rate = at_[:, ALONG[k - 5]] if k < 10 else 1.0
                value_by_w += d_value * rate
                ahead_by_w += d_ahead * rate
        # Where a point is opposite moves with the shape, so that it stays opposite.
        slope -= (value_by_w / ahead_by_w)[:, None] * ahead_slope
        return value - shape.ribbon.thickness, slope

    def _factor(self, q: Array) -> tuple[Array, float]:
        """Cholesky factor of the energy of a straight braid, and the energy that counts as one."""
        out, plane, twist = self.shape.ribbon.stiffness
        k = np.zeros((self.shape.size, self.shape.size))
        for rows, _ in self.at_points:
            for row, stiffness in ((Z2, out), (Y2, plane), (F1, twist), (Y1, self.pull), (Z1, self.pull)):
                k += self.shape.weight * stiffness * rows[:, row].T @ rows[:, row]
        one, _ = self.energy(q)
        return np.linalg.cholesky(k / one), one

    def run(self, q: Array) -> Relaxed:
        """Relax from the shape ``q``."""
        factor, one = self._factor(q)
        everything = np.arange(len(self.strand))

        def back(x: Array) -> Array:
            result: Array = solve_triangular(factor.T, x, lower=False)
            return result

        def across(slopes: Array) -> Array:
            result: Array = solve_triangular(factor, slopes.T, lower=True).T
            return result

        def cost(x: Array) -> tuple[float, Array]:
            e, slope = self.energy(back(x))
            return e / one, across(slope[None, :])[0] / one

        x = factor.T @ q
        before, settled = np.inf, False
        for number in range(MOST_ROUNDS):
            gaps, _ = self.clearances(back(x), everything, with_slopes=False)
            near = (2.5 if number == 0 else 1.0) * NEAR * self.shape.ribbon.thickness
            watched = np.flatnonzero(gaps < near)
            kept: dict[bytes, tuple[Array, Array]] = {}

            def contact(
                x: Array, watched: Ints = watched, kept: dict[bytes, tuple[Array, Array]] = kept
            ) -> tuple[Array, Array]:
                key = x.tobytes()
                if key not in kept:
                    kept.clear()
                    value, slope = self.clearances(back(x), watched)
                    kept[key] = value, across(slope)
                return kept[key]

            limits = [
                {"type": "ineq", "fun": lambda x, c=contact: c(x)[0], "jac": lambda x, c=contact: c(x)[1]},
            ]
            if len(self.at_points) > 1:  # the slits of a strap are of one length

                def even(x: Array) -> Array:
                    value, _ = self.lengths(back(x))
                    return np.diff(value)

                def even_slope(x: Array) -> Array:
                    _, slope = self.lengths(back(x))
                    return across(np.diff(slope, axis=0))

                limits.append({"type": "eq", "fun": even, "jac": even_slope})
            reach = 0.5 * np.abs(x).max()
            found = minimize(
                cost,
                x,
                jac=True,
                method="SLSQP",
                bounds=np.column_stack([x - reach, x + reach]),
                constraints=limits,
                options={"maxiter": MOST_STEPS, "ftol": 1e-9},
            )
            x = found.x
            gaps, _ = self.clearances(back(x), everything, with_slopes=False)
            excess = float(self.lengths(back(x))[0].mean()) / self.shape.axis - 1.0
            settled = abs(excess - before) < 1e-4 * abs(excess) and gaps.min() > -1e-3 * self.shape.ribbon.thickness
            if settled:
                break
            before = excess
        q = back(x)
        strand = float(self.lengths(q)[0].mean())
        bending = self.energy(q)[0] - self.pull * (self.lengths(q)[0].sum() - len(self.at_points) * self.shape.axis)
        return Relaxed(q, strand, excess, bending, max(0.0, -float(gaps.min())), settled)
