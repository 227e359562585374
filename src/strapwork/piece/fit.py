"""From a measure to three lengths, line by line.

Three lengths are kept apart, because mixing them up is the trade's classic
mistake:

* **finished**: from reference point to reference point on the finished piece,
  along the middle of its thickness;
* **reference to reference as cut**: the same points on the flat strap before
  braiding, with what braiding and turning eat;
* **cut length**: the whole strap from raw end to raw end.

Round a girth G with ease E, a band of worn thickness T has a mid-line of
G + E + pi T: a circle of circumference C has radius C / 2 pi, and half a
thickness further out is pi T longer.  Where T changes along the band, each part
counts with its share of the turn, that is with its share of the length:

    L = G + E + pi * sum(length_i * T_i) / L

with one layer where the strap is plain, two where it is braided and two where a
snapped end lies over the other.

A strap turned back round a bar of diameter d runs a quarter circle of radius
(d + t) / 2 from the bar's middle line to the fold: pi (d + t) / 4.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from strapwork.braid import geometry
from strapwork.braid.geometry import BraidForm, Plait
from strapwork.catalogue import marked, tr, trn
from strapwork.errors import InputError
from strapwork.stock.patterns import End, Measure
from strapwork.units import display_step, format_column, say, say_thin

if TYPE_CHECKING:
    from strapwork.stock.learned import Learned


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the breakdown: what, how much in mm, and why."""

    what: str
    mm: float
    why: str


@dataclass(frozen=True, slots=True)
class FitEnd:
    """What the fit needs of one end: the pattern's end and the bar it turns round (mm)."""

    end: End
    bar: float = 0.0

    def beyond(self, thickness: float) -> float:
        """How far in mm the measure reaches beyond the middle of the fold, where it ends outside of it."""
        turned = self.end.meets == "turned" and self.end.measured_to == "outside"
        return self.bar / 2.0 + thickness if turned else 0.0

    def turn(self, thickness: float) -> float:
        """Strap used between the bar's middle line and the fold, in mm."""
        return math.pi * (self.bar + thickness) / 4.0 if self.end.meets == "turned" else 0.0


@dataclass(frozen=True, slots=True)
class Fit:
    """The lengths of one piece in mm, and how they came about.

    Attributes:
        rows: the breakdown; its lines add up to ``cut_length``.
        finished, ease, wrap, take_up, turn: see the module docstring.
        reference_to_reference: as cut.
        cut_length: raw end to raw end.
        low, high: the band of the cut length.
        basis: what the band rests on.
        slit_start, slit_end: where the slits run along the strap; equal when there are none.
        braid: the finished braid, None for a plain strap.
        modelled: take-up by the geometry alone, without what was learned of the leather.
    """

    rows: tuple[Row, ...]
    finished: float
    ease: float
    wrap: float
    take_up: float
    turn: float
    reference_to_reference: float
    cut_length: float
    low: float
    high: float
    basis: str
    slit_start: float
    slit_end: float
    braid: BraidForm | None
    modelled: float = 0.0


@dataclass(frozen=True, slots=True)
class Ask:
    """Everything a fit is worked out from; lengths in mm."""

    measure: Measure
    value: float
    ease: float
    start: FitEnd
    finish: FitEnd
    thickness: tuple[float, float, float]
    strand_width: float
    plait: Plait | None
    sets: int
    place: str = "--measure"
    learned: Learned | None = None


def wrapped_length(girth: float, plain: float, overlap: float, braided: bool, thickness: float) -> float:
    """Mid-line length of a band round ``girth`` mm (ease included).

    Args:
        girth: what the inside of the band measures round.
        plain: length of single plain leather in mm.
        overlap: length in mm where one end lies over the other.
        braided: whether the rest is braided.
        thickness: of the leather, in mm.

    Returns:
        The length in mm, the positive root of  L^2 - G L = pi sum(length_i T_i).
    """
    t = thickness
    if braided:
        # Everything that is not plain is two layers thick.
        b, c = girth + 2.0 * math.pi * t, math.pi * t * plain
        return (b + math.sqrt(b * b - 4.0 * c)) / 2.0
    b, c = girth + math.pi * t, math.pi * t * overlap
    return (b + math.sqrt(b * b + 4.0 * c)) / 2.0


