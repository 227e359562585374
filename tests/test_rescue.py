"""When it goes wrong: what was done, how it lies, and the least work that puts it right."""

from __future__ import annotations

import heapq
import itertools
import json
import re
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box

from strapwork.braid import lie, passes, plan
from strapwork.braid.dynnikov import coordinates, move
from strapwork.braid.field import ONE
from strapwork.braid.looks import cancelled, layers, look, shorter
from strapwork.braid.loops import Slot
from strapwork.braid.passes import TabPass, inverse
from strapwork.braid.placing import placed
from strapwork.braid.proof import is_trivial_braid
from strapwork.braid.rescue import BACK, PASS, Mend, mend
from strapwork.braid.slips import FORGOTTEN, LATE, UNDER, WRONG_FACE, WRONG_STRAND, slips
from strapwork.braid.spelling import spelled
from strapwork.braid.way import Way, since_good, way_of
from strapwork.braid.word import Turn, crossings, parse_turns
from strapwork.braid.work import Back, Done, Pass, Step, Work, parse_done
from strapwork.cli import main as cli
from strapwork.drawing import fonts, pdf
from strapwork.drawing.primitives import Drawing, Hatch, Text, extent, on_sheet
from strapwork.drawing.primitives import Path as Drawn
from strapwork.errors import InputError
from strapwork.paper import mend_card, mend_pictures
from strapwork.paper.ribbons import hatch_angle, tone
from strapwork.say import mending, tangles
from strapwork.say import slips as slip_words
from tests.helpers import pages_read
from tests.test_pictures import levels, regions

FOUR, SIX = "Rooo Luoo Ruuu Louu", "Rooooo Luoooo Ruuuuu Louuuu"


@cache
def way(strands: int, turns: str = "", left_handed: bool = False) -> Way:
    found = plan.from_turns(strands, turns, "here") if turns else plan.standard(strands)
    return way_of(found, left_handed)


def after(text: str, strands: int = 3, *, turns: str = "", left_handed: bool = False, **how: bool | int) -> Mend:
    """The mend after what is typed."""
    w = way(strands, turns, left_handed)
    return mend(w, parse_done(text, strands, w.turns), **how)  # type: ignore[arg-type]


def short(steps: Sequence[Step]) -> str:
    """Steps in a form that a test can show: ``2f`` is a pass through gap 2 from the front."""
    words = []
    for s in steps:
        match s:
            case Pass(gap, face):
                words.append(f"{gap}{face[0]}")
            case Back(turns):
                words.append(f"back {turns}")
            case Work(turn):
                words.append(turn.text())
    return " ".join(words)


def assert_good(w: Way, m: Mend) -> None:
    """The steps together with what was done are a finished set."""
    assert len(m.end.turns) % w.per_set == 0
    assert m.end.turns
    assert not any(passes.ribbon_turns(w.strands, m.end.turns, m.end.passes))
    assert coordinates(w.strands, passes.below(w.strands, m.end.turns, m.end.passes)) == [0, 1] * w.strands


# What the maker asks, and the answer


def test_a_pass_forgotten_after_four_and_noticed_at_six_takes_four_passes_and_no_turn_back() -> None:
    m = after("6 turns")
    assert m.state == "mend"
    assert short(m.steps) == "2f 1b 2b 1f"
    assert m.exact
    names = [mending.where(p.gap, 3) for p in m.passes]
    assert names == ["round the right-hand strand", "round the left-hand strand"] * 2
    assert short(after("6 turns", keep_turns=True).steps) == "2f 1b 2b 1f"


def test_the_wrong_strand_at_four_takes_two_passes_and_then_the_set_goes_on() -> None:
    m = after("4 turns, pass 1 front")
    assert short(m.steps) == "1b 2f Ro Lo 1f"
    assert mending.headline(way(3), m).startswith("Not yet well. To put it right: 2 passes.")


def test_the_wrong_face_at_four_takes_two_passes_and_then_the_set_goes_on() -> None:
    assert short(after("4 turns, pass 2 back").steps) == "2f 2f Ro Lo 1f"


def test_noticed_one_turn_late_the_turn_is_taken_back() -> None:
    assert short(after("5 turns").steps) == "back 1 2f Ro Lo 1f"
    assert "Back" not in str(after("5 turns", keep_turns=True).steps)


def test_a_turn_worked_under_instead_of_over_has_to_be_opened() -> None:
    assert short(after("2 turns, Ru").steps) == "back 1 Ro Lo 2f Ro Lo 1f"
    with pytest.raises(InputError, match="keeps every turn"):
        after("2 turns, Ru", keep_turns=True)


@pytest.mark.parametrize(
    ("done", "rest"),
    [
        ("0 turns", "Ro Lo Ro Lo 2f Ro Lo 1f"),
        ("4 turns", "2f Ro Lo 1f"),
        ("4 turns, pass 2 front", "Ro Lo 1f"),
        ("4 turns, pass 2 front, 2 turns", "1f"),
        ("4 turns, pass 2 front, 2 turns, pass 1 front", ""),
        ("4 turns, pass 2 front, 2 turns, pass 1 front, 1 turn", "Lo Ro Lo 2f Ro Lo 1f"),
        # Another schedule with two passes, and one where the pass can wait for a turn on the other side.
        ("3 turns, pass 2 front", "Lo Ro Lo 1f"),
        ("4 turns, pass 2 front, 3 turns, pass 1 front", "Lo Ro Lo 2f Ro Lo 1f"),
        # Made and taken straight out again.
        ("2 turns, pass 1 front, pass 1 back, 2 turns", "2f Ro Lo 1f"),
    ],
)
def test_all_is_well_and_what_comes_next(done: str, rest: str) -> None:
    m = after(done)
    assert (m.state, short(m.steps)) == ("well", rest)
    next_is_a_pass = bool(m.steps) and isinstance(m.steps[0], Pass)
    head = mending.headline(way(3), m)
    assert head.startswith("All is well")
    assert head.endswith(": the pass of the tab comes next.") == next_is_a_pass
    assert "Next" not in mending.then(way(3), m)


def test_the_left_hand_gets_the_mirror_image() -> None:
    assert short(after("6 turns", left_handed=True).steps) == "1f 2b 1b 2f"
    m = after("4 turns, pass 2 front", left_handed=True)
    assert short(m.steps) == "2b 1f Lo Ro 2f"
    assert_good(way(3, "", True), m)


def test_turns_of_ones_own_are_mended_too() -> None:
    assert short(after("2 turns", 4, turns=FOUR).steps) != ""
    m = after("4 turns", 4, turns=FOUR)
    assert_good(way(4, FOUR), m)
    with pytest.raises(InputError, match="4 strands has no set"):
        way(4)


