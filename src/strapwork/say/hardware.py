"""What hardware goes where, and which half shows on which side."""

from __future__ import annotations

from strapwork.catalogue import tr
from strapwork.piece.piece import Piece
from strapwork.piece.strap import Fitting
from strapwork.units import say_thin


def shows(f: Fitting) -> str:
    """Which side a snap's half shows on; empty for what has no halves (common practice, no source)."""
    if not f.half:
        return ""
    other = "flesh" if f.faces == "grain" else "grain"
    if f.half == "cap":
        return tr(
            "cap half with its cap on the {faces} side and its socket on the {other} side",
            faces=tr(f.faces),
            other=tr(other),
        )
    return tr(
        "stud half with its back on the {faces} side and its stud on the {other} side",
        faces=tr(f.faces),
        other=tr(other),
    )


def short(f: Fitting) -> str:
    """In few words, for the strap itself: which half and which face; ``buckle``, ``ring``, ``hook``; empty for others."""
    if f.part in ("buckle", "ring", "hook"):
        return tr(f.part)
    if not f.half:
        return ""
    other = "flesh" if f.faces == "grain" else "grain"
    return (
        tr("cap half, cap on {faces} side", faces=tr(f.faces))
        if f.half == "cap"
        else tr("stud half, stud on {other} side", other=tr(other))
    )


def fitting(f: Fitting) -> str:
    """One piece of hardware: what to ask for, what it goes through, and which way it faces."""
    if f.size is None:
        return ""
    many = f"{f.count} × " if f.count > 1 else ""
    stack = tr(", through {stack}", stack=say_thin(f.stack)) if f.stack else ""
    half = f", {shows(f)}" if f.half else ""
    return f"{many}{f.size.title}{stack}{half}"


def fittings(piece: Piece) -> list[tuple[str, str]]:
    """(end, what is set there) of all bought hardware of a piece."""
    return [(f.end, fitting(f)) for f in piece.strap.fittings if f.size]
