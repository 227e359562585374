"""One voice: terminal, card, braid pictures, page and numbers say the same of a piece, for either hand."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from strapwork.braid import passes
from strapwork.braid.passes import TabPass
from strapwork.braid.word import parse_turns
from strapwork.cli import main as cli
from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.order import doors
from strapwork.stock import printers
from strapwork.stock.printers import Printer
from strapwork.web import form, show
from tests.helpers import HERE, pages_read

STRANDS = (3, 5, 7, 9)
PASS = re.compile(
    r"after turn (\d+) (round the (?:left|right)-hand strand|between the \d+ strands on the left and the \d+ on the right),? "
    r"from the (front|back)"
)
PICTURED = re.compile(
    r"\((round the (?:left|right)-hand strand|between the \d+ strands on the left and the \d+ on the right)\), from the (front|back)"
)


def asked(strands: int, hand: str, weave: str = "over") -> dict[str, str]:
    return {
        "pattern": "plain-strap",
        "measure": "400 mm",
        "leather": "1.8 mm",
        "width": f"{6 * strands} mm",
        "strands": str(strands),
        "sets": "2",
        "hand": hand,
        "weave": weave,
        "units": "mm",
    }


def one_line(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def gap_of(words: str, strands: int) -> int:
    """The gap that a phrase means, read as a maker reads it."""
    if "right-hand" in words:
        return strands - 1
    if "left-hand" in words:
        return 1
    found = re.search(r"between the (\d+) strands on the left", words)
    assert found
    return int(found.group(1))


def stated(text: str, strands: int) -> set[tuple[int, int, str]]:
    """Every pass that a text states, as (turn, gap, face)."""
    return {(int(turn), gap_of(where, strands), face) for turn, where, face in PASS.findall(one_line(text))}


@pytest.fixture(scope="module")
def told() -> Any:
    """Everything that is said of one piece, by where it is said."""
    kept: dict[tuple[int, str, str], dict[str, Any]] = {}

    def of(strands: int, hand: str, weave: str = "over") -> dict[str, Any]:
        key = (strands, hand, weave)
        if key not in kept:
            texts = asked(*key)
            if weave == "under":
                texts["card"] = "none"  # of these only the numbers are asked for
            result = jobs.make(doors.of_texts(texts, HERE, Places()))
            pages = pages_read(result.files["plain-strap.pdf"])
            kept[key] = {
                "numbers": result.numbers["pieces"][0],
                "card": "\n".join(p for p in pages if "Bench card" in p),
                "pictures": "\n".join(p for p in pages if "both ends joined" in p),
                "page": show.preview(form.read(texts, Places())),
            }
        return kept[key]

    return of


def terminal(capsys: pytest.CaptureFixture[str], tmp_path: Path, texts: dict[str, str]) -> str:
    args = [f"--{k}={v}" for k, v in texts.items() if k != "pattern"]
    assert cli.main(["draft", texts["pattern"], *args, "--out", str(tmp_path / "out"), "--force"]) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("strands", STRANDS[:-1])
def test_every_voice_states_the_same_passes(
    strands: int, hand: str, told: Any, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    said = told(strands, hand)
    numbers = said["numbers"]
    told_by_numbers = {(p["after_turn"], p["gap"], p["face"]) for p in numbers["braid"]["passes"]}

    assert numbers["hand"] == hand
    assert stated("; ".join(numbers["braid"]["passes_in_words"]), strands) == told_by_numbers
    assert stated(terminal(capsys, tmp_path, asked(strands, hand) | {"card": "none"}), strands) == told_by_numbers
    assert stated(said["card"], strands) == told_by_numbers
    assert stated(" ".join(said["page"]["braiding"]), strands) == told_by_numbers
    pictured = {(gap_of(where, strands), face) for where, face in PICTURED.findall(one_line(said["pictures"]))}
    assert pictured == {(gap, face) for _, gap, face in told_by_numbers}
    assert f"{hand}-handed" in one_line(said["pictures"])
    assert f"{hand}-handed" in one_line(said["card"])


@pytest.mark.parametrize("weave", ["over", "under"])
@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("strands", STRANDS)
def test_what_is_stated_frees_the_strands_by_the_proof(strands: int, hand: str, weave: str, told: Any) -> None:
    """The turns and passes of numbers.json, replayed: nothing crossed, nothing twisted at the end of the set; and one
    pass fewer, or the other hand's passes, does not do it."""
    braid = told(strands, hand, weave)["numbers"]["braid"]
    turns = parse_turns(" ".join(braid["turns"]), strands)
    schedule = tuple(TabPass(p["after_turn"], p["gap"], p["face"]) for p in braid["passes"])

    assert passes.is_right(strands, turns, schedule)
    assert not passes.is_right(strands, turns, schedule[:1])
    assert not passes.is_right(strands, turns, passes.mirrored(strands, schedule))


