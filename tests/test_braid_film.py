"""The moving pictures at the bench, taken apart as a browser draws them and held against the word of the braid, the still
pictures and what is said of a tangle, all of which are worked out elsewhere."""

from __future__ import annotations

import itertools
import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import pytest
from shapely import Point, Polygon

from strapwork.braid import plan as plans
from strapwork.braid.looks import Look, layers, look
from strapwork.braid.moves import moves
from strapwork.braid.word import crossings, letter, positions_after
from strapwork.paper.braid_pictures import LEAST_TURN
from strapwork.paper.ribbons import AIR, hatch_angle, tone
from strapwork.say import braiding, tangles
from strapwork.web import braid_page
from tests.conftest import watched_page

pytestmark = pytest.mark.browser

BRAIDS = ((3, "right", "under"), (7, "left", "over"))
TIMES = [k / 10 for k in range(11)]

# Draws each picture asked for at each of its times, and says what then stands in it, in the order in which it is painted.
READ = """([data, asked]) => JSON.stringify(asked.map(([frame, times]) => {
  const svg = document.querySelector('#player .film'), numbers = (e, ...names) => names.map(name => Number(e.getAttribute(name)));
  let draw = () => {};
  if (frame.below) draw = Film.of(svg, data, frame); else Film.below(svg, frame.order.length, frame, 'work');
  return times.map(t => { draw(t); return { box: svg.getAttribute('viewBox'), marks: [...svg.querySelectorAll('polygon, polyline, line, rect, circle, text')].map(e => {
    const fill = e.getAttribute('fill'), hatch = fill && document.querySelector(fill.slice(4, -1)), moved = e.closest('[transform]');
    const at = { line: ['x1', 'y1', 'x2', 'y2'], rect: ['x', 'y', 'width', 'height'], circle: ['cx', 'cy', 'r'], text: ['x', 'y'] }[e.tagName];
    return { tag: e.tagName, role: e.getAttribute('class'), text: e.textContent, at: at ? numbers(e, ...at) : e.getAttribute('points').trim().split(/[ ,]+/).filter(Boolean).map(Number),
      hatch: hatch && -Number(hatch.getAttribute('patternTransform').slice(7, -1)), by: moved && moved.getAttribute('transform').match(/[-\\d.]+/g).map(Number),
      dashed: e.tagName === 'polyline' && getComputedStyle(e).strokeDasharray !== 'none' }; }) }; });
}))"""

Spot = tuple[float, float]


@dataclass(frozen=True)
class Ribbon:
    """One length of a strand: its corners from the upper left on clockwise, and its place in the order of painting."""

    strand: int
    corners: tuple[Spot, Spot, Spot, Spot]
    painted: int
    edges: tuple[str, ...]
    rim: tuple[Spot, ...]

    @property
    def top(self) -> float:
        return self.corners[0][1]

    @property
    def foot(self) -> float:
        return self.corners[2][1]

    @property
    def head_x(self) -> float:
        return (self.corners[0][0] + self.corners[1][0]) / 2.0

    @property
    def foot_x(self) -> float:
        return (self.corners[2][0] + self.corners[3][0]) / 2.0


