"""Angle, pitch, width, take-up and room of a flat braid, from first principles.

Terms after D. Brunnschweiler, Braids and braiding, J. Textile Inst. 44 (1953):
*braid angle* (between a strand and the braid's axis), *pitch* (length of one
full zigzag of a strand along the axis) and *cover*.

Model
-----
Every strand is a ribbon of width s and thickness t that zigzags at the angle a
between the two edges.  In one full zigzag it meets each of the n - 1 others
twice, so a strand with k crossings in a set makes k / (2(n-1)) zigzags.

* **Cover.**  n strands run side by side in one pitch H, so their spacing e
  across their own direction obeys  H sin a = n e  (Brunnschweiler's relation
  for a closed braid; e = s when neighbours just touch).
* **Step.**  Between two crossings a strand goes p = H / (2(n-1)) along the axis
  and, with c = n e / (2(n-1)), sin a = c / p.  The flat path of one step is
  p / cos a = 2 c / sin 2a: this is "a strand at angle a covers only cos a of its
  length".
* **Crimp.**  At a share q of its crossings the strand changes from over to
  under and climbs by t, so the strand used by a step is
  sqrt((2c / sin 2a)^2 + q t^2).
* **Take-up** of m sets is strand used minus axis covered.  With both ends
  joined the strand used is the slit length S:
  S / (m k) = sqrt((2c / sin 2a)^2 + q t^2), solved for a in closed form.
* **Jam.**  2c / sin 2a has its least value 2c at a = 45 degrees: a slit shorter
  than m k sqrt(4c^2 + q t^2) cannot hold m sets.  A strand also needs its own
  thickness to dive between two neighbours, so the jam uses e = s + t.
* **Width.**  The strand's middle runs over n e / (2 cos a) and half a slanted
  strand stands out at each side: W = (n e / 2 + s) / cos a.

Band
----
The spacing e is what a maker's hand decides.  The least is strands drawn up
until each moves half its width at a crossing, e = s (n-1)/n; the point value is
closed cover, e = s; the most is strands kept apart by their own thickness,
e = s + t.  The band of the take-up is what those three give.

Three strands lie on three levels at an edge where the model has two.  Strands
relaxed as elastic ribbons (the contributors' guide, "The take-up by
mechanics") use what a climb of 3.5 q t^2 a step would give, so that is the most
of theirs; the point value keeps q t^2 until straps have been measured.

Room
----
Up to which angle leather braids comfortably is common practice, no source: the
limits in ``COMFORTABLE`` and ``TIGHT`` are set so that in three 1/4 in strands
of a wristband two sets are easy and three want supple leather.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from strapwork.braid.word import Turn, crossings, crossings_per_strand

COMFORTABLE = {"soft": 25.0, "medium": 18.0, "firm": 14.0}
TIGHT = {"soft": 34.0, "medium": 26.0, "firm": 20.0}
JAM_DEG = 45.0
STEEPEST_CLIMB = {3: 3.5}  # by strands, times q t^2 a step; other counts climb less than the model says


@dataclass(frozen=True, slots=True)
class Plait:
    """What the geometry has to know of a braid's order of over and under.

    Attributes:
        strands: number of strands n.
        turns_per_set: turns in one set.
        steps: crossings of the busiest strand in one set (k).
        changes: share of crossings at which a strand changes face (q, 0 to 1); more where it stands for a steeper climb.
    """

    strands: int
    turns_per_set: int
    steps: int
    changes: float


def plait_of(strands: int, turns: Sequence[Turn]) -> Plait:
    """Read k and q off the turns of one set, taken as repeating."""
    word = crossings(turns)
    order = list(range(strands))
    faces: list[list[bool]] = [[] for _ in range(strands)]
    for c in word:
        i = abs(c) - 1
        a, b = order[i], order[i + 1]
        faces[a].append(c > 0)
        faces[b].append(c < 0)
        order[i], order[i + 1] = b, a
    total = sum(len(f) for f in faces)
    changed = sum(sum(x != y for x, y in zip(f, f[1:] + f[:1], strict=True)) for f in faces if f)
    return Plait(
        strands=strands,
        turns_per_set=len(turns),
        steps=max(crossings_per_strand(strands, word), default=0),
        changes=changed / total if total else 0.0,
    )


@dataclass(frozen=True, slots=True)
class BraidForm:
    """The finished braid in mm and degrees.

    Attributes:
        sets: number of sets (m).
        slit: strand length, i.e. length of the slits as cut.
        finished: length of the braided part along its axis.
        angle_deg: braid angle a.
        set_length: finished length of one set.
        pitch: finished length of one turn.
        width: finished width of the braid.
        thickness: finished thickness, two strands.
    """

    sets: int
    slit: float
    finished: float
    angle_deg: float
    set_length: float
    pitch: float
    width: float
    thickness: float

    @property
    def take_up(self) -> float:
        """Length that the braiding eats, in mm."""
        return self.slit - self.finished


def spacings(plait: Plait, strand_width: float, thickness: float) -> tuple[float, float, float]:
    """Least, point and most spacing e of the strands, in mm (see module docstring)."""
    return (
        strand_width * (plait.strands - 1) / plait.strands,
        strand_width,
        strand_width + thickness,
    )


def extremes(plait: Plait, strand_width: float, thickness: float) -> tuple[tuple[Plait, float], ...]:
    """The three cases that make the band: the braid as it climbs, and its spacing e in mm; least, point and most.

    >>> [p.changes for p, _ in extremes(Plait(strands=3, turns_per_set=6, steps=4, changes=1.0), 6.35, 1.8)]
    [1.0, 1.0, 3.5]
    """
    close, point, apart = spacings(plait, strand_width, thickness)
    steep = replace(plait, changes=plait.changes * STEEPEST_CLIMB.get(plait.strands, 1.0))
    return (plait, close), (plait, point), (steep, apart)


def step_across(plait: Plait, spacing: float) -> float:
    """Way of a strand across its own direction between two crossings, c = n e / (2(n-1)), in mm."""
    return plait.strands * spacing / (2.0 * (plait.strands - 1))


def strand_used(plait: Plait, spacing: float, thickness: float, angle_deg: float) -> float:
    """Strand used by one set at the given braid angle, in mm."""
    flat = 2.0 * step_across(plait, spacing) / math.sin(math.radians(2.0 * angle_deg))
    return plait.steps * math.hypot(flat, thickness * math.sqrt(plait.changes))


def jam_slit(plait: Plait, strand_width: float, thickness: float) -> float:
    """The shortest slit that one set can be packed into, in mm."""
    return strand_used(plait, strand_width + thickness, thickness, JAM_DEG)


def _form(
    plait: Plait,
    strand_width: float,
    thickness: float,
    spacing: float,
    sets: int,
    slit: float,
    finished: float,
    angle: float,
) -> BraidForm:
    cos = math.cos(angle)
    return BraidForm(
        sets=sets,
        slit=slit,
        finished=finished,
        angle_deg=math.degrees(angle),
        set_length=finished / sets,
        pitch=finished / (sets * plait.turns_per_set),
        width=(plait.strands * spacing / 2.0 + strand_width) / cos,
        thickness=2.0 * thickness,
    )


def from_finished(
    plait: Plait, strand_width: float, thickness: float, sets: int, finished: float, spacing: float | None = None
) -> BraidForm | None:
    """The braid whose braided part is to measure ``finished`` mm; None if it jams.

    >>> three = Plait(strands=3, turns_per_set=6, steps=4, changes=1.0)
    >>> form = from_finished(three, 6.35, 1.8, sets=2, finished=150.0)
    >>> round(form.take_up, 2), round(form.angle_deg, 1)
    (5.82, 14.7)
    """
    e = strand_width if spacing is None else spacing
    c = step_across(plait, e)
    p = finished / (sets * plait.steps)
    if p <= 0 or c > p * math.sin(math.radians(JAM_DEG)):
        return None
    angle = math.asin(c / p)
    slit = sets * strand_used(plait, e, thickness, math.degrees(angle))
    return _form(plait, strand_width, thickness, e, sets, slit, finished, angle)


def from_slit(
    plait: Plait, strand_width: float, thickness: float, sets: int, slit: float, spacing: float | None = None
) -> BraidForm | None:
    """The braid that ``sets`` sets make of slits ``slit`` mm long; None if they jam."""
    e = strand_width if spacing is None else spacing
    c = step_across(plait, e)
    flat2 = (slit / (sets * plait.steps)) ** 2 - plait.changes * thickness**2
    if flat2 <= 0 or 2.0 * c > math.sqrt(flat2):
        return None
    angle = 0.5 * math.asin(2.0 * c / math.sqrt(flat2))
    finished = sets * plait.steps * c / math.sin(angle)
    return _form(plait, strand_width, thickness, e, sets, slit, finished, angle)


@dataclass(frozen=True, slots=True)
class Capacity:
    """How many sets a slit holds: without effort, with effort, and at the jam."""

    comfortable: int
    tight: int
    jammed: int


def capacity(plait: Plait, strand_width: float, thickness: float, slit: float, temper: str = "medium") -> Capacity:
    """Sets that fit slits ``slit`` mm long in leather of the given temper."""
    if slit <= 0 or plait.steps == 0:
        return Capacity(0, 0, 0)

    def fits(length: float) -> int:
        return int(slit / length + 1e-9)

    jammed = fits(jam_slit(plait, strand_width, thickness))
    tight = min(jammed, fits(strand_used(plait, strand_width, thickness, TIGHT[temper])))
    easy = min(tight, fits(strand_used(plait, strand_width, thickness, COMFORTABLE[temper])))
    return Capacity(easy, tight, jammed)
