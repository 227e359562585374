"""The pictures say what the mathematics says: over and under are read back out of the drawings."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, STRtree, box, union_all

from strapwork.braid import geometry, passes, plan, proof
from strapwork.braid.moves import Move
from strapwork.braid.word import parse_turns, turns_of_word
from strapwork.drawing import fonts, pdf, svg
from strapwork.drawing.pen import Recorder, replay
from strapwork.drawing.primitives import Disc, Drawing, Hatch, Path, Text, extent
from strapwork.drawing.style import look as style_of
from strapwork.geometry.shape import Line
from strapwork.paper import braid_pages, card, finished, ribbons
from strapwork.paper import braid_pictures as picture
from strapwork.say import braiding
from tests.helpers import pages_read

Look = tuple[str, float | None]


def regions(drawing: Drawing) -> list[tuple[Look, Polygon]]:
    """Every visible part of a strand: how it looks (tone and hatch), and its shape."""
    out: list[tuple[Look, Polygon]] = []
    for p, after in itertools.pairwise([*drawing, None]):
        if isinstance(p, Path) and p.role.startswith("tone-") and p.closed:
            hatch = after.angle if isinstance(after, Hatch) else None
            out.append(((p.role, hatch), Polygon([s.start for s in p.segments])))
    return out


def levels(found: Sequence[tuple[Look, Polygon]], n: int) -> list[float]:
    """The heights at which a row ends and the next begins: every strand has a level side there."""
    at: dict[float, set[Look]] = {}
    for look, shape in found:
        for (x0, y0), (x1, y1) in itertools.pairwise(shape.exterior.coords):
            if abs(y0 - y1) < 1e-6 and abs(x0 - x1) > 0.5:
                at.setdefault(round(y0, 4), set()).add(look)
    return sorted((y for y, looks in at.items() if len(looks) == n), reverse=True)


def read_rows(found: Sequence[tuple[Look, Polygon]], n: int) -> list[tuple[int, ...]]:
    """The crossings of each row of a step picture, from what is to be seen of its strands alone."""
    out = []
    for top, bottom in itertools.pairwise(levels(found, n)):
        row = [(look, s) for look, s in found if s.bounds[3] <= top + 1e-4 and s.bounds[1] >= bottom - 1e-4]
        ends = [{look: level_middle(row, look, y) for look in {r[0] for r in row}} for y in (top, bottom)]
        order = sorted(ends[0], key=lambda look: ends[0][look])
        after = sorted(ends[1], key=lambda look: ends[1][look])
        crossing = [(a, b) for a, b in itertools.combinations(order, 2) if after.index(a) > after.index(b)]
        if not crossing:
            continue
        # Whoever crosses most is the one that moves; all others run straight.
        mover = max(order, key=lambda look: sum(look in pair for pair in crossing))
        met = [a if b == mover else b for a, b in crossing]
        met.sort(key=lambda look: abs(order.index(look) - order.index(mover)))
        assert all(mover in pair for pair in crossing), "two strands cross that do not move"
        word = []
        for other in met:
            way = LineString([(ends[0][other], top), (ends[1][other], bottom)])
            over = any(way.intersection(s).length > 0.05 for look, s in row if look == mover)
            broken = way.length - sum(way.intersection(s).length for look, s in row if look == other)
            assert over == (broken > 0.05), "what is over must be whole, what is under must be hidden there"
            i, j = order.index(mover), order.index(other)
            left_over = over if i < j else not over
            word.append((min(i, j) + 1) * (1 if left_over else -1))
            order[i], order[j] = order[j], order[i]
        out.append(tuple(word))
    return out


def level_middle(row: Sequence[tuple[Look, Polygon]], look: Look, y: float) -> float:
    xs = [x for own, s in row if own == look for x, at in s.exterior.coords if abs(at - y) < 1e-4]
    return (min(xs) + max(xs)) / 2.0


def read_tangle(drawing: Drawing, n: int) -> list[int]:
    """The crossings of the cords under a pass, read downwards: where one is broken, the other is over it."""
    whole: list[tuple[float, float, float, float]] = []
    parts: list[tuple[float, float, float, float]] = []
    cords = [p.segments[0] for p in drawing if isinstance(p, Path) and p.role == "stop" and len(p.segments) == 1]
    # The cross in the ring has the same pen; cords begin under the letters.
    letters = min(i.y for i in drawing if isinstance(i, Text) and len(i.text) == 1)
    cords = [c for c in cords if isinstance(c, Line) and max(c.y0, c.y1) < letters]
    rows = sorted({round(max(c.y0, c.y1), 4) for c in cords}, reverse=True)
    for c in cords:
        ends = (c.x0, c.y0, c.x1, c.y1)
        upper = any(abs(c.y0 - y) < 1e-3 for y in rows)
        lower = any(abs(c.y1 - y) < 1e-3 for y in [*rows, min(min(d.y0, d.y1) for d in cords)])
        (whole if upper and lower and c.y0 - c.y1 > 0.9 * _tallest(cords) else parts).append(ends)
    word: list[int] = []
    tops = sorted({round(c[1], 4) for c in whole}, reverse=True)
    for top in tops:
        row = [c for c in whole if abs(c[1] - top) < 1e-3]
        begun = [c for c in parts if abs(c[1] - top) < 1e-3]
        xs = sorted([c[0] for c in row] + [c[0] for c in begun])
        assert len(xs) == n
        for x0, _, x1, _ in sorted(row):
            i = xs.index(x0)
            beside = [c for c in begun if xs.index(c[0]) == i + 1 and c[2] < c[0]]
            before = [c for c in begun if xs.index(c[0]) == i - 1 and c[2] > c[0]]
            if x1 > x0 and beside and x1 > beside[0][2]:
                word.append(i + 1)
            elif before and x1 < x0 and x1 < before[0][2]:
                word.append(-i)
    return word


def _tallest(cords: Sequence[Line]) -> float:
    return max(c.y0 - c.y1 for c in cords)


CASES = [
    (3, plan.standard(3).turns),
    (5, plan.standard(5).turns),
    (7, plan.standard(7).turns),
    (13, plan.standard(13).turns),
    (4, parse_turns("Rooo Luoo Ruuu Louu", 4)),
    (5, parse_turns("Ruo Lou Roo Luu", 5)),
    (4, turns_of_word((1, -2, 3, -1, 2, 2))),
]


@cache
def shown(n: int, turns: tuple[picture.Turn, ...], upto: int) -> Drawing:
    """A step's picture, drawn once for all that look at it."""
    return picture.step_picture(n, turns, upto, None, 60.0, 58.0)


