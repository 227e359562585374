"""The whole order of a job: what to cut, lay out and buy, what it costs, and the strips it comes out of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from strapwork.catalogue import tr
from strapwork.drawing.primitives import Sheet
from strapwork.errors import InputError, shown
from strapwork.order import names
from strapwork.order.order import Job
from strapwork.piece.piece import Piece
from strapwork.workshop import order, order_data
from strapwork.workshop.order import OrderList

# Strips, prices and the order page are imported when a job asks for them: a single draft asks for none.
if TYPE_CHECKING:
    from strapwork.paper.order_page import Table
    from strapwork.workshop.cost import Cost
    from strapwork.workshop.prices import Prices
    from strapwork.workshop.stock_lengths import Stock
    from strapwork.workshop.strips import StripPlan


@dataclass(frozen=True, slots=True)
class Lists:
    """The lists of a job; ``cost`` is None where there are no prices."""

    order: OrderList
    plans: tuple[StripPlan, ...]
    cost: Cost | None
    prices: Prices | None = None

    def minutes(self, piece: Piece) -> dict[str, Decimal]:
        """The maker's own minutes for one copy by kind of step; empty where no price file says any."""
        if self.prices is None:
            return {}
        from strapwork.workshop.cost import minutes_of

        return minutes_of(piece, self.prices)

    def data(self) -> dict[str, Any]:
        """``order`` and, where strips are planned, ``strips`` of ``numbers.json``."""
        out: dict[str, Any] = {"order": order_data.as_data(self.order, self.cost)}
        if self.plans:
            from strapwork.workshop import strips

            out["strips"] = [strips.as_data(p) for p in self.plans]
        return out

    def csv(self) -> bytes:
        """``order.csv`` for a spreadsheet."""
        return order_data.as_csv(self.order, self.cost, self.plans)

    def tables(self, units: str) -> list[Table | tuple[Table, Table]]:
        """What stands on the order page, on paper and in the browser."""
        from strapwork.workshop import order_tables

        return order_tables.tables(self.order, self.plans, self.cost, units)

    def sheets(self, job: Job, paper: tuple[float, float]) -> list[Sheet]:
        """The order page, in front of the sheets."""
        from strapwork.workshop import order_tables

        return order_tables.sheets(job.title, paper, self.order, self.plans, self.cost, job.units)


def of_job(job: Job, pieces: Sequence[Piece]) -> Lists:
    """The lists of a job.

    Raises:
        InputError: for strips or a price file that cannot be used.
    """
    prices = None
    if job.prices is not None:
        from strapwork.workshop import prices as price_files

        prices = price_files.read(job.prices)
    stocks = [_stock(s, f"strips[{k}]") for k, s in enumerate(job.strips, start=1)]
    stocks += prices.strips if prices is not None else []
    plans: tuple[StripPlan, ...] = ()
    if stocks:
        from strapwork.workshop import strips

        plans = tuple(strips.plans(pieces, stocks, job.blade))
    usual = order.WASTE if prices is None else float(prices.waste)
    waste = usual if job.waste is None else job.waste
    spare = order.SPARE if job.spare is None else job.spare
    people = [names.tidy(p.person) or None if p.person else None for p in pieces]
    listed = order.of_pieces(pieces, people, plans=plans, waste=waste, spare=spare)
    if prices is None:
        return Lists(listed, plans, None)
    from strapwork.workshop.cost import work_out as cost_of

    return Lists(listed, plans, cost_of(pieces, listed, prices, plans), prices)


def _stock(asked: Any, place: str) -> Stock:
    from strapwork.workshop import prices as price_files
    from strapwork.workshop.stock_lengths import Stock

    price = None
    if asked.price is not None:
        price = price_files.amount(asked.price, f"{place}.price")
    elif asked.have is None:
        raise InputError(
            place,
            tr("strips of {leather} are neither in hand nor on sale", leather=shown(asked.leather)),
            tr("add have or price"),
        )
    return Stock(asked.length, asked.have, price, asked.trim, asked.leather, asked.width)
