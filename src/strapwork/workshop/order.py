"""An order as lists: what to cut, what hardware to lay out, how much leather, which tools.

Everything is read off worked-out pieces; nothing here changes them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from strapwork.catalogue import tr
from strapwork.piece.piece import Piece
from strapwork.stock.hardware import BY_STACK, Size
from strapwork.units import display_step, format_inches, format_mm, say
from strapwork.workshop.leathers import SAME_WIDTH, leather_key

if TYPE_CHECKING:
    from strapwork.workshop.strips import StripPlan

# Both common practice, no source: small parts bend when they are set, and a hide has holes, belly and edges.
SPARE = 0.1
WASTE = 0.25
LACE_TAIL = 120.0  # mm to tie with, at either end of a lace
STRIPS, ESTIMATE, HIDE = "strips", "estimate", "hide"


@dataclass(frozen=True, slots=True)
class CutRow:
    """One piece to cut ``count`` times; lengths in mm, slits counted from the start, None where there are none."""

    piece: int
    label: str
    person: str | None
    title: str
    leather: str
    width: float
    length: float
    slit_from: float | None
    slit_to: float | None
    count: int


@dataclass(frozen=True, slots=True)
class HardwareRow:
    """One size to lay out: ``count`` are set, ``spare`` more lie ready.

    What is not set but goes with a piece stands here too: laces by their length, key rings.
    """

    name: str
    title: str
    count: int
    spare: int


@dataclass(frozen=True, slots=True)
class LeatherRow:
    """One leather: area in mm2 of the straps, and with waste; ``by`` says how the waste is known.

    ``strips``: ready-made strips by their plan; ``hide``: hides by their plan; ``estimate``: a share of the area.
    """

    leather: str
    net: float
    gross: float
    by: str


@dataclass(frozen=True, slots=True)
class Tool:
    """One tool: what it is, its size or setting, and what it is for."""

    what: str
    size: str
    use: str


@dataclass(frozen=True, slots=True)
class OrderList:
    """All lists of an order; ``waste`` is the share added to leather that is estimated."""

    cuts: tuple[CutRow, ...]
    hardware: tuple[HardwareRow, ...]
    leather: tuple[LeatherRow, ...]
    tools: tuple[Tool, ...]
    waste: float = WASTE
    spare: float = SPARE

    def group(self, row: CutRow) -> tuple[str, float]:
        """The leather and width that a row is cut from, alike for all rows of one group."""
        return row.leather, round(row.width, 1)

    def groups(self) -> Iterator[tuple[tuple[str, float], list[CutRow]]]:
        """The rows of the cut list by leather and width."""
        found: dict[tuple[str, float], list[CutRow]] = {}
        for row in self.cuts:
            found.setdefault(self.group(row), []).append(row)
        yield from found.items()


def as_printed(mm: float, units: str = "mm") -> float:
    """``mm`` rounded half up to what is printed, so that sums add up as printed."""
    step = display_step(units)
    return math.floor(mm / step + 0.5 + 1e-9) * step


def of_pieces(
    pieces: Sequence[Piece],
    people: Sequence[str | None] = (),
    plans: Sequence[StripPlan] = (),
    hides: Mapping[str, float] | None = None,
    waste: float = WASTE,
    spare: float = SPARE,
) -> OrderList:
    """The lists of an order.

    Args:
        pieces: worked out, in the order of the job.
        people: whom each piece is for, by the place of the piece; may be shorter than ``pieces``.
        plans: cutting plans of ready-made strips.
        hides: area in mm2 of hide that a leather takes, where that has been planned.
        waste: share added to the area of all other leather.
        spare: share of small parts to lay out on top, at least one of each.
    """
    rows = [_row(k, p, people[k] if k < len(people) else None) for k, p in enumerate(pieces)]
    first = {row.leather: k for k, row in reversed(list(enumerate(rows)))}
    rows.sort(key=lambda r: (first[r.leather], -round(r.width, 1), -r.length, r.piece))
    return OrderList(
        tuple(rows),
        tuple(_hardware(pieces, spare)),
        (*_leather(rows, plans, hides or {}, waste), *_backing(pieces, waste)),
        tuple(_tools(pieces)),
        waste,
        spare,
    )


def _row(k: int, p: Piece, person: str | None) -> CutRow:
    slit = bool(p.strap.slits)
    return CutRow(
        piece=k,
        label=p.label,
        person=person,
        title=p.pattern.title,
        leather=leather_key(p.leather),
        width=p.strap.width,
        length=p.strap.length,
        slit_from=p.fit.slit_start if slit else None,
        slit_to=p.fit.slit_end if slit else None,
        count=p.count,
    )


def hardware_of(piece: Piece) -> list[tuple[Size, int]]:
    """What one copy of a piece is set with; the two halves of a snap count as one."""
    sizes: dict[str, Size] = {}
    whole: dict[str, int] = {}
    halves: dict[str, dict[str, int]] = {}
    for f in piece.strap.fittings:
        if f.size is None:
            continue
        sizes.setdefault(f.size.name, f.size)
        if f.half:
            by_half = halves.setdefault(f.size.name, {})
            by_half[f.half] = by_half.get(f.half, 0) + f.count
        else:
            whole[f.size.name] = whole.get(f.size.name, 0) + f.count
    counts = {name: whole.get(name, 0) + max(halves.get(name, {"": 0}).values()) for name in sizes}
    return [(sizes[name], n) for name, n in counts.items()]


def _hardware(pieces: Sequence[Piece], spare: float) -> Iterator[HardwareRow]:
    sizes: dict[str, Size] = {}
    small: dict[str, bool] = {}
    counts: dict[str, int] = {}
    for p in pieces:
        parts = {f.size.name: f.part for f in p.strap.fittings if f.size}
        for size, n in hardware_of(p):
            sizes.setdefault(size.name, size)
            small[size.name] = parts[size.name] in BY_STACK
            counts[size.name] = counts.get(size.name, 0) + n * p.count
    loose: dict[tuple[str, str], int] = {}
    for p in pieces:
        for one in loose_of(p):
            loose[one] = loose.get(one, 0) + p.count
    for name in sorted(sizes):
        more = max(1, math.ceil(counts[name] * spare - 1e-9)) if small[name] and spare > 0 else 0
        yield HardwareRow(name, sizes[name].title, counts[name], more)
    for (name, title), n in sorted(loose.items()):
        yield HardwareRow(name, title, n, 0)


def loose_of(piece: Piece) -> list[tuple[str, str]]:
    """Name and title of what one copy needs besides its fittings: a lace, and what the strap is folded over."""
    out = []
    length, measure = lace_of(piece), piece.pattern.measure
    if length:
        out.append((f"lace-{length:.0f}", tr("lace, {length} long", length=say(length))))
    if measure.lies == "folded":
        out.append(
            (
                measure.over.replace(" ", "-"),
                tr("{over}, {wire} wire", over=measure.over, wire=say(measure.wire or 0.0)),
            )
        )
    return out


def lace_of(piece: Piece) -> float:
    """Length in mm of the lace that ties the ends together; 0 where nothing is laced.

    As the pattern has it.  Where it names none: from back to front through the holes of one end, across to the
    other, and to tie with, to the next centimetre.
    """
    start, finish, join = piece.pattern.start, piece.pattern.finish, piece.pattern.join
    if join is not None and (join.lace or join.by != "lace"):
        return join.lace or 0.0
    if not start.meets == finish.meets == "tied":
        return 0.0
    holes = [h for h in piece.strap.holes if h.end == "start" and h.purpose == start.reference]
    if not holes:
        return 0.0
    spread = max(h.y for h in holes) - min(h.y for h in holes)
    crossings = len(holes) * math.hypot(start.gap + finish.gap, spread)
    return math.ceil((spread + crossings + 2.0 * LACE_TAIL) / 10.0 - 1e-9) * 10.0


def _leather(
    rows: Sequence[CutRow], plans: Sequence[StripPlan], hides: Mapping[str, float], waste: float
) -> Iterator[LeatherRow]:
    for name in dict.fromkeys(r.leather for r in rows):
        mine = [r for r in rows if r.leather == name]
        net = math.fsum(r.width * r.length * r.count for r in mine)
        if name in hides:
            yield LeatherRow(name, net, hides[name], HIDE)
            continue
        strips = [p for p in plans if p.leather == name]
        gross = math.fsum(p.length * p.width for p in strips)
        rest = [r for r in mine if not any(_planned(r, p) for p in strips)]
        gross += math.fsum(r.width * r.length * r.count for r in rest) * (1.0 + waste)
        yield LeatherRow(name, net, gross, ESTIMATE if rest else STRIPS)


def backing_key(piece: Piece) -> str:
    """What a lining glued on is called in lists; empty where there is none."""
    return tr("backing {backing}", backing=format_mm(piece.leather.backing, 2)) if piece.leather.backing else ""


def _backing(pieces: Sequence[Piece], waste: float) -> Iterator[LeatherRow]:
    for name in dict.fromkeys(backing_key(p) for p in pieces):
        if name:
            mine = [p for p in pieces if backing_key(p) == name]
            net = math.fsum(p.strap.width * p.strap.length * p.count for p in mine)
            yield LeatherRow(name, net, net * (1.0 + waste), ESTIMATE)


def _planned(row: CutRow, plan: StripPlan) -> bool:
    """Whether a row is cut from the strips of a plan."""
    return abs(row.width - plan.width) < SAME_WIDTH and all(w.piece != row.piece for w in plan.too_long)


def both(mm: float) -> str:
    """A size in mm and in inches, as tools are marked either way."""
    return f"{format_mm(mm)} ({format_inches(mm)})"


def _tools(pieces: Sequence[Piece]) -> Iterator[Tool]:
    for width in sorted({round(p.strap.width, 2) for p in pieces}):
        yield Tool(tr("strap cutter, or straight edge and knife"), both(width), "")
    yield from _slitting(pieces)
    round_holes: dict[float, dict[str, None]] = {}
    slots: dict[tuple[float, float], dict[str, None]] = {}
    for p in pieces:
        for h in p.strap.holes:
            if h.is_slot:
                slots.setdefault((round(h.length, 2), round(h.diameter, 2)), {})[h.purpose] = None
            else:
                round_holes.setdefault(round(h.diameter, 2), {})[h.purpose] = None
    for diameter, uses in sorted(round_holes.items()):
        yield Tool(tr("round punch"), both(diameter), ", ".join(map(tr, uses)))
    for (length, across), uses in sorted(slots.items()):
        yield Tool(tr("oblong punch"), f"{say(length)} × {say(across)}", ", ".join(map(tr, uses)))
    if round_holes or slots:
        yield Tool(tr("mallet and punching board"), "", tr("punches"))
    setting: dict[str, dict[str, None]] = {}
    for p in pieces:
        for f in p.strap.fittings:
            if f.size and f.setting:
                setting.setdefault(f.setting, {})[f.size.title] = None
    for tool, titles in sorted(setting.items()):
        yield Tool(tool, "", ", ".join(titles))


def _slitting(pieces: Sequence[Piece]) -> Iterator[Tool]:
    at: dict[tuple[float, ...], float] = {}
    for p in pieces:
        if p.strap.slits:
            at[tuple(round(s.y0, 2) for s in p.strap.slits)] = p.strap.width
    for ys, width in sorted(at.items(), key=lambda t: (t[1], t[0])):
        blades = ", ".join(say(y) for y in ys)
        yield Tool(
            tr("stripper, or straight edge and knife"),
            tr("blades at {blades}", blades=blades),
            tr("straps {width} wide", width=say(width)),
        )
