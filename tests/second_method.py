"""A second way to decide a braid, with nothing of the proof's in it.

On the sphere the last strand can be kept still: turn the whole picture so that it
runs straight down, far away.  What the other n - 1 strands then do is a braid of
their own, known up to full twists of all of them, and the braid was trivial on the
marked sphere exactly when that is a number of full twists and nothing else (O.
Stoytchev, arXiv:0907.2318, passes the braid through itself along one strand, which
is the same).  Dynnikov's coordinates decide the last point.

The rule, worked out by hand.  Let the last strand always pass in front of the
others, which leaves them as they are.  Where it passes behind strand j instead,
it has gone round j once more; on the sphere going round j is going round all the
others, so the others, without j, get one full twist of the same sign.
"""

from __future__ import annotations

from collections.abc import Sequence

from strapwork.braid.dynnikov import coordinates
from strapwork.braid.word import Word


def straightened(strands: int, word: Sequence[int]) -> Word:
    """The braid of the first n - 1 strands once the last one is kept still, up to full twists of them all."""
    last = strands  # where the last strand is
    out: list[int] = []
    for c in word:
        i = abs(c)
        if i + 1 < last:
            out.append(c)
        elif i > last:
            out.append(i - 1 if c > 0 else 1 - i)
        elif i == last:  # it goes to the right, over its neighbour at place i of the others when c > 0
            if c < 0:
                out += twist_without(strands - 1, i, -1)
            last += 1
        else:  # it goes to the left, under its neighbour at place i of the others when c > 0
            if c > 0:
                out += twist_without(strands - 1, i, 1)
            last -= 1
    return tuple(out)


def twist_without(strands: int, place: int, sign: int) -> list[int]:
    """A full twist of all strands but the one at ``place``, which stays in front of them."""
    aside = list(range(place, strands))  # that strand over the others to the right end
    once = [i for _ in range(strands - 1) for i in range(1, strands - 1)]
    twist = once if sign > 0 else [-i for i in reversed(once)]
    return [*aside, *twist, *(-i for i in reversed(aside))]


def trivial(strands: int, word: Sequence[int]) -> bool:
    """Whether the word is the trivial braid, by Dynnikov's coordinates."""
    return coordinates(strands, word) == [0, 1] * strands


def trivial_on_sphere(strands: int, word: Sequence[int]) -> bool:
    """Whether a pure word is trivial on the marked sphere; ``strands`` at least 3."""
    others = strands - 1
    left = straightened(strands, word)
    turns, rest = divmod(sum(1 if c > 0 else -1 for c in left), others * (others - 1))
    if rest:
        return False
    full = [i for _ in range(others) for i in range(1, others)]
    undone = ([-i for i in reversed(full)] if turns > 0 else full) * abs(turns)
    return trivial(others, (*left, *undone))


def home(strands: int, word: Sequence[int]) -> bool:
    """Whether every strand comes back to its place."""
    order = list(range(strands))
    for c in word:
        i = abs(c)
        order[i - 1 : i + 1] = order[i - 1 : i + 1][::-1]
    return order == list(range(strands))


def linked(strands: int, word: Sequence[int]) -> bool:
    """Whether any two strands of a pure word are linked: the two taken alone are not the trivial braid."""
    for a in range(strands):
        for b in range(a + 1, strands):
            order, total = list(range(strands)), 0
            for c in word:
                i = abs(c)
                pair = order[i - 1 : i + 1]
                if set(pair) == {a, b}:
                    total += 1 if c > 0 else -1
                order[i - 1 : i + 1] = pair[::-1]
            if total:
                return True
    return False


def workable(strands: int, word: Sequence[int]) -> bool:
    """Whether the braid can be worked in a flat strap with both ends joined; ``strands`` at least 3."""
    return home(strands, word) and not linked(strands, word) and trivial_on_sphere(strands, word)