@dataclass(frozen=True)
class Drawn:
    """One picture at one time."""

    box: str
    marks: list[dict[str, Any]]

    def of(self, role: str) -> list[dict[str, Any]]:
        return [m for m in self.marks if m["role"] == role]

    @cached_property
    def ribbons(self) -> list[Ribbon]:
        """Each strand known by its tone and its hatch, as on the card."""
        looks = {(tone(s), hatch_angle(s)): s for s in range(1, 26)}
        out = []
        for k, m in enumerate(self.marks):
            if m["tag"] != "polygon" or not (m["role"] or "").startswith("tone-") or len(m["at"]) != 8:
                continue
            rest = self.marks[k + 1 :]
            hatched = rest[0]["tag"] == "polygon" and rest[0]["role"] is None and rest[0]["hatch"] is not None
            if hatched:
                assert rest[0]["at"] == m["at"]
            a, b, c, d = spots(m)
            edges = rest[hatched : hatched + 2]
            assert [spots(e) for e in edges] == [(a, d), (b, c)]  # both sides, from end to end
            before = self.marks[k - 1]
            rim = spots(before) if before["role"] == "halo" else ()
            strand = looks[int(m["role"][5:]), float(rest[0]["hatch"]) if hatched else None]
            out.append(Ribbon(strand, (a, b, c, d), k, tuple(e["role"] for e in edges), rim))
        return out

    @cached_property
    def rows(self) -> list[list[Ribbon]]:
        """Ribbons of one height, from the top down; the last hang to the tab."""
        tops = sorted({r.top for r in self.ribbons})
        return [[r for r in self.ribbons if r.top == top] for top in tops]

    @cached_property
    def letters(self) -> dict[str, float]:
        """Where each letter stands, from the left."""
        found = {m["text"]: m["at"][0] for m in self.of("letter")}
        return dict(sorted(found.items(), key=lambda one: one[1]))

    @cached_property
    def boxes(self) -> list[tuple[str, float, float, float, float]]:
        """Plain end and tab: the words in them, left, top, right, foot."""
        out = []
        for m, words in itertools.pairwise(self.marks):
            if m["role"] == "tab":
                x, y, wide, high = m["at"]
                out.append((words["text"], x, y, x + wide, y + high))
                assert words["role"] == "said"
                assert words["at"][0] == pytest.approx((x + x + wide) / 2.0)
                # Capitals are 0.72 of a size high: so they stand in the middle, as those of the still pictures.
                assert words["at"][1] == pytest.approx(y + high / 2.0 + 0.36 * 3.175, abs=0.1)
        return out


def spots(mark: dict[str, Any]) -> tuple[Spot, ...]:
    return tuple(zip(mark["at"][::2], mark["at"][1::2], strict=False))


def corners(mark: dict[str, Any]) -> tuple[Spot, ...]:
    """What a mark reaches to; of a circle and a word its middle."""
    if mark["tag"] == "rect":
        x, y, wide, high = mark["at"]
        return (x, y), (x + wide, y + high)
    return spots(mark)[:1] if mark["tag"] == "circle" else spots(mark)


@dataclass(frozen=True)
class Film:
    """One step of a braid: its still picture, what is drawn at each time, and how the strands hang below."""

    plan: plans.Plan
    step: braiding.Frame
    still: ET.Element
    at: dict[float, Drawn]
    seen: Look
    hang: Drawn

    @property
    def order(self) -> list[int]:
        """Which strand lies where when the step begins, by the word."""
        made = self.step.turn - (self.step.tab_pass is None)
        return list(positions_after(self.plan.strands, crossings(self.plan.turns[:made])))


# More crossings than can be told apart: thirty rows of two.
LONG = {"order": [1, 2, 3, 4, 5], "crossings": [1, 3, -2, -4] * 15, "twisted": [0, 0, 1, 0, 0]}


@pytest.fixture(scope="module")
def drawn(browser: Any, server: str) -> tuple[list[Film], Drawn]:
    """Every step of two braids, one of few strands and one of so many that tones come twice; and a long tangle."""
    films = []
    with watched_page(browser, reduced_motion="reduce") as page:
        page.goto(f"{server}/braid?strands=3")
        for strands, hand, weave in BRAIDS:
            plan = plans.for_hand(plans.standard(strands, weave), hand)  # type: ignore[arg-type]
            stills, data = braid_page._steps(strands, hand, weave)
            frames = data["frames"]
            asked = [(f, TIMES if f["pass"] else TIMES[::5]) for f in frames] + [(f["below"], [1]) for f in frames]
            found = json.loads(page.evaluate(READ, [data, asked]))
            pictures = [
                {t: Drawn(**one) for t, one in zip(times, seen, strict=True)}
                for (_, times), seen in zip(asked, found, strict=True)
            ]
            for k, step in enumerate(braiding.frames(plan)):
                made = [p for p in plan.schedule if p.after_turn < step.turn or p is step.tab_pass]
                seen = look(strands, plan.turns[: step.turn], made)
                still = ET.fromstring(re.sub(r' xmlns(:\w+)?="[^"]*"', "", stills[k]["svg"]))
                films.append(Film(plan, step, still, pictures[k], seen, pictures[len(frames) + k][1]))
        (long,) = json.loads(page.evaluate(READ, [data, [[LONG, [1]]]]))
        assert page.evaluate("new Set([...document.querySelectorAll('[id]')].map(e => e.id)).size") == page.evaluate(
            "document.querySelectorAll('[id]').length"
        )  # a hatch is found by its name
    return films, Drawn(**long[0])


