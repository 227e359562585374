"""Bench cards as pages: type that can be read, words that none is lost of, the strap lettered, cautions where they are looked for."""

from __future__ import annotations

import itertools
import re
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strapwork.braid import plan
from strapwork.drawing import fonts
from strapwork.drawing.primitives import Disc, Path, Primitive, Sheet, Text, on_sheet, primitive_box
from strapwork.files.folders import Places
from strapwork.geometry.shape import Line
from strapwork.job import job as jobs
from strapwork.job import numbers
from strapwork.order import doors
from strapwork.paper import blocks, card, lettered
from strapwork.paper.blocks import Block
from strapwork.piece.piece import Piece
from strapwork.say import places
from tests.helpers import HERE, job_of

POINT = 25.4 / 72.0
A4 = (210.0, 297.0)
WIDTH = 188.0  # of a card between margins of 11 mm


def pieces(pattern: str, measure: str, **more: str) -> list[Piece]:
    return jobs.work_out(doors.of_texts({"pattern": pattern, "measure": measure, **more}, HERE, Places()))


@cache
def cards_of(pattern: str, measure: str, **more: str) -> list[Sheet]:
    return card.job_cards(pieces(pattern, measure, **more), A4, "mm")


def printed(sheet: Sheet) -> list[Primitive]:
    return [p for placed in sheet.placed for p in on_sheet(placed)]


def texts(sheet: Sheet) -> list[Text]:
    return [p for p in printed(sheet) if isinstance(p, Text)]


def said(sheets: list[Sheet]) -> str:
    """All words in the order they are set, rows of a paragraph joined."""
    return " ".join(t.text for s in sheets for t in texts(s))


def reach(t: Text) -> tuple[float, float]:
    wide = fonts.text_width(t.text, t.size, t.role == "text-strong")
    x = t.x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[t.anchor]
    return x, x + wide


words = st.lists(st.text("abcdefghij", min_size=1, max_size=12), min_size=1, max_size=40)


@settings(max_examples=12)
@given(words, st.sampled_from([9.0 * POINT, 11.0 * POINT]), st.floats(60.0, 190.0))
def test_a_step_loses_no_word_and_ends_its_rows_where_the_next_word_has_no_room(
    given_words: list[str], size: float, width: float
) -> None:
    """Rows are 120 to 145 % of their type apart (common practice in typesetting, from memory)."""
    text = " ".join(given_words)
    for made, begun in (
        (blocks.step("7", "Braid", text, size, width), 2),
        (blocks.words(text, size, width, indent=4.0), 0),
    ):
        rows = [t for t in made.items[begun:] if isinstance(t, Text)]
        assert " ".join(t.text for t in rows) == text
        for t in rows:
            assert reach(t)[1] <= width + 1e-6
        # What fits beside the verb stands there.
        if begun:
            verb = made.items[1]
            assert isinstance(verb, Text)
            after = reach(verb)[1] + fonts.text_width("  ", size, True)
            if after + fonts.text_width(given_words[0], size) <= width:
                assert (rows[0].x, rows[0].y) == (pytest.approx(after), verb.y)
        for upper, lower in itertools.pairwise(rows):
            assert reach(upper)[1] + fonts.text_width(" " + lower.text.split(" ")[0], size) > width
            assert 1.2 * size <= upper.y - lower.y <= 1.45 * size
        assert -made.height <= rows[-1].y - 0.24 * size  # what hangs below the line is on the block too
        assert rows[-1].y + made.height < 0.6 * size


def test_the_name_of_a_card_is_whole_as_long_as_it_fits_in_14_pt_beside_the_hand() -> None:
    for count in range(4, 60):
        name = ("Harbour master's " * 4)[:count].strip()
        made = blocks.head(name, "left-handed", ["facts"], WIDTH)
        first, right, under = (t for t in made.items if isinstance(t, Text))
        assert (right.text, reach(right)[1]) == ("left-handed", pytest.approx(WIDTH))
        assert reach(first)[1] < reach(right)[0]
        room = WIDTH - fonts.text_width("left-handed", 11.0 * POINT) - 4.0
        if fonts.text_width(name, 14.0 * POINT, True) <= room:
            assert first.text == name
        assert 14.0 * POINT - 1e-6 <= first.size <= 20.0 * POINT + 1e-6
        # And as large as that: a quarter of a point more would touch the words beside it.
        if first.size < 20.0 * POINT - 1e-6:
            assert fonts.text_width(name, first.size + 0.25 * POINT, True) > room
        assert under.y < first.y
    assert len([t for t in blocks.head("Belt", "", [], WIDTH).items if isinstance(t, Text)]) == 1


