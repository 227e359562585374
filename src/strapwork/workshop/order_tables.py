"""The tables of the order page: the lists of an order as a maker works them down."""

from __future__ import annotations

import math
from collections.abc import Sequence

from strapwork.catalogue import tr, trn
from strapwork.drawing.primitives import Sheet
from strapwork.paper import order_page
from strapwork.paper.order_page import Column, Section, Table
from strapwork.units import format_column, format_length, rounding_note
from strapwork.workshop import strip_words
from strapwork.workshop.cost import Cost
from strapwork.workshop.order import ESTIMATE, HIDE, STRIPS, CutRow, OrderList, as_printed
from strapwork.workshop.strips import StripPlan

SPACED = "\u00a0· "  # the dot stays on its line
SQUARE_FOOT = 304.8**2  # mm2
BY = {ESTIMATE: tr("estimate"), HIDE: tr("hides"), STRIPS: tr("strips")}


def sheets(
    title: str,
    paper: tuple[float, float],
    order: OrderList,
    plans: Sequence[StripPlan] = (),
    cost: Cost | None = None,
    units: str = "mm",
) -> list[Sheet]:
    """The order page, on as many sheets of ``paper`` (A4 or letter, sides in mm) as it needs."""
    under = tr("Order: what to cut, lay out and buy. Tick off as you go.")
    return order_page.sheets(title, under, tables(order, plans, cost, units), paper)


def tables(
    order: OrderList, plans: Sequence[StripPlan] = (), cost: Cost | None = None, units: str = "mm"
) -> list[Table | tuple[Table, Table]]:
    """Everything that stands on the order page, in working order."""
    out: list[Table | tuple[Table, Table]] = [_cuts(order, units)]
    if plans:
        labels = {r.piece: r.label for r in order.cuts}
        out.append(_strips(plans, [labels[k] for k in range(len(labels))], units))
    leather = _leather(order, units)
    out.append((_hardware(order), leather) if order.hardware else leather)
    out.append(_tools(order))
    if cost is not None:
        out.append(_cost(cost))
        if cost.people:
            out.append(_people(cost))
    return out


def _pieces(n: int) -> str:
    return trn("{n} piece", "{n} pieces", n, n=n)


def _cuts(order: OrderList, units: str) -> Table:
    someone = any(r.person for r in order.cuts)
    wide = 0.0 if units == "mm" else 12.0  # fractions of an inch take more room
    columns = [Column(tr("name"), (34.0 if someone else 56.0) - 0.6 * wide)]
    columns += [Column(tr("for"), 22.0 - 0.4 * wide)] if someone else []
    columns += [
        Column(tr("cut length"), 20.0, "end", True),
        Column(tr("slits, from the start"), 32.0 + wide, "end", True),
        Column(tr("cut"), 8.0, "end", True),
    ]
    sections, length, count = [], 0.0, 0
    for (leather, width), rows in order.groups():
        part = math.fsum(as_printed(r.length, units) * r.count for r in rows)
        many = sum(r.count for r in rows)
        length, count = length + part, count + many
        sections.append(
            Section(
                rows=tuple(_cut(r, someone, units) for r in rows),
                heading=tr(
                    "from {leather}, {width} wide",
                    leather=strip_words.leather(leather, units),
                    width=format_length(width, units),
                ),
                remark=tr("{pieces}, together {part}", pieces=_pieces(many), part=format_column(part, units)),
            )
        )
    total: tuple[str, ...] = (tr("in all"), *(("",) if someone else ()), format_column(length, units), "", str(count))
    if len(sections) == 1:
        total = ()  # stands beside the section's name
    return Table(tr("Cut, longest first"), tuple(columns), tuple(sections), total=total, notes=(rounding_note(units),))


def _cut(r: CutRow, someone: bool, units: str) -> tuple[str, ...]:
    slits = tr("no slits")
    if r.slit_from is not None and r.slit_to is not None:
        slits = tr("{bare} to {bare2}", bare=_bare(r.slit_from, units), bare2=_bare(r.slit_to, units))
    cells = [r.label, *([r.person or ""] if someone else []), _bare(r.length, units), slits, str(r.count)]
    return tuple(cells)


def _bare(mm: float, units: str) -> str:
    """A length without its unit where the whole column is in millimetres."""
    text = format_column(mm, units)
    return text.removesuffix(" mm") if units == "mm" else text


def _hardware(order: OrderList) -> Table:
    rows = tuple(
        (h.title, str(h.count), str(h.spare) if h.spare else "", str(h.count + h.spare)) for h in order.hardware
    )
    sums = (sum(h.count for h in order.hardware), sum(h.spare for h in order.hardware))
    return Table(
        heading=tr("Lay out"),
        columns=(
            Column(tr("hardware"), 58.0),
            Column(tr("to set"), 12.0, "end"),
            Column(tr("spare"), 11.0, "end"),
            Column(tr("lay out"), 13.0, "end", True),
        ),
        sections=(Section(rows),),
        total=(tr("in all"), str(sums[0]), str(sums[1]), str(sum(sums))) if len(rows) > 1 else (),
        notes=(
            tr(
                "Spare: {spare} in 100 small parts, at least one (common practice, no source).",
                spare=round(100 * order.spare),
            ),
        )
        if any(h.spare for h in order.hardware)
        else (),
    )


