"""Job files: many pieces and leathers in one TOML file, and the sheets they make."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pydantic import Field

from strapwork import machine as machines
from strapwork import numbers, schema, shelf
from strapwork import recipe as recipes
from strapwork.drawing import Sheet
from strapwork.errors import InputError, shown
from strapwork.layout import paper as papers
from strapwork.layout.tiles import MARGIN, Setting, lay_out
from strapwork.leather import Leather
from strapwork.machine import Machine
from strapwork.piece import Order, Piece, parse_ends, with_companions
from strapwork.recipe import Recipe
from strapwork.units import parse_length, parse_load, parse_thickness

if TYPE_CHECKING:
    from strapwork.cutting import Cutting
    from strapwork.scale import Printer

MOST_PIECES = 500
MOST_LABEL = 80
FORMATS = ("pdf", "svg")


class PieceSpec(schema.Strict):
    """One line of the job: goods, measure or a size run, leather, and what differs from the recipe."""

    label: str = Field(min_length=1, max_length=MOST_LABEL)
    pattern: str
    measure: str | None = None
    sizes: dict[str, str] | None = None
    leather: str | None = None
    temper: Literal["soft", "medium", "firm"] | None = None
    backing: schema.LengthOrZero | None = None
    count: int = Field(default=1, ge=1, le=999)
    width: schema.Length | None = None
    strands: int | None = Field(default=None, ge=1, le=25)
    sets: int | None = Field(default=None, ge=0, le=200)
    weave: Literal["plain", "over-under"] | None = None
    turns: str | None = Field(default=None, max_length=400)
    ease: schema.Offset | None = None
    relief: schema.Length | None = None
    load: str | None = None
    factor: float | None = Field(default=None, ge=1, le=100)
    ends: str | None = None
    hardware: str | None = None


class JobFile(schema.Strict):
    """A job file.

    Attributes:
        title: printed on every sheet.
        paper, margin: of the sheets.
        units: how lengths are shown, and read where a number has no unit.
        formats: ``pdf``, ``svg`` or both.
        card: bench cards ``with`` the sheets in one file, ``alone`` in a file of
            their own, or ``none``.
        left_handed: braid pictures mirrored.
        machine: profile of a cutter to write files for.
        leathers: by name.
        pieces: what to make.
    """

    title: str = Field(min_length=1, max_length=120)
    paper: str = "A4"
    margin: schema.Length = MARGIN
    units: Literal["mm", "in", "in16"] | None = None
    formats: tuple[Literal["pdf", "svg"], ...] = Field(default=("pdf",), min_length=1)
    card: Literal["with", "alone", "none"] = "with"
    left_handed: bool = False
    machine: str | None = None
    leathers: dict[str, shelf.LeatherSpec] = Field(default_factory=dict, max_length=100)
    pieces: tuple[PieceSpec, ...] = Field(min_length=1, max_length=MOST_PIECES)


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


def read(path: Path, patterns: Path | None = None, shelf_path: Path | None = None) -> Job:
    """Read a job file.

    Raises:
        InputError: naming the file, the key (lists count from 1) and what would work.
    """
    return from_data(schema.read_toml(path, "job file"), str(path), file_stem(path.stem), patterns, shelf_path)


def from_data(
    raw: dict[str, Any], path: str, stem: str, patterns: Path | None = None, shelf_path: Path | None = None
) -> Job:
    """A job from parsed TOML; ``path`` names it in messages, ``stem`` names its files."""
    spec = schema.check(JobFile, raw, path)
    leathers = {name: Leather(x.thickness, x.temper, tidy_label(name), x.tannage) for name, x in spec.leathers.items()}
    orders: list[Order] = []
    for i, p in enumerate(spec.pieces, start=1):
        place = f"{path}, pieces[{i}]"
        label = tidy_label(p.label)
        if not label:
            raise InputError(
                f"{place}.label", f"{shown(p.label)} has no letter that can be printed", "give the piece a name"
            )
        recipe = recipes.find(p.pattern, f"{place}.pattern", patterns)
        runs = _runs(p, place)
        leather = _leather(p, recipe, leathers, place, shelf_path)
        if p.backing is not None:
            leather = replace(leather or Leather(recipe.leather), backing=p.backing)
        for name, text, where in runs:
            orders.append(
                Order(
                    label=f"{label} {name}".strip(),
                    recipe=recipe,
                    value=parse_length(text, place=where, unit=spec.units),
                    leather=leather,
                    count=p.count,
                    width=p.width,
                    strands=p.strands,
                    sets=p.sets,
                    weave=p.weave,
                    turns=p.turns,
                    ease=p.ease,
                    relief=p.relief,
                    load=parse_load(p.load, place=f"{place}.load") if p.load is not None else None,
                    factor=p.factor,
                    ends=parse_ends(p.ends, f"{place}.ends") if p.ends is not None else None,
                    hardware=p.hardware,
                    place=place,
                    patterns=patterns,
                )
            )
    if len(orders) > MOST_PIECES:
        raise InputError(path, f"{len(orders)} pieces are too many for one job", f"keep it to {MOST_PIECES}")
    return Job(
        title=tidy_label(spec.title) or "Strapwork job",
        orders=tuple(orders),
        paper=papers.parse_paper(spec.paper, f"{path}, paper"),
        paper_name=tidy_label(spec.paper),
        margin=check_margin(spec.margin, f"{path}, margin"),
        units=spec.units or "mm",
        formats=tuple(dict.fromkeys(spec.formats)),
        card=spec.card,
        left_handed=spec.left_handed,
        machine=machines.find(spec.machine, f"{path}, machine", patterns) if spec.machine else None,
        stem=stem,
    )


def check_margin(value: float, place: str) -> float:
    """A margin that leaves room to print."""
    if not 3.0 <= value <= 40.0:
        raise InputError(place, f"a margin of {value:g} mm cannot be used", "give from 3 mm to 40 mm")
    return value


def _runs(p: PieceSpec, place: str) -> list[tuple[str, str, str]]:
    """(size name, measure text, place) of every size of a piece."""
    if (p.measure is None) == (p.sizes is None):
        problem = "the measure is missing" if p.measure is None else "both measure and sizes are given"
        raise InputError(place, problem, "give measure, such as '17.2 cm', or a table of sizes")
    if p.measure is not None:
        return [("", p.measure, f"{place}.measure")]
    sizes = p.sizes or {}
    if not sizes:
        raise InputError(f"{place}.sizes", "no sizes are given", "give at least one, such as { S = '16 cm' }")
    return [(tidy_label(k)[:20], v, f"{place}.sizes.{k}") for k, v in sizes.items()]


def _leather(
    p: PieceSpec, recipe: Recipe, leathers: dict[str, Leather], place: str, shelf_path: Path | None
) -> Leather | None:
    if p.leather is None:
        return Leather(recipe.leather, p.temper) if p.temper else None
    known = leathers.get(p.leather) or by_name(p.leather, f"{place}.leather", sorted(leathers), shelf_path)
    if known is not None:
        return replace(known, temper=p.temper) if p.temper else known
    return Leather(parse_thickness(p.leather, place=f"{place}.leather"), p.temper or "medium")


def by_name(text: str, place: str, others: Sequence[str] = (), shelf_path: Path | None = None) -> Leather | None:
    """The leather of the shelf that ``text`` names; None when ``text`` is a thickness instead.

    Raises:
        InputError: for a name that is on no shelf, offering the nearest.
    """
    if re.match(r"\s*[\d.,½¼¾⅛⅜⅝⅞−-]", text):
        return None
    where = shelf_path or shelf.default_path()
    kept = shelf.read(where)
    if text in kept:
        return kept[text]
    names = sorted({*others, *kept})
    remedy = (
        schema.nearest(text, names)
        if names
        else "give a thickness such as '1.8 mm', or name a leather of the job or the shelf"
    )
    raise InputError(place, f"no leather is called {shown(text)}", remedy)


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
        from strapwork.cutting import laser_caution

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
        from strapwork.card import job_cards

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
        from strapwork import cutting

        cut = cutting.plan(pieces, job.machine)
        render_beds(job, cut, files, listed)
    data = numbers.of_job(job.title, pieces, listed)
    if cut is not None:
        data["cutting"] = numbers.of_cutting(cut)
    files["numbers.json"] = numbers.dumps(data).encode()
    return Result(job, tuple(pieces), (*sheets, *cards), files, data, cut)


def render(stem: str, sheets: Sequence[Sheet], job: Job, files: dict[str, bytes], listed: list[dict[str, Any]]) -> None:
    """Add the files that hold ``sheets``, and their description for ``numbers.json``."""
    if "pdf" in job.formats:
        from strapwork.render import pdf

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
        from strapwork.render import svg

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
    from strapwork.cutting import ORDER
    from strapwork.render import dxf, svg
    from strapwork.render.style import Style, rgb

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
