"""Pattern and hardware files, ours and the maker's own."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from strapwork.errors import InputError
from strapwork.files import folders as data
from strapwork.files import schema
from strapwork.stock import hardware
from strapwork.stock import patterns as pattern_files

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
