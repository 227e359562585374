"""The flat strap: outline, slits, holes, marks and hardware footprints.

The strap lies along +x from 0, its lower edge on y = 0, grain side up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.geometry.shape import Circle, Line, Outline, rectangle, stadium, strap_outline, tip_depth
from strapwork.piece.fit import Fit
from strapwork.stock.hardware import BY_STACK, Catalogue, Size
from strapwork.stock.patterns import End, Fixture, Pattern
from strapwork.units import say, say_at_most, say_thin

MarkKind = Literal["stop", "fold", "centre"]
Face = Literal["grain", "flesh"]
EndName = Literal["start", "finish"]
STOP_MARK = 3.0
CENTRE_MARK = 2.0


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole, or a slot along the strap when ``length`` exceeds ``diameter`` (mm)."""

    x: float
    y: float
    diameter: float
    length: float
    purpose: str
    end: EndName

    @property
    def is_slot(self) -> bool:
        return self.length > self.diameter

    def shape(self) -> Circle | Outline:
        if self.is_slot:
            return stadium(self.length, self.diameter, self.x - self.length / 2.0, self.y - self.diameter / 2.0)
        return Circle(self.x, self.y, self.diameter / 2.0)


@dataclass(frozen=True, slots=True)
class Mark:
    """A line drawn on the leather: ``stop``, ``fold`` or ``centre``."""

    kind: MarkKind
    line: Line


@dataclass(frozen=True, slots=True)
class Footprint:
    """Where hardware lies on the strap; never cut."""

    what: str
    shape: Circle | Outline
    end: EndName


@dataclass(frozen=True, slots=True)
class Fitting:
    """One piece of hardware to buy and set.

    Attributes:
        size: catalogue size; None for a plain hole or a keeper.
        part: kind of part.
        end: ``start`` or ``finish``.
        stack: leather (and other goods) its post goes through, in mm; 0 where none does.
        faces: which side of the leather its cap or head shows on.
        half: ``cap`` or ``stud`` for snaps, else empty.
        count: how many of these are needed.
        setting: the tool that sets it, from the catalogue.
        outgrown: the smallest size of its kind, where the stack asks for a larger one; None where that one holds it.
    """

    size: Size | None
    part: str
    end: EndName
    stack: float
    faces: Face
    half: str
    count: int
    setting: str = ""
    outgrown: Size | None = None


@dataclass(frozen=True, slots=True)
class Strap:
    """Everything that is cut, punched or marked on one strap (mm)."""

    width: float
    length: float
    outline: Outline
    slits: tuple[Line, ...]
    holes: tuple[Hole, ...]
    marks: tuple[Mark, ...]
    footprints: tuple[Footprint, ...]
    fittings: tuple[Fitting, ...]


def faces(meets: str, half: str) -> Face:
    """Which side a snap half's cap or back shows on (common practice, no source).

    The cap goes on the grain side.  Where the ends overlap, the stud half is
    turned over, so that it faces the cap half lying on top of it; where they
    meet face to face, both are set the same way.
    """
    return "flesh" if meets == "overlap" and half == "stud" else "grain"


def stack_of(fixture: Fixture, end: End, thickness: float) -> float:
    """Thickness in mm that a post goes through.

    One layer where the leather is plain, two where it is turned back or braided
    (``thickness`` counts a backing in), and whatever the part is set on to.
    """
    braided = fixture.at > end.to_slit > 0.0
    return thickness * (2.0 if fixture.doubled else 1.0) * (2.0 if braided else 1.0) + fixture.onto


