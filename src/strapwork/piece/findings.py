"""A finding: one thing that a good foreman would say on seeing a piece."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from strapwork.catalogue import tr

Level = Literal["stop", "caution", "note"]
TRADE = tr("common practice, no source")
GEOMETRY = tr("geometry of this piece")


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to know before cutting: what is so, and what to do about it."""

    level: Level
    code: str
    problem: str
    remedy: str
    source: str

    @property
    def message(self) -> str:
        """Problem and remedy in one sentence, without its capital and full stop."""
        return f"{self.problem}; {self.remedy}" if self.remedy else self.problem

    @property
    def is_safety(self) -> bool:
        """Whether it is a caution about hands, eyes, air or loads, said once for a whole job."""
        return self.code.startswith("safety-")
