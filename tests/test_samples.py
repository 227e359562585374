"""The samples are what the tool makes of them today."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from strapwork.cli import report
from strapwork.job import job
from strapwork.piece import piece
from strapwork.piece import swatches as swatch
from strapwork.stock import patterns as pattern_files
from strapwork.stock import shelf
from strapwork.stock.leather import Leather
from strapwork.units import parse_thickness
from tests.bench import pictures
from tests.helpers import order as order_of
from tests.helpers import read_job

SAMPLES = Path(__file__).resolve().parents[1] / "samples"


def close(a: object, b: object, where: str = "") -> None:
    """Equal, numbers to a millionth (processors differ in the last digit of a sine)."""
    if isinstance(a, dict) and isinstance(b, dict):
        assert a.keys() == b.keys(), where
        for k in a:
            close(a[k], b[k], f"{where}.{k}")
    elif isinstance(a, list) and isinstance(b, list):
        assert len(a) == len(b), where
        for i, (x, y) in enumerate(zip(a, b, strict=True)):
            close(x, y, f"{where}[{i}]")
    elif isinstance(a, float) or isinstance(b, float):
        assert a == pytest.approx(b, abs=1e-6), where
    else:
        assert a == b, where


@cache
def made(name: str) -> job.Result:
    """A sample job, worked out once for all that is asked of it here."""
    return job.make(read_job(SAMPLES / f"{name}.toml", shelf=SAMPLES / "leathers.toml" if "three" in name else None))


@pytest.mark.parametrize("name", ["market-kit", "class", "stall", "three-leathers"])
def test_a_sample_is_in_step(name: str) -> None:
    result, folder = made(name), SAMPLES / name
    assert sorted(p.name for p in folder.iterdir()) == sorted(result.files), f"make samples/{name}.toml again"
    kept = json.loads((folder / "numbers.json").read_text(encoding="utf-8"))
    close(kept, json.loads(json.dumps(result.numbers)))
    for file, content in result.files.items():
        if file.endswith((".svg", ".pdf")):
            assert (folder / file).read_bytes() == content, f"{file} is out of step"


def test_the_market_kit_takes_19_pages() -> None:
    assert len(made("market-kit").sheets) <= 19


def test_the_readmes_pictures_are_what_the_tool_makes() -> None:
    readme = (SAMPLES.parent / "README.md").read_text(encoding="utf-8")
    drawn = pictures.pictures({name: made(name) for name in ("market-kit", "class")})
    assert sorted(p.name for p in pictures.FOLDER.iterdir()) == sorted(drawn)
    for file, text in drawn.items():
        assert (pictures.FOLDER / file).read_text(encoding="utf-8") == text, "run tests/bench/pictures.py again"
        assert len(text) < 150_000
        assert f"samples/pictures/{file}" in readme


def test_the_market_kit_shows_what_it_should() -> None:
    pieces = made("market-kit").pieces
    assert 6 <= len(pieces) <= 12
    assert len({p.pattern.name for p in pieces}) >= 4


def test_the_shelf_is_what_the_swatches_teach() -> None:
    lesson = swatch.learn(swatch.read(SAMPLES / "swatches.csv"))
    kept = shelf.read(SAMPLES / "leathers.toml")["harbour-tan"].learned
    assert kept is not None
    assert kept.factor == pytest.approx(lesson.learned.factor, abs=1e-4)
    assert kept.swatches == lesson.learned.swatches


def test_one_wristband_in_three_leathers_has_three_explained_lengths() -> None:
    pieces = made("three-leathers").pieces
    assert len({round(p.fit.cut_length, 1) for p in pieces}) == 3
    assert len({p.value for p in pieces}) == 1
    assert ["swatches" in p.fit.basis for p in pieces] == [False, False, True]


def test_the_readme_shows_what_the_tool_prints() -> None:
    readme = (SAMPLES.parent / "README.md").read_text(encoding="utf-8")
    r = pattern_files.find("wristband", "test")
    order = order_of(r.title, r, 171.45, Leather(parse_thickness("4-5 oz", place="x")))
    for line in report.of_piece(piece.work_out(order)).splitlines()[:8]:
        assert f"    {line}" in readme
