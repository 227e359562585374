"""Finished pieces teach: what the length of a made piece says of its leather's take-up.

What a piece was cut to is in its ``numbers.json``; the maker measures how long
it came out.  The cut, the plain ends and what runs round a bar are given, so
whatever the finished piece is shorter than meant, the braid ate more than
meant:

    y = take-up allowed for + (finished length meant - finished length measured)

Beside it stands m, what the model (:mod:`strapwork.braid.geometry`) says of a
braid of the length that it came out at.  It is worked out afresh from the
strands, turns, sets and thickness that the numbers tell, so that the numbers of
an older version of the tool, whose model said less, teach the same as new ones.
"""

from __future__ import annotations

import difflib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, NoReturn

from pydantic import BaseModel, ConfigDict, Field

from strapwork.braid import geometry
from strapwork.braid.geometry import Plait
from strapwork.braid.word import MOST_STRANDS, parse_turns
from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files import schema
from strapwork.stock.learned import Learned, Measured
from strapwork.stock.leather import Leather
from strapwork.units import Thickness, format_mm

LARGEST_FILE = 50_000_000
# Measured over modelled take-up outside of which another length was measured, not the finished one: common
# practice, no source.  Wider than any leather (see the prior in stock/take_up.py), and narrow enough to tell the
# wrist from a wristband round it.
LEAST_RATIO, MOST_RATIO = 0.25, 3.0

_OURS = tr("name the numbers.json that the sheets came with")


class _Part(BaseModel):
    """Part of ``numbers.json``: other keys are none of our business here."""

    model_config = ConfigDict(extra="ignore", frozen=True, str_max_length=4000, defer_build=True)


_Mm = Field(gt=0, le=100_000, allow_inf_nan=False)


class _Fit(_Part):
    finished_mm: float = _Mm
    take_up_mm: float = Field(ge=0, le=100_000, allow_inf_nan=False)
    reference_to_reference_mm: float = _Mm
    cut_length_mm: float = _Mm


class _Braid(_Part):
    strands: int = Field(ge=2, le=MOST_STRANDS)
    sets: int = Field(ge=1, le=500)
    turns: tuple[str, ...] = Field(min_length=1, max_length=4000)
    braided_mm: float = _Mm


class _Strap(_Part):
    width_mm: float = _Mm


class _Leather(_Part):
    name: str = ""
    thickness_mm: float = Field(ge=0.3, le=12, allow_inf_nan=False)
    thickness_low_mm: float | None = Field(default=None, ge=0.3, le=12, allow_inf_nan=False)
    thickness_high_mm: float | None = Field(default=None, ge=0.3, le=12, allow_inf_nan=False)
    backing_mm: float = Field(default=0.0, ge=0, le=12, allow_inf_nan=False)

    @property
    def thickness(self) -> Thickness:
        return Thickness(self.thickness_low_mm or self.thickness_mm, self.thickness_high_mm or self.thickness_mm)


class _Piece(_Part):
    label: str
    count: int = Field(ge=1, le=100_000)
    measure_mm: float = _Mm
    leather: _Leather
    fit: _Fit
    strap: _Strap
    braid: _Braid | None


class _Numbers(_Part):
    strapwork: str
    units: Literal["mm"]
    pieces: tuple[_Piece, ...] = Field(min_length=1, max_length=100_000)


@dataclass(frozen=True, slots=True)
class Cut:
    """A piece as it was cut; lengths in mm.

    Attributes:
        label: what it is called.
        count: how many of it were to be cut.
        leather: name of its leather; empty where only a thickness was given.
        thickness: of the leather.
        measure: what was measured for it, such as the wrist.
        finished: reference to reference, as meant.
        reference_to_reference: the same as cut.
        length: raw end to raw end.
        take_up: what was allowed for the braid.
        braided: length of the braid as meant.
        plait, sets: the braid.
        strand: width of a strand.
        worn: thickness with what is glued on.
    """

    label: str
    count: int
    leather: str
    thickness: Thickness
    measure: float
    finished: float
    reference_to_reference: float
    length: float
    take_up: float
    braided: float
    plait: Plait
    sets: int
    strand: float
    worn: float

    def modelled_at(self, braided: float) -> float:
        """Modelled take-up in mm if the braid comes out ``braided`` mm long; at the jam where that is shorter."""
        form = geometry.from_finished(self.plait, self.strand, self.worn, self.sets, braided)
        if form is not None:
            return form.take_up
        length, slit = geometry.jam(self.plait, self.strand, self.worn, self.sets)
        return slit - length