def turns_of(drawn: tuple[list[Film], Drawn]) -> list[Film]:
    return [f for f in drawn[0] if f.step.tab_pass is None]


def passes_of(drawn: tuple[list[Film], Drawn]) -> list[Film]:
    return [f for f in drawn[0] if f.step.tab_pass]


def on_top(ribbons: Sequence[Ribbon], a: int, b: int) -> int:
    """Which of two strands of a row is painted last where their middle lines meet."""
    one, other = (next(r for r in ribbons if r.strand == s) for s in (a, b))
    gap = one.head_x - other.head_x
    part = gap / (gap - (one.foot_x - other.foot_x))
    assert 0.0 < part < 1.0
    spot = Point(one.head_x + (one.foot_x - one.head_x) * part, one.top + (one.foot - one.top) * part)
    last = [r for r in sorted(ribbons, key=lambda r: r.painted) if Polygon(r.corners).covers(spot)][-1]
    # Air to either side of what goes over, so that over and under cannot be mistaken.
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = last.corners
    assert last.rim == tuple(
        (pytest.approx(x), y) for x, y in ((x0 - AIR, y0), (x1 + AIR, y1), (x2 + AIR, y2), (x3 - AIR, y3))
    )
    return last.strand


def test_a_film_shows_who_goes_over_whom_as_the_word_has_it(drawn: tuple[list[Film], Drawn]) -> None:
    """Each row is read back: the strand painted last where two cross is the one over.  What is left out is said."""
    for f in drawn[0]:
        turn = f.step.turn
        (cap, *_), (tab, *_) = f.at[1].boxes
        above = 0 if cap == "plain end" else int(cap.split()[0])
        assert cap in ("plain end", f"{above} turn above", f"{above} turns above")
        assert (above == 1) == (cap == "1 turn above")
        assert tab == "tab"
        rows = f.at[1].rows[: turn - above]
        assert min(turn, 2) <= len(rows) <= 3
        order = list(positions_after(f.plan.strands, crossings(f.plan.turns[:above])))
        for row, worked in zip(rows, f.plan.turns[above:turn], strict=True):
            _, over, now, _ = moves(order, worked)
            assert [r.strand for r in sorted(row, key=lambda r: r.head_x)] == order
            assert [r.strand for r in sorted(row, key=lambda r: r.foot_x)] == now
            for a, b in over:
                assert on_top(row, a, b) == (a if over[a, b] else b), (worked, a, b)
            order = now


def test_strands_run_whole_from_the_plain_end_to_the_tab_all_through_a_film(drawn: tuple[list[Film], Drawn]) -> None:
    for f in drawn[0]:
        n = f.plan.strands
        for picture in (*f.at.values(), f.hang):
            (_, left, _, right, cap), (_, left_tab, tab, right_tab, _) = picture.boxes[:: len(picture.boxes) - 1]
            assert picture.box == f.still.get("viewBox")
            middle = float(picture.box.split()[2]) / 2.0
            assert (left + right) / 2.0 == pytest.approx(middle)
            assert (left_tab + right_tab) / 2.0 == pytest.approx(middle)
            wide = (right - left) / n
            for s in range(1, n + 1):
                own = sorted((r for r in picture.ribbons if r.strand == s), key=lambda r: r.top)
                if picture is f.hang and f.seen.twisted[s - 1]:
                    continue  # of a twisted strand a part is drawn as half turns
                assert own[0].top == cap
                assert own[-1].foot == tab
                for one, following in itertools.pairwise(own):
                    assert one.corners[3] == following.corners[0]
                    assert one.corners[2] == following.corners[1]
                for r in own:
                    assert r.corners[1][0] - r.corners[0][0] == pytest.approx(0.82 * wide, abs=0.02)  # air between two
                    assert r.corners[2][0] - r.corners[3][0] == pytest.approx(0.82 * wide, abs=0.02)
            spread = [(x + dx, y + dy) for m in picture.marks for dx, dy in [m["by"] or (0, 0)] for x, y in corners(m)]
            _, _, wide_box, high_box = map(float, picture.box.split())
            assert all(0.0 <= x <= wide_box and 0.0 <= y <= high_box for x, y in spread)
            first = sorted(r.head_x for r in picture.rows[0])
            assert first == pytest.approx([left + (k + 0.5) * wide for k in range(n)], abs=0.01)
            assert [(b[2], b[4]) for b in picture.boxes[:: len(picture.boxes) - 1]] == [
                (b[2], b[4]) for b in f.at[1].boxes
            ]
        # No row is flatter than the still pictures ever have one.
        assert min(row[0].foot - row[0].top for row in f.at[1].rows[:-1]) >= LEAST_TURN


