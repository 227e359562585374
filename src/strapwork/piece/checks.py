"""Findings: what a good foreman would say on seeing the piece.

Every finding has a level (``stop``: it cannot be made like this; ``caution``;
``note``), a code, a sentence with what to do, and a source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from shapely import union_all

from strapwork.braid import geometry
from strapwork.braid.plan import Plan
from strapwork.geometry.shape import Circle, line_string
from strapwork.piece.fit import Fit
from strapwork.piece.strap import Strap
from strapwork.stock.hardware import BY_STACK
from strapwork.stock.leather import Leather
from strapwork.stock.patterns import Pattern
from strapwork.units import format_mm

Level = Literal["stop", "caution", "note"]
TRADE = "common practice, no source"
GEOMETRY = "geometry of this piece"

# 4 oz leather in a 1/4 in strand: the thin end of "under 4-5 oz strands curl".
CURL_RATIO = (4 / 64) / (1 / 4)
STIFF_RATIO = 0.6
WET_FROM = 8 * 25.4 / 64
LEAST_EDGE = 2.0
CAP_CLEARANCE = 0.5
HOLE_CLEARANCE = 2.0
TURNED_REST = 8.0
LONG_SIDE = 2200.0
EVEN_ANGLE = 4.0


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to know before cutting: what is so, and what to do about it."""

    level: Level
    code: str
    problem: str
    remedy: str
    source: str

    @property
    def message(self) -> str:
        """Problem and remedy in one sentence, without its capital and full stop."""
        return f"{self.problem}; {self.remedy}" if self.remedy else self.problem

    @property
    def is_safety(self) -> bool:
        """Whether it is a caution about hands, eyes, air or loads, said once for a whole job."""
        return self.code.startswith("safety-")


def of_piece(
    pattern: Pattern, leather: Leather, fit: Fit, strap: Strap, strands: int, plan: Plan | None
) -> list[Finding]:
    """All findings of one piece, the worst first."""
    found = [
        *_outline(strap),
        *_slits(strap, fit),
        *_hardware(pattern, strap),
        *_ends(pattern, strap),
        *_leather(leather, strap, strands, fit),
        *_sets(leather, strap, strands, fit, plan),
        *_snap_size(strap),
        *safety(pattern, leather, strap),
    ]
    order = {"stop": 0, "caution": 1, "note": 2}
    return sorted(dict.fromkeys(found), key=lambda f: (f.is_safety, order[f.level]))


def _outline(strap: Strap) -> Iterator[Finding]:
    polygon = strap.outline.polygon(0.005)
    if not polygon.is_valid or not polygon.is_simple or strap.outline.gap() > 1e-6:
        yield Finding(
            "stop", "outline", "the outline crosses itself", "lengthen the strap or shorten its tips", GEOMETRY
        )
    edge = polygon.exterior
    shapes = []
    for h in strap.holes:
        shape = h.shape().polygon(0.005)
        rest = shape.distance(edge) if polygon.contains(shape) else -1.0
        where = f"the {h.purpose} hole {format_mm(h.x)} from the start"
        if rest < 0:
            yield Finding(
                "stop",
                "hole-outside",
                f"{where} runs off the leather",
                "move it inwards or use a wider strap",
                GEOMETRY,
            )
        elif rest < LEAST_EDGE - 1e-9:
            yield Finding(
                "caution",
                "hole-near-edge",
                f"{where} leaves only {format_mm(rest)} of leather to the edge",
                f"keep {format_mm(LEAST_EDGE)} or more",
                TRADE,
            )
        shapes.append((h, shape))
    for i, (a, pa) in enumerate(shapes):
        for b, pb in shapes[i + 1 :]:
            if b.x - a.x > 60.0 + a.length + b.length:
                break
            if pa.distance(pb) < 0.5:
                yield Finding(
                    "stop",
                    "holes-touch",
                    f"the {a.purpose} hole at {format_mm(a.x)} and the {b.purpose} hole at {format_mm(b.x)} run into each other",
                    "move one of them",
                    GEOMETRY,
                )


