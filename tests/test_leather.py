"""Swatches, the shelf, hardware by stack, load and cautions."""

from __future__ import annotations

import json
import math
import multiprocessing
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import scipy

from strapwork.braid import geometry
from strapwork.cli import main as cli
from strapwork.errors import InputError
from strapwork.piece import load, piece
from strapwork.piece import swatches as swatch
from strapwork.piece.piece import Piece
from strapwork.say import findings, loads
from strapwork.stock import hardware, shelf, take_up
from strapwork.stock import learned as learnt
from strapwork.stock import patterns as pattern_files
from strapwork.stock.learned import Learned, Measured
from strapwork.stock.leather import Leather
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


def straps(*ratios: float, model: float = 6.0) -> tuple[Measured, ...]:
    """Swatches that took up these multiples of what the model says."""
    return tuple(Measured(f"s{k}", model, round(model * r, 4), "2026-05-02") for k, r in enumerate(ratios))


def student(fit: Learned, model: float) -> float:
    """Half the 95 % band of a new strap by a straight line through the origin (scipy's t); infinite for one swatch."""
    m, y = np.array([s.model for s in fit.straps]), np.array([s.measured for s in fit.straps])
    if len(m) < 2:
        return math.inf
    k = float(m @ y / (m @ m))
    scatter2 = float(((y - k * m) ** 2).sum()) / (len(m) - 1)
    return float(scipy.stats.t.ppf(0.975, len(m) - 1)) * math.sqrt(scatter2 * (1 + model**2 / float(m @ m)))


EIGHT = straps(1.45, 1.55, 1.5, 1.48, 1.52, 1.56, 1.44, 1.5)


def test_the_band_narrows_as_swatches_come_in(tmp_path: Path) -> None:
    # Swatches that miss the model by the same amount, now above, now below.
    lines = [f"s{k},1.8 mm,19 mm,3,2,{150 + k} mm,170 mm,{170 - 6.0 - 0.4 * (-1) ** k:.1f} mm," for k in range(16)]
    widths, students = [], []
    for n in (1, 2, 4, 8, 16):
        fit = learned(write(tmp_path, lines[:n]))
        assert fit.swatches == n
        low, high = fit.band(6.0)
        assert 0 < low < 6.0 * fit.factor < high
        widths.append((high - low) / 2)
        students.append(student(fit, 6.0))
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.55 * widths[0]
    # Where there are few, Student's band of a straight line runs wild; where there are many, the two come together.
    assert widths[1] < students[1] / 4
    assert widths[2] < students[2]
    assert widths[-1] == pytest.approx(students[-1], rel=0.2)


def test_no_band_reaches_zero_or_runs_wild(tmp_path: Path) -> None:
    # Two swatches of which the one took up five times what the other did.
    fit = learned(
        write(tmp_path, ["a,1.8 mm,19 mm,3,2,150 mm,170 mm,168 mm,", "b,1.8 mm,19 mm,3,2,152 mm,172 mm,162 mm,"])
    )
    for model in (1.0, 6.0, 70.0):
        low, high = fit.band(model)
        assert 0.1 * model < low < high < 10 * model


def test_one_swatch_helps_already() -> None:
    prior_width = math.exp(2 * 1.96 * take_up.FACTOR_SPREAD)
    for ratio in (0.7, 1.0, 1.6):
        one = Learned(straps(ratio))
        low, high = one.band(6.0)
        assert one.factor == pytest.approx(ratio, rel=0.04)
        assert high / low < prior_width / 3


