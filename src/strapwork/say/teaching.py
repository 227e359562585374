"""The teacher's class sheet in words: stages of the work, what to check at each, who has what, slips to watch for.

Checks are common practice, no source; what they count is taken from the
pieces.  Minutes are never made up: a stage that no price file speaks of has none.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from strapwork.braid.slips import slips
from strapwork.braid.way import Way, as_worked
from strapwork.piece.piece import Piece
from strapwork.say import alike, mending
from strapwork.say import slips as say_slips
from strapwork.say.alike import Group
from strapwork.say.places import listed
from strapwork.say.straps import references
from strapwork.say.table import number, unit
from strapwork.say.tangles import S_AND_Z, lies
from strapwork.units import say

# Minutes of one copy by kind of step, as a price file names the kinds; what it does not say is not there.
Minutes = Callable[[Piece], Mapping[str, Decimal]]

# Stages by the kinds of steps of a card; by the first word of a step's key.
DRY, KEEPER, SET = "dry", "keeper", "set"
KINDS = {
    "check": "cut", "cut": "cut", "line": "back", "mark": "mark", "punch": "punch", "relief": "punch", "slot": "slot",
    "slit": "slit", "shape": "end", "wet": "wet", "braid": "turn", "even": "even", "dry": DRY, "keeper-made": KEEPER,
    "measure": "finish",
}  # fmt: skip
TITLES = {
    "cut": "Cut to length", "back": "Line", "mark": "Mark", "punch": "Punch", "slot": "Cut the slots", "slit": "Slit",
    "end": "Shape the ends", "wet": "Wet", "turn": "Braid", "even": "Even out", DRY: "Dry", KEEPER: "Make the keeper",
    SET: "Put together", "finish": "Measure",
}  # fmt: skip

UNDER = "Class sheet for the teacher. Tick a box when that stage has been looked at; its number is that of the stage."
NO_MINUTES = "Write your own minutes on the lines."
MINUTES = "Minutes are your price file's, for one piece; how much longer learners take it does not say."


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of the work: its kind (see :data:`KINDS`), the steps of the card it holds, and what to check."""

    kind: str
    steps: tuple[int, ...]
    check: str

    @property
    def title(self) -> str:
        return TITLES[self.kind]

    @property
    def on_card(self) -> str:
        """``1, 2``: the steps of the card that it holds."""
        return alike.ranges(self.steps)


def stages(group: Group) -> list[Stage]:
    """The stages of goods that are alike, in the order of their card's steps."""
    found: dict[str, list[int]] = {}
    for k, s in enumerate(alike.shared(group), start=1):
        found.setdefault(KINDS.get(s.key.partition(":")[0], SET), []).append(k)
    return [Stage(kind, tuple(steps), " ".join(_check(kind, group))) for kind, steps in found.items()]


def _check(kind: str, group: Group) -> Iterator[str]:
    p = group.pieces[0]
    strap = p.strap
    match kind:
        case "cut":
            yield f"Measure taken twice; {say(strap.width)} wide, as long as below under cut, ends square, no flaw in the leather."
        case "back":
            yield "The backing holds to every edge, and is dry."
        case "mark":
            yield "Every centre and every stop is pricked, and the paper is off."
        case "punch":
            holes = [[h for h in q.strap.holes if not h.is_slot] for q in group.pieces]
            many = sorted({len(h) for h in holes})
            sizes = listed([say(d) for d in sorted({round(h.diameter, 3) for own in holes for h in own})])
            counted = f"{many[0]}" if len(many) == 1 else f"{many[0]} to {many[-1]}"
            yield f"{counted} hole{'s' if many[-1] > 1 else ''}, {sizes}, clean through."
        case "slot":
            yield "Straight from hole to hole, clean through."
        case "slit":
            yield f"{len(strap.slits)} slit{'s' if len(strap.slits) > 1 else ''}, none past a stop;"
            yield f"{p.strands} strands alike, {say(strap.width / p.strands)} wide."
        case "end":
            yield "As on the pattern, both edges alike."
        case "wet":
            yield "Wet through, the surface dry again."
        case "turn":
            yield from _braided(group)
        case "even":
            yield "The turns lie alike from end to end, and flat."
        case "dry":
            yield "Dry through before anything is set."
        case "keeper":
            yield "It slides over two layers, and its join holds."
        case "set":
            yield "Every part sits flat and holds a pull; what closes, closes."
        case _:
            yield f"{references(p).capitalize()} as below under finished; what came out is written down."


