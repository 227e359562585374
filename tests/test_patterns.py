"""Pattern and hardware files, ours and the maker's own."""

from __future__ import annotations

import itertools
import shutil
from pathlib import Path

import pytest
from shapely import LineString, Point, Polygon

from strapwork.cli import main as cli
from strapwork.errors import InputError
from strapwork.files import folders as data
from strapwork.files import schema
from strapwork.files.folders import Places
from strapwork.job import tried
from strapwork.order import doors
from strapwork.piece.companions import with_companions
from strapwork.piece.piece import Piece
from strapwork.say import steps
from strapwork.stock import hardware
from strapwork.stock import patterns as pattern_files
from tests.helpers import HERE

WRISTBAND = data.folder("patterns") / "wristband.toml"


def test_all_of_ours_load_and_say_how_to_measure() -> None:
    names = {r.name for r in pattern_files.all_patterns()}
    assert {
        "wristband",
        "belt",
        "bag-handle",
        "carrier-handle",
        "key-fob",
        "dog-lead",
        "hat-band",
        "plain-strap",
    } <= names
    for r in pattern_files.all_patterns():
        assert r.measure.how.endswith(".")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('to_slit = "3/4 in"', 'to_slitt = "3/4 in"', ["start.to_slitt", "did you mean 'to_slit'"]),
        ('width = "3/4 in"', "width = 19.05", ["strap.width", "no unit"]),
        ('width = "3/4 in"', 'width = "3/4 oz"', ["strap.width", "'oz'", "not a unit"]),
        ('width = "3/4 in"', 'width = "0 mm"', ["strap.width", "zero"]),
        ("strands = 3", "strands = 99", ["braid.strands", "'99'", "at most 25"]),
        ('shape = "round"', 'shape = "star"', ["start.shape", "'star'", "pointed"]),
        ('part = "snap"', 'part = "magnet"', ["start.fixtures[1].part", "'magnet'"]),
        ('lies = "round"', 'lies = "folded"', ["wire"]),
        ('meets = "overlap"', "", ["start.meets", "missing"]),
        ("[strap]", "[strap", ["not valid TOML", "line"]),
    ],
)
def test_refusals_name_file_key_and_value(tmp_path: Path, old: str, new: str, words: list[str]) -> None:
    text = WRISTBAND.read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "mine.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError) as e:
        pattern_files.load(path)
    for word in ["mine.toml", *words]:
        assert word in str(e.value)


def test_a_maker_adds_a_pattern_and_hardware_without_python(tmp_path: Path) -> None:
    mine = tmp_path / "shop"
    (mine / "hardware").mkdir(parents=True)
    shutil.copy(WRISTBAND, mine / "cuff.toml")
    (mine / "hardware" / "own.toml").write_text(
        'kind = "snap"\ntitle = "Ours"\nsource = "measured"\n[[sizes]]\nname = "pier-snap"\ntitle = "pier snap"\n'
        'cap = "18 L"\nhole = "3 mm"\ngrips = "0.5-3.0 mm"\n',
        encoding="utf-8",
    )
    assert pattern_files.find("cuff", "test", mine).title == "Wristband with a snap"
    assert hardware.catalogue(mine).for_stack("snap", 1.8, "test").name == "pier-snap"


def test_unknown_names_get_the_nearest_one() -> None:
    with pytest.raises(InputError, match="did you mean 'wristband'"):
        pattern_files.find("wristbnd", "PATTERN")
    with pytest.raises(InputError, match="did you mean 'rivet-10'"):
        hardware.catalogue().named("rivet10", "test")


