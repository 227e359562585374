"""Runs: sheets that are taped to each other, or a single one, and what stands where on them."""

from __future__ import annotations

from dataclasses import dataclass, field

from strapwork.geometry.shape import Box
from strapwork.paper import joins
from strapwork.paper.features import Stretch
from strapwork.paper.joins import Columns
from strapwork.paper.setting import Frame
from strapwork.paper.strap_blocks import Block

ROW_GAP = 3.5
CELL_GAP = 8.0
FOOT_LEAST = 3.0
LAST_LABEL = 60.0
GRACE = 1e-6


@dataclass(frozen=True, slots=True)
class Spot:
    """A block in a run: its left end and its top, in mm of the whole from the upper left; its label's width."""

    block: Block
    x: float
    top: float
    label: float
    tall: float
    angle: float = 0.0

    @property
    def end(self) -> float:
        return self.x + self.block.length

    @property
    def head(self) -> float:
        """From the top down to the strap's upper edge."""
        return self.tall - self.block.width - max(self.block.foot, FOOT_LEAST)


@dataclass
class Run:
    """Sheets that are taped to each other, or a single one.

    Attributes:
        spots: straps that may run across joins.
        fillers: for each column, blocks that stand on that sheet alone.
        features, words: stretches of the whole that are those of the spots, joined.
        said: where the words of a single sheet stand that has straps beside its square.
    """

    frame: Frame
    cols: Columns
    rows: tuple[Stretch, ...]
    spots: list[Spot] = field(default_factory=list)
    fillers: dict[int, list[Spot]] = field(default_factory=dict)
    features: list[Stretch] = field(default_factory=list)
    words: list[Stretch] = field(default_factory=list)
    said: Box | None = None

    @property
    def count(self) -> int:
        return len(self.cols.windows) * len(self.rows)

    @property
    def first(self) -> int:
        """Number of the first piece on it."""
        on_it = [*self.spots, *(s for row in self.fillers.values() for s in row)]
        return min(s.block.index for s in on_it)

    def visible(self, spot: Spot, c: int) -> Stretch:
        """What of a spot a column shows, clear of the rings at its joins."""
        a, b = self.cols.inner(c, joins.CLEAR_OF_RING)
        return max(a, spot.x), min(b, spot.end)