def test_there_is_always_a_way_out_and_keeping_turns_is_spoken_of_only_where_it_was_asked() -> None:
    """Nine strands, the tab passed at random before the first turn: too far for the tables, so all is begun afresh."""
    before = [(2, "front"), (7, "back"), (5, "front"), (3, "back"), (8, "front"), (1, "back")]
    m = after(", ".join(f"pass {gap} {face}" for gap, face in before) + ", 5 turns, pass 4 back", 9)
    assert_good(way(9), m)
    assert short(m.steps).startswith("back 5 1f 8b 3f 5b 7f 2b Roooo")
    assert not m.exact


def test_many_passes_too_many_are_taken_out_one_by_one_and_then_the_set_goes_on() -> None:
    """Eight passes in seven strands: more than the tables hold, and dearer to make good at the end of the set."""
    made = "pass 3 front, pass 6 front, pass 4 back, pass 1 back, pass 5 front, pass 2 back, pass 1 back, pass 6 back"
    m = after(f"5 turns, {made}", 7, keep_turns=True)
    assert short(m.steps).startswith("6f 1f 2f 5b 1f 4f 6b 3b Looo Rooo Looo 4f Rooo")
    assert m.cost == 10 * PASS
    assert_good(way(7), m)


def test_no_mend_goes_past_the_last_set() -> None:
    beyond = after("7 turns")
    assert not beyond.turns_back
    assert len(beyond.end.turns) == 12
    within = after("7 turns", most_sets=1)
    assert within.turns_back == 1
    assert len(within.end.turns) == 6
    good = "4 turns, pass 2 front, 2 turns, pass 1 front"
    m = after(f"{good}, pass 2 front, 2 turns, pass 1 back", most_sets=1)
    assert short(m.steps) == "back 2 2b"
    with pytest.raises(InputError, match="keeps every turn"):
        after(f"{good}, pass 2 front", keep_turns=True, most_sets=1)


@pytest.mark.parametrize(
    ("strands", "turns", "done", "steps"),
    [
        (3, "", "pass 1 back, 2 turns", "Ro Lo 2f Ro Lo 1f 1f"),
        (4, FOUR, "pass 1 back, 2 turns", "3b Ruuu Louu 3f 1f"),
    ],
)
def test_of_ways_that_cost_the_same_what_comes_later_is_what_the_card_has(
    strands: int, turns: str, done: str, steps: str
) -> None:
    """Whatever the card has not is made at once, and the rest as the maker has it before them."""
    w = way(strands, turns)
    m = after(done, strands, turns=turns)
    later = [p for p in m.end.passes if p.after_turn > len(m.done.turns)]
    assert later
    assert set(later) <= {p for s in w.schedules for p in s}
    assert short(m.steps) == steps
    assert least_by_hand(w, parse_done(done, strands, w.turns), m.cost) == m.cost


def test_of_ways_that_cost_the_same_the_tab_goes_in_from_one_face() -> None:
    """``back 1 3f Loo Roo 4b Loo 2f Roo Loo Roo Loo`` would do as well, with the tab changing faces twice."""
    w = way(5)
    m = after("2 turns, pass 4 front, 1 turn, Luu", 5)
    other = m.done.back(1).then([Pass(3, "front"), *map(Work, w.turns[3:5]), Pass(4, "back"), Work(w.turns[5])])
    other = other.then([Pass(2, "front"), *map(Work, w.turns[6:])])
    assert other.is_finished(5, w.per_set)
    assert m.cost == BACK + 3 * PASS
    assert {p.face for p in m.passes} == {"front"}
    assert_good(w, m)


def test_of_ways_that_cost_the_same_the_tab_goes_through_nearest_the_middle() -> None:
    """Six strands, passes made that nobody planned: all ways of one pass now and one after the next turn, tried."""
    w = way(6, SIX)
    m = after("pass 1 front, 1 turn, pass 2 back, 1 turn", 6, turns=SIX)
    gates = [(gap, face) for gap in range(1, 6) for face in passes.FACES]
    right = [
        abs(one[0] - 3) + abs(two[0] - 3)
        for one, two in itertools.product(gates, gates)
        if passes.is_right(6, w.turns, (*m.done.passes, TabPass(2, *one), TabPass(3, *two)))
    ]
    assert [s for s in m.end.passes[2:] if s.after_turn not in (2, 3)] == []
    assert len(right) > 1
    assert sum(abs(p.gap - 3) for p in m.passes) == min(right) < max(right)


def test_a_turn_worked_wrong_when_no_pass_is_due_any_more_is_all_that_is_opened() -> None:
    """Five strands, after the first turn as many passes as the whole set needs, then a turn under: two half turns' work, twice."""
    w = way(5)
    early = spelled(5, passes.below(5, w.turns[:1], ()) + inverse(crossings(w.turns[1:])), 1)
    assert early is not None
    m = mend(w, Done((w.turns[0], Turn("L", tuple(-c for c in w.turns[1].crossings))), early))
    assert short(m.steps[:2]) == "back 1 Loo"
    assert m.passes == ()
    assert m.cost == BACK
    assert_good(w, m)


def test_sets_that_ended_well_are_left_alone() -> None:
    good = "4 turns, pass 2 front, 2 turns, pass 1 front"
    m = after(f"{good}, {good}, 6 turns")
    assert m.sets_before == 2
    assert short(m.steps) == "2f 1b 2b 1f"


def test_taking_turns_back_takes_the_passes_made_since_the_first_of_them() -> None:
    done = parse_done("2 turns, pass 1 front, 1 turn, pass 2 back, 1 turn", 3, way(3).turns)
    left = done.back(2)
    assert len(left.turns) == 2
    assert left.passes == (TabPass(2, 1, "front"),)
    assert done.back(1).passes == done.passes
    assert done.then([Back(2)]) == left


# Exactness, by another search


