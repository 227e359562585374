"""Names that a maker gives, made fit for paper and for files."""

from __future__ import annotations

import re
import unicodedata


def tidy(text: str) -> str:
    """A label without control or direction-changing characters, spaces folded."""
    kept = "".join(" " if unicodedata.category(ch) in ("Cc", "Zl", "Zp") else ch for ch in text)
    kept = "".join(ch for ch in kept if unicodedata.category(ch) not in ("Cf", "Cs", "Co", "Cn"))
    return re.sub(r"\s+", " ", kept).strip()


def file_stem(text: str) -> str:
    """A file name made of plain letters, digits and hyphens."""
    flat = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", flat).strip("-")[:60] or "job"
