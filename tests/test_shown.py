"""What the page shows of a piece, read back without a browser: pictures measured, every figure against numbers.json."""

from __future__ import annotations

import io
import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import svgelements

from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.job import numbers
from strapwork.stock import patterns, printers
from strapwork.stock.printers import Printer
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


SCALE = 4.0  # px per mm


@dataclass
class Screen:
    """The strap on the screen at ``SCALE``: boxes in px by the class of what is drawn, and words with their places."""

    width: float
    height: float
    boxes: dict[str, list[Box]]
    words: dict[str, tuple[float, float]]


def screen(text: str) -> Screen:
    doc = svgelements.SVG.parse(io.StringIO(text))
    boxes: dict[str, list[Box]] = {}
    words = {}
    for e in doc.elements():
        kind = str(e.values.get("class", "")) if e.values else ""
        if isinstance(e, svgelements.Text):
            words[e.text] = (float(e.x), float(e.y))
        elif isinstance(e, svgelements.Path):
            # Lines of one look are one path: each of its parts is a thing that is drawn.
            boxes.setdefault(kind, []).extend(tuple(svgelements.Path(part).bbox()) for part in e.as_subpaths())
        elif isinstance(e, svgelements.Shape):
            boxes.setdefault(kind, []).append(tuple(e.bbox()))
    return Screen(float(doc.width), float(doc.height), boxes, words)


