"""The order of the page's job: what is wrong with a row and how long it is cut, and the lists of the whole.

Rows are worked out one by one and kept for a while, so that typing in one cell
costs one piece, and the lists that follow cost next to nothing.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from flask import Flask, Response, jsonify, render_template, request

from strapwork.catalogue import tr
from strapwork.errors import InputError, Place
from strapwork.files import folders, schema
from strapwork.files.folders import Places
from strapwork.files.jsonin import parse_json
from strapwork.job import lists
from strapwork.job.lists import Lists
from strapwork.order import doors, resolve
from strapwork.order.description import JobAsk, PieceAsk
from strapwork.order.order import Job
from strapwork.order.resolve import Asked
from strapwork.paper.order_page import Table
from strapwork.piece.companions import with_companions
from strapwork.piece.piece import Piece
from strapwork.say import findings
from strapwork.stock import patterns as pattern_files
from strapwork.units import format_length, shown_in
from strapwork.web import asked, bodies, documents, form, wrong
from strapwork.workshop import prices

MOST_AT_A_TIME = 25  # rows in one request: an answer comes soon, and what was begun can be given up
MOST_ROW = 20_000  # characters
PLAIN = {"pattern": "plain-strap", "measure": "300 mm"}  # any piece, to look up what the job itself names
# What a piece does not depend on: to type a title works nothing out afresh.
BESIDE = (
    "title", "paper", "margin", "formats", "card", "printer", "lists", "strips", "blade", "spare", "waste", "prices",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """One row worked out: its own pieces, the same with their companions, or what is wrong, by key."""

    own: tuple[Piece, ...] = ()
    pieces: tuple[Piece, ...] = ()
    problems: Mapping[str, str] | None = None


def register(app: Flask, places: Places) -> None:
    """The routes of a job's rows, its order, and the table to begin with."""

    @app.get("/job")
    def job_page() -> str:
        fields = {n: k for n, k in doors.JOB_KEYS.items() if not k.hidden}
        goods = [(r.name, r.title) for r in pattern_files.all_patterns(places.patterns)]
        offers = form.choices(places) | {"prices": [(name, name) for name in price_names(places)]}
        return render_template("job.html", keys=fields, offers=offers, goods=goods)

    @app.post("/job/rows")
    def job_rows() -> Response:
        body = bodies.document(request)
        whole, rows = _whole(body), body.get("pieces")
        if not isinstance(rows, list) or len(rows) > MOST_AT_A_TIME or not all(isinstance(r, dict) for r in rows):
            raise InputError(
                tr("the page"),
                tr("a request takes up to {most_at_a_time} rows", most_at_a_time=MOST_AT_A_TIME),
                tr("reload the page"),
            )
        bad = whole_problems(whole, places)
        return jsonify(job=bad, rows=[shown(row_of(whole, r, places, bad), whole) for r in rows])

    @app.post("/job/order")
    def job_order() -> Response:
        job, listed = order(documents.of_page(bodies.document(request)), places)
        return jsonify(tables=[[as_data(t) for t in group] for group in _groups(listed, job)])

    @app.post("/job/order.csv")
    def job_order_csv() -> Response:
        _, listed = order(documents.of_page(bodies.document(request)), places)
        return Response(listed.csv(), mimetype="text/csv")

    @app.get("/job/starter.csv")
    def job_starter() -> Response:
        text = (folders.folder("templates") / "table.csv").read_bytes()
        reply = Response(text, mimetype="text/csv")
        reply.headers["Content-Disposition"] = 'attachment; filename="class.csv"'
        return reply

    @app.post("/job/table/file")
    def job_table_file() -> Response:
        like = request.args.get("like", "{}")[:MOST_ROW]
        base = parse_json(like.encode(), tr("the page"))
        name = " ".join(request.args.get("name", "").split())[:80] or tr("the table")
        pieces = documents.of_table(request.get_data(), base if isinstance(base, dict) else {}, name)
        return jsonify(pieces=pieces)


def price_names(places: Places) -> list[str]:
    """The price files in the maker's folder, by the names that a job calls them by."""
    where = resolve.prices_folder(places)
    return sorted(p.stem for p in where.glob("*.toml")) if where.is_dir() else []


def _whole(body: Mapping[str, Any]) -> dict[str, Any]:
    whole = body.get("job")
    if not isinstance(whole, dict):
        raise InputError(tr("the page"), tr("the request names no job"), tr("reload the page"))
    return {k: v for k, v in whole.items() if k != "pieces"}


def whole_problems(whole: Mapping[str, Any], places: Places) -> dict[str, str]:
    """What is wrong with the job's own keys, by key: what cannot be read, and what names something that is not there."""
    bad = dict(reversed(schema.all_problems(JobAsk, dict(whole), Place("", "{key}"), _unit(whole))))

    def make(asked: Mapping[str, Any]) -> Job:
        job = resolve.job(asked, [Asked(PLAIN, Place("", "row {key}"))], form.PAGE, places, "job")
        if job.prices is not None:
            try:
                prices.read(job.prices)
            except InputError as e:
                raise e.at("prices") from e
        return job

    told = wrong.found(whole, make, wrong.blamed, lambda name: ({name: None}, {name: None}), bad)
    return {name: form.sentence(e) for name, e in {**bad, **told.errors}.items()}


