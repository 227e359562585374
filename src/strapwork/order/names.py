"""Names that a maker gives, made fit for paper and for files."""

from __future__ import annotations

import re
import unicodedata

from strapwork.characters import tidy

__all__ = ["file_stem", "tidy"]


# Names of devices that Windows takes for no file, whatever follows the dot.
_DEVICES = frozenset(("con", "prn", "aux", "nul", *(f"{port}{k}" for port in ("com", "lpt") for k in range(10))))


def file_stem(text: str) -> str:
    """A file name made of plain letters, digits and hyphens, which every system takes."""
    flat = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", flat).strip("-")[:60] or "job"
    return f"{stem}-job" if stem in _DEVICES else stem