def _slits(strap: Strap, fit: Fit) -> Iterator[Finding]:
    if not strap.slits:
        return
    if fit.slit_end > strap.length or fit.slit_start < 0:
        yield Finding(
            "stop", "slit-outside", "the slits run off the strap", "give the plain ends more length", GEOMETRY
        )
    # The slits as one shape: whichever of them is too near, the remedy is the same.
    slits = union_all([line_string(line) for line in strap.slits])
    for p in strap.footprints:
        if p.shape.polygon(0.02).distance(slits) < CAP_CLEARANCE:
            yield Finding(
                "stop",
                "slit-under-hardware",
                f"a slit would run under the {p.what} at the {p.end}",
                f"end the slits at least "
                f"{format_mm(CAP_CLEARANCE)} before it (to_slit in the pattern) or choose smaller hardware",
                GEOMETRY,
            )
    for h in strap.holes:
        if h.purpose != "relief" and h.shape().polygon(0.02).distance(slits) < HOLE_CLEARANCE:
            yield Finding(
                "caution",
                "slit-near-hole",
                f"a slit ends within {format_mm(HOLE_CLEARANCE)} of the {h.purpose} hole at the {h.end}",
                "leave more plain leather",
                TRADE,
            )


def _hardware(pattern: Pattern, strap: Strap) -> Iterator[Finding]:
    polygon = strap.outline.polygon(0.02).buffer(1e-6)
    for p in strap.footprints:
        if not isinstance(p.shape, Circle):
            continue
        if 2.0 * p.shape.r > strap.width + 1e-9:
            yield Finding(
                "stop",
                "hardware-too-big",
                f"the {p.what} at the {p.end} is {format_mm(2 * p.shape.r)} across, wider than the strap ({format_mm(strap.width)})",
                "use smaller hardware or a wider strap",
                GEOMETRY,
            )
        elif not polygon.contains(p.shape.polygon(0.02)):
            yield Finding(
                "caution",
                "hardware-overhangs",
                f"the {p.what} at the {p.end} stands out over the edge",
                "move it or use a smaller one",
                GEOMETRY,
            )
    for f in strap.fittings:
        if f.size and f.size.inside and f.size.inside > strap.width + 4.0:
            yield Finding(
                "caution",
                "hardware-too-wide",
                f"the narrowest {f.part} is {format_mm(f.size.inside)} inside, the strap only {format_mm(strap.width)} wide: it will slide about",
                f"make the strap {format_mm(f.size.inside - 0.5)} wide",
                TRADE,
            )


def _ends(pattern: Pattern, strap: Strap) -> Iterator[Finding]:
    for name, end in (("start", pattern.start), ("finish", pattern.finish)):
        if end.meets != "turned":
            continue
        furthest = max((f.at for f in end.fixtures if f.doubled), default=0.0)
        if end.to_tip < furthest + TURNED_REST:
            yield Finding(
                "caution",
                "turned-end-short",
                f"the turned-back {name} reaches only {format_mm(end.to_tip - furthest)} past its last rivet",
                f"leave {format_mm(TURNED_REST)} or more",
                TRADE,
            )
        if strap.slits and end.to_tip > end.to_slit:
            yield Finding(
                "caution",
                "turned-end-over-braid",
                f"the turned-back {name} lies {format_mm(end.to_tip - end.to_slit)} over the braid",
                "shorten it or start the slits later",
                GEOMETRY,
            )


