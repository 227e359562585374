"""Words for the terminal: the three lengths, the breakdown, the findings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from strapwork.catalogue import tr, trn
from strapwork.piece import load
from strapwork.piece.piece import Piece
from strapwork.say import braiding, findings, hardware, lengths, loads
from strapwork.stock.patterns import Pattern
from strapwork.units import format_length, format_mm, rounding_note, say_far

if TYPE_CHECKING:
    from strapwork.cutter.paths import Cutting
    from strapwork.job.job import Result
    from strapwork.paper.order_page import Table


def of_piece(piece: Piece, units: str = "mm") -> str:
    """One piece in full."""
    lines = [tr("{label}  ({title}, {count} to cut)", label=piece.label, title=piece.pattern.title, count=piece.count)]
    rows = lengths.breakdown(piece, units)
    wide = max(len(r.what) for r in rows)
    lines += [f"  {r.what:<{wide}}  {r.length:>12}   {r.why}" for r in rows]
    lines.append(f"  {rounding_note(units)}")
    lines.append(tr("  Three lengths, never to be mixed up:"))
    lines += [f"    {r.what:<18}  {r.length:>12}   {r.why}" for r in lengths.three(piece, units)]
    lines.append(tr("  Band of the cut length: {band}", band=lengths.band(piece, units)))
    lines += [f"  {sentence}" for sentence in braiding.worked(piece, units)]
    if piece.leather.price is not None:
        area = piece.strap.length * piece.strap.width * piece.count
        lines.append(
            tr(
                "  Leather: {area:.1f} dm2 of strip, {cost:.2f} at {price:g} a square metre.",
                area=area / 1e4,
                cost=area / 1e6 * piece.leather.price,
                price=piece.leather.price,
            )
        )
    lines += [tr("  Hardware, {end}: {what}.", end=tr(end), what=what) for end, what in hardware.fittings(piece)]
    if load.wanted(piece):
        lines += [f"  {row}" for row in loads.words(load.estimate(piece))]
    lines += [f"  {tr(f.level)}: {f.message} [{f.source}]" for f in findings.to_mind(piece)]
    return "\n".join(lines)


def cutting(cut: Cutting, pieces: Sequence[Piece] = (), units: str = "mm") -> str:
    """What a machine has to do, bed by bed; ``pieces`` are the job's, whose lengths are named where they fit no bed."""
    m = cut.machine
    beds = trn("{beds} bed", "{beds} beds", cut.plan.beds, beds=cut.plan.beds)
    lines = [
        tr(
            "{title}: {pieces} on {beds} (areas alone would need {least}).",
            title=m.title,
            pieces=_pieces(len(cut.plan.spots)),
            beds=beds,
            least=cut.plan.least,
        )
    ]
    for b in cut.beds:
        saved = 100.0 * (1.0 - b.travel / b.before) if b.before else 0.0
        lines.append(
            tr(
                "  {name}{rest}: {pieces}, {used:.0f} % of the bed used; "
                "idle travel {travel}, {saved:.0f} % less than unordered",
                name=b.sheet.name,
                rest=f" ({b.leather})" if b.leather else "",
                pieces=_pieces(b.pieces),
                used=100 * b.used,
                travel=say_far(b.travel),
                saved=saved,
            )
        )
    if cut.left_out:
        long = [f" ({format_length(pieces[k].strap.length, units)})" if pieces else "" for k, _ in cut.left_out]
        named = ", ".join(f"{label}{mm}" for (_, label), mm in zip(cut.left_out, long, strict=True))
        lines.append(tr("  Left out, as they fit no bed: {named}", named=named))
    for _, written, label in cut.numbered:
        lines.append(tr("  Written on the bed as {written}: {label}", written=written, label=label))
    return "\n".join(lines)


def _pieces(count: int) -> str:
    return trn("{count} piece", "{count} pieces", count, count=count)


def order(result: Result, *, whole: bool = False) -> str:
    """The plans of strips and the cost of a job; the order page has the rest, and ``whole`` says all of it here."""
    listed = result.lists
    if listed is None:
        return ""
    if whole:
        from strapwork.paper.order_page import Table

        groups = [(g,) if isinstance(g, Table) else g for g in listed.tables(result.job.units)]
        return "\n".join(row for group in groups for table in group for row in _table(table))
    labels = [p.label for p in result.pieces]
    lines = []
    if listed.plans:
        from strapwork.workshop import strip_words

        lines += [strip_words.words(plan, labels, result.job.units) for plan in listed.plans]
    if listed.cost is not None:
        from strapwork.workshop import cost

        lines.append(cost.words(listed.cost))
    return "\n".join([*lines, tr("What to cut, lay out and buy is on the order page and in order.csv.")])


def _table(table: Table) -> list[str]:
    """A list of the order page as lines: its columns as wide as what stands in them, the last as it comes."""
    rows = [r for s in table.sections for r in (*s.rows, s.total)] + [table.total, tuple(c.head for c in table.columns)]
    wide = [max(len(r[k]) for r in rows if r) for k in range(len(table.columns))]

    def line(cells: Sequence[str]) -> str:
        parts = [
            cell.rjust(w) if c.align == "end" else cell.ljust(w)
            for cell, w, c in zip(cells, wide, table.columns, strict=True)
        ]
        return f"  {'  '.join(parts)}".rstrip()

    out = [f"{table.heading}{f': {table.remark}' if table.remark else ''}"]
    out += [line([c.head for c in table.columns])] if any(c.head for c in table.columns) else []
    for s in table.sections:
        out += [f"  {s.heading}{f': {s.remark}' if s.remark else ''}"] if s.heading else []
        out += [line(r) for r in (*s.rows, s.total) if r]
    out += [line(table.total)] if table.total else []
    return [*out, *(f"  {text}" for text in table.notes)]


def safety(pieces: Sequence[Piece]) -> str:
    """The cautions of a job, each once."""
    return "\n".join([tr("Cautions:"), *(f"  {text}" for text in findings.cautions(pieces))])


def patterns(patterns: Sequence[Pattern]) -> str:
    """The list of patterns with what each needs measured."""
    lines = []
    for r in patterns:
        lines.append(f"{r.name}: {r.title}. {r.about}")
        lines.append(tr("    measure the {what}: {how}", what=r.measure.called, how=r.measure.how))
        lines.append(
            tr(
                "    as it comes: {width} wide, leather {low}",
                width=format_mm(r.strap.width),
                low=format_mm(r.leather.low, 2),
            )
            + (tr(" to {high}", high=format_mm(r.leather.high, 2)) if r.leather.high > r.leather.low else "")
            + (tr(", {strands} strands", strands=r.braid.strands) if r.braid.strands > 1 else tr(", not braided"))
        )
    return "\n".join(lines)
