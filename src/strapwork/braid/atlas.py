"""The braider's atlas: every pattern of a few turns that can be worked in a strap.

For a number of strands and of right and left turns, every reach and every over
and under is decided, and the workable patterns are put together in classes (mirror,
turned over, begun with another turn; :mod:`strapwork.braid.patterns`) and the
classes in finished braids (:mod:`strapwork.braid.kinds`).

How many there are is settled in three steps, each of which only throws out what
cannot be worked: strands that come home unlinked (:mod:`strapwork.braid.unlinked`),
a sieve (:mod:`strapwork.braid.many`), and the proof for one pattern of each class.
A set of any length is covered, as the first homecoming decides.

Some workable patterns braid nothing: each turn takes back the other, and the set
is the trivial braid.  They are counted apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from strapwork.braid import kinds, passes, patterns, proof
from strapwork.braid.holding import layers, least_braided
from strapwork.braid.many import may_be_trivial_on_sphere
from strapwork.braid.patterns import Pattern
from strapwork.braid.plan import Plan
from strapwork.braid.unlinked import families
from strapwork.braid.word import Word, crossings
from strapwork.catalogue import tr
from strapwork.errors import InputError

LEAST_STRANDS = 3
# Pairs of turns in a pattern, and up to how many strands all patterns can be listed in a few minutes.
MOST_STRANDS = {1: 7, 2: 7, 3: 4}
MOST_SHOWN = 60
MOST_SEARCHED = 4  # passes in a schedule that the search finds


@dataclass(frozen=True, slots=True)
class Count:
    """How many patterns of one order of sides there are, and what became of them.

    Attributes:
        sides: order of the sides, such as ``"RL"``.
        patterns: every reach, every over and under.
        unlinked: those whose strands come home with no two of them linked.
        workable: those that can be worked in a strap.
        repeats: workable ones that are a shorter pattern worked several times.
        unbraided: workable ones, not repeats, whose set is the trivial braid.
    """

    sides: str
    patterns: int
    unlinked: int
    workable: int
    repeats: int
    unbraided: int

    @property
    def braids(self) -> int:
        """Workable patterns that braid something and repeat nothing shorter."""
        return self.workable - self.repeats - self.unbraided


@dataclass(frozen=True)
class Entry:
    """One class of patterns that can be worked and do braid.

    Attributes:
        strands: number of strands.
        pattern: the member that is offered.
        repeats: rounds of the pattern in a set.
        size: patterns in the class.
        braid: number of the finished braid among those of as many strands, from 1.
        way: number of the class among those that give this finished braid, from 1.
        needed: crossings of a round that are left when what turns take back at once is left out.
        shorter: a pattern of fewer turns that gives the same finished braid, if there is one.
    """

    strands: int
    pattern: Pattern
    repeats: int
    size: int
    braid: int
    way: int
    needed: int
    shorter: Pattern | None = None

    @property
    def turns(self) -> int:
        """Turns in a set."""
        return self.repeats * len(self.pattern)

    @cached_property
    def plan(self) -> Plan:
        """The pattern as a plan, with its turns and schedules."""
        turns = patterns.turns_of(self.strands, self.pattern)
        verdict = proof.judge(self.strands, crossings(turns) * self.repeats)
        return Plan(self.strands, turns, self.repeats, verdict, self.repeats, ())

    @property
    def word(self) -> Word:
        """The crossings of one set."""
        return crossings(self.plan.turns)

    @property
    def name(self) -> str:
        """The finished braid and the way to it, such as ``"5.1a"``."""
        letters, k = "", self.way
        while k:
            k, digit = divmod(k - 1, 26)
            letters = chr(97 + digit) + letters
        return f"{self.strands}.{self.braid}{letters}"

    @property
    def takes_back(self) -> bool:
        """Whether a turn takes back part of the turn before it."""
        return self.needed < len(crossings(self.plan.pattern))

    @property
    def fewest_known(self) -> bool:
        """Whether the schedules have the fewest passes there are.

        Two passes and four are searched exhaustively; a longer schedule is built
        at the end of the set and may be longer than need be.
        """
        return bool(self.plan.schedules) and len(self.plan.schedules[0]) <= MOST_SEARCHED

    @cached_property
    def least_tangle(self) -> float | None:
        """The least tangle of all schedules with the fewest passes; None where these are not known."""
        if not self.fewest_known:
            return None
        return min(passes.effort(self.strands, self.plan.turns, s).tangle for s in self.plan.schedules)

    @cached_property
    def taken_up(self) -> tuple[int, ...]:
        """Strands that are taken up by some turn of the set; the others only let it pass."""
        order = list(range(1, self.strands + 1))
        moved = set()
        for t in self.plan.turns:
            moved.add(order[-1] if t.side == "R" else order[0])
            for c in t.crossings:
                i = abs(c)
                order[i - 1], order[i] = order[i], order[i - 1]
        return tuple(sorted(moved))

    @cached_property
    def hangs_together(self) -> bool:
        """Whether no strand or group of strands simply lies on top of the others."""
        return len(layers(self.strands, self.word)) == 1

    @cached_property
    def least_braided(self) -> tuple[tuple[int, ...], ...]:
        """The smallest groups of strands that are braided (see :mod:`strapwork.braid.holding`)."""
        return least_braided(self.strands, self.word)

    @property
    def brunnian(self) -> bool:
        """Whether taking out any one strand leaves all others unbraided."""
        return self.least_braided == (tuple(range(1, self.strands + 1)),)


@dataclass(frozen=True)
class Atlas:
    """All that can be worked with so many strands and turns.

    Attributes:
        strands: number of strands.
        pairs: right turns in a pattern, and left turns.
        counts: one for each order of the sides.
        entries: the classes, by finished braid.
        unbraided: a pattern of each class that can be worked but braids nothing, with the size of the class.
    """

    strands: int
    pairs: int
    counts: tuple[Count, ...]
    entries: tuple[Entry, ...]
    unbraided: tuple[tuple[Pattern, int], ...]

    @property
    def braids(self) -> int:
        """How many finished braids the classes give, at most (see :mod:`strapwork.braid.kinds`)."""
        return max((e.braid for e in self.entries), default=0)

    def worked_out(self) -> tuple[Entry, ...]:
        """The classes whose passes are worked out: all of them, or where they are many one for each of the first braids."""
        return self.entries if len(self.entries) <= MOST_SHOWN else self.first_ways()[:MOST_SHOWN]

    def first_ways(self) -> tuple[Entry, ...]:
        """One class for each finished braid, the one with the fewest crossings."""
        return tuple(e for e in self.entries if e.way == 1)


def sieved(strands: int, sides: str) -> tuple[int, dict[Pattern, int]]:
    """How many patterns come home unlinked, and those that pass the sieve, with their rounds in a set.

    No use is made of symmetry here.
    """
    unlinked = 0
    passed: dict[Pattern, int] = {}
    for family in families(strands, sides):
        unlinked += len(family.signs)
        kept = may_be_trivial_on_sphere(strands, family.places, family.repeats, family.signs)
        for signs, good in zip(family.signs, kept, strict=True):
            if good:
                passed[family.pattern(signs)] = family.repeats
    return unlinked, passed


def atlas(strands: int, pairs: int = 1) -> Atlas:
    """Decide all patterns of ``pairs`` right and as many left turns.

    Raises:
        InputError: when there are too many of them to be listed.
    """
    check_listed(strands, pairs)
    counts, unbraided = [], []
    found: list[tuple[Pattern, int, int]] = []
    for sides in patterns.side_orders(pairs):
        unlinked, passed = sieved(strands, sides)
        workable = repeats = idle = 0
        while passed:
            pattern, rounds = next(iter(passed.items()))
            members = patterns.members(pattern)
            for m in members:
                passed.pop(m, None)
            best = min(members, key=patterns.first_choice)
            word = crossings(patterns.turns_of(strands, best)) * rounds
            if not proof.judge(strands, word).workable:
                continue
            workable += len(members)
            if patterns.is_repeat(best):
                repeats += len(members)
            elif proof.is_trivial_braid(strands, word):
                idle += len(members)
                unbraided.append((best, len(members)))
            else:
                found.append((best, rounds, len(members)))
        counts.append(Count(sides, patterns.count(strands, len(sides)), unlinked, workable, repeats, idle))
    entries = tuple(_by_braid(strands, found, _known(strands, pairs)))
    return Atlas(strands, pairs, tuple(counts), entries, tuple(unbraided))


def _known(strands: int, pairs: int) -> dict[kinds.Form, Pattern]:
    """The finished braids of fewer turns, each with its shortest pattern."""
    known: dict[kinds.Form, Pattern] = {}
    for fewer in range(1, pairs):
        for entry in atlas(strands, fewer).first_ways():
            known.setdefault(kinds.form(strands, crossings(entry.plan.pattern)), entry.pattern)
    return known


def _by_braid(
    strands: int, found: Iterable[tuple[Pattern, int, int]], known: dict[kinds.Form, Pattern]
) -> Iterator[Entry]:
    """The classes, those that give one finished braid together, short ones first."""
    braids: dict[kinds.Form, list[tuple[tuple[int, ...], Pattern, int, int, int]]] = {}
    for pattern, rounds, size in found:
        word = crossings(patterns.turns_of(strands, pattern))
        needed = len(kinds.reduced(word))
        unders, first, _ = patterns.first_choice(pattern)
        rank = (needed, len(word), len(pattern) * rounds, unders, first)
        braids.setdefault(kinds.form(strands, word), []).append((rank, pattern, rounds, size, needed))
    listed = sorted((sorted(ways), form) for form, ways in braids.items())
    for braid, (ways, form) in enumerate(listed, start=1):
        for way, (_, pattern, rounds, size, needed) in enumerate(ways, start=1):
            yield Entry(strands, pattern, rounds, size, braid, way, needed, known.get(form))


def check_listed(strands: int, pairs: int) -> None:
    """Refuse what cannot be listed.

    Raises:
        InputError: naming the strands or the pairs that are too many.
    """
    if pairs not in MOST_STRANDS:
        raise InputError(
            "--pairs", tr("{pairs} right and {pairs} left turns are more than can be listed", pairs=pairs),
            tr("give a count from 1 to {most_strands}", most_strands=max(MOST_STRANDS)),
        )  # fmt: skip
    most = MOST_STRANDS[pairs]
    if not LEAST_STRANDS <= strands <= most:
        turns = (
            tr("one right and one left turn") if pairs == 1 else tr("{pairs} right and {pairs} left turns", pairs=pairs)
        )
        raise InputError(
            "STRANDS", tr("the atlas of {turns} has no page for {strands} strands", turns=turns, strands=strands),
            tr("give a count from {least_strands} to {most}", least_strands=LEAST_STRANDS, most=most),
        )  # fmt: skip