def test_a_film_ends_as_the_still_picture_stands(drawn: tuple[list[Film], Drawn]) -> None:
    """The letters in one order, plain end and tab as high; before it they lie as the turn before left them."""
    for f in drawn[0]:
        still = {str(t.text): float(str(t.get("x"))) for t in f.still.iter("text") if t.get("font-weight")}
        order = "".join(sorted(still, key=lambda name: still[name]))
        assert "".join(f.at[1].letters) == order
        assert "".join(f.at[0].letters) == "".join(letter(s) for s in f.order)
        boxes = [list(map(float, re.findall(r"[\d.]+", str(p.get("d"))))) for p in f.still.iter("path") if p.get("stroke-width") == "0.35"]  # fmt: skip
        heights = sorted((min(b[1::2]), max(b[1::2])) for b in boxes)
        assert [b[2::2] for b in f.at[1].boxes] == [(heights[0][0], heights[0][1]), (pytest.approx(heights[1][0], abs=1.0), heights[1][1])]  # fmt: skip
        for picture in f.at.values():
            hanging = {letter(r.strand): r for r in picture.rows[-1]}
            for m, disc in zip(picture.of("letter"), picture.of("paper"), strict=True):
                r, (x, y), size = hanging[m["text"]], m["at"], disc["at"][2]
                assert x == pytest.approx(r.foot_x, abs=0.01)
                assert disc["at"][:2] == [x, pytest.approx(y - 0.5 * size)]  # paper under a capital of 0.72 of its size
                assert r.top < disc["at"][1] - size
                assert disc["at"][1] + size < r.foot
                assert size <= r.corners[1][0] - r.corners[0][0]


def test_only_the_strand_that_the_hand_takes_is_marked_and_all_go_at_once(drawn: tuple[list[Film], Drawn]) -> None:
    for f in turns_of(drawn):
        taken = f.order[-1 if f.plan.turns[f.step.turn - 1].side == "R" else 0]
        begun, half, ended = f.at.values()
        for picture in f.at.values():
            for k, row in enumerate(picture.rows):
                moving = k >= len(picture.rows) - 2
                for r in row:
                    assert r.edges == ("strong" if moving and r.strand == taken else "edge",) * 2
        for name, x in half.letters.items():
            assert x == pytest.approx((begun.letters[name] + ended.letters[name]) / 2.0, abs=0.01)
        assert begun.letters[letter(taken)] != ended.letters[letter(taken)]


