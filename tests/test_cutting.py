"""Files for cutters: kerf, order, beds."""

from __future__ import annotations

import io
import json
import math
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path as FilePath

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, box
from shapely.strtree import STRtree

from strapwork.cli import main as cli
from strapwork.cutter import apart, beds, kerf, lettering
from strapwork.cutter import paths as cutting
from strapwork.drawing.primitives import Disc, Layer, Path, Placed, Sheet
from strapwork.errors import InputError
from strapwork.geometry.shape import Arc, Circle, Line, Outline, strap_outline, tip_depth
from strapwork.job import job
from strapwork.piece import piece
from strapwork.piece.piece import Piece
from strapwork.piece.strap import Hole
from strapwork.stock import machines as machine
from strapwork.stock import patterns as pattern_files
from strapwork.stock.leather import Leather
from strapwork.stock.machines import Machine
from strapwork.units import Thickness
from tests.helpers import job_of, read_job
from tests.helpers import order as order_of

Draft = Callable[..., Piece]
SAMPLES = FilePath(__file__).resolve().parents[1] / "samples"
MACHINES = ["laser", "drag-knife", "pen-plotter", "oscillating-knife"]
ends = st.sampled_from(["round", "pointed", "square", "clipped"])


@pytest.fixture(scope="module")
def kit() -> list[Piece]:
    return job.work_out(read_job(SAMPLES / "market-kit.toml"))


@settings(max_examples=30)
@given(width=st.floats(8, 120), extra=st.floats(1, 800), start=ends, finish=ends, by=st.floats(0.05, 1.5))
def test_a_grown_outline_is_shapelys_buffer(width: float, extra: float, start: str, finish: str, by: float) -> None:
    length = extra + tip_depth(start, width, None) + tip_depth(finish, width, None)
    outline = strap_outline(length, width, start, finish)
    grown = kerf.grown(outline, by)
    assert grown.gap() < 1e-6
    theirs = outline.polygon(1e-5).buffer(by, quad_segs=2000)
    apart = grown.polygon(1e-5).symmetric_difference(theirs).area
    assert apart < 1e-3 * outline.length
    # Steiner's formula for a convex shape: area, edge and half disc.
    assert grown.area == pytest.approx(outline.area + by * outline.length + math.pi * by**2, rel=1e-9)
    assert sum(isinstance(s, Arc) for s in grown) >= sum(isinstance(s, Arc) for s in outline)


@given(d=st.floats(1, 20), length=st.floats(0, 60), k=st.floats(0, 0.9))
def test_holes_and_slots_shrink_by_half_a_kerf_all_round(d: float, length: float, k: float) -> None:
    hole = Hole(50.0, 20.0, d, d + length, "test", "start")
    cut = kerf.hole_path(hole, k, "x")
    drawn = hole.shape()
    if isinstance(cut, Circle):
        assert isinstance(drawn, Circle)
        assert (cut.cx, cut.cy, cut.r) == pytest.approx((50, 20, d / 2 - k / 2))
    else:
        assert isinstance(drawn, Outline)
        # It stays where it is, lying along the strap.
        assert cut.box() == pytest.approx(
            (50 - (length + d - k) / 2, 20 - (d - k) / 2, 50 + (length + d - k) / 2, 20 + (d - k) / 2)
        )
        back = cut.area + (k / 2) * cut.length + math.pi * (k / 2) ** 2
        assert back == pytest.approx(drawn.area, rel=1e-9)


def test_a_hole_no_wider_than_the_kerf_is_refused() -> None:
    with pytest.raises(InputError, match="no wider than the kerf of 2 mm"):
        kerf.hole_path(Hole(0, 0, 1.5, 1.5, "lace", "start"), 2.0, "x")


