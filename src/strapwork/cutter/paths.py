"""Tool paths: what a machine does on each bed, in the order it does it.

Marks first, then holes, slits and last outlines, so that nothing inside a piece
is cut after the piece is free.  Within an operation the nearest path comes
next; open paths may be run backwards and closed ones begun at any corner.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from strapwork.catalogue import tr
from strapwork.cutter import kerf, lettering
from strapwork.cutter.apart import arrange_apart
from strapwork.cutter.beds import BedPlan, Spot, fits, larger, room
from strapwork.drawing.primitives import WORKING_ORDER, Disc, Layer, Path, Placed, Primitive, Sheet
from strapwork.errors import InputError
from strapwork.geometry.shape import Arc, Circle, Line, Outline, Point, Segment
from strapwork.order.names import file_stem
from strapwork.piece.findings import GEOMETRY, Finding
from strapwork.piece.piece import Piece
from strapwork.stock.leather import Leather
from strapwork.stock.machines import Machine
from strapwork.units import say, say_at_most

TEXT_SIZE = lettering.SIZE
EDGE = 2.0  # from the strap's end to its label
LASER_SOURCE = tr(
    "NIOSH Pocket Guide to Chemical Hazards, entries for chromium(VI) compounds, chlorine and hydrogen chloride (named from memory)"
)


@dataclass(frozen=True, slots=True)
class Bed:
    """One bed: its sheet (paths in working order), and what was saved.

    Attributes:
        travel, before: idle travel in mm as ordered, and in the order the pieces came.
    """

    sheet: Sheet
    pieces: int
    used: float
    travel: float
    before: float
    leather: str = ""


@dataclass(frozen=True, slots=True)
class Cutting:
    """Everything for one machine.

    Attributes:
        numbered: what is written on the beds instead of a label that single strokes cannot write: the piece's index in
            the job, what is written, and its label.
        left_out: pieces that fit no bed: index in the job and label.
    """

    machine: Machine
    plan: BedPlan
    beds: tuple[Bed, ...]
    numbered: tuple[tuple[int, str, str], ...] = ()
    left_out: tuple[tuple[int, str], ...] = ()


def laser_caution() -> Finding:
    """What has to be known before leather meets a laser."""
    return Finding(
        "caution",
        "safety-laser",
        tr(
            "laser only leather known to be free of chrome and PVC (they give off chromium(VI), chlorine and hydrogen chloride), only "
            "with extraction running, never unattended; local rules come first"
        ),
        "",
        LASER_SOURCE,
    )


def with_cautions(pieces: Sequence[Piece], machine: Machine) -> list[Piece]:
    """The pieces with what this machine needs minded."""
    fumes = [laser_caution()] if machine.kind == "laser" else []
    return [replace(p, findings=(*p.findings, *_no_bed(p, machine), *fumes)) for p in pieces]


def _no_bed(piece: Piece, machine: Machine) -> list[Finding]:
    if fits(piece, machine):
        return []
    long, wide = room(machine)
    return [
        Finding(
            "caution",
            "fits-no-bed",
            tr(
                "{length} × {width} is more than the bed takes ({long} × {wide}), so "
                "it is left out of the cutter's files",
                length=say(piece.strap.length),
                width=say(piece.strap.width),
                long=say_at_most(long),
                wide=say_at_most(wide),
            ),
            tr("cut it by hand from the sheets, or use {bed}; a strap is never split", bed=larger([piece], machine)),
            GEOMETRY,
        )
    ]


def refuse_fumes(pieces: Iterable[Piece], machine: Machine, place: str) -> None:
    """Chrome tannage and a laser do not go together.

    Raises:
        InputError: for leather that holds chrome, or may.
    """
    if machine.kind != "laser":
        return
    for p in pieces:
        if p.leather.tannage in ("chrome", "combination"):
            raise InputError(
                place,
                tr(
                    "{label!r} is in {tannage}-tanned leather, which gives off chromium(VI) under a laser",
                    label=p.label,
                    tannage=tr(p.leather.tannage),
                ),
                tr("use leather known to be free of chrome and PVC, or a knife"),
            )


def _mirror(segments: Sequence[Segment], width: float) -> tuple[Segment, ...]:
    """The other side of the strap: turned over along its length."""
    return tuple(s.mirrored().moved(0.0, width) for s in segments)


def _closed(shape: Circle | Outline, layer: Layer) -> Path | Disc:
    if isinstance(shape, Circle):
        return Disc(shape.cx, shape.cy, shape.r, layer, layer.key)
    return Path(shape.segments, True, layer, layer.key)


def writes(machine: Machine) -> bool:
    """Whether labels are drawn on this machine's beds."""
    return machine.text and "labels" in machine.operations and machine.gap >= TEXT_SIZE + 2.0


