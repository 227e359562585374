"""What a price file says: plain data for other programs, and words for a person."""

from __future__ import annotations

from typing import Any

from strapwork.catalogue import tr
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

    top = (
        tr("markup {share} on all costs", share=share(p.markup))
        if p.markup is not None
        else tr("margin {share} of the price", share=share(p.margin))
    )
    hour = (
        tr("an hour is worth {hour}", hour=p.show(p.hour))
        if p.hour is not None
        else tr("what an hour is worth is not said")
    )
    lines = [
        tr(
            "Prices in {currency} ({digits} decimals): {hour}; overhead {share}, {top}.",
            currency=p.currency,
            digits=p.digits,
            hour=hour,
            share=share(p.overhead),
            top=top,
        ),
        tr("  waste of leather {share}, where strips or hides are not planned", share=share(p.waste)),
    ]
    if p.round_to is not None:
        lines.append(tr("  prices go up to the next {round_to}", round_to=p.round_to))
    lines += [
        tr("  leather {name}: {v} a square metre", name=name, v=f"{v:.{p.digits + 2}f}")
        for name, v in p.leather.items()
    ]
    for s in p.strips:
        size = f"{format_length(s.width)} × {format_length(s.length)}"
        lines.append(tr("  strip of {leather}, {size}: {price} each", leather=s.leather, size=size, price=s.price))
    lines += [tr("  {name}: {v} each", name=name, v=f"{v:.{p.digits + 2}f}") for name, v in p.hardware.items()]
    lines += [f"  {p.minutes[kind]} min: {what}" for kind, what in STEPS.items() if kind in p.minutes]
    missing = [kind for kind in STEPS if kind not in p.minutes]
    if missing:
        lines.append(tr("  no minutes are said for: {missing}", missing=", ".join(missing)))
    return "\n".join(lines)
