"""What measured take-ups say of a new strap: a posterior on a grid.

Model
-----
A strap should take up m by the geometry (:mod:`strapwork.braid.geometry`) and
took up y.  Take-up is above zero, so the model stands in logarithms:

    ln(y / m) = ln k + e,      e normal with standard deviation  s (m / M)^(g - 1)

k is the leather's factor, M the geometric mean of the modelled take-ups that
were measured, s the scatter of a strap of that size as a share of its take-up,
and g how the scatter grows from strap to strap: in proportion to the take-up
(g = 1), with its root (1/2), or not at all (0).

Prior
-----
* k: log-normal about 1, the geometry as it is; 95 in 100 leathers between 0.38
  and 2.66 (``FACTOR_SPREAD``).
* s: log-normal about 9.5 %; 95 in 100 leathers between 5 and 19 %
  (``SCATTER``, ``SCATTER_SPREAD``).
* g: in proportion with 90 %, root and constant with 5 % each (``LAWS``): until
  braids of very different length have said otherwise, a long braid is not
  taken to be surer than a short one.  A braid far smaller than what was
  measured is not taken to scatter by more than half of its take-up
  (``MOST_SHARE``), whatever the law makes of it.

None of the three has a source; they were chosen so that the 95 % band covers in
simulation what it says (``tests/bench/bands.py``).

Posterior
---------
Given s and g this is the normal mean with known variances (A. Gelman et al.,
Bayesian Data Analysis, 3rd ed. 2013, section 2.5): ln k has a normal posterior
and ln y of a new strap a normal predictive, both in closed form.  s and g are
summed over a grid, so every answer is a mixture of normals, the same on every
run.  Nothing in it can reach zero.

scipy judges this in the tests; here its normal distribution would add a quarter
of a second to every draft in a learned leather, for an error function that
Python has.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

FACTOR_SPREAD = 0.5
SCATTER = 0.095
SCATTER_SPREAD = 0.35
LAWS = {1.0: 0.90, 0.5: 0.05, 0.0: 0.05}
LEVEL = 0.95
MOST_SHARE = 0.5

# Six standard deviations of the prior to both sides, in steps finer than what 500 straps can tell apart.
_STEPS, _REACH = 121, 6.0
_NEGLIGIBLE = 1e-9


@dataclass(frozen=True, slots=True)
class Group:
    """Straps of one modelled take-up; usually a single one.

    Attributes:
        model: modelled take-up in mm.
        ratio: logarithm of measured over modelled take-up, the mean of the group.
        straps: how many.
        squares: sum of squares of the logarithms about that mean; 0 for a single strap.
    """

    model: float
    ratio: float
    straps: int = 1
    squares: float = 0.0


@dataclass(frozen=True, slots=True)
class Mixture:
    """A mixture of normals: weights, means and standard deviations."""

    weights: Array
    means: Array
    spreads: Array

    def below(self, x: float) -> float:
        """Probability below ``x``."""
        return self._tail(x, -1.0)

    def above(self, x: float) -> float:
        """Probability above ``x``; exact in the far tail too."""
        return self._tail(x, 1.0)

    def _tail(self, x: float, side: float) -> float:
        z = side * (x - self.means) / (self.spreads * math.sqrt(2.0))
        return 0.5 * math.fsum(w * math.erfc(v) for w, v in zip(self.weights.tolist(), z.tolist(), strict=True))

    def quantile(self, p: float) -> float:
        """The value below which a share ``p`` lies: Newton's steps, kept inside a bracket."""
        import numpy as np

        mean = float(self.weights @ self.means)
        spread = math.sqrt(float(self.weights @ (self.spreads**2 + (self.means - mean) ** 2)))
        low, high = mean - 40.0 * spread, mean + 40.0 * spread
        x = mean + math.copysign(2.0 * spread, p - 0.5)
        for _ in range(100):
            off = self.below(x) - p
            if abs(off) < 1e-11:
                break
            low, high = (low, x) if off > 0 else (x, high)
            z = (x - self.means) / self.spreads
            slope = float(self.weights @ (np.exp(-0.5 * z * z) / self.spreads)) / math.sqrt(2.0 * math.pi)
            step = off / slope if slope > 0 else math.inf
            if abs(step) < 1e-12:
                break
            x = x - step if low < x - step < high else 0.5 * (low + high)
        return x


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is known of a leather.

    Attributes:
        size: M, the geometric mean of the modelled take-ups measured, in mm.
        factor: of the take-up, as a mixture in its logarithm.
        shares: scatter s of every component of the mixture, at ``size``.
        laws: law g of every component.
    """

    size: float
    factor: Mixture
    shares: Array
    laws: Array

    @property
    def middle(self) -> float:
        """The factor that point values use: its mean in logarithms."""
        return math.exp(float(self.factor.weights @ self.factor.means))

    @property
    def scatter(self) -> float:
        """Scatter of a strap of ``size``, as a share of its take-up: its mean in logarithms."""
        import numpy as np

        return math.exp(float(self.factor.weights @ np.log(self.shares)))

    def law(self, g: float) -> float:
        """Probability of one law of the scatter."""
        return float(self.factor.weights[self.laws == g].sum())

    def factor_band(self) -> tuple[float, float]:
        """The 95 % band of the factor."""
        return _band(self.factor)

    def strap(self, model: float) -> Mixture:
        """Logarithm of measured over modelled take-up of a new strap of modelled take-up ``model`` mm."""
        import numpy as np

        grown = self.shares * (model / self.size) ** (self.laws - 1.0)
        noise = np.minimum(grown, np.maximum(self.shares, MOST_SHARE))
        return Mixture(self.factor.weights, self.factor.means, np.hypot(self.factor.spreads, noise))

    def band(self, model: float) -> tuple[float, float]:
        """The 95 % band of the take-up in mm of a new strap of modelled take-up ``model`` mm."""
        low, high = _band(self.strap(model))
        return model * low, model * high


def _band(mixture: Mixture) -> tuple[float, float]:
    tail = (1.0 - LEVEL) / 2.0
    return math.exp(mixture.quantile(tail)), math.exp(mixture.quantile(1.0 - tail))


@lru_cache(maxsize=64)
def posterior(groups: tuple[Group, ...]) -> Posterior:
    """What the straps measured say of their leather; at least one group."""
    import numpy as np

    n = np.array([g.straps for g in groups], dtype=float)
    logs = np.log([g.model for g in groups])
    z, squares = np.array([g.ratio for g in groups]), np.array([g.squares for g in groups])
    centre = float(n @ logs / n.sum())

    # Precision of a strap at s = 1 under each law (rows), and what the straps come to in all.
    g = np.array(list(LAWS))
    precision = np.exp(np.outer(2.0 * (1.0 - g), logs - centre))
    total = precision @ n
    mean = precision @ (n * z) / total
    residual = precision @ squares + ((z - mean[:, None]) ** 2 * precision) @ n

    # The grid: every law (rows) with every scatter (columns).
    x = np.linspace(-_REACH, _REACH, _STEPS)
    s = SCATTER * np.exp(SCATTER_SPREAD * x)
    sharp = total[:, None] / s**2
    held = sharp + FACTOR_SPREAD**-2
    pull = mean[:, None] ** 2 * sharp * FACTOR_SPREAD**-2 / held
    score = (
        (np.log(list(LAWS.values())) + 0.5 * np.log(precision) @ n)[:, None]
        - n.sum() * np.log(s)
        - 0.5 * (x * x + residual[:, None] / s**2 + pull + np.log(held))
    ).ravel()
    means, spreads = (sharp * mean[:, None] / held).ravel(), held.ravel() ** -0.5
    shares, laws = np.tile(s, len(g)), np.repeat(g, _STEPS)
    weights = np.exp(score - score.max())
    kept = weights > _NEGLIGIBLE * weights.sum()
    weights = weights[kept] / weights[kept].sum()
    return Posterior(math.exp(centre), Mixture(weights, means[kept], spreads[kept]), shares[kept], laws[kept])


@lru_cache(maxsize=4096)
def band(groups: tuple[Group, ...], model: float) -> tuple[float, float]:
    """:meth:`Posterior.band`, remembered: a fit asks for it again at every keystroke."""
    return posterior(groups).band(model)


def stands_out(groups: Sequence[Group]) -> int | None:
    """The group that the others least expect, if that is beyond chance; None where none is, or below four.

    Each is held against the predictive of the rest; 5 % over all of them together (Bonferroni).
    """
    if len(groups) < 4:
        return None
    worst, at = 1.0, 0
    for i, g in enumerate(groups):
        rest = posterior((*groups[:i], *groups[i + 1 :])).strap(g.model)
        chance = 2.0 * min(rest.below(g.ratio), rest.above(g.ratio))
        if chance < worst:
            worst, at = chance, i
    return at if worst < (1.0 - LEVEL) / len(groups) else None
