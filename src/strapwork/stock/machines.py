"""Machine profiles: ``patterns/machines/*.toml``, what a cutter's driver wants to see."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, model_validator

from strapwork.catalogue import tr
from strapwork.files import folders, schema, values
from strapwork.units import say, say_at_least

Colour = Annotated[str, Field(pattern=r"^#[0-9a-fA-F]{6}$")]
OPERATIONS = ("marks", "holes", "slits", "outline", "labels")


class Operation(schema.Strict):
    """Colour and line width (mm) of one operation, as the driver wants them."""

    colour: Colour
    width: values.Length


class Machine(schema.Strict):
    """One cutter or plotter; lengths in mm.

    Attributes:
        kind: ``laser``, ``knife`` or ``pen``.
        bed: length (along the straps) and width of the bed.
        edge: kept free all round the bed.
        gap: between pieces.
        kerf: width of what the tool takes away.
        marks: ``score``, ``draw`` or ``leave`` them out.
        text: labels as single-stroke lines.
        mirrored: for cutting from the flesh side.
        slits: ``line``, or ``slot`` of ``slot_width``.
        overcut: how far a closed cut runs on past its start.
        tabs, tab: bridges left in every outline, and how wide.
        operations: looks by operation; one left out is not done.
    """

    title: values.Words = Field(min_length=2, max_length=80)
    kind: Literal["laser", "knife", "pen"]
    bed: tuple[values.Length, values.Length]
    edge: values.LengthOrZero = 0.0
    gap: values.LengthOrZero = 2.0
    kerf: values.LengthOrZero = 0.0
    marks: Literal["score", "draw", "leave"] = "score"
    text: bool = False
    mirrored: bool = False
    slits: Literal["line", "slot"] = "line"
    slot_width: values.Length | None = None
    overcut: values.LengthOrZero = 0.0
    tabs: int = Field(default=0, ge=0, le=12)
    tab: values.Length | None = None
    operations: dict[Literal["marks", "holes", "slits", "outline", "labels"], Operation]
    name: str = ""

    @property
    def takes(self) -> float:
        """Width in mm of leather that each slit takes away from the strands."""
        return self.slot_width or 0.0 if self.slits == "slot" else 0.0

    @model_validator(mode="after")
    def _complete(self) -> Machine:
        if self.slits == "slot" and self.slot_width is None:
            raise values.wrong(tr("slits cut as slots need a slot_width"), tr("add slot_width, such as '1 mm'"))
        if self.slits == "slot" and self.slot_width is not None and self.slot_width <= self.kerf:
            raise values.wrong(tr("slot_width is not wider than the kerf"), tr("widen the slot or cut slits as lines"))
        if self.kind == "knife" and self.slits == "slot" and (self.slot_width or 0.0) < 3.0 * self.kerf - 1e-9:
            raise values.wrong(
                tr(
                    "a blade {kerf} thick cannot turn at the ends of a slot {slot_width} wide",
                    kerf=say(self.kerf),
                    slot_width=say(self.slot_width or 0.0),
                ),
                tr(
                    "cut slits as lines, or make slot_width at least {kerf}",
                    kerf=say_at_least(3.0 * self.kerf),
                ),
            )
        if self.tabs and self.tab is None:
            raise values.wrong(tr("tabs need a width"), tr("add tab, such as '1.5 mm'"))
        if "outline" not in self.operations:
            raise values.wrong(tr("the outline operation is missing"), tr("add [operations.outline]"))
        if min(self.bed) - 2 * self.edge <= 20.0:
            raise values.wrong(tr("the bed leaves no room inside its edge"), tr("give a larger bed or a smaller edge"))
        return self


def files(extra: Path | None = None) -> dict[str, Path]:
    """Profile files by name; those in the maker's own ``machines`` folder win."""
    return schema.toml_files(*(f / "machines" for f in (folders.folder("patterns"), extra) if f is not None))


def find(name: str, place: str, extra: Path | None = None) -> Machine:
    """The profile called ``name``.

    Raises:
        InputError: naming the nearest one when there is none of that name.
    """
    path = schema.named(files(extra), name, place, "machine")
    machine = schema.check(Machine, schema.read_toml(path, tr("machine profile")), str(path))
    return machine.model_copy(update={"name": name})
