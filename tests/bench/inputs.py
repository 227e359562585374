"""Nothing hangs: hostile files through every reader.  python tests/bench/inputs.py [INPUTS]

Each input is a file of the project, bent: pieces cut out, doubled, moved, or
replaced by what breaks parsers.  Every one has to come out as data or as one
printable sentence; the line says how many did, and the most that one took.
"""

from __future__ import annotations

import random
import resource
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from strapwork.errors import InputError, Place
from strapwork.files import jsonin, schema, table, toml
from strapwork.files.folders import Places
from strapwork.job import job
from strapwork.order import doors
from strapwork.order.order import Job
from strapwork.piece import swatches
from strapwork.stock import hardware, machines, patterns, shelf
from strapwork.stock import printers as printer_file

ROOT = Path(__file__).resolve().parents[2]
BARBS = (
    b"\0", b"\xff", b"\xef\xbb\xbf", b"\r", b"\n", b'"', b"'", b'"""', b"'''", b"\\", b"#", b"=", b".", b",", b";",
    b"[", b"]", b"{", b"}", b"[[a]]\n", b"inf", b"nan", b"-1", b"0", b"1e308", b"9" * 400, b"9" * 5000, b"0x" + b"f" * 900,
    b"a." * 5000, b"[" * 3000, b"{a=" * 900, b"x" * 70000, b"\\u0000", b"\\ud800", b"\xe2\x80\xae", b"\x1b[2J", b"true",
    b"1979-05-27", "mm", "19999 mm", "0 mm", "-5 mm", "1/0 in", "½ in", "۳ mm", "1e9 mm", "𝟙 mm", "NaN", "null",
)  # fmt: skip


def job_in(path: Path, shelf: Path) -> Job:
    return doors.of_document(
        toml.read_toml(path, "job file"), Place.file(str(path)), Places(shelf=shelf), "bent", shelf.parent
    )


def bent(raw: bytes, rng: random.Random) -> bytes:
    out = bytearray(raw)
    for _ in range(rng.choice((1, 1, 1, 2, 4))):
        a = rng.randrange(len(out) + 1)
        b = min(len(out), a + rng.choice((0, 1, 1, 4, 20, 200)))
        barb = rng.choice(BARBS)
        barb = barb.encode() if isinstance(barb, str) else barb
        how = rng.randrange(6)
        if how == 0:
            out[a:b] = b""
        elif how == 1:
            out[a:a] = out[a:b] * rng.choice((1, 3, 50))
        elif how == 2:
            c = rng.randrange(len(out) + 1)
            out[c:c] = out[a:b]
        elif how == 3 and out:
            out[min(a, len(out) - 1)] ^= 1 << rng.randrange(8)
        elif how == 4 and (quoted := [k for k, ch in enumerate(out) if ch == 34]):
            # Into the next text, where values are.
            k = next((q for q in quoted if q >= a), quoted[0])
            end = out.find(b'"', k + 1)
            out[k + 1 : end if end > 0 else k + 1] = barb
        else:
            out[a:b] = barb
    return bytes(out)


def readers(place: Path) -> dict[str, tuple[list[bytes], Callable[[bytes], object]]]:
    def at(name: str, read: Callable[[Path], object]) -> Callable[[bytes], object]:
        path = place / name
        path.parent.mkdir(parents=True, exist_ok=True)

        def go(raw: bytes) -> object:
            path.write_bytes(raw)
            return read(path)

        return go

    samples, stock = ROOT / "samples", ROOT / "patterns"
    printers = b"[attic]\nx = 1.002\ny = 0.998\nskew = 0.0005\n"
    kept = [(samples / "leathers.toml").read_bytes()]
    return {
        "job files": ([p.read_bytes() for p in samples.glob("*.toml") if p.stem not in ("leathers", "prices")], at("j.toml", lambda p: job.work_out(job_in(p, samples / "leathers.toml")))),
        "shelves": (kept, at("s.toml", shelf.read)),
        "swatches": ([(samples / "swatches.csv").read_bytes()], at("s.csv", lambda p: swatches.learn(swatches.read(p)))),
        "printers": ([printers], at("p.toml", printer_file.read)),
        "patterns": (
            [p.read_bytes() for p in stock.glob("*.toml")],
            at("own/bent.toml", lambda p: patterns.find("bent", "PATTERN", p.parent)),
        ),
        "machines": (
            [p.read_bytes() for p in (stock / "machines").glob("*.toml")],
            at("shop/machines/bent.toml", lambda p: machines.find("bent", "--machine", p.parent.parent)),
        ),
        "hardware": (
            [p.read_bytes() for p in (stock / "hardware").glob("*.toml")],
            at("h.toml", lambda p: hardware.Catalogue([(p, schema.read_toml(p, "hardware file"))]).families),
        ),
        "tables": (
            [b"name,wrist,goods\nInes,17 cm,wristband\nBruno,6 3/4 in,belt\n"],
            lambda raw: table.read_table(raw, "class.csv", ("name", "wrist", "goods"), 500),
        ),
        "JSON": ([(samples / "three-leathers" / "numbers.json").read_bytes().partition(b" \"files\"")[0].rstrip()[:-1] + b"}"], lambda raw: jsonin.parse_json(raw, "x")),
    }  # fmt: skip


def main() -> None:
    inputs = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    rng = random.Random(10)
    with tempfile.TemporaryDirectory() as folder:
        every = readers(Path(folder))
        for name, (seeds, read) in every.items():
            counted, worst, faults = Counter[str](), 0.0, []
            for seed in seeds:
                read(seed)
            for _ in range(inputs // len(every)):
                raw = bent(rng.choice(seeds), rng)
                began = time.process_time()
                try:
                    read(raw)
                    counted["read"] += 1
                except InputError as e:
                    counted["refused" if str(e).isprintable() and len(str(e)) < 2500 else "BAD SENTENCE"] += 1
                except Exception as e:
                    counted["FAULT"] += 1
                    faults.append((type(e).__name__, str(e)[:80], raw))
                worst = max(worst, time.process_time() - began)
            print(f"{name:<10} {dict(counted)}, longest {1000 * worst:.0f} ms", flush=True)
            for kind, text, raw in faults[:3]:
                print(f"    {kind}: {text}\n      {raw[:300]!r}")
    print(f"memory, most  {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