heights = st.lists(st.tuples(st.floats(1.0, 60.0), st.booleans()), min_size=1, max_size=30)


@settings(max_examples=40)
@given(heights, st.floats(60.0, 120.0), st.one_of(st.none(), st.floats(5.0, 20.0)))
def test_pages_are_filled_in_order_and_none_is_fuller_than_it_can_be(
    made: list[tuple[float, bool]], room: float, begun: float | None
) -> None:
    again = Block(3.0)
    given_blocks = [Block(h, (), again if repeat else None) for h, repeat in made]
    top = Block(begun) if begun else None
    pages = blocks.paged(given_blocks, room, top)
    lead = [top] if top else []
    kept = [[b for b in page if b is not again] for page in pages]
    assert all(page[: len(lead)] == lead for page in kept)
    assert [b for page in kept for b in page[len(lead) :]] == given_blocks
    for page in pages:
        # A page is too full only where its single block is higher than any page.
        assert (
            sum(b.height for b in page) <= room + 1e-5
            or len([b for b in page if b not in lead and b is not again]) == 1
        )
    for page, after in itertools.pairwise(pages):
        following = next(b for b in after[len(lead) :] if b is not again)
        assert sum(b.height for b in page) + following.height > room
        assert (again in after) == (following.again is again)
    assert blocks.fits(given_blocks, room) == (sum(b.height for b in given_blocks) <= room + 1e-6)


USUAL = (
    ("wristband", "172 mm", {}),
    ("wristband", "172 mm", {"leather": "3.4 mm", "temper": "firm"}),
    ("belt", "34 in", {}),
    ("dog-lead", "1.2 m", {}),
    ("plain-strap", "400 mm", {}),
)


@pytest.mark.parametrize(("pattern", "measure", "more"), USUAL)
def test_a_card_keeps_its_margins_and_its_four_sizes_of_type(pattern: str, measure: str, more: dict[str, str]) -> None:
    """9, 11, 14 and 20 pt, or 10 where a page is full; a long name is smaller, and numbers as large as their row has room for."""
    sheets = cards_of(pattern, measure, **more)
    assert [s.name for s in sheets] == [f"card 1.{k}" for k in range(1, len(sheets) + 1)]
    for sheet in sheets:
        foot = [t for t in texts(sheet) if t.y < 11.0]
        # On one line with the stamp of every page of a job, 6 mm up; the page's name at the right.
        assert {t.y for t in foot} == {6.0}
        assert (foot[-1].text, reach(foot[-1])[1]) == (sheet.name, pytest.approx(199.0))
        for t in (t for t in texts(sheet) if t.text):
            x0, x1 = reach(t)
            assert x0 >= 11.0 - 1e-6, t.text
            assert x1 <= 199.0 + 1e-6, t.text
            assert t.y + 0.72 * t.size <= 286.0 + 1e-6
            # Whatever begins near the margin begins on it, so that the page has a straight edge.
            if t.anchor == "start" and t.x < 13.0:
                assert t.x == pytest.approx(11.0), t.text
            assert t.size <= 20.0 * POINT + 1e-6
            if len(t.text.split()) > 1 and t.anchor == "start" and t.size < 14.0 * POINT + 0.01:
                assert any(abs(t.size / POINT - pt) < 0.01 for pt in (9, 10, 11, 14)), (t.text, t.size / POINT)
        for p in printed(sheet):
            x0, y0, x1, y1 = primitive_box(p)
            if not isinstance(p, Text):
                assert x0 >= 11.0 - 0.1
                assert x1 <= 199.0 + 0.1
                assert y0 >= 11.0 - 1e-6
                assert y1 <= 286.0 + 1e-6


@pytest.mark.parametrize(("pattern", "measure", "more"), USUAL)
def test_every_caution_and_finding_stands_on_the_card_once(pattern: str, measure: str, more: dict[str, str]) -> None:
    """But not that firm leather is wetted, which is a step; what is minded stands on the front where there is room."""
    found = numbers.of_piece(pieces(pattern, measure, **more)[0])["findings"]
    sheets = cards_of(pattern, measure, **more)
    for f in found:
        assert said(sheets).count(f["message"][1:]) == (f["code"] != "wet-first"), f["code"]
    minded = [f for f in found if f["level"] == "note" and f["code"] != "wet-first"]
    assert ("Mind" in [t.text for t in texts(sheets[0])]) == bool(minded)
    assert all(f["message"][1:] in said(sheets[:1]) for f in minded)