def test_slits_move_by_nothing_or_become_narrow_slots(draft: Draft) -> None:
    p = draft("wristband", "172 mm")
    laser = machine.find("laser", "x")
    table = laser.model_copy(update={"slits": "slot", "slot_width": 1.0, "kerf": 0.6})
    assert kerf.slit_path(p.strap.slits[0], laser) is p.strap.slits[0]
    slot = kerf.slit_path(p.strap.slits[0], table)
    assert isinstance(slot, Outline)
    line = p.strap.slits[0]
    assert slot.box() == pytest.approx((line.x0 + 0.3, line.y0 - 0.2, line.x1 - 0.3, line.y0 + 0.2))
    # The slot takes 1 mm, a slit that is a line only the kerf: a strand has to be wider than what goes.
    for m, takes in ((table, 1.0), (laser.model_copy(update={"kerf": 0.5, "slot_width": 3.0}), 0.5)):
        kerf.check(m, takes + 0.01, "x")
        for strand in (takes, takes - 0.1):
            with pytest.raises(InputError, match="strands are only"):
                kerf.check(m, strand, "x")


def test_the_oscillating_knife_cuts_slits_as_lines(draft: Draft) -> None:
    """A blade 0.6 mm thick cannot turn at the end of a slot 1 mm wide, so none is asked of it and no leather is lost."""
    knife = machine.find("oscillating-knife", "x")
    assert knife.takes == 0.0
    p = draft("belt", "864 mm")
    cuts = [q for q in cutting.piece_paths(p, knife, "x") if q.layer is Layer.SLITS]
    assert [q.segments for q in cuts if isinstance(q, Path)] == [(s,) for s in p.strap.slits]


def everything(cut: cutting.Cutting) -> list[Path | Disc]:
    return [p for b in cut.beds for p in b.sheet.placed[0].drawing]  # type: ignore[misc]


@pytest.mark.parametrize("name", MACHINES)
def test_nothing_overlaps_is_doubled_or_has_no_length(kit: list[Piece], name: str) -> None:
    m = machine.find(name, "x")
    cut = cutting.plan(kit, m)
    for bed in cut.beds:
        lines = []
        for p in bed.sheet.placed[0].drawing:
            assert isinstance(p, (Path, Disc))
            if isinstance(p, Path):
                assert all(s.length > 1e-6 for s in p.segments)
                for a, b in zip(p.segments, p.segments[1:], strict=False):
                    assert math.dist(a.end, b.start) < 1e-9
                if p.closed:
                    assert math.dist(p.segments[-1].end, p.segments[0].start) < 1e-9
                if not m.overcut:
                    pts = [p.segments[0].start, *(q for s in p.segments for q in s.points(0.01))]
                    lines.append(LineString(pts))
        tree = STRtree(lines)
        for i, one in enumerate(lines):
            for j in tree.query(one):
                if j > i:
                    shared = one.intersection(lines[j])
                    assert shared.length < 1e-6, "two paths run over each other"


@pytest.mark.parametrize("name", MACHINES)
def test_a_piece_is_never_free_before_its_inside_is_done(kit: list[Piece], name: str) -> None:
    cut = cutting.plan(kit, machine.find(name, "x"))
    order = [Layer.LABELS, Layer.MARKS, Layer.HOLES, Layer.SLITS, Layer.OUTLINE]
    for bed in cut.beds:
        steps = [order.index(p.layer) for p in bed.sheet.placed[0].drawing]
        assert steps == sorted(steps)
        assert bed.travel < bed.before or (bed.pieces == 1 and bed.travel <= bed.before)


@pytest.mark.parametrize("name", MACHINES)
def test_pieces_never_overlap_and_stay_on_the_bed(kit: list[Piece], name: str) -> None:
    m = machine.find(name, "x")
    cut = cutting.plan(kit, m)
    assert len(cut.plan.spots) == sum(p.count for p in kit)
    assert cut.plan.least <= cut.plan.beds
    bed = box(m.edge - 1e-6, m.edge - 1e-6, m.bed[0] - m.edge + 1e-6, m.bed[1] - m.edge + 1e-6)
    for b in range(cut.plan.beds):
        shapes = [
            kerf.grown(kit[s.piece].strap.outline, m.kerf / 2).moved(s.x, s.y).polygon(0.01)
            for s in cut.plan.spots
            if s.bed == b
        ]
        for i, one in enumerate(shapes):
            assert bed.contains(one)
            for other in shapes[i + 1 :]:
                assert one.distance(other) >= m.gap - 0.02
        assert 0 < cut.plan.used[b] < 1
    assert cutting.plan(kit, m) == cut  # and the same every time


