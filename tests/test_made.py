"""A finished piece, measured, teaches its leather: what it says, where it is kept, and how it is taken back."""

from __future__ import annotations

import json
import multiprocessing
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from strapwork.braid import geometry
from strapwork.cli import main as cli
from strapwork.errors import InputError
from strapwork.job import numbers
from strapwork.piece import made, piece
from strapwork.piece.piece import Piece
from strapwork.say import steps as bench
from strapwork.stock import patterns as pattern_files
from strapwork.stock import record, shelf
from strapwork.stock.learned import Learned, Measured
from strapwork.stock.leather import Leather
from strapwork.units import Thickness
from tests.helpers import order as order_of

Draft = Callable[..., Piece]
Say = Callable[..., tuple[int, str, str]]
SHELF = '# ours\n[tan]\nthickness = "1.8 mm" # soft side\ntemper = "soft"\n'
OLD = "factor = 1.1, error = 0.05, scatter_mm = 0.9, freedom = 4, quantile = 2.78, swatches = 5"


def write(folder: Path, *pieces: Piece) -> Path:
    path = folder / "numbers.json"
    path.write_text(
        numbers.dumps(numbers.of_job("Market", [numbers.of_piece(p) for p in pieces], [])), encoding="utf-8"
    )
    return path


def order(name: str, value: float, label: str, leather: Leather | None = None, **more: Any) -> Piece:
    return piece.work_out(
        order_of(label, pattern_files.find(name, "test"), value, leather or Leather(Thickness(1.8, 1.8)), **more)
    )


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    path = tmp_path / "shelf.toml"
    path.write_text(SHELF, encoding="utf-8")
    return path


@pytest.fixture
def say(kept: Path, capsys: pytest.CaptureFixture[str]) -> Say:
    """Run one command with the shelf of the test; exit code, output, errors."""

    def run(*args: str) -> tuple[int, str, str]:
        code = cli.main([*args, "--shelf", str(kept)])
        out = capsys.readouterr()
        return code, out.out, out.err

    return run


def straps(path: Path, name: str = "tan") -> tuple[Measured, ...]:
    learned = shelf.read(path)[name].learned
    return learned.straps if learned else ()


@pytest.mark.parametrize(
    ("name", "value"), [("wristband", 172.0), ("belt", 900.0), ("dog-lead", 1200.0), ("hat-band", 580.0), ("key-fob", 90.0)]
)  # fmt: skip
@pytest.mark.parametrize("off", [-3.0, 0.0, 2.0])
def test_what_a_piece_is_shorter_than_meant_its_braid_ate(tmp_path: Path, name: str, value: float, off: float) -> None:
    learned = Learned((Measured("s", 6.0, 7.2, after=150.0, worn=151.0),))
    p = order(name, value, "x", Leather(Thickness(1.8, 1.8), name="tan", learned=learned))
    assert p.fit.braid is not None
    assert p.plan is not None
    strap = made.lesson(made.read(write(tmp_path, p), "x"), p.fit.finished + off, "2026-05-09")
    assert strap.measured == pytest.approx(p.fit.take_up - off)
    form = geometry.from_finished(
        p.plan.plait, p.strap.width / p.strands, 1.8, p.fit.braid.sets, p.fit.braid.finished + off
    )
    assert form is not None
    assert strap.model == pytest.approx(form.take_up, rel=1e-9)