@pytest.mark.parametrize("pattern", GOODS)
def test_the_drawn_strap_and_its_dimensions_are_those_of_the_numbers(pattern: str) -> None:
    """At a true size every box is the numbers' times the scale; dimensions run from raw ends and reference points."""
    got = form.read({"pattern": pattern, "measure": GOODS[pattern]}, Places())
    shown, told = show.preview(got, scale=SCALE), numbers.of_piece(got.pieces[0])
    drawn = screen(shown["strap"])
    long, wide = told["strap"]["length_mm"], told["strap"]["width_mm"]
    x0, top, x1, bottom = drawn.boxes["i-cut"][0]
    assert (x1 - x0, bottom - top) == pytest.approx((long * SCALE, wide * SCALE), abs=0.05)

    def at(box: tuple[float, float, float, float]) -> tuple[float, ...]:
        """A box of strap mm, y up, in the px of the picture."""
        return (x0 + box[0] * SCALE, bottom - box[3] * SCALE, x0 + box[2] * SCALE, bottom - box[1] * SCALE)

    for h in told["holes"]:
        half, high = h["length"] / 2, h["diameter"] / 2
        want = at((h["x"] - half, h["y"] - high, h["x"] + half, h["y"] + high))
        assert any(b == pytest.approx(want, abs=0.05) for b in drawn.boxes["i-hole"])
    for s in told["slits"]:
        want = at((s["x0"], s["y0"], s["x1"], s["y1"]))
        assert any(b == pytest.approx(want, abs=0.05) for b in drawn.boxes["i-slit"])
    assert len(drawn.boxes.get("i-hole", [])) == len(told["holes"])
    assert len(drawn.boxes.get("i-slit", [])) == len(told["slits"])
    spans = {"overall cut length": (0.0, long)}
    as_cut = told["fit"]["reference_to_reference_mm"]
    if as_cut < long - 1.0:
        tip = next(r["mm"] for r in told["fit"]["breakdown"] if "allowance" in r["what"])
        spans["as cut"] = (tip, tip + as_cut)
    for words, (a, b) in spans.items():
        text, (x, y) = next((t, place) for t, place in drawn.words.items() if words in t)
        assert mm(text.split(":")[-1].removeprefix("overall cut length ")) == pytest.approx(b - a, abs=0.0501)
        left, right = x0 + a * SCALE, x0 + b * SCALE
        assert x == pytest.approx((left + right) / 2, abs=0.05)
        line = next(
            q
            for q in drawn.boxes["lead"]
            if q[1] == q[3] and (q[0], q[2]) == pytest.approx((left, right), abs=0.05) and y < q[1] < top
        )
        heads = [
            q
            for q in drawn.boxes["lead"]
            if q[3] - q[1] == pytest.approx(6.0) and q[1] < line[1] < q[3] and q[2] - q[0] > 1
        ]
        assert min(q[0] for q in heads) == pytest.approx(left, abs=0.05)
        assert max(q[2] for q in heads) == pytest.approx(right, abs=0.05)
    every = [b for boxes in drawn.boxes.values() for b in boxes]
    assert all(min(b) >= -0.01 and b[2] <= drawn.width + 0.01 and b[3] <= drawn.height + 0.01 for b in every)


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
    ends = sorted(how.boxes, key=lambda b: b[0])
    if pattern.measure.lies == "round":
        # Round the body, 15 mm, and on its middle, the tape, 2.5 mm off, running out along a tangent to its word.
        body = next(b for b in how.boxes if b[2] - b[0] == pytest.approx(30.0, abs=0.01))
        tape = max(how.boxes, key=lambda b: (b[2] - b[0]) * (b[3] - b[1]))
        middle = ((body[0] + body[2]) / 2, (body[1] + body[3]) / 2)
        assert tape == pytest.approx(
            (middle[0] - 17.5, middle[1] - 17.5, middle[0] + 17.5, middle[1] + 15.155), abs=0.01
        )
        run = next(b for b in how.boxes if b[1] == pytest.approx(b[3], abs=1e-4) and b[2] - b[0] > 5)
        # A tangent at -60 degrees begins 8.75 mm to the right of the middle and 15.16 mm below it.
        assert (run[0], run[1]) == pytest.approx((middle[0] + 8.75, middle[1] + 15.155), abs=0.02)
        assert how.words["tape"][0] > run[2]
        head = min(how.boxes, key=lambda b: (b[2] - b[0]) * (b[3] - b[1]) if b[3] - b[1] > 0.1 else 1e9)
        assert middle[1] < head[1] < middle[1] + 17.5
        assert how.words[pattern.measure.what] == pytest.approx(middle, abs=2.0)
    elif pattern.measure.lies == "folded":
        # The ring and, through it, the strap folded on itself 6 mm apart, its two halves of one length.
        ring = next(b for b in how.boxes if b[2] - b[0] == pytest.approx(12.0, abs=0.01))
        strap = next(b for b in how.boxes if b[2] - b[0] == pytest.approx(53.0, abs=0.01))
        assert strap[3] - strap[1] == pytest.approx(6.0, abs=0.01)
        assert (strap[1] + strap[3]) / 2 == pytest.approx((ring[1] + ring[3]) / 2)
        assert ring[0] < strap[0] < ring[2] < strap[2]
        # From the ring's wire to where the snap sits, short of the strap's end; the words in the middle.
        level = next(b for b in how.boxes if b[1] == b[3] and b[2] - b[0] > 30)
        assert strap[0] < level[0] < ring[2]
        assert level[0] + 40 < level[2] < strap[2]
        assert how.words[pattern.measure.what][0] == pytest.approx((level[0] + level[2]) / 2, abs=0.01)
        assert 0.5 < abs(how.words[pattern.measure.what][1] - level[1]) < 3.0
        # Either is one line without a break, the ring once round.
        drawn = [svgelements.Path(d) for d in re.findall(r' d="([^"]+)"', show.how_to_measure(pattern))]
        assert [d.d().count("M") for d in drawn] == [1] * len(drawn)
        assert min(abs(d.length(error=1e-4) - 12 * math.pi) for d in drawn) < 0.01
    else:
        # A mark across the strap at either point, the arrows end over them, the names stand under them.
        strap = max(how.boxes, key=lambda b: (b[2] - b[0]) * (b[3] - b[1]))
        marks = sorted(b[0] for b in how.boxes if b[0] == b[2] and b[1] > strap[1] and b[3] < strap[3])
        (x0, _), (x1, _) = how.words[pattern.start.reference], how.words[pattern.finish.reference]
        level = next(b for b in how.boxes if b[1] == b[3] and b[3] < strap[1] and b[2] - b[0] > 30)
        if pattern.start.reference != pattern.finish.reference:
            assert marks == pytest.approx([x0, x1], abs=0.01)
        assert (level[0], level[2]) == pytest.approx(marks, abs=0.01)
        assert 0.5 < abs(how.words[pattern.measure.what][1] - level[1]) < 3.0
        # Both marks alike, short of either edge.
        heights = {
            (round(b[1], 3), round(b[3], 3)) for b in how.boxes if b[0] == b[2] and strap[1] < b[1] < b[3] < strap[3]
        }
        assert len(heights) == 1
        for name in (pattern.start.reference, pattern.finish.reference):
            assert strap[3] < how.words[name][1] < how.height
    assert ends[0][0] >= 0
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


