"""The model against what makers know."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from strapwork.braid import geometry
from strapwork.braid.plan import standard
from strapwork.piece.piece import Piece

Draft = Callable[..., Piece]


@pytest.mark.parametrize("wrist", ["6 in", "6 1/2 in", "7 in", "7 1/2 in", "8 in"])
def test_snap_to_snap_is_wrist_plus_an_inch(draft: Draft, wrist: str) -> None:
    """Common practice, no source: 3/4 in strap, three 1/4 in strands, 4-5 oz: wrist + 1 in, +/- 1/4 in."""
    p = draft("wristband", wrist, "4-5 oz")
    assert p.strap.width == pytest.approx(19.05)
    assert p.strands == 3
    assert abs(p.fit.reference_to_reference - p.value - 25.4) <= 25.4 / 4


@pytest.mark.parametrize("wrist", ["6 1/2 in", "7 in", "7 1/2 in"])
def test_two_sets_are_easy_and_three_want_supple_leather(draft: Draft, wrist: str) -> None:
    """Common practice, no source."""
    level = {n: {f.code for f in draft("wristband", wrist, "4-5 oz", sets=n).findings} for n in (2, 3)}
    assert "sets-tight" not in level[2]
    assert "sets-tight" in level[3]
    assert "sets-tight" not in {f.code for f in draft("wristband", wrist, "4-5 oz", sets=3, temper="soft").findings}


def test_belt_and_wristband_follow_common_practice(draft: Draft) -> None:
    """Common practice, no source: snap 1 in from the raw end, 1/8 in hole, slits from 1/2 to 3/4 in, 5 or 7 belt holes 1 in apart."""
    band = draft("wristband", "7 in")
    snaps = [h for h in band.strap.holes if h.purpose == "snap"]
    assert [snaps[0].x, band.strap.length - snaps[1].x] == pytest.approx([25.4, 25.4])
    assert snaps[0].diameter == pytest.approx(25.4 / 8)
    assert 25.4 / 2 <= band.fit.slit_start - snaps[0].x <= 25.4 * 3 / 4 + 1e-9
    belt = draft("belt", "34 in")
    rows = [h.x for h in belt.strap.holes if h.purpose == "adjustment"]
    assert len(rows) in (5, 7)
    assert belt.fit.finished == pytest.approx(34 * 25.4)


def test_cover_relation_of_flat_braids() -> None:
    """Source: D. Brunnschweiler, J. Textile Inst. 44 (1953), the closed braid: n strands of width s fill one
    pitch H, H sin a = n s (relation quoted from memory, the sum checked here by laying strands out)."""
    plait = standard(5).plait
    form = geometry.from_finished(plait, 6.0, 1.5, 3, 300.0)
    assert form is not None
    zigzags = plait.steps / (2 * (plait.strands - 1))
    pitch = form.set_length / zigzags
    assert pitch * math.sin(math.radians(form.angle_deg)) == pytest.approx(5 * 6.0)
    # Walk one strand as a polyline in space and measure it: the strand used, and what the held ends of five strands cost,
    # four steps' worth of take-up, must be the slit.
    steps = plait.steps * form.sets
    dx = form.finished / steps
    dy = math.tan(math.radians(form.angle_deg)) * dx
    dz = 1.5 * math.sqrt(plait.changes)
    step = math.dist((0, 0, 0), (dx, dy, dz))
    assert steps * step + 4 * (step - dx) == pytest.approx(form.slit)
