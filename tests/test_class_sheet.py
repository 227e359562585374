"""The teacher's class sheet and the page of common slips with the bench card."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from shapely import Polygon

from strapwork.braid import plan as plans
from strapwork.braid.slips import slips
from strapwork.braid.way import way_of
from strapwork.cli import main as cli
from strapwork.drawing.primitives import Path as Drawn
from strapwork.drawing.primitives import Sheet, Text, on_sheet
from strapwork.job import job as jobs
from strapwork.paper import class_sheet, mend_card
from strapwork.paper.blocks import A4, CAPTION, LETTER
from strapwork.piece.piece import Piece
from strapwork.say import alike, teaching
from strapwork.stock import patterns as pattern_files
from strapwork.workshop.cost import minutes_of
from strapwork.workshop.prices import STEPS, from_data
from tests.helpers import job_of, pages_read
from tests.test_sheets import text_box

SAMPLES = Path(__file__).resolve().parents[1] / "samples"
Draft = Callable[..., Piece]


def words(sheets: list[Sheet]) -> str:
    return "\n".join(i.text for s in sheets for p in s.placed for i in p.drawing if isinstance(i, Text))


def boxes(sheets: list[Sheet]) -> int:
    """Little squares to tick."""
    return sum(
        isinstance(i, Drawn) and i.role == "edge" and i.closed
        for s in sheets
        for p in s.placed
        for i in p.drawing
    )  # fmt: skip


@pytest.fixture(scope="module")
def class_of_twelve(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The pages of the sample class with its sheet and the slips, as text."""
    out = tmp_path_factory.mktemp("class")
    assert cli.main(["make", str(SAMPLES / "class.toml"), "--class-sheet", "--slips", "--out", str(out)]) == 0
    return pages_read(out / "class.pdf")


