"""Speed and memory, outside the tests:  python tests/bench/speed.py [--long]

Prints each figure with the bound it is held to; ``--long`` makes the job of
10,000 people as well.
"""

from __future__ import annotations

import atexit
import io
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from functools import cache
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

ROUNDS = 3
COLD_ROUNDS = 25
THREE = "import reportlab.pdfgen.canvas, shapely, pint; pint.UnitRegistry()"


def cost(*command: str, rounds: int = ROUNDS) -> float:
    """Processor time in s of a process and its own, the least of some rounds: what else runs here matters little."""
    env, times = _installed(), []
    for _ in range(rounds):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(command, check=True, capture_output=True, env=env)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        times.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(times)


@cache
def _installed() -> dict[str, str]:
    """The environment of an installed package, whose modules are compiled once: a checkout may have been told not to be."""
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    env = {**kept, "PYTHONPYCACHEPREFIX": tempfile.mkdtemp(prefix="strapwork-compiled-")}
    atexit.register(shutil.rmtree, env["PYTHONPYCACHEPREFIX"], ignore_errors=True)
    with tempfile.TemporaryDirectory() as out:
        warm = strapwork("draft", "wristband", "--measure", "172 mm", "--out", out, "--force", "--machine", "laser")
        for command in ([sys.executable, "-c", THREE], warm):
            subprocess.run(command, check=True, capture_output=True, env=env)
    return env


def strapwork(*words: str) -> list[str]:
    return [sys.executable, "-m", "strapwork", *words]


def cold_start() -> None:
    """In turns with the yardstick, as the machine's own speed comes and goes: the middle of the ratios of neighbours."""
    rounds: list[list[float]] = []
    with tempfile.TemporaryDirectory() as out:
        drafting = strapwork("draft", "wristband", "--measure", "172 mm", "--out", out, "--force")
        commands = ([sys.executable, "-c", THREE], drafting, [*drafting, "--card", "none"])
        for _ in range(COLD_ROUNDS):
            rounds.append([cost(*command, rounds=1) for command in commands])
    three, draft, plain = (statistics.median(column) for column in zip(*rounds, strict=True))
    by_draft, by_plain = (statistics.median(row[k] / row[0] for row in rounds) for k in (1, 2))
    print(f"importing reportlab's canvas, shapely and pint, with a registry: {three:.2f} s of CPU (the yardstick)")
    print(f"draft, cold to PDF            {draft:.2f} s   {by_draft:.2f} x (bound 1.25)")
    print(f"  without a card              {plain:.2f} s   {by_plain:.2f} x")


def large_jobs(counts: tuple[int, ...]) -> None:
    """Tables of different people to finished files with cards, and copies of one wristband on beds."""
    three = cost(sys.executable, "-c", THREE)
    with tempfile.TemporaryDirectory() as folder:
        table, out = Path(folder) / "people.csv", str(Path(folder) / "out")
        for count in counts:
            rows = (f"Ines {k},wristband,{140 + k * 37 % count * 80 / count:.3f} mm,1.8 mm" for k in range(count))
            table.write_text("\n".join(["name,pattern,measure,leather", *rows]) + "\n", encoding="utf-8")
            # The largest is measured once, in a process whose children's memory is asked for afterwards.
            took = cost(*strapwork("make", str(table), "--out", out, "--force"), rounds=ROUNDS if count < 5000 else 1)
            most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
            print(
                f"{count:6d} people, with cards      {took:.1f} s of CPU, {took / three:.0f} x the yardstick, at most {most:.0f} MB"
            )
        beds = ["draft", "wristband", "--measure", "172 mm", "--count", "1000", "--machine", "laser", "--out", out]
        took = cost(*strapwork(*beds, "--force"))
        print(f"  1000 copies on beds         {took:.1f} s of CPU, {took / three:.1f} x the yardstick (bound 3 s)")


def big_job() -> None:
    from reportlab.pdfgen import canvas
    from tests.helpers import job_of

    from strapwork.drawing import fonts, pdf
    from strapwork.drawing.pen import Recorder, replay
    from strapwork.drawing.primitives import Disc, Path, Text
    from strapwork.geometry.shape import Arc
    from strapwork.job import job

    pieces = [
        {"label": f"Class wristband {k}", "pattern": "wristband", "measure": f"{150.0 + k * 0.5} mm"}
        for k in range(100)
    ]
    asked = job_of({"title": "Hundred wristbands", "pieces": pieces})
    ours, bare = [], []
    for _ in range(5):
        began = time.perf_counter()
        result = job.make(asked)
        ours.append(time.perf_counter() - began)
    recorder = Recorder()
    sheets = result.sheets
    for s in sheets:
        replay(s, recorder)
    fonts.font(False)
    fonts.font(True)
    for _ in range(5):
        began = time.perf_counter()
        c = canvas.Canvas(io.BytesIO(), invariant=1, pageCompression=1)
        for page in recorder.sheets:
            c.scale(pdf.POINTS_PER_MM, pdf.POINTS_PER_MM)
            for p in page:
                if isinstance(p, Path):
                    line = c.beginPath()
                    line.moveTo(*p.segments[0].start)
                    for s in p.segments:
                        if isinstance(s, Arc):
                            line.arcTo(s.cx - s.r, s.cy - s.r, s.cx + s.r, s.cy + s.r, s.start_deg, s.sweep_deg)
                        else:
                            line.moveTo(*s.start)
                            line.lineTo(*s.end)
                    c.drawPath(line)
                elif isinstance(p, Disc):
                    c.circle(p.cx, p.cy, p.r)
                elif isinstance(p, Text):
                    c.setFont(fonts.REGULAR, p.size)
                    c.drawString(p.x, p.y, fonts.printable(p.text))
            c.showPage()
        c.save()
        bare.append(time.perf_counter() - began)
    a, b = statistics.median(ours), statistics.median(bare)
    print(f"100 pieces, worked out to PDF {a:.3f} s on {len(sheets)} sheets")
    print(f"  bare reportlab calls        {b:.3f} s   ratio {a / b:.2f} (bound 2)")


def braids() -> None:
    import random

    from strapwork.braid import plan, proof
    from strapwork.braid.word import crossings, plain_turns

    word = crossings(plain_turns(9) * 9)
    began = time.perf_counter()
    proof.judge(9, word)
    print(f"9 strands, one set decided    {1000 * (time.perf_counter() - began):.1f} ms (bound 10)")
    rng = random.Random(7)
    half = [rng.choice([-1, 1]) * rng.randint(1, 24) for _ in range(200)]
    long = tuple(half + [-c for c in reversed(half)])
    began = time.perf_counter()
    proof.judge(25, long)
    print(f"25 strands, 400 crossings     {1000 * (time.perf_counter() - began):.1f} ms (bound 1000)")
    for n in (3, 5, 7, 9, 11, 13):
        began = time.perf_counter()
        p = plan.decide(n, plain_turns(n))
        _ = p.schedules
        print(f"{n:2d} strands, proof and passes  {1000 * (time.perf_counter() - began):.0f} ms")


if __name__ == "__main__":
    print(f"Python {sys.version.split()[0]}, {Path(sys.executable).name}")
    cold_start()
    large_jobs((1000, 10_000) if "--long" in sys.argv else (100, 1000))
    big_job()
    braids()
    print(f"memory, most                  {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