def choose(
    fixture: Fixture, end: End, name: str, catalogue: Catalogue, width: float, thickness: float, place: str
) -> Size | None:
    """The catalogue size for one fixture of the end called ``name``; None where no bought part is needed."""
    where = f"{place}, {name} {fixture.part}"
    if fixture.part in ("hole", "keeper"):
        return None
    if fixture.pick is not None:
        size = catalogue.named(fixture.pick, where)
        if catalogue.family_of(size).kind != fixture.part:
            raise InputError(
                where,
                tr("'{pick}' is no {part}", pick=fixture.pick, part=tr(fixture.part)),
                tr("pick a {part} or leave pick out", part=tr(fixture.part)),
            )
        if fixture.part in BY_STACK and size.grips:
            stack = stack_of(fixture, end, thickness)
            if not size.holds(stack):
                raise InputError(
                    where,
                    tr(
                        "'{name}' holds {low} to {high} but the stack is {stack}",
                        name=size.name,
                        low=say_thin(size.grips.low),
                        high=say_thin(size.grips.high),
                        stack=say_thin(stack),
                    ),
                    _better(catalogue, fixture.part, stack),
                )
        if size.inside and not size.passes(width):
            raise InputError(
                where,
                tr(
                    "'{name}' is {inside} inside but the strap is {width} wide",
                    name=size.name,
                    inside=say(size.inside),
                    width=say(width),
                ),
                tr(
                    "pick '{other}' or make the strap at most {inside} wide",
                    other=catalogue.for_width(fixture.part, width, where).name,
                    inside=say_at_most(size.inside),
                ),
            )
        return size
    if fixture.part in BY_STACK:
        return catalogue.for_stack(fixture.part, stack_of(fixture, end, thickness), where)
    return catalogue.for_width(fixture.part, width, where)


def _better(catalogue: Catalogue, kind: str, stack: float) -> str:
    """What to take instead of a size that does not hold the stack."""
    fits = catalogue.holding(kind, stack) or catalogue.instead(kind, stack)
    return (
        tr(
            "pick '{name}' ({title}) instead, or name no size, so that each gets its own",
            name=fits.name,
            title=fits.title,
        )
        if fits
        else tr("skive or line the leather there; no {kind} holds it", kind=tr(kind))
    )


def bar_of(end: End, name: str, catalogue: Catalogue, width: float, thickness: float, place: str) -> float:
    """Diameter in mm of the bar that a turned-back end goes round; 0 when it turns on itself."""
    for f in end.fixtures:
        if f.part in ("buckle", "ring", "hook"):
            size = choose(f, end, name, catalogue, width, thickness, place)
            return (size.bar or 0.0) if size else 0.0
    return 0.0


