"""The work at the bench, in order and in the numbers of one piece.

Plain data (numbered steps with the reason or the tool), shared by the printed
card and the page.  Practice that no book states is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from strapwork.piece.checks import WET_FROM
from strapwork.piece.fit import Fit
from strapwork.piece.piece import Piece
from strapwork.piece.strap import Hole, Strap
from strapwork.say import braiding, hardware
from strapwork.say.straps import references
from strapwork.units import format_inches, format_mm


@dataclass(frozen=True, slots=True)
class Step:
    """One numbered step: a short heading and what to do."""

    title: str
    text: str


def both(mm: float) -> str:
    """A length in mm and in inches, as the bench has rulers of both kinds."""
    return f"{format_mm(mm)} ({format_inches(mm)})"


def steps(piece: Piece) -> list[Step]:
    """Everything from the raw strap to the closed piece, in working order."""
    return [
        *_cut(piece),
        *_punch(piece.strap),
        *_slit(piece),
        *_ends(piece),
        *_braid(piece),
        *_set(piece),
        *_others(piece),
        _measure(piece),
    ]


def _cut(piece: Piece) -> Iterator[Step]:
    s, m = piece.strap, piece.pattern.measure
    lace = (
        " No tape: wrap a lace or a strip of paper, mark where it meets, and lay it along a ruler."
        if m.lies == "round"
        else ""
    )
    yield Step("Check the measure", f"{m.how}{lace} This card is for {both(piece.value)}.")
    yield Step(
        "Cut the strap",
        f"Cut a strip {both(s.width)} wide and {both(s.length)} long, grain side up, along the back of the hide. "
        "That is the raw length; the ends stay square for now.",
    )
    if piece.leather.backing:
        yield Step(
            "Back the strap",
            f"Glue the {format_mm(piece.leather.backing, 2)} backing to the flesh side, press it, and let it dry before you mark anything.",
        )
    yield Step(
        "Transfer the marks",
        "Lay the pattern on the strip, prick the hole centres and the slit stops through the paper, and take the paper off.",
    )


def _punch(strap: Strap) -> Iterator[Step]:
    by_size: dict[tuple[str, float], list[Hole]] = {}
    for h in strap.holes:
        if not h.is_slot:
            by_size.setdefault((h.purpose, round(h.diameter, 3)), []).append(h)
    for (purpose, diameter), holes in by_size.items():
        many = len(holes)
        title = f"Punch the {purpose} holes" if purpose in ("adjustment", "relief") else f"Punch for the {purpose}"
        yield Step(
            title,
            f"{many} hole{'s' if many > 1 else ''}, {both(diameter)}, round punch and mallet on a board. By hand: drill it slowly "
            "between two scraps of wood, or cut a small star and trim it round.",
        )
    for h in strap.holes:
        if h.is_slot:
            yield Step(
                f"Cut the slot for the {h.purpose}",
                f"{format_mm(h.length)} long and {format_mm(h.diameter)} wide, with an oblong punch. By hand: punch "
                f"{format_mm(h.diameter)} at both ends, centres {format_mm(h.length - h.diameter)} apart, and cut the two straight "
                "sides between them.",
            )


def _slit(piece: Piece) -> Iterator[Step]:
    s, fit = piece.strap, piece.fit
    if not s.slits:
        return
    at = [line.y0 for line in s.slits]
    where = ", ".join(format_mm(y) for y in at)
    if len(at) == 2:
        tool = f"A two-bladed stripper cuts both at once: blades {format_mm(at[0])} and {format_mm(at[1])} from the guide block. "
    elif len(at) == 1:
        tool = f"A stripper with one blade {format_mm(at[0])} from the guide block cuts it. "
    else:
        tool = "A stripper cuts them two at a time, blades set to these distances from the guide block. "
    # The middle one first, while there is most leather under the straight edge.
    first = min(at, key=lambda y: abs(y - s.width / 2.0))
    order = f"; begin with the one at {format_mm(first)}, nearest the middle" if len(at) > 1 else ""
    yield Step(
        f"Cut {len(at)} slit{'s' if len(at) > 1 else ''}",
        f"{where} from the lower edge, from {both(fit.slit_start)} to {both(fit.slit_end)}, counted from the start. {tool}"
        f"By hand: mark these distances at both ends and cut on a straight edge in light passes, from both stops towards the "
        f"middle, never past a stop{order}.",
    )


def _ends(piece: Piece) -> Iterator[Step]:
    r, w = piece.pattern, piece.strap.width
    words = {
        "round": f"round it with a radius of {both(w / 2)}",
        "pointed": "cut it to the point on the pattern",
        "clipped": "clip both corners as on the pattern",
        "square": "leave it square",
    }
    if r.start.shape == r.finish.shape:
        yield Step("Shape the ends", f"Both ends: {words[r.start.shape]}. Bevel and burnish the edges if you like.")
    else:
        yield Step(
            "Shape the ends",
            f"Start: {words[r.start.shape]}. Finish: {words[r.finish.shape]}. Bevel and burnish the edges if you like.",
        )


def _braid(piece: Piece) -> Iterator[Step]:
    form, plan = piece.fit.braid, piece.plan
    if form is None or plan is None:
        return
    if piece.leather.thickness.mid >= WET_FROM - 1e-9:
        yield Step(
            "Wet the strands",
            "Wet the slit part through, let the surface dry, and braid while it is pliable; mind the slit ends.",
        )
    per = plan.plait.turns_per_set
    yield Step(
        f"Braid {form.sets} set{'s' if form.sets > 1 else ''} of {per} turns",
        f"Fix the start, work down, and {braiding.tab_passes(plan)}, {braiding.hand(plan)}. The pictures show one set. "
        f"Every set ends with the strands hanging free; it should then take up {both(form.set_length)} when evened out.",
    )
    yield Step(
        "Even out and set the braid",
        f"Push the turns along until they lie alike, about {form.angle_deg:.0f} degrees to the strap and {both(form.width)} wide, "
        "working from the middle to both ends. Roll or tap it flat between two boards, and let damp leather dry like that.",
    )


def _set(piece: Piece) -> Iterator[Step]:
    fittings = piece.strap.fittings
    snaps = [f for f in fittings if f.part == "snap" and f.size]
    if snaps:
        halves = "; ".join(f"at the {f.end} the {hardware.shows(f)}" for f in snaps)
        meets = piece.pattern.start.meets
        why = (
            "The ends wrap over each other, so the halves face opposite ways."
            if meets == "overlap"
            else "The ends meet face to face, so both halves are set the same way."
        )
        stack = format_mm(snaps[0].stack)
        title = snaps[0].size.title if snaps[0].size else "snap"
        yield Step(
            "Set the snap",
            f"{title.capitalize()}, with {snaps[0].setting or 'its setter and anvil'}: {halves}. {why} Try it closed before you strike. It is set when it "
            "no longer turns by hand; too hard a blow dents the cap, flattens the post and keeps it from closing.",
        )
        yield Step(
            "If a snap pulls out later",
            f"Pry the rest off, put a leather washer where the hole has torn, and set a new {title}: it has to pass {stack} and the washer.",
        )
    for end in ("start", "finish"):
        bars = [f for f in fittings if f.end == end and f.part in ("buckle", "ring", "hook") and f.size]
        rivets = [f for f in fittings if f.end == end and f.part in ("rivet", "screw-post") and f.size]
        names: dict[str, int] = {}
        for f in rivets:
            assert f.size is not None  # filtered above
            names[f.size.title] = names.get(f.size.title, 0) + f.count
        riveting = ", ".join(f"{n} × {title}" for title, n in names.items())
        if bars:
            title = bars[0].size.title if bars[0].size else bars[0].part
            yield Step(
                f"Hang the {bars[0].part} at the {end}",
                f"Put the {title} on, fold at the fold line with the grain side out, and rivet both layers together"
                f"{f': {riveting}' if riveting else ''}. Caps on the grain side; the post next to the fold first, then outwards.",
            )
        elif rivets:
            yield Step(
                f"Fasten the {end}",
                f"{riveting}, through {format_mm(rivets[0].stack)}, with {rivets[0].setting}. Caps on the grain side.",
            )


def _others(piece: Piece) -> Iterator[Step]:
    """Eyelets and magnetic snaps: set like everything else, with their own tool."""
    for f in piece.strap.fittings:
        if f.part in ("eyelet", "magnetic-snap") and f.size:
            yield Step(
                f"Set the {f.part.replace('-', ' ')} at the {f.end}",
                f"{f.size.title.capitalize()}, through {format_mm(f.stack)}.",
            )


def _measure(piece: Piece) -> Step:
    fit: Fit = piece.fit
    return Step(
        "Measure the finished piece",
        f"{references(piece).capitalize()} should now measure {both(fit.finished)} along the middle of the thickness. {_tell(piece)}",
    )


def _tell(piece: Piece) -> str:
    """Where to put what was measured, so that the next one fits better."""
    if piece.fit.braid is None:
        return "Write down what you find: it makes the next one fit better."
    label = piece.label.replace('"', "")
    leather = "" if piece.leather.name else " --leather NAME"
    return (
        "Tell what you find, and the next one fits better: "
        f'strapwork made numbers.json "{label}" --measured LENGTH{leather}'
    )