@cache
def strands_of(n: int, turns: tuple[picture.Turn, ...], upto: int) -> list[tuple[Look, Polygon]]:
    return regions(shown(n, turns, upto))


@pytest.mark.parametrize(("n", "turns"), [(n, tuple(turns)) for n, turns in CASES])
def test_every_step_picture_reads_back_as_its_word(n: int, turns: tuple[picture.Turn, ...]) -> None:
    for upto in range(1, len(turns) + 1):
        first = picture.first_shown(n, upto, None)
        assert read_rows(strands_of(n, turns, upto), n) == [t.crossings for t in turns[first:upto]]


@pytest.mark.parametrize(("n", "turns"), [(n, tuple(turns)) for n, turns in CASES])
def test_nothing_in_a_step_picture_is_painted_over(n: int, turns: tuple[picture.Turn, ...]) -> None:
    """What is hidden is not drawn: no two visible parts share any ground, and no white patch covers anything."""
    for upto in range(1, len(turns) + 1):
        drawn = shown(n, turns, upto)
        assert not {p.role for p in drawn if not isinstance(p, Text)} & {"halo", "paper", "ring"}
        tree = STRtree([s for _, s in strands_of(n, turns, upto)])
        for k, (_, shape) in enumerate(strands_of(n, turns, upto)):
            for j in tree.query(shape):
                if j != k:
                    assert shape.intersection(tree.geometries[j]).area < 0.01


