"""Load: where a strap is weakest, as an estimate with its reasons.

Each section is an area times a strength.  The strength is the low end of the
published range for bovine leather, 8 N/mm2 of 8 to 25 (stated by trade bodies;
tensile test ISO 3376, thickness ISO 2589), or the maker's own figure.

* Strands together: n strands of width s and thickness t at the braid angle a
  pull along the strap with cos a of their strength: w t f cos a.
* Net section at holes: (w - sum of hole diameters in line across) t f, the
  usual net-section rule of strength of materials (for slots, their width).
* Bearing at posts: posts x hole diameter x t x f, for the one layer that pulls;
  where an end is turned back the posts hold half of the load, the fold carries
  the other half, so the end holds twice as much.  Tearing at buckles has its own
  test, ASTM D4831; this bearing figure is common practice, no source.

Nothing here is a pass mark.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from strapwork.catalogue import tr, trn
from strapwork.piece.piece import Piece
from strapwork.piece.strap import Hole
from strapwork.units import say, say_thin

TENSILE_LOW = 8.0
FACTOR = 8.0


@dataclass(frozen=True, slots=True)
class Section:
    """One section: what it is, area in mm2, and the load in N at which it would fail by the estimate; ``posts`` where it is
    posts that give way."""

    what: str
    area: float
    newtons: float
    how: str
    posts: int = 0


@dataclass(frozen=True, slots=True)
class Load:
    """The table for one piece, weakest section first.

    Attributes:
        strength: tensile strength used, N/mm2.
        source: where it is from.
        sections: weakest first.
        factor: what the weakest section is divided by for the advised load.
        asked: the load in N that was asked about, None when none was.
    """

    strength: float
    source: str
    sections: tuple[Section, ...]
    factor: float
    asked: float | None

    @property
    def weakest(self) -> Section:
        return self.sections[0]

    @property
    def advised(self) -> float:
        """Load in N with the stated factor on the weakest section."""
        return self.weakest.newtons / self.factor

    @property
    def margin(self) -> float | None:
        """Weakest section over the load asked about."""
        return self.weakest.newtons / self.asked if self.asked else None


def net_area(width: float, thickness: float, diameters: list[float]) -> float:
    """What is left of a strip at a row of holes across, in mm2: (w - sum d) t."""
    return max(0.0, width - math.fsum(diameters)) * thickness


def wanted(piece: Piece) -> bool:
    """Whether a piece has a load table: its pattern says it carries a load, or the maker asked."""
    return "load" in piece.pattern.hazards or piece.asked_load is not None


def estimate(piece: Piece) -> Load:
    """The load table of a piece.  The backing is not counted: glue is not leather."""
    asked, factor = piece.asked_load, piece.load_factor or FACTOR
    leather, strap = piece.leather, piece.strap
    f = leather.tensile or TENSILE_LOW
    t = leather.thickness.low
    own = (
        tr("the maker's own figure")
        if leather.tensile
        else tr("low end of the published range for bovine leather, 8 to 25 N/mm²")
    )
    out: list[Section] = []
    w = strap.width
    if piece.fit.braid:
        a = piece.fit.braid.angle_deg
        area = w * t
        out.append(
            Section(
                tr("strands together"),
                area,
                area * f * math.cos(math.radians(a)),
                tr("{w} × {t}, cos {a:.0f}°", w=say(w), t=say_thin(t), a=a),
            )
        )
    else:
        out.append(Section(tr("plain strap"), w * t, w * t * f, f"{say(w)} × {say_thin(t)}"))
    for x, row in _rows(strap.holes, strap.length).items():
        cut = [h.diameter for h in row]
        area = net_area(w, t, cut)
        here = {"purpose": tr(row[0].purpose), "end": tr(row[0].end)}
        name = (
            trn("at the {purpose} slot, {end}", "at the {purpose} slots, {end}", len(row), **here)
            if row[0].is_slot
            else trn("at the {purpose} hole, {end}", "at the {purpose} holes, {end}", len(row), **here)
        )
        out.append(
            Section(
                name,
                area,
                area * f,
                tr("({w} − {cut}) × {t}, {x} along", w=say(w), cut=say(math.fsum(cut)), t=say_thin(t), x=say(x)),
            )
        )
    for name, end in (("start", piece.pattern.start), ("finish", piece.pattern.finish)):
        posts = [
            p for p in strap.fittings if p.end == name and p.part in ("rivet", "screw-post") and p.size and p.size.hole
        ]
        count = sum(p.count for p in posts)
        if not count:
            continue
        d = min(p.size.hole for p in posts if p.size and p.size.hole)
        area = count * d * t
        share = 2.0 if end.meets == "turned" else 1.0
        half = tr(", half of the load") if share == 2.0 else ""
        out.append(
            Section(
                trn(
                    "bearing at {count} post, {name}",
                    "bearing at {count} posts, {name}",
                    count,
                    count=count,
                    name=tr(name),
                ),
                area,
                area * f * share,
                f"{count} × {say(d)} × {say_thin(t)}{half}",
                count,
            )
        )
    return Load(f, own, tuple(sorted(out, key=lambda s: s.newtons)), factor, asked)


def _rows(holes: tuple[Hole, ...], length: float) -> dict[float, list[Hole]]:
    """Holes that lie across from each other, by their place along the strap (relief holes are not loaded).

    Of rows that are alike at one end only that nearest the strap's middle: there the strap has the whole load, while
    what is turned back has the half of it that its posts give it.
    """
    rows: dict[float, list[Hole]] = {}
    for h in holes:
        if h.purpose != "relief":
            rows.setdefault(round(h.x, 3), []).append(h)
    nearest: dict[tuple[object, ...], float] = {}
    for x, row in sorted(rows.items(), key=lambda place: abs(place[0] - length / 2.0)):
        nearest.setdefault((row[0].end, row[0].purpose, row[0].is_slot, *(h.diameter for h in row)), x)
    return {x: rows[x] for x in sorted(nearest.values())}
