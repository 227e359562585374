"""Exact shapes and their shapely views."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork.geometry.shape import Arc, Line, Outline, stadium, strap_outline, tip_depth

widths = st.floats(4, 120)
ends = st.sampled_from(["round", "pointed", "square", "clipped"])


@given(width=widths, extra=st.floats(1, 2000))
def test_a_stadium_has_the_closed_forms(width: float, extra: float) -> None:
    length = width + extra
    shape = strap_outline(length, width)
    assert shape.area == pytest.approx(width * (length - width) + math.pi * width**2 / 4, rel=1e-12, abs=1e-6)
    assert shape.length == pytest.approx(2 * (length - width) + math.pi * width, rel=1e-12)
    assert stadium(length, width).area == pytest.approx(shape.area)


@given(width=widths, start=ends, finish=ends, extra=st.floats(1, 500))
def test_every_outline_closes_is_simple_and_stays_in_its_box(
    width: float, start: str, finish: str, extra: float
) -> None:
    length = extra + tip_depth(start, width, None) + tip_depth(finish, width, None)
    shape = strap_outline(length, width, start, finish)
    assert shape.gap() < 1e-9
    polygon = shape.polygon(0.0005)
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    # Chords lie at most 0.0005 mm inside the arcs all round.
    assert -1e-9 <= shape.area - polygon.area <= 0.0005 * shape.length
    assert shape.box() == pytest.approx((0.0, 0.0, length, width), abs=1e-9)


@given(width=widths, share=st.floats(0.05, 0.45), extra=st.floats(10, 500))
def test_corners_of_a_small_radius_take_their_closed_form_off_a_rectangle(
    width: float, share: float, extra: float
) -> None:
    """Four corners of radius r: (4 - pi) r^2 less than the rectangle, and (8 - 2 pi) r less round it."""
    length, r = width + extra, share * width
    shape = strap_outline(length, width, start_radius=r, finish_radius=r)
    assert shape.gap() < 1e-9
    assert shape.box() == pytest.approx((0.0, 0.0, length, width), abs=1e-9)
    assert shape.area == pytest.approx(length * width - (4 - math.pi) * r * r, rel=1e-12)
    assert shape.length == pytest.approx(2 * (length + width) - (8 - 2 * math.pi) * r, rel=1e-12)


@given(width=widths, depth=st.floats(0.51, 3))
def test_a_pointed_tip_is_tangent_to_the_edges_and_meets_in_the_middle(width: float, depth: float) -> None:
    shape = strap_outline(1000.0, width, "square", "pointed", finish_depth=depth * width)
    arcs = [s for s in shape if isinstance(s, Arc)]
    assert len(arcs) == 2
    assert arcs[0].end == pytest.approx((1000.0, width / 2), abs=1e-9)
    assert arcs[0].start[0] == pytest.approx(arcs[0].cx, abs=1e-9)  # the radius stands upright on the edge


def test_a_pointed_tip_half_as_deep_as_wide_is_a_round_end() -> None:
    a = strap_outline(200.0, 20.0, "round", "pointed", finish_depth=10.0)
    assert a.area == pytest.approx(strap_outline(200.0, 20.0).area)


@given(st.floats(-720, 720), st.floats(-350, 350).filter(lambda s: abs(s) > 1), st.integers(-5, 7))
def test_arcs_turn_mirror_and_reverse_exactly(start: float, sweep: float, quarters: int) -> None:
    a = Arc(3.0, -2.0, 7.0, start, sweep)
    x, y = a.end
    turned = a.turned(quarters).end
    expect = [(x, y), (-y, x), (-x, -y), (y, -x)][quarters % 4]  # five quarters are one, and one back is three
    assert turned == pytest.approx(expect, abs=1e-9)
    assert a.mirrored().end == pytest.approx((x, -y), abs=1e-9)
    assert a.reversed().end == pytest.approx(a.start, abs=1e-9)
    x0, y0, x1, y1 = a.box()
    for px, py in a.points(0.01):
        assert x0 - 1e-9 <= px <= x1 + 1e-9
        assert y0 - 1e-9 <= py <= y1 + 1e-9


def test_area_knows_which_way_round() -> None:
    square = Outline((Line(0, 0, 2, 0), Line(2, 0, 2, 2), Line(2, 2, 0, 2), Line(0, 2, 0, 0)))
    assert square.area == 4.0
    assert Outline(tuple(s.reversed() for s in reversed(square.segments))).area == -4.0