def a_class(**more: Any) -> list[Piece]:
    """Three learners in one card, one of them left-handed with three sets, one with leather of her own."""
    rows = [
        {"label": "Ada", "pattern": "wristband", "measure": "172 mm", "leather": "1.8 mm", "sets": 2},
        {"label": "Ben", "pattern": "wristband", "measure": "190 mm", "leather": "1.8 mm", "sets": 3, "hand": "left"},
        {"label": "Cleo", "pattern": "wristband", "measure": "180 mm", "leather": "3.4 mm", "sets": 2},
    ]
    return jobs.work_out(job_of({"title": "Beginners' class", "pieces": [{**row, **more} for row in rows]}))


def minded(made: list[Piece]) -> str:
    """What stands under Mind on a card."""
    sheets = card.job_cards(made, A4, "mm")
    (sheet,) = (s for s in sheets if "Mind" in [t.text for t in texts(s)])
    every = texts(sheet)
    begin = next(k for k, t in enumerate(every) if t.text == "Mind")
    return " ".join(t.text for t in every[begin + 1 :])


def test_a_card_for_several_pieces_says_which_rows_a_finding_is_for() -> None:
    assert "Row 3. Note: a size 24 snap goes in at the start" in minded(a_class())
    together = minded(a_class(leather="3.4 mm"))
    assert "Note: a size 24 snap goes in at the start" in together
    assert re.findall(r"Rows? [^.]*\. \w+", together) == ["Row 2. Caution"]  # its three sets


def test_both_hands_of_a_card_have_their_pages_and_the_cautions_come_once_at_the_end() -> None:
    made = a_class()
    sheets = card.job_cards([*made, *pieces("belt", "34 in")], A4, "mm")
    assert [s.name for s in sheets] == ["card 1.1", "card 1.2", "card 1.3", "card 2.1", "card 2.2"]
    for f in (f for f in made[0].findings if f.is_safety):
        assert said(sheets[:3]).count(f.message[1:]) == 1
        assert f.message[1:] in said(sheets[2:3])
    # The right hand works two sets in both its rows, which differ in length; the left hand three.
    right, left = (said([s]) for s in sheets[1:3])
    assert "for every set: 2 of them; the table says how long one set is." in right
    (ben,) = (p.fit.braid for p in made if p.hand == "left")
    assert ben is not None
    assert f"for every set: 3 of them; one set measures {ben.set_length:.1f}" in left
    one = made[:1] + a_class(sets=3)[:1]
    assert "for every set: as many as the table says;" in said(card.job_cards(one, A4, "mm"))


def test_what_a_plain_card_cannot_hold_runs_on_to_a_further_page() -> None:
    """Forty plain straps fill a page and more; the cautions come after them, and none is lost."""
    raw = {"pieces": [{"pattern": "plain-strap", "sizes": {f"No. {k}": f"{300 + k} mm" for k in range(40)}, "sets": 0}]}
    made = jobs.work_out(job_of(raw))
    sheets = card.job_cards(made, A4, "mm")
    assert len(sheets) == 2
    for f in (f for f in made[0].findings if f.is_safety):
        assert f.message[1:] in said(sheets)


def test_why_a_piece_is_that_long_adds_up_on_its_card() -> None:
    (front, *_) = cards_of("wristband", "172 mm")
    rows = said([front]).split("Why that long", 1)[1].split("Band of")[0]
    *parts, whole = (float(v) for v in re.findall(r"(\d+(?:\.\d+)?) ?(?:mm|\+|=|\.)", rows))
    assert len(parts) >= 5
    assert sum(parts) == pytest.approx(whole, abs=0.051)
    assert whole == pytest.approx(pieces("wristband", "172 mm")[0].fit.cut_length, abs=0.051)


def test_the_rows_of_a_table_can_be_told_apart_and_have_room_for_a_tick() -> None:
    """Not so far apart that the eye loses the line: 9 mm at most, and 5 at least."""
    for sheet, rows in ((cards_of("wristband", "172 mm")[0], 1), (cards_of("belt", "34 in")[0], 2)):
        rules = sorted({primitive_box(p)[1] for p in printed(sheet) if isinstance(p, Path) and p.role in ("frame", "edge")
                        and primitive_box(p)[0] == 11.0 and primitive_box(p)[2] == 199.0 and primitive_box(p)[1] == primitive_box(p)[3]})  # fmt: skip
        table = [b - a for a, b in itertools.pairwise(rules[:-1])]
        assert len(table) == rows
        assert all(5.0 <= high <= 9.0 for high in table)


