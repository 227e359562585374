"""What spoiled work looks like: which strands are twisted, which are wound round which, and a short tangle to draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.braid import passes
from strapwork.braid.dynnikov import coordinates, move
from strapwork.braid.passes import TabPass, inverse
from strapwork.braid.proof import is_trivial_braid
from strapwork.braid.spelling import spelled
from strapwork.braid.word import Turn, Word, crossings, linking, positions_after

MOST_UNTANGLED = 120
PATIENCE = 4
FEW = 8


@dataclass(frozen=True, slots=True)
class Look:
    """The strands below the work.

    Strands are numbered by their places in the tab, 1 (A) on the left.

    Attributes:
        order: which strand lies where at the work, from the left.
        tangle: crossings below, read downwards; a short word for it, not always the shortest.
        twisted: full ribbon turns of every strand; positive ones as a pass from the front gives to its left.
        wound: for pairs wound round each other, how often; only at the end of a set.
        free: whether the strands are not crossed at all (exact).
        at_end: whether every strand lies in its own place again.
    """

    order: tuple[int, ...]
    tangle: Word
    twisted: tuple[int, ...]
    wound: dict[tuple[int, int], int]
    free: bool
    at_end: bool

    @property
    def good(self) -> bool:
        return self.free and not any(self.twisted)


def look(strands: int, turns: Sequence[Turn], made: Sequence[TabPass]) -> Look:
    """How the strands lie after these turns and passes."""
    order = positions_after(strands, crossings(turns))
    below = passes.below(strands, turns, made)
    at_end = order == tuple(range(1, strands + 1))
    wound = {pair: count // 2 for pair, count in linking(strands, below).items() if count} if at_end else {}
    twisted = passes.ribbon_turns(strands, turns, made)
    tangle = shorter(strands, below)
    if at_end:
        tangle = min(tangle, _by_passes(strands, below) or tangle, key=len)
    return Look(order, tangle, twisted, wound, passes.hangs_free(strands, below), at_end)


def _by_passes(strands: int, below: Word) -> Word | None:
    """The tangle written as the passes it takes to undo it, which is short when they are few."""
    run = spelled(strands, below, 0)
    if run is None or len(run) > FEW:
        return None
    word: list[int] = []
    for p in run:
        word += passes.pass_word(strands, p.gap, -p.sign)
    return cancelled(word) if is_trivial_braid(strands, (*word, *inverse(below))) else None


def cancelled(word: Sequence[int]) -> Word:
    """``word`` without crossings that meet their opposite, past crossings elsewhere if need be."""
    out: list[int] = []
    for c in word:
        for k in range(len(out) - 1, -1, -1):
            if out[k] == -c:
                del out[k]
                break
            if abs(abs(out[k]) - abs(c)) <= 1:
                out.append(c)
                break
        else:
            out.append(c)
    return tuple(out)


def shorter(strands: int, word: Word) -> Word:
    """The same tangle with fewer crossings where they are found easily.

    Opposite crossings cancel; then the tangle is taken apart crossing by
    crossing, each time the one that makes the Dynnikov coordinates smallest
    (after Dehornoy, Dynnikov, Rolfsen and Wiest, Ordering Braids, AMS 2008,
    who call it relaxation), and put together again if that went well.
    """
    best = cancelled(word)
    for flipped in (False, True):
        start = inverse(best) if flipped else best
        apart = _taken_apart(strands, start)
        if apart is not None:
            found = cancelled(apart if flipped else inverse(apart))
            best = min(best, found, key=len)
    return best


def _taken_apart(strands: int, word: Word) -> Word | None:
    """Crossings that undo ``word``, each the one that helps most; None where for a while none helps."""
    v = coordinates(strands, word)
    out: list[int] = []
    least, since = sum(map(abs, v)), 0
    while least > strands:
        choices: list[tuple[int, int, list[int]]] = []
        for c in (s * i for i in range(1, strands) for s in (1, -1)):
            after = v.copy()
            move(after, (c,))
            choices.append((sum(map(abs, after)), c, after))
        smaller, c, v = min(choices, key=lambda x: x[:2])
        least, since = (smaller, 0) if smaller < least else (least, since + 1)
        if since > PATIENCE or len(out) == MOST_UNTANGLED:
            return None
        out.append(c)
    return tuple(out) if v == [0, 1] * strands else None


def layers(word: Word) -> list[Word]:
    """Crossings that do not touch each other side by side, as few rows as their order allows."""
    rows: list[list[int]] = []
    level: dict[int, int] = {}
    for c in word:
        i = abs(c)
        at = max(level.get(i, 0), level.get(i + 1, 0))
        if at == len(rows):
            rows.append([])
        rows[at].append(c)
        level[i] = level[i + 1] = at + 1
    return [tuple(sorted(row, key=abs)) for row in rows]
