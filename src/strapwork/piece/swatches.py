"""Swatches: what short test braids teach of a leather's take-up.

Model
-----
The first-principles model (:mod:`strapwork.braid.geometry`) says what a swatch
should have eaten: m_i.  The maker measured what it did eat: y_i = reference
length before braiding less after.  One factor per leather is fitted by least
squares,

    y_i = k m_i + noise,    k = sum(m_i y_i) / sum(m_i^2),

with scatter s^2 = sum((y_i - k m_i)^2) / (N - 1) and standard error
s / sqrt(sum(m_i^2)).  For a new strap of modelled take-up m the 95 % band is
k m +/- t sqrt((error m)^2 + s^2), t being Student's for N - 1 degrees of
freedom: it narrows as swatches come in.

A swatch whose externally studentised residual is beyond the 95 % bound for the
worst of N (Bonferroni) is named as the outlier; it is not thrown away silently.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from strapwork.braid import geometry
from strapwork.errors import InputError, shown
from strapwork.files import schema, table
from strapwork.files.reading import read_file
from strapwork.piece.piece import plan_for
from strapwork.stock.leather import Learned
from strapwork.units import format_mm

MOST_SWATCHES = 500

TEMPLATE = """\
# Swatches of one leather: braid short test straps and write one line for each.
#   swatch     your name for it
#   thickness  of the leather, such as 1.8 mm or 4-5 oz
#   width      of the strap
#   strands    number of strands
#   sets       braid sets worked
#   slit       length of the slits as cut
#   before     between two pricked points, one beyond each slit end, before braiding
#   after      between the same points when the braid is evened out
#   worn       the same after a few weeks of wear; leave empty if not known
swatch,thickness,width,strands,sets,slit,before,after,worn
example,1.8 mm,19 mm,3,2,150 mm,170 mm,165 mm,
"""


class Row(schema.Strict):
    """One swatch as written down; lengths in mm."""

    swatch: str = Field(min_length=1, max_length=60)
    thickness: schema.Thick
    width: schema.Length
    strands: int = Field(ge=3, le=25)
    sets: int = Field(ge=1, le=200)
    slit: schema.Length
    before: schema.Length
    after: schema.Length
    worn: schema.Length | None = None
    weave: Literal["plain", "over-under"] = "plain"


class _TomlFile(schema.Strict):
    swatches: tuple[Row, ...] = Field(min_length=1, max_length=MOST_SWATCHES)


@dataclass(frozen=True, slots=True)
class Lesson:
    """What a set of swatches taught.

    Attributes:
        learned: the fit.
        rows: the swatches.
        model, measured: modelled and measured take-up of each, in mm.
        outlier: index of the swatch that stands out, None when none does.
    """

    learned: Learned
    rows: tuple[Row, ...]
    model: tuple[float, ...]
    measured: tuple[float, ...]
    outlier: int | None


def read(path: Path) -> list[Row]:
    """Read swatches from CSV (with a heading line) or TOML (``[[swatches]]``).

    Raises:
        InputError: naming file, line and column, or for nonsense.
    """
    if path.suffix.lower() == ".toml":
        raw = schema.read_toml(path, "swatch file")
        rows = list(schema.check(_TomlFile, raw, str(path)).swatches)
        places = [f"{path}, swatches[{i}]" for i in range(1, len(rows) + 1)]
    else:
        rows, places = _read_csv(path)
    _refuse_nonsense(rows, places)
    return rows


def _read_csv(path: Path) -> tuple[list[Row], list[str]]:
    known = tuple(Row.model_fields)
    rows, places = [], []
    for line in table.read_table(read_file(path, "swatch file"), str(path), known, MOST_SWATCHES):
        raw: dict[str, Any] = dict(line.cells)
        for name in ("strands", "sets"):
            if name in raw:
                if not re.fullmatch(r"[0-9]{1,6}", raw[name]):
                    raise InputError(line.place(name), f"{shown(raw[name])} is no whole number", "write it in digits")
                raw[name] = int(raw[name])
        rows.append(schema.check(Row, raw, line.place()))
        places.append(line.place())
    return rows, places


def _refuse_nonsense(rows: Sequence[Row], places: Sequence[str]) -> None:
    seen: dict[tuple[object, ...], str] = {}
    for row, place in zip(rows, places, strict=True):
        if row.after >= row.before:
            raise InputError(
                place,
                f"{shown(row.swatch)} is no shorter after braiding ({format_mm(row.after)}) than before ({format_mm(row.before)})",
                "check which length is which",
            )
        if row.slit > row.before:
            raise InputError(
                place,
                f"the slits of {shown(row.swatch)} ({format_mm(row.slit)}) are longer than what was measured ({format_mm(row.before)})",
                "measure between points beyond both slit ends",
            )
        if row.before - row.after >= 0.6 * row.slit:
            raise InputError(
                place,
                f"{shown(row.swatch)} would have lost more than half of its slits",
                "measure it again; no braid eats that much",
            )
        if row.worn is not None and not row.after * 0.98 <= row.worn <= row.after * 1.3:
            raise InputError(
                place,
                f"{shown(row.swatch)} went from {format_mm(row.after)} to {format_mm(row.worn)} in wear",
                "measure again; straps lengthen a little in wear",
            )
        key = (row.swatch.casefold(),)
        facts = (row.thickness, row.width, row.strands, row.sets, row.slit, row.before, row.after, row.worn)
        for k in (key, facts):
            if k in seen:
                raise InputError(
                    place,
                    f"{shown(row.swatch)} is the swatch of {seen[k].rpartition(', ')[2]} again",
                    "write every swatch once; measuring one strap ten times does not make ten",
                )
            seen[k] = place


def modelled(row: Row, place: str) -> float:
    """Take-up in mm that the model gives a swatch."""
    plan = plan_for(row.strands, row.weave, None, place)
    form = geometry.from_slit(plan.plait, row.width / row.strands, row.thickness.mid, row.sets, row.slit)
    if form is None:
        raise InputError(
            place, f"{row.sets} sets cannot be packed into slits of {format_mm(row.slit)}", "check sets and slit length"
        )
    return form.take_up


def learn(rows: Sequence[Row], place: str = "swatches") -> Lesson:
    """Fit the take-up of one leather to its swatches; see the module docstring."""
    model = [modelled(r, f"{place}, {shown(r.swatch)}") for r in rows]
    measured = [r.before - r.after for r in rows]
    factor, error, scatter = fit_factor(model, measured)
    n = len(rows)
    worn = [(r.after, r.worn) for r in rows if r.worn is not None]
    settle = sum(a * (w - a) for a, w in worn) / sum(a * a for a, _ in worn) if worn else None
    learned = Learned(
        factor, error, scatter, n - 1, _student(n - 1), n, max(0.0, settle) if settle is not None else None
    )
    return Lesson(learned, tuple(rows), tuple(model), tuple(measured), _outlier(model, measured))


def fit_factor(model: Sequence[float], measured: Sequence[float]) -> tuple[float, float, float]:
    """Least squares through the origin: factor, its standard error, scatter of one swatch (both 0 for a single one)."""
    import numpy as np
    from scipy.linalg import lstsq

    m, y = np.asarray(model, dtype=float), np.asarray(measured, dtype=float)
    k = float(lstsq(m[:, None], y)[0][0])
    if len(m) < 2:
        return k, 0.0, 0.0
    scatter = math.sqrt(float(((y - k * m) ** 2).sum()) / (len(m) - 1))
    return k, scatter / math.sqrt(float((m * m).sum())), scatter


def _student(freedom: int) -> float:
    from scipy.stats import t

    return float(t.ppf(0.975, freedom)) if freedom > 0 else 0.0


def _outlier(model: Sequence[float], measured: Sequence[float]) -> int | None:
    """The swatch whose externally studentised residual is beyond the bound for the worst of N."""
    from scipy.stats import t

    n = len(model)
    if n < 4:
        return None
    worst, at = 0.0, None
    for i in range(n):
        rest_m = [v for j, v in enumerate(model) if j != i]
        rest_y = [v for j, v in enumerate(measured) if j != i]
        k, error, scatter = fit_factor(rest_m, rest_y)
        spread = math.hypot(scatter, error * model[i])
        apart = abs(measured[i] - k * model[i])
        score = apart / spread if spread > 1e-12 else (math.inf if apart > 0.05 else 0.0)
        if score > worst:
            worst, at = score, i
    return at if worst > float(t.ppf(1 - 0.025 / n, n - 2)) else None


def words(lesson: Lesson, name: str) -> str:
    """What was learned, for the terminal."""
    t = lesson.learned
    lines = [
        f"{name}: take-up {t.factor:.3f} times the model, from {t.swatches} swatch{'es' if t.swatches > 1 else ''}"
    ]
    if t.freedom:
        lines.append(
            f"  95 % band of the factor: {t.factor - t.quantile * t.error:.3f} to {t.factor + t.quantile * t.error:.3f}; "
            f"one strap scatters by {format_mm(t.scatter, 2)}"
        )
    else:
        lines.append("  A single swatch shows no scatter: the model's own band stands until there are more.")
    for k, row in enumerate(lesson.rows):
        mark = "   <- stands out, measure it again" if lesson.outlier == k else ""
        lines.append(
            f"  {row.swatch}: ate {format_mm(lesson.measured[k], 2)}, model {format_mm(lesson.model[k], 2)}, "
            f"fit {format_mm(t.factor * lesson.model[k], 2)}{mark}"
        )
    if t.settle is not None:
        lines.append(f"  settles by {100 * t.settle:.1f} % in wear")
    return "\n".join(lines)
