"""One ribbon: its frame, what bends it, and how near it lies to another.

A ribbon of width s and thickness t is a Kirchhoff rod with a stiff cross section: a centre line
(x, y(x), z(x)), x along the braid, y across it, z through it, and a roll f(x) of the section about
the centre line.  With heading psi (tan psi = y') and climb chi (tan chi = z' / sqrt(1 + y'^2)) the
section's width lies along d and its face looks along m,

    T = (cos chi cos psi, cos chi sin psi, sin chi)
    d = cos f (-sin psi, cos psi, 0) + sin f b,   m = T x d,   b = T x (-sin psi, cos psi, 0)

and differentiating along x gives the three rates that cost energy:

    in the plane of the width     psi' cos chi cos f + chi' sin f
    out of it                    -psi' cos chi sin f + chi' cos f
    twist                         f' + psi' sin chi

each divided by ds/dx = sqrt(1 + y'^2 + z'^2).  Stiffness per unit of E s t^3 / 12 is 1 out of the
plane, (s/t)^2 in it, and 2 / (1 + nu) in twist (a thin strip: G s t^3 / 3).

Two ribbons touch when their middle surfaces, drawn half a thickness in from the edges, are one
thickness apart: side by side that is one width between centre lines, one above the other one
thickness, with a rounded edge between.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
POISSON = 0.4  # a soft solid; what 0.3 and 0.5 do is printed by mechanics.py

# What a shape says of a strand at a place, in this order.
Y, Y1, Y2, Z, Z1, Z2, F, F1 = range(8)
PLACE = (Y, Y1, Z, Z1, F)  # what the place and frame of a section depend on
RATES = (Y1, Y2, Z1, Z2, F, F1)  # what the bending depends on
STEP = 1e-30  # of the complex-step derivative, exact to rounding


@dataclass(frozen=True, slots=True)
class Ribbon:
    """A strand's width and thickness in mm."""

    width: float
    thickness: float

    @property
    def stiffness(self) -> tuple[float, float, float]:
        """Out of plane, in plane, twist; the first is the unit."""
        return 1.0, (self.width / self.thickness) ** 2, 2.0 / (1.0 + POISSON)

    @property
    def half(self) -> float:
        """Half the width of the middle surface that contact is reckoned from, in mm."""
        return (self.width - self.thickness) / 2.0

    def pull(self, stretch: float) -> float:
        """The pull that would stretch the strand by ``stretch``, per unit of stiffness, in 1/mm2.

        A pull of stretch * E s t over the stiffness E s t^3 / 12.
        """
        return 12.0 * stretch / self.thickness**2


def frame(y1: Array, z1: Array, f: Array) -> tuple[Array, Array, Array]:
    """Tangent, width direction and face normal, each (3, points)."""
    h = np.sqrt(1.0 + y1 * y1)
    g = np.sqrt(h * h + z1 * z1)
    zero = 0.0 * y1
    tangent = np.array([1.0 / g, y1 / g, z1 / g])
    level = np.array([-y1 / h, 1.0 / h, zero])
    upright = np.array([-z1 / (g * h), -z1 * y1 / (g * h), h / g])
    cos, sin = np.cos(f), np.sin(f)
    return tangent, cos * level + sin * upright, cos * upright - sin * level


def rates(y1: Array, y2: Array, z1: Array, z2: Array, f: Array, f1: Array) -> tuple[Array, Array, Array, Array]:
    """Out-of-plane, in-plane and twist rate, each over sqrt(ds/dx), and ds/dx."""
    h = np.sqrt(1.0 + y1 * y1)
    g = np.sqrt(h * h + z1 * z1)
    heading = y2 / (h * h)
    climb = (z2 / h - z1 * y1 * y2 / h**3) * (h / g) ** 2
    cos, sin = np.cos(f), np.sin(f)
    level = heading * h / g
    root = np.sqrt(g)
    return (climb * cos - level * sin) / root, (level * cos + climb * sin) / root, (f1 + heading * z1 / g) / root, g


def energy(ribbon: Ribbon, pull: float, at: list[Array]) -> tuple[Array, list[Array]]:
    """Energy per mm of braid at every station, and its derivative by each of ``RATES``."""
    out, plane, twist = ribbon.stiffness
    k1, k2, k3, g = rates(*at)
    density = 0.5 * (out * k1**2 + plane * k2**2 + twist * k3**2) + pull * (g - 1.0)
    slopes = []
    for i in range(len(at)):
        moved: list[Array] = [a.astype(complex) for a in at]
        moved[i] = moved[i] + 1j * STEP
        d1, d2, d3, dg = rates(*moved)
        slopes.append((out * k1 * d1.imag + plane * k2 * d2.imag + twist * k3 * d3.imag + pull * dg.imag) / STEP)
    return density, slopes


def seen_from(
    here: list[Array], x: Array, offset: Array, there: list[Array], w: Array, beside: NDArray[np.bool_]
) -> tuple[Array, Array, Array]:
    """Where a point of one ribbon lies in the section at ``w`` of another.

    Args:
        here: what ``PLACE`` names, of the first ribbon at ``x``.
        offset: distance of the point from its centre line along the width.
        there: the same of the other ribbon at ``w``.
        beside: for which points the other ribbon counts as lying level.

    Returns:
        How far ahead of that section the point is, how far along its width, how far above its middle.
    """
    y, y1, z, z1, f = here
    _, d, _ = frame(y1, z1, f)
    y_, y1_, z_, z1_, f_ = there
    tangent, width, face = frame(y1_, z1_, np.where(beside, 0.0, f_))
    gap = np.array([x + offset * d[0] - w, y + offset * d[1] - y_, z + offset * d[2] - z_])
    return (gap * tangent).sum(0), (gap * width).sum(0), (gap * face).sum(0)


def distance(along: Array, above: Array, half: float, beside: NDArray[np.bool_]) -> tuple[Array, Array, Array]:
    """Distance of a point from a section's middle line, and its derivatives by ``along`` and ``above``.

    Where two ribbons lie ``beside`` each other only their distance in the plane counts, less the
    two half widths.

    ``above`` counts positive on the side where the point belongs.  On the wrong side the distance
    goes on falling, so that a point that has slipped through is pushed back, up or out, whichever
    is nearer.
    """
    beyond = np.abs(along) - half
    out = np.maximum(beyond, 0.0)
    side = np.sign(along)
    right = above >= 0.0
    r = np.sqrt(out**2 + np.where(right, above, 0.0) ** 2) + 1e-300
    up = ~right & (out == 0.0) & (above > beyond)
    value = np.where(right | (out > 0.0), r, np.maximum(above, beyond))
    by_along = np.where(right, out / r * side, np.where(up, 0.0, side))
    by_above = np.where(right, above / r, np.where(up, 1.0, 0.0))
    return (
        np.where(beside, beyond - half, value),
        np.where(beside, side, by_along),
        np.where(beside, 0.0, by_above),
    )
