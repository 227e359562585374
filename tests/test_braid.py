"""Turns, proof, passes: the mathematics of braids with joined ends."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork.braid import moves, passes, plan, proof
from strapwork.braid.dynnikov import coordinates, tangle
from strapwork.braid.passes import TabPass
from strapwork.braid.patterns import turns_of
from strapwork.braid.word import (
    Turn,
    crossings,
    linking,
    mirrored,
    parse_turns,
    parse_word,
    plain_turns,
    positions_after,
    turns_of_word,
    weave_turns,
)
from strapwork.errors import InputError
from strapwork.say import braiding


def words(n: int, most: int = 30) -> st.SearchStrategy[tuple[int, ...]]:
    letters = st.integers(1, n - 1).flatmap(lambda i: st.sampled_from([i, -i]))
    return st.lists(letters, max_size=most).map(tuple)


strands_and_words = st.integers(3, 7).flatmap(lambda n: st.tuples(st.just(n), words(n), words(n)))


def conjugate(w: tuple[int, ...], middle: tuple[int, ...]) -> tuple[int, ...]:
    return (*w, *middle, *passes.inverse(w))


def test_three_strands_by_the_trade() -> None:
    p = plan.standard(3)
    assert [t.text() for t in p.pattern] == ["Ro", "Lo"]
    assert crossings(p.pattern) == (-2, 1)
    assert len(p.turns) == 6
    assert p.schedule == (TabPass(4, 2, "front"), TabPass(6, 1, "front"))
    assert braiding.where(p.schedule[0], 3) == "round the right-hand strand"


def test_only_multiples_of_six_turns_work_in_three_strands() -> None:
    right, left = plain_turns(3)
    for turns in range(1, 61):
        w = crossings([(right, left)[k % 2] for k in range(turns)])
        assert proof.judge(3, w).workable == (turns % 6 == 0)


@pytest.mark.parametrize("first_over", [False, True])
def test_the_five_strand_weave_never_works_in_sixty_repeats(first_over: bool) -> None:
    once = crossings(weave_turns(5, first_over))
    for k in range(1, 61):
        assert not proof.judge(5, once * k).workable


@pytest.mark.parametrize("n", [3, 5, 7, 9, 11, 13])
def test_odd_plain_braids_work_with_two_passes_from_one_face(n: int) -> None:
    p = plan.standard(n)
    assert len(p.turns) == 2 * n
    assert p.schedule == (TabPass(n + 1, (n + 1) // 2, "front"), TabPass(2 * n, (n - 1) // 2, "front"))
    for s in p.schedules:
        assert passes.is_right(n, p.turns, s)


def test_two_sets_counted_as_one_are_found_to_take_four_passes() -> None:
    """No two passes free twelve turns at once; the best four are those of two sets, one after the other."""
    twice = plan.from_turns(3, " ".join(["Ro Lo"] * 6), "turns")

    assert len(twice.turns) == 12
    assert twice.schedule == (
        TabPass(2, 2, "front"),
        TabPass(4, 1, "front"),
        TabPass(10, 2, "front"),
        TabPass(12, 1, "front"),
    )
    assert passes.is_right(3, twice.turns, twice.schedule)
    once = plan.standard(3)
    assert len(once.schedule) == 2
    assert not any(passes.is_right(3, twice.turns, s) for s in once.schedules)


@pytest.mark.parametrize("n", [4, 6, 8, 10, 12])
def test_even_plain_braids_do_not(n: int) -> None:
    p = plan.standard(n)
    assert not p.workable
    assert p.verdict.reason in ("cannot be undone", "strands left twisted")


def test_four_strands_do_work_another_way() -> None:
    found = plan.neighbours(4)
    assert found
    for p in found:
        assert p.schedules
        assert all(passes.is_right(4, p.turns, s) for s in p.schedules)


@pytest.mark.parametrize("n", [5, 7])
def test_the_plain_braids_of_an_odd_count_are_among_its_small_ones(n: int) -> None:
    found = {(p.pattern, p.repeats) for p in plan.neighbours(n)}
    for weave in ("over", "under"):
        plain = plan.standard(n, weave)
        assert (plain.pattern, plain.repeats) in found


@pytest.mark.parametrize(("after", "left"), [((4, 6), 0), ((2, 5), 1), ((0, 2), 4)])
def test_the_turns_still_to_work_are_counted_from_the_last_pass(after: tuple[int, int], left: int) -> None:
    """Of six turns of three strands; from the last of two passes on nothing below is in the way."""
    schedule = tuple(TabPass(k, gap, "front") for k, gap in zip(after, (2, 1), strict=True))
    assert passes.effort(3, plan.standard(3).turns, schedule).turns_after_last == left


@given(strands_and_words)
def test_a_word_and_its_inverse_are_nothing(case: tuple[int, tuple[int, ...], tuple[int, ...]]) -> None:
    n, w, _ = case
    assert proof.is_trivial_braid(n, w + passes.inverse(w))
    assert proof.judge(n, w + passes.inverse(w)).workable


@given(strands_and_words)
def test_two_methods_agree_on_triviality(case: tuple[int, tuple[int, ...], tuple[int, ...]]) -> None:
    n, w, v = case
    commutator = (*w, *v, *passes.inverse(w), *passes.inverse(v))
    for word in (w, v, commutator):
        assert proof.is_trivial_braid(n, word) == (coordinates(n, word) == [0, 1] * n)


@given(st.integers(3, 9), st.data())
def test_braid_relations_hold_in_both_methods(n: int, data: st.DataObject) -> None:
    i = data.draw(st.integers(1, n - 1))
    j = data.draw(st.integers(1, n - 1))
    word = (i, j, i, -j, -i, -j) if abs(i - j) == 1 else (i, j, -i, -j)
    assert proof.is_trivial_braid(n, word)
    assert coordinates(n, word) == [0, 1] * n


@given(st.integers(3, 6), st.data())
def test_products_of_passes_whose_twists_cancel_are_workable(n: int, data: st.DataObject) -> None:
    """Pairs of a pass and an opposite one, each conjugated by pure words, in any order."""
    parts = []
    for _ in range(data.draw(st.integers(1, 3))):
        gap = data.draw(st.integers(1, n - 1))
        for sign in (1, -1):
            w = data.draw(words(n, 6))
            pure = (*w, *w) if positions_after(n, w + w) == tuple(range(1, n + 1)) else (*w, *passes.inverse(w))
            parts.append(conjugate(pure, passes.pass_word(n, gap, sign)))
    data.draw(st.randoms(use_true_random=False)).shuffle(parts)
    word = tuple(c for p in parts for c in p)
    verdict = proof.judge(n, word)
    assert verdict.workable, verdict
    # Its neighbours with one crossing changed are not.
    k = data.draw(st.integers(0, len(word) - 1)) if word else None
    if k is not None:
        changed = (*word[:k], -word[k], *word[k + 1 :])
        assert not proof.judge(n, changed).workable


@given(st.integers(3, 6), st.data())
def test_products_whose_twists_do_not_cancel_name_the_strands(n: int, data: st.DataObject) -> None:
    total = [0] * n
    word: tuple[int, ...] = ()
    for _ in range(data.draw(st.integers(1, 4))):
        gap, sign = data.draw(st.integers(1, n - 1)), data.draw(st.sampled_from([1, -1]))
        w = data.draw(words(n, 5))
        word += conjugate(w, passes.pass_word(n, gap, sign))
        for place, strand in enumerate(positions_after(n, w), start=1):
            total[strand - 1] += sign if place <= gap else -sign
    verdict = proof.judge(n, word)
    if any(total):
        assert verdict.reason == "strands left twisted"
        assert verdict.strands_named == tuple(i for i, f in enumerate(total, start=1) if f)
        assert verdict.turns_left == tuple(total)
    else:
        assert verdict.workable


def test_two_strands_only_the_trivial_braid() -> None:
    assert proof.judge(2, ()).workable
    assert proof.judge(2, (1, -1)).workable
    assert not proof.judge(2, (1, 1)).workable
    assert proof.judge(2, (1,)).reason == "not pure"


def test_reasons_name_the_strands() -> None:
    assert proof.judge(3, (-2, 1)).strands_named == (1, 2, 3)
    assert proof.judge(4, (1,)).strands_named == (1, 2)
    assert "cannot be undone" in proof.judge(4, crossings(plain_turns(4)) * 4).reason
    said = [proof.judge(3, word).sentence() for word in ((1, -1), (-2, 1), (1, 1))]
    assert said[0].startswith("Workable: ")
    assert said[1] == "Not workable: strands do not come back to their own places (1, 2, 3)."
    assert said[2] == "Not workable: strands left twisted (1, 2, 3)."  # one pass twists them all


@pytest.mark.parametrize("seed", range(6))
def test_a_schedule_is_found_for_workable_words_of_any_kind(seed: int) -> None:
    rng = random.Random(seed)
    n = rng.choice([3, 4, 5])
    gap = rng.randint(1, n - 1)
    w = tuple(rng.choice([1, -1]) * rng.randint(1, n - 1) for _ in range(3))
    word = (
        conjugate(w + w + passes.inverse(w) + passes.inverse(w), ())
        + conjugate((*w, *passes.inverse(w)), passes.pass_word(n, gap, 1))
        + conjugate((2, 2), passes.pass_word(n, gap, -1))
    )
    assert proof.judge(n, word).workable
    turns = turns_of_word(word)
    found = passes.schedules(n, turns)
    assert found
    assert all(passes.is_right(n, turns, s) for s in found)


def test_a_schedule_can_always_be_built_at_the_end_of_the_set() -> None:
    for n in (3, 5, 7):
        p = plan.standard(n)
        built = passes._at_the_end(n, p.turns)
        assert built is not None
        assert {q.after_turn for q in built} == {len(p.turns)}
        assert passes.is_right(n, p.turns, built)


def test_where_four_passes_do_not_free_the_strands_the_passes_come_at_the_end_of_the_set() -> None:
    turns = turns_of(3, ("Ro", "Rou", "Lo", "Lou")) * 3
    (built,) = passes.schedules(3, turns)
    assert len(built) > 4
    assert {q.after_turn for q in built} == {len(turns)}
    assert passes.is_right(3, turns, built)


@pytest.mark.parametrize("strands", [3, 7])
def test_a_pattern_is_repeated_until_its_set_would_have_more_than_4000_crossings(strands: int) -> None:
    """One that winds strands always the same way never works, however often it is worked."""
    pattern = turns_of(strands, ("R" + "o" * (strands - 1), "L" + "u" * (strands - 1))) * (600 // strands)
    once = len(crossings(pattern))
    p = plan.decide(strands, pattern)
    assert not p.workable
    assert p.tried * once <= 4000 < (p.tried + 1) * once


def test_left_handed_work_is_the_mirror() -> None:
    for n in (3, 5):
        p = plan.standard(n)
        turns = mirrored(n, p.turns)
        assert turns[0].side == "L"
        assert passes.is_right(n, turns, passes.mirrored(n, p.schedule))


def test_of_a_bare_crossing_the_strand_that_goes_over_is_the_one_to_move() -> None:
    """Told of no side: at places 2 and 3 of A B C D, B goes over C, or C over B."""
    over = moves.moves((1, 2, 3, 4), Turn(".", (2,)))
    under = moves.moves((1, 2, 3, 4), Turn(".", (-2,)))
    assert (over[3], over[1][2, 3], over[2]) == (2, True, [1, 3, 2, 4])
    assert (under[3], under[1][2, 3], under[2]) == (3, False, [1, 3, 2, 4])
    assert moves.moves((4, 3, 2, 1), Turn("R", (-3,)))[3] == 1


def test_wrong_schedules_are_seen_through() -> None:
    p = plan.standard(3)
    for wrong in (
        (TabPass(4, 2, "back"), TabPass(6, 1, "front")),
        (TabPass(4, 1, "front"), TabPass(6, 1, "front")),
        (TabPass(5, 2, "front"), TabPass(6, 1, "front")),
        (TabPass(4, 2, "front"),),
        (),
    ):
        assert not passes.is_right(3, p.turns, wrong)


def test_a_front_pass_coils_the_left_strands_left_handed() -> None:
    """The sign of a pass, from the picture of the motion: the strand left of the gap rolls about an axis to the
    right, a helix whose two edges have linking number -1 (Gauss integral), which is this module's +1."""
    import numpy as np

    def coil(offset: float) -> np.ndarray:
        t = np.linspace(0.0, 1.0, 1600)
        # Down, towards the viewer (+z), up, through the gap on the right, down behind: about the x axis.
        angle = -2 * np.pi * t
        x = offset + 0.9 * t
        turn = np.stack([x, -np.cos(angle) * 0 - np.cos(angle), -np.sin(angle)], axis=1)
        far = 4000.0
        up = np.array([[offset, far, 0.0], [offset, -1.0, 0.0]])
        down = np.array([[offset + 0.9, -1.0, 0.0], [offset + 0.9, -far, 0.0]])
        dense = [np.linspace(up[0], up[1], 3000), turn[1:-1], np.linspace(down[0], down[1], 3000)]
        return np.concatenate(dense)

    # The coil starts below (y = -1): towards the viewer first.
    a, b = coil(0.0), coil(0.1)
    assert a[3100][2] > 0
    # Signed crossings seen from the front, both read downwards.
    total = 0.0
    for i in range(len(a) - 1):
        p, r = a[i], a[i + 1] - a[i]
        q, s = b[:-1], np.diff(b, axis=0)
        cross = r[0] * s[:, 1] - r[1] * s[:, 0]
        d = q - p
        with np.errstate(divide="ignore", invalid="ignore"):
            u = (d[:, 0] * s[:, 1] - d[:, 1] * s[:, 0]) / cross
            v = (d[:, 0] * r[1] - d[:, 1] * r[0]) / cross
        hit = (cross != 0) & (u > 0) & (u < 1) & (v > 0) & (v < 1)
        for k in np.flatnonzero(hit):
            za, zb = p[2] + u[k] * r[2], q[k][2] + v[k] * s[k][2]
            total += np.sign(cross[k]) * np.sign(za - zb) / 2
    assert round(total) == -1
    # In our letters, +1 (left over right, read downwards) is a left-handed, negative crossing.
    over, under = np.array([1.0, -1.0]), np.array([-1.0, -1.0])
    assert np.sign(over[0] * under[1] - over[1] * under[0]) == -1
    assert TabPass(4, 2, "front").sign == 1
    assert passes.pass_word(3, 2, 1) == (1, 1)


