"""Which fields concern the goods: what a strap of this kind cannot take has no field and is not asked for."""

from __future__ import annotations

from collections.abc import Mapping

from strapwork.piece.altered import hole_row
from strapwork.stock.patterns import SHAPES, Pattern

# A plain strap has no braid to say anything of.
OF_A_BRAID = ("sets", "weave", "turns", "hand", "relief", "to_slit")


def absent(pattern: Pattern, texts: Mapping[str, str]) -> tuple[str, ...]:
    """The keys that these goods have no use for.

    Args:
        pattern: the goods.
        texts: what the fields say; an empty field is left out.
    """
    ends = (pattern.start, pattern.finish)
    out: list[str] = []
    if not any(hole_row(end) for end in ends):
        out.append("holes")
    if not any(f.part not in ("hole", "keeper") for end in ends for f in end.fixtures):
        out.append("hardware")
    if "round" not in _shapes(pattern, texts.get("ends", "")):
        out.append("end_radius")
    if not texts.get("turns") and texts.get("strands", str(pattern.braid.strands)).strip() in ("0", "1"):
        out += OF_A_BRAID
    return tuple(out)


def idle(pattern: Pattern, texts: Mapping[str, str]) -> tuple[str, ...]:
    """The keys that say nothing yet: they have a field only where one is filled."""
    out: list[str] = []
    if not texts.get("machine"):
        out.append("bed")
    if not texts.get("load") and "load" not in pattern.hazards:
        out.append("factor")
    return tuple(out)


def _shapes(pattern: Pattern, text: str) -> set[str]:
    said = [w.strip().lower() for w in text.replace(";", ",").split(",")]
    # What is no shape of ends has its own message; until it is put right the pattern's count.
    return set(said) if len(said) <= 2 and set(said) <= set(SHAPES) else {pattern.start.shape, pattern.finish.shape}
