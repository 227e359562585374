"""Sizes from bodies: which few sizes fit the most people best, and how many of each to cut.

The sizes are those with the least mean squared distance from a person's girth
to the nearest size.  The square counts one person far from a fit for more than
several who are nearly there.  The claim is exact: no other sizes, as many, have
a smaller mean square over the counts used; where a ``step`` is given, no other
sizes in whole steps have.  :func:`most_in_reach` instead leaves the fewest
people farther than a given reach from a size, and is as exact.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np

from strapwork.bodies.girths import Distribution
from strapwork.bodies.quantise import Numbers, Quantiser, windows
from strapwork.catalogue import tr, trn
from strapwork.errors import InputError
from strapwork.units import format_mm

MOST_SIZES = 50
NEARLY_ALL = 0.95
_LETTERS = ("XXXS", "XXS", "XS", "S", "M", "L", "XL", "XXL", "XXXL")
# Where M stands for each number of sizes that letters are used for; two sizes have no middle.
_FIRST = {1: 4, 3: 3, 4: 3, 5: 2, 6: 2, 7: 1, 8: 1, 9: 0}


@dataclass(frozen=True, slots=True)
class Size:
    """One size: its girth in mm, the share of people nearest to it, and the girths that they have."""

    name: str
    mm: float
    share: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Sizes:
    """A run of sizes and how well it fits.

    Attributes:
        sizes: smallest first.
        misfit: root of the mean squared distance from a girth to the nearest size, in mm.
        nearly_all: distance in mm within which 95 in a hundred people have a size.
        spread: whom the sizes are for.
        step: whole steps in mm that the sizes were kept to; None for none.
    """

    sizes: tuple[Size, ...]
    misfit: float
    nearly_all: float
    spread: Distribution
    step: float | None = None

    def within(self, reach: float) -> float:
        """Share of people who have a size within ``reach`` mm."""
        apart = _distances(self.spread, [s.mm for s in self.sizes])
        return _total(self.spread.shares, apart <= reach + 1e-9)

    def at_most(self, reach: float) -> float:
        """The most that as many sizes could have within ``reach`` mm, wherever they stood."""
        return min(1.0, windows(self.spread.girths, self.spread.shares, len(self.sizes), reach)[0])

    def split(self, count: int) -> list[int]:
        """How many of each size to cut of ``count`` pieces."""
        return split(count, [s.share for s in self.sizes])


def size_names(of: int) -> list[str]:
    """S, M, L and so on, smallest first; numbers from ten sizes on."""
    if of == 2:
        return ["S", "L"]
    if of in _FIRST:
        return list(_LETTERS[_FIRST[of] : _FIRST[of] + of])
    return [str(k) for k in range(1, of + 1)]


def best_sizes(spread: Distribution, of: int, step: float | None = None, place: str = "--of") -> Sizes:
    """The ``of`` sizes that fit the people of ``spread`` best.

    Raises:
        InputError: for more sizes than there are different girths, or whole steps among them.
    """
    return runs_of_sizes(spread, (of,), step, place)[0]


def runs_of_sizes(
    spread: Distribution, counts: Sequence[int], step: float | None = None, place: str = "--of"
) -> list[Sizes]:
    """:func:`best_sizes` for several numbers of sizes, for little more than the price of the largest."""
    if step is not None and not 0.1 <= step <= 200.0:
        raise InputError(
            "--step",
            tr("steps of {step} are of no use", step=format_mm(step, 3)),
            tr("give from 0.1 mm to 200 mm"),
        )
    q = Quantiser(spread.girths, spread.shares, step)
    out = []
    for of in counts:
        _check(spread, of, place)
        centres = q.best(of)
        if len(set(centres)) < of:
            problem = tr(
                "{of} sizes do not fit into these girths in whole steps of {step}",
                of=of,
                step=format_mm(step or 0.0),
            )
            raise InputError(place, problem, tr("ask for fewer sizes or a smaller step"))
        out.append(_sizes(spread, centres, q.runs(of), step))
    return out


def _check(spread: Distribution, of: int, place: str) -> None:
    if not 1 <= of <= MOST_SIZES:
        raise InputError(
            place, tr("{of} is no number of sizes", of=of), tr("give from 1 to {most_sizes}", most_sizes=MOST_SIZES)
        )
    if of > len(spread.girths):
        many = trn(
            "{girths} different measure", "{girths} different measures", len(spread.girths), girths=len(spread.girths)
        )
        raise InputError(place, tr("{of} sizes cannot be made of {many}", of=of, many=many), tr("ask for fewer sizes"))


def most_in_reach(spread: Distribution, of: int, reach: float, place: str = "--of") -> Sizes:
    """The ``of`` sizes that leave the fewest people farther than ``reach`` mm from a size.

    Each stands at the mean of those it reaches, or as near as lets it reach them all.

    Raises:
        InputError: where fewer sizes reach as many people.
    """
    _check(spread, of, place)
    if not reach > 0.0:
        raise InputError(
            "--reach", tr("a reach of {reach} is none", reach=format_mm(reach)), tr("give a length above zero")
        )
    _, runs = windows(spread.girths, spread.shares, of, reach)
    centres = []
    for a, z in runs:
        share = math.fsum(spread.shares[a:z])
        mean = math.fsum(g * s for g, s in zip(spread.girths[a:z], spread.shares[a:z], strict=True)) / share
        centres.append(min(max(mean, spread.girths[z - 1] - reach), spread.girths[a] + reach))
    edges = [0, *(_after(spread, (b + c) / 2.0) for b, c in pairwise(centres)), len(spread.girths)]
    served = list(pairwise(edges))
    if len(centres) < of or any(a == z for a, z in served):
        problem = tr("fewer than {of} sizes already reach as many people within {reach}", of=of, reach=format_mm(reach))
        raise InputError(place, problem, tr("ask for fewer sizes or a smaller reach"))
    return _sizes(spread, centres, served, None)


def _after(spread: Distribution, mm: float) -> int:
    return int(np.searchsorted(spread.girths, mm, side="right"))


def _sizes(
    spread: Distribution, centres: Sequence[float], runs: Sequence[tuple[int, int]], step: float | None
) -> Sizes:
    sizes = tuple(
        Size(name, mm, math.fsum(spread.shares[a:z]), spread.girths[a], spread.girths[z - 1])
        for name, mm, (a, z) in zip(size_names(len(centres)), centres, runs, strict=True)
    )
    apart = _distances(spread, centres)
    misfit = math.sqrt(math.fsum(s * d * d for s, d in zip(spread.shares, apart, strict=True)))
    order = np.argsort(apart, kind="stable")
    reached = np.cumsum(np.asarray(spread.shares)[order])
    at = min(int(np.searchsorted(reached, NEARLY_ALL - 1e-12)), len(order) - 1)
    return Sizes(sizes, misfit, float(apart[order[at]]), spread, step)


def _distances(spread: Distribution, centres: Sequence[float]) -> Numbers:
    """Distance in mm from every girth to the nearest size."""
    c = np.asarray(centres)
    girths = np.asarray(spread.girths)
    behind = np.clip(np.searchsorted(c, girths), 1, len(c) - 1) if len(c) > 1 else np.zeros(len(girths), dtype=int)
    apart: Numbers = np.minimum(np.abs(girths - c[behind]), np.abs(girths - c[np.maximum(behind - 1, 0)]))
    return apart


def _total(shares: Sequence[float], wanted: Iterable[bool]) -> float:
    return min(1.0, math.fsum(s for s, w in zip(shares, wanted, strict=True) if w))


def split(count: int, shares: Sequence[float]) -> list[int]:
    """``count`` pieces shared out in proportion, by largest remainder; the parts add up to ``count``.

    Every size gets its whole part first; what is left goes one each to the
    largest remainders, the larger share first on a tie, then the earlier size.

    >>> split(10, [0.45, 0.45, 0.1])
    [5, 4, 1]
    """
    exact = [Fraction(s) for s in shares]
    total = sum(exact)
    if count < 0 or not exact or min(exact) < 0 or total == 0:
        raise ValueError("a count from 0 and shares with something above zero are needed")
    quotas = [count * s / total for s in exact]
    parts = [math.floor(x) for x in quotas]
    # Shares are sums of floats: remainders that differ by less than that noise are a tie.
    order = sorted(range(len(exact)), key=lambda k: (-round(float(quotas[k] - parts[k]), 9), -exact[k], k))
    for k in order[: count - sum(parts)]:
        parts[k] += 1
    return parts
