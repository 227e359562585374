"""Words for the terminal: the three lengths, the breakdown, the findings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from strapwork.piece import load as loads
from strapwork.piece.drawn import references
from strapwork.piece.fit import printed
from strapwork.piece.piece import Piece
from strapwork.stock.patterns import Pattern
from strapwork.units import format_length, format_mm, rounding_note

if TYPE_CHECKING:
    from strapwork.cutter.paths import Cutting


def of_piece(piece: Piece, units: str = "mm") -> str:
    """One piece in full."""
    fit = piece.fit
    lines = [f"{piece.label}  ({piece.pattern.title}, {piece.count} to cut)"]
    shown, total = printed(fit, units)
    wide = max(len(r.what) for r in fit.rows)
    for row, mm in zip(fit.rows, shown, strict=True):
        lines.append(f"  {row.what:<{wide}}  {mm:>12}   {row.why}")
    lines.append(f"  {'cut length':<{wide}}  {total:>12}   raw end to raw end")
    lines.append(f"  {rounding_note(units)}")
    lines.append("  Three lengths, never to be mixed up:")
    lines.append(f"    finished                        {format_length(fit.finished, units)}")
    lines.append(f"    {references(piece)}, as cut: {format_length(fit.reference_to_reference, units)}")
    lines.append(f"    overall cut length              {format_length(fit.cut_length, units)}")
    lines.append(
        f"  Band of the cut length: {format_length(fit.low, units)} to {format_length(fit.high, units)}; it rests on {fit.basis}."
    )
    if fit.braid and piece.plan:
        b = fit.braid
        passes = ", ".join(f"after turn {p.after_turn} {p.where(piece.strands)}" for p in piece.plan.schedule)
        lines.append(
            f"  Braid: {piece.strands} strands, {b.sets} sets of {piece.plan.plait.turns_per_set} turns, "
            f"{format_length(b.set_length, units)} a set, {b.angle_deg:.1f}°, about {format_length(b.width, units)} wide."
        )
        lines.append(f"  Tab passes in every set: {passes}.")
    if piece.leather.price is not None:
        area = piece.strap.length * piece.strap.width * piece.count
        lines.append(
            f"  Leather: {area / 1e4:.1f} dm2 of strip, {area / 1e6 * piece.leather.price:.2f} at {piece.leather.price:g} a square metre."
        )
    for f in piece.strap.fittings:
        if f.size:
            stack = f" through {format_mm(f.stack)}" if f.stack else ""
            face = f", {f.half} half facing the {f.faces} side" if f.half else ""
            lines.append(f"  Hardware, {f.end}: {f.size.title}{stack}{face}.")
    if loads.wanted(piece):
        lines += [f"  {row}" for row in loads.words(loads.estimate(piece))]
    for found in piece.findings:
        if found.code.startswith("safety-"):
            continue  # said once for the whole job
        lines.append(f"  {found.level}: {found.message} [{found.source}]")
    return "\n".join(lines)


def cutting(cut: Cutting) -> str:
    """What a machine has to do, bed by bed."""
    m = cut.machine
    beds = f"{cut.plan.beds} bed{'s' if cut.plan.beds > 1 else ''}"
    lines = [f"{m.title}: {len(cut.plan.spots)} pieces on {beds} (areas alone would need {cut.plan.least})."]
    for b in cut.beds:
        saved = 100.0 * (1.0 - b.travel / b.before) if b.before else 0.0
        lines.append(
            f"  {b.sheet.name}: {b.pieces} pieces, {100 * b.used:.0f} % of the bed used; "
            f"idle travel {b.travel / 1000:.2f} m, {saved:.0f} % less than unordered"
        )
    for _, written, label in cut.numbered:
        lines.append(f"  Written on the bed as {written}: {label}")
    return "\n".join(lines)


def safety(pieces: Sequence[Piece]) -> str:
    """The cautions of a job, each once."""
    said = dict.fromkeys(f.message for p in pieces for f in p.findings if f.code.startswith("safety-"))
    lines = ["Cautions:", *(f"  {m[:1].upper()}{m[1:]}." for m in said)]
    if any(loads.wanted(p) for p in pieces):
        lines.append(f"  {loads.WARNING}")
    return "\n".join(lines)


def patterns(patterns: Sequence[Pattern]) -> str:
    """The list of patterns with what each needs measured."""
    lines = []
    for r in patterns:
        lines.append(f"{r.name}: {r.title}. {r.about}")
        lines.append(f"    measure the {r.measure.what}: {r.measure.how}")
        lines.append(
            f"    as it comes: {format_mm(r.strap.width)} wide, leather {format_mm(r.leather.low, 2)}"
            + (f" to {format_mm(r.leather.high, 2)}" if r.leather.high > r.leather.low else "")
            + (f", {r.braid.strands} strands" if r.braid.strands > 1 else ", not braided")
        )
    return "\n".join(lines)
