"""How long cutting plans take, run by hand: ``python tests/bench/strips.py``.

Class-size orders from one, two and three stock lengths, 500 pieces from one,
and every instance of the OR-Library's binpack1 (E. Falkenauer, Journal of
Heuristics 2, 1996, 5-30).  Bounds asked for: 2 s a class, 10 s for 500 pieces.
"""

from __future__ import annotations

import random
import sys
import time
from decimal import Decimal
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.outside.test_workshop import INSTANCES

from strapwork.workshop import strips
from strapwork.workshop.stock_lengths import Stock, Want

SHOPS = (
    [Stock(1300.0, price=Decimal("8.50"))],
    [Stock(1300.0, price=Decimal("8.50")), Stock(900.0, price=Decimal("6.10"))],
    [Stock(1300.0, price=Decimal("8.50")), Stock(900.0, have=2), Stock(2000.0, price=Decimal("11.90"))],
)


def timed(wants: list[Want], stocks: list[Stock]) -> tuple[float, strips.StripPlan]:
    began = time.perf_counter()
    plan = strips.plan(wants, stocks, kerf=0.5)
    return time.perf_counter() - began, plan


def main() -> None:
    for many, low, high in ((12, 220, 290), (24, 220, 290), (40, 220, 290)):
        for n, shop in enumerate(SHOPS, start=1):
            runs = []
            for seed in range(10):
                r = random.Random(seed)
                runs.append(timed([Want(k, r.uniform(low, high)) for k in range(many)], shop))
            proven = sum(p.proven for _, p in runs)
            print(f"{many} pieces, {n} stocks: worst {max(t for t, _ in runs):.2f} s, {proven} of 10 proven")
    for low, high in ((220, 290), (150, 400), (150, 900), (300, 600)):
        r = random.Random(7)
        took, plan = timed([Want(k, r.uniform(low, high)) for k in range(500)], SHOPS[0])
        print(f"500 pieces of {low} to {high} mm: {took:.2f} s, {plan.used} strips, at least {plan.bound}")
    total = 0.0
    for name, capacity, best, sizes in INSTANCES:
        took, plan = timed([Want(k, float(s) - 0.5) for k, s in enumerate(sizes)], [Stock(capacity - 0.5, have=200)])
        total += took
        print(f"{name}: {plan.used} strips, at least {plan.bound}, {best} known in 1996, {took:.2f} s")
    print(f"all of the OR-Library's: {total:.1f} s")


if __name__ == "__main__":
    main()
