"""The numbers of a job as plain data: what ``numbers.json`` and ``--json`` hold.

Coordinates are strap coordinates in mm: along +x from 0, lower edge on y = 0,
before any kerf or printer correction.
"""

from __future__ import annotations

import hashlib
import io
import json
import math
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, overload

from strapwork import __version__
from strapwork.geometry.shape import Line, Segment
from strapwork.piece import load
from strapwork.piece.piece import Piece
from strapwork.say import braiding, hardware, loads

if TYPE_CHECKING:
    from strapwork.cutter.paths import Cutting


_CLOSE = b"\n}\n"  # how every text of numbers ends


def segment(s: Segment) -> dict[str, list[float]]:
    """A segment as ``{"line": [x0, y0, x1, y1]}`` or ``{"arc": [cx, cy, r, start, sweep]}``."""
    if isinstance(s, Line):
        return {"line": [s.x0, s.y0, s.x1, s.y1]}
    return {"arc": [s.cx, s.cy, s.r, s.start_deg, s.sweep_deg]}


def _line(line: Line) -> dict[str, float]:
    return {"x0": line.x0, "y0": line.y0, "x1": line.x1, "y1": line.y1}


def braid(piece: Piece) -> dict[str, Any] | None:
    """The braid of a piece; None for a plain strap."""
    form, plan = piece.fit.braid, piece.plan
    if form is None or plan is None:
        return None
    return {
        "strands": piece.strands,
        "turns_per_set": plan.plait.turns_per_set,
        "sets": form.sets,
        "set_length_mm": form.set_length,
        "angle_deg": form.angle_deg,
        "width_mm": form.width,
        "thickness_mm": form.thickness,
        "slit_mm": form.slit,
        "braided_mm": form.finished,
        "turns": [t.text() for t in plan.turns],
        "passes": [{"after_turn": p.after_turn, "gap": p.gap, "face": p.face} for p in plan.schedule],
        "passes_in_words": [braiding.tab_pass(p, piece.strands) for p in plan.schedule],
    }


def _load(piece: Piece) -> dict[str, Any] | None:
    """The load estimate, for goods that carry one or where it was asked for."""
    if not load.wanted(piece):
        return None
    e = load.estimate(piece)
    return {
        "strength_n_per_mm2": e.strength,
        "source": e.source,
        "sections": [{"what": s.what, "area_mm2": s.area, "newtons": s.newtons, "how": s.how} for s in e.sections],
        "weakest": e.weakest.what,
        "factor": e.factor,
        "advised_newtons": e.advised,
        "asked_newtons": e.asked,
        "margin": e.margin,
        "warning": loads.WARNING,
    }


def of_piece(piece: Piece) -> dict[str, Any]:
    """Everything known of one piece."""
    fit, strap, thick = piece.fit, piece.strap, piece.leather.thickness
    return {
        "label": piece.label,
        "pattern": piece.pattern.name,
        "count": piece.count,
        "measure_mm": piece.value,
        "hand": piece.hand,
        "leather": {
            "name": piece.leather.name,
            "thickness_mm": thick.mid,
            "thickness_low_mm": thick.low,
            "thickness_high_mm": thick.high,
            "temper": piece.leather.temper,
            "tannage": piece.leather.tannage,
            "backing_mm": piece.leather.backing,
            "learned_factor": piece.leather.learned.factor if piece.leather.learned else None,
        },
        "fit": {
            "finished_mm": fit.finished,
            "ease_mm": fit.ease,
            "wrap_mm": fit.wrap,
            "turn_mm": fit.turn,
            "take_up_mm": fit.take_up,
            "modelled_take_up_mm": fit.modelled,
            "reference_to_reference_mm": fit.reference_to_reference,
            "cut_length_mm": fit.cut_length,
            "low_mm": fit.low,
            "high_mm": fit.high,
            "basis": fit.basis,
            "breakdown": [{"what": r.what, "mm": r.mm, "why": r.why} for r in fit.rows],
        },
        "strap": {"width_mm": strap.width, "length_mm": strap.length},
        "outline": {"area_mm2": strap.outline.area, "segments": [segment(s) for s in strap.outline]},
        "slits": [_line(s) for s in strap.slits],
        "holes": [
            {"x": h.x, "y": h.y, "diameter": h.diameter, "length": h.length, "for": h.purpose} for h in strap.holes
        ],
        "marks": [{"kind": m.kind, **_line(m.line)} for m in strap.marks],
        "hardware": [
            {
                "part": f.part,
                "size": f.size.name if f.size else None,
                "end": f.end,
                "half": f.half or None,
                "stack_mm": f.stack or None,
                "faces": f.faces,
                "shows": hardware.shows(f) or None,
                "count": f.count,
            }
            for f in strap.fittings
        ],
        "braid": braid(piece),
        "load": _load(piece),
        "findings": [
            {
                "level": f.level,
                "code": f.code,
                "message": f.message,
                "remedy": f.remedy or None,
                "source": f.source,
            }
            for f in piece.findings
        ],
    }


