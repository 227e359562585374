"""Pictures and plots of the page, measured without a browser: the piece as worn, the strap, who fits, what was taken up."""

from __future__ import annotations

import io
import itertools
import math
import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import pytest
import svgelements
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from strapwork.bodies import girths, sizes
from strapwork.drawing import fonts
from strapwork.files.folders import folder
from strapwork.geometry.shape import Arc, Line
from strapwork.piece.piece import Piece
from strapwork.stock.learned import Learned, Measured
from strapwork.web import app, ink, plots, strap_view, worn
from tests.test_shown import GOODS, Box, Screen, screen

Draft = Callable[..., Piece]
XY = tuple[float, float]


@dataclass
class Shape:
    """A drawn path: what fills it, the points of each of its parts in mm, and whether that part is closed."""

    fill: str
    parts: list[list[XY]]
    closed: list[bool]

    @property
    def area(self) -> Polygon:
        return Polygon(self.parts[0])

    @property
    def box(self) -> Box:
        xs, ys = zip(*(p for part in self.parts for p in part), strict=True)
        return min(xs), min(ys), max(xs), max(ys)


@dataclass
class Drawn:
    """A picture of the page's own pen: paths in the order they were painted, and words with place and size."""

    width: float
    height: float
    shapes: list[Shape]
    words: dict[str, tuple[float, float, float]]

    def filled(self, tone: float) -> list[Shape]:
        """What is filled with a grey, as a share of white."""
        return [s for s in self.shapes if s.fill == "#" + 3 * f"{round(255 * tone):02x}"]


def drawn(text: str) -> Drawn:
    doc = svgelements.SVG.parse(io.StringIO(text), ppi=25.4)
    shapes, words = [], {}
    for e in doc.elements():
        if isinstance(e, svgelements.Text):
            at = svgelements.Point(e.x, e.y) * e.transform
            words[e.text] = (float(at.x), float(at.y), float(e.values["font-size"]))
        elif isinstance(e, svgelements.Path):
            parts, closed = [], []
            for sub in e.as_subpaths():
                points: list[XY] = [(float(sub[0].end.x), float(sub[0].end.y))]
                for seg in list(sub)[1:]:
                    many = 200 if isinstance(seg, svgelements.Arc) else 2
                    points += [(float(x), float(y)) for x, y in seg.npoint(np.linspace(0, 1, many))[1:]]
                parts.append(points)
                closed.append(any(isinstance(seg, svgelements.Close) for seg in sub))
            shapes.append(Shape(str(e.values.get("fill", "")), parts, closed))
    return Drawn(float(doc.width), float(doc.height), shapes, words)


# -- the piece as worn --------------------------------------------------------

# Two snapped ends lie over each other for 3/4 in to either side of the snap, where the slits begin, and without a braid for
# 1 in to either side, up to the raw ends.  A hat band's lace holes are 10 mm from the middle of the join and 8 mm from the raw
# ends, so these are 4 mm apart.
BANDS = {
    "a braided wristband": ("wristband", "172 mm", {}, 2, 38.1, 0.0, 0.0),
    "a plain wristband": ("wristband", "172 mm", {"sets": "0"}, 1, 50.8, 0.0, 0.0),
    "a hat band": ("hat-band", "570 mm", {}, 2, 0.0, 4.0, 20.0),
    "a keeper loop": ("keeper-loop", "90 mm", {}, 1, 0.0, 0.0, 0.0),
}


