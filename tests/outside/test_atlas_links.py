"""The atlas against spherogram and snappy: the closed sets as links, and what is left when strands are taken out."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import pytest

from strapwork.braid.atlas import Atlas, Entry, atlas
from strapwork.braid.holding import only

BORROMEAN_VOLUME = 7.327724753  # census link L6a4


@pytest.fixture(scope="module")
def pages() -> dict[tuple[int, int], Atlas]:
    """By strands and pairs of turns."""
    return {(n, pairs): atlas(n, pairs) for n, pairs in ((3, 1), (5, 1), (7, 1), (3, 2), (4, 2))}


def closed(word: tuple[int, ...]) -> Any:
    spherogram = pytest.importorskip("spherogram")
    return spherogram.Link(braid_closure=list(word))


def borromean_rings() -> Any:
    """From snappy's census."""
    return pytest.importorskip("snappy").Manifold("L6a4")


def volume(word: tuple[int, ...]) -> float:
    """snappy's, in high precision where the link has no geometric triangulation.

    The closed sets of four strands here are the Borromean rings with another ring laid along them; a triangulation of such
    a link flattens some of its tetrahedra, and its volume is a limit: in common precision missed in the sixth figure.
    """
    exterior = closed(word).exterior()
    if exterior.solution_type() != "all tetrahedra positively oriented":
        exterior = exterior.high_precision()
    return float(exterior.volume())


def falls_apart(link: Any) -> bool:
    """Whether spherogram gets rid of every crossing."""
    tried = link.copy()
    tried.simplify("global")
    return len(tried.crossings) == 0


def every_entry(pages: dict[tuple[int, int], Atlas]) -> list[Entry]:
    return [e for page in pages.values() for e in page.entries]


def test_no_two_strands_of_any_set_are_linked(pages: dict[tuple[int, int], Atlas]) -> None:
    for e in every_entry(pages):
        link = closed(e.word)
        assert len(link.link_components) == e.strands
        assert all(v == 0 for row in link.linking_matrix() for v in row)


def test_any_two_strands_alone_fall_apart_but_the_whole_does_not(pages: dict[tuple[int, int], Atlas]) -> None:
    for e in every_entry(pages):
        link = closed(e.word)
        for pair in combinations(range(e.strands), 2):
            assert falls_apart(link.sublink(list(pair)))
        assert not falls_apart(link)


def test_the_brunnian_ones_are_those_the_atlas_names(pages: dict[tuple[int, int], Atlas]) -> None:
    """One component taken out at a time by spherogram: the rest falls apart every time, or it is not Brunnian."""
    seen = set()
    for e in every_entry(pages):
        link = closed(e.word)
        rest = [falls_apart(link.sublink([k for k in range(e.strands) if k != out])) for out in range(e.strands)]
        assert all(rest) == e.brunnian
        seen.add(e.brunnian)
    assert seen == {True, False}


def test_the_least_braided_groups_are_spherograms_too(pages: dict[tuple[int, int], Atlas]) -> None:
    for e in every_entry({k: v for k, v in pages.items() if k != (3, 2)}):
        least: list[tuple[int, ...]] = []
        for size in range(2, e.strands + 1):
            for group in combinations(range(1, e.strands + 1), size):
                word = only(e.strands, e.word, group)
                if word and not any(set(g) <= set(group) for g in least) and not falls_apart(closed(word)):
                    least.append(group)
        assert sorted(least) == sorted(e.least_braided)


def test_three_plain_strands_close_to_the_borromean_rings(pages: dict[tuple[int, int], Atlas]) -> None:
    (e,) = pages[3, 1].entries
    assert e.brunnian
    assert borromean_rings().is_isometric_to(closed(e.word).exterior())


def test_the_groups_of_three_in_five_plain_strands_are_borromean(pages: dict[tuple[int, int], Atlas]) -> None:
    plain = pages[5, 1].entries[0]
    assert len(plain.least_braided) == 5
    for group in plain.least_braided:
        assert borromean_rings().is_isometric_to(closed(only(5, plain.word, group)).exterior())


@pytest.mark.parametrize(("strands", "expected"), [(5, 26.890561931), (7, 44.278181976)])
def test_all_ways_to_one_finished_braid_close_to_the_same_link(
    strands: int, expected: float, pages: dict[tuple[int, int], Atlas]
) -> None:
    """One right and one left turn: the classes of five strands, and of seven, are one finished braid.

    The volumes are snappy's of the plain braid; equal volumes do not prove the links equal, different ones would
    prove them different.
    """
    page = pages[strands, 1]
    assert page.braids == 1
    for e in page.entries:
        assert volume(e.word) == pytest.approx(expected, abs=1e-6)


def test_five_strands_worked_either_way_are_isometric(pages: dict[tuple[int, int], Atlas]) -> None:
    one, other = (closed(e.word).exterior() for e in pages[5, 1].entries)
    assert one.is_isometric_to(other)


def test_braids_given_one_number_close_to_links_of_one_volume(pages: dict[tuple[int, int], Atlas]) -> None:
    for key in ((3, 2), (4, 2)):
        for number in range(1, pages[key].braids + 1):
            volumes = [volume(e.word) for e in pages[key].entries if e.braid == number]
            assert max(volumes) - min(volumes) < 1e-5
            assert min(volumes) > BORROMEAN_VOLUME - 1e-5
