"""A pattern tried before it is trusted: made at many sizes from its least to its most, in either hand.

Where a size has no room for the braid, the strap has to go plain; what can be
made neither way, has a ``stop`` among its findings, or shows something that no
step deals with, is trouble.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from strapwork.catalogue import tr
from strapwork.errors import InputError, Place
from strapwork.files.folders import Places
from strapwork.order import doors
from strapwork.piece.companions import with_companions
from strapwork.piece.piece import Piece
from strapwork.say import steps
from strapwork.stock import patterns
from strapwork.stock.patterns import Pattern
from strapwork.units import format_mm

SIZES = 9


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of one pattern: how many pieces were worked out, of which sizes (mm), and the trouble, a sentence each."""

    name: str
    pieces: int
    least: float
    most: float
    trouble: tuple[str, ...]

    def words(self) -> list[str]:
        """For the terminal: the pattern in a line, and each trouble under it."""
        if not self.pieces:
            return [tr("{name}: cannot be used.", name=self.name), *(f"    {t}" for t in self.trouble)]
        span = tr(
            "{pieces} pieces from {least} to {most}, either hand",
            pieces=self.pieces,
            least=format_mm(self.least),
            most=format_mm(self.most),
        )
        return [
            f"{self.name}: {span}:"
            if self.trouble
            else tr("{name}: {span}, nothing wrong.", name=self.name, span=span),
            *(f"    {t}" for t in self.trouble),
        ]


def all_patterns(extra: Path | None = None) -> list[Tried]:
    """Every pattern, ours and the maker's own; one that cannot be read is trouble like any other."""
    out = []
    for name, path in sorted(patterns.files(extra).items()):
        try:
            out.append(of_pattern(patterns.load(path), extra))
        except InputError as e:
            out.append(Tried(name, 0, 0.0, 0.0, (str(e),)))
    return out


def sizes(pattern: Pattern) -> list[float]:
    """Measures in mm from the pattern's least to its most, each larger than the last by the same share."""
    least, most = pattern.measure.least, pattern.measure.most
    return [least * (most / least) ** (k / (SIZES - 1)) for k in range(SIZES - 1)] + [most]


def of_pattern(pattern: Pattern, extra: Path | None = None) -> Tried:
    """Work one pattern out at every size, in either hand."""
    found: list[tuple[str, float]] = []
    tried = 0
    for mm in sizes(pattern):
        for hand in ("right", "left"):
            made, refused = _made(pattern.name, mm, hand, extra)
            tried += len(made)
            found += [(what, mm) for what in ([refused] if refused else _undone(made))]
    trouble = []
    # The same trouble at several sizes, whose numbers differ, is said once.
    for _, rows in groupby(sorted(found, key=_kind), key=_kind):
        same = sorted(rows, key=lambda f: f[1])
        first, last = format_mm(same[0][1]), format_mm(same[-1][1])
        trouble.append(
            tr(
                "at {first}: {same}",
                first=first if first == last else tr("{first} to {last}", first=first, last=last),
                same=same[0][0],
            )
        )
    return Tried(pattern.name, tried, pattern.measure.least, pattern.measure.most, tuple(trouble))


def _kind(found: tuple[str, float]) -> str:
    return re.sub(r"[0-9][0-9.,/ ]*", "", found[0])


def _made(name: str, mm: float, hand: str, extra: Path | None) -> tuple[Sequence[Piece], str]:
    """The pieces of one order, braided or else plain, and why there is none."""
    asked = {"pattern": name, "measure": f"{mm:.4f} mm", "hand": hand}
    place = Place.part(name)
    try:
        return with_companions(doors.of_texts(asked, place, Places(extra)).orders[0]), ""
    except InputError as e:
        refused = f"{e.problem}; {e.remedy}"
    try:
        return with_companions(doors.of_texts({**asked, "sets": "0"}, place, Places(extra)).orders[0]), ""
    except InputError:
        return (), refused


def _undone(pieces: Sequence[Piece]) -> Iterator[str]:
    """What is drawn on the strap and no step deals with."""
    dealt = [d for s in steps.steps(pieces[0], pieces[1:]) for d in s.deals]
    strap = pieces[0].strap
    for what, features in (
        (tr("the outline"), (strap.outline,)),
        (tr("a slit"), strap.slits),
        (tr("a hole"), strap.holes),
        (tr("a mark"), strap.marks),
        (tr("a place of hardware"), strap.footprints),
        (tr("a piece of hardware"), strap.fittings),
        (tr("a companion"), tuple(pieces[1:])),
    ):
        if any(f not in dealt for f in features):
            yield tr("{what} has no step at the bench; report it, the pattern is drawn but not explained", what=what)
