"""A braid that can be worked, for one hand: the turns of a set and the schedules that go with them."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from strapwork.braid import passes
from strapwork.braid.loops import Loops
from strapwork.braid.passes import Schedule, TabPass
from strapwork.braid.plan import Plan
from strapwork.braid.word import Turn, crossings, mirrored
from strapwork.braid.work import Done
from strapwork.catalogue import tr
from strapwork.errors import InputError


@dataclass(frozen=True)
class Way:
    """Turns and passes of one set as this hand makes them.

    Attributes:
        strands: number of strands.
        turns: the turns of one set.
        schedules: its schedules with the fewest passes, easiest first; at least one.
        left_handed: whether they are mirrored.
    """

    strands: int
    turns: tuple[Turn, ...]
    schedules: tuple[Schedule, ...]
    left_handed: bool = False

    @property
    def per_set(self) -> int:
        return len(self.turns)

    @property
    def schedule(self) -> Schedule:
        return self.schedules[0]

    def turns_to(self, count: int) -> tuple[Turn, ...]:
        """The first ``count`` turns, set after set."""
        return tuple(itertools.islice(itertools.cycle(self.turns), count))

    def begins_like(self, turns: Sequence[Turn]) -> bool:
        """Whether these turns are the braid's own."""
        return crossings(turns) == crossings(self.turns_to(len(turns)))

    def planned(self, end: int) -> Schedule:
        """The passes of the card, set after set, up to turn ``end``."""
        sets = range(-(-end // self.per_set))
        return tuple(TabPass(k * self.per_set + p.after_turn, p.gap, p.face) for k in sets for p in self.schedule)


def way_of(plan: Plan, left_handed: bool = False, place: str = "STRANDS") -> Way:
    """The way of working of a plan.

    Raises:
        InputError: when the braid cannot be worked with both ends joined.
    """
    n = plan.strands
    if not plan.workable or not plan.schedules:
        raise InputError(
            place,
            tr(
                "this braid of {n} strands has no set that can be worked with both ends joined, so no mend ends well",
                n=n,
            ),
            tr("look at 'strapwork braid {n} --search' for turns that do", n=n),
        )
    if not left_handed:
        return Way(n, plan.turns, tuple(plan.schedules))
    return Way(n, mirrored(n, plan.turns), tuple(passes.mirrored(n, s) for s in plan.schedules), True)


def as_worked(plan: Plan, place: str = tr("the braid")) -> Way:
    """The way of working of a plan, for the hand that it is for."""
    return way_of(plan.mirror_of or plan, plan.hand == "left", place)


@lru_cache(maxsize=24)
def loops_of(strands: int, turns: tuple[Turn, ...]) -> Loops:
    """The passes of one way of working, kept because every question about it needs them."""
    return Loops(strands, turns)


def as_planned(way: Way, done: Done) -> Schedule | None:
    """The passes still to come in the set in hand when the strands lie as on a schedule with the fewest passes.

    The card's own schedule is preferred, then one that was followed to the
    letter, then any that leaves the strands lying the same.  None when the
    strands lie otherwise.
    """
    at = len(done.turns)
    if not way.begins_like(done.turns):
        return None
    sets = max(1, -(-at // way.per_set))
    before = (sets - 1) * way.per_set
    good = way.planned(before)
    loops = loops_of(way.strands, way.turns * sets)
    here, twist = loops.product(done.passes), loops.twists(done.passes)
    alike: Schedule | None = None
    for s in way.schedules:
        later = tuple(TabPass(before + p.after_turn, p.gap, p.face) for p in s)
        for made in range(len(s) + 1):
            if (made and later[made - 1].after_turn > at) or (made < len(s) and later[made].after_turn < at):
                continue
            like = (*good, *later[:made])
            if like == done.passes:
                return later[made:]
            if alike is None and loops.product(like) == here and loops.twists(like) == twist:
                alike = later[made:]
    return alike


def since_good(way: Way, done: Done) -> tuple[Done, int]:
    """What was done since the last good end of a set, and how many whole sets went before."""
    for sets in range(len(done.turns) // way.per_set, 0, -1):
        at = sets * way.per_set
        first = sum(1 for p in done.passes if p.after_turn < at)
        last = sum(1 for p in done.passes if p.after_turn <= at)
        for made in range(first, last + 1):
            if passes.is_right(way.strands, done.turns[:at], done.passes[:made]):
                return done.after(at, made), sets
    return done, 0
