"""What a PDF carries with it (ISO 32000-1, 7.11.4), taken out again; and the reading back of a PDF that was made."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from strapwork.errors import InputError, StrapworkError
from strapwork.files.pdf_objects import DEEPEST, Broken, Document, Name

LARGEST = 100_000_000
POINTS_PER_MM = 72.0 / 25.4
CLOSE = 0.02
SIGNATURE = b"%PDF-"


class NotAsMeant(StrapworkError):
    """A PDF that was just made does not read back as what it should be: a fault of ours."""


def is_pdf(path: Path) -> bool:
    """Whether a file says of itself that it is a PDF."""
    try:
        with path.open("rb") as f:
            return f.read(1024).lstrip()[: len(SIGNATURE)] == SIGNATURE
    except OSError:
        return False


def read_back(pdf: bytes, pages: Sequence[tuple[float, float]], files: Mapping[str, bytes]) -> None:
    """Read a PDF that was just made: its pages, their boxes, print scaling and what it carries.

    Args:
        pdf: the file.
        pages: width and height in mm of every page.
        files: what it should carry.

    Raises:
        NotAsMeant: where it is anything else than meant.
    """
    try:
        _read_back(Document(pdf), pages, files)
    except Broken as e:
        raise NotAsMeant(f"the PDF cannot be read back: {e}") from e


def _read_back(made: Document, pages: Sequence[tuple[float, float]], files: Mapping[str, bytes]) -> None:
    root = made.table(made.trailer.get("Root"))
    found = list(_pages(made, root.get("Pages"), {}))
    if len(found) != len(pages):
        raise NotAsMeant(f"the PDF has {len(found)} pages instead of {len(pages)}")
    for k, (page, size) in enumerate(zip(found, pages, strict=True), start=1):
        paper = page.get("MediaBox")
        for box in (paper, page.get("CropBox", paper)):
            x0, y0, x1, y1 = (float(made.value(v)) for v in made.value(box) or (0, 0, 0, 0))
            got = abs(x1 - x0) / POINTS_PER_MM, abs(y1 - y0) / POINTS_PER_MM
            if max(abs(g - s) for g, s in zip(got, size, strict=True)) > CLOSE or made.value(page.get("Rotate", 0)):
                raise NotAsMeant(
                    f"page {k} is {got[0]:.2f} mm by {got[1]:.2f} mm instead of {size[0]:.2f} by {size[1]:.2f}"
                )
    asked = made.value(root.get("ViewerPreferences")) or {}
    if made.value(asked.get("PrintScaling")) != Name("None"):
        raise NotAsMeant("the PDF does not ask to be printed unscaled")
    carried = _carried(made, root)
    for name, content in files.items():
        if carried.get(name) != content:
            raise NotAsMeant(f"the PDF does not carry {name} as it was given")


INHERITED = ("MediaBox", "CropBox", "Rotate")


def _pages(made: Document, of: Any, above: Mapping[str, Any], deep: int = 0) -> Iterator[dict[str, Any]]:
    """The pages of a tree of them, each with what it has from above (ISO 32000-1, 7.7.3)."""
    node = {**{k: v for k, v in above.items() if k in INHERITED}, **made.table(of)}
    if "Kids" not in node:
        yield node
        return
    if deep > DEEPEST:
        raise Broken("the pages have no end")
    for kid in made.value(node["Kids"]):
        yield from _pages(made, kid, node, deep + 1)


def _carried(made: Document, root: Mapping[str, Any]) -> dict[str, bytes]:
    """Embedded files by name, from one list of names."""
    tree = made.value(root.get("Names")) or {}
    listed = made.value((made.value(tree.get("EmbeddedFiles")) or {}).get("Names")) or []
    out: dict[str, bytes] = {}
    for about in map(made.table, listed[1::2]):
        name = made.value(about.get("UF", about.get("F")))
        out[name.decode("latin-1")] = made.content(made.table(about.get("EF")).get("F"))
    return out


def taken_out(path: Path, names: Sequence[str]) -> dict[str, bytes]:
    """Files that a PDF carries.

    Raises:
        InputError: where it cannot be read or carries none of the first name.
    """
    place = str(path)
    try:
        if path.stat().st_size > LARGEST:
            raise InputError(place, "the PDF is larger than 100 MB", "give the PDF that the tool made")
        raw = path.read_bytes()
    except OSError as e:
        raise InputError(place, f"the PDF cannot be read ({e.strerror})", "check the name and the folder") from e
    return taken_from(raw, place, names)


def taken_from(pdf: bytes, place: str, names: Sequence[str]) -> dict[str, bytes]:
    """Files that the bytes of a PDF carry; ``place`` names it in messages.

    Raises:
        InputError: where it cannot be read or carries none of the first name.
    """
    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    try:
        reader = PdfReader(io.BytesIO(pdf))
        found = {name: reader.attachments[name][0] for name in names if name in reader.attachments}
    except (PyPdfError, ValueError, KeyError, TypeError, AttributeError, IndexError, RecursionError) as e:
        raise InputError(place, "the PDF is damaged or locked", "give the PDF as the tool made it") from e
    if names[0] not in found:
        raise InputError(place, "the PDF carries no order", "give sheets made by this tool, or the job file itself")
    return found
