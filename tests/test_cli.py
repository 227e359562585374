"""The commands, as a maker runs them."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from strapwork.cli import main as cli
from strapwork.errors import InputError
from strapwork.job import changes, numbers
from strapwork.job import job as jobs
from tests.helpers import job_of

SAMPLES = Path(__file__).resolve().parents[1] / "samples"


def run(*args: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "strapwork", *args], capture_output=True, text=True, cwd=cwd, check=False
    )


def test_draft_writes_a_sheet_and_its_numbers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "band"
    assert cli.main(["draft", "wristband", "--measure", "17.2 cm", "--leather", "1.8 mm", "--out", str(out)]) == 0
    assert sorted(p.name for p in out.iterdir()) == ["numbers.json", "wristband.pdf"]
    numbers = json.loads((out / "numbers.json").read_text(encoding="utf-8"))
    piece = numbers["pieces"][0]
    assert numbers["units"] == "mm"
    assert piece["measure_mm"] == 172.0
    assert piece["fit"]["cut_length_mm"] == piece["strap"]["length_mm"]
    assert piece["braid"]["passes"] == [
        {"after_turn": 4, "gap": 2, "face": "front"},
        {"after_turn": 6, "gap": 1, "face": "front"},
    ]
    assert numbers["sheets"][0]["file"] == "wristband.pdf"
    said = capsys.readouterr().out
    for words in ("finished", "as cut", "overall cut length", "Band of the cut length", "take-up", "50 mm square"):
        assert words in said


def test_json_alone_writes_no_file(tmp_path: Path) -> None:
    done = run("draft", "belt", "--measure", "34 in", "--json", cwd=tmp_path)
    assert done.returncode == 0
    assert json.loads(done.stdout)["pieces"][1]["pattern"] == "keeper-loop"
    assert list(tmp_path.iterdir()) == []


def test_nothing_is_overwritten_without_force(tmp_path: Path) -> None:
    args = ["draft", "wristband", "--measure", "172 mm", "--out", str(tmp_path / "x")]
    assert cli.main(args) == 0
    before = (tmp_path / "x" / "wristband.pdf").read_bytes()
    assert cli.main(args) == 2
    assert (tmp_path / "x" / "wristband.pdf").read_bytes() == before
    assert cli.main([*args, "--force"]) == 0
    assert (tmp_path / "x" / "wristband.pdf").read_bytes() == before  # and byte for byte the same


def bands(**more: object) -> dict[str, Any]:
    """The numbers of a job of one wristband."""
    band = {"label": "Band", "pattern": "wristband", "measure": "172 mm", "leather": "tan", **more}
    hides = {"tan": {"thickness": "1.8 mm"}, "brown": {"thickness": "1.8 mm"}}
    return jobs.make(job_of({"formats": ["svg"], "card": "none", "leathers": hides, "pieces": [band]})).numbers


@pytest.fixture(scope="module")
def earlier(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with an earlier run."""
    folder = tmp_path_factory.mktemp("earlier")
    (folder / "numbers.json").write_text(numbers.dumps(bands()), encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "Nothing changes."),
        ({"count": 2}, "Band: count 1 to 2."),
        ({"hand": "left"}, "Band: hand right to left."),
        ({"leather": "brown"}, "Band: leather tan to brown."),
        ({"leather": "1.8 mm"}, "Band: leather tan to without a name."),
        ({"measure": "173 mm"}, "Band: cut length 252.2 mm to 253.1 mm, finished 193.3 mm to 194.3 mm."),
        # Less than what is shown is no change of length: never "252.2 mm to 252.2 mm".
        ({"measure": "172.02 mm"}, "Band: holes, slits or braid."),
        ({"relief": "3 mm"}, "Band: holes, slits or braid."),
        ({"turns": "Ru Lu"}, "Band: holes, slits or braid."),
    ],
)
def test_a_second_run_says_of_a_piece_what_a_maker_must_know_before_cutting(
    more: dict[str, object], said: str, earlier: Path
) -> None:
    """Finished round a wrist of 172 mm, with 10 mm of ease and half of two layers of 1.8 mm: 172 + 10 + 3.6 pi = 193.3 mm.

    A millimetre more is one more of the strap less what a longer braid takes up less.
    """
    assert changes.of_folder(earlier, bands(**more), "mm") == [said]