# -- the strap lettered ----------------------------------------------------------------

STRAPS = (
    ("wristband", "172 mm"), ("wristband", "100 mm"), ("belt", "34 in"), ("bag-handle", "420 mm"), ("carrier-handle", "18 in"),
    ("key-fob", "60 mm"), ("hat-band", "57 cm"), ("dog-lead", "1.2 m"), ("plain-strap", "130 mm"), ("keeper-loop", "90 mm"),
)  # fmt: skip


@pytest.mark.parametrize(("pattern", "measure"), STRAPS)
def test_the_distances_under_a_lettered_strap_lead_from_its_ends_to_every_letter(pattern: str, measure: str) -> None:
    """A maker who adds them up comes to each place, and to the strap's end; all is drawn to one scale, letters over places."""
    piece = pieces(pattern, measure)[0]
    length = piece.fit.cut_length
    drawn = lettered.block(piece, WIDTH, "mm").items
    here = places.of(piece)
    letters = [t for t in drawn if isinstance(t, Text) and t.role == "text-strong"]
    assert [t.text for t in letters] == [p.letter for p in here]
    spans = [float(t.text) for t in drawn if isinstance(t, Text) and t.role == "text" and t.text != "…"]
    chains = [p.segments[0] for p in drawn if isinstance(p, Path) and p.role == "leader" and len(p.segments) == 1]
    stops = sorted({s.start[0] for s in chains if s.start[0] == s.end[0]})
    lines = [s for s in chains if s.start[1] == s.end[1]]
    broken = [p for p in drawn if isinstance(p, Path) and p.role == "leader" and len(p.segments) > 1]
    gap = next((t for t in drawn if isinstance(t, Text) and t.text == "…"), None)
    assert len(broken) == (2 if gap else 0)
    # Goods with letters at both ends far from each other have them large, the middle left out.
    assert bool(gap) == (pattern != "keeper-loop")
    at = [0.0, *(p.x for p in here), length]
    if gap is None:
        assert spans == pytest.approx([b - a for a, b in itertools.pairwise(at)], abs=0.051)
        assert [(s.start[0], s.end[0]) for s in lines] == [(stops[0], stops[-1])]
        where = at
    else:
        # The longest stretch is the one left out.
        k = max(range(len(at) - 1), key=lambda k: at[k + 1] - at[k])
        steps = [b - a for n, (a, b) in enumerate(itertools.pairwise(at)) if n != k]
        assert spans == pytest.approx(steps, abs=0.051)
        assert sorted((s.start[0], s.end[0]) for s in lines) == [(stops[0], stops[k]), (stops[k + 1], stops[-1])]
        ends = sorted(x for p in broken for x in {p.segments[0].start[0]})
        assert stops[k] < ends[0] < ends[1] < stops[k + 1]
        assert ends[1] - ends[0] > 5.0
        assert gap.x == pytest.approx(sum(ends) / 2.0)
        where = at
    # One scale for all: strap mm to paper mm.
    scales = [
        (b - a) / (q - p)
        for (a, b), (p, q) in zip(itertools.pairwise(stops), itertools.pairwise(where), strict=True)
        if gap is None or (p, q) != (at[k], at[k + 1])
    ]
    assert scales == pytest.approx([scales[0]] * len(scales), rel=1e-6)
    assert (stops[0], [t.x for t in letters]) == (pytest.approx(0.0), pytest.approx(stops[1:-1]))
    assert stops[-1] <= WIDTH + 1e-6
    if gap:
        assert stops[-1] == pytest.approx(WIDTH)
    # As tall as the strap is wide, to the same scale, its holes where the letters are.
    cut = [s for p in drawn if isinstance(p, Path) and p.role == "cut" for s in p.segments]
    ys = [s.start[1] for s in cut if isinstance(s, Line)]
    assert max(ys) - min(ys) == pytest.approx(piece.strap.width * scales[0])
    assert all(s.length > 1e-6 for p in drawn if isinstance(p, Path) for s in p.segments)
    holes = [p for p in drawn if isinstance(p, Disc) and p.role == "hole"]
    round_ones = [h for h in piece.strap.holes if hasattr(h.shape(), "r")]
    assert len(holes) == len(round_ones)
    assert sorted(p.r for p in holes) == pytest.approx(sorted(h.diameter / 2.0 * scales[0] for h in round_ones))


