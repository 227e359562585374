"""The numbers of a card's table: one row a piece, the columns that its goods need."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from strapwork.catalogue import tr
from strapwork.piece.piece import Piece
from strapwork.say import places
from strapwork.units import format_length


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its head, a value a row, and whether the hand needs the number (large) or not."""

    head: str
    values: tuple[str, ...]
    large: bool = True


def unit(units: str) -> str:
    """``mm`` or ``inches``, for the head of the table."""
    return tr("inches") if units.startswith("in") else "mm"


def number(mm: float, units: str) -> str:
    """A length without its unit, as it stands in the table."""
    return format_length(mm, units).removesuffix(" mm").removesuffix(" in")


def columns(rows: Sequence[Piece], units: str) -> list[Column]:
    """The columns for pieces of one pattern and braid, each of them and then its companions in a row."""

    def each(head: str, values: Sequence[str], *, large: bool = True) -> Column:
        return Column(head, tuple(values), large)

    main = [p.pattern.name == rows[0].pattern.name for p in rows]
    mains = [p for p, m in zip(rows, main, strict=True) if m]

    def own(head: str, value: Callable[[Piece], str], *, large: bool = True) -> Column:
        """A column that companions leave empty."""
        return each(head, [value(p) if m else "" for p, m in zip(rows, main, strict=True)], large=large)

    out = [each(tr("for"), [p.label + (f"  × {p.count}" if p.count > 1 else "") for p in rows], large=False)]
    # A named leather is told by its name; how thick it is stands under what to have ready.
    if len({p.leather.words() for p in mains}) > 1:
        out.append(own(tr("leather"), lambda p: p.leather.name or p.leather.words(), large=False))
    if len({p.hand for p in mains}) > 1:
        out.append(own(tr("hand"), lambda p: tr(p.hand) if p.plan else "", large=False))
    out.append(own(rows[0].pattern.measure.called, lambda p: number(p.value, units), large=False))
    out.append(each(tr("cut"), [number(p.fit.cut_length, units) for p in rows]))
    span = places.span(mains[0])
    if span != tr("as cut"):
        out.append(own(span, lambda p: number(p.fit.reference_to_reference, units)))
    if mains[0].strap.slits:
        stops = [
            tr(
                "{slit_start} to {slit_end}",
                slit_start=number(p.fit.slit_start, units),
                slit_end=number(p.fit.slit_end, units),
            )
            if p.strap.slits
            else ""
            for p in rows
        ]
        out.append(each(tr("slits {slits}", slits=places.slits(mains[0])), stops))
        out.append(each(tr("sets"), [str(p.fit.braid.sets) if p.fit.braid else "" for p in rows]))
        out.append(each(tr("one set"), [number(p.fit.braid.set_length, units) if p.fit.braid else "" for p in rows]))
    out.append(own(tr("finished"), lambda p: number(p.fit.finished, units)))
    return out
