"""What every page's scripts share: counted words in other languages, what is told of an answer, rows with an identity."""

from __future__ import annotations

import gettext
import io
import json
from typing import Any

import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo

from strapwork import catalogue
from strapwork.web import spoken
from tests.helpers import STATIC
from tests.said_in_source import ROOT

COUNTS = (0, 1, 2, 4, 5, 12, 21, 22, 99, 100, 101, 102, 112, 199, 200, 201, 202, 212, 222, 1000, 1001, 1012, 4022)
UNTRANSLATED = ("{count} crossing.", "{count} crossings.")


def served(page: Any, name: str, more: str) -> None:
    """A page of that name with nothing but the scripts that all pages have."""
    scripts = "".join(f"<script src='{STATIC}/{script}.js'></script>" for script in ("words", "ask"))
    body = f"<!doctype html><link rel='icon' href='data:,'>{more}{scripts}"
    page.route(f"**/{name}", lambda r: r.fulfill(body=body, content_type="text/html"))


@pytest.mark.browser
def test_a_context_that_is_used_again_knows_nothing_of_the_test_before(browser: Any, server: str) -> None:
    how = {"viewport": {"width": 640, "height": 480}, "locale": "eo"}
    left = browser.new_context(**how)
    page = left.new_page()
    page.goto(f"{server}/job")
    page.evaluate(
        "localStorage.setItem('left', 'here'); sessionStorage.setItem('left', 'here'); document.cookie = 'a=b'"
    )
    left.set_offline(True)
    left.close()
    taken = browser.new_context(**how)
    assert taken is left
    page = taken.new_page()
    page.goto(f"{server}/job")
    found = page.evaluate("[localStorage.getItem('left'), sessionStorage.getItem('left'), document.cookie]")
    assert found == [None, None, ""]
    page.clock.install()
    taken.close()
    other = browser.new_context(**how)
    assert other is not left, "a clock that was played is not taken over"
    other.close()


@pytest.mark.browser
def test_what_is_counted_has_the_form_that_gettext_gives_it_in_polish(
    page: Any, server: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Polish: 1, then 2 to 4 but not 12 to 14, then the others (GNU gettext's manual, "Plural forms")."""
    words = Catalog(locale="pl")
    words.add(("{count} row", "{count} rows"), ("{count} wiersz", "{count} wiersze", "{count} wierszy"))
    words.add("Take out {name}", "Wyjmij {name}")
    compiled = io.BytesIO()
    write_mo(compiled, words)
    compiled.seek(0)
    polish = gettext.GNUTranslations(compiled)
    monkeypatch.setattr(catalogue, "spoken", polish)
    told = json.dumps(spoken.for_scripts(ROOT / "templates" / "static"))
    served(page, "po-polsku", f"<script type='application/json' id='words'>{told}</script>")
    served(page, "in-english", "")

    page.goto(f"{server}/po-polsku")
    for one, many in (("{count} row", "{count} rows"), UNTRANSLATED):
        said = page.evaluate("([one, many, counts]) => counts.map((n) => trn(one, many, n))", [one, many, COUNTS])
        assert said == [polish.ngettext(one, many, n).format(count=n) for n in COUNTS]
    assert page.evaluate("tr('Take out {name}', { name: 'Quay {count}' })") == "Wyjmij Quay {count}"
    assert page.evaluate("tr('Put back: {name}.', { name: 'Quay' })") == "Put back: Quay."
    page.goto(f"{server}/in-english")
    said = page.evaluate(
        "[0, 1, 2].map((n) => trn('{count} row of {name}', '{count} rows of {name}', n, { name: 'Ines' }))"
    )
    assert said == ["0 rows of Ines", "1 row of Ines", "2 rows of Ines"]
    assert page.evaluate("tr('{kept} by {name}', { name: 'Ines' })") == "{kept} by Ines"  # what has no part stays


@pytest.mark.browser
def test_a_refusal_is_told_in_its_words_a_lost_server_as_lost_and_a_fault_of_ours_as_neither(
    browser: Any, server: str
) -> None:
    context = browser.new_context()
    page = context.new_page()
    served(page, "quay", "")
    answers = {
        "taken": (200, {"said": "Quay band"}),
        "refused": (400, {"error": "measure: 3 m is out of range"}),
        "mute": (500, {}),
    }

    def answer(route: Any) -> None:
        status, said = answers[route.request.url.rpartition("/")[2]]
        route.fulfill(status=status, json=said)

    for name in answers:
        page.route(f"**/{name}", answer)
    page.route("**/gone", lambda r: r.abort("connectionrefused"))
    page.goto(f"{server}/quay")
    told = page.evaluate(
        """async () => { const told = [];
          for (const there of ['taken', 'refused', 'mute', 'gone'])
            await attempt(async () => told.push((await ask('/' + there)).said), (text) => told.push(text));
          await attempt(() => { throw new RangeError('a fault'); }, (text) => told.push(text)).catch((e) => told.push(e.name));
          return told; }"""
    )
    context.close()

    lost = "The page has lost its server; start 'strapwork serve' again."
    assert told == ["Quay band", "measure: 3 m is out of range", "That did not work.", lost, "RangeError"]


@pytest.mark.browser
def test_rows_pasted_at_once_have_an_identity_each_that_is_taken_off_what_is_sent(page: Any, server: str) -> None:
    served(page, "quay", "")
    page.goto(f"{server}/quay")
    assert page.evaluate("() => [readJob(), bare({ kind: 'pdf' })]") == [{"job": {}, "pieces": []}, {"kind": "pdf"}]
    rows = page.evaluate(
        """() => { const pieces = Array.from({ length: 200 }, (_, k) => ({ label: 'n' + k, [ROW]: newId() }));
          keepJob({ job: { title: 'Class' }, pieces });
          return [readJob(), bare({ kind: 'pdf', pieces, piece: pieces[7] })]; }"""
    )
    kept, sent = rows
    assert kept["job"] == {"title": "Class"}
    assert len({p["row id"] for p in kept["pieces"]}) == 200
    labels = [{"label": f"n{k}"} for k in range(200)]
    assert sent == {"kind": "pdf", "pieces": labels, "piece": labels[7]}
