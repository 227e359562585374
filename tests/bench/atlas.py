"""Counts and times of the braider's atlas:  python tests/bench/atlas.py [--long]

Prints, for every count of strands and of turns, how many patterns there are and
what became of them, how many of them a second method with no symmetry in it finds
workable, and how many volumes (snappy) the closed sets have: links of different
volumes are different, so the finished braids number at least that many.  ``--long``
adds what takes minutes.
"""

from __future__ import annotations

import random
import resource
import sys
import time
from collections.abc import Iterator
from itertools import product
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests import second_method

from strapwork.braid.atlas import Atlas, atlas, sieved
from strapwork.braid.unlinked import families
from strapwork.braid.word import crossings, positions_after, turn

Word = tuple[int, ...]
SAMPLE = 2000


def brute_force(strands: int, sides: str) -> int:
    """Workable patterns by the second method, every pattern decided by itself."""
    turns = {
        s: [turn(strands, s, o) for reach in range(1, strands) for o in product((True, False), repeat=reach)]
        for s in "RL"
    }
    found = 0
    for pattern in product(*(turns[s] for s in sides)):
        word = crossings(pattern)
        home = tuple(range(1, strands + 1))
        order, rounds = positions_after(strands, word), 1
        while order != home:
            order, rounds = tuple(order[p - 1] for p in positions_after(strands, word)), rounds + 1
        found += second_method.workable(strands, word * rounds)
    return found


def unlinked(strands: int, sides: str, wanted: set[int]) -> Iterator[tuple[tuple[str, ...], Word]]:
    """The unlinked patterns with these running numbers, each with the crossings of its set."""
    number = 0
    for family in families(strands, sides):
        for signs in family.signs:
            if number in wanted:
                once = tuple(s * i for s, i in zip(signs, family.places, strict=True))
                yield family.pattern(signs), once * family.repeats
            number += 1


def second_opinion(page: Atlas, sides: str, workable: int) -> str:
    """What the second method says of one order of sides."""
    n = page.strands
    if len(sides) == 2 or (n, len(sides)) in ((3, 4), (4, 4)):
        found = brute_force(n, sides)
        return f"all patterns: {found} workable{'' if found == workable else '  NOT THE SAME'}"
    many, passed = sieved(n, sides)
    wanted = set(range(many)) if many < 25_000 else set(random.Random(5).sample(range(many), SAMPLE))
    wrong = sum(second_method.trivial_on_sphere(n, w) != (p in passed) for p, w in unlinked(n, sides, wanted))
    return f"{len(wanted)} unlinked patterns: {wrong} decided otherwise"


def volumes(page: Atlas) -> str:
    import snappy
    import spherogram

    del snappy  # spherogram finds volumes only where snappy is
    seen = {round(float(spherogram.Link(braid_closure=list(e.word)).exterior().volume()), 4) for e in page.first_ways()}
    return f"{len(seen)} volumes"


def show(strands: int, pairs: int, links: bool) -> None:
    began = time.perf_counter()
    page = atlas(strands, pairs)
    took = time.perf_counter() - began
    _ = [e.plan.schedules for e in page.worked_out()]
    with_passes = time.perf_counter() - began
    for c in page.counts:
        print(
            f"{strands} strands, {c.sides}: {c.patterns} patterns, {c.unlinked} unlinked, {c.workable} workable: "
            f"{c.unbraided} braid nothing, {c.repeats} repeat, {c.braids} braid"
        )
        print(f"    second method, {second_opinion(page, c.sides, c.workable)}")
    print(
        f"  = {len(page.entries)} classes that braid ({sum(not e.takes_back for e in page.entries)} without a turn taken back), "
        f"{page.braids} finished braids at most{', ' + volumes(page) if links else ''}; {len(page.unbraided)} classes that "
        f"braid nothing; sets of {', '.join(map(str, sorted({e.turns for e in page.entries}))) or 'no'} turns"
    )
    print(f"    listed in {took:.1f} s, with passes {with_passes:.1f} s", flush=True)


if __name__ == "__main__":
    long = "--long" in sys.argv
    for n in range(3, 8):
        show(n, 1, True)
    for n in range(3, 8 if long else 6):
        show(n, 2, n < 5 or (long and n < 6))
    for n in (3, 4) if long else ():
        show(n, 3, False)
    print(f"memory, most: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
