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


FILES = ("page.css", "piece.css", "ask.js", "piece_view.js", "piece_keep.js", "piece.js")


def main() -> None:
    made = app.create_app()
    client = made.test_client()
    headers = {"Host": "localhost"}
    time.sleep(3)  # the braids are worked out in the background
    times: dict[str, float] = {}
    worked_ms: list[float] = []  # processor time: what is left of it where other work shares the machine
    for key in range(4):
        for (pattern, measure), (strands, width) in product(
            GOODS.items(), (("", ""), ("5", "40"), ("9", "60"), ("13", "80"))
        ):
            query = f"/preview?pattern={pattern}&measure={measure}.{key}&strands={strands}&width={width}&leather=3mm&view=1240"
            began, worked = time.perf_counter(), time.process_time()
            client.get(query, headers=headers)
            taken = 1000 * (time.perf_counter() - began)
            if key:
                worked_ms.append(1000 * (time.process_time() - worked))
            if key:  # the first round fills caches that a running page has filled
                times[query] = taken
    values = sorted(times.values())
    print(
        f"preview: median {statistics.median(values):.1f} ms (bound 40), worst {values[-1]:.1f} ms (bound 100) of {len(values)}"
    )
    print(f"  processor time: median {statistics.median(worked_ms):.1f} ms, worst {max(worked_ms):.1f} ms")
    print(f"  worst: {max(times, key=lambda q: times[q])}")
    for what, query, bound in (
        ("page", "pattern=wristband&measure=172", 250),
        ("page with 13 strands", "pattern=plain-strap&measure=1000&strands=13&width=80", 300),
    ):
        total = packed = 0
        for path in (f"/?{query}", *(f"/static/{name}" for name in FILES), f"/preview?{query}&view=1240"):
            size = len(client.get(path, headers=headers).data)
            gone = len(client.get(path, headers=headers | {"Accept-Encoding": "gzip"}).data)
            total, packed = total + size, packed + gone
            print(f"  {size / 1000:6.1f} kB, {gone / 1000:5.1f} compressed  {path}")
        print(f"{what}: {total / 1000:.0f} kB (bound {bound}), {packed / 1000:.0f} kB compressed")


if __name__ == "__main__":
    main()