def test_of_pieces_with_one_label_each_is_compared_with_its_own(tmp_path: Path) -> None:
    """One band of 160 mm and one of 180 mm, both called Band; then the first is made 20 mm longer."""

    def two(first: str) -> dict[str, Any]:
        pieces = [
            {"label": "Band", "pattern": "wristband", "measure": m, "leather": "1.8 mm"} for m in (first, "180 mm")
        ]
        return jobs.make(job_of({"formats": ["svg"], "card": "none", "pieces": pieces})).numbers

    (tmp_path / "numbers.json").write_text(numbers.dumps(two("160 mm")), encoding="utf-8")
    (said,) = changes.of_folder(tmp_path, two("180 mm"), "mm")
    assert re.fullmatch(r"Band: cut length 24\d[.]\d mm to 25\d[.]\d mm, finished 181[.]3 mm to 201[.]3 mm[.]", said)


@pytest.mark.parametrize(
    ("more", "files"),
    [
        (["--paper", "letter"], "kit.pdf"),
        (["--prices", "dear.toml"], "kit.pdf"),
        (["--waste", "40 %"], "order.csv, kit.pdf"),
        (["--spare", "40 %"], "order.csv, kit.pdf"),
    ],
)
def test_where_no_piece_changes_the_files_that_do_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], more: list[str], files: str
) -> None:
    monkeypatch.chdir(tmp_path)
    for name, hour in (("prices", 24), ("dear", 30)):
        Path(f"{name}.toml").write_text(f'currency = "EUR"\nhour = "{hour}.00"\n', encoding="utf-8")
    Path("kit.toml").write_text(
        'prices = "prices.toml"\n[[pieces]]\npattern = "wristband"\nmeasure = "172 mm"\ncount = 5\n', encoding="utf-8"
    )
    assert cli.main(["make", "kit.toml", "--out", "kit", "--lists", "with"]) == 0
    capsys.readouterr()
    assert cli.main(["make", "kit.toml", "--out", "kit", "--lists", "with", "--dry"]) == 0
    assert "kit: Nothing changes." in capsys.readouterr().err
    assert cli.main(["make", "kit.toml", "--out", "kit", "--lists", "with", "--dry", *more]) == 0
    assert f"kit: No piece changes, but what is in these files does: {files}." in capsys.readouterr().err


def test_more_sets_and_another_width_are_named_with_what_they_were(earlier: Path) -> None:
    (sets,) = changes.of_folder(earlier, bands(sets=3), "mm")
    assert changes.of_folder(earlier, bands(sets=0), "mm")[0].endswith(", sets 2 to none.")
    (wide,) = changes.of_folder(earlier, bands(width="20 mm"), "mm")
    assert sets.endswith(", sets 2 to 3.")
    assert wide.endswith(", width 19.1 mm to 20 mm.")


def test_files_that_come_and_go_are_named_up_to_twenty(tmp_path: Path) -> None:
    def sheets(names: Iterable[int]) -> dict[str, Any]:
        return {"pieces": [], "sheets": [{"file": f"kit-{k:02}.svg"} for k in names]}

    (tmp_path / "numbers.json").write_text(json.dumps(sheets(range(20))), encoding="utf-8")

    first = ", ".join(f"kit-{k:02}.svg" for k in range(20))
    assert changes.of_folder(tmp_path, sheets(()), "mm") == [f"Files that go: {first}."]
    assert changes.of_folder(tmp_path, sheets(range(21)), "mm") == ["Files that come: kit-20.svg."]
    (tmp_path / "numbers.json").write_text(json.dumps(sheets(())), encoding="utf-8")
    assert changes.of_folder(tmp_path, sheets(range(21)), "mm") == [f"Files that come: {first} ..."]


PRICES = 'currency = "EUR"\nwaste = "50 %"\n[leather]\n"1.8 mm" = { price = 100 }\n[minutes]\npunch = 0.5\n'


