"""The page of the shelf: every leather with what was measured of it, and the field for a finished piece."""

from __future__ import annotations

import json
from typing import Any

from flask import Flask, Response, jsonify, render_template, request

from strapwork import units
from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files import carried
from strapwork.files.folders import Places
from strapwork.files.jsonin import parse_json
from strapwork.job.job import NUMBERS
from strapwork.piece import made, teaching
from strapwork.stock import learned, shelf
from strapwork.stock.leather import Leather
from strapwork.units import format_mm
from strapwork.web import asked, bodies, plots

FIELDS = tr("the field '{}'")  # how messages name what was typed


def register(app: Flask, places: Places) -> None:
    """The routes under ``/leathers``."""

    @app.get("/leathers")
    def leathers_page() -> str:
        path = asked.shelf_path(places)
        try:
            kept, problem = shelf.read(path), ""
        except InputError as e:
            kept, problem = {}, str(e)
        return render_template(
            "leathers.html", path=path, problem=problem, leathers=[as_shown(leather) for leather in kept.values()]
        )

    @app.post("/leathers/numbers")
    def leathers_numbers() -> Response:
        """The pieces in a PDF or a ``numbers.json``, each with what is needed to learn from it."""
        name = " ".join(request.args.get("name", "").split())[:80] or tr("the file")
        data = _numbers(request.get_data(), name)
        rows, leathers = [], set()
        for k, piece in enumerate(data["pieces"], start=1):
            if piece.get("braid"):
                cut = made.parse(_alone(data, piece), None, tr("{name}, piece {k}", name=name, k=k))
                rows.append({"number": k, "label": cut.label, "finished": format_mm(cut.finished)})
                leathers.add(cut.leather)
        if not rows:
            raise InputError(name, tr("no braided piece is in it"), tr("choose another file"))
        # Only what is needed goes back and forth: the whole may be larger than a request.
        return jsonify(numbers=json.dumps(data), pieces=rows, leathers=sorted(leathers - {""})[:5])

    @app.post("/leathers/made")
    def leathers_made() -> Response:
        body = bodies.document(request)
        place = FIELDS.format(tr("Came out at"))
        text = asked.text(body, "measured")
        numbers = asked.text(body, "numbers", 900_000).encode()
        cut = _chosen(numbers, asked.text(body, "piece"))
        if not text:
            remedy = tr("measure it and type it, for example {finished}", finished=format_mm(cut.finished))
            raise InputError(place, tr("how long {label} came out is missing", label=shown(cut.label)), remedy)
        path = asked.shelf_path(places)
        try:
            taught = teaching.teach(
                path,
                cut,
                units.parse_length(text, place="measured"),
                asked.text(body, "leather") or None,
                asked.text(body, "date") or None,
                another=bool(asked.text(body, "another")),
                places="{}",
            )
        except InputError as e:
            raise e.at(FIELDS.format(LABELS[e.place])) if e.place in LABELS else e from e
        return jsonify(said=f"{taught.words()}{taught.new()}")

    @app.post("/leathers/undo")
    def leathers_undo() -> Response:
        name = asked.text(bodies.document(request), "leather")
        return jsonify(said=teaching.take_back(asked.shelf_path(places), name, FIELDS.format(LABELS["leather"])))


LABELS = {"measured": tr("Came out at"), "leather": tr("Leather of the shelf"), "date": tr("Measured on")}


KEYS = ("label", "count", "measure_mm", "leather", "fit", "strap", "braid")  # what teaching reads of a piece
MOST_PIECES = 1000


def _numbers(raw: bytes, name: str) -> dict[str, Any]:
    """What is in a PDF or a ``numbers.json``, its pieces with no more than ``KEYS``."""
    if raw.startswith(b"%PDF"):
        raw = carried.taken_from(raw, name, (NUMBERS,))[NUMBERS]
    data = parse_json(raw, name, made.LARGEST_FILE)
    pieces = data.get("pieces") if isinstance(data, dict) else None
    if not isinstance(pieces, list) or "strapwork" not in data or not all(isinstance(p, dict) for p in pieces):
        raise InputError(name, tr("this holds no pieces of ours"), tr("give the PDF or the numbers.json of the sheets"))
    if len(pieces) > MOST_PIECES:
        problem = tr("{pieces} pieces are too many here", pieces=len(pieces))
        raise InputError(name, problem, tr("use 'strapwork made' in a terminal"))
    whole = {k: data[k] for k in ("strapwork", "units") if k in data}
    return {**whole, "pieces": [{k: p[k] for k in KEYS if k in p} for p in pieces]}


def _alone(data: dict[str, Any], piece: dict[str, Any]) -> bytes:
    """One piece as a file of numbers of its own: its label may be that of others too."""
    return json.dumps({**data, "pieces": [piece]}).encode()


def _chosen(numbers: bytes, piece: str) -> made.Cut:
    """The piece with that number in the list."""
    data = parse_json(numbers, tr("the numbers")) if numbers else {}
    pieces = data.get("pieces") if isinstance(data, dict) else None
    if not isinstance(pieces, list) or not piece.isascii() or not piece.isdigit() or not 1 <= int(piece) <= len(pieces):
        raise InputError(FIELDS.format("Piece"), tr("no piece is chosen"), tr("choose the one that was measured"))
    return made.parse(_alone(data, pieces[int(piece) - 1]), None, tr("the numbers"))


def as_shown(leather: Leather) -> dict[str, Any]:
    """One leather for the page: the words of the terminal, its straps, and their plot."""
    known = leather.learned
    first, *rest = shelf.words(leather).split("\n")
    lines = {f"      {learned.line(s)}" for s in known.straps} if known else set()
    said = [
        first.partition(": ")[2].removeprefix(f"{leather.name}, "),
        *(row.strip() for row in rest if row not in lines),
    ]
    return {
        "name": leather.name,
        "said": said,
        "pieces": known.pieces if known else 0,
        "plot": plots.took_up(leather.name, known) if known else "",
        "straps": [
            {
                "what": s.what,
                "kind": tr("finished piece") if s.made else tr("swatch"),
                "date": s.date,
                "measured": format_mm(s.measured, 2),
                "model": format_mm(s.model, 2),
            }
            for s in (known.straps if known else ())
        ],
    }