def test_the_tab_goes_in_where_and_as_the_still_picture_has_it(drawn: tuple[list[Film], Drawn]) -> None:
    """Out of the tab at one side, up beside the strands, between two letters to the other face, and down; the strands part for
    it and close again.  A full line is in front, a dashed one behind."""
    for f in passes_of(drawn):
        assert f.step.tab_pass
        gap, face = f.step.tab_pass.gap, f.step.tab_pass.face
        names = [letter(s) for s in f.order]
        ways = [p for p in f.still.iter("path") if p.get("stroke-width") == "0.9"]
        outset = float(re.findall(r"[\d.]+", str(ways[0].get("d")))[0])
        (*_, cap_foot), (_, tab_left, tab_top, tab_right, _) = f.at[0].boxes
        right = outset > (tab_left + tab_right) / 2.0
        x = (f.at[0].letters[names[gap - 1]] + f.at[0].letters[names[gap]]) / 2.0
        last = None
        gone = []
        for t, picture in f.at.items():
            # The strands part at the gap alone, as far to the left as to the right, while the tab is on its way.
            aside = [picture.letters[name] - f.at[0].letters[name] for name in names]
            assert aside == pytest.approx([-aside[-1]] * gap + [aside[-1]] * (len(names) - gap), abs=0.01)
            assert (abs(aside[-1]) < 0.01) if t in (0, 1) else (0.0 < aside[-1] <= 3.4)
            carried, words = (m for m in picture.marks if m["by"])
            assert words["text"] == "tab"
            assert words["at"] == [0, pytest.approx(0.36 * 3.175, abs=0.1)]
            a, b, wide, high = carried["at"]
            assert (a, b) == (-wide / 2.0, -high / 2.0)
            at = tuple(carried["by"])
            front, back = sorted((m for m in picture.marks if m["tag"] == "polyline"), key=lambda m: m["dashed"])
            first, second = (front, back) if face == "front" else (back, front)
            assert (front["dashed"], back["dashed"]) == (False, True)
            gone.append(at)
            painted, strands = picture.marks.index(carried), [r.painted for r in picture.ribbons]
            through = bool(second["at"])
            hidden = (face == "back") != through
            assert painted < min(strands) if hidden else painted > max(strands)
            if not through:
                assert spots(first)[-1] == pytest.approx(at, abs=0.02)
            else:
                (x0, y0), (x1, y1) = spots(second)
                assert (x0, x1, y1) == pytest.approx((x, x, at[1]), abs=0.02)
                assert spots(first)[-1] == (x0, y0)
                assert cap_foot < y0 < min(m["at"][1] for m in picture.of("letter"))
            last = spots(first)
        assert last
        assert last[0] == pytest.approx((right_of(f) if right else left_of(f), gone[0][1]), abs=0.01)
        assert gone[0] == pytest.approx(last[0], abs=0.01)
        assert tab_top < gone[0][1] < f.at[0].boxes[1][4]
        assert gone[-1] == pytest.approx((x, tab_top + 1.0), abs=0.01)
        # All the way straight or upright, past the outermost strand, and never back.
        beside = max(p[0] for p in last) if right else min(p[0] for p in last)
        assert [beside > tab_right, beside < tab_left] == [right, not right]
        for (x0, y0), (x1, y1) in itertools.pairwise(last):
            assert x0 == x1 or y0 == y1
        assert [p for p, q in itertools.pairwise(last) if p == q] == []
        done = [walked(at, last) for at in gone]
        assert done == sorted(done)
        # Nowhere a leap: at most twice as fast as all in all, in the four fifths of the time in which it goes.
        assert max(b - a for a, b in itertools.pairwise(done)) < 0.1 * 2.0 / 0.78 * done[-1] + 0.05


def right_of(f: Film) -> float:
    """The right edge of the work, where the tab hangs when no strand is parted."""
    return f.at[0].boxes[0][3]


def left_of(f: Film) -> float:
    return f.at[0].boxes[0][1]


def walked(at: Spot, way: Sequence[Spot]) -> float:
    """How far along its way, and down from its end, the tab is."""
    done = 0.0
    for (x0, y0), (x1, y1) in itertools.pairwise([*way, (way[-1][0], 100.0)]):
        length = abs(x1 - x0) + abs(y1 - y0)
        here = abs(at[0] - x0) + abs(at[1] - y0)
        if abs(here + abs(at[0] - x1) + abs(at[1] - y1) - length) < 0.05:
            return done + here
        done += length
    raise AssertionError(f"{at} is not on {way}")


