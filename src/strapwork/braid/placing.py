"""From a run of passes to one that hands can make: after which turn each, and which of equal runs is easiest."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from strapwork.braid.loops import Slot
from strapwork.braid.passes import Face, Schedule, TabPass


def placed(run: Sequence[Slot], at: int, planned: Schedule) -> Schedule:
    """A run with a turn chosen for every pass: where the card has that pass, else as soon as it can be made."""
    out: list[TabPass] = []
    for k, slot in enumerate(run):
        last = min(s.high for s in run[k:])
        face: Face = "front" if slot.sign > 0 else "back"
        soon = max(at, slot.low)
        usual = (TabPass(h, slot.gap, face) for h in range(soon, last + 1))
        chosen = next((p for p in usual if p in planned), TabPass(soon, slot.gap, face))
        out.append(chosen)
        at = chosen.after_turn
    return tuple(out)


def hardness(run: Schedule, at: int, planned: Schedule, strands: int) -> tuple[float, ...]:
    """What decides between runs of equal cost; smaller is easier."""
    return (
        sum(p.after_turn > at and p not in planned for p in run),
        sum(p.after_turn for p in run),
        sum(a.face != b.face for a, b in itertools.pairwise(run)),
        sum(abs(p.gap - strands / 2) for p in run),
        *(x for p in run for x in (p.after_turn, p.gap, p.sign)),
    )
