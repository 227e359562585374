"""The work at the bench, in order: preparing the strap and braiding it; what is set into it is in ``assembly``.

Plain data (steps with what they deal with and what they need), shared by the
card and the tests.  Numbers that differ from size to size stand in the table of
the card (:mod:`strapwork.say.table`), not here.  Practice that no book states
is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

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
    yield Step("check", "Check the measure", f"{piece.pattern.measure.how}", before=("cut",))
    yield Step(
        "cut",
        "Cut the strap",
        f"{say(s.width)} wide, as long as the table says, grain side up, along the back of the hide. Leave the ends square.",
    )
    if piece.leather.backing:
        yield Step(
            "line",
            "Line it",
            f"Glue the {say_thin(piece.leather.backing)} backing to the flesh side, press it, and let it dry.",
            after=("cut",),
            before=("mark", "punch", "slot", "slit", "shape"),
        )
    pricked = tuple(m for m in s.marks if m.kind != "fold")
    what = [*(["hole centres"] if s.holes else []), *(["slit stops"] if s.slits else [])]
    where = f"the {' and the '.join(what)}" if what else ""
    if where:
        yield Step(
            "mark",
            "Mark",
            f"Lay the pattern on, prick {where} through the paper, and take the paper off.",
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
            f"Punch the {purpose} holes" if purpose in ("adjustment", "relief") else f"Punch for the {purpose}",
            f"{_many(len(holes))}, {say(diameter)}{_row(piece, holes)}{f', at {at}' if at and purpose != 'relief' else ''}.",
            (*holes, *own),
            after=("mark",),
            before=("slit", "braid"),
        )
    for k, h in enumerate(h for h in strap.holes if h.is_slot):
        at = places.letter(here, h.x)
        yield Step(
            f"slot:{k}",
            f"Cut the {h.purpose} slot",
            f"{say(h.length)} × {say(h.diameter)}{f' at {at}' if at else ''}: punch {say(h.diameter)} at both ends, "
            f"centres {say(h.length - h.diameter)} apart, and cut straight between.",
            (h,),
            after=("mark",),
            before=("braid", "fold"),
        )


def _many(count: int) -> str:
    return f"{count} hole{'s' if count > 1 else ''}"


def _row(piece: Piece, holes: Sequence[Hole]) -> str:
    """How far apart the holes of a row are, and which one the measure goes to."""
    if holes[0].purpose != "adjustment" or len(holes) < 2:
        return ""
    xs = sorted(h.x for h in holes)
    return f", {say((xs[-1] - xs[0]) / (len(xs) - 1))} apart"


def _slit(piece: Piece) -> Iterator[Step]:
    s = piece.strap
    if not s.slits:
        return
    at = [line.y0 for line in s.slits]
    where = listed([say(y) for y in at])
    guide = f"A stripper cuts {'them' if len(at) > 1 else 'it'} with blades at these distances from the guide block. "
    # The middle one first, while there is most leather under the straight edge.
    first = min(at, key=lambda y: abs(y - s.width / 2.0))
    begin = f" Begin with the one at {say(first)}." if len(at) > 2 else ""
    yield Step(
        "slit",
        f"Cut {len(at)} slit{'s' if len(at) > 1 else ''}",
        f"{where} from the lower edge, from stop to stop, {places.slits(piece)}. {guide}"
        f"By hand: light passes on a straight edge, from both stops to the middle, never past a stop.{begin}",
        s.slits,
        after=("mark", "punch", "relief"),
        before=("wet", "braid"),
    )


_TIPS = {"pointed": "cut to the point on the pattern", "clipped": "clip both corners", "square": "leave square"}


def _shape(piece: Piece) -> Iterator[Step]:
    r, w = piece.pattern, piece.strap.width

    def words(shape: str, radius: float | None) -> str:
        return f"round to a radius of {say(radius or w / 2)}" if shape == "round" else _TIPS[shape]

    start, finish = words(r.start.shape, r.start.radius), words(r.finish.shape, r.finish.radius)
    ends = f"Both: {start}." if start == finish else f"Start: {start}. Finish: {finish}."
    yield Step(
        "shape",
        "Shape the ends",
        f"{ends} Bevel and burnish the edges if you like.",
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
            "Wet the strands",
            "Wet the slit part through, let the surface dry, and braid while it is pliable. Mind the slit ends.",
            before=("braid",),
        )
    yield Step(
        "braid",
        "Braid",
        f"Work as pictured, {braiding.hand(plan)}, {len(plan.turns)} turns a set. {braiding.pass_sentences(plan)} "
        "Every set ends with the strands hanging free.",
        ("braid",),
        after=("slit", "punch", "slot", "shape", "relief"),
    )
    yield Step(
        "even",
        "Even it out",
        "Push the turns along until they lie alike, from the middle to both ends. Roll or tap it flat between two boards.",
        after=("braid",),
    )
    if wet:
        yield Step(
            "dry",
            "Dry it",
            "Leave it flat between the boards until it is dry through, before anything is set.",
            after=("even",),
            before=("snap", "magnet", "eyelet", "rivet", "fasten", "fold", "tie", "measure"),
        )


def _measure(piece: Piece) -> Step:
    return Step(
        "measure",
        "Measure it",
        f"{references(piece).capitalize()}, along the middle of the thickness: as the table says under finished. {_tell(piece)}",
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
        return "Write down what you find: it makes the next one fit better."
    leather = "" if piece.leather.name else " --leather NAME"
    return f"Tell what you find, and the next one fits better: {told_as(piece)}{leather}"
