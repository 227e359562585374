"""The page of prices: the maker's price files, what each says, and one to write."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from typing import Any

from flask import Flask, Response, jsonify, render_template, request

from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files import folders, update
from strapwork.files.folders import Places
from strapwork.files.reading import read_file
from strapwork.files.toml import decoded, parse_toml
from strapwork.order import resolve
from strapwork.web import asked, bodies
from strapwork.workshop import price_words, prices

MOST_FILES = 100


def register(app: Flask, places: Places) -> None:
    """The routes under ``/prices``."""

    def where() -> Path:
        return resolve.prices_folder(places)

    def named(name: str) -> Path:
        if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}", name):
            raise InputError(
                tr("Name"),
                tr("{name} is no name for a price file", name=shown(name)),
                tr("use letters, digits and hyphens"),
            )
        return where() / f"{name}.toml"

    @app.get("/prices")
    def prices_page() -> str:
        found = sorted(where().glob("*.toml"))[:MOST_FILES] if where().is_dir() else []
        starter = (folders.folder("templates") / "prices.toml").read_text(encoding="utf-8")
        return render_template("prices.html", folder=where(), files=[_shown(p) for p in found], starter=starter)

    @app.get("/prices/<name>")
    def prices_text(name: str) -> Response:
        raw = read_file(named(name), tr("price file"))
        return jsonify(text=decoded(raw, name), mark=_mark(raw))

    @app.post("/prices")
    def prices_keep() -> Response:
        body = bodies.document(request)
        name, mark = asked.text(body, "name"), asked.text(body, "mark")
        if not name:
            raise InputError(tr("Name"), tr("the price file has no name yet"), tr("type one, such as stall"))
        path = named(name)
        text = asked.text(body, "text", 200_000) + "\n"
        said = prices.from_data(parse_toml(text.encode(), tr("the price file")), tr("the price file"))

        def change(before: bytes | None) -> bytes:
            if before is not None and _mark(before) != mark:
                problem = (
                    tr("it was changed since it was opened here") if mark else tr("there is one of that name already")
                )
                raise InputError(
                    tr("the price file {name}", name=shown(name)),
                    problem,
                    tr("open it with 'Change', or take another name"),
                )
            return text.encode()

        update.rewrite(path, change)
        first = price_words.words(said).split("\n")[0]
        return jsonify(
            said=tr("{first}\nKept as '{name}'; a job names it in the field 'Prices'.", first=first, name=name)
        )


def _mark(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()


def _shown(path: Path) -> dict[str, Any]:
    try:
        return {"name": path.stem, "said": price_words.words(prices.read(path)).split("\n"), "problem": ""}
    except InputError as e:
        return {"name": path.stem, "said": [], "problem": str(e)}
