"""Every key changes what it is there for, at every door: the number, the sentence or the line on paper, worked out here.

``test_doors.py`` holds the doors against each other; here stands what the key has to do.  A key of the description
without an effect fails, and so does a key that a door drops.
"""

from __future__ import annotations

import io
import json
import math
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from strapwork.cli import main as cli
from strapwork.cli import report
from strapwork.errors import Place
from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.order import doors
from strapwork.order.description import JobAsk, PieceAsk
from strapwork.order.order import Job
from strapwork.stock import printers
from strapwork.stock.printers import Printer
from strapwork.web import documents, form
from tests.helpers import bare, pages_read
from tests.outside.pdf_reading import read

ROOT = Path(__file__).resolve().parents[1]
# Worked out in tests/outside/test_worked_examples.py: finished 193.31, as cut 201.35, cut 252.15 mm.
BASE = {"pattern": "wristband", "measure": "172 mm", "leather": "1.8 mm", "card": "none"}
CUT = 252.1529


@dataclass
class Made:
    """What a maker has in hand afterwards."""

    numbers: dict[str, Any]
    files: dict[str, bytes]
    said: str = field(repr=False)

    @property
    def piece(self) -> dict[str, Any]:
        return dict(self.numbers["pieces"][0])

    @property
    def codes(self) -> set[str]:
        return {f["code"] for f in self.piece["findings"]}

    def rows(self, what: str) -> list[float]:
        return [r["mm"] for r in self.piece["fit"]["breakdown"] if what in r["what"]]

    def holes(self, purpose: str) -> list[dict[str, Any]]:
        return [h for h in self.piece["holes"] if h["for"] == purpose]

    @cached_property
    def pdf(self) -> bytes:
        return next(c for n, c in self.files.items() if n.endswith(".pdf"))

    @cached_property
    def words(self) -> str:
        """All words of the sheets, as pdfium reads them."""
        return " ".join(" ".join(pages_read(self.pdf)).split())

    @property
    def points(self) -> list[tuple[float, float]]:
        return [p.get_size() for p in pypdfium2.PdfDocument(io.BytesIO(self.pdf))]


Judge = Callable[[Made], bool]
near = pytest.approx


def _turns(m: Made) -> list[str]:
    return list(m.piece["braid"]["turns"])


def _passes(m: Made) -> list[tuple[int, int, str]]:
    return [(p["after_turn"], p["gap"], p["face"]) for p in m.piece["braid"]["passes"]]


def _corners(m: Made) -> set[tuple[float, float]]:
    lines = [s["line"] for s in m.piece["outline"]["segments"] if "line" in s]
    return {(round(v[k], 3), round(v[k + 1], 3)) for v in lines for k in (0, 2)}


def _ends(m: Made) -> bool:
    """A square start has its corners; a pointed finish is two arcs on (19.05^2 + 9.525^2) / 19.05 = 23.8125 mm."""
    arcs = {s["arc"][2] for s in m.piece["outline"]["segments"] if "arc" in s}
    return {(0.0, 0.0), (0.0, 19.05)} <= _corners(m) and [round(r, 4) for r in arcs] == [23.8125]


def _outline_on_paper(m: Made) -> tuple[float, float]:
    x0, y0, x1, y1 = next(d for d in read(m.pdf, 0) if d.layer == "outline").box()
    return x1 - x0, y1 - y0


def _learned(m: Made) -> bool:
    fit, factor = m.piece["fit"], m.piece["leather"]["learned_factor"]
    return bool(
        1.15 < factor <= 1.3
        and fit["take_up_mm"] == near(factor * fit["modelled_take_up_mm"])
        and f"times {factor:.2f} learned from 4 swatches" in m.said
    )


def _weakest(m: Made) -> float:
    return float(min(s["newtons"] for s in m.piece["load"]["sections"]))


STRIPS = {"strips": "[{leather = 'tan', width = '3/4 in', length = '1.3 m', have = 4}]",
          "leathers": "{tan = {thickness = '1.8 mm'}}", "leather": "tan", "count": "3"}  # fmt: skip
ORDER = {"lists": "with"}
TAKE_UP = "{swatch = [" + "{what = 's', modelled_mm = 8.0, measured_mm = 10.4}," * 4 + "]}"
BELT = {"pattern": "belt", "measure": "34 in", "leather": "3.4 mm"}

