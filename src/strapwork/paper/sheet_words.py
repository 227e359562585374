"""The words that a sheet of straps carries: its name, the job, what to do with it, how to print it."""

from __future__ import annotations

from collections.abc import Sequence

from strapwork.catalogue import tr
from strapwork.paper.furniture import Row
from strapwork.say import sheets as say

NAME, TITLE, TEXT, SMALL = 5.6, 4.2, 3.0, 2.8
LONGEST = "WW"  # a sheet's letters, where its room is asked for before it has any


def rows(name: str, title: str, told: Sequence[str], paper_name: str, small: Sequence[str]) -> tuple[Row, ...]:
    """(text, size, role) of every sentence.

    Args:
        name: the sheet's.
        title: the job's.
        told: what to do with what is on the sheet.
        paper_name: the paper's.
        small: the printer and the stamp.
    """
    return (
        (tr("Sheet {name}", name=name), NAME, "text-strong"),
        (title, TITLE, "text-strong"),
        *((text, TEXT, "text") for text in told if text),
        (f"{say.LEATHER} {say.print_at(paper_name)}", TEXT, "text"),
        *((text, SMALL, "text") for text in small if text),
    )


def told(*, broken: bool, askew: bool = False) -> list[str]:
    """What a sheet that is taped to no other says of its straps."""
    out = [say.ASKEW] if askew else [] if broken else [say.WHOLE]
    return [*out, say.BROKEN] if broken else out