def _leather(leather: Leather, strap: Strap, strands: int, fit: Fit) -> Iterator[Finding]:
    t, strand = leather.worn[1], strap.width / max(1, strands)
    if strap.slits and t < CURL_RATIO * strand - 1e-9:
        yield Finding(
            "caution",
            "strand-curls",
            f"strands {format_mm(strand)} wide are thin at {format_mm(t)} and will curl",
            f"line or back the leather to "
            f"{format_mm(CURL_RATIO * strand)} or cut strands of {format_mm(t / CURL_RATIO)} or narrower",
            TRADE,
        )
    if strap.slits and t > STIFF_RATIO * strand:
        yield Finding(
            "caution",
            "leather-stiff",
            f"leather of {format_mm(t)} is stiff for strands {format_mm(strand)} wide",
            "use a wider strap, fewer strands or thinner leather",
            TRADE,
        )
    if strap.slits and t >= WET_FROM - 1e-9:
        yield Finding(
            "note",
            "wet-first",
            f"at {format_mm(t)} the leather braids easier damp",
            "wet it through, let the surface dry, and mind the corners of the slits",
            TRADE,
        )
    if strap.length > LONG_SIDE:
        yield Finding(
            "caution",
            "longer-than-a-side",
            f"a strap of {format_mm(strap.length)} is longer than a usual side of leather (about {format_mm(LONG_SIDE)})",
            "check the hide before you plan on it",
            TRADE,
        )


def _sets(leather: Leather, strap: Strap, strands: int, fit: Fit, plan: Plan | None) -> Iterator[Finding]:
    form = fit.braid
    if form is None or plan is None:
        return
    easy, tight = geometry.COMFORTABLE[leather.temper], geometry.TIGHT[leather.temper]
    if form.angle_deg > tight:
        yield Finding(
            "caution",
            "sets-very-tight",
            f"{form.sets} sets stand at {form.angle_deg:.0f} degrees, more than {leather.temper} leather takes",
            "braid fewer sets or use softer leather",
            TRADE,
        )
    elif form.angle_deg > easy:
        yield Finding(
            "caution",
            "sets-tight",
            f"{form.sets} sets stand at {form.angle_deg:.0f} degrees and want supple leather",
            "one set fewer is easier",
            TRADE,
        )
    elif form.angle_deg < EVEN_ANGLE:
        yield Finding(
            "note",
            "sets-few",
            f"{form.sets} set{'s' if form.sets > 1 else ''} on {format_mm(form.slit)} of slit will look long and loose",
            "add a set",
            TRADE,
        )


def _snap_size(strap: Strap) -> Iterator[Finding]:
    for f in strap.fittings:
        if f.part == "snap" and f.size and f.outgrown:
            yield Finding(
                "note",
                "snap-by-stack",
                f"a {f.size.title} goes in at the {f.end}: its post has to pass {format_mm(f.stack)}, more than a "
                f"{f.outgrown.title} holds",
                "",
                TRADE,
            )


def safety(pattern: Pattern, leather: Leather, strap: Strap) -> Iterator[Finding]:
    """The cautions this piece needs, and no others; usual bench practice."""

    def caution(code: str, message: str) -> Finding:
        return Finding("caution", f"safety-{code}", message, "", TRADE)

    yield caution(
        "blade",
        "a fresh blade for every project, several light passes, cut away from the hand that holds; shore the straight edge up with "
        "a scrap of the same thickness and a non-slip back so that it cannot rock",
    )
    if strap.holes:
        yield caution(
            "mallet",
            "wear eye protection when you strike a punch or a setter; hold it upright, a board under it, fingers clear",
        )
    if leather.backing:
        yield caution(
            "glue",
            "glue the backing where fresh air moves, and keep flames and children away; the same goes for dye and finish",
        )
    if any(f.size and f.part in BY_STACK for f in strap.fittings):
        yield caution("small-parts", "snaps and posts can come off; keep the finished piece from children under three")
    if "load" in pattern.hazards:
        yield caution(
            "load",
            "nothing here certifies what the piece carries: do not hang or lift people on it or restrain animals or vehicles with it; "
            "local rules and licensed practice come first",
        )
    if "animal" in pattern.hazards:
        yield caution(
            "animal", "look over hook, posts and leather before every walk, and never leave an animal tied up alone"
        )
    if "neck" in pattern.hazards:
        yield caution(
            "neck",
            "what goes round a neck needs a clasp that breaks away, and is not for sleep, for play or for small children",
        )