# What is asked besides the usual, and whether what comes of it is right.
EFFECTS: dict[str, tuple[dict[str, str], Judge]] = {
    "pattern": ({"pattern": "plain-strap", "measure": "300 mm"}, lambda m: m.piece["fit"]["finished_mm"] == near(300)),
    "measure": ({"measure": "6 3/4 in"}, lambda m: m.piece["measure_mm"] == near(171.45) and m.rows("wrist") == near([171.45])),
    "sizes": (
        {"sizes": "{small = '15.5 cm', large = '19 cm'}", "label": "Band"},
        lambda m: [(p["label"], p["measure_mm"]) for p in m.numbers["pieces"]] == [("Band small", 155), ("Band large", 190)],
    ),
    "leather": (
        {"leather": "harbour-tan"},
        lambda m: m.piece["leather"]["thickness_high_mm"] == 1.9 and "leather harbour-tan, 1.8 mm to 1.9 mm" in m.words,
    ),
    # Three sets stand at 22 degrees: too steep for medium leather, easy in soft.
    "temper": ({"temper": "soft", "sets": "3"}, lambda m: "sets-tight" not in m.codes),
    "tannage": ({"tannage": "vegetable"}, lambda m: m.piece["leather"]["tannage"] == "vegetable"),
    "backing": ({"backing": "0.4 mm"}, lambda m: m.piece["fit"]["wrap_mm"] == near(2 * math.pi * 2.2)),
    # 252.15 x 19.05 mm are 0.4803 dm2: 0.41 of the shop's money.
    "price_per_m2": ({"price_per_m2": "85,5"}, lambda m: "0.5 dm2 of strip, 0.41 at 85.5 a square metre" in m.said),
    # Net section at the snap: (19.05 - 3.175) x 1.8 x 12.
    "tensile_n_per_mm2": ({"tensile_n_per_mm2": "12", "load": "2 kg"}, lambda m: _weakest(m) == near(342.9)),
    "take_up": ({"take_up": TAKE_UP}, _learned),
    "width": (
        {"width": "22 mm"},
        lambda m: m.piece["strap"]["width_mm"] == 22 and [s["y0"] for s in m.piece["slits"]] == near([22 / 3, 44 / 3]),
    ),
    "ease": ({"ease": "-2 mm"}, lambda m: m.piece["fit"]["finished_mm"] == near(170 + 3.6 * math.pi)),
    "strands": ({"strands": "5", "width": "25 mm"}, lambda m: [s["y0"] for s in m.piece["slits"]] == near([5, 10, 15, 20])),
    "sets": ({"sets": "1"}, lambda m: "1 set of 6 turns" in m.words and m.piece["braid"]["sets"] == 1),
    "weave": (
        {"weave": "under"},
        lambda m: _turns(m)[:2] == ["Ru", "Lu"] and _passes(m) == [(4, 2, "back"), (6, 1, "back")],
    ),
    "turns": ({"turns": "Ru Lu"}, lambda m: set(_turns(m)) == {"Ru", "Lu"}),
    "hand": ({"hand": "left"}, lambda m: _turns(m)[0] == "Lo" and _passes(m) == [(4, 1, "front"), (6, 2, "front")]),
    "ends": ({"ends": "square,pointed"}, _ends),
    "end_radius": (
        {"end_radius": "5 mm; 7 mm"},
        lambda m: sorted({s["arc"][2] for s in m.piece["outline"]["segments"] if "arc" in s}) == [5, 7],
    ),
    "to_tip": (
        {"to_tip": "{finish = '3/4 in'}"},
        lambda m: m.piece["strap"]["length_mm"] - m.holes("snap")[1]["x"] == near(19.05) and m.holes("snap")[0]["x"] == 25.4,
    ),
    "to_slit": ({"to_slit": "1/2 in"}, lambda m: {s["x0"] for s in m.piece["slits"]} == {25.4 + 12.7}),
    "relief": (
        {"relief": "2 mm"},
        lambda m: [h["diameter"] for h in m.holes("relief")] == [2] * 4 and m.piece["slits"][0]["x0"] == near(45.45),
    ),
    "hardware": (
        {"hardware": "line 24", "leather": "2.2 mm", "width": "25 mm"},
        lambda m: {h["size"] for h in m.piece["hardware"]} == {"snap-24"},
    ),
    "holes": ({**BELT, "holes": "7"}, lambda m: len(m.holes("adjustment")) == 7),
    "load": (
        {"load": "12 kg"},
        lambda m: m.piece["load"]["asked_newtons"] == near(117.68, abs=0.01) and "For the 118 N (12 kg) asked" in m.said,
    ),
    "factor": (
        {"factor": "5", "load": "1 kg"},
        lambda m: m.piece["load"]["advised_newtons"] == near(_weakest(m) / 5) and "section divided by 5" in m.said,
    ),
    "broken": ({**BELT, "broken": "true"}, lambda m: "broken" in m.numbers["sheets"][0] and "A to A and B to B" in m.words),
    "label": ({"label": "Zoë of the quay"}, lambda m: "Zoë of the quay" in m.words and "Zoë of the quay" in m.said),
    "count": ({"count": "0000012"}, lambda m: m.piece["count"] == 12 and "cut 12" in m.words),
    "title": ({"title": "Weekend market"}, lambda m: "Weekend market" in m.words and m.numbers["title"] == "Weekend market"),
    # Round 173 mm 253.10 mm are cut, 9 15/16 in and 0.69 mm; to 1/32 in it would be 9 31/32.
    "units": ({"units": "in16", "measure": "173 mm"}, lambda m: "9 15/16 in" in m.words and "9 15/16 in" in m.said),
    "paper": ({"paper": "letter"}, lambda m: {tuple(sorted(p)) for p in m.points} == {(612, 792)}),
    "margin": ({"margin": "12 mm"}, lambda m: m.numbers["sheets"][0]["sheets"][0]["straps"][0]["x_mm"] == near(12)),
    "formats": (
        {"formats": "pdf,svg"},
        lambda m: {Path(n).suffix for n in m.files} == {".pdf", ".svg", ".json"},
    ),
    "card": ({"card": "alone"}, lambda m: sorted(m.files)[1:] == ["wristband-card.pdf", "wristband.pdf"]),
    "person": (
        {"person": "Ines", "lists": "with"},
        lambda m: m.numbers["order"]["cut_list"][0]["for"] == "Ines" and "Ines" in m.words,
    ),
    "slips": (
        {"slips": "true", "card": "with"},
        lambda m: [s["name"] for s in m.numbers["sheets"][0]["sheets"]] == ["A", "card 1.1", "card 1.2", "slips 1.1"],
    ),
    "class_sheet": ({"class_sheet": "true"}, lambda m: "Class sheet for the teacher" in m.words and len(m.points) == 2),
    "left_handed": ({"left_handed": "true"}, lambda m: _turns(m)[0] == "Lo" and m.piece["hand"] == "left"),
    "machine": ({"machine": "drag-knife"}, lambda m: b"LWPOLYLINE" in m.files["wristband-drag-knife-bed-1.dxf"]),
    "bed": (
        {"bed": "700 mm x 400 mm", "machine": "drag-knife"},
        lambda m: [s["paper"] for s in m.numbers["sheets"] if s["format"] == "dxf"] == [[700, 400]],
    ),
    # The sheet lies, so it is fed by its short side: along it 1 / 0.99, across 1 / 0.985.
    "printer": ({"printer": "attic"}, lambda m: _outline_on_paper(m) == near((CUT / 0.99, 19.05 / 0.985), abs=0.01)),
    "lists": (ORDER, lambda m: "what to cut, lay out and buy" in m.words and b",19.1,252.2," in m.files["order.csv"]),
    "strips": (STRIPS, lambda m: [(s["used"], s["plan"][0]["stock_mm"]) for s in m.numbers["strips"]] == [(1, 1300)]),
    "blade": (
        {**STRIPS, "blade": "3 mm"},
        lambda m: [c["from_mm"] for c in m.numbers["strips"][0]["plan"][0]["cuts"]] == near([0, CUT + 3, 2 * CUT + 6], abs=0.2),
    ),
    "spare": ({"spare": "50 %", "count": "40"}, lambda m: [h["spare"] for h in m.numbers["order"]["hardware"]] == [20]),
    "waste": (
        {"waste": "0,5"},
        lambda m: m.numbers["order"]["leather"][0]["gross_mm2"] == near(1.5 * m.numbers["order"]["leather"][0]["net_mm2"]),
    ),
    "prices": ({"prices": "stall"}, lambda m: m.numbers["order"]["cost"]["currency"] == "EUR"),
    "leathers": (
        {"leathers": "{dune = {thickness = '1.5 mm', backing = '0.5 mm'}}", "leather": "dune"},
        lambda m: m.piece["fit"]["wrap_mm"] == near(2 * math.pi * 2.0) and "dune" in m.words,
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def places(tmp_path_factory: pytest.TempPathFactory) -> Places:
    folder = tmp_path_factory.mktemp("maker")
    printers.store(folder / "printers.toml", Printer("attic", 0.985, 0.99))
    (folder / "stall.toml").write_bytes((ROOT / "templates" / "prices.toml").read_bytes())
    return Places(None, ROOT / "samples" / "leathers.toml", folder / "printers.toml", folder)


MADE: list[tuple[Job, Made]] = []


def _made(job: Job) -> Made:
    """What comes of a job; of the same job from another door the same comes."""
    for known, made in MADE:
        if known == bare(job):
            return made
    result = jobs.make(job)
    said = "\n".join(report.of_piece(p, job.units) for p in result.pieces)
    MADE.append((bare(job), Made(result.numbers, result.files, said)))
    return MADE[-1][1]


def by_job_file(texts: dict[str, str], places: Places, *_: Any) -> Made:
    whole, piece = doors.split(texts)
    unit = texts.get("units", "mm")
    raw = {**doors.as_written(JobAsk, whole, unit), "pieces": [doors.as_written(PieceAsk, piece, unit)]}
    again = tomllib.loads(documents.toml(raw))
    return _made(doors.of_document(again, Place.file("job.toml"), places, "wristband"))


def by_page(texts: dict[str, str], places: Places, *_: Any) -> Made:
    got = form.read(texts, places)
    assert got.job is not None, (got.errors, got.general)
    return _made(got.job)


def by_options(texts: dict[str, str], places: Places, folder: Path, capsys: pytest.CaptureFixture[str]) -> Made:
    if "prices" in texts:
        texts = {**texts, "prices": str((places.prices or Path()) / "stall.toml")}
    yes = ("left_handed", "broken", "slips", "class_sheet")
    flags = [f"--{k.replace('_', '-')}" for k in texts if k in yes]
    args = [f"--{k.replace('_', '-')}={v}" for k, v in texts.items() if k not in ("pattern", *yes)]
    kept = [f"--shelf={places.shelf}", f"--printers={places.printers}", f"--out={folder / 'out'}"]
    assert cli.main(["draft", texts["pattern"], *args, *flags, *kept]) == 0, capsys.readouterr().err
    files = {p.name: p.read_bytes() for p in (folder / "out").iterdir()}
    return Made(json.loads(files["numbers.json"]), files, capsys.readouterr().out)


@pytest.mark.parametrize("door", [by_job_file, by_options, by_page])
@pytest.mark.parametrize("key", list(doors.ONE_PIECE_KEYS))
def test_a_key_does_what_it_is_there_for(
    key: str, door: Any, places: Places, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    texts, right = EFFECTS[key]
    asked = {**BASE, **texts}
    if "sizes" in texts:
        del asked["measure"]

    assert right(door(asked, places, tmp_path, capsys))


@pytest.mark.parametrize("key", [k for k in EFFECTS if k not in ("pattern", "measure")])
def test_without_the_key_it_would_be_otherwise(key: str, places: Places) -> None:
    """An effect that is there anyway would prove nothing."""
    texts, right = EFFECTS[key]
    asked = {k: v for k, v in {**BASE, **texts}.items() if k != key}
    if key == "leathers":
        asked["leather"] = BASE["leather"]

    try:
        made = by_job_file(asked, places)
        still = right(made)
    except (KeyError, IndexError, TypeError):
        return
    assert not still


def test_every_key_of_the_description_has_an_effect() -> None:
    assert set(EFFECTS) == set(doors.ONE_PIECE_KEYS)


def test_what_is_not_asked_is_the_usual(places: Places) -> None:
    """A4 with 8 mm of margin, millimetres, a right hand, one piece named by its goods, one sheet's PDF and no order page."""
    made = by_job_file({k: v for k, v in BASE.items() if k != "card"}, places)
    assert {tuple(sorted(round(s * 25.4 / 72) for s in p)) for p in made.points} == {(210, 297)}
    assert made.numbers["sheets"][0]["sheets"][0]["straps"][0]["x_mm"] == near(8.0)
    assert made.numbers["title"] == made.piece["label"] == "Wristband with a snap"
    assert made.piece["hand"] == "right"
    assert set(made.files) == {"wristband.pdf", "numbers.json"}
    assert "Bench card" in made.words or "Check the measure" in made.words
    pieces = [{k: v for k, v in BASE.items() if k != "card"} | {"label": name} for name in ("Ada", "Ben")]
    two = jobs.make(doors.of_document({"card": "none", "pieces": pieces}, Place.file("x"), places, "stall"))
    # More than one piece: named by the file, with its order page in front.
    assert two.numbers["title"] == "stall"
    assert set(two.files) == {"stall.pdf", "numbers.json", "order.csv"}
