"""What stands at one spot of a strap, in words: the hole under a finger, the slit, the stop, the fold, the braid."""

from __future__ import annotations

from dataclasses import dataclass

from strapwork.catalogue import tr, trn
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
        return tr("{x} from the start's raw end", x=format_length(x, units))
    return tr("{length} from the finish's raw end", length=format_length(length - x, units))


def _lettered(here: tuple[Place, ...], x: float, name: str) -> str:
    letter = places.letter(here, x)
    return f"{letter}: {name}" if letter else name


def _braid(piece: Piece, here: tuple[Place, ...], units: str) -> list[Spot]:
    form, fit = piece.fit.braid, piece.fit
    if form is None or piece.plan is None:
        return []
    sets = trn(
        "{sets} set of {turns_per_set} turns",
        "{sets} sets of {turns_per_set} turns",
        form.sets,
        sets=form.sets,
        turns_per_set=piece.plan.plait.turns_per_set,
    )
    more = tr(
        "{sets}; strands {slit_end} long braid to {finished}, {width} wide",
        sets=sets,
        slit_end=format_length(fit.slit_end - fit.slit_start, units),
        finished=format_length(form.finished, units),
        width=format_length(form.width, units),
    )
    return [
        Spot(
            "braid",
            tr("Braid of {strands} strands", strands=piece.strands),
            more,
            (fit.slit_start, 0, fit.slit_end, piece.strap.width),
        )
    ]


def _keepers(piece: Piece, units: str) -> list[Spot]:
    out = []
    for p in piece.strap.footprints:
        if p.what == "keeper":
            box = p.shape.box()
            out.append(
                Spot(
                    "keeper",
                    tr("Keeper"),
                    tr("its middle {from_end}", from_end=_from_end(piece, (box[0] + box[2]) / 2.0, units)),
                    box,
                )
            )
    return out


def _slits(piece: Piece, here: tuple[Place, ...], units: str) -> list[Spot]:
    slits, out = piece.strap.slits, []
    for k, s in enumerate(slits, start=1):
        name = tr("Slit {k} of {slits}", k=k, slits=len(slits)) if len(slits) > 1 else tr("Slit")
        at = places.slits(piece)
        more = tr(
            "{at}{length} long, {y0} from the lower edge",
            at=f"{at}, " if at else "",
            length=format_length(s.x1 - s.x0, units),
            y0=format_length(s.y0, units),
        )
        out.append(Spot("slit", name, more, (s.x0, s.y0 - SLIVER, s.x1, s.y0 + SLIVER)))
    return out


def _stops(piece: Piece, here: tuple[Place, ...], units: str) -> list[Spot]:
    if not piece.strap.slits:
        return []
    w, out = piece.strap.width, []
    for x in (piece.fit.slit_start, piece.fit.slit_end):
        name = _lettered(here, x, tr("slits stop"))
        out.append(Spot("stop", name, _from_end(piece, x, units), (x - SLIVER, 0.0, x + SLIVER, w)))
    return out


def _folds(piece: Piece, here: tuple[Place, ...], units: str) -> list[Spot]:
    out = []
    for m in piece.strap.marks:
        if m.kind == "fold":
            x = m.line.x0
            name = _lettered(here, x, tr("fold"))
            out.append(Spot("fold", name, _from_end(piece, x, units), (x - SLIVER, 0.0, x + SLIVER, piece.strap.width)))
    return out


def _holes(piece: Piece, here: tuple[Place, ...], units: str) -> list[Spot]:
    out = []
    for h in piece.strap.holes:
        place = _from_end(piece, h.x, units)
        off = h.y - piece.strap.width / 2.0
        if abs(off) > 0.05:
            place += tr(
                ", {off} {side} the middle",
                off=format_length(abs(off), units),
                side=tr("above") if off > 0 else tr("below"),
            )
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
        return tr(
            "slot {length} × {size} for the {purpose}",
            length=format_length(h.length, units),
            size=size,
            purpose=tr(h.purpose),
        )
    if h.purpose == "relief":
        return tr("round hole {size} at the slit's end", size=size)
    if h.purpose == "adjustment":
        row = sorted(o.x for o in piece.strap.holes if o.end == h.end and o.purpose == "adjustment")
        return tr("hole {index} of {row} in the row, {size}", index=row.index(h.x) + 1, row=len(row), size=size)
    return (
        tr("{purpose} hole {size}", purpose=tr(h.purpose), size=size)
        if "hole" not in h.purpose
        else f"{tr(h.purpose)} {size}"
    )


def _set_here(piece: Piece, h: Hole) -> list[str]:
    """The hardware that goes through a hole."""
    part = "buckle" if h.is_slot else h.purpose
    return [hardware.fitting(f) for f in piece.strap.fittings if f.end == h.end and f.part == part and f.size]
