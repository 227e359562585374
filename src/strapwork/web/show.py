"""What the page shows of a piece: pictures by our own renderer, and plain data."""

from __future__ import annotations

import math
import re
from functools import lru_cache
from pathlib import Path as FilePath
from typing import Any

from strapwork.braid.geometry import BraidForm, Plait
from strapwork.braid.plan import Plan
from strapwork.braid.word import Turn
from strapwork.catalogue import tr, trn
from strapwork.drawing import svg
from strapwork.drawing.primitives import (
    Drawing,
    Layer,
    Path,
    Placed,
    Primitive,
    Sheet,
    Text,
    box_path,
    extent,
    line,
    polyline,
)
from strapwork.errors import Place
from strapwork.files.folders import Places
from strapwork.geometry.shape import Arc, Line
from strapwork.job import job as jobs
from strapwork.order import doors
from strapwork.order.order import Job
from strapwork.paper import braid_pictures as picture
from strapwork.paper import finished
from strapwork.paper.tiles import count_sheets, saving
from strapwork.piece import drawn, load
from strapwork.piece.piece import Piece, work_out
from strapwork.say import braiding, findings, hardware, lengths, loads, spots
from strapwork.stock.patterns import Pattern
from strapwork.units import format_length, shown_in
from strapwork.web import ink, strap_view, worn
from strapwork.web.form import Read

L = Layer.LABELS


def inline(
    drawing: Drawing, title: str, margin: float = 2.0, box: tuple[float, float, float, float] | None = None
) -> str:
    """A drawing as an SVG element for a page, cropped to what it holds."""
    x0, y0, x1, y1 = box or extent(drawing)
    sheet = Sheet(x1 - x0 + 2 * margin, y1 - y0 + 2 * margin, "", (Placed(drawing, margin - x0, margin - y0),))
    text = svg.write([sheet], title)[0]
    # Several drawings share a page: layer ids would clash with each other and with the page's own.
    # On the page a layer is a group like any other, and no namespace is declared that HTML does not know.
    plain = re.sub(r' (?:xmlns:(?:inkscape|ev)|inkscape:[a-z]+)="[^"]*"', "", text[text.index("<svg") :])
    return re.sub(r'(<g) id="[a-z]+"', r"\1", plain)


def _dimension(a: float, b: float, y: float, edge: float, text: str, size: float) -> list[Primitive]:
    head = size * 0.7
    return [
        line(a, edge + 0.8, a, y + 1.0, L, "leader"),
        line(b, edge + 0.8, b, y + 1.0, L, "leader"),
        line(a, y, b, y, L, "leader"),
        picture.arrow_head(a, y, 180.0, head),
        picture.arrow_head(b, y, 0.0, head),
        Text((a + b) / 2.0, y + size * 0.35, text, size, L, "text", "middle"),
    ]


@lru_cache(maxsize=128)
def _braid_svg(plait: Plait, turns: tuple[Turn, ...], form: BraidForm, strand_width: float) -> str:
    # A dozen turns show how it lies; many strands make more of a set than a screen can hold.
    most = 12 if plait.strands < 7 else 6 if plait.strands < 10 else 4
    shown = min(form.finished, form.set_length, most * form.pitch)
    return ink.inline(finished.drawing(plait, turns, form, strand_width, shown), tr("The finished braid"))


def braid_picture(piece: Piece) -> str:
    """Up to one set of the finished braid; empty for a plain strap."""
    form, plan = piece.fit.braid, piece.plan
    if form is None or plan is None:
        return ""
    return _braid_svg(plan.plait, plan.turns, form, piece.strap.width / piece.strands)


@lru_cache(maxsize=64)
def goods_picture(r: Pattern, folder: FilePath | None = None) -> str:
    """A small picture of the goods: the flat strap of a usual piece."""
    usual = {"pattern": r.name, "measure": r.measure.example()}
    piece = work_out(doors.of_texts(usual, Place.part(r.name), Places(folder)).orders[0])
    strap = piece.strap
    # Long goods are shown from one end: nine widths are enough to know them by.
    length = min(strap.length, 9.0 * strap.width)
    return ink.inline(drawn.of_strap(strap), r.title, 1.5, (0.0, 0.0, length, strap.width))


