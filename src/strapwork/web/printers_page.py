"""The page of printers: the calibration sheet, readings kept as ``strapwork scale`` keeps them, and pictures read as it does."""

from __future__ import annotations

from pathlib import Path

from flask import Flask, Response, jsonify, render_template, request

from strapwork import units
from strapwork.catalogue import tr
from strapwork.drawing import pdf
from strapwork.errors import InputError, shown
from strapwork.files.folders import Places
from strapwork.printer import calibration
from strapwork.stock import printers
from strapwork.stock.papers import PAPERS, parse_paper
from strapwork.web import asked, bodies, pictures
from strapwork.web.pictures import Pictures

READINGS = ("X", "Y", "D1", "D2")
# What the command line calls what the page asks for, longest first.
NAMES = {
    'with --bar "ACROSS" "ALONG"': tr("in the two fields for the bars"),
    "--picture": tr("Picture"),
    "--bar": tr("Black bars"),
    "--dpi": tr("Dots per inch"),
    "--paper": tr("Paper of the sheet"),
}
KEPT = tr("Kept; choose it in the field 'Measured printer'.")


def register(app: Flask, places: Places) -> None:
    """The routes under ``/printers``."""

    coming = Pictures()

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
            unread=without_scan(),
            largest=pictures.LARGEST,
            papers=[name for name in PAPERS if name != "A4"],
            said=[calibration.words(p) for p in kept.values()],
        )

    @app.get("/printers/sheet")
    def printers_sheet() -> Response:
        paper = parse_paper(request.args.get("paper", "A4")[:40])
        reply = Response(
            pdf.write([calibration.sheet(paper)], tr("Printer calibration sheet")), mimetype="application/pdf"
        )
        reply.headers["Content-Disposition"] = 'attachment; filename="scale.pdf"'
        return reply

    @app.post("/printers")
    def printers_keep() -> Response:
        body = bodies.document(request)
        name = asked.text(body, "printer")
        if not name:
            raise InputError(tr("Printer"), tr("the printer has no name yet"), tr("type one, such as attic"))
        name = printers.check_name(name, tr("Printer"))
        given = body.get("readings")
        texts = [str(t).strip() for t in given] if isinstance(given, list) else []
        texts = texts[:2] if len(texts) == 4 and not any(texts[2:]) else texts
        for label, text in zip(READINGS, [*texts, *([""] * (2 - len(texts)))], strict=False):
            if not text:
                diagonal = label not in READINGS[:2]
                remedy = tr("measure it, or leave both diagonals out") if diagonal else tr("measure it")
                raise InputError(label, tr("the reading is missing"), remedy)
        read = [
            units.parse_length(text, place=label, unit="mm", most=1e5)
            for label, text in zip(READINGS, texts, strict=False)
        ]
        paper = parse_paper(asked.text(body, "paper", 40) or "A4")
        printer = calibration.judge(name, paper, read, tr("the readings"))
        printers.store(path(), printer)
        return jsonify(said=f"{calibration.words(printer)}\n{KEPT}")

    @app.post("/printers/picture")
    def printers_picture() -> Response:
        size = bodies.document(request).get("size")
        missing = without_scan()
        if missing:
            raise InputError(tr("Picture"), *missing)
        return jsonify(key=coming.begin(size if type(size) is int else 0))

    @app.post("/printers/picture/<key>")
    def printers_part(key: str) -> Response:
        return jsonify(there=coming.add(key, request.get_data()))

    @app.post("/printers/picture/<key>/read")
    def printers_read(key: str) -> Response:
        from strapwork.printer import photo, picture_file

        body = bodies.document(request)
        with coming.whole(key) as raw:  # whatever is wrong with the rest, the picture is not kept for another try
            name = asked.text(body, "printer")
            called = printers.check_name(name, tr("Printer")) if name else tr("this printer")
            paper = parse_paper(asked.text(body, "paper", 40) or "A4")
            dpi, bars = _dots(asked.text(body, "dpi")), _bars(asked.text(body, "across"), asked.text(body, "along"))
            picture = picture_file.Picture(raw, asked.text(body, "file") or tr("the picture"), pictures.MOST_PIXELS)
            try:
                printer = photo.judge(picture, paper, called, dpi, bars)
            except InputError as e:
                raise InputError(*(on_the_page(text) for text in (e.place, e.problem, e.remedy))) from e
        if not name:
            said = tr(
                "{printer}\nNot kept: give the printer a name and measure the picture again.",
                printer=calibration.words(printer),
            )
            return jsonify(said=said, kept=False)
        printers.store(path(), printer)
        return jsonify(said=f"{calibration.words(printer)}\n{KEPT}", kept=True)


def without_scan() -> tuple[str, str] | None:
    """Why no picture can be read here, and what to do; None where it can."""
    from strapwork.printer import picture_file

    try:
        picture_file.libraries("Picture")
    except InputError as e:
        return e.problem, e.remedy
    return None


def on_the_page(text: str) -> str:
    """A sentence of the command line with the page's names for what is asked."""
    for option, name in NAMES.items():
        text = text.replace(option, name)
    return text


def _dots(text: str) -> float | None:
    if not text:
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError as e:
        raise InputError(
            tr("Dots per inch"),
            tr("{text} is no number", text=shown(text)),
            tr("leave it empty for a photograph, or give 300, for example"),
        ) from e


def _bars(across: str, along: str) -> list[str]:
    if along and not across:
        raise InputError(tr("Black bars"), tr("the bar across is missing"), tr("give the bar across as well"))
    return [text for text in (across, along) if text]
