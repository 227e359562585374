"""Strapwork in a language that nobody speaks, in a process of its own.

The language is English with every letter that has one under an accent, so that a word that did not go through the catalogue
is seen at once.  What comes back are the words of pages, terminal and paper that stayed English, and the numbers of some jobs.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import html5lib
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from tests.said_in_source import POT, ROOT

LANGUAGE = "eo"
PLAIN = "aceghijklnorstuwyzACEGHIJKLNORSTUWYZ"
ACCENTED = "áćéĝĥíĵķĺńóŕśťúŵýźÁĆÉĜĤÍĴĶĹŃÓŔŚŤÚŴÝŹ"
KEPT = re.compile(r"(\{[^{}]*\}|<[^<>]*>|%\(\w+\)s|&\w+;)")
# What nobody translates: names of files, of goods and machines as they are typed, a source as it was published, what makers
# called their own, groups of strands.
NAMES = {
    "strapwork", "Strapwork", "made", "NAME", "LENGTH", "numbers", "json", "svg", "ANSUR", "legal", "tabloid", "EUR", "min", "card", "bed", "map", "wristband-map", "piece", "abc", "many",
    "drag-knife", "laser", "oscillating-knife", "pen-plotter", "large", "small", "none",
    "wristband", "belt", "bag-handle", "carrier-handle", "key-fob", "dog-lead", "hat-band", "keeper-loop", "plain-strap",
    "and", "Army", "Gordon", "Natick", "anthropometric", "others", "personnel", "public", "release", "survey",
    "Bruno", "Ines", "bench", "window", "one", "two", "harbour-tan", "quay-brown", "slip-soft", "attic", "stall", "letter",
    *("ABD", "ABE", "ACD", "ACE", "ADE", "BCD", "BCE", "BDE"),
}  # fmt: skip
# States that say no word that another does not.
ALIKE = {
    "a piece",
    "thirteen strands",
    "a piece that is wrong as a whole",
    "goods that there are not",
    "sizes",
    "sizes that are wrong",
}
TURNS = re.compile(r"[RL][ou.]+")
JOBS = {
    "wristband": ("172 mm", "--machine", "laser"),
    "belt": ("34 in", "--units", "in", "--load", "12 kg", "--holes", "7"),
    "carrier-handle": ("460 mm", "--strands", "5", "--hand", "left", "--broken"),
}


def other(text: str) -> str:
    """``text`` in that language; parts and markup stay."""
    return "".join(
        part if KEPT.fullmatch(part) else part.translate(str.maketrans(PLAIN, ACCENTED)) for part in KEPT.split(text)
    )


def written(folder: Path) -> None:
    """The catalogue of that language, compiled as a translator's is."""
    words = Catalog(locale=LANGUAGE, project="Strapwork")
    with POT.open("rb") as kept:  # it has what the sources say, which a test of its own holds it to
        for text in (m.id for m in read_po(kept) if m.id):
            words.add(text, tuple(map(other, text)) if isinstance(text, tuple) else other(text))
    path = folder / LANGUAGE / "LC_MESSAGES" / "strapwork.mo"
    path.parent.mkdir(parents=True)
    with path.open("wb") as file:
        write_mo(file, words)


def english(text: str) -> Iterator[str]:
    """Words that are English still; paths are no words."""
    for word in re.findall(r"[^\s,;:.()\[\]“”'\"=|]+", re.sub(r"\S*/\S*/\S*", "", text)):
        plain = re.fullmatch(r"[A-Za-z][A-Za-z-]{2,}", word) and any(c in PLAIN for c in word)
        if plain and word not in NAMES and not TURNS.fullmatch(word) and not word.startswith("-"):
            yield word


def visible(page: str) -> Iterator[str]:
    """What a page shows or reads out, text by text."""
    tree = html5lib.parse(page, namespaceHTMLElements=False)
    for e in _shown(tree):
        yield e.text or ""
        yield from (e.get(key) or "" for key in ("aria-label", "placeholder", "title", "alt"))
        yield from (child.tail or "" for child in e)


def _shown(e: ElementTree.Element) -> Iterator[ElementTree.Element]:
    if e.tag in ("script", "style", "code", "textarea") or not isinstance(e.tag, str):
        return
    yield e
    for child in e:
        yield from _shown(child)


def pages() -> dict[str, list[str]]:
    from strapwork.files.folders import Places
    from strapwork.web import app
    from tests.page_states import GOODS, SHELF, STATES, served

    client = app.create_app(Places(None, SHELF)).test_client()
    out = {}
    for name, page in served(
        client, [name for name in STATES if name not in ALIKE and name.removeprefix("a ") not in GOODS]
    ):
        assert f'lang="{LANGUAGE}"' in page, name
        out[name] = sorted({word for text in visible(page) for word in english(text)})
    return out


def jobs(folder: Path) -> dict[str, Any]:
    from strapwork.cli.main import main
    from tests.helpers import pages_read

    out: dict[str, Any] = {"words": {}, "numbers": {}}
    for pattern, (measure, *more) in JOBS.items():
        told = io.StringIO()
        with contextlib.redirect_stdout(told):
            main(["draft", pattern, "--measure", measure, *more, "--out", str(folder / pattern)])
        paper = "\n".join(page for pdf in (folder / pattern).glob("*.pdf") for page in pages_read(pdf))
        out["words"][f"{pattern} in the terminal"] = sorted(set(english(told.getvalue())))
        out["words"][f"{pattern} on paper"] = sorted(set(english(paper)))
        out["numbers"][pattern] = json.loads((folder / pattern / "numbers.json").read_text(encoding="utf-8"))
    # A whole order with sizes, strips and prices; what its file says is the maker's own.
    asked = ROOT / "samples" / "stall.toml"
    told = io.StringIO()
    with contextlib.redirect_stdout(told):
        main(["make", str(asked), "--shelf", str(asked.with_name("leathers.toml")), "--out", str(folder / "stall")])
    paper = "\n".join(pages_read(folder / "stall" / "stall.pdf"))
    own = {*re.findall(r"[A-Za-z-]+", asked.read_text(encoding="utf-8")), "order", "csv"}
    out["words"]["an order in the terminal"] = sorted(set(english(told.getvalue())) - own)
    out["words"]["an order on paper"] = sorted(set(english(paper)) - own)
    return out


def run(folder: Path) -> dict[str, Any]:
    """Everything, from a process that speaks the language; ``folder`` has its catalogue."""
    in_it = (
        f"import gettext; real = gettext.translation; gettext.translation = lambda d, f, **k: real(d, {str(folder)!r}, **k); "
        "import tests.another_language as it; it.say()"
    )
    env = {**os.environ, "LANGUAGE": LANGUAGE, "PYTHONIOENCODING": "utf-8"}
    command = [sys.executable, "-c", in_it, str(folder)]
    made = subprocess.run(command, cwd=ROOT, env=env, capture_output=True, encoding="utf-8", check=True)
    return json.loads(made.stdout)


def say() -> None:
    made = jobs(Path(sys.argv[1]) / "made")
    print(json.dumps({"pages": pages(), **made}))
