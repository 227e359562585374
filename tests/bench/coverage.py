"""Does the 95 % band of a learned take-up hold what it says?  python tests/bench/coverage.py

A thousand simulated shops, each with its swatches of a leather whose factor is
known; counts how often the band of the factor holds the truth and how often
the band for a new strap holds that strap.
"""

from __future__ import annotations

import numpy as np

from strapwork.piece import swatches as swatch
from strapwork.stock.leather import Learned

ROUNDS = 1000


def main() -> None:
    rng = np.random.default_rng(2026)
    for n in (2, 4, 8, 16):
        factor_hits = strap_hits = 0
        width = 0.0
        for _ in range(ROUNDS):
            truth = rng.uniform(0.7, 1.6)
            m = rng.uniform(3, 15, n)
            k, error, scatter = swatch.fit_factor(m, truth * m + rng.normal(0, 0.6, n))
            learned = Learned(k, error, scatter, n - 1, swatch._student(n - 1), n)
            factor_hits += abs(k - truth) <= learned.quantile * error
            new = rng.uniform(3, 15)
            spread = learned.spread(new) or 0.0
            width += spread
            strap_hits += abs(truth * new + rng.normal(0, 0.6) - k * new) <= spread
        print(
            f"{n:2d} swatches: factor held {100 * factor_hits / ROUNDS:.1f} %, new strap held {100 * strap_hits / ROUNDS:.1f} %, "
            f"half band {width / ROUNDS:.2f} mm"
        )


if __name__ == "__main__":
    main()