def test_several_beds_when_one_is_too_small(kit: list[Piece]) -> None:
    small = machine.find("oscillating-knife", "x").model_copy(update={"bed": (1200.0, 180.0)})
    cut = cutting.plan(kit, small)
    assert cut.plan.beds > 1
    assert cut.plan.least > 1
    with pytest.raises(InputError, match=r"the bed takes pieces up to .* a strap is never split"):
        cutting.plan(kit, small.model_copy(update={"bed": (100.0, 400.0)}))


def on_a_bed(draft: Draft, length: str, by: float = 0.0) -> tuple[Piece, Machine, beds.BedPlan]:
    """A strap 20 mm wide on a bed as much longer than it, inside its edge and its kerf."""
    p = draft("plain-strap", length, sets=0, width=20.0)
    m = machine.find("laser", "x")
    m = m.model_copy(
        update={"bed": (p.strap.length + 2 * m.edge + m.kerf + by, 2 * 20.0 + 2 * m.edge + 2 * m.kerf + m.gap)}
    )
    return p, m, beds.arrange([replace(p, count=2)], m)


@pytest.mark.parametrize("length", ["844.533 mm", "261.1 mm", "531.8 mm", "33 1/16 in", "800 mm"])
def test_straps_that_just_fill_the_bed_lie_on_it_a_gap_apart_and_the_kerf_inside_its_edge(
    draft: Draft, length: str
) -> None:
    """A laser that takes 0.2 mm away cuts 0.1 mm outside the strap, and that stays 5 mm off the edge; 4 mm between cuts.
    Micrometres are what it is laid out in."""
    p, _, plan = on_a_bed(draft, length)
    assert [s.x for s in plan.spots] == pytest.approx([5.1, 5.1], abs=0.0011)
    assert [s.y for s in plan.spots] == pytest.approx([5.1, 5.1 + 20.0 + 0.2 + 4.0], abs=0.0011)
    assert (plan.beds, plan.least) == (1, 1)
    assert plan.used == pytest.approx((2 * p.strap.length * 20.0 / ((p.strap.length + 10.2) * 54.4),), rel=1e-4)


@pytest.mark.parametrize(("count", "least"), [(2, 1), (3, 2), (4, 2), (5, 3)])
def test_straps_that_fill_their_beds_take_as_many_as_their_areas_need(draft: Draft, count: int, least: int) -> None:
    """Two go on a bed."""
    p, m, _ = on_a_bed(draft, "300 mm")
    plan = beds.arrange([replace(p, count=count)], m)
    assert (plan.beds, plan.least) == (least, least)


def test_a_strap_longer_than_the_bed_is_told_a_length_that_goes(draft: Draft) -> None:
    with pytest.raises(InputError, match=r"is 400 mm × 20 mm, the bed takes pieces up to 399\.9 mm × 44\.2 mm; "):
        on_a_bed(draft, "400 mm", -0.02)
    on_a_bed(draft, "399.9 mm", 0.08)


def test_a_strap_wider_than_the_bed_is_told_a_width_that_goes(draft: Draft) -> None:
    """A bed of 45 mm with 5 mm free at either side, and the 0.2 mm that the laser takes away."""
    m = machine.find("laser", "x").model_copy(update={"bed": (500.0, 45.0)})
    with pytest.raises(InputError, match=r"is 400 mm × 34\.9 mm, the bed takes pieces up to 489\.8 mm × 34\.8 mm; "):
        beds.arrange([draft("plain-strap", "400 mm", sets=0, width=34.9)], m)
    assert beds.arrange([draft("plain-strap", "400 mm", sets=0, width=34.8)], m).beds == 1


def test_copies_are_laid_out_up_to_their_bound(draft: Draft, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beds, "MOST_COPIES", 2)
    p, m, plan = on_a_bed(draft, "300 mm")
    assert len(plan.spots) == 2
    with pytest.raises(InputError, match="3 pieces to cut are too many"):
        beds.arrange([replace(p, count=2), p], m)


