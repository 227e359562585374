"""A finished piece, measured, put on the shelf under its leather, and taken back again.

The command ``strapwork made`` and the page's field for finished pieces are both this.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.piece import made
from strapwork.piece.made import Cut
from strapwork.stock import record, shelf
from strapwork.stock.learned import Learned, Measured
from strapwork.stock.leather import Leather, thickness_text

OPTION = "--{}"  # how the command line names what is given; the page names its fields


@dataclass(frozen=True, slots=True)
class Taught:
    """What a piece taught: the leather's name, the strap as kept, and what was known before and is known after."""

    leather: str
    cut: Cut
    strap: Measured
    before: Learned | None
    after: Learned
    is_new: bool

    def words(self) -> str:
        """What it changed."""
        return made.words(self.strap, self.leather, self.before, self.after)

    def new(self) -> str:
        """That the leather is new on the shelf; empty where it is not."""
        thick = thickness_text(self.cut.thickness)
        return tr(" The leather is new there, {thick} thick.", thick=thick) if self.is_new else ""


def teach(
    path: Path,
    cut: Cut,
    finished: float,
    leather: str | None,
    date: str | None,
    *,
    another: bool = False,
    places: str = OPTION,
) -> Taught:
    """Add a finished piece to its leather.

    Args:
        path: the shelf.
        cut: the piece as it was cut.
        finished: between its reference points, in mm, as measured.
        leather: name of its leather; None for the one that the piece names.
        date: the day it was measured, as ``2026-05-02``; None for today.
        another: whether it is one more than its numbers were to be cut.
        places: how what was given is named in messages.

    Raises:
        InputError: for what cannot be, naming what was given; the shelf is then as it was.
    """
    name, kept = _leather(leather, cut, path, places.format("leather"))
    strap = made.lesson(cut, finished, _day(date, places.format("date")), places.format("measured"))
    shelf.store_made(path, name, strap, None if another else cut.count, cut.thickness)
    after = shelf.find(name, places.format("leather"), path).learned
    assert after is not None  # it holds the piece just stored
    return Taught(name, cut, strap, kept.learned if kept else None, after, kept is None)


def _leather(asked: str | None, cut: Cut, path: Path, place: str) -> tuple[str, Leather | None]:
    """Name of the leather to teach, and the leather where it is on the shelf already."""
    kept = shelf.read(path)
    name = asked if asked is not None else cut.leather
    if asked is None and name not in kept:
        what = (
            tr("its leather {name} is not on {path}", name=shown(name), path=path)
            if name
            else tr("{label} does not say its leather", label=shown(cut.label))
        )
        raise InputError(
            place, what, tr("say {place} and a name; one that is not on the shelf yet is put there", place=place)
        )
    shelf.check_name(name, place)
    leather = kept.get(name)
    if leather is not None:
        made.refuse_other_leather(cut, leather, place)
    return name, leather


def _day(text: str | None, place: str) -> str:
    today = datetime.date.today()
    if text is None:
        return today.isoformat()
    day = record.parse_day(text, place)
    if day > (today + datetime.timedelta(days=1)).isoformat():
        raise InputError(place, tr("{day} has not come yet", day=shown(day)), tr("give the day the piece was measured"))
    return day


def take_back(path: Path, name: str | None, place: str = "--leather") -> str:
    """Take the finished piece that was added last to a leather off the shelf; returns what is so now, in words.

    ``name`` may be left out where only one leather has finished pieces.
    """
    if name is None:
        taught = [k for k, leather in shelf.read(path).items() if leather.learned and leather.learned.pieces]
        if len(taught) != 1:
            raise InputError(
                place,
                tr("{taught} leathers have finished pieces", taught=len(taught))
                if taught
                else tr("no finished piece is on {path}", path=path),
                tr("say which: {taught}", taught=", ".join(taught)) if taught else tr("there is nothing to take back"),
            )
        name = taught[0]
    what = shelf.undo_made(path, name, place)
    left = shelf.find(name, place, path).learned
    now = (
        tr("{factor:.3f} times the model, from {many}", factor=left.factor, many=left.many())
        if left
        else tr("the model's own")
    )
    return tr("Took back {what}. Take-up of {name}: {now}.", what=what, name=name, now=now)