@pytest.mark.parametrize(
    ("job", "waste"),
    [
        ({}, 0.25),
        ({"waste": 0.1}, 0.10),
        ({"prices": "mine.toml"}, 0.50),
        ({"prices": "mine.toml", "waste": 0.1}, 0.10),
    ],
)
def test_waste_is_the_jobs_own_or_that_of_its_prices_or_a_quarter(
    job: dict[str, Any], waste: float, tmp_path: Path
) -> None:
    """Leather to buy is what the straps take, and its waste; 1 m2 at 100 costs 100.  One snap in ten lies ready, or as asked."""
    (tmp_path / "mine.toml").write_text(PRICES, encoding="utf-8")
    band = {"pattern": "wristband", "measure": "172 mm", "leather": "1.8 mm", "count": 30}
    priced = job.pop("prices", None)
    asked = job_of({"formats": ["svg"], "card": "none", **job, "pieces": [band]})
    made = jobs.make(replace(asked, prices=tmp_path / "mine.toml" if priced else None))

    (leather,) = made.numbers["order"]["leather"]
    assert leather["gross_mm2"] == pytest.approx(leather["net_mm2"] * (1.0 + waste))
    assert [h["spare"] for h in made.numbers["order"]["hardware"]] == [3]
    assert made.lists is not None
    minutes = {k: str(v) for k, v in made.lists.minutes(made.pieces[0]).items()}
    if priced:
        assert made.lists.cost is not None
        assert float(made.lists.cost.materials) == pytest.approx(leather["gross_mm2"] / 1e6 * 100, abs=0.01)
        assert minutes == {"punch": "1.0"}  # two holes
    else:
        assert (made.lists.cost, minutes) == (None, {})


def test_strips_of_a_job_are_planned_and_come_into_its_lists_and_its_file_for_a_spreadsheet() -> None:
    """By hand: a strap of 252.2 mm five times in a strip of 1300 mm (1260.8 mm), so that 6 want another one."""
    band = {"pattern": "wristband", "measure": "172 mm", "leather": "tan", "count": 6}
    strip = {"leather": "tan", "width": "3/4 in", "length": "1300 mm", "have": 1, "price": "8.50"}
    hides = {"tan": {"thickness": "1.8 mm"}}
    made = jobs.make(job_of({"spare": 0, "leathers": hides, "strips": [strip], "pieces": [band], "formats": ["pdf"]}))

    assert made.lists is not None
    (plan,) = made.numbers["strips"]
    assert (plan["used"], plan["missing"], plan["proven"]) == (2, 1, True)
    assert sorted(len(strip["cuts"]) for strip in plan["plan"]) == [1, 5]
    (leather,) = made.numbers["order"]["leather"]
    assert leather["gross_mm2"] == pytest.approx(2 * 1300 * 19.05)
    print(plan)
    assert [h["spare"] for h in made.numbers["order"]["hardware"]] == [0]
    kinds = [row.split(",")[0] for row in made.lists.csv().decode("utf-8-sig").splitlines()]
    assert (kinds.count("strip"), kinds.count("strip cut")) == (2, 6)


def test_strips_neither_in_hand_nor_on_sale_are_named() -> None:
    strip = {"leather": "tan", "width": "3/4 in", "length": "1300 mm"}
    job = {"leathers": {"tan": {"thickness": "1.8 mm"}}, "pieces": [{"pattern": "wristband", "measure": "172 mm"}]}
    with pytest.raises(
        InputError, match=r"^strips\[2\]: strips of 'tan' are neither in hand nor on sale; add have or price"
    ):
        jobs.make(job_of({**job, "strips": [{**strip, "have": 0}, strip]}))


