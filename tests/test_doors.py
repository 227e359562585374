"""One door for orders: the same words mean the same piece, wherever they are said; what each key does is in test_effects.py."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from strapwork.cli import main as cli
from strapwork.errors import InputError, Place
from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.order import doors, resolve
from strapwork.order.description import JobAsk, PieceAsk
from strapwork.order.order import Job
from strapwork.stock import printers
from strapwork.stock.printers import Printer
from strapwork.web import documents, form
from tests.helpers import HERE, bare, job_of

SHELF = Path(__file__).resolve().parents[1] / "samples" / "leathers.toml"
BASE = {"pattern": "wristband", "measure": "172 mm", "leather": "4-5 oz", "card": "none"}
LEARNED = "{swatch = [" + "{what = 's', modelled_mm = 8.0, measured_mm = 10.4}," * 4 + "]}"

STRIPS = "[{leather = 'harbour-tan', width = '3/4 in', length = '1.3 m', have = 4}]"

# One value for every key there is, and what else has to be said for it to matter.  A key without an example fails.
EXAMPLES: dict[str, dict[str, str]] = {
    "pattern": {"pattern": "plain-strap", "measure": "300 mm"},
    "measure": {"measure": "6 3/4 in"},
    "person": {"person": "Ines"},
    "sizes": {"sizes": "{small = '15.5 cm', large = '19 cm'}"},
    "leather": {"leather": "harbour-tan"},
    "temper": {"temper": "soft"},
    "tannage": {"tannage": "vegetable"},
    "backing": {"backing": "0.4 mm"},
    "price_per_m2": {"price_per_m2": "85,5"},
    "tensile_n_per_mm2": {"tensile_n_per_mm2": "12", "load": "2 kg"},
    "take_up": {"take_up": LEARNED},
    "width": {"width": "22 mm"},
    "ease": {"ease": "-2 mm"},
    "strands": {"strands": "5", "width": "25 mm"},
    "sets": {"sets": "1"},
    "weave": {"weave": "under"},
    "turns": {"turns": "Ru Lu"},
    "hand": {"hand": "left"},
    "ends": {"ends": "square,pointed"},
    "end_radius": {"end_radius": "5 mm; 7 mm"},
    "to_tip": {"to_tip": "{finish = '3/4 in'}"},
    "to_slit": {"to_slit": "1/2 in"},
    "relief": {"relief": "2 mm"},
    "hardware": {"hardware": "line 24", "leather": "2.2 mm", "width": "25 mm"},
    "holes": {"holes": "7", "pattern": "belt", "measure": "34 in"},
    "load": {"load": "12 kg"},
    "factor": {"factor": "5", "load": "12 kg"},
    "broken": {"broken": "true", "pattern": "belt", "measure": "34 in"},
    "label": {"label": "Zoë of the quay"},
    "count": {"count": "0000012"},
    "title": {"title": "Weekend market"},
    "units": {"units": "in16"},
    "paper": {"paper": "letter"},
    "margin": {"margin": "12 mm"},
    "formats": {"formats": "pdf,svg"},
    "card": {"card": "alone"},
    "left_handed": {"left_handed": "true"},
    "machine": {"machine": "drag-knife"},
    "bed": {"bed": "700 mm x 400 mm", "machine": "drag-knife"},
    "printer": {"printer": "attic"},
    "lists": {"lists": "with"},
    "strips": {"strips": STRIPS, "leather": "harbour-tan"},
    "blade": {"blade": "3 mm", "strips": STRIPS, "leather": "harbour-tan"},
    "spare": {"spare": "50 %", "count": "40"},
    "waste": {"waste": "0,5"},
    "slips": {"slips": "true", "card": "with"},
    "class_sheet": {"class_sheet": "true"},
    "prices": {"prices": "stall", "leather": "harbour-tan"},
    "leathers": {
        "leathers": "{dune = {thickness = '1.5 mm', backing = '0.5 mm', tannage = 'chrome'}}",
        "leather": "dune",
    },
}
# What a job says as a whole, apart from its files.
WHOLE = ("pieces", "order", "strips", "cutting")
EVERY_KEY = list(doors.ONE_PIECE_KEYS)


@pytest.fixture(scope="module")
def places(tmp_path_factory: pytest.TempPathFactory) -> Places:
    kept = tmp_path_factory.mktemp("printers") / "printers.toml"
    printers.store(kept, Printer("attic", 0.985, 0.99))
    prices = tmp_path_factory.mktemp("prices")
    starter = Path(__file__).resolve().parents[1] / "templates" / "prices.toml"
    (prices / "stall.toml").write_bytes(starter.read_bytes())
    return Places(None, SHELF, kept, prices)


def asked_with(key: str) -> dict[str, str]:
    texts = {**BASE, **EXAMPLES[key]}
    if "sizes" in texts:
        del texts["measure"]
    return texts


def document(texts: dict[str, str]) -> dict[str, Any]:
    """The texts as a job file says them."""
    whole, piece = doors.split(texts)
    unit = texts.get("units", "mm")
    return {**doors.as_written(JobAsk, whole, unit), "pieces": [doors.as_written(PieceAsk, piece, unit)]}


def by_options(texts: dict[str, str], places: Places, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    if "prices" in texts:
        texts = {**texts, "prices": str((places.prices or Path()) / "stall.toml")}
    args = ["draft", texts["pattern"], "--json", "--shelf", str(places.shelf), "--printers", str(places.printers)]
    for key, text in texts.items():
        if key in ("left_handed", "broken", "slips", "class_sheet"):
            args.append(f"--{key.replace('_', '-')}")
        elif key != "pattern":
            args.append(f"--{key.replace('_', '-')}={text}")
    assert cli.main(args) == 0, capsys.readouterr().err
    return dict(json.loads(capsys.readouterr().out))


def by_job_file(texts: dict[str, str], places: Places) -> Job:
    raw = tomllib.loads(documents.toml(document(texts)))
    return doors.of_document(raw, Place.file("job.toml"), places, "x")


def by_page(texts: dict[str, str], places: Places) -> Job:
    got = form.read(texts, places)
    assert got.job is not None, (got.errors, got.general)
    return got.job


def by_saved_page(texts: dict[str, str], places: Places) -> Job:
    """Job file to the page, over the wire, and out again as a job file."""
    page = json.loads(json.dumps(documents.to_page(document(texts))))
    raw = tomllib.loads(documents.toml(documents.of_page(page)))
    return doors.of_document(raw, Place.file("saved.toml"), places, "x")


def by_opened_piece(texts: dict[str, str], places: Places) -> Job:
    """A piece of a job opened in the page's fields and put back."""
    raw = document(texts)
    fields = documents.to_fields({k: v for k, v in raw.items() if k != "pieces"}, raw["pieces"][0])
    made = documents.of_fields(form.values_of(fields))
    return doors.of_document({**made["job"], "pieces": [made["piece"]]}, Place.file("back.toml"), places, "x")


