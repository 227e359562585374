"""The leather shelf: named leathers in one TOML file that a maker can read and edit.

tomlkit keeps the maker's own comments and order when the tool writes.  Writing
takes a lock, reads the file afresh, changes one leather and moves the new file
into place, so that two processes at once lose nothing.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field

from strapwork.catalogue import tr, trn
from strapwork.errors import InputError, shown
from strapwork.files import folders, schema, update, values
from strapwork.files.keys import Key
from strapwork.stock import record
from strapwork.stock.leather import Leather, thickness_text
from strapwork.stock.record import TakeUpSpec
from strapwork.units import Thickness

if TYPE_CHECKING:
    from strapwork.stock.learned import Measured

ENVIRONMENT = "STRAPWORK_SHELF"


def _words(*values: str) -> tuple[tuple[str, str], ...]:
    return tuple((v, v) for v in values)


class LeatherSays(schema.Strict):
    """All that can be said of a leather besides how thick it is.

    The shelf, the leathers of a job, a leather written out for one piece and
    the piece itself all take these keys from here.
    """

    temper: Annotated[
        Literal["soft", "medium", "firm"] | None,
        Key(
            tr("Temper"),
            tr("how supple the leather is"),
            "TEMPER",
            tr("medium"),
            "leather",
            _words("soft", "medium", "firm"),
        ),
    ] = None
    tannage: Annotated[
        Literal["vegetable", "chrome", "combination", "unknown"] | None,
        Key(
            tr("Tannage"),
            tr("how the leather was tanned; chrome and combination must not be lasered"),
            "TANNAGE",
            tr("not known"),
            "leather",
            _words("vegetable", "chrome", "combination", "unknown"),
        ),
    ] = None
    backing: Annotated[
        float | None,
        values.length(allow_zero=True, most=6.0),
        Key(tr("Backing glued on"), tr("thickness of a lining glued on"), "THICKNESS", "none", "leather"),
    ] = None
    price_per_m2: Annotated[
        values.Number | None,
        Field(gt=0, le=1e6),
        Key(tr("Price"), tr("price of a square metre, in the shop's own money"), "PRICE", tr("not known"), "leather"),
    ] = None
    tensile_n_per_mm2: Annotated[
        values.Number | None,
        Field(ge=1, le=60),
        Key(
            tr("Strength"),
            tr("tensile strength in N/mm², from a test of your own"),
            "N",
            tr("8, the low end"),
            "leather",
        ),
    ] = None
    take_up: Annotated[
        TakeUpSpec | None,
        values.Table,
        Key(
            "Take-up", tr("what swatches taught, as 'strapwork swatch' stores it"), "TABLE", "", "leather", hidden=True
        ),
    ] = None

    def over(self, leather: Leather) -> Leather:
        """``leather`` with what is said here put over it."""
        said: dict[str, Any] = {
            "temper": self.temper,
            "tannage": self.tannage,
            "backing": self.backing,
            "price": self.price_per_m2,
            "tensile": self.tensile_n_per_mm2,
            "learned": self.take_up.learned() if self.take_up is not None else None,
            "stale": self.take_up.stale if self.take_up is not None else None,
        }
        return replace(leather, **{name: value for name, value in said.items() if value is not None})


class LeatherSpec(LeatherSays):
    """One leather, wherever a leather can be written."""

    thickness: values.Thick

    def leather(self, name: str) -> Leather:
        """The leather it describes."""
        return self.over(Leather(self.thickness, name=name))


def default_path() -> Path:
    """Where the shelf is kept: ``STRAPWORK_SHELF``, or the user's own data folder."""
    return folders.user_file(ENVIRONMENT, "leathers.toml")


def check_name(name: str, place: str) -> str:
    """``name`` if a leather may be called that."""
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}", name):
        raise InputError(
            place,
            tr("{name} is no name for a leather", name=shown(name)),
            tr("use letters, digits and hyphens, such as 'harbour-tan'"),
        )
    return name


def read(path: Path) -> dict[str, Leather]:
    """All leathers of a shelf; a shelf that is not there yet is empty.

    Raises:
        InputError: naming file, leather, key and value.
    """
    out = {}
    for name, row in schema.read_toml_if_there(path, tr("leather shelf")).items():
        check_name(name, f"{path}, {name}")
        if not isinstance(row, dict):
            raise InputError(
                f"{path}, {name}",
                tr("{row} is no leather", row=shown(row)),
                f"write a table, such as [{name}] with thickness = '2 mm'",
            )
        spec = schema.check(LeatherSpec, row, f"{path}, [{name}]")
        out[name] = spec.leather(name)
    return out


