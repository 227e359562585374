"""Is every order refused in one sentence, or right?  python tests/bench/orders.py [ORDERS [SEED]]

Random orders over all patterns (an own pattern, one of ours with its lengths changed at random, in every seventh),
hardware, leathers of the shelf, machines, printers, papers and units go through the one door.  Each has to be refused
with one clear sentence whose remedy, where it names a value, is accepted when it is typed back; or worked out so that

* the lines of its lengths add up as printed, in mm and to 1/32 and 1/16 in, and equal lengths print equal;
* its numbers go together, no band is impossible, nothing is cut off the leather without a finding;
* the sheets and the beds show what ``numbers.json`` says, all of it and nothing else;
* the halves of snaps and of broken views are said as they are numbered;
* what the terminal says (with every 40th order also what its PDF says) stays in the units of the job;
* the remedies of its findings work.

Printed are the counts by pattern, the refusals by kind of sentence, and everything that does not hold, with an order
to try it with.
"""

from __future__ import annotations

import io
import re
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
from random_orders import asks, drawn, remedies, told
from random_orders.remedies import Texts

from strapwork.cli import report
from strapwork.cutter import paths
from strapwork.errors import InputError, Place
from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.job import numbers
from strapwork.order import doors
from strapwork.order.order import Job
from strapwork.paper.tiles import lay_out
from strapwork.piece.piece import Piece
from strapwork.units import shown_in

FULL = 40
HERE = Place("the order", "--{option}")


class Campaign:
    """The counts of one run."""

    def __init__(self, places: Places) -> None:
        self.places = places
        self.made: Counter[str] = Counter()
        self.refused: Counter[str] = Counter()
        self.sentences: Counter[str] = Counter()
        self.wrong: Counter[str] = Counter()
        self.example: dict[str, tuple[str, Texts]] = {}

    def job(self, texts: Texts) -> Job:
        return doors.of_texts(texts, HERE, self.places)

    def work(self, texts: Texts) -> list[Piece]:
        return jobs.work_out(self.job(texts))

    def order(self, k: int, texts: Texts) -> None:
        """One order, judged."""
        name = texts["pattern"]
        try:
            job = self.job(texts)
            pieces = jobs.work_out(job)
            faults = list(self.judged(k, job, pieces, texts))
            self.made[name] += 1
        except InputError as e:
            self.refused[name] += 1
            self.sentences[remedies.kind(f"{e.problem}; {e.remedy}")] += 1
            faults = [*sentence(e, texts), *remedies.refused(texts, e, self.work)]
        except Exception:
            faults = [f"a fault: {traceback.format_exc(limit=-2).strip().splitlines()[-1]}"]
        for fault in faults:
            kind = remedies.kind(fault)
            if kind not in self.wrong:
                print(f"order {k}: {fault}\n  {texts}", file=sys.stderr, flush=True)
            self.wrong[kind] += 1
            self.example.setdefault(kind, (fault, dict(texts)))

    def judged(self, k: int, job: Job, pieces: list[Piece], texts: Texts) -> Iterator[str]:
        """Everything that does not hold of an order that was worked out."""
        with shown_in(job.units):
            data = [numbers.of_piece(p) for p in pieces]
        for p, n in zip(pieces, data, strict=True):
            for units in asks.UNITS:
                yield from told.columns(p, units)
            yield from told.numbers(p, n)
            yield from told.halves(p, n)
            yield from drawn.inside(n)
        with shown_in(job.units):
            sheets = lay_out(pieces, jobs.setting(job))
            spoken = "\n".join(report.of_piece(p, job.units) for p in pieces)
        yield from drawn.sheets(pieces, data, sheets)
        yield from told.broken(sheets)
        if job.machine is not None:
            with shown_in(job.units):
                cut = paths.plan(pieces, job.machine)
                spoken += "\n" + report.cutting(cut)
            beds = [b.sheet for b in cut.beds]
            mirrored = job.machine.mirrored or job.machine.overcut
            if not mirrored:
                yield from drawn.beds(data, numbers.of_cutting(cut), beds, job.machine.kerf)
        yield from told.foreign(spoken, job.units)
        yield from told.grammar(spoken)
        yield from remedies.found(texts, pieces[0], self.work)
        if k % FULL == 0:
            yield from files(job, data)


def sentence(e: InputError, texts: Texts) -> Iterator[str]:
    """A refusal names place, problem and remedy in one printable line."""
    text = str(e)
    if not (e.place and e.problem and e.remedy) or "\n" in text or len(text) > 500 or not text.endswith("."):
        yield f"not one clear sentence: {text!r}"
    yield from told.grammar(text)
    # What was typed comes back as it was typed, and a way to write is shown in either unit.
    if texts.get("units") in asks.UNITS and not e.remedy.startswith(("write", "use a", "give a length")):
        own = re.sub(r"'[^']*'|\"[^\"]*\"", "", f"{e.problem}; {e.remedy}")
        yield from told.foreign(own, texts["units"])


def files(job: Job, data: list[dict[str, object]]) -> Iterator[str]:
    """The files of a job: what they hold and say."""
    made = jobs.make(job)
    if made.numbers["pieces"] != data:
        yield "numbers.json is not the numbers"
    for name, raw in made.files.items():
        if not name.endswith(".pdf"):
            continue
        pages = pypdfium2.PdfDocument(io.BytesIO(raw))
        text = "\n".join(page.get_textpage().get_text_range() for page in pages)
        for found in told.foreign(told.without_both(text), job.units):
            yield f"on paper, {found}"
        for found in told.grammar(text):
            yield f"on paper: {found}"


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 11
    started, cpu = time.monotonic(), time.process_time()
    with tempfile.TemporaryDirectory() as name:
        place = Path(name) / "own"
        c = Campaign(asks.folder(place))
        orders = asks.Asks(place, seed)
        for k in range(1, count + 1):
            c.order(k, orders.one())
            if k % 500 == 0:
                print(
                    f"{k} orders, {time.monotonic() - started:.0f} s, {sum(c.wrong.values())} wrong",
                    file=sys.stderr,
                    flush=True,
                )
    print("| pattern | worked out | refused |\n|---|---|---|")
    for what in sorted(c.made | c.refused):
        print(f"| {what} | {c.made[what]} | {c.refused[what]} |")
    print(f"| all | {c.made.total()} | {c.refused.total()} |\n")
    print(f"{c.sentences.total()} refusals, {len(c.sentences)} kinds of sentence:")
    for text, n in c.sentences.most_common():
        print(f"{n:6} {text}")
    print(f"\n{c.wrong.total()} inconsistencies:")
    for text, n in c.wrong.most_common():
        print(f"{n:6} {text}\n       {c.example[text][0]}\n       {c.example[text][1]}")
    print(f"\n{count} orders from seed {seed}, {time.process_time() - cpu:.0f} s of processor time")


if __name__ == "__main__":
    main()
