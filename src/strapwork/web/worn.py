"""How a piece is worn, to scale: a band round what was measured, a handle standing over the bag."""

from __future__ import annotations

import math
from dataclasses import dataclass

from strapwork.drawing.primitives import Layer, Path, Primitive, Text, line
from strapwork.geometry.shape import Arc, Line
from strapwork.piece.piece import Piece
from strapwork.say import worn as words
from strapwork.units import format_length
from strapwork.web import ink

L = Layer.LABELS


@dataclass(frozen=True, slots=True)
class Worn:
    """The picture as markup and the line of words under it."""

    svg: str
    words: str


def of(piece: Piece, units: str) -> Worn | None:
    """The worn picture of a piece; None where none would say anything."""
    r = piece.pattern
    if r.measure.lies == "round" and piece.fit.finished > 0:
        return _band(piece, units)
    if r.measure.lies == "flat" and "load" in r.hazards and "animal" not in r.hazards:
        return _handle(piece, units)
    return None


def _band(piece: Piece, units: str) -> Worn:
    """A cross-section: what was measured as a circle, and the band round it as thick as it is.

    A circle of circumference C has radius C / 2 pi, and the band's middle line is its finished length and what a lace
    spans of it.
    """
    fit, t = piece.fit, piece.leather.worn[1]
    whole = fit.finished + words.spanned(piece)
    inner, mid = piece.value / (2.0 * math.pi), whole / (2.0 * math.pi)
    size = mid / 5.5
    out: list[Primitive] = [Path((Arc(0.0, 0.0, inner, 0.0, 360.0),), True, L, "tab")]
    half = t if fit.braid else t / 2.0
    # The join is at the top; where one end lies over the other the band is two layers thick, laced ends are apart.
    over, apart = 360.0 * _joined(piece) / whole, 360.0 * _apart(piece) / whole
    join = over or apart
    out += _ring(mid, half, 90.0 + join / 2.0, 360.0 - join, "tone-1")
    if over:
        out += _ring(mid, t, 90.0 - join / 2.0, join, "tone-2")
    elif apart:
        out.append(Path((Arc(0.0, 0.0, mid, 90.0 - join / 2.0, join),), False, L, "edge"))
    out.append(Text(0.0, size * 0.25, piece.pattern.measure.called, size, L, "text", "middle"))
    out.append(Text(0.0, -size, format_length(piece.value, units), size, L, "text-strong", "middle"))
    edge = mid + max(half, t)
    said = words.round_it(piece, units)
    return Worn(ink.inline(tuple(out), said, 2.0, (-edge, -edge, edge, edge)), f"{said}.")


def _apart(piece: Piece) -> float:
    """How far laced ends are from each other, raw end to raw end, in mm."""
    return max(0.0, words.spanned(piece) - piece.pattern.start.to_tip - piece.pattern.finish.to_tip)


def _joined(piece: Piece) -> float:
    """How long one end lies over the other, in mm."""
    r = piece.pattern
    return sum(
        min(e.to_tip, e.to_slit) if piece.fit.braid else e.to_tip for e in (r.start, r.finish) if e.meets == "overlap"
    )


def _ring(mid: float, half: float, start: float, sweep: float, tone: str) -> list[Primitive]:
    """A piece of a ring about the origin."""
    outer, inner = Arc(0.0, 0.0, mid + half, start, sweep), Arc(0.0, 0.0, mid - half, start + sweep, -sweep)
    joined = (outer, Line(*outer.end, *inner.start), inner, Line(*inner.end, *outer.start))
    return [Path(joined, True, L, tone), Path(joined, True, L, "edge")]


def _handle(piece: Piece, units: str) -> Worn:
    """A handle standing as a half circle between where it is fixed."""
    length = piece.fit.finished
    r = length / math.pi
    t = piece.leather.worn[1] * (1.0 if piece.fit.braid else 0.5)
    size = r / 9.0
    outer, inner = Arc(0.0, 0.0, r + t, 180.0, -180.0), Arc(0.0, 0.0, r - t, 0.0, 180.0)
    ring = (outer, Line(*outer.end, *inner.start), inner, Line(*inner.end, *outer.start))
    foot = r * 0.5
    bag = (
        Line(-r * 1.25, 0.0, r * 1.25, 0.0),
        Line(r * 1.25, 0.0, r * 1.25, -foot),
        Line(-r * 1.25, -foot, -r * 1.25, 0.0),
    )
    out: list[Primitive] = [Path(bag, False, L, "edge"), Path(ring, True, L, "tone-2"), Path(ring, True, L, "edge")]
    out.append(line(0.0, 0.6, 0.0, r - t - 0.6, L, "leader"))
    out.append(Text(size * 0.4, r * 0.45, format_length(r, units), size, L, "text-strong"))
    out.append(line(-r, -size * 1.7, r, -size * 1.7, L, "leader"))
    out.append(Text(0.0, -size * 1.35, format_length(2.0 * r, units), size, L, "text-strong", "middle"))
    said = words.standing(piece, units)
    return Worn(ink.inline(tuple(out), said, 2.0, (-r * 1.25, -foot, r * 1.25, r + t)), f"{said}.")
