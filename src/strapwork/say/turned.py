"""A turned-back end: keeper, bar, fold and posts, a step each.

What lies between the layers goes in before the fold is closed, and the posts
next to the fold go in before those further out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from strapwork.catalogue import tr
from strapwork.piece.piece import Piece
from strapwork.piece.strap import EndName, Fitting, Footprint, Mark
from strapwork.say import places
from strapwork.say.needs import Step
from strapwork.units import say_thin

READY = ("braid", "even", "dry", "shape", "punch", "slot")
POSTS = ("rivet", "screw-post")
BARS = ("buckle", "ring", "hook")


def steps(piece: Piece, name: EndName) -> Iterator[Step]:
    """A turned-back end: keeper, bar, fold, then the posts outwards from the fold."""
    strap, here = piece.strap, places.of(piece)
    fold = places.reference(piece, name)
    at = places.letter(here, fold)
    keepers = tuple(f for f in strap.fittings if f.end == name and f.part == "keeper")
    posts = post_rows(piece, name)
    if keepers:
        between = _between(posts, name, piece, fold)
        yield Step(
            f"keeper:{name}",
            tr("Slip the keeper on"),
            tr(
                "Over the raw {name}, past {at}, its join on the flesh side{between}.",
                name=tr(name),
                at=at,
                between=between,
            ),
            (*keepers, *prints(piece, "keeper", name)),
            after=(*READY, "keeper-made"),
            before=(f"fold:{name}", f"rivet:{name}"),
        )
    bars = bars_of(piece, name)
    for k, f in enumerate(bars):
        assert f.size is not None  # asked for above
        tongue = tr(", tongue through the slot") if f.part == "buckle" else ""
        yield Step(
            f"bar:{name}:{k}",
            tr("Put the {part} on", part=tr(f.part)),
            tr("The {title}, its bar at {at}{tongue}.", title=f.size.title, at=at, tongue=tongue),
            (f, *(prints(piece, f"{f.part} bar", name) if k == 0 else ())),
            after=READY,
            before=(f"fold:{name}",),
        )
    folds = tuple(m for m in strap.marks if m.kind == "fold" and abs(m.line.x0 - fold) < places.NEAR)
    rest = tuple(f for f in strap.fittings if f.end == name and f.part == "hole" and not is_row(piece, f))
    around = tr("round the {part}", part=tr(bars[0].part)) if bars else tr("back on itself into a loop")
    yield Step(
        f"fold:{name}",
        tr("Fold the {name}", name=tr(name)),
        tr("At {at}, {around}, grain side out, the raw end inside; line the holes up.", at=at, around=around),
        (*folds,),
        after=(*READY, f"keeper:{name}", f"bar:{name}"),
        before=(f"rivet:{name}",),
    )
    for k, (far, fittings) in enumerate(posts, start=1):
        where = places.letters(here, [fold - far, fold + far])
        which = (
            tr("next to the fold")
            if k == 1 and len(posts) > 1
            else tr("behind the keeper")
            if _behind(far, piece, name, fold)
            else ""
        )
        yield Step(
            f"rivet:{name}:{k}",
            (tr("Rivet {where}", where=where) if fittings[0].part == "rivet" else tr("Screw {where}", where=where))
            + (f", {which}" if which else ""),
            tr(
                "{fittings}, through {stack}, caps on the front.",
                fittings=counted(fittings),
                stack=say_thin(fittings[0].stack),
            ),
            (*fittings, *_caps_at(piece, name, fold, far)),
            after=(f"fold:{name}", f"keeper:{name}", *([f"rivet:{name}:{k - 1}"] if k > 1 else [])),
        )
    if rest:
        yield Step(
            f"rivet:{name}:lace",
            tr("Sew the {name}", name=tr(name)),
            tr("Through the holes of both layers with waxed thread or a lace, twice, and knot it between the layers."),
            rest,
            after=(f"fold:{name}", f"keeper:{name}"),
        )


def folds(piece: Piece) -> list[tuple[EndName, Mark]]:
    """The folds of turned-back ends, for the side views."""
    out: list[tuple[EndName, Mark]] = []
    for m in piece.strap.marks:
        if m.kind == "fold":
            out.append(("start" if m.line.x0 < piece.strap.length / 2.0 else "finish", m))
    return out


def keeper_span(piece: Piece, name: EndName, fold: float) -> tuple[float, float] | None:
    """How far from the fold the keeper lies, from and to, in mm; None without one."""
    lying = prints(piece, "keeper", name)
    if not lying:
        return None
    x0, _, x1, _ = lying[0].shape.box()
    a, b = sorted((abs(x0 - fold), abs(x1 - fold)))
    return a, b


def _between(posts: list[tuple[float, list[Fitting]]], name: EndName, piece: Piece, fold: float) -> str:
    span = keeper_span(piece, name, fold)
    if span is None or not posts:
        return ""
    inner = [far for far, _ in posts if far < span[0]]
    outer = [far for far, _ in posts if far > span[1]]
    return tr(". It will lie between the layers, between the two pairs of posts") if inner and outer else ""


def _behind(far: float, piece: Piece, name: EndName, fold: float) -> bool:
    span = keeper_span(piece, name, fold)
    return span is not None and far > span[1]


def post_rows(piece: Piece, name: EndName) -> list[tuple[float, list[Fitting]]]:
    """Posts of a turned-back end by their distance from the fold, nearest first."""
    end = piece.pattern.start if name == "start" else piece.pattern.finish
    rows: dict[float, list[Fitting]] = {}
    fixtures = [f for f in end.fixtures if f.part in POSTS]
    fittings = [f for f in piece.strap.fittings if f.end == name and f.part in POSTS]
    for fixture, fitting in zip(fixtures, fittings, strict=True):
        rows.setdefault(round(abs(fixture.at), 3), []).append(fitting)
    return sorted(rows.items())


def _caps_at(piece: Piece, name: EndName, fold: float, far: float) -> tuple[Footprint, ...]:
    """The cap footprints of posts centred ``far`` mm from the fold; rows along the strap go with their middle."""
    end = piece.pattern.start if name == "start" else piece.pattern.finish
    spans = [
        (f.count - 1) / 2.0 * (f.spacing or 0.0)
        for f in end.fixtures
        if f.part in POSTS and abs(abs(f.at) - far) < 0.01
    ]
    reach = max(spans, default=0.0) + 0.01
    taken = {round(abs(f.at), 3) for f in end.fixtures if f.part in POSTS}
    out = []
    for p in piece.strap.footprints:
        if p.end != name or p.what not in [f"{k} cap" for k in POSTS]:
            continue
        x0, _, x1, _ = p.shape.box()
        off = abs(abs((x0 + x1) / 2.0 - fold))
        nearest = min(taken, key=lambda a: abs(off - a))
        if abs(off - far) <= reach and abs(nearest - far) < 0.01:
            out.append(p)
    return tuple(out)


def prints(piece: Piece, what: str, end: str | None = None) -> tuple[Footprint, ...]:
    return tuple(p for p in piece.strap.footprints if p.what == what and end in (None, p.end))


def bars_of(piece: Piece, name: EndName) -> list[Fitting]:
    return [f for f in piece.strap.fittings if f.end == name and f.part in BARS and f.size]


def is_row(piece: Piece, f: Fitting) -> bool:
    """Whether a ``hole`` fitting is a row for adjusting, which needs punching only."""
    return any(h.end == f.end and h.purpose == "adjustment" for h in piece.strap.holes)


def counted(fittings: Sequence[Fitting]) -> str:
    many: dict[str, int] = {}
    for f in fittings:
        title = f.size.title if f.size else f.part
        many[title] = many.get(title, 0) + f.count
    return ", ".join(f"{n} × {title}" for title, n in many.items())
