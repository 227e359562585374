"""The pictures say what the mathematics says: over and under are read back out of the drawings."""

from __future__ import annotations

import io
import itertools
from collections.abc import Sequence

import pytest
from pypdf import PdfReader
from shapely import Point, Polygon

from strapwork.braid import geometry, plan
from strapwork.braid.word import parse_turns, turns_of_word
from strapwork.drawing import pdf, svg
from strapwork.drawing.pen import Recorder, replay
from strapwork.drawing.primitives import Drawing, Path, Text
from strapwork.paper import braid_pictures as picture
from strapwork.paper import card, finished
from strapwork.say import braiding


def pieces(drawing: Drawing) -> list[tuple[int, list[tuple[float, float]]]]:
    """(when painted, corners) of every ribbon piece."""
    return [
        (k, [s.start for s in p.segments])
        for k, p in enumerate(drawing)
        if isinstance(p, Path) and p.role.startswith("tone-") and p.closed
    ]


def read_rows(drawing: Drawing) -> list[tuple[int, ...]]:
    """The crossings of each row of a step picture, from its ribbon pieces alone."""
    rows: dict[tuple[float, float], list[tuple[int, float, float]]] = {}
    for k, quad in pieces(drawing):
        (x0, y0), (x1, _), (x2, y2), (x3, _) = quad
        rows.setdefault((round(y0, 4), round(y2, 4)), []).append((k, (x0 + x1) / 2, (x2 + x3) / 2))
    out = []
    for (_, _), row in sorted(rows.items(), reverse=True):
        row.sort(key=lambda r: r[1])
        events = []
        for i, a in enumerate(row):
            for b in row[i + 1 :]:
                if a[2] > b[2]:  # a starts left of b and ends right of it
                    down = (b[1] - a[1]) / ((b[1] - a[1]) + (a[2] - b[2]))
                    events.append((down, a, b))
        order = [r[0] for r in row]
        word = []
        for _, a, b in sorted(events):
            i = order.index(a[0])
            assert order[i + 1] == b[0], "two strands cross that do not lie side by side"
            word.append(i + 1 if a[0] > b[0] else -(i + 1))
            order[i], order[i + 1] = order[i + 1], order[i]
        if word:
            out.append(tuple(word))
    return out


CASES = [
    (3, plan.standard(3).turns),
    (5, plan.standard(5).turns),
    (7, plan.standard(7).turns),
    (13, plan.standard(13).turns),
    (4, parse_turns("Rooo Luoo Ruuu Louu", 4)),
    (5, parse_turns("Ruo Lou Roo Luu", 5)),
    (4, turns_of_word((1, -2, 3, -1, 2, 2))),
]


@pytest.mark.parametrize(("n", "turns"), CASES)
def test_every_step_picture_reads_back_as_its_word(n: int, turns: Sequence[picture.Turn]) -> None:
    for upto in range(1, len(turns) + 1):
        drawn = picture.step_picture(n, turns, upto, None, 60.0, 58.0)
        first = max(0, upto - 1 - picture.SHOWN_BEFORE)
        assert read_rows(drawn) == [t.crossings for t in turns[first:upto]]


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
        assert read_rows(picture.step_picture(n, turns, 1, None, 60.0, 58.0))[0] == p.turns[0].crossings


@pytest.mark.parametrize("n", [3, 5])
def test_the_finished_braid_shows_every_crossing_the_right_way(n: int) -> None:
    p = plan.standard(n)
    strand = 6.0
    form = geometry.from_finished(p.plait, strand, 1.8, 3, 60.0 * n)
    assert form is not None
    drawn = finished.drawing(p.plait, p.turns, form, strand, 60.0 * n)
    shapes = [
        (k, q.role, Polygon([s.start for s in q.segments]))
        for k, q in enumerate(drawn)
        if isinstance(q, Path) and q.closed
    ]
    ways, met = finished.lane_ways(n, list(p.turns) * 6)
    straight = {s: finished.straightened(w) for s, w in ways.items()}
    seen = 0
    for (a, b), crossings in met.items():
        for t, (_, over) in zip(finished._meetings(straight[a], straight[b]), crossings, strict=True):
            x = (t - len(p.turns)) * form.pitch
            if not 1.0 < x < 60.0 * n - form.pitch - 1.0:
                continue
            gap = geometry.step_across(p.plait, strand) / __import__("math").cos(
                __import__("math").radians(form.angle_deg)
            )
            y = (finished.at(straight[a], t) - (n + 1) / 2) * gap
            tops = {
                s: max(
                    k
                    for k, role, shape in shapes
                    if role == f"tone-{picture.tone(s)}" and shape.distance(Point(x, y)) < 0.01
                )
                for s in (a, b)
            }
            assert (tops[a] > tops[b]) == over
            seen += 1
    assert seen > 4 * n
    ys = [y for k, _, s in shapes for y in (s.bounds[1], s.bounds[3])]
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
    assert "round the right-hand strand" in frames[4].text
    assert frames[-1].state == "Below: strands hang free."
    assert "left strand" in braiding.frames(plan.for_hand(plan.standard(3), "left"))[0].text.lower()
    mixed = braiding.frames(plan.decide(5, parse_turns("Rou Luo", 5)))
    assert mixed == []  # a braid that cannot be worked has no pictures


@pytest.mark.parametrize("paper", [(210.0, 297.0), (215.9, 279.4)])
@pytest.mark.parametrize("n", [3, 5, 13])
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
    text = " ".join(p.extract_text() for p in PdfReader(io.BytesIO(pdf.write(sheets, "t"))).pages)
    drawn = " ".join(svg.write(sheets, "t"))
    for k in (1, n, 2 * n):
        assert f"Turn {k}" in text
        assert f"Turn {k}<" in drawn