def _area(mm2: float, units: str) -> float:
    """An area as printed: in tenths of a square decimetre, or hundredths of a square foot where inches are shown."""
    return as_printed(mm2 / 1e4) if units == "mm" else as_printed(10.0 * mm2 / SQUARE_FOOT) / 10.0


def _leather(order: OrderList, units: str) -> Table:
    form, unit = ("{:.1f}", "dm²") if units == "mm" else ("{:.2f}", "ft²")
    areas = [(_area(x.net, units), _area(x.gross, units)) for x in order.leather]
    rows = [
        (strip_words.leather(x.leather, units), form.format(net), form.format(gross), BY[x.by])
        for x, (net, gross) in zip(order.leather, areas, strict=True)
    ]
    sums = [form.format(math.fsum(pair[k] for pair in areas)) for k in (0, 1)]
    notes: tuple[str, ...] = ()
    if any(x.by == ESTIMATE for x in order.leather):
        notes = (
            tr(
                "Estimate: {waste} in a hundred more than the straps (common practice, no source); a hide "
                "with many faults takes more.",
                waste=round(100 * order.waste),
            ),
        )
    return Table(
        heading=tr("Leather, {unit}", unit=unit),
        columns=(
            Column(tr("leather"), 34.0),
            Column(tr("straps"), 17.0, "end"),
            Column(tr("with waste"), 22.0, "end", True),
            Column(tr("known by"), 19.0),
        ),
        sections=(Section(tuple(rows)),),
        total=(tr("in all"), *sums, "") if len(rows) > 1 else (),
        notes=notes,
    )


def _tools(order: OrderList) -> Table:
    sizes: dict[str, list[str]] = {}
    for t in order.tools:
        sizes.setdefault(t.what, []).append(tr(" for ").join(x for x in (t.size, t.use) if x))
    rows = tuple((what[:1].upper() + what[1:], SPACED.join(said)) for what, said in sizes.items())
    return Table(
        heading=tr("Tools"),
        columns=(Column(tr("tool"), 54.0), Column(tr("sizes, and what they are for"), 76.0)),
        sections=(Section(rows),),
        notes=(tr("A fresh blade, light passes, eyes and fingers out of the way."),),
    )


def _strips(plans: Sequence[StripPlan], labels: Sequence[str], units: str) -> Table:
    sections, notes = [], []
    for plan in plans:
        rows = []
        for r in strip_words.rows(plan, labels):
            which = f"{r.first}" if r.count == 1 else tr("{first} to {last}", first=r.first, last=r.last)
            lack = tr(" to be had") if r.missing else ""
            rows.append((which, format_length(r.length, units) + lack, SPACED.join(strip_words.cut_words(r, units))))
        name = strip_words.headline(plan, units)
        sections.append(
            Section(
                tuple(rows),
                name[:1].lower() + name[1:],
                trn("{used} strip", "{used} strips", plan.used, used=plan.used),
            )
        )
        notes.append(
            f"{strip_words.leather(plan.leather, units)}, {format_length(plan.width, units)}: {'. '.join(strip_words.statements(plan, units))}."
        )
    return Table(
        heading=tr("From strips"),
        columns=(
            Column(tr("strip"), 12.0),
            Column(tr("length"), 20.0, "end", True),
            Column(tr("cut in this order"), 92.0),
        ),
        sections=tuple(sections),
        notes=tuple(notes),
    )


def _cost(cost: Cost) -> Table:
    rows = tuple(
        (x.label, str(x.count), cost.show(x.materials), cost.show(x.labour), cost.show(x.overhead), cost.show(x.price), cost.show(x.total))
        for x in cost.lines
    )  # fmt: skip
    sums = (cost.materials, cost.labour, cost.overhead)
    notes = [tr("Of the price, {left} is left after materials, labour and overhead.", left=cost.show(cost.left))]
    if cost.without:
        notes.append(tr("Without a price, and in no sum: {without}.", without="; ".join(cost.without)))
    return Table(
        heading=tr("Cost and price, {currency}", currency=cost.currency),
        columns=(
            Column(tr("piece"), 44.0),
            Column(tr("count"), 9.0, "end"),
            Column(tr("materials"), 16.0, "end"),
            Column(tr("labour"), 16.0, "end"),
            Column(tr("overhead"), 16.0, "end"),
            Column(tr("price of one"), 18.0, "end"),
            Column(tr("price"), 20.0, "end", True),
        ),
        sections=(Section(rows),),
        total=(
            tr("in all"),
            str(sum(x.count for x in cost.lines)),
            *(cost.show(v) for v in sums),
            "",
            cost.show(cost.price),
        ),
        notes=tuple(notes),
        ticks=False,
    )


def _people(cost: Cost) -> Table:
    nobody = cost.price - sum(total for _, total in cost.people)
    rows = [(person, cost.show(total)) for person, total in cost.people]
    if nobody:
        rows.append((tr("for nobody named"), cost.show(nobody)))
    return Table(
        heading=tr("By person, {currency}", currency=cost.currency),
        columns=(Column(tr("for"), 80.0), Column(tr("price"), 24.0, "end", True)),
        sections=(Section(tuple(rows)),),
        total=(tr("in all"), cost.show(cost.price)),
    )