def least_by_hand(w: Way, done: Done, most: int) -> int:
    """The least cost by trying everything: no matrices, no tables; states are told apart by Dynnikov's coordinates.

    ``most`` bounds the cost.  The strands are followed from the first turn on,
    so passes and turns join at the end of the inverse word.
    """
    n = w.strands
    gates = [(g, s) for g in range(1, n) for s in (1, -1)]
    best = most + 1
    for back in range(len(done.turns) + 1):
        left = done.back(back)
        opened = BACK * back + PASS * (len(done.passes) - len(left.passes))
        end = max(1, -(-len(left.turns) // w.per_set)) * w.per_set
        turns = (*left.turns, *w.turns_to(end)[len(left.turns) :])
        order = [passes.positions_after(n, crossings(turns[:k])) for k in range(end + 1)]
        start = coordinates(n, inverse(passes.below(n, left.turns, left.passes)))
        twist = passes.ribbon_turns(n, left.turns, left.passes)
        seen: set[tuple[int, tuple[int, ...], tuple[int, ...]]] = set()
        queue = [(opened, len(left.turns), tuple(start), twist)]
        while queue:
            cost, at, v, f = heapq.heappop(queue)
            if cost >= best or (at, v, f) in seen:
                continue
            seen.add((at, v, f))
            if at == end and not any(f) and list(v) == [0, 1] * n:
                best = cost
                break
            if at < end:
                further = list(v)
                move(further, turns[at].crossings)
                heapq.heappush(queue, (cost, at + 1, tuple(further), f))
            for g, s in gates:
                e = list(f)
                for place, strand in enumerate(order[at], start=1):
                    e[strand - 1] += s if place <= g else -s
                if max(map(abs, e)) * PASS + cost + PASS < best:
                    passed = list(v)
                    move(passed, inverse(passes.pass_word(n, g, s)))
                    heapq.heappush(queue, (cost + PASS, at, tuple(passed), tuple(e)))
    return best


@pytest.mark.parametrize(
    ("strands", "done"),
    [
        (3, "6 turns"),
        (3, "5 turns"),
        (3, "4 turns, pass 1 front"),
        (3, "4 turns, pass 2 back, 1 turn"),
        (3, "5 turns, pass 2 front"),
        (3, "4 turns, pass 1 front, 2 turns"),
        (3, "1 turn, pass 2 back, 4 turns"),
        (3, "1 turn, pass 2 front, 1 turn, pass 1 front, 1 turn"),
        (5, "8 turns"),
        (5, "6 turns, pass 2 front, 1 turn"),
    ],
)
def test_no_way_out_is_cheaper_than_the_one_given(strands: int, done: str) -> None:
    m = after(done, strands)
    assert m.exact
    assert least_by_hand(way(strands), parse_done(done, strands, way(strands).turns), m.cost) == m.cost


@pytest.mark.parametrize(
    ("strands", "done", "known"),
    [
        (
            5,
            "pass 1 front, 8 turns",
            [Pass(3, "front"), 2, Pass(1, "back"), Pass(4, "back"), Pass(2, "front"), Pass(1, "back")],
        ),
        (7, "11 turns", [Back(1), Pass(4, "front"), 4, Pass(1, "back"), Pass(6, "back"), Pass(3, "front")]),
    ],
)
def test_no_way_out_is_dearer_than_one_that_is_known(strands: int, done: str, known: list[Step | int]) -> None:
    """A forgotten pass noticed two or three turns late: a way out put down here, proven right, and what it costs."""
    w = way(strands)
    spoilt = parse_done(done, strands, w.turns)
    end = spoilt
    for step in known:
        at = len(end.turns)
        end = end.then([Work(t) for t in w.turns_to(at + step)[at:]] if isinstance(step, int) else [step])
    assert end.is_finished(strands, w.per_set)
    cost = sum(BACK * s.turns if isinstance(s, Back) else PASS * isinstance(s, Pass) for s in known)
    m = mend(w, spoilt)
    assert m.cost <= cost
    assert m.exact


@st.composite
def spoiled(draw: st.DrawFn) -> tuple[Way, Done]:
    """Any turns of the braid, seldom a wrong one, and up to three passes anywhere."""
    n, turns = draw(st.sampled_from([(3, ""), (4, FOUR), (5, ""), (6, SIX)]))
    w = way(n, turns, draw(st.booleans()))
    worked = list(w.turns_to(draw(st.integers(0, w.per_set + 2))))
    if worked and draw(st.integers(0, 5)) == 0:
        k = draw(st.integers(0, len(worked) - 1))
        worked[k] = Turn(worked[k].side, tuple(-c for c in worked[k].crossings))
    slot = st.builds(TabPass, st.integers(0, len(worked)), st.integers(1, n - 1), st.sampled_from(["front", "back"]))
    made = draw(st.lists(slot, max_size=3))
    return w, Done(tuple(worked), tuple(sorted(made, key=lambda p: p.after_turn)))


@settings(max_examples=60, deadline=None)
@given(spoiled())
def test_whatever_was_done_the_steps_end_in_a_finished_set(case: tuple[Way, Done]) -> None:
    w, done = case
    m = mend(w, done)
    if m.steps:
        assert_good(w, m)
    else:
        assert done.is_finished(w.strands, w.per_set)
    assert all(k == 0 for k, s in enumerate(m.steps) if isinstance(s, Back))
    # Going on a step at a time never makes it worse.
    if m.steps and m.exact:
        first = mend(w, m.done.then(m.steps[:1]))
        assert first.cost <= m.cost


@settings(max_examples=40, deadline=None)
@given(st.integers(3, 6), st.data())
def test_passes_spelled_from_a_tangle_undo_it(n: int, data: st.DataObject) -> None:
    made = data.draw(st.lists(st.builds(Pass, st.integers(1, n - 1), st.sampled_from(["front", "back"])), max_size=7))
    done = Done().then(made)
    undo = spelled(n, passes.below(n, (), done.passes), 0)
    assert undo is not None
    assert len(undo) <= len(made)
    assert passes.is_right(n, (), (*done.passes, *undo))


# How it is typed


@given(
    st.lists(
        st.one_of(st.integers(0, 30), st.tuples(st.integers(1, 4), st.sampled_from(["front", "back"]))), min_size=1
    )
)
def test_what_was_done_reads_back(items: list[int | tuple[int, str]]) -> None:
    text = ", ".join(f"{i} turn{'s' if i != 1 else ''}" if isinstance(i, int) else f"pass {i[0]} {i[1]}" for i in items)
    total = sum(i for i in items if isinstance(i, int))
    if total > 200 or len(items) > 100:
        return
    done = parse_done(text, 5, way(5).turns)
    assert len(done.turns) == total
    assert done.turns == way(5).turns_to(total)
    assert [(p.gap, p.face) for p in done.passes] == [i for i in items if not isinstance(i, int)]


def test_a_turn_worked_otherwise_takes_the_place_of_the_braids_own() -> None:
    done = parse_done("1 turn, Lu, (-2), 2 turns", 3, way(3).turns)
    assert [t.text() for t in done.turns] == ["Ro", "Lu", "(-2)", "Lo", "Ro"]


NO_ITEM = "says no turns and no pass; write '4 turns', 'pass 2 front', or a turn such as 'Ru', with commas between."


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ": nothing is said; write what was done, such as '4 turns, pass 2 front, 2 turns'."),
        ("four turns", f", item 1: 'four turns' {NO_ITEM}"),
        ("4 turns pass 2 front", f", item 1: '4 turns pass 2 front' {NO_ITEM}"),
        ("4 turns, , 2 turns", f", item 2: '' {NO_ITEM}"),
        ("-1 turns", f", item 1: '-1 turns' {NO_ITEM}"),
        ("٤ turns, ４ turns", f", item 1: '٤ turns' {NO_ITEM}"),
        ("4 turns, pass 3 front", ", item 2: 3 strands have no gap 3; count the strands left of the gap: 1 to 2."),
        ("4 turns, pass 0 front", ", item 2: 3 strands have no gap 0; count the strands left of the gap: 1 to 2."),
        ("4 turns, pass 2 left", ", item 2: 'left' is no face; write front or back: the face the tab goes in from."),
        ("201 turns", ", item 1: 201 turns are too many; keep it to 200, or begin at the last good set."),
        (
            "100 turns, 100 turns, Ro",
            ", item 3: 201 turns are too many; keep it to 200, or begin at the last good set.",
        ),
        ("9999 turns", ", item 1: 9999 turns are too many; keep it to 200, or begin at the last good set."),
        ("pass 1 front, " * 101, ", item 101: 101 passes are too many; keep it to 100, or begin at the last good set."),
        ("Rooo", ", item 1: 'Rooo' crosses 3 strands but only 2 others are there; cross at most 2."),
        (
            "(3)",
            ", item 1: '3' is not a crossing of 3 strands; use whole numbers from 1 to 2, with a minus sign for 'under'.",
        ),
        ("1 turn, " * 250, ": 251 items are too many; keep it to 200."),
        ("1 turn" + " " * 1995, ": 2001 characters are too many; keep it to 2000."),
    ],
)
def test_what_cannot_be_read_is_named(text: str, words: str) -> None:
    with pytest.raises(InputError) as e:
        parse_done(text, 3, way(3).turns)
    assert str(e.value) == f"--done{words}"


