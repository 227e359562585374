"""What sheets of paper say of themselves, and what is said of how many there are."""

from __future__ import annotations

from strapwork.catalogue import tr, trn

WHOLE = tr("Each strap is whole on this sheet: cut along the solid outline.")
ASKEW = tr("The strap lies askew so that it needs no join: cut along the solid outline.")
BROKEN = tr(
    "Lay both halves along a steel rule or tape: A from A at one edge, B from B at the other, both as far apart as "
    "written. Where the two differ, a half is wrong or out of line. Draw edges and slits straight from half to half."
)
LEATHER = tr("Lay the paper on the grain side of the leather.")


def print_at(paper: str) -> str:
    """How to print."""
    return tr(
        "{paper} at 100 % (actual size), never “fit to page”.",
        paper=tr("{paper} paper, print", paper=paper[:1].upper() + paper[1:]) if paper else tr("Print"),
    )


def stamp(version: str, fingerprint: str) -> str:
    """What every page bears, so that a paper can be matched with its job and two prints told apart."""
    return tr("Strapwork {version}, numbers {fingerprint}", version=version, fingerprint=fingerprint)


def compared(on_paper: str, now: str) -> str:
    """Whether a job made again from its PDF has come out the same."""
    if on_paper == now:
        return tr("The numbers are those of the paper ({now}).", now=now)
    return tr(
        "The numbers are not those of the paper any more ({now} now, {on_paper} on it): a pattern, hardware, the shelf "
        "or the tool has changed since. Do not mix sheets of both.",
        now=now,
        on_paper=on_paper,
    )


def count(sheets: int) -> str:
    """``1 sheet``, ``5 sheets``."""
    return trn("{sheets} sheet", "{sheets} sheets", sheets, sheets=sheets)


def saved(now: int, other: int, *, broken: bool) -> str:
    """What broken views save, or would save; empty where they save nothing.

    Args:
        now: sheets as the job is.
        other: sheets with all straps the other way.
        broken: whether the job has broken views now.
    """
    if broken and other > now:
        return tr("Broken views save {count}: whole straps would take {other}.", count=count(other - now), other=other)
    if not broken and other < now:
        return tr(
            "Broken views would save {count}: {other} instead of {now}.", count=count(now - other), other=other, now=now
        )
    return ""