def files_of(job: Job) -> dict[str, Any]:
    return jobs.make(job).numbers


@pytest.mark.parametrize("key", EVERY_KEY)
def test_a_key_means_the_same_at_every_door(key: str, places: Places, capsys: pytest.CaptureFixture[str]) -> None:
    texts = asked_with(key)
    first = by_job_file(texts, places)
    told = files_of(first)

    options = by_options(texts, places, capsys)
    assert [options[k] for k in WHOLE if k in told] == [told[k] for k in WHOLE if k in told]
    for door in (by_page, by_saved_page, by_opened_piece):
        job = replace(door(texts, places), stem=first.stem)
        if bare(job) == bare(first):
            continue  # the same order to the last key, so the same comes of it
        again = files_of(job)
        assert [again[k] for k in WHOLE if k in told] == [told[k] for k in WHOLE if k in told], door.__name__
        assert [(s["format"], s["pages"], s["paper"]) for s in again["sheets"]] == [
            (s["format"], s["pages"], s["paper"]) for s in told["sheets"]
        ], door.__name__


def test_every_key_has_an_example() -> None:
    assert set(EXAMPLES) == {*doors.PIECE_KEYS, *doors.JOB_KEYS}


def test_what_the_page_cannot_show_it_keeps_and_says_so() -> None:
    page = documents.to_page(document(asked_with("leathers")))
    assert page["job"]["leathers"]["dune"]["backing"] == "0.5 mm"
    assert "leathers of this job" in page["kept"]
    assert documents.kept({"title": "Class"}) == ""


