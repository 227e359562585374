"""Orders as makers might write them: mostly sensible, some wild, in every unit and for patterns of their own too."""

from __future__ import annotations

import random
import re
from fractions import Fraction
from pathlib import Path

from strapwork.files.folders import Places
from strapwork.stock import hardware, patterns, printers
from strapwork.stock.patterns import Pattern
from strapwork.stock.printers import Printer

ROOT = Path(__file__).resolve().parents[3]
UNITS = ("mm", "in", "in16")
WILD = {
    "measure": ("0", "-3 mm", "1/0 in", "17", "", "90 m", "wrist", "6 3/4 furlongs", "1,500 mm", "2 mm"),
    "width": ("3 mm", "160 mm", "0", "9 mm", "1/8 in"),
    "leather": ("0.1 mm", "40 oz", "5-4 oz", "grandfather's", "11 mm"),
    "ease": ("10 cm", "10", "-60 mm", "5 in"),
    "strands": ("0", "25", "26", "two", "4", "6"),
    "sets": ("200", "201", "-1", "60"),
    "to_tip": ("0", "1 mm", "400 mm", "0; 30 mm"),
    "to_slit": ("0", "1 mm", "2 mm; 90 mm", "300 mm"),
    "relief": ("0.1 mm", "30 mm", "5 mm"),
    "hardware": ("snap-99", "a nail", "buckle-16", "snap-24, rivet-6"),
    "holes": ("0", "26", "25", "six"),
    "load": ("2 t", "12", "100 kg", "5 g"),
    "turns": ("Ro", "Ro Lo Xx", "Ruo Lou", "Ro Lo Ro"),
    "weave": ("under-over", "plain"),
    "end_radius": ("90 mm", "1 mm; 200 mm"),
}
SHELF = """
[once]
thickness = "2 mm"
temper = "soft"
[once.take_up]
swatch = [{what = "one", date = 2026-04-18, modelled_mm = 6.0, measured_mm = 7.9}]

[odd]
thickness = "1.6-2.4 mm"
tannage = "vegetable"
backing = "0.5 mm"
[odd.take_up]
swatch = [
    {what = "one", date = 2026-04-18, modelled_mm = 6.0, measured_mm = 2.1},
    {what = "two", date = 2026-04-18, modelled_mm = 6.3, measured_mm = 14.0, after_mm = 163.6, worn_mm = 166.3},
]
"""
SLOTTER = 'slits = "slot"\nslot_width = "1 mm"'


def folder(place: Path) -> Places:
    """A maker's own folders: a shelf, printers, a machine; patterns of their own come with each order."""
    (place / "machines").mkdir(parents=True)
    laser = (ROOT / "patterns" / "machines" / "laser.toml").read_text(encoding="utf-8")
    slotted = re.sub(r'slits = "line".*', SLOTTER, laser)
    assert slotted != laser
    (place / "machines" / "slotter.toml").write_text(slotted, encoding="utf-8")
    ours = (ROOT / "samples" / "leathers.toml").read_text(encoding="utf-8")
    (place / "shelf.toml").write_text(ours + SHELF, encoding="utf-8")
    printers.store(place / "printers.toml", Printer("attic", 0.985, 0.991))
    printers.store(place / "printers.toml", Printer("desk", 1.004, 0.997, 0.002))
    return Places(shelf=place / "shelf.toml", patterns=place, printers=place / "printers.toml")


def own(rng: random.Random, name: str, place: Path) -> str:
    """A pattern of the maker's own: one of ours with some of its lengths changed, or slits where they like."""
    text = (ROOT / "patterns" / f"{name}.toml").read_text(encoding="utf-8")
    lines = text.splitlines()
    spots = [k for k, line in enumerate(lines) if re.match(r'(to_tip|to_slit|at|across|spacing|diameter) = "', line)]
    for k in rng.sample(spots, min(len(spots), rng.choice((0, 1, 2, 4)))):
        key = lines[k].split(" = ")[0]
        low, high = {"at": (-60, 90), "across": (-14, 14)}.get(key, (0.5, 110 if key.startswith("to_") else 30))
        lines[k] = f'{key} = "{rng.uniform(low, high):.2f} mm"'
    at = [f'"{y:.2f} mm"' for y in sorted(rng.uniform(1, 37) for _ in range(2))]
    text = "\n".join(lines)
    if rng.random() < 0.4:
        text = text.replace("[start]", f"[slits]\nat = [{', '.join(at)}]\n\n[start]", 1)
    (place / "own.toml").write_text(text + "\n", encoding="utf-8")
    return "own"