@pytest.mark.parametrize("name", BANDS)
def test_a_worn_band_is_as_long_and_as_thick_as_its_leather_and_never_cuts_into_what_it_goes_round(
    name: str, draft: Draft
) -> None:
    """Length times thickness is the area of a band in section; 4-5 oz is 4.5/64 in, 1.79 mm, a keeper's 1.8 mm."""
    pattern, measure, more, layers, over, apart, laced = BANDS[name]
    made = draft(pattern, measure, **more)
    shown = worn.of(made, "mm")
    assert shown is not None
    picture = drawn(shown.svg)
    thick = 1.8 if pattern == "keeper-loop" else 25.4 * 4.5 / 64
    turn = made.fit.finished + laced
    [once], twice = picture.filled(0.84), picture.filled(0.66)

    hundredth = 0.01 * 2 * turn  # either edge is drawn to a hundredth of a millimetre
    assert once.area.area == pytest.approx(layers * thick * (turn - over - apart), abs=hundredth)
    assert sum(s.area.area for s in twice) == pytest.approx(2 * thick * over, abs=hundredth)
    band = unary_union([s.area for s in (once, *twice)])
    assert band.area == pytest.approx(
        once.area.area + sum(s.area.area for s in twice), rel=1e-3
    )  # nothing lies on another
    [body] = picture.filled(0.93)
    girth = float(measure.split()[0])
    assert body.area.area == pytest.approx(girth**2 / (4 * math.pi), rel=1e-3)
    assert body.area.intersection(band).area == pytest.approx(0.0, abs=0.01)
    # The join is at the top, in the middle: two layers there, or raw ends apart and a lace from one to the other.
    x, y = body.area.centroid.coords[0]
    (left, top, right, _) = band.bounds
    assert (left + right) / 2 == pytest.approx(x, abs=0.02)
    ray = box(x - 0.01, 0.0, x + 0.01, y)
    assert band.intersects(ray) == (apart == 0)
    if over:
        [joined] = twice
        assert joined.area.intersects(ray)
        a, _, b, _ = joined.area.bounds
        assert (a + b) / 2 == pytest.approx(x, abs=0.02)
        assert joined.area.bounds[1] == pytest.approx(top, abs=1e-6)
    if apart:
        [lace] = [p for s in picture.shapes for p, closed in zip(s.parts, s.closed, strict=True) if not closed]
        assert sorted((lace[0][0], lace[-1][0])) == pytest.approx([x - apart / 2, x + apart / 2], abs=0.03)
        assert f"{turn:.0f} mm along the middle" in shown.words
        assert "3 mm of it ease and 20 mm from lace hole to lace hole" in shown.words
    if made.fit.braid:
        assert left == pytest.approx(2.0, abs=0.02)  # 2 mm clear to either side
    assert (picture.width, picture.height) == pytest.approx((2 * x, 2 * y), abs=0.02)
    assert re.findall(r'text-anchor="(\w+)"', shown.svg) == ["middle", "middle"]
    # What was measured stands in it, its name over its figure, clear of each other and of the edge.
    (nx, ny, size), (fx, fy, _) = picture.words[made.pattern.measure.called], picture.words[measure]
    assert (nx, fx) == pytest.approx((x, x), abs=0.02)
    assert fy - ny > size
    for word in (made.pattern.measure.called, measure):
        wx, wy, high = picture.words[word]
        half = fonts.text_width(word, high) / 2
        assert body.area.covers(box(wx - half, wy - 0.75 * high, wx + half, wy + 0.25 * high)), word


def test_a_handle_stands_on_the_bag_as_a_half_circle_with_its_height_and_width(draft: Draft) -> None:
    """420 mm as a half circle: 2 x 420 / pi = 267.4 mm wide and 420 / pi = 133.7 mm high, along the middle of its thickness.

    8-9 oz is 8.5/64 in, 3.37 mm; the braid has a layer of it to either side of its middle, a handle without one half of it.
    """
    high = 420.0 / math.pi
    for sets, half in (("", 3.3734), ("0", 1.6867)):
        shown = worn.of(draft("bag-handle", "420 mm", "8-9 oz", sets=sets or None), "mm")
        assert shown is not None
        picture = drawn(shown.svg)
        [handle] = picture.filled(0.66)
        x0, y0, x1, foot = handle.box
        assert (x1 - x0, foot - y0) == pytest.approx((2 * (high + half), high + half), abs=0.02)
        # It is hollow: what it stands over is the inside of the half circle.
        assert handle.area.area == pytest.approx(math.pi * high * 2 * half, rel=1e-3)
        middle = (x0 + x1) / 2
        bag, leader, width = (s for s in picture.shapes if s.fill == "none" and s.closed[0] is False)
        # The bag's mouth is level with the feet and wider; its sides hang down straight, less far than the handle is high.
        runs = [(a, b) for part in bag.parts for a, b in itertools.pairwise(part)]
        level = [(a, b) for a, b in runs if abs(a[1] - b[1]) < 0.011]
        sides = [(a, b) for a, b in runs if abs(a[0] - b[0]) < 0.011]
        assert (len(level), len(sides)) == (1, 2)
        assert bag.box[1] == pytest.approx(foot, abs=0.011)
        assert {round(y, 1) for y in (level[0][0][1], level[0][1][1])} == {round(foot, 1)}
        assert pytest.approx(bag.box[0], abs=0.011) == 2.0
        assert bag.box[0] < x0 < x1 < bag.box[2]
        assert bag.box[0] + bag.box[2] == pytest.approx(2 * middle, abs=0.02)
        for a, b in sides:
            assert min(abs(a[0] - bag.box[0]), abs(a[0] - bag.box[2])) < 0.011
            assert sorted((a[1], b[1])) == pytest.approx([foot, bag.box[3]], abs=0.011)
        assert 0.3 * high < bag.box[3] - foot < high
        # The height is measured up to the underside of the handle and not into it, the width from foot to foot.
        assert leader.box[0] == leader.box[2] == pytest.approx(middle, abs=0.011)
        assert 0 < leader.box[1] - (y0 + 2 * half) < 1.0
        assert 0 < foot - leader.box[3] < 1.0
        assert (width.box[0], width.box[2]) == pytest.approx((middle - high, middle + high), abs=0.02)
        assert foot < width.box[1] == width.box[3] < bag.box[3]
        hx, hy, size = picture.words["133.7 mm"]
        wx, wy, _ = picture.words["267.4 mm"]
        assert leader.box[0] < hx < middle + size
        assert leader.box[1] < hy < leader.box[3]
        assert wx == pytest.approx(middle, abs=0.011)
        assert foot < wy < width.box[1]
        assert re.findall(r'text-anchor="(\w+)"[^>]*>([^<]*)<', shown.svg) == [("middle", "267.4 mm")]
        # On the narrowest phone, 320 px less 16 to either side, its words are 12 px or more.
        assert size * 288 / picture.width >= 12.0
        assert all(s.box[0] >= 0 and s.box[2] <= picture.width and s.box[3] <= picture.height for s in picture.shapes)


