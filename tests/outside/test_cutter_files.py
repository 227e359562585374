"""Cutter files in readers that are not ours."""

from __future__ import annotations

import io
import itertools
import math
import os
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import svgelements
from ezdxf import recover
from ezdxf.math import bulge_to_arc

from strapwork.cutter import kerf
from strapwork.cutter import paths as cutting
from strapwork.drawing.dxf import nearest_index
from strapwork.job import job
from strapwork.piece.piece import Piece
from strapwork.stock import machines as machine
from tests.helpers import read_job

Draft = Callable[..., Piece]
SAMPLES = Path(__file__).resolve().parents[2] / "samples"
PROFILES = ["laser", "drag-knife", "pen-plotter", "oscillating-knife"]
# The sample job has five leathers (its keeper has one of its own), so every machine has a bed for each.
MACHINES = [f"{profile}/{bed}" for profile in PROFILES for bed in range(5)]


@pytest.fixture(scope="module")
def files() -> dict[str, tuple[cutting.Cutting, str, bytes]]:
    out = {}
    base = read_job(SAMPLES / "market-kit.toml")
    for name in PROFILES:
        made = job.make(replace(base, machine=machine.find(name, "x"), formats=("pdf",), card="none"))
        assert made.cutting is not None
        for b, bed in enumerate(made.cutting.beds):
            stem = f"market-kit-{name}-{bed.sheet.name.replace(' ', '-').replace('.', '-')}"
            one = replace(made.cutting, beds=(bed,))
            out[f"{name}/{b}"] = (one, made.files[f"{stem}.svg"].decode(), made.files[f"{stem}.dxf"])
    assert list(out) == MACHINES
    return out


@pytest.mark.parametrize("name", MACHINES)
def test_ezdxfs_auditor_finds_nothing_and_the_same_shapes_come_back(files: Any, name: str) -> None:
    cut, _, data = files[name]
    doc, auditor = recover.read(io.BytesIO(data))
    assert not auditor.errors
    assert not auditor.fixes
    assert doc.units == ezdxf.units.MM
    wanted = {"lines": 0, "circles": 0}
    space = doc.modelspace()
    sheet = cut.beds[0].sheet
    drawn = sheet.placed[0].drawing
    assert tuple(doc.header["$EXTMIN"]) == (0, 0, 0)
    assert tuple(doc.header["$EXTMAX"]) == (sheet.width, sheet.height, 0)
    circles = sorted(
        (round(c.dxf.center.x, 4), round(c.dxf.center.y, 4), round(c.dxf.radius, 4)) for c in space.query("CIRCLE")
    )
    ours = sorted((round(p.cx, 4), round(p.cy, 4), round(p.r, 4)) for p in drawn if isinstance(p, cutting.Disc))
    assert circles == ours
    layers = {e.dxf.layer for e in space}
    assert layers <= {"marks", "holes", "slits", "outline", "labels"}
    assert [e.dxf.layer for e in space] == [p.layer.key for p in drawn]
    # Outlines: length by ezdxf's own flattening against the exact length.
    for e, p in zip(space, drawn, strict=True):
        if e.dxftype() == "LINE":
            # It is run the way that the order of work has it.
            assert (e.dxf.start.x, e.dxf.start.y) == pytest.approx(p.segments[0].start)
            assert (e.dxf.end.x, e.dxf.end.y) == pytest.approx(p.segments[0].end)
        if e.dxftype() == "LWPOLYLINE":
            length = _polyline_length(e)
            assert length == pytest.approx(sum(s.length for s in p.segments), abs=0.01)
            wanted["lines"] += 1
    assert wanted["lines"] or name.startswith("laser")


def _polyline_length(e: Any) -> float:
    """Length of an LWPOLYLINE by ezdxf's own reading of its bulges."""
    points = list(e.get_points("xyb"))
    if e.closed:
        points.append(points[0])
    total = 0.0
    for (x0, y0, bulge), (x1, y1, _) in itertools.pairwise(points):
        if bulge:
            _, a, b, r = bulge_to_arc((x0, y0), (x1, y1), bulge)
            total += r * ((b - a) % math.tau)
        else:
            total += math.dist((x0, y0), (x1, y1))
    return total


@pytest.mark.parametrize("name", MACHINES)
def test_svgelements_reads_the_same(files: Any, name: str) -> None:
    cut, text, _ = files[name]
    doc = svgelements.SVG.parse(io.StringIO(text), ppi=25.4)
    drawn = cut.beds[0].sheet.placed[0].drawing
    height = cut.beds[0].sheet.height
    shapes = [e for e in doc.elements() if isinstance(e, (svgelements.Path, svgelements.Circle))]
    assert len(shapes) == len(drawn)
    for e, p in zip(shapes, drawn, strict=True):
        x0, y0, x1, y1 = e.bbox()
        box = cutting.Path(p.segments, False, p.layer, "x").segments if isinstance(p, cutting.Path) else None
        ours = (p.cx - p.r, p.cy - p.r, p.cx + p.r, p.cy + p.r) if box is None else _box(box)
        assert (x0, height - y1, x1, height - y0) == pytest.approx(ours, abs=0.01)


