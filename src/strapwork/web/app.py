"""The page: routes and nothing else; what they show comes from the same functions as the command line."""

from __future__ import annotations

import io
import threading
import zipfile
from dataclasses import replace
from typing import Any

from flask import Flask, Response, abort, jsonify, render_template, request
from werkzeug.exceptions import HTTPException

from strapwork import __version__
from strapwork.braid import plan as plans
from strapwork.catalogue import tr
from strapwork.errors import InputError, Place
from strapwork.files import folders
from strapwork.files.folders import Places
from strapwork.files.toml import parse_toml
from strapwork.job import job as jobs
from strapwork.order import doors
from strapwork.order.names import file_stem
from strapwork.order.order import Job
from strapwork.stock import patterns as pattern_files
from strapwork.web import (
    assets,
    atlas_page,
    bodies,
    braid_page,
    compressed,
    documents,
    form,
    guard,
    kept_page,
    leathers_page,
    order_page,
    piece_page,
    prices_page,
    printers_page,
    sizes_page,
    spoken,
)
from strapwork.web.bounds import Busy
from strapwork.web.tasks import Tasks

KINDS = ("pdf", "svg", "dxf", "card", "all")
MOST_COPIES = 200
MOST_SIZES = 25  # of one download: some seconds at the most
WARMED = 13
MIME = {".pdf": "application/pdf", ".zip": "application/zip", ".toml": "application/toml"}


def create_app(places: Places | None = None, bound: str = "127.0.0.1") -> Flask:
    """The application.

    Args:
        places: where the maker's own patterns, leathers and printers are.
        bound: address it will be served on, for the Host check.
    """
    places = places or Places()
    folder = folders.folder("templates")
    static = folder / "static"
    app = Flask(
        "strapwork",
        template_folder=str(folder),
        static_folder=str(static),
        static_url_path=assets.address(static),
    )
    app.config["SEND_FILE_MAX_AGE_DEFAULT"] = assets.KEPT
    app.json.sort_keys = False  # type: ignore[attr-defined]  # a job's sizes keep the order they were written in
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.filters["filled"] = piece_page.filled
    spoken.install(app)
    token = guard.protect(app, bound)
    compressed.install(app)
    tasks = Tasks()

    @app.context_processor
    def common() -> dict[str, Any]:
        return {"version": __version__, "token": token}

    @app.errorhandler(InputError)
    def refused(e: InputError) -> tuple[Any, int] | tuple[Any, int, dict[str, str]]:
        answer = render_template("error.html", text=str(e)) if wants_page() else jsonify(error=str(e))
        if isinstance(e, Busy):
            return answer, e.status, {"Retry-After": "2"}
        return answer, 400

    @app.errorhandler(HTTPException)
    def http(e: HTTPException) -> tuple[Any, int]:
        known = {
            404: tr("There is nothing at this address."),
            413: tr("That is too large; the limit is 1 MB."),
            405: tr("That cannot be done here."),
        }
        text = known.get(e.code or 500, e.description or tr("That did not work."))
        if wants_page():
            return render_template("error.html", text=text), e.code or 500
        return jsonify(error=text), e.code or 500

    @app.errorhandler(Exception)
    def fault(e: Exception) -> tuple[Response, int]:
        app.logger.exception("a fault of ours")
        return jsonify(error=tr("Something went wrong on our side; the terminal that runs the page says more.")), 500

    @app.get("/")
    def piece() -> str:
        return render_template("piece.html", **piece_page.page(app, request.args, places))

    @app.get("/preview")
    def preview() -> Response:
        return jsonify(piece_page.answer(app, request.args, places))

    @app.get("/pattern/<name>")
    def pattern(name: str) -> Response:
        return jsonify(piece_page.about(pattern_files.find(name, "pattern", places.patterns), places))

    @app.get("/file/<kind>")
    def file(kind: str) -> Response:
        got = form.read(request.args, places)
        if kind == "job":
            made = documents.of_fields(got.values)
            title = got.values["label"] or got.values["pattern"]
            text = documents.toml({"title": title, **made["job"], "pieces": [made["piece"]]})
            return send(text.encode(), f"{file_stem(title)}.toml")
        if kind not in KINDS:
            abort(404)
        if got.job is None:
            raise InputError("piece", first_problem(got).rstrip("."), tr("mend it on the page first"))
        if len(got.job.orders) > MOST_SIZES:
            raise InputError(
                "sizes",
                tr("more than {most_sizes} are too many for one download", most_sizes=MOST_SIZES),
                tr("make them as a job"),
            )
        return deliver(jobs.make(options(got.job, kind), keep_sheets=False), kind)

    @app.get("/braid")
    def braid() -> str:
        return render_template("braid.html", **braid_page.page(request.args))

    @app.get("/braid/rescue")
    def rescue() -> Response:
        return jsonify(braid_page.mended(request.args))

    @app.get("/braid/slips")
    def slips() -> Response:
        return jsonify(braid_page.slips(request.args))

    @app.get("/braid/atlas")
    def atlas() -> str:
        return render_template("braid_atlas.html", **atlas_page.atlas(request.args))

    @app.get("/job/piece")
    def job_piece() -> Response:
        got = form.read(request.args, places)
        if got.job is None:
            raise InputError("piece", first_problem(got).rstrip("."), tr("mend it on the page first"))
        return jsonify(documents.of_fields(got.values))

    @app.post("/job/fields")
    def job_fields() -> Response:
        body = bodies.document(request)
        piece = body.get("piece")
        if not isinstance(piece, dict):
            raise InputError(tr("the page"), tr("the request names no piece"), tr("reload the page"))
        whole = body.get("job")
        return jsonify(fields=documents.to_fields(whole if isinstance(whole, dict) else {}, piece))

    @app.post("/job/text")
    def job_text() -> Response:
        body = bodies.document(request)
        raw = documents.of_page(body)
        checked(raw)
        return jsonify(toml=documents.toml(raw), name=f"{documents.stem(body)}.toml")

    @app.post("/job/read")
    def job_read() -> Response:
        raw = parse_toml(request.get_data(), tr("the job file"))
        documents.refuse_many(raw.get("pieces"))
        doors.of_document(raw, Place.file(tr("the job file")), places, "job")
        return jsonify(documents.to_page(raw))

    @app.post("/job/table")
    def job_table() -> Response:
        body = bodies.document(request)
        base = body.get("piece")
        return jsonify(pieces=documents.of_table(str(body.get("text", "")), base if isinstance(base, dict) else {}))

    @app.post("/job/check")
    def job_check() -> Response:
        return jsonify(pieces=len(checked(documents.of_page(bodies.document(request))).orders))

    @app.post("/job/make")
    def job_make() -> Response:
        body = bodies.document(request)
        kind = str(body.get("kind", "all"))
        if kind not in KINDS:
            abort(404)
        job = checked(documents.of_page(body), documents.stem(body))
        return jsonify(task=tasks.start(options(job, kind), request.remote_addr or ""))

    @app.get("/job/task/<key>")
    def job_state(key: str) -> Response:
        task = tasks.get(key)
        if task is None:
            abort(404)
        return jsonify(state=task.state, done=task.done, total=task.total, error=task.error)

    @app.post("/job/task/<key>/cancel")
    def job_cancel(key: str) -> Response:
        if not tasks.cancel(key):
            abort(404)
        return jsonify(state="cancelled")

    @app.get("/job/task/<key>/<kind>")
    def job_file(key: str, kind: str) -> Response:
        task = tasks.get(key)
        if task is None or task.result is None or kind not in KINDS:
            abort(404)
        return deliver(task.result, kind)

    def checked(raw: dict[str, Any], stem: str = "job") -> Job:
        return doors.of_document(raw, Place.file(tr("the job")), places, stem)

    order_page.register(app, places)
    kept_page.register(app, places)
    leathers_page.register(app, places)
    sizes_page.register(app, places)
    printers_page.register(app, places)
    prices_page.register(app, places)
    _warm_up()
    return app


