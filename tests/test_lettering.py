"""What is written by the pieces on a bed, and the map that names them."""

from __future__ import annotations

import itertools
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont
from shapely import LineString, MultiLineString, box

from strapwork.cli import report
from strapwork.cutter import lettering, paths
from strapwork.drawing import dxf, fonts, svg
from strapwork.drawing.primitives import Layer, Path, Text
from strapwork.job import job as jobs
from strapwork.job import numbers
from strapwork.paper import bedmap
from strapwork.piece.piece import Piece
from strapwork.stock import machines
from tests.helpers import job_of
from tests.test_sheets import nothing_overlaps, text_box

Draft = Callable[..., Piece]
LABELS = ["Ada", "René", "Rene", "山田", "山本", "محمد", "No. 4", "🧵", "Łukasz", "Анна"]


@pytest.fixture(scope="module")
def cut(draft: Draft) -> tuple[list[Piece], paths.Cutting]:
    """A class of ten on the plotter's bed."""
    one = draft("wristband", "172 mm")
    pieces = [replace(one, label=name) for name in LABELS]
    return pieces, paths.plan(pieces, machines.find("pen-plotter", "test"))


def by_piece(cut: paths.Cutting) -> dict[int, set[tuple[float, ...]]]:
    """The strokes of the letters under every piece, from its own corner."""
    out: dict[int, set[tuple[float, ...]]] = {}
    for p in cut.beds[0].sheet.placed[0].drawing:
        if isinstance(p, Path) and p.layer is Layer.LABELS:
            x, y = p.segments[0].start
            spot = min(
                (s for s in cut.plan.spots if s.x <= x + 1e-6 and s.y > y), key=lambda s: (s.y - y) + (x - s.x) / 1000
            )
            ends = {*(s.start for s in p.segments), *(s.end for s in p.segments)}
            out.setdefault(spot.piece, set()).add(
                tuple(round(v, 3) for e in sorted(ends) for v in (e[0] - spot.x, e[1] - spot.y))
            )
    return out


def test_no_two_labels_on_a_bed_are_alike(cut: tuple[list[Piece], paths.Cutting]) -> None:
    strokes = by_piece(cut[1])
    assert set(strokes) == set(range(len(LABELS)))
    assert len({frozenset(s) for s in strokes.values()}) == len(LABELS)


def test_letters_stay_between_their_piece_and_the_next(cut: tuple[list[Piece], paths.Cutting]) -> None:
    gap = cut[1].machine.gap
    heights = [v for strokes in by_piece(cut[1]).values() for s in strokes for v in s[1::2]]
    assert max(heights) < 0.0
    assert min(heights) > -gap


def test_what_single_strokes_cannot_write_gets_the_number_of_its_piece() -> None:
    assert lettering.written(LABELS, [200.0] * 10) == (
        "Ada", "René", "Rene", "No. 4*", "No. 5", "No. 6", "No. 4", "No. 8", "Łukasz", "No. 10",
    )  # fmt: skip


def test_a_label_longer_than_its_strap_gets_a_number_and_is_not_cut_off() -> None:
    long = ["for the beginners' class, Ada", "for the beginners' class, Eva"]
    assert lettering.written(long, [40.0, 400.0]) == ("No. 1", long[1])


def test_report_numbers_and_map_name_every_number(cut: tuple[list[Piece], paths.Cutting]) -> None:
    pieces, cutting = cut
    want = [
        (3, "No. 4*", "山田"),
        (4, "No. 5", "山本"),
        (5, "No. 6", "محمد"),
        (7, "No. 8", "🧵"),
        (9, "No. 10", "Анна"),
    ]
    assert list(cutting.numbered) == want
    said = report.cutting(cutting).splitlines()
    rows = numbers.of_cutting(cutting)["numbered"]
    sheets = bedmap.bed_maps(cutting, pieces, (210.0, 297.0), "Beginners' class")
    printed = [p.text for s in sheets for placed in s.placed for p in placed.drawing if isinstance(p, Text)]
    for k, written, label in want:
        assert f"  Written on the bed as {written}: {label}" in said
        assert {"piece": k, "written": written, "label": label} in rows
        assert any(t.startswith(f"{k + 1}") and t.endswith(f": {label}") for t in printed)
    assert "4, written No. 4*: 山田" in printed
    assert {str(k) for k in range(1, 11)} <= set(printed)