def read(path: Path, name: str | None) -> Cut:
    """A piece of a ``numbers.json``.

    Args:
        path: the file, or the folder that it is in.
        name: the label of the piece, or its number in the file; None where the file holds one braided piece.

    Raises:
        InputError: for a file that cannot be read, a piece that is not in it, and a piece that is not braided.
    """
    file = path / "numbers.json" if path.is_dir() else path
    try:
        raw = file.read_bytes() if file.stat().st_size <= LARGEST_FILE else None
    except OSError as e:
        raise InputError(str(file), tr("the numbers cannot be read ({strerror})", strerror=e.strerror), _OURS) from e
    if raw is None:
        raise InputError(str(file), tr("the file is larger than 50 MB"), _OURS)
    return parse(raw, name, str(file))


def parse(raw: bytes, name: str | None, file: str) -> Cut:
    """:func:`read` for the bytes of a file, which ``file`` names in messages."""
    pieces = _numbers(raw, file).pieces
    k = _index(pieces, name, file)
    p = pieces[k]
    if p.braid is None or p.fit.take_up_mm <= 0:
        raise InputError(
            f"{file}, {shown(p.label)}",
            tr("this is a plain strap: it has no braid to learn from"),
            tr("name a braided piece"),
        )
    turns = parse_turns(" ".join(p.braid.turns), p.braid.strands, f"{file}, {shown(p.label)}, turns")
    plait = geometry.plait_of(p.braid.strands, turns)
    return Cut(
        p.label,
        p.count,
        p.leather.name,
        p.leather.thickness,
        p.measure_mm,
        p.fit.finished_mm,
        p.fit.reference_to_reference_mm,
        p.fit.cut_length_mm,
        p.fit.take_up_mm,
        p.braid.braided_mm,
        plait,
        p.braid.sets,
        p.strap.width_mm / p.braid.strands,
        p.leather.thickness_mm + p.leather.backing_mm,
    )


def _numbers(raw: bytes, file: str) -> _Numbers:
    try:
        data: Any = json.loads(raw.decode("utf-8-sig"), parse_constant=_no_constant)
    except (ValueError, RecursionError) as e:
        raise InputError(file, tr("this is no JSON"), _OURS) from e
    if not isinstance(data, dict) or "pieces" not in data or "strapwork" not in data:
        raise InputError(file, tr("this holds no pieces of ours"), _OURS)
    return schema.check(_Numbers, data, file)


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _index(pieces: tuple[_Piece, ...], name: str | None, file: str) -> int:
    labels = [p.label for p in pieces]
    braided = [k for k, p in enumerate(pieces) if p.braid is not None]
    if name is None:
        if len(braided) == 1:
            return braided[0]
        raise InputError(
            file,
            tr("{braided} braided pieces are in it", braided=len(braided))
            if braided
            else tr("no braided piece is in it"),
            tr("name one: {some}", some=_some([labels[k] for k in braided])) if braided else tr("choose another file"),
        )
    wanted = _plain(name)
    found = [k for k, label in enumerate(labels) if _plain(label) == wanted]
    if len({pieces[k] for k in found}) == 1:
        return found[0]
    if found:
        raise InputError(
            f"{file}, {shown(name)}",
            tr("{found} different pieces are called that", found=len(found)),
            tr("give its number in the file instead: {found}", found=tr(" or ").join(str(k + 1) for k in found)),
        )
    if name.strip().isascii() and name.strip().isdigit() and 1 <= int(name.strip()[:9]) <= len(pieces):
        return int(name) - 1
    near = difflib.get_close_matches(wanted, [_plain(x) for x in labels], 1, 0.5)
    remedy = (
        tr("did you mean '{labels}'", labels=next(x for x in labels if _plain(x) == near[0]))
        if near
        else tr("it has {some}", some=_some(labels))
    )
    raise InputError(file, tr("no piece is called {name}", name=shown(name)), remedy)


