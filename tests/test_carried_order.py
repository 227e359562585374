"""A paper found in a drawer: every page says which numbers it has, and the PDF carries its order."""

from __future__ import annotations

import io
import json
import tomllib
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter

from strapwork import __version__
from strapwork.cli import main as cli
from strapwork.files import carried
from strapwork.job import job as jobs
from tests.helpers import job_of

CLASS = {
    "title": "Tern & Tackle: beginners' class",
    "units": "in",
    "leathers": {"harbour-tan": {"thickness": "4-5 oz", "tannage": "vegetable"}},
    "pieces": [
        {"pattern": "wristband", "sizes": {"S": "6", "L": "7 1/2"}, "leather": "harbour-tan", "count": 2},
        {"pattern": "belt", "measure": "34", "broken": True},
    ],
}


def test_a_pdf_carries_the_order_and_the_numbers() -> None:
    made = jobs.make(job_of({**CLASS, "card": "alone"}))
    for name in ("x.pdf", "x-card.pdf"):
        kept = PdfReader(io.BytesIO(made.files[name])).attachments
        # The list of files of the run cannot stand in a file of the run.
        told = json.loads(made.files["numbers.json"])
        told.pop("files", None)
        assert json.loads(kept["numbers.json"][0]) == told
        assert tomllib.loads(kept["job.toml"][0].decode()) == {**CLASS, "card": "alone"}
    again = jobs.make(job_of(tomllib.loads(kept["job.toml"][0].decode())))
    assert again.files == made.files


def test_every_page_bears_version_and_fingerprint() -> None:
    made = jobs.make(job_of({**CLASS, "machine": "laser"}))
    words = f"Strapwork {__version__}, numbers {made.numbers['fingerprint']}"
    for name in ("x.pdf", "x-map.pdf"):
        if name in made.files:
            for page in PdfReader(io.BytesIO(made.files[name])).pages:
                assert words in page.extract_text().replace("\n", " ")


def test_a_changed_job_has_another_fingerprint_and_an_equal_one_the_same() -> None:
    def fingerprint(**more: object) -> str:
        raw = {"pieces": [{"pattern": "wristband", "measure": "172 mm", **more}]}
        return str(jobs.make(job_of(raw)).numbers["fingerprint"])

    assert fingerprint() == fingerprint()
    assert len({fingerprint(), fingerprint(measure="172.1 mm"), fingerprint(hand="left"), fingerprint(count=2)}) == 4


def test_sheets_are_made_again_from_their_pdf(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first, second = tmp_path / "first", tmp_path / "second"
    assert cli.main(["draft", "belt", "--measure", "34 in", "--paper", "letter", "--out", str(first)]) == 0
    capsys.readouterr()
    assert cli.main(["make", str(first / "belt.pdf"), "--out", str(second)]) == 0
    numbers = json.loads((first / "numbers.json").read_text(encoding="utf-8"))
    assert f"The numbers are those of the paper ({numbers['fingerprint']})." in capsys.readouterr().out
    assert (second / "belt.pdf").read_bytes() == (first / "belt.pdf").read_bytes()


def test_a_pdf_whose_numbers_have_changed_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = jobs.make(job_of({"pieces": [{"pattern": "wristband", "measure": "172 mm"}]}))
    order = b'[[pieces]]\npattern = "wristband"\nmeasure = "180 mm"\n'
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    writer.add_attachment("job.toml", order)
    writer.add_attachment("numbers.json", made.files["numbers.json"])
    writer.write(tmp_path / "old.pdf")
    assert cli.main(["make", str(tmp_path / "old.pdf"), "--out", str(tmp_path / "out")]) == 0
    assert "not those of the paper any more" in capsys.readouterr().out


def empty_pdf() -> bytes:
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"%PDF-1.4\nnothing more", "damaged or locked"),
        (empty_pdf()[:200], "damaged or locked"),
        (empty_pdf(), "carries no order"),
    ],
)
def test_a_pdf_without_an_order_is_refused(
    content: bytes, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "x.pdf").write_bytes(content)
    assert cli.main(["make", str(tmp_path / "x.pdf"), "--out", str(tmp_path / "out")]) == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_what_does_not_read_back_as_meant_is_not_handed_over() -> None:
    """ISO 32000-1: page boxes (14.11.2), PrintScaling (12.2), embedded files (7.11.4)."""
    made = jobs.make(job_of({"pieces": [{"pattern": "wristband", "measure": "172 mm"}]}))
    good, pages = made.files["x.pdf"], [(s.width, s.height) for s in made.sheets]
    kept = PdfReader(io.BytesIO(good)).attachments["numbers.json"][0]
    carried.read_back(good, pages, {"numbers.json": kept})
    with pytest.raises(carried.NotAsMeant, match="pages"):
        carried.read_back(good, pages[1:], {})
    with pytest.raises(carried.NotAsMeant, match="page 1"):
        carried.read_back(good, [(100.0, 100.0), *pages[1:]], {})
    with pytest.raises(carried.NotAsMeant, match="carry"):
        carried.read_back(good, pages, {"numbers.json": b"{}"})
    scaled = PdfWriter(clone_from=io.BytesIO(good))
    del scaled._root_object["/ViewerPreferences"]
    out = io.BytesIO()
    scaled.write(out)
    with pytest.raises(carried.NotAsMeant, match="unscaled"):
        carried.read_back(out.getvalue(), pages, {})
