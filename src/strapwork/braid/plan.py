"""From a way of braiding to a set: how many turns, and when the tab passes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import islice, product
from typing import Literal

from strapwork.braid import passes, proof
from strapwork.braid.geometry import Plait, plait_of
from strapwork.braid.passes import Schedule
from strapwork.braid.proof import Verdict
from strapwork.braid.word import (
    MOST_CROSSINGS,
    Turn,
    crossings,
    mirrored,
    parse_turns,
    plain_turns,
    positions_after,
    reach,
    turn,
    weave_turns,
)
from strapwork.catalogue import marked

MOST_REPEATS = 60


@dataclass(frozen=True)
class Plan:
    """One way of braiding, decided.

    Attributes:
        strands: number of strands.
        pattern: the turns that repeat.
        repeats: how often they repeat in one set (0 when no set was found).
        verdict: of the set; when none was found, of the first repeat at which
            every strand is back in its place (or of the last one tried).
        tried: repeats that were tried.
        reasons: how often each reason against was met.
        mirror_of: the right-handed plan that this is the mirror image of; None for a right hand.
    """

    strands: int
    pattern: tuple[Turn, ...]
    repeats: int
    verdict: Verdict
    tried: int
    reasons: tuple[tuple[str, int], ...]
    mirror_of: Plan | None = None

    @property
    def hand(self) -> Literal["right", "left"]:
        """The hand that works it; a left hand works the mirror image."""
        return "right" if self.mirror_of is None else "left"

    @property
    def workable(self) -> bool:
        return self.repeats > 0

    @cached_property
    def turns(self) -> tuple[Turn, ...]:
        """All turns of one set."""
        return self.pattern * self.repeats

    @cached_property
    def schedules(self) -> list[Schedule]:
        """All schedules with the fewest passes, easiest first."""
        if self.mirror_of is not None:
            return [passes.mirrored(self.strands, s) for s in self.mirror_of.schedules]
        return passes.schedules(self.strands, self.turns) if self.workable else []

    @property
    def schedule(self) -> Schedule:
        return self.schedules[0] if self.schedules else ()

    @cached_property
    def plait(self) -> Plait:
        return plait_of(self.strands, self.turns or self.pattern)


def decide(strands: int, pattern: Sequence[Turn], most_repeats: int = MOST_REPEATS) -> Plan:
    """Look for the smallest number of repeats of ``pattern`` that makes a workable set."""
    pattern = tuple(pattern)
    once = crossings(pattern)
    reasons: dict[str, int] = {}
    first: Verdict | None = None
    verdict = Verdict(False, marked("not pure"))
    tried = 0
    for k in range(1, most_repeats + 1):
        if k > 1 and k * len(once) > MOST_CROSSINGS:
            break
        tried = k
        verdict = proof.judge(strands, once * k)
        if verdict.workable:
            return Plan(strands, pattern, k, verdict, k, tuple(sorted(reasons.items())))
        reasons[verdict.reason] = reasons.get(verdict.reason, 0) + 1
        if verdict.reason != "not pure" and first is None:
            first = verdict
    return Plan(strands, pattern, 0, first or verdict, tried, tuple(sorted(reasons.items())))


@lru_cache(maxsize=256)
def standard(strands: int, weave: str = "over") -> Plan:
    """The plan of plain turns worked over or under (``plain`` is over), or of the over-under weave."""
    if weave == "over-under":
        return decide(strands, weave_turns(strands))
    return decide(strands, plain_turns(strands, over=weave != "under"))


@lru_cache(maxsize=256)
def for_hand(plan: Plan, hand: str) -> Plan:
    """The plan as a hand works it: a right-handed plan, mirrored for the left."""
    if hand == "right":
        return plan
    return replace(plan, pattern=mirrored(plan.strands, plan.pattern), mirror_of=plan)


@lru_cache(maxsize=256)
def from_turns(strands: int, text: str, place: str) -> Plan:
    """The plan of a typed turn pattern."""
    return decide(strands, parse_turns(text, strands, place))


@lru_cache(maxsize=64)
def neighbours(strands: int, limit: int = 6) -> tuple[Plan, ...]:
    """Small turn patterns of ``strands`` strands that do work, for when the plain ones do not.

    Tries every over and under of a right and a left turn with every reach; for
    an even count also two rights and two lefts that run across all strands.
    """
    sets = (_first_home(strands, pattern, repeats) for pattern, repeats in _small_patterns(strands))
    return tuple(islice((plan for plan in sets if plan is not None), limit))


def _small_patterns(strands: int) -> Iterator[tuple[tuple[Turn, ...], int]]:
    """The turns to try, and how often they may repeat."""
    faces = (True, False)
    span = range(strands - 1, 0, -1) if strands <= 6 else (reach(strands, "R"),)
    for a in span:
        b = strands - 1 - a
        if b <= 0:
            continue
        for right, left in product(product(faces, repeat=a), product(faces, repeat=b)):
            yield (turn(strands, "R", right), turn(strands, "L", left)), 3 * strands
    if strands == 4:
        for four in product(product(faces, repeat=strands - 1), repeat=4):
            yield tuple(turn(strands, side, overs) for side, overs in zip("RLRL", four, strict=True)), 1


def _first_home(strands: int, pattern: tuple[Turn, ...], repeats: int) -> Plan | None:
    """The plan of as many repeats as bring every strand home, where that is a set and not no braid at all."""
    once = crossings(pattern)
    for k in range(1, repeats + 1):
        if positions_after(strands, once * k) == tuple(range(1, strands + 1)):
            verdict = proof.judge(strands, once * k)
            if verdict.workable and not proof.is_trivial_braid(strands, once * k):
                return Plan(strands, pattern, k, verdict, k, ())
            return None
    return None