def test_fields_say_how_a_length_a_pair_a_load_and_a_paper_were_understood() -> None:
    """25.4 mm are 1 in, 19.05 mm 3/4 in; 12 kg hang with 118 N; letter is 215.9 x 279.4 mm."""
    got = form.read(
        {"pattern": "wristband", "measure": "6 3/4", "units": "in", "to_tip": "1; 3/4", "load": "12 kg", "paper": "letter",
         "to_slit": "{finish = '1/2 in'}", "ease": "-2 mm", "leather": "1.8 mm", "temper": "soft"},
        Places(),
    )  # fmt: skip
    assert got.errors == {}
    assert {k: got.notes[k] for k in ("measure", "to_tip", "load", "paper", "leather")} == {
        "measure": "= 171.45 mm (6 3/4 in)",
        "to_tip": "= 25.4 mm (1 in); = 19.05 mm (3/4 in)",
        "load": "= 118 N",
        "paper": "= 215.9 × 279.4 mm",
        "leather": "= 1.8 mm, soft",
    }
    assert got.notes["to_slit"] == "as it is; = 12.7 mm (1/2 in)"
    assert got.notes["ease"].startswith("= −2 mm")


def test_a_text_is_kept_whole_up_to_the_limit_and_refused_beyond_it() -> None:
    base = {"pattern": "wristband", "measure": "172 mm"}
    fits, long = "Ro Lo " * 33 + "Ro", "Ro Lo " * 33 + "Ro L"
    assert (len(fits), len(long)) == (200, 202)
    assert "too long" not in form.read({**base, "turns": fits}, Places()).errors.get("turns", "")
    assert form.values_of({"turns": fits})["turns"] == fits
    refused = form.read({**base, "turns": long}, Places())
    assert refused.job is None
    assert refused.errors["turns"].endswith("A text of more than 200 characters is too long here; shorten it.")


def test_what_is_wrong_stands_beside_its_field_with_a_capital_and_a_full_stop() -> None:
    bad = form.read({"pattern": "wristband", "measure": "172 mm", "leather": "rind", "width": "5 oz"}, Places())
    assert bad.job is None
    assert set(bad.errors) == {"width"} or set(bad.errors) == {"width", "leather"}
    for text in bad.errors.values():
        assert text[0].isupper() or text[0] == "'"
        assert text.endswith(".")
        assert "; " in text


def test_fields_offer_what_the_maker_has(tmp_path: Path) -> None:
    (tmp_path / "shelf.toml").write_text('[quay]\nthickness = "2 mm"\n[dune]\nthickness = "3 mm"\n', encoding="utf-8")
    printers.store(tmp_path / "printers.toml", Printer("attic", 0.99, 0.99))
    places = Places(None, tmp_path / "shelf.toml", tmp_path / "printers.toml")
    offered = form.choices(places, patterns.find("belt", "x"))
    assert [v for v, _ in offered["leather"]] == ["dune", "quay"]
    assert [v for v, _ in offered["printer"]] == ["attic"]
    assert {"laser", "drag-knife", "pen-plotter", "oscillating-knife"} <= {v for v, _ in offered["machine"]}
    named = {v for v, _ in offered["hardware"]}
    assert {"buckle-38", "rivet-10"} <= named
    assert not {"snap-20", "ring-25"} & named
    assert form.choices(places)["hardware"] == []