def test_the_flesh_side_is_the_mirror(draft: Draft) -> None:
    p = draft("belt", "900 mm")
    plotter = machine.find("pen-plotter", "x")
    plain = plotter.model_copy(update={"mirrored": False})
    ys = {}
    for name, m in (("plain", plain), ("mirror", plotter)):
        holes = [q for q in cutting.piece_paths(p, m, "x") if isinstance(q, Disc)]
        ys[name] = sorted((round(q.cx, 6), round(q.cy, 6)) for q in holes)
    assert ys["mirror"] == sorted((x, round(p.strap.width - y, 6)) for x, y in ys["plain"])


def test_tabs_hold_and_overcuts_run_on(draft: Draft) -> None:
    p = draft("wristband", "172 mm")
    table = machine.find("oscillating-knife", "x")
    chains = [q for q in cutting.piece_paths(p, table, "x") if q.layer is Layer.OUTLINE]
    whole = kerf.grown(p.strap.outline, 0.3).length
    assert len(chains) == 2
    assert sum(s.length for q in chains if isinstance(q, Path) for s in q.segments) == pytest.approx(
        whole - 2 * (1.5 + 0.6)
    )
    knife = cutting.plan([p], machine.find("drag-knife", "x"))
    last = knife.beds[0].sheet.placed[0].drawing[-1]
    assert isinstance(last, Path)
    assert sum(s.length for s in last.segments) == pytest.approx(p.strap.outline.length + 1.0)


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_label_on_the_bed_reads_from_left_to_right_on_either_side_of_the_leather(
    draft: Draft, mirrored: bool
) -> None:
    """An L stands on its foot, which points to the right; a T after it stands to its right."""
    p = replace(draft("wristband", "172 mm"), label="LT")
    m = machine.find("pen-plotter", "x").model_copy(update={"mirrored": mirrored})
    strokes = [q for q in cutting.piece_paths(p, m, "x") if q.layer is Layer.LABELS]
    points = [[s.segments[0].start, *(x.end for x in s.segments)] for s in strokes if isinstance(s, Path)]
    ell, tee = points[: len(points) // 2], points[len(points) // 2 :]
    low = min(y for s in ell for _, y in s)
    stem = min(x for s in ell for x, _ in s)
    assert max(x for s in ell for x, y in s if y > low + 0.5) == pytest.approx(stem, abs=0.01)
    assert max(x for s in ell for x, y in s if y == low) > stem + 1.5
    assert min(x for s in tee for x, _ in s) > max(x for s in ell for x, _ in s)
    assert max(y for s in tee for _, y in s) < 0


@pytest.mark.parametrize("closed", ["hole", "outline"])
def test_a_drag_knife_runs_on_past_the_start_of_every_closed_cut(draft: Draft, closed: str) -> None:
    """1 mm on along the cut itself: the length of the cut and one more, ending 1 mm past where it began."""
    p = draft("wristband", "172 mm")
    cut = cutting.plan([p], machine.find("drag-knife", "x")).beds[0].sheet.placed[0].drawing
    paths = [q for q in cut if isinstance(q, Path) and q.layer is (Layer.HOLES if closed == "hole" else Layer.OUTLINE)]
    assert len(paths) == (2 if closed == "hole" else 1)
    once = math.pi * 25.4 / 8 if closed == "hole" else p.strap.outline.length
    for q in paths:
        assert not q.closed
        assert sum(s.length for s in q.segments) == pytest.approx(once + 1.0)
        assert 0.9 < math.dist(q.segments[0].start, q.segments[-1].end) <= 1.0 + 1e-9


def test_every_operation_has_the_look_that_its_driver_wants_to_see(draft: Draft) -> None:
    """The laser's profile: marks #5b3a8c, holes #0a7a5a, slits #b0501a, outline #1c2f6b, each 0.1 mm."""
    import ezdxf
    from ezdxf.colors import aci2rgb

    from strapwork.drawing import dxf, svg

    m = machine.find("laser", "x")
    sheets = [b.sheet for b in cutting.plan([draft("wristband", "172 mm")], m).beds]
    want = {"marks": "#5b3a8c", "holes": "#0a7a5a", "slits": "#b0501a", "outline": "#1c2f6b"}
    doc = ezdxf.read(io.StringIO(dxf.write(sheets, m)[0].decode()))
    for name, colour in want.items():
        exact, index = tuple(bytes.fromhex(colour[1:])), doc.layers.get(name).color
        assert doc.layers.get(name).rgb == exact
        # The colour index that comes nearest, by ezdxf's own table: no other is nearer.
        assert math.dist(aci2rgb(index), exact) == min(math.dist(aci2rgb(k), exact) for k in range(1, 256))
    text = svg.write_beds(sheets, "t", m)[0]
    for name, rest in re.findall(r'<g id="(\w+)"(.*?)</g>', text, re.DOTALL):
        assert set(re.findall(r'stroke="(#[0-9a-f]{6})"', rest)) == {want[name]}
        assert set(re.findall(r'stroke-width="([0-9.]+)"', rest)) == {"0.1"}


def test_labels_become_strokes(draft: Draft) -> None:
    strokes = [
        q
        for q in cutting.piece_paths(draft("wristband", "172 mm"), machine.find("pen-plotter", "x"), "x")
        if q.layer is Layer.LABELS
    ]
    assert len(strokes) > 10
    assert all(isinstance(q, Path) and q.segments[0].box()[3] < 0 for q in strokes)


def test_chrome_and_lasers_do_not_meet() -> None:
    r = pattern_files.find("wristband", "test")
    laser = machine.find("laser", "x")
    for tannage, stops in (("chrome", True), ("combination", True), ("vegetable", False), ("unknown", False)):
        p = piece.work_out(order_of("band", r, 172.0, Leather(Thickness(1.8, 1.8), tannage=tannage)))
        if stops:
            with pytest.raises(InputError, match=r"chromium\(VI\)"):
                cutting.plan([p], laser)
        else:
            cutting.plan([p], laser)
        cutting.plan([p], machine.find("oscillating-knife", "x"))
    assert "extraction" in cutting.laser_caution().message


def test_make_and_draft_write_cutter_files(tmp_path: FilePath, capsys: pytest.CaptureFixture[str]) -> None:
    args = ["draft", "wristband", "--measure", "172 mm", "--machine", "laser", "--card", "none"]
    assert cli.main([*args, "--out", str(tmp_path / "a")]) == 0
    said = capsys.readouterr().out
    assert "idle travel" in said
    assert "free of chrome and PVC" in said
    data = json.loads((tmp_path / "a" / "numbers.json").read_text(encoding="utf-8"))
    assert data["cutting"]["machine"] == "laser"
    assert any(f["code"] == "safety-laser" for f in data["pieces"][0]["findings"])
    assert cli.main([*args, "--out", str(tmp_path / "b")]) == 0
    for name in ("wristband-laser-bed-1.svg", "wristband-laser-bed-1.dxf"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()
    text = (tmp_path / "a" / "wristband-laser-bed-1.svg").read_text(encoding="utf-8")
    assert re.findall(r'<g id="(\w+)"', text) == ["marks", "holes", "slits", "outline"]
    assert "#1c2f6b" in text
    assert "A9.625" in text  # the round end, half a kerf larger, still an arc


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--machine", "lazer"], "did you mean 'laser'"),
        (["--bed", "600 mm x 400 mm"], "name the machine"),
        (["--machine", "laser", "--bed", "huge"], "--bed: 'huge' is no bed; give length and width, such as"),
        (
            ["--machine", "laser", "--bed", "49 mm x 600 mm"],
            "--bed: '49 mm x 600 mm' is no bed; give a length and a width from 50 mm to 20000 mm",
        ),
        (["--machine", "laser", "--bed", "200 mm x 100 mm"], "a strap is never split"),
    ],
)
def test_machine_refusals(tmp_path: FilePath, capsys: pytest.CaptureFixture[str], args: list[str], words: str) -> None:
    out = tmp_path / "x"
    assert cli.main(["draft", "wristband", "--measure", "172 mm", *args, "--out", str(out)]) == 2
    assert words in capsys.readouterr().err
    assert not out.exists()


