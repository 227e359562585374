"""What is set into the strap and how its ends close: one step for every fitting, fold and companion.

Where an end is turned back, what lies between its layers goes in before the
fold is closed, and the posts next to the fold go in before those further out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from strapwork.piece.piece import Piece
from strapwork.piece.strap import EndName, Fitting, Footprint, Hole, Mark
from strapwork.say import hardware, places
from strapwork.say.needs import Step
from strapwork.say.places import listed
from strapwork.stock.patterns import End
from strapwork.units import say, say_thin

READY = ("braid", "even", "dry", "shape", "punch", "slot")
POSTS = ("rivet", "screw-post")
BARS = ("buckle", "ring", "hook")


def steps(piece: Piece, companions: Sequence[Piece]) -> Iterator[Step]:
    """The steps from the braided strap to the closed goods, in no order yet; needs are declared with each."""
    yield from _companions(companions)
    yield from _snaps(piece)
    ends: tuple[tuple[EndName, End], ...] = (("start", piece.pattern.start), ("finish", piece.pattern.finish))
    for name, end in ends:
        if end.meets == "turned":
            yield from _turned(piece, name, bool(companions))
        else:
            yield from _flat(piece, name, end)
    yield from _eyelets(piece)
    yield from _joined(piece)


def _prints(piece: Piece, what: str, end: str | None = None) -> tuple[Footprint, ...]:
    return tuple(p for p in piece.strap.footprints if p.what == what and end in (None, p.end))


def _companions(companions: Sequence[Piece]) -> Iterator[Step]:
    for k, c in enumerate(companions):
        name = c.label.rpartition(": ")[2]
        yield Step(
            f"keeper-made:{k}",
            f"Make the {name}",
            f"A strip {say(c.strap.width)} wide, as long as the table says, {say_thin(c.leather.worn[1])} thick. {joined(c)}",
            (c,),
            before=("keeper", "fold", "measure"),
        )


def joined(piece: Piece) -> str:
    """How butted or tied ends are joined, in a sentence."""
    join = piece.pattern.join
    if join is not None and join.by == "staple":
        return "Butt the ends and staple them twice, legs bent over on the inside."
    return "Butt the ends edge to edge and sew them flat: two stitches at each edge, knotted on the inside."


def _snaps(piece: Piece) -> Iterator[Step]:
    here, strap = places.of(piece), piece.strap
    snaps = tuple(f for f in strap.fittings if f.part == "snap" and f.size)
    if not snaps:
        return
    halves: dict[str, list[str]] = {}
    for f in snaps:
        spots = places.letters(here, [h.x for h in _holes(piece, f)])
        halves.setdefault(hardware.shows(f), []).append(f"{spots} ({f.end})" if spots else f"the {f.end}")
    meets = {piece.pattern.start.meets, piece.pattern.finish.meets}
    why = (
        "The ends wrap over each other, so the halves face opposite ways."
        if "overlap" in meets
        else "The ends meet face to face, so both halves are set the same way."
        if "face" in meets
        else ""
    )
    titles = list(dict.fromkeys(f.size.title for f in snaps if f.size))
    tool = snaps[0].setting or "setter and anvil"
    set_at = " ".join(f"At {listed(ends)} the {what}." for what, ends in halves.items())
    yield Step(
        "snap",
        "Set the snap",
        f"{listed(titles).capitalize()}, {tool}. {set_at} {why} "
        "Try it closed before you strike. It is set when it no longer turns by hand.",
        (*snaps, *_prints(piece, "snap cap")),
        after=READY,
        before=("close",),
    )


def _holes(piece: Piece, f: Fitting) -> list[Hole]:
    return [h for h in piece.strap.holes if h.end == f.end and h.purpose == f.part]


def _bars(piece: Piece, name: EndName) -> list[Fitting]:
    return [f for f in piece.strap.fittings if f.end == name and f.part in BARS and f.size]


def _turned(piece: Piece, name: EndName, companions: bool) -> Iterator[Step]:
    """A turned-back end: keeper, bar, fold, then the posts outwards from the fold."""
    strap, here = piece.strap, places.of(piece)
    fold = places.reference(piece, name)
    at = places.letter(here, fold)
    keepers = tuple(f for f in strap.fittings if f.end == name and f.part == "keeper")
    posts = _post_rows(piece, name, fold)
    if keepers:
        between = _between(posts, name, piece, fold)
        yield Step(
            f"keeper:{name}",
            "Slip the keeper on",
            f"Over the raw {name}, past {at}, its join on the flesh side{between}.",
            (*keepers, *_prints(piece, "keeper", name)),
            after=(*READY, "keeper-made"),
            before=(f"fold:{name}", f"rivet:{name}"),
        )
    bars = _bars(piece, name)
    for k, f in enumerate(bars):
        assert f.size is not None  # asked for above
        tongue = ", tongue through the slot" if f.part == "buckle" else ""
        yield Step(
            f"bar:{name}:{k}",
            f"Put the {f.part} on",
            f"The {f.size.title}, its bar at {at}{tongue}.",
            (f, *(_prints(piece, f"{f.part} bar", name) if k == 0 else ())),
            after=READY,
            before=(f"fold:{name}",),
        )
    folds = tuple(m for m in strap.marks if m.kind == "fold" and abs(m.line.x0 - fold) < places.NEAR)
    rest = tuple(f for f in strap.fittings if f.end == name and f.part == "hole" and not _is_row(piece, f))
    around = f"round the {bars[0].part}" if bars else "back on itself into a loop"
    yield Step(
        f"fold:{name}",
        f"Fold the {name}",
        f"At {at}, {around}, grain side out, the raw end inside; line the holes up.",
        (*folds,),
        after=(*READY, f"keeper:{name}", f"bar:{name}"),
        before=(f"rivet:{name}",),
    )
    for k, (far, fittings) in enumerate(posts, start=1):
        where = places.letters(here, [fold - far, fold + far])
        which = (
            "next to the fold"
            if k == 1 and len(posts) > 1
            else "behind the keeper"
            if _behind(far, piece, name, fold)
            else ""
        )
        yield Step(
            f"rivet:{name}:{k}",
            f"{'Rivet' if fittings[0].part == 'rivet' else 'Screw'} {where}{f', {which}' if which else ''}",
            f"{_counted(fittings)}, through {say_thin(fittings[0].stack)}, caps on the front.",
            (*fittings, *_caps_at(piece, name, fold, far)),
            after=(f"fold:{name}", f"keeper:{name}", *([f"rivet:{name}:{k - 1}"] if k > 1 else [])),
        )
    if rest:
        yield Step(
            f"rivet:{name}:lace",
            f"Sew the {name}",
            "Through the holes of both layers with waxed thread or a lace, twice, and knot it between the layers.",
            rest,
            after=(f"fold:{name}", f"keeper:{name}"),
        )
    yield from _unset(piece, name)


def _is_row(piece: Piece, f: Fitting) -> bool:
    """Whether a ``hole`` fitting is a row for adjusting, which needs punching only."""
    return any(h.end == f.end and h.purpose == "adjustment" for h in piece.strap.holes)


def _post_rows(piece: Piece, name: EndName, fold: float) -> list[tuple[float, list[Fitting]]]:
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


def keeper_span(piece: Piece, name: EndName, fold: float) -> tuple[float, float] | None:
    """How far from the fold the keeper lies, from and to, in mm; None without one."""
    prints = _prints(piece, "keeper", name)
    if not prints:
        return None
    x0, _, x1, _ = prints[0].shape.box()
    a, b = sorted((abs(x0 - fold), abs(x1 - fold)))
    return a, b


def _between(posts: list[tuple[float, list[Fitting]]], name: EndName, piece: Piece, fold: float) -> str:
    span = keeper_span(piece, name, fold)
    if span is None or not posts:
        return ""
    inner = [far for far, _ in posts if far < span[0]]
    outer = [far for far, _ in posts if far > span[1]]
    return ". It will lie between the layers, between the two pairs of posts" if inner and outer else ""


def _behind(far: float, piece: Piece, name: EndName, fold: float) -> bool:
    span = keeper_span(piece, name, fold)
    return span is not None and far > span[1]


def _counted(fittings: Sequence[Fitting]) -> str:
    many: dict[str, int] = {}
    for f in fittings:
        title = f.size.title if f.size else f.part
        many[title] = many.get(title, 0) + f.count
    return ", ".join(f"{n} × {title}" for title, n in many.items())


def _flat(piece: Piece, name: EndName, end: End) -> Iterator[Step]:
    """An end that is not turned back: posts on to the goods, and whatever else hangs there."""
    here = places.of(piece)
    posts = [f for f in piece.strap.fittings if f.end == name and f.part in POSTS and f.size]
    if posts:
        spots = places.letters(here, [h.x for h in piece.strap.holes if h.end == name and h.purpose in POSTS])
        goods = " and the goods" if end.meets == "fixed" else ""
        yield Step(
            f"fasten:{name}",
            f"Fasten the {name}",
            f"{_counted(posts)} at {spots}, with {posts[0].setting or 'its tool'}. "
            f"They go through {say_thin(posts[0].stack)} of leather{goods}; caps on the grain side.",
            (*posts, *(p for k in POSTS for p in _prints(piece, f"{k} cap", name))),
            after=READY,
        )
    yield from _unset(piece, name)
    for k, f in enumerate(_bars(piece, name)):
        assert f.size is not None  # asked for above
        yield Step(
            f"bar:{name}:{k}",
            f"Put the {f.part} on",
            f"The {f.size.title} at the {name}, its bar on the dashed lines.",
            (f, *(_prints(piece, f"{f.part} bar", name) if k == 0 else ())),
            after=READY,
            before=("close", "measure"),
        )
    keepers = tuple(f for f in piece.strap.fittings if f.end == name and f.part == "keeper")
    if keepers:
        yield Step(
            f"keeper:{name}",
            "Slip the keeper on",
            f"Over the {name}, to its dashed lines.",
            (*keepers, *_prints(piece, "keeper", name)),
            after=(*READY, "keeper-made"),
            before=("close", "fasten", "tie", "measure"),
        )


def _unset(piece: Piece, name: EndName) -> Iterator[Step]:
    """Nothing else may be left over: plain holes of an end that neither laces nor folds are only punched."""
    end = piece.pattern.start if name == "start" else piece.pattern.finish
    if end.meets in ("turned", "tied"):
        return
    rest = tuple(f for f in piece.strap.fittings if f.end == name and f.part == "hole" and not _is_row(piece, f))
    if rest:
        yield Step(
            f"tie:{name}",
            f"Fasten the {name}",
            f"Through the {end.reference}, as your goods ask for.",
            rest,
            after=READY,
            before=("measure",),
        )


def _eyelets(piece: Piece) -> Iterator[Step]:
    words = {"eyelet": ("eyelet", "Set the eyelet"), "magnetic-snap": ("magnet", "Set the magnetic snap")}
    for part, (key, title) in words.items():
        for name in ("start", "finish"):
            mine = tuple(f for f in piece.strap.fittings if f.part == part and f.end == name and f.size)
            if mine:
                yield Step(
                    f"{key}:{name}",
                    f"{title} at the {name}",
                    f"{_counted(mine)}, {mine[0].setting}, through {say_thin(mine[0].stack)}.",
                    (*mine, *_prints(piece, f"{part} cap", name)),
                    after=READY,
                    before=("close",),
                )


def _joined(piece: Piece) -> Iterator[Step]:
    """How the ends come together: over a ring, laced, or butted."""
    r, strap = piece.pattern, piece.strap
    if r.measure.lies == "folded":
        yield Step(
            "ring",
            f"Thread the {r.measure.over} on",
            f"To the middle of the braid, before the ends are closed; its wire is {say(r.measure.wire or 0.0)}.",
            ("over",),
            after=READY,
            before=("close",),
        )
        yield Step(
            "close",
            "Fold and close",
            f"Fold over the {r.measure.over}, flesh sides together, and close the ends on each other.",
            ("fold over",),
            after=("ring", "snap", "magnet"),
        )
    meets = {r.start.meets, r.finish.meets}
    if "tied" in meets:
        ends = [n for n, e in (("start", r.start), ("finish", r.finish)) if e.meets == "tied"]
        holes = tuple(f for f in strap.fittings if f.part == "hole" and f.end in ends and not _is_row(piece, f))
        long = f"A lace {say(r.join.lace)} long" if r.join and r.join.lace else "A lace"
        gap = r.start.gap + r.finish.gap
        until = f"the holes stand {say(gap)} apart" if gap else "the ends meet"
        yield Step(
            "tie",
            "Lace the ends",
            f"{long}, crossed through the {r.start.reference}s. Pull it up until {until}, and knot it on the flesh side.",
            holes,
            after=READY,
        )
    if "butted" in meets:
        yield Step("butt", "Join the ends", joined(piece), ("join",), after=("cut", "line", *READY))


def folds(piece: Piece) -> list[tuple[EndName, Mark]]:
    """The folds of turned-back ends, for the side views."""
    out: list[tuple[EndName, Mark]] = []
    for m in piece.strap.marks:
        if m.kind == "fold":
            out.append(("start" if m.line.x0 < piece.strap.length / 2.0 else "finish", m))
    return out
