"""Is every spoiled set mended, and how fast?  python tests/bench/rescue.py [FIRST [LAST [STRANDS]]]

Spoils sets of 3 to 7 strands at random (number FIRST to LAST, else 1 to 10,000;
each number is its own seed): one to three slips in a set or two, stopped
anywhere.  With STRANDS, plain turns of that many.  Every mend is replayed step by step by rules written out here, and
the finished work is proven twice, by the matrices of the proof and by
Dynnikov's coordinates, together with the ribbon turns of every strand.
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter

from strapwork.braid import passes, plan, proof
from strapwork.braid.dynnikov import coordinates
from strapwork.braid.passes import TabPass
from strapwork.braid.rescue import Mend, mend
from strapwork.braid.way import Way, way_of
from strapwork.braid.word import Turn, crossings, positions_after
from strapwork.braid.work import Back, Done, Pass, Work

PATTERNS = {
    3: ("Ro Lo", "Ru Lu"),
    4: ("Rooo Luoo Ruuu Louu", "Roou Looo Ruuo Luuu"),
    5: ("Roo Loo", "Roou Lo", "Ru Luuo"),
    6: ("Rooooo Luoooo Ruuuuu Louuuu", "Rooooo Luuooo Ruuuuu Loouuu"),
    7: ("Rooo Looo", "Ruuu Luuu"),
}


def spoiled(rng: random.Random, way: Way) -> Done:
    """One to three slips somewhere in a set or two, stopped anywhere."""
    n, sets = way.strands, rng.choice((1, 1, 1, 2))
    turns = list(way.turns_to(sets * way.per_set))
    made = list(way.planned(sets * way.per_set))
    for _ in range(rng.randint(1, 3)):
        kind = rng.choice(("forget", "gap", "face", "when", "extra", "turn"))
        if kind == "extra":
            made.append(TabPass(rng.randint(0, len(turns)), rng.randint(1, n - 1), rng.choice(("front", "back"))))
        elif kind == "turn" and rng.random() < 0.5:
            k = rng.randrange(len(turns))
            turns[k] = Turn(turns[k].side, tuple(rng.choice((c, -c)) for c in turns[k].crossings))
        elif made:
            k = rng.randrange(len(made))
            p = made.pop(k)
            if kind == "gap":
                made.append(TabPass(p.after_turn, rng.randint(1, n - 1), p.face))
            elif kind == "face":
                made.append(TabPass(p.after_turn, p.gap, "back" if p.face == "front" else "front"))
            elif kind == "when":
                at = min(len(turns), max(0, p.after_turn + rng.randint(-2, 2)))
                made.append(TabPass(at, p.gap, p.face))
    made.sort(key=lambda p: p.after_turn)
    stop = rng.randint(1, len(turns))
    return Done(tuple(turns[:stop]), tuple(p for p in made if p.after_turn <= stop))


def replayed(n: int, per_set: int, m: Mend) -> bool:
    """The steps worked out one by one on the strands below, and judged."""
    events: list[tuple[str, tuple[int, ...], tuple[int, ...]]] = []  # kind, crossings put under the work, twists

    def tab(gap: int, face: str) -> None:
        order = positions_after(n, tuple(c for kind, w, _ in events if kind == "turn" for c in passes.inverse(w)))
        sign = 1 if face == "front" else -1
        twist = [0] * n
        for place, strand in enumerate(order, start=1):
            twist[strand - 1] = sign if place <= gap else -sign
        events.append(("pass", passes.pass_word(n, gap, sign), tuple(twist)))

    def turn(t: Turn) -> None:
        events.append(("turn", passes.inverse(t.crossings), ()))

    todo = list(m.done.passes)
    for k in range(len(m.done.turns) + 1):
        while todo and todo[0].after_turn == k:
            p = todo.pop(0)
            tab(p.gap, p.face)
        if k < len(m.done.turns):
            turn(m.done.turns[k])
    for step in m.steps:
        match step:
            case Pass(gap, face):
                tab(gap, face)
            case Work(t):
                turn(t)
            case Back(count):
                while count:
                    count -= events.pop()[0] == "turn"
    below = tuple(c for _, w, _ in reversed(events) for c in w)
    worked = sum(kind == "turn" for kind, _, _ in events)
    twists = [sum(x) for x in zip(*(t for kind, _, t in events if kind == "pass"), strict=True)]
    return (
        worked > 0
        and worked % per_set == 0
        and not any(twists)
        and proof.is_trivial_braid(n, below)
        and coordinates(n, below) == [0, 1] * n
    )


def main() -> None:
    first = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    last = int(sys.argv[2]) if len(sys.argv) > 2 else 10_000
    patterns = {int(sys.argv[3]): ("",)} if len(sys.argv) > 3 else PATTERNS
    ways = {
        n: [
            way_of(plan.from_turns(n, text, "bench") if text else plan.standard(n), left)
            for text in texts
            for left in (False, True)
        ]
        for n, texts in patterns.items()
    }
    tally: Counter[str] = Counter()
    worst: dict[int, tuple[float, str]] = {}
    total = 0.0
    for number in range(first, last + 1):
        rng = random.Random(number)
        n = rng.choice(list(ways))
        way = rng.choice(ways[n])
        while True:
            done = spoiled(rng, way)
            began = time.process_time()
            m = mend(way, done)
            took = time.process_time() - began
            if m.state == "mend":
                break
            tally["well after all, drawn again"] += 1
        if not replayed(n, way.per_set, m):
            print(f"NOT MENDED: number {number}, {n} strands, {done}")
            raise SystemExit(1)
        total += took
        tally[f"{n} strands"] += 1
        tally["mended and proven"] += 1
        tally["proven least" if m.exact else "best found"] += 1
        tally["with turns taken back" if m.turns_back else "by passes alone"] += 1
        tally[f"within a second, {n} strands"] += took < 1.0
        line = f"number {number}: {len(done.turns)} turns of {crossings(way.turns)[:8]}.., {len(m.passes)} passes, {m.turns_back} turns back"
        worst[n] = max(worst.get(n, (0.0, "")), (took, line))
    for name, count in sorted(tally.items()):
        print(f"{count:6d}  {name}")
    print(f"{1000 * total / (last - first + 1):.1f} ms of processor time a mend on average")
    for n, (took, line) in sorted(worst.items()):
        print(f"slowest of {n} strands: {took:.2f} s, {line}")


if __name__ == "__main__":
    main()
