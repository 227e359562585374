"""How much strand does a braid use, by mechanics and by the formula?  python tests/bench/mechanics.py [unit|other|held|sure]

Strands are relaxed as elastic ribbons in contact (``mechanics_model``) and measured, at three pulls:

* *loose*, *hand*, *hard*: the strand is drawn up with a pull that would stretch it by 1, 3 or 10 %
  and stays as it was drawn (leather sets).  3 % is about 10 N on a strand of 1/4 in of 4-5 oz, with
  leather of 30 N/mm2 (order of magnitude, from memory); how hard a hand pulls is common practice, no source.
* *free*: no load at all on an elastic braid.  With the bending energy E of one pitch H falling as 1/H^3,
  the braid neither shortens nor lengthens when the pull in the strands is 3 E / H.

``unit`` prints the repeating unit at 10, 18 and 26 degrees and at the jam; ``other`` strands of other goods;
``held`` a whole braid with its ends held; ``sure`` what the figure owes to assumptions.  One core: ``unit`` takes
260 s, ``held`` 180 s for three strands and 400 s for five; seven of them have not been waited for.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Iterable

from mechanics_model import ribbon as ribbon_module
from mechanics_model import shapes
from mechanics_model.relax import Relaxation, Relaxed
from mechanics_model.ribbon import Ribbon
from mechanics_model.shapes import Held, Unit

from strapwork.braid import geometry
from strapwork.braid.plan import standard

PULLS = {"loose": 0.01, "hand": 0.03, "hard": 0.10}
WAVES = {3: (12, 18, 27), 5: (15, 22, 32), 7: (18, 26, 36), 13: (18, 24, 30)}


def step_at(strands: int, ribbon: Ribbon, angle: float | None) -> float:
    """Braid to a step at a braid angle of closed cover; None is the jam, strands a thickness apart at 45 degrees."""
    plait = standard(strands).plait
    if angle is None:
        return geometry.step_across(plait, ribbon.width + ribbon.thickness) / math.sin(math.radians(geometry.JAM_DEG))
    return geometry.step_across(plait, ribbon.width) / math.sin(math.radians(angle))


def formula(strands: int, ribbon: Ribbon, step: float) -> list[float]:
    """Strand used per braid length less one in the middle of a braid: narrow, point and wide."""
    plait = standard(strands).plait
    found = []
    for climbing, spacing in geometry.extremes(plait, ribbon.width, ribbon.thickness):
        angle = math.degrees(math.asin(geometry.step_across(plait, spacing) / step))
        found.append(geometry.step_used(climbing, spacing, ribbon.thickness, angle) / step - 1.0)
    return found


def relaxed(unit: Unit, pulls: Iterable[float]) -> list[Relaxed]:
    """The unit at several pulls, each from the smoothed zigzag."""
    return [Relaxation(unit, unit.ribbon.pull(pull)).run(unit.start()) for pull in pulls]


def free(unit: Unit, q: ribbon_module.Array) -> Relaxed:
    """The unit without load: the pull that balances bending, found by repeating."""
    pull = unit.ribbon.pull(PULLS["loose"])
    for _ in range(12):
        found = Relaxation(unit, pull).run(q)
        q, before, pull = found.unknowns, pull, 3.0 * found.bending / unit.axis
        if abs(pull / before - 1.0) < 0.02:
            break
    return found


def percent(value: float) -> str:
    return f"{100 * value:.2f}"


def unit_row(strands: int, ribbon: Ribbon, angle: float | None, with_free: bool) -> str:
    step = step_at(strands, ribbon, angle)
    narrow, point, wide = formula(strands, ribbon, step)
    by_mesh = [relaxed(Unit(ribbon, strands, step, w), PULLS.values()) for w in WAVES[strands]]
    loose, hand, hard = by_mesh[-1]
    worst = max(r.overlap for rs in by_mesh for r in rs)
    meshes = " / ".join(percent(rs[1].excess) for rs in by_mesh)
    settled = abs(by_mesh[-1][1].excess / by_mesh[-2][1].excess - 1.0)
    cells = [
        str(strands),
        "jam" if angle is None else f"{angle:.0f}",
        f"{percent(narrow)} .. **{percent(point)}** .. {percent(wide)}",
        meshes,
        f"{100 * settled:.1f} %",
        percent(loose.excess),
        percent(hard.excess),
    ]
    if with_free and angle is not None:
        middle = Unit(ribbon, strands, step, WAVES[strands][1])
        cells.append(percent(free(middle, by_mesh[1][0].unknowns).excess))
    elif with_free:
        cells.append("")
    inside = all(narrow <= r.excess <= wide for r in (loose, hand, hard))
    cells += [f"{hand.excess / point:.2f}", "yes" if inside else "**no**"]
    if worst > 1e-3 * ribbon.thickness or not all(r.settled for rs in by_mesh for r in rs):
        cells[-1] += " (not settled)"
    return "| " + " | ".join(cells) + " |"


def heading(with_free: bool) -> None:
    names = ["strands", "angle", "formula, %", "hand, three meshes, %", "last two", "loose", "hard"]
    names += ["free"] if with_free else []
    names += ["hand / point", "in band"]
    print("| " + " | ".join(names) + " |\n|" + "---|" * len(names), flush=True)


def unit() -> None:
    ribbon = Ribbon(6.35, 1.8)
    print("Strands of 6.35 x 1.8 mm (1/4 in of 4-5 oz), middle of a long braid\n")
    heading(with_free=True)
    for strands in (3, 5, 7):
        for angle in (10.0, 18.0, 26.0, None):
            print(unit_row(strands, ribbon, angle, with_free=True), flush=True)


def other() -> None:
    for what, ribbon, counts in (
        ("A lead's strands of 6.35 x 3.4 mm", Ribbon(6.35, 3.4), (3,)),
        ("A belt's strands of 12.7 x 3.4 mm", Ribbon(12.7, 3.4), (3, 5)),
        ("Strands a fifth as thick as wide, 6.35 x 1.27 mm", Ribbon(6.35, 1.27), (3, 5)),
        ("Thin strands of 2.9 x 1.2 mm", Ribbon(2.9, 1.2), (13,)),
    ):
        print(f"\n{what}\n")
        heading(with_free=False)
        for strands in counts:
            for angle in (10.0, 18.0, 26.0):
                print(unit_row(strands, ribbon, angle, with_free=False), flush=True)


def held() -> None:
    ribbon = Ribbon(6.35, 1.8)
    print("Whole braids with their ends held, strands of 6.35 x 1.8 mm, drawn up by hand: take-up in mm\n")
    print(
        "| strands | sets | angle | formula | mechanics, by spline spans a turn | mechanics / point |\n|---|---|---|---|---|---|"
    )
    for strands, sets, angle, spans in (
        (3, 1, 10.0, (2.0, 2.5, 3.0)),
        (3, 1, 14.0, (2.0, 2.5, 3.0)),
        (3, 1, 18.0, (2.0, 2.5, 3.0)),
        (3, 1, 26.0, (2.0, 2.5)),
        (3, 2, 14.0, (2.0, 2.5, 3.0)),
        (5, 1, 10.0, (2.0,)),
        (5, 1, 14.0, (2.0,)),
        (5, 1, 18.0, (1.5, 2.0)),
        (5, 1, 26.0, (2.0,)),
    ):
        plan = standard(strands)
        length = step_at(strands, ribbon, angle) * plan.plait.steps * sets
        forms = [
            geometry.from_finished(plait, ribbon.width, ribbon.thickness, sets, length, e)
            for plait, e in geometry.extremes(plan.plait, ribbon.width, ribbon.thickness)
        ]
        eaten = []
        for fineness in spans:
            shape = Held(ribbon, strands, length, plan.turns * sets, fineness)
            found = Relaxation(shape, ribbon.pull(PULLS["hand"])).run(shape.start())
            eaten.append((fineness, found.strand - length, found.settled))
        texts = [f"{mm:.2f} ({fineness:g})" + ("" if ok else " not settled") for fineness, mm, ok in eaten]
        band = " .. ".join(f"{f.take_up:.2f}" for f in forms if f)
        point = forms[1].take_up if forms[1] else math.nan
        print(
            f"| {strands} | {sets} | {angle:.0f} | {band} | {', '.join(texts)} | {eaten[-1][1] / point:.2f} |",
            flush=True,
        )


def sure() -> None:
    """What the figure for hand-drawn strands at 18 degrees owes to assumptions."""
    ribbon = Ribbon(6.35, 1.8)
    print(
        "| strands | as computed | Poisson 0.3 | Poisson 0.5 | nine contact points across | strands may ride up |\n|---|---|---|---|---|---|"
    )
    for strands in (3, 5, 7):
        shape = Unit(ribbon, strands, step_at(strands, ribbon, 18.0), WAVES[strands][1])

        def again(across: int = 5, shape: Unit = shape) -> str:
            return percent(Relaxation(shape, ribbon.pull(PULLS["hand"]), across).run(shape.start()).excess)

        cells = [again()]
        for nu in (0.3, 0.5):
            ribbon_module.POISSON = nu
            cells.append(again())
        ribbon_module.POISSON = 0.4
        cells.append(again(across=9))
        shapes.APART = math.inf
        cells.append(again())
        shapes.APART = 2.0
        print(f"| {strands} | " + " | ".join(cells) + " |", flush=True)


def main() -> None:
    parts = {"unit": unit, "other": other, "held": held, "sure": sure}
    for name in sys.argv[1:] or parts:
        started = time.process_time()
        parts[name]()
        print(f"\n({name}: {time.process_time() - started:.0f} s of one core)\n", flush=True)


if __name__ == "__main__":
    main()
