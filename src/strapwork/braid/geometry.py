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
  u = sqrt((2c / sin 2a)^2 + r q t^2), where r = 1 but for three strands.
* **Held ends.**  Braiding runs out flat into the plain leather, where the strands
  lie further out than they turn in the braid.  That costs the take-up of so many
  steps more: h = (3n - 7) / 2.
* **Take-up** of m sets is strand used minus axis covered, (m k + h) (u - p).
  The braid covers L = m k p, and with both ends joined the strand used is the
  slit length  S = (m k + h) u - h p.
* **Jam.**  S has its least value at an angle of 45 degrees less what the held
  ends ask for: up to 3 degrees in three strands, some more in others.  It is the
  jam: a shorter slit, or a shorter braid, cannot hold m sets.  A strand also needs
  its own thickness to dive between two neighbours, so the jam uses e = s + t.
* **Width.**  The strand's middle runs over n e / (2 cos a) and half a slanted
  strand stands out at each side: W = (n e / 2 + s) / cos a.

What mechanics gives
--------------------
r = 3.5 of three strands (``STEEPER``) and h (:func:`held_ends`) are read off
strands relaxed as elastic ribbons in contact (the contributors' guide, "The
take-up by mechanics"): at an edge three strands lie on three levels where the
zigzag has two; and whole braids with held ends need 1.0 to 1.4 steps' worth more
in three strands, 3.6 to 3.9 in five; h is the straight line through 1 and 4, and
beyond five strands, and for even counts, a guess.  With both the model of three strands meets the
mechanics within 6 % from 10 to 26 degrees and lies near what makers cut (3/8 to
1/2 in more for a cuff of two sets: common practice, no source).  Nobody has
measured leather for either.  In the middle of a braid other counts keep the plain
zigzag: five and seven strands round their turns off and use 0.82 to 0.91 of it by
the same mechanics, so what is printed is on the long side in a long braid.

Band
----
The spacing e is what a maker's hand decides.  The least is strands drawn up
until each moves half its width at a crossing, e = s (n-1)/n, with r = 1 and
h = 0; the point value is closed cover, e = s; the most is strands kept apart by
their own thickness, e = s + t.  The band of the take-up is what those give.

Room
----
Up to which angle leather braids comfortably is common practice, no source: the
limits in ``COMFORTABLE`` and ``TIGHT`` are set so that in three 1/4 in strands
of a wristband two sets are easy and three want supple leather.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from strapwork.braid.word import Turn, crossings, crossings_per_strand

COMFORTABLE = {"soft": 25.0, "medium": 18.0, "firm": 14.0}
TIGHT = {"soft": 34.0, "medium": 26.0, "firm": 20.0}
JAM_DEG = 45.0
_LEVEL = 1e-9  # a slope of the slit that is none, at the jam itself
STEEPER = {3: 3.5}  # by strands, from mechanics (see above): times q t^2 that a step climbs


@dataclass(frozen=True, slots=True)
class Plait:
    """What the geometry has to know of a braid's order of over and under.

    Attributes:
        strands: number of strands n.
        turns_per_set: turns in one set.
        steps: crossings of the busiest strand in one set (k).
        changes: share of crossings at which a strand changes face (q, 0 to 1).
        steeper: times the climb q t^2 that a step takes (r).
        ends: steps' worth of take-up that both held ends cost together (h).
    """

    strands: int
    turns_per_set: int
    steps: int
    changes: float
    steeper: float
    ends: float


def held_ends(strands: int) -> float:
    """Steps' worth of take-up that both held ends of a braid cost together, h, from mechanics (see above).

    >>> [held_ends(n) for n in (2, 3, 4, 5)]
    [0.0, 1.0, 2.5, 4.0]
    """
    return max(0.0, (3.0 * strands - 7.0) / 2.0)


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
        steeper=STEEPER.get(strands, 1.0),
        ends=held_ends(strands),
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
    """The three cases that make the band: the braid as it climbs and ends, and its spacing e in mm; least, point and most.

    >>> from strapwork.braid.word import plain_turns
    >>> three = plait_of(3, plain_turns(3) * 3)
    >>> [(p.steeper, p.ends, round(e, 2)) for p, e in extremes(three, 6.35, 1.8)]
    [(1.0, 0.0, 4.23), (3.5, 1.0, 6.35), (3.5, 1.0, 8.15)]
    """
    close, point, apart = spacings(plait, strand_width, thickness)
    return (replace(plait, steeper=1.0, ends=0.0), close), (plait, point), (plait, apart)


def step_across(plait: Plait, spacing: float) -> float:
    """Way of a strand across its own direction between two crossings, c = n e / (2(n-1)), in mm."""
    return plait.strands * spacing / (2.0 * (plait.strands - 1))


def step_used(plait: Plait, spacing: float, thickness: float, angle_deg: float) -> float:
    """Strand used by one step in the middle of a braid, u, in mm."""
    flat = 2.0 * step_across(plait, spacing) / math.sin(math.radians(2.0 * angle_deg))
    return math.hypot(flat, thickness * math.sqrt(plait.steeper * plait.changes))


def strand_used(plait: Plait, spacing: float, thickness: float, angle_deg: float, sets: int = 1) -> float:
    """Strand used by so many sets between held ends at the given braid angle, S = (m k + h) u - h p, in mm."""
    return _slit(plait, spacing, thickness, sets, step_across(plait, spacing) / math.sin(math.radians(angle_deg)))[0]


def _slit(plait: Plait, spacing: float, thickness: float, sets: int, step: float) -> tuple[float, float]:
    """The slit S for steps of p = ``step`` mm along the axis, above c, and its slope dS / dp.

    2c / sin 2a is f = p^2 / sqrt(p^2 - c^2), with f' = p (p^2 - 2c^2) / (p^2 - c^2)^(3/2); u' = f f' / u.
    S is convex in p: f is (f' grows), and so is u, the hypotenuse of f and a constant.
    """
    left = step * step - step_across(plait, spacing) ** 2
    flat = step * step / math.sqrt(left)
    used = math.hypot(flat, thickness * math.sqrt(plait.steeper * plait.changes))
    slope = flat / used * step * (2.0 * left - step * step) / left**1.5
    many = sets * plait.steps + plait.ends
    return many * used - plait.ends * step, many * slope - plait.ends


def _least_step(plait: Plait, spacing: float) -> float:
    """The step p at 45 degrees, less what rounding does to it; no braid has a shorter one."""
    return step_across(plait, spacing) / math.sin(math.radians(JAM_DEG)) * (1.0 - 1e-12)


def _jam_step(plait: Plait, spacing: float, thickness: float, sets: int) -> float:
    """The step p at which the slit is least, by halving: p = c sqrt(2) without held ends, else a little more."""
    low = step_across(plait, spacing) / math.sin(math.radians(JAM_DEG))
    if not plait.ends:
        return low
    high = 2.0 * low
    while _slit(plait, spacing, thickness, sets, high)[1] < 0.0:
        high *= 2.0
    while high - low > 1e-15 * high and low < (middle := 0.5 * (low + high)) < high:
        low, high = (middle, high) if _slit(plait, spacing, thickness, sets, middle)[1] < 0.0 else (low, middle)
    return high


def jam(plait: Plait, spacing: float, thickness: float, sets: int = 1) -> tuple[float, float]:
    """Finished length and slit, in mm, of so many sets packed as close as they go at that spacing."""
    step = _jam_step(plait, spacing, thickness, sets)
    return sets * plait.steps * step, _slit(plait, spacing, thickness, sets, step)[0]


def jam_slit(plait: Plait, strand_width: float, thickness: float, sets: int = 1) -> float:
    """The shortest slit that so many sets can be packed into, in mm."""
    return jam(plait, strand_width + thickness, thickness, sets)[1]


def _form(
    plait: Plait, strand_width: float, thickness: float, spacing: float, sets: int, slit: float, step: float
) -> BraidForm:
    sine = step_across(plait, spacing) / step
    cos = math.sqrt(1.0 - sine * sine)
    finished = sets * plait.steps * step
    return BraidForm(
        sets=sets,
        slit=slit,
        finished=finished,
        angle_deg=math.degrees(math.asin(sine)),
        set_length=finished / sets,
        pitch=finished / (sets * plait.turns_per_set),
        width=(plait.strands * spacing / 2.0 + strand_width) / cos,
        thickness=2.0 * thickness,
    )


def from_finished(
    plait: Plait, strand_width: float, thickness: float, sets: int, finished: float, spacing: float | None = None
) -> BraidForm | None:
    """The braid whose braided part is to measure ``finished`` mm; None if it jams.

    >>> from strapwork.braid.word import plain_turns
    >>> form = from_finished(plait_of(3, plain_turns(3) * 3), 6.35, 1.8, sets=2, finished=150.0)
    >>> round(form.take_up, 2), round(form.angle_deg, 1)
    (8.33, 14.7)
    """
    e = strand_width if spacing is None else spacing
    step = finished / (sets * plait.steps)
    if step < _least_step(plait, e):
        return None
    slit, slope = _slit(plait, e, thickness, sets, step)
    return _form(plait, strand_width, thickness, e, sets, slit, step) if slope > -_LEVEL else None


def from_slit(
    plait: Plait, strand_width: float, thickness: float, sets: int, slit: float, spacing: float | None = None
) -> BraidForm | None:
    """The braid that ``sets`` sets make of slits ``slit`` mm long; None if they jam.

    Newton's steps from p = S / (m k), which is too long because u >= p.  S(p) is convex, so they come down to the
    longer of its two roots, the one that is no jam, and pass it never; where there is none they run past the least S.
    """
    e = strand_width if spacing is None else spacing
    least, step = _least_step(plait, e), slit / (sets * plait.steps)
    while step >= least:
        used, slope = _slit(plait, e, thickness, sets, step)
        if used - slit <= 1e-14 * slit:
            return _form(plait, strand_width, thickness, e, sets, slit, step)
        if slope <= 0.0:
            break
        step -= (used - slit) / slope
    return None


@dataclass(frozen=True, slots=True)
class Capacity:
    """How many sets a slit holds: without effort, with effort, and at the jam."""

    comfortable: int
    tight: int
    jammed: int


def capacity(plait: Plait, strand_width: float, thickness: float, slit: float, temper: str = "medium") -> Capacity:
    """Sets that fit slits ``slit`` mm long in leather of the given temper.

    The most whose slit S, at the angle that the temper allows or at the jam, is no longer than ``slit``: with held ends
    in it, S of m sets is not m times S of one.
    """
    if slit <= 0 or plait.steps == 0:
        return Capacity(0, 0, 0)

    def fits(spacing: float, angle_deg: float, needed: Callable[[int], float]) -> int:
        # S is more than m k u, so this many are enough or too many; from there down to what fits.
        sets = int(slit / (plait.steps * step_used(plait, spacing, thickness, angle_deg))) + 1
        while sets and needed(sets) > slit * (1.0 + 1e-12):
            sets -= 1
        return sets

    def at(angle_deg: float) -> int:
        needed = partial(strand_used, plait, strand_width, thickness, angle_deg)
        return fits(strand_width, angle_deg, needed)

    jammed = fits(strand_width + thickness, JAM_DEG, partial(jam_slit, plait, strand_width, thickness))
    tight = min(jammed, at(TIGHT[temper]))
    return Capacity(min(tight, at(COMFORTABLE[temper])), tight, jammed)
