"""What a price file says: plain data for other programs, and words for a person."""

from __future__ import annotations

from typing import Any

from strapwork.units import format_length
from strapwork.workshop.prices import STEPS, Prices


def as_data(p: Prices) -> dict[str, Any]:
    """A price file as plain data; amounts and shares are texts."""

    def text(value: Any) -> str | None:
        return None if value is None else f"{value:f}"

    return {
        "currency": p.currency,
        "decimals": p.digits,
        "hour": text(p.hour),
        "overhead": text(p.overhead),
        "margin": text(p.margin),
        "markup": text(p.markup),
        "round_to": text(p.round_to),
        "waste": text(p.waste),
        "leather_per_m2": {name: text(v) for name, v in p.leather.items()},
        "strips": [
            {"leather": s.leather, "width_mm": s.width, "length_mm": s.length, "price": text(s.price)} for s in p.strips
        ],
        "hardware_each": {name: text(v) for name, v in p.hardware.items()},
        "minutes": {kind: text(v) for kind, v in p.minutes.items()},
    }


def words(p: Prices) -> str:
    """A price file for a person."""

    def share(value: Any) -> str:
        return f"{100 * value:f}".rstrip("0").rstrip(".") + " %" if value else "none"

    top = f"markup {share(p.markup)} on all costs" if p.markup is not None else f"margin {share(p.margin)} of the price"
    hour = f"an hour is worth {p.show(p.hour)}" if p.hour is not None else "what an hour is worth is not said"
    lines = [
        f"Prices in {p.currency} ({p.digits} decimals): {hour}; overhead {share(p.overhead)}, {top}.",
        f"  waste of leather {share(p.waste)}, where strips or hides are not planned",
    ]
    if p.round_to is not None:
        lines.append(f"  prices go up to the next {p.round_to}")
    lines += [f"  leather {name}: {v:.{p.digits + 2}f} a square metre" for name, v in p.leather.items()]
    for s in p.strips:
        size = f"{format_length(s.width)} × {format_length(s.length)}"
        lines.append(f"  strip of {s.leather}, {size}: {s.price} each")
    lines += [f"  {name}: {v:.{p.digits + 2}f} each" for name, v in p.hardware.items()]
    lines += [f"  {p.minutes[kind]} min: {what}" for kind, what in STEPS.items() if kind in p.minutes]
    missing = [kind for kind in STEPS if kind not in p.minutes]
    if missing:
        lines.append(f"  no minutes are said for: {', '.join(missing)}")
    return "\n".join(lines)
