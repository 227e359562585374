"""The work at the bench, in order and in the numbers of one piece.

Plain data (numbered steps with the reason or the tool), shared by the printed
card and the page.  Practice that no book states is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from strapwork.checks import WET_FROM
from strapwork.fit import Fit
from strapwork.pattern import references
from strapwork.piece import Piece
from strapwork.strap import Hole, Strap
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
        _measure(piece),
    ]


def _cut(piece: Piece) -> Iterator[Step]:
    s = piece.strap
    yield Step(
        "Cut the strap",
        f"Cut a strip {both(s.width)} wide and {both(s.length)} long, grain side up, along the back of the hide. "
        "The ends stay square for now.",
    )
    yield Step(
        "Transfer the marks",
        "Lay the pattern on the strip, prick the hole centres and the slit stops through the paper, and take the paper off.",
    )


def _punch(strap: Strap) -> Iterator[Step]:
    round_: dict[tuple[str, float], list[Hole]] = {}
    for h in strap.holes:
        if not h.is_slot:
            round_.setdefault((h.purpose, round(h.diameter, 3)), []).append(h)
    for (purpose, diameter), holes in round_.items():
        many = len(holes)
        yield Step(
            f"Punch for the {purpose}" if purpose not in ("adjustment", "relief") else f"Punch the {purpose} holes",
            f"{many} hole{'s' if many > 1 else ''}, {both(diameter)}, with a round punch and a mallet on a board.",
        )
    for h in strap.holes:
        if h.is_slot:
            yield Step(
                f"Cut the slot for the {h.purpose}",
                f"{format_mm(h.length)} long and {format_mm(h.diameter)} wide: punch {format_mm(h.diameter)} at both ends, "
                f"centres {format_mm(h.length - h.diameter)} apart, and cut the two straight sides between them.",
            )


def _slit(piece: Piece) -> Iterator[Step]:
    s, fit = piece.strap, piece.fit
    if not s.slits:
        return
    at = ", ".join(format_mm(line.y0) for line in s.slits)
    yield Step(
        f"Cut {len(s.slits)} slit{'s' if len(s.slits) > 1 else ''}",
        f"{at} from the lower edge, from {both(fit.slit_start)} to {both(fit.slit_end)}, counted from the start. "
        "Cut on a straight edge in several light passes, from both stops towards the middle, and never past a stop.",
    )


def _ends(piece: Piece) -> Iterator[Step]:
    r, w = piece.recipe, piece.strap.width
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
    passes = ", then ".join(f"after turn {p.after_turn} {p.where(piece.strands)}" for p in plan.schedule)
    yield Step(
        f"Braid {form.sets} set{'s' if form.sets > 1 else ''} of {per} turns",
        f"Fix the start, work down, and pass the tab {passes}. The pictures show one set. "
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
        halves = "; ".join(
            f"{f.half} half at the {f.end}, {'cap' if f.half == 'cap' else 'its back'} on the {f.faces} side"
            for f in snaps
        )
        meets = piece.recipe.start.meets
        why = (
            "The ends wrap over each other, so the halves face opposite ways."
            if meets == "overlap"
            else "The ends meet face to face, so both halves are set the same way."
        )
        yield Step(
            "Set the snap",
            f"{snaps[0].size.title.capitalize() if snaps[0].size else 'Snap'}: {halves}. {why} Try it closed before you strike.",
        )
    for end in ("start", "finish"):
        bars = [f for f in fittings if f.end == end and f.part in ("buckle", "ring", "hook") and f.size]
        rivets = [f for f in fittings if f.end == end and f.part == "rivet" and f.size]
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
                f"{f': {riveting}' if riveting else ''}. Caps on the grain side.",
            )
        elif rivets:
            yield Step(f"Rivet the {end}", f"{riveting}, through {format_mm(rivets[0].stack)}. Caps on the grain side.")


def _measure(piece: Piece) -> Step:
    fit: Fit = piece.fit
    return Step(
        "Measure the finished piece",
        f"{references(piece).capitalize()} should now measure {both(fit.finished)} along the middle of the thickness. "
        f"Write down what you find: it makes the next one fit better.",
    )


def cautions(piece: Piece) -> list[str]:
    """The cautions this piece needs, and no others."""
    out = [
        "Blade: a fresh one for every project, light passes, and the holding hand never in the blade's way. "
        "Shore the straight edge up with a scrap of the same thickness so that it cannot rock or slip."
    ]
    if piece.strap.holes:
        out.append(
            "Punch and mallet: eye protection on, punch upright, a board under the work, fingers clear of the blow."
        )
    if piece.recipe.name in ("bag-handle", "carrier-handle", "dog-lead"):
        out.append(
            "Load: nothing here certifies what the piece carries. Do not lift people or tie animals or vehicles on the "
            "strength of it; local rules and licensed practice come first."
        )
    if piece.recipe.name == "dog-lead":
        out.append(
            "Animals: check hook, rivets and leather before every walk, and do not leave an animal tied up alone."
        )
    if any(f.part == "snap" for f in piece.strap.fittings):
        out.append("Small parts: snaps can come off; keep them from children under three.")
    return out
