"""Every step, in an order that works: nothing drawn is left without its step, and nothing blocks what comes after it."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.order import doors
from strapwork.paper import blocks
from strapwork.paper.card import job_cards
from strapwork.piece.piece import Piece
from strapwork.say import alike, needs, places, ready, steps, table, turned
from strapwork.say.needs import Step
from tests.helpers import HERE, job_of

USUAL = {
    "wristband": "172 mm",
    "belt": "34 in",
    "bag-handle": "420 mm",
    "carrier-handle": "18 in",
    "key-fob": "90 mm",
    "hat-band": "57 cm",
    "dog-lead": "1.2 m",
    "plain-strap": "400 mm",
    "keeper-loop": "90 mm",
}
# A pattern of the maker's own with everything a strap can carry, some of it where ours never has it.
OWN = """
title = "Tern's oar sling"
about = "A sling of the workshop's own, with something of every kind on it."
[measure]
what = "sling length"
how = "Lay a tape along the oar from bar to hole and read it."
lies = "flat"
least = "100 mm"
most = "3000 mm"
[strap]
width = "1 in"
leather = "3.4 mm"
[slits]
relief = "2 mm"
[start]
shape = "square"
meets = "turned"
reference = "ring wire"
to_tip = "80 mm"
to_slit = "110 mm"
[[start.fixtures]]
part = "ring"
[[start.fixtures]]
part = "screw-post"
at = "25 mm"
doubled = true
[[start.fixtures]]
part = "keeper"
at = "40 mm"
span = "12 mm"
[[start.fixtures]]
part = "hole"
at = "60 mm"
diameter = "2 mm"
doubled = true
[[start.fixtures]]
part = "eyelet"
at = "90 mm"
[finish]
shape = "pointed"
meets = "open"
reference = "middle hole"
to_tip = "150 mm"
to_slit = "170 mm"
[[finish.fixtures]]
part = "hole"
diameter = "4 mm"
count = 4
spacing = "20 mm"
[[finish.fixtures]]
part = "ring"
at = "80 mm"
[[finish.fixtures]]
part = "keeper"
at = "100 mm"
span = "10 mm"
[[finish.fixtures]]
part = "magnetic-snap"
at = "120 mm"
[[finish.fixtures]]
part = "rivet"
at = "145 mm"
[companion]
pattern = "keeper-loop"
measure = "round two layers"
label = "keeper"
"""


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shop")
    (folder / "oar-sling.toml").write_text(OWN, encoding="utf-8")
    return folder


def made(pattern: str, shop: Path | None = None, **more: str) -> list[Piece]:
    texts = {"pattern": pattern, "measure": USUAL.get(pattern, "900 mm"), **more}
    return jobs.work_out(doors.of_texts(texts, HERE, Places(patterns=shop)))


def steps_of(pieces: list[Piece]) -> list[Step]:
    return steps.steps(pieces[0], pieces[1:])


def drawn(piece: Piece) -> Iterator[object]:
    """Everything that the sheet shows of a piece and the hand must do something about."""
    strap = piece.strap
    yield strap.outline
    yield from strap.slits
    yield from strap.holes
    yield from strap.marks
    yield from strap.footprints
    yield from strap.fittings


CASES: list[tuple[str, dict[str, str]]] = [
    *((name, {}) for name in USUAL),
    ("oar-sling", {}),
    ("belt", {"holes": "6", "hand": "left"}),
    ("belt", {"sets": "0"}),
    ("wristband", {"relief": "2 mm", "backing": "0.8 mm"}),
    ("wristband", {"leather": "3.4 mm"}),
]


@pytest.mark.parametrize(("pattern", "more"), CASES)
def test_every_drawn_feature_has_exactly_one_step(pattern: str, more: dict[str, str], shop: Path) -> None:
    pieces = made(pattern, shop, **more)
    dealt = [d for s in steps_of(pieces) for d in s.deals]
    features = [*drawn(pieces[0]), *pieces[1:]]
    for f in features:
        # Two posts alike are equal: then there are as many dealt with as drawn.
        assert dealt.count(f) == features.count(f), f


@pytest.mark.parametrize(("pattern", "more"), CASES)
def test_every_step_comes_after_what_it_needs_and_before_what_it_blocks(
    pattern: str, more: dict[str, str], shop: Path
) -> None:
    work = steps_of(made(pattern, shop, **more))
    assert len({s.key for s in work}) == len(work)
    for earlier, later in itertools.combinations(work, 2):
        assert not any(needs.named(later.key, k) for k in earlier.after), (earlier.key, later.key)
        assert not any(needs.named(earlier.key, k) for k in later.before), (earlier.key, later.key)


# What any maker would say, however the steps declare it (common practice, no source).
PHYSICS = [
    ("cut", "mark"), ("line", "mark"), ("mark", "punch"), ("mark", "slot"), ("relief", "slit"), ("punch", "braid"), ("slit", "wet"),
    ("slit", "braid"), ("wet", "braid"), ("braid", "even"), ("even", "dry"), ("dry", "snap"), ("dry", "rivet"), ("dry", "fold"),
    ("punch", "snap"), ("slot", "bar"), ("keeper-made", "keeper"), ("keeper", "fold"), ("keeper", "rivet:start:2"), ("bar", "fold"),
    ("fold:start", "rivet:start"), ("fold:finish", "rivet:finish"), ("rivet:start:1", "rivet:start:2"), ("ring", "close"),
    ("snap", "close"), ("braid", "tie"), ("snap", "measure"), ("rivet", "measure"), ("tie", "measure"), ("butt", "measure"),
]  # fmt: skip


@pytest.mark.parametrize(("pattern", "more"), CASES)
def test_the_order_works_at_the_bench(pattern: str, more: dict[str, str], shop: Path) -> None:
    keys = [s.key for s in steps_of(made(pattern, shop, **more))]
    for first, then in PHYSICS:
        a = [k for k, key in enumerate(keys) if needs.named(key, first)]
        # Ends are finished one after the other: only what belongs to one end is compared.
        b = [k for k, key in enumerate(keys) if needs.named(key, then)]
        for i, j in itertools.product(a, b):
            ends = {key.split(":")[1] for key in (keys[i], keys[j]) if key.split(":")[1:2] in (["start"], ["finish"])}
            assert i < j or len(ends) > 1, (keys[i], keys[j])


def test_the_goods_have_the_steps_that_make_them() -> None:
    def keys(pattern: str) -> list[str]:
        return [s.key for s in steps_of(made(pattern))]

    assert {"keeper-made:0", "keeper:start", "bar:start:0", "fold:start", "rivet:start:1", "rivet:start:2"} <= set(
        keys("belt")
    )
    assert {"ring", "close", "snap"} <= set(keys("key-fob"))
    assert "tie" in keys("hat-band")
    assert {"fold:finish", "rivet:finish:1", "rivet:finish:2"} <= set(keys("dog-lead"))
    assert "bar:finish:0" not in keys("dog-lead")
    assert "butt" in keys("keeper-loop")
    assert [k.split(":")[0] for k in keys("wristband")] == [
        "check", "cut", "mark", "punch", "slit", "shape", "braid", "even", "snap", "measure",
    ]  # fmt: skip


def test_the_steps_say_what_to_do_with_this_pieces_numbers() -> None:
    text = {s.key: s.text for s in steps_of(made("wristband"))}
    assert "19.1 mm wide" in text["cut"]
    assert "at A and D" in text["punch:snap:0"]
    assert "6.4 mm and 12.7 mm from the lower edge" in text["slit"]
    assert "By hand" in text["slit"]
    assert "no longer turns by hand" in text["snap"]
    assert "opposite ways" in text["snap"]
    assert "same way" in {s.key: s.text for s in steps_of(made("key-fob"))}["snap"]
    belt = {s.key: s.text for s in steps_of(made("belt"))}
    assert "centres 20 mm apart" in belt["slot:0"]
    assert "between the layers" in belt["keeper:start"]
    assert "400 mm" in {s.key: s.text for s in steps_of(made("hat-band"))}["tie"]


@pytest.mark.parametrize(("pattern", "more"), CASES)
def test_no_sentence_of_a_step_is_longer_than_twenty_five_words(pattern: str, more: dict[str, str], shop: Path) -> None:
    for s in steps_of(made(pattern, shop, **more)):
        for sentence in re.split(r"(?<=\.)\s", s.text):
            assert len(sentence.split()) <= 25, sentence


def test_what_to_have_ready_counts_the_whole_card() -> None:
    group = alike.groups(made("key-fob", count="10"))[0]
    listed = ready.ready(group)
    assert "10 × size 20 snap" in listed
    assert any(one.startswith("10 × key ring, 3 mm wire") for one in listed)
    assert any(one.startswith("1 × lace, 400 mm") for one in ready.ready(alike.groups(made("hat-band"))[0]))
    belt = ready.ready(alike.groups(made("belt"))[0])
    assert "4 × double-cap rivet, 10 mm post" in belt
    assert "needle and waxed thread" in belt


@given(st.lists(st.integers(1, 40), min_size=1, max_size=12, unique=True))
def test_rows_are_named_in_short_and_none_is_lost(numbers: list[int]) -> None:
    numbers.sort()
    back: list[int] = []
    for part in alike.ranges(numbers).split(", "):
        a, _, b = part.partition("–")
        back += range(int(a), int(b or a) + 1)
    assert back == numbers


def test_needs_that_run_in_a_ring_are_refused() -> None:
    with pytest.raises(ValueError, match="ring"):
        needs.in_order([Step("cut", "", "", after=("mark",)), Step("mark", "", "", after=("cut",))])


def test_places_have_letters_in_order_along_the_strap(shop: Path) -> None:
    for pattern in (*USUAL, "oar-sling"):
        piece = made(pattern, shop)[0]
        here = places.of(piece)
        assert [p.letter for p in here] == [places.name(k) for k in range(len(here))]
        assert [p.x for p in here] == sorted(p.x for p in here)
    assert [places.name(k) for k in (0, 25, 26, 27, 52)] == ["A", "Z", "AA", "AB", "BA"]


# -- cards -------------------------------------------------------------------------


def class_of_twelve() -> dict[str, Any]:
    return {
        "title": "Beginners' class",
        "leathers": {
            "harbour-tan": {"thickness": "4-5 oz"},
            "quay-brown": {"thickness": "3.2-3.6 mm", "temper": "firm"},
        },
        "pieces": [
            {
                "label": f"{name}",
                "pattern": "wristband",
                "measure": f"{150 + 5 * k} mm",
                "leather": "harbour-tan" if k % 3 else "quay-brown",
                "hand": "left" if k in (4, 9) else "right",
            }
            for k, name in enumerate(
                ["Ada", "Ben", "Cleo", "Dov", "Eve", "Finn", "Gus", "Hana", "Ivo", "Jun", "Kit", "Lea"]
            )
        ],
    }


A4, LETTER = (210.0, 297.0), (215.9, 279.4)


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("pattern", USUAL)
def test_a_card_is_two_pages_at_most(pattern: str, paper: tuple[float, float]) -> None:
    assert len(job_cards(made(pattern), paper, "mm")) <= 2


@pytest.mark.parametrize("paper", [A4, LETTER])
def test_goods_that_are_alike_share_a_card(paper: tuple[float, float]) -> None:
    sizes = {"title": "Sizes", "pieces": [
        {"label": "Band", "pattern": "wristband", "sizes": {k: f"{150 + 10 * n} mm" for n, k in enumerate("abcde")}}
    ]}  # fmt: skip
    assert len(job_cards(jobs.work_out(job_of(sizes)), paper, "mm")) == 2
    pieces = jobs.work_out(job_of(class_of_twelve()))
    cards = job_cards(pieces, paper, "in")
    assert len(cards) <= 4
    text = [i.text for s in cards for placed in s.placed for i in placed.drawing if hasattr(i, "text")]
    for p in pieces:
        assert p.label in text
        assert table.number(p.fit.cut_length, "in") in text
    assert sum("right-handed" in t and "Braiding" in t and "joined" in t for t in text) == 1
    assert sum("left-handed" in t and "Braiding" in t and "joined" in t for t in text) == 1


def test_steps_that_differ_name_their_rows() -> None:
    group = alike.groups(jobs.work_out(job_of(class_of_twelve())))[0]
    said = {s.key: s for s in alike.shared(group)}
    assert [rows for rows, _ in said["cut"].texts] == [""]
    assert [rows for rows, _ in said["wet"].texts] == ["Rows 1, 4, 7, 10: "]
    hands = dict(said["braid"].texts)
    assert "left-handed" in hands["Rows 5, 10: "]
    assert hands[""] == "Every set ends with the strands hanging free."
    order = [s.key for s in alike.shared(group)]
    assert order.index("wet") < order.index("braid") < order.index("dry") < order.index("snap")


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("pattern", [*USUAL, "oar-sling"])
def test_nothing_on_a_card_leaves_the_page_or_lies_on_other_words(
    pattern: str, paper: tuple[float, float], shop: Path
) -> None:
    from strapwork.drawing import fonts
    from strapwork.drawing.primitives import Text, on_sheet

    for sheet in job_cards(made(pattern, shop), paper, "in"):
        boxes = []
        for placed in sheet.placed:
            for i in on_sheet(placed):
                if isinstance(i, Text):
                    wide = fonts.text_width(i.text, i.size, i.role == "text-strong")
                    x = i.x - {"start": 0.0, "middle": wide / 2, "end": wide}[i.anchor]
                    boxes.append((x, i.y, x + wide, i.y + 0.7 * i.size, i.text))
        for x0, y0, x1, y1, text in boxes:
            assert x0 > 5.0, text
            assert x1 < sheet.width - 5.0, text
            assert 5.0 < y0 < y1 < sheet.height - 5.0, text
        for a, b in itertools.combinations(boxes, 2):
            apart = a[2] <= b[0] + 0.05 or b[2] <= a[0] + 0.05 or a[3] <= b[1] + 0.05 or b[3] <= a[1] + 0.05
            assert apart, (a[4], b[4])


def test_a_folded_end_is_shown_from_the_side_with_its_steps() -> None:
    pieces = made("belt")
    assert [name for name, _ in turned.folds(pieces[0])] == ["start"]
    front = job_cards(pieces, A4, "mm")[0]
    keys = [s.key for s in steps_of(pieces)]
    text = [(i.text, i.size) for placed in front.placed for i in placed.drawing if hasattr(i, "text")]
    for key in ("keeper:start", "bar:start:0", "rivet:start:1", "rivet:start:2"):
        number = str(keys.index(key) + 1)
        assert text.count((number, blocks.BODY)) >= 1, key
    assert any("from the side" in t for t, _ in text)