def _unit(whole: Mapping[str, Any]) -> str:
    unit = whole.get("units")
    return unit if unit in ("mm", "in", "in16") else "mm"


def row_of(whole: Mapping[str, Any], row: Mapping[str, Any], places: Places, bad: Collection[str]) -> Row:
    """A row of the list worked out; what is wrong with the job itself (``bad``, its keys) is not held against it."""
    mine = {k: v for k, v in whole.items() if k not in BESIDE and k not in bad}
    texts = [json.dumps(part, sort_keys=True) for part in (mine, row)]
    if sum(map(len, texts)) > MOST_ROW:
        return Row(problems={"": tr("There is too much in this row; shorten it.")})
    return _worked(texts[0], texts[1], places, _stamp(places))


def _stamp(places: Places) -> tuple[int, int]:
    """Tells when a leather of the shelf has changed."""
    try:
        found = asked.shelf_path(places).stat()
    except OSError:
        return 0, 0
    return found.st_mtime_ns, found.st_size


@lru_cache(maxsize=600)
def _worked(whole_text: str, row_text: str, places: Places, _stamp: tuple[int, int]) -> Row:
    whole, row = json.loads(whole_text), json.loads(row_text)
    bad = dict(reversed(schema.all_problems(PieceAsk, row, Place("", "{key}"), whole.get("units"))))

    def make(values: Mapping[str, Any]) -> Row:
        job = resolve.job(whole, [Asked(values, form.PAGE)], form.PAGE, places, "job")
        with shown_in(job.units):
            each = [with_companions(order) for order in job.orders]
            out = [piece for group in each for piece in group]
            if job.machine is not None:
                from strapwork.cutter import paths

                paths.refuse_fumes(out, job.machine, "tannage")
        return Row(tuple(group[0] for group in each), tuple(out))

    try:
        pattern = pattern_files.find(str(row.get("pattern", "")), "", places.patterns)
    except InputError:
        pattern = None
    told = wrong.found(row, make, _of_row, wrong.for_piece(pattern), bad)
    if told.made:
        return told.made
    found = {name: form.sentence(e) for name, e in {**bad, **told.errors}.items()}
    # What is wrong with the job is told at its own field; the row only says that it waits for it.
    return Row(problems=found | ({"": form.sentence(told.general)} if told.general else {}))


def _of_row(e: InputError) -> str:
    """The key of a row that an error is about; one of the job's own keys is none of them."""
    name = wrong.blamed(e)
    return name if name in doors.PIECE_KEYS else ""


def shown(row: Row, whole: Mapping[str, Any]) -> dict[str, Any]:
    """A row for the page: cut length (from the shortest to the longest of a run), what to mind, what is wrong."""
    if row.problems:
        labels = {name: doors.PIECE_KEYS[name].label for name in row.problems if name in doors.PIECE_KEYS}
        return {"cut": "", "problems": row.problems, "labels": labels, "mind": [], "count": 0}
    low, high = min(p.strap.length for p in row.own), max(p.strap.length for p in row.own)
    units = _unit(whole)
    with shown_in(units):
        one = format_length(high, units)
        cut = one if high - low < 0.05 else tr("{low} to {one}", low=format_length(low, units), one=one)
        mind = list(
            dict.fromkeys(
                findings.sentence(f) for p in row.pieces for f in p.findings if f.level == "caution" and not f.is_safety
            )
        )
    return {"cut": cut, "problems": {}, "labels": {}, "mind": mind, "count": sum(p.count for p in row.own)}


def order(raw: Mapping[str, Any], places: Places) -> tuple[Job, Lists]:
    """The lists of a job document.

    Raises:
        InputError: for the first thing that cannot be used.
    """
    job = doors.of_document(raw, Place.file(tr("the job")), places, "job")
    whole = {k: v for k, v in raw.items() if k != "pieces"}
    pieces: list[Piece] = []
    for k, each in enumerate(raw["pieces"], start=1):
        row = row_of(whole, each, places, ())
        if row.problems:
            key, text = next(iter(row.problems.items()))
            raise InputError(
                tr("row {k}{rest}", k=k, rest=f", {key}" if key else ""), text.rstrip("."), tr("mend it in the list")
            )
        pieces += row.pieces
    with shown_in(job.units):
        return job, lists.of_job(job, pieces)


def _groups(listed: Lists, job: Job) -> Iterator[tuple[Table, ...]]:
    with shown_in(job.units):
        for each in listed.tables(job.units):
            yield (each,) if isinstance(each, Table) else each


def as_data(table: Table) -> dict[str, Any]:
    """A table of the order page for the page in the browser: the same words and numbers as on paper."""
    return {
        "heading": table.heading,
        "remark": table.remark,
        "columns": [{"head": c.head, "end": c.align == "end", "strong": c.strong} for c in table.columns],
        "sections": [
            {"heading": s.heading, "remark": s.remark, "rows": [list(r) for r in s.rows], "total": list(s.total)}
            for s in table.sections
        ],
        "total": list(table.total),
        "notes": list(table.notes),
        "ticks": table.ticks,
    }