def test_a_profile_of_the_makers_own_is_checked(tmp_path: FilePath) -> None:
    (tmp_path / "machines").mkdir()
    own = tmp_path / "machines" / "mine.toml"
    text = (FilePath(__file__).resolve().parents[1] / "patterns" / "machines" / "oscillating-knife.toml").read_text(
        encoding="utf-8"
    )
    own.write_text(text, encoding="utf-8")
    assert machine.find("mine", "x", tmp_path).kerf == 0.6
    for old, new, words in (
        ('slits = "line"', 'slits = "slot"\nslot_width = "0.5 mm"', "not wider than the kerf"),
        (
            'slits = "line"',
            'slits = "slot"\nslot_width = "1 mm"',
            "cannot turn at the ends of a slot 1 mm wide.*1.8 mm",
        ),
        ('kerf = "0.6 mm"', "kerf = 0.6", "no unit"),
        ('colour = "#5b3a8c"', 'colour = "red"', "operations.marks.colour"),
        ("[operations.outline]", "[operations.outlines]", "operations"),
    ):
        own.write_text(text.replace(old, new), encoding="utf-8")
        with pytest.raises(InputError, match=words):
            machine.find("mine", "x", tmp_path)


@pytest.mark.parametrize(
    ("name", "label", "mapped"),
    [("laser", "Quay", True), ("pen-plotter", "Quay", False), ("pen-plotter", "王小明", True)],
)
def test_a_bed_has_a_printed_map_where_the_machine_does_not_write_the_names(
    name: str, label: str, mapped: bool
) -> None:
    """The laser writes none, the plotter's single strokes none of another script."""
    band = {"pattern": "wristband", "measure": "172 mm", "label": label}
    made = job.make(job_of({"title": "Quay", "machine": name, "card": "none", "pieces": [band]}))
    assert ("x-map.pdf" in made.files) == mapped
    assert [s["file"] for s in made.numbers["sheets"] if s["format"] == "dxf"] == [f"x-{name}-bed-1.dxf"]


