"""Everything that Strapwork says to people goes through one catalogue, ready for translators.

Judges: Babel, which finds what the sources say and compiles catalogues; Python's own parser, which finds it another way; GNU
gettext's rules of plurals (its manual, "Plural forms"); a language made up for the purpose, English under accents, in which
every word that passed the catalogue by is seen.
"""

from __future__ import annotations

import ast
import gettext
import io
import json
import re
import string
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from strapwork import catalogue
from strapwork.catalogue import tr, trn
from strapwork.cli.main import main
from strapwork.web import app, spoken
from tests import another_language, said_in_source
from tests.said_in_source import POT, ROOT

STATIC = ROOT / "templates" / "static"


@pytest.fixture(scope="module")
def in_source() -> list[said_in_source.Said]:
    return list(said_in_source.said())


def test_the_catalogue_for_translators_has_what_the_sources_say(in_source: list[said_in_source.Said]) -> None:
    """Where this is red: python tests/bench/catalogue.py"""
    with POT.open("rb") as file:
        there = {m.id for m in read_po(file) if m.id}
    assert there == {text for text, _ in in_source}


def test_babel_finds_every_sentence_that_python_finds(in_source: list[said_in_source.Said]) -> None:
    """A sentence inside the braces of an f-string, say, is one that translators would never see."""
    found = {text if isinstance(text, str) else text[0] for text, _ in in_source}
    assert sorted(set(_by_syntax()) - found) == []


def _by_syntax() -> Iterator[str]:
    for path in sorted((ROOT / "src" / "strapwork").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("tr", "trn", "marked"):
                first = node.args[0]
                assert not isinstance(first, ast.JoinedStr), f"{path}: a sentence with its parts in it already"
                if isinstance(first, ast.Constant):
                    yield first.value


def test_parts_of_a_sentence_have_names_so_that_another_language_can_put_them_elsewhere(
    in_source: list[said_in_source.Said],
) -> None:
    for text, place in in_source:
        for form in (text,) if isinstance(text, str) else text:
            if place.endswith((".py", ".js")):
                names = (
                    [name for _, name, _, _ in string.Formatter().parse(form) if name is not None]
                    if _parts(form)
                    else []
                )
                assert all(name.isidentifier() for name in names), (place, form)


def _parts(text: str) -> bool:
    return bool(re.search(r"\{[a-z_]+\d*(![rs])?(:[^{}]*)?\}", text))


def test_both_forms_of_what_is_counted_have_the_same_parts(in_source: list[said_in_source.Said]) -> None:
    for text, place in in_source:
        if isinstance(text, tuple) and not place.endswith(".js"):
            one, many = (set(re.findall(r"\{(\w+)", form)) for form in text)
            assert one <= many, (place, text)


def test_in_another_language_no_word_stays_english_and_no_number_changes(tmp_path: Path) -> None:
    """Pages, terminal and paper, in a process that speaks it; one test, as the process takes its time."""
    another_language.written(tmp_path)
    said = another_language.run(tmp_path)
    assert len(said["pages"]) > 10
    assert {name: words for part in ("pages", "words") for name, words in said[part].items() if words} == {}
    for pattern, (measure, *more) in another_language.JOBS.items():
        main(["draft", pattern, "--measure", measure, *more, "--out", str(tmp_path / "english" / pattern)])
        english = json.loads((tmp_path / "english" / pattern / "numbers.json").read_text(encoding="utf-8"))
        other = said["numbers"][pattern]
        for data in (english, other):
            del data["files"]  # how many bytes they have
        assert _numbers(other) == _numbers(english), pattern


def _numbers(data: Any, where: str = "") -> list[tuple[str, object]]:
    """Every number of a numbers.json by where it stands; of texts, only that there is one."""
    if isinstance(data, dict):
        return [x for key, value in data.items() for x in _numbers(value, f"{where}.{key}")]
    if isinstance(data, list):
        return [x for k, value in enumerate(data) for x in _numbers(value, f"{where}[{k}]")]
    return [(where, "" if isinstance(data, str) else data)]


def test_a_language_with_three_forms_has_them_in_python_and_on_the_page(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Polish: 1, then 2 to 4 but not 12 to 14, then the others (GNU gettext's manual, "Plural forms")."""
    words = Catalog(locale="pl")
    words.add(("{n} slit", "{n} slits"), ("{n} nacięcie", "{n} nacięcia", "{n} nacięć"))
    words.add(("{count} row", "{count} rows"), ("{count} wiersz", "{count} wiersze", "{count} wierszy"))
    words.add("Undo", "Cofnij")
    compiled = io.BytesIO()
    write_mo(compiled, words)
    compiled.seek(0)
    monkeypatch.setattr(catalogue, "spoken", gettext.GNUTranslations(compiled))
    said = [trn("{n} slit", "{n} slits", n, n=n) for n in (1, 2, 5, 12, 22, 112)]
    assert said == ["1 nacięcie", "2 nacięcia", "5 nacięć", "12 nacięć", "22 nacięcia", "112 nacięć"]
    assert catalogue.language() == "pl"

    told = spoken.for_scripts(STATIC)
    assert told["texts"]["{count} row"] == ["{count} wiersz", "{count} wiersze", "{count} wierszy"]
    assert [told["forms"][n] for n in (1, 2, 5, 12, 22, 112)] == [0, 1, 2, 2, 1, 2]
    page = app.create_app().test_client().get("/job", headers={"Host": "localhost"}).get_data(as_text=True)
    carried = re.search(r'id="words">(.*?)</script>', page)
    assert carried
    assert json.loads(carried[1]) == told


def test_an_english_page_carries_no_translations() -> None:
    assert spoken.for_scripts(STATIC) == {}


def test_a_makers_own_pattern_keeps_its_own_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "lanyard.toml").write_text(
        (ROOT / "patterns" / "key-fob.toml").read_text(encoding="utf-8").replace('"Key fob"', '"Lanyard of the quay"'),
        encoding="utf-8",
    )
    main(["draft", "lanyard", "--measure", "90 mm", "--patterns", str(tmp_path), "--json"])
    assert json.loads(capsys.readouterr().out)["title"] == "Lanyard of the quay"


def test_what_a_part_holds_is_not_read_as_a_part() -> None:
    assert tr("{name} has no letter", name="{width} {0} %s") == "{width} {0} %s has no letter"
    assert tr("an example: { small = '15.5 cm' }") == "an example: { small = '15.5 cm' }"
