"""The straps measured of a leather, as the shelf keeps them: read, written, added to and taken back.

They stand in the leather's table, one line a strap, for a maker to read and
edit::

    [harbour-tan.take_up]
    swatch = [
        {what = "bench one", date = 2026-05-02, modelled_mm = 8.6, measured_mm = 9.2},
    ]
    made = [
        {what = "Wristband for Ines", date = 2026-05-09, modelled_mm = 8.04, measured_mm = 8.4, cut_mm = 252.2},
    ]

What the model said of a strap stands beside what it took up.  Lines with
``model_mm`` instead of ``modelled_mm`` are of a version of the tool whose model
said less (no held ends, and in three strands a lower climb); before that a shelf had
a straight-line fit (``factor``, ``error``, ``scatter_mm`` ..).  What either would
say of the model of today cannot be known from them, so they are kept and read,
but do not count (``stale``) until the straps are read again.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files import schema

# Few leathers have measured straps: what works out what they say is imported where one has.
if TYPE_CHECKING:
    from strapwork.stock.learned import Learned, Measured

MOST_STRAPS = 500
# Measured over modelled take-up outside of which something was mismeasured or mistyped: common practice, no source.
LEAST_RATIO, MOST_RATIO = 0.1, 10.0
_LEGACY = ("factor", "error", "scatter_mm", "swatches")


def _wrong(problem: str, remedy: str) -> PydanticCustomError:
    return PydanticCustomError("strapwork", "{problem}", {"problem": problem, "remedy": remedy})


def parse_day(value: object, place: str) -> str:
    """A day as ``2026-05-02``, from text or from a date of TOML."""
    day = value
    if isinstance(value, str):
        try:
            day = datetime.date.fromisoformat(value.strip()) if value.count("-") == 2 else None
        except ValueError:
            day = None
    if not isinstance(day, datetime.date) or isinstance(day, datetime.datetime) or not 1900 <= day.year <= 2200:
        raise InputError(
            place, tr("{value} is no date", value=shown(value)), tr("write it as year-month-day, such as 2026-05-02")
        )
    return day.isoformat()


def _day(value: object) -> str:
    try:
        return parse_day(value, "")
    except InputError as e:
        raise _wrong(e.problem, e.remedy) from e


Day = Annotated[str, BeforeValidator(_day)]
_TakeUp = Annotated[float, Field(ge=0.05, le=5000, allow_inf_nan=False)]
_Long = Annotated[float, Field(gt=0, le=20_000, allow_inf_nan=False)]


class StrapSpec(schema.Strict):
    """One strap measured."""

    what: str = Field(min_length=1, max_length=80)
    date: Day | None = None
    modelled_mm: _TakeUp | None = None
    model_mm: _TakeUp | None = None
    measured_mm: _TakeUp
    after_mm: _Long | None = None
    worn_mm: _Long | None = None
    cut_mm: _Long | None = None

    @model_validator(mode="after")
    def _sense(self) -> StrapSpec:
        if not self.what.isprintable():
            raise _wrong(
                tr("{what} holds characters that cannot be printed", what=shown(self.what)), tr("give it a plain name")
            )
        model = self.modelled_mm or self.model_mm
        if model is None or (self.modelled_mm and self.model_mm):
            raise _wrong(
                tr("{what} does not say once what the model says of it", what=shown(self.what)),
                tr("read it again with 'strapwork swatch' or 'strapwork made'"),
            )
        if not LEAST_RATIO <= self.measured_mm / model <= MOST_RATIO:
            raise _wrong(
                tr(
                    "{what} took up {measured_mm:g} mm where the model says {model:g} mm",
                    what=shown(self.what),
                    measured_mm=self.measured_mm,
                    model=model,
                ),
                tr("measure it again or take the line out"),
            )
        if (self.after_mm is None) != (self.worn_mm is None):
            raise _wrong(tr("after_mm and worn_mm go together"), tr("give both or neither"))
        if self.after_mm and self.worn_mm and not 0.98 <= self.worn_mm / self.after_mm <= 1.3:
            raise _wrong(
                tr(
                    "{what} went from {after_mm:g} to {worn_mm:g} mm in wear",
                    what=shown(self.what),
                    after_mm=self.after_mm,
                    worn_mm=self.worn_mm,
                ),
                tr("measure again; straps lengthen a little in wear"),
            )
        return self

    def straps(self, made: bool) -> tuple[Measured, ...]:
        """The strap it describes; none where an earlier model judged it."""
        if self.modelled_mm is None:
            return ()
        from strapwork.stock.learned import Measured

        strap = Measured(
            self.what,
            self.modelled_mm,
            self.measured_mm,
            self.date or "",
            made,
            self.after_mm or 0.0,
            self.worn_mm or 0.0,
            self.cut_mm or 0.0,
        )
        return (strap,)


class TakeUpSpec(schema.Strict):
    """All straps measured of one leather, or the fit that an older shelf kept of them."""

    swatch: tuple[StrapSpec, ...] = Field(default=(), max_length=MOST_STRAPS)
    made: tuple[StrapSpec, ...] = Field(default=(), max_length=MOST_STRAPS)
    factor: float | None = Field(default=None, ge=LEAST_RATIO, le=MOST_RATIO, allow_inf_nan=False)
    error: float | None = Field(default=None, ge=0, le=10, allow_inf_nan=False)
    scatter_mm: float | None = Field(default=None, ge=0, le=500, allow_inf_nan=False)
    swatches: int | None = Field(default=None, ge=1, le=MOST_STRAPS)
    freedom: int | None = Field(default=None, ge=0, le=MOST_STRAPS)
    quantile: float | None = Field(default=None, ge=0, le=100, allow_inf_nan=False)
    settle: float | None = Field(default=None, ge=0, lt=0.5, allow_inf_nan=False)

    @model_validator(mode="after")
    def _whole(self) -> TakeUpSpec:
        missing = [name for name in _LEGACY if getattr(self, name) is None]
        given = [n for n in (*_LEGACY, "freedom", "quantile", "settle") if getattr(self, n) is not None]
        if given and missing:
            raise _wrong(
                tr("{given} stands without {missing}", given=given[0], missing=missing[0]),
                tr("read the swatches again with 'strapwork swatch'"),
            )
        return self

    def learned(self) -> Learned | None:
        """What it says, ready for a fit; None where nothing that counts is measured yet."""
        rows = ((s, made) for part, made in ((self.swatch, False), (self.made, True)) for s in part)
        straps = tuple(strap for s, made in rows for strap in s.straps(made))
        if not straps:
            return None
        from strapwork.stock.learned import Learned

        return Learned(straps)

    @property
    def stale(self) -> int:
        """How many of its straps an earlier model judged, so that they do not count."""
        return (self.swatches or 0) + sum(s.modelled_mm is None for s in (*self.swatch, *self.made))


def _line(strap: Measured) -> Any:
    import tomlkit

    row = tomlkit.inline_table()
    row["what"] = strap.what
    if strap.date:
        row["date"] = datetime.date.fromisoformat(strap.date)
    row["modelled_mm"] = round(strap.model, 4)
    row["measured_mm"] = round(strap.measured, 4)
    if strap.after and strap.worn:
        row["after_mm"] = round(strap.after, 4)
        row["worn_mm"] = round(strap.worn, 4)
    if strap.cut:
        row["cut_mm"] = round(strap.cut, 4)
    return row


def _take_up(leather: Any) -> Any:
    """The table of measured straps inside a leather's table, made if need be."""
    import tomlkit
    from tomlkit.items import InlineTable

    have = leather.get("take_up")
    # A leather in braces, or in dotted keys without a heading, has no place for a table of its own.
    braces = isinstance(leather, InlineTable) or leather.is_super_table()
    if have is not None and (braces or not isinstance(have, InlineTable)):
        return have
    # A table in braces stays on one line for ever; one of its own has room for a line a strap.
    leather["take_up"] = tomlkit.inline_table() if braces else tomlkit.table()
    for key, value in (have or {}).items():
        leather["take_up"][key] = value
    return leather["take_up"]


