"""What each role looks like: line weight in mm, dash, and shades that a cheap printer holds.

Back ends look roles up here and nowhere else.  No meaning hangs on a colour
alone: kinds of line differ by weight and dash.
"""

from __future__ import annotations

from dataclasses import dataclass

Rgb = tuple[float, float, float]

BLACK: Rgb = (0.0, 0.0, 0.0)
GREY: Rgb = (0.35, 0.35, 0.35)
PALE: Rgb = (0.62, 0.62, 0.62)
WHITE: Rgb = (1.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class Style:
    """How a role is drawn; ``stroke`` or ``fill`` None means none."""

    stroke: Rgb | None = BLACK
    width: float = 0.25
    dash: tuple[float, ...] = ()
    fill: Rgb | None = None
    strong: bool = False


STYLES: dict[str, Style] = {
    "cut": Style(width=0.35),
    "slit": Style(width=0.3),
    "hole": Style(width=0.25),
    "stop": Style(width=0.4),
    "fold": Style(width=0.25, dash=(3.0, 1.0, 0.6, 1.0)),
    "centre": Style(width=0.15),
    "footprint": Style(stroke=GREY, width=0.15, dash=(0.8, 0.8)),
    "leader": Style(stroke=GREY, width=0.13),
    "join": Style(width=0.2, dash=(4.0, 2.0)),
    "match": Style(width=0.25),
    "break": Style(width=0.18),
    "gauge": Style(width=0.18),
    "ring": Style(width=0.25, fill=WHITE),
    "match-fill": Style(stroke=None, fill=BLACK),
    "calibration": Style(width=0.25),
    "ruler": Style(width=0.13),
    "map": Style(stroke=GREY, width=0.15),
    "map-here": Style(stroke=BLACK, width=0.25, fill=(0.82, 0.82, 0.82)),
    "frame": Style(stroke=PALE, width=0.13),
    "text": Style(stroke=None, fill=BLACK),
    "text-strong": Style(stroke=None, fill=BLACK, strong=True),
    "text-faint": Style(stroke=None, fill=GREY),
    "arrow": Style(width=0.5),
    "arrow-fill": Style(stroke=None, fill=BLACK),
    "edge": Style(width=0.3),
    "under-edge": Style(width=0.3),
    "halo": Style(stroke=None, fill=WHITE),
    "paper": Style(stroke=None, fill=WHITE),
    "tab": Style(width=0.35, fill=(0.93, 0.93, 0.93)),
    "moving": Style(width=0.7),
    "way-front": Style(width=0.9),
    "way-back": Style(width=0.9, dash=(2.2, 1.4)),
    "hatch": Style(width=0.13),
    "hatch-strong": Style(width=0.25),
}

# Fills that tell strands apart; with a hatch and a letter, never alone.
TONES = (1.0, 0.84, 0.66, 0.93, 0.75)
for _k, _tone in enumerate(TONES):
    STYLES[f"tone-{_k}"] = Style(stroke=None, fill=(_tone, _tone, _tone))


def look(role: str) -> Style:
    """The style of a role; a role nobody styled is drawn as plain thin line."""
    return STYLES.get(role, Style())


def rgb(colour: str) -> Rgb:
    """``#rrggbb`` as three shares of one."""
    r, g, b = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return r, g, b
