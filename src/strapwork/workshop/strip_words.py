"""A cutting plan in words: strips that are cut alike on one line, and what is proved of the plan."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from strapwork.catalogue import tr
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
        return (found[1] or "") + tr(" to ").join(say_thin(float(mm)) for mm in found.groups()[1:] if mm)


def cut_words(row: Row, units: str) -> list[str]:
    """The cuts of a line and what is left, each a few words."""
    out = [(f"{n} × " if n > 1 else "") + f"{label} {format_length(mm, units)}" for label, mm, n in row.cuts]
    return [*out, tr("off-cut {offcut}", offcut=format_length(row.offcut, units))] if row.offcut >= 0.05 else out


def headline(plan: StripPlan, units: str) -> str:
    """How many strips of which lengths."""
    counts: dict[float, int] = {}
    for s in plan.strips:
        counts[s.stock.length] = counts.get(s.stock.length, 0) + 1
    of = tr(" and ").join(
        tr("{n} of {mm}", n=n, mm=format_length(mm, units)) for mm, n in sorted(counts.items(), reverse=True)
    )
    width = tr(", {width} wide", width=format_length(plan.width, units)) if plan.width else ""
    return tr(
        "Strips of {leather}{width}: {of}",
        leather=leather(plan.leather, units) or tr("leather"),
        width=width,
        of=of or tr("none"),
    )


def statements(plan: StripPlan, units: str) -> list[str]:
    """What the plan costs, what is proved of it, and what it cannot give."""
    out = []
    if plan.cost is not None and plan.cost_bound is not None and plan.missing == 0:
        proof = (
            tr("no plan costs less")
            if plan.proven
            else tr("no plan can cost less than {cost_bound}", cost_bound=plan.cost_bound)
        )
        out.append(tr("They cost {cost}; {proof}", cost=plan.cost, proof=proof))
    elif plan.proven and plan.used == plan.bound:
        out.append(tr("No plan uses fewer than {bound}", bound=plan.bound))
    elif plan.proven:
        out.append(tr("No plan uses less length of strip"))
    else:
        out.append(tr("No plan can use fewer than {bound}", bound=plan.bound))
    if plan.kerf:
        out.append(
            tr("The blade takes {kerf} with every cut, and that is allowed for", kerf=format_length(plan.kerf, units))
        )
    if plan.missing:
        length = next(s.stock.length for s in plan.strips if s.missing)
        out.append(
            tr(
                "{missing} of {length} must be had besides those in hand",
                missing=plan.missing,
                length=format_length(length, units),
            )
        )
    if plan.too_long:
        long = ", ".join(f"{w.label or 'a piece'} ({format_length(w.length, units)})" for w in plan.too_long)
        out.append(tr("No strip is long enough for {long}", long=long))
    return out


def words(plan: StripPlan, labels: Sequence[str], units: str = "mm") -> str:
    """The plan for a person."""
    out = [f"{headline(plan, units)}."]
    out += [f"  {text}." for text in statements(plan, units)]
    for row in rows(plan, labels):
        which = (
            tr("strip {first}", first=row.first)
            if row.count == 1
            else tr("strips {first} to {last}, each", first=row.first, last=row.last)
        )
        lack = tr(", to be had") if row.missing else ""
        out.append(f"  {which} {format_length(row.length, units)}{lack}: {' · '.join(cut_words(row, units))}")
    return "\n".join(out)
