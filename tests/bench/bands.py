"""Does the 95 % band of a learned take-up hold what it says?  python tests/bench/bands.py [SHOPS]

Simulated shops: each has a leather with a factor of its own (0.7 to 1.6), a
scatter of its own (3 to 12 % of a swatch's take-up) and swatches that take up
about 9 mm; then it makes one new strap of every kind of goods.  Counted is how
often the band holds that strap.

The scatter follows one of three laws (it stays what it is in mm, goes with the
root of the take-up, or in proportion to it) and is normal in mm, which is not
what the model assumes (log-normal).  ``alike``: swatches within 15 % of each
other; ``mixed``: from half to twice the size.  The columns ``12 %`` have the
widest scatter in every shop, where a band learned from few has most to lose.
"""

from __future__ import annotations

import math
import sys
from itertools import product

import numpy as np

from strapwork.stock import take_up
from strapwork.stock.take_up import Group

SHOPS = 5000
SWATCH = 9.0  # two sets of three 1/4 in strands in a slit of 150 mm; only the shares of it below matter
COUNTS = (1, 2, 3, 5, 8, 16)
LAWS = {"constant": 0.0, "root": 0.5, "proportion": 1.0}
# Take-up over that of a swatch: a draft of each in 1.8 mm leather comes to 8, 42, 33 and 62 mm, a lead of 2 m to 122; a
# belt in its own leather comes to 41.
GOODS = {"wristband": 1.0, "hat band": 4.0, "belt": 6.0, "lead": 12.0}
SIZES = {"alike": (0.85, 1.15), "mixed": (0.5, 2.0)}
TAIL = (1.0 - take_up.LEVEL) / 2.0


def strap(rng: np.random.Generator, k: float, share: float, law: float, model: float) -> float:
    """Measured take-up of one strap, in mm; what cannot be is drawn again."""
    while True:
        y = k * model + rng.normal() * share * k * SWATCH * (model / SWATCH) ** law
        if y > 0.1 * model:
            return float(y)


def held(rng: np.random.Generator, count: int, law: float, sizes: tuple[float, float], share: float) -> list[bool]:
    """One shop: whether the band of its leather holds a new strap of every kind of goods."""
    k = rng.uniform(0.7, 1.6)
    models = SWATCH * rng.uniform(*sizes, count)
    known = take_up.posterior(tuple(Group(float(m), math.log(strap(rng, k, share, law, m) / m)) for m in models))
    out = []
    for times in GOODS.values():
        m = SWATCH * times * rng.uniform(0.85, 1.15)
        chance = known.strap(m).below(math.log(strap(rng, k, share, law, m) / m))
        out.append(TAIL <= chance <= 1.0 - TAIL)
    return out


def main() -> None:
    shops = int(sys.argv[1]) if len(sys.argv) > 1 else SHOPS
    names = "".join(f"{n:>11}" for n in GOODS)
    print(f"{shops} shops a row; % of new straps held: scatter from 3 to 12 % of a swatch | always 12 %")
    print(f"{'swatches':>8} {'scatter':<11} {'sizes':<6}{names} |{names}")
    worst, worst_top, like = 100.0, 100.0, 0.0
    for count, (law, g), (sizes, span) in product(COUNTS, LAWS.items(), SIZES.items()):
        rng = np.random.default_rng([2026, count, int(2 * g), len(sizes)])
        mean = 100.0 * np.mean([held(rng, count, g, span, rng.uniform(0.03, 0.12)) for _ in range(shops)], axis=0)
        top = 100.0 * np.mean([held(rng, count, g, span, 0.12) for _ in range(shops // 2)], axis=0)
        cells = ["".join(f"{v:11.1f}" for v in row) for row in (mean, top)]
        print(f"{count:8d} {law:<11} {sizes:<6}{cells[0]} |{cells[1]}", flush=True)
        worst, worst_top, like = min(worst, *mean), min(worst_top, *top), max(like, float(mean[0]))
    print(f"least {worst:.1f} % (at 12 %: {worst_top:.1f} %), most for a piece like the swatches {like:.1f} %")


if __name__ == "__main__":
    main()
