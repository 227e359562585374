"""What is said of a run of sizes: plain data for other programs, and words for a person."""

from __future__ import annotations

from typing import Any

from strapwork.bodies.sizes import Sizes
from strapwork.catalogue import tr, trn
from strapwork.units import format_column, format_length, rounding_note


def as_data(found: Sizes, more: Sizes | None, reach: float | None, count: int | None = None) -> dict[str, Any]:
    """The sizes as plain data; ``mm`` is not rounded."""
    hundred = found.split(100)
    rows: list[dict[str, Any]] = []
    cut = found.split(count) if count is not None else None
    for k, s in enumerate(found.sizes):
        row = {
            "name": s.name,
            "mm": s.mm,
            "share": s.share,
            "per_hundred": hundred[k],
            "from_mm": s.low,
            "to_mm": s.high,
        }
        rows.append(row if cut is None else {**row, "count": cut[k]})
    data: dict[str, Any] = {
        "sizes": rows,
        "who": found.spread.who,
        "source": found.spread.source,
        "notes": list(found.spread.notes),
        "step_mm": found.step,
        "misfit_mm": found.misfit,
        "nearly_all_mm": found.nearly_all,
        "reach_mm": reach,
        "within": None if reach is None else found.within(reach),
        "within_at_most": None if reach is None else found.at_most(reach),
        "one_more": None,
    }
    if more is not None:
        data["one_more"] = {
            "misfit_mm": more.misfit,
            "nearly_all_mm": more.nearly_all,
            "within": None if reach is None else more.within(reach),
        }
    return data


def rows(found: Sizes, count: int | None, units: str) -> list[tuple[str, ...]]:
    """Size, girth, the girths it is for, how many in a hundred and of ``count``: the table's cells."""
    hundred = found.split(100)
    cut = found.split(count) if count is not None else None
    out: list[tuple[str, ...]] = []
    for k, s in enumerate(found.sizes):
        girths = (format_column(s.mm, units), format_length(s.low, units), format_length(s.high, units))
        out.append((s.name, *girths, str(hundred[k]), *((str(cut[k]),) if cut else ())))
    return out


def heading(what: str, found: Sizes) -> str:
    """What the sizes are of, how many, and for whom."""
    many = trn("{sizes} size", "{sizes} sizes", len(found.sizes), sizes=len(found.sizes))
    called = tr(what)
    return tr("{what}, {many}, for {who}", what=called[:1].upper() + called[1:], many=many, who=found.spread.who)


def sentences(by: str, found: Sizes, more: Sizes | None, reach: float | None, units: str) -> list[str]:
    """How well they fit, what one more would gain, what is claimed of them, and on whom it rests."""

    def show(mm: float) -> str:
        return format_length(mm, units)

    many = trn("{sizes} size", "{sizes} sizes", len(found.sizes), sizes=len(found.sizes))
    lines = [
        f"{rounding_note(units).split(';')[0]}.",
        tr(
            "A person's girth is typically {misfit} from a size (root mean square); "
            "95 people in 100 are within {nearly_all} of one.",
            misfit=show(found.misfit),
            nearly_all=show(found.nearly_all),
        ),
    ]
    if reach is not None:
        best = (
            ""
            if by == "reach"
            else tr("; no {many} could hold more than {at_most}", many=many, at_most=_percent(found.at_most(reach)))
        )
        lines.append(
            tr(
                "Within {reach} of a size: {within} people in 100{best}.",
                reach=show(reach),
                within=_percent(found.within(reach)),
                best=best,
            )
        )
    if more is not None:
        gain = (
            ""
            if reach is None
            else tr(", and {within} in 100 within {reach}", within=_percent(more.within(reach)), reach=show(reach))
        )
        lines.append(
            tr("With one size more: typically {misfit} from a size{gain}.", misfit=show(more.misfit), gain=gain)
        )
    if by == "reach":
        lines.append(tr("These sizes leave the fewest people out of reach; no others, as many, leave fewer."))
    else:
        steps = tr(" in whole steps of {step}", step=show(found.step)) if found.step else ""
        lines.append(
            tr("These are the best sizes{steps} by mean squared distance; no others, as many, have less.", steps=steps)
        )
    return [*lines, tr("Counted on: {source}.", source=found.spread.source), *found.spread.notes]


def words(
    what: str, by: str, found: Sizes, more: Sizes | None, reach: float | None, count: int | None, units: str
) -> str:
    """The sizes for a person."""
    hundred = found.split(100)
    cut = found.split(count) if count is not None else None
    lines = [heading(what, found)]
    heads = (tr("size"), tr("girth"), tr("for girths from"), tr("to"), tr("in 100"))
    head = "  {:<5} {:>12}   {:>15} {:>12}   {:>6}".format(*heads)
    share = tr("of {count}", count=count)
    lines.append(head + (f"   {share:>8}" if cut else ""))
    for name, girth, low, high, share, *rest in rows(found, count, units):
        row = f"  {name:<5} {girth:>12}   {low:>15} {high:>12}   {share:>6}"
        lines.append(row + (f"   {rest[0]:>8}" if rest else ""))
    lines.append(f"  {'':<5} {'':>12}   {'':>15} {'':>12}   {sum(hundred):>6}" + (f"   {sum(cut):>8}" if cut else ""))
    return "\n".join([*lines, *(f"  {text}" for text in sentences(by, found, more, reach, units))])


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f}"
