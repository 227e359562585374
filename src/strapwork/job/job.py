"""A job: many pieces worked out together, and all its files rendered in memory."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from strapwork import __version__
from strapwork.drawing import outputs
from strapwork.drawing.primitives import Sheet
from strapwork.files import carried, earlier
from strapwork.job import lists, numbers
from strapwork.job.lists import Lists
from strapwork.job.progress import Progress
from strapwork.order import written
from strapwork.order.order import Job
from strapwork.paper import furniture
from strapwork.paper.blocks import card_paper
from strapwork.paper.tiles import Setting, lay_out, saving
from strapwork.piece import names
from strapwork.piece.companions import with_companions
from strapwork.piece.piece import Piece
from strapwork.say import printing
from strapwork.say import sheets as say
from strapwork.stock.papers import Paper
from strapwork.units import shown_in

if TYPE_CHECKING:
    from strapwork.cutter.paths import Cutting
    from strapwork.stock.printers import Printer


# What a PDF carries of its job.
ORDER, NUMBERS = "job.toml", "numbers.json"


@dataclass(frozen=True, slots=True)
class Result:
    """A job worked out: pieces, sheets (where they were kept), and the files that hold them."""

    job: Job
    pieces: tuple[Piece, ...]
    sheets: tuple[Sheet, ...] = ()
    files: dict[str, bytes] = field(default_factory=dict)
    fingerprint: str = ""
    cutting: Cutting | None = None
    lists: Lists | None = None
    tiled: int | None = None  # sheets with straps
    sheet_count: int = 0

    @property
    def numbers(self) -> dict[str, Any]:
        """What ``numbers.json`` holds, read from it at every call: kept as data it would be there twice."""
        return json.loads(self.files[NUMBERS]) if NUMBERS in self.files else {}

    @property
    def saving(self) -> str:
        """What broken views save or would save, as a sentence; empty where they make no difference."""
        return saving(self.pieces, setting(self.job), self.tiled)


def work_out(job: Job, progress: Callable[[int], None] | None = None) -> list[Piece]:
    """Every piece of the job, each followed by its companions.

    Raises:
        InputError: for a piece that cannot be made, or that its machine must not cut.
    """
    with shown_in(job.units):
        return _work_out(job, progress)


def _work_out(job: Job, progress: Callable[[int], None] | None) -> list[Piece]:
    pieces: list[Piece] = []
    for k, order in enumerate(job.orders, start=1):
        pieces += with_companions(order)
        if progress:
            progress(k)
    if job.machine is not None:
        from strapwork.cutter import paths

        paths.refuse_fumes(pieces, job.machine, "--machine")
        pieces = paths.with_cautions(pieces, job.machine)
    return pieces


def setting(job: Job, stamp: str = "") -> Setting:
    """What the job's sheets have in common; ``stamp`` tells its prints apart."""
    margin = job.margin + (job.printer.spill(job.paper.long) if job.printer else 0.0)
    return Setting(
        job.paper.size,
        job.title,
        job.units,
        margin,
        job.paper.name,
        printer=printing.correction(job.printer),
        stamp=stamp,
    )


class _Files:
    """The files of a run, and their description for ``numbers.json``.

    Sheets are listed first and drawn when all is listed: the numbers go into the files that hold the sheets.
    """

    def __init__(
        self,
        title: str,
        formats: Sequence[str],
        paper: Paper,
        printer: Printer | None = None,
        progress: Progress | None = None,
    ) -> None:
        self.title, self.formats, self.paper, self.printer = title, formats, paper, printer
        self.progress = progress or Progress(1)
        self.contents: dict[str, bytes] = {}
        self.listed: list[dict[str, Any]] = []
        self._to_draw: list[tuple[outputs.SheetOutput, list[str], Sequence[Sheet]]] = []

    @property
    def carrying(self) -> bool:
        """Whether any of them can carry other files."""
        return any(output.carries for output, _, _ in self._to_draw)

    def sheets(self, stem: str, sheets: Sequence[Sheet]) -> None:
        """List the files that hold ``sheets``, in every format that is asked for."""
        for kind in self.formats:
            output = outputs.SHEETS[kind]
            if output.together:
                names = [f"{stem}.{kind}"]
                self._add(names[0], kind, sheets, self.paper.size)
            else:
                names = [f"{stem}-{_slug(sheet.name)}.{kind}" for sheet in sheets]
                for name, sheet in zip(names, sheets, strict=True):
                    self._add(name, kind, [sheet], (sheet.width, sheet.height))
            self._to_draw.append((output, names, sheets))

    def _add(self, file: str, kind: str, sheets: Sequence[Sheet], paper: tuple[float, float]) -> None:
        self.contents[file] = b""  # keeps its place among the files until it is drawn
        rows: list[dict[str, Any]] = [{"name": s.name, "size_mm": [s.width, s.height], **s.notes} for s in sheets]
        listed: dict[str, Any] = {"file": file, "format": kind, "pages": len(sheets), "paper": list(paper)}
        left_out: list[Any] = []
        for row in rows:
            left_out += [b for b in row.pop("broken", ()) if b not in left_out]
        self.listed.append(listed | ({"broken": left_out} if left_out else {}) | {"sheets": rows})

    def draw(self, carry: Mapping[str, bytes]) -> None:
        """Draw all that is listed; files that can carry others carry ``carry``, and are read back as handed over."""
        while self._to_draw:
            output, files, sheets = self._to_draw.pop(0)
            sizes = [(s.width, s.height) for s in sheets]
            drawing = self.progress.drawing(sheets)
            del sheets  # from here on each is held by no one but who draws it, if the caller does not keep them
            made = output.write(drawing, self.title, self.printer, carry)
            self.contents |= zip(files, made, strict=True)
            if output.carries:
                carried.read_back(made[0], sizes, carry)

    def beds(self, stem: str, cut: Cutting) -> None:
        """The files of every bed, in every format that cutters read."""
        sheets = [b.sheet for b in cut.beds]
        for kind, write in outputs.BEDS.items():
            for sheet, content in zip(sheets, write(sheets, self.title, cut.machine), strict=True):
                file = f"{stem}-{cut.machine.name}-{_slug(sheet.name)}.{kind}"
                self.contents[file] = content
                self.listed.append(
                    {
                        "file": file,
                        "format": kind,
                        "pages": 1,
                        "paper": [sheet.width, sheet.height],
                        "machine": cut.machine.name,
                    }
                )