def test_numbers_that_cannot_be_read_are_not_compared(tmp_path: Path) -> None:
    """Another program's, or half a file: the run is refused by its names all the same, without a word on changes."""
    for text in ("", "[1, 2]", '{"pieces": [', "x" * 100):
        (tmp_path / "numbers.json").write_text(text, encoding="utf-8")
        assert changes.of_folder(tmp_path, {"pieces": [], "sheets": []}, "mm") == []
    assert changes.of_folder(tmp_path / "elsewhere", {"pieces": [], "sheets": []}, "mm") == []


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["draft", "wristbnd", "--measure", "172 mm"], "did you mean 'wristband'"),
        (["draft", "wristband"], "the wrist is missing"),
        (["draft", "wristband", "--measure", "172"], "--measure: '172' has no unit"),
        (["draft", "wristband", "--measure", "3 m"], "out of range"),
        (
            ["draft", "wristband", "--measure", "172 mm", "--width", "15 mm", "--strands", "9"],
            "too narrow for 9 strands",
        ),
        (["draft", "wristband", "--measure", "172 mm", "--width", "12 mm"], "wider than the strap"),
        (["draft", "wristband", "--measure", "172 mm", "--sets", "30"], "ask for"),
        (["draft", "plain-strap", "--measure", "140 mm", "--to-slit", "70 mm"], "no room for slits"),
        (["draft", "wristband", "--measure", "172 mm", "--paper", "A9"], "--paper: 'A9' is no paper"),
        (["draft", "wristband", "--measure", "172 mm", "--format", "png"], "--formats: 'png'"),
        (["draft", "wristband", "--measure", "172 mm", "--patterns", "nowhere"], "is not a folder"),
        (["draft", "wristband", "--measure", "172 mm", "--leather", "1 parsec"], "--leather"),
        (["draft", "wristband", "--measure", "172 mm", "--strands", "6"], "both ends joined"),
        (["make", "none.toml"], "none.toml: the job file cannot be read"),
        (["make"], "no job file is named"),
    ],
)
def test_bad_input_gets_one_sentence_and_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], args: list[str], words: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert cli.main([*args, "--out", "out"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert words in captured.err
    assert captured.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_thin_leather_is_a_caution_not_a_stop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        cli.main(["draft", "wristband", "--measure", "172 mm", "--leather", "1.0 mm", "--out", str(tmp_path / "x")])
        == 0
    )
    assert "caution: strands 6.4 mm wide are thin" in capsys.readouterr().out


def test_toml_that_cannot_be_read_names_line_and_column(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = tmp_path / "job.toml"
    job.write_text('title = "x"\npieces = [\n', encoding="utf-8")
    assert cli.main(["make", str(job)]) == 2
    err = capsys.readouterr().err
    assert "job.toml" in err
    assert "line" in err
    assert "column" in err or "end of document" in err


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('label = "A"\npattern = "wristband"', "pieces[1].measure: the wrist is missing"),
        ('label = "A"\npattern = "wristbnd"\nmeasure = "172 mm"', "pieces[1].pattern: no pattern is called 'wristbnd'"),
        ('label = "A"\npattern = "wristband"\nmeasure = "172"', "pieces[1].measure: '172' has no unit"),
        (
            'label = "A"\npattern = "wristband"\nmeasure = "172 mm"\nleather = "rind"',
            "no leather is called 'rind'; did you mean 'rinde'",
        ),
        (
            'label = "A"\npattern = "wristband"\nmeasure = "172 mm"\ncolour = "red"',
            "pieces[1].colour: unknown key 'colour'",
        ),
        ('label = "A"\npattern = "wristband"\nmeasure = "172 mm"\ncount = 0', "pieces[1].count"),
        ('label = "\\u200b"\npattern = "wristband"\nmeasure = "172 mm"', "no letter that can be printed"),
    ],
)
def test_job_refusals_name_the_piece(tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, words: str) -> None:
    job = tmp_path / "job.toml"
    job.write_text(f'title = "T"\n[leathers.rinde]\nthickness = "2 mm"\n[[pieces]]\n{text}\n', encoding="utf-8")
    assert cli.main(["make", str(job), "--out", str(tmp_path / "out")]) == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_folder_that_may_not_be_written_is_left_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # Whoever runs the tests as root may write everywhere, so the system's answer is given for it.
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    for step in ("mkdir", "replace"):
        monkeypatch.setattr(f"os.{step}", refuse)
        assert cli.main(["draft", "wristband", "--measure", "172 mm", "--out", str(tmp_path / "x")]) == 2
        assert "cannot be written (Permission denied); choose a folder that you may write to" in capsys.readouterr().err
        assert list(tmp_path.iterdir()) == []
        monkeypatch.undo()


def test_out_that_is_a_file_or_below_one_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("mine")
    for out in (tmp_path / "file", tmp_path / "file" / "below"):
        assert cli.main(["draft", "wristband", "--measure", "172 mm", "--out", str(out)]) == 2
        assert "--out" in capsys.readouterr().err
    assert (tmp_path / "file").read_text() == "mine"


def test_the_starter_job_makes_sheets(tmp_path: Path) -> None:
    starter = tmp_path / "mine.toml"
    assert cli.main(["make", "--starter", str(starter)]) == 0
    assert cli.main(["make", "--starter", str(starter)]) == 2
    assert cli.main(["make", str(starter), "--out", str(tmp_path / "out"), "--format", "pdf,svg"]) == 0
    numbers = json.loads((tmp_path / "out" / "numbers.json").read_text(encoding="utf-8"))
    assert [p["label"] for p in numbers["pieces"]] == [
        "First wristband",
        "Class wristband S",
        "Class wristband M",
        "Class wristband L",
    ]
    assert (tmp_path / "out" / "mine-A.svg").exists()


