"""An order written down: a job document as the text of a job file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def toml(raw: Mapping[str, Any]) -> str:
    """A job document as the text of a job file; plain keys first, since what follows a table belongs to it."""
    import tomlkit

    doc = tomlkit.document()
    own = {k: v for k, v in raw.items() if k != "pieces" and v is not None}
    for key, value in sorted(own.items(), key=lambda item: _is_table(item[1])):
        doc.add(key, tomlkit.item(value))
    rows = tomlkit.aot()
    for piece in raw["pieces"]:
        table = tomlkit.table()
        for key, value in piece.items():
            if value is not None:
                table.add(key, inline(value) if isinstance(value, dict) else tomlkit.item(value))
        rows.append(table)
    doc.add("pieces", rows)
    return tomlkit.dumps(doc)


def _is_table(value: Any) -> bool:
    """Whether TOML writes a value under a heading of its own."""
    return isinstance(value, dict) or (isinstance(value, list) and any(isinstance(v, dict) for v in value))


def inline(table: Mapping[str, Any]) -> Any:
    """A table as TOML writes it on one line."""
    import tomlkit

    out = tomlkit.inline_table()
    for key, value in table.items():
        out[key] = inline(value) if isinstance(value, dict) else value
    return out