def _slug(name: str) -> str:
    return name.replace(" ", "-").replace(".", "-")


def render(stem: str, sheets: Sequence[Sheet], title: str, formats: Sequence[str], paper: Paper) -> dict[str, bytes]:
    """The files of some sheets alone, such as a braid card."""
    files = _Files(title, formats, paper)
    files.sheets(stem, sheets)
    files.draw({})
    return files.contents


def make(job: Job, progress: Callable[[int], None] | None = None, *, keep_sheets: bool = True) -> Result:
    """Work a job out and render all its files in memory.

    Args:
        job: what is asked.
        progress: told how many pieces' worth of it are done.
        keep_sheets: whether the result has the sheets; those of a large job are the most of what it holds, and
            without this each is let go of as soon as it is drawn.
    """
    with shown_in(job.units):
        return _make(job, progress, keep_sheets)


def _make(job: Job, progress: Callable[[int], None] | None, keep_sheets: bool) -> Result:
    far = Progress(len(job.orders), progress)
    pieces = names.checked(work_out(job, far.worked_out))
    told = numbers.Each(pieces)
    mark = numbers.fingerprint(told)
    stamp = say.stamp(__version__, mark)
    sheets = lay_out(pieces, setting(job, stamp))
    tiled = len(sheets)
    cards: list[Sheet] = []
    if job.card != "none":
        from strapwork.paper.card import job_cards

        cards = [furniture.stamped(s, stamp) for s in job_cards(pieces, job.paper.size, job.units, slips=job.slips)]
    files = _Files(job.title, job.formats, job.paper, job.printer, far)
    far.laid_out()
    listed = lists.of_job(job, pieces)
    if job.class_sheet:
        from strapwork.paper import class_sheet

        page = class_sheet.sheets(job.title, pieces, listed.minutes, job.units, card_paper(job.paper.size))
        sheets = [*(furniture.stamped(s, stamp) for s in page), *sheets]
    if job.lists:
        page = listed.sheets(job, card_paper(job.paper.size))
        sheets = [*(furniture.stamped(s, stamp) for s in page), *sheets]
        files.contents["order.csv"] = listed.csv()
    if job.card == "with":
        files.sheets(job.stem, [*sheets, *cards])
    else:
        files.sheets(job.stem, sheets)
        if cards:
            files.sheets(f"{job.stem}-card", cards)
    cut = None
    if job.machine is not None:
        from strapwork.cutter import paths

        cut = paths.plan(pieces, job.machine)
        files.beds(job.stem, cut)
        if cut.numbered or not (job.machine.text and "labels" in job.machine.operations):
            from strapwork.paper import bedmap

            # Where the machine writes no names, a printed map tells the pieces apart.
            maps = bedmap.bed_maps(cut, pieces, job.paper.size, job.title)
            files.sheets(f"{job.stem}-map", [furniture.stamped(s, stamp) for s in maps])
    data = numbers.of_job(job.title, told, files.listed, mark)
    if cut is not None:
        data["cutting"] = numbers.of_cutting(cut)
    data |= listed.data()
    as_numbers = numbers.encoded(data)
    count, kept = len(sheets) + len(cards), (*sheets, *cards) if keep_sheets else ()
    del data, sheets, cards  # bytes by now, and sheets that are let go of one by one as they are drawn
    files.draw({ORDER: written.toml(job.asked).encode(), NUMBERS: as_numbers} if files.carrying else {})
    # Last: what the next run needs to know which files here are this run's.
    files.contents[NUMBERS] = numbers.encoded_with(as_numbers, "files", earlier.record(files.contents))
    far.at(1.0)
    return Result(job, tuple(pieces), kept, files.contents, mark, cut, listed, tiled, count)
