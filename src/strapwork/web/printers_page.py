"""The page of printers: the calibration sheet, and readings kept as ``strapwork scale`` keeps them."""

from __future__ import annotations

from pathlib import Path

from flask import Flask, Response, jsonify, render_template, request

from strapwork import units
from strapwork.drawing import pdf
from strapwork.errors import InputError
from strapwork.files.folders import Places
from strapwork.printer import calibration
from strapwork.stock import printers
from strapwork.stock.papers import PAPERS, parse_paper
from strapwork.web import asked, bodies

READINGS = ("X", "Y", "D1", "D2")


def register(app: Flask, places: Places) -> None:
    """The routes under ``/printers``."""

    def path() -> Path:
        return places.printers or printers.default_path()

    @app.get("/printers")
    def printers_page() -> str:
        try:
            kept, problem = printers.read(path()), ""
        except InputError as e:
            kept, problem = {}, str(e)
        return render_template(
            "printers.html",
            path=path(),
            problem=problem,
            papers=[name for name in PAPERS if name != "A4"],
            said=[calibration.words(p) for p in kept.values()],
        )

    @app.get("/printers/sheet")
    def printers_sheet() -> Response:
        paper = parse_paper(request.args.get("paper", "A4")[:40])
        reply = Response(pdf.write([calibration.sheet(paper)], "Printer calibration sheet"), mimetype="application/pdf")
        reply.headers["Content-Disposition"] = 'attachment; filename="scale.pdf"'
        return reply

    @app.post("/printers")
    def printers_keep() -> Response:
        body = bodies.document(request)
        name = asked.text(body, "printer")
        if not name:
            raise InputError("Printer", "the printer has no name yet", "type one, such as attic")
        name = printers.check_name(name, "Printer")
        given = body.get("readings")
        texts = [str(t).strip() for t in given] if isinstance(given, list) else []
        texts = texts[:2] if len(texts) == 4 and not any(texts[2:]) else texts
        for label, text in zip(READINGS, [*texts, *([""] * (2 - len(texts)))], strict=False):
            if not text:
                raise InputError(label, "the reading is missing", "measure it, or leave both diagonals out")
        read = [
            units.parse_length(text, place=label, unit="mm", most=1e5)
            for label, text in zip(READINGS, texts, strict=False)
        ]
        paper = parse_paper(asked.text(body, "paper", 40) or "A4")
        printer = calibration.judge(name, paper, read, "the readings")
        printers.store(path(), printer)
        return jsonify(said=f"{calibration.words(printer)}\nKept; choose it in the field 'Measured printer'.")