# -- the pen for the screen ---------------------------------------------------


def test_lines_of_one_path_stay_apart_where_they_are_apart_and_hang_together_where_they_meet() -> None:
    """Two dashes in one line, two rungs one over the other, and an outline of three lines and an arc."""
    dashes = (Line(0.0, 5.0, 10.0, 5.0), Line(20.0, 5.0, 30.0, 5.0))
    rungs = (Line(0.0, 0.0, 0.0, 4.0), Line(0.0, 8.0, 0.0, 12.0))
    tongue = (
        Line(10.0, 0.0, 0.0, 0.0),
        Line(0.0, 0.0, 0.0, 6.0),
        Line(0.0, 6.0, 10.0, 6.0),
        Arc(10.0, 3.0, 3.0, 90.0, -180.0),
    )
    for segments in (dashes, rungs):
        parts = list(svgelements.Path(ink.path_data(segments, False, 12.0)).as_subpaths())
        boxes = [tuple(svgelements.Path(p).bbox()) for p in parts]
        assert boxes == [
            (min(s.x0, s.x1), 12 - max(s.y0, s.y1), max(s.x0, s.x1), 12 - min(s.y0, s.y1)) for s in segments
        ]
    [whole] = svgelements.Path(ink.path_data(tongue, True, 6.0)).as_subpaths()
    path = svgelements.Path(whole)
    assert path.length(error=1e-5) == pytest.approx(10 + 6 + 10 + 3 * math.pi, abs=1e-3)
    assert tuple(path.bbox()) == pytest.approx((0.0, 0.0, 13.0, 6.0), abs=1e-3)


def test_every_colour_of_a_picture_is_one_that_browsers_know(draft: Draft) -> None:
    """Six digits after the mark (CSS Color 4, 5.2); an eighth of grey more or less keeps two tones apart."""
    shown = worn.of(draft("wristband", "172 mm"), "mm")
    assert shown is not None
    colours = re.findall(r'(?:fill|stroke)="([^"]*)"', shown.svg)
    assert all(c == "none" or re.fullmatch("#[0-9a-f]{6}", c) for c in colours)
    assert {"#d6d6d6", "#a8a8a8", "#ededed", "#000000"} <= set(colours)  # 0.84, 0.66 and 0.93 of 255, and black
    assert f'aria-label="{shown.words.rstrip(".")}"' in shown.svg
    assert f"<title>{shown.words.rstrip('.')}</title>" in shown.svg


# -- the strap ------------------------------------------------------------------

HOST = {"Host": "localhost"}
GROUP = re.compile(r'<g class="spot s-(\w+)"[^>]*>(.*?)</g>', re.S)
RECT = re.compile(r'<rect class="(\w+)" x="(-?[\d.]+)" y="(-?[\d.]+)" width="([\d.]+)" height="([\d.]+)"([^>]*)/>')


def rects(markup: str) -> dict[str, tuple[Box, str]]:
    """The mark and the hit of a spot as boxes, with the rest of what is said of either."""
    return {
        name: ((float(x), float(y), float(x) + float(w), float(y) + float(h)), rest)
        for name, x, y, w, h, rest in RECT.findall(markup)
    }


