"""Can this braid be worked in a strap whose ends are never cut free?

The condition, and where it comes from
--------------------------------------
Fix the top of the strap.  Crossings made at the top leave the inverse
crossings below, between the work and the lower tab: after the word w the
tangle below is w^-1.  The tangle has to be taken out by moving the tab, which
may pass between the strands.  A pass through the gap after the g-th strand
turns the strap below once: it inserts, directly under the work, one full twist
of the strands left of the gap and one opposite full twist of those right of
it, and each ribbon itself turns once with its side.  So a braid is workable
exactly when, as a *framed* braid, it is a product of conjugates of such passes.

* On the sphere with n marked points, the twist round the left group and the
  twist round the right group are twists about one and the same curve.  A pass
  cancels there, so a workable braid is trivial in the mapping class group of
  the sphere with n marked points.  That kernel is what strings tied at both
  ends allow (J. A. H. Shepperd, Proc. R. Soc. Lond. A 265 (1962) 229-244;
  E. Artin, Annals of Math. 48 (1947) for the group; O. Stoytchev,
  arXiv:0907.2318, for the modern form).
* Leather is flat: every strand must come out untwisted.  In one pass strand i
  gets a turn e_i = +1 or -1 by its side, and the pair i, j gets linking
  (e_i + e_j) / 2.  Summed over all passes: lk(i, j) = (f_i + f_j) / 2 with f the
  total turns.  With three strands or more, all f are zero exactly when all
  linking numbers are zero, and then the framing needs no bookkeeping of its own.
* With two strands lk is free of f_1 - f_2 and the only workable braid is the
  trivial one.

So for n >= 3: workable = pure, linking numbers all zero, and an inner
automorphism of the fundamental group of the n-punctured sphere.

How the last point is decided
-----------------------------
Images in the free group grow exponentially, so the word acts instead on an
n-tuple of random 2 x 2 matrices of determinant 1 over the field with 2**127 - 1
elements whose product is the identity (the Hurwitz action).  A braid that is
inner gives a tuple that one matrix conjugates back, always: there is no false
"no".  A false "yes" needs a non-trivial polynomial identity to hold at a random
point; taking its values as equally spread, that is a chance of about 1e-38.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from strapwork.braid.word import Word, linking, positions_after
from strapwork.catalogue import marked, tr

PRIME = 2**127 - 1

Matrix = tuple[int, int, int, int]
_ONE: Matrix = (1, 0, 0, 1)


def _mul(a: Matrix, b: Matrix) -> Matrix:
    return (
        (a[0] * b[0] + a[1] * b[2]) % PRIME,
        (a[0] * b[1] + a[1] * b[3]) % PRIME,
        (a[2] * b[0] + a[3] * b[2]) % PRIME,
        (a[2] * b[1] + a[3] * b[3]) % PRIME,
    )


def _inv(a: Matrix) -> Matrix:
    return (a[3], -a[1] % PRIME, -a[2] % PRIME, a[0])


def _conjugate(x: Matrix, y: Matrix) -> Matrix:
    """x y x^-1, remainders taken once at the end: what takes longest is the division."""
    x0, x1, x2, x3 = x
    y0, y1, y2, y3 = y
    a, b, c, d = x0 * y0 + x1 * y2, x0 * y1 + x1 * y3, x2 * y0 + x3 * y2, x2 * y1 + x3 * y3
    return ((a * x3 - b * x2) % PRIME, (b * x0 - a * x1) % PRIME, (c * x3 - d * x2) % PRIME, (d * x0 - c * x1) % PRIME)


@lru_cache(maxsize=64)
def random_matrices(count: int, seed: int = 1) -> tuple[Matrix, ...]:
    """``count`` random matrices of determinant 1 over the field of ``PRIME`` elements.

    Seeded, so that the same question always gets the same answer.
    """
    rng = random.Random(seed)
    result = []
    for _ in range(count):
        a = rng.randrange(1, PRIME)
        b, c = rng.randrange(PRIME), rng.randrange(PRIME)
        result.append((a, b, c, (1 + b * c) * pow(a, -1, PRIME) % PRIME))
    return tuple(result)


def act(word: Sequence[int], tuple_: Sequence[Matrix]) -> list[Matrix]:
    """The Hurwitz action of ``word`` on a tuple of matrices.

    ``+i`` sends (.., x, y, ..) at places i, i+1 to (.., x y x^-1, x, ..) and
    ``-i`` is its inverse; the product of the tuple never changes.
    """
    t = list(tuple_)
    for c in word:
        i = abs(c) - 1
        x, y = t[i], t[i + 1]
        if c > 0:
            t[i], t[i + 1] = _conjugate(x, y), x
        else:
            t[i], t[i + 1] = y, _conjugate(_inv(y), x)
    return t


def act_pass(gap: int, sign: int, tuple_: Sequence[Matrix]) -> list[Matrix]:
    """The action of one tab pass: full twists of the strands left and right of ``gap``.

    A full twist of neighbouring strands conjugates each by their product, so
    no word needs to be written out.
    """
    t = list(tuple_)
    for lo, hi, s in ((0, gap, sign), (gap, len(t), -sign)):
        c = _ONE
        for m in t[lo:hi]:
            c = _mul(c, m)
        if s < 0:
            c = _inv(c)
        t[lo:hi] = [_conjugate(c, m) for m in t[lo:hi]]
    return t


def _rank_mod_p(rows: list[list[int]], columns: int) -> int:
    rank = 0
    rows = [r[:] for r in rows]
    for col in range(columns):
        pivot = next((i for i in range(rank, len(rows)) if rows[i][col]), None)
        if pivot is None:
            continue
        rows[rank], rows[pivot] = rows[pivot], rows[rank]
        inv = pow(rows[rank][col], -1, PRIME)
        head = [v * inv % PRIME for v in rows[rank]]
        rows[rank] = head
        for i in range(rank + 1, len(rows)):
            f = rows[i][col]
            if f:
                rows[i] = [(v - f * h) % PRIME for v, h in zip(rows[i], head, strict=True)]
        rank += 1
    return rank


def is_trivial_braid(strands: int, word: Sequence[int]) -> bool:
    """Whether the word is the trivial braid (strings fixed at both ends, in the disc)."""
    base = random_matrices(strands)
    return act(word, base) == list(base)


def is_trivial_on_sphere(strands: int, word: Sequence[int]) -> bool:
    """Whether a *pure* word is trivial in the mapping class group of the marked sphere."""
    free = random_matrices(strands - 1)
    last = _ONE
    for m in free:
        last = _mul(last, m)
    base = (*free, _inv(last))
    image = act(word, base)
    # Look for g with  image_i g = g base_i  for all i: four unknowns, linear.
    # Random matrices share no eigenvector, so by Schur's lemma a solution is
    # invertible and unique up to a factor.
    rows: list[list[int]] = []
    for (x0, x1, x2, x3), (y0, y1, y2, y3) in zip(base, image, strict=True):
        rows += [
            [(y0 - x0) % PRIME, -x2 % PRIME, y1, 0],
            [-x1 % PRIME, (y0 - x3) % PRIME, 0, y1],
            [y2, 0, (y3 - x0) % PRIME, -x2 % PRIME],
            [0, y2, -x1 % PRIME, (y3 - x3) % PRIME],
        ]
    return _rank_mod_p(rows, 4) < 4


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the proof says of one word.

    Attributes:
        workable: whether the braid can be worked with both ends joined.
        reason: ``"workable"``, ``"not pure"``, ``"strands left twisted"`` or
            ``"cannot be undone"``.
        strands_named: the strands the reason is about (start positions from 1).
        turns_left: full ribbon turns left in each strand, where the braid is
            otherwise undone and only the twist remains.
    """

    workable: bool
    reason: str
    strands_named: tuple[int, ...] = ()
    turns_left: tuple[int, ...] = field(default=())

    def sentence(self) -> str:
        """The verdict in words for the maker."""
        names = ", ".join(str(s) for s in self.strands_named)
        if self.workable:
            return tr("Workable: the tab can be passed so that every strand ends in its place, untwisted.")
        if self.reason == "not pure":
            return tr("Not workable: strands do not come back to their own places ({names}).", names=names)
        if self.reason == "strands left twisted":
            return tr("Not workable: strands left twisted ({names}).", names=names)
        return tr("Not workable: the tangle below cannot be undone by passing the tab.")


