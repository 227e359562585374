"""A class from a spreadsheet: rows are pieces, and what is wrong is named by row and column."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from strapwork.cli import main as cli
from strapwork.errors import InputError, Place
from strapwork.files.folders import Places
from strapwork.order import doors
from strapwork.order.order import Job
from strapwork.web import documents


def made(text: str, encoding: str = "utf-8", **job: str) -> Job:
    return doors.of_table(text.encode(encoding), "class.csv", job, Place.file("class.csv"), Places(), "class")


def rows(job: Job) -> list[tuple[str, float, str, int]]:
    return [(o.label, o.value, o.hand, o.ask.count) for o in job.orders]


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_columns_in_any_order_as_spreadsheets_write_them(mark: str, encoding: str) -> None:
    text = "Hand,NAME,measure,pattern,count\r\nleft,Zoë,16 cm,wristband,2\r\n\r\nright,Bruno,180 mm,wristband,\r\n"
    job = made(text.replace(",", mark), encoding)
    assert rows(job) == [("Zoë", 160.0, "left", 2), ("Bruno", 180.0, "right", 1)]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("Ines,wristband,16 cm,leftish,1", "class.csv, row 3, hand: 'leftish' is not a choice"),
        ("Ines,wristband,16,right,1", "class.csv, row 3, measure: '16' has no unit"),
        ("Ines,wristbnd,16 cm,right,1", "row 3, pattern"),
        ("Ines,wristband,16 cm,right,many", "row 3, count: 'many' is no whole number"),
        ("Ines,wristband,3 m,right,1", "row 3, measure"),
        ("Ines,wristband,16 cm,right,1,extra", "row 3"),
    ],
)
def test_what_is_wrong_is_named_by_row_and_column(line: str, words: str) -> None:
    from strapwork.job import job as jobs

    with pytest.raises(InputError) as told:
        jobs.work_out(made(f"name,pattern,measure,hand,count\nAda,wristband,17 cm,right,1\n{line}\n"))
    assert words in str(told.value)


def test_the_entry_says_what_a_row_leaves_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "class.csv").write_text(
        "name,measure,hand,leather\nInes,16 cm,left,\nBruno,18 cm,,2.2 mm\n", encoding="utf-8"
    )
    (tmp_path / "job.toml").write_text(
        'title = "Class"\n[[pieces]]\nfrom = "class.csv"\npattern = "wristband"\nleather = "1.8 mm"\nhand = "right"\n',
        encoding="utf-8",
    )
    assert cli.main(["make", str(tmp_path / "job.toml"), "--json"]) == 0
    pieces = json.loads(capsys.readouterr().out)["pieces"]
    assert [(p["label"], p["hand"], p["leather"]["thickness_mm"]) for p in pieces] == [
        ("Ines", "left", 1.8),
        ("Bruno", "right", 2.2),
    ]


def test_a_starter_table_is_made_as_it_stands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    starter = tmp_path / "class.csv"
    assert cli.main(["make", "--starter", str(starter)]) == 0
    assert cli.main(["make", str(starter), "--json"]) == 0
    told = capsys.readouterr().out
    assert [p["label"] for p in json.loads(told[told.index("{") :])["pieces"]] == ["Ines", "Bruno", "Zoë"]


def test_a_missing_table_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "job.toml").write_text('[[pieces]]\nfrom = "clas.csv"\npattern = "wristband"\n', encoding="utf-8")
    assert cli.main(["make", str(tmp_path / "job.toml")]) == 2
    assert "clas.csv" in capsys.readouterr().err


def test_the_page_takes_the_same_table(tmp_path: Path) -> None:
    text = "name;measure;hand;count\nInes;16 cm;left;2\nBruno;18,5 cm;;\n"
    pasted = documents.of_table(text, {"pattern": "wristband", "leather": "2 mm", "count": 7, "label": "Ada"})
    assert pasted == [
        {"pattern": "wristband", "leather": "2 mm", "measure": "16 cm", "hand": "left", "count": 2, "label": "Ines"},
        {"pattern": "wristband", "leather": "2 mm", "measure": "18,5 cm", "label": "Bruno"},
    ]


def test_dry_says_all_and_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    args = ["draft", "wristband", "--measure", "172 mm", "--out", str(out)]
    assert cli.main([*args, "--dry"]) == 0
    said = capsys.readouterr().out
    assert "overall cut length" in said
    assert "nothing was written" in said
    assert not out.exists()


def test_a_second_run_says_what_would_change_and_force_leaves_nothing_stale(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    job = tmp_path / "job.toml"
    belt = '[[pieces]]\nlabel = "Belt"\npattern = "belt"\nmeasure = "34 in"\n'
    job.write_text(
        f'formats = ["svg"]\n[[pieces]]\nlabel = "Band"\npattern = "wristband"\nmeasure = "172 mm"\n{belt}',
        encoding="utf-8",
    )
    assert cli.main(["make", str(job), "--out", str(out)]) == 0
    first = {p.name for p in out.iterdir()}
    job.write_text(
        'formats = ["svg"]\n[[pieces]]\nlabel = "Band"\npattern = "wristband"\nmeasure = "180 mm"\n', encoding="utf-8"
    )
    capsys.readouterr()

    assert cli.main(["make", str(job), "--out", str(out)]) == 2
    said = capsys.readouterr().err
    assert "Gone: Belt." in said
    assert re.search(r"Band: cut length 252 mm to 259\.\d mm", said)
    assert {p.name for p in out.iterdir()} == first
    assert cli.main(["make", str(job), "--out", str(out), "--force"]) == 0
    assert len({p.name for p in out.iterdir()}) < len(first)
    listed = json.loads((out / "numbers.json").read_text(encoding="utf-8"))["sheets"]
    assert {s["file"] for s in listed} | {"numbers.json"} == {p.name for p in out.iterdir()}
