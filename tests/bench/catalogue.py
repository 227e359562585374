"""The catalogue of words, for translators:  python tests/bench/catalogue.py [LANGUAGE]

Writes ``src/strapwork/locale/strapwork.pot`` anew from what the sources say.  With a language, such as ``de`` or ``pt_BR``, its
``locale/LANGUAGE/LC_MESSAGES/strapwork.po`` is begun or brought up to date as well, and what is translated in it is compiled.
"""

from __future__ import annotations

import sys
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run by its path, it has only its own folder

from tests.said_in_source import POT, catalogue


def write(path: Path, words: Catalog) -> None:
    """One file of words, in the order of the sources."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        write_po(file, words, width=120, include_lineno=False)


def main() -> None:
    words = catalogue()
    write(POT, words)
    print(f"{len(words)} sentences")
    for language in sys.argv[1:]:
        path = POT.parent / language / "LC_MESSAGES" / "strapwork.po"
        there = Catalog(locale=language, project="Strapwork")
        if path.exists():
            with path.open("rb") as file:
                there = read_po(file, locale=language)
        there.update(words)
        write(path, there)
        with path.with_suffix(".mo").open("wb") as file:
            write_mo(file, there)
        done = sum(bool(m.string if isinstance(m.string, str) else m.string[0]) for m in there if m.id)
        print(f"{language}: {done} translated, {path}")


if __name__ == "__main__":
    main()
