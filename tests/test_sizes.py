"""Sizes: the best few for many people, and how many of each to cut."""

from __future__ import annotations

import json
import math
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork.bodies import girths as bodies
from strapwork.bodies import sizes
from strapwork.bodies.girths import Distribution
from strapwork.cli import main as cli
from strapwork.errors import InputError
from tests.helpers import job_of

SOME_GIRTHS = st.dictionaries(st.integers(120, 220), st.integers(1, 30), min_size=4, max_size=9)


def spread_of(counts: dict[int, int]) -> Distribution:
    return bodies.of_list([float(mm) for mm, people in counts.items() for _ in range(people)])


def mean_square(spread: Distribution, centres: list[float]) -> float:
    pairs = zip(spread.girths, spread.shares, strict=True)
    return math.fsum(share * min((mm - c) ** 2 for c in centres) for mm, share in pairs)


def best_by_trying_all(spread: Distribution, of: int) -> float:
    """The least mean square over every way to cut the girths into ``of`` runs."""
    n = len(spread.girths)
    tried = []
    for cuts in combinations(range(1, n), of - 1):
        centres = []
        for a, z in pairwise((0, *cuts, n)):
            weight = math.fsum(spread.shares[a:z])
            centres.append(
                math.fsum(g * s for g, s in zip(spread.girths[a:z], spread.shares[a:z], strict=True)) / weight
            )
        tried.append(mean_square(spread, centres))
    return min(tried)


@given(SOME_GIRTHS, st.integers(1, 4))
def test_no_other_sizes_fit_better(counts: dict[int, int], of: int) -> None:
    spread = spread_of(counts)
    found = sizes.best_sizes(spread, of)
    got = mean_square(spread, [s.mm for s in found.sizes])
    assert got == pytest.approx(best_by_trying_all(spread, of), abs=1e-9)
    assert found.misfit**2 == pytest.approx(got, abs=1e-9)


@given(SOME_GIRTHS, st.integers(1, 3), st.sampled_from([5.0, 10.0]))
def test_no_other_whole_steps_fit_better(counts: dict[int, int], of: int, step: float) -> None:
    spread = spread_of(counts)
    grid = [k * step for k in range(int(100 // step), int(240 // step))]
    try:
        found = sizes.best_sizes(spread, of, step)
    except InputError:
        return  # as many whole steps are not to be had in so few girths
    got = [s.mm for s in found.sizes]
    assert all(mm / step == round(mm / step) for mm in got)
    best = min(mean_square(spread, list(c)) for c in combinations(grid, of))
    assert mean_square(spread, got) == pytest.approx(best, abs=1e-9)


@given(SOME_GIRTHS, st.integers(1, 3), st.integers(1, 12))
def test_no_other_sizes_reach_more_people(counts: dict[int, int], of: int, reach: int) -> None:
    spread = spread_of(counts)
    # Some best choice has each window begin at somebody's girth.
    chances = [[g + reach for g in c] for c in combinations(spread.girths, of)]
    held = [
        math.fsum(s for g, s in zip(spread.girths, spread.shares, strict=True) if any(abs(g - c) <= reach for c in cs))
        for cs in chances
    ]
    try:
        found = sizes.most_in_reach(spread, of, reach)
    except InputError:
        return  # fewer sizes reach as many
    assert found.within(reach) == pytest.approx(max(held), abs=1e-9)
    assert found.at_most(reach) == pytest.approx(max(held), abs=1e-9)


@given(st.integers(0, 10_000), st.lists(st.floats(0.001, 1.0), min_size=1, max_size=12))
def test_a_count_is_split_in_full_and_in_proportion(count: int, shares: list[float]) -> None:
    parts = sizes.split(count, shares)
    assert sum(parts) == count
    for part, share in zip(parts, shares, strict=True):
        assert abs(part - count * share / math.fsum(shares)) < 1 + 1e-6


def test_equal_shares_give_the_odd_piece_to_the_smaller_size() -> None:
    assert sizes.split(10, [1 / 3, 1 / 3, 1 / 3]) == [4, 3, 3]


@pytest.mark.parametrize(
    ("of", "names"),
    [
        (1, "M"),
        (2, "S L"),
        (3, "S M L"),
        (5, "XS S M L XL"),
        (6, "XS S M L XL XXL"),
        (9, "XXXS XXS XS S M L XL XXL XXXL"),
    ],
)
def test_sizes_have_the_names_that_people_know(of: int, names: str) -> None:
    assert sizes.size_names(of) == names.split()


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"of": "five"}, "of: 'five' is no whole number; say how many sizes, such as of = 5."),
        ({"of": True}, "of: 'True' cannot be used (input should be a valid string); change this value."),
        ({"of": 2.5}, "of: '2.5' is no whole number; say how many sizes, such as of = 5."),
        ({"of": 2, "women": 1.1}, "women: '1.1' is no share; give from 0 to 1."),
        ({"of": 2, "women": "half"}, "women: 'half' is no share; give from 0 to 1."),
        ({"of": 2, "age": 40}, "age: unknown key 'age'; the keys here are of, bodies, women, girth."),
    ],
)
def test_sizes_of_a_body_that_cannot_be_worked_out_are_named(asked: dict[str, object], words: str) -> None:
    with pytest.raises(InputError) as told:
        job_of({"pieces": [{"pattern": "wristband", "count": 4, "sizes": {"bodies": "adults", **asked}}]})
    assert str(told.value) == f"x, pieces[1].sizes.{words}"


