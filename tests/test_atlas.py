"""The braider's atlas: which braids of a few turns can be worked in a strap at all."""

from __future__ import annotations

import itertools
import json
import pathlib
import random
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from shapely.geometry import LineString, Point, Polygon

from strapwork.braid import kinds, passes, patterns, proof
from strapwork.braid.atlas import atlas as worked_out
from strapwork.braid.atlas import sieved
from strapwork.braid.holding import layers, least_braided, only
from strapwork.braid.many import may_be_trivial_on_sphere
from strapwork.braid.patterns import Pattern
from strapwork.braid.plan import neighbours, standard
from strapwork.braid.unlinked import families
from strapwork.braid.word import Turn, Word, crossings, letter, linking, mirrored, positions_after, turn
from strapwork.cli.main import main
from strapwork.drawing.primitives import Drawing, Layer, Path, Sheet, Text, box_path, on_sheet, primitive_box
from strapwork.errors import InputError
from strapwork.paper import any_braid, finished
from strapwork.paper import atlas as paper
from strapwork.say import atlas as say
from strapwork.web import atlas_page
from tests import second_method
from tests.helpers import pages_read

Turns = tuple[Turn, ...]

atlas = cache(worked_out)

# What came out, for one right and one left turn: patterns, workable, those that braid, classes, finished braids.
ONE_PAIR = {3: (36, 6, 2, 1, 1), 4: (196, 8, 0, 0, 0), 5: (900, 22, 6, 2, 1), 6: (3844, 32, 0, 0, 0)}
SEVEN = (15876, 74, 10, 3, 1)


def every_turn(strands: int, side: str) -> list[Turn]:
    return [turn(strands, side, o) for reach in range(1, strands) for o in product((True, False), repeat=reach)]


def every_pattern(strands: int, sides: str) -> list[Turns]:
    return list(product(*(every_turn(strands, side) for side in sides)))


def rounds_home(strands: int, word: Word) -> int:
    once, k = positions_after(strands, word), 1
    order = once
    while order != tuple(range(1, strands + 1)):
        order, k = tuple(order[p - 1] for p in once), k + 1
    return k


@cache
def by_brute_force(strands: int, sides: str) -> set[Turns]:
    """Workable patterns, each decided by itself with the second method; no symmetry, no shortcut."""
    out = set()
    for turns in every_pattern(strands, sides):
        word = crossings(turns)
        if second_method.workable(strands, word * rounds_home(strands, word)):
            out.add(turns)
    return out


def opposite(turns: Turns) -> Turns:
    """Over for under."""
    return tuple(Turn(t.side, tuple(-c for c in t.crossings)) for t in turns)


def orbits(strands: int, found: set[Turns], sides: str) -> int:
    """Classes by Burnside's lemma: the mean number of patterns that a symmetry leaves as they are."""
    seen: list[Callable[[Turns], Turns]] = [
        lambda t: t,
        opposite,
        lambda t: mirrored(strands, t),
        lambda t: opposite(mirrored(strands, t)),
    ]
    kept = symmetries = 0
    for see in seen:
        for k in range(len(sides)):
            images = {t: see(t)[k:] + see(t)[:k] for t in found}
            if all("".join(x.side for x in image) == sides for image in images.values()):
                symmetries += 1
                kept += sum(image == t for t, image in images.items())
    assert kept % symmetries == 0
    return kept // symmetries


@pytest.mark.parametrize("strands", [3, 4, 5, 6])
def test_the_counts_of_one_right_and_one_left_turn(strands: int) -> None:
    page = atlas(strands)
    (c,) = page.counts
    assert (c.patterns, c.workable, c.braids, len(page.entries), page.braids) == ONE_PAIR[strands]
    assert c.braids == sum(e.size for e in page.entries)
    assert c.unbraided == sum(size for _, size in page.unbraided) == 2 ** (strands - 1)


def test_the_counts_of_seven_strands() -> None:
    page = atlas(7)
    (c,) = page.counts
    assert (c.patterns, c.workable, c.braids, len(page.entries), page.braids) == SEVEN
    assert [e.pattern for e in page.entries] == [("Rooo", "Looo"), ("Roo", "Looou"), ("Ro", "Looouu")]