def test_a_leather_says_all_it_can_wherever_it_is_written(places: Places) -> None:
    """A 1.5 mm backing makes the band of a 1.8 mm leather 3.3 mm thick, wherever it is said."""
    says = "thickness = '1.8 mm', backing = '1.5 mm', tensile_n_per_mm2 = 12.5"
    lengths = {
        files_of(by_job_file({**BASE, **more}, places))["pieces"][0]["fit"]["cut_length_mm"]
        for more in (
            {"leather": "1.8 mm", "backing": "1.5 mm"},
            {"leather": f"{{{says}}}"},
            {"leather": "dune", "leathers": f"{{dune = {{{says}}}}}"},
        )
    }
    assert len(lengths) == 1
    assert (
        lengths.pop()
        > files_of(by_job_file({**BASE, "leather": "1.8 mm"}, places))["pieces"][0]["fit"]["cut_length_mm"] + 8
    )


@pytest.mark.parametrize("door", [by_job_file, by_saved_page, by_opened_piece])
def test_chrome_is_kept_off_the_laser_at_every_door(door: Any, places: Places) -> None:
    texts = {**BASE, "leather": "{thickness = '1.8 mm', tannage = 'chrome'}", "machine": "laser"}
    with pytest.raises(InputError, match=r"chromium\(VI\)"):
        jobs.make(door(texts, places))
    assert "chromium(VI)" in form.read(texts, places).errors["tannage"]


def test_the_jobs_hand_is_only_the_default_of_its_pieces(places: Places) -> None:
    raw = {
        "left_handed": True,
        "pieces": [
            {"pattern": "wristband", "measure": "172 mm"},
            {"pattern": "wristband", "measure": "172 mm", "hand": "right"},
        ],
    }
    told = files_of(doors.of_document(raw, HERE, places, "x"))["pieces"]
    assert [p["hand"] for p in told] == ["left", "right"]
    assert [p["braid"]["passes"][0]["gap"] for p in told] == [1, 2]


def test_bare_numbers_take_the_declared_unit_for_every_length(places: Places) -> None:
    texts = {
        "pattern": "wristband",
        "measure": "6 3/4",
        "width": "3/4",
        "ease": "1/2",
        "to_tip": "1; 3/4",
        "units": "in",
    }
    for door in (by_job_file, by_page):
        p = files_of(door(texts, places))["pieces"][0]
        assert p["measure_mm"] == pytest.approx(171.45)
        assert p["strap"]["width_mm"] == pytest.approx(19.05)
        assert p["fit"]["ease_mm"] == pytest.approx(12.7)
        allowances = [r["mm"] for r in p["fit"]["breakdown"] if "allowance" in r["what"]]
        assert allowances == pytest.approx([25.4, 19.05])


@pytest.mark.parametrize("said", ["line 24", "24", "snap-24", "size 24", "24 L", "Snap 24", "24 line snap"])
def test_hardware_is_understood_as_makers_say_it(said: str, places: Places) -> None:
    texts = {**BASE, "leather": "2.2 mm", "width": "25 mm", "hardware": said}
    sizes = {h["size"] for h in files_of(by_job_file(texts, places))["pieces"][0]["hardware"]}
    assert sizes == {"snap-24"}


def test_a_measure_names_an_eyelet(tmp_path: Path) -> None:
    own = tmp_path / "laced.toml"
    source = (Path(__file__).resolve().parents[1] / "patterns" / "plain-strap.toml").read_text(encoding="utf-8")
    own.write_text(f'{source}\n[[start.fixtures]]\npart = "eyelet"\nat = "8 mm"\n', encoding="utf-8")
    texts = {"pattern": "laced", "measure": "300 mm", "leather": "1.8 mm", "hardware": "1/8 eyelet"}
    job = doors.of_texts(texts, HERE, Places(patterns=tmp_path))
    assert [h["size"] for h in files_of(job)["pieces"][0]["hardware"]] == ["eyelet-3"]


