"""What is set into the strap and how its ends close: one step for every fitting and companion.

Turned-back ends have a module of their own (:mod:`strapwork.say.turned`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from strapwork.catalogue import tr
from strapwork.piece.piece import Piece
from strapwork.piece.strap import EndName, Fitting, Hole
from strapwork.say import hardware, places, turned
from strapwork.say.needs import Step
from strapwork.say.places import listed
from strapwork.stock.patterns import End
from strapwork.units import say, say_thin


def steps(piece: Piece, companions: Sequence[Piece]) -> Iterator[Step]:
    """The steps from the braided strap to the closed goods, in no order yet; needs are declared with each."""
    yield from _companions(companions)
    yield from _snaps(piece)
    ends: tuple[tuple[EndName, End], ...] = (("start", piece.pattern.start), ("finish", piece.pattern.finish))
    for name, end in ends:
        if end.meets == "turned":
            yield from turned.steps(piece, name)
        else:
            yield from _flat(piece, name, end)
    yield from _eyelets(piece)
    yield from _joined(piece)


def _companions(companions: Sequence[Piece]) -> Iterator[Step]:
    for k, c in enumerate(companions):
        name = c.label.rpartition(": ")[2]
        yield Step(
            f"keeper-made:{k}",
            tr("Make the {name}", name=tr(name)),
            tr(
                "A strip {width} wide, as long as the table says, {worn} thick. {joined}",
                width=say(c.strap.width),
                worn=say_thin(c.leather.worn[1]),
                joined=joined(c),
            ),
            (c,),
            before=("keeper", "fold", "measure"),
        )


def joined(piece: Piece) -> str:
    """How butted or tied ends are joined, in a sentence."""
    join = piece.pattern.join
    if join is not None and join.by == "staple":
        return tr("Butt the ends and staple them twice, legs bent over on the inside.")
    return tr("Butt the ends edge to edge and sew them flat: two stitches at each edge, knotted on the inside.")


def _snaps(piece: Piece) -> Iterator[Step]:
    here, strap = places.of(piece), piece.strap
    snaps = tuple(f for f in strap.fittings if f.part == "snap" and f.size)
    if not snaps:
        return
    halves: dict[str, list[str]] = {}
    for f in snaps:
        spots = places.letters(here, [h.x for h in _holes(piece, f)])
        halves.setdefault(hardware.shows(f), []).append(
            f"{spots} ({tr(f.end)})" if spots else tr("the {end}", end=tr(f.end))
        )
    meets = {piece.pattern.start.meets, piece.pattern.finish.meets}
    why = (
        tr("The ends wrap over each other, so the halves face opposite ways.")
        if "overlap" in meets
        else tr("The ends meet face to face, so both halves are set the same way.")
        if "face" in meets
        else ""
    )
    titles = list(dict.fromkeys(f.size.title for f in snaps if f.size))
    tool = snaps[0].setting or tr("setter and anvil")
    set_at = " ".join(tr("At {ends} the {what}.", ends=listed(ends), what=what) for what, ends in halves.items())
    yield Step(
        "snap",
        tr("Set the snap"),
        tr(
            "{titles}, {tool}. {set_at} {why} "
            "Try it closed before you strike. It is set when it no longer turns by hand.",
            titles=listed(titles).capitalize(),
            tool=tool,
            set_at=set_at,
            why=why,
        ),
        (*snaps, *turned.prints(piece, "snap cap")),
        after=turned.READY,
        before=("close",),
    )


def _holes(piece: Piece, f: Fitting) -> list[Hole]:
    return [h for h in piece.strap.holes if h.end == f.end and h.purpose == f.part]


def _flat(piece: Piece, name: EndName, end: End) -> Iterator[Step]:
    """An end that is not turned back: posts on to the goods, and whatever else hangs there."""
    here = places.of(piece)
    posts = [f for f in piece.strap.fittings if f.end == name and f.part in turned.POSTS and f.size]
    if posts:
        spots = places.letters(here, [h.x for h in piece.strap.holes if h.end == name and h.purpose in turned.POSTS])
        goods = tr(" and the goods") if end.meets == "fixed" else ""
        yield Step(
            f"fasten:{name}",
            tr("Fasten the {name}", name=tr(name)),
            tr(
                "{posts} at {spots}, with {setting}. "
                "They go through {stack} of leather{goods}; caps on the grain side.",
                posts=turned.counted(posts),
                spots=spots,
                setting=posts[0].setting or tr("its tool"),
                stack=say_thin(posts[0].stack),
                goods=goods,
            ),
            (*posts, *(p for k in turned.POSTS for p in turned.prints(piece, f"{k} cap", name))),
            after=turned.READY,
        )
    yield from _unset(piece, name)
    for k, f in enumerate(turned.bars_of(piece, name)):
        assert f.size is not None  # asked for above
        yield Step(
            f"bar:{name}:{k}",
            tr("Put the {part} on", part=tr(f.part)),
            tr("The {title} at the {name}, its bar on the dashed lines.", title=f.size.title, name=tr(name)),
            (f, *(turned.prints(piece, f"{f.part} bar", name) if k == 0 else ())),
            after=turned.READY,
            before=("close", "measure"),
        )
    keepers = tuple(f for f in piece.strap.fittings if f.end == name and f.part == "keeper")
    if keepers:
        yield Step(
            f"keeper:{name}",
            tr("Slip the keeper on"),
            tr("Over the {name}, to its dashed lines.", name=tr(name)),
            (*keepers, *turned.prints(piece, "keeper", name)),
            after=(*turned.READY, "keeper-made"),
            before=("close", "fasten", "tie", "measure"),
        )


def _unset(piece: Piece, name: EndName) -> Iterator[Step]:
    """Nothing else may be left over: plain holes of an end that neither laces nor folds are only punched."""
    end = piece.pattern.start if name == "start" else piece.pattern.finish
    if end.meets in ("turned", "tied"):
        return
    rest = tuple(f for f in piece.strap.fittings if f.end == name and f.part == "hole" and not turned.is_row(piece, f))
    if rest:
        yield Step(
            f"tie:{name}",
            tr("Fasten the {name}", name=tr(name)),
            tr("Through the {reference}, as your goods ask for.", reference=end.reference),
            rest,
            after=turned.READY,
            before=("measure",),
        )


def _eyelets(piece: Piece) -> Iterator[Step]:
    words = {"eyelet": ("eyelet", tr("Set the eyelet")), "magnetic-snap": ("magnet", tr("Set the magnetic snap"))}
    for part, (key, title) in words.items():
        for name in ("start", "finish"):
            mine = tuple(f for f in piece.strap.fittings if f.part == part and f.end == name and f.size)
            if mine:
                yield Step(
                    f"{key}:{name}",
                    tr("{title} at the {name}", title=title, name=tr(name)),
                    tr(
                        "{mine}, {setting}, through {stack}.",
                        mine=turned.counted(mine),
                        setting=mine[0].setting,
                        stack=say_thin(mine[0].stack),
                    ),
                    (*mine, *turned.prints(piece, f"{part} cap", name)),
                    after=turned.READY,
                    before=("close",),
                )


def _joined(piece: Piece) -> Iterator[Step]:
    """How the ends come together: over a ring, laced, or butted."""
    r, strap = piece.pattern, piece.strap
    if r.measure.lies == "folded":
        yield Step(
            "ring",
            tr("Thread the {over} on", over=r.measure.over),
            tr(
                "To the middle of the braid, before the ends are closed; its wire is {wire}.",
                wire=say(r.measure.wire or 0.0),
            ),
            ("over",),
            after=turned.READY,
            before=("close",),
        )
        yield Step(
            "close",
            tr("Fold and close"),
            tr("Fold over the {over}, flesh sides together, and close the ends on each other.", over=r.measure.over),
            ("fold over",),
            after=("ring", "snap", "magnet"),
        )
    meets = {r.start.meets, r.finish.meets}
    if "tied" in meets:
        ends = [n for n, e in (("start", r.start), ("finish", r.finish)) if e.meets == "tied"]
        holes = tuple(f for f in strap.fittings if f.part == "hole" and f.end in ends and not turned.is_row(piece, f))
        long = tr("A lace {lace} long", lace=say(r.join.lace)) if r.join and r.join.lace else tr("A lace")
        gap = r.start.gap + r.finish.gap
        until = tr("the holes stand {gap} apart", gap=say(gap)) if gap else tr("the ends meet")
        yield Step(
            "tie",
            tr("Lace the ends"),
            tr(
                "{long}, crossed through the {reference}s. Pull it up until {until}, and knot it on the flesh side.",
                long=long,
                reference=r.start.reference,
                until=until,
            ),
            holes,
            after=turned.READY,
        )
    if "butted" in meets:
        yield Step("butt", tr("Join the ends"), joined(piece), ("join",), after=("cut", "line", *turned.READY))
