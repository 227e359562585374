"""Goods that are alike: which pieces share a card, and the steps they share."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from strapwork.catalogue import trn
from strapwork.piece.piece import Piece
from strapwork.say import steps
from strapwork.say.needs import Step, in_order


@dataclass(frozen=True)
class Group:
    """Pieces of one pattern and braid, in the order asked for, each with what goes with it."""

    pieces: tuple[Piece, ...]
    companions: tuple[tuple[Piece, ...], ...]

    @property
    def rows(self) -> list[Piece]:
        """Every piece, followed by its companions: the rows of the table."""
        return [q for p, c in zip(self.pieces, self.companions, strict=True) for q in (p, *c)]

    @cached_property
    def shared(self) -> list[Shared]:
        """The steps of all pieces, said once; see :func:`shared`."""
        return _shared(self)


def kind(piece: Piece) -> tuple[object, ...]:
    """What pieces that share a card have in common: all that the eye would call the same goods."""
    r, plan = piece.pattern, piece.plan
    braid = (piece.strands, (plan.mirror_of or plan).turns) if plan and piece.fit.braid else ()
    ends = tuple(
        (
            e.shape,
            e.depth,
            e.radius,
            e.to_tip,
            e.to_slit,
            tuple(f.model_dump_json(exclude={"pick"}) for f in e.fixtures),
        )
        for e in (r.start, r.finish)
    )
    return (r.name, r.title, round(piece.strap.width, 3), braid, ends, r.slits, bool(piece.leather.backing))


def groups(pieces: Sequence[Piece]) -> list[Group]:
    """The cards of a job: pieces that are alike together, companions with what they go with."""
    found: dict[tuple[object, ...], list[tuple[Piece, tuple[Piece, ...]]]] = {}
    k = 0
    while k < len(pieces):
        piece, own = pieces[k], []
        k += 1
        while k < len(pieces) and _goes_with(pieces[k], piece):
            own.append(pieces[k])
            k += 1
        found.setdefault(kind(piece), []).append((piece, tuple(own)))
    return [Group(tuple(p for p, _ in g), tuple(c for _, c in g)) for g in found.values()]


def _goes_with(piece: Piece, before: Piece) -> bool:
    c = before.pattern.companion
    return c is not None and piece.pattern.name == c.pattern and piece.label == f"{before.label}: {c.label}"


@dataclass(frozen=True, slots=True)
class Shared:
    """A step of a group: ``texts`` with the rows each is for; one text and no rows where it is for all."""

    key: str
    title: str
    texts: tuple[tuple[str, str], ...]


def shared(group: Group) -> list[Shared]:
    """The steps of all pieces of a group, said once; where they differ, each text names its rows."""
    return group.shared


def _shared(group: Group) -> list[Shared]:
    many = len(group.pieces)
    titles: dict[str, str] = {}
    texts: dict[str, dict[str, list[int]]] = {}
    steps_: dict[str, Step] = {}
    for k, (piece, own) in enumerate(zip(group.pieces, group.companions, strict=True)):
        for s in steps.steps(piece, own):
            steps_.setdefault(s.key, s)
            titles.setdefault(s.key, s.title)
            if titles[s.key] != s.title:
                titles[s.key] = s.title.partition(":")[0]
            # One line tells how every row is told: by its own name, as the table has it.
            text = s.text if many == 1 else s.text.replace(steps.told_as(piece), steps.told_as(None))
            texts.setdefault(s.key, {}).setdefault(text, []).append(k)
    numbers = row_numbers(group)
    out = []
    for s in in_order(list(steps_.values())):
        variants = {text: _rows([numbers[k] for k in ks], many) for text, ks in texts[s.key].items()}
        out.append(Shared(s.key, titles[s.key], _told(variants)))
    return out


def _rows(rows: Sequence[int], many: int) -> str:
    return "" if len(rows) == many else trn("Row {ranges}: ", "Rows {ranges}: ", len(rows), ranges=ranges(rows))


def _told(variants: dict[str, str]) -> tuple[tuple[str, str], ...]:
    """Texts with the rows they are for; sentences that all of them share are said once, after the others."""
    if len(variants) < 2:
        return tuple((rows, text) for text, rows in variants.items())
    sentences = {text: re.split(r"(?<=\.)\s+", text) for text in variants}
    shared_ = [s for s in next(iter(sentences.values())) if all(s in other for other in sentences.values())]
    own = [(variants[t], " ".join(s for s in said if s not in shared_)) for t, said in sentences.items()]
    return (*((rows, text) for rows, text in own if text), *([("", " ".join(shared_))] if shared_ else []))


def row_numbers(group: Group) -> list[int]:
    """The number of each piece's row in the table, companions counted."""
    out, at = [], 1
    for c in group.companions:
        out.append(at)
        at += 1 + len(c)
    return out


def ranges(numbers: Sequence[int]) -> str:
    """``1–4, 6`` for 1, 2, 3, 4, 6."""
    out: list[list[int]] = []
    for n in numbers:
        if out and n == out[-1][1] + 1:
            out[-1][1] = n
        else:
            out.append([n, n])
    return ", ".join(str(a) if a == b else f"{a}, {b}" if b == a + 1 else f"{a}–{b}" for a, b in out)
