"""Pictures and plots of the page, measured without a browser: the piece as worn, the strap, who fits, what was taken up."""

from __future__ import annotations

import io
import itertools
import math
import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
import svgelements
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from strapwork.drawing import fonts
from strapwork.geometry.shape import Arc, Line
from strapwork.piece.piece import Piece
from strapwork.web import ink, worn
from tests.test_shown import Box

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
