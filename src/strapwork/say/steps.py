"""The work at the bench, in order: preparing the strap and braiding it; what is set into it is in ``assembly``.

Plain data (steps with what they deal with and what they need), shared by the
card and the tests.  Numbers that differ from size to size stand in the table of
the card (:mod:`strapwork.say.table`), not here.  Practice that no book states
is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from strapwork.catalogue import tr, trn
from strapwork.piece.checks import WET_FROM
from strapwork.piece.piece import Piece
from strapwork.piece.strap import Hole
from strapwork.say import assembly, braiding, places
from strapwork.say.needs import Step, in_order
from strapwork.say.places import listed
from strapwork.say.straps import references
from strapwork.units import say, say_thin


def steps(piece: Piece, companions: Sequence[Piece] = ()) -> list[Step]:
    """Everything from the raw strap to the closed piece, in working order.

    Args:
        piece: the goods.
        companions: what goes with it, such as a belt's keeper; made in one step each.
    """
    return in_order(
        [
            *_cut(piece),
            *_punch(piece),
            *_slit(piece),
            *_shape(piece),
            *_braid(piece),
            *assembly.steps(piece, companions),
            _measure(piece),
        ]
    )


def _cut(piece: Piece) -> Iterator[Step]:
    s = piece.strap
    yield Step("check", tr("Check the measure"), f"{piece.pattern.measure.how}", before=("cut",))
    yield Step(
        "cut",
        tr("Cut the strap"),
        tr(
            "{width} wide, as long as the table says, grain side up, along the back of the hide. Leave the ends square.",
            width=say(s.width),
        ),
    )
    if piece.leather.backing:
        yield Step(
            "line",
            tr("Line it"),
            tr(
                "Glue the {backing} backing to the flesh side, press it, and let it dry.",
                backing=say_thin(piece.leather.backing),
            ),
            after=("cut",),
            before=("mark", "punch", "slot", "slit", "shape"),
        )
    pricked = tuple(m for m in s.marks if m.kind != "fold")
    what = [*([tr("hole centres")] if s.holes else []), *([tr("slit stops")] if s.slits else [])]
    where = tr("the {what}", what=tr(" and the ").join(what)) if what else ""
    if where:
        yield Step(
            "mark",
            tr("Mark"),
            tr("Lay the pattern on, prick {where} through the paper, and take the paper off.", where=where),
            pricked,
            after=("cut", "line"),
            before=("punch", "slot", "relief", "slit", "shape"),
        )


def _punch(piece: Piece) -> Iterator[Step]:
    here, strap = places.of(piece), piece.strap
    by_size: dict[tuple[str, float], list[Hole]] = {}
    for h in strap.holes:
        if not h.is_slot:
            by_size.setdefault((h.purpose, round(h.diameter, 3)), []).append(h)
    for k, ((purpose, diameter), holes) in enumerate(by_size.items()):
        own = tuple(f for f in strap.fittings if f.part == "hole" and purpose == "adjustment" and f.end == holes[0].end)
        at = places.letters(here, [h.x for h in holes])
        yield Step(
            f"relief:{k}" if purpose == "relief" else f"punch:{purpose}:{k}",
            tr("Punch the {purpose} holes", purpose=tr(purpose))
            if purpose in ("adjustment", "relief")
            else tr("Punch for the {purpose}", purpose=tr(purpose)),
            f"{_many(len(holes))}, {say(diameter)}{_row(piece, holes)}{f', at {at}' if at and purpose != 'relief' else ''}.",
            (*holes, *own),
            after=("mark",),
            before=("slit", "braid"),
        )
    for k, h in enumerate(h for h in strap.holes if h.is_slot):
        at = places.letter(here, h.x)
        yield Step(
            f"slot:{k}",
            tr("Cut the {purpose} slot", purpose=tr(h.purpose)),
            tr(
                "{length} × {diameter}{at}: punch {diameter} at both ends, "
                "centres {length2} apart, and cut straight between.",
                length=say(h.length),
                diameter=say(h.diameter),
                at=tr(" at {at}", at=at) if at else "",
                length2=say(h.length - h.diameter),
            ),
            (h,),
            after=("mark",),
            before=("braid", "fold"),
        )


def _many(count: int) -> str:
    return trn("{count} hole", "{count} holes", count, count=count)


def _row(piece: Piece, holes: Sequence[Hole]) -> str:
    """How far apart the holes of a row are, and which one the measure goes to."""
    if holes[0].purpose != "adjustment" or len(holes) < 2:
        return ""
    xs = sorted(h.x for h in holes)
    return tr(", {xs} apart", xs=say((xs[-1] - xs[0]) / (len(xs) - 1)))


def _slit(piece: Piece) -> Iterator[Step]:
    s = piece.strap
    if not s.slits:
        return
    at = [line.y0 for line in s.slits]
    where = listed([say(y) for y in at])
    guide = trn(
        "A stripper cuts it with blades at these distances from the guide block. ",
        "A stripper cuts them with blades at these distances from the guide block. ",
        len(at),
    )
    # The middle one first, while there is most leather under the straight edge.
    first = min(at, key=lambda y: abs(y - s.width / 2.0))
    begin = tr(" Begin with the one at {first}.", first=say(first)) if len(at) > 2 else ""
    yield Step(
        "slit",
        trn("Cut {at} slit", "Cut {at} slits", len(at), at=len(at)),
        tr(
            "{where} from the lower edge, from stop to stop, {slits}. {guide}"
            "By hand: light passes on a straight edge, from both stops to the middle, never past a stop.{begin}",
            where=where,
            slits=places.slits(piece),
            guide=guide,
            begin=begin,
        ),
        s.slits,
        after=("mark", "punch", "relief"),
        before=("wet", "braid"),
    )


_TIPS = {
    "pointed": tr("cut to the point on the pattern"),
    "clipped": tr("clip both corners"),
    "square": tr("leave square"),
}


def _shape(piece: Piece) -> Iterator[Step]:
    r, w = piece.pattern, piece.strap.width

    def words(shape: str, radius: float | None) -> str:
        return tr("round to a radius of {radius}", radius=say(radius or w / 2)) if shape == "round" else _TIPS[shape]

    start, finish = words(r.start.shape, r.start.radius), words(r.finish.shape, r.finish.radius)
    ends = (
        tr("Both: {start}.", start=start)
        if start == finish
        else tr("Start: {start}. Finish: {finish}.", start=start, finish=finish)
    )
    yield Step(
        "shape",
        tr("Shape the ends"),
        tr("{ends} Bevel and burnish the edges if you like.", ends=ends),
        (piece.strap.outline,),
        after=("mark",),
        before=("braid", "snap", "fold", "tie", "butt"),
    )


def _braid(piece: Piece) -> Iterator[Step]:
    form, plan = piece.fit.braid, piece.plan
    if form is None or plan is None:
        return
    wet = piece.leather.thickness.mid >= WET_FROM - 1e-9
    if wet:
        yield Step(
            "wet",
            tr("Wet the strands"),
            tr("Wet the slit part through, let the surface dry, and braid while it is pliable. Mind the slit ends."),
            before=("braid",),
        )
    yield Step(
        "braid",
        tr("Braid"),
        tr(
            "Work as pictured, {hand}, {turns} turns a set. {pass_sentences} "
            "Every set ends with the strands hanging free.",
            hand=braiding.hand(plan),
            turns=len(plan.turns),
            pass_sentences=braiding.pass_sentences(plan),
        ),
        ("braid",),
        after=("slit", "punch", "slot", "shape", "relief"),
    )
    yield Step(
        "even",
        tr("Even it out"),
        tr(
            "Push the turns along until they lie alike, from the middle to both ends. Roll or tap it flat between two boards."
        ),
        after=("braid",),
    )
    if wet:
        yield Step(
            "dry",
            tr("Dry it"),
            tr("Leave it flat between the boards until it is dry through, before anything is set."),
            after=("even",),
            before=("snap", "magnet", "eyelet", "rivet", "fasten", "fold", "tie", "measure"),
        )


def _measure(piece: Piece) -> Step:
    return Step(
        "measure",
        tr("Measure it"),
        tr(
            "{references}, along the middle of the thickness: as the table says under finished. {tell}",
            references=references(piece).capitalize(),
            tell=_tell(piece),
        ),
        after=("snap", "magnet", "eyelet", "rivet", "fasten", "fold", "tie", "butt", "even", "dry", "close", "shape"),
    )


def told_as(piece: Piece | None) -> str:
    """The command that tells how long a piece came out; for many pieces with NAME where each has its own."""
    if piece is None:
        return 'strapwork made numbers.json "NAME" --measured LENGTH'
    label = piece.label.replace('"', "")
    return f'strapwork made numbers.json "{label}" --measured LENGTH'


def _tell(piece: Piece) -> str:
    """Where to put what was measured, so that the next one fits better."""
    if piece.fit.braid is None:
        return tr("Write down what you find: it makes the next one fit better.")
    leather = "" if piece.leather.name else " --leather NAME"
    return tr(
        "Tell what you find, and the next one fits better: {told_as}{leather}", told_as=told_as(piece), leather=leather
    )