def _overlap(ask: Ask) -> float:
    return sum(
        min(e.end.to_tip, e.end.to_slit) if ask.plait else e.end.to_tip
        for e in (ask.start, ask.finish)
        if e.end.meets == "overlap"
    )


def _gaps(ask: Ask) -> float:
    return ask.start.end.gap + ask.finish.end.gap


def finished_length(ask: Ask, thickness: float) -> tuple[float, list[Row]]:
    """Finished reference-to-reference length for a leather of ``thickness`` mm, with its lines."""
    m, t = ask.measure, thickness
    rows = [Row(m.called, ask.value, tr("as measured"))]
    if m.lies == "folded":
        rows.append(Row(tr("the other half"), ask.value, tr("the strap is folded in two and measured once")))
    if ask.ease:
        rows.append(
            Row(
                marked("ease"),
                ask.ease,
                tr("room so that it sits as it should") if ask.ease > 0 else tr("to sit tight"),
            )
        )
    base = math.fsum(r.mm for r in rows)
    braided = ask.plait is not None and ask.sets > 0
    if m.lies == "round":
        margins = ask.start.end.to_slit + ask.finish.end.to_slit
        length = wrapped_length(base, margins - _overlap(ask), _overlap(ask), braided, t)
        mean = (length - base) / math.pi
        rows.append(
            Row(
                marked("wrap"),
                length - base,
                tr("half the thickness further out all round: pi x {mean} mean thickness", mean=say_thin(mean)),
            )
        )
        if _gaps(ask):
            rows.append(Row(marked("join"), -_gaps(ask), tr("spanned by the lace, not by leather")))
    elif m.lies == "folded":
        wire = m.wire or 0.0
        thick = 2.0 * t if braided else t
        rows.append(
            Row(
                marked("fold"),
                math.pi * (wire + thick) / 2.0,
                tr("half a turn round the {wire} wire, {thick} thick", wire=say(wire), thick=say_thin(thick)),
            )
        )
    for e in (ask.start, ask.finish):
        if e.beyond(t):
            rows.append(
                Row(
                    tr("outside of the {reference}", reference=e.end.reference),
                    -e.beyond(t),
                    tr("the measure ends one thickness beyond the fold"),
                )
            )
    if ask.learned and ask.learned.settle and braided:
        # What it should measure when worn in, divided by how much it lengthens.
        now = math.fsum(r.mm for r in rows)
        settle = ask.learned.settle
        rows.append(
            Row(
                marked("settle"),
                now / (1.0 + settle) - now,
                tr("it lengthens by {settle:.1f} % in wear", settle=100 * settle),
            )
        )
    return math.fsum(r.mm for r in rows), rows


def braided_length(ask: Ask, thickness: float) -> float:
    """Length in mm that is left for the finished braid."""
    finished, _ = finished_length(ask, thickness)
    turns = ask.start.turn(thickness) + ask.finish.turn(thickness)
    return finished + turns - ask.start.end.to_slit - ask.finish.end.to_slit


def _cut(ask: Ask, thickness: float, spacing: float, factor: float = 1.0) -> float:
    """Cut length alone, with ``factor`` times the modelled take-up, for the ends of the band."""
    finished, _ = finished_length(ask, thickness)
    total = finished + ask.start.turn(thickness) + ask.finish.turn(thickness)
    total += ask.start.end.to_tip + ask.finish.end.to_tip
    if ask.plait is not None and ask.sets > 0:
        room = braided_length(ask, thickness)
        form = geometry.from_finished(ask.plait, ask.strand_width, thickness, ask.sets, room, spacing)
        # Where the widest spacing would jam, the hand cannot space so wide:
        # the jam itself is then the most the braid can eat.
        _, most = geometry.jam(ask.plait, spacing, thickness, ask.sets)
        total += (form.take_up if form else max(0.0, most - room)) * factor
    return total