# -- the pictures of a set ---------------------------------------------------------------


@cache
def back(n: int) -> list[Sheet]:
    return card.braid_card(plan.standard(n), A4, "braid ")


@pytest.mark.parametrize("n", [3, 7])
def test_pictures_of_a_set_are_as_large_as_its_fewest_pages_allow(n: int) -> None:
    """74 mm high, or as high as leaves no room on the fullest page for another millimetre on each row; 40 mm at least."""
    sheets = back(n)
    assert len(sheets) == (2 if n == 7 else 1)
    high, left = [], []
    for s in sheets:
        boxes = [primitive_box(p) for p in printed(s) if isinstance(p, Path) and p.role == "tab"]
        high += [top[3] - foot[1] + 1.0 for top, foot in zip(boxes[::2], boxes[1::2], strict=True)]
        rows = len({round(b[3], 3) for b in boxes[::2]})
        left.append(min(primitive_box(p)[1] for p in printed(s) if primitive_box(p)[1] > 10.0) - 11.0 - 2.0 * rows)
    assert min(high) >= 40.0
    assert min(high) == pytest.approx(74.0) or min(left) < 0.0
    letters = [t for s in sheets for t in texts(s) if len(t.text) == 1]
    assert min(t.size for t in letters) >= 2.8  # 8 pt


@pytest.mark.parametrize("n", [3, 5])
def test_the_words_under_a_picture_are_set_close_and_belong_to_it(n: int) -> None:
    """Rows 120 to 145 % of their type apart, each as wide as its picture at most, titles counted through."""
    titles = [t for s in back(n) for t in texts(s) if re.match(r"\d+\. ", t.text)]
    assert [int(t.text.split(".")[0]) for t in titles] == list(range(1, 2 * n + 3))
    cell = braid_pages_width(n)
    for s in back(n):
        every = texts(s)
        for k, t in enumerate(every):
            if t not in titles:
                continue
            x = t.x
            under = list(itertools.takewhile(lambda u, x=x: (u.x, u.role) == (x, "text"), every[k + 1 :]))  # type: ignore[misc]
            assert len(under) >= 2
            for upper, lower in itertools.pairwise([t, *under]):
                assert 1.2 * lower.size <= upper.y - lower.y <= 1.45 * upper.size
            assert all(reach(u)[1] - u.x <= cell + 1e-6 for u in under)


def braid_pages_width(n: int) -> float:
    """Four pictures beside each other up to four strands, three up to eight, 3 mm between them."""
    across = 4 if n <= 4 else 3
    return (WIDTH - 3.0 * (across - 1)) / across


def test_the_finished_braid_on_a_card_is_as_long_and_wide_as_it_comes_out() -> None:
    form = pieces("wristband", "172 mm")[0].fit.braid
    assert form is not None
    (_, sheet) = cards_of("wristband", "172 mm")
    caption = next(t for t in texts(sheet) if "at true scale" in t.text)
    assert caption.text.startswith(f"one set; the finished braid at true scale, about {form.width:.1f} mm wide")
    bar = [
        p
        for p in printed(sheet)
        if isinstance(p, Path) and p.role == "edge" and caption.y < primitive_box(p)[1] < caption.y + 8.0
    ]
    spans = [primitive_box(p) for p in bar]
    (whole,) = (b for b in spans if b[2] - b[0] > 5.0 and b[1] == b[3])
    assert whole[0] == pytest.approx(11.0)
    assert whole[2] - whole[0] == pytest.approx(form.set_length)
    assert sorted(b[0] for b in spans if b[2] - b[0] < 1e-9) == pytest.approx([11.0, 11.0 + form.set_length])
    strands = [primitive_box(p) for p in printed(sheet) if isinstance(p, Path) and p.role.startswith("tone-") and caption.y < primitive_box(p)[1] < caption.y + 40.0]  # fmt: skip
    assert min(b[0] for b in strands) == pytest.approx(11.0)
    assert max(b[3] for b in strands) - min(b[1] for b in strands) == pytest.approx(form.width, rel=0.02)
    assert max(b[2] for b in strands) - 11.0 >= form.set_length
