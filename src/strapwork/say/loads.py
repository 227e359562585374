"""What a load estimate means, and what it does not."""

from __future__ import annotations

from strapwork.catalogue import tr
from strapwork.piece.load import Load
from strapwork.units import STANDARD_GRAVITY

WARNING = tr(
    "This is an estimate from leather strength alone. Hardware, stitching and glue have limits of their own, and age, wet and "
    "wear weaken leather. Nobody should hang, climb, lift people, or restrain animals or vehicles on the strength of it; local "
    "rules and licensed practice come first."
)


def newtons(n: float) -> str:
    """A load in N and in the mass it would be hung with."""
    return f"{n:.0f} N ({n / STANDARD_GRAVITY:.0f} kg)"


def introduction(load: Load) -> str:
    """What the table rests on, for card and page."""
    return tr(
        "At {strength:g} N/mm², {source}; the weakest section comes first.", strength=load.strength, source=load.source
    )


def conclusions(load: Load) -> list[str]:
    """What follows from the weakest section."""
    out = [
        tr("The weakest section divided by {factor:g}: {newtons}.", factor=load.factor, newtons=newtons(load.advised))
    ]
    if load.asked is not None and load.margin is not None:
        out.append(
            tr(
                "For the {newtons} asked about, the weakest section holds {margin:.1f} times that.",
                newtons=newtons(load.asked),
                margin=load.margin,
            )
        )
    return out


def words(load: Load) -> list[str]:
    """The table as lines."""
    lines = [tr("Load estimate at {strength:g} N/mm² ({source}):", strength=load.strength, source=load.source)]
    wide = max(len(s.what) for s in load.sections)
    for k, s in enumerate(load.sections):
        mark = "   <- " + tr("weakest section") if k == 0 else ""
        lines.append(f"  {s.what:<{wide}}  {newtons(s.newtons):>16}   {s.how}{mark}")
    lines += [f"  {text}" for text in conclusions(load)]
    return lines
