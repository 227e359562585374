"""What all sheets of a job have in common: paper, margins, words; and the room a sheet leaves for straps."""

from __future__ import annotations

from dataclasses import dataclass, field

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.geometry.shape import Box
from strapwork.paper import furniture, sheet_words
from strapwork.paper.furniture import Row
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

    def words(self, name: str, told: list[str]) -> tuple[Row, ...]:
        """What a sheet of this name says, with what it tells of its straps."""
        return sheet_words.rows(name, self.title, told, self.paper_name, (self.printer, self.stamp))


@dataclass(frozen=True, slots=True)
class Frame:
    """One way of turning the paper, and the zone it leaves for straps.

    Attributes:
        strip: height of the strip that square, ruler and words of a taped sheet take.
        fixed: what square and ruler alone take of a single sheet, in mm right of and down from the corner of its zone.
        told: the words of a single sheet: of whole straps, and of broken ones.
    """

    width: float
    height: float
    margin: float
    strip: float
    fixed: tuple[Box, ...] = field(default=(), compare=False)
    told: tuple[tuple[Row, ...], tuple[Row, ...]] = field(default=((), ()), compare=False)

    @property
    def zone(self) -> Box:
        """Where straps may stand on every sheet: everything above the furniture."""
        return self.margin, self.margin + self.strip, self.width - self.margin, self.height - self.margin

    @property
    def room(self) -> tuple[float, float]:
        """Width and height of the zone."""
        x0, y0, x1, y1 = self.zone
        return x1 - x0, y1 - y0

    @property
    def deep(self) -> float:
        """Height between the margins."""
        return self.height - 2 * self.margin

    def shapes(self, *, broken: bool) -> tuple[tuple[float, float], ...]:
        """Width and height that the words of a single sheet may take, the widest first."""
        return furniture.shapes(self.told[broken], self.room[0])


def frames(setting: Setting) -> list[Frame]:
    """The ways of turning the paper that leave room for a strap, lying first.

    Raises:
        InputError: where there is none.
    """
    short, long = setting.paper
    told = tuple(setting.words(sheet_words.LONGEST, sheet_words.told(broken=b)) for b in (False, True))
    out = []
    for w, h in ((long, short), (short, long)):
        wide, m = w - 2 * setting.margin, setting.margin
        strip = furniture.strip_height(wide, setting.units)
        fixed = furniture.fixed(wide, h - 2 * m, setting.units)
        frame = Frame(w, h, m, strip, fixed, (told[0], told[1]))
        if frame.room[0] >= LEAST_ROOM[0] and frame.room[1] >= LEAST_ROOM[1]:
            out.append(frame)
    if not out:
        raise InputError(
            "--margin",
            tr("margins of {margin} leave no room on this paper", margin=say(setting.margin)),
            tr("use smaller margins or larger paper"),
        )
    return out
