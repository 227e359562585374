"""Plots for the page: who fits which size, and what measured straps took up against the model.

Plain SVG in classes that the style sheet draws, so that they follow light, dark and high contrast.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from html import escape

from strapwork.bodies.sizes import Sizes
from strapwork.catalogue import tr
from strapwork.stock.learned import Learned, Measured
from strapwork.units import format_length, format_mm

WIDE = 440.0  # narrow, so that captions stay legible on a phone
Point = tuple[float, float]


def _svg(height: float, title: str, parts: Sequence[str]) -> str:
    return (
        f'<svg class="o-plot" viewBox="0 0 {WIDE:g} {height:g}" role="img" aria-label="{escape(title, quote=True)}">'
        f"{''.join(parts)}</svg>"
    )


def _text(x: float, y: float, text: str, anchor: str = "middle", look: str = "") -> str:
    of = f' class="{look}"' if look else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{of}>{escape(text)}</text>'


def _line(a: Point, b: Point, look: str) -> str:
    return f'<line class="{look}" x1="{a[0]:.1f}" y1="{a[1]:.1f}" x2="{b[0]:.1f}" y2="{b[1]:.1f}"/>'


def _path(points: Sequence[Point], look: str, closed: bool = False) -> str:
    d = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + ("Z" if closed else "")
    return f'<path class="{look}" d="{d}"/>'


def step_for(span: float, most: int) -> float:
    """A round step (1, 2 or 5 times a power of ten) that divides ``span`` into at most ``most`` parts."""
    least = max(span / most, 1e-9)
    power = 10.0 ** math.floor(math.log10(least))
    return next(k * power for k in (1, 2, 5, 10) if k * power >= least - 1e-12)


def who_fits(found: Sizes, reach: float | None, units: str) -> str:
    """People by girth, each under the size nearest to them; beyond ``reach`` of it in the other colour.

    Girths are gathered in as many bars as can be told apart; a bar is split where a reach ends inside it.
    """
    girths, shares = found.spread.girths, found.spread.shares
    low, high = girths[0], girths[-1]
    # Whole millimetres, as girths are counted: bars of a broken width would hold now one, now two of them.
    width = float(max(1, math.ceil((high - low) / 70.0)))
    bars = max(1, math.ceil((high - low + 1e-9) / width) + 1)
    near, far = [0.0] * bars, [0.0] * bars
    served = [0] * bars
    for g, share in zip(girths, shares, strict=True):
        k = int((g - low) / width)
        nearest = min(range(len(found.sizes)), key=lambda n: abs(found.sizes[n].mm - g))
        served[k] = nearest
        if reach is not None and abs(found.sizes[nearest].mm - g) > reach + 1e-9:
            far[k] += share
        else:
            near[k] += share
    base, top, left = 220.0, 56.0, 16.0
    scale = (WIDE - 2 * left) / (bars * width)
    # A whole millimetre is the one from half below to half above it; the first bar begins with that of the lowest girth.
    at: Callable[[float], float] = lambda mm: left + (mm - low + 0.5) * scale  # noqa: E731
    tall = max(a + b for a, b in zip(near, far, strict=True))
    parts = []
    for k in range(bars):
        x, wide = left + k * width * scale, max(0.6, width * scale - 0.6)
        h, more = (base - top) * near[k] / tall, (base - top) * far[k] / tall
        look = "near even" if served[k] % 2 else "near"
        if h > 0:
            parts.append(f'<rect class="{look}" x="{x:.1f}" y="{base - h:.1f}" width="{wide:.1f}" height="{h:.1f}"/>')
        if more > 0:
            y = base - h - more
            parts.append(f'<rect class="far" x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{more:.1f}"/>')
    parts.append(_line((left, base), (WIDE - left, base), "axis"))
    last = [-100.0, -100.0]  # names stand on two lines, and where they are too many some go without
    for s in found.sizes:
        x = at(s.mm)
        parts.append(_line((x, 36.0), (x, base + 6), "size"))
        room = [n for n in (0, 1) if x - last[n] > 12.0 * len(s.name) + 8.0]
        if room:
            parts.append(_text(min(max(x, 18.0), WIDE - 18.0), (13.0, 30.0)[room[0]], s.name))
            last[room[0]] = x
    step = step_for(high - low, 5)
    tick = math.ceil(low / step) * step
    while tick <= high:
        parts.append(_text(at(tick), base + 24, format_length(tick, units), look="quiet"))
        tick += step
    words = tr(
        "People by girth, from {low} to {high}; lines are the sizes",
        low=format_length(low, units),
        high=format_length(high, units),
    )
    if reach is not None:
        words += tr(
            "; {within:.1f} in 100 are farther than {reach} from one",
            within=100 * (1 - found.within(reach)),
            reach=format_length(reach, units),
        )
    return _svg(base + 34, words, parts)


def took_up(name: str, known: Learned) -> str:
    """What every measured strap of a leather took up against the model: the model itself, what was learned, the 95 % band."""
    most_x = 1.15 * max([s.model for s in known.straps] + [known.span[1]])
    high = max([known.band(most_x)[1], *(s.measured for s in known.straps)])
    # A wide band of few straps must not flatten the straps themselves.
    most_y = min(1.05 * high, 2.2 * max([most_x, *(s.measured for s in known.straps)]))
    left, right, top, base = 54.0, WIDE - 12.0, 14.0, 300.0
    x: Callable[[float], float] = lambda v: left + v / most_x * (right - left)  # noqa: E731
    y: Callable[[float], float] = lambda v: base - min(v, most_y) / most_y * (base - top)  # noqa: E731
    parts = []
    for span, ends, across in ((most_y, most_x, True), (most_x, most_y, False)):
        step = step_for(span, 6)
        for k in range(int(span / step) + 1):
            v = k * step
            if across:
                parts += [
                    _line((x(0), y(v)), (x(ends), y(v)), "grid"),
                    _text(left - 6, y(v) + 4, f"{v:g}", "end", "quiet"),
                ]
            else:
                parts.append(_text(x(v), base + 18, f"{v:g}", look="quiet"))
    along = [most_x * (k + 1) / 40.0 for k in range(40)]
    bands = [known.band(m) for m in along]
    edge = [(x(m), y(b[0])) for m, b in zip(along, bands, strict=True)]
    edge += [(x(m), y(b[1])) for m, b in reversed(list(zip(along, bands, strict=True)))]
    parts.append(_path(edge, "band", closed=True))
    parts.append(_path([(x(0), y(0)), (x(min(most_x, most_y)), y(min(most_x, most_y)))], "model"))
    reach = min(most_x, most_y / known.factor)
    parts.append(_path([(x(0), y(0)), (x(reach), y(known.factor * reach))], "learned"))
    parts.append(_path([(left, top), (left, base), (right, base)], "axis"))
    parts += [_mark(s, x(s.model), y(s.measured)) for s in known.straps]
    parts.append(_text((left + right) / 2, base + 38, tr("take-up by the model, mm")))
    upright = tr("take-up as measured, mm")
    parts.append(
        f'<text x="15" y="{(top + base) / 2:.0f}" text-anchor="middle" transform="rotate(-90 15 {(top + base) / 2:.0f})">'
        f"{escape(upright)}</text>"
    )
    return _svg(base + 46, tr("Take-up of {name} as measured, against the model", name=name), parts)


def _mark(s: Measured, x: float, y: float) -> str:
    kind = tr("finished piece") if s.made else tr("swatch")
    said = tr(
        "{what}, {kind}: {measured}, model {model}",
        what=s.what,
        kind=kind,
        measured=format_mm(s.measured, 2),
        model=format_mm(s.model, 2),
    )
    title = f"<title>{escape(said)}</title>"
    if s.made:
        d = f"M{x:.1f} {y - 7:.1f}L{x + 7:.1f} {y:.1f}L{x:.1f} {y + 7:.1f}L{x - 7:.1f} {y:.1f}Z"
        return f'<path class="made" d="{d}">{title}</path>'
    return f'<circle class="swatch" cx="{x:.1f}" cy="{y:.1f}" r="5">{title}</circle>'
