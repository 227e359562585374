"""The table of outputs: one row for each kind of file that sheets or beds can be written as.

A new output is one pen in a file of its own and one row here; what can be asked
for, what is written and what the page offers follow from the table.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from strapwork.drawing.primitives import Sheet

if TYPE_CHECKING:
    from strapwork.stock.machines import Machine
    from strapwork.stock.printers import Printer

# The content of each file, from sheets and the words on them; for paper also from the files that they carry, where
# their kind can carry any.
SheetWriter: TypeAlias = "Callable[[Iterable[Sheet], str, Printer | None, Mapping[str, bytes]], list[bytes]]"
BedWriter: TypeAlias = "Callable[[Sequence[Sheet], str, Machine], list[bytes]]"


@dataclass(frozen=True, slots=True)
class SheetOutput:
    """A kind of file for paper.

    Attributes:
        together: whether all sheets go into one file.
        carries: whether such a file can carry others.
        write: gives the content of every file; pens are imported when first needed.
    """

    together: bool
    carries: bool
    write: SheetWriter


def _pdf(sheets: Iterable[Sheet], title: str, printer: Printer | None, carried: Mapping[str, bytes]) -> list[bytes]:
    from strapwork.drawing import pdf

    return [pdf.write(sheets, title, "Full-scale strap patterns. Print at 100 %.", printer, carried)]


def _svg(sheets: Iterable[Sheet], title: str, printer: Printer | None, _: Mapping[str, bytes]) -> list[bytes]:
    from strapwork.drawing import svg

    return [text.encode() for text in svg.write(sheets, title, printer)]


def _bed_svg(sheets: Sequence[Sheet], title: str, machine: Machine) -> list[bytes]:
    from strapwork.drawing import svg

    return [text.encode() for text in svg.write_beds(sheets, title, machine)]


def _bed_dxf(sheets: Sequence[Sheet], title: str, machine: Machine) -> list[bytes]:
    from strapwork.drawing import dxf

    return dxf.write(sheets, machine)


SHEETS: dict[str, SheetOutput] = {"pdf": SheetOutput(True, True, _pdf), "svg": SheetOutput(False, False, _svg)}
BEDS: dict[str, BedWriter] = {"svg": _bed_svg, "dxf": _bed_dxf}
FORMATS: tuple[str, ...] = tuple(SHEETS)
