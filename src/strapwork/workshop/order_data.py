"""An order for other programs: plain data for ``numbers.json``, and one table for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from strapwork.workshop.order import OrderList, as_printed

if TYPE_CHECKING:
    from strapwork.workshop.cost import Cost
    from strapwork.workshop.strips import StripPlan

# What a spreadsheet takes for the beginning of a formula (OWASP, CSV Injection: = + - @, tab and line ends,
# and the wide forms of the signs).
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
COLUMNS = (
    "list", "no", "name", "for", "leather", "width_mm", "length_mm", "slit_from_mm", "slit_to_mm", "count", "spare",
    "net_dm2", "gross_dm2", "by", "size", "materials", "labour", "overhead", "price_each", "price", "currency",
)  # fmt: skip


def as_data(order: OrderList, cost: Cost | None = None) -> dict[str, Any]:
    """The ``order`` of ``numbers.json``; pieces count from 0, amounts of money are texts."""
    return {
        "cut_list": [
            {
                "piece": r.piece,
                "label": r.label,
                "for": r.person,
                "leather": r.leather,
                "width_mm": r.width,
                "length_mm": r.length,
                "slit_from_mm": r.slit_from,
                "slit_to_mm": r.slit_to,
                "count": r.count,
            }
            for r in order.cuts
        ],
        "hardware": [{"name": h.name, "title": h.title, "count": h.count, "spare": h.spare} for h in order.hardware],
        "leather": [{"leather": x.leather, "net_mm2": x.net, "gross_mm2": x.gross, "by": x.by} for x in order.leather],
        "tools": [{"what": t.what, "size": t.size, "use": t.use} for t in order.tools],
        "cost": None if cost is None else cost_data(cost),
    }


def cost_data(cost: Cost) -> dict[str, Any]:
    """A cost as plain data; a piece's ``price`` is that of one copy, ``total`` that of all its copies."""
    return {
        "currency": cost.currency,
        "materials": cost.show(cost.materials),
        "labour": cost.show(cost.labour),
        "overhead": cost.show(cost.overhead),
        "price": cost.show(cost.price),
        "minutes": float(cost.minutes),
        "pieces": [
            {
                "piece": x.piece,
                "count": x.count,
                "materials": cost.show(x.materials),
                "labour": cost.show(x.labour),
                "price": cost.show(x.price),
                "total": cost.show(x.total),
            }
            for x in cost.lines
        ],
        "people": [{"for": person, "price": cost.show(total)} for person, total in cost.people],
        "without_price": list(cost.without),
    }


def cell(text: str) -> str:
    """A text that no spreadsheet takes for a formula; a number, below zero too, stays a number."""
    if not text.startswith(FORMULA):
        return text
    try:
        float(text)
    except ValueError:
        return f"'{text}"
    return text if text == text.strip() else f"'{text}"


def as_csv(order: OrderList, cost: Cost | None = None, plans: Sequence[StripPlan] = ()) -> bytes:
    """``order.csv``: one table, a row a thing, its kind in the column ``list``.

    Lengths in mm and areas in dm2 as they are printed, to one decimal, so that
    sums over the table are those of the order page.  UTF-8 with a byte order
    mark, which spreadsheets need to read names right.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\r\n")
    writer.writeheader()

    def row(kind: str, **cells: object) -> None:
        texts = {k.rstrip("_"): v if not isinstance(v, str) else cell(v) for k, v in cells.items() if v is not None}
        writer.writerow({"list": kind, **texts})

    def mm(value: float | None) -> str | None:
        return None if value is None else f"{as_printed(value):.1f}"

    for r in order.cuts:
        row(
            "cut",
            no=r.piece + 1,
            name=r.label,
            for_=r.person,
            leather=r.leather,
            width_mm=mm(r.width),
            length_mm=mm(r.length),
            slit_from_mm=mm(r.slit_from),
            slit_to_mm=mm(r.slit_to),
            count=r.count,
        )
    for h in order.hardware:
        row("lay out", name=h.title, size=h.name, count=h.count, spare=h.spare)
    for x in order.leather:
        row("leather", leather=x.leather, net_dm2=dm2(x.net), gross_dm2=dm2(x.gross), by=x.by)
    for t in order.tools:
        row("tool", name=t.what, size=t.size, by=t.use)
    for plan in plans:
        for s in plan.strips:
            row("strip", leather=plan.leather, width_mm=mm(plan.width), length_mm=mm(s.stock.length), count=1)
            for c in s.cuts:
                row("strip cut", no=c.piece + 1, length_mm=mm(c.end - c.start), count=1)
    if cost is not None:
        for line in cost.lines:
            row(
                "cost",
                no=line.piece + 1,
                name=line.label,
                for_=line.person,
                count=line.count,
                materials=cost.show(line.materials),
                labour=cost.show(line.labour),
                overhead=cost.show(line.overhead),
                price_each=cost.show(line.price),
                price=cost.show(line.total),
                currency=cost.currency,
            )
        for what in cost.without:
            row("without price", name=what)
    return out.getvalue().encode("utf-8-sig")


def dm2(mm2: float) -> str:
    """An area in square decimetres, to one decimal, rounded half up."""
    return f"{as_printed(mm2 / 1e4):.1f}"
