"""Swatches, the shelf, hardware by stack, load and cautions."""

from __future__ import annotations

import json
import multiprocessing
from collections.abc import Callable
from pathlib import Path

import pytest

from strapwork.cli import main as cli
from strapwork.errors import InputError
from strapwork.piece import load, piece
from strapwork.piece import swatches as swatch
from strapwork.piece.piece import Piece
from strapwork.say import findings, loads
from strapwork.stock import hardware, shelf
from strapwork.stock import patterns as pattern_files
from strapwork.stock.leather import Learned, Leather
from strapwork.units import Thickness, parse_load
from tests.helpers import order as order_of

Draft = Callable[..., Piece]
HEAD = "swatch,thickness,width,strands,sets,slit,before,after,worn\n"
GOOD = [
    "one,1.8 mm,19 mm,3,2,150 mm,170 mm,163.6 mm,164.3 mm",
    "two,1.8 mm,19 mm,3,2,160 mm,180 mm,174.2 mm,",
    "three,1.8 mm,19 mm,3,3,150 mm,170 mm,155.4 mm,",
    "four,1.9 mm,25 mm,3,2,170 mm,190 mm,179.4 mm,",
    "five,1.8 mm,19 mm,3,1,120 mm,140 mm,137.9 mm,",
]


def write(folder: Path, lines: list[str], name: str = "s.csv", head: str = HEAD) -> Path:
    path = folder / name
    path.write_text(head + "\n".join(lines) + "\n", encoding="utf-8")
    return path


def learned(path: Path) -> Learned:
    return swatch.learn(swatch.read(path)).learned


def test_the_band_narrows_as_swatches_come_in(tmp_path: Path) -> None:
    # Swatches that miss the model by the same amount, now above, now below.
    lines = [f"s{k},1.8 mm,19 mm,3,2,{150 + k} mm,170 mm,{170 - 6.0 - 0.4 * (-1) ** k:.1f} mm," for k in range(16)]
    widths = []
    for n in (1, 2, 4, 8, 16):
        fit = learned(write(tmp_path, lines[:n]))
        assert fit.swatches == n
        widths.append(fit.spread(6.0))
    assert widths[0] is None
    rest = [w for w in widths if w is not None]
    assert rest == sorted(rest, reverse=True)
    assert rest[-1] < rest[0] / 3


def test_csv_with_semicolons_and_toml_say_the_same(tmp_path: Path) -> None:
    base = learned(write(tmp_path, GOOD))
    semi = [line.replace(".", "§").replace(",", ";").replace("§", ",") for line in GOOD]
    assert learned(write(tmp_path, semi, "semi.csv", HEAD.replace(",", ";"))).factor == pytest.approx(base.factor)
    rows = []
    for line in GOOD:
        name, t, w, n, m, slit, before, after, worn = line.split(",")
        more = f'worn = "{worn}"\n' if worn else ""
        rows.append(
            f'[[swatches]]\nswatch = "{name}"\nthickness = "{t}"\nwidth = "{w}"\nstrands = {n}\nsets = {m}\n'
            f'slit = "{slit}"\nbefore = "{before}"\nafter = "{after}"\n{more}'
        )
    toml = tmp_path / "s.toml"
    toml.write_text("\n".join(rows), encoding="utf-8")
    assert learned(toml).factor == pytest.approx(base.factor)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("x,1.8 mm,19 mm,3,2,150 mm,170 mm,171 mm,", "no shorter after braiding"),
        ("x,1.8 mm,19 mm,3,2,180 mm,170 mm,165 mm,", "longer than what was measured"),
        ("x,1.8 mm,19 mm,3,2,150 mm,170 mm,20 mm,", "more than half of its slits"),
        ("x,1.8 mm,19 mm,3,2,150 mm,170 mm,165 mm,300 mm", "in wear"),
        ("x,1.8 mm,19 mm,three,2,150 mm,170 mm,165 mm,", "line 3, strands: 'three'"),
        ("x,1.8 mm,19 mm,3,2,150,170 mm,165 mm,", "line 3, slit: '150' has no unit"),
        ("x,1.8 mm,19 mm,4,2,150 mm,170 mm,165 mm,", "cannot be worked with both ends joined"),
        ("x,1.8 mm,19 mm,3,90,150 mm,170 mm,165 mm,", "cannot be packed"),
        ("one,1.8 mm,19 mm,3,2,151 mm,171 mm,165 mm,", "again"),
        ("x,1.8 mm,19 mm,3,2,150 mm,170 mm,163.6 mm,164.3 mm", "again"),
        ("x,1.8 mm,19 mm,3,2,150 mm,170 mm,165 mm,,,,", "values under 9 headings"),
    ],
)
def test_nonsense_is_refused_by_line(tmp_path: Path, line: str, words: str) -> None:
    with pytest.raises(InputError) as e:
        swatch.learn(swatch.read(write(tmp_path, [GOOD[0], line])))
    assert words in str(e.value)


