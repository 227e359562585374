"""Pages that usual jobs take, against their budgets: ``python tests/bench/pages.py [folder for the PDFs]``.

A class of twelve has two left-handers and two leathers; the market kit is the sample.
"""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))  # run by its path, it has only its own folder

from tests.helpers import job_of  # noqa: E402

from strapwork.job import job as jobs  # noqa: E402

NAMES = ("Ada", "Bo", "Cleo", "Dan", "Edda", "Finn", "Gesa", "Hein", "Ida", "Jon", "Kaja", "Lars")
WRISTS = (152, 158, 163, 165, 168, 170, 172, 175, 178, 181, 185, 190)


def wristband(**more: Any) -> dict[str, Any]:
    return {"pattern": "wristband", "measure": "172 mm", "leather": "1.8 mm", **more}


def class_of_twelve() -> dict[str, Any]:
    pieces = [
        wristband(
            label=name,
            measure=f"{mm} mm",
            leather="2 mm" if k % 2 else "1.6 mm",
            hand="left" if k in (3, 8) else "right",
        )
        for k, (name, mm) in enumerate(zip(NAMES, WRISTS, strict=True))
    ]
    return {"title": "Tern & Tackle: beginners' class", "pieces": pieces}


def market_kit() -> dict[str, Any]:
    return tomllib.loads((ROOT / "samples" / "market-kit.toml").read_text(encoding="utf-8"))


BELT = {"pieces": [{"pattern": "belt", "measure": "34 in", "label": "Harbour belt"}]}
SIZES = {"XS": "15 cm", "S": "16 cm", "M": "17 cm", "L": "18 cm", "XL": "19 cm"}
RUN = {"pieces": [{"pattern": "wristband", "sizes": SIZES, "leather": "1.8 mm"}]}
# (name, job, pages at most, of them sheets at most)
BUDGETS: tuple[tuple[str, dict[str, Any], int, int], ...] = (
    ("wristband", {"pieces": [wristband()]}, 3, 1),
    ("belt with its keeper", BELT, 7, 5),
    ("the same, broken", {**BELT, "broken": True}, 5, 1),
    ("five sizes of a wristband", RUN, 5, 3),
    ("class of twelve", class_of_twelve(), 8, 5),
    ("market kit", market_kit(), 19, 6),
    ("the same, broken", {**market_kit(), "broken": True}, 16, 3),
)


def main(folder: Path | None) -> None:
    print(f"{'job':28} {'paper':8} {'sheets':>6} {'of':>3}   {'pages':>5} {'of':>3}")
    for k, (name, raw, pages, sheets) in enumerate(BUDGETS):
        for paper in ("A4", "letter"):
            made = jobs.make(job_of({**raw, "paper": paper, "formats": ["pdf"]}))
            straps = sum("straps" in s.notes for s in made.sheets)
            late = " over" if straps > sheets or len(made.sheets) > pages else ""
            print(f"{name:28} {paper:8} {straps:6} {sheets:3}   {len(made.sheets):5} {pages:3}{late}")
            if folder is not None:
                (folder / f"{k}-{paper}.pdf").write_bytes(made.files["x.pdf"])


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else None)
