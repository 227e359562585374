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
from strapwork.catalogue import tr, trn
from strapwork.piece.piece import Piece
from strapwork.say import alike, mending
from strapwork.say import slips as say_slips
from strapwork.say.alike import Group
from strapwork.say.braiding import hand
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
    "cut": tr("Cut to length"), "back": tr("Line"), "mark": tr("Mark"), "punch": tr("Punch"), "slot": tr("Cut the slots"), "slit": tr("Slit"),
    "end": tr("Shape the ends"), "wet": tr("Wet"), "turn": tr("Braid"), "even": tr("Even out"), DRY: tr("Dry"), KEEPER: tr("Make the keeper"),
    SET: tr("Put together"), "finish": tr("Measure"),
}  # fmt: skip

UNDER = tr(
    "Class sheet for the teacher. Tick a box when that stage has been looked at; its number is that of the stage."
)
NO_MINUTES = tr("Write your own minutes on the lines.")
MINUTES = tr("Minutes are your price file's, for one piece; how much longer learners take it does not say.")


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
            yield tr(
                "Measure taken twice; {width} wide, as long as below under cut, ends square, no flaw in the leather.",
                width=say(strap.width),
            )
        case "back":
            yield tr("The backing holds to every edge, and is dry.")
        case "mark":
            yield tr("Every centre and every stop is pricked, and the paper is off.")
        case "punch":
            holes = [[h for h in q.strap.holes if not h.is_slot] for q in group.pieces]
            many = sorted({len(h) for h in holes})
            sizes = listed([say(d) for d in sorted({round(h.diameter, 3) for own in holes for h in own})])
            counted = f"{many[0]}" if len(many) == 1 else tr("{many} to {many2}", many=many[0], many2=many[-1])
            yield trn(
                "{counted} hole, {sizes}, clean through.",
                "{counted} holes, {sizes}, clean through.",
                many[-1],
                counted=counted,
                sizes=sizes,
            )
        case "slot":
            yield tr("Straight from hole to hole, clean through.")
        case "slit":
            yield trn(
                "{slits} slit, none past a stop;",
                "{slits} slits, none past a stop;",
                len(strap.slits),
                slits=len(strap.slits),
            )
            yield tr("{strands} strands alike, {width} wide.", strands=p.strands, width=say(strap.width / p.strands))
        case "end":
            yield tr("As on the pattern, both edges alike.")
        case "wet":
            yield tr("Wet through, the surface dry again.")
        case "turn":
            yield from _braided(group)
        case "even":
            yield tr("The turns lie alike from end to end, and flat.")
        case "dry":
            yield tr("Dry through before anything is set.")
        case "keeper":
            yield tr("It slides over two layers, and its join holds.")
        case "set":
            yield tr("Every part sits flat and holds a pull; what closes, closes.")
        case _:
            yield tr(
                "{references} as below under finished; what came out is written down.",
                references=references(p).capitalize(),
            )


def _braided(group: Group) -> Iterator[str]:
    plan = group.pieces[0].plan
    if plan is None:
        return
    after = [str(n) for n in dict.fromkeys(p.after_turn for p in plan.schedule)]
    if after:
        yield trn(
            "{turns} turns a set, the tab passed after turn {after}.",
            "{turns} turns a set, the tab passed after turns {after}.",
            len(after),
            turns=len(plan.turns),
            after=listed(after),
        )
    yield tr("At the end of every set the strands hang free and none is twisted.")


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
    return least if least == most else tr("{least} to {most}", least=least, most=most)


@dataclass(frozen=True, slots=True)
class Learner:
    """A row of who has what: texts under :func:`heads`."""

    cells: tuple[str, ...]


def heads(group: Group, units: str) -> list[str]:
    """The columns of who has what."""
    braided = any(p.fit.braid for p in group.pieces)
    return [
        tr("who (lengths in {unit})", unit=unit(units)),
        *([tr("hand")] if braided else []),
        tr("leather"),
        tr("cut"),
        *([tr("sets")] if braided else []),
        tr("finished"),
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
    facts = [trn("{many} piece", "{many} pieces", many, many=many), tr("{width} wide", width=say(first.strap.width))]
    if first.plan and first.fit.braid:
        facts.append(tr("{strands} strands", strands=first.strands))
        hands = dict.fromkeys(hand(p.plan) for p in group.pieces if p.plan and p.fit.braid)
        facts.append(tr(" and ").join(hands))
    return ", ".join(facts)


# -- slips to watch for --------------------------------------------------------


def ways(pieces: Sequence[Piece]) -> list[Way]:
    """Every braid of the pieces in every hand that works it, each once."""
    return list(dict.fromkeys(as_worked(p.plan) for p in pieces if p.plan and p.fit.braid))


def slips_title(way: Way, alone: bool) -> str:
    """The heading of a braid's slips; ``alone`` where no other braid of as many strands is in the class."""
    turns = "" if alone else f", {' '.join(t.text() for t in way.turns[:2])} .."
    return tr(
        "Slips to watch for: {strands} strands{turns}, {hand}",
        strands=way.strands,
        turns=turns,
        hand=tr("left-handed") if way.left_handed else tr("right-handed"),
    )


SLIP_HEADS = (
    tr("slip"),
    tr("how it looks at the end of the set"),
    tr("seen at once"),
    tr("seen at the end of the set"),
)


def slip_rows(way: Way) -> list[tuple[str, str, str, str]]:
    """Each common slip: its name, how it looks, the mend at once and at the end of the set."""
    out = []
    for s in slips(way):
        late = "" if s.noticed == s.whole else mending.in_short(way, s.at_end)
        out.append(
            (
                say_slips.title(way, s, brief=True),
                lies(s.look),
                mending.in_short(way, s.at_once),
                late or tr("the same"),
            )
        )
    return out


def slips_note(found: Sequence[Way]) -> str:
    """How the short words of the slips are read."""
    return tr(
        "Letters as the strands lie in the tab, A on the left. {s_and_z} {brief_words}",
        s_and_z=S_AND_Z,
        brief_words=mending.brief_words(max(w.strands for w in found)),
    )
