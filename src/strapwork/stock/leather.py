"""The leather in hand, and what a shop has learned of it."""

from __future__ import annotations

from dataclasses import dataclass

from strapwork.units import Thickness, format_mm

TEMPERS = ("soft", "medium", "firm")


@dataclass(frozen=True, slots=True)
class Learned:
    """Take-up of a leather as its swatches showed it.

    The take-up of a strap is ``factor`` times what the first-principles model
    says of it (see :mod:`strapwork.piece.swatches`).

    Attributes:
        factor: the fitted factor.
        error: standard error of the factor.
        scatter: standard deviation of one swatch about the fit, in mm.
        freedom: degrees of freedom (swatches less one).
        quantile: Student's t for 95 % at that freedom; 0 with a single swatch.
        swatches: how many swatches it rests on.
        settle: share by which a worn strap lengthens, None where not measured.
    """

    factor: float
    error: float
    scatter: float
    freedom: int
    quantile: float
    swatches: int
    settle: float | None = None

    def spread(self, model: float) -> float | None:
        """Half the 95 % band in mm for one new strap whose modelled take-up is ``model`` mm.

        None with a single swatch: one measurement shows no scatter, so the
        model's own band has to stand.
        """
        if self.freedom < 1:
            return None
        return float(self.quantile * ((self.error * model) ** 2 + self.scatter**2) ** 0.5)


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
        learned: take-up from swatches; None for the model's own.
    """

    thickness: Thickness
    temper: str = "medium"
    name: str = ""
    tannage: str = "unknown"
    backing: float = 0.0
    price: float | None = None
    tensile: float | None = None
    learned: Learned | None = None

    @property
    def worn(self) -> tuple[float, float, float]:
        """Least, middle and most thickness in mm with the backing."""
        t = self.thickness
        return t.low + self.backing, t.mid + self.backing, t.high + self.backing

    def words(self) -> str:
        """The leather in a few words, for labels."""
        t = self.thickness
        thick = f"{format_mm(t.low, 2)} to {format_mm(t.high, 2)}" if t.high > t.low else format_mm(t.mid, 2)
        name = f"{self.name}, " if self.name else ""
        lined = f" + {format_mm(self.backing, 2)} backing" if self.backing else ""
        return f"{name}{thick}{lined}"
