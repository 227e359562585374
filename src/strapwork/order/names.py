"""Names that a maker gives, made fit for paper and for files."""

from __future__ import annotations

import re
import unicodedata

from strapwork.characters import tidy

__all__ = ["file_stem", "tidy"]


def file_stem(text: str) -> str:
    """A file name made of plain letters, digits and hyphens."""
    flat = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", flat).strip("-")[:60] or "job"