def test_a_set_is_finished_when_it_is_whole_and_the_strands_hang_free() -> None:
    """A turn and its opposite hang free as well, and are no set; a whole set without its passes does not hang free."""
    said = ["4 turns, pass 2 front, 2 turns, pass 1 front", "1 turn, (2)", "6 turns", "4 turns, pass 2 front, 1 turn"]
    assert [parse_done(text, 3, way(3).turns).is_finished(3, 6) for text in said] == [True, False, False, False]


def test_two_hundred_items_are_read_and_one_more_is_not() -> None:
    many = ", ".join(["Ro", "Lo"] * 100)
    assert len(parse_done(many, 3, way(3).turns).turns) == 200
    assert len(parse_done("1 turn".ljust(2000), 3, way(3).turns).turns) == 1
    with pytest.raises(InputError, match="201 items are too many; keep it to 200"):
        parse_done(f"{many}, 0 turns", 3, way(3).turns)


# Known by how it lies


def replayed_from(w: Way, below: tuple[int, ...], at: int, steps: Sequence[Step]) -> tuple[int, tuple[int, ...]]:
    """Turns worked and crossings below after the steps, where nobody knows what was done before."""
    turns = list(w.turns[:at])
    word = below
    for s in steps:
        match s:
            case Pass(gap, face):
                word = passes.pass_word(w.strands, gap, 1 if face == "front" else -1) + word
            case Work(turn):
                turns.append(turn)
                word = inverse(turn.crossings) + word
            case Back(count):
                word = crossings(turns[len(turns) - count :]) + word
                del turns[len(turns) - count :]
    return len(turns), word


@settings(max_examples=40, deadline=None)
@given(spoiled())
def test_the_lie_below_is_enough_to_know_the_mend(case: tuple[Way, Done]) -> None:
    w, done = case
    if len(done.turns) > w.per_set or not w.begins_like(done.turns):
        return
    below = passes.below(w.strands, done.turns, done.passes)
    at = len(done.turns)
    try:
        stand_in = lie.from_lie(w, below, at)
    except InputError as e:
        if "turned round itself" not in str(e):
            raise
        return
    assert is_trivial_braid(w.strands, (*inverse(passes.below(w.strands, stand_in.turns, stand_in.passes)), *below))
    m = mend(w, stand_in)
    steps = lie.spelled_out(m.done, m.steps)
    worked, word = replayed_from(w, passes.below(w.strands, m.done.turns, m.done.passes), len(m.done.turns), steps)
    assert worked % w.per_set == 0
    assert is_trivial_braid(w.strands, word)


def test_one_pass_anywhere_in_the_set_is_known_by_how_the_strands_lie() -> None:
    turns = way(3).turns
    for at in range(1, 7):
        for made, gap, face in itertools.product(range(at + 1), (1, 2), passes.FACES):
            below = passes.below(3, turns[:at], [TabPass(made, gap, face)])
            stand_in = lie.from_lie(way(3), below, at)
            there = passes.below(3, stand_in.turns, stand_in.passes)
            assert is_trivial_braid(3, (*inverse(there), *below)), (at, made, gap, face)


def test_pairs_and_places_say_the_same() -> None:
    below = lie.parse_lie("C over B, C over A, B over A", 3)
    assert below == lie.parse_lie("1 2 1", 3) == (1, 2, 1)
    assert lie.parse_lie("free", 3) == ()
    assert lie.parse_lie("C over B, B over C", 3) == (-2, -2)
    assert is_trivial_braid(3, lie.parse_lie("C over B, C over B", 3))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("A over C", "do not lie side by side there, B is between them"),
        ("A over D", "no two of the 3 strands"),
        ("A over A", "no two of the 3 strands"),
        ("A under B, A over B", "'A under B' is no crossing"),
        ("7", "not a crossing of 3 strands"),
    ],
)
def test_a_lie_that_cannot_be_is_named(text: str, words: str) -> None:
    with pytest.raises(InputError, match="--below") as e:
        lie.parse_lie(text, 3)
    assert words in str(e.value)


@pytest.mark.parametrize(
    ("below", "turns", "words"),
    [
        ("1 1", None, "turns of this braid and passes alone do not make these crossings"),
        ("1 2 3 3", None, "which no turn of this set leaves"),
        ("1", 1, "lead up to B, A, C"),
    ],
)
def test_what_more_must_be_known_is_said(below: str, turns: int | None, words: str) -> None:
    n, text = (4, FOUR) if "3" in below else (3, "")
    if below == "1 1":
        n, text = 5, ""
    with pytest.raises(InputError) as e:
        lie.from_lie(way(n, text), lie.parse_lie(below, n), turns)
    assert words in str(e.value)


def test_twisted_strands_that_fit_one_slip_only_are_enough() -> None:
    guess = lie.from_twisted(way(3), frozenset({3}), None)
    assert guess.settled is not None
    assert [s.kind for s, _ in guess.slips] == [WRONG_STRAND]
    many = lie.from_twisted(way(3), frozenset({1, 2, 3}), None)
    assert many.settled is None
    said = slip_words.told_apart(way(3), many, frozenset({1, 2, 3}))
    assert "look which it is" in said
    assert "--below" in said
    # The pass that comes last is looked at too: B turned twice, A and C back and forth; and a slip just made.
    last = lie.from_twisted(way(3), frozenset({2}), None)
    assert [(s.kind, s.after_turn) for s, _ in last.slips] == [(WRONG_STRAND, 6)]
    just_made = lie.from_twisted(way(3), frozenset({1, 2, 3}), 4)
    assert {WRONG_STRAND, WRONG_FACE} <= {s.kind for s, _ in just_made.slips}
    none = lie.from_twisted(way(3), frozenset({1, 2}), None)
    assert "No common slip leaves A and B twisted" in slip_words.told_apart(way(3), none, frozenset({1, 2}))