def _braided(group: Group) -> Iterator[str]:
    plan = group.pieces[0].plan
    if plan is None:
        return
    after = [str(n) for n in dict.fromkeys(p.after_turn for p in plan.schedule)]
    if after:
        yield f"{len(plan.turns)} turns a set, the tab passed after turn{'s' if len(after) > 1 else ''} {listed(after)}."
    yield "At the end of every set the strands hang free and none is twisted."


def minutes(stage: Stage, group: Group, known: Minutes) -> tuple[Decimal, Decimal] | None:
    """Least and most minutes that a stage of one piece takes; None where the maker has not said."""
    found: list[Decimal] = []
    for p, own in zip(group.pieces, group.companions, strict=True):
        each = [sum(known(c).values(), Decimal(0)) for c in own] if stage.kind == KEEPER else [known(p).get(stage.kind)]
        for m in each:
            if m is None:
                return None
            found.append(m)
    return (min(found), max(found)) if found and max(found) > 0 else None


def in_minutes(span: tuple[Decimal, Decimal]) -> str:
    """``12`` or ``12 to 16.5``."""
    least, most = (f"{m.normalize():f}" for m in span)
    return least if least == most else f"{least} to {most}"


@dataclass(frozen=True, slots=True)
class Learner:
    """A row of who has what: texts under :func:`heads`."""

    cells: tuple[str, ...]


def heads(group: Group, units: str) -> list[str]:
    """The columns of who has what."""
    braided = any(p.fit.braid for p in group.pieces)
    return [
        f"who (lengths in {unit(units)})",
        *(["hand"] if braided else []),
        "leather",
        "cut",
        *(["sets"] if braided else []),
        "finished",
    ]


def learners(group: Group, units: str) -> list[Learner]:
    """Who has which hand and leather, and the lengths to hand out and to check."""
    braided = any(p.fit.braid for p in group.pieces)
    out = []
    for p in group.pieces:
        form = p.fit.braid
        out.append(
            Learner(
                (
                    p.label + (f" × {p.count}" if p.count > 1 else ""),
                    *([p.hand if form else ""] if braided else []),
                    p.leather.name or p.leather.words(),
                    number(p.fit.cut_length, units),
                    *([str(form.sets) if form else ""] if braided else []),
                    number(p.fit.finished, units),
                )
            )
        )
    return out


def about(group: Group) -> str:
    """What the goods of a group are."""
    first, many = group.pieces[0], sum(p.count for p in group.pieces)
    facts = [f"{many} piece{'s' if many > 1 else ''}", f"{say(first.strap.width)} wide"]
    if first.plan and first.fit.braid:
        facts.append(f"{first.strands} strands")
        hands = dict.fromkeys(f"{p.plan.hand}-handed" for p in group.pieces if p.plan and p.fit.braid)
        facts.append(" and ".join(hands))
    return ", ".join(facts)


# -- slips to watch for --------------------------------------------------------


def ways(pieces: Sequence[Piece]) -> list[Way]:
    """Every braid of the pieces in every hand that works it, each once."""
    return list(dict.fromkeys(as_worked(p.plan) for p in pieces if p.plan and p.fit.braid))


def slips_title(way: Way, alone: bool) -> str:
    """The heading of a braid's slips; ``alone`` where no other braid of as many strands is in the class."""
    turns = "" if alone else f", {' '.join(t.text() for t in way.turns[:2])} .."
    return f"Slips to watch for: {way.strands} strands{turns}, {'left' if way.left_handed else 'right'}-handed"


SLIP_HEADS = ("slip", "how it looks at the end of the set", "seen at once", "seen at the end of the set")


def slip_rows(way: Way) -> list[tuple[str, str, str, str]]:
    """Each common slip: its name, how it looks, the mend at once and at the end of the set."""
    out = []
    for s in slips(way):
        late = "" if s.noticed == s.whole else mending.in_short(way, s.at_end)
        out.append(
            (say_slips.title(way, s, brief=True), lies(s.look), mending.in_short(way, s.at_once), late or "the same")
        )
    return out


def slips_note(found: Sequence[Way]) -> str:
    """How the short words of the slips are read."""
    return f"Letters as the strands lie in the tab, A on the left. {S_AND_Z} {mending.brief_words(max(w.strands for w in found))}"