def piece_paths(piece: Piece, machine: Machine, place: str, label: str | None = None) -> list[Path | Disc]:
    """All paths of one piece in strap coordinates, kerf and profile applied; ``label`` instead of the piece's own."""
    strap, ops = piece.strap, machine.operations
    out: list[Path | Disc] = []
    if strap.slits:
        kerf.check(machine, strap.width / piece.strands, place)
    if "marks" in ops and machine.marks != "leave":
        # Hole centres are for the awl; where the machine makes the hole they would only be cut twice.
        kinds = {"stop", "fold"} if "holes" in ops else {"stop", "fold", "centre"}
        out += [Path((m.line,), False, Layer.MARKS, "marks") for m in strap.marks if m.kind in kinds]
    if "holes" in ops:
        out += [_closed(kerf.hole_path(h, machine.kerf, place), Layer.HOLES) for h in strap.holes]
    if "slits" in ops:
        for s in strap.slits:
            cut = kerf.slit_path(s, machine)
            out.append(
                Path((cut,), False, Layer.SLITS, "slits") if isinstance(cut, Line) else _closed(cut, Layer.SLITS)
            )
    outline = kerf.grown(strap.outline, machine.kerf / 2.0)
    if machine.tabs and machine.tab:
        # The tool takes half its width away at either side of a gap in its path.
        out += [
            Path(chain, False, Layer.OUTLINE, "outline")
            for chain in bridged(outline, machine.tabs, machine.tab + machine.kerf)
        ]
    else:
        out.append(Path(outline.segments, True, Layer.OUTLINE, "outline"))
    if machine.mirrored:
        out = [
            replace(p, segments=_mirror(p.segments, strap.width))
            if isinstance(p, Path)
            else replace(p, cy=strap.width - p.cy)
            for p in out
        ]
    if writes(machine):
        out += _label(piece.label if label is None else label, piece, machine)
    return out