def test_under_turns_take_the_tab_from_the_back(places: Places) -> None:
    """Turns worked over to the centre take the tab from front to back, under from back to front (common practice, no
    source; the mirror image through the strap)."""
    for weave, face in (("over", "front"), ("plain", "front"), ("under", "back")):
        p = files_of(by_job_file({**BASE, "weave": weave}, places))["pieces"][0]
        assert [(q["after_turn"], q["gap"], q["face"]) for q in p["braid"]["passes"]] == [(4, 2, face), (6, 1, face)]


def test_an_end_punched_to_a_smaller_radius_is_flat_between_its_corners(places: Places) -> None:
    """A 19.05 mm strap with corners of 5 mm: the tip reaches 5 mm, 9.05 mm of it straight."""
    p = files_of(by_job_file({**BASE, "end_radius": "5 mm"}, places))["pieces"][0]
    arcs = [s["arc"] for s in p["outline"]["segments"] if "arc" in s]
    ends = [s["line"] for s in p["outline"]["segments"] if "line" in s and s["line"][0] == s["line"][2]]
    assert [(a[2], abs(a[4])) for a in arcs] == [(5.0, 90.0)] * 4
    assert [abs(e[3] - e[1]) for e in ends] == pytest.approx([9.05, 9.05])
    assert p["strap"]["length_mm"] == files_of(by_job_file(BASE, places))["pieces"][0]["strap"]["length_mm"]


