"""What a step needs, what it would block, and the order that follows.

A step names by keys the steps that must come before it (``after``) and those
that it would block and that must come after it (``before``).  A key such as
``rivet`` means every step of that kind, ``rivet:start`` those of one end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

# The habit of the bench, where needs leave the order open (common practice, no source).
HABIT = (
    "check", "cut", "line", "mark", "punch", "slot", "relief", "slit", "shape", "keeper-made", "wet", "braid", "even", "dry",
    "snap", "magnet", "eyelet", "end", "ring", "tie", "butt", "close", "measure",
)  # fmt: skip
# One end is finished before the other is begun.
AT_AN_END = ("keeper", "bar", "fold", "rivet", "fasten")


@dataclass(frozen=True, slots=True)
class Step:
    """One step at the bench.

    Attributes:
        key: what it is, e.g. ``rivet:start:2``.
        title: the verb, in bold on the card.
        text: the rest of it.
        deals: the drawn features that are dealt with in it: holes, slits, marks, footprints, fittings, the outline.
        after: keys of what must be done before it.
        before: keys of what it would block, or spoil, if it came later than they do.
    """

    key: str
    title: str
    text: str
    deals: tuple[object, ...] = ()
    after: tuple[str, ...] = ()
    before: tuple[str, ...] = ()


def named(key: str, wanted: str) -> bool:
    """Whether ``key`` is ``wanted`` or of that kind."""
    return key == wanted or key.startswith(f"{wanted}:")


def _habit(step: Step) -> int:
    kind = step.key.split(":")[0]
    return HABIT.index("end" if kind in AT_AN_END else kind)


def in_order(steps: Sequence[Step]) -> list[Step]:
    """The steps so that every need is met, and by habit where needs leave it open.

    Raises:
        ValueError: when needs run in a ring.
    """
    left = sorted(steps, key=_habit)
    first: dict[str, set[str]] = {s.key: set() for s in left}
    for s in left:
        for other in left:
            if other is s:
                continue
            if any(named(other.key, k) for k in s.after):
                first[s.key].add(other.key)
            if any(named(other.key, k) for k in s.before):
                first[other.key].add(s.key)
    out: list[Step] = []
    while left:
        done = {s.key for s in out}
        ready = next((s for s in left if first[s.key] <= done), None)
        if ready is None:
            raise ValueError(f"the needs of {', '.join(s.key for s in left)} run in a ring")
        out.append(ready)
        left.remove(ready)
    return out
