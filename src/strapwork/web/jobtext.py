"""Job files and the page's list of pieces: the same TOML as on the command line."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit

from strapwork.errors import InputError, shown

MOST_ROWS = 200
TEXTS = (
    "label",
    "pattern",
    "measure",
    "leather",
    "temper",
    "width",
    "weave",
    "ease",
    "relief",
    "load",
    "ends",
    "hardware",
    "backing",
)
NUMBERS = ("count", "strands", "sets", "holes")


def _piece(values: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """One piece of a job file from the fields of the page; empty fields are left out."""
    out: dict[str, Any] = {}
    for name in TEXTS:
        text = str(values.get(name) or "").strip()[:200]
        if text:
            out[name] = text
    out.setdefault("label", out.get("pattern", "piece"))
    out.setdefault("pattern", "wristband")
    for name in NUMBERS:
        text = str(values.get(name) or "").strip()
        if text:
            if not (text.isascii() and text.isdigit()):
                raise InputError(name, f"{shown(text)} is no whole number", "type it in digits")
            out[name] = int(text[:6])
    unit = "in" if unit == "in16" else unit
    if unit:
        for name in ("measure", "width", "ease", "relief", "backing"):
            # Bare numbers get their unit written down: the file must not depend on the page.
            if re.fullmatch(r"[\d .,/½¼¾⅛⅜⅝⅞-]+", out.get(name, "")):
                out[name] = f"{out[name]} {unit}"
    return out


def _write(title: str, options: Mapping[str, Any], pieces: Sequence[dict[str, Any]]) -> str:
    doc = tomlkit.document()
    doc.add("title", tomlkit.item(title or "Job"))
    for key, value in options.items():
        if value not in ("", None, False):
            doc.add(key, tomlkit.item(value))
    rows = tomlkit.aot()
    for p in pieces:
        table = tomlkit.table()
        for key, value in p.items():
            table.add(key, tomlkit.item(value))
        rows.append(table)
    doc.add("pieces", rows)
    return tomlkit.dumps(doc)


def of_values(values: Sequence[Mapping[str, Any]]) -> str:
    """A job file for the pieces as the page's fields describe them."""
    first = values[0]
    options = {
        "paper": first.get("paper") or "A4",
        "machine": first.get("machine"),
        "left_handed": first.get("hand") == "left",
    }
    unit = str(first.get("units") or "mm")
    if unit in ("in", "in16"):
        options["units"] = unit
    return _write(str(first.get("label") or "Job"), options, [_piece(v, unit) for v in values])


def of_page(body: Mapping[str, Any]) -> str:
    """A job file for the page's list."""
    pieces = body.get("pieces")
    if not isinstance(pieces, list) or not pieces:
        raise InputError("the job", "there is no piece in the list", "add one")
    if len(pieces) > MOST_ROWS or not all(isinstance(p, dict) for p in pieces):
        raise InputError("the job", f"{len(pieces)} rows are too many", f"keep it to {MOST_ROWS}")
    options = {
        "paper": str(body.get("paper") or "A4")[:40],
        "machine": str(body.get("machine") or "")[:60],
        "left_handed": body.get("hand") == "left",
    }
    return _write(
        str(body.get("title") or "Job")[:120], options, [_piece(p, str(p.get("units") or "mm")) for p in pieces]
    )


def to_page(raw: Mapping[str, Any]) -> dict[str, Any]:
    """A checked job file as the page's list; size runs become a row a size."""
    unit = str(raw.get("units") or "mm")
    leathers = raw.get("leathers") or {}
    rows = []
    for p in raw["pieces"]:
        base = {k: str(v) for k, v in p.items() if k not in ("sizes", "measure")}
        named = leathers.get(p.get("leather", ""))
        if named:
            # The page has no leathers of its own: their facts go into the row.
            base["leather"] = str(named["thickness"])
            base.setdefault("temper", str(named.get("temper", "medium")))
        base["units"] = unit
        runs = p["sizes"].items() if "sizes" in p else [("", p["measure"])]
        for name, measure in runs:
            rows.append(base | {"measure": str(measure), "label": f"{p['label']} {name}".strip()})
    return {
        "title": raw["title"],
        "paper": raw.get("paper", "A4"),
        "machine": raw.get("machine", ""),
        "hand": "left" if raw.get("left_handed") else "right",
        "pieces": rows,
    }


def of_table(text: str, base: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Rows pasted from a spreadsheet: name, measure and, if there is one, count, a tab between them.

    Raises:
        InputError: naming the row that cannot be read.
    """
    rows = [(k, line) for k, line in enumerate(text.splitlines(), start=1) if line.strip()]
    if not rows:
        raise InputError("the table", "there is no row in it", "paste rows with a name and a measure")
    if len(rows) > MOST_ROWS:
        raise InputError("the table", f"{len(rows)} rows are too many", f"keep it to {MOST_ROWS}")
    out = []
    for number, line in rows:
        cells = [c.strip() for c in (line.split("\t") if "\t" in line else line.split(";"))]
        if len(cells) < 2 or not cells[1]:
            raise InputError(
                f"the table, row {number}",
                f"{shown(line)} has no measure",
                "put a tab or a semicolon between name and measure",
            )
        if len(cells) > 2 and cells[2] and not (cells[2].isascii() and cells[2].isdigit()):
            raise InputError(
                f"the table, row {number}", f"{shown(cells[2])} is no count", "write a whole number or leave it out"
            )
        row = {k: str(v)[:200] for k, v in base.items() if k in (*TEXTS, *NUMBERS, "units")}
        row |= {"label": cells[0][:80] or row.get("label", ""), "measure": cells[1][:40]}
        if len(cells) > 2 and cells[2]:
            row["count"] = cells[2]
        out.append(row)
    return out