def _box(segments: Any) -> tuple[float, float, float, float]:
    boxes = [s.box() for s in segments]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


@pytest.mark.browser
@pytest.mark.parametrize("name", ["laser/0", "laser/2", "oscillating-knife/2"])
def test_chromium_measures_the_same(files: Any, name: str, browser: Any, tmp_path: Path) -> None:
    cut, text, _ = files[name]
    (tmp_path / "bed.svg").write_text(text, encoding="utf-8")
    page = browser.new_page()
    page.goto((tmp_path / "bed.svg").as_uri())
    # Chromium measures curves with chords up to half a unit long; a hundredfold copy of the
    # same path data (arc flags untouched) brings that below what is asked of it here.
    found = page.evaluate(
        """() => [...document.querySelectorAll('path, circle')].map(e => {
                const box = e.getBBox();
                let length = e.getTotalLength();
                if (e.tagName === 'path') {
                    const d = e.getAttribute('d').replace(/([MLA])([^MLAZ]*)/g, (_, c, rest) => {
                        const v = rest.trim().split(/[ ,]+/).map(Number);
                        return c + v.map((x, i) => c === 'A' && i > 1 && i < 5 ? x : x * 100).join(' ');
                    });
                    const copy = document.createElementNS('http://www.w3.org/2000/svg', 'path');
                    copy.setAttribute('d', d);
                    length = copy.getTotalLength() / 100;
                }
                return [length, box.x, box.y, box.width, box.height];
            })"""
    )
    page.close()
    drawn = cut.beds[0].sheet.placed[0].drawing
    height = cut.beds[0].sheet.height
    assert len(found) == len(drawn)
    for (length, x, y, w, h), p in zip(found, drawn, strict=True):
        if isinstance(p, cutting.Path):
            assert length == pytest.approx(sum(s.length for s in p.segments), abs=0.01)
            assert (x, height - y - h, x + w, height - y) == pytest.approx(_box(p.segments), abs=0.01)
        else:
            assert w == pytest.approx(2 * p.r, abs=0.01)


def test_the_dxf_holds_the_holes_and_outline_of_the_strap(draft: Draft) -> None:
    p = draft("belt", "900 mm")
    m = machine.find("laser", "x")
    cut = cutting.plan([p], m)
    from strapwork.drawing import dxf

    doc, _ = recover.read(io.BytesIO(dxf.write([b.sheet for b in cut.beds], m)[0]))
    spot = cut.plan.spots[0]
    space = doc.modelspace()
    holes = sorted(
        (c.dxf.center.x - spot.x, c.dxf.center.y - spot.y, 2 * c.dxf.radius + m.kerf) for c in space.query("CIRCLE")
    )
    ours = sorted((h.x, h.y, h.diameter) for h in p.strap.holes if not h.is_slot)
    assert holes == [pytest.approx(h, abs=1e-6) for h in ours]
    outline = next(e for e in space.query("LWPOLYLINE") if e.dxf.layer == "outline")
    assert outline.closed
    grown = kerf.grown(p.strap.outline, m.kerf / 2)
    assert len(outline) == len(grown.segments)


def test_librecad_takes_the_dxf(files: Any, tmp_path: Path) -> None:
    """LibreCAD's own converter, where it can be installed."""
    if shutil.which("librecad") is None:
        pytest.skip("LibreCAD is not on this machine")
    for name in ("laser", "oscillating-knife"):
        (tmp_path / f"{name}.dxf").write_bytes(files[f"{name}/2"][2])
        done = subprocess.run(
            ["librecad", "dxf2pdf", "-a", "-o", f"{name}.pdf", f"{name}.dxf"],
            cwd=tmp_path, capture_output=True, text=True, timeout=120, check=False, env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        assert (tmp_path / f"{name}.pdf").read_bytes().startswith(b"%PDF")
        assert "error" not in done.stderr.lower()


@pytest.mark.parametrize(
    ("rgb", "index"),
    [
        ((255, 0, 0), 1), ((255, 255, 0), 2), ((0, 255, 0), 3), ((0, 255, 255), 4), ((0, 0, 255), 5), ((255, 0, 255), 6),
        ((255, 255, 255), 7), ((250, 4, 4), 1), ((10, 6, 240), 5),
    ],
)  # fmt: skip
def test_an_operation_has_the_colour_index_of_the_colour_next_to_its_own(rgb: tuple[int, int, int], index: int) -> None:
    """Colours 1 to 7 of the drawing format: red, yellow, green, cyan, blue, magenta, white (common practice, no source)."""
    assert nearest_index(rgb) == index