def test_the_map_shows_every_piece_in_its_place(cut: tuple[list[Piece], paths.Cutting]) -> None:
    pieces, cutting = cut
    (sheet,) = bedmap.bed_maps(cutting, pieces, (297.0, 210.0), "t")
    boxes = [p for p in sheet.placed[0].drawing if isinstance(p, Path)]
    bed, *straps = boxes
    # The map may show the bed's lower left corner only, so its scale is that of the straps.
    scale = straps[0].segments[0].length / pieces[cutting.plan.spots[0].piece].strap.length
    x0, y0 = bed.segments[0].start
    x1, y1 = bed.segments[2].start
    assert all(s.end[0] <= x1 and s.end[1] <= y1 for strap in straps for s in strap.segments)
    for spot, strap in zip(cutting.plan.spots, straps, strict=True):
        left, low = strap.segments[0].start
        assert ((left - x0) / scale, (low - y0) / scale) == pytest.approx((spot.x, spot.y))
        assert strap.segments[0].length / scale == pytest.approx(pieces[spot.piece].strap.length)


def test_a_map_keeps_its_margins_and_its_words_keep_clear_of_the_bed(
    cut: tuple[list[Piece], paths.Cutting], draft: Draft
) -> None:
    pieces, cutting = cut
    many = [
        replace(draft("wristband", "172 mm"), label=f"Ada {k} of the beginners' class on Sunday") for k in range(60)
    ]
    more = paths.plan(many, machines.find("pen-plotter", "test"))
    maps = bedmap.bed_maps(cutting, pieces, (297.0, 210.0), "t")
    for sheet in (*maps, *bedmap.bed_maps(more, many, (148.0, 210.0), "Beginners' class")):
        nothing_overlaps(sheet)
        drawn = sheet.placed[0].drawing
        covers = [(t.text, text_box(t)) for t in drawn if isinstance(t, Text)]
        inside = box(12.0, 12.0, sheet.width - 12.0, sheet.height - 12.0).buffer(0.1)
        assert [text for text, covered in covers if not inside.contains(covered)] == []
        for bed in [p for p in drawn if isinstance(p, Path)][:1]:
            low, high = bed.segments[0].start[1], bed.segments[2].start[1]
            for text, covered in covers:
                _, bottom, _, top = covered.bounds
                assert bottom > high + 1.5 or top < low - 1.5 or (low < bottom and top < high), text
            rows = sorted((t.y for t in drawn if isinstance(t, Text) and t.y > high), reverse=True)
            assert all(a - b > 3.4 for a, b in itertools.pairwise(rows))  # no row runs into the next


def test_many_names_run_on_to_more_maps(draft: Draft) -> None:
    one = draft("wristband", "172 mm")
    pieces = [replace(one, label=f"山田 {k} of the beginners' class on Sunday") for k in range(60)]
    cutting = paths.plan(pieces, machines.find("pen-plotter", "test"))
    sheets = bedmap.bed_maps(cutting, pieces, (148.0, 210.0), "t")
    assert len(sheets) > len(cutting.beds)
    printed = " ".join(p.text for s in sheets for placed in s.placed for p in placed.drawing if isinstance(p, Text))
    assert all(f"山田 {k} of" in printed for k in range(60))
    for s in sheets:
        for p in s.placed[0].drawing:
            if isinstance(p, Text):
                assert 0.0 < p.y < s.height
    assert [s.name for s in sheets] == [f"map {k}" for k in range(1, len(sheets) + 1)]


def test_bed_files_take_every_label(cut: tuple[list[Piece], paths.Cutting]) -> None:
    sheet = cut[1].beds[0].sheet
    (drawn,) = svg.write_beds([sheet], "t", cut[1].machine)
    assert "<text" not in drawn
    assert dxf.write([sheet], cut[1].machine)[0].count(b"labels") > 50