def find(name: str, place: str, path: Path | None = None) -> Leather:
    """The leather called ``name`` on the shelf."""
    where = path or default_path()
    shelf = read(where)
    if name not in shelf:
        remedy = (
            schema.nearest(name, sorted(shelf))
            if shelf
            else tr("give a thickness such as '1.8 mm', or put it on the shelf")
        )
        raise InputError(place, tr("no leather is called {name} on {where}", name=shown(name), where=where), remedy)
    return shelf[name]


def is_thickness(text: str) -> bool:
    """Whether ``text`` is meant as a thickness: it begins with a number, which no name does alone."""
    return re.match(r"\s*[\d.,½¼¾⅛⅜⅝⅞−-]", text) is not None


def pick(name: str, place: str, kept: Mapping[str, Leather], others: Sequence[str] = ()) -> Leather:
    """The leather called ``name`` among those kept.

    Raises:
        InputError: for a name that nothing has, offering the nearest of these and of ``others``.
    """
    if name in kept:
        return kept[name]
    known = sorted({*others, *kept})
    remedy = (
        schema.nearest(name, known)
        if known
        else tr("give a thickness such as '1.8 mm', or name a leather of the job or the shelf")
    )
    raise InputError(place, tr("no leather is called {name}", name=shown(name)), remedy)


def store_swatches(path: Path, name: str, straps: Sequence[Measured], thickness: Thickness) -> None:
    """Keep the swatches of a leather in place of those that were there; finished pieces stay.

    Args:
        path: the shelf.
        name: of the leather, which is put on the shelf if it is not there.
        straps: the swatches; one without a date keeps that of the line it replaces, or gets today's.
        thickness: of a leather that is new.
    """
    _change(path, name, lambda table: record.put_swatches(table, straps, datetime.date.today().isoformat()), thickness)


def store_made(path: Path, name: str, strap: Measured, copies: int | None, thickness: Thickness) -> None:
    """Add a finished piece to a leather; see :func:`strapwork.stock.record.add_made`."""
    _change(path, name, lambda table: record.add_made(table, strap, copies, f"{path}, [{name}]"), thickness)


def undo_made(path: Path, name: str, place: str = "--leather") -> str:
    """Take back the finished piece that was added last to a leather, which ``place`` names; returns what it was."""
    find(name, place, path)
    undone: list[str] = []
    _change(path, name, lambda table: undone.append(record.undo_made(table, f"{path}, [{name}]")))
    return undone[0]


def _change(path: Path, name: str, change: Callable[[Any], None], thickness: Thickness | None = None) -> None:
    def with_thickness(table: Any) -> None:
        if "thickness" not in table and thickness is not None:
            table["thickness"] = thickness_text(thickness)
        change(table)

    update.update_toml(path, name, with_thickness, tr("# Leathers, one table each.\n"), lambda: read(path))


def as_data(leather: Leather) -> dict[str, Any]:
    """One leather as plain data, for ``--json``."""
    data = {f.name: getattr(leather, f.name) for f in fields(leather)}
    data["thickness"] = {"low": leather.thickness.low, "high": leather.thickness.high}
    data["learned"] = leather.learned.as_data() if leather.learned else None
    return data


def words(leather: Leather) -> str:
    """One leather in full, for the terminal."""
    lines = [
        tr(
            "{name}: {words}, {temper}, {tannage} tannage",
            name=leather.name,
            words=leather.words(),
            temper=tr(leather.temper),
            tannage=tr(leather.tannage),
        )
    ]
    if leather.price is not None:
        lines.append(tr("    price {price:g} a square metre", price=leather.price))
    if leather.tensile is not None:
        lines.append(tr("    tensile strength {tensile:g} N/mm², the maker's own figure", tensile=leather.tensile))
    t = leather.learned
    if t is None:
        none = tr("nothing that counts") if leather.stale else tr("nothing")
        lines.append(tr("    take-up: the model's own ({none} measured yet)", none=none))
    else:
        from strapwork.stock import learned

        first, *rest = learned.words(t)
        lines += [f"    {first}", *(f"    {row}" for row in rest)]
        lines += [f"      {learned.line(s)}" for s in t.straps]
    if leather.stale:
        lines.append(
            trn(
                "    left out: {stale} strap that an earlier model of the braid "
                "judged; 'strapwork swatch FILE --name {name}' and 'strapwork made' read them again",
                "    left out: {stale} straps that an earlier model of the braid "
                "judged; 'strapwork swatch FILE --name {name}' and 'strapwork made' read them again",
                leather.stale,
                stale=leather.stale,
                name=leather.name,
            )
        )
    return "\n".join(lines)
