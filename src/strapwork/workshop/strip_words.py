"""A cutting plan in words: strips that are cut alike on one line, and what is proved of the plan."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.units import format_length, say_thin, shown_in
from strapwork.workshop.strips import Strip, StripPlan


@dataclass(frozen=True, slots=True)
class Row:
    """Strips that are cut alike: their numbers, length, (label, mm, how many) of every cut in order, off-cut in mm."""

    first: int
    last: int
    length: float
    cuts: tuple[tuple[str, float, int], ...]
    offcut: float
    missing: bool

    @property
    def count(self) -> int:
        return self.last - self.first + 1


def rows(plan: StripPlan, labels: Sequence[str]) -> list[Row]:
    """The plan line by line; ``labels`` are those of the pieces."""
    out: list[Row] = []
    for k, strip in enumerate(plan.strips, start=1):
        cuts = _cuts(strip, labels)
        last = out[-1] if out else None
        if last and (last.length, last.cuts, last.missing) == (strip.stock.length, cuts, strip.missing):
            out[-1] = Row(last.first, k, last.length, cuts, last.offcut, last.missing)
        else:
            out.append(Row(k, k, strip.stock.length, cuts, strip.offcut, strip.missing))
    return out


def _cuts(strip: Strip, labels: Sequence[str]) -> tuple[tuple[str, float, int], ...]:
    out: list[tuple[str, float, int]] = []
    for c in strip.cuts:
        label, mm = labels[c.piece], round(c.end - c.start, 6)
        if out and out[-1][:2] == (label, mm):
            out[-1] = (label, mm, out[-1][2] + 1)
        else:
            out.append((label, mm, 1))
    return tuple(out)


_THICK = re.compile(r"(backing )?([\d.]+) mm(?: to ([\d.]+) mm)?")


def leather(key: str, units: str) -> str:
    """What a leather is called in lists, its thickness in the units of the job where it has no name."""
    found = _THICK.fullmatch(key)
    if found is None:
        return key
    with shown_in(units):
        return (found[1] or "") + " to ".join(say_thin(float(mm)) for mm in found.groups()[1:] if mm)


def cut_words(row: Row, units: str) -> list[str]:
    """The cuts of a line and what is left, each a few words."""
    out = [(f"{n} × " if n > 1 else "") + f"{label} {format_length(mm, units)}" for label, mm, n in row.cuts]
    return [*out, f"off-cut {format_length(row.offcut, units)}"] if row.offcut >= 0.05 else out


def headline(plan: StripPlan, units: str) -> str:
    """How many strips of which lengths."""
    counts: dict[float, int] = {}
    for s in plan.strips:
        counts[s.stock.length] = counts.get(s.stock.length, 0) + 1
    of = " and ".join(f"{n} of {format_length(mm, units)}" for mm, n in sorted(counts.items(), reverse=True))
    width = f", {format_length(plan.width, units)} wide" if plan.width else ""
    return f"Strips of {leather(plan.leather, units) or 'leather'}{width}: {of or 'none'}"


def statements(plan: StripPlan, units: str) -> list[str]:
    """What the plan costs, what is proved of it, and what it cannot give."""
    out = []
    if plan.cost is not None and plan.cost_bound is not None and plan.missing == 0:
        proof = "no plan costs less" if plan.proven else f"no plan can cost less than {plan.cost_bound}"
        out.append(f"They cost {plan.cost}; {proof}")
    elif plan.proven and plan.used == plan.bound:
        out.append(f"No plan uses fewer than {plan.bound}")
    elif plan.proven:
        out.append("No plan uses less length of strip")
    else:
        out.append(f"No plan can use fewer than {plan.bound}")
    if plan.kerf:
        out.append(f"The blade takes {format_length(plan.kerf, units)} with every cut, and that is allowed for")
    if plan.missing:
        length = next(s.stock.length for s in plan.strips if s.missing)
        out.append(f"{plan.missing} of {format_length(length, units)} must be had besides those in hand")
    if plan.too_long:
        long = ", ".join(f"{w.label or 'a piece'} ({format_length(w.length, units)})" for w in plan.too_long)
        out.append(f"No strip is long enough for {long}")
    return out


def words(plan: StripPlan, labels: Sequence[str], units: str = "mm") -> str:
    """The plan for a person."""
    out = [f"{headline(plan, units)}."]
    out += [f"  {text}." for text in statements(plan, units)]
    for row in rows(plan, labels):
        which = f"strip {row.first}" if row.count == 1 else f"strips {row.first} to {row.last}, each"
        lack = ", to be had" if row.missing else ""
        out.append(f"  {which} {format_length(row.length, units)}{lack}: {' · '.join(cut_words(row, units))}")
    return "\n".join(out)
