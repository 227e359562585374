"""The atlas in words: a table for the terminal, plain data, and the captions of the sheets."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

from strapwork.braid import passes, patterns
from strapwork.braid.atlas import Atlas, Count, Entry
from strapwork.braid.passes import Schedule
from strapwork.braid.patterns import Pattern
from strapwork.braid.word import Turn, letter
from strapwork.catalogue import tr, trn

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven")
HINT = tr(
    "One number is one finished braid, its mirror image or its back; the letter is the way to work it. "
    "A turn is its side and one letter for each strand it crosses, from the outside in: o over, u under. "
    "Every step of a braid: strapwork braid STRANDS --turns 'TURNS' --out DIR."
)
NONE = tr("So no such braid can be worked, in a set of any length.")


def spaced(number: int) -> str:
    """``"15 876"``."""
    return f"{number:,}".replace(",", " ")


def patterns_of(count: int) -> str:
    """``"1 pattern"``, ``"15 876 patterns"``."""
    return trn("{count} pattern", "{count} patterns", count, count=spaced(count))


def classes_of(count: int) -> str:
    """``"1 class"``, ``"32 classes"``."""
    return trn("{count} class", "{count} classes", count, count=spaced(count))


def turns_in_a_pattern(pairs: int) -> str:
    """``"one right and one left turn"``."""
    return (
        tr("one right and one left turn")
        if pairs == 1
        else tr("{numbers} right and {numbers} left turns", numbers=NUMBERS[pairs])
    )


def heading(a: Atlas) -> str:
    """The head of a page of the atlas."""
    return tr(
        "{strands} strands, {turns_in_a_pattern}", strands=a.strands, turns_in_a_pattern=turns_in_a_pattern(a.pairs)
    )


def summary(a: Atlas) -> list[str]:
    """What was tried and what came of it."""
    out = []
    for c in a.counts:
        order = tr(" in the order {sides}", sides=" ".join(c.sides)) if len(a.counts) > 1 else ""
        out.append(
            tr(
                "{patterns}{order}, every reach and every over and under. {fate}",
                patterns=patterns_of(c.patterns),
                order=order,
                fate=_fate(c),
            )
        )
    if a.entries:
        braids = tr("one finished braid") if a.braids == 1 else tr("{braids} finished braids at most", braids=a.braids)
        out.append(
            tr(
                "That makes {classes} and {braids}. "
                "The mirror image, the work turned over and another first turn count as the same class.",
                classes=classes_of(len(a.entries)),
                braids=braids,
            )
        )
    return out


def _fate(c: Count) -> str:
    parts = []
    if c.unbraided:
        parts.append(tr("{unbraided} braid nothing, as the turns take each other back", unbraided=spaced(c.unbraided)))
    if c.repeats:
        parts.append(tr("{repeats} repeat a shorter pattern", repeats=spaced(c.repeats)))
    parts.append(tr("{braids} braid", braids=spaced(c.braids)) if c.braids else tr("none braids"))
    return tr(
        "{unlinked} bring all strands home, no two of them linked. "
        "{workable} can be worked with both ends joined: {parts}.",
        unlinked=spaced(c.unlinked),
        workable=spaced(c.workable),
        parts="; ".join(parts),
    )


def turn_in_words(t: Turn) -> str:
    """``"right over 2, under 1"``."""
    crossed = []
    for kind, group in itertools.groupby(t.text()[1:]):
        many = len(list(group))
        crossed.append(tr("over {many}", many=many) if kind == "o" else tr("under {many}", many=many))
    side = tr("right") if t.side == "R" else tr("left")
    return f"{side} {', '.join(crossed)}"


def _hand(pattern: Pattern, left_handed: bool) -> Pattern:
    return patterns.mirrored(pattern) if left_handed else pattern


def _strands(e: Entry, strands: Sequence[int], left_handed: bool) -> list[int]:
    """Strands by their places at the start, as the worker of that hand counts them."""
    return sorted(e.strands + 1 - s for s in strands) if left_handed else list(strands)


def handed(e: Entry, left_handed: bool) -> tuple[Pattern, Schedule | None]:
    """Pattern and easiest schedule for the hand; None when no schedule was found."""
    best = e.plan.schedules[0] if e.plan.schedules else None
    if left_handed and best is not None:
        best = passes.mirrored(e.strands, best)
    return _hand(e.pattern, left_handed), best


def passes_in_words(e: Entry, schedule: Schedule | None) -> str:
    """``"after 4 gap 2 front; .."``, short enough for a table."""
    if schedule is None:
        return tr("none found within the limits of the search")
    if not e.fewest_known:
        return tr(
            "{schedule} passes, all after turn {after_turn}; fewer may do",
            schedule=len(schedule),
            after_turn=schedule[-1].after_turn,
        )
    return "; ".join(
        tr("after {after_turn} gap {gap} {face}", after_turn=p.after_turn, gap=p.gap, face=tr(p.face)) for p in schedule
    )


def group(e: Entry, strands: Sequence[int], left_handed: bool = False) -> str:
    """A group of strands by letters, as the worker of that hand has them: ``"ABD"``."""
    return "".join(letter(s) for s in _strands(e, strands, left_handed))


def notes(e: Entry, left_handed: bool = False) -> list[str]:
    """What a maker should know of a class besides its numbers."""
    out = []
    still = [s for s in range(1, e.strands + 1) if s not in e.taken_up]
    if still:
        out.append(tr("never taken up: {group}", group=", ".join(group(e, still, left_handed))))
    if not e.hangs_together:
        out.append(tr("falls into layers"))
    if e.brunnian:
        out.append(tr("Brunnian: any one strand out sets the others free"))
    if e.takes_back:
        out.append(tr("a turn takes back part of another"))
    if e.shorter:
        out.append(
            tr("the braid of {hand}, its mirror image or its back", hand=" ".join(_hand(e.shorter, left_handed)))
        )
    return out


def words(a: Atlas, left_handed: bool = False, every: bool = False) -> str:
    """One page of the atlas for the terminal."""
    out = [heading(a), *summary(a)]
    if not a.entries:
        return "\n".join([*out, NONE])
    worked = a.worked_out()
    rows: list[tuple[str, ...]] = [
        (tr("braid"), tr("turns"), tr("set"), tr("patterns"), tr("tangle"), tr("passes"), "")
    ]
    for e in a.entries if every else worked:
        rows.append(_row(e, left_handed, e in worked))
    wide = [max(len(r[k]) for r in rows) for k in range(6)]
    for r in rows:
        cells = [f"{v:>{w}}" if k in (2, 3, 4) else f"{v:<{w}}" for k, (v, w) in enumerate(zip(r, wide, strict=False))]
        out.append("  ".join(["", *cells, r[6]]).rstrip())
    if len(worked) < len(a.entries):
        out.append(left_out(a, every))
    return "\n".join(out)


def left_out(a: Atlas, every: bool) -> str:
    """What is said of the classes whose passes are not worked out."""
    worked = len(a.worked_out())
    rest = tr("are listed without their passes") if every else tr("are left out; --all lists them")
    which = tr("each of the first {worked} braids", worked=worked) if worked < a.braids else tr("each braid")
    return tr(
        "Passes are worked out for one class of {which}; {others} {rest}.",
        which=which,
        others=classes_of(len(a.entries) - worked),
        rest=rest,
    )


def _row(e: Entry, left_handed: bool, worked: bool) -> tuple[str, ...]:
    if not worked:
        return (e.name, " ".join(_hand(e.pattern, left_handed)), str(e.turns), str(e.size), "", "", "")
    pattern, schedule = handed(e, left_handed)
    tangle = "" if e.least_tangle is None else f"{e.least_tangle:.2f}"
    said = passes_in_words(e, schedule)
    return (e.name, " ".join(pattern), str(e.turns), str(e.size), tangle, said, "; ".join(notes(e, left_handed)))


def as_data(a: Atlas, left_handed: bool = False) -> dict[str, Any]:
    """The page as plain data; passes and what follows from them are null where they were not worked out."""
    worked = a.worked_out()
    return {
        "strands": a.strands,
        "pairs": a.pairs,
        "left_handed": left_handed,
        "counts": [
            {
                "sides": c.sides,
                "patterns": c.patterns,
                "unlinked": c.unlinked,
                "workable": c.workable,
                "repeats_of_shorter": c.repeats,
                "braid_nothing": c.unbraided,
                "braid": c.braids,
            }
            for c in a.counts
        ],
        "classes": len(a.entries),
        "finished_braids_at_most": a.braids,
        "entries": [_entry(e, left_handed, e in worked) for e in a.entries],
        "braiding_nothing": [{"pattern": list(p), "patterns": size} for p, size in a.unbraided],
    }


def _entry(e: Entry, left_handed: bool, worked: bool) -> dict[str, Any]:
    data: dict[str, Any] = {
        "name": e.name,
        "pattern": list(_hand(e.pattern, left_handed)),
        "repeats": e.repeats,
        "turns_per_set": e.turns,
        "patterns": e.size,
        "finished_braid": e.braid,
        "braid_of": list(_hand(e.shorter, left_handed)) if e.shorter else None,
        "crossings_a_round": e.needed,
        "takes_back": e.takes_back,
        "passes": None,
        "fewest_known": None,
        "schedules": None,
        "least_tangle": None,
        "never_taken_up": None,
        "hangs_together": None,
        "brunnian": None,
        "least_braided": None,
    }
    if worked:
        _, schedule = handed(e, left_handed)
        still = [s for s in range(1, e.strands + 1) if s not in e.taken_up]
        if schedule is not None:
            data["passes"] = [{"after_turn": p.after_turn, "gap": p.gap, "face": p.face} for p in schedule]
        data |= {
            "fewest_known": e.fewest_known,
            "schedules": len(e.plan.schedules),
            "least_tangle": e.least_tangle,
            "never_taken_up": _strands(e, still, left_handed),
            "hangs_together": e.hangs_together,
            "brunnian": e.brunnian,
            "least_braided": sorted(_strands(e, g, left_handed) for g in e.least_braided),
        }
    return data
