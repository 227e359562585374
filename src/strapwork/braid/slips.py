"""The commonest slips in a set, what each looks like at the end of it, and the mend.

Which slips are common is common practice, no source; how they look and how
they are mended is worked out, for every braid that has a set.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from strapwork.braid.looks import Look, look
from strapwork.braid.passes import TabPass
from strapwork.braid.rescue import Mend, mend
from strapwork.braid.way import Way
from strapwork.braid.word import Turn
from strapwork.braid.work import Done

FORGOTTEN, WRONG_STRAND, WRONG_FACE, LATE, UNDER = "forgotten", "wrong strand", "wrong face", "late", "under"


@dataclass(frozen=True)
class Slip:
    """One slip in an otherwise right set.

    Attributes:
        kind: ``"forgotten"``, ``"wrong strand"``, ``"wrong face"``, ``"late"``
            (one turn too many before the pass) or ``"under"`` (a strand taken
            under instead of over, or over instead of under).
        after_turn: the turn it comes after, or the turn it is made in.
        meant, did: the pass or turn that was due, and what was done; None for nothing.
        noticed: the work when it can first be seen.
        at_once: the mend from there.
        whole: the work at the end of the set, all else as planned.
        look: how the strands lie then.
        at_end: the mend from there.
    """

    kind: str
    after_turn: int
    meant: TabPass | Turn
    did: TabPass | Turn | None
    noticed: Done
    at_once: Mend
    whole: Done
    look: Look
    at_end: Mend


def _done(way: Way, turns: int, schedule: Sequence[TabPass]) -> Done:
    made = sorted((p for p in schedule if p.after_turn <= turns), key=lambda p: p.after_turn)
    return Done(way.turns_to(turns), tuple(made))


@lru_cache(maxsize=16)
def slips(way: Way) -> tuple[Slip, ...]:
    """Every common slip of one set, in the order of the set."""
    return tuple(sorted(_all(way), key=lambda s: (ORDER.index(s.kind), s.after_turn)))


ORDER = (FORGOTTEN, WRONG_STRAND, WRONG_FACE, LATE, UNDER)


def _all(way: Way) -> Iterator[Slip]:
    for k, p in enumerate(way.schedule):
        yield from _of_pass(way, k, p)
    seen: set[str] = set()
    for k, t in enumerate(way.turns, start=1):
        if t.side not in seen:
            seen.add(t.side)
            yield _under(way, k, t)


def _of_pass(way: Way, k: int, p: TabPass) -> Iterator[Slip]:
    n, end = way.strands, way.per_set
    others = (*way.schedule[:k], *way.schedule[k + 1 :])

    def slip(kind: str, did: TabPass | None, seen_after: int) -> Slip:
        made = others if did is None else (*way.schedule[:k], did, *way.schedule[k + 1 :])
        noticed, whole = _done(way, seen_after, made), _done(way, max(end, seen_after), made)
        return Slip(
            kind,
            p.after_turn,
            p,
            did,
            noticed,
            mend(way, noticed),
            whole,
            look(n, whole.turns, whole.passes),
            mend(way, whole),
        )

    yield slip(FORGOTTEN, None, min(p.after_turn + 1, end))
    for gap in (p.gap - 1, p.gap + 1):
        if 1 <= gap <= n - 1:
            yield slip(WRONG_STRAND, replace(p, gap=gap), p.after_turn)
    yield slip(WRONG_FACE, replace(p, face="back" if p.face == "front" else "front"), p.after_turn)
    yield slip(LATE, replace(p, after_turn=p.after_turn + 1), p.after_turn + 1)


def _under(way: Way, k: int, t: Turn) -> Slip:
    """The moving strand on the other side of every strand it crosses."""
    wrong = Turn(t.side, tuple(-c for c in t.crossings))
    turns = (*way.turns[: k - 1], wrong, *way.turns[k:])
    noticed = Done(turns[:k], tuple(p for p in way.schedule if p.after_turn < k))
    whole = Done(turns, way.schedule)
    return Slip(
        UNDER,
        k,
        t,
        wrong,
        noticed,
        mend(way, noticed),
        whole,
        look(way.strands, whole.turns, whole.passes),
        mend(way, whole),
    )
