"""Braids against libraries and theorems that are not ours."""

from __future__ import annotations

import random
from typing import Any

import pytest

from strapwork.braid import passes, proof
from strapwork.braid.word import crossings, linking, plain_turns, positions_after
from strapwork.say import braiding

WORD = (-2, 1) * 3


def test_the_closure_of_six_crossings_is_the_borromean_rings() -> None:
    """spherogram and snappy (the census name L6a4, volume 7.327724753..): three rings, no two of them linked."""
    snappy = pytest.importorskip("snappy")
    spherogram = pytest.importorskip("spherogram")
    link = spherogram.Link(braid_closure=[1, -2, 1, -2, 1, -2])
    assert len(link.link_components) == 3
    assert all(v == 0 for row in link.linking_matrix() for v in row)
    outside = link.exterior()
    assert float(outside.volume()) == pytest.approx(7.327724753, abs=1e-8)
    assert snappy.Manifold("L6a4").is_isometric_to(outside)
    # And ours: pure, unlinked, workable, yet not trivial as a braid.
    assert not any(linking(3, WORD).values())
    assert proof.judge(3, WORD).workable
    assert not proof.is_trivial_braid(3, WORD)


def burau(word: tuple[int, ...], at: int | None = None) -> Any:
    """Reduced Burau representation of B3, faithful (W. Magnus and A. Peluso, 1969), in t or at a number for it."""
    from sympy import QQ, Symbol
    from sympy.polys.matrices import DomainMatrix

    field = QQ.frac_field(Symbol("t")) if at is None else QQ
    t, one = field.gens[0] if at is None else QQ(at), field.one
    generators = [
        DomainMatrix([[-t, one], [field.zero, one]], (2, 2), field),
        DomainMatrix([[one, field.zero], [t, -t]], (2, 2), field),
    ]
    m = DomainMatrix.eye(2, field).to_dense()
    for c in word:
        g = generators[abs(c) - 1]
        m = m * (g if c > 0 else g.inv())
    return m


def test_triviality_in_three_strands_agrees_with_the_burau_matrix() -> None:
    rng = random.Random(20)
    seen = {True: 0, False: 0}
    for k in range(60):
        w = tuple(rng.choice([1, -1, 2, -2]) for _ in range(rng.randint(1, 8)))
        if k % 3 == 0:
            w = (*w, *passes.inverse(w))
        elif k % 3 == 1:
            w = (*w, 1, 2, 1, -2, -1, -2, *passes.inverse(w))
        ours = proof.is_trivial_braid(3, w)
        assert ours == (burau(w) == burau(()))
        seen[ours] += 1
    assert min(seen.values()) > 10


def test_permutations_agree_with_sympy() -> None:
    from sympy.combinatorics import Permutation

    rng = random.Random(3)
    for _ in range(200):
        n = rng.randint(3, 13)
        w = [rng.choice([1, -1]) * rng.randint(1, n - 1) for _ in range(rng.randint(0, 40))]
        p = Permutation(n - 1)
        for c in w:
            p = Permutation(n - 1)(abs(c) - 1, abs(c)) * p
        assert tuple(p(i) + 1 for i in range(n)) == positions_after(n, w)


@pytest.mark.parametrize("n", [3, 4, 5, 6])
def test_the_sphere_relations_are_undone(n: int) -> None:
    """E. Fadell and J. Van Buskirk (1962): one strand round all the others, and the centre of B_n, vanish on the sphere."""
    round_all = (*range(1, n), *range(n - 1, 0, -1))
    assert proof.is_trivial_on_sphere(n, round_all)
    assert proof.is_trivial_on_sphere(n, tuple(range(1, n)) * n)
    if n > 3:
        assert not proof.is_trivial_on_sphere(n, (1, 1))


def test_in_three_strands_unlinked_and_pure_is_enough() -> None:
    """Shepperd 1962 for three threads: the sphere with three marked points has no pure mapping classes but the trivial one."""
    rng = random.Random(5)
    for _ in range(100):
        w = tuple(rng.choice([1, -1, 2, -2]) for _ in range(rng.randint(2, 14)))
        if positions_after(3, w) == (1, 2, 3):
            assert proof.is_trivial_on_sphere(3, w)
            assert proof.judge(3, w).workable == (not any(linking(3, w).values()))


def test_six_turns_and_the_passes_of_the_trade() -> None:
    """Common practice, no source: six turns make a set, the tab passed after the fourth turn round the right-hand
    strand and again after the sixth."""
    from strapwork.braid.plan import standard

    p = standard(3)
    assert crossings(plain_turns(3) * 3) == WORD == crossings(p.turns)
    assert next((q.after_turn, braiding.where(q, 3)) for q in p.schedule) == (4, "round the right-hand strand")
    assert p.schedule[1].after_turn == 6
