"""The leather in hand."""

from __future__ import annotations

from dataclasses import dataclass

from strapwork.units import Thickness

TEMPERS = ("soft", "medium", "firm")


@dataclass(frozen=True, slots=True)
class Leather:
    """One leather.

    Attributes:
        thickness: single or range, in mm.
        temper: ``"soft"`` (supple), ``"medium"`` or ``"firm"``.
        name: what the maker calls it.
        tannage: ``"vegetable"``, ``"chrome"``, ``"combination"`` or ``"unknown"``.
    """

    thickness: Thickness
    temper: str = "medium"
    name: str = ""
    tannage: str = "unknown"
