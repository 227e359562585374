"""Bench cards: making on the front, braiding on the back, one card for all goods that are alike.

Everything is drawn with the drawing protocol, so the PDF and the SVG have it
alike.  A4 or letter, upright.
"""

from __future__ import annotations

from collections.abc import Sequence

from strapwork.braid.plan import Plan
from strapwork.drawing.primitives import Sheet
from strapwork.paper import blocks, braid_pages, making
from strapwork.paper.blocks import Block, card_paper
from strapwork.piece.piece import Piece
from strapwork.say import alike, table
from strapwork.say.alike import Group


def job_cards(pieces: Sequence[Piece], paper: tuple[float, float], units: str, *, slips: bool = False) -> list[Sheet]:
    """The cards of a job: one for all pieces of a pattern and braid, with the braid in every hand that works it.

    Args:
        pieces: each followed by what goes with it, such as a belt's keeper.
        paper: width and height of the job's paper in mm; American ones get letter cards.
        units: as in :func:`strapwork.units.format_length`.
        slips: whether a page of common slips follows for every braid in every hand that works it.
    """
    out: list[Sheet] = []
    for k, group in enumerate(alike.groups(pieces), start=1):
        out += _card(group, card_paper(paper), units, f"card {k}.")
    if slips:
        # Only here, for the search for mends that they bring along takes a while to load.
        from strapwork.braid.slips import slips as common
        from strapwork.paper import mend_card
        from strapwork.say import teaching

        for k, way in enumerate(teaching.ways(pieces), start=1):
            out += mend_card.slips_page(way, common(way), paper, f"slips {k}.")
    return out


def _card(group: Group, size: tuple[float, float], units: str, prefix: str) -> list[Sheet]:
    """Front and backs, in the most generous setting that takes the fewest pages."""
    plans: dict[str, tuple[Plan, list[Piece]]] = {}
    for p in group.pieces:
        if p.plan and p.fit.braid:
            plans.setdefault(p.plan.hand, (p.plan, []))[1].append(p)
    backs = list(plans.values())
    warned = making.cautions(group, blocks.width_of(size)) if backs else []
    best: tuple[int, list[Sheet], list[Block]] | None = None
    columns = table.columns(group.rows, units)
    for setting in making.SETTINGS:
        front, later = making.sheets(group, columns, size, units, prefix, setting)
        total = len(front)
        for k, (plan, own) in enumerate(backs):
            total += braid_pages.count(plan, size, own, [*later, *warned] if k == len(backs) - 1 else [])
        if best is None or total < best[0]:
            best = (total, front, later)
        if total <= 1 + len(backs):
            break
    assert best is not None  # there are settings
    _, out, later = best
    for k, (plan, own) in enumerate(backs):
        after = [*later, *warned] if k == len(backs) - 1 else []
        out += braid_pages.sheets(plan, size, prefix, len(out) + 1, own, after)
    return out


def braid_card(plan: Plan, paper: tuple[float, float], prefix: str) -> list[Sheet]:
    """The braid in pictures as its hand works it, one for each turn and pass of a set."""
    return braid_pages.sheets(plan, card_paper(paper), prefix, 1)


__all__ = ["braid_card", "card_paper", "job_cards"]