@pytest.mark.parametrize("strands", [3, 4, 5])
def test_brute_force_without_symmetry_finds_the_same_patterns_and_classes(strands: int) -> None:
    """Every pattern decided by the second method; classes counted by Burnside's lemma (W. Burnside, 1897)."""
    found = by_brute_force(strands, "RL")
    page = atlas(strands)
    listed = {m for e in page.entries for m in patterns.members(e.pattern)}
    listed |= {m for p, _ in page.unbraided for m in patterns.members(p)}
    assert {tuple(t.text() for t in turns) for turns in found} == listed
    assert orbits(strands, found, "RL") == len(page.entries) + len(page.unbraided)


@pytest.mark.parametrize("strands", [3, 5])
def test_other_patterns_are_offered_from_every_reach_the_longest_first(strands: int) -> None:
    """All of one right and one left turn that braid, by brute force."""
    offered = [p.pattern for p in neighbours(strands, 1000)]
    every = by_brute_force(strands, "RL")
    rounds = {t: rounds_home(strands, crossings(t)) for t in every}
    assert set(offered) == {t for t in every if not second_method.trivial(strands, crossings(t) * rounds[t])}
    reaches = [len(right.crossings) for right, _ in offered]
    assert reaches == sorted(reaches, reverse=True)
    assert neighbours(strands) == neighbours(strands, 1000)[:6]


@pytest.mark.parametrize("sides", ["RLRL", "RRLL"])
def test_brute_force_finds_the_same_in_three_strands_and_four_turns(sides: str) -> None:
    found = by_brute_force(3, sides)
    (c,) = [c for c in atlas(3, 2).counts if c.sides == sides]
    assert len(found) == c.workable
    new = {t for t in found if sides == "RRLL" or t[:2] != t[2:]}
    assert len(new) == c.workable - c.repeats
    page = atlas(3, 2)
    assert c.braids == sum(e.size for e in page.entries if patterns.sides(e.pattern) == sides)
    assert c.unbraided == sum(size for p, size in page.unbraided if patterns.sides(p) == sides)
    ours = [e.pattern for e in page.entries] + [p for p, _ in page.unbraided]
    assert orbits(3, new, sides) == sum(patterns.sides(p) == sides for p in ours)


def test_all_sets_up_to_sixty_turns_are_multiples_of_the_first() -> None:
    """Three and four strands, every pattern, every number of turns from 1 to 60, odd ones too."""
    for strands in (3, 4):
        sets = {m: e.turns for e in atlas(strands).entries for m in patterns.members(e.pattern)}
        sets |= {m: 2 for p, _ in atlas(strands).unbraided for m in patterns.members(p)}
        for pair in every_pattern(strands, "RL"):
            first = sets.get(tuple(t.text() for t in pair))
            for count in range(1, 61):
                word = crossings((pair * 30)[:count])
                if second_method.home(strands, word):
                    assert proof.judge(strands, word).workable == (first is not None and count % first == 0)
                elif first is not None:
                    assert count % first