@pytest.mark.parametrize(("n", "turns"), [(n, tuple(turns)) for n, turns in CASES])
def test_the_strand_that_moves_has_its_arrow_even_where_it_is_hidden(n: int, turns: tuple[picture.Turn, ...]) -> None:
    order = list(range(1, n + 1))
    for upto, turn in enumerate(turns, start=1):
        drawn = shown(n, turns, upto)
        assert sum(isinstance(p, Path) and p.role == "arrow-fill" for p in drawn) == 1
        shafts = [p for p in drawn if isinstance(p, Path) and p.role == "arrow" and p.segments[0].length > 0.0]
        _, over, order, mover = picture.moves(order, turn)
        under = [o for (m, o), above in over.items() if m == mover and not above]
        # A shaft that is whole is one line; every strand over it leaves dashes.
        assert len(shafts) > 2 * len(under) if under else shafts


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("n", [3, 5])
def test_the_tangle_under_a_pass_hangs_as_the_turns_have_left_it(n: int, left_handed: bool) -> None:
    """The drawn cords are the braid that the proof has there: the two together undo each other."""
    p = plan.for_hand(plan.standard(n), "left" if left_handed else "right")
    for q in p.schedule:
        drawn = picture.step_picture(n, p.turns, q.after_turn, q, 60.0, 110.0, p.schedule)
        word = read_tangle(drawn, n)
        there = passes.below(n, p.turns, p.schedule, before_pass=q)
        assert word
        assert sum(map(len, picture.below(n, p.turns, p.schedule, q))) == len(word)
        assert proof.is_trivial_braid(n, tuple(word) + passes.inverse(there))


@pytest.mark.parametrize("left_handed", [False, True])
def test_the_lowest_picture_of_a_pass_still_shows_the_whole_tangle(left_handed: bool) -> None:
    p = plan.for_hand(plan.standard(3), "left" if left_handed else "right")
    for each in p.schedule:
        drawn = picture.step_picture(3, p.turns, each.after_turn, each, 40.0, braid_pages.LOWEST, p.schedule)
        whole = picture.below(3, p.turns, p.schedule, each)
        assert len(read_tangle(drawn, 3)) == sum(map(len, whole))


@pytest.mark.parametrize("n", [5, 9, 13])
def test_the_tabs_way_does_not_strike_letters_out(n: int) -> None:
    p = plan.standard(n)
    each = p.schedule[0]
    drawn = picture.step_picture(n, p.turns, each.after_turn, each, 90.0, braid_pages.LOWEST, p.schedule)
    way = [
        LineString([s.start, s.end]) for x in drawn if isinstance(x, Path) and x.role == "way-front" for s in x.segments
    ]
    for t in (x for x in drawn if isinstance(x, Text) and x.role == "text-strong"):
        # A capital is 0.72 of its size high; the line of the way is 0.9 mm thick.
        letter = LineString([(t.x, t.y), (t.x, t.y + 0.72 * t.size)])
        assert min(letter.distance(line) for line in way) > style_of("way-front").width / 2.0


@pytest.mark.parametrize("n", [3, 5, 9])
@pytest.mark.parametrize("left_handed", [False, True])
def test_letters_follow_the_strands_and_the_gap_is_open_where_the_tab_goes(n: int, left_handed: bool) -> None:
    p = plan.standard(n)
    p = plan.for_hand(p, "left" if left_handed else "right")
    turns, schedule = p.turns, p.schedule
    order = list(range(1, n + 1))
    for k, t in enumerate(turns, start=1):
        _, _, order, _ = picture.moves(order, t)
        for q in (None, *(s for s in schedule if s.after_turn == k)):
            drawn = picture.step_picture(n, turns, k, q, 60.0, 58.0)
            letters = sorted((i for i in drawn if isinstance(i, Text) and len(i.text) == 1), key=lambda i: i.x)
            assert [i.text for i in letters] == [picture.letter(s) for s in order]
            if q is not None:
                xs = [i.x for i in letters]
                gaps = [b - a for a, b in itertools.pairwise(xs)]
                assert gaps.index(max(gaps)) == q.gap - 1
    if not left_handed:
        assert read_rows(strands_of(n, tuple(turns), 1), n)[0] == p.turns[0].crossings