def test_what_fits_no_bed_is_named_and_the_rest_is_laid_out(kit: list[Piece]) -> None:
    short = machine.find("oscillating-knife", "x").model_copy(update={"bed": (600.0, 400.0)})
    cut = cutting.plan(kit, short)
    long = {p.label for p in kit if p.strap.length > 600 - 2 * 15 - 0.6}
    assert long
    assert {label for _, label in cut.left_out} == long
    assert {kit[s.piece].label for s in cut.plan.spots} == {p.label for p in kit} - long
    named = [f.problem for p in cutting.with_cautions(kit, short) for f in p.findings if f.code == "fits-no-bed"]
    assert len(named) == len(long)
    assert all("is more than the bed takes" in text for text in named)


def test_every_bed_holds_one_leather_and_says_which(kit: list[Piece]) -> None:
    cut = cutting.plan(kit, machine.find("oscillating-knife", "x"))
    for b, bed in enumerate(cut.beds):
        on_it = {kit[s.piece].leather.words() for s in cut.plan.spots if s.bed == b}
        assert on_it == {bed.leather}
    assert {"harbour-tan bed 1", "quay-brown bed 1", "slip-soft bed 1"} <= {b.sheet.name for b in cut.beds}


def test_each_leather_needs_a_bed_of_its_own_by_its_area_too(draft: Draft) -> None:
    """Three straps of two leathers, which one bed could hold: two beds, and fewer cannot be; on each what it says."""
    quay, pier = (Leather(Thickness(t, t), name=name) for t, name in ((1.8, "quay"), (2.0, "pier")))
    three = [replace(draft("wristband", "172 mm"), leather=hide) for hide in (quay, pier, quay)]
    found = apart.arrange_apart(three, machine.find("oscillating-knife", "x"), "x")
    assert (found.plan.beds, found.plan.least, len(found.plan.used)) == (2, 2, 2)
    assert found.leathers == (quay, pier)
    assert sorted((s.piece, s.bed) for s in found.plan.spots) == [(0, 0), (1, 1), (2, 0)]
    assert found.left_out == ()