def test_more_swatches_than_can_be_read_are_refused_and_none_is_dropped(tmp_path: Path) -> None:
    lines = [f"s{k},1.8 mm,19 mm,3,2,{150 + 0.1 * k:.1f} mm,220 mm,214 mm," for k in range(501)]
    assert len(swatch.read(write(tmp_path, lines[:500]))) == 500
    with pytest.raises(InputError, match="there are more than 500 rows; split the table"):
        swatch.read(write(tmp_path, lines))


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
        ("x,1.8 mm,19 mm,three,2,150 mm,170 mm,165 mm,", "row 3, strands: 'three'"),
        ("x,1.8 mm,19 mm,3,2,150,170 mm,165 mm,", "row 3, slit: '150' has no unit"),
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
    eight = Learned(EIGHT)
    more = cut(eight)
    assert more.fit.take_up == pytest.approx(eight.factor * plain.fit.take_up)
    assert more.fit.take_up == pytest.approx(1.5 * plain.fit.take_up, rel=0.005)
    assert more.fit.high - more.fit.low < plain.fit.high - plain.fit.low
    assert "8 swatches" in more.fit.basis
    assert "no swatch" in plain.fit.basis
    assert more.fit.braid is not None
    assert more.fit.slit_end - more.fit.slit_start == pytest.approx(more.fit.braid.slit)
    assert "95 % of new straps" in more.fit.basis
    low, high = eight.band(plain.fit.take_up)
    assert more.fit.cut_length - more.fit.low == pytest.approx(more.fit.take_up - low)
    assert more.fit.high - more.fit.cut_length == pytest.approx(high - more.fit.take_up)
    single = cut(Learned(straps(1.5)))
    assert "one swatch only" in single.fit.basis
    assert single.fit.high - single.fit.low > more.fit.high - more.fit.low
    settled = cut(Learned((Measured("s", 6.0, 6.0, after=150.0, worn=153.0),)))
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
    shelf.store_swatches(path, "tan", EIGHT, Thickness(2.0, 2.0))
    text = path.read_text(encoding="utf-8")
    assert "# mine" in text
    assert "# soft side" in text
    assert shelf.read(path)["tan"].learned == Learned(EIGHT)
    path.write_text('[tan]\nthicknes = "2 mm"\n', encoding="utf-8")
    assert cli.main(["leathers", "--shelf", str(path)]) == 2
    assert "did you mean 'thickness'" in capsys.readouterr().err
    before = path.read_bytes()
    with pytest.raises(InputError):
        shelf.store_swatches(path, "other", EIGHT, Thickness(2.0, 2.0))
    assert path.read_bytes() == before


def test_two_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "shelf.toml"
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        pool.starmap(shelf.store_swatches, [(path, f"hide-{k}", EIGHT, Thickness(2.0, 2.0)) for k in range(12)])
    assert set(shelf.read(path)) == {f"hide-{k}" for k in range(12)}


OLD = "factor = 1.1, error = 0.05, scatter_mm = 0.9, freedom = 4, quantile = 2.78, swatches = 5, settle = 0.004"


def test_straps_that_an_earlier_model_judged_do_not_count_until_they_are_read_again(tmp_path: Path) -> None:
    """Its model said less: what it taught would now make every strap too long."""
    path = tmp_path / "shelf.toml"
    row = '{what = "s0", date = 2026-05-02, model_mm = 6.0, measured_mm = 8.0}'
    made = '{what = "Belt", date = 2026-05-02, model_mm = 27.0, measured_mm = 34.0, cut_mm = 1020.0}'
    path.write_text(
        f'[tan]\nthickness = "2 mm"\ntake_up = {{{OLD}}} # first ones\n'
        f'[red]\nthickness = "2 mm"\ntake_up = {{swatch = [{row}], made = [{made}]}}\n',
        encoding="utf-8",
    )
    old = shelf.read(path)
    assert [(x.learned, x.stale) for x in old.values()] == [(None, 5), (None, 2)]
    band = piece.work_out(order_of("x", pattern_files.find("wristband", "test"), 172.0, old["red"]))
    assert band.fit.take_up == band.fit.modelled
    assert "2 straps were measured of this leather against an earlier model" in "".join(
        f.message for f in band.findings
    )
    assert "left out: 5 straps that an earlier model of the braid judged" in shelf.words(old["tan"])

    for name in old:
        shelf.store_swatches(path, name, EIGHT, Thickness(2.0, 2.0))
    belt = Measured("Belt", 40.0, 34.0, "2026-05-02", True, cut=1020.0)
    assert shelf.read(path)["red"].stale == 1
    shelf.store_made(path, "red", belt, 1, Thickness(2.0, 2.0))
    now = shelf.read(path)
    assert [x.stale for x in now.values()] == [0, 0]
    assert now["tan"].learned == Learned(EIGHT)
    assert now["red"].learned == Learned((*EIGHT, belt))
    with pytest.raises(InputError, match="it has been measured"):
        shelf.store_made(path, "red", belt, 1, Thickness(2.0, 2.0))


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("{factor = inf, error = 0.05, scatter_mm = 0.9, swatches = 5}", "take_up.factor"),
        ("{factor = 1.1, error = nan, scatter_mm = 0.9, swatches = 5}", "take_up.error"),
        ("{factor = 1.1, error = 0.05, scatter_mm = 1e9, swatches = 5}", "take_up.scatter_mm"),
        ("{factor = 1.1, error = 0.05, scatter_mm = 0.9}", "'strapwork swatch'"),
        ("{swatch = [{what = 'a', measured_mm = 6.0}]}", "does not say once what the model says"),
        ("{swatch = [{what = 'a', modelled_mm = 6.0, model_mm = 5.0, measured_mm = 6.0}]}", "does not say once"),
        ("{swatch = [{what = 'a', modelled_mm = 6.0, measured_mm = inf}]}", "take_up.swatch[1].measured_mm"),
        ("{swatch = [{what = 'a', modelled_mm = nan, measured_mm = 6.0}]}", "take_up.swatch[1].modelled_mm"),
        ("{swatch = [{what = 'a', modelled_mm = -6.0, measured_mm = 6.0}]}", "take_up.swatch[1].modelled_mm"),
        ("{swatch = [{what = 'a', modelled_mm = 6.0, measured_mm = 600.0}]}", "where the model says 6 mm"),
        ("{swatch = [{what = 'a', modelled_mm = 6.0, measured_mm = 6.0, date = 'may'}]}", "'may' is no date"),
        ("{swatch = [{what = 'a', modelled_mm = 6.0, measured_mm = 6.0, date = 2026}]}", "'2026' is no date"),
        ("{swatch = [{what = 'a', modelled_mm = 6.0, measured_mm = 6.0, after_mm = 150.0}]}", "go together"),
        ('{swatch = [{what = "a\\u0007", modelled_mm = 6.0, measured_mm = 6.0}]}', "cannot be printed"),
        (
            "{made = [" + "{what = 'a', modelled_mm = 6.0, measured_mm = 6.0}," * 501 + "]}",
            "take_up.made",
        ),
    ],
)
def test_a_shelf_holds_only_take_ups_that_can_be(tmp_path: Path, table: str, words: str) -> None:
    path = tmp_path / "shelf.toml"
    path.write_text(f'[tan]\nthickness = "2 mm"\ntake_up = {table}\n', encoding="utf-8")
    with pytest.raises(InputError) as e:
        shelf.read(path)
    assert words in str(e.value)