# The common slips


@pytest.mark.parametrize("n", [3, 5])
@pytest.mark.parametrize("left_handed", [False, True])
def test_every_common_slip_has_a_look_and_a_mend(n: int, left_handed: bool) -> None:
    w = way(n, "", left_handed)
    found = slips(w)
    assert {s.kind for s in found} == {FORGOTTEN, WRONG_STRAND, WRONG_FACE, LATE, UNDER}
    for s in found:
        for m in (s.at_once, s.at_end):
            assert_good(w, m)
        assert s.look.twisted == passes.ribbon_turns(n, s.whole.turns, s.whole.passes)
        assert not s.look.good
        below = passes.below(n, s.whole.turns, s.whole.passes)
        assert is_trivial_braid(n, (*s.look.tangle, *inverse(below)))
        if s.kind != UNDER and s.look.at_end:
            # Two flat strands wind as often as their ribbon turns together say (see braid/proof.py).
            f = s.look.twisted
            pairs = {(i + 1, j + 1): (f[i] + f[j]) // 2 for i in range(n) for j in range(i + 1, n)}
            assert s.look.wound == {pair: k for pair, k in pairs.items() if k}


def test_a_set_whose_last_pass_came_a_turn_late_is_no_good_end_to_go_back_to() -> None:
    w = way(3)
    right = parse_done("4 turns, pass 2 front, 2 turns, pass 1 front, 1 turn", 3, w.turns)
    late = parse_done("4 turns, pass 2 front, 3 turns, pass 1 front", 3, w.turns)
    assert since_good(w, right) == (parse_done("1 turn", 3, w.turns), 1)
    assert since_good(w, late) == (late, 0)


def test_a_pass_is_placed_where_the_next_one_can_still_be_made() -> None:
    """The card has the first after turn 5; the second is another pass from turn 4 on, so the first is made as soon as it can."""
    run = [Slot(2, 6, 1, 1, ONE, (1, -1, -1)), Slot(1, 3, 2, -1, ONE, (-1, -1, 1))]
    planned = (TabPass(5, 1, "front"),)
    assert placed(run, 0, planned) == (TabPass(2, 1, "front"), TabPass(2, 2, "back"))
    assert placed(run[:1], 0, planned) == planned


def test_a_turn_on_the_wrong_side_is_noticed_with_the_passes_that_came_before_it() -> None:
    """A set with passes after turns 2 and 3, turn 3 being the first on the left: when it is made, one pass has been."""
    w = way(3, "Rou Ro Lou Lo")
    assert [p.after_turn for p in w.schedule] == [2, 3]
    first, third = (s for s in slips(w) if s.kind == UNDER)
    assert [t.text() for t in first.noticed.turns] == ["Ruo"]
    assert first.noticed.passes == ()
    assert [t.text() for t in third.noticed.turns] == ["Rou", "Ro", "Luo"]
    assert third.noticed.passes == w.schedule[:1]
    assert third.whole.passes == w.schedule
    for s in (first, third):
        assert_good(w, s.at_once)
        assert s.at_once == mend(w, s.noticed)


def test_the_forgotten_pass_in_three_strands_leaves_what_the_sentence_says() -> None:
    s = next(s for s in slips(way(3)) if s.kind == FORGOTTEN)
    assert slip_words.title(way(3), s) == "Pass after turn 4 forgotten"
    assert tangles.lies(s.look) == (
        "Twisted: A one full turn S; B and C one full turn Z. Wound round each other: B with C, Z."
    )
    assert short(s.at_once.steps) == "back 1 2f Ro Lo 1f"
    assert short(s.at_end.steps) == "1b 2f 1b 2b 1f"


@settings(max_examples=60, deadline=None)
@given(st.integers(3, 6), st.data())
def test_a_shorter_tangle_is_the_same_tangle(n: int, data: st.DataObject) -> None:
    letters = st.integers(1, n - 1).flatmap(lambda i: st.sampled_from([i, -i]))
    word = tuple(data.draw(st.lists(letters, max_size=24)))
    less = shorter(n, word)
    assert len(less) <= len(word)
    assert is_trivial_braid(n, (*less, *inverse(word)))
    rows = layers(less)
    assert sum(map(len, rows)) == len(less)
    assert is_trivial_braid(n, (*(c for row in rows for c in row), *inverse(word)))


@pytest.mark.parametrize(("n", "turns", "gap"), [(3, "", 1), (6, SIX, 5)])
def test_a_tangle_is_drawn_with_no_more_crossings_than_it_must_have(n: int, turns: str, gap: int) -> None:
    """A crossing over and one under make nothing: no word of a braid is shorter than its overs less its unders."""
    w = way(n, turns)
    done = [TabPass(3, 1, "front")] if n == 3 else [TabPass(3, 1, "front"), TabPass(4, gap, "front")]
    seen = look(n, w.turns[:4], done)
    below = passes.below(n, w.turns[:4], done)
    assert len(seen.tangle) == abs(sum(1 if c > 0 else -1 for c in below)) < len(below)
    assert is_trivial_braid(n, (*seen.tangle, *inverse(below)))


def test_crossings_that_take_each_other_back_are_not_drawn() -> None:
    """Also past crossings of other strands; never past one of the same."""
    assert cancelled((1, -1)) == cancelled((1, 3, -1, -3)) == ()
    assert cancelled((1, 3, -1)) == (3,)
    assert cancelled((4, 1, 2, -4, -2)) == (1,)
    assert cancelled((1, 2, -1)) == (1, 2, -1)


# Pictures


def ribbons(drawing: Drawing) -> Drawing:
    """Without the triangles of ribbon turns."""
    return tuple(p for p in drawing if not (isinstance(p, Drawn) and p.closed and len(p.segments) == 3))


def half_turns(drawing: Drawing) -> int:
    return sum(isinstance(p, Drawn) and p.role.startswith("tone-") and len(p.segments) == 3 for p in drawing) // 2


def read_tangle(drawn: Drawing, n: int, first: Sequence[int]) -> list[list[int]]:
    """The crossings of each row, from what is to be seen alone: where two lanes meet at half height, whose strand is there."""
    found = regions(drawn)
    looks = {(f"tone-{tone(s)}", hatch_angle(s)): s for s in range(1, n + 1)}
    # A strand in a half turn is drawn without its hatch: it may look like one more.
    heights = sorted({y for k in range(n, 2 * n + 1) for y in levels(found, k)}, reverse=True)
    top = [shape for _, shape in found if abs(shape.bounds[3] - heights[0]) < 1e-3]
    lanes = sorted(sum(x for x, y in shape.exterior.coords[:-1] if abs(y - heights[0]) < 1e-3) / 2.0 for shape in top)
    assert len(lanes) == n
    order = list(first)
    out = []
    for high, low in itertools.pairwise(heights):
        row = []
        for i in range(1, n):
            at = Point((lanes[i - 1] + lanes[i]) / 2.0, (high + low) / 2.0)
            over = next((looks[look] for look, shape in found if shape.contains(at)), None)
            if over in order[i - 1 : i + 1]:
                row.append(i if over == order[i - 1] else -i)
        if not row:
            continue
        for c in row:
            i = abs(c) - 1
            order[i], order[i + 1] = order[i + 1], order[i]
        out.append(row)
    return out


@pytest.mark.parametrize("n", [3, 5])
def test_a_picture_of_the_tangle_reads_back_as_the_tangle(n: int) -> None:
    for s in slips(way(n)):
        drawn = mend_pictures.tangle_picture(s.look, 60.0, 200.0)
        rows = read_tangle(drawn, n, s.look.order)
        assert rows[: len(layers(s.look.tangle))] == [list(r) for r in layers(s.look.tangle)]
        assert half_turns(drawn) == 2 * sum(map(abs, s.look.twisted))
        letters = sorted((t for t in drawn if isinstance(t, Text) and len(t.text) == 1), key=lambda t: t.x)
        assert [t.text for t in letters] == list("ABCDEFG"[:n])


@pytest.mark.parametrize("sign", [1, -1])
def test_in_a_half_turn_the_edge_behind_breaks_off_before_the_one_in_front(sign: int) -> None:
    """A left-handed turn (S) has the edge in front that falls from the left, as the middle stroke of an S does."""
    lanes = mend_pictures._lanes(3, 60.0, 0.8)
    drawn = mend_pictures._half_turn(lanes, 2, 1, 20.0, 12.0, sign)
    edges = [(s.x0, s.y0, s.x1, s.y1) for p in drawn if isinstance(p, Drawn) and p.role == "edge" for s in p.segments]
    front, *behind = (LineString([e[:2], e[2:]]) for e in edges)
    x, half = lanes.at(2), lanes.width / 2.0
    assert front.equals(LineString([(x - sign * half, 20.0), (x + sign * half, 12.0)]))
    other = LineString([(x + sign * half, 20.0), (x - sign * half, 12.0)])
    assert len(behind) == 2
    for part in behind:
        assert other.buffer(1e-6).covers(part)
        assert part.distance(Point(x, 16.0)) == pytest.approx(0.28 * other.length / 2.0, abs=1e-3)
    assert behind[0].disjoint(behind[1])


@pytest.mark.parametrize("n", [3, 5, 7, 9])
def test_a_picture_of_the_tangle_keeps_to_its_width_and_its_ribbons_turn_in_four_millimetres(n: int) -> None:
    wide = 60.0 if n < 6 else 92.0
    for s in slips(way(n))[:2]:
        drawn = mend_pictures.tangle_picture(s.look, wide, 300.0)
        x0, y0, x1, y1 = extent(drawn)
        assert (x0, y0, x1, y1) == pytest.approx((x0, 1.0, wide - x0, 300.0), abs=0.05)
        assert x0 >= 0.0
        turned = [extent([p]) for p in drawn if isinstance(p, Drawn) and p.closed and len(p.segments) == 3]
        assert turned
        assert {round(b[3] - b[1], 6) for b in turned} == {2.0}  # two triangles a half turn


def test_rows_too_flat_to_read_are_counted_instead() -> None:
    seen = look(7, way(7).turns, ())
    drawn = mend_pictures.tangle_picture(seen, 60.0, 40.0)
    words = next(t.text for t in drawn if isinstance(t, Text) and "more crossings" in t.text)
    shown = sum(len(r) for r in read_tangle(drawn, 7, seen.order))
    assert words == f"and {len(seen.tangle) - shown} more crossings"


def sheet_words(sheets: Sequence[mend_card.Sheet]) -> str:
    return " ".join(" ".join(pages_read(pdf.write(sheets, "x", "y"))).split())


def test_the_card_shows_every_step_with_its_words() -> None:
    m = after("4 turns, pass 2 back, 1 turn")
    words = sheet_words(mend_card.mend_card(way(3), m, (210.0, 297.0)))
    for k, s in enumerate(mending.said(way(3), m.done, m.steps), start=1):
        assert f"{k}. {s.title}" in words
        assert s.text.split(",")[0] in words
    assert "Then the set is finished" in words


def test_the_slips_of_three_strands_fit_one_page() -> None:
    sheets = mend_card.slips_page(way(3), slips(way(3)), (210.0, 297.0))
    assert len(sheets) == 1
    words = sheet_words(sheets)
    for s in slips(way(3)):
        assert slip_words.title(way(3), s) in words


# The command


def run(capsys: pytest.CaptureFixture[str], *args: str) -> str:
    assert cli.main(["rescue", *args]) == 0
    return capsys.readouterr().out


def test_the_answer_for_other_programs(capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(run(capsys, "3", "--done", "6 turns", "--json"))
    assert set(data) == {"state", "steps", "then"}
    assert data["state"] == "mend"
    assert data["steps"] == [
        {"do": "pass", "gap": 2, "face": "front"},
        {"do": "pass", "gap": 1, "face": "back"},
        {"do": "pass", "gap": 2, "face": "back"},
        {"do": "pass", "gap": 1, "face": "front"},
    ]
    data = json.loads(run(capsys, "3", "--done", "5 turns", "--json"))
    assert data["steps"][:3] == [
        {"do": "back", "turns": 1},
        {"do": "pass", "gap": 2, "face": "front"},
        {"do": "turn", "turn": "Ro"},
    ]
    data = json.loads(run(capsys, "3", "--done", "4 turns", "--json"))
    assert data["state"] == "well"
    assert data["steps"][0] == {"do": "pass", "gap": 2, "face": "front"}
    assert data["then"].startswith("Then the set is finished: ")  # what comes next is the first step, and told once


def test_the_answer_for_a_person(capsys: pytest.CaptureFixture[str]) -> None:
    said = run(capsys, "3", "--done", "6 turns")
    assert "1. Pass the tab (gap 2). Tab through between B and C (round the right-hand strand)" in said
    assert "Begin the next set with turn 1: right strand C over B, to the centre." in said
    assert "without taking a turn back" in run(capsys, "3", "--done", "5 turns")
    assert "Only what costs less than" in run(capsys, "9", "--done", "18 turns")


def test_a_described_lie_and_twisted_strands(capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(run(capsys, "3", "--below", "B over C, C over B", "--json"))
    assert data["steps"] == [{"do": "pass", "gap": 1, "face": "front"}]
    assert json.loads(run(capsys, "3", "--below", "free", "--json"))["state"] == "well"
    data = json.loads(run(capsys, "3", "--twisted", "A, B, C", "--json"))
    assert (data["state"], data["steps"]) == ("unknown", [])
    assert "Of the common slips only this" in run(capsys, "3", "--twisted", "C")


def test_slips_are_listed(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    data = json.loads(run(capsys, "3", "--slips", "--json", "--out", str(tmp_path)))
    assert (tmp_path / "slips-3.pdf").exists()
    assert data[0]["twisted"] == {"A": 1, "B": -1, "C": -1}
    assert data[0]["wound"] == [["B", "C", -1]]
    assert "Pass after turn 4 forgotten" in run(capsys, "3", "--slips")


def test_the_card_is_written_as_pdf_and_svg(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    run(capsys, "3", "--done", "6 turns", "--left-handed", "--out", str(tmp_path), "--format", "pdf,svg")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["rescue-3-mend-1.svg", "rescue-3.pdf"]
    before = (tmp_path / "rescue-3.pdf").read_bytes()
    assert cli.main(["rescue", "3", "--done", "6 turns", "--out", str(tmp_path)]) == 2
    assert (tmp_path / "rescue-3.pdf").read_bytes() == before


def asked() -> Iterator[tuple[list[str], str]]:
    yield ["3"], "--done: nothing is said of the work"
    yield ["3", "--done", "6 turns", "--slips"], "two descriptions are given"
    yield ["3", "--done", "6 turns", "--twisted", "A"], "--twisted: two descriptions"
    yield ["3", "--done", "6 turns", "--after", "3"], "--after: it goes with"
    yield ["3", "--below", "free", "--after", "7"], "--after: 7 is no turn of this set"
    yield ["3", "--below", "C over B, B over C", "--twisted", "A"], "A, B and C must be twisted"
    yield ["3", "--twisted", "Q"], "'Q' is no strand"
    yield ["3", "--done", "6 turns", "--sets", "0"], "--sets: 0 is no number"
    yield ["4", "--done", "6 turns"], "4 strands has no set that can be worked"
    yield ["2", "--done", "6 turns"], "2 strands has no set"
    yield ["99", "--done", "6 turns"], "99 strands cannot be braided"
    yield ["3", "--done", "6 turns", "--turns", "Ro Lo", "--word", "1"], "both turns and a word"
    yield ["3", "--done", "6 turns", "--format", "png"], "'png' is no format"


@pytest.mark.parametrize(("args", "words"), list(asked()))
def test_bad_questions_get_one_clear_sentence(args: list[str], words: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["rescue", *args]) == 2
    said = capsys.readouterr()
    assert words in said.err
    assert said.out == ""
    assert said.err.count("\n") == 1


def test_a_word_is_mended_crossing_by_crossing(capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(run(capsys, "3", "--word", "-2 1 -2 1 -2 1", "--done", "5 turns", "--json"))
    assert {"do": "turn", "turn": "(-2)"} in data["steps"]
    assert parse_turns("Ro", 3)[0].crossings == (-2,)


# -- pictures and cards of mends as a hand uses them ------------------------------------


def box_of(t: Text) -> Polygon:
    """The ground of a line of capitals, 0.72 of their size high."""
    wide = fonts.text_width(t.text, t.size, t.role == "text-strong")
    x = t.x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[t.anchor]
    return box(x, t.y, x + wide, t.y + 0.72 * t.size)


def opened(n: int, done: int, back: int, height: float = 58.0) -> Drawing:
    return mend_pictures.back_picture(n, (way(n).turns * 2)[:done], back, 92.0 if n > 5 else 60.0, height)


def test_letters_of_spoiled_work_stand_on_their_strands_between_what_is_above_and_the_tab() -> None:
    pictures = [(n, opened(n, 6, 2)) for n in (3, 5)]
    pictures += [(3, mend_pictures.tangle_picture(s.look, 60.0, 80.0)) for s in slips(way(3))[:4]]
    for n, drawn in pictures:
        hatches = [Polygon([s.start for s in p.region]) for p in drawn if isinstance(p, Hatch)]
        strands = [Polygon([s.start for s in p.segments]) for p in drawn if isinstance(p, Drawn) and p.role.startswith("tone-")]  # fmt: skip
        (tab,) = (Polygon([s.start for s in p.segments]) for p in [p for p in drawn if isinstance(p, Drawn) and p.role == "tab"][-1:])  # fmt: skip
        letters = [t for t in drawn if isinstance(t, Text) and len(t.text) == 1 and t.anchor == "middle"]
        assert len(letters) == n
        for t in letters:
            here = box_of(t)
            (own,) = (s for s in strands if s.covers(here))
            assert own.bounds[1] == pytest.approx(tab.bounds[3])
            assert not any(h.intersects(here) for h in hatches)
            # In its middle, whatever the way down: as much free strand over the letter as under it, to 1 mm.
            free = here.bounds[1] - tab.bounds[3], own.bounds[3] - here.bounds[3]
            assert min(free) > 0.3
        words = [t for t in drawn if isinstance(t, Text) and tab.covers(box_of(t))]
        assert [t.text for t in words] == ["tab"]


def test_twists_are_drawn_as_many_as_they_are_called_and_slope_as_they_are_called() -> None:
    """S or Z: what lies in front slopes like the middle of that letter.  A half turn 1 mm high can still be counted."""
    called = 0
    for s in slips(way(3)):
        drawn = mend_pictures.tangle_picture(s.look, 60.0, 90.0)
        letters = {t.text: t.x for t in drawn if isinstance(t, Text) and len(t.text) == 1}
        told = {}
        for names, many, kind in re.findall(r"([A-C](?:(?:, | and )[A-C])*) (one|\d) full turns? ([SZ])", tangles.lies(s.look)):  # fmt: skip
            told |= dict.fromkeys(re.findall(r"[A-C]", names), (1 if many == "one" else int(many), kind))
        for name, x in letters.items():
            half = [p for p in drawn if isinstance(p, Drawn) and p.closed and len(p.segments) == 3 and abs(extent([p])[0] + extent([p])[2] - 2.0 * x) < 0.01]  # fmt: skip
            full, kind = told.get(name, (0, ""))
            assert len(half) == 4 * full
            # Two triangles, point to point, are one half turn; the edge in front runs whole from corner to corner.
            for upper, lower in zip(half[::2], half[1::2], strict=True):
                low, high = extent([lower]), extent([upper])
                assert high[3] - low[1] >= 1.0
                assert high[2] - high[0] < 10.0
                front = [p.segments[0] for p in drawn if isinstance(p, Drawn) and p.role == "edge" and {p.segments[0].start[1], p.segments[0].end[1]} == {high[3], low[1]} and low[0] - 0.01 < p.segments[0].start[0] < low[2] + 0.01]  # fmt: skip
                (edge,) = front
                slope = (edge.end[0] - edge.start[0]) * (edge.end[1] - edge.start[1])
                assert (slope < 0.0) == (kind == "S")
                called += 1
    assert called > 10


@pytest.mark.parametrize(("n", "done", "back"), [(3, 5, 1), (3, 6, 2), (5, 4, 3), (7, 9, 4)])
def test_the_arrow_of_turns_to_open_goes_up_beside_them_with_their_number(n: int, done: int, back: int) -> None:
    drawn = opened(n, done, back)
    top, tab = (p for p in drawn if isinstance(p, Drawn) and p.role == "tab")
    right = extent([top])[2]
    (head,) = (extent([p]) for p in drawn if isinstance(p, Drawn) and p.role == "arrow-fill")
    lines = [extent([p]) for p in drawn if isinstance(p, Drawn) and p.role == "arrow"]
    foot = min(b[1] for b in lines)
    # Clear of the work, and within the picture.
    assert min(b[0] for b in lines) >= right + 1.9
    assert min(b[0] for b in (head, *lines)) > right
    number = next(t for t in drawn if isinstance(t, Text) and t.text == str(back))
    assert number.x > max(b[0] for b in lines if b[0] == b[2])
    middle = number.y + 0.36 * number.size
    assert middle == pytest.approx((foot + head[3]) / 2.0, abs=0.1)
    # From the foot of the last turn up over those that are opened, three at most.
    heights = levels(regions(drawn), n)
    shown = min(done, 3)
    rows = heights[: shown + 1]
    assert rows[0] == pytest.approx(extent([top])[1])
    assert foot == pytest.approx(rows[-1], abs=1e-3)
    assert head[3] == pytest.approx(rows[-1 - min(back, shown)], abs=1e-3)
    assert f"{done - shown} turns above" in [t.text for t in drawn if isinstance(t, Text)] or done - shown < 2
    assert rows[-1] - extent([tab])[3] >= 6.0  # room for the letters


def cells_of(sheet: mend_card.Sheet) -> list[tuple[float, float, float, float]]:
    """The boxes of a page's pictures, from the top left."""
    boxes = [extent([p for p in on_sheet(placed) if isinstance(p, Drawn) and p.role == "tab"]) for placed in sheet.placed if placed.dx]  # fmt: skip
    return sorted(boxes, key=lambda b: (-round(b[3], 1), b[0]))


def read_page(sheet: mend_card.Sheet) -> list[Text]:
    """The words of a page that do not belong to pictures."""
    return [t for placed in sheet.placed if not placed.dx for t in placed.drawing if isinstance(t, Text)]


def test_pages_of_slips_hold_each_slip_in_even_columns_within_their_margins() -> None:
    n = 3
    found = slips(way(n))
    # Two alone stand beside each other.
    first, second = cells_of(mend_card.slips_page(way(n), found[:2], (210.0, 297.0))[0])
    assert first[3] == pytest.approx(second[3])
    sheets = mend_card.slips_page(way(n), found, (210.0, 297.0), "slips ")
    assert [s.name for s in sheets] == ["slips 1"]
    (sheet,) = sheets
    words = read_page(sheet)
    for t in words:
        if t.text == sheet.name:
            assert (t.x, t.y, t.anchor) == (199.0, 6.0, "end")
            continue
        wide = fonts.text_width(t.text, t.size, t.role == "text-strong")
        assert t.x >= 11.0 - 1e-6
        assert t.x + wide <= 199.0 + 1e-6
        assert t.y + 0.72 * t.size <= 286.0 + 1e-6
        assert t.y >= 11.0
    boxes = cells_of(sheet)
    assert len(boxes) == len(found)
    middle = 105.0
    columns = [[b for b in boxes if (b[0] < middle) == left] for left in (True, False)]
    # Each picture beside its own title, under the heading and clear of the one above it.
    titled = [t for t in words if t.role == "text-strong" and t.x > 20.0]
    for column in columns:
        beside = sorted((t for t in titled if (t.x < middle) == (column[0][0] < middle)), key=lambda t: -t.y)
        begun = [t for k, t in enumerate(beside) if k == 0 or beside[k - 1].y - t.y > 1.5 * t.size]
        for (_, low, right, high), title in zip(column, begun, strict=True):
            assert high <= words[0].y
            assert right < title.x
            assert low < title.y < high
        assert all(upper[1] - lower[3] >= 3.0 - 1e-6 for upper, lower in itertools.pairwise(column))
    assert all(len(c) >= len(found) // 2 - 1 for c in columns)
    ends = [min(t.y for t in words if (t.x < middle) == left and t.text != sheet.name) for left in (True, False)]
    tallest = max(high[3] - low[3] for c in columns for high, low in itertools.pairwise(c))
    ends = [min(end, min(b[1] for b in c)) for end, c in zip(ends, columns, strict=True)]
    assert abs(ends[0] - ends[1]) <= tallest
    # A line ends where the next word has no room: at the right margin, and before the right column's pictures.
    titles = {x for x in {t.x for t in words} if sum(t.x == x for t in words) > 5 and x > 20.0}
    assert len(titles) == 2
    for x, edge in zip(sorted(titles), (middle - 3.0, 199.0), strict=True):
        rows = [t for t in words if t.x == x and t.role == "text"]
        for upper, lower in itertools.pairwise(rows):
            if upper.y - lower.y < 1.5 * upper.size and not upper.text.endswith("."):
                more = fonts.text_width(f" {lower.text.split(' ')[0]}", upper.size)
                assert x + fonts.text_width(upper.text, upper.size) + more > edge - 1e-6
    assert boxes[-1][1] >= 11.0


@pytest.mark.parametrize(("n", "done"), [(3, "4 turns, pass 2 back, 1 turn"), (7, "8 turns, pass 2 back, 1 turn")])
def test_the_card_of_a_mend_uses_its_page_from_margin_to_margin(n: int, done: str) -> None:
    m = after(done, n)
    sheets = mend_card.mend_card(way(n), m, (210.0, 297.0))
    assert [s.name for s in sheets] == [f"mend {k}" for k in range(1, len(sheets) + 1)]
    count = 0
    for sheet in sheets:
        words = read_page(sheet)
        head = words[0]
        assert head.text == f"Putting {n} strands right, right-handed"
        assert 270.0 < head.y + 0.72 * head.size <= 286.0
        assert min(t.y for t in words if t.text != sheet.name) >= 11.0 - 1e-6
        placed = sorted({p.dx for p in sheet.placed if p.dx})
        wide = 60.0 if n == 3 else 92.0
        # Pictures beside each other, the first at the left margin and the last up to the right one, as far from each other.
        assert placed[0] == pytest.approx(11.0)
        assert placed[-1] + wide == pytest.approx(199.0)
        steps = [b - a for a, b in itertools.pairwise(placed)]
        assert steps == pytest.approx([steps[0]] * len(steps))
        assert len(placed) == (3 if n == 3 else 2)
        assert steps[0] >= wide
        count += sum(bool(p.dx) for p in sheet.placed)
        rows = sorted({p.dy for p in sheet.placed if p.dx}, reverse=True)
        for y in rows:
            beneath = [t for t in words if y - 25.0 < t.y < y]
            assert len([t for t in beneath if t.role == "text-strong"]) >= 1
            assert all(t.y + 0.72 * t.size <= y for t in beneath)
        for upper, lower in itertools.pairwise(rows):
            assert min(t.y for t in words if lower < t.y < upper) >= lower + 58.0
    assert count == 1 + len(m.steps)
