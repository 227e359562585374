"""Remedies typed back as they are printed: what was wrong must be gone."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator

from strapwork.errors import InputError
from strapwork.piece.findings import Finding
from strapwork.piece.piece import Piece

Texts = dict[str, str]
Work = Callable[[Texts], list[Piece]]  # the pieces of an order, or InputError
LENGTH = r"(?:\d[\d ./]*(?:mm|in|oz))"


def kind(sentence: str) -> str:
    """A sentence without its numbers and names."""
    return re.sub(r"\d[\d./]*(?: \d+/\d+)?", "N", re.sub(r"'[^']*'|\"[^\"]*\"", "…", sentence))


def of_refusal(texts: Texts, e: InputError) -> list[Texts]:
    """Orders that the refusal's remedy asks for; none where it names no value."""
    key = e.place.removeprefix("--").replace("-", "_")
    out: list[Texts] = []

    def tried(**more: str) -> None:
        out.append({**texts, **more})

    def without(*names: str) -> None:
        out.append({k: v for k, v in texts.items() if k not in names})

    r = e.remedy
    if found := re.search(rf"use at most ({LENGTH})", r):
        tried(**{key: found[1]})
    if found := re.search(rf"give (?:a length )?from ({LENGTH}) to ({LENGTH})", r):
        tried(**{key: found[1]})
        tried(**{key: found[2]})
    if found := re.search(rf"make it at least ({LENGTH}) wide", r):
        tried(width=found[1])
    if found := re.search(r"ask for (\d+) or fewer", r):
        tried(sets=found[1])
    if "name no size" in r:
        without("hardware")
    if found := re.search(rf"the usual ease is ({LENGTH})", r):
        tried(ease=found[1])
    if "use plain turns" in r:
        without("turns", "weave")
        out[-1]["strands"] = "3"
    if found := re.search(r"or the turns '([^']+)'", r):
        tried(turns=found[1])
    if "make the strap plain" in r:
        tried(sets="0")
    for what, name in (("hardware", "hardware"), ("number of holes", "holes"), ("relief holes", "relief")):
        if f"leave the {what} out" in r:
            without(name)
    if "ask for round ends" in r:
        tried(ends="round")
    if found := re.search(rf"make the strap at most ({LENGTH}) wide", r):
        tried(width=found[1])
    if "or a plain strap" in r:
        tried(sets="0")
    return out


def refused(texts: Texts, e: InputError, work: Work) -> Iterator[str]:
    """Remedies of a refusal that are refused again for the same thing."""
    for again in of_refusal(texts, e):
        try:
            work(again)
        except InputError as new:
            if kind(new.problem) == kind(e.problem) and new.place == e.place:
                yield f"remedy does not help: {e.problem}; {e.remedy} -> {new.problem} ({_changed(texts, again)})"


def _changed(old: Texts, new: Texts) -> Texts:
    return {k: v for k, v in new.items() if old.get(k) != v} or {"without": ", ".join(sorted(set(old) - set(new)))}


def of_finding(piece: Piece, f: Finding, texts: Texts) -> list[Texts]:
    """Orders that the finding's remedy asks for."""
    out: list[Texts] = []
    if found := re.search(rf"(?:^|, )(?:or )?make (?:the strap|it) ({LENGTH}) wide", f.remedy):
        out.append({**texts, "width": found[1]})
    if found := re.search(rf"use leather ({LENGTH}) thick", f.remedy):
        out.append({**{k: v for k, v in texts.items() if k != "leather"}, "leather": _like(texts, found[1], piece)})
    if found := re.search(r"hang no more than ([\d.]+ (?:kg|lb)) on it", f.remedy):
        out.append({**texts, "load": found[1]})
    if found := re.search(rf"cut strands of ({LENGTH}) or narrower", f.remedy):
        out.append({**texts, "width": _times(found[1], piece.strands)})
    if found := re.search(rf"line or back the leather to ({LENGTH})", f.remedy):
        more = _mm(found[1]) - (piece.leather.worn[1] - piece.leather.backing)
        out.append({**texts, "backing": f"{more:.9f} mm"})
    if found := re.search(rf"the usual ease is ({LENGTH})", f.remedy):
        out.append({**texts, "ease": found[1]})
    form = piece.fit.braid
    if form and (f.remedy == "add a set" or "one set fewer" in f.remedy):
        out.append({**texts, "sets": str(form.sets + (1 if f.remedy == "add a set" else -1))})
    return out


def _mm(text: str) -> float:
    from strapwork.units import parse_length, parse_thickness

    return parse_thickness(text, place="x").mid if text.endswith("oz") else parse_length(text, place="x")


def _times(text: str, strands: int) -> str:
    return f"{math.floor(_mm(text) * strands * 1e6) / 1e6} mm"


def _like(texts: Texts, thickness: str, piece: Piece) -> str:
    """The same leather, thicker: what the shelf says of it comes along."""
    return (
        thickness if piece.leather.learned is None and not piece.leather.name else "{ thickness = '" + thickness + "' }"
    )


HELPS_MORE = {"sets-tight", "sets-few"}  # "easier", not "gone"


def found(texts: Texts, piece: Piece, work: Work) -> Iterator[str]:
    """Remedies of findings that leave the finding where it was."""
    for f in piece.findings:
        for again in of_finding(piece, f, texts):
            try:
                new = work(again)[0]
            except InputError as e:
                if f.code != "load-short" and kind(e.problem).startswith(("an ease", "strands")):
                    yield f"remedy of {f.code} is refused: {f.remedy} -> {e.problem}"
                elif f.code in ("sets-few", "sets-tight", "load-short"):
                    yield f"remedy of {f.code} is refused: {f.remedy} -> {e.problem} ({_changed(texts, again)})"
                continue
            still = next((g for g in new.findings if g.code == f.code), None)
            if still and f.code in HELPS_MORE:
                a, b = piece.fit.braid, new.fit.braid
                if a and b and (b.angle_deg < a.angle_deg) != (f.code == "sets-tight"):
                    yield f"remedy of {f.code} makes it worse"
            elif still and _same(f, still):
                yield f"remedy leaves {f.code}: {f.message}; {f.remedy} -> {still.message}"


def _same(f: Finding, g: Finding) -> bool:
    """Whether it is still the same trouble: with several of a kind, the one that was named."""
    return f.code != "hardware-too-wide" or g.message.split(" is ")[0] == f.message.split(" is ")[0]