def test_a_swatch_without_a_date_keeps_the_day_it_was_put_on_the_shelf(tmp_path: Path) -> None:
    path, file = (
        tmp_path / "shelf.toml",
        write(tmp_path, [GOOD[0] + ",2026-04-18", GOOD[1] + ","], head=HEAD[:-1] + ",date\n"),
    )
    for _ in range(2):
        lesson = swatch.learn(swatch.read(file))
        shelf.store_swatches(path, "tan", lesson.learned.straps, lesson.thickness)
        kept = shelf.read(path)["tan"].learned
        assert kept is not None
        first, second = (s.date for s in kept.straps)
        assert first == "2026-04-18"
        text = path.read_text(encoding="utf-8").replace(f"date = {second}", "date = 2026-04-19")
        path.write_text(text, encoding="utf-8")
    assert second == "2026-04-19"


def test_the_words_say_when_a_piece_lies_beyond_the_swatches(draft: Draft) -> None:
    hide = Leather(Thickness(1.8, 1.8), learned=Learned(straps(1.45, 1.55, 1.5, 1.48, model=8.0)))

    def basis(name: str, value: float) -> str:
        return piece.work_out(order_of("x", pattern_files.find(name, "test"), value, hide)).fit.basis

    assert "beyond" not in basis("wristband", 172.0)
    lead = piece.work_out(order_of("x", pattern_files.find("dog-lead", "test"), 1200.0, hide))
    times = lead.fit.modelled / 8.0
    assert times > 5
    assert f"takes up {times:.1f} times what the largest of them did" in lead.fit.basis
    assert "beyond what was measured" in lead.fit.basis
    small = Leather(Thickness(1.8, 1.8), learned=Learned(straps(1.5, model=20.0)))
    band = piece.work_out(order_of("x", pattern_files.find("wristband", "test"), 172.0, small))
    assert f"takes up {band.fit.modelled / 20.0:.2f} of what that one did" in band.fit.basis


def made(*ratios: float) -> tuple[Measured, ...]:
    """Finished pieces that took up these multiples of 6 mm."""
    return tuple(Measured(f"Band {k}", 6.0, 6.0 * r, f"2026-05-0{k + 1}", True) for k, r in enumerate(ratios))