@given(st.text(max_size=80))
def test_any_label_is_written_whole_or_not_at_all(label: str) -> None:
    (seen,) = lettering.written([label], [1e6])
    assert lettering.strokes(seen) is not None
    if seen == label:
        found = lettering.strokes(label)
        assert found is not None
        marks = sum(1 for ch in label if not ch.isspace())
        assert len(found[0]) >= marks


@given(
    st.text(st.characters(max_codepoint=0x24F), min_size=1, max_size=12),
    st.text(st.characters(max_codepoint=0x24F), min_size=1, max_size=12),
)
def test_two_labels_have_two_sets_of_strokes(a: str, b: str) -> None:
    first, second = lettering.strokes(a), lettering.strokes(b)
    if first is not None and second is not None and a.split() != b.split():
        assert first[0] != second[0]


def test_the_numbers_on_a_map_can_be_read() -> None:
    raw = {
        "pieces": [{"pattern": "wristband", "measure": "17 cm", "leather": "1.8 mm", "count": 12}],
        "machine": "laser",
    }
    job = job_of(raw)
    pieces = jobs.work_out(job)
    assert job.machine is not None
    (sheet,) = bedmap.bed_maps(paths.plan(pieces, job.machine), pieces, (210.0, 297.0), "t")
    numbers = [p for placed in sheet.placed for p in placed.drawing if isinstance(p, Text) and p.text == "1"]
    assert len(numbers) == 12
    assert min(t.size for t in numbers) >= 9 * 25.4 / 72


ACCENTED = [chr(code) for code in range(0xC0, 0x250) if lettering.strokes(chr(code)) is not None]
CROSSED = "øØłŁđĐħ"
PX = 64  # to the millimetre


def lines(strokes: Sequence[lettering.Stroke]) -> MultiLineString:
    return MultiLineString([LineString(s) for s in strokes])


def letter_and_mark(ch: str, base: str) -> tuple[list[lettering.Stroke], list[lettering.Stroke]]:
    """The strokes of a letter, and those that its accent adds."""
    whole, plain = lettering.strokes(ch), lettering.strokes(base)
    assert whole is not None
    assert plain is not None
    return [s for s in whole[0] if s in plain[0]], [s for s in whole[0] if s not in plain[0]]


def shape(seen: np.ndarray) -> np.ndarray:
    """What is inked, brought to one size: 16 x 16 shares of it, as a vector of length 1."""
    ys, xs = np.nonzero(seen)
    side = max(np.ptp(xs), np.ptp(ys)) + 1
    out = np.zeros((16, 16))
    at = [np.clip(((v - (v.max() + v.min()) / 2) / side + 0.5) * 16, 0, 15).astype(int) for v in (ys, xs)]
    np.add.at(out, tuple(at), 1.0)
    return out.ravel() / np.linalg.norm(out)


