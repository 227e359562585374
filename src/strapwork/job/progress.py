"""How far a job is, told in pieces of it: working out, laying out and drawing each have their share.

Whoever is told may raise to stop the job: it is asked at every piece and at every sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from strapwork.drawing.primitives import Sheet

# What has passed when all pieces are worked out, and when all sheets are laid out (measured: 1,000 wristbands).
WORKED_OUT, LAID_OUT = 0.25, 0.5


@dataclass(slots=True)
class Progress:
    """Tells ``tell`` how many of ``total`` pieces' worth of the job are done; tells no one without it."""

    total: int
    tell: Callable[[int], None] | None = None
    most: int = 0

    def at(self, share: float) -> None:
        """A share of the whole job is done; what was told before is never taken back."""
        if self.tell is not None:
            self.most = max(self.most, min(self.total, int(share * self.total)))
            self.tell(self.most)

    def worked_out(self, count: int) -> None:
        """So many pieces are worked out."""
        self.at(WORKED_OUT * count / self.total)

    def laid_out(self) -> None:
        """All sheets are laid out."""
        self.at(LAID_OUT)

    def drawing(self, sheets: Sequence[Sheet]) -> Iterator[Sheet]:
        """``sheets`` once, telling of each as it is drawn, and holding none that is drawn."""
        left, many = list(reversed(sheets)), len(sheets)
        return self._drawn(left, many)

    def _drawn(self, left: list[Sheet], many: int) -> Iterator[Sheet]:
        while left:
            self.at(LAID_OUT + (1.0 - LAID_OUT) * (many - len(left)) / many)
            yield left.pop()