def test_the_outlier_is_named(tmp_path: Path) -> None:
    calm = [f"s{k},1.8 mm,19 mm,3,2,{150 + k} mm,170 mm,{170 - 6.0 + 0.05 * (-1) ** k:.2f} mm," for k in range(6)]
    assert swatch.learn(swatch.read(write(tmp_path, calm))).outlier is None
    odd = [*calm, "odd,1.8 mm,19 mm,3,2,150 mm,170 mm,155 mm,"]
    lesson = swatch.learn(swatch.read(write(tmp_path, odd)))
    assert lesson.outlier == 6
    assert "odd: ate 15 mm" in swatch.words(lesson, "tan")
    assert "stands out" in swatch.words(lesson, "tan")


def test_a_learned_leather_moves_the_fit_and_says_so(draft: Draft) -> None:
    r = pattern_files.find("wristband", "test")

    def cut(learned: Learned | None) -> Piece:
        return piece.work_out(order_of("x", r, 172.0, Leather(Thickness(1.8, 1.8), learned=learned)))

    plain = cut(None)
    more = cut(Learned(1.5, 0.02, 0.3, 7, 2.36, 8))
    assert more.fit.take_up == pytest.approx(1.5 * plain.fit.take_up)
    assert more.fit.high - more.fit.low < plain.fit.high - plain.fit.low
    assert "8 swatches" in more.fit.basis
    assert "no swatch" in plain.fit.basis
    assert more.fit.braid is not None
    assert more.fit.slit_end - more.fit.slit_start == pytest.approx(more.fit.braid.slit)
    single = cut(Learned(1.5, 0.0, 0.0, 0, 0.0, 1))
    assert "one swatch only" in single.fit.basis
    settled = cut(Learned(1.0, 0.02, 0.3, 7, 2.36, 8, settle=0.02))
    row = next(x for x in settled.fit.rows if x.what == "settle")
    assert row.mm < 0
    assert (plain.fit.finished + row.mm) * 1.02 == pytest.approx(plain.fit.finished)


