"""From what was asked to orders: the one check that every door goes through."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from strapwork.catalogue import tr
from strapwork.errors import InputError, Place, shown
from strapwork.files import folders, schema
from strapwork.files.folders import Places
from strapwork.order import names
from strapwork.order.description import MOST_PIECES, Hand, JobAsk, PieceAsk
from strapwork.order.order import Job, Order
from strapwork.stock import patterns as pattern_files
from strapwork.stock import shelf
from strapwork.stock.leather import Leather
from strapwork.stock.patterns import Pattern
from strapwork.stock.shelf import LeatherSpec
from strapwork.units import parse_length, parse_thickness, shown_in

if TYPE_CHECKING:
    from strapwork.stock.machines import Machine
    from strapwork.stock.printers import Printer

MARGIN = 8.0
MOST_SIZE_NAME = 20


@dataclass(frozen=True, slots=True)
class Asked:
    """One piece as a door hands it on: keys and values (texts or a file's own types), and where they stand."""

    values: Mapping[str, Any]
    place: Place


def job(
    values: Mapping[str, Any],
    pieces: Iterable[Asked],
    place: Place,
    places: Places,
    stem: str,
    folder: Path | None = None,
) -> Job:
    """A job from the keys of a job and of its pieces.

    Args:
        values: keys of the job, as texts or a file's own types.
        pieces: what is asked of each piece.
        place: where the job's own keys stand.
        places: where the maker's own patterns, leathers and printers are.
        stem: names the files.
        folder: where files that the job names are looked for; None where it may name none.

    Raises:
        InputError: for the first thing that cannot be used, naming the place, the value and the remedy.
    """
    with shown_in(_unit(values) or "mm"):
        ask = schema.check(JobAsk, dict(values), place, _unit(values))
    machine = _machine(ask, place, places.patterns)
    orders: list[Order] = []
    find = _Finder(ask, places, machine.takes if machine else 0.0)
    rows: list[dict[str, Any]] = []
    for piece in pieces:
        rows.append(dict(piece.values))
        with shown_in(ask.units or "mm"):
            orders += find.orders(schema.check(PieceAsk, dict(piece.values), piece.place, ask.units), piece.place)
        if len(orders) > MOST_PIECES:
            raise InputError(
                place.key("pieces"),
                tr("more than {most_pieces} pieces are too many for one job", most_pieces=MOST_PIECES),
                tr("split the job"),
            )
    if not orders:
        raise InputError(place.key("pieces"), tr("there is no piece in the job"), tr("add one"))
    title = names.tidy(ask.title or "") or (orders[0].label if len(orders) == 1 else stem)
    return Job(
        title=title,
        orders=tuple(orders),
        paper=replace(ask.paper, name=names.tidy(ask.paper.name)),
        margin=MARGIN if ask.margin is None else ask.margin,
        units=ask.units or "mm",
        formats=ask.formats,
        card=ask.card,
        machine=machine,
        printer=_printer(ask, place, places.printers),
        stem=stem,
        lists=ask.lists == "with" or (ask.lists is None and sum(o.ask.count for o in orders) > 1 and len(orders) > 1),
        strips=ask.strips,
        blade=ask.blade or 0.0,
        spare=ask.spare,
        waste=ask.waste,
        slips=bool(ask.slips),
        class_sheet=bool(ask.class_sheet),
        prices=_prices(ask.prices, place, places, folder) if ask.prices else None,
        asked={**values, "pieces": rows},
    )


def prices_folder(places: Places) -> Path:
    """Where the maker's price files are kept."""
    return places.prices or folders.user_file("STRAPWORK_PRICES", "prices")


def _prices(said: str, place: Place, places: Places, folder: Path | None) -> Path:
    """The price file: by name in the maker's folder of prices, or by path where a file may be named at all."""
    kept = prices_folder(places)
    if re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}", said):
        return kept / f"{said}.toml"
    if folder is None:
        raise InputError(
            place.key("prices"),
            tr("{said} is no name of a price file", said=shown(said)),
            tr("put the file into {kept} and give its name", kept=kept),
        )
    return folder / said


def _unit(values: Mapping[str, Any]) -> str | None:
    """The unit of a bare number among the job's own keys; a wrong one is refused by the check itself."""
    unit = values.get("units")
    return unit if unit in ("mm", "in", "in16") else None


def _printer(ask: JobAsk, place: Place, folder: Path | None) -> Printer | None:
    if not ask.printer:
        return None
    from strapwork.stock import printers

    return printers.find(ask.printer, place.key("printer"), folder)


def _machine(ask: JobAsk, place: Place, folder: Path | None) -> Machine | None:
    if ask.machine is None:
        if ask.bed is not None:
            raise InputError(
                place.key("bed"),
                tr("a bed without a machine"),
                tr("name the machine with {key}", key=place.key("machine")),
            )
        return None
    from strapwork.stock import machines

    machine = machines.find(ask.machine, place.key("machine"), folder)
    return machine if ask.bed is None else machine.model_copy(update={"bed": ask.bed})


