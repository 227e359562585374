"""What to have ready before the first cut: leather, hardware with its numbers, punches, and what joins the ends."""

from __future__ import annotations

from collections.abc import Iterator

from strapwork.catalogue import tr
from strapwork.say.alike import Group
from strapwork.units import say, say_thin


def ready(group: Group) -> list[str]:
    """Everything that the goods of a card need on the bench, most needed first."""
    return list(dict.fromkeys([*_leather(group), *_hardware(group), *_punches(group), *_others(group)]))


def _leather(group: Group) -> Iterator[str]:
    for p in group.pieces:
        yield tr("leather {words}", words=p.leather.words())
    for c in (c for own in group.companions for c in own):
        yield tr("for the {piece} {leather}", piece=c.label.rpartition(": ")[2], leather=c.leather.words())


def _hardware(group: Group) -> Iterator[str]:
    many: dict[str, int] = {}
    tools: dict[str, None] = {}
    for p in group.rows:
        for f in p.strap.fittings:
            if f.size:
                many[f.size.title] = many.get(f.size.title, 0) + f.count * p.count
                if f.setting:
                    tools[f.setting] = None
    halves = {f.size.title for p in group.rows for f in p.strap.fittings if f.size and f.half}
    for title, n in many.items():
        # A snap comes as a pair of halves, one at either end.
        yield f"{(n + 1) // 2 if title in halves else n} × {title}"
    yield from tools


def _punches(group: Group) -> Iterator[str]:
    sizes = sorted({round(h.diameter, 3) for p in group.rows for h in p.strap.holes})
    for d in sizes:
        yield tr("punch {d}", d=say(d))


def _others(group: Group) -> Iterator[str]:
    first = group.pieces[0]
    made = sum(p.count for p in group.pieces)
    r = first.pattern
    if r.measure.lies == "folded":
        yield tr(
            "{made} × {over}, {wire} wire, that takes {width}",
            made=made,
            over=r.measure.over,
            wire=say(r.measure.wire or 0.0),
            width=say(first.strap.width),
        )
    if r.join and r.join.by == "lace" and r.join.lace:
        yield tr("{made} × lace, {lace}", made=made, lace=say(r.join.lace))
    for p in group.rows:
        meets = {p.pattern.start.meets, p.pattern.finish.meets}
        if "butted" in meets:
            yield tr("staples") if p.pattern.join and p.pattern.join.by == "staple" else tr("needle and waxed thread")
        turned = [e for e in (p.pattern.start, p.pattern.finish) if e.meets == "turned"]
        if any(f.part == "hole" and f.doubled for e in turned for f in e.fixtures):
            yield tr("needle and waxed thread, or a lace")
        if p.leather.backing:
            yield tr("backing {backing}, glue", backing=say_thin(p.leather.backing))
    if first.fit.braid:
        yield tr("clamp or hook to fix the start")