def _band(ask: Ask, cut: float, form: BraidForm | None, modelled: float) -> tuple[float, float]:
    """The band of the cut length: from measured straps of the leather where there are any, else the model's own."""
    low_t, _, high_t = ask.thickness
    if form is None or ask.plait is None:
        return min(_cut(ask, low_t, 0.0), cut), max(_cut(ask, high_t, 0.0), cut)
    if ask.learned is None:
        # Drawn up close in the thinnest leather; in the thickest, apart by the thickness of that.
        close = geometry.extremes(ask.plait, ask.strand_width, low_t)[0]
        apart = geometry.extremes(ask.plait, ask.strand_width, high_t)[2]
        ends = [
            _cut(replace(ask, plait=plait), t, spacing) for t, (plait, spacing) in ((low_t, close), (high_t, apart))
        ]
        return min(ends[0], cut), max(ends[1], cut)
    # The thickness still moves the length; what the straps settle is the take-up.
    low, high = (mm / modelled for mm in ask.learned.band(modelled))
    return min(_cut(ask, low_t, ask.strand_width, low), cut), max(_cut(ask, high_t, ask.strand_width, high), cut)


def comfortable_sets(ask: Ask, temper: str) -> int:
    """As many sets as go in comfortably, at least one, for patterns that leave it open.

    Soft leather would take more; unasked it gets no more than medium leather, for every set more is a set to work.
    """
    usual = min(geometry.COMFORTABLE[temper], geometry.COMFORTABLE["medium"])
    assert ask.plait is not None  # callers braid
    t = ask.thickness[1]
    room = braided_length(ask, t)
    sets = 1
    while sets < 500:
        form = geometry.from_finished(ask.plait, ask.strand_width, t, sets + 1, room)
        if form is None or form.angle_deg > usual:
            break
        sets += 1
    return sets


def most_sets(ask: Ask) -> int:
    """The most sets that can be packed before the braid jams; 0 when not even one goes in."""
    assert ask.plait is not None  # callers braid
    t = ask.thickness[1]
    room = braided_length(ask, t)
    spacing = ask.strand_width + t
    sets = 0
    while sets < 500 and geometry.from_finished(ask.plait, ask.strand_width, t, sets + 1, room, spacing):
        sets += 1
    return sets