def _plain(label: str) -> str:
    """A label as it is compared: the card leaves quotation marks out, and spaces and case say nothing."""
    return " ".join(label.replace('"', "").split()).casefold()


def _some(labels: list[str], most: int = 6) -> str:
    more = tr(" and {labels} more", labels=len(labels) - most) if len(labels) > most else ""
    return ", ".join(f"'{x}'" for x in labels[:most]) + more


def lesson(cut: Cut, finished: float, date: str, place: str = "--measured") -> Measured:
    """What a made piece taught.

    Args:
        cut: the piece as cut.
        finished: reference to reference on the finished piece, in mm, as measured.
        date: the day, as ``2026-05-02``.
        place: of the measured length, for messages.

    Raises:
        InputError: when no braid can have eaten that, with what may have been measured instead.
    """
    measured = cut.take_up + cut.finished - finished
    model = cut.modelled_at(cut.braided + finished - cut.finished)
    if measured > 0 and LEAST_RATIO <= measured / model <= MOST_RATIO:
        return Measured(cut.label[:80], model, measured, date, made=True, cut=cut.length)
    ate = (
        tr(
            "the braid would have eaten {measured} where the model says {model}",
            measured=format_mm(measured),
            model=format_mm(model),
        )
        if measured > 0
        else tr("the braid would have eaten nothing")
    )
    raise InputError(
        place,
        tr("with {finished}, {ate}", finished=format_mm(finished), ate=ate),
        tr(
            "measure along the finished piece between its reference points; it was to come out at {finished}{instead}",
            finished=format_mm(cut.finished),
            instead=_instead(cut, finished),
        ),
    )


def _instead(cut: Cut, finished: float) -> str:
    """Which other length of the piece that is, if it is one."""
    others = (
        (cut.length, tr("the overall cut length")),
        (cut.reference_to_reference, tr("the length as cut")),
        (cut.measure, tr("the measure it was made for")),
    )
    near = [what for mm, what in others if abs(mm - finished) <= max(1.0, 0.005 * mm)]
    return tr(" ({finished} is {near})", finished=format_mm(finished), near=near[0]) if near else ""


def refuse_other_leather(cut: Cut, leather: Leather, place: str) -> None:
    """Refuse a piece whose leather is clearly not the one on the shelf."""
    have, piece = leather.thickness, cut.thickness
    if piece.high < 0.8 * have.low or piece.low > 1.25 * have.high:
        raise InputError(
            place,
            tr(
                "{name} is {thick} thick, but the piece was worked out for {thick2}",
                name=shown(leather.name),
                thick=_thick(have),
                thick2=_thick(piece),
            ),
            tr("name the leather that it was cut from"),
        )


def _thick(t: Thickness) -> str:
    return (
        tr("{low} to {high}", low=format_mm(t.low, 2), high=format_mm(t.high, 2))
        if t.high > t.low
        else format_mm(t.mid, 2)
    )


def words(strap: Measured, name: str, before: Learned | None, after: Learned) -> str:
    """What a piece changed, for the terminal."""
    was = f"{before.factor:.3f}" if before else "1"
    low, high = after.band(strap.model)
    return tr(
        "'{what}' ate {measured} where the model says {model}.\n"
        "Take-up of {name}: {factor:.3f} times the model (before: {was}), from {many}.\n"
        "The next one like it should eat {model2}; "
        "95 of 100 straps {low} to {high}.",
        what=strap.what,
        measured=format_mm(strap.measured),
        model=format_mm(strap.model),
        name=name,
        factor=after.factor,
        was=was,
        many=after.many(),
        model2=format_mm(strap.model * after.factor),
        low=format_mm(low),
        high=format_mm(high),
    )
