"""Job files: many pieces and leathers in one TOML file, checked and turned into a job."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from strapwork.errors import InputError, shown
from strapwork.files import schema
from strapwork.job.job import MOST_LABEL, Job, check_margin, file_stem, tidy_label
from strapwork.paper.tiles import MARGIN
from strapwork.piece.piece import Order, parse_ends
from strapwork.stock import machines, papers, shelf
from strapwork.stock import patterns as pattern_files
from strapwork.stock.leather import Leather
from strapwork.stock.patterns import Pattern
from strapwork.units import parse_length, parse_load, parse_thickness

MOST_PIECES = 500


class PieceSpec(schema.Strict):
    """One line of the job: goods, measure or a size run, leather, and what differs from the pattern."""

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
    holes: int | None = Field(default=None, ge=1, le=25)


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
        pattern = pattern_files.find(p.pattern, f"{place}.pattern", patterns)
        runs = _runs(p, place)
        leather = _leather(p, pattern, leathers, place, shelf_path)
        if p.backing is not None:
            leather = replace(leather or Leather(pattern.leather), backing=p.backing)
        for name, text, where in runs:
            orders.append(
                Order(
                    label=f"{label} {name}".strip(),
                    pattern=pattern,
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
                    holes=p.holes,
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
    p: PieceSpec, pattern: Pattern, leathers: dict[str, Leather], place: str, shelf_path: Path | None
) -> Leather | None:
    if p.leather is None:
        return Leather(pattern.leather, p.temper) if p.temper else None
    known = leathers.get(p.leather) or shelf.by_name(p.leather, f"{place}.leather", sorted(leathers), shelf_path)
    if known is not None:
        return replace(known, temper=p.temper) if p.temper else known
    return Leather(parse_thickness(p.leather, place=f"{place}.leather"), p.temper or "medium")