@pytest.fixture(scope="module")
def strap(draft: Draft) -> Callable[[str, int], tuple[Piece, strap_view.View, Screen]]:
    """Goods of the usual size on a screen of a width, and the picture read back; read once."""

    @cache
    def one(pattern: str, wide: int) -> tuple[Piece, strap_view.View, Screen]:
        made = draft(pattern, GOODS[pattern])
        view = strap_view.view(made, "mm", wide)
        return made, view, screen(view.svg)

    return one


@pytest.mark.parametrize("wide", [320, 820])
@pytest.mark.parametrize("pattern", GOODS)
def test_a_finger_on_a_hole_meets_its_spot_and_no_neighbours_slit(pattern: str, wide: int, strap: Any) -> None:
    """Targets of 24 px at least, as rectangles to their corners (WCAG 2.2, 2.5.8); marks 3 px clear of the holes."""
    _, view, seen = strap(pattern, wide)
    drawn_boxes = seen.boxes
    spots = [(kind, rects(inner)) for kind, inner in GROUP.findall(view.svg)]
    marks = [r["mark"][0] for kind, r in spots if kind == "hole"]
    holes = drawn_boxes.get("i-hole", [])
    assert len(marks) == len(holes)
    for x0, y0, x1, y1 in holes:
        around = (x0 - 3.0, y0 - 3.0, x1 + 3.0, y1 + 3.0)
        assert any(m == pytest.approx(around, abs=0.05) for m in marks)
    slits = [r["mark"][0] for kind, r in spots if kind == "slit"]
    for x0, y0, x1, y1 in drawn_boxes.get("i-slit", []):
        assert any(a <= x0 + 0.1 and b < y0 <= y1 < d and c >= x1 - 0.1 for a, b, c, d in slits)
    for kind, r in spots:
        (a, b, c, d), rest = r["hit"]
        (p, q, s, t), _ = r["mark"]
        assert "rx" not in rest
        assert a <= p + 3.1
        assert b <= q + 3.1
        assert c >= s - 3.1
        assert d >= t - 3.1
        if kind in ("hole", "stop", "fold"):
            assert c - a >= 23.9
            assert d - b >= 23.9
    hits = sorted(r["hit"][0] for kind, r in spots if kind == "slit")
    for one, other in itertools.combinations(hits, 2):
        apart = one[2] <= other[0] + 0.05 or other[2] <= one[0] + 0.05
        assert apart or one[3] <= other[1] + 0.05 or other[3] <= one[1] + 0.05


@pytest.mark.parametrize("wide", [320, 820])
def test_captions_of_holes_alike_stand_at_the_innermost_of_them(wide: int, strap: Any) -> None:
    """Four rivets at either end of a carrier handle: the words hang under the one nearest to the braid."""
    words = strap("carrier-handle", wide)[2].words
    groups = [text for text in words if re.fullmatch(r"([A-Z] ){4}rivet 3.2 mm", text)]
    assert len(groups) == 2
    start, finish = sorted(groups)
    for text, letter in ((start, start.split()[3]), (finish, finish.split()[0])):
        assert abs(words[text][0] - words[letter][0]) == pytest.approx(4.0, abs=0.02)


@pytest.mark.parametrize("wide", [320, 820])
def test_captions_of_a_strap_that_is_alike_at_both_ends_are_mirror_images(wide: int, strap: Any) -> None:
    """A hat band's words hang beside their leaders towards the braid, the same way at either end."""
    found = re.findall(r'class="flag" x="([\d.]+)"[^>]*text-anchor="(\w+)">([^<]*)<', strap("hat-band", wide)[1].svg)
    start, finish = found[:2], found[2:]
    assert [(anchor, text) for _, anchor, text in start] == [("start", "slits stop"), ("start", "lace hole 3 mm")]
    assert [(anchor, text) for _, anchor, text in finish] == [("end", "slits stop"), ("end", "lace hole 3 mm")]
    for (left, _, _), (right, _, _) in zip(start, finish, strict=True):
        assert float(left) + float(right) == pytest.approx(wide, abs=0.02)