@given(strands_and_words)
def test_linking_is_blind_to_conjugation_and_adds_up(case: tuple[int, tuple[int, ...], tuple[int, ...]]) -> None:
    n, w, v = case
    pure = conjugate(w, (1, 1))
    assert sum(linking(n, pure).values()) == 2
    assert tangle(n, ()) == 0.0
    assert tangle(n, conjugate(v, ())) == 0.0


def test_long_words_of_many_strands_are_decided() -> None:
    assert proof.judge(9, crossings(plain_turns(9) * 9)).workable
    rng = random.Random(7)
    half = tuple(rng.choice([-1, 1]) * rng.randint(1, 24) for _ in range(200))
    assert proof.judge(25, half + passes.inverse(half)).workable


def test_typed_turns_and_words() -> None:
    assert crossings(parse_turns("Ro Lo", 3)) == (-2, 1)
    assert crossings(parse_turns("ruo LUO", 5)) == (4, -3, -1, 2)
    assert crossings(parse_turns("Roo Luu", 3)) == (-2, -1, -1, -2)  # right across to the other edge
    assert parse_word("-2, 1 +2", 3) == (-2, 1, 2)
    for bad in ("", "X", "R", "Rx", "Rooo", "o"):
        with pytest.raises(InputError, match=r"^--turns: "):
            parse_turns(bad, 3)
    for bad in ("", "3", "0", "1.5", "one", "9" * 50):
        with pytest.raises(InputError, match=r"^--word: "):
            parse_word(bad, 3)