def of_cutting(cut: Cutting) -> dict[str, Any]:
    """Beds of one machine: how full, and how far the tool travels idle."""
    return {
        "machine": cut.machine.name,
        "kerf_mm": cut.machine.kerf,
        "beds": [
            {
                "name": b.sheet.name,
                "leather": b.leather,
                "pieces": b.pieces,
                "used": b.used,
                "travel_mm": b.travel,
                "travel_unordered_mm": b.before,
            }
            for b in cut.beds
        ],
        "least_beds_by_area": cut.plan.least,
        "spots": [{"piece": s.piece, "bed": s.bed + 1, "x_mm": s.x, "y_mm": s.y} for s in cut.plan.spots],
        "numbered": [{"piece": k, "written": written, "label": label} for k, written, label in cut.numbered],
        "left_out": [{"piece": k, "label": label} for k, label in cut.left_out],
    }


class Each(Sequence[dict[str, Any]]):
    """The numbers of every piece, worked out whenever they are asked for: kept, those of a large job are most of its size."""

    def __init__(self, pieces: Sequence[Piece]) -> None:
        self._pieces = pieces

    def __len__(self) -> int:
        return len(self._pieces)

    @overload
    def __getitem__(self, k: int) -> dict[str, Any]: ...
    @overload
    def __getitem__(self, k: slice) -> Each: ...
    def __getitem__(self, k: int | slice) -> dict[str, Any] | Each:
        return Each(self._pieces[k]) if isinstance(k, slice) else of_piece(self._pieces[k])


def fingerprint(pieces: Sequence[dict[str, Any]]) -> str:
    """Eight characters that change whenever a number of the job does.

    A hash of the pieces' numbers to a ten-thousandth, so that the last digit of a sine, which differs between
    processors, does not matter.
    """
    digest = hashlib.sha256(b"[")
    for k, piece in enumerate(pieces):
        text = json.dumps(_rounded(piece), ensure_ascii=False, sort_keys=True)
        digest.update(f"{', ' if k else ''}{text}".encode())
    digest.update(b"]")
    return digest.hexdigest()[:8]


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 4) + 0.0
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    return [_rounded(v) for v in value] if isinstance(value, (list, tuple)) else value


def of_job(
    title: str, pieces: Sequence[dict[str, Any]], sheets: Sequence[dict[str, Any]], mark: str = ""
) -> dict[str, Any]:
    """The whole job.

    Args:
        title: of the job.
        pieces: the numbers of each, from :func:`of_piece`.
        sheets: describes the files written.
        mark: the :func:`fingerprint` of ``pieces``, where it is known.
    """
    return {
        "strapwork": __version__,
        "fingerprint": mark or fingerprint(pieces),
        "units": "mm",
        "title": title,
        "pieces": pieces,
        "sheets": list(sheets),
    }


def dumps(data: dict[str, Any]) -> str:
    """JSON text, the same for the same data; refuses what JSON has no number for.

    Everything stands on a line of its own down to four levels, so that a
    change reads line by line; what lies deeper (a segment, a hole) is one line.
    """
    return encoded(data).decode()


def encoded(data: dict[str, Any]) -> bytes:
    """The text of :func:`dumps` in UTF-8, never one text on the way: of a large job that would be there twice over."""
    out = io.BytesIO()
    written = io.TextIOWrapper(out, encoding="utf-8", newline="")
    written.writelines(_lines(data, 0))
    written.write("\n")
    written.flush()
    return out.getvalue()


def encoded_with(already: bytes, key: str, value: Any) -> bytes:
    """What :func:`encoded` gave, with one more key at its end, without writing the rest again."""
    return b"".join((memoryview(already)[: -len(_CLOSE)], b",", encoded({key: value}).removeprefix(b"{")))


_DEEPEST = 4
_ENCODE = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode


def _lines(value: Any, depth: int) -> Iterator[str]:
    """The text of a value in parts; its further lines stand in by one space more than ``depth``."""
    if depth >= _DEEPEST or not isinstance(value, (dict, list, Each)) or not value:
        yield _one_line(value)
        return
    items: Iterable[tuple[str, Any]]
    if isinstance(value, dict):
        items = ((f"{json.dumps(k)}: ", v) for k, v in value.items())
    else:
        items = (("", v) for v in value)
    opens, closes = "{}" if isinstance(value, dict) else "[]"
    yield opens
    before = f"\n{' ' * (depth + 1)}"
    for name, item in items:
        yield before
        yield name
        yield from _lines(item, depth + 1)
        before = f",\n{' ' * (depth + 1)}"
    yield f"\n{' ' * depth}{closes}"


def _one_line(value: Any) -> str:
    # A number by itself spares the encoder, which is made anew for each.
    if type(value) is float and math.isfinite(value):
        return repr(value)
    return str(value) if type(value) is int else _ENCODE(value)
