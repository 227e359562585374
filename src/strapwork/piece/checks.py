"""Findings: what a good foreman would say on seeing the piece.

Every finding has a level (``stop``: it cannot be made like this; ``caution``;
``note``), a code, a sentence with what to do, and a source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from strapwork.braid import geometry
from strapwork.braid.plan import Plan
from strapwork.geometry.shape import Circle
from strapwork.piece import clearances, safety
from strapwork.piece.findings import GEOMETRY, TRADE, Finding
from strapwork.piece.fit import Fit
from strapwork.piece.strap import Strap
from strapwork.stock.leather import Leather
from strapwork.stock.patterns import Pattern
from strapwork.units import say, say_at_most, say_thin, say_thin_at_least

# 4 oz leather in a 1/4 in strand: the thin end of "under 4-5 oz strands curl".
CURL_RATIO = (4 / 64) / (1 / 4)
STIFF_RATIO = 0.6
WET_FROM = 8 * 25.4 / 64
TURNED_REST = 8.0
MUCH_EASE, WILD_EASE = 0.15, 0.4
LONG_SIDE = 2200.0
EVEN_ANGLE = 4.0


def of_piece(
    pattern: Pattern, leather: Leather, fit: Fit, strap: Strap, strands: int, plan: Plan | None
) -> tuple[Finding, ...]:
    """All findings of one piece, the worst first."""
    found = [
        *clearances.outline(strap),
        *clearances.slits(strap, fit),
        *clearances.under_hardware(strap),
        *_ease(pattern, fit),
        *_hardware(pattern, strap),
        *_ends(pattern, strap),
        *_leather(leather, strap, strands, fit),
        *_sets(leather, strap, strands, fit, plan),
        *_swatches(leather, fit),
        *_snap_size(strap),
        *safety.of_piece(pattern, leather, strap),
    ]
    return sorted_findings(found)


def sorted_findings(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Each finding once, the worst first and the cautions of all work last."""
    order = {"stop": 0, "caution": 1, "note": 2}
    return tuple(sorted(dict.fromkeys(found), key=lambda f: (f.is_safety, order[f.level])))


def _hardware(pattern: Pattern, strap: Strap) -> Iterator[Finding]:
    polygon = strap.outline.polygon(0.02).buffer(1e-6)
    for p in strap.footprints:
        if not isinstance(p.shape, Circle):
            continue
        if 2.0 * p.shape.r > strap.width + 1e-9:
            yield Finding(
                "stop",
                "hardware-too-big",
                f"the {p.what} at the {p.end} is {say(2 * p.shape.r)} across, wider than the strap ({say(strap.width)})",
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
                f"the narrowest {f.part} is {say(f.size.inside)} inside, the strap only {say(strap.width)} wide: it will slide about",
                f"make the strap {say(f.size.inside - 0.5)} wide",
                TRADE,
            )


def _ease(pattern: Pattern, fit: Fit) -> Iterator[Finding]:
    """Ease that no longer fits what was measured: a slip of a decimal or a unit more often than a wish."""
    m = pattern.measure
    if m.lies != "round" or not fit.ease:
        return
    base = next(r.mm for r in fit.rows)
    share = abs(fit.ease) / base
    usual = say(m.ease)
    if share > WILD_EASE:
        yield Finding(
            "stop",
            "ease-wild",
            f"an ease of {say(fit.ease)} on a {m.what} of {say(base)} is no fit",
            f"the usual ease is {usual}; check the number and its unit",
            GEOMETRY,
        )
    elif share > MUCH_EASE:
        yield Finding(
            "caution",
            "ease-much",
            f"an ease of {say(fit.ease)} on a {m.what} of {say(base)} is {100 * share:.0f} % of it",
            f"check the number and its unit; the usual ease is {usual}",
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
                f"the turned-back {name} reaches only {say(end.to_tip - furthest)} past its last rivet",
                f"leave {say(TURNED_REST)} or more",
                TRADE,
            )
        if strap.slits and end.to_tip > end.to_slit:
            yield Finding(
                "caution",
                "turned-end-over-braid",
                f"the turned-back {name} lies {say(end.to_tip - end.to_slit)} over the braid",
                "shorten it or start the slits later",
                GEOMETRY,
            )


def _leather(leather: Leather, strap: Strap, strands: int, fit: Fit) -> Iterator[Finding]:
    t, strand = leather.worn[1], strap.width / max(1, strands)
    if strap.slits and t < CURL_RATIO * strand - 1e-9:
        yield Finding(
            "caution",
            "strand-curls",
            f"strands {say(strand)} wide are thin at {say_thin(t)} and will curl",
            f"line or back the leather to {say_thin_at_least(CURL_RATIO * strand)} or cut strands of "
            f"{say_at_most(t / CURL_RATIO)} or narrower",
            TRADE,
        )
    if strap.slits and t > STIFF_RATIO * strand:
        yield Finding(
            "caution",
            "leather-stiff",
            f"leather of {say_thin(t)} is stiff for strands {say(strand)} wide",
            "use a wider strap, fewer strands or thinner leather",
            TRADE,
        )
    if strap.slits and t >= WET_FROM - 1e-9:
        yield Finding(
            "note",
            "wet-first",
            f"at {say_thin(t)} the leather braids easier damp",
            "wet it through, let the surface dry, and mind the corners of the slits",
            TRADE,
        )
    if strap.length > LONG_SIDE:
        yield Finding(
            "caution",
            "longer-than-a-side",
            f"a strap of {say(strap.length)} is longer than a usual side of leather (about {say(LONG_SIDE)})",
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
            f"{_stand(form.sets)} at {form.angle_deg:.0f} degrees, more than {leather.temper} leather takes",
            "braid fewer sets or use softer leather" if form.sets > 1 else "use softer leather or narrower strands",
            TRADE,
        )
    elif form.angle_deg > easy:
        yield Finding(
            "caution",
            "sets-tight",
            f"{_stand(form.sets)} at {form.angle_deg:.0f} degrees and want{'' if form.sets > 1 else 's'} supple leather",
            "one set fewer is easier" if form.sets > 1 else "narrower strands are easier",
            TRADE,
        )
    elif form.angle_deg < EVEN_ANGLE:
        yield Finding(
            "note",
            "sets-few",
            f"{form.sets} set{'s' if form.sets > 1 else ''} on {say(form.slit)} of slit will look long and loose",
            "add a set",
            TRADE,
        )


def _swatches(leather: Leather, fit: Fit) -> Iterator[Finding]:
    if leather.stale and fit.braid is not None:
        one = leather.stale == 1
        yield Finding(
            "caution",
            "swatches-earlier",
            f"{leather.stale} strap{' was' if one else 's were'} measured of this leather against an earlier model of the "
            f"braid and {'is' if one else 'are'} left out of the take-up",
            "read the swatches again with 'strapwork swatch' and finished pieces with 'strapwork made'",
            GEOMETRY,
        )


def _stand(sets: int) -> str:
    return f"{sets} sets stand" if sets > 1 else "1 set stands"


def _snap_size(strap: Strap) -> Iterator[Finding]:
    for f in strap.fittings:
        if f.part == "snap" and f.size and f.outgrown:
            yield Finding(
                "note",
                "snap-by-stack",
                f"a {f.size.title} goes in at the {f.end}: its post has to pass {say_thin(f.stack)}, more than a "
                f"{f.outgrown.title} holds",
                "",
                TRADE,
            )