@pytest.mark.parametrize("n", [3, 5])
def test_the_finished_braid_shows_every_crossing_the_right_way(n: int) -> None:
    p = plan.standard(n)
    strand = 6.0
    form = geometry.from_finished(p.plait, strand, 1.8, 3, 60.0 * n)
    assert form is not None
    drawn = finished.drawing(p.plait, p.turns, form, strand, 60.0 * n)
    shapes = regions(drawn)
    ways, met = finished.lane_ways(n, list(p.turns) * 6)
    straight = {s: finished.straightened(w) for s, w in ways.items()}
    seen = 0
    for (a, b), crossings in met.items():
        for t, (_, over) in zip(finished._meetings(straight[a], straight[b]), crossings, strict=True):
            x = (t - len(p.turns)) * form.pitch
            if not 1.0 < x < 60.0 * n - form.pitch - 1.0:
                continue
            gap = geometry.step_across(p.plait, strand) / math.cos(math.radians(form.angle_deg))
            y = (finished.at(straight[a], t) - (n + 1) / 2) * gap
            here = {look for look, shape in shapes if shape.distance(Point(x, y)) < 0.005}
            top = a if over else b
            assert here == {(f"tone-{picture.tone(top)}", picture.hatch_angle(top))}
            seen += 1
    assert seen > 4 * n
    # Nothing is painted over: the parts share no ground.
    assert sum(s.area for _, s in shapes) == pytest.approx(union_all([s for _, s in shapes]).area, rel=1e-6)
    ys = [y for _, s in shapes for y in (s.bounds[1], s.bounds[3])]
    assert max(ys) - min(ys) == pytest.approx(form.width, rel=0.02)


def test_strands_differ_without_colour() -> None:
    looks = {(picture.tone(s), picture.hatch_angle(s)) for s in range(1, 14)}
    assert len(looks) == 13


def test_the_card_tells_each_turn_and_pass_in_words() -> None:
    frames = braiding.frames(plan.standard(3))
    assert [f.title for f in frames] == [
        "Turn 1",
        "Turn 2",
        "Turn 3",
        "Turn 4",
        "Pass the tab",
        "Turn 5",
        "Turn 6",
        "Pass the tab",
    ]
    assert frames[0].text == "Right strand C over B, to the centre."
    # After four turns the strands lie B, C, A.
    assert frames[4].text == "Tab through between C and A (round the right-hand strand), from the front to the back."
    back = passes.TabPass(4, 1, "back")
    assert braiding.tab_pass(back, 3) == "after turn 4 round the left-hand strand, from the back to the front"
    assert [braiding.sets(k) for k in (1, 2, 3)] == ["1 set", "2 sets", "3 sets"]
    # Every pass shows what is below before it as well as after it.
    assert [f.state for f in frames] == [
        *["Below: crossed; leave it."] * 4,
        "Then below: crossed and twisted; leave it.",
        *["Below: crossed and twisted; leave it."] * 2,
        "Then below: strands hang free.",
    ]
    assert "left strand" in braiding.frames(plan.for_hand(plan.standard(3), "left"))[0].text.lower()
    mixed = braiding.frames(plan.decide(5, parse_turns("Rou Luo", 5)))
    assert mixed == []  # a braid that cannot be worked has no pictures


def test_a_turn_that_does_not_end_in_the_middle_says_where_it_ends() -> None:
    """Four strands have two places in the middle, the second and the third; five have one, the third."""

    def told(n: int, turns: str, then: Sequence[int] = ()) -> list[str]:
        worked = plan.decide(n, (*parse_turns(turns, n), *turns_of_word(then)))
        return [f.text for f in braiding.frames(worked) if f.tab_pass is None]

    assert told(4, "Rooo Luoo Ruuu Louu")[:2] == [
        "Right strand D over C, B, A, to place 1.",
        "Left strand D under A, over B and C, to place 4.",
    ]
    assert told(4, "Ro", (3,)) == ["Right strand D over C, to the centre.", "Strand D over C, to place 4."]
    assert told(4, "Roo", (2, 3))[0] == "Right strand D over C and B, to the centre."
    assert told(4, "Lu", (1,))[0] == "Left strand A under B, to the centre."
    assert told(5, "Ro Ru") == ["Right strand E over D, to place 4.", "Right strand D under E, to place 4."]


def test_a_braid_that_needs_no_pass_is_told_nothing_of_passes() -> None:
    free = plan.from_turns(3, "Ro Ru", "here")
    assert free.schedule == ()
    assert "ring with a cross" not in " ".join(braiding.how_to_read(free))
    assert "ring with a cross" in " ".join(braiding.how_to_read(plan.standard(3)))
    assert braiding.pass_sentences(free) == "No tab pass is needed."