@pytest.mark.parametrize("name", MACHINES)
def test_each_cut_is_the_nearest_of_its_operation_from_where_the_tool_stands(kit: list[Piece], name: str) -> None:
    """From either end of a line and any corner of a ring; from one operation to the next as well."""

    def beginnings(p: Path | Disc) -> list[tuple[float, float]]:
        if isinstance(p, Disc):
            return [cutting.ends(p)[0]]
        return [s.start for s in p.segments] if p.closed else list(cutting.ends(p))

    plain = machine.find(name, "x").model_copy(update={"overcut": 0.0})
    for bed in cutting.plan(kit, plain).beds:
        stands = (0.0, 0.0)
        left = [p for p in bed.sheet.placed[0].drawing if isinstance(p, Path | Disc)]
        assert len(left) == len(bed.sheet.placed[0].drawing)
        while left:
            nearest = min(math.dist(stands, b) for p in left if p.layer is left[0].layer for b in beginnings(p))
            start, end = cutting.ends(left.pop(0))
            assert math.dist(stands, start) == pytest.approx(nearest, abs=1e-5)
            stands = end


def test_where_no_piece_fits_the_bed_all_are_named_with_their_sizes(draft: Draft) -> None:
    """The bed of 200 x 100 mm less 15 mm all round and the kerf: about 170 x 70 mm for a strap of 252 x 19."""
    small = machine.find("oscillating-knife", "x").model_copy(update={"bed": (200.0, 100.0)})
    two = [replace(draft("wristband", "172 mm"), label=name) for name in ("Ines", "Zoë")]
    with pytest.raises(InputError) as told:
        apart.arrange_apart(two, small, "machine")
    said = str(told.value)
    assert re.search(r"^machine: 'Ines' \(252[^)]* × 19[^)]*\), 'Zoë' \(252[^)]*\) fit no bed: the bed takes", said)
    assert re.search(r"up to (169|170)[.\d]* mm[^×]* × (69|70)", said)


@pytest.mark.parametrize(
    ("bed", "wanted"),
    [((200.0, 500.0), "a longer bed"), ((1000.0, 40.0), "a wider bed"), ((200.0, 40.0), "a longer and wider bed")],
)
def test_a_strap_that_fits_no_bed_is_told_what_the_bed_lacks(
    draft: Draft, bed: tuple[float, float], wanted: str
) -> None:
    """A wristband 252 x 19 mm on a bed with 15 mm left free all round."""
    small = machine.find("oscillating-knife", "x").model_copy(update={"bed": bed})
    one = draft("wristband", "172 mm")
    (said,) = [f for p in cutting.with_cautions([one], small) for f in p.findings if f.code == "fits-no-bed"]
    assert said.remedy == f"cut it by hand from the sheets, or use {wanted}; a strap is never split"
    with pytest.raises(InputError, match=f"use {wanted} or sheet of leather"):
        apart.arrange_apart([one], small, "machine")
    with pytest.raises(InputError, match=f"make it a job of its own on {wanted}"):
        beds.arrange([one], small)


def test_letters_are_drawn_where_the_gap_has_room_for_them_and_a_millimetre_on_either_side() -> None:
    plotter = machine.find("pen-plotter", "x")
    assert cutting.writes(plotter.model_copy(update={"gap": lettering.SIZE + 2.0}))
    assert not cutting.writes(plotter.model_copy(update={"gap": lettering.SIZE + 1.9}))


def test_idle_travel_is_counted_from_the_corner_of_the_bed() -> None:
    """3-4-5 triangles: 50 mm to the first line, which is cut, 26 mm on to the second."""
    lines = [
        Path((Line(30, 40, 30, 100),), False, Layer.SLITS, "slits"),
        Path((Line(40, 124, 90, 124),), False, Layer.SLITS, "slits"),
    ]
    assert cutting.travel(lines) == pytest.approx(50.0 + 26.0)


