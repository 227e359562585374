"""Cautions of the work itself: hands, eyes, air, loads, necks and animals; said once for a whole job."""

from __future__ import annotations

from collections.abc import Iterator

from strapwork.catalogue import tr
from strapwork.piece.findings import TRADE, Finding
from strapwork.piece.strap import Strap
from strapwork.stock.hardware import BY_STACK
from strapwork.stock.leather import Leather
from strapwork.stock.patterns import Pattern


def of_piece(pattern: Pattern, leather: Leather, strap: Strap) -> Iterator[Finding]:
    """The cautions this piece needs, and no others; usual bench practice."""

    def caution(code: str, message: str) -> Finding:
        return Finding("caution", f"safety-{code}", message, "", TRADE)

    yield caution(
        "blade",
        tr(
            "a fresh blade for every project, several light passes, cut away from the hand that holds; shore the straight edge up with "
            "a scrap of the same thickness and a non-slip back so that it cannot rock"
        ),
    )
    if strap.holes:
        yield caution(
            "mallet",
            tr(
                "wear eye protection when you strike a punch or a setter; hold it upright, a board under it, fingers clear"
            ),
        )
    if leather.backing:
        yield caution(
            "glue",
            tr(
                "glue the backing where fresh air moves, and keep flames and children away; the same goes for dye and finish"
            ),
        )
    if any(f.size and f.part in BY_STACK for f in strap.fittings):
        yield caution(
            "small-parts", tr("snaps and posts can come off; keep the finished piece from children under three")
        )
    if "load" in pattern.hazards:
        yield caution(
            "load",
            tr(
                "nothing here certifies what the piece carries: do not hang or lift people on it or restrain animals or vehicles with it; "
                "local rules and licensed practice come first"
            ),
        )
    if "animal" in pattern.hazards:
        yield caution(
            "animal", tr("look over hook, posts and leather before every walk, and never leave an animal tied up alone")
        )
    if "neck" in pattern.hazards:
        yield caution(
            "neck",
            tr(
                "what goes round a neck needs a clasp that breaks away, and is not for sleep, for play or for small children"
            ),
        )
