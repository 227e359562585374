"""How strands lie: which are twisted, and which are wound round which, in words."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from strapwork.braid.looks import Look
from strapwork.braid.word import letter
from strapwork.catalogue import tr, trn


def listed(names: Sequence[str]) -> str:
    """``A``, ``A and B``, ``A, B and C``."""
    return names[0] if len(names) == 1 else tr("{names} and {names2}", names=", ".join(names[:-1]), names2=names[-1])


def strands(numbers: Sequence[int]) -> str:
    """Strands by their letters; four or more neighbours as a span."""
    runs: list[list[int]] = []
    for s in sorted(numbers):
        if runs and s == runs[-1][-1] + 1:
            runs[-1].append(s)
        else:
            runs.append([s])
    names: list[str] = []
    for run in runs:
        names += (
            [tr("{letter} to {letter2}", letter=letter(run[0]), letter2=letter(run[-1]))]
            if len(run) > 3
            else [letter(s) for s in run]
        )
    return listed(names)


def turns_of(count: int) -> str:
    """``1 turn``, ``2 turns``."""
    return trn("{count} turn", "{count} turns", count, count=count)


def lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def lies(seen: Look) -> str:
    """How the strands lie, in a sentence or two; S and Z as ISO 2 has them for the twist of yarns."""
    if seen.good:
        return tr("The strands hang free and untwisted.")
    parts: list[str] = []
    for f in sorted({f for f in seen.twisted if f}, key=lambda f: seen.twisted.index(f)):
        who = [s for s, x in enumerate(seen.twisted, start=1) if x == f]
        times = tr("one full turn") if abs(f) == 1 else tr("{f} full turns", f=abs(f))
        parts.append(f"{strands(who)} {times} {direction(f)}")
    text = tr("Twisted: {parts}.", parts="; ".join(parts)) if parts else tr("No strand is twisted.")
    if not seen.at_end:
        below = tr("Not crossed below.") if seen.free else tr("Crossed below, as they are in the middle of a set.")
        return f"{text} {below}"
    if seen.wound:
        return tr("{text} Wound round each other: {wound}.", text=text, wound="; ".join(_wound(seen)))
    return tr(
        "{text} No two are wound round each other, yet {so}.",
        text=text,
        so=tr("they do not hang free") if not seen.free else tr("all hang free"),
    )


S_AND_Z = tr("S: what lies in front slopes like the middle of the letter S. Z: like the middle of the letter Z.")


def direction(turns: int) -> str:
    """Which way a twist runs."""
    return "S" if turns > 0 else "Z"


def _wound(seen: Look) -> Iterator[str]:
    """Pairs wound round each other, those that go together in one phrase."""
    for times in sorted(set(seen.wound.values()), key=lambda k: (abs(k), k)):
        pairs = {p for p, k in seen.wound.items() if k == times}
        often = f", {direction(times)}" + ("" if abs(times) == 1 else tr(", {times} times", times=abs(times)))
        while pairs:
            group = _clique(pairs)
            if len(group) > 2:
                pairs -= set(itertools.combinations(group, 2))
                yield tr("{strands} all with each other{often}", strands=strands(group), often=often)
                continue
            counts = {s: sum(s in p for p in pairs) for p in pairs for s in p}
            hub = max(sorted(counts), key=lambda s: counts[s])
            others = sorted(a if b == hub else b for a, b in pairs if hub in (a, b))
            pairs -= {(min(hub, s), max(hub, s)) for s in others}
            yield tr("{letter} with {strands}{often}", letter=letter(hub), strands=strands(others), often=often)


def _clique(pairs: set[tuple[int, int]]) -> list[int]:
    """The strands that all make pairs with each other, taken from the left as far as they go."""
    best: list[int] = []
    for first in sorted({a for a, _ in pairs}):
        group = [first]
        for s in sorted({x for p in pairs for x in p}):
            if s > first and all((g, s) in pairs for g in group):
                group.append(s)
        best = max(best, group, key=len)
    return best
