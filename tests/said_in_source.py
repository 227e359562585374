"""What the sources say to people, found in them by Babel: the catalogue is made of it, and the tests hold it against it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_file

ROOT = Path(__file__).resolve().parents[1]
POT = ROOT / "src" / "strapwork" / "locale" / "strapwork.pot"
KEYWORDS = {"tr": None, "trn": (1, 2), "marked": None}
IN_TEMPLATES = {**KEYWORDS, "gettext": None, "ngettext": (1, 2)}
TEMPLATES = {"newstyle_gettext": "true", "trimmed": "true", "silent": "false"}
# Words of the files that come with the tool, by where they lie: what people read of them (``values.Words``).
WORDS = {
    "patterns": {"title", "about", "what", "how", "over", "reference", "label"},
    "hardware": {"title", "source", "setting"},
    "machines": {"title"},
    "bodies": {"title", "about", "note"},
}


class Said(NamedTuple):
    """One sentence: its English (one and many, where it is counted) and the file it stands in."""

    words: str | tuple[str, ...]
    place: str


def said() -> Iterator[Said]:
    """Every sentence of the sources, file by file."""
    for path in sorted((ROOT / "src" / "strapwork").rglob("*.py")):
        yield from _found("python", path, KEYWORDS)
    for path in sorted((ROOT / "templates").glob("*.html")):
        yield from _found("jinja2.ext:babel_extract", path, IN_TEMPLATES, TEMPLATES)
    for path in sorted((ROOT / "templates" / "static").glob("*.js")):
        yield from _found("javascript", path, KEYWORDS)
    for path in sorted((ROOT / "patterns").rglob("*.toml")):
        place = path.relative_to(ROOT).as_posix()
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        for text in _strings(data, WORDS[path.parent.name]):
            yield Said(text, place)
        for girth in data.get("girths", ()):
            yield Said(girth, place)


def _found(method: str, path: Path, keywords: dict, options: dict | None = None) -> Iterator[Said]:
    for _, message, _, _ in extract_from_file(method, path, keywords, options=options):
        yield Said(message, path.relative_to(ROOT).as_posix())


def _strings(data: object, names: set[str]) -> Iterator[str]:
    if isinstance(data, dict):
        for key, value in data.items():
            if isinstance(value, str):
                if key in names:
                    yield value
            else:
                yield from _strings(value, names)
    elif isinstance(data, list):
        for value in data:
            yield from _strings(value, names)


def catalogue() -> Catalog:
    """All of it as a catalogue, without dates, so that the same sources make the same file."""
    out = Catalog(
        project="Strapwork",
        charset="utf-8",
        fuzzy=False,
        creation_date=datetime(2026, 1, 1, tzinfo=UTC),
        header_comment="# What Strapwork says to people, for translators.",
    )
    for words, place in said():
        out.add(words, locations=[(place, 0)])
    return out
