"""What sheets of paper say of themselves, and what is said of how many there are."""

from __future__ import annotations

WHOLE = "Each strap is whole on this sheet: cut along the solid outline."
ASKEW = "The strap lies askew so that it needs no join: cut along the solid outline."
BROKEN = (
    "Lay both halves along a steel rule or tape: A from A at one edge, B from B at the other, both as far apart as "
    "written. Where the two differ, a half is wrong or out of line. Draw edges and slits straight from half to half."
)
LEATHER = "Lay the paper on the grain side of the leather."


def print_at(paper: str) -> str:
    """How to print."""
    return f"{f'{paper[:1].upper()}{paper[1:]} paper, print' if paper else 'Print'} at 100 % (actual size), never “fit to page”."


def stamp(version: str, fingerprint: str) -> str:
    """What every page bears, so that a paper can be matched with its job and two prints told apart."""
    return f"Strapwork {version}, numbers {fingerprint}"


def compared(on_paper: str, now: str) -> str:
    """Whether a job made again from its PDF has come out the same."""
    if on_paper == now:
        return f"The numbers are those of the paper ({now})."
    return (
        f"The numbers are not those of the paper any more ({now} now, {on_paper} on it): a pattern, hardware, the shelf "
        "or the tool has changed since. Do not mix sheets of both."
    )


def count(sheets: int) -> str:
    """``1 sheet``, ``5 sheets``."""
    return f"{sheets} sheet{'s' if sheets != 1 else ''}"


def saved(now: int, other: int, *, broken: bool) -> str:
    """What broken views save, or would save; empty where they save nothing.

    Args:
        now: sheets as the job is.
        other: sheets with all straps the other way.
        broken: whether the job has broken views now.
    """
    if broken and other > now:
        return f"Broken views save {count(other - now)}: whole straps would take {other}."
    if not broken and other < now:
        return f"Broken views would save {count(now - other)}: {other} instead of {now}."
    return ""
