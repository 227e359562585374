"""Does the truth lie where a picture says it does?  python tests/bench/photos.py [PICTURES [FIRST SEED [ROW ...]]]

A row a kind of disturbance, so many pictures each (64 where nothing is said).  The printer, the paper's cut
(within the tolerances of ISO 216, in half the pictures within 1 mm), tilt, lens, blur, light, shadow and JPEG are drawn
anew for every picture; a row has its own disturbance at its worst.  Counted are the pictures that cannot be measured at
all, how often the stated interval holds the printer's x, y and skew, how many are good enough without bars, and the
same once both bars are read (with a normal error of 95 % within the stated one): how many are taken, how often all
their intervals hold, and the largest error of a length in any direction.

Then the pictures that must not be measured: the wrong paper named, or loaded; and damaged files, of which those that
are not refused must still hold the truth.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from tests.simulated_pictures import Camera, Truth, damaged, kept, photograph, scan

from strapwork.errors import InputError
from strapwork.printer import calibration as scale
from strapwork.printer import photo, worth
from strapwork.stock.papers import PAPERS
from strapwork.stock.printers import Printer

A4 = PAPERS["A4"]


@dataclass(frozen=True)
class Case:
    """One picture: what is so, how it is seen, and the file."""

    truth: Truth
    data: bytes
    dpi: float | None = None


def truth(rng: np.random.Generator) -> Truth:
    """A printer and a sheet as they come."""
    most = 2.0 if rng.random() < 0.5 else 1.0
    u = rng.uniform
    return Truth(
        x=u(0.982, 1.012),
        y=u(0.982, 1.012),
        skew=u(-0.004, 0.004),
        cut=(u(-most, most), u(-most, most)),
        lean=u(-1.0, 1.0),
        taper=u(-0.5, 0.5),
        shift=(u(-1.0, 1.0), u(-1.0, 1.0)),
    )


def camera(rng: np.random.Generator) -> Camera:
    """A phone held with some care."""
    u = rng.uniform
    return Camera(
        tilt=(u(-5, 5), u(-5, 5)),
        turn=u(-4, 4),
        bow=u(-0.01, 0.01),
        blur=u(0.6, 1.3),
        crop=(u(-40, 40), u(-40, 40)),
        shadow=u(0.0, 0.3),
        soft=float(np.exp(u(np.log(2.0), np.log(150.0)))),
        ground=u(0.02, 0.2),
        noise=u(1.0, 5.0),
        focus=u(0.7, 1.4),
        fill=u(0.72, 0.84),
    )


Change = Callable[[np.random.Generator, Truth, Camera], tuple[Truth, Camera]]
KINDS: dict[str, Change] = {
    "as it comes": lambda r, t, c: (t, c),
    "paper cut 2 mm off": lambda r, t, c: (
        replace(t, cut=(float(r.choice([-1.9, 1.9])), float(r.choice([-1.9, 1.9])))),
        c,
    ),
    "bowed lens (to 4 %)": lambda r, t, c: (t, replace(c, bow=float(r.choice([-1, 1]) * r.uniform(0.015, 0.04)))),
    "tilt (to 20 degrees)": lambda r, t, c: (
        t,
        replace(c, tilt=(float(r.uniform(-20, 20)), float(r.uniform(-20, 20))), fill=0.66),
    ),
    "blur": lambda r, t, c: (t, replace(c, blur=float(r.uniform(1.3, 3.0)))),
    "shadow": lambda r, t, c: (
        t,
        replace(c, shadow=float(r.uniform(0.3, 0.7)), soft=float(r.choice([1.0, 5.0, 20.0, 80.0]))),
    ),
}


# A flatbed's own scale is within this share; common practice, no source.
SCANS = {"scan": (0.001, 0.003), "scan, worst scanners": (0.003, 0.003)}


def case(kind: str, seed: int) -> Case:
    """One picture of a kind, of ``KINDS`` or ``SCANS``."""
    rng = np.random.default_rng([seed, [*KINDS, *SCANS].index(kind)])
    t, c = truth(rng), camera(rng)
    quality = int(rng.integers(75, 96))
    if kind in SCANS:
        most = rng.uniform(*SCANS[kind])
        own = (1.0 + rng.uniform(-most, most), 1.0 + rng.uniform(-most, most), rng.uniform(-most, most) / 3.0)
        dpi = float(rng.choice([150, 200]))
        return Case(t, kept(scan(t, A4, dpi, own, rng.uniform(-2, 2), seed), quality=quality), dpi)
    t, c = KINDS[kind](rng, t, c)
    return Case(t, kept(photograph(t, c, A4, seed), quality=quality))


def measured(data: bytes, dpi: float | None, paper: tuple[float, float] = A4) -> Printer:
    """What is made of a file."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "picture"
        path.write_bytes(data)
        return photo.measure(path, paper, "t", dpi)


