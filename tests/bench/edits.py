"""Wrong edits that no suite may let past, each made to a copy of the project.  python tests/bench/edits.py [NAME ...]

Every one was once made without a test turning red, or is what a careless hand would do; the tests named beside it
have to notice.  Prints killed or SURVIVED by name; names given pick edits that hold them.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import spoiled

EFFECTS = "tests/test_effects.py"
WORKED = "tests/outside/test_worked_examples.py"
SRC = "src/strapwork"


@dataclass(frozen=True)
class Edit:
    """One wrong edit: ``old`` becomes ``new`` in a file, and ``tests`` have to turn red."""

    name: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]


def dropped(door: str, key: str) -> Edit:
    """A door that forgets a key."""
    file, old, new = {
        "job file": (
            f"{SRC}/order/doors.py",
            "yield Asked(row, Place.part",
            f"yield Asked({{k_: v for k_, v in row.items() if k_ != '{key}'}}, Place.part",
        ),
        "options": (
            f"{SRC}/cli/draft.py",
            "texts = options.given(args, doors.ONE_PIECE_KEYS)",
            f"texts = options.given(args, [k for k in doors.ONE_PIECE_KEYS if k != '{key}'])",
        ),
        "page": (
            f"{SRC}/web/form.py",
            "in values.items() if text}",
            f"in values.items() if text and name != '{key}'}}",
        ),
    }[door]
    by = {"job file": "by_job_file", "options": "by_options", "page": "by_page"}[door]
    return Edit(
        f"{door} ignores {key}", file, old, new, (f"{EFFECTS}::test_a_key_does_what_it_is_there_for[{key}-{by}]",)
    )


KEYS = ("ease", "relief", "weave", "turns", "holes", "hardware", "load", "factor")
EDITS = [
    *(dropped("job file", key) for key in KEYS),
    *(dropped("options", key) for key in KEYS),
    *(dropped("page", key) for key in ("width", "to_slit", "backing")),
    Edit(
        "terminal mixes the three lengths up",
        f"{SRC}/cli/report.py",
        "lines += [f\"    {r.what:<18}  {r.length:>12}   {r.why}\" for r in lengths.three(piece, units)]",
        "t = lengths.three(piece, units)\n"
        "    lines += [f\"    {r.what:<18}  {o.length:>12}   {r.why}\" for r, o in zip(t, (*t[1:], t[0]), strict=True)]",
        ("tests/test_voice.py",),
    ),
    Edit(
        "page swaps finished and as cut",
        f"{SRC}/web/show.py",
        '"lengths": [_row(r) for r in lengths.three(piece, units)],',
        '"lengths": [{**_row(lengths.three(piece, units)[k]), "mm": lengths.three(piece, units)[j].length} for k, j in enumerate((1, 0, 2))],',
        ("tests/test_voice.py",),
    ),
    Edit("all findings emptied", f"{SRC}/piece/checks.py", "return sorted_findings(found)", "return ()", ("tests/test_findings.py",)),
    Edit(
        "a job's left_handed ignored",
        f"{SRC}/order/description.py",
        'return self.hand or ("left" if self.left_handed else "right")',
        'return self.hand or "right"',
        (f"{EFFECTS}::test_a_key_does_what_it_is_there_for[left_handed-by_job_file]",),
    ),
    Edit(
        "a leather's price times a hundred",
        f"{SRC}/cli/report.py",
        "cost=area / 1e6 * piece.leather.price",
        "cost=area / 1e4 * piece.leather.price",
        (f"{EFFECTS}::test_a_key_does_what_it_is_there_for[price_per_m2-by_job_file]",),
    ),
    Edit(
        "a PDF at 97 %",
        f"{SRC}/drawing/pdf.py",
        "{POINTS_PER_MM:.6f} 0 0 {POINTS_PER_MM:.6f} 0 0 cm",
        "{POINTS_PER_MM * 0.97:.6f} 0 0 {POINTS_PER_MM * 0.97:.6f} 0 0 cm",
        ("tests/outside/test_true_scale.py::test_pdf_by_pdfium",),
    ),
    Edit("the wrap halved", f"{SRC}/piece/fit.py", "girth + 2.0 * math.pi * t, math", "girth + math.pi * t, math", (WORKED,)),
    Edit(
        "the band of a swatch doubled",
        f"{SRC}/stock/learned.py",
        "return take_up.band(self.groups, model)",
        "low, high = take_up.band(self.groups, model)\n        m = self.factor * model\n        return m - 2 * (m - low), m + 2 * (high - m)",
        ("tests/outside/test_take_up_posterior.py", "tests/test_leather.py"),
    ),
    Edit(
        "letters on a bed mirrored",
        f"{SRC}/cutter/paths.py",
        "pts = [(EDGE + x, y - down + 1.0) for x, y in stroke]",
        "pts = [(EDGE + found[1] - x, y - down + 1.0) for x, y in stroke]",
        ("tests/test_lettering.py", "tests/test_cutting.py"),
    ),
    Edit(
        "every cut length in numbers.json falsified",
        f"{SRC}/job/numbers.py",
        '"cut_length_mm": fit.cut_length,',
        '"cut_length_mm": fit.cut_length + 3.0,',
        ("tests/test_voice.py", "tests/test_cli.py"),
    ),
    Edit(
        "every draft refused",
        f"{SRC}/piece/strap.py",
        "    b = _Builder(pattern, fit, width, thickness, catalogue, place)\n",
        '    if fit.cut_length:\n        raise InputError(place, "no", "no")\n    b = _Builder(pattern, fit, width, thickness, catalogue, place)\n',
        ("tests/test_strap.py",),
    ),
    Edit(
        "a pattern whose snap hole lies off the leather",
        "patterns/key-fob.toml",
        'part = "snap"\nhalf = "cap"',
        'part = "snap"\nacross = "9 mm"\nhalf = "cap"',
        ("tests/test_patterns.py",),
    ),
    Edit(
        "a buckle's slot shrunk towards y for x",
        f"{SRC}/cutter/kerf.py",
        "return stadium(length, d, hole.x - length / 2.0, hole.y - d / 2.0)",
        "return stadium(length, d, hole.y - length / 2.0, hole.y - d / 2.0)",
        ("tests/test_cutting.py",),
    ),
    Edit(
        "a corrected sheet shifted by half its width",
        f"{SRC}/drawing/pdf.py",
        "mx, my = width / 2.0, height / 2.0",
        "mx, my = width / 2.0 * 100.0, height / 2.0",
        ("tests/outside/test_true_scale.py::test_a_correction_leaves_the_middle_of_the_page_where_it_is",),
    ),
    Edit(
        "wear learned the wrong way round",
        f"{SRC}/piece/fit.py",
        "now / (1.0 + settle) - now",
        "now / (1.0 + settle)**4 - now",
        (WORKED,),
    ),
    Edit(
        "wear learned ten times too large",
        f"{SRC}/stock/learned.py",
        "sum(a * (w - a) for a, w in worn) / sum(a * a for a, _ in worn)",
        "sum(w * (w - a) * 10 for a, w in worn) / sum(a * a for a, _ in worn)",
        (WORKED,),
    ),
    Edit(
        "left strand over where it goes under",
        f"{SRC}/say/braiding.py",
        'if above else tr("under {strands}", strands=met)',
        'if not above else tr("under {strands}", strands=met)',
        ("tests/test_voice.py", "tests/test_pictures.py"),
    ),
    Edit(
        "a picture that shows under as over",
        f"{SRC}/braid/moves.py",
        "over[a, b] = c > 0\n        over[b, a] = c < 0",
        "over[a, b] = c < 0\n        over[b, a] = c > 0",
        ("tests/test_pictures.py", "tests/test_voice.py"),
    ),
    dropped("job file", "ends"),
    Edit(
        "a hole off the leather a caution only",
        f"{SRC}/piece/clearances.py",
        '"stop",\n                "hole-outside"',
        '"caution",\n                "hole-outside"',
        ("tests/test_causes.py",),
    ),
    Edit(
        "the overcut lost",
        f"{SRC}/cutter/paths.py",
        "tuple(_overcut(p, machine.overcut) for p in ordered)",
        "tuple(ordered)",
        ("tests/test_cutting.py",),
    ),
    Edit(
        "the overcut lost at holes",
        f"{SRC}/cutter/paths.py",
        "    if isinstance(p, Disc):\n        turn = 360.0",
        "    if isinstance(p, Disc):\n        return p\n        turn = 360.0",
        ("tests/test_cutting.py",),
    ),
    Edit(
        "the colours of operations lost in SVG",
        f"{SRC}/drawing/svg.py",
        "Style(stroke=rgb(op.colour), width=op.width)",
        'Style(stroke=rgb("#000000"), width=op.width)',
        ("tests/test_cutting.py",),
    ),
    Edit(
        "the colours of operations lost in DXF",
        f"{SRC}/drawing/dxf.py",
        "made.rgb = (r, g, b)",
        "made.rgb = (g, r, b)",
        ("tests/test_cutting.py", "tests/outside/test_cutter_files.py"),
    ),
    Edit(
        "layers under a post counted by the wrong length",
        f"{SRC}/piece/strap.py",
        "braided = fixture.at > end.to_slit > 0.0",
        "braided = fixture.at > end.to_tip > 0.0",
        ("tests/test_strap.py",),
    ),
    Edit(
        "A4 printed on a letter sheet",
        f"{SRC}/job/job.py",
        "        job.paper.size,\n        job.title,",
        "        (210.0, 297.0),\n        job.title,",
        (f"{EFFECTS}::test_a_key_does_what_it_is_there_for[paper-by_page]",),
    ),
    dropped("page", "paper"),
    Edit(
        "holes of a turned end on one side of the fold only",
        f"{SRC}/piece/strap.py",
        "((at, -at) if f.doubled else (at,))",
        "(at,)",
        (WORKED,),
    ),
    Edit(
        "the lower end of the take-up's band from the widest spacing",
        f"{SRC}/piece/fit.py",
        "in ((low_t, close), (high_t, apart))",
        "in ((low_t, apart), (high_t, apart))",
        (WORKED,),
    ),
    Edit("three strands climb no steeper", f"{SRC}/braid/geometry.py", "STEEPER = {3: 3.5}", "STEEPER = {3: 1.0}", (WORKED,)),
    Edit("held ends cost nothing", f"{SRC}/braid/geometry.py", "(3.0 * strands - 7.0) / 2.0", "0.0", (WORKED,)),
]  # fmt: skip


def main(wanted: list[str]) -> int:
    spoiled.load_libraries()
    chosen = [e for e in EDITS if not wanted or any(w in e.name for w in wanted)]
    survived = 0
    with spoiled.copy() as copy:
        for e in chosen:
            text = (copy.folder / e.file).read_text(encoding="utf-8")
            if text.count(e.old) != 1:
                raise SystemExit(f"{e.name}: its place in {e.file} is there {text.count(e.old)} times; mend the edit")
            edited = text.replace(e.old, e.new)
            if e.file.endswith(".py"):
                compile(edited, e.file, "exec")
            with copy.changed(e.file, edited):
                verdict, said = copy.run(e.tests, 300.0)
            by = next(
                (line.split(" - ")[0] for line in said.splitlines() if line.startswith(("FAILED", "ERROR"))), verdict
            )
            survived += verdict == "green"
            print(f"{'SURVIVED' if verdict == 'green' else 'killed  '}  {e.name}   [{by}]", flush=True)
    print(f"{len(chosen)} edits, {len(chosen) - survived} killed, {survived} survived")
    return 1 if survived else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
