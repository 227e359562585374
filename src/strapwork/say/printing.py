"""What a sheet says of its own scale."""

from __future__ import annotations

from typing import TYPE_CHECKING

from strapwork.catalogue import tr

if TYPE_CHECKING:
    from strapwork.stock.printers import Printer


def correction(printer: Printer | None) -> str:
    """For the foot of a sheet that is corrected for a printer; empty for a plain one."""
    if printer is None:
        return ""
    within = f", ± {100 * printer.within:.2f} %" if printer.within is not None else ""
    return tr(
        "Corrected for the printer “{name}” ({x:.2f} % × {y:.2f} %{within}): "
        "on that printer the square must read 50.0 mm.",
        name=printer.name,
        x=100 * printer.x,
        y=100 * printer.y,
        within=within,
    )