def test_the_first_turn_is_the_hands_own(told: Any) -> None:
    """A right hand begins with the right strand, a left hand with the left (common practice, no source)."""
    assert told(3, "right")["numbers"]["braid"]["turns"][0] == "Ro"
    assert told(3, "left")["numbers"]["braid"]["turns"][0] == "Lo"
    assert "Left strand A over B" in one_line(told(3, "left")["pictures"])
    assert "Right strand C over B" in one_line(told(3, "right")["pictures"])


def test_every_voice_says_the_same_three_lengths(told: Any, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    said = told(3, "right")
    fit = said["numbers"]["fit"]
    out = one_line(terminal(capsys, tmp_path, asked(3, "right")))
    page = {row["what"]: row["mm"] for row in said["page"]["lengths"]}
    card = one_line(said["card"])
    for what, key in (
        ("finished", "finished_mm"),
        ("as cut", "reference_to_reference_mm"),
        ("overall cut length", "cut_length_mm"),
    ):
        shown = f"{round(fit[key] + 1e-9, 1):.1f}".removesuffix(".0") + " mm"
        assert f"{what} {shown}" in out
        assert page[what] == shown
        assert shown in card


def test_the_lines_of_a_cut_length_add_up_to_it_on_terminal_and_page(
    told: Any, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    rows = [(row["what"], row["mm"]) for row in told(3, "right")["page"]["rows"]]
    assert len(rows) > 2
    lengths = [float(mm.removesuffix(" mm").replace("−", "-")) for _, mm in rows]
    assert sum(lengths[:-1]) == pytest.approx(lengths[-1], abs=1e-9)
    out = one_line(terminal(capsys, tmp_path, asked(3, "right") | {"card": "none"}))
    for what, mm in rows:
        assert f"{what} {mm}" in out


def test_a_braid_is_cut_within_a_band_and_a_plain_strap_to_its_length(told: Any) -> None:
    """No braid, no hardware, no wrap: 400 mm of strap are 400 mm of leather."""
    said = told(3, "right")
    fit = said["numbers"]["fit"]
    low, high = (f"{round(fit[key] + 1e-9, 1):g} mm" for key in ("low_mm", "high_mm"))
    assert low != high
    assert said["page"]["band"].startswith(f"{low} to {high}; it rests on ")
    assert f"Band of the cut length: {low} to {high}; it rests on" in one_line(said["card"])
    plain = {"pattern": "plain-strap", "measure": "400 mm", "strands": "1", "sets": "0", "units": "mm"}
    assert show.preview(form.read(plain, Places()))["band"].startswith("400 mm exactly; ")


def test_every_voice_says_which_half_shows_on_which_side(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A band that wraps sets its halves facing opposite ways, a fob the same way; the cap goes on the grain side
    (common practice, no source)."""
    cap = "cap half with its cap on the grain side and its socket on the flesh side"
    for pattern, measure, stud in (
        ("wristband", "172 mm", "stud half with its back on the flesh side and its stud on the grain side"),
        ("key-fob", "90 mm", "stud half with its back on the grain side and its stud on the flesh side"),
    ):
        texts = {"pattern": pattern, "measure": measure, "units": "mm"}
        result = jobs.make(doors.of_texts(texts, HERE, Places()))
        voices = [
            terminal(capsys, tmp_path, texts),
            "\n".join(pages_read(result.files[f"{pattern}.pdf"])),
            "; ".join(show.preview(form.read(texts, Places()))["hardware"]),
            json.dumps(result.numbers["pieces"][0]["hardware"]),
        ]
        for text in map(one_line, voices):
            assert cap in text
            assert stud in text


@pytest.mark.parametrize(("pattern", "measure", "more"), [
    ("dog-lead", "1.2 m", ("before every walk", "do not hang or lift people on it", "fresh blade", "eye protection")),
    ("wristband", "172 mm", ("fresh blade", "eye protection", "children under three")),
    ("keeper-loop", "90 mm", ("fresh blade",)),
])  # fmt: skip
def test_terminal_paper_and_page_give_the_cautions_that_the_goods_need_and_no_others(
    pattern: str, measure: str, more: tuple[str, ...], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    texts = {"pattern": pattern, "measure": measure, "leather": "1.8 mm" if pattern != "dog-lead" else "3.4 mm"}
    everything = ("before every walk", "do not hang or lift people on it", "fresh blade", "eye protection", "children under three",
                  "breaks away", "glue the backing", "extraction running")  # fmt: skip
    if pattern == "dog-lead":
        more = (*more, "children under three")
    got = form.read(texts, Places())
    result = jobs.make(doors.of_texts(texts, HERE, Places()))
    voices = {
        "terminal": terminal(capsys, tmp_path, texts),
        "paper": "\n".join(pages_read(result.files[f"{pattern}.pdf"])),
        "page": " ".join(f["message"] for f in show.preview(got)["findings"]),
        "numbers": " ".join(f["message"] for f in result.numbers["pieces"][0]["findings"]),
    }
    for name, said in voices.items():
        text = one_line(said).lower()
        assert {w for w in everything if w in text} == set(more), name


def test_a_sheet_that_says_it_is_corrected_is(tmp_path: Path) -> None:
    """On a printer of 98.5 % x 99 % the SVG's square is drawn 50 / 0.985 by 50 / 0.99, as the PDF's is."""
    kept = tmp_path / "printers.toml"
    printers.store(kept, Printer("attic", 0.985, 0.99))
    texts = {"pattern": "wristband", "measure": "172 mm", "printer": "attic", "formats": "svg,pdf", "card": "none"}
    files = jobs.make(doors.of_texts(texts, HERE, Places(printers=kept))).files
    svg = next(c for n, c in files.items() if n.endswith(".svg")).decode()

    assert "Corrected for the printer" in svg
    factors = {m.split()[:4][0] + " " + m.split()[:4][3] for m in re.findall(r"matrix\(([^)]*)\)", svg)}
    # The sheet lies, so it is fed by its short side: across the feed is along the sheet's height.
    assert [float(v) for v in factors.pop().split()] == pytest.approx([1 / 0.99, 1 / 0.985], abs=1e-7)
    assert factors == set()
    groups = len(re.findall(r"<g [^>]*id=\"(?:outline|slits|holes|marks|hardware|labels|sheet)\"", svg))
    assert groups == len(re.findall(r"matrix\(", svg)) == 7


def test_a_plain_sheet_says_nothing_of_a_printer() -> None:
    texts = {"pattern": "wristband", "measure": "172 mm", "formats": "svg", "card": "none"}
    files = jobs.make(doors.of_texts(texts, HERE, Places())).files
    svg = next(c for n, c in files.items() if n.endswith(".svg")).decode()
    assert "Corrected" not in svg
    assert "matrix(" not in svg