def test_a_class_of_twelve_has_two_pages_more_for_its_teacher(
    class_of_twelve: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    args = ["make", str(SAMPLES / "class.toml"), "--no-class-sheet", "--out", str(tmp_path / "bare")]
    assert cli.main(args) == 0
    capsys.readouterr()
    bare = len(pages_read(tmp_path / "bare" / "class.pdf"))
    assert bare <= 8
    sheet = [k for k, text in enumerate(class_of_twelve) if "Class sheet" in text]
    assert sheet == [1, 2]  # behind the order page
    assert sum("strands go wrong" in text for text in class_of_twelve) == 2  # right- and left-handed
    assert len(class_of_twelve) == bare + 4


def test_the_teacher_sees_who_has_which_hand_and_leather(class_of_twelve: list[str]) -> None:
    rows = (SAMPLES / "class.csv").read_text(encoding="utf-8").splitlines()[1:]
    text = class_of_twelve[1]
    for row in rows:
        name, _, hand, leather = row.split(",")
        after = text[text.index(name) :]
        assert after.index(hand) < after.index(leather) < 40, name


def test_a_box_for_every_learner_and_stage(draft: Draft) -> None:
    pieces = [draft("wristband", "17 cm"), draft("wristband", "18 cm", hand="left"), draft("wristband", "19 cm")]
    group = alike.groups(pieces)[0]
    made = class_sheet.sheets("Class", pieces, lambda _: {}, "mm", A4)
    assert boxes(made) == 3 * len(teaching.stages(group))


@pytest.mark.parametrize("name", sorted(pattern_files.files()))
def test_the_stages_are_those_of_the_card_in_its_order(name: str, draft: Draft) -> None:
    """Every step of the card is in one stage, stages follow each other as the steps do, and each says what to check."""
    p = draft(name, pattern_files.find(name, "test").measure.example())
    group = alike.groups([p])[0]
    stages = teaching.stages(group)
    steps = [k for s in stages for k in s.steps]
    assert sorted(steps) == list(range(1, len(alike.shared(group)) + 1))
    assert [s.steps[0] for s in stages] == sorted(s.steps[0] for s in stages)
    assert all(s.check.endswith(".") and s.title for s in stages)
    assert {s.kind for s in stages} <= {*STEPS, teaching.DRY, teaching.KEEPER}


def crowded(units: str, label: str, **asked: str) -> list[Any]:
    """What the first page of a class of one learner draws, the name of their leather long."""
    pieces = jobs.work_out(job_of({"pieces": [{**asked, "label": label}]}))
    named = [replace(p, leather=replace(p.leather, name="harbour-tan-from-the-quay")) for p in pieces]
    made = class_sheet.sheets("Class", named, lambda _: {}, units, A4)
    return [p for placed in made[0].placed for p in on_sheet(placed)]


def test_fourteen_stages_and_long_names_leave_every_number_beside_the_boxes() -> None:
    """A lined belt in inches has all the stages there are, and the longest numbers; its name keeps 22 mm."""
    belt = {"pattern": "belt", "measure": "34 in", "leather": "3.4 mm", "backing": "1 mm"}
    items = crowded("in", "Wilhelmina-Alexandra of the harbour", **belt)
    words = [t for t in items if isinstance(t, Text)]
    ticks = [
        Polygon([s.start for s in p.segments]) for p in items if isinstance(p, Drawn) and p.role == "edge" and p.closed
    ]
    assert len(ticks) == 14
    first = min(tick.bounds[0] for tick in ticks)
    row = [t for t in words if abs(t.y - ticks[0].centroid.y) < 2.0]
    assert len(row) == 1 + 6
    boxes = [text_box(t) for t in row]
    for k, shape in enumerate(boxes):
        assert shape.bounds[2] < first - 0.5
        assert all(shape.distance(other) > 0.5 for other in boxes[k + 1 :])
    for k in range(14):  # a stage's number stands over its boxes
        (number,) = [t for t in words if t.text == str(k + 1) and t.anchor == "middle"]
        assert number.x == pytest.approx(sorted(tick.centroid.x for tick in ticks)[k])
    name, hand = row[1:3]
    assert hand.x - name.x == pytest.approx(22.0)


def test_names_and_leathers_are_set_smaller_before_a_leather_is_cut_and_a_name_last() -> None:
    """The name is whole in 7 to 9 points; a leather as long has what is left, cut short."""
    label = "Wilhelmina-Alexandra of the harbour"
    items = crowded("mm", label, pattern="wristband", measure="17 cm")
    words = [t for t in items if isinstance(t, Text)]
    (name,) = [t for t in words if t.text == label]
    assert 7.0 - 1e-9 <= name.size / 25.4 * 72 < 8.9
    (leather,) = [t for t in words if t.text.startswith("harb")]
    assert leather.text.endswith("…")
    assert 12.0 < text_box(leather).bounds[2] - leather.x < 21.0
    assert leather.x - text_box(name).bounds[2] > 1.0
    short = [t for t in words if t.text == "right"]
    assert short[0].size == CAPTION


def test_a_leather_said_by_its_thickness_is_whole_beside_names_of_usual_length() -> None:
    """4 to 5 oz are 1.59 mm to 1.98 mm; set smaller, both it and the name have room."""
    pieces = jobs.work_out(
        job_of(
            {
                "pieces": [
                    {"pattern": "wristband", "measure": "17 cm", "leather": "4-5 oz", "label": "Wilhelmina Alexandra"}
                ]
            }
        )
    )
    for paper in (A4, (215.9, 279.4)):
        made = class_sheet.sheets("Class", pieces, lambda _: {}, "mm", paper)
        texts = [p for placed in made[0].placed for p in on_sheet(placed) if isinstance(p, Text)]
        said = {t.text for t in texts}
        assert {"Wilhelmina Alexandra", "1.59 mm to 1.98 mm"} <= said
        for t in texts:
            assert t.size / 25.4 * 72 >= 7.0 - 1e-9


def prices(**minutes: str) -> Any:
    return from_data({"currency": "EUR", "minutes": minutes}, "prices")


def test_minutes_are_the_makers_own_and_nothing_is_guessed(draft: Draft) -> None:
    """Two sets of six turns and two passes are sixteen; three are 24; at 0.5 min each 8 and 12 (worked by hand)."""
    pieces = [draft("wristband", "17 cm", sets="2"), draft("wristband", "18 cm", sets="3")]
    group = alike.groups(pieces)[0]
    own = prices(turn="0.5", cut="2")
    told = {s.kind: teaching.minutes(s, group, lambda p: minutes_of(p, own)) for s in teaching.stages(group)}
    assert told.pop("turn") == (Decimal(8), Decimal(12))
    assert told.pop("cut") == (Decimal(2), Decimal(2))
    assert set(told.values()) == {None}
    text = words(class_sheet.sheets("Class", pieces, lambda p: minutes_of(p, own), "mm", A4))
    assert "8 to 12" in text
    assert "Write your own" not in text
    assert teaching.NO_MINUTES.rstrip(".") in words(class_sheet.sheets("C", pieces, lambda _: {}, "mm", A4)).replace(
        "\n", " "
    )


def test_the_slips_to_watch_for_are_those_of_the_braids_in_the_class(draft: Draft) -> None:
    pieces = [draft("wristband", "17 cm"), draft("wristband", "18 cm", strands="5", width="25 mm", hand="left")]
    text = words(class_sheet.sheets("Class", pieces, lambda _: {}, "mm", A4))
    for strands, hand in ((3, "right"), (5, "left")):
        assert f"{strands} strands, {hand}-handed" in text
    assert "5 strands, right-handed" not in text.replace("Slips to watch for: 3", "")
    flat = text.replace("\n", " ")
    for s in slips(way_of(plans.standard(5), left_handed=True)):
        assert f"turn {s.after_turn}" in flat


def test_a_class_without_braids_has_no_slips(draft: Draft, capsys: pytest.CaptureFixture[str]) -> None:
    pieces = [draft("plain-strap", "30 cm", sets="0")]
    made = class_sheet.sheets("Class", pieces, lambda _: {}, "mm", A4)
    assert "Slips" not in words(made)
    assert len(made) == 1


@pytest.mark.parametrize("paper", [A4, LETTER])
@pytest.mark.parametrize("strands", [3, 5, 7])
def test_the_slips_of_a_braid_are_one_page_with_a_picture_each(strands: int, paper: tuple[float, float]) -> None:
    way = way_of(plans.standard(strands), left_handed=strands == 5)
    found = slips(way)
    (page,) = mend_card.slips_page(way, found, paper)
    assert sum(isinstance(i, Text) and i.text == "tab" for p in page.placed for i in p.drawing) == len(found)
    texts = [i for p in page.placed[-1:] for i in p.drawing if isinstance(i, Text)]
    assert min(t.size for t in texts) >= CAPTION - 0.2
    assert min(t.y for t in texts) > 3.0


def test_the_card_has_its_slips_on_request_only(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pages = {}
    for name, more in (("without", []), ("with", ["--slips"]), ("plain", ["--slips", "--sets", "0"])):
        out = tmp_path / name
        assert cli.main(["draft", "wristband", "--measure", "17.2 cm", *more, "--out", str(out)]) == 0
        pages[name] = pages_read(out / "wristband.pdf")
    capsys.readouterr()
    assert len(pages["with"]) == len(pages["without"]) + 1
    assert "When 3 strands go wrong, right-handed" in pages["with"][-1]
    assert "numbers" in pages["with"][-1]  # the stamp that every page bears
    assert not any("go wrong" in text for name in ("without", "plain") for text in pages[name])
