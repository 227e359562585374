"""The least work that brings spoiled work to a good end of the set.

A good end is a whole number of sets' turns with the strands below hanging free
and every strand untwisted; the end in question is that of the set which the
turns that are kept have begun.  From what was done one may make passes, go on with
the turns of the braid, and take back the last turns with every pass made since
the first of them.

What work costs
---------------
Counted in half turns, so that the numbers stay whole:

* a turn taken back costs ``BACK`` = 4: it is opened once and worked once more;
* a pass costs ``PASS`` = 3, whether it is made or taken out again: the whole
  strap that hangs below goes through the gap, which gap it is makes no
  difference, and within a set that length hardly changes;
* turns not worked before cost nothing: they come in any case.

Where answers end at different sets, the passes that the sets take anyway are
not counted against either.

So a pass counts as one turn and a half.  No source gives that figure (common
practice, no source), but its bounds can be seen: below one turn nobody would
ever take a turn back for a pass forgotten just before it, above two turns one
would rather open two drawn-up turns than make two more passes.  Between them
the answers are these: noticed one turn late, take the turn back; noticed two
turns late in three strands, make four passes instead of two and leave the turns
alone.

Among answers of equal cost the first takes fewest turns back, then puts things
right at once and goes on as the card says, then changes faces least.

How it is found
---------------
Taking turns back first and never later is enough: what would be made before
would be taken back as well.  So every number of turns taken back is one start,
and from each the fewest passes among the turns to come are looked up in the
tables of :mod:`strapwork.braid.tables`, cheapest first, until nothing left can
be cheaper.  Where no turn is left to work the answer is read off the free group
(:mod:`strapwork.braid.spelling`).  Where the tables end, or more than
``MOST_LOOKED_AT`` runs would have to be looked at, that is said: the answer is
then the best found, with the least cost that was not ruled out.  Every answer
is proven by :func:`strapwork.braid.passes.is_right` before it is given.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from strapwork.braid import passes, proof
from strapwork.braid.loops import Loops
from strapwork.braid.passes import Schedule, TabPass
from strapwork.braid.placing import hardness, placed
from strapwork.braid.spelling import spelled
from strapwork.braid.tables import Tables
from strapwork.braid.way import Way, as_planned, loops_of, since_good
from strapwork.braid.word import Turn, crossings
from strapwork.braid.work import Back, Done, Pass, Step, Work
from strapwork.catalogue import tr
from strapwork.errors import InputError

BACK = 4
PASS = 3
MOST_LOOKED_AT = 5_000_000
SHARED = 4  # starts so many turns apart use one table
MUCH = 500_000  # rows of one question; such questions may not take all
MOST_FOR_MUCH = 3_300_000


@dataclass(frozen=True)
class Mend:
    """What to do next, up to a good end of the set.

    Attributes:
        state: ``"well"`` when what was done is on a right way, else ``"mend"``.
        steps: everything to do, in order; together with what was done a finished set.
        cost: what the steps cost, in half turns (see the module docstring).
        at_least: the least cost that is not ruled out; equal to ``cost`` when
            the answer is the best there is.
        done: what was done, from the last good end of a set on.
        sets_before: whole good sets before that.
    """

    state: str
    steps: tuple[Step, ...]
    cost: int
    at_least: int
    done: Done
    sets_before: int = 0

    @property
    def exact(self) -> bool:
        return self.at_least >= self.cost

    @cached_property
    def end(self) -> Done:
        """The finished work, from the last good end on."""
        return self.done.then(self.steps)

    @property
    def turns_back(self) -> int:
        return sum(s.turns for s in self.steps if isinstance(s, Back))

    @property
    def passes(self) -> tuple[Pass, ...]:
        return tuple(s for s in self.steps if isinstance(s, Pass))


def mend(way: Way, done: Done, *, keep_turns: bool = False, most_sets: int | None = None) -> Mend:
    """The least work from ``done`` to a good end of the set.

    Args:
        way: the braid in hand.
        done: everything worked so far.
        keep_turns: never take a turn back.
        most_sets: sets that the strap is to have; no answer goes on past them.

    Raises:
        InputError: with ``keep_turns`` only, when no way out was found that keeps every turn.
    """
    now, sets = since_good(way, done)
    if sets and now == Done():
        return Mend("well", (), 0, 0, now, sets)
    room = None if most_sets is None else most_sets - sets
    rest = as_planned(way, now)
    if rest is not None and (room is None or room > 0):
        end = max(1, -(-len(now.turns) // way.per_set)) * way.per_set
        cost = PASS * len(rest)
        return Mend("well", steps_of(now, way.turns_to(end), rest), cost, cost, now, sets)
    if room is not None and room <= 0 and not keep_turns:
        steps, cost = _opened(now)
        return Mend("mend", steps, cost, cost, now, sets)
    found = _Search(way, now, keep_turns, room).best()
    if found is None:
        assert keep_turns  # everything taken back is a way out
        raise InputError(
            "--keep-turns",
            tr("no way out was found that keeps every turn"),
            tr("leave it out, so that turns may be taken back"),
        )
    at = len(now.turns)
    as_on_card = tuple(p for p in way.planned(len(found.turns)) if p.after_turn >= at)
    state = "well" if not found.back and found.run == as_on_card else "mend"  # other turns, yet nothing lost
    return Mend(state, steps_of(now, found.turns, found.run, found.back), *found.costs, now, sets)


def steps_of(done: Done, turns: Sequence[Turn], rest: Sequence[TabPass], back: int = 0) -> tuple[Step, ...]:
    """Turns taken back, then passes and turns in order up to the last of ``turns``."""
    out: list[Step] = [Back(back)] if back else []
    for j in range(len(done.turns) - back, len(turns) + 1):
        out += [Pass(p.gap, p.face) for p in rest if p.after_turn == j]
        if j < len(turns):
            out.append(Work(turns[j]))
    return tuple(out)


def _opened(done: Done) -> tuple[tuple[Step, ...], int]:
    """Everything since the last good set taken back, and what that costs: there is no room for another set."""
    extra = [p for p in done.passes if p.after_turn == 0]
    undone = tuple(Pass(p.gap, "back" if p.face == "front" else "front") for p in reversed(extra))
    back = (Back(len(done.turns)),) if done.turns else ()
    return (*back, *undone), BACK * len(done.turns) + PASS * len(done.passes)


@dataclass(frozen=True)
class _Start:
    """One number of turns taken back: where the work then stands and how far it has to go."""

    back: int
    done: Done
    turns: tuple[Turn, ...]
    opened: int
    usual: int

    @property
    def at(self) -> int:
        return len(self.done.turns)

    def cost(self, made: int) -> int:
        """To compare by: without the passes that the sets take anyway."""
        return self.opened + PASS * (made - self.usual)


@dataclass(frozen=True)
class _Found:
    back: int
    turns: tuple[Turn, ...]
    run: Schedule
    costs: tuple[int, int]


class _Search:
    """All starts, the cheapest question first."""

    def __init__(self, way: Way, done: Done, keep_turns: bool, room: int | None) -> None:
        self.way, self.done, self.keep_turns, self.room = way, done, keep_turns, room

    def _starts(self) -> Iterator[_Start]:
        """What is left after every number of turns taken back, ways that cannot end well left out."""
        way, done = self.way, self.done
        for back in range(1 if self.keep_turns else len(done.turns) + 1):
            left = done.back(back)
            at = len(left.turns)
            sets = max(1, -(-at // way.per_set))
            turns = (*left.turns, *way.turns_to(sets * way.per_set)[at:])
            if (self.room is None or sets <= self.room) and _can_end_well(way.strands, turns):
                undone = len(done.passes) - len(left.passes)
                yield _Start(back, left, turns, BACK * back + PASS * undone, sets * len(way.schedule))

    def best(self) -> _Found | None:
        """The cheapest way out; the first of equals takes fewest turns back."""
        starts: list[_Start] = []
        queue: list[tuple[int, int, int]] = []  # cost, start, passes
        safe: tuple[int, int, Schedule] | None = None  # cost, start, run: good without a search
        for k, s in enumerate(self._starts()):
            if safe is not None and s.cost(0) > safe[0]:
                break
            starts.append(s)
            rest = as_planned(self.way, s.done)
            runs: list[Schedule] = []
            settled = rest is not None
            if rest is not None:
                runs = [rest]
            elif not s.at:
                runs = [self._afresh(s)]
            elif not s.back or s.at == len(s.turns):
                runs, settled = self._without_search(s)
            for run in runs:
                if safe is None or s.cost(len(run)) < safe[0]:
                    safe = (s.cost(len(run)), k, run)
            if not settled:
                fewest = max(map(abs, self._loops(s).twists(s.done.passes)))
                heapq.heappush(queue, (s.cost(fewest), k, fewest))
        looked_at, much, not_ruled_out = 0, 0, None
        while queue:
            cost, k, made = heapq.heappop(queue)
            if safe is not None and (cost, k) >= safe[:2]:
                break
            s = starts[k]
            tables = _tables(self.way.strands, s.turns, s.at - s.at % SHARED)
            rows = tables.price(made)
            dear = rows is not None and rows > MUCH
            if rows is None or looked_at + rows > MOST_LOOKED_AT or (dear and much + rows > MOST_FOR_MUCH):
                not_ruled_out = cost if not_ruled_out is None else min(cost, not_ruled_out)
                continue
            looked_at += rows
            much += rows if dear else 0
            chosen = self._chosen(s, tables, made)
            if chosen is not None:
                safe = (cost, k, chosen)
                break
            heapq.heappush(queue, (s.cost(made + 2), k, made + 2))
        if safe is None:
            return None
        cost, k, run = safe
        least = cost if not_ruled_out is None else min(cost, not_ruled_out)
        usual = PASS * starts[k].usual
        return _Found(starts[k].back, starts[k].turns, run, (cost + usual, least + usual))

    def _loops(self, s: _Start) -> Loops:
        return loops_of(self.way.strands, s.turns)

    def _right(self, s: _Start, run: Schedule) -> bool:
        return passes.is_right(self.way.strands, s.turns, (*s.done.passes, *run))

    def _chosen(self, s: _Start, tables: Tables, made: int) -> Schedule | None:
        """The easiest right run of exactly ``made`` passes."""
        loops = self._loops(s)
        wanted = loops.wanted(s.done.passes)
        assert wanted is not None  # else the start was left out
        twist = [-f for f in loops.twists(s.done.passes)]
        planned = self.way.planned(loops.end)
        runs = dict.fromkeys(placed(run, s.at, planned) for run in tables.find(made, wanted, twist, s.at))
        ranked = sorted(runs, key=lambda r: hardness(r, s.at, planned, self.way.strands))
        return next((r for r in ranked if self._right(s, r)), None)

    def _afresh(self, s: _Start) -> Schedule:
        """Before the first turn: the passes made there taken out again, the last one first, then the card's.

        So a way out that takes turns back is always known.
        """
        made = [p for p in s.done.passes if p.after_turn == 0]
        out = (TabPass(0, p.gap, "back" if p.face == "front" else "front") for p in reversed(made))
        return (*out, *self.way.schedule)

    def _without_search(self, s: _Start) -> tuple[list[Schedule], bool]:
        """Right runs of passes read off the free group, and whether there can be no others.

        They are made all at the end of the set, or here and then as planned.
        Where no turn is left the one is the only run there is.
        """
        n, way, at = self.way.strands, self.way, s.at
        here = passes.below(n, s.done.turns, s.done.passes)
        at_end = spelled(n, passes.inverse(crossings(s.turns[at:])) + here, len(s.turns))
        runs = [at_end]
        if at < way.per_set and way.begins_like(s.done.turns):
            for made in range(len(way.schedule) + 1):
                before, after = way.schedule[:made], way.schedule[made:]
                if all(p.after_turn <= at for p in before) and all(p.after_turn >= at for p in after):
                    mended = spelled(n, here + passes.inverse(passes.below(n, s.done.turns, before)), at)
                    runs.append(None if mended is None else (*mended, *after))
        right = [run for run in runs if run is not None and self._right(s, run)]
        return right, at == len(s.turns) and at_end is not None


@lru_cache(maxsize=512)
def _can_end_well(strands: int, turns: tuple[Turn, ...]) -> bool:
    return proof.judge(strands, crossings(turns)).workable


@lru_cache(maxsize=24)
def _tables(strands: int, turns: tuple[Turn, ...], now: int) -> Tables:
    return Tables(loops_of(strands, turns), now)
