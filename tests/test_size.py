"""Large jobs: what is too large is named with its bound, the work grows with the pieces, and a job can be stopped at any moment."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from strapwork.drawing.primitives import Sheet
from strapwork.errors import InputError, Place
from strapwork.files.folders import Places
from strapwork.job import job as jobs
from strapwork.job.progress import Progress
from strapwork.order import doors, people, resolve
from strapwork.order.order import Job
from strapwork.paper import filling, packing, tiles


def table(rows: int, **job: str) -> Job:
    text = "name,pattern,measure,count\n" + "".join(f"Ines {k},wristband,{150 + k % 60} mm,1\n" for k in range(rows))
    return doors.of_table(text.encode(), "class.csv", job, Place.file("class.csv"), Places(), "class")


def said(make: object, *args: object, **more: object) -> str:
    assert callable(make)
    with pytest.raises(InputError) as told:
        make(*args, **more)
    return str(told.value)


def test_a_table_with_too_many_rows_is_refused_by_row_and_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(people, "MOST_PIECES", 12)
    assert len(table(12).orders) == 12
    assert said(table, 13) == "class.csv, row 14: there are more than 12 rows; split the table."


def test_a_job_with_too_many_pieces_is_refused_by_key_and_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(resolve, "MOST_PIECES", 3)
    raw = {"pieces": [{"pattern": "wristband", "measure": "172 mm"}] * 4}
    text = said(doors.of_document, raw, Place.file("job.toml"), Places(), "job")
    assert text == "job.toml, pieces: more than 3 pieces are too many for one job; split the job."


def test_the_bound_is_ten_thousand_pieces() -> None:
    assert resolve.MOST_PIECES == people.MOST_PIECES == 10_000


@pytest.mark.parametrize("count", ["0", "10000"])
def test_a_count_out_of_bounds_names_the_key_and_the_bound(count: str) -> None:
    texts = {"pattern": "wristband", "measure": "172 mm", "count": count}
    text = said(doors.of_texts, texts, Place("", "--{option}"), Places())
    assert text.startswith("--count: ")
    assert ("1" if count == "0" else "9999") in text.replace(",", "")


def test_more_copies_than_beds_are_laid_out_for_name_the_key_and_the_bound() -> None:
    texts = {"pattern": "wristband", "measure": "172 mm", "count": "2001", "machine": "laser"}
    text = said(jobs.make, doors.of_texts(texts, Place("", "--{option}"), Places()))
    assert "2001 pieces to cut are too many" in text
    assert "keep count, over all pieces, to 2000" in text


@pytest.mark.parametrize("measure", ["160 mm", "215 mm"])
def test_packing_takes_a_time_straight_in_the_pieces(measure: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tries to put a block somewhere, counted: four times the pieces take four times the tries."""
    texts = {"pattern": "wristband", "measure": measure}
    piece = jobs.work_out(doors.of_texts(texts, Place("", "--{option}"), Places()))[0]
    tries = [0]

    def counted(plain: object) -> object:
        def call(*args: object) -> object:
            tries[0] += 1
            return plain(*args)  # type: ignore[operator]

        return call

    monkeypatch.setattr(packing, "_join_in", counted(packing._join_in))
    monkeypatch.setattr(filling.Sheet, "put", counted(filling.Sheet.put))
    setting = jobs.setting(table(1))
    found = []
    for many in (100, 400):
        blocks = [b for k in range(many) for b in tiles._blocks(replace(piece, label=f"{k}"), k, "mm", 281.0)]
        tries[0] = 0
        ways = tiles.frames(setting)
        packing.pack(blocks, ways[0], ways[0], "never")
        found.append(tries[0])
    assert 0 < found[1] <= 4.6 * found[0]


def test_every_strap_of_a_job_beyond_the_sample_is_on_a_sheet_once() -> None:
    job = replace(table(tiles.MANY + 30), card="none", lists=False)
    pieces = jobs.work_out(job)
    sheets = tiles.lay_out(pieces, jobs.setting(job))
    whole = [n["piece"] for s in sheets for n in s.notes["straps"] if n["window_mm"] is None]  # type: ignore[attr-defined]
    assert len(whole) == len(set(whole))
    shown = {n["piece"] for s in sheets for n in s.notes["straps"]}  # type: ignore[attr-defined]
    assert shown == {p.label for p in pieces}


def test_progress_is_told_throughout_and_never_taken_back() -> None:
    told: list[int] = []
    jobs.make(table(30), told.append)
    assert told == sorted(told)
    assert told[0] < 5
    assert told[-1] == 30
    assert max(b - a for a, b in itertools.pairwise(told)) <= 8
    each: list[int] = []
    jobs.work_out(table(4), each.append)
    assert each == [1, 2, 3, 4]


def test_half_a_job_is_told_when_its_sheets_are_laid_out_and_the_rest_sheet_by_sheet() -> None:
    """Of 40 pieces a quarter, 10, by working out; 20 when laid out; of four sheets each the next 5, told as it is begun."""
    told: list[int] = []
    far = Progress(40, told.append)

    far.at(0.0)
    for count in (20, 40):
        far.worked_out(count)
    far.laid_out()
    far.at(0.1)  # never taken back
    drawn = list(far.drawing([Sheet(210.0, 297.0, f"{k}", ()) for k in range(4)]))
    far.at(1.0)
    far.at(2.0)

    assert told == [0, 5, 10, 20, 20, 20, 25, 30, 35, 40, 40]
    assert [s.name for s in drawn] == ["0", "1", "2", "3"]
    assert list(Progress(40).drawing(drawn)) == drawn  # nobody to be told


@pytest.mark.parametrize("moment", [0, 5, 11, 14, 18])
def test_a_job_stops_wherever_it_is_told_to(moment: int) -> None:
    class Enough(Exception):
        pass

    told: list[int] = []

    def tell(done: int) -> None:
        told.append(done)
        if len(told) > moment:
            raise Enough

    with pytest.raises(Enough):
        jobs.make(table(12), tell)
    assert len(told) == moment + 1