@given(
    st.sampled_from([3, 5, 7]),
    st.floats(3.0, 12.0),
    st.floats(0.8, 4.0),
    st.integers(1, 12),
    st.floats(60.0, 900.0),
    st.floats(0.7, 1.3),
)
def test_the_model_at_another_length_is_that_of_the_geometry(
    strands: int, width: float, thick: float, sets: int, length: float, times: float
) -> None:
    plait = piece.plan_for(strands, "plain", None, "test").plait
    meant = geometry.from_finished(plait, width, thick, sets, length)
    other = geometry.from_finished(plait, width, thick, sets, length * times)
    assume(meant is not None and other is not None)
    assert meant is not None
    assert other is not None
    t = Thickness(thick, thick)
    cut = made.Cut("x", 1, "", t, 1.0, length, 1.0, 1.0, meant.take_up, length, plait, sets, width, thick)
    assert cut.modelled_at(length * times) == pytest.approx(other.take_up, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("strands", [3, 5])
def test_a_braid_shorter_than_the_model_can_pack_is_taken_at_the_jam(strands: int) -> None:
    plait = piece.plan_for(strands, "plain", None, "test").plait
    cut = made.Cut("x", 1, "", Thickness(2, 2), 1.0, 100.0, 1.0, 1.0, 35.0, 100.0, plait, 3, 6.0, 2.0)
    jam, _ = geometry.jam(plait, 6.0, 2.0, 3)
    assert cut.modelled_at(0.8 * jam) == cut.modelled_at(-5.0) == pytest.approx(cut.modelled_at(jam), rel=1e-6)
    assert cut.modelled_at(0.8 * jam) > cut.modelled_at(1.01 * jam)


def test_numbers_of_an_older_tool_teach_by_the_model_of_today(tmp_path: Path) -> None:
    """It allowed less for three strands, and did not write down what its model said: only what was cut counts."""
    path = write(tmp_path, order("belt", 900.0, "x", Leather(Thickness(1.8, 1.8), name="tan")))
    now = made.lesson(made.read(path, "x"), 898.0, "")
    data = json.loads(path.read_text(encoding="utf-8"))
    fit = data["pieces"][0]["fit"]
    del fit["modelled_take_up_mm"], data["pieces"][0]["leather"]["backing_mm"]
    for key in ("take_up_mm", "reference_to_reference_mm", "cut_length_mm"):
        fit[key] -= 7.0
    path.write_text(json.dumps(data), encoding="utf-8")
    then = made.lesson(made.read(path, "x"), 898.0, "")
    assert (then.model, then.measured) == pytest.approx((now.model, now.measured - 7.0), rel=1e-9)


def test_the_next_draft_says_what_it_learned_and_undo_leaves_no_trace(tmp_path: Path, kept: Path, say: Say) -> None:
    out = tmp_path / "out"
    draft = ["draft", "wristband", "--measure", "17.2 cm", "--leather", "tan", "--label", "Band for Ines", "--force"]
    assert say(*draft, "--out", str(out))[0] == 0
    before = json.loads((out / "numbers.json").read_text(encoding="utf-8"))["pieces"][0]["fit"]
    text = kept.read_text(encoding="utf-8")
    measured = f"{before['finished_mm'] - 2:.2f} mm"
    code, said, _ = say("made", str(out), "band for  INES", "--measured", measured, "--date", "2026-05-09")
    assert code == 0
    assert f"ate {round(before['take_up_mm'] + 2, 1):g} mm where the model says" in said
    assert "from 1 finished piece" in said
    assert "# soft side" in kept.read_text(encoding="utf-8")
    (strap,) = straps(kept)
    assert (strap.what, strap.date, strap.made) == ("Band for Ines", "2026-05-09", True)
    assert strap.cut == pytest.approx(before["cut_length_mm"], abs=1e-3)

    said = say(*draft, "--out", str(out))[1]
    assert "learned from 1 finished piece" in said
    assert "the last: Band for Ines, 2026-05-09" in said
    after = json.loads((out / "numbers.json").read_text(encoding="utf-8"))["pieces"][0]["fit"]
    assert before["take_up_mm"] + 1.5 < after["take_up_mm"] < before["take_up_mm"] + 2.1

    listed = say("made", "--list")[1]
    assert "Band for Ines (finished piece, 2026-05-09)" in listed
    assert json.loads(say("made", "--list", "--json")[1])["tan"]["straps"][0]["kind"] == "made"
    assert "Took back Band for Ines, 2026-05-09" in say("made", "--undo")[1]
    assert kept.read_text(encoding="utf-8").split() == text.split()
    assert say("made", "--undo")[0] == 2


def test_finished_pieces_stand_beside_swatches_and_outlive_them(kept: Path) -> None:
    swatches = (Measured("s", 6.0, 6.3, "2026-05-01"),)
    piece_made = Measured("Belt", 27.0, 30.0, "2026-05-09", True, cut=1020.0)
    shelf.store_swatches(kept, "tan", swatches, Thickness(1.8, 1.8))
    shelf.store_made(kept, "tan", piece_made, 1, Thickness(1.8, 1.8))
    assert straps(kept) == (*swatches, piece_made)
    again = (Measured("s", 6.0, 6.4, "2026-05-02"), Measured("t", 6.0, 6.1, "2026-05-02"))
    shelf.store_swatches(kept, "tan", again, Thickness(1.8, 1.8))
    assert straps(kept) == (*again, piece_made)
    learned = shelf.read(kept)["tan"].learned
    assert learned is not None
    assert learned.many() == "2 swatches and 1 finished piece"
    assert shelf.undo_made(kept, "tan") == "Belt, 2026-05-09"
    assert straps(kept) == again


@pytest.mark.parametrize(
    "text",
    [
        f'[tan]\nthickness = "1.8 mm"\ntake_up = {{{OLD}}}\n\n[other]\nthickness = "2 mm"\n',
        f'tan = {{thickness = "1.8 mm", take_up = {{{OLD}}}}}\n\n[other]\nthickness = "2 mm"\n',
        'tan = {thickness = "1.8 mm"}\n[other]\nthickness = "2 mm"\n',
        'tan.thickness = "1.8 mm"\nother.thickness = "2 mm"\n',
        '[tan]\nthickness = "1.8 mm"\n[other]\nthickness = "2 mm"\n',
        '[tan]\nthickness = "1.8 mm"\n[tan.take_up]\nmade = []\n[other]\nthickness = "2 mm"\n',
        '[tan]\nthickness = "1.8 mm"\n[[tan.take_up.swatch]]\nwhat = "s"\nmodelled_mm = 6.0\nmeasured_mm = 6.1\n[other]\nthickness = "2 mm"\n',
        '[other]\nthickness = "2 mm"\n',
    ],
)
def test_however_a_shelf_is_written_a_piece_is_added_and_taken_back(kept: Path, text: str) -> None:
    kept.write_text(text, encoding="utf-8")
    had = shelf.read(kept)
    strap = Measured("Belt", 27.0, 30.0, "2026-05-09", True, cut=1020.0)
    shelf.store_made(kept, "tan", strap, 1, Thickness(1.8, 1.8))
    now = shelf.read(kept)
    assert now["other"] == had["other"]
    assert straps(kept)[-1] == strap
    assert now["tan"].learned is not None
    assert now["tan"].learned.swatches == (had["tan"].learned.swatches if "tan" in had and had["tan"].learned else 0)
    assert now["tan"].stale == (had["tan"].stale if "tan" in had else 0)
    shelf.undo_made(kept, "tan")
    assert shelf.read(kept)["other"] == had["other"]
    assert shelf.read(kept)["tan"] == had.get("tan", Leather(Thickness(1.8, 1.8), name="tan"))


def test_a_new_leather_is_put_on_the_shelf_under_the_name_given(tmp_path: Path, kept: Path, say: Say) -> None:
    path = write(tmp_path, order("wristband", 172.0, "Band"))
    code, _, err = say("made", str(path), "--measured", "19.2 cm")
    assert code == 2
    assert "'Band' does not say its leather; say --leather and a name" in err
    code, said, _ = say("made", str(path), "--measured", "19.2 cm", "--leather", "dock-red")
    assert code == 0
    assert "The leather is new there, 1.8 mm thick" in said
    assert shelf.read(kept)["dock-red"].thickness == Thickness(1.8, 1.8)


def test_one_strap_is_measured_once_unless_it_is_another(tmp_path: Path, kept: Path, say: Say) -> None:
    path = write(tmp_path, order("wristband", 172.0, "Band", count=2), order("belt", 900.0, "Belt"))
    args = ["made", str(path), "Band", "--leather", "tan", "--measured"]
    assert say(*args, "19.2 cm")[0] == 0
    assert say(*args, "19.1 cm")[0] == 0
    code, _, err = say(*args, "19.3 cm")
    assert code == 2
    assert "all copies of it have been measured" in err
    assert say(*args, "19.3 cm", "--another")[0] == 0
    assert len(straps(kept)) == 3
    assert say("made", str(path), "Belt", "--leather", "tan", "--measured", "90 cm")[0] == 0
    assert "it has been measured" in say("made", str(path), "Belt", "--leather", "tan", "--measured", "90 cm")[2]


def test_room_for_500_pieces_and_the_next_is_refused(kept: Path) -> None:
    line = '{what = "b", modelled_mm = 6.0, measured_mm = 6.1},'
    kept.write_text(f'[tan]\nthickness = "1.8 mm"\ntake_up.made = [{line * 499}]\n', encoding="utf-8")
    strap = Measured("Belt", 27.0, 30.0, "2026-05-09", True, cut=1020.0)
    shelf.store_made(kept, "tan", strap, 1, Thickness(1.8, 1.8))
    assert len(straps(kept)) == record.MOST_STRAPS
    before = kept.read_bytes()
    with pytest.raises(InputError, match="there are 500 finished pieces already"):
        shelf.store_made(kept, "tan", strap, None, Thickness(1.8, 1.8))
    assert kept.read_bytes() == before


REFUSED = [
    (["Band", "--measured", "17.2 cm"], "172 mm is the measure it was made for"),
    (["Band", "--measured", "252.2 mm"], "is the overall cut length"),
    (["Band", "--measured", "201.3 mm"], "would have eaten 0.1 mm where the model says 7.6 mm"),
    (["Band", "--measured", "201.3 mm"], "is the length as cut"),
    (["Band", "--measured", "30 cm"], "would have eaten nothing"),
    (["Band", "--measured", "19.2"], "no unit"),
    (["Band", "--measured", "-19.2 cm"], "below zero"),
    (["Band"], "how long 'Band' came out is missing"),
    (["Bant", "--measured", "19.2 cm"], "no piece is called 'Bant'; did you mean 'Band'"),
    (["", "--measured", "19.2 cm"], "no piece is called ''; it has 'Band', 'Belt', 'Loop', 'Twin', 'Twin'"),
    (["Loop", "--measured", "9 cm"], "this is a plain strap"),
    (["Twin", "--measured", "19.2 cm"], "2 different pieces are called that; give its number in the file instead: 4 or 5"),
    (["--measured", "19.2 cm"], "4 braided pieces are in it; name one: 'Band', 'Belt', 'Twin', 'Twin'"),
    (["Band", "--measured", "19.2 cm", "--date", "3rd of May"], "'3rd of May' is no date"),
    (["Band", "--measured", "19.2 cm", "--date", "2026-02-30"], "is no date"),
    (["Band", "--measured", "19.2 cm", "--date", "2199-01-01"], "has not come yet"),
    (["Band", "--measured", "19.2 cm", "--leather", "no such!"], "is no name for a leather"),
    (["Band", "--measured", "19.2 cm", "--leather", "thick"], "'thick' is 3.2 mm thick, but the piece was worked out for 1.8 mm"),
    (["Band", "--measured", "19.2 cm", "--list"], "this takes no piece"),
]  # fmt: skip


@pytest.mark.parametrize(("args", "words"), REFUSED)
def test_nonsense_is_refused_in_one_sentence_and_nothing_is_written(
    tmp_path: Path, kept: Path, say: Say, args: list[str], words: str
) -> None:
    kept.write_text(SHELF + '[thick]\nthickness = "3.2 mm"\n', encoding="utf-8")
    path = write(
        tmp_path,
        order("wristband", 172.0, "Band"),
        order("belt", 900.0, "Belt"),
        order("keeper-loop", 90.0, "Loop"),
        order("wristband", 172.0, "Twin"),
        order("wristband", 182.0, "Twin"),
    )
    before = kept.read_bytes()
    leather = [] if "--leather" in args or "--list" in args else ["--leather", "tan"]
    code, out, err = say("made", str(path), *args, *leather)
    assert (code, out) == (2, "")
    assert words in err
    assert err.count("\n") == 1
    assert kept.read_bytes() == before


def test_twins_are_told_apart_by_their_number_and_equal_ones_need_none(tmp_path: Path) -> None:
    a, b = order("wristband", 172.0, "Twin"), order("wristband", 182.0, "Twin")
    assert made.read(write(tmp_path, a, b), "2").measure == 182.0
    assert made.read(write(tmp_path, a, a), "Twin").measure == 172.0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "this is no JSON"),
        ("[1, 2]", "this holds no pieces of ours"),
        ('{"strapwork": "1", "units": "mm", "pieces": []}', "pieces"),
        ('{"strapwork": "1", "units": "in", "pieces": [{}]}', "is not a choice here"),
        ("[" * 100_000, "this is no JSON"),
        ('{"strapwork": "1", "units": "mm", "pieces": [{"label": NaN}]}', "this is no JSON"),
        ('{"strapwork": "1", "units": "mm", "pieces": [{"label": "Band"}]}', "pieces[1].count: this key is missing"),
    ],
)
def test_a_file_that_is_no_numbers_is_refused(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "numbers.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as e:
        made.read(path, "Band")
    assert words in str(e.value)
    with pytest.raises(InputError, match="cannot be read"):
        made.read(tmp_path / "none.json", "Band")


def test_a_number_in_the_file_that_cannot_be_is_named(tmp_path: Path) -> None:
    path = write(tmp_path, order("wristband", 172.0, "Band"))
    data = json.loads(path.read_text(encoding="utf-8"))
    data["pieces"][0]["fit"]["finished_mm"] = -5
    path.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(InputError, match=r"pieces\[1\].fit.finished_mm: '-5' is out of range"):
        made.read(path, "Band")


def test_the_last_line_of_the_card_can_be_typed_as_it_stands(tmp_path: Path, kept: Path, say: Say) -> None:
    p = order("wristband", 172.0, 'The "long" band')
    write(tmp_path, p)
    text = bench.steps(p)[-1].text
    line = text[text.index("strapwork made") :].replace("LENGTH", "'19.2 cm'").replace("NAME", "tan")
    args = [str(tmp_path / a) if a == "numbers.json" else a for a in shlex.split(line)[1:]]
    code, said, _ = say(*args)
    assert code == 0
    assert "Kept on" in said
    assert straps(kept)[0].what == 'The "long" band'
    named = order("wristband", 172.0, "Band", Leather(Thickness(1.8, 1.8), name="tan"))
    assert bench.steps(named)[-1].text.endswith('strapwork made numbers.json "Band" --measured LENGTH')
    assert "strapwork made" not in bench.steps(order("keeper-loop", 90.0, "Loop"))[-1].text


def test_two_at_once_lose_no_piece(kept: Path) -> None:
    pieces = [Measured(f"b{k}", 6.0, 6.1, "2026-05-09", True, cut=200.0) for k in range(6)]
    with multiprocessing.get_context("spawn").Pool(3) as pool:
        pool.starmap(shelf.store_made, [(kept, "tan", piece, 1, Thickness(2, 2)) for piece in pieces])
    assert {s.what for s in straps(kept)} == {f"b{k}" for k in range(6)}
