"""What stands beside a strap on paper: its name, its facts, and a few words at every feature."""

from __future__ import annotations

from dataclasses import dataclass

from strapwork.catalogue import tr
from strapwork.piece.piece import Piece
from strapwork.say import braiding, hardware
from strapwork.units import format_length


def headline(piece: Piece) -> str:
    """The label a maker looks for, with how many to cut."""
    return tr("{label} — cut {count}", label=piece.label, count=piece.count) if piece.count > 1 else piece.label


@dataclass(frozen=True, slots=True)
class Inside:
    """A few words that stand inside the strap; with ``arrow`` a line along the strap follows them."""

    text: str
    strong: bool = False
    arrow: bool = False


def inside(piece: Piece, end: str) -> list[Inside]:
    """What the leather's side of the line says at an end, most needed first."""
    set_here = [hardware.short(f) for f in piece.strap.fittings if f.end == end]
    words = ", ".join(dict.fromkeys(w for w in set_here if w))
    out = [Inside(piece.label, strong=True), Inside(f"{tr(end)}: {words}" if words else tr(end))]
    if end == "start":
        out += [Inside(tr("grain side up")), Inside(tr("least stretch"), arrow=True)]
    return out


def facts(piece: Piece, units: str) -> list[str]:
    """What has to stand beside the strap on paper, most needed first."""

    def show(mm: float) -> str:
        return format_length(mm, units)

    r, fit = piece.pattern, piece.fit
    out = [r.title, f"{r.measure.called} {show(piece.value)}"]
    out.append(tr("leather {words}", words=piece.leather.words()))
    out.append(
        tr("cut length {cut_length}, width {width}", cut_length=show(fit.cut_length), width=show(piece.strap.width))
    )
    out.append(
        tr(
            "{references} as cut {reference_to_reference}, finished {finished}",
            references=references(piece),
            reference_to_reference=show(fit.reference_to_reference),
            finished=show(fit.finished),
        )
    )
    if fit.braid and piece.plan:
        out.append(_braid(piece.strands, fit.braid.sets, piece.plan.plait.turns_per_set))
    return out


def on_sheet(piece: Piece, units: str) -> list[str]:
    """What stands beside the strap on its sheet, in few words; the card has the rest."""

    def show(mm: float) -> str:
        return format_length(mm, units)

    r, fit = piece.pattern, piece.fit
    out = [] if r.title in piece.label else [r.title]
    out.append(f"{r.measure.called} {show(piece.value)}")
    out.append(tr("leather {words}", words=piece.leather.words()))
    out.append(f"{show(fit.cut_length)} × {show(piece.strap.width)}")
    if fit.braid and piece.plan:
        out.append(_braid(piece.strands, fit.braid.sets, piece.plan.plait.turns_per_set))
    return out


def _braid(strands: int, sets: int, turns: int) -> str:
    return tr("{strands} strands, {sets} of {turns} turns", strands=strands, sets=braiding.sets(sets), turns=turns)


def references(piece: Piece) -> str:
    """``snap centre to snap centre``, ``buckle bar to middle hole``, .."""
    return tr(
        "{reference} to {reference2}",
        reference=piece.pattern.start.reference,
        reference2=piece.pattern.finish.reference,
    )


def captions(piece: Piece, units: str) -> list[tuple[float, str]]:
    """Short words for the features along the strap, as (x, text) pairs in strap mm."""
    out: list[tuple[float, str]] = []
    strap, fit = piece.strap, piece.fit

    def size(mm: float) -> str:
        return format_length(mm, units)

    for m in strap.marks:
        if m.kind == "fold":
            out.append((m.line.x0, tr("fold")))
    if strap.slits:
        for x in (fit.slit_start, fit.slit_end):
            out.append((x, tr("slits stop")))
    seen: set[tuple[str, str, float]] = set()
    for name in ("start", "finish"):
        rows = [h for h in strap.holes if h.end == name and h.purpose == "adjustment"]
        if rows:
            # The hole that the measure ends at: of an even row the odd hole goes outwards.
            measured = sorted((h.x for h in rows), reverse=name == "finish")[len(rows) // 2]
            even = tr(", measured to this one") if len(rows) % 2 == 0 else ""
            gap = (rows[-1].x - rows[0].x) / (len(rows) - 1) if len(rows) > 1 else 0.0
            spaced = tr(", {gap} apart", gap=size(gap)) if gap else ""
            out.append(
                (
                    measured,
                    tr(
                        "{rows} holes {diameter}{spaced}{even}",
                        rows=len(rows),
                        diameter=size(rows[0].diameter),
                        spaced=spaced,
                        even=even,
                    ),
                )
            )
    for h in strap.holes:
        key = (h.end, h.purpose, round(h.x, 3))
        if h.purpose in ("adjustment", "relief") or key in seen:
            continue
        seen.add(key)
        if h.is_slot:
            out.append(
                (
                    h.x,
                    tr(
                        "slot {length} × {diameter} {purpose}",
                        length=size(h.length),
                        diameter=size(h.diameter),
                        purpose=tr(h.purpose),
                    ),
                )
            )
        else:
            out.append((h.x, f"{tr(h.purpose)} {size(h.diameter)}"))
    for p in strap.footprints:
        if p.what == "keeper":
            x0, _, x1, _ = p.shape.box()
            out.append(((x0 + x1) / 2.0, tr("keeper")))
    return sorted(out)


def broken(distance: str) -> str:
    """How a broken view is put together; ``distance`` in the words of both units."""
    return tr("Broken view: A to A and B to B are both {distance}.", distance=distance)