@pytest.mark.parametrize(
    ("known", "many"),
    [
        (straps(1.1), "1 swatch"),
        (straps(1.1, 1.2), "2 swatches"),
        (made(1.1), "1 finished piece"),
        ((*straps(1.1), *made(1.2, 1.3)), "1 swatch and 2 finished pieces"),
    ],
)
def test_what_was_measured_is_counted_in_words(known: tuple[Measured, ...], many: str) -> None:
    assert Learned(known).many() == many
    assert learnt.words(Learned(known))[0].endswith(f", from {many}")
    said = "One strap shows no scatter" in "\n".join(learnt.words(Learned(known)))
    assert said == (len(known) == 1)


def test_only_finished_pieces_are_named_as_the_last_that_taught() -> None:
    assert Learned(straps(1.1, 1.2)).latest() == ""
    assert Learned((*made(1.1, 1.2), *straps(1.0))).latest() == " (the last: Band 1, 2026-05-02)"


def test_how_far_was_measured_is_said_and_where_a_braid_lies_beyond_it() -> None:
    """Beyond is a quarter more than the largest, or the smallest a quarter more than the braid."""
    same, apart = Learned(straps(1.1, 1.2)), Learned((*straps(1.1), *straps(1.2, model=8.0)))
    assert "the model says about 6 mm; a braid that should take up more than 7.5 mm lies" in learnt.words(same)[2]
    assert "the model says 6 mm to 8 mm; a braid that should take up more than 10 mm lies" in learnt.words(apart)[2]
    assert [apart.reach(model) for model in (4.8, 6.0, 10.0)] == ["", "", ""]
    assert apart.reach(12.0).startswith("this braid takes up 1.5 times what the largest of them did, so")
    assert apart.reach(4.5).startswith("this braid takes up 0.75 of what the smallest of them did, so")
    three = Learned((*straps(1.1, 1.2), *made(1.3)))
    assert "the largest of them" in three.reach(12.0)
    one = Learned(straps(1.1))
    assert one.reach(12.0).startswith("this braid takes up 2.0 times what that one did, so")
    assert one.reach(3.0).startswith("this braid takes up 0.50 of what that one did, so")


def test_the_data_of_a_leather_name_every_strap_with_its_kind_and_day() -> None:
    data = Learned((*made(1.25), Measured("scrap", 6.0, 5.25))).as_data()
    assert (data["swatches"], data["pieces"], data["settle"]) == (1, 1, None)
    assert data["straps"] == [
        {"what": "Band 0", "kind": "made", "date": "2026-05-01", "model_mm": 6.0, "measured_mm": 7.5},
        {"what": "scrap", "kind": "swatch", "date": None, "model_mm": 6.0, "measured_mm": 5.25},
    ]
    assert data["factor_low"] < data["factor"] < data["factor_high"]


def test_settling_is_said_in_hundredths_where_it_was_measured() -> None:
    """150 mm that became 165 mm: a tenth more."""
    worn = Learned((Measured("s", 6.0, 7.0, after=150.0, worn=165.0),))
    assert learnt.words(worn)[-1] == "  settles by 10.0 % in wear"
    assert "settles" not in "\n".join(learnt.words(Learned(straps(1.1, 1.2))))


def test_a_strap_in_a_line_says_what_it_was_and_what_it_ate() -> None:
    assert learnt.line(made(1.25)[0]) == "Band 0 (finished piece, 2026-05-01): ate 7.5 mm, model 6 mm"
    assert learnt.line(Measured("scrap", 6.0, 5.25)) == "scrap (swatch): ate 5.25 mm, model 6 mm"


def test_a_swatch_is_drafted_as_it_was_cut(tmp_path: Path) -> None:
    # Four sets in a short slit braid at a steep angle, where the slit's own modelled take-up would be far off.
    line = "steep,1.8 mm,19.05 mm,3,4,180 mm,200 mm,168 mm,"
    lesson = swatch.learn(swatch.read(write(tmp_path, [line])))
    (s,) = lesson.learned.straps
    plan = piece.plan_for(3, "plain", None, "test")
    form = geometry.from_finished(plan.plait, 6.35, 1.8, 4, 180.0 - 32.0)
    assert form is not None
    assert s.model == pytest.approx(form.take_up)
    assert form.finished + form.take_up * s.measured / s.model == pytest.approx(180.0)


def test_what_holds_a_stack_and_what_to_use_instead() -> None:
    c = hardware.catalogue()
    assert c.for_stack("snap", 2.0, "x").name == "snap-20"
    assert c.for_stack("snap", 2.6, "x").name == "snap-24"
    with pytest.raises(
        InputError, match=r"skive the leather there until the stack is 3.6 mm or less, or use a 18 mm magnetic snap"
    ):
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