@pytest.mark.parametrize(
    ("n", "paper"), [(3, (210.0, 297.0)), (5, (215.9, 279.4)), (13, (210.0, 297.0)), (13, (215.9, 279.4))]
)
def test_cards_fit_their_paper_and_read_the_same_in_pdf_and_svg(n: int, paper: tuple[float, float]) -> None:
    sheets = card.braid_card(plan.standard(n), paper, "braid ")
    assert sheets[0].width == paper[0]
    rec = Recorder()
    for s in sheets:
        replay(s, rec)
        for item in rec.sheets[-1]:
            if isinstance(item, Text):
                assert 5 < item.y < s.height
                assert 0 < item.x < s.width
    text = " ".join(pages_read(pdf.write(sheets, "t")))
    drawn = " ".join(svg.write(sheets, "t"))
    for k in (1, n, 2 * n):
        assert f"Turn {k}" in text
        assert f"Turn {k}<" in drawn


# -- what a hand reads off a picture besides over and under -------------------------


def letters_of(drawing: Drawing) -> list[Text]:
    return sorted((t for t in drawing if isinstance(t, Text) and len(t.text) == 1), key=lambda t: t.x)


def box_of(t: Text) -> Polygon:
    """The ground of a line of capitals: they are 0.72 of their size high."""
    wide = fonts.text_width(t.text, t.size, t.role == "text-strong")
    x = t.x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[t.anchor]
    return box(x, t.y, x + wide, t.y + 0.72 * t.size)


def hatched(drawing: Drawing) -> list[Polygon]:
    return [Polygon([s.start for s in p.region]) for p in drawing if isinstance(p, Hatch)]


@cache
def passing(n: int, which: int, width: float = 60.0, height: float = 58.0, hand: str = "right") -> Drawing:
    """The picture of a pass of the standard braid."""
    p = plan.for_hand(plan.standard(n), hand)
    q = p.schedule[which]
    return picture.step_picture(n, p.turns, q.after_turn, q, width, height, p.schedule)


@pytest.mark.parametrize("n", [3, 5])
def test_each_letter_stands_on_its_own_strand_where_no_hatch_runs_through_it(n: int) -> None:
    """Of pictures as wide as the card has them, for few strands and for many."""
    wide = 44.75 if n == 3 else 60.0
    for drawn in (
        picture.step_picture(n, plan.standard(n).turns, n, None, wide, 58.0),
        passing(n, 0, wide),
        passing(n, 1, wide),
    ):
        looks = {picture.letter(s): (f"tone-{picture.tone(s)}", picture.hatch_angle(s)) for s in range(1, n + 1)}
        ground = {look: union_all([s for own, s in regions(drawn) if own == look]) for look in looks.values()}
        bare = {look: union_all([s for own, s in untold(drawn) if own == look[0]]) for look in looks.values()}
        assert len(letters_of(drawn)) == n
        for t in letters_of(drawn):
            here = box_of(t)
            assert ground[looks[t.text]].union(bare[looks[t.text]]).buffer(1e-6).covers(here), t.text
            assert not any(h.intersects(here) for h in hatched(drawn)), t.text
            # Over and under it the strand is hatched all across.
            (own,) = (s for _, s in untold(drawn) if s.covers(here))
            free = own.area - sum(own.intersection(h).area for h in hatched(drawn))
            across = own.bounds[2] - own.bounds[0]
            assert t.text == "A" or free <= 1.5 * t.size * across + 1e-6


def untold(drawing: Drawing) -> list[tuple[str, Polygon]]:
    """Parts of strands by their tone alone."""
    return [
        (p.role, Polygon([s.start for s in p.segments]))
        for p in drawing
        if isinstance(p, Path) and p.role.startswith("tone-")
    ]


@pytest.mark.parametrize("n", [3, 4, 7])
def test_a_picture_shows_two_turns_before_its_own_and_counts_those_above(n: int) -> None:
    """One before it from seven strands on, where rows are high; a pass shows as many turns without one of its own."""
    turns = tuple(plan.standard(n).turns) if n != 4 else parse_turns("Rooo Luoo Ruuu Louu", 4)
    before = 1 if n == 7 else 2
    for upto in (1, 2, 3, 4, len(turns)):
        found = read_rows(strands_of(n, tuple(turns), upto), n)
        assert len(found) == min(upto, before + 1)
        assert found[-1] == turns[upto - 1].crossings
        above = upto - len(found)
        words = [t.text for t in shown(n, tuple(turns), upto) if isinstance(t, Text) and len(t.text) > 1]
        assert words == [
            "plain end" if not above else "1 turn above" if above == 1 else f"{above} turns above",
            "tab",
        ]
    if n == 3:
        assert "2 turns above" in [t.text for t in passing(3, 0) if isinstance(t, Text)]  # two of four are drawn


