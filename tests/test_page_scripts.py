"""What the page's scripts say in a language with more forms of what is counted than English has."""

from __future__ import annotations

import gettext
import io
import json
import re
from typing import Any

import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo

from strapwork import catalogue
from strapwork.web import spoken
from tests.said_in_source import ROOT

COUNTS = (0, 1, 2, 4, 5, 12, 21, 22, 99, 100, 101, 102, 112, 199, 200, 201, 202, 212, 222, 1000, 1001, 1012, 4022)
UNTRANSLATED = ("{count} crossing.", "{count} crossings.")


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
    served = "<!doctype html><link rel='icon' href='data:,'>{}<script src='/static/words.js'></script>"
    pages = {
        "po-polsku": served.format(f"<script type='application/json' id='words'>{told}</script>"),
        "in-english": served.format(""),
    }
    page.route(
        re.compile("/(po-polsku|in-english)$"),
        lambda r: r.fulfill(body=pages[r.request.url.rpartition("/")[2]], content_type="text/html"),
    )

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
