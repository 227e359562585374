"""The leather in hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from strapwork.catalogue import tr
from strapwork.units import Thickness, say_thin

if TYPE_CHECKING:
    from strapwork.stock.learned import Learned

TEMPERS = ("soft", "medium", "firm")


def thickness_text(t: Thickness) -> str:
    """A thickness as a maker writes it in a file."""
    return f"{t.low:g}-{t.high:g} mm" if t.high > t.low else f"{t.low:g} mm"


@dataclass(frozen=True, slots=True)
class Leather:
    """One leather.

    Attributes:
        thickness: single or range, in mm, without backing.
        temper: ``"soft"`` (supple), ``"medium"`` or ``"firm"``.
        name: what the maker calls it.
        tannage: ``"vegetable"``, ``"chrome"``, ``"combination"`` or ``"unknown"``.
        backing: thickness in mm of a lining glued on; 0 for none.
        price: per square metre, in the shop's own money; None where not known.
        tensile: tensile strength in N/mm2 by the maker's own test (ISO 3376); None for the published range.
        learned: take-up from swatches and finished pieces; None for the model's own.
        stale: straps measured that do not count, because an earlier model judged them.
    """

    thickness: Thickness
    temper: str = "medium"
    name: str = ""
    tannage: str = "unknown"
    backing: float = 0.0
    price: float | None = None
    tensile: float | None = None
    learned: Learned | None = None
    stale: int = 0

    @property
    def worn(self) -> tuple[float, float, float]:
        """Least, middle and most thickness in mm with the backing."""
        t = self.thickness
        return t.low + self.backing, t.mid + self.backing, t.high + self.backing

    def words(self) -> str:
        """The leather in a few words, for labels."""
        t = self.thickness
        thick = tr("{low} to {high}", low=say_thin(t.low), high=say_thin(t.high)) if t.high > t.low else say_thin(t.mid)
        name = f"{self.name}, " if self.name else ""
        lined = tr(" + {backing} backing", backing=say_thin(self.backing)) if self.backing else ""
        return f"{name}{thick}{lined}"