@pytest.mark.parametrize("n", [3, 5, 13])
def test_a_picture_stands_in_the_middle_of_its_place_and_within_it(n: int) -> None:
    p = plan.standard(n)
    turn = picture.step_picture(n, p.turns, 1, None, 60.0, 58.0)
    for drawn in (turn, passing(n, 0), passing(n, 1)):
        x0, y0, x1, y1 = extent(drawn)
        assert (y0, y1) == pytest.approx((1.0, 58.0))
        assert 0.0 <= x0 < x1 <= 60.0
        for part in (Polygon([s.start for s in p.segments]) for p in drawn if isinstance(p, Path) and p.role == "tab"):
            assert part.centroid.x == pytest.approx(30.0)
            (named,) = (box_of(t) for t in drawn if isinstance(t, Text) and len(t.text) > 1 and part.covers(box_of(t)))
            assert named.centroid.x == pytest.approx(30.0, abs=0.1)
    assert sum(t.x for t in letters_of(turn)) / n == pytest.approx(30.0)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("n", [3, 5])
def test_the_tab_goes_round_the_nearer_edge_through_a_ring_in_the_gap(n: int, hand: str) -> None:
    """The way is one line from the tab's side to the ring; a ring with a cross is entered, one with a dot comes out at the eye."""
    for q in plan.for_hand(plan.standard(n), hand).schedule:
        for face in ("front", "back"):
            each = passes.TabPass(q.after_turn, q.gap, face)
            p = plan.for_hand(plan.standard(n), hand)
            drawn = picture.step_picture(n, p.turns, q.after_turn, each, 60.0, 58.0)
            go, come = ("way-front", "way-back") if face == "front" else ("way-back", "way-front")
            (up,) = (x for x in drawn if isinstance(x, Path) and x.role == go)
            (down,) = (x for x in drawn if isinstance(x, Path) and x.role == come)
            for a, b in itertools.pairwise(up.segments):
                assert math.dist(a.end, b.start) < 1e-9
            (ring,) = (x for x in drawn if isinstance(x, Disc) and x.role == "stop")
            xs = [t.x for t in letters_of(drawn)]
            assert ring.cx == pytest.approx((xs[q.gap - 1] + xs[q.gap]) / 2.0)
            foot = [Polygon([s.start for s in x.segments]) for x in drawn if isinstance(x, Path) and x.role == "tab"][1]
            begin, end = up.segments[0].start, up.segments[-1].end
            right = q.gap > n / 2.0
            assert begin[0] == pytest.approx(foot.bounds[2] if right else foot.bounds[0])
            assert foot.bounds[1] < begin[1] < foot.bounds[3]
            assert (end[0] > ring.cx + ring.r) == right
            assert end[1] == pytest.approx(ring.cy)
            # It swings clear of the strands and of the tab.
            far = max(abs(s.start[0] - 30.0) for s in up.segments)
            parts = [b for _, s in untold(drawn) for b in (s.bounds[0], s.bounds[2])] + [foot.bounds[0], foot.bounds[2]]
            assert far > max(abs(x - 30.0) for x in (max(parts) if right else min(parts),)) + 1.0
            heads = [
                Polygon([s.start for s in x.segments])
                for x in drawn
                if isinstance(x, Path) and x.role == "arrow-fill" and len(x.segments) == 3
            ]
            assert min(h.distance(Point(ring.cx + (ring.r if right else -ring.r), ring.cy)) for h in heads) < 1e-6
            crosses = [
                x.segments[0]
                for x in drawn
                if isinstance(x, Path)
                and x.role == "stop"
                and Point(ring.cx, ring.cy).buffer(ring.r).covers(Point(x.segments[0].start))
            ]
            dots = [x for x in drawn if isinstance(x, Disc) and x.role == "arrow-fill" and math.dist((x.cx, x.cy), (ring.cx, ring.cy)) < 1e-9]  # fmt: skip
            if face == "front":
                assert len(crosses) == 2
                assert not dots
                for s in crosses:
                    assert (s.start[0] + s.end[0]) / 2.0 == pytest.approx(ring.cx)
                    assert (s.start[1] + s.end[1]) / 2.0 == pytest.approx(ring.cy)
                    assert s.length > 1.2 * ring.r
                a, b = (math.degrees(math.atan2(s.end[1] - s.start[1], s.end[0] - s.start[0])) for s in crosses)
                assert abs(a - b) % 180.0 == pytest.approx(90.0)
            else:
                assert len(dots) == 1
                assert not crosses
            # Out of the ring it goes straight down among the strands.
            (s,) = down.segments
            assert s.start == pytest.approx((ring.cx, ring.cy - ring.r))
            assert s.end[0] == ring.cx
            assert s.end[1] > foot.bounds[3]


