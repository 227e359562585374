"""The pictures of README.md, made of the samples:  python tests/bench/pictures.py

Pages of the sample jobs and the braid of one of their wristbands, as the SVG pen draws them, on white paper
with a thin edge so that they are seen on dark pages too.  ``tests/test_readme.py`` keeps them in step.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))  # run by its path, it has only its own folder

from tests.helpers import read_job  # noqa: E402

from strapwork.drawing.pen import draw  # noqa: E402
from strapwork.drawing.primitives import Layer, Placed, Sheet, box_path, extent  # noqa: E402
from strapwork.drawing.style import PALE, WHITE, Style  # noqa: E402
from strapwork.drawing.svg import SvgPen  # noqa: E402
from strapwork.job import job as jobs  # noqa: E402
from strapwork.job.job import Result  # noqa: E402
from strapwork.paper import finished  # noqa: E402

SAMPLES = ROOT / "samples"
FOLDER = SAMPLES / "pictures"
PAPER = Style(stroke=PALE, width=0.4, fill=WHITE)
ROUND = 5.0  # white round the braid, in mm
# Picture, sample job, sheet of it.
PAGES = (
    ("sheet", "class", "A"),
    ("making", "market-kit", "card 2.1"),
    ("braiding", "market-kit", "card 2.2"),
)
BRAID = "Three-set wristband"  # of the market kit


def pictures(made: dict[str, Result] | None = None) -> dict[str, str]:
    """File names and contents; ``made`` are sample jobs that are worked out already, by name."""
    made = dict(made or {})
    for name in ("class", "market-kit"):
        if name not in made:
            made[name] = jobs.make(read_job(SAMPLES / f"{name}.toml"))
    out = {}
    for picture, name, sheet in PAGES:
        page = next(s for s in made[name].sheets if s.name == sheet)
        out[f"{picture}.svg"] = _on_paper(page, made[name].job.title)
    out["braid.svg"] = _braid(made["market-kit"])
    return out


def _braid(made: Result) -> str:
    piece = next(p for p in made.pieces if p.label == BRAID)
    form, plan = piece.fit.braid, piece.plan
    assert form is not None
    assert plan is not None
    drawn = finished.drawing(plan.plait, plan.turns, form, piece.strap.width / piece.strands, form.finished)
    x0, y0, x1, y1 = extent(drawn)
    size = (x1 - x0 + 2 * ROUND, y1 - y0 + 2 * ROUND)
    return _on_paper(Sheet(*size, "braid", (Placed(drawn, ROUND - x0, ROUND - y0),)), made.job.title)


def _on_paper(sheet: Sheet, title: str) -> str:
    page = box_path((0.2, 0.2, sheet.width - 0.2, sheet.height - 0.2), Layer.OUTLINE, "page")
    whole = Sheet(sheet.width, sheet.height, sheet.name, (Placed((page,)), *sheet.placed))
    return draw([whole], SvgPen(title, {"page": PAPER}))[0]


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    for name, text in pictures().items():
        (FOLDER / name).write_text(text, encoding="utf-8", newline="\n")
        print(f"{FOLDER.name}/{name}: {len(text.encode()) / 1000:.0f} kB")


if __name__ == "__main__":
    main()
