"""Findings: what a good foreman would say on seeing the piece.

Every finding has a level (``stop``: it cannot be made like this; ``caution``;
``note``), a code, a sentence with what to do, and a source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from strapwork.braid import geometry
from strapwork.braid.plan import Plan
from strapwork.catalogue import tr, trn
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
                tr(
                    "the {what} at the {end} is {r} across, wider than the strap ({width})",
                    what=tr(p.what),
                    end=tr(p.end),
                    r=say(2 * p.shape.r),
                    width=say(strap.width),
                ),
                tr("use smaller hardware or a wider strap"),
                GEOMETRY,
            )
        elif not polygon.contains(p.shape.polygon(0.02)):
            yield Finding(
                "caution",
                "hardware-overhangs",
                tr("the {what} at the {end} stands out over the edge", what=tr(p.what), end=tr(p.end)),
                tr("move it or use a smaller one"),
                GEOMETRY,
            )
    for f in strap.fittings:
        if f.size and f.size.inside and f.size.inside > strap.width + 4.0:
            yield Finding(
                "caution",
                "hardware-too-wide",
                tr(
                    "the narrowest {part} is {inside} inside, the strap only {width} wide: it will slide about",
                    part=tr(f.part),
                    inside=say(f.size.inside),
                    width=say(strap.width),
                ),
                tr("make the strap {inside} wide", inside=say(f.size.inside - 0.5)),
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
            tr("an ease of {ease} on a {what} of {base} is no fit", ease=say(fit.ease), what=m.called, base=say(base)),
            tr("the usual ease is {usual}; check the number and its unit", usual=usual),
            GEOMETRY,
        )
    elif share > MUCH_EASE:
        yield Finding(
            "caution",
            "ease-much",
            tr(
                "an ease of {ease} on a {what} of {base} is {share:.0f} % of it",
                ease=say(fit.ease),
                what=m.called,
                base=say(base),
                share=100 * share,
            ),
            tr("check the number and its unit; the usual ease is {usual}", usual=usual),
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
                tr(
                    "the turned-back {name} reaches only {to_tip} past its last rivet",
                    name=tr(name),
                    to_tip=say(end.to_tip - furthest),
                ),
                tr("leave {turned_rest} or more", turned_rest=say(TURNED_REST)),
                TRADE,
            )
        if strap.slits and end.to_tip > end.to_slit:
            yield Finding(
                "caution",
                "turned-end-over-braid",
                tr(
                    "the turned-back {name} lies {to_tip} over the braid",
                    name=tr(name),
                    to_tip=say(end.to_tip - end.to_slit),
                ),
                tr("shorten it or start the slits later"),
                GEOMETRY,
            )


def _leather(leather: Leather, strap: Strap, strands: int, fit: Fit) -> Iterator[Finding]:
    t, strand = leather.worn[1], strap.width / max(1, strands)
    if strap.slits and t < CURL_RATIO * strand - 1e-9:
        yield Finding(
            "caution",
            "strand-curls",
            tr("strands {strand} wide are thin at {t} and will curl", strand=say(strand), t=say_thin(t)),
            tr(
                "line or back the leather to {curl_ratio} or cut strands of {t} or narrower",
                curl_ratio=say_thin_at_least(CURL_RATIO * strand),
                t=say_at_most(t / CURL_RATIO),
            ),
            TRADE,
        )
    if strap.slits and t > STIFF_RATIO * strand:
        yield Finding(
            "caution",
            "leather-stiff",
            tr("leather of {t} is stiff for strands {strand} wide", t=say_thin(t), strand=say(strand)),
            tr("use a wider strap, fewer strands or thinner leather"),
            TRADE,
        )
    if strap.slits and t >= WET_FROM - 1e-9:
        yield Finding(
            "note",
            "wet-first",
            tr("at {t} the leather braids easier damp", t=say_thin(t)),
            tr("wet it through, let the surface dry, and mind the corners of the slits"),
            TRADE,
        )
    if strap.length > LONG_SIDE:
        yield Finding(
            "caution",
            "longer-than-a-side",
            tr(
                "a strap of {length} is longer than a usual side of leather (about {long_side})",
                length=say(strap.length),
                long_side=say(LONG_SIDE),
            ),
            tr("check the hide before you plan on it"),
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
            tr(
                "{stand} at {angle_deg:.0f} degrees, more than {temper} leather takes",
                stand=_stand(form.sets),
                angle_deg=form.angle_deg,
                temper=tr(leather.temper),
            ),
            tr("braid fewer sets or use softer leather")
            if form.sets > 1
            else tr("use softer leather or narrower strands"),
            TRADE,
        )
    elif form.angle_deg > easy:
        yield Finding(
            "caution",
            "sets-tight",
            trn(
                "{stand} at {angle_deg:.0f} degrees and wants supple leather",
                "{stand} at {angle_deg:.0f} degrees and want supple leather",
                form.sets,
                stand=_stand(form.sets),
                angle_deg=form.angle_deg,
            ),
            tr("one set fewer is easier") if form.sets > 1 else tr("narrower strands are easier"),
            TRADE,
        )
    elif form.angle_deg < EVEN_ANGLE:
        yield Finding(
            "note",
            "sets-few",
            trn(
                "{sets} set on {slit} of slit will look long and loose",
                "{sets} sets on {slit} of slit will look long and loose",
                form.sets,
                sets=form.sets,
                slit=say(form.slit),
            ),
            tr("add a set"),
            TRADE,
        )


def _swatches(leather: Leather, fit: Fit) -> Iterator[Finding]:
    if leather.stale and fit.braid is not None:
        yield Finding(
            "caution",
            "swatches-earlier",
            trn(
                "{stale} strap was measured of this leather against an earlier model of the "
                "braid and is left out of the take-up",
                "{stale} straps were measured of this leather against an earlier model of the "
                "braid and are left out of the take-up",
                leather.stale,
                stale=leather.stale,
            ),
            tr("read the swatches again with 'strapwork swatch' and finished pieces with 'strapwork made'"),
            GEOMETRY,
        )


def _stand(sets: int) -> str:
    return tr("{sets} sets stand", sets=sets) if sets > 1 else tr("1 set stands")


def _snap_size(strap: Strap) -> Iterator[Finding]:
    for f in strap.fittings:
        if f.part == "snap" and f.size and f.outgrown:
            yield Finding(
                "note",
                "snap-by-stack",
                tr(
                    "a {title} goes in at the {end}: its post has to pass {stack}, more than a {title2} holds",
                    title=f.size.title,
                    end=tr(f.end),
                    stack=say_thin(f.stack),
                    title2=f.outgrown.title,
                ),
                "",
                TRADE,
            )