def wants_page() -> bool:
    """Whether a person follows a link or sends a form, so that a refusal has to be a page."""
    kinds = request.accept_mimetypes
    return request.method == "GET" and kinds["text/html"] > kinds["application/json"]


def first_problem(got: form.Read) -> str:
    """Why a piece cannot be made."""
    return got.general or next(iter(got.errors.values()), tr("The measure is missing."))


def options(job: Job, kind: str) -> Job:
    """The job with what a kind of download needs and no more."""
    copies = sum(order.ask.count for order in job.orders)
    if job.machine is not None and kind in ("dxf", "all") and copies > MOST_COPIES:
        # Laying out copies is the one piece of work that grows with what is typed.
        raise InputError(
            "count",
            tr("{copies} copies are too many to lay on a bed here", copies=copies),
            tr("keep it to {most_copies} or use the command line", most_copies=MOST_COPIES),
        )
    if kind == "dxf" and job.machine is None:
        raise InputError(tr("Cutter"), tr("none is chosen"), tr("choose the one that the files are for"))
    if kind == "pdf":
        return replace(job, formats=("pdf",), card="with", machine=None)
    if kind == "svg":
        return replace(job, formats=("svg",), card="with", machine=None)
    if kind == "card":
        return replace(job, formats=("pdf",), card="alone", machine=None)
    if kind == "dxf":
        return replace(job, formats=("pdf",), card="none")
    return replace(job, formats=("pdf", "svg"), card="with")


def deliver(result: jobs.Result, kind: str) -> Response:
    """The files of a result as one download."""
    stem = result.job.stem
    if kind in ("pdf", "card"):
        name = f"{stem}.pdf" if kind == "pdf" else f"{stem}-card.pdf"
        if name not in result.files:
            abort(404)
        return send(result.files[name], name)
    names = list(result.files)
    if kind == "dxf":
        machine = result.job.machine.name if result.job.machine else ""
        # Beds of several leathers have the leather's name before "bed".
        names = [n for n in names if n.startswith(f"{stem}-{machine}-") and "bed-" in n]
    elif kind == "svg":
        names = [n for n in names if n.endswith(".svg")]
    if not names:
        abort(404)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as z:
        for name in names:
            # A fixed date: the same job packs to the same bytes.
            z.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), result.files[name], zipfile.ZIP_DEFLATED)
    return send(packed.getvalue(), f"{stem}-{kind}.zip")


def send(content: bytes, name: str) -> Response:
    """A file to keep; ``name`` is made of plain letters, digits and hyphens."""
    r = Response(content, mimetype=MIME[name[name.rindex(".") :]])
    r.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return r


def _warm_up() -> None:
    """Work the braids out in the background, so that no keystroke has to wait for one."""

    def work() -> None:
        for n in range(3, WARMED + 1, 2):
            _ = plans.standard(n).schedules

    threading.Thread(target=work, daemon=True).start()


def serve(host: str, port: int, places: Places) -> None:
    """Serve until interrupted."""
    from strapwork.web import server

    server.create(create_app(places, host), host, port).run()
