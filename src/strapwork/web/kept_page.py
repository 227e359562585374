"""Jobs kept by name, beside the shelf: listed, opened, saved, renamed, taken out and put back."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

from flask import Flask, Response, jsonify, request

from strapwork.catalogue import tr
from strapwork.files.folders import Places
from strapwork.order import kept
from strapwork.web import asked, bodies, documents


def register(app: Flask, places: Places) -> None:
    """The routes under ``/jobs``."""

    def where() -> Path:
        return kept.folder(asked.shelf_path(places))

    @app.get("/jobs")
    def jobs_listed() -> Response:
        return jsonify(folder=str(where()), jobs=[asdict(k) for k in kept.listed(where())], out=kept.taken_out(where()))

    @app.get("/jobs/<name>")
    def jobs_open(name: str) -> Response:
        raw, mark = kept.read(where(), name)
        whole = {k: v for k, v in raw.items() if k != "pieces"}
        # Rows that cannot be made yet are shown with what is wrong; what is no job at all is refused.
        checked = documents.of_page({"job": whole, "pieces": raw.get("pieces")})
        return jsonify(**documents.to_page(checked), mark=mark, name=kept.check_name(name, tr("the name")))

    @app.post("/jobs/<name>")
    def jobs_save(name: str) -> Response:
        body = bodies.document(request)
        mark = kept.save(where(), name, documents.of_page(body), asked.text(body, "mark"))
        return jsonify(mark=mark, name=kept.check_name(name, tr("the name")), folder=str(where()))

    @app.post("/jobs/<name>/rename")
    def jobs_rename(name: str) -> Response:
        body = bodies.document(request)
        return jsonify(name=kept.rename(where(), name, asked.text(body, "to"), asked.text(body, "mark")))

    @app.post("/jobs/<name>/take-out")
    def jobs_take_out(name: str) -> Response:
        return jsonify(called=kept.take_out(where(), name, asked.text(bodies.document(request), "mark")))

    @app.post("/jobs/<called>/put-back")
    def jobs_put_back(called: str) -> Response:
        bodies.document(request)
        return jsonify(name=kept.put_back(where(), called))