def work_out(ask: Ask) -> Fit:
    """The fit of one piece.

    Raises:
        InputError: when the margins leave no room for the slits, or the sets jam.
    """
    t = ask.thickness[1]
    finished, rows = finished_length(ask, t)
    turn = 0.0
    for e in (ask.start, ask.finish):
        if e.end.meets == "turned":
            piece = e.turn(t)
            turn += piece
            round_what = tr("the {bar} bar", bar=say(e.bar)) if e.bar else tr("on itself")
            rows.append(
                Row(
                    tr("turn at the {reference}", reference=e.end.reference),
                    piece,
                    tr(
                        "quarter turn {round}{round_what} to the fold",
                        round=tr("round ") if e.bar else "",
                        round_what=round_what,
                    ),
                )
            )
    form: BraidForm | None = None
    take_up = 0.0
    modelled = 0.0
    if ask.plait is not None and ask.sets > 0:
        room = braided_length(ask, t)
        margins = ask.start.end.to_slit + ask.finish.end.to_slit
        if room <= 0:
            raise InputError(
                ask.place,
                tr(
                    "{value} leaves no room for slits between plain ends of {margins} together",
                    value=say(ask.value),
                    margins=say(margins),
                ),
                tr("measure again, shorten the plain ends or make the strap plain"),
            )
        form = geometry.from_finished(ask.plait, ask.strand_width, t, ask.sets, room)
        packed = most_sets(ask)
        if form is None or ask.sets > packed:
            remedy = (
                tr("ask for {packed} or fewer", packed=packed)
                if packed
                else tr("use narrower strands, thinner leather or a plain strap")
            )
            raise InputError(
                ask.place,
                trn(
                    "{sets} set of {strands} strands cannot be packed into {room} of braid",
                    "{sets} sets of {strands} strands cannot be packed into {room} of braid",
                    ask.sets,
                    sets=ask.sets,
                    strands=ask.plait.strands,
                    room=say(room),
                ),
                remedy,
            )
        modelled = form.take_up
        take_up = modelled * (ask.learned.factor if ask.learned else 1.0)
        # With a learned leather the slits are as long as that leather asks for.
        form = replace(form, slit=form.finished + take_up)
        taught = (
            tr(", times {factor:.2f} learned from {many}", factor=ask.learned.factor, many=ask.learned.many())
            if ask.learned
            else ""
        )
        rows.append(
            Row(
                marked("take-up"),
                take_up,
                trn(
                    "{sets} set: strands zigzag at {angle_deg:.1f} degrees and climb over each other{taught}",
                    "{sets} sets: strands zigzag at {angle_deg:.1f} degrees and climb over each other{taught}",
                    ask.sets,
                    sets=ask.sets,
                    angle_deg=form.angle_deg,
                    taught=taught,
                ),
            )
        )
    reference = math.fsum(r.mm for r in rows)
    ends: Sequence[tuple[str, FitEnd]] = (("start", ask.start), ("finish", ask.finish))
    for name, e in ends:
        if e.end.to_tip:
            why = (
                tr("turned back from the {reference}", reference=e.end.reference)
                if e.end.meets == "turned"
                else tr("from the {reference} to the raw end", reference=e.end.reference)
            )
            rows.append(Row(tr("{name} allowance", name=tr(name)), e.end.to_tip, why))
    cut = math.fsum(r.mm for r in rows)
    low, high = _band(ask, cut, form, modelled)
    slit_start = ask.start.end.to_tip + ask.start.end.to_slit
    slit_end = cut - ask.finish.end.to_tip - ask.finish.end.to_slit
    return Fit(
        rows=tuple(rows),
        finished=finished,
        ease=ask.ease,
        wrap=next((r.mm for r in rows if r.what == "wrap"), 0.0),
        take_up=take_up,
        turn=turn + next((r.mm for r in rows if r.what == "fold"), 0.0),
        reference_to_reference=reference,
        cut_length=cut,
        low=low,
        high=high,
        basis=_basis(ask, modelled),
        slit_start=slit_start,
        slit_end=slit_end if form else slit_start,
        braid=form,
        modelled=modelled,
    )


def _basis(ask: Ask, modelled: float) -> str:
    low_t, _, high_t = ask.thickness
    parts = []
    if high_t - low_t > 1e-9:
        parts.append(tr("leather from {low_t} to {high_t}", low_t=say_thin(low_t), high_t=say_thin(high_t)))
    if modelled and ask.learned:
        one = tr("one swatch only") if (ask.learned.swatches, ask.learned.pieces) == (1, 0) else ask.learned.many()
        reach = ask.learned.reach(modelled)
        parts.append(
            tr(
                "{one} of this leather{latest}: 95 % of new straps should fall within it",
                one=one,
                latest=ask.learned.latest(),
            )
        )
        parts += [reach] if reach else []
    elif modelled:
        parts.append(
            tr(
                "strands drawn up close at the low end and kept apart by their own thickness at the high end "
                "(the model's own band; no swatch of this leather)"
            )
        )
    return "; ".join(parts) or tr("nothing in this piece leaves the length open")


def printed(fit: Fit, units: str) -> tuple[list[tuple[Row, str]], str]:
    """The lines of the breakdown as shown, and the cut length as shown.

    Every line is rounded by itself, so that equal lengths print equal; where the rounded lines do not add up to the
    rounded cut length, a last line named rounding carries the difference.
    """
    step = display_step(units)
    steps = [math.floor(r.mm / step + 0.5 + 1e-9) for r in fit.rows]
    total = math.floor(fit.cut_length / step + 0.5 + 1e-9)
    out = [(row, format_column(k * step, units)) for row, k in zip(fit.rows, steps, strict=True)]
    left = total - sum(steps)
    if left:
        out.append(
            (
                Row(marked("rounding"), left * step, tr("left over from rounding each line")),
                format_column(left * step, units),
            )
        )
    return out, format_column(total * step, units)