def test_the_template_can_be_filled_in_and_learned(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, kept = tmp_path / "mine.csv", tmp_path / "shelf.toml"
    assert cli.main(["swatch", "--template", str(file)]) == 0
    assert cli.main(["swatch", "--template", str(file)]) == 2
    assert cli.main(["swatch", str(file), "--name", "tan", "--shelf", str(kept)]) == 0
    assert "Kept as 'tan'" in capsys.readouterr().out
    assert cli.main(["leathers", "tan", "--shelf", str(kept)]) == 0
    assert "from 1 swatch" in capsys.readouterr().out
    assert (
        cli.main(["draft", "wristband", "--measure", "172 mm", "--leather", "tan", "--shelf", str(kept), "--json"]) == 0
    )
    assert json.loads(capsys.readouterr().out)["pieces"][0]["leather"]["learned_factor"] is not None
    assert (
        cli.main(["draft", "wristband", "--measure", "172 mm", "--leather", "tann", "--shelf", str(kept), "--json"])
        == 2
    )
    assert "did you mean 'tan'" in capsys.readouterr().err
    assert cli.main(["leathers", "--check", "--shelf", str(kept)]) == 0
    assert "1 leather, all in order" in capsys.readouterr().out


def test_a_shelf_keeps_comments_and_refuses_nonsense(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "shelf.toml"
    path.write_text('# mine\n[tan]\nthickness = "2 mm" # soft side\n', encoding="utf-8")
    shelf.store_learned(path, "tan", Learned(1.1, 0.1, 0.5, 3, 3.18, 4), "2 mm")
    text = path.read_text(encoding="utf-8")
    assert "# mine" in text
    assert "# soft side" in text
    assert shelf.read(path)["tan"].learned == Learned(1.1, 0.1, 0.5, 3, 3.18, 4)
    path.write_text('[tan]\nthicknes = "2 mm"\n', encoding="utf-8")
    assert cli.main(["leathers", "--shelf", str(path)]) == 2
    assert "did you mean 'thickness'" in capsys.readouterr().err
    before = path.read_bytes()
    with pytest.raises(InputError):
        shelf.store_learned(path, "other", Learned(1.0, 0.0, 0.0, 0, 0.0, 1), "2 mm")
    assert path.read_bytes() == before


def _store(path: str, k: int) -> None:
    shelf.store_learned(Path(path), f"hide-{k}", Learned(1.0, 0.1, 0.5, 3, 3.18, 4), "2 mm")


def test_two_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "shelf.toml"
    with multiprocessing.get_context("spawn").Pool(4) as pool:
        pool.starmap(_store, [(str(path), k) for k in range(12)])
    assert set(shelf.read(path)) == {f"hide-{k}" for k in range(12)}


def test_what_holds_a_stack_and_what_to_use_instead() -> None:
    c = hardware.catalogue()
    assert c.for_stack("snap", 2.0, "x").name == "snap-20"
    assert c.for_stack("snap", 2.6, "x").name == "snap-24"
    with pytest.raises(InputError, match=r"skive the leather there to 3.6 mm or less, or use a 18 mm magnetic snap"):
        c.for_stack("snap", 3.9, "x")
    with pytest.raises(InputError, match="use a screw post, 12 mm"):
        c.for_stack("rivet", 11.0, "x")
    with pytest.raises(InputError, match="line or back the leather"):
        c.for_stack("rivet", 0.5, "x")
    assert {f.kind for f in c.families} >= {
        "snap",
        "rivet",
        "screw-post",
        "eyelet",
        "buckle",
        "ring",
        "hook",
        "magnetic-snap",
    }


def test_a_picked_snap_that_cannot_take_the_stack_is_refused_with_one_that_can() -> None:
    r = pattern_files.find("wristband", "test")
    fixed = r.start.fixtures[0].model_copy(update={"pick": "snap-20"})
    order = order_of(
        "x",
        r.model_copy(update={"start": r.start.model_copy(update={"fixtures": (fixed,)})}),
        172.0,
        Leather(Thickness(2.6, 2.6)),
    )
    with pytest.raises(InputError, match=r"'snap-20' holds 0.8 mm to 2.4 mm but the stack is 2.6 mm; pick 'snap-24'"):
        piece.work_out(order)


def test_backing_counts_for_stack_wrap_and_curl(draft: Draft) -> None:
    r = pattern_files.find("wristband", "test")
    thin = Leather(Thickness(1.2, 1.2))
    lined = Leather(Thickness(1.2, 1.2), backing=0.8)
    a, b = (piece.work_out(order_of("x", r, 172.0, x)) for x in (thin, lined))
    assert "strand-curls" in {f.code for f in a.findings}
    assert "strand-curls" not in {f.code for f in b.findings}
    assert b.fit.wrap > a.fit.wrap
    assert b.strap.fittings[0].stack == pytest.approx(2.0)


def test_a_carrier_handle_shows_its_weakest_section(draft: Draft) -> None:
    p = draft("carrier-handle", "18 in", "3.2 mm")
    e = load.estimate(p)
    assert [s.newtons for s in e.sections] == sorted(s.newtons for s in e.sections)
    assert e.weakest.what.startswith("bearing at 2 posts")
    assert e.advised == pytest.approx(e.weakest.newtons / 8)
    text = "\n".join(loads.words(e))
    assert "weakest section" in text
    assert "safe" not in text.lower()
    assert "local rules" in loads.WARNING
    assert not load.wanted(draft("wristband", "172 mm"))
    assert load.wanted(draft("wristband", "172 mm", load="100 N"))


def test_the_makers_own_strength_is_used(draft: Draft) -> None:
    r = pattern_files.find("bag-handle", "test")
    p = piece.work_out(order_of("x", r, 400.0, Leather(Thickness(3.2, 3.2), tensile=16.0), load="100 N", factor=5.0))
    e = load.estimate(p)
    assert "own figure" in e.source
    assert e.margin == pytest.approx(e.weakest.newtons / 100.0)
    assert e.factor == 5.0


def test_loads_as_makers_write_them() -> None:
    assert parse_load("12 kg", place="x") == pytest.approx(12 * 9.80665)
    assert parse_load("25 lb", place="x") == pytest.approx(25 * 0.45359237 * 9.80665)
    assert parse_load("120 N", place="x") == 120.0
    for bad in ("12", "12 st", "-3 kg", "0 kg", "9e9 kg", ""):
        with pytest.raises(InputError, match="load"):
            parse_load(bad, place="load")


def codes(p: Piece) -> set[str]:
    return {f.code.removeprefix("safety-") for f in p.findings if f.code.startswith("safety-")}


def test_cautions_stand_where_they_belong_and_nowhere_else(draft: Draft) -> None:
    assert codes(draft("keeper-loop", "90 mm")) == {"blade"}
    assert codes(draft("hat-band", "57 cm")) == {"blade", "mallet"}
    assert codes(draft("wristband", "172 mm")) == {"blade", "mallet", "small-parts"}
    assert codes(draft("bag-handle", "400 mm")) == {"blade", "mallet", "small-parts", "load"}
    assert codes(draft("dog-lead", "1.2 m")) == {"blade", "mallet", "small-parts", "load", "animal"}
    r = pattern_files.find("plain-strap", "test").model_copy(update={"hazards": ("neck",)})
    neck = piece.work_out(order_of("lanyard", r, 900.0))
    assert "neck" in codes(neck)
    assert any("breaks away" in t for t in findings.cautions([neck]))
