"""Leathers and widths as lists tell them apart."""

from __future__ import annotations

from strapwork.catalogue import tr
from strapwork.stock.leather import Leather
from strapwork.units import format_mm

SAME_WIDTH = 0.05  # mm; straps as wide to this are of one width


def leather_key(leather: Leather) -> str:
    """What tells one leather from another in lists: its name, or its thickness where it has none."""
    t = leather.thickness
    thick = (
        tr("{low} to {high}", low=format_mm(t.low, 2), high=format_mm(t.high, 2))
        if t.high > t.low
        else format_mm(t.mid, 2)
    )
    return leather.name or thick