def judge(strands: int, word: Word) -> Verdict:
    """Decide whether ``word`` can be worked in ``strands`` flat strands with joined ends."""
    order = positions_after(strands, word)
    moved = tuple(s for place, s in enumerate(order, start=1) if s != place)
    if moved:
        return Verdict(False, marked("not pure"), tuple(sorted(moved)))
    if strands == 2:
        total = sum(1 if c > 0 else -1 for c in word)
        if total == 0:
            return Verdict(True, "workable")
        return Verdict(False, marked("strands left twisted"), (1, 2))
    signed = linking(strands, word)
    linked = any(signed.values())
    if not is_trivial_on_sphere(strands, word):
        return Verdict(False, marked("cannot be undone"))
    if linked:
        # f_i + f_j = 2 lk(i, j) = signed count; three pairs give each f.
        turns = []
        for i in range(1, strands + 1):
            j, k = [s for s in (1, 2, 3) if s != i][:2]
            turns.append((_pair(signed, i, j) + _pair(signed, i, k) - _pair(signed, j, k)) // 2)
        return Verdict(
            False,
            marked("strands left twisted"),
            tuple(i for i, f in enumerate(turns, start=1) if f),
            tuple(turns),
        )
    return Verdict(True, "workable")


def _pair(signed: dict[tuple[int, int], int], a: int, b: int) -> int:
    return signed[min(a, b), max(a, b)]
