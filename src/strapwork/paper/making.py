"""The front of a card: the strap lettered, what to have ready, the sizes, and every step in order."""

from __future__ import annotations

from collections.abc import Sequence

from strapwork.catalogue import tr
from strapwork.drawing.primitives import Sheet
from strapwork.paper import blocks, lettered, side_view, size_table
from strapwork.paper.blocks import BODY, CAPTION, POINT, Block
from strapwork.piece import load
from strapwork.say import alike, braiding, findings, lengths, loads, places, ready, straps
from strapwork.say.alike import Group
from strapwork.say.table import Column
from strapwork.units import rounding_note

# From generous to tight: size of the steps, space between them, height of a row of the table.
SETTINGS = ((BODY, 1.3, 8.0), (BODY, 0.7, 7.0), (BODY, 0.2, 6.0), (10.0 * POINT, 0.2, 5.6), (CAPTION, 0.2, 5.2))

MOST_NAMED = 40  # at the foot of a page, which shows fewer; every name stands in the table
HAS_A_STEP = ("wet-first",)  # findings that the steps already act on


def sheets(
    group: Group,
    columns: Sequence[Column],
    size: tuple[float, float],
    units: str,
    prefix: str,
    setting: tuple[float, float, float],
) -> tuple[list[Sheet], list[Block]]:
    """The front page, a further one only where it cannot hold the table (``columns``).

    Returns:
        The pages, and what found no room on them and stands on the back: what to mind and the load table.
    """
    width, room = blocks.width_of(size), size[1] - 2.0 * blocks.MARGIN
    braided = any(p.fit.braid for p in group.pieces)
    chosen = _page(group, columns, width, units, setting)
    later: list[Block] = []
    for part in ([] if braided else cautions(group, width), _minded(group, width), _load(group, width)):
        if not braided or blocks.fits([*chosen, *part], room):
            chosen += part
        else:
            later += part
    extra = _breakdown(group, width, units)
    if extra and blocks.fits([*chosen, *extra], room):
        chosen += extra
    named = [straps.headline(p) for p in group.pieces[:MOST_NAMED]]
    if len(group.pieces) > MOST_NAMED:
        named.append(tr("and {pieces} more", pieces=len(group.pieces) - MOST_NAMED))
    about = tr("Bench card: {named}", named="; ".join(named))
    pages = blocks.paged(chosen, room)
    return [blocks.sheet(page, size, f"{prefix}{k}", about) for k, page in enumerate(pages, start=1)], later


def _page(
    group: Group, columns: Sequence[Column], width: float, units: str, setting: tuple[float, float, float]
) -> list[Block]:
    type_size, space, row = setting
    first = group.pieces[0]
    said = alike.shared(group)
    out = [_head(group, width, units), lettered.block(first, width, units)]
    out.append(blocks.step("", tr("Have ready"), " · ".join(ready.ready(group)), CAPTION, width, 0.0))
    out.append(blocks.gap(2.0))
    out += size_table.blocks(columns, width, units, row)
    out.append(blocks.gap(3.0))
    numbers = {s.key: k for k, s in enumerate(said, start=1)}
    for k, s in enumerate(said, start=1):
        text = " ".join(f"{rows}{words}" for rows, words in s.texts)
        out.append(blocks.step(str(k), s.title, text, type_size, width))
        out.append(blocks.gap(space))
    views = side_view.blocks(first, group.companions[0], numbers, width)
    return [*out, *views]


def _head(group: Group, width: float, units: str) -> Block:
    first, many = group.pieces[0], len(group.pieces)
    hands = dict.fromkeys(braiding.hand(p.plan) for p in group.pieces if p.plan and p.fit.braid)
    right = tr(" and ").join(hands)
    if many == 1:
        own = [straps.headline(first)] if straps.headline(first) != first.pattern.title else []
        under = [" · ".join([*own, *straps.facts(first, units)[1:]])]
    else:
        facts = [
            tr(
                "{count} pieces, rows 1 to {rows} of the table",
                count=sum(p.count for p in group.pieces),
                rows=len(group.rows),
            )
        ]
        if first.plan and first.fit.braid:
            facts.append(
                tr("{strands} strands, {turns} turns a set", strands=first.strands, turns=len(first.plan.turns))
            )
        under = [" · ".join(facts)]
    span = places.span(first)
    counted = tr("Letters are the places on the strap.")
    if first.strap.slits:
        counted += tr(" Slits count from the raw start.")
    if span != tr("as cut"):
        counted += tr(" {span} is {references}, as cut.", span=span, references=straps.references(first))
    return blocks.head(first.pattern.title, right, [*under, *([counted] if places.of(first) else [])], width)


def _minded(group: Group, width: float) -> list[Block]:
    """Findings of the pieces, each once, with the rows they are for."""
    found: dict[str, list[int]] = {}
    for k, p in enumerate(group.rows, start=1):
        for f in findings.to_mind(p):
            if f.code in HAS_A_STEP:
                continue
            found.setdefault(f"{tr(f.level).capitalize()}: {f.message}. ({f.source})", []).append(k)
    out = []
    for text, rows in found.items():
        where = (
            ""
            if len(rows) == len(group.rows) or len(group.rows) == 1
            else tr("Row {ranges}. ", ranges=alike.ranges(rows))
        )
        out.append(blocks.words(where + text, CAPTION, width, indent=4.0))
    return [blocks.step("", tr("Mind"), "", BODY, width, 0.0), *out, blocks.gap(1.0)] if out else []


def _load(group: Group, width: float) -> list[Block]:
    """The load estimate of the weakest piece of the card, in few lines."""
    asked = [p for p in group.pieces if load.wanted(p)]
    if not asked:
        return []
    e = min((load.estimate(p) for p in asked), key=lambda e: e.weakest.newtons)
    shown = "; ".join(f"{s.what} {loads.newtons(s.newtons)}" for s in e.sections[:4])
    out = [blocks.step("", tr("Load estimate"), loads.introduction(e), CAPTION, width, 0.0)]
    out.append(blocks.words(f"{shown}.", CAPTION, width))
    out += [blocks.words(text, CAPTION, width, "text-strong") for text in loads.conclusions(e)]
    return [*out, blocks.gap(1.5)]


def _breakdown(group: Group, width: float, units: str) -> list[Block]:
    """Why a single piece is as long as it is, small."""
    if len(group.pieces) > 1:
        return []
    piece = group.pieces[0]
    parts = [f"{said.what} {said.length}" for said in lengths.breakdown(piece, units)]
    text = f"{' + '.join(parts[:-1]).replace('+ −', '− ')} = {parts[-1]}."
    band = tr(
        "Band of the cut length: {band} {rounding_note}",
        band=lengths.band(piece, units),
        rounding_note=rounding_note(units),
    )
    return [
        blocks.gap(1.0),
        blocks.step("", tr("Why that long"), text, CAPTION, width, 0.0),
        blocks.words(band, CAPTION, width),
    ]


def cautions(group: Group, width: float) -> list[Block]:
    """The cautions of a card's goods, once, in a strip with a frame."""
    texts = findings.cautions(group.rows)
    inner = [blocks.step("!", "", text, CAPTION, width - 4.0, 6.0) for text in texts]
    return [blocks.gap(1.0), *inner] if inner else []
