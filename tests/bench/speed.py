"""Speed and memory, outside the tests:  python tests/bench/speed.py

Prints each figure with the bound it is held to.
"""

from __future__ import annotations

import io
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 9


def seconds(*command: str) -> float:
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        times.append(time.perf_counter() - began)
    return statistics.median(times)


def cold_start() -> None:
    bare = seconds(sys.executable, "-c", "import reportlab, shapely, pint")
    drawing = seconds(sys.executable, "-c", "import reportlab.pdfgen.canvas, reportlab.pdfbase.ttfonts, shapely, pint")
    with tempfile.TemporaryDirectory() as out:
        draft = seconds(
            sys.executable, "-m", "strapwork", "draft", "wristband", "--measure", "172 mm", "--out", out, "--force"
        )
    print(f"draft, cold to PDF            {draft:.3f} s")
    print(f"  import of the three         {bare:.3f} s   ratio {draft / bare:.2f} (bound 1.5)")
    print(f"  with reportlab's canvas     {drawing:.3f} s   ratio {draft / drawing:.2f}")


def big_job() -> None:
    from reportlab.pdfgen import canvas
    from tests.helpers import order as order_of

    from strapwork.drawing import fonts, pdf
    from strapwork.drawing.pen import Recorder, replay
    from strapwork.drawing.primitives import Disc, Path, Text
    from strapwork.geometry.shape import Arc
    from strapwork.job import job
    from strapwork.stock import patterns as pattern_files

    r = pattern_files.find("wristband", "bench")
    orders = tuple(order_of(f"Class wristband {k}", r, 150.0 + k * 0.5) for k in range(100))
    ours, bare = [], []
    for _ in range(5):
        began = time.perf_counter()
        result = job.make(job.Job("Hundred wristbands", orders))
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
    big_job()
    braids()
    print(f"memory, most                  {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