def length(rng: random.Random, mm: float, units: str | None) -> str:
    """A length near ``mm`` as somebody writes it."""
    inches = Fraction(round(mm / 25.4 * 32), 32)
    whole, rest = divmod(inches, 1)
    text = f"{whole} {rest}" if whole and rest else str(rest or whole)
    ways = [f"{mm:.1f} mm", f"{mm / 10:.2f} cm", f"{mm:.2f}mm", f"{text} in", f'{text}"', f"{mm / 25.4:.3f} in"]
    if units is not None:
        ways += [f"{mm:.1f}" if units == "mm" else text] * 2
    found = rng.choice(ways)
    return found if not found.startswith("0 in") else f"{mm:.1f} mm"


class Asks:
    """The orders of one run, the same for the same seed."""

    def __init__(self, place: Path, seed: int) -> None:
        self.rng = random.Random(seed)
        self.place = place
        self.patterns: list[Pattern] = patterns.all_patterns()
        self.hardware = [s.name for f in hardware.catalogue().families for s in f.sizes]

    def one(self) -> dict[str, str]:
        """The texts of one order."""
        rng = self.rng
        r = rng.choice(self.patterns)
        units = rng.choice((*UNITS, None))
        low, high = r.measure.least, r.measure.most
        texts = {
            "pattern": own(rng, r.name, self.place) if rng.random() < 0.15 else r.name,
            "measure": length(rng, rng.uniform(low, high), units),
        }
        if units is not None:
            texts["units"] = units
        keys = rng.sample(sorted(self.ways(r, units)), rng.choice((0, 1, 2, 2, 3, 4, 6)))
        texts |= {k: self.ways(r, units)[k] for k in keys}
        if rng.random() < 0.12:
            key = rng.choice(sorted(WILD))
            texts[key] = rng.choice(WILD[key])
        return texts

    def ways(self, r: Pattern, units: str | None) -> dict[str, str]:
        """A value for every key that may be asked for."""
        rng, w = self.rng, r.strap.width

        def mm(a: float, b: float) -> str:
            return length(rng, rng.uniform(a, b), units)

        thick = rng.uniform(0.9, 4.2)
        sort = rng.choice(("mm", "oz", "range", "ounces", "shelf"))
        leather = {
            "mm": f"{thick:.1f} mm",
            "oz": f"{round(thick / 25.4 * 64) or 2} oz",
            "range": f"{thick:.1f}-{thick + 0.4:.1f} mm",
            "ounces": rng.choice(("2-3 oz", "3-4 oz", "4-5 oz", "6-7 oz", "8-9 oz", "9-10 oz")),
            "shelf": rng.choice(("slip-soft", "quay-brown", "harbour-tan", "once", "odd")),
        }[sort]
        return {
            "leather": leather,
            "temper": rng.choice(("soft", "medium", "firm")),
            "tannage": rng.choice(("vegetable", "chrome", "combination", "unknown")),
            "backing": f"{rng.uniform(0.3, 1.2):.1f} mm",
            "tensile_n_per_mm2": str(rng.choice((8, 12, 20))),
            "width": mm(0.5 * w, 1.8 * w),
            "ease": length(rng, rng.uniform(0.5, 30), units),
            "strands": str(rng.choice((1, 3, 3, 3, 5, 5, 7, 9, 4, 2))),
            "sets": str(rng.choice((0, 1, 1, 2, 2, 3, 4, 6, 10, 15))),
            "weave": rng.choice(("over", "under", "over-under")),
            "hand": rng.choice(("left", "right")),
            "ends": rng.choice(("round", "pointed", "square", "clipped", "round, pointed", "square,clipped")),
            "end_radius": mm(1, 0.7 * w),
            "to_tip": rng.choice((mm(5, 80), f"{mm(5, 80)}; {mm(5, 80)}")),
            "to_slit": rng.choice((mm(5, 90), f"{mm(5, 90)}; {mm(5, 90)}")),
            "relief": mm(1, 6),
            "hardware": rng.choice(self.hardware),
            "holes": str(rng.randint(1, 12)),
            "load": rng.choice(("1 kg", "5 kg", "12 kg", "25 lb", "60 lb", "300 N")),
            "factor": str(rng.choice((1, 4, 8, 10))),
            "broken": rng.choice(("true", "false")),
            "count": str(rng.choice((1, 2, 7))),
            "paper": rng.choice(("A4", "A4", "letter", "legal", "A3", "A0", "A5", "330 mm x 480 mm")),
            "margin": mm(4, 15),
            "printer": rng.choice(("attic", "desk")),
            "machine": rng.choice(("laser", "drag-knife", "pen-plotter", "oscillating-knife", "slotter")),
            "card": rng.choice(("with", "alone", "none")),
            "lists": "with",
            "blade": mm(0.2, 1.5),
        }
