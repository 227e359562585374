"""Server time of a preview after a keystroke, and the page's weight:  python tests/bench/page.py"""

from __future__ import annotations

import statistics
import time
from itertools import product

from strapwork.web import app

GOODS = {
    "wristband": "172", "belt": "900", "bag-handle": "420", "carrier-handle": "460", "key-fob": "90", "dog-lead": "1200",
    "hat-band": "570", "plain-strap": "300", "keeper-loop": "90",
}  # fmt: skip


def main() -> None:
    made = app.create_app()
    client = made.test_client()
    headers = {"Host": "localhost"}
    time.sleep(3)  # the braids are worked out in the background
    times: dict[str, float] = {}
    for key in range(4):
        for (pattern, measure), (strands, width) in product(
            GOODS.items(), (("", ""), ("5", "40"), ("9", "60"), ("13", "80"))
        ):
            query = f"/preview?pattern={pattern}&measure={measure}.{key}&strands={strands}&width={width}&leather=3mm"
            began = time.perf_counter()
            client.get(query, headers=headers)
            taken = 1000 * (time.perf_counter() - began)
            if key:  # the first round fills caches that a running page has filled
                times[query] = taken
    values = sorted(times.values())
    print(
        f"preview: median {statistics.median(values):.1f} ms (bound 30), worst {values[-1]:.1f} ms (bound 100) of {len(values)}"
    )
    print(f"  worst: {max(times, key=lambda q: times[q])}")
    total = 0
    for path in (
        "/?pattern=wristband&measure=172",
        "/static/page.css",
        "/static/piece.js",
        "/preview?pattern=wristband&measure=172",
    ):
        size = len(client.get(path, headers=headers).data)
        total += size
        print(f"  {size / 1000:6.1f} kB  {path}")
    print(f"page weight {total / 1000:.0f} kB (bound 200)")


if __name__ == "__main__":
    main()
