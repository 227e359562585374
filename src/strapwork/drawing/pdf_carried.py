"""Files that a PDF carries, put into a reportlab document while it is made (ISO 32000-1, 7.11.4)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from reportlab.pdfbase import pdfdoc


def embed(document: Any, files: Mapping[str, bytes]) -> None:
    """Put ``files`` (name to content) into a document, compressed."""
    listed: list[Any] = []
    # A name tree is sorted by its names.
    for name, content in sorted(files.items()):
        stream = pdfdoc.PDFStream(
            pdfdoc.PDFDictionary(
                {"Type": pdfdoc.PDFName("EmbeddedFile"), "Params": pdfdoc.PDFDictionary({"Size": len(content)})}
            ),
            content,
            [pdfdoc.PDFZCompress],
        )
        said = pdfdoc.PDFString(name)
        about = pdfdoc.PDFDictionary(
            {
                "Type": pdfdoc.PDFName("Filespec"),
                "F": said,
                "UF": said,
                "EF": pdfdoc.PDFDictionary({"F": document.Reference(stream, f"carried-{name}")}),
            }
        )
        listed += [said, document.Reference(about, f"carried-about-{name}")]
    if listed:
        tree = pdfdoc.PDFDictionary({"EmbeddedFiles": pdfdoc.PDFDictionary({"Names": pdfdoc.PDFArray(listed)})})
        document.Catalog.Names = tree
