"""Pattern patterns: ``patterns/*.toml``, one kind of goods a file.

A pattern says what is measured and how, how the strap closes, and what stands
where on it, counted from a *reference point* at each end (a snap centre, a
buckle's bar, a rivet) inwards as plus and outwards as minus.
"""

from __future__ import annotations

import math
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Literal, get_args

from pydantic import Field, model_validator

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.files import folders, schema, values
from strapwork.units import Thickness, format_length

Shape = Literal["round", "pointed", "square", "clipped"]
SHAPES: tuple[str, ...] = get_args(Shape)
Weave = Literal["over", "under", "over-under"]
# As it is written: ``plain`` is what makers say for turns worked over.
Weaving = Annotated[Weave, values.reader(lambda v, _: "over" if v == "plain" else v)]
WEAVES = (
    ("over", tr("plain turns, worked over")),
    ("under", tr("plain turns, worked under")),
    ("over-under", tr("over and under")),
)
Meets = Literal["overlap", "face", "turned", "fixed", "tied", "butted", "open"]


class Measure(schema.Strict):
    """What the maker measures.

    Attributes:
        what: one or two words, e.g. ``wrist``.
        how: a sentence a beginner can follow.
        lies: ``round`` (the strap lies round what was measured), ``flat`` (along
            it) or ``folded`` (doubled over, measured once).
        least, most: sensible limits in mm.
        ease: added to the measure, in mm.
        wire: for ``folded``: diameter in mm of what the strap is folded over.
        over: for ``folded``: what that is called, e.g. ``key ring``.
    """

    what: str = Field(min_length=1, max_length=40)
    how: values.Words = Field(min_length=10, max_length=400)
    lies: Literal["round", "flat", "folded"]
    least: values.Length
    most: values.Length
    ease: values.Offset = 0.0
    wire: values.Length | None = None
    over: values.Words = Field(default="ring", min_length=2, max_length=40)

    @property
    def called(self) -> str:
        """What is measured, in the maker's language; ``what`` is the name by which bodies have it."""
        return tr(self.what)

    def example(self, units: str = "mm") -> str:
        """A likely measure, to show how one is written."""
        return format_length(5.0 * round(math.sqrt(self.least * self.most) / 5.0), units)


class StrapSpec(schema.Strict):
    """Default strap: width in mm, leather thickness."""

    width: values.Length
    leather: values.Thick


class BraidSpec(schema.Strict):
    """Default braid.  ``sets`` left out means as many as go in comfortably."""

    strands: int = Field(default=3, ge=1, le=25)
    sets: int | None = Field(default=None, ge=0, le=200)
    weave: Weaving = "over"
    turns: str | None = Field(default=None, max_length=400)


class Fixture(schema.Strict):
    """Something set into the strap near one end.

    Attributes:
        part: what it is.
        at: distance of its centre from the reference point in mm, inwards plus.
        across: distance from the strap's middle line in mm.
        count, spacing: a row along the strap, centred on ``at``; a row of holes always has one at ``at``, and with an
            even count the odd hole lies outwards.
        diameter: for ``hole``: punch diameter in mm.
        doubled: for a turned-back end: it goes through both layers, so it gets
            a hole at the same distance on either side of the fold.
        onto: thickness in mm of anything else the post goes through.
        half: for a snap, ``cap`` or ``stud``; which way it faces follows from ``meets``.
        span: for a keeper: its length along the strap in mm.
        pick: a size by name, when the maker does not want the tool to choose.
    """

    part: Literal["snap", "magnetic-snap", "rivet", "screw-post", "eyelet", "buckle", "ring", "hook", "hole", "keeper"]
    at: values.Offset = 0.0
    across: values.Offset = 0.0
    count: int = Field(default=1, ge=1, le=25)
    spacing: values.Length | None = None
    diameter: values.Length | None = None
    doubled: bool = False
    onto: values.LengthOrZero = 0.0
    half: Literal["cap", "stud"] = "cap"
    pick: str | None = None
    span: values.Length | None = None

    @model_validator(mode="after")
    def _complete(self) -> Fixture:
        if self.part == "hole" and self.diameter is None:
            raise values.wrong(tr("a hole needs a diameter"), tr("add diameter, such as '4 mm'"))
        if self.count > 1 and self.spacing is None:
            raise values.wrong(tr("a row needs a spacing"), tr("add spacing, such as '1 in'"))
        if self.part == "keeper" and self.span is None:
            raise values.wrong(tr("a keeper needs a span"), tr("add span, its length along the strap"))
        return self


class End(schema.Strict):
    """One end of the strap.

    Attributes:
        shape: outline of the tip.
        depth: how far a pointed or clipped tip reaches, in mm.
        radius: for ``round``: radius of the corners in mm; left out, half the width.
        meets: ``overlap`` (lies over the other end), ``face`` (face to face with
            it), ``turned`` (turned back round a bar), ``fixed`` (on to the goods),
            ``tied`` or ``butted`` (meets the other end edge to edge), ``open``.
        reference: the name of the reference point, e.g. ``snap centre``.
        to_tip: from the reference point out to the raw end, in mm.
        to_slit: from the reference point in to the end of the slits, in mm.
        gap: for ``tied``: distance in mm from the reference point to the middle
            of the join, which the lace spans.
        measured_to: for ``turned``: whether the measure ends at the middle of the bar or at the outside of the fold.
        fixtures: what is set there.
    """

    shape: Shape = "round"
    depth: values.Length | None = None
    radius: values.Length | None = None
    meets: Meets
    reference: values.Words = Field(min_length=2, max_length=40)
    to_tip: values.LengthOrZero
    to_slit: values.LengthOrZero
    gap: values.LengthOrZero = 0.0
    measured_to: Literal["bar", "outside"] = "bar"
    fixtures: tuple[Fixture, ...] = ()