def test_files_that_are_no_text_are_refused(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_bytes(b"title = '\xff\xfe'")
    with pytest.raises(InputError, match="not UTF-8"):
        schema.read_toml(bad, "pattern")
    with pytest.raises(InputError, match="cannot be read"):
        schema.read_toml(tmp_path / "none.toml", "pattern")


def doors_piece(texts: dict[str, str], places: Places) -> Piece:
    return with_companions(doors.of_texts(texts, HERE, places).orders[0])[0]


def asked(name: str, mm: float, hand: str, **more: str) -> list[Piece]:
    texts = {"pattern": name, "measure": f"{mm:.3f} mm", "hand": hand, **more}
    return with_companions(doors.of_texts(texts, HERE, Places()).orders[0])


@pytest.mark.parametrize("pattern", pattern_files.all_patterns(), ids=lambda p: p.name)
def test_at_its_least_and_its_most_a_pattern_can_be_worked_as_it_stands(pattern: pattern_files.Pattern) -> None:
    """With its own leather, width and strands: braided where it is a braided pattern, and nothing stops the work."""
    for mm in (pattern.measure.least, pattern.measure.most):
        made = asked(pattern.name, mm, "right")[0]
        assert (made.fit.braid is not None) == (pattern.braid.strands > 1 and pattern.braid.sets != 0)
        assert [f.code for f in made.findings if f.level == "stop"] == []


@pytest.mark.parametrize(("name", "below"), [("carrier-handle", "190.3 mm"), ("plain-strap", "124.2 mm")])
def test_the_least_of_two_patterns_is_what_their_braid_needs(tmp_path: Path, name: str, below: str) -> None:
    """One set of three strands of 8.4667 mm needs braid of 51.73 mm in 3.2 mm leather and 48.13 mm in 2.4 mm, by hand: the
    least of (4 + 1) u - p, u = sqrt(p^4 / (p^2 - c^2) + 3.5 t^2), c = 3 (8.4667 + t) / 4, is at 4 p of that.  Plain ends take
    150 mm, less 11.31 mm round two rings, and 76.20 mm."""
    text = (data.folder("patterns") / f"{name}.toml").read_text(encoding="utf-8")
    least = next(line for line in text.splitlines() if line.startswith("least"))
    own = tmp_path / "own.toml"
    own.write_text(text.replace(least, 'least = "60 mm"'), encoding="utf-8")

    def made(mm: str) -> Piece:
        return doors_piece({"pattern": "own", "measure": mm}, Places(patterns=tmp_path))

    assert made(f"{float(below.split()[0]) + 0.2:.1f} mm").fit.braid is not None
    with pytest.raises(
        InputError, match=r"cannot be packed into .*; use narrower strands, thinner leather or a plain strap"
    ):
        made(below)
    with pytest.raises(InputError, match=rf"out of range for '{name}'; give from 1\d\d mm"):
        asked(name, float(below.split()[0]), "right")


@pytest.mark.parametrize("pattern", pattern_files.all_patterns(), ids=lambda p: p.name)
def test_at_every_size_and_for_either_hand_it_can_be_cut_and_braided(pattern: pattern_files.Pattern) -> None:
    """Holes and slits on the leather, strands wide enough and alike, a step for all that is drawn.

    The leather is laid out here anew, its round ends by shapely; 2 mm is what common practice leaves about a hole."""
    m = pattern.measure
    for share in (0.0, 0.13, 0.4, 0.77, 1.0):
        mm = m.least + share * (m.most - m.least)
        plans = []
        for hand in ("right", "left"):
            pieces = asked(pattern.name, mm, hand)
            strap = pieces[0].strap
            leather = Polygon([q for s in strap.outline for q in s.points(0.005)])
            assert leather.is_valid
            assert leather.bounds == pytest.approx((0, 0, strap.length, strap.width), abs=0.02)
            for h in strap.holes:
                half = (h.length - h.diameter) / 2
                cut = LineString([(h.x - half, h.y), (h.x + half, h.y)]) if half else Point(h.x, h.y)
                assert leather.contains(cut)
                assert cut.distance(leather.exterior) - h.diameter / 2 >= 2.0 - 0.01, (pattern.name, mm, h)
            for line in strap.slits:
                assert leather.contains(LineString([line.start, line.end]))
            rows = [0.0, *(line.y0 for line in strap.slits), strap.width]
            strands = [b - a for a, b in itertools.pairwise(rows)]
            assert min(strands) >= 2.0
            assert max(strands) - min(strands) < 1e-9
            dealt = [d for s in steps.steps(pieces[0], pieces[1:]) for d in s.deals]
            drawn = [
                strap.outline,
                *strap.slits,
                *strap.holes,
                *strap.marks,
                *strap.footprints,
                *strap.fittings,
                *pieces[1:],
            ]
            assert [f for f in drawn if f not in dealt] == []
            plans.append(pieces[0].plan)
        right, left = plans
        assert (right is None) == (left is None)
        if right and left:
            assert [t.text()[0] for t in left.turns] == [{"R": "L", "L": "R"}[t.text()[0]] for t in right.turns]


def test_patterns_are_tried_when_they_arrive(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fob whose snap stands 9 mm aside on a strap 15.9 mm wide, a file that is none, and a band that is good."""
    fob = (data.folder("patterns") / "key-fob.toml").read_text(encoding="utf-8")
    (tmp_path / "quay-fob.toml").write_text(
        fob.replace('half = "cap"', 'half = "cap"\nacross = "9 mm"'), encoding="utf-8"
    )
    (tmp_path / "torn.toml").write_text("title = ", encoding="utf-8")
    shutil.copy(WRISTBAND, tmp_path / "cuff.toml")
    monkeypatch.setattr(tried, "SIZES", 2)

    assert cli.main(["patterns", "--check", "--patterns", str(tmp_path)]) == 2

    told = capsys.readouterr()
    assert "quay-fob: cannot be used." in told.out
    assert "at 60 mm to 250 mm: the snap hole" in told.out
    assert "runs off the leather; move it inwards or use a wider strap" in told.out
    assert "torn: cannot be used." in told.out
    assert "cuff: 4 pieces from 100 mm to 300 mm, either hand, nothing wrong." in told.out
    assert "quay-fob, torn cannot be made as drawn; mend what is named above" in told.err
    for ours in pattern_files.all_patterns():
        assert f"{ours.name}: " in told.out


def test_trouble_at_some_sizes_only_is_named_with_them(tmp_path: Path) -> None:
    """A bag handle with a third rivet 250 mm inwards: it runs into its fellow where the handle is short."""
    text = (data.folder("patterns") / "bag-handle.toml").read_text(encoding="utf-8")
    (tmp_path / "own.toml").write_text(text.replace('at = "-25 mm"', 'at = "250 mm"'), encoding="utf-8")
    found = tried.of_pattern(pattern_files.find("own", "test", tmp_path), tmp_path)

    assert found.trouble
    assert all(t.startswith("at ") for t in found.trouble)
    assert any("150 mm" in t for t in found.trouble)


def test_a_size_without_room_for_the_braid_is_tried_as_a_plain_strap(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plain strap from 100 mm, where its braid needs 124 mm and more (worked out above)."""
    text = (data.folder("patterns") / "plain-strap.toml").read_text(encoding="utf-8")
    least = next(line for line in text.splitlines() if line.startswith("least"))
    (tmp_path / "short.toml").write_text(text.replace(least, 'least = "100 mm"'), encoding="utf-8")
    monkeypatch.setattr(tried, "SIZES", 2)
    found = tried.of_pattern(pattern_files.find("short", "x", tmp_path), tmp_path)
    assert found == tried.Tried("short", 4, 100.0, 3000.0, ())


def test_sizes_that_are_tried_grow_from_the_least_to_the_most_by_the_same_share() -> None:
    """Nine from 100 to 300 mm: each 3 ** (1 / 8) of the last, 173.2 mm in the middle."""
    found = tried.sizes(pattern_files.find("wristband", "x"))
    assert (len(found), found[0], found[-1]) == (9, 100.0, 300.0)
    assert [b / a for a, b in itertools.pairwise(found)] == pytest.approx([3 ** (1 / 8)] * 8)


def test_whatever_is_drawn_and_has_no_step_is_trouble(monkeypatch: pytest.MonkeyPatch) -> None:
    """A belt has all that can be drawn, and a keeper beside it."""
    monkeypatch.setattr(tried, "SIZES", 2)
    monkeypatch.setattr(steps, "steps", lambda *_: [])
    found = tried.of_pattern(pattern_files.find("belt", "x"))
    drawn = ["a companion", "a hole", "a mark", "a piece of hardware", "a place of hardware", "a slit", "the outline"]
    assert [t.partition(": ")[2].partition(" has no step")[0] for t in found.trouble] == drawn