def test_beds_are_numbered_and_leathers_of_one_name_are_told_apart(draft: Draft) -> None:
    small = machine.find("oscillating-knife", "x").model_copy(update={"bed": (1500.0, 80.0)})
    three = [replace(draft("belt", "900 mm"), label=f"b{k}") for k in range(3)]
    cut = cutting.plan(three, small)
    assert [b.sheet.name for b in cut.beds] == ["bed 1", "bed 2", "bed 3"]
    leathers = [Leather(Thickness(t, t), name="quay tan") for t in (1.8, 2.0, 2.2)]
    assert cutting._bed_names(leathers) == ["quay-tan bed 1", "quay-tan-2 bed 1", "quay-tan-3 bed 1"]


@pytest.mark.parametrize("sweep", [70.0, -70.0])
def test_a_lone_arc_in_a_dxf_is_the_same_arc_and_an_open_line_ends_straight(sweep: float) -> None:
    """Read by ezdxf: the ends and the middle of the arc, whichever way round it is run."""
    import ezdxf

    from strapwork.drawing import dxf

    arc = Arc(100.0, 50.0, 20.0, 30.0, sweep)
    line = Line(arc.end[0], arc.end[1], 200.0, 80.0)
    paths = (Path((arc,), False, Layer.SLITS, "slits"), Path((arc, line), False, Layer.SLITS, "slits"))
    sheets = [Sheet(300.0, 200.0, "bed 1", (Placed(paths),))]
    space = ezdxf.read(io.StringIO(dxf.write(sheets, machine.find("laser", "x"))[0].decode())).modelspace()
    lone, run = space
    ends = sorted([tuple(lone.start_point)[:2], tuple(lone.end_point)[:2]])
    assert [v for p in ends for v in p] == pytest.approx([v for p in sorted([arc.start, arc.end]) for v in p])
    half = math.radians(30.0 + sweep / 2)
    middle = math.radians(lone.dxf.start_angle + (lone.dxf.end_angle - lone.dxf.start_angle) % 360 / 2)
    assert (math.cos(middle), math.sin(middle)) == pytest.approx((math.cos(half), math.sin(half)))
    assert list(run.get_points("xyb"))[-1] == pytest.approx((200.0, 80.0, 0.0))


def _one_of_each() -> Sheet:
    arc, line = Arc(30.0, 20.0, 5.0, 10.0, 80.0), Line(0.0, 0.0, 10.0, 0.0)
    drawn = (
        Path((line,), False, Layer.SLITS, "slits"),
        Path((arc,), False, Layer.SLITS, "slits"),
        Path((line, Line(10.0, 0.0, 10.0, 10.0)), True, Layer.SLITS, "slits"),
        Disc(5.0, 5.0, 2.0, Layer.HOLES, "holes"),
    )
    return Sheet(100.0, 50.0, "bed 1", (Placed(drawn),))


def test_what_has_only_a_layer_is_written_as_the_dxf_library_writes_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """The judge is ezdxf's own export of the same entities, which asks for every property."""
    from ezdxf.entities.dxfgfx import DXFGraphic

    from strapwork.drawing import dxf

    ours = dxf.write([_one_of_each()], machine.find("laser", "x"))
    monkeypatch.setattr(dxf._Plain, "export_acdb_entity", DXFGraphic.export_acdb_entity)
    assert ours == dxf.write([_one_of_each()], machine.find("laser", "x"))
    assert all(f"\n{kind}\n".encode() in ours[0] for kind in ("LINE", "ARC", "LWPOLYLINE", "CIRCLE"))


def test_a_dxf_is_the_same_in_every_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sets of texts come in another order in every process; here they come in two orders in one."""
    from ezdxf.entitydb import EntityDB

    from strapwork.drawing import dxf

    in_use = EntityDB.dxf_types_in_use
    made = []
    for backwards in (False, True):
        monkeypatch.setattr(
            EntityDB, "dxf_types_in_use", lambda self, back=backwards: sorted(in_use(self), reverse=back)
        )
        made.append(dxf.write([_one_of_each()], machine.find("laser", "x")))
    assert made[0] == made[1]