class Slits(schema.Strict):
    """How the slits are cut.

    Attributes:
        at: distances of the slits from the strap's lower edge in mm; left out,
            they are evenly spaced.
        relief: diameter in mm of a round hole at each slit end; left out, the
            stops are marked with a line.
    """

    at: tuple[values.Length, ...] | None = None
    relief: values.Length | None = None


class Join(schema.Strict):
    """How ends are joined that no hardware closes: those that are tied or butted.

    Attributes:
        by: ``lace`` (through the lace holes), ``stitch`` or ``staple``.
        lace: for ``lace``: how long a lace to cut, in mm.
    """

    by: Literal["lace", "stitch", "staple"]
    lace: values.Length | None = None


class Companion(schema.Strict):
    """A second piece that goes with this one, measured off it."""

    pattern: str
    measure: Literal["round two layers"]
    label: values.Words


class Pattern(schema.Strict):
    """One kind of strap goods.

    ``hazards`` says what the goods are for where that can hurt someone: they
    carry a ``load``, hold an ``animal``, or go round a ``neck``.  ``join`` says
    how tied or butted ends are joined; left out, tied ends are laced and butted
    ones stitched.
    """

    title: values.Words = Field(min_length=2, max_length=80)
    about: values.Words = Field(min_length=10, max_length=400)
    order: int = 100
    measure: Measure
    strap: StrapSpec
    # Made when a pattern says nothing of them: as values they would be checked while the module loads.
    braid: BraidSpec = Field(default_factory=BraidSpec)
    slits: Slits = Field(default_factory=Slits)
    start: End
    finish: End
    join: Join | None = None
    companion: Companion | None = None
    hazards: tuple[Literal["load", "animal", "neck"], ...] = ()
    name: str = ""

    @model_validator(mode="after")
    def _fits_together(self) -> Pattern:
        n = self.braid.strands
        if self.slits.at is not None and len(self.slits.at) != n - 1:
            raise values.wrong(
                tr(
                    "{many} make {many2}, not {n}",
                    many=_many(len(self.slits.at), "slit"),
                    many2=_many(len(self.slits.at) + 1, "strand"),
                    n=n,
                ),
                tr("leave 'at' out") if n < 2 else tr("give {many} or leave 'at' out", many=_many(n - 1, "distance")),
            )
        if self.measure.least >= self.measure.most:
            raise values.wrong(tr("'least' is not below 'most' in the measure"), tr("give the smaller first"))
        if self.measure.lies == "folded" and self.measure.wire is None:
            raise values.wrong(tr("a folded strap needs the wire it is folded over"), tr("add wire to [measure]"))
        if self.join and self.join.by == "lace" and self.join.lace is None:
            raise values.wrong(tr("laced ends need a length of lace"), tr("add lace to [join], such as '400 mm'"))
        for name, end in (("start", self.start), ("finish", self.finish)):
            if any(f.doubled for f in end.fixtures) and end.meets != "turned":
                raise values.wrong(
                    tr("'doubled' in [{name}] needs a turned-back end", name=name), "set meets = 'turned'"
                )
            if end.meets == "turned" and not any(f.part in ("rivet", "screw-post", "hole") for f in end.fixtures):
                raise values.wrong(
                    tr("[{name}] is turned back but nothing holds it", name=name), tr("add a rivet fixture")
                )
        return self

    @property
    def leather(self) -> Thickness:
        return self.strap.leather


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'s' if count != 1 else ''}"


def load(path: Path) -> Pattern:
    """Read and check one pattern file; one that has not changed since is not read again."""
    try:
        found = path.stat()
    except OSError:
        return _read(path, ())  # reading says what is the matter with it
    return _read(path, (found.st_ino, found.st_mtime_ns, found.st_size))


@lru_cache(maxsize=256)
def _read(path: Path, _state: tuple[int, ...]) -> Pattern:
    pattern = schema.check(Pattern, schema.read_toml(path, "pattern"), str(path))
    return pattern.model_copy(update={"name": path.stem})


def files(extra: Path | None = None) -> dict[str, Path]:
    """Pattern files by name; those of the maker's own folder win over ours."""
    if extra is not None and not extra.is_dir():
        raise InputError(
            "--patterns", tr("'{extra}' is not a folder", extra=extra), tr("name a folder that holds .toml files")
        )
    return schema.toml_files(folders.folder("patterns"), *([extra] if extra else []))


def find(name: str, place: str, extra: Path | None = None) -> Pattern:
    """The pattern called ``name``.

    Raises:
        InputError: naming the nearest one when there is none of that name.
    """
    return load(schema.named(files(extra), name, place, "pattern"))


def all_patterns(extra: Path | None = None) -> list[Pattern]:
    """Every pattern, in the order makers would look for them."""
    return sorted((load(p) for p in files(extra).values()), key=lambda r: (r.order, r.name))
