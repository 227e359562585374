"""A turned-back end from the side, to scale: what lies between its layers, and the numbers of the steps that put it there."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

from strapwork.catalogue import tr
from strapwork.drawing.primitives import Disc, Path, Primitive, Text, polyline, transformed
from strapwork.geometry.shape import Arc, Line, Segment
from strapwork.paper.blocks import BODY, CAPTION, LABELS, Block
from strapwork.piece.piece import Piece
from strapwork.piece.strap import EndName
from strapwork.say import places, turned
from strapwork.stock.hardware import Size
from strapwork.units import say_thin

BEYOND = 16.0
LARGEST = 1.5


def blocks(piece: Piece, companions: Sequence[Piece], numbers: Mapping[str, int], width: float) -> list[Block]:
    """Side views of all turned-back ends, beside each other in one block; none for goods without."""
    ends = [name for name, _ in turned.folds(piece)]
    if not ends:
        return []
    each = (width - 6.0 * (len(ends) - 1)) / len(ends)
    items: list[Primitive] = []
    high = 0.0
    for k, name in enumerate(ends):
        own, height = _view(piece, name, companions, numbers, each if len(ends) > 1 else min(each, 130.0))
        shift = k * (each + 6.0)
        items += [transformed(p, shift, 0.0) for p in own]
        high = max(high, height)
    return [Block(high, tuple(items))]


def _view(
    piece: Piece, name: EndName, companions: Sequence[Piece], numbers: Mapping[str, int], width: float
) -> tuple[list[Primitive], float]:
    end = piece.pattern.start if name == "start" else piece.pattern.finish
    t = piece.leather.worn[1]
    fold = places.reference(piece, name)
    bars = [f for f in piece.strap.fittings if f.end == name and f.part in turned.BARS and f.size]
    d = (bars[0].size.bar or 0.0) if bars and bars[0].size else t
    k = min(LARGEST, (width - 14.0) / (end.to_tip + BEYOND + d))
    r, thick = d / 2.0 * k, t * k
    left = r + thick + 7.0
    span = turned.keeper_span(piece, name, fold)
    wall = companions[0].leather.worn[1] * k if companions else (0.5 * t * k if span else 0.0)
    posts = sorted({abs(f.at) for f in end.fixtures if f.doubled}, reverse=False)
    top = BODY * 1.3 + wall + 3.4
    y0 = -top - thick  # underside of the front layer
    centre = y0 - r
    nearest = (posts[0] if posts else end.to_tip) * k
    if span:
        nearest = min(nearest, span[0] * k)
    close = max(2.0 * r + thick, nearest * 0.8) if nearest > 2.0 * r else nearest
    tip, far = end.to_tip * k, (end.to_tip + BEYOND) * k
    # The upper face of the flap: round the bar, up to the front layer, and down again under the keeper.
    face = [(0.0, centre - r), (close, y0)]
    if span and wall:
        a, b = span[0] * k, span[1] * k
        face += [(max(close, a - 2.5 * wall), y0), (a, y0 - wall), (b, y0 - wall), (b + 2.5 * wall, y0)]
    face.append((tip, face[-1][1]))
    out: list[Primitive] = []
    front: tuple[Segment, ...] = (
        Line(left + far, y0 + thick, left, y0 + thick),
        Arc(left, centre, r + thick, 90.0, 180.0),
        *_chain([(left + x, y - thick) for x, y in face]),
        Line(left + tip, face[-1][1] - thick, left + tip, face[-1][1]),
        *_chain([(left + x, y) for x, y in reversed(face)]),
        Arc(left, centre, r, -90.0, -180.0),
        Line(left, y0, left + far, y0),
    )
    out.append(Path(front, False, LABELS, "edge"))
    zig = [(left + far, y0 + thick + 1.0), (left + far, y0 - 1.0)]
    out.append(polyline(zig, LABELS, "leader"))
    lowest = min(centre - r - thick, y0 - wall - thick)
    marks: list[tuple[float, str]] = []
    if bars:
        out.append(Disc(left, centre, r * 0.96, LABELS, "edge"))
        marks.append((left - r - thick - 3.2, _key(numbers, f"bar:{name}")))
    if span and wall:
        a, b = left + span[0] * k, left + span[1] * k
        out.append(
            polyline(
                ((a, y0 + thick), (b, y0 + thick), (b, y0 + thick + wall), (a, y0 + thick + wall)), LABELS, "edge", True
            )
        )
        out.append(polyline(((a, y0 - wall), (b, y0 - wall), (b, y0), (a, y0)), LABELS, "edge", True))
        marks.append(((a + b) / 2.0, _key(numbers, f"keeper:{name}")))
    rows = 0
    for at in posts:
        size, sewn = _post(piece, name, at), _sewn(piece, name, at)
        rows += not sewn
        post, cap = ((size.hole or 2.0) * k, (size.cap or 6.0) * k) if size else (1.0, 1.0)
        x = left + at * k
        bottom = y0 - thick
        out.append(polyline(((x - post / 2, bottom), (x - post / 2, y0 + thick)), LABELS, "edge"))
        out.append(polyline(((x + post / 2, bottom), (x + post / 2, y0 + thick)), LABELS, "edge"))
        if size:
            for y, up in ((y0 + thick, 1.1 * k), (bottom, -1.1 * k)):
                ring = ((x - cap / 2, y), (x + cap / 2, y), (x + cap / 3, y + up), (x - cap / 3, y + up))
                out.append(polyline(ring, LABELS, "edge", True))
        marks.append((x, _key(numbers, f"rivet:{name}:{'lace' if sewn else rows}")))
        lowest = min(lowest, bottom - 1.3 * k)
    number_y = -BODY
    for x, text in marks:
        y = number_y if x > left - r - thick else centre - BODY * 0.35
        out.append(Text(x, y, text, BODY, LABELS, "text-strong", "middle"))
    what = tr(
        "The {name} from the side, {scale}; the numbers are those of the steps. Strap {t} thick.",
        name=tr(name),
        scale=_scale(k),
        t=say_thin(t),
    )
    y = lowest - CAPTION * 1.25
    out.append(
        Text(
            0.0,
            y,
            what if width > 110 else tr("{name} from the side, {scale}", name=tr(name).capitalize(), scale=_scale(k)),
            CAPTION,
            LABELS,
            "text",
        )
    )
    return out, -y + 2.0


def _post(piece: Piece, name: EndName, at: float) -> Size | None:
    """The size of the post ``at`` mm from the fold; None for holes that are sewn."""
    row = next((fittings for far, fittings in turned.post_rows(piece, name) if abs(far - at) < 0.01), [])
    return row[0].size if row else None


def _sewn(piece: Piece, name: EndName, at: float) -> bool:
    return not any(abs(far - at) < 0.01 for far, _ in turned.post_rows(piece, name))


def _scale(k: float) -> str:
    return tr("at true scale") if abs(k - 1.0) < 0.005 else tr("{k:.2g} × its size", k=k)


def _key(numbers: Mapping[str, int], key: str) -> str:
    found = [n for k, n in numbers.items() if k == key or k.startswith(f"{key}:")]
    return str(found[0]) if found else ""


def _chain(points: Sequence[tuple[float, float]]) -> list[Line]:
    return [Line(*a, *b) for a, b in itertools.pairwise(points)]
