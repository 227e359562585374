"""Mends against theorems and libraries that are not ours."""

from __future__ import annotations

import itertools
import random

from hypothesis import given, settings
from hypothesis import strategies as st

from strapwork.braid import passes, plan
from strapwork.braid.dynnikov import coordinates
from strapwork.braid.passes import TabPass, inverse
from strapwork.braid.proof import is_trivial_braid
from strapwork.braid.rescue import mend
from strapwork.braid.spelling import spelled
from strapwork.braid.way import Way, way_of
from strapwork.braid.word import crossings, linking, positions_after
from strapwork.braid.work import Back, Done, Pass, Work, parse_done
from tests.outside.test_braid_theory import burau

WAYS = [way_of(plan.standard(n), left) for n in (3, 5) for left in (False, True)]


def test_the_four_passes_in_three_strands_by_artins_combing() -> None:
    """The forgotten pass, by hand, with s1 s2 s1 = s2 s1 s2 alone (E. Artin, Theory of braids, Annals of Math. 48, 1947).

    Write a = s1, b = s2 and A for a^-1, B for b^-1.  Six turns of three plain
    strands are the word  w = B a B a B a, and the strands below lie as w^-1.
    From a b a = b a b follow

        (1)  a B = B A b a        (b a B = A b a, times B on the left: a B = B (b a B) = B A b a)
        (2)  a B A = B A b        (A B A = B A B, times a on the left and b on the right)

    Combing: the strands are pulled straight one after the other, so that w
    becomes a product of full twists of two strands each:

        w = B (a B)(a B) a
          = B . B A b a . B A b a . a           by (1) twice
          = B B A b (a B A) b a a
          = B B A b (B A b) b a a               by (2)
          = B B A A b b a a

    and that is the commutator of the full twists of B with C (b b) and of A
    with B (a a).  A pass round the right-hand strand from the front puts a full
    twist a a of the two strands on its left under the work; round the left-hand
    strand from the front it puts B B of the two on its right.  Passes made in
    the order  right front, left back, right back, left front  therefore put

        B B . A A . b b . a a

    under the work (the last one on top), which is w, and  w w^-1  hangs free.
    """
    a, b, inv_a, inv_b = 1, 2, -1, -2
    six = (inv_b, a) * 3
    combed = (inv_b, inv_b, inv_a, inv_a, b, b, a, a)
    # Every line of the above, in the Burau matrices, which are faithful for three strands.
    lines = [
        (inv_b, inv_b, inv_a, b, a, inv_b, inv_a, b, a, a),
        (inv_b, inv_b, inv_a, b, inv_b, inv_a, b, b, a, a),
        combed,
    ]
    assert all(burau(line) == burau(six) for line in lines)
    assert burau((a, inv_b)) == burau((inv_b, inv_a, b, a))
    assert burau((a, inv_b, inv_a)) == burau((inv_b, inv_a, b))
    # And the passes, as they are given.
    way = way_of(plan.standard(3))
    assert crossings(way.turns) == six
    m = mend(way, parse_done("6 turns", 3, way.turns))
    assert m.steps == (Pass(2, "front"), Pass(1, "back"), Pass(2, "back"), Pass(1, "front"))
    put = tuple(c for p in reversed(m.passes) for c in passes.pass_word(3, p.gap, 1 if p.face == "front" else -1))
    assert put == combed


def test_the_other_two_examples_by_hand() -> None:
    """At four turns the pass that was due is a full twist a a (right front).

    The wrong strand (left front) put B B there instead: taking it out (left
    back, b b) and making the right one leaves  a a . b b . B B = a a.  The
    wrong face put A A: making the right pass twice leaves  a a . a a . A A = a a.
    One pass more cannot do: every pass turns every strand, so their number is
    even in a set, and the set as planned has one more to come.
    """
    way = way_of(plan.standard(3))
    due = passes.pass_word(3, 2, 1)
    for text, made in (("4 turns, pass 1 front", [(1, 1)]), ("4 turns, pass 2 back", [(2, -1)])):
        m = mend(way, parse_done(text, 3, way.turns))
        first_turn = next(k for k, s in enumerate(m.steps) if isinstance(s, Work))
        now = [s for s in m.steps[:first_turn] if isinstance(s, Pass)]
        assert len(now) == 2 == first_turn
        made = made + [(p.gap, 1 if p.face == "front" else -1) for p in now]
        put: tuple[int, ...] = ()
        for gap, sign in made:
            put = passes.pass_word(3, gap, sign) + put
        assert is_trivial_braid(3, (*put, *inverse(due)))
        assert [s for s in m.steps[first_turn:] if isinstance(s, Pass)] == [Pass(1, "front")]


@st.composite
def spoiled(draw: st.DrawFn) -> tuple[Way, Done]:
    way = draw(st.sampled_from(WAYS))
    n, turns = way.strands, way.turns_to(draw(st.integers(1, way.per_set + 1)))
    slot = st.builds(TabPass, st.integers(0, len(turns)), st.integers(1, n - 1), st.sampled_from(["front", "back"]))
    made = sorted(draw(st.lists(slot, max_size=3)), key=lambda p: p.after_turn)
    return way, Done(turns, tuple(made))


