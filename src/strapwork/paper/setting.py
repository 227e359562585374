"""What all sheets of a job have in common: paper, margins, words; and the room a sheet leaves for straps."""

from __future__ import annotations

from dataclasses import dataclass

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.geometry.shape import Box
from strapwork.paper import furniture
from strapwork.units import say

MARGIN = 8.0
LEAST_ROOM = (80.0, 40.0)


@dataclass(frozen=True, slots=True)
class Setting:
    """Paper and words common to all sheets of a job.  Lengths in mm."""

    paper: tuple[float, float]
    title: str
    units: str = "mm"
    margin: float = MARGIN
    paper_name: str = ""
    square_reads: tuple[float, float] = (furniture.SQUARE, furniture.SQUARE)
    printer: str = ""
    stamp: str = ""


@dataclass(frozen=True, slots=True)
class Frame:
    """One way of turning the paper, and the zone it leaves for straps."""

    width: float
    height: float
    margin: float
    strip: float

    @property
    def zone(self) -> Box:
        """Where straps may stand: everything above the furniture."""
        return self.margin, self.margin + self.strip, self.width - self.margin, self.height - self.margin

    @property
    def room(self) -> tuple[float, float]:
        """Width and height of the zone."""
        x0, y0, x1, y1 = self.zone
        return x1 - x0, y1 - y0


def frames(setting: Setting) -> list[Frame]:
    """The ways of turning the paper that leave room for a strap, lying first.

    Raises:
        InputError: where there is none.
    """
    short, long = setting.paper
    out = []
    for w, h in ((long, short), (short, long)):
        strip = furniture.strip_height(w - 2 * setting.margin, setting.units)
        frame = Frame(w, h, setting.margin, strip)
        if frame.room[0] >= LEAST_ROOM[0] and frame.room[1] >= LEAST_ROOM[1]:
            out.append(frame)
    if not out:
        raise InputError(
            "--margin",
            tr("margins of {margin} leave no room on this paper", margin=say(setting.margin)),
            tr("use smaller margins or larger paper"),
        )
    return out