@st.composite
def rows_of_work(draw: st.DrawFn) -> tuple[ribbons.Lanes, Move, float, float]:
    gap = draw(st.floats(3.0, 11.0))
    start = draw(st.integers(1, 8))
    move = Move(1, float(start), float(draw(st.integers(1, 8))))
    bottom = draw(st.floats(5.0, 30.0))
    return ribbons.Lanes(draw(st.floats(3.0, 30.0)), gap, 0.8 * gap), move, bottom + draw(st.floats(4.0, 15.0)), bottom


@settings(max_examples=30)
@given(rows_of_work())
def test_a_strand_stays_in_its_row_and_its_arrow_in_the_strand(
    case: tuple[ribbons.Lanes, Move, float, float],
) -> None:
    lanes, move, top, bottom = case
    corners = ribbons.ribbon(lanes, move, top, bottom)
    shape = Polygon(corners)
    half = lanes.width / 2.0
    a, b = (lanes.x + (place - 1.0) * lanes.gap for place in (move.start, move.end))
    assert shape.is_valid
    assert shape.bounds == pytest.approx((min(a, b) - half, bottom, max(a, b) + half, top))
    for x, y in ((a, top), (b, bottom)):
        assert sorted(u for u, v in corners if abs(v - y) < 1e-9) == pytest.approx([x - half, x + half])
    assert shape.buffer(1e-6).covers(LineString(ribbons.middle_line(lanes, move, top, bottom)))
    if abs(a - b) <= lanes.gap + 1e-9:
        assert len(corners) == 4  # to the next place it runs straight
        return
    sides = [
        (p, q) for p, q in itertools.pairwise([*corners, corners[0]]) if abs(p[0] - q[0]) > 1e-6 < abs(p[1] - q[1])
    ]
    (p, q), (u, _) = sides
    across = LineString([p, q]).length
    wide = abs((q[0] - p[0]) * (u[1] - p[1]) - (q[1] - p[1]) * (u[0] - p[0])) / across
    # It keeps its width but where its row is too low for that: then it looks narrower.
    assert wide <= lanes.width * 1.15
    if top - bottom >= 2.0 * lanes.width:
        assert wide >= 0.95 * lanes.width


@pytest.mark.parametrize(("n", "turns"), [(n, tuple(turns)) for n, turns in CASES])
def test_the_arrow_points_where_the_strand_goes(n: int, turns: tuple[picture.Turn, ...]) -> None:
    order = list(range(1, n + 1))
    for upto, turn in enumerate(turns[:4], start=1):
        drawn = shown(n, turns, upto)
        now = picture.moves(order, turn)[2]
        mover = picture.moves(order, turn)[3]
        xs = [t.x for t in letters_of(drawn)]
        begin, end = xs[order.index(mover)], xs[now.index(mover)]
        top, bottom = levels(strands_of(n, turns, upto), n)[-3:-1]
        (head,) = (p for p in drawn if isinstance(p, Path) and p.role == "arrow-fill")
        tip = head.segments[0].start
        back = [(s.start[0] + s.end[0]) / 2.0 for s in head.segments if tip not in (s.start, s.end)]
        # It is in the strand where that ends, no wider than it, and can be seen.
        width = xs[1] - xs[0]
        assert abs(tip[0] - end) < 0.5 * width
        assert bottom < tip[1] < (top + bottom) / 2.0
        assert (tip[0] - back[0]) * (end - begin) > 0.0
        size = Polygon([s.start for s in head.segments]).area
        assert 0.4 < size < 4.5
        shaft = [
            p.segments[0]
            for p in drawn
            if isinstance(p, Path) and p.role == "arrow" and len(p.segments) == 1 and p.segments[0].end[1] >= bottom
        ]
        spot = Polygon([s.start for s in head.segments]).buffer(0.05)
        assert any(spot.covers(Point(s.end)) for s in shaft)
        order = now


