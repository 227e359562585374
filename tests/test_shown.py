"""What the page shows of a piece, read back without a browser: pictures measured, every figure against numbers.json."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from typing import Any

import pytest
import svgelements

from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.job import numbers
from strapwork.stock import patterns
from strapwork.web import form, show

Box = tuple[float, float, float, float]


@dataclass
class Picture:
    """An SVG as svgelements reads it: boxes of everything drawn, and words with their places, y downwards."""

    width: float
    height: float
    boxes: list[Box]
    words: dict[str, tuple[float, float]]


def picture(text: str) -> Picture:
    doc = svgelements.SVG.parse(io.StringIO(text), ppi=25.4)
    boxes, words = [], {}
    for e in doc.elements():
        if isinstance(e, svgelements.Text):
            words[e.text] = (float(e.x), float(e.y))
        elif isinstance(e, svgelements.Shape):
            boxes.append(tuple(e.bbox()))
    return Picture(doc.width, doc.height, boxes, words)


def seen(**texts: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """What the page shows, and the numbers of the same piece."""
    got = form.read(texts, Places())
    assert got.job is not None, (got.errors, got.general)
    return show.preview(got), numbers.of_piece(got.pieces[0])


def mm(text: str) -> float:
    return float(text.replace("−", "-").split()[0])


GOODS = {
    "wristband": "172 mm", "belt": "34 in", "carrier-handle": "18 in", "key-fob": "90 mm", "hat-band": "57 cm",
    "keeper-loop": "90 mm",
}  # fmt: skip


@pytest.mark.parametrize("pattern", GOODS)
def test_every_line_of_the_breakdown_is_that_of_the_numbers(pattern: str) -> None:
    shown, told = seen(pattern=pattern, measure=GOODS[pattern])
    lines = [(r["what"], r["mm"]) for r in shown["rows"]]
    assert lines[-1][0] == "overall cut length"
    assert mm(lines[-1][1]) == pytest.approx(told["fit"]["cut_length_mm"], abs=0.0501)
    plain = [(what, mm(text)) for what, text in lines[:-1] if what != "rounding"]
    assert [w for w, _ in plain] == [r["what"] for r in told["fit"]["breakdown"]]
    for (_, text), row in zip(plain, told["fit"]["breakdown"], strict=True):
        assert text == pytest.approx(row["mm"], abs=0.0501)
    assert sum(mm(text) for _, text in lines[:-1]) == pytest.approx(mm(lines[-1][1]))
    assert [mm(r["mm"]) for r in shown["lengths"]] == pytest.approx(
        [told["fit"][k] for k in ("finished_mm", "reference_to_reference_mm", "cut_length_mm")], abs=0.0501
    )
    assert shown["strap_mm"] == told["strap"]["length_mm"]
    if told["fit"]["high_mm"] > told["fit"]["low_mm"]:
        low, high = (float(v) for v in re.findall(r"([\d.]+) mm", shown["band"])[:2])
        assert (low, high) == pytest.approx((told["fit"]["low_mm"], told["fit"]["high_mm"]), abs=0.0501)


@pytest.mark.parametrize("pattern", GOODS)
def test_the_drawn_strap_and_its_dimensions_are_those_of_the_numbers(pattern: str) -> None:
    """The picture has 2 mm of air round it.  Extension lines stand at raw ends and reference points, arrows point at them."""
    shown, told = seen(pattern=pattern, measure=GOODS[pattern])
    drawn = picture(shown["strap"])
    long, wide = told["strap"]["length_mm"], told["strap"]["width_mm"]
    x0, top, x1, bottom = drawn.boxes[0]
    assert (x0, x1 - x0, bottom - top) == pytest.approx((2.0, long, wide), abs=0.01)
    for h in told["holes"]:
        cx, cy = 2.0 + h["x"], bottom - h["y"]
        want = (cx - h["length"] / 2, cy - h["diameter"] / 2, cx + h["length"] / 2, cy + h["diameter"] / 2)
        assert any(b == pytest.approx(want, abs=0.01) for b in drawn.boxes)
    for s in told["slits"]:
        want = (2.0 + s["x0"], bottom - s["y0"], 2.0 + s["x1"], bottom - s["y1"])
        assert any(b == pytest.approx(want, abs=0.01) for b in drawn.boxes)
    spans = {"overall cut length": (0.0, long)}
    as_cut = told["fit"]["reference_to_reference_mm"]
    if as_cut < long - 1.0:
        tip = next(r["mm"] for r in told["fit"]["breakdown"] if "allowance" in r["what"])
        spans["as cut"] = (tip, tip + as_cut)
    for words, (a, b) in spans.items():
        text, (x, y) = next((t, at) for t, at in drawn.words.items() if words in t)
        assert mm(text.split(":")[-1].removeprefix("overall cut length ")) == pytest.approx(b - a, abs=0.0501)
        assert x == pytest.approx(2.0 + (a + b) / 2, abs=0.01)
        level = [q for q in drawn.boxes if abs(q[1] - q[3]) < 0.01 and q[0] == pytest.approx(2 + a, abs=0.01)]
        line = next(q for q in level if q[2] == pytest.approx(2 + b, abs=0.01) and q[1] < top)
        assert y < line[1] < top  # the words above their line, both above the strap
        for end in (a, b):
            assert any(
                q[0] == q[2] == pytest.approx(2 + end, abs=0.01) and q[1] < line[1] and line[1] < q[3] < top
                for q in drawn.boxes
            )
        heads = [q for q in drawn.boxes if 0.5 < q[3] - q[1] < 8 and q[1] < line[1] < q[3] and q[2] - q[0] > 0.5]
        assert min(q[0] for q in heads) == pytest.approx(2 + a, abs=0.01)
        assert max(q[2] for q in heads) == pytest.approx(2 + b, abs=0.01)
    assert all(min(b) >= 0 and b[2] <= drawn.width and b[3] <= drawn.height for b in drawn.boxes)


@pytest.mark.parametrize(("strands", "width", "turns"), [(3, "19.05 mm", 6), (7, "44 mm", 6), (11, "70 mm", 4)])
def test_the_finished_braid_is_drawn_at_its_width_and_for_as_many_turns_as_a_screen_holds(
    strands: int, width: str, turns: int
) -> None:
    shown, told = seen(pattern="plain-strap", measure="600 mm", strands=str(strands), width=width, sets="1")
    braid = told["braid"]
    drawn = picture(shown["braid"])
    assert drawn.width - 4.0 == pytest.approx(turns * braid["set_length_mm"] / braid["turns_per_set"], rel=0.01)
    assert drawn.height - 4.0 == pytest.approx(braid["width_mm"], rel=0.05)
    assert seen(pattern="plain-strap", measure="600 mm", sets="0")[0]["braid"] == ""


def test_sheets_cautions_load_and_hardware_are_those_of_the_paper() -> None:
    texts = {"pattern": "belt", "measure": "34 in", "load": "12 kg", "factor": "5", "paper": "letter"}
    shown, told = seen(**texts)
    got = form.read(texts, Places())
    assert got.job is not None
    result = jobs.make(got.job)
    count = sum("card" not in s for s in result.numbers["sheets"][0]["sheets"])
    assert shown["sheets"].startswith(f"{count} sheets of letter")
    assert [f["level"] for f in shown["findings"]] == [f["level"] for f in told["findings"]]
    for f, g in zip(shown["findings"], told["findings"], strict=True):
        assert f["message"] == g["message"][:1].upper() + g["message"][1:] + "."
        assert f["safety"] == g["code"].startswith("safety-")
    for row, s in zip(shown["load"]["rows"], told["load"]["sections"], strict=True):
        newtons, kilos = re.fullmatch(r"(\d+) N \((\d+) kg\)", row["mm"]).groups()  # type: ignore[union-attr]
        assert (row["what"], float(newtons)) == (s["what"], pytest.approx(s["newtons"], abs=0.51))
        assert float(kilos) == pytest.approx(s["newtons"] / 9.80665, abs=0.51)
    assert any("divided by 5" in t for t in shown["load"]["after"])
    assert sum("rivet" in h for h in shown["hardware"]) == 4
    assert shown["with"] == ["Belt with a buckle: keeper"]
    assert seen(pattern="wristband", measure="172 mm")[0]["load"] is None


@pytest.mark.parametrize("pattern", patterns.all_patterns(), ids=lambda p: p.name)
def test_goods_are_known_by_their_picture_and_how_they_are_measured(pattern: patterns.Pattern) -> None:
    small = picture(show.goods_picture(pattern))
    whole = numbers.of_piece(
        form.read({"pattern": pattern.name, "measure": pattern.measure.example()}, Places()).pieces[0]
    )
    long, wide = whole["strap"]["length_mm"], whole["strap"]["width_mm"]
    assert (small.width, small.height) == pytest.approx((min(long, 9 * wide) + 3.0, wide + 3.0), abs=0.01)

    how = picture(show.how_to_measure(pattern))
    said = set(how.words)
    assert pattern.measure.what in said
    if pattern.measure.lies == "round":
        assert "tape" in said
    elif pattern.measure.lies == "flat":
        assert {pattern.start.reference, pattern.finish.reference} <= said
        (x0, _), (x1, _) = how.words[pattern.start.reference], how.words[pattern.finish.reference]
        # The measure's line runs between the two points, its words in the middle.
        assert how.words[pattern.measure.what][0] == pytest.approx((x0 + x1) / 2) if x0 != x1 else True
    assert how.width == pytest.approx(104.0)
    assert how.height == pytest.approx(46.0 if pattern.measure.lies == "round" else 38.0)
    assert all(min(b) >= 0 and b[2] <= how.width and b[3] <= how.height for b in how.boxes)


@pytest.mark.parametrize(("strands", "hand"), [(3, "right"), (3, "left"), (7, "left")])
def test_the_player_has_every_turn_and_pass_in_order(strands: int, hand: str) -> None:
    from strapwork.braid.plan import for_hand, standard

    plan = for_hand(standard(strands), hand)  # type: ignore[arg-type]
    steps = show.player(plan)
    titles = [s["title"] for s in steps]
    want = []
    for k in range(1, 2 * strands + 1):
        want += [f"Turn {k}", *("Pass the tab" for p in plan.schedule if p.after_turn == k)]
    assert titles == want
    assert steps[-1]["state"].endswith("strands hang free.")
    wide = 60.0 if strands == 3 else 92.0
    for s in steps:
        drawn = picture(s["svg"])
        assert (drawn.width, drawn.height) == pytest.approx((wide + 4.0, 66.0))
        assert s["text"]