@pytest.mark.parametrize("girth", ["wrist", "head", "waist", "neck", "ankle"])
def test_every_girth_can_be_sized_and_more_sizes_fit_better(girth: str) -> None:
    spread = bodies.spread(bodies.find("adults", "test"), girth)
    runs = sizes.runs_of_sizes(spread, (4, 5, 6))
    assert [len(r.sizes) for r in runs] == [4, 5, 6]
    assert runs[0].misfit > runs[1].misfit > runs[2].misfit
    assert math.fsum(s.share for s in runs[1].sizes) == pytest.approx(1.0)
    assert sum(runs[1].split(100)) == 100
    for a, b in pairwise(runs[1].sizes):
        assert a.high < (a.mm + b.mm) / 2.0 <= b.low  # everyone has the nearest size


def test_a_mix_lies_between_women_and_men() -> None:
    group = bodies.find("adults", "test")
    women, half, men = (sizes.best_sizes(bodies.spread(group, "wrist", w), 1).sizes[0].mm for w in (1.0, 0.5, 0.0))
    assert half == pytest.approx((women + men) / 2.0)
    assert women < men


def test_the_command_gives_sizes_as_data(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["sizes", "wrist", "--of", "5", "--json", "--count", "40", "--reach", "6 mm"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert [s["name"] for s in data["sizes"]] == ["XS", "S", "M", "L", "XL"]
    assert sum(s["share"] for s in data["sizes"]) == pytest.approx(1.0)
    assert sum(s["per_hundred"] for s in data["sizes"]) == 100
    assert sum(s["count"] for s in data["sizes"]) == 40
    assert data["within"] <= data["within_at_most"] <= 1.0
    assert data["one_more"]["misfit_mm"] < data["misfit_mm"]


def test_the_command_says_who_was_measured_and_that_they_are_no_children(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["sizes", "neck", "--of", "3"]) == 0
    said = capsys.readouterr().out
    for words in ("soldiers", "not children", "Natick/TR-15/007", "half and half", "breaks away", "one size more"):
        assert words in said


def test_the_command_alone_lists_the_girths(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["sizes"]) == 0
    said = capsys.readouterr().out
    assert all(girth in said for girth in ("wrist", "head", "waist", "neck", "ankle"))
    assert "at the navel" in said


@pytest.mark.parametrize(
    "text",
    [
        "15.5 cm\n17 cm\n\n# Thursday\n18 cm\n",
        "name,measure\nAda,15.5 cm\nBo,17 cm\nCy,18 cm\n",
        "\ufeffMeasure;name\r\n15,5 cm;Ada\r\n17 cm;Bo\r\n18 cm;Cy\r\n",
        "name\tmeasure\nAda\t155 mm\nBo\t170 mm\n\t\nCy\t180 mm\n",
    ],
)
def test_a_list_of_ones_own_is_read_as_it_is_written(tmp_path: Path, text: str) -> None:
    path = tmp_path / "measures.csv"
    path.write_text(text, encoding="utf-8")
    spread = bodies.read_list(path)
    assert spread.girths == (155.0, 170.0, 180.0)
    assert "3 measures" in spread.who


def test_bodies_of_ones_own_are_found_beside_patterns_of_ones_own(tmp_path: Path) -> None:
    (tmp_path / "bodies").mkdir()
    (tmp_path / "bodies" / "gulls.toml").write_text(
        'title = "Gulls"\nsource = "our own count"\n[girths.ankle.women]\nfirst_mm = 20\npeople = [1, 2, 1]\n',
        encoding="utf-8",
    )
    spread = bodies.spread(bodies.find("gulls", "test", tmp_path), "ankle")
    assert sizes.best_sizes(spread, 1).sizes[0].mm == pytest.approx(21.0)


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["wrist"], "--of: the number of sizes is missing"),
        (["wrst", "--of", "3"], "did you mean 'wrist'"),
        (["wrist", "--of", "0"], "give from 1 to 50"),
        (["wrist", "--of", "3", "--women", "101"], "give from 0 to 100"),
        (["wrist", "--of", "3", "--women", "50", "--for", "men"], "leave one of them out"),
        (["wrist", "--of", "3", "--bodies", "adlts"], "did you mean 'adults'"),
        (["wrist", "--of", "40", "--step", "5 mm"], "in whole steps of 5 mm"),
        (["wrist", "--of", "3", "--by", "reach"], "--reach: the reach is missing"),
        (["wrist", "--of", "30", "--by", "reach", "--reach", "20 mm"], "fewer than 30 sizes"),
        (["wrist", "--of", "3", "--list", "x.csv"], "give one of them"),
        (["--of", "3", "--list", "nowhere.csv"], "nowhere.csv: the list cannot be read"),
        (["wrist", "--of", "3", "--count", "-1"], "--count: -1 is no count"),
    ],
)
def test_what_cannot_be_used_is_said(args: list[str], words: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["sizes", *args]) == 2
    assert words in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "words"),
    [("155 mm\n17 ells\n", "line 2"), ("", "no measures"), ("name,measure\nAda,155 mm\nBo,nought\n", "line 3")],
)
def test_a_list_that_cannot_be_read_names_the_line(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "measures.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=words):
        bodies.read_list(path)
