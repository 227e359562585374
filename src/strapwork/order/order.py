"""Orders: what was asked, with the pattern, the leather and the machine it names looked up.

Nothing else builds an order; what a piece is worked out from is this.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from strapwork.errors import Place
from strapwork.order.description import Card, Hand, PieceAsk, StripAsk, Units
from strapwork.stock.leather import Leather
from strapwork.stock.papers import Paper
from strapwork.stock.patterns import Pattern

if TYPE_CHECKING:
    from strapwork.stock.machines import Machine
    from strapwork.stock.printers import Printer


@dataclass(frozen=True, slots=True)
class Order:
    """One piece of one size.

    Attributes:
        label: its name on paper.
        pattern, leather: as looked up.
        value: what was measured, in mm.
        hand: the hand that works its braid.
        ask: everything else that was asked; a key left at None means the pattern's own.
        place: where it was asked, for messages.
        patterns: the maker's own folder of patterns and hardware.
        slot: width in mm of leather that the job's machine takes away with every slit; 0 where it cuts lines.
        broken: whether a strap too long for one sheet is drawn as a broken view.
    """

    label: str
    pattern: Pattern
    value: float
    leather: Leather
    hand: Hand
    ask: PieceAsk
    place: Place
    patterns: Path | None = None
    slot: float = 0.0
    broken: bool = False


@dataclass(frozen=True, slots=True)
class Job:
    """What is to be made, ready to be worked out.

    Attributes:
        stem: names its files.
        asked: the job document that says the same, as it was asked.
    """

    title: str
    orders: tuple[Order, ...]
    paper: Paper
    margin: float
    units: Units
    formats: tuple[str, ...]
    card: Card
    machine: Machine | None
    printer: Printer | None
    stem: str
    lists: bool = False
    strips: tuple[StripAsk, ...] = ()
    blade: float = 0.0
    spare: float | None = None
    waste: float | None = None
    prices: Path | None = None
    slips: bool = False
    class_sheet: bool = False
    asked: Mapping[str, Any] = field(default_factory=dict, compare=False)
