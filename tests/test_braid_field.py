"""The arithmetic that braids are told apart by: matrices of determinant 1 over the field with 2**31 - 1 elements."""

from __future__ import annotations

import hypothesis.strategies as st
from hypothesis import given

from strapwork.braid import field
from strapwork.braid.field import Matrix, P

BASE = field.closed_tuple(4)
entry = st.integers(0, P - 1)


@st.composite
def matrices(draw: st.DrawFn) -> Matrix:
    a, b, c = draw(st.integers(1, P - 1)), draw(entry), draw(entry)
    return (a, b, c, (1 + b * c) * pow(a, -1, P) % P)


def conjugated(g: Matrix) -> list[Matrix]:
    return [field.mul(field.mul(g, m), field.inv(g)) for m in BASE]


def product(a: Matrix, b: Matrix) -> Matrix:
    """By sympy."""
    import sympy

    e = [int(x) % P for x in sympy.Matrix(2, 2, a) * sympy.Matrix(2, 2, b)]
    return (e[0], e[1], e[2], e[3])


def rows_of(by_column: field.Columns) -> list[Matrix]:
    return list(zip(*(c.tolist() for c in by_column), strict=True))


@given(matrices())
def test_what_conjugates_a_tuple_is_found_again_up_to_its_sign(g: Matrix) -> None:
    assert field.conjugator(BASE, conjugated(g)) in (g, tuple(-x % P for x in g))


@given(st.integers(1, P - 1), matrices())
def test_only_what_has_determinant_1_after_all_conjugates(d: int, g: Matrix) -> None:
    """By diag(d, 1): the same up to a factor as one of determinant 1 where d is a square, which sympy tells."""
    import sympy

    image = [(a, d * b % P, c * pow(d, -1, P) % P, e) for a, b, c, e in conjugated(g)]
    found = field.conjugator(BASE, image)
    assert (found is not None) == sympy.is_quad_residue(d, P)
    assert found is None or (found[0] * found[3] - found[1] * found[2]) % P == 1


def test_tuples_that_are_no_conjugates_have_none() -> None:
    assert field.conjugator(BASE, [BASE[1], BASE[0], *BASE[2:]]) is None
    assert field.conjugator([field.ONE], [field.ONE]) is None  # any matrix would do


@given(st.lists(matrices(), min_size=1, max_size=5), matrices())
def test_columns_multiply_and_turn_round_as_matrices_do(left: list[Matrix], right: Matrix) -> None:
    every = field.columns(left)
    assert rows_of(field.times(every, field.columns([right]))) == [product(m, right) for m in left]
    assert [product(i, m) for i, m in zip(rows_of(field.inverses(every)), left, strict=True)] == [field.ONE] * len(left)
