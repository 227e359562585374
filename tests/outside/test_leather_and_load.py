"""Leather, hardware and loads against handbooks and general libraries."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from strapwork.piece import load
from strapwork.piece.piece import Piece
from strapwork.stock import hardware

Draft = Callable[..., Piece]


def test_caps_follow_from_lignes() -> None:
    """Trade standard, also stated in button tables: 40 lignes to the inch."""
    for size in hardware.catalogue().sizes("snap"):
        lignes = int(size.name.removeprefix("snap-"))
        assert size.cap == pytest.approx(lignes * 25.4 / 40)


def test_snap_sizes_by_thickness() -> None:
    """Common practice, no source: size 20 to about 5-6 oz, size 24 from 5-6 up to 8-9 oz; 1 oz = 1/64 in."""
    c = hardware.catalogue()
    ounce = 25.4 / 64
    for oz in (3, 4, 5, 5.5):
        assert c.for_stack("snap", oz * ounce, "x").name == "snap-20"
    for oz in (7, 8, 9):
        assert c.for_stack("snap", oz * ounce, "x").name == "snap-24"


def test_net_section_against_a_worked_example() -> None:
    """Textbook plate in tension, from memory after the usual strength-of-materials exercise: 100 mm x 10 mm, one
    20 mm hole across, 100 N/mm2: (100 - 20) x 10 x 100 = 80 kN; two holes of 20 mm in line: 60 kN."""
    assert load.net_section(100.0, 10.0, [20.0], 100.0) == pytest.approx(80_000.0)
    assert load.net_section(100.0, 10.0, [20.0, 20.0], 100.0) == pytest.approx(60_000.0)


def test_strength_is_the_low_end_of_the_published_range(draft: Draft) -> None:
    """Bovine leather 8-25 N/mm2, stated by trade bodies; tensile test ISO 3376, thickness ISO 2589, buckle tear ASTM D4831."""
    e = load.estimate(draft("dog-lead", "1.2 m"))
    assert e.strength == 8.0
    assert "8 to 25" in e.source
    for name in ("ISO 3376", "ISO 2589", "ASTM D4831"):
        assert name in (load.__doc__ or "")
