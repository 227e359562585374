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


def test_only_three_strands_climb_steeper_and_more_strands_pay_more_for_their_ends() -> None:
    assert [(p.steeper, p.ends) for p in (standard(n).plait for n in (3, 5, 7))] == [(3.5, 1.0), (1.0, 4.0), (1.0, 7.0)]


def used_up(plait: geometry.Plait, s: float, t: float, sets: int, length: float) -> float:
    """The slit by the formulas of the module docstring, written out."""
    c = plait.strands * s / (2 * (plait.strands - 1))
    r, h = 3.5 if plait.strands == 3 else 1, (3 * plait.strands - 7) / 2
    p = length / (sets * plait.steps)
    u = math.sqrt((2 * c / math.sin(2 * math.asin(c / p))) ** 2 + r * plait.changes * t * t)
    return (sets * plait.steps + h) * u - h * p


@given(plait=plaits, s=st.floats(3, 20), t=st.floats(0.8, 4), sets=st.integers(1, 8), length=st.floats(60, 1500))
def test_slit_and_finished_length_are_two_ways_of_saying_one_thing(
    plait: geometry.Plait, s: float, t: float, sets: int, length: float
) -> None:
    form = geometry.from_finished(plait, s, t, sets, length)
    assume(form is not None and form.angle_deg < 40)
    assert form is not None
    back = geometry.from_slit(plait, s, t, sets, form.slit)
    assert back is not None
    assert back.finished == pytest.approx(length, rel=1e-9)
    assert form.slit == pytest.approx(used_up(plait, s, t, sets, length), rel=1e-12)
    assert form.slit == pytest.approx(geometry.strand_used(plait, s, t, form.angle_deg, sets), rel=1e-9)
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


@given(plait=plaits, s=st.floats(3, 20), t=st.floats(0.8, 4), sets=st.integers(1, 30))
def test_the_jam_is_the_shortest_slit(plait: geometry.Plait, s: float, t: float, sets: int) -> None:
    least = geometry.jam_slit(plait, s, t, sets)
    spacing = s + t
    assert geometry.from_slit(plait, s, t, sets, least * 1.0001, spacing) is not None
    assert geometry.from_slit(plait, s, t, sets, least * 0.999, spacing) is None
    # The least of the formula, looked for at every angle in steps that miss it by less than a millionth.
    c = geometry.step_across(plait, spacing)
    steps = [c / math.sin(math.radians(45.0 - 0.01 * k)) for k in range(1500)]
    slits = [used_up(plait, spacing, t, sets, sets * plait.steps * p) for p in steps]
    assert least == pytest.approx(min(slits), rel=1e-6)
    length, slit = geometry.jam(plait, spacing, t, sets)
    assert slit == least
    assert geometry.from_finished(plait, s, t, sets, length * 1.0001, spacing) is not None
    assert geometry.from_finished(plait, s, t, sets, length * 0.999, spacing) is None


@given(plaits, st.floats(3, 20), st.floats(0.8, 4), st.floats(60, 1500), st.sampled_from(["soft", "medium", "firm"]))
def test_the_sets_that_a_slit_holds_are_the_most_that_can_be_worked_in_it(
    plait: geometry.Plait, s: float, t: float, slit: float, temper: str
) -> None:
    room = geometry.capacity(plait, s, t, slit, temper)
    assert room.jammed == max((m for m in range(1, 400) if geometry.from_slit(plait, s, t, m, slit, s + t)), default=0)
    forms = {m: geometry.from_slit(plait, s, t, m, slit) for m in range(1, room.jammed + 1)}
    for count, limits in ((room.tight, geometry.TIGHT), (room.comfortable, geometry.COMFORTABLE)):
        easy = [m for m, form in forms.items() if form and form.angle_deg <= limits[temper] + 1e-9]
        assert count == max(easy, default=0)


@given(plaits, st.floats(3, 20), st.floats(0.8, 4), st.integers(1, 8), st.floats(60, 1500))
def test_the_band_holds_the_point_value(plait: geometry.Plait, s: float, t: float, sets: int, length: float) -> None:
    cases = geometry.extremes(plait, s, t)
    forms = [geometry.from_finished(p, s, t, sets, length, e) for p, e in cases]
    assume(all(forms))
    least, point, most = (f.take_up for f in forms if f)
    assert least < point < most
    assert cases[1] == (plait, s)


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