def how_to_measure(pattern: Pattern) -> str:
    """A drawing of how the measure is taken."""
    out: list[Primitive] = []
    kind = pattern.measure.lies
    if kind == "round":
        out.append(Path((Arc(30.0, 22.0, 15.0, 0.0, 360.0),), True, L, "tab"))
        out.append(Path((Arc(30.0, 22.0, 17.5, -60.0, 300.0),), False, L, "way-front"))
        out.append(Path((Line(38.75, 6.84, 60.0, 6.84),), False, L, "way-front"))
        out.append(
            picture.arrow_head(
                29.0 + 17.5 * math.cos(math.radians(-128)), 22 + 17.5 * math.sin(math.radians(-122)), 30.0, 4.0
            )
        )
        out.append(Text(30.0, 21.0, pattern.measure.called, 4.0, L, "text", "middle"))
        out.append(Text(62.0, 5.6, tr("tape"), 3.6, L, "text"))
    elif kind == "folded":
        out.append(Path((Arc(8.0, 18.0, 6.0, 0.0, 360.0),), True, L, "way-back"))
        out.append(
            Path(
                (Line(64.0, 21.0, 14.0, 21.0), Arc(14.0, 18.0, 3.0, 90.0, 180.0), Line(14.0, 15.0, 64.0, 15.0)),
                False,
                L,
                "way-front",
            )
        )
        out += _dimension(13.0, 58.0, 28.0, 22.0, pattern.measure.called, 4.0)
    else:
        out.append(box_path((4.0, 10.0, 76.0, 18.0), L, "tab"))
        out.append(polyline(((12.0, 12.0), (12.0, 16.0)), L, "moving"))
        out.append(polyline(((68.0, 12.0), (68.0, 16.0)), L, "moving"))
        out += _dimension(12.0, 68.0, 24.0, 18.0, pattern.measure.called, 4.0)
        out.append(Text(12.0, 5.6, pattern.start.reference, 3.4, L, "text", "middle"))
        out.append(Text(68.0, 5.6, pattern.finish.reference, 3.4, L, "text", "middle"))
    return inline(
        tuple(out),
        tr("How to measure the {what}", what=pattern.measure.called),
        box=(-8.0, 0.0, 92.0, 42.0 if kind == "round" else 34.0),
    )


def preview(got: Read, wide: float = strap_view.USUAL_WIDTH, scale: float | None = None) -> dict[str, Any]:
    """Everything the page shows while one types; the strap is drawn ``wide`` px wide, or at ``scale`` px per mm."""
    out: dict[str, Any] = {"notes": got.notes, "errors": got.errors, "general": got.general, "ok": got.job is not None}
    if got.job is None or not got.pieces:
        return out
    with shown_in(got.job.units):
        return out | _shown(got.job, got.pieces, wide, scale)


def _shown(job: Job, pieces: list[Piece], wide: float, scale: float | None) -> dict[str, Any]:
    piece, units = pieces[0], job.units
    view, on = strap_view.view(piece, units, wide, scale), worn.of(piece, units)
    setting = jobs.setting(job)
    sheets = count_sheets(pieces, setting)
    saves = saving(pieces, setting, sheets)
    return {
        "strap": view.svg,
        "strap_mm": piece.strap.length,
        "broken": view.broken,
        "spots": [{"name": s.name, "more": s.more} for s in spots.of(piece, units) if s.kind != "braid"],
        "braid": braid_picture(piece),
        "worn": {"svg": on.svg, "words": on.words} if on else None,
        "what": f"{piece.pattern.title}, {piece.pattern.measure.called} {format_length(piece.value, units)}",
        "leather": piece.leather.words(),
        "rows": [_row(r) for r in lengths.breakdown(piece, units)],
        "lengths": [_row(r) for r in lengths.three(piece, units)],
        "band": lengths.band(piece, units),
        "findings": [
            {"level": f.level, "message": findings.sentence(f), "source": f.source, "safety": f.is_safety}
            for f in piece.findings
        ],
        "sheets": trn(
            "{sheets} sheet of {name}{rest}",
            "{sheets} sheets of {name}{rest}",
            sheets,
            sheets=sheets,
            name=job.paper.name,
            rest=f". {saves}" if saves else "",
        ),
        "hardware": [f"{tr(end)}: {what}" for end, what in hardware.fittings(piece)],
        "braiding": braiding.worked(piece, units),
        "hand": piece.hand,
        "load": _load(piece),
        "with": [p.label for p in pieces[1:]],
    }


def _row(said: lengths.Said) -> dict[str, str]:
    return {"what": said.what, "mm": said.length, "why": said.why}


def _load(piece: Piece) -> dict[str, Any] | None:
    if not load.wanted(piece):
        return None
    e = load.estimate(piece)
    return {
        "intro": loads.introduction(e),
        "rows": [{"what": s.what, "mm": loads.newtons(s.newtons), "why": s.how} for s in e.sections],
        "after": [*loads.conclusions(e), loads.WARNING],
    }


def player(plan: Plan) -> list[dict[str, str]]:
    """Pictures and words of every step of one set, as the plan's hand works it."""
    wide = 60.0 if plan.strands < 6 else 92.0
    out = []
    for f in braiding.frames(plan):
        drawn = picture.step_picture(plan.strands, plan.turns, f.turn, f.tab_pass, wide, 58.0, plan.schedule)
        out.append(
            {
                "svg": inline(drawn, f"{f.title}: {f.text}", box=(0.0, -2.0, wide, 60.0)),
                "title": f.title,
                "text": f.text,
                "state": f.state,
            }
        )
    return out