def bridged(outline: Outline, tabs: int, width: float) -> list[tuple[Segment, ...]]:
    """The outline as open chains with ``tabs`` gaps of ``width`` mm in its long straight edges."""
    lines = [k for k, s in enumerate(outline.segments) if isinstance(s, Line) and s.length > 4.0 * width]
    lines.sort(key=lambda k: -outline.segments[k].length)
    edges = lines[:2] if len(lines) > 1 else lines
    if not edges:
        return [outline.segments]
    share = {k: tabs // len(edges) + (1 if n < tabs % len(edges) else 0) for n, k in enumerate(edges)}
    chains: list[list[Segment]] = [[]]
    for k, s in enumerate(outline.segments):
        n = share.get(k, 0)
        if not n or not isinstance(s, Line):
            chains[-1].append(s)
            continue
        ux, uy = (s.x1 - s.x0) / s.length, (s.y1 - s.y0) / s.length
        at = 0.0
        for i in range(n):
            middle = s.length * (i + 1) / (n + 1)
            a, b = middle - width / 2.0, middle + width / 2.0
            chains[-1].append(Line(s.x0 + at * ux, s.y0 + at * uy, s.x0 + a * ux, s.y0 + a * uy))
            chains.append([])
            at = b
        chains[-1].append(Line(s.x0 + at * ux, s.y0 + at * uy, s.x1, s.y1))
    # The loop was opened in the middle of a chain: join its two ends again.
    first = chains.pop(0)
    chains[-1] += first
    return [tuple(c) for c in chains]


def _label(text: str, piece: Piece, machine: Machine) -> list[Path | Disc]:
    """A label in single-stroke letters, in the gap under the piece."""
    found = lettering.strokes(text)
    if found is None:
        return []
    out: list[Path | Disc] = []
    down = TEXT_SIZE + 1.5 + machine.kerf + lettering.ACCENT_ROOM / 2.0
    for stroke in found[0]:
        pts = [(EDGE + x, y - down + 1.0) for x, y in stroke]
        lines = tuple(Line(*a, *b) for a, b in itertools.pairwise(pts) if a != b)
        if lines and all(line.x1 < piece.strap.length for line in lines):
            out.append(Path(lines, False, Layer.LABELS, "labels"))
    return out


def _placed(paths: Iterable[Path | Disc], spot: Spot) -> list[Path | Disc]:
    return [
        replace(p, segments=tuple(s.moved(spot.x, spot.y) for s in p.segments))
        if isinstance(p, Path)
        else replace(p, cx=p.cx + spot.x, cy=p.cy + spot.y)
        for p in paths
    ]


def ends(p: Path | Disc) -> tuple[Point, Point]:
    """Where a path begins and ends."""
    if isinstance(p, Disc):
        return (p.cx + p.r, p.cy), (p.cx + p.r, p.cy)
    return p.segments[0].start, p.segments[-1].end


def travel(paths: Sequence[Path | Disc]) -> float:
    """Idle travel in mm from the bed's corner through all paths."""
    at, total = (0.0, 0.0), 0.0
    for p in paths:
        start, end = ends(p)
        total += math.dist(at, start)
        at = end
    return total


def _from(p: Path, corner: int) -> Path:
    """A closed path begun at another corner."""
    return replace(p, segments=(*p.segments[corner:], *p.segments[:corner]))


def nearest_next(paths: Sequence[Path | Disc], at: Point) -> list[Path | Disc]:
    """Order one operation's paths, always the nearest next; of equals, the first."""
    import numpy as np

    ways = [(k, way) for k, p in enumerate(paths) for way in range(_ways(p))]
    starts = np.array([_begins(paths[k], way) for k, way in ways], dtype=float).reshape(-1, 2)
    xs, ys = starts[:, 0].copy(), starts[:, 1].copy()
    first = np.searchsorted([k for k, _ in ways], range(len(paths) + 1))
    out: list[Path | Disc] = []
    for _ in paths:
        # Rounded, so that the last bits of a sum never decide between two equal ways.
        k, way = ways[int(np.argmin(np.round(np.hypot(xs - at[0], ys - at[1]), 6)))]
        out.append(_taken(paths[k], way))
        at = ends(out[-1])[1]
        xs[first[k] : first[k + 1]] = np.inf  # nothing of it is near any more
    return out


def _ways(p: Path | Disc) -> int:
    """How many ways there are to run a path: from any corner, or from either end."""
    return 1 if isinstance(p, Disc) else len(p.segments) if p.closed else 2


def _begins(p: Path | Disc, way: int) -> Point:
    """Where a path begins that is run in one of its ways."""
    if isinstance(p, Disc) or way == 0:
        return ends(p)[0]
    return p.segments[way].start if p.closed else p.segments[-1].end


def _taken(p: Path | Disc, way: int) -> Path | Disc:
    """A path as it is run in one of its ways."""
    if isinstance(p, Disc) or way == 0:
        return p
    return _from(p, way) if p.closed else replace(p, segments=tuple(s.reversed() for s in reversed(p.segments)))


def _overcut(p: Path | Disc, by: float) -> Path | Disc:
    """A closed cut that runs on past its start."""
    if by <= 0.0 or (isinstance(p, Path) and not p.closed):
        return p
    if isinstance(p, Disc):
        turn = 360.0 + math.degrees(min(by / p.r, math.pi))
        # Two arcs: no file format likes one of more than a full turn.
        return Path(
            (Arc(p.cx, p.cy, p.r, 0.0, 180.0), Arc(p.cx, p.cy, p.r, 180.0, turn - 180.0)), False, p.layer, p.role
        )
    more: list[Segment] = []
    left = by
    for s in p.segments:
        if left <= 1e-9:
            break
        share = min(1.0, left / s.length)
        more.append(_part(s, share))
        left -= s.length
    return replace(p, segments=(*p.segments, *more), closed=False)


def _part(s: Segment, share: float) -> Segment:
    if isinstance(s, Line):
        return Line(s.x0, s.y0, s.x0 + share * (s.x1 - s.x0), s.y0 + share * (s.y1 - s.y0))
    return replace(s, sweep_deg=s.sweep_deg * share)


def plan(pieces: Sequence[Piece], machine: Machine, place: str = "--machine") -> Cutting:
    """All beds of a job for one machine, ready to be written.

    Raises:
        InputError: for a bed too small, a kerf too wide, or leather that must not be lasered.
    """
    refuse_fumes(pieces, machine, place)
    labels = [p.label for p in pieces]
    written = lettering.written(labels, [p.strap.length - 2.0 * EDGE for p in pieces]) if writes(machine) else labels
    local = [piece_paths(p, machine, f"{place}, {p.label!r}", w) for p, w in zip(pieces, written, strict=True)]
    apart = arrange_apart(pieces, machine, place)
    layout = apart.plan
    names = _bed_names(apart.leathers)
    beds = []
    for b in range(layout.beds):
        spots = [s for s in layout.spots if s.bed == b]
        paths = [q for s in spots for q in _placed(local[s.piece], s)]
        by_layer = {layer: [p for p in paths if p.layer is layer] for layer in WORKING_ORDER}
        plain = [p for layer in WORKING_ORDER for p in by_layer[layer]]
        ordered: list[Path | Disc] = []
        for layer in WORKING_ORDER:
            at = ends(ordered[-1])[1] if ordered else (0.0, 0.0)
            ordered += nearest_next(by_layer[layer], at)
        cut: tuple[Primitive, ...] = tuple(_overcut(p, machine.overcut) for p in ordered)
        sheet = Sheet(machine.bed[0], machine.bed[1], names[b], (Placed(cut),))
        beds.append(Bed(sheet, len(spots), layout.used[b], travel(ordered), travel(plain), apart.leathers[b].words()))
    numbered = tuple((k, w, label) for k, (w, label) in enumerate(zip(written, labels, strict=True)) if w != label)
    return Cutting(machine, layout, tuple(beds), numbered, tuple((k, labels[k]) for k in apart.left_out))


def _bed_names(leathers: Sequence[Leather]) -> list[str]:
    """``bed 1``, .. for one leather, ``harbour-tan bed 1``, .. for several."""
    if len(set(leathers)) < 2:
        return [f"bed {b}" for b in range(1, len(leathers) + 1)]
    called: dict[Leather, str] = {}
    for leather in leathers:
        name = file_stem(leather.name or leather.words())
        taken = [n for other, n in called.items() if other != leather]
        called.setdefault(leather, name if name not in taken else f"{name}-{len(called) + 1}")
    count: dict[Leather, int] = {}
    out = []
    for leather in leathers:
        count[leather] = count.get(leather, 0) + 1
        out.append(f"{called[leather]} bed {count[leather]}")
    return out