@settings(max_examples=60, deadline=None)
@given(spoiled())
def test_every_mend_replayed_by_two_methods(case: tuple[Way, Done]) -> None:
    """The steps followed one by one on the word below: trivial by matrices over a large field (Hurwitz action) and by
    Dynnikov's coordinates (Dehornoy, Dynnikov, Rolfsen, Wiest, Ordering Braids, AMS 2008); with three strands also by
    the Burau matrices, faithful there (Magnus and Peluso 1969).  No two strands are linked, none is twisted."""
    way, done = case
    n = way.strands
    m = mend(way, done)
    below: list[tuple[int, ...]] = []  # what each turn or pass put under the work, the latest last
    kinds: list[str] = []
    order = list(range(1, n + 1))
    twist = [0] * n

    def put(kind: str, word: tuple[int, ...]) -> None:
        kinds.append(kind)
        below.append(word)

    events = list(Done().then(steps_so_far(m.done)).then(m.steps).turns)  # the finished turns, for their number
    for step in (*steps_so_far(m.done), *m.steps):
        match step:
            case Work(turn):
                put("turn", inverse(turn.crossings))
            case Pass(gap, face):
                put("pass", passes.pass_word(n, gap, 1 if face == "front" else -1))
            case Back(count):
                while count:
                    count -= kinds.pop() == "turn"
                    below.pop()
    for kind, word in zip(kinds, below, strict=True):
        if kind == "turn":
            moved = positions_after(n, inverse(word))
            order = [order[p - 1] for p in moved]
        else:
            # A full twist of the strands left of the gap turns them one way, the others the other way.
            sign = next(s for s in (1, -1) for g in range(1, n) if passes.pass_word(n, g, s) == word)
            gap = next(g for g in range(1, n) if passes.pass_word(n, g, sign) == word)
            for place, strand in enumerate(order, start=1):
                twist[strand - 1] += sign if place <= gap else -sign
    word = tuple(c for w in reversed(below) for c in w)
    assert len(events) % way.per_set == 0
    assert twist == [0] * n
    assert not any(linking(n, word).values())
    assert is_trivial_braid(n, word)
    assert coordinates(n, word) == [0, 1] * n
    if n == 3:
        assert burau(word, at=3) == burau((), at=3)


def steps_so_far(done: Done) -> list[Pass | Work]:
    """What was done, as steps."""
    out: list[Pass | Work] = []
    for k in range(len(done.turns) + 1):
        out += [Pass(p.gap, p.face) for p in done.passes if p.after_turn == k]
        if k < len(done.turns):
            out.append(Work(done.turns[k]))
    return out


def test_spelled_passes_agree_with_sympys_free_group() -> None:
    """Artin's representation (1947) in sympy's free group: passes at one height are conjugations by the loops
    y_g = x_1 .. x_g, so a run of them spells the loop that the whole tangle conjugates by."""
    from sympy.combinatorics.free_groups import free_group

    rng = random.Random(8)
    for n in (3, 4, 5):
        group, *x = free_group(", ".join(f"x{i}" for i in range(1, n)))
        last = group.identity
        for g in x:
            last = last * g
        base = [*x, last**-1]
        for _ in range(8):
            run = [(rng.randint(1, n - 1), rng.choice((1, -1))) for _ in range(rng.randint(1, 4))]
            word: tuple[int, ...] = ()
            for gap, sign in run:
                word = passes.pass_word(n, gap, sign) + word
            image = list(base)
            for c in word:
                i = abs(c) - 1
                p, q = image[i], image[i + 1]
                image[i], image[i + 1] = (p * q * p**-1, p) if c > 0 else (q, q**-1 * p * q)
            undo = spelled(n, word, 0)
            assert undo is not None
            loop = group.identity
            for p in undo:
                y = group.identity
                for g in base[: p.gap]:
                    y = y * g
                loop = (y if p.sign > 0 else y**-1) * loop
            assert all(loop * im * loop**-1 == b for im, b in zip(image, base, strict=True))
            # The word is reduced, and what was made taken back the other way round is such a word, so they are equal.
            back: list[tuple[int, int]] = []
            for gap, sign in reversed(run):
                if back and back[-1] == (gap, sign):
                    back.pop()
                else:
                    back.append((gap, -sign))
            if all(a[0] != b[0] or a[1] == b[1] for a, b in itertools.pairwise(back)):
                assert [(p.gap, p.sign) for p in undo] == back


def test_an_odd_number_of_passes_never_makes_a_set() -> None:
    """Every pass turns every ribbon once, one way or the other; so by parity (the twist and linking of flat strands
    after G. Calugareanu 1961, J. H. White 1969) what is still to come is even or odd as what was done is."""
    rng = random.Random(11)
    way = way_of(plan.standard(5))
    for _ in range(25):
        turns = rng.randint(1, way.per_set)
        made = sorted(
            (
                TabPass(rng.randint(0, turns), rng.randint(1, 4), rng.choice(("front", "back")))
                for _ in range(rng.randint(0, 3))
            ),
            key=lambda p: p.after_turn,
        )
        m = mend(way, Done(way.turns_to(turns), tuple(made)))
        assert len(m.end.passes) % 2 == 0