@pytest.mark.parametrize("wide", [320, 820])
@pytest.mark.parametrize("pattern", GOODS)
def test_distances_over_the_strap_add_up_to_it_and_both_ends_are_of_one_scale(
    pattern: str, wide: int, strap: Any
) -> None:
    """Figures are to a twentieth of a millimetre each; both halves of a broken strap lie at the sides of the picture."""
    made, view, seen = strap(pattern, wide)
    figures = [float(t) for t in re.findall(r'class="caption"[^>]*>([\d.]+)<', view.svg)]
    hide = seen.boxes["i-hide"]
    alone = len({round(y, 1) for _, y, _, _ in hide}) == 1
    if figures and alone:
        assert sum(figures) == pytest.approx(made.strap.length, abs=0.0501 * len(figures))
    elif figures:  # what is left out is told once in either row
        assert sum(figures) - max(figures) == pytest.approx(made.strap.length, abs=0.0501 * len(figures))
    assert all(h[3] - h[1] == pytest.approx(made.strap.width * view.scale, abs=0.05) for h in hide)
    if view.broken:
        assert hide[0][0] == pytest.approx(16.0, abs=0.05)
        assert hide[1][2] == pytest.approx(wide - 16.0, abs=0.05)
        assert (hide[0][2] < hide[1][0]) == alone
    overall = [t for t in seen.words if t.startswith("overall cut length")]
    assert len(overall) == alone
    # Only a phone has the second end under the first; no word falls out of the picture.
    assert alone or wide == 320
    for text, (x, y) in seen.words.items():
        assert 8.0 < y < view.height, text
        assert 0.0 <= x <= wide, text


def test_a_strap_measured_from_raw_end_to_raw_end_has_one_dimension(draft: Draft, strap: Any) -> None:
    words = screen(strap_view.view(draft("plain-strap", "300 mm"), "mm", 820).svg).words
    assert [t for t in words if "mm" in t] == ["overall cut length 309.9 mm"]
    belt = strap("belt", 820)[2].words
    assert sum("as cut" in t for t in belt) == 1


def test_a_short_wide_strap_does_not_fill_a_phone(draft: Draft) -> None:
    """60 mm wide and 130 mm long, as wide as a phone it would be 133 px high; a third of its width is enough for a strap."""
    wide = draft("plain-strap", "130 mm", "2 mm", width="60 mm", sets="0")
    for px in (320, 390, 820):
        x0, y0, x1, y1 = screen(strap_view.view(wide, "mm", px).svg).boxes["i-hide"][0]
        assert 0.2 * px < y1 - y0 < px / 3
        assert (x1 - x0) / (y1 - y0) == pytest.approx(130 / 60, rel=1e-3)


# -- the answer to a change -------------------------------------------------------


@cache
def client() -> Any:
    return app.create_app().test_client()


def preview(query: str) -> dict[str, Any]:
    return dict(client().get(f"/preview?{query}", headers=HOST).get_json())


def test_the_strap_is_drawn_at_the_scale_or_the_width_that_the_page_asks_for() -> None:
    """A bank card is 85.60 mm wide (ISO/IEC 7810, ID-1): matched at 334 px, a millimetre is 3.90 px."""
    query = "pattern=wristband&measure=172+mm"
    at = preview(f"{query}&scale={334 / 85.60:.4f}&view=390")
    assert not at["broken"]
    assert f'data-scale="{334 / 85.60:.5f}"'[:17] in at["parts"]["strap"]
    x0, _, x1, _ = screen(at["parts"]["strap"]).boxes["i-cut"][0]
    assert x1 - x0 == pytest.approx(at["strap_mm"] * 334 / 85.60, abs=0.1)
    for said, width in (("390", 390.0), ("1000", 1000.0), ("no", strap_view.USUAL_WIDTH)):
        assert screen(preview(f"{query}&view={said}&scale=no")["parts"]["strap"]).width == width
    asked = [strap_view.asked_scale(t) for t in ("0.49", "0.5", "3.9", "40", "40.1")]
    assert asked == [None, 0.5, 3.9, 40.0, None]


def test_rivets_alike_are_one_line_and_a_length_half_typed_is_no_mistake() -> None:
    got = preview("pattern=belt&measure=34+in")
    lines = re.findall("<li>(.*?)</li>", got["parts"]["hardware"])
    assert lines[0].startswith("start: 1 1/2 in buckle")
    assert "times" not in lines[0]
    assert lines[1].startswith("start: double-cap rivet")
    assert lines[1].endswith(" (4 times)")
    assert len(lines) == 2 < len(got["hardware"]) == 5
    begun = preview("pattern=wristband&measure=6+3/&leather=rind")
    assert set(begun["errors"]) == {"measure", "leather"}
    assert begun["unfinished"] == ["measure"]
    assert begun["parts"] == {}


def opened(query: str) -> str:
    return str(client().get(f"/?{query}", headers=HOST).get_data(as_text=True))