@pytest.mark.parametrize("n", [3, 5])
def test_a_strand_breaks_off_close_to_the_one_over_it_but_not_against_it(n: int) -> None:
    """More than the 0.3 mm of a line, so that they are seen apart; less than 0.9 mm, so that the eye carries it on."""
    turns = plan.standard(n).turns
    order = list(range(1, n + 1))
    found = strands_of(n, tuple(turns), 1)
    crossed = picture.moves(order, turns[0])[1]
    for (a, b), over in crossed.items():
        if over:
            one, other = (
                union_all([s for look, s in found if look == (f"tone-{picture.tone(k)}", picture.hatch_angle(k))])
                for k in (a, b)
            )
            assert 0.3 < one.distance(other) < 0.9


words_of_crossings = st.lists(st.integers(1, 5).flatmap(lambda i: st.sampled_from([i, -i])), max_size=14)


@settings(max_examples=30)
@given(words_of_crossings)
def test_a_tangle_in_rows_has_every_crossing_in_its_turn_and_as_high_as_it_goes(word: list[int]) -> None:
    rows = picture.layers(word)
    for row in rows:
        taken = [lane for c in row for lane in (abs(c), abs(c) + 1)]
        assert len(taken) == len(set(taken))
    for upper, row in itertools.pairwise(rows):
        assert all(any(abs(abs(c) - abs(o)) <= 1 for o in upper) for c in row)
    for lane in range(1, 7):
        touching = [c for c in word if lane in (abs(c), abs(c) + 1)]
        assert [c for row in rows for c in row if lane in (abs(c), abs(c) + 1)] == touching


# -- the finished braid --------------------------------------------------------------


@cache
def finished_braid(n: int, strand: float, turns: tuple[picture.Turn, ...] = ()) -> tuple[geometry.BraidForm, Drawing]:
    """A braid drawn at true scale for strands of some width, its other measures in proportion."""
    turns = turns or tuple(plan.standard(n).turns)
    plait = geometry.plait_of(n, turns)
    form = geometry.from_finished(plait, strand, 0.3 * strand, 3, 10.0 * strand * n)
    assert form is not None
    return form, finished.drawing(plait, turns, form, strand, form.set_length)


@pytest.mark.parametrize("n", [3, 5])
def test_a_braid_of_fine_strands_looks_as_one_of_wide_strands_does(n: int) -> None:
    """Everything in proportion: the picture is the same, a tenth of its size."""
    fine, wide = (finished_braid(n, strand)[1] for strand in (0.6, 6.0))
    assert [p.role for p in fine] == [p.role for p in wide]
    assert all(s.area > 1e-6 for _, s in regions(fine))  # and nothing is drawn that is not there to see
    for a, b in zip(fine, wide, strict=True):
        if isinstance(a, Path) and isinstance(b, Path):
            assert [10.0 * v for s in a.segments for v in (*s.start, *s.end)] == pytest.approx(
                [v for s in b.segments for v in (*s.start, *s.end)], abs=1e-6
            )


def test_every_side_of_a_strand_that_is_seen_has_its_line_and_no_other() -> None:
    """Round the visible parts there are lines, but where a strand is only cut into parts that lie side by side."""
    _, drawn = finished_braid(5, 6.0, tuple(parse_turns("Ro Loou", 5)))
    lines = union_all([LineString([s.start, s.end]) for p in drawn if isinstance(p, Path) and p.role == "edge" for s in p.segments])  # fmt: skip
    whole: dict[Look, list[Polygon]] = {}
    for look, shape in regions(drawn):
        whole.setdefault(look, []).append(shape.buffer(1e-6))
    rims = []
    for parts in whole.values():
        seen = union_all(parts)
        for rim in (r for g in getattr(seen, "geoms", [seen]) for r in (g.exterior, *g.interiors)):
            for a, b in itertools.pairwise(rim.coords):
                if abs(a[0] - b[0]) > 0.01:
                    rims.append(LineString([a, b]))
                    assert lines.buffer(0.01).covers(rims[-1])
    assert union_all(rims).buffer(0.01).covers(lines)