def holds(found: Printer, t: Truth) -> tuple[bool, bool, bool]:
    """Whether x, y and skew lie within what is stated."""
    return (
        abs(found.x - t.x) <= (found.x_within or 0.0),
        abs(found.y - t.y) <= (found.y_within or 0.0),
        abs(found.skew - t.skew) <= (found.skew_within or 0.0),
    )


def off(found: Printer, t: Truth, turned: float) -> float:
    """The share by which a length at this angle to the feed would come out wrong."""
    c, s = np.cos(turned), np.sin(turned)
    return abs(float((found.x - t.x) * c * c + (found.y - t.y) * s * s + (found.skew - t.skew) * s * c))


def furthest(found: Printer, t: Truth) -> float:
    """The largest such share of any length."""
    return max(off(found, t, float(f)) for f in np.linspace(0.0, np.pi, 37))


def enough(found: Printer, dpi: float | None) -> bool:
    """Whether the command takes it."""
    try:
        worth.check(found, A4, dpi is not None)
    except InputError:
        return False
    return True


def with_bars(found: Printer, t: Truth, seed: int) -> Printer:
    """With both bars read by a hand that errs."""
    rng = np.random.default_rng([seed, 99])
    readings = [s * b + rng.normal() * scale.READING / 1.96 for s, b in zip((t.x, t.y), scale.bars(A4), strict=True)]
    return worth.with_bars(found, A4, readings)


def row(kind: str, seeds: range) -> None:
    """One line of the table."""
    unusable, alone, stated, taken, hold, worst, wide = 0, 0, [], 0, 0, 0.0, 0.0
    for seed in seeds:
        c = case(kind, seed)
        try:
            found = measured(c.data, c.dpi)
        except InputError:
            unusable += 1
            continue
        stated.append(holds(found, c.truth))
        wide = max(wide, furthest(found, c.truth))
        alone += enough(found, c.dpi)
        try:
            better = with_bars(found, c.truth, seed)
        except InputError:
            continue
        if enough(better, c.dpi):
            taken += 1
            turned = float(np.random.default_rng([seed, 98]).uniform(0.0, np.pi))
            hold += off(better, c.truth, turned) <= (better.within or 0.0)
            worst = max(worst, furthest(better, c.truth))
    n = len(stated)
    x, y, skew = (100.0 * sum(v[k] for v in stated) / max(n, 1) for k in range(3))
    print(
        f"| {kind} | {len(seeds)} | {unusable} | {x:.1f} / {y:.1f} / {skew:.1f} | {100 * wide:.2f} | {alone} | {taken} | "
        f"{100.0 * hold / max(taken, 1):.1f} | {100 * worst:.2f} |",
        flush=True,
    )


def wrong(seeds: range) -> None:
    """Wrong papers: named, or loaded."""
    named, loaded, total = 0, 0, 0
    for seed in seeds:
        rng = np.random.default_rng([seed, 50])
        t, c = truth(rng), camera(rng)
        a, b = ("A4", "letter") if seed % 2 else ("letter", "A4")
        total += 1
        data = kept(photograph(t, c, PAPERS[a], seed))
        named += _taken(data, PAPERS[b])
        data = kept(photograph(t, c, PAPERS[a], seed, PAPERS[b]))
        loaded += _taken(data, PAPERS[a]) + _taken(data, PAPERS[b])
    print(
        f"wrong paper named: {named} of {total} measured; wrong paper loaded: {loaded} of {2 * total} measured",
        flush=True,
    )


def _taken(data: bytes, paper: tuple[float, float]) -> bool:
    try:
        measured(data, None, paper)
    except InputError:
        return False
    return True


def broken(count: int, kind: str, seed: int) -> None:
    """Damaged files, many of one good picture: the picture itself is measured first."""
    rng = np.random.default_rng(seed)
    t = Truth(x=0.992, y=1.004)
    image = photograph(t, replace(camera(rng), tilt=(2.0, -2.0)), A4, seed)
    whole = kept(image, kind)
    good = measured(whole, None)
    seen, moved = 0, 0.0
    for _ in range(count):
        try:
            found = measured(damaged(whole, rng), None)
        except InputError:
            continue
        seen += 1
        moved = max(moved, abs(found.x - good.x), abs(found.y - good.y), abs(found.skew - good.skew))
    print(
        f"damaged {kind}: {seen} of {count} measured, at most {100 * moved:.3f} % beside the whole file's", flush=True
    )


def main() -> None:
    """The table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 64
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    seeds = range(first, first + count)
    only = sys.argv[3:] or [*KINDS, *SCANS, "wrong", "broken"]
    print("| kind | pictures | not measurable | stated x / y / skew holds, % | furthest, % | enough alone |", end="")
    print(" taken with bars | holds, % | furthest, % |")
    for kind in [*KINDS, *SCANS]:
        if kind in only:
            row(kind, seeds)
    if "wrong" in only:
        wrong(range(first, first + count // 3))
    if "broken" in only:
        for kind in (".jpg", ".png"):
            broken(count, kind, first + 7)


if __name__ == "__main__":
    main()