class _Builder:
    """Collects the features of one strap; ``x`` runs inwards from either end."""

    def __init__(
        self, pattern: Pattern, fit: Fit, width: float, thickness: float, catalogue: Catalogue, place: str
    ) -> None:
        self.pattern, self.fit, self.width, self.thickness = pattern, fit, width, thickness
        self.catalogue, self.place = catalogue, place
        self.holes: list[Hole] = []
        self.marks: list[Mark] = []
        self.prints: list[Footprint] = []
        self.fittings: list[Fitting] = []

    def x(self, name: EndName, at: float) -> float:
        """Strap coordinate of a point ``at`` mm inwards from an end's reference."""
        if name == "start":
            return self.pattern.start.to_tip + at
        return self.fit.cut_length - self.pattern.finish.to_tip - at

    def end(self, name: EndName, end: End) -> None:
        if end.meets == "turned":
            x = self.x(name, 0.0)
            self.marks.append(Mark("fold", Line(x, 0.0, x, self.width)))
        for f in end.fixtures:
            self.fixture(name, end, f)

    def fixture(self, name: EndName, end: End, f: Fixture) -> None:
        size = choose(f, end, name, self.catalogue, self.width, self.thickness, self.place)
        y = self.width / 2.0 + f.across
        # A row of holes has one at the measure whatever its count: with an even one the odd hole goes outwards.
        middle = float(f.count // 2) if f.part == "hole" else (f.count - 1) / 2.0
        steps = [f.at + (k - middle) * (f.spacing or 0.0) for k in range(f.count)]
        spots = [s for at in steps for s in ((at, -at) if f.doubled else (at,))]
        if f.part == "buckle" and size:
            self.hole(Hole(self.x(name, f.at), y, size.slot_width or 0.0, size.slot or 0.0, "buckle tongue", name))
            self.bar(name, f, size)
        elif f.part in ("ring", "hook") and size:
            self.bar(name, f, size)
        elif f.part == "keeper":
            half = (f.span or 0.0) / 2.0
            a, b = sorted((self.x(name, f.at - half), self.x(name, f.at + half)))
            self.prints.append(Footprint("keeper", rectangle(a, 0.0, b, self.width), name))
        else:
            diameter = f.diameter if size is None else size.hole
            purpose = f.part if size else end.reference if f.part == "hole" and f.count == 1 else "adjustment"
            for at in spots:
                x = self.x(name, at)
                self.hole(Hole(x, y, diameter or 0.0, diameter or 0.0, purpose, name))
                if size and size.cap:
                    self.prints.append(Footprint(f"{f.part} cap", Circle(x, y, size.cap / 2.0), name))
        stack = stack_of(f, end, self.thickness) if f.part in BY_STACK else 0.0
        self.fittings.append(
            Fitting(
                size=size,
                part=f.part,
                end=name,
                stack=stack,
                faces=faces(end.meets, f.half) if f.part == "snap" else "grain",
                half=f.half if f.part == "snap" else "",
                count=f.count,
                setting=self.catalogue.family_of(size).setting if size else "",
                outgrown=self.catalogue.outgrown(f.part, stack) if stack else None,
            )
        )

    def bar(self, name: EndName, f: Fixture, size: Size) -> None:
        half = (size.bar or 0.0) / 2.0
        x = self.x(name, f.at)
        self.prints.append(Footprint(f"{f.part} bar", rectangle(x - half, 0.0, x + half, self.width), name))

    def hole(self, hole: Hole) -> None:
        self.holes.append(hole)
        c = CENTRE_MARK / 2.0
        self.marks.append(Mark("centre", Line(hole.x - c, hole.y, hole.x + c, hole.y)))
        self.marks.append(Mark("centre", Line(hole.x, hole.y - c, hole.x, hole.y + c)))

    def slits(self, strands: int) -> list[Line]:
        fit, w = self.fit, self.width
        if fit.braid is None:
            return []
        at = self.pattern.slits.at
        ys = sorted(at) if at and len(at) == strands - 1 else [w * k / strands for k in range(1, strands)]
        if ys[-1] >= w:  # a pattern's places are above 0
            raise InputError(
                self.place,
                tr("a slit at {ys} lies off a strap {w} wide", ys=say(ys[-1]), w=say(w)),
                tr("keep the slits inside the width"),
            )
        relief = self.pattern.slits.relief
        inset = relief / 2.0 if relief else 0.0
        lines = [Line(fit.slit_start + inset, y, fit.slit_end - inset, y) for y in ys]
        for line in lines:
            stops: tuple[tuple[float, EndName], ...] = ((fit.slit_start, "start"), (fit.slit_end, "finish"))
            for x, name in stops:
                if relief:
                    self.holes.append(Hole(x, line.y0, relief, relief, "relief", name))
                else:
                    half = min(STOP_MARK, w / strands * 0.6) / 2.0
                    self.marks.append(Mark("stop", Line(x, line.y0 - half, x, line.y0 + half)))
        return lines


def build(
    pattern: Pattern, fit: Fit, width: float, thickness: float, strands: int, catalogue: Catalogue, place: str
) -> Strap:
    """The strap of one fitted piece.

    Raises:
        InputError: when a tip is longer than its allowance, or hardware cannot be chosen.
    """
    for name, end in (("start", pattern.start), ("finish", pattern.finish)):
        depth = tip_depth(end.shape, width, end.depth, end.radius)
        if end.shape == "clipped" and depth >= width / 2.0:
            raise InputError(
                place,
                tr(
                    "the {name} is clipped by {depth} on a strap {width} wide",
                    name=name,
                    depth=say(depth),
                    width=say(width),
                ),
                tr("clip less than half the width"),
            )
        if depth + 1e-9 >= fit.cut_length / 2.0:
            raise InputError(
                place,
                tr(
                    "a strap {cut_length} long has no room for a tip of {depth}",
                    cut_length=say(fit.cut_length),
                    depth=say(depth),
                ),
                tr("make it longer or narrower"),
            )
    b = _Builder(pattern, fit, width, thickness, catalogue, place)
    b.end("start", pattern.start)
    b.end("finish", pattern.finish)
    slits = b.slits(strands)
    return Strap(
        width=width,
        length=fit.cut_length,
        outline=strap_outline(
            fit.cut_length,
            width,
            pattern.start.shape,
            pattern.finish.shape,
            pattern.start.depth,
            pattern.finish.depth,
            pattern.start.radius,
            pattern.finish.radius,
        ),
        slits=tuple(slits),
        holes=tuple(sorted(b.holes, key=lambda h: (h.x, h.y))),
        marks=tuple(b.marks),
        footprints=tuple(b.prints),
        fittings=tuple(b.fittings),
    )
