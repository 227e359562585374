"""The hardware catalogue and what a stack of leather takes.

Data in ``patterns/hardware/*.toml``, one family a file, each with its sizes.
The tool adds up what a post passes through and picks the size whose grip holds
it; a buckle or ring is picked by the strap's width.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files import folders, schema, values
from strapwork.units import parse_cap, parse_length, say, say_at_most, say_thin, say_thin_at_least, say_thin_at_most

Kind = Literal["snap", "rivet", "screw-post", "eyelet", "magnetic-snap", "buckle", "ring", "hook"]
BY_STACK = ("snap", "rivet", "screw-post", "eyelet", "magnetic-snap")
# What holds instead where a kind cannot; tried in this order.
INSTEAD = {
    "snap": ("magnetic-snap", "screw-post"),
    "magnetic-snap": ("snap", "screw-post"),
    "rivet": ("screw-post",),
    "screw-post": ("rivet",),
    "eyelet": ("screw-post",),
}


class Size(schema.Strict):
    """One size of a family.

    Attributes:
        name: how patterns and jobs pick it.
        title: what to ask for in a shop.
        cap: cap diameter in mm (snaps, rivets).
        hole: diameter of the hole its post needs, in mm.
        grips: thickness of leather it holds, in mm (snaps, rivets).
        inside: inside width in mm (buckles, rings, hooks).
        bar: diameter in mm of the bar or wire that the strap turns round.
        slot: length in mm of the slot that a buckle's tongue needs.
        slot_width: width of that slot in mm.
    """

    name: str
    title: values.Words
    cap: values.Cap | None = None
    hole: values.Length | None = None
    grips: values.Grip | None = None
    inside: values.Length | None = None
    bar: values.Length | None = None
    slot: values.Length | None = None
    slot_width: values.Length | None = None

    def holds(self, stack: float) -> bool:
        """Whether the grip takes a stack of ``stack`` mm."""
        return self.grips is not None and self.grips.low - 1e-9 <= stack <= self.grips.high + 1e-9

    def passes(self, width: float) -> bool:
        """Whether a strap ``width`` mm wide goes through; its edges give by half a millimetre (common practice, no source)."""
        return self.inside is not None and self.inside >= width - 0.5 - 1e-9


class Family(schema.Strict):
    """One kind of hardware with its sizes, smallest first."""

    kind: Kind
    title: values.Words
    source: values.Words
    setting: values.Words = ""
    sizes: tuple[Size, ...] = Field(min_length=1)


# What makers call the kinds; the longer word first where one holds the other.
_CALLED = {
    "magnet": "magnetic-snap",
    "snap": "snap",
    "single": "rivet",
    "rivet": "rivet",
    "post": "screw-post",
    "screw": "screw-post",
    "eyelet": "eyelet",
    "grommet": "eyelet",
    "buckle": "buckle",
    "ring": "ring",
    "hook": "hook",
}
_SAID = re.compile(
    r"(?:[a-z-]+ ?)*?(?:#|no\.? ?)?(?P<number>\d{1,3}(?:[ -]\d{1,2}/\d{1,2}|/\d{1,2}|[.,]\d{1,2})?) ?"
    r"(?P<unit>mm|in|inch|inches|\"|l|lines?|lignes?)?(?: ?[a-z-]+)*"
)
NEAR = 0.5


def _meant(sizes: Sequence[Size], number: str, unit: str, *, lines: bool) -> list[Size]:
    """The sizes that a number means: by name, by the lignes of a cap, or by a measure of theirs."""
    if lines or unit in ("l", "line", "lines", "ligne", "lignes"):
        cap = parse_cap(f"{number} L", place="")
        return [s for s in sizes if s.cap is not None and abs(s.cap - cap) < 0.05]
    if not unit and number.isdigit():
        by_name = [s for s in sizes if s.name.rpartition("-")[2] == number]
        if by_name:
            return by_name
    mm = parse_length(f"{number} {unit or ('in' if '/' in number else 'mm')}", place="")

    def off(s: Size) -> float:
        named = s.name.rpartition("-")[2]
        measures = [float(named) if named.isdigit() else None, s.inside, s.hole]
        return min(abs(v - mm) for v in measures if v is not None)

    least = min((off(s) for s in sizes), default=NEAR + 1.0)
    return [s for s in sizes if off(s) <= min(NEAR, least + 1e-9)]


_NEEDS = {
    "snap": ("cap", "hole", "grips"),
    "rivet": ("cap", "hole", "grips"),
    "screw-post": ("cap", "hole", "grips"),
    "eyelet": ("cap", "hole", "grips"),
    "magnetic-snap": ("cap", "hole", "grips"),
    "buckle": ("inside", "bar", "slot", "slot_width"),
    "ring": ("inside", "bar"),
    "hook": ("inside", "bar"),
}


class Catalogue:
    """All families, by kind.

    A family file is parsed at once but checked only when its kind is asked
    for: most pieces need two of the eight.
    """

    def __init__(self, sources: list[tuple[Path, dict[str, Any]]]) -> None:
        self._sources = sources
        self._checked: dict[Path, Family] = {}

    def _family(self, path: Path, raw: dict[str, Any]) -> Family:
        if path not in self._checked:
            self._checked[path] = _check(path, raw)
        return self._checked[path]

    @property
    def families(self) -> list[Family]:
        """Every family, checked."""
        return [self._family(path, raw) for path, raw in self._sources]

    def sizes(self, kind: str) -> list[Size]:
        """All sizes of one kind, in the order of their files."""
        mine = [(path, raw) for path, raw in self._sources if raw.get("kind") == kind]
        return [s for path, raw in mine for s in self._family(path, raw).sizes]

    def named(self, name: str, place: str) -> Size:
        """The size called ``name``."""
        every = {s.name: s for f in self.families for s in f.sizes}
        if name not in every:
            raise InputError(place, tr("no hardware is called '{name}'", name=name), schema.nearest(name, list(every)))
        return every[name]

    def understood(self, said: str, kinds: Sequence[str], place: str) -> Size:
        """The size that a maker means by ``line 24``, ``24``, ``snap-24`` or ``1/8 eyelet``.

        Args:
            said: what was written.
            kinds: the kinds that the goods take, for a size that names none.
            place: for the message.

        Raises:
            InputError: when it means nothing here, or more than one size.
        """
        every = {s.name: s for f in self.families for s in f.sizes}
        text = " ".join(said.lower().replace("-", " - ").split()).replace(" - ", "-")
        if text in every:
            return every[text]
        m = _SAID.fullmatch(text)
        kind = next((k for word, k in _CALLED.items() if m and re.search(rf"\b{word}", text)), None)
        if m is None:
            raise InputError(
                place, tr("no hardware is called {said}", said=shown(said)), schema.nearest(said, list(every))
            )
        sizes = [s for k in ([kind] if kind else kinds) for s in self.sizes(k)]
        found = _meant(
            sizes, m.group("number"), m.group("unit") or "", lines=bool(re.search(r"\blines?\b|\blignes?\b", text))
        )
        if len(found) == 1:
            return found[0]
        if found:
            raise InputError(
                place,
                tr("{said} may mean more than one size", said=shown(said)),
                tr("choose one of {name}", name=", ".join(s.name for s in found)),
            )
        raise InputError(
            place, tr("no hardware is called {said}", said=shown(said)), schema.nearest(said, [s.name for s in sizes])
        )

    def family_of(self, size: Size) -> Family:
        """The family of a size that this catalogue gave out."""
        known = [f for f in self._checked.values() if size in f.sizes]
        return known[0] if known else next(f for f in self.families if size in f.sizes)

    def for_stack(self, kind: str, stack: float, place: str) -> Size:
        """The smallest size of ``kind`` whose grip holds a stack of ``stack`` mm.

        Raises:
            InputError: when none does, naming the thickest and thinnest that would be held.
        """
        sizes = self.sizes(kind)
        found = self.holding(kind, stack)
        if found:
            return found
        held = [s.grips for s in sizes if s.grips]
        if not held:
            raise InputError(place, tr("the catalogue has no {kind}", kind=kind), tr("add one to patterns/hardware"))
        least, most = min(g.low for g in held), max(g.high for g in held)
        other = self.instead(kind, stack)
        remedy = (
            tr(
                "skive the leather there until the stack is {most} or less",
                most=say_thin_at_most(most),
            )
            if stack > most
            else tr(
                "line or back the leather there until the stack is {least} or more",
                least=say_thin_at_least(least),
            )
        )
        if other:
            remedy += tr(
                ", or use a {title} (pick = '{name}' with part = '{kind}')",
                title=other.title,
                name=other.name,
                kind=self.family_of(other).kind,
            )
        raise InputError(place, tr("no {kind} holds a stack of {stack}", kind=kind, stack=say_thin(stack)), remedy)

    def holding(self, kind: str, stack: float) -> Size | None:
        """The first size of ``kind`` whose grip holds the stack; None when there is none."""
        return next((s for s in self.sizes(kind) if s.holds(stack)), None)

    def outgrown(self, kind: str, stack: float) -> Size | None:
        """The smallest size of ``kind`` where ``stack`` is more than it holds; None where it holds it."""
        first = next((s for s in self.sizes(kind) if s.grips), None)
        return first if first and first.grips and stack > first.grips.high + 1e-9 else None

    def instead(self, kind: str, stack: float) -> Size | None:
        """Another kind's size that holds the stack, where ``kind`` has none."""
        return next((s for k in INSTEAD.get(kind, ()) if (s := self.holding(k, stack))), None)

    def for_width(self, kind: str, width: float, place: str) -> Size:
        """The narrowest size of ``kind`` that a strap ``width`` mm wide passes through."""
        sizes = sorted((s for s in self.sizes(kind) if s.inside), key=lambda s: s.inside or 0.0)
        for s in sizes:
            if s.passes(width):
                return s
        widest = say_at_most(sizes[-1].inside or 0.0) if sizes else "none"
        raise InputError(
            place,
            tr("no {kind} in the catalogue takes a strap {width} wide", kind=kind, width=say(width)),
            tr(
                "make the strap at most {widest} wide or add the {kind} to a file in patterns/hardware",
                widest=widest,
                kind=kind,
            ),
        )


def _check(path: Path, raw: dict[str, Any]) -> Family:
    family = schema.check(Family, raw, str(path))
    for i, size in enumerate(family.sizes, start=1):
        for key in _NEEDS[family.kind]:
            if getattr(size, key) is None:
                raise InputError(
                    f"{path}, sizes[{i}].{key}", tr("this key is missing"), tr("a {kind} needs it", kind=family.kind)
                )
    return family


@cache
def catalogue(extra: Path | None = None) -> Catalogue:
    """The catalogue, with the maker's own ``hardware`` folder under ``extra`` looked at first."""
    own = extra / "hardware" if extra else None
    where = [f for f in (own, folders.folder("patterns") / "hardware") if f is not None and f.is_dir()]
    return Catalogue([(p, schema.read_toml(p, tr("hardware file"))) for f in where for p in sorted(f.glob("*.toml"))])