def test_a_page_opened_by_its_address_shows_what_was_asked_and_opens_where_something_is_wrong() -> None:
    """Inches stay inches, goods that there are not are the first ones, and a field that is wrong is in sight."""
    right = opened("pattern=belt&measure=34&units=in&width=1+1/2")
    assert re.search(r'<option value="in" selected|<option selected value="in"', right)
    assert '<details class="more" id="fields" >' in right
    assert 'href="/braid?strands=3&amp;hand=' in right
    for wrong, more in (("measure=9+m", ""), ("measure=172+mm&width=9+m", "open")):
        assert f'<details class="more" id="fields" {more}>' in opened(f"pattern=wristband&{wrong}")
    five = opened("pattern=plain-strap&measure=400+mm&strands=5&hand=left")
    assert 'href="/braid?strands=5&amp;hand=left"' in five
    first = re.search(r'name="pattern" value="([a-z-]+)"', opened(""))
    assert first
    assert first[1] == "wristband"
    unknown = opened("pattern=harness")
    assert re.findall(r'name="pattern" value="([a-z-]+)"[^>]*checked', unknown) == ["wristband"]
    # Every field is there once, in sight or behind the word.
    names = re.findall(r'<(?:input|select|textarea)[^>]* name="(\w+)"', right)
    fields = [name for name in names if name != "pattern"]
    assert sorted(fields) == sorted(set(fields))
    assert {"measure", "units", "leather", "temper", "strands", "width", "ease", "paper", "machine"} <= set(fields)


@pytest.mark.parametrize("pattern", ["belt", "wristband"])
def test_other_goods_bring_their_name_their_way_of_measuring_and_their_hardware(pattern: str) -> None:
    """Read against the pattern's own file."""
    raw = tomllib.loads((folder("patterns") / f"{pattern}.toml").read_text(encoding="utf-8"))
    got = client().get(f"/pattern/{pattern}", headers=HOST).get_json()
    assert (got["title"], got["how"]) == (raw["title"], raw["measure"]["how"])
    assert got["what"] in (raw["measure"]["what"], raw["measure"].get("called"))
    assert got["what"] in re.sub("<[^>]+>", " ", got["drawing"])
    offered = [name for name, _ in got["hardware"]]
    assert ("buckle-38" in offered, "snap-20" in offered) == (pattern == "belt", pattern == "wristband")


# -- plots ----------------------------------------------------------------------

NUMBER = r"(-?[\d.]+)"
PHONE = 320 - 2 * 12  # px: the narrowest phone, less the page's sides


def labels(svg: str) -> list[tuple[float, float, str, str]]:
    """Every level word of a plot with its place and the way it is anchored."""
    found = re.findall(rf'<text x="{NUMBER}" y="{NUMBER}" text-anchor="(\w+)"(?: class="\w+")?>([^<]*)</text>', svg)
    return [(float(x), float(y), anchor, text) for x, y, anchor, text in found]


def path_of(svg: str, look: str) -> svgelements.Path:
    [d] = re.findall(rf'class="{look}" d="([^"]+)"', svg)
    return svgelements.Path(d)


def ruler(ticks: list[tuple[float, float]]) -> tuple[float, float]:
    """Where nought is and how far one more is along an axis, from the places of its figures, which lie evenly and are round."""
    ticks = sorted(ticks, key=lambda t: t[1])
    (p0, v0), (p1, v1) = ticks[0], ticks[-1]
    one = (p1 - p0) / (v1 - v0)
    assert [p for p, _ in ticks] == pytest.approx([p0 + one * (v - v0) for _, v in ticks], abs=0.11)
    steps = {round(b - a, 6) for (_, a), (_, b) in itertools.pairwise(ticks)}
    assert len(steps) == 1
    step = steps.pop()
    assert round(step / 10 ** math.floor(math.log10(step) + 1e-9), 6) in (1, 2, 5)
    assert all(abs(v / step - round(v / step)) < 1e-6 for _, v in ticks)
    return p0 - one * v0, one