def test_the_distances_a_maker_chooses_each_time_move_slits_and_ends(places: Places) -> None:
    usual = files_of(by_job_file(BASE, places))["pieces"][0]
    own = files_of(by_job_file({**BASE, "to_tip": "3/4 in", "to_slit": "1/2 in"}, places))["pieces"][0]
    assert usual["holes"][0]["x"] - own["holes"][0]["x"] == pytest.approx(6.35)
    assert own["slits"][0]["x0"] == pytest.approx(19.05 + 12.7)


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        ({"hand": "both"}, "hand: 'both' is not a choice"),
        (
            {"end_radius": "12 mm"},
            "end_radius: a radius of 12 mm does not go on a strap 19.1 mm wide; use at most 9.5 mm",
        ),
        ({"end_radius": "5 mm; 6 mm", "ends": "square"}, "end_radius: the start is square, not round; ask for"),
        ({"count": "3.5"}, "count: '3.5' is no whole number"),
        ({"waste": "25"}, "waste: '25' could be hundredths or whole times; write '25 %' or '2500 %'"),
        ({"spare": "1.01"}, "spare: '1.01' could be hundredths or whole times; write '1.01 %' or '101 %'"),
        ({"waste": "501 %"}, "waste: '501 %' is out of range"),
        ({"sizes": "{S = '16 cm'}"}, "both measure and sizes"),
        ({"bed": "1 m x 1 m"}, "a bed without a machine"),
        ({"hardware": "snap-20, buckle-38"}, "hardware: 'wristband' has no buckle; pick a snap"),
        ({"holes": "5"}, "holes: 'wristband' has no row of holes; leave the number of holes out"),
        ({"to_tip": "1 in; 1 in; 1 in"}, "not one value or two"),
        ({"to_tip": "{middle = '1 in'}"}, "to_tip: 'middle' is no end of a strap; name start, finish or both"),
        ({"label": "x" * 81}, "label: a text of 81 characters is too long here; keep it to 80"),
        ({"take_up": "{factor = 99}"}, "take_up.factor"),
        ({"leather": "{thickness = '2 mm', colour = 'red'}"}, "unknown key 'colour'"),
        ({"leathers": "{ = }"}, "'{ = }' is no table; write key = 'value' with commas between, all in braces"),
        ({"leathers": "dune"}, "'dune' is no table; write it in braces"),
        (
            {"strips": "[{leather = 'tan', width = '20 mm', length = '1 m'}"},
            "is no list of tables; write it in brackets",
        ),
        (
            {"strips": "{leather = 'tan', width = '20 mm', length = '1 m'}]"},
            "is no list of tables; write it in brackets",
        ),
    ],
)
def test_what_cannot_be_asked_is_refused_alike_everywhere(texts: dict[str, str], words: str, places: Places) -> None:
    with pytest.raises(InputError) as told:
        jobs.work_out(doors.of_texts({**BASE, **texts}, HERE, places))
    assert words in str(told.value)


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        ({"measure": "172 mm", "leather": 5}, r"pieces\[1\]\.leather: '5' cannot be used"),
        ({"measure": "172 mm", "leather": "x" * 2001}, r"pieces\[1\]\.leather: a text of more than 2000 characters"),
        ({"sizes": {"S": ["16 cm"]}}, r"pieces\[1\]\.sizes\.S: "),
    ],
)
def test_a_key_that_takes_several_kinds_of_value_is_named_as_the_maker_wrote_it(
    piece: dict[str, object], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        job_of({"pieces": [{"pattern": "wristband", **piece}]})


def test_a_table_in_a_field_may_be_as_long_as_is_said_and_no_longer(places: Places) -> None:
    asked = {k: v for k, v in BASE.items() if k != "measure"}
    fits = "{S = '16 cm'".ljust(19_999) + "}"
    assert [o.value for o in doors.of_texts({**asked, "sizes": fits}, HERE, places).orders] == [160.0]
    with pytest.raises(InputError, match="a table of 20001 characters is too long; keep it to 20000"):
        doors.of_texts({**asked, "sizes": fits[:-1] + " }"}, HERE, places)


def test_a_yes_is_written_as_one_and_a_strap_called_true_keeps_its_name() -> None:
    assert doors.as_written(PieceAsk, {"broken": "true", "label": "true"}, "mm") == {"broken": True, "label": "true"}
    assert doors.as_written(JobAsk, {"slips": "false", "title": "false"}, "mm") == {"slips": False, "title": "false"}


def test_a_job_file_has_the_unit_at_every_bare_length_and_does_not_depend_on_the_page() -> None:
    said = {"ease": "4", "to_tip": "1; 3/4", "width": "22 mm"}
    assert doors.as_written(PieceAsk, said, "in16") == {"ease": "4 in", "to_tip": "1 in; 3/4 in", "width": "22 mm"}
    assert doors.as_written(PieceAsk, said, None) == said


@pytest.mark.parametrize(("units", "limits"), [("in", "from 1/8 in to 1 9/16 in"), ("mm", "from 3 mm to 40 mm")])
def test_what_is_wrong_with_the_whole_job_is_said_in_its_own_unit(units: str, limits: str) -> None:
    raw = {"units": units, "margin": "9 in", "pieces": [{"pattern": "wristband", "measure": "7 in"}]}
    with pytest.raises(InputError, match=limits):
        job_of(raw)
    # A bare length of the job is in that unit as well: 10 is too much in inches and right in millimetres.
    bare = raw | {"margin": 10}
    if units == "mm":
        assert job_of(bare).margin == 10.0
    else:
        with pytest.raises(InputError, match=limits):
            job_of(bare)


def test_prices_are_looked_for_where_the_maker_says(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("STRAPWORK_PRICES", str(tmp_path))
    assert resolve.prices_folder(Places()) == tmp_path
    monkeypatch.delenv("STRAPWORK_PRICES")
    assert resolve.prices_folder(Places()).name == "prices"
    assert resolve.prices_folder(Places(prices=tmp_path / "own")) == tmp_path / "own"


def test_sizes_of_a_girth_that_is_named_are_those_of_the_goods_for_it() -> None:
    """A plain strap is measured by its length; cut in two sizes of wrist it has the two wrists of a wristband."""
    both = [
        [
            o.value
            for o in job_of(
                {"pieces": [{"pattern": name, "count": 40, "sizes": {"of": 2, "bodies": "adults", **girth}}]}
            ).orders
        ]
        for name, girth in (("plain-strap", {"girth": "wrist"}), ("wristband", {}))
    ]
    assert both[0] == both[1]
    assert len(set(both[0])) == 2
