"""What a shop has learned of one leather's take-up: every strap measured, swatch or finished piece.

Nothing is kept but the straps themselves; what they say is worked out afresh by
:mod:`strapwork.stock.take_up`, so that a strap taken back leaves no trace.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from strapwork.catalogue import tr, trn
from strapwork.stock import take_up
from strapwork.stock.take_up import Group, Posterior
from strapwork.units import format_mm

# A braid is beyond the straps measured when it takes up this many times the largest, or this share of the smallest.
BEYOND = 1.25


@dataclass(frozen=True, slots=True)
class Measured:
    """One strap that was braided and measured; lengths in mm.

    Attributes:
        what: its name.
        model: take-up by the geometry, for the length it came out at.
        measured: take-up as measured.
        date: the day, as ``2026-05-02``; empty where not known.
        made: whether it is a finished piece and no swatch.
        after, worn: length when braided and after some weeks of wear; 0 where not known.
        cut: overall cut length of a finished piece; 0 for a swatch.
    """

    what: str
    model: float
    measured: float
    date: str = ""
    made: bool = False
    after: float = 0.0
    worn: float = 0.0
    cut: float = 0.0

    @property
    def group(self) -> Group:
        """As the statistics take it."""
        return Group(self.model, math.log(self.measured / self.model))


@dataclass(frozen=True, slots=True)
class Learned:
    """Take-up of a leather as measured straps showed it; at least one strap."""

    straps: tuple[Measured, ...]

    @property
    def groups(self) -> tuple[Group, ...]:
        """All straps, as the statistics take them."""
        return tuple(s.group for s in self.straps)

    @property
    def posterior(self) -> Posterior:
        """What the straps say."""
        return take_up.posterior(self.groups)

    @property
    def factor(self) -> float:
        """Take-up over what the geometry says of it."""
        return self.posterior.middle

    @property
    def swatches(self) -> int:
        """How many swatches it rests on."""
        return sum(not s.made for s in self.straps)

    @property
    def pieces(self) -> int:
        """How many finished pieces it rests on."""
        return sum(s.made for s in self.straps)

    @property
    def settle(self) -> float | None:
        """Share by which a worn strap lengthens, by least squares; None where not measured."""
        worn = [(s.after, s.worn) for s in self.straps if s.after and s.worn]
        if worn:
            return max(0.0, sum(a * (w - a) for a, w in worn) / sum(a * a for a, _ in worn))
        return None

    @property
    def span(self) -> tuple[float, float]:
        """Least and most modelled take-up among the straps, in mm."""
        models = [g.model for g in self.groups]
        return min(models), max(models)

    def band(self, model: float) -> tuple[float, float]:
        """The 95 % band of the take-up in mm of a new strap of modelled take-up ``model`` mm; both ends above zero."""
        return take_up.band(self.groups, model)

    def many(self) -> str:
        """``5 swatches and 1 finished piece``."""
        n, p = self.swatches, self.pieces
        parts = [trn("{n} swatch", "{n} swatches", n, n=n)] if n else []
        parts += [trn("{p} finished piece", "{p} finished pieces", p, p=p)] if p else []
        return tr(" and ").join(parts)

    def latest(self) -> str:
        """The finished piece that taught last, to be put behind :meth:`many`; empty where there is none."""
        made = [s for s in self.straps if s.made]
        return tr(" (the last: {what}, {date})", what=made[-1].what, date=made[-1].date) if made else ""

    def reach(self, model: float) -> str:
        """How far a braid of modelled take-up ``model`` mm lies beyond the straps measured; empty where it does not."""
        low, high = self.span
        one = self.swatches + self.pieces == 1
        if model > BEYOND * high:
            than = tr("that one") if one else tr("the largest of them")
            return tr(
                "this braid takes up {model:.1f} times what {than} did, so the band reaches beyond what was measured",
                model=model / high,
                than=than,
            )
        if model * BEYOND < low:
            than = tr("that one") if one else tr("the smallest of them")
            return tr(
                "this braid takes up {model:.2f} of what {than} did, so the band reaches beyond what was measured",
                model=model / low,
                than=than,
            )
        return ""

    def as_data(self) -> dict[str, Any]:
        """As plain data, for ``--json``."""
        low, high = self.posterior.factor_band()
        return {
            "factor": self.factor,
            "factor_low": low,
            "factor_high": high,
            "scatter": self.posterior.scatter,
            "scatter_at_mm": self.posterior.size,
            "swatches": self.swatches,
            "pieces": self.pieces,
            "settle": self.settle,
            "straps": [
                {
                    "what": s.what,
                    "kind": "made" if s.made else "swatch",
                    "date": s.date or None,
                    "model_mm": s.model,
                    "measured_mm": s.measured,
                }
                for s in self.straps
            ],
        }


def words(learned: Learned) -> list[str]:
    """What was learned, in sentences for the terminal."""
    known = learned.posterior
    low, high = known.factor_band()
    least, most = learned.span
    lines = [
        tr("take-up {factor:.3f} times the model, from {many}", factor=learned.factor, many=learned.many()),
        tr(
            "  95 % band of the factor: {low:.3f} to {high:.3f}; one strap scatters by about {scatter:.0f} % of its take-up",
            low=low,
            high=high,
            scatter=100 * known.scatter,
        ),
    ]
    if learned.swatches + learned.pieces == 1:
        lines.append(tr("  One strap shows no scatter; what is usual stands in for it until there are more."))
    span = (
        tr("about {most}", most=format_mm(most))
        if most - least < 0.05
        else tr("{least} to {most}", least=format_mm(least), most=format_mm(most))
    )
    lines.append(
        tr(
            "  Measured where the model says {span}; a braid that should take up more than {beyond} lies "
            "beyond that, and its band says so.",
            span=span,
            beyond=format_mm(BEYOND * most),
        )
    )
    if learned.settle is not None:
        lines.append(tr("  settles by {settle:.1f} % in wear", settle=100 * learned.settle))
    return lines


def line(strap: Measured) -> str:
    """One strap in a line: what it was, and what it took up."""
    when = f", {strap.date}" if strap.date else ""
    kind = tr("finished piece") if strap.made else tr("swatch")
    return tr(
        "{what} ({kind}{when}): ate {measured}, model {model}",
        what=strap.what,
        kind=kind,
        when=when,
        measured=format_mm(strap.measured, 2),
        model=format_mm(strap.model, 2),
    )