def test_what_cannot_be_worked_at_the_first_homecoming_never_can() -> None:
    rng = random.Random(11)
    for strands in (5, 6, 7):
        for _ in range(25):
            pair = tuple(rng.choice(every_turn(strands, side)) for side in "RL")
            word = crossings(pair)
            k = rounds_home(strands, word)
            first = proof.judge(strands, word * k).workable
            assert all(proof.judge(strands, word * k * j).workable == first for j in range(2, 30 // k + 1))


@given(st.integers(3, 6), st.data())
def test_two_methods_agree_on_the_sphere(strands: int, data: st.DataObject) -> None:
    letters = st.integers(1, strands - 1).flatmap(lambda i: st.sampled_from([i, -i]))
    word: Word = ()
    for _ in range(data.draw(st.integers(1, 4))):
        v = tuple(data.draw(st.lists(letters, max_size=6)))
        i = data.draw(letters)
        gap, sign = data.draw(st.integers(1, strands - 1)), data.draw(st.sampled_from([1, -1]))
        core = data.draw(st.sampled_from([passes.pass_word(strands, gap, sign), (i, i)]))
        word += (*v, *core, *passes.inverse(v))
    assert second_method.trivial_on_sphere(strands, word) == proof.is_trivial_on_sphere(strands, word)


def test_nothing_braided_is_told_apart() -> None:
    for strands in (3, 4, 5, 6):
        for pattern, _ in atlas(strands).unbraided:
            assert second_method.trivial(strands, crossings(patterns.turns_of(strands, pattern)))
        for e in atlas(strands).entries:
            assert not second_method.trivial(strands, e.word)


@pytest.mark.parametrize("strands", [3, 5, 7])
def test_the_plain_braid_is_the_first_of_the_odd_counts_with_its_known_passes(strands: int) -> None:
    first = atlas(strands).entries[0]
    plain = standard(strands)
    assert first.plan.turns == plain.turns
    assert first.plan.schedule == plain.schedule


@pytest.mark.parametrize(("strands", "pairs"), [(3, 1), (5, 1), (7, 1), (3, 2), (4, 2)])
def test_every_class_comes_with_passes_that_leave_the_strands_free(strands: int, pairs: int) -> None:
    for e in atlas(strands, pairs).worked_out()[:12]:
        assert e.plan.schedules
        best = e.plan.schedules[0]
        assert passes.is_right(strands, e.plan.turns, best)
        assert second_method.trivial(strands, passes.below(strands, e.plan.turns, best))
        assert e.least_tangle is not None
        assert e.least_tangle <= passes.effort(strands, e.plan.turns, best).tangle


def test_four_and_six_strands_need_two_right_and_two_left_turns() -> None:
    assert not atlas(4).entries
    assert not atlas(6).entries
    page = atlas(4, 2)
    assert [e.size for e in page.entries] == [2, 4, 4, 4]
    assert all(len(e.taken_up) < 4 for e in page.entries)


def test_a_class_is_offered_with_its_easiest_beginning() -> None:
    """Whichever turn a member begins with: its passes leave no less tangle than those of the one that is offered."""
    for e in atlas(5).entries:
        every = [patterns.turns_of(5, m) * e.repeats for m in patterns.members(e.pattern)]
        efforts = [passes.effort(5, turns, passes.schedules(5, turns)[0]).key() for turns in every]
        assert passes.effort(5, e.plan.turns, e.plan.schedule).key() == min(efforts)


def test_the_strands_named_as_taken_up_are_those_that_lay_outermost_when_a_turn_began() -> None:
    """Followed turn by turn.  In the plain braid all are taken up; of these four strands one alone is."""
    three, four = atlas(3).entries[0], replace(atlas(3).entries[0], strands=4, pattern=("Rooo", "Luoo", "Ruuu", "Louu"))
    for e in (three, four, *atlas(5).entries):
        turns = e.plan.turns
        lie = [positions_after(e.strands, crossings(turns[:k])) for k in range(len(turns))]
        assert e.taken_up == tuple(sorted({o[-1] if t.side == "R" else o[0] for o, t in zip(lie, turns, strict=True)}))
    assert three.taken_up == (1, 2, 3)
    assert four.taken_up == (4,)


def test_ways_to_a_braid_are_lettered_on_after_z() -> None:
    """a to z, then aa to az, ba and so on to zz, then aaa."""
    e = atlas(3).entries[0]
    letters = [a for length in (1, 2) for a in map("".join, product("abcdefghijklmnopqrstuvwxyz", repeat=length))]
    assert [replace(e, way=way).name for way in range(1, 26 + 26**2 + 2)] == [f"3.1{a}" for a in [*letters, "aaa"]]


def test_a_turn_is_said_to_take_back_only_what_the_turn_before_it_made() -> None:
    """By hand, of three strands: Ro crosses 2 over, Lo then 1 over, and nothing meets its opposite.  ``Ro Loo`` makes 1 2 of
    the left strand, and the 2 takes back the -2 that the next round begins with."""
    (plain,) = atlas(3).entries
    assert plain.pattern == ("Ro", "Lo")
    assert (plain.takes_back, plain.needed) == (False, 2)
    taken = replace(plain, pattern=("Ro", "Loo"), needed=len(kinds.reduced((-2, 1, 2))))
    assert (taken.takes_back, taken.needed) == (True, 1)


def test_repeats_of_a_shorter_pattern_are_not_listed_again() -> None:
    page = atlas(3, 2)
    assert ("Ro", "Lo", "Ro", "Lo") not in {m for e in page.entries for m in patterns.members(e.pattern)}
    assert page.entries[0].shorter == ("Ro", "Lo")
    assert page.entries[0].takes_back


turn_texts = st.lists(st.sampled_from("ou"), min_size=1, max_size=4).map("".join)


@given(st.lists(st.tuples(st.sampled_from("RL"), turn_texts).map("".join), min_size=1, max_size=6).map(tuple))
def test_symmetries_of_the_notation_are_those_of_the_crossings(pattern: Pattern) -> None:
    turns = patterns.turns_of(5, pattern)
    assert patterns.turns_of(5, patterns.mirrored(pattern)) == mirrored(5, turns)
    assert patterns.turns_of(5, patterns.upside_down(pattern)) == opposite(turns)
    assert crossings(patterns.turns_of(5, patterns.turned_over(pattern))) == tuple(
        (5 - abs(c)) * (1 if c > 0 else -1) for c in crossings(turns)
    )
    assert patterns.members(pattern) == patterns.members(min(patterns.members(pattern)))


@pytest.mark.parametrize(("strands", "sides"), [(3, "RL"), (4, "RL"), (5, "RL"), (3, "RRLL")])
def test_strands_that_come_home_unlinked_are_all_found(strands: int, sides: str) -> None:
    ours = {f.pattern(s) for f in families(strands, sides) for s in f.signs}
    theirs = set()
    for turns in every_pattern(strands, sides):
        word = crossings(turns)
        if not any(linking(strands, word * rounds_home(strands, word)).values()):
            theirs.add(tuple(t.text() for t in turns))
    assert ours == theirs


def test_a_pattern_is_typed_with_the_overs_and_unders_that_were_decided() -> None:
    """From the right the strand that moves goes over where the crossing is negative, from the left where it is positive."""
    for family in families(4, "RL"):
        for signs in family.signs:
            decided = tuple(s * i for s, i in zip(signs, family.places, strict=True))
            assert crossings(patterns.turns_of(4, family.pattern(signs))) == decided


@pytest.mark.parametrize("strands", [4, 5, 6])
def test_the_sieve_keeps_whatever_can_be_worked(strands: int) -> None:
    for family in families(strands, "RL"):
        kept = may_be_trivial_on_sphere(strands, family.places, family.repeats, family.signs)
        for signs, good in zip(family.signs, kept, strict=True):
            word = tuple(s * i for s, i in zip(signs, family.places, strict=True)) * family.repeats
            assert good == proof.is_trivial_on_sphere(strands, word)


def test_the_sieve_leaves_few_for_the_proof_to_refuse() -> None:
    _, passed = sieved(4, "RLRL")
    refused = [p for p, k in passed.items() if not proof.judge(4, crossings(patterns.turns_of(4, p)) * k).workable]
    assert not refused


@given(st.integers(3, 6), st.data())
def test_one_finished_braid_has_one_form(strands: int, data: st.DataObject) -> None:
    letters = st.integers(1, strands - 1).flatmap(lambda i: st.sampled_from([i, -i]))
    each = [i * data.draw(st.sampled_from([1, -1])) for i in range(1, strands)]
    word = data.draw(st.permutations([*each, *data.draw(st.lists(letters, max_size=10))]))
    changed = list(word)
    for _ in range(data.draw(st.integers(0, 8))):
        k = data.draw(st.integers(0, len(changed) - 1))
        changed = changed[k:] + changed[:k]
        if len(changed) > 1 and abs(abs(changed[0]) - abs(changed[1])) > 1:
            changed[0], changed[1] = changed[1], changed[0]
        if data.draw(st.booleans()):
            c = data.draw(letters)
            changed = [c, -c, *changed]
    assert len(kinds.reduced(changed)) == len(kinds.reduced(word))
    if {abs(c) for c in kinds.reduced(word)} == set(range(1, strands)):
        assert kinds.form(strands, changed) == kinds.form(strands, word)
    over, left = tuple(-c for c in word), tuple((strands - abs(c)) * (-1 if c > 0 else 1) for c in word)
    assert kinds.form(strands, over) == kinds.form(strands, left) == kinds.form(strands, word)


def test_different_plain_braids_have_different_forms() -> None:
    assert kinds.form(3, (-2, 1)) == kinds.form(3, (1, -2))
    assert kinds.form(3, (-2, 1)) != kinds.form(3, (2, 1))
    assert kinds.form(4, (-3, -2, 1)) == kinds.form(4, (-3, 2, 1))  # mirror images
    assert kinds.form(4, (1, 3, 2, -3, 2)) == kinds.form(4, (3, 1, 2, -3, 2))  # two crossings side by side
    assert kinds.form(4, (1, 3, 2, -3, 2)) != kinds.form(4, (1, -3, 2, 3, -2))
    assert kinds.form(4, (-3, -2, 1)) != kinds.form(4, (-3, 2, -1))


def test_strands_that_only_lie_on_the_others_are_seen() -> None:
    assert layers(3, (-2, 1) * 3) == ((1, 2, 3),)
    assert layers(3, (1, -1, 2, -2)) == ((1,), (2,), (3,))
    assert layers(3, (1, 1)) == ((1, 2), (3,))
    assert least_braided(3, (1, 1)) == ((1, 2),)
    assert only(4, (1, 2, 3), (1, 4)) == (1,)


@pytest.mark.parametrize(
    ("strands", "text"),
    [
        (3, "Ro Lo"),
        (5, "Roo Loo"),
        (5, "Ro Loou"),
        (4, "Rooo Luoo Ruuu Louu"),
        (4, "Rouu Roo Louu Loo"),
        (3, "Ro Lo Ru Lu"),
        (5, "Rooo Ro Looo Lo"),
        (4, "Ro Loo Rou Lo Roo Lou"),
    ],
)
@pytest.mark.parametrize("back", [False, True])
def test_the_picture_shows_over_and_under_as_worked(strands: int, text: str, back: bool) -> None:
    """Read back from the drawing: where two strands cross, the piece painted last is the one that goes over."""
    pattern = tuple(text.split())
    turns = patterns.turns_of(strands, patterns.turned_over(pattern) if back else pattern)
    turns *= rounds_home(strands, crossings(turns))
    numbers = tuple(range(strands, 0, -1)) if back else tuple(range(1, strands + 1))
    painted = [
        (int(p.role[5:]) + 1, Polygon([s.start for s in p.segments]))
        for p in any_braid.drawing(strands, turns, 90.0, numbers)
        if isinstance(p, Path) and p.role.startswith("tone-")
    ]
    ways = any_braid.woven(strands, turns, len(turns)).ways
    _, met = finished.lane_ways(strands, turns * 4)
    checked = 0
    for (a, b), crossed in met.items():
        before = sum(t <= len(turns) for t in finished._meetings(ways[a], ways[b]))
        one, other = numbers[a - 1], numbers[b - 1]
        for (_, over), spot in zip(crossed[before:], crossing_points(painted, one, other), strict=False):
            top = [n for n, quad in painted if n in (one, other) and quad.covers(spot)]
            assert top[-1] == (one if over else other)
            checked += 1
    assert checked >= len(crossings(turns)) - strands


def crossing_points(painted: list[tuple[int, Polygon]], one: int, other: int) -> list[Point]:
    """Where the middle lines of two drawn strands meet, from left to right."""
    lines = []
    for number in (one, other):
        ends = []
        for n, quad in painted:
            if n == number:
                (x0, low), (x1, right), _, (_, high) = list(quad.exterior.coords)[:4]
                half = (high - low) / 2
                slope = (right - low) / (x1 - x0)
                ends.append((x0, low + half))
                last = (x1 - any_braid.LAP, low + half + slope * (x1 - any_braid.LAP - x0))
        lines.append(LineString([*sorted(ends), last]))
    met = lines[0].intersection(lines[1])
    return sorted((p for p in getattr(met, "geoms", [met]) if isinstance(p, Point)), key=lambda p: p.x)


def run(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    code = main(["braid", *args])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_the_table_says_which_braids_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "5", "--atlas")
    assert code == 0
    assert "900 patterns" in out
    assert "2 classes and one finished braid" in out
    assert [row.split()[:3] for row in out.splitlines() if row.startswith("  5.")] == [
        ["5.1a", "Roo", "Loo"],
        ["5.1b", "Ro", "Loou"],
    ]
    assert "after 6 gap 3 front; after 10 gap 2 front" in out


def test_an_even_count_is_told_that_nothing_works(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "4", "--atlas")
    assert code == 0
    assert "no such braid can be worked, in a set of any length" in out


def test_the_atlas_as_data(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "--atlas", "--json")
    pages = json.loads(out)
    assert code == 0
    assert [p["strands"] for p in pages] == [3, 4, 5, 6, 7]
    assert [len(p["entries"]) for p in pages] == [1, 0, 2, 0, 3]
    (three,) = pages[0]["entries"]
    assert three["passes"] == [
        {"after_turn": 4, "gap": 2, "face": "front"},
        {"after_turn": 6, "gap": 1, "face": "front"},
    ]
    assert three["brunnian"]
    assert three["least_braided"] == [[1, 2, 3]]
    assert three["never_taken_up"] == []


def test_a_left_handed_maker_gets_the_mirror(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "5", "--atlas", "--left-handed", "--json")
    for entry in json.loads(out)[0]["entries"]:
        turns = patterns.turns_of(5, tuple(entry["pattern"])) * entry["repeats"]
        schedule = tuple(passes.TabPass(**p) for p in entry["passes"])
        assert turns[0].side == "L"
        assert passes.is_right(5, turns, schedule)


def test_many_classes_are_listed_but_only_the_first_braids_worked_out(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strapwork.braid.atlas.MOST_SHOWN", 5)
    _, out, _ = run(capsys, "3", "--atlas", "--pairs", "2")
    assert "one class of each of the first 5 braids; 36 classes are left out" in out
    _, out, _ = run(capsys, "3", "--atlas", "--pairs", "2", "--all")
    assert sum(row.startswith("  3.") for row in out.splitlines()) == 41
    _, out, _ = run(capsys, "3", "--atlas", "--pairs", "2", "--json")
    entries = json.loads(out)[0]["entries"]
    assert [e["passes"] is not None for e in entries].count(True) == 5
    assert len(entries) == 41


def test_the_sheets_have_a_face_and_a_back_for_every_class(
    capsys: pytest.CaptureFixture[str], tmp_path: pathlib.Path
) -> None:
    code, _, _ = run(capsys, "--atlas", "--out", str(tmp_path / "atlas"), "--format", "pdf,svg")
    assert code == 0
    pages = PdfReader(tmp_path / "atlas" / "atlas.pdf").pages
    text = "\n".join(pages_read(tmp_path / "atlas" / "atlas.pdf"))
    for name in ("3.1a", "5.1a", "5.1b", "7.1a", "7.1b", "7.1c"):
        assert name in text
    assert text.count("Face") == text.count("Back") == 6
    assert [round(float(v) / 72 * 25.4) for v in pages[0].mediabox[2:]] == [210, 297]
    assert (tmp_path / "atlas" / "atlas-atlas-1.svg").exists()
    code, _, err = run(capsys, "--atlas", "--out", str(tmp_path / "atlas"))
    assert code == 2
    assert "would be overwritten" in err


@pytest.mark.parametrize(
    ("args", "place"),
    [
        (
            ("8", "--atlas"),
            "STRANDS: the atlas of one right and one left turn has no page for 8 strands; give a count from 3 to 7",
        ),
        (
            ("2", "--atlas"),
            "STRANDS: the atlas of one right and one left turn has no page for 2 strands; give a count from 3 to 7",
        ),
        (
            ("5", "--atlas", "--pairs", "3"),
            "STRANDS: the atlas of 3 right and 3 left turns has no page for 5 strands; give a count from 3 to 4",
        ),
        (("5", "--atlas", "--pairs", "0"), "--pairs: "),
        (
            ("5", "--atlas", "--pairs", "4"),
            "--pairs: 4 right and 4 left turns are more than can be listed; give a count from 1 to 3",
        ),
        (("5", "--pairs", "2"), "--pairs"),
        (("3", "--atlas", "--turns", "Ro Lo"), "--turns"),
        (("3", "--atlas", "--search"), "--search"),
    ],
)
def test_what_the_atlas_cannot_do_is_refused(
    args: tuple[str, ...], place: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(capsys, *args)
    assert code == 2
    assert out == ""
    assert place in err


def test_too_many_patterns_are_refused_by_the_library_too() -> None:
    with pytest.raises(InputError, match="STRANDS"):
        atlas(9)


# -- the atlas on paper --------------------------------------------------------------


def words_on(sheets: Sequence[Sheet]) -> str:
    return " ".join(p.text for s in sheets for placed in s.placed for p in placed.drawing if isinstance(p, Text))


def passes_told(strands: int, made: list[dict[str, Any]]) -> str:
    """Passes of the atlas as data, in a maker's words."""
    out = []
    for p in made:
        left, right = p["gap"], strands - p["gap"]
        where = (
            "round the right-hand strand" if right == 1
            else "round the left-hand strand" if left == 1
            else f"between the {left} strands on the left and the {right} on the right"
        )  # fmt: skip
        way = "from the front to the back" if p["face"] == "front" else "from the back to the front"
        out.append(f"after turn {p['after_turn']} {where}, {way}")
    return "; ".join(out)


def plain_boxes(strands: int, turns: Turns, length: float, numbers: Sequence[int] | None = None) -> Drawing:
    """A stand-in for a braid's picture where only the room that it takes matters: as high as strands of 3 mm lie."""
    return (box_path((any_braid.LETTERS, -1.5 * strands, length, 1.5 * strands), Layer.LABELS, "edge"),)


@pytest.mark.parametrize("left_handed", [False, True])
def test_the_paper_says_of_a_class_what_the_data_says(left_handed: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(any_braid, "drawing", plain_boxes)
    pages = [atlas(n) for n in (3, 5, 7)]
    text = words_on(paper.sheets(pages, (210.0, 297.0), left_handed))
    for page in pages:
        for e in say.as_data(page, left_handed)["entries"]:
            begin = text.index(f"{e['name']}    {' '.join(e['pattern'])}")
            told = text[begin : text.index("Face", begin)] if "Face" in text[begin:] else text[begin:]
            assert f"A set is {e['turns_per_set']} of them." in told
            assert f"Tab: {passes_told(page.strands, e['passes'])}." in told
            assert f" {e['patterns']} patterns in the class; least tangle {e['least_tangle']:.2f}; " in told
            groups = ["".join(letter(s) for s in g) for g in e["least_braided"]]
            if e["brunnian"]:
                assert "Brunnian: any one strand out sets the others free" in told
            elif len(groups) <= 6:
                assert f"braided together: {', '.join(sorted(groups))}" in told
            else:
                assert f"braided together: {len(groups)} groups of {len(groups[0])}" in told
    assert f"Turns: {'left over 2; right' if left_handed else 'right over 2; left'} over 2." in text


def test_pages_of_the_atlas_are_filled_within_their_margins_and_no_heading_ends_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A page ends where what begins the next has no room, with a line or pictures; 11 mm stay free, but for its name."""
    monkeypatch.setattr(any_braid, "drawing", plain_boxes)
    pages = [atlas(n) for n in (3, 5, 7)]
    for high in range(190, 300, 7):
        sheets = paper.sheets(pages, (210.0, float(high)))
        assert [s.name for s in sheets] == [f"atlas {k}" for k in range(1, len(sheets) + 1)]
        left = 0.0
        for s in sheets:
            drawn = [p for placed in s.placed for p in on_sheet(placed)]
            foot = [p for p in drawn if isinstance(p, Text) and p.text == s.name]
            # On one line with the stamp of a job's pages, 6 mm up, at the right margin.
            assert [(p.x, p.y, p.anchor) for p in foot] == [(199.0, 6.0, "end")]
            boxes = [(primitive_box(p), p) for p in drawn if p not in foot]
            assert min(b[0] for b, _ in boxes) >= 11.0 - 1e-6
            assert max(b[2] for b, _ in boxes) <= 199.0 + any_braid.LAP + 1e-6
            assert max(b[3] for b, _ in boxes) <= high - 11.0 + 1e-6
            lowest = min((b[1], isinstance(p, Text)) for b, p in boxes)
            assert lowest[0] >= 11.0 - 1e-6
            assert not lowest[1]
            pictures = [placed for placed in s.placed if placed.dy]
            if s is not sheets[0] and pictures:
                first = max(pictures, key=lambda placed: placed.dy)
                bottom = min(primitive_box(p)[1] for p in on_sheet(first))
                assert left < high - 11.0 - bottom + 25.0
            left = lowest[0] - 11.0
        sizes = {p.size for s in sheets for placed in s.placed if not placed.dy for p in placed.drawing if isinstance(p, Text)}  # fmt: skip
        assert {round(size / 25.4 * 72.0) for size in sizes} == {9, 11, 14, 20}


@pytest.mark.parametrize("text", ["Roo Loo", "Ro Loou"])
@pytest.mark.parametrize("back", [False, True])
def test_each_strand_of_a_picture_begins_at_its_letter(text: str, back: bool) -> None:
    pattern = tuple(text.split())
    turns = patterns.turns_of(5, patterns.turned_over(pattern) if back else pattern)
    drawn = any_braid.drawing(5, turns * 5, 90.0, tuple(range(5, 0, -1)) if back else None)
    begun: dict[str, float] = {}
    for p in drawn:
        if isinstance(p, Path) and p.role.startswith("tone-") and p.segments[0].start[0] == any_braid.LETTERS:
            ys = [s.start[1] for s in p.segments if s.start[0] == any_braid.LETTERS]
            begun[letter(int(p.role[5:]) + 1)] = sum(ys) / 2.0
    letters = [t for t in drawn if isinstance(t, Text)]
    assert [t.text for t in letters] == sorted(begun, key=lambda name: begun[name])
    assert {t.text for t in letters} == set("ABCDE")
    for low, high in itertools.pairwise(letters):
        assert high.y - low.y >= low.size - 1e-9  # none on another
    for t in letters:
        assert abs(t.y + 0.36 * t.size - begun[t.text]) < 4.0
    assert sum(t.y + 0.36 * t.size - begun[t.text] for t in letters) == pytest.approx(0.0, abs=0.2)


@pytest.mark.parametrize("text", ["Rooo Looo", "Roo Looou"])
@pytest.mark.parametrize("length", [60.0, 140.0])
def test_a_picture_of_any_braid_is_25_mm_high_at_most_and_as_long_as_its_place(text: str, length: float) -> None:
    turns = patterns.turns_of(7, tuple(text.split())) * 7
    drawn = [p for p in any_braid.drawing(7, turns, length) if isinstance(p, Path)]
    boxes = [primitive_box(p) for p in drawn]
    assert max(b[3] for b in boxes) - min(b[1] for b in boxes) <= 25.0
    assert min(b[0] for b in boxes) == any_braid.LETTERS
    right = max(b[2] for b in boxes)
    # It ends with a whole turn, a lap of 0.05 mm over it; another would not have had room.
    assert right <= length + 0.1
    assert right > length - (right - any_braid.LETTERS) / 2.0


@pytest.mark.parametrize("left", [False, True])
def test_turned_over_on_the_page_a_braid_begins_with_its_strands_the_other_way_round(left: bool) -> None:
    _, entries = atlas_page._atlas(5, left)
    for e in entries:
        read = [
            [(float(y), text) for y, text in re.findall(r'<text[^>]* y="([-\d.]+)"[^>]*>([A-E])</text>', e[side])]
            for side in ("face", "back")
        ]
        face, back = ([text for _, text in sorted(found)] for found in read)
        assert sorted(face) == list("ABCDE")
        assert back == face[::-1]