def test_the_list_of_patterns(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["patterns"]) == 0
    said = capsys.readouterr().out
    assert "wristband: Wristband with a snap" in said
    assert "measure the wrist: Lay a tape" in said
    assert cli.main(["patterns", "--json"]) == 0
    assert {"name", "measure", "how"} <= json.loads(capsys.readouterr().out)[0].keys()


def test_pipes_stay_quiet_and_unknown_options_end_with_two(tmp_path: Path) -> None:
    rows = "name,pattern,measure\nAda,wristband,16 cm\nBruno,key-fob,90 mm\n"
    (tmp_path / "two.csv").write_text(rows, encoding="utf-8")
    done = run("make", "two.csv", "--card", "none", "--json", cwd=tmp_path)
    assert [p["label"] for p in json.loads(done.stdout)["pieces"]] == ["Ada", "Bruno"]
    assert done.stderr == ""
    assert run("draft", "wristband", "--nonsense").returncode == 2
    assert run("--version").stdout.startswith("strapwork ")


def test_inches_are_shown_where_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    args = ["draft", "wristband", "--measure", "6 3/4", "--units", "in", "--out", str(tmp_path / "x")]
    assert cli.main(args) == 0
    said = capsys.readouterr().out
    assert "6 3/4 in" in said
    assert "rounded half up to 1/32 in" in said
    assert cli.main([*args[:-1], str(tmp_path / "y"), "--units", "in16"]) == 0
    said = capsys.readouterr().out
    assert "rounded half up to 1/16 in" in said
    assert "/32 in" not in said


def test_braid_answers_in_words_and_numbers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["braid", "3"]) == 0
    said = capsys.readouterr().out
    assert "After turn 4 pass the tab round the right-hand strand" in said
    assert cli.main(["braid", "5", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert (data["turns_per_set"], data["passes"][0]["after_turn"]) == (10, 6)
    assert cli.main(["braid", "5", "--weave", "over-under", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert (data["workable"], data["reason"], data["repeats_tried"]) == (False, "cannot be undone", 60)
    assert cli.main(["braid", "3", "--word", "1 1"]) == 0
    assert "strands left twisted (1, 2, 3)" in capsys.readouterr().out
    assert cli.main(["braid", "3", "--all"]) == 0
    assert "Schedule 16:" in capsys.readouterr().out
    assert cli.main(["braid"]) == 0
    assert len(capsys.readouterr().out.splitlines()) == 11
    assert cli.main(["braid", "4", "--search"]) == 0
    assert "Rooo Luoo Ruuu Louu" in capsys.readouterr().out
    assert cli.main(["braid", "3", "--left-handed", "--out", str(tmp_path), "--format", "pdf,svg"]) == 0
    assert (tmp_path / "braid-3.pdf").exists()


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["braid", "99"], "STRANDS: 99 strands"),
        (["braid", "3", "--turns", "Rx"], "--turns: 'Rx' is not a turn"),
        (
            ["braid", "3", "--turns", "Rooo"],
            "--turns: 'Rooo' crosses 3 strands but only 2 others are there; cross at most 2",
        ),
        (["braid", "3", "--word", "7"], "--word: '7' is not a crossing of 3 strands"),
        (["braid", "3", "--word", "1", "--turns", "Ro"], "give one of them"),
        (["braid", "4", "--out", "x"], "cannot be worked"),
    ],
)
def test_braid_refusals(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], args: list[str], words: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert cli.main(args) == 2
    assert words in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_the_card_comes_with_the_sheets_alone_or_not_at_all(tmp_path: Path) -> None:
    base = ["draft", "wristband", "--measure", "172 mm"]
    pages = {}
    for how in ("with", "alone", "none"):
        assert cli.main([*base, "--card", how, "--out", str(tmp_path / how)]) == 0
        pages[how] = sorted(p.name for p in (tmp_path / how).iterdir())
    assert pages["with"] == pages["none"] == ["numbers.json", "wristband.pdf"]
    assert pages["alone"] == ["numbers.json", "wristband-card.pdf", "wristband.pdf"]
    assert (tmp_path / "with" / "wristband.pdf").stat().st_size > (tmp_path / "none" / "wristband.pdf").stat().st_size