def inked(strokes: Sequence[lettering.Stroke]) -> np.ndarray:
    page = Image.new("L", (6 * PX, 8 * PX))
    for s in strokes:
        ImageDraw.Draw(page).line([(PX + x * PX, 7 * PX - y * PX) for x, y in s], fill=255, width=PX // 5)
    return np.array(page) > 100


def printed(text: str) -> np.ndarray:
    page = Image.new("L", (6 * PX, 8 * PX))
    face = ImageFont.truetype(str(fonts.file(strong=False)), 4 * PX)
    ImageDraw.Draw(page).text((PX, 6 * PX), text, font=face, fill=255, anchor="ls")
    return np.array(page) > 100


@pytest.mark.parametrize("base", ["a", "o", "u"])
def test_an_accent_is_read_as_itself_and_as_no_other(base: str) -> None:
    """Laid over the same letters of Open Sans: of all accents of the letter the one meant is the most alike."""
    there = fonts.font(strong=False).face.charToGlyph
    parts = {ch: unicodedata.normalize("NFD", ch) for ch in ACCENTED if ord(ch) in there}
    with_it = [ch for ch, both in parts.items() if both[0] == base and len(both) == 2]
    ours = {ch: shape(inked(letter_and_mark(ch, base)[1])) for ch in with_it}
    theirs = {ch: shape(printed(ch) & ~printed(base)) for ch in ours}
    assert len(ours) >= 8
    for ch, seen in ours.items():
        assert max(theirs, key=lambda other: float(seen @ theirs[other])) == ch


def test_accents_sit_over_or_under_the_middle_of_their_letter_and_clear_of_it() -> None:
    """A cedilla touches its letter, an ogonek grows out of it to the right (common practice, no source)."""
    for ch in ACCENTED:
        base, *marks = unicodedata.normalize("NFD", ch)
        if ch in CROSSED or ch == "ģ" or len(marks) > 1:
            continue
        letter, added = (lines(s) for s in letter_and_mark(ch, base))
        middle = (letter.bounds[0] + letter.bounds[2]) / 2
        ogonek, touches = marks == ["\u0328"], marks in (["\u0327"], ["\u0328"])

        assert (added.bounds[0] + added.bounds[2]) / 2 == pytest.approx(middle + 0.35 * ogonek, abs=0.2)
        if unicodedata.combining(marks[0]) == 230:  # Unicode's class of marks above
            assert 0.1 <= added.bounds[1] - letter.bounds[3] <= 0.6
        else:
            assert 0.0 <= letter.bounds[1] - added.bounds[3] <= 0.6
        assert touches or letter.distance(added) > 0.1


@pytest.mark.parametrize("ch", CROSSED)
def test_a_crossed_letter_is_crossed(ch: str) -> None:
    strokes = lettering.strokes(ch)
    assert strokes is not None
    *letter, bar = strokes[0]
    assert lines(letter).crosses(LineString(bar))
    assert LineString(bar).length >= 1.0


def test_letters_stand_apart_and_between_their_lines() -> None:
    """Each within its own width, so that it runs into no neighbour, and from its descenders up to the room for accents."""
    for ch in [*ACCENTED, *(chr(code) for code in range(0x21, 0x7F))]:
        found = lettering.strokes(ch)
        assert found is not None
        left, low, right, high = lines(found[0]).bounds
        assert left >= -0.05
        assert right <= found[1] + 0.05
        assert low >= -0.05
        assert high <= lettering.SIZE + lettering.ACCENT_ROOM + 0.05


def test_no_more_room_is_kept_over_the_letters_than_the_highest_accent_takes() -> None:
    highest = max(lines(found[0]).bounds[3] for ch in ACCENTED if (found := lettering.strokes(ch)) is not None)
    assert highest == pytest.approx(lettering.SIZE + lettering.ACCENT_ROOM, abs=0.05)


def test_a_double_acute_is_the_same_stroke_twice() -> None:
    """As in Hungarian ő and ű: two acutes side by side, of one slant and one height."""
    _, (first, second) = letter_and_mark("ő", "o")
    (apart,) = {(round(b[0] - a[0], 6), round(b[1] - a[1], 6)) for a, b in zip(first, second, strict=True)}
    assert apart == (0.45, 0.0)


def test_the_comma_of_a_g_stands_over_it_and_not_in_its_tail() -> None:
    """The Unicode Standard 15.0, section 7.1, on Latvian: the cedilla of a small g is a turned comma above."""
    letter, comma = (lines(s) for s in letter_and_mark("ģ", "g"))
    assert 0.1 <= comma.bounds[1] - letter.bounds[3] <= 0.6
    assert (comma.bounds[0] + comma.bounds[2]) / 2 == pytest.approx((letter.bounds[0] + letter.bounds[2]) / 2, abs=0.2)


def test_two_accents_on_one_letter_are_not_written_over_each_other() -> None:
    assert lettering.written(["Thế", "Nguyễn", "Châu"], [100.0] * 3) == ("No. 1", "No. 2", "Châu")