def read_back(picture: Drawn, order: Sequence[int]) -> list[list[int]]:
    """The rows of a tangle as they are drawn, as crossings: + where the strand from the left is painted last."""
    now = list(order)
    out = []
    for row in picture.rows:
        after = [r.strand for r in sorted(row, key=lambda r: r.foot_x)]
        if len(row) < len(now) or after == now:
            break
        met = [k for k in range(1, len(now)) if after[k - 1 : k + 1] == [now[k], now[k - 1]]]
        out.append([k if on_top(row, now[k - 1], now[k]) == now[k - 1] else -k for k in met])
        now = after
    return out


def test_how_the_strands_hang_reads_back_as_the_tangle(drawn: tuple[list[Film], Drawn]) -> None:
    """By crossings, by letters, and the twists as they are called: what lies in front slopes like the middle of S or Z."""
    twists = 0
    for f in drawn[0]:
        assert read_back(f.hang, f.seen.order) == [list(row) for row in layers(f.seen.tangle)]
        assert "".join(f.hang.letters) == "ABCDEFG"[: f.plan.strands]
        told = dict.fromkeys(f.hang.letters, "")
        for names, kind in re.findall(r"([A-G](?:(?:, | and | to )[A-G])*) one full turn ([SZ])", tangles.lies(f.seen)):
            spans = re.findall(r"([A-G])(?: to ([A-G]))?", names)  # four neighbours and more are said as a span
            told |= {letter(s): kind for a, b in spans for s in range(ord(a) - 64, ord(b or a) - 63)}
        assert sum(map(bool, told.values())) == sum(map(abs, f.seen.twisted))
        for name, x in f.hang.letters.items():
            half = [
                m for m in f.hang.marks if m["tag"] == "polygon" and len(m["at"]) == 6 and abs(m["at"][4] - x) < 0.01
            ]
            assert len(half) == (4 if told[name] else 0)  # two triangles, point to point, are one half turn
            for upper, lower in zip(half[::2], half[1::2], strict=True):
                assert upper["role"] == lower["role"] == f"tone-{tone(ord(name) - 64)}"
                (left, top), (right, _), point = spots(upper)
                assert spots(lower) == ((left, lower["at"][1]), (right, lower["at"][1]), point)
                foot = lower["at"][1]
                assert point[1] == pytest.approx((top + foot) / 2.0, abs=0.02)
                edges = [spots(m) for m in f.hang.of("edge")]
                slopes = {"S": ((left, top), (right, foot)), "Z": ((right, top), (left, foot))}
                assert [kind for kind, e in slopes.items() if any(near(e, one) for one in edges)] == [told[name]]
                # The edge behind is broken where the one in front runs over it.
                (start, end) = slopes["Z" if told[name] == "S" else "S"]
                for one in (start, end):
                    stop = tuple(a + 0.72 * (b - a) for a, b in zip(one, point, strict=True))
                    assert any(near((one, stop), e) for e in edges)
                twists += 1
        if any(told.values()):
            rows = f.hang.rows
            assert rows[-1][0].foot - max(r.top for r in rows[-1]) >= 5.0  # room for the letters
    assert twists > 20


def near(one: Sequence[Spot], other: Sequence[Spot]) -> bool:
    return all(abs(a - b) < 0.02 for p, q in zip(one, other, strict=True) for a, b in zip(p, q, strict=True))


def test_crossings_too_many_to_be_told_apart_are_counted(drawn: tuple[list[Film], Drawn]) -> None:
    picture = drawn[1]
    rows = read_back(picture, LONG["order"])
    shown = sum(map(len, rows))
    assert rows == [list(row) for row in layers(LONG["crossings"])][: len(rows)]
    assert 10 <= len(rows) < 30
    (work, *_, foot), (said, *_, top, _, end), (tab, *_) = picture.boxes
    assert (work, said, tab) == ("work", f"and {60 - shown} more crossings", "tab")
    drops = [row[0].foot - row[0].top for row in picture.rows[: len(rows)]]
    assert drops == pytest.approx([drops[0]] * len(rows), abs=0.01)
    assert drops[0] >= 1.4 - 0.01
    assert top == pytest.approx(foot + sum(drops), abs=0.01)
    assert "".join(picture.letters) == "".join(letter(s) for s in positions_after(5, LONG["crossings"]))
    assert min(m["at"][1] - m["at"][2] for m in picture.of("paper")) >= end
