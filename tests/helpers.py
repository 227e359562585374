"""Short ways for tests to an order and to a job, through the same check as every door."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2

from strapwork.errors import Place
from strapwork.files import schema
from strapwork.files.folders import Places, folder
from strapwork.files.toml import read_toml
from strapwork.order import doors
from strapwork.order.description import PieceAsk
from strapwork.order.names import file_stem
from strapwork.order.order import Job, Order
from strapwork.stock.leather import Leather
from strapwork.stock.patterns import Pattern
from strapwork.web import assets

HERE = Place("test", "{key}")
STATIC = assets.address(folder("templates") / "static")  # where the page's scripts and styles are served


def order(label: str, pattern: Pattern, value: float, leather: Leather | None = None, **asked: Any) -> Order:
    """An order for a pattern in hand, even one that no file holds; numbers are mm."""
    ask = schema.check(PieceAsk, {"pattern": pattern.name or "own", **asked}, HERE, "mm")
    hide = ask.over(leather or Leather(pattern.leather))
    return Order(label, pattern, value, hide, ask.hand or "right", ask, HERE)


def job_of(raw: dict[str, Any], **places: Path | None) -> Job:
    """A job from the data of a job file."""
    return doors.of_document(raw, Place.file("x"), Places(**places), "x")


def bare(job: Job) -> Job:
    """A job without where its pieces were asked for, which is only there for messages: what is made of equal ones is equal."""
    return replace(job, orders=tuple(replace(o, place=HERE) for o in job.orders))


def read_job(path: Path, **places: Path | None) -> Job:
    """A job from a job file, as ``strapwork make`` reads it."""
    raw = read_toml(path, "job file")
    return doors.of_document(raw, Place.file(str(path)), Places(**places), file_stem(path.stem), path.parent)


def pages_read(pdf: bytes | Path) -> list[str]:
    """What PDFium reads on every page."""
    return [page.get_textpage().get_text_range().replace("\r\n", "\n") for page in pypdfium2.PdfDocument(pdf)]
