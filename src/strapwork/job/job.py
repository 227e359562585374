"""A job: many pieces worked out together, and all its files rendered in memory."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from strapwork.drawing.primitives import Sheet
from strapwork.errors import InputError
from strapwork.files import earlier
from strapwork.job import numbers
from strapwork.paper.tiles import MARGIN, Setting, lay_out
from strapwork.piece.piece import Order, Piece, with_companions
from strapwork.stock import papers

if TYPE_CHECKING:
    from strapwork.cutter.paths import Cutting
    from strapwork.printer.calibration import Printer
    from strapwork.stock.machines import Machine

MOST_LABEL = 80
FORMATS = ("pdf", "svg")


@dataclass(frozen=True, slots=True)
class Job:
    """What is to be made, ready to be worked out."""

    title: str
    orders: tuple[Order, ...]
    paper: tuple[float, float] = papers.PAPERS["A4"]
    paper_name: str = "A4"
    margin: float = MARGIN
    units: str = "mm"
    formats: tuple[str, ...] = ("pdf",)
    card: str = "with"
    left_handed: bool = False
    machine: Machine | None = None
    printer: Printer | None = None
    stem: str = "sheets"


@dataclass(frozen=True, slots=True)
class Result:
    """A job worked out: pieces, sheets, and the files that hold them."""

    job: Job
    pieces: tuple[Piece, ...]
    sheets: tuple[Sheet, ...] = ()
    files: dict[str, bytes] = field(default_factory=dict)
    numbers: dict[str, Any] = field(default_factory=dict)
    cutting: Cutting | None = None


def tidy_label(text: str) -> str:
    """A label without control or direction-changing characters, spaces folded."""
    kept = "".join(" " if unicodedata.category(ch) in ("Cc", "Zl", "Zp") else ch for ch in text)
    kept = "".join(ch for ch in kept if unicodedata.category(ch) not in ("Cf", "Cs", "Co", "Cn"))
    return re.sub(r"\s+", " ", kept).strip()


def file_stem(text: str) -> str:
    """A file name made of plain letters, digits and hyphens."""
    flat = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", flat).strip("-")[:60] or "job"


def check_margin(value: float, place: str) -> float:
    """A margin that leaves room to print."""
    if not 3.0 <= value <= 40.0:
        raise InputError(place, f"a margin of {value:g} mm cannot be used", "give from 3 mm to 40 mm")
    return value


def work_out(job: Job, progress: Callable[[int], None] | None = None) -> list[Piece]:
    """Every piece of the job with its companions; equal companions are counted together."""
    pieces: list[Piece] = []
    for k, order in enumerate(job.orders, start=1):
        pieces += with_companions(order)
        if progress:
            progress(k)
    return pieces


def make(job: Job, progress: Callable[[int], None] | None = None) -> Result:
    """Work a job out and render all its files in memory."""
    pieces = work_out(job, progress)
    if job.machine is not None and job.machine.kind == "laser":
        from strapwork.cutter.paths import laser_caution

        pieces = [replace(p, findings=(*p.findings, laser_caution())) for p in pieces]
    sheets = lay_out(
        pieces,
        Setting(
            job.paper,
            job.title,
            job.units,
            job.margin,
            job.paper_name,
            printer=job.printer.words() if job.printer else "",
        ),
    )
    cards: list[Sheet] = []
    if job.card != "none":
        from strapwork.paper.card import job_cards

        cards = job_cards(pieces, job.paper, job.units, job.left_handed)
    files: dict[str, bytes] = {}
    listed: list[dict[str, Any]] = []
    if job.card == "with":
        render(job.stem, [*sheets, *cards], job, files, listed)
    else:
        render(job.stem, sheets, job, files, listed)
        if cards:
            render(f"{job.stem}-card", cards, job, files, listed)
    cut = None
    if job.machine is not None:
        from strapwork.cutter import paths as cutting

        cut = cutting.plan(pieces, job.machine)
        render_beds(job, cut, files, listed)
    data = numbers.of_job(job.title, pieces, listed)
    if cut is not None:
        data["cutting"] = numbers.of_cutting(cut)
    # Last: what the next run needs to know which files here are this run's.
    data["files"] = earlier.record(files)
    files[earlier.NUMBERS] = numbers.dumps(data).encode()
    return Result(job, tuple(pieces), (*sheets, *cards), files, data, cut)


def render(stem: str, sheets: Sequence[Sheet], job: Job, files: dict[str, bytes], listed: list[dict[str, Any]]) -> None:
    """Add the files that hold ``sheets``, and their description for ``numbers.json``."""
    if "pdf" in job.formats:
        from strapwork.drawing import pdf

        name = f"{stem}.pdf"
        files[name] = pdf.write(sheets, job.title, "Full-scale strap patterns. Print at 100 %.", job.printer)
        listed.append(
            {
                "file": name,
                "format": "pdf",
                "pages": len(sheets),
                "paper": list(job.paper),
                "sheets": [{"name": s.name, "size_mm": [s.width, s.height], **s.notes} for s in sheets],
            }
        )
    if "svg" in job.formats:
        from strapwork.drawing import svg

        for sheet, text in zip(sheets, svg.write(list(sheets), job.title), strict=True):
            name = f"{stem}-{sheet.name.replace(' ', '-').replace('.', '-')}.svg"
            files[name] = text.encode()
            listed.append(
                {
                    "file": name,
                    "format": "svg",
                    "pages": 1,
                    "paper": [sheet.width, sheet.height],
                    "sheets": [{"name": sheet.name, **sheet.notes}],
                }
            )


def render_beds(job: Job, cut: Cutting, files: dict[str, bytes], listed: list[dict[str, Any]]) -> None:
    """Add the SVG and DXF of every bed."""
    from strapwork.cutter.paths import ORDER
    from strapwork.drawing import dxf, svg
    from strapwork.drawing.style import Style, rgb

    machine = cut.machine
    styles: dict[str, Style] = {
        str(name): Style(stroke=rgb(op.colour), width=op.width) for name, op in machine.operations.items()
    }
    sheets = [b.sheet for b in cut.beds]
    for kind, made in (
        ("svg", [t.encode() for t in svg.write_beds(sheets, job.title, styles, ORDER)]),
        ("dxf", dxf.write(sheets, machine)),
    ):
        for sheet, content in zip(sheets, made, strict=True):
            name = f"{job.stem}-{machine.name}-{sheet.name.replace(' ', '-')}.{kind}"
            files[name] = content
            listed.append(
                {
                    "file": name,
                    "format": kind,
                    "pages": 1,
                    "paper": [sheet.width, sheet.height],
                    "machine": machine.name,
                }
            )