class _Finder:
    """Looks up what pieces name, each file once."""

    def __init__(self, job: JobAsk, places: Places, slot: float) -> None:
        self.job, self.places, self.slot = job, places, slot
        self.pattern = cache(self._pattern)
        self.named = {name: spec.leather(names.tidy(name)) for name, spec in job.leathers.items()}
        self.kept = cache(lambda: shelf.read(places.shelf or shelf.default_path()))

    def _pattern(self, name: str) -> Pattern:
        return pattern_files.find(name, "", self.places.patterns)

    def orders(self, ask: PieceAsk, place: Place) -> list[Order]:
        """The order, or one for each size of a run."""
        try:
            pattern = self.pattern(ask.pattern)
        except InputError as e:
            raise e.at(e.place or place.key("pattern")) from e
        label = names.tidy(ask.label) if ask.label is not None else pattern.title
        if not label:
            raise InputError(
                place.key("label"),
                tr("{label} has no letter that can be printed", label=shown(ask.label)),
                tr("give the piece a name"),
            )
        leather = self.leather(ask, pattern, place)
        hand: Hand = ask.hand or self.job.default_hand
        return [
            Order(
                f"{label} {size}".strip(),
                pattern,
                parse_length(text, place=where, unit=self.job.units),
                leather,
                hand,
                asked,
                place,
                self.places.patterns,
                self.slot,
                bool(self.job.broken if ask.broken is None else ask.broken),
            )
            for size, text, where, asked in _sizes(ask, pattern, place, self.places.patterns)
        ]

    def leather(self, ask: PieceAsk, pattern: Pattern, place: Place) -> Leather:
        """The leather of a piece: named, written out or by thickness, with what the piece itself says of it."""
        return ask.over(self._leather(ask.leather, pattern, place.key("leather")))

    def _leather(self, said: str | LeatherSpec | None, pattern: Pattern, where: str) -> Leather:
        if said is None:
            return Leather(pattern.leather)
        if isinstance(said, LeatherSpec):
            return said.leather("")
        if said in self.named:
            return self.named[said]
        if shelf.is_thickness(said):
            return Leather(parse_thickness(said, place=where))
        return shelf.pick(said, where, self.kept(), list(self.named))


def _sizes(
    ask: PieceAsk, pattern: Pattern, place: Place, folder: Path | None
) -> Iterator[tuple[str, str, str, PieceAsk]]:
    """(size name, measure text, place, what is asked of that size) of every size of a piece."""
    if ask.measure is not None and ask.sizes is not None:
        raise InputError(str(place), tr("both measure and sizes are given"), tr("give one of them"))
    if ask.sizes is not None:
        where = place.key("sizes")
        if not ask.sizes:
            raise InputError(where, tr("no sizes are given"), tr("give at least one, such as { S = '16 cm' }"))
        if "of" in ask.sizes:
            yield from _from_bodies(ask, ask.sizes, pattern, where, folder)
            return
        for name, text in ask.sizes.items():
            yield names.tidy(name)[:MOST_SIZE_NAME], str(text), f"{where}.{name}", ask
        return
    if ask.measure is None:
        raise InputError(
            place.key("measure"),
            tr("the {what} is missing", what=pattern.measure.called),
            tr("measure it and say, for example, '{example}'", example=pattern.measure.example()),
        )
    yield "", ask.measure, place.key("measure"), ask


BODY_KEYS = ("of", "bodies", "women", "girth")


def _from_bodies(
    ask: PieceAsk, said: Mapping[str, Any], pattern: Pattern, where: str, folder: Path | None
) -> Iterator[tuple[str, str, str, PieceAsk]]:
    """Sizes worked out from how people measure, the count shared out over them."""
    from strapwork.bodies import girths, sizes

    odd = [k for k in said if k not in BODY_KEYS]
    if odd:
        raise InputError(
            f"{where}.{odd[0]}",
            tr("unknown key {odd}", odd=shown(odd[0])),
            tr("the keys here are {body_keys}", body_keys=", ".join(BODY_KEYS)),
        )
    of, women = said["of"], said.get("women")
    if not isinstance(of, int) or isinstance(of, bool):
        raise InputError(
            f"{where}.of", tr("{of} is no whole number", of=shown(of)), tr("say how many sizes, such as of = 5")
        )
    if women is not None and not (isinstance(women, (int, float)) and 0 <= women <= 1):
        raise InputError(f"{where}.women", tr("{women} is no share", women=shown(women)), tr("give from 0 to 1"))
    bodies = girths.find(str(said.get("bodies", "adults")), f"{where}.bodies", folder)
    girth = str(said.get("girth", pattern.measure.what))
    spread = girths.spread(bodies, girth, None if women is None else float(women), f"{where}.girth")
    found = sizes.best_sizes(spread, of, 1.0, f"{where}.of")
    for size, count in zip(found.sizes, found.split(ask.count), strict=True):
        if count:
            yield size.name, f"{size.mm:g} mm", where, ask.model_copy(update={"count": count})


def companion(order: Order, pattern_name: str, label: str, value: float) -> Order:
    """The order for a piece that goes with another, such as a belt's keeper."""
    place = Place.part(f"{order.place}, {label}")
    pattern = pattern_files.find(pattern_name, str(place), order.patterns)
    ask = PieceAsk(pattern=pattern_name, count=order.ask.count, person=order.ask.person)
    return Order(
        f"{order.label}: {label}", pattern, value, Leather(pattern.leather), order.hand, ask, place, order.patterns
    )
