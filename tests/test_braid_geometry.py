"""Angle, pitch, take-up and room."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from strapwork.braid import geometry
from strapwork.braid.plan import standard

plaits = st.sampled_from([3, 5, 7, 9]).map(lambda n: standard(n).plait)


def test_what_is_read_off_the_word() -> None:
    three = standard(3).plait
    assert (three.turns_per_set, three.steps, three.changes) == (6, 4, 1.0)
    nine = standard(9).plait
    assert nine.steps == 2 * (9 - 1)


@given(plait=plaits, s=st.floats(3, 20), t=st.floats(0.8, 4), sets=st.integers(1, 8), length=st.floats(60, 1500))
def test_slit_and_finished_length_are_two_ways_of_saying_one_thing(
    plait: geometry.Plait, s: float, t: float, sets: int, length: float
) -> None:
    form = geometry.from_finished(plait, s, t, sets, length)
    assume(form is not None and form.angle_deg < 40)
    assert form is not None
    back = geometry.from_slit(plait, s, t, sets, form.slit)
    assert back is not None
    assert back.finished == pytest.approx(length, rel=1e-6)
    assert form.take_up > 0
    assert form.width > s


@given(plait=plaits, s=st.floats(3, 20), t=st.floats(0.8, 4), length=st.floats(200, 1500))
def test_more_sets_eat_more_until_they_jam(plait: geometry.Plait, s: float, t: float, length: float) -> None:
    eaten = 0.0
    for sets in range(1, 2000):
        form = geometry.from_finished(plait, s, t, sets, length)
        if form is None:
            break
        assert form.take_up > eaten
        assert form.angle_deg <= 45.0 + 1e-9
        eaten = form.take_up
    else:
        pytest.fail("never jams")


@given(plait=plaits, s=st.floats(3, 20), t=st.floats(0.8, 4))
def test_the_jam_is_the_shortest_slit(plait: geometry.Plait, s: float, t: float) -> None:
    least = geometry.jam_slit(plait, s, t)
    spacing = s + t
    assert geometry.from_slit(plait, s, t, 1, least * 1.0001, spacing) is not None
    assert geometry.from_slit(plait, s, t, 1, least * 0.999, spacing) is None
    c = geometry.step_across(plait, spacing)
    assert least == pytest.approx(plait.steps * math.sqrt(4 * c * c + plait.changes * t * t))


def test_room_by_temper() -> None:
    three = standard(3).plait
    rooms = [geometry.capacity(three, 6.35, 1.786, 160.0, temper) for temper in ("firm", "medium", "soft")]
    assert [r.comfortable for r in rooms] == sorted(r.comfortable for r in rooms)
    assert rooms[1].comfortable == 2
    assert rooms[1].tight == 3
    for r in rooms:
        assert r.comfortable <= r.tight <= r.jammed


def test_spacing_gives_the_band() -> None:
    three = standard(3).plait
    low, mid, high = geometry.spacings(three, 6.35, 1.8)
    forms = [geometry.from_finished(three, 6.35, 1.8, 2, 155.0, e) for e in (low, mid, high)]
    eaten = [f.take_up for f in forms if f]
    assert eaten == sorted(eaten)
    assert len(eaten) == 3
