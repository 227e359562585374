"""What a PDF carries with it (ISO 32000-1, 7.11.4), taken out again; and the reading back of a PDF that was made."""

from __future__ import annotations

import contextlib
import hashlib
import io
import threading
from collections.abc import Mapping, Sequence
from pathlib import Path

from strapwork.catalogue import tr
from strapwork.errors import InputError, StrapworkError

LARGEST = 100_000_000
POINTS_PER_MM = 72.0 / 25.4
CLOSE = 0.02
SIGNATURE = b"%PDF-"
_ONE_AT_A_TIME = threading.Lock()  # PDFium may not be called by two threads at once


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
    import pypdfium2
    from pypdfium2 import raw

    with _ONE_AT_A_TIME, contextlib.closing(pypdfium2.PdfDocument(pdf)) as document:
        if len(document) != len(pages):
            raise NotAsMeant(f"the PDF has {len(document)} pages instead of {len(pages)}")
        for k, size in enumerate(pages):
            got = tuple(points / POINTS_PER_MM for points in document.get_page_size(k))
            if max(abs(g - s) for g, s in zip(got, size, strict=True)) > CLOSE:
                raise NotAsMeant(
                    f"page {k + 1} is {got[0]:.2f} mm by {got[1]:.2f} mm instead of {size[0]:.2f} by {size[1]:.2f}"
                )
        if raw.FPDF_VIEWERREF_GetPrintScaling(document):
            raise NotAsMeant("the PDF does not ask to be printed unscaled")
        held = {}
        for k in range(document.count_attachments()):
            attachment = document.get_attachment(k)
            held[attachment.get_name()] = hashlib.sha256(attachment.get_data()).digest()
        for name, content in files.items():
            if held.get(name) != hashlib.sha256(content).digest():
                raise NotAsMeant(f"the PDF does not carry {name} as it was given")


def taken_out(path: Path, names: Sequence[str]) -> dict[str, bytes]:
    """Files that a PDF carries.

    Raises:
        InputError: where it cannot be read or carries none of the first name.
    """
    place = str(path)
    try:
        if path.stat().st_size > LARGEST:
            raise InputError(place, tr("the PDF is larger than 100 MB"), tr("give the PDF that the tool made"))
        raw = path.read_bytes()
    except OSError as e:
        raise InputError(
            place, tr("the PDF cannot be read ({strerror})", strerror=e.strerror), tr("check the name and the folder")
        ) from e
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
        raise InputError(place, tr("the PDF is damaged or locked"), tr("give the PDF as the tool made it")) from e
    if names[0] not in found:
        raise InputError(
            place, tr("the PDF carries no order"), tr("give sheets made by this tool, or the job file itself")
        )
    return found