def _rows(table: Any, key: str) -> Any:
    import tomlkit

    if key not in table:
        table[key] = tomlkit.array().multiline(True)
    return table[key]


def put_swatches(leather: Any, straps: Sequence[Measured], today: str) -> None:
    """Replace a leather's swatches (and the fit an older shelf kept of them) in its tomlkit table.

    A swatch without a date keeps that of the line of the same name, or gets ``today``.
    """
    table = _take_up(leather)
    dates = {str(r.get("what")): str(r["date"]) for r in table.get("swatch", ()) if "date" in r}
    for key in (*_LEGACY, "freedom", "quantile", "settle", "swatch"):
        table.pop(key, None)
    rows = _rows(table, "swatch")
    for strap in straps:
        rows.append(_line(replace(strap, date=strap.date or dates.get(strap.what, today))))


def add_made(leather: Any, strap: Measured, copies: int | None, place: str) -> None:
    """Add a finished piece to a leather's tomlkit table.

    Args:
        leather: the table.
        strap: what it taught.
        copies: how many of it were to be cut, and so may be measured; None for any number.
        place: of the table, for messages.

    Raises:
        InputError: when all copies are there already, or there is no room.
    """
    rows = _rows(_take_up(leather), "made")
    alike = [r for r in rows if r.get("what") == strap.what and abs(float(r.get("cut_mm", 0.0)) - strap.cut) < 0.05]
    stale = next((k for k, r in enumerate(rows) if r in alike and "modelled_mm" not in r), None)
    if stale is not None:  # judged by an earlier model: it is that piece, read again
        del rows[stale]
    same = [r for r in alike if "modelled_mm" in r]
    if stale is None and copies is not None and len(same) >= copies:
        many = tr("all copies of it have") if copies > 1 else tr("it has")
        raise InputError(
            place,
            tr("{what} is there already: {many} been measured", what=shown(strap.what), many=many),
            tr("measuring one strap twice does not make two; give --another for one more cut from the same numbers"),
        )
    if len(rows) >= MOST_STRAPS:
        raise InputError(
            place, tr("there are {rows} finished pieces already", rows=len(rows)), tr("take the oldest lines out")
        )
    rows.append(_line(strap))


def undo_made(leather: Any, place: str) -> str:
    """Take the finished piece that was added last out of a leather's tomlkit table; returns what it was."""
    rows = (leather.get("take_up") or {}).get("made") or []
    if not rows:
        raise InputError(
            place, tr("no finished piece has been added"), tr("'strapwork made --list' shows what there is")
        )
    last = rows[-1]
    what = f"{last.get('what')}, {last.get('date')}" if "date" in last else str(last.get("what"))
    del rows[-1]
    if not rows:
        del leather["take_up"]["made"]
    if not leather["take_up"]:
        del leather["take_up"]
    return what
