"""What stands at one spot of a strap, in words: the hole under a finger, the slit, the stop, the fold, the braid."""

from __future__ import annotations

from dataclasses import dataclass

from strapwork.geometry.shape import Box
from strapwork.piece.piece import Piece
from strapwork.piece.strap import Hole
from strapwork.say import hardware, places
from strapwork.say.places import Place
from strapwork.units import format_length

SLIVER = 0.75  # mm to either side of a line, so that its box has a width


@dataclass(frozen=True, slots=True)
class Spot:
    """One thing on a strap that answers for itself.

    Attributes:
        kind: ``braid``, ``keeper``, ``slit``, ``stop``, ``fold`` or ``hole``.
        name: what it is, e.g. ``A: snap hole 3.2 mm``.
        more: where it is and what belongs there.
        box: where it lies, in strap mm.
    """

    kind: str
    name: str
    more: str
    box: Box

    @property
    def words(self) -> str:
        """Name and the rest as one line."""
        return f"{self.name}, {self.more}" if self.more else self.name


def of(piece: Piece, units: str) -> list[Spot]:
    """Every spot of a strap; areas first, so that what lies on them comes after."""
    here = places.of(piece)
    return [
        *_braid(piece, here, units),
        *_keepers(piece, units),
        *_slits(piece, here, units),
        *_stops(piece, here, units),
        *_folds(piece, here, units),
        *_holes(piece, here, units),
    ]


def _from_end(piece: Piece, x: float, units: str) -> str:
    """The distance from the nearer raw end."""
    length = piece.strap.length
    if x <= length / 2.0:
        return f"{format_length(x, units)} from the start's raw end"
    return f"{format_length(length - x, units)} from the finish's raw end"


def _lettered(here: tuple[Place, ...], x: float, name: str) -> str:
    letter = places.letter(here, x)
    return f"{letter}: {name}" if letter else name


def _braid(piece: Piece, here: tuple[Place, ...], units: str) -> list[Spot]:
    form, fit = piece.fit.braid, piece.fit
    if form is None or piece.plan is None:
        return []
    sets = f"{form.sets} set{'s' if form.sets > 1 else ''} of {piece.plan.plait.turns_per_set} turns"
    more = (
        f"{sets}; strands {format_length(fit.slit_end - fit.slit_start, units)} long braid to "
        f"{format_length(form.finished, units)}, {format_length(form.width, units)} wide"
    )
    return [
        Spot("braid", f"Braid of {piece.strands} strands", more, (fit.slit_start, 0, fit.slit_end, piece.strap.width))
    ]


def _keepers(piece: Piece, units: str) -> list[Spot]:
    out = []
    for p in piece.strap.footprints:
        if p.what == "keeper":
            box = p.shape.box()
            out.append(Spot("keeper", "Keeper", f"its middle {_from_end(piece, (box[0] + box[2]) / 2.0, units)}", box))
    return out


def _slits(piece: Piece, here: tuple[Place, ...], units: str) -> list[Spot]:
    slits, out = piece.strap.slits, []
    for k, s in enumerate(slits, start=1):
        name = f"Slit {k} of {len(slits)}" if len(slits) > 1 else "Slit"
        at = places.slits(piece)
        more = (
            f"{f'{at}, ' if at else ''}{format_length(s.x1 - s.x0, units)} long, "
            f"{format_length(s.y0, units)} from the lower edge"
        )
        out.append(Spot("slit", name, more, (s.x0, s.y0 - SLIVER, s.x1, s.y0 + SLIVER)))
    return out


def _stops(piece: Piece, here: tuple[Place, ...], units: str) -> list[Spot]:
    if not piece.strap.slits:
        return []
    w, out = piece.strap.width, []
    for x in (piece.fit.slit_start, piece.fit.slit_end):
        name = _lettered(here, x, "slits stop")
        out.append(Spot("stop", name, _from_end(piece, x, units), (x - SLIVER, 0.0, x + SLIVER, w)))
    return out


def _folds(piece: Piece, here: tuple[Place, ...], units: str) -> list[Spot]:
    out = []
    for m in piece.strap.marks:
        if m.kind == "fold":
            x = m.line.x0
            name = _lettered(here, x, "fold")
            out.append(Spot("fold", name, _from_end(piece, x, units), (x - SLIVER, 0.0, x + SLIVER, piece.strap.width)))
    return out


def _holes(piece: Piece, here: tuple[Place, ...], units: str) -> list[Spot]:
    out = []
    for h in piece.strap.holes:
        place = _from_end(piece, h.x, units)
        off = h.y - piece.strap.width / 2.0
        if abs(off) > 0.05:
            place += f", {format_length(abs(off), units)} {'above' if off > 0 else 'below'} the middle"
        what = "; ".join(dict.fromkeys(_set_here(piece, h)))
        out.append(
            Spot(
                "hole",
                _lettered(here, h.x, _hole(piece, h, units)),
                f"{place}{f'; {what}' if what else ''}",
                h.shape().box(),
            )
        )
    return out


def _hole(piece: Piece, h: Hole, units: str) -> str:
    size = format_length(h.diameter, units)
    if h.is_slot:
        return f"slot {format_length(h.length, units)} × {size} for the {h.purpose}"
    if h.purpose == "relief":
        return f"round hole {size} at the slit's end"
    if h.purpose == "adjustment":
        row = sorted(o.x for o in piece.strap.holes if o.end == h.end and o.purpose == "adjustment")
        return f"hole {row.index(h.x) + 1} of {len(row)} in the row, {size}"
    return f"{h.purpose} hole {size}" if "hole" not in h.purpose else f"{h.purpose} {size}"


def _set_here(piece: Piece, h: Hole) -> list[str]:
    """The hardware that goes through a hole."""
    part = "buckle" if h.is_slot else h.purpose
    return [hardware.fitting(f) for f in piece.strap.fittings if f.end == h.end and f.part == part and f.size]
