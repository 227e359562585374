"""Leather, hardware and loads against handbooks and general libraries."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from strapwork.files.folders import Places
from strapwork.order import doors
from strapwork.piece import load
from strapwork.piece.piece import Piece, work_out
from strapwork.stock import hardware
from tests.helpers import HERE

Draft = Callable[..., Piece]
PATTERNS = Path(__file__).resolve().parents[2] / "patterns"


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
    assert load.net_area(100.0, 10.0, [20.0]) * 100.0 == pytest.approx(80_000.0)
    assert load.net_area(100.0, 10.0, [20.0, 20.0]) * 100.0 == pytest.approx(60_000.0)
    assert load.net_area(30.0, 10.0, [20.0, 20.0]) == 0.0  # nothing is left, and never less


# Areas in mm2 by hand; holes for rivets are 1/8 in.
LOAD_TABLES = [
    # 25.4 x 3.2 mm riveted on to a bag: the posts carry all of it, 2 x 3.175 x 3.2; beside a hole (25.4 - 3.175) x 3.2.
    ("bag-handle", "500 mm", {"bearing at 2 posts, start": (20.32, 1), "at the rivet hole, finish": (71.12, 1)}),
    # 38.1 x 3.2 mm, turned back at the buckle: the fold carries half, so four posts of 4 x 3.175 x 3.2 hold twice that;
    # two rivets stand side by side, the tongue's slot and the holes of the other end are 5 mm wide.
    (
        "belt",
        "34 in",
        {
            "bearing at 4 posts, start": (40.64, 2),
            "at the rivet holes, start": (101.6, 1),
            "at the buckle tongue slot, start": (105.92, 1),
            "at the adjustment hole, finish": (105.92, 1),
        },
    ),
]


@pytest.mark.parametrize(("pattern", "measure", "sections"), LOAD_TABLES)
def test_a_load_table_is_area_times_strength(
    pattern: str, measure: str, sections: dict[str, tuple[float, int]], draft: Draft
) -> None:
    """8 N/mm2 on each area; strands pull along the strap with the cosine of the angle that they lie at."""
    p = draft(pattern, measure, "3.2 mm")
    table = {s.what: s for s in load.estimate(p).sections}
    for what, (area, times) in sections.items():
        assert (table[what].area, table[what].newtons) == pytest.approx((area, area * 8.0 * times))
    assert p.fit.braid
    strands = p.strap.width * 3.2
    assert table["strands together"].area == pytest.approx(strands)
    assert table["strands together"].newtons == pytest.approx(
        strands * 8.0 * math.cos(math.radians(p.fit.braid.angle_deg))
    )
    assert "plain strap" not in table


@pytest.mark.parametrize(
    ("pattern", "measure", "start", "finish"),
    [
        # Set on by two rivets an end: the one nearer to the braid has the whole load beside it, 45 mm from either raw end.
        ("bag-handle", "500 mm", 45.0, 45.0),
        # Turned back, the strap lies double over its tail: of the two rivets through both, the hole in the strap itself.
        ("carrier-handle", "500 mm", 105.0, 105.0),
    ],
)
def test_of_holes_alike_that_beside_the_whole_load_is_named(
    pattern: str, measure: str, start: float, finish: float, draft: Draft
) -> None:
    """From the distances in the pattern files: 20 + 25 mm; turned at 60 mm, rivets 45 mm and 15 mm off the turn."""
    p = draft(pattern, measure, "3.2 mm")
    how = {s.what: s.how for s in load.estimate(p).sections}
    for end, x in (("start", start), ("finish", p.strap.length - finish)):
        (said,) = re.findall(r"([\d.]+) mm along", how[f"at the rivet hole, {end}"])
        assert float(said) == pytest.approx(x, abs=0.06)


def test_a_strap_without_a_slit_holds_what_leather_of_its_section_holds(draft: Draft) -> None:
    """20 x 2 mm of 8 N/mm2: 320 N."""
    e = load.estimate(draft("plain-strap", "400 mm", "2 mm", width=20.0, sets=0))
    assert [(s.what, s.newtons) for s in e.sections] == [("plain strap", pytest.approx(320.0))]


def test_the_thinner_of_two_posts_decides(draft: Draft, tmp_path: Path) -> None:
    """Posts at one end share the load alike: a rivet in 1/8 in beside a screw post in 5 mm counts as two rivets."""
    text = (PATTERNS / "bag-handle.toml").read_text(encoding="utf-8")
    mixed = text.replace('part = "rivet"\nat =', 'part = "screw-post"\nat =')
    (tmp_path / "mixed.toml").write_text(mixed, encoding="utf-8")
    texts = {"pattern": "mixed", "measure": "500 mm", "leather": "3.2 mm", "units": "mm"}
    p = work_out(doors.of_texts(texts, HERE, Places(patterns=tmp_path)).orders[0])
    assert {h.diameter for h in p.strap.holes} == {3.175, 5.0}
    posts = [s.newtons for s in load.estimate(p).sections if s.posts]
    assert posts == pytest.approx([2 * 3.175 * 3.2 * 8.0] * 2)


def test_strength_is_the_low_end_of_the_published_range(draft: Draft) -> None:
    """Bovine leather 8-25 N/mm2, stated by trade bodies; tensile test ISO 3376, thickness ISO 2589, buckle tear ASTM D4831."""
    e = load.estimate(draft("dog-lead", "1.2 m"))
    assert e.strength == 8.0
    assert "8 to 25" in e.source
    for name in ("ISO 3376", "ISO 2589", "ASTM D4831"):
        assert name in (load.__doc__ or "")