@pytest.mark.parametrize(("girth", "reach"), [("waist", 25.0), ("wrist", 6.0), ("neck", None)])
def test_every_person_stands_in_a_bar_at_their_girth_and_in_the_colour_of_their_fit(
    girth: str, reach: float | None
) -> None:
    """Bars counted anew from the counts of the survey, with the axis' own figures as the ruler."""
    found = sizes.best_sizes(girths.spread(girths.find("adults", ""), girth), 5)
    svg = plots.who_fits(found, reach, "mm")
    people = dict(zip(found.spread.girths, found.spread.shares, strict=True))
    low, high = min(people), max(people)
    zero, one = ruler([(x, float(t.split()[0])) for x, _, _, t in labels(svg) if t.endswith("mm")])
    rects = re.findall(rf'<rect class="([a-z ]+)" x="{NUMBER}" y="{NUMBER}" width="{NUMBER}" height="{NUMBER}"/>', svg)
    bars = [(look, *map(float, box)) for look, *box in rects]
    starts = sorted({x for _, x, *_ in bars})
    slot = min(b - a for a, b in itertools.pairwise(starts))
    wide = round(slot / one)  # whole millimetres that one bar holds
    # The lowest girth's bar is the first; on the axis a bar's middle is the middle of the girths it holds.
    base = max(y + h for _, _, y, _, h in bars)
    tallest = max(sum(h for _, x, _, _, h in bars if x == start) for start in starts)
    counted: dict[int, list[float]] = {}
    for mm, share in people.items():
        near = min(abs(s.mm - mm) for s in found.sizes)
        counted.setdefault(int((mm - low) // wide), [0.0, 0.0])[reach is not None and near > reach + 1e-9] += share
    most = max(map(sum, counted.values()))
    for k, (near, far) in counted.items():
        middle = zero + one * (low + wide * k + (wide - 1) / 2)
        here = [b for b in bars if abs(b[1] + b[3] / 2 - middle) < 0.4 * slot]
        heights = {look.split()[0]: h for look, _, _, _, h in here}
        assert heights.get("near", 0.0) == pytest.approx(tallest * near / most, abs=0.11)
        assert heights.get("far", 0.0) == pytest.approx(tallest * far / most, abs=0.11)
        assert len(here) == (near > 0) + (far > 0)
        if far and near:  # the far ones stand on the near ones
            (lower, upper) = sorted(here, key=lambda b: -b[2])
            assert lower[0].startswith("near")
            assert upper[2] + upper[4] == pytest.approx(lower[2], abs=0.11)
        served = {min(range(5), key=lambda n: abs(found.sizes[n].mm - mm)) for mm in people if (mm - low) // wide == k}
        if near and len(served) == 1:  # neighbouring sizes have two tones
            assert next(b[0] for b in here if b[0] != "far") == ("near even" if served.pop() % 2 else "near")
    assert (min(y for _, _, y, _, _ in bars), base) == pytest.approx((base - tallest, base), abs=0.11)
    # Sizes are lines at their girths with their names over them; figures of the axis are few enough to be read.
    lines = [float(x) for x in re.findall(rf'<line class="size" x1="{NUMBER}"', svg)]
    assert lines == pytest.approx([zero + one * s.mm for s in found.sizes], abs=0.11)
    assert [t for _, _, _, t in labels(svg) if not t.endswith("mm")] == [s.name for s in found.sizes]
    figures = [x for x, _, _, t in labels(svg) if t.endswith("mm")]
    assert 3 <= len(figures) <= 6
    assert len(re.findall('<text [^>]*class="quiet"[^>]*>[^<]* mm<', svg)) == svg.count('class="quiet"') == len(figures)
    axis = [float(x) for x in re.findall(rf'<line class="axis" x1="{NUMBER}" y1="{NUMBER}" x2="{NUMBER}"', svg)[0]]
    assert axis[0] <= min(starts) < max(x + w for _, x, _, w, _ in bars) <= axis[2] + 0.1
    assert zero + one * high < axis[2]
    if reach is not None:
        out = 100 * sum(far for _, far in counted.values())
        assert f"{out:.1f} in 100 are farther than {reach:g} mm from one" in svg


def test_an_axis_has_its_round_figures_from_the_first_to_the_last() -> None:
    """Steps by hand: the least of 1, 2, 5 times a power of ten of which the axis holds no more than it may."""
    spans = {(10, 5): 2, (11, 5): 5, (26, 5): 10, (40, 5): 10, (51, 5): 20, (100, 5): 20, (5, 5): 1, (0.9, 6): 0.2}
    assert {ask: plots.step_for(*ask) for ask in spans} == pytest.approx(spans)
    found = sizes.best_sizes(girths.of_list([150.0, 162.0, 171.0, 190.0]), 2)
    told = [t for _, _, _, t in labels(plots.who_fits(found, None, "mm")) if t.endswith("mm")]
    assert told == ["150 mm", "160 mm", "170 mm", "180 mm", "190 mm"]


def test_captions_of_plots_can_be_read_on_a_phone() -> None:
    """10 px is what browsers show small print with; a plot is as wide as the page and its words shrink with it."""
    css = (folder("templates") / "static" / "order.css").read_text(encoding="utf-8")
    size = float(re.search(r"\.o-plot text \{[^}]*font-size: (\d+)px", css)[1])  # type: ignore[index]
    found = sizes.best_sizes(girths.spread(girths.find("adults", ""), "wrist"), 3)
    for svg in (plots.who_fits(found, None, "mm"), plots.took_up("tan", Learned((Measured("a", 10.0, 11.0),)))):
        wide, high = map(float, re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg).groups())  # type: ignore[union-attr]
        assert size * PHONE / wide >= 10.0
        for x, y, anchor, text in labels(svg):
            room = fonts.text_width(text, size)
            left = x - room * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
            assert left >= 0, text
            assert left + room <= wide, text
            assert size * 0.7 < y < high, text


MEASURED = (
    Measured("harbour one", 8.126, 9.134),
    Measured("harbour two", 12.0, 12.6, "2026-05-02"),
    Measured("quay belt", 31.0, 36.5, "2026-06-11", made=True),
)


def test_measured_straps_lie_in_the_plot_where_its_axes_say() -> None:
    """Places are read off with the figures of both axes as rulers, against the measured take-ups themselves."""
    known = Learned(MEASURED)
    svg = plots.took_up("harbour-tan", known)
    said = labels(svg)
    up = sorted((y, float(t)) for x, y, anchor, t in said if anchor == "end")
    along = sorted((x, float(t)) for x, y, anchor, t in said if anchor == "middle" and re.fullmatch(r"[\d.]+", t))
    (x0, one), (ytext, tall) = ruler(along), ruler(up)
    y0 = max(float(y) for y in re.findall(rf'<line class="grid" x1="{NUMBER}" y1="{NUMBER}"', svg) for y in y[1:])

    def at(x: float, y: float) -> tuple[float, float]:
        return (x - x0) / one, (y - y0) / tall

    assert 0 < ytext - y0 < 6  # a figure's foot is a little under its line, so that its middle is on it
    marks = [(float(x), float(y)) for x, y in re.findall(rf'<circle class="swatch" cx="{NUMBER}" cy="{NUMBER}"', svg)]
    diamond = path_of(svg, "made")
    a, b, c, d = diamond.bbox()
    marks.append(((a + c) / 2, (b + d) / 2))
    for (x, y), strap in zip(marks, MEASURED, strict=True):
        assert at(x, y) == pytest.approx((strap.model, strap.measured), abs=0.12)
    assert re.findall("<title>([^<]*)</title>", svg) == [
        "harbour one, swatch: 9.13 mm, model 8.13 mm",
        "harbour two, swatch: 12.6 mm, model 12 mm",
        "quay belt, finished piece: 36.5 mm, model 31 mm",
    ]
    # The model is the line of equals, what was learned its factor's; both begin at nought.
    for look, slope in (("model", 1.0), ("learned", known.factor)):
        line = path_of(svg, look)
        first, last = at(line[0].end.x, line[0].end.y), at(line[-1].end.x, line[-1].end.y)
        assert first == pytest.approx((0.0, 0.0), abs=0.05)
        assert last[0] > 1.1 * 31.0
        assert last[1] == pytest.approx(slope * last[0], abs=0.1)
    # The band is that of a new strap, over the whole breadth of the plot; it alone is an area.
    band = [at(p.end.x, p.end.y) for p in path_of(svg, "band") if not isinstance(p, svgelements.Close)]
    half = len(band) // 2
    axis = [at(p.end.x, p.end.y) for p in path_of(svg, "axis")]
    (left, top), (corner, foot), (right, end) = axis
    assert (left, corner, foot, end) == pytest.approx((0.0, 0.0, 0.0, 0.0), abs=0.05)
    assert max(x for x, _ in band) == pytest.approx(right, abs=0.05)
    assert min(x for x, _ in band) < 1.0
    assert top > 36.5
    for (x, low), (_, high) in zip(band[:half], reversed(band[half:]), strict=True):
        lowest, highest = known.band(x)
        assert low == pytest.approx(lowest, abs=0.15)
        assert high == pytest.approx(min(highest, top), abs=0.25)
    assert [look for look, d in re.findall(r'class="(\w+)" d="([^"]+)"', svg) if "Z" in d] == ["band", "made"]
    # Figures stand by their axis, no farther off than half a letter; the plot says what it is of.
    assert all(0 < x0 - x < 7.5 for x, _, anchor, _ in said if anchor == "end")
    assert 'aria-label="Take-up of harbour-tan as measured, against the model"' in svg
