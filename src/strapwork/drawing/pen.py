"""The pen: one small protocol between a drawing and a kind of file.

A pen is any object with the seven methods of :class:`Pen`::

    begin(sheet)      a new sheet of sheet.width x sheet.height mm, origin lower left
    clip(box | None)  from here on only the part inside the box shows
    path(path)        lines and arcs, open or closed
    circle(circle)    a full circle
    text(text)        one line of text
    end()             the sheet is complete
    finish()          everything is drawn: what was made of it

``replay(sheet, pen)`` sends a sheet to a pen, hatches as paths, so a pen needs
to know nothing of them.  A pen that cannot do a thing raises
:class:`strapwork.errors.CannotDraw`.  A new kind of file is a pen in a file of
its own and a row in :mod:`strapwork.drawing.outputs`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from strapwork.drawing.hatch import hatch_path
from strapwork.drawing.primitives import Disc, Hatch, Path, Primitive, Sheet, Text, on_sheet
from strapwork.geometry.shape import Box

Made = TypeVar("Made", covariant=True)


class Pen(Protocol[Made]):
    """A back end; see the module docstring."""

    def begin(self, sheet: Sheet) -> None: ...
    def clip(self, box: Box | None) -> None: ...
    def path(self, path: Path) -> None: ...
    def circle(self, disc: Disc) -> None: ...
    def text(self, text: Text) -> None: ...
    def end(self) -> None: ...
    def finish(self) -> Made: ...


def draw(sheets: Iterable[Sheet], pen: Pen[Made]) -> Made:
    """Send every sheet to a pen and hand over what it made."""
    for sheet in sheets:
        replay(sheet, pen)
        del sheet  # the last one is not held while all is put together
    return pen.finish()


def replay(sheet: Sheet, pen: Pen[object]) -> None:
    """Send a sheet to a pen."""
    pen.begin(sheet)
    for placed in sheet.placed:
        if placed.window is not None:
            pen.clip(placed.window)
        for p in on_sheet(placed):
            match p:
                case Path():
                    pen.path(p)
                case Disc():
                    pen.circle(p)
                case Text():
                    pen.text(p)
                case Hatch():
                    hatch = hatch_path(p)
                    if hatch is not None:
                        pen.path(hatch)
        if placed.window is not None:
            pen.clip(None)
    pen.end()


@dataclass
class Recorder:
    """A pen that keeps what it was sent, for tests and for measuring."""

    sheets: list[list[Primitive | Box | None]] = field(default_factory=list)

    def begin(self, sheet: Sheet) -> None:
        self.sheets.append([])

    def clip(self, box: Box | None) -> None:
        self.sheets[-1].append(box)

    def path(self, path: Path) -> None:
        self.sheets[-1].append(path)

    def circle(self, disc: Disc) -> None:
        self.sheets[-1].append(disc)

    def text(self, text: Text) -> None:
        self.sheets[-1].append(text)

    def end(self) -> None:
        """Nothing is left open."""

    def finish(self) -> list[list[Primitive | Box | None]]:
        """What was sent, sheet by sheet."""
        return self.sheets
