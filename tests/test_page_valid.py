"""Every page that is served is HTML as the standard has it, and what a parser cannot see holds too.

Judge: html5lib in strict mode, the reference parser of the WHATWG's HTML standard.  The rest is from that standard and from
WAI-ARIA 1.2: an id stands once, what refers to one finds it, every field has a name.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

import html5lib
import pytest

from strapwork.files.folders import Places
from strapwork.web import app
from tests.page_states import GOODS, SHELF, STATES, served

# The goods differ in their drawings, which are all made the same way: one of them stands for all (tests/bench/valid.py has all).
NAMES = [name for name in STATES if name.removeprefix("a ") not in GOODS and name != "thirteen strands"]
REFERS = ("for", "list", "aria-labelledby", "aria-describedby", "aria-controls", "aria-owns", "aria-activedescendant")
FIELDS = ("input", "select", "textarea")


def wrongs(tree: ElementTree.Element) -> Iterator[str]:
    """What is wrong with a page, sentence by sentence."""
    every = list(tree.iter())
    ids = Counter(e.get("id") for e in every if e.get("id"))
    yield from (f"{name!r} stands {many} times" for name, many in ids.items() if many > 1)
    for e in every:
        for key in REFERS:
            yield from (f"{key} of {e.tag} finds no {name!r}" for name in (e.get(key) or "").split() if name not in ids)
        to = e.get("href") or ""
        if to.startswith("#") and to[1:] not in ids:
            yield f"a link to {to} leads nowhere"
    if tree.get("lang") != "en":
        yield "the language is not said"
    if sum(e.tag == "h1" for e in every) != 1:
        yield "there is not one main heading"
    if not (tree.findtext("head/title") or "").strip():
        yield "there is no title"
    named = {e.get("for") for e in every if e.tag == "label" and text_of(e)}
    within = {id(f) for e in every if e.tag == "label" and text_of(e) for f in e.iter() if f.tag in FIELDS}
    for e in every:
        called = e.get("aria-label") or e.get("aria-labelledby")
        if e.tag in FIELDS and e.get("type") not in ("hidden", "submit"):
            if not (called or e.get("id") in named or id(e) in within):
                yield f"a field has no name: {e.attrib}"
        elif e.tag in ("button", "a", "summary") and not (called or text_of(e)):
            # "Move" and "Bring back" get their words with what they are for; until then they are not there.
            yield f"nobody can say what this does: {e.tag} {e.attrib}"
        elif e.get("role") == "img" and not (called or any(c.tag.endswith("title") and text_of(c) for c in e)):
            yield f"a picture has no name: {e.attrib}"


def text_of(e: ElementTree.Element) -> str:
    return "".join(e.itertext()).strip()


@pytest.fixture(scope="module")
def client() -> Any:
    return app.create_app(Places(None, SHELF)).test_client()


def test_every_page_is_valid_and_all_that_refers_to_something_finds_it(client: Any) -> None:
    parser = html5lib.HTMLParser(html5lib.getTreeBuilder("etree"), strict=True, namespaceHTMLElements=False)
    for name, text in served(client, NAMES):
        try:
            # The lines of a drawing, thousands of them, are judged as XML below; here its element and its name are enough.
            tree = parser.parse(
                re.sub(r"(<svg\b[^>]*>)(<title>.*?</title>)?.*?</svg>", r"\1\2</svg>", text, flags=re.DOTALL)
            )
        except html5lib.html5parser.ParseError as e:
            pytest.fail(f"{name}: {e} at {parser.tokenizer.stream.position()}")
        assert list(wrongs(tree)) == [], name
        for drawing in re.findall(r"<svg\b.*?</svg>", text, re.DOTALL):
            ElementTree.fromstring(drawing)  # ours, and as XML it has no second chance


def test_the_answers_that_scripts_put_into_the_page_are_valid_too(client: Any) -> None:
    parser = html5lib.HTMLParser(strict=True)
    for query in ("measure=172", "pattern=belt&measure=900&load=15+kg", "measure=9000&strands=4"):
        parts = client.get(f"/preview?{query}", headers={"Host": "localhost"}).get_json()["parts"]
        for name, markup in parts.items():
            inside = {"rows": "tbody", "places": "tbody"}.get(name, "div")
            parser.parseFragment(markup, container=inside)
            for drawing in re.findall(r"<svg\b.*?</svg>", markup, re.DOTALL):
                ElementTree.fromstring(drawing)


def test_the_check_sees_what_it_is_for() -> None:
    page = '<!doctype html><title>x</title><h1>a</h1><p id="a"></p><p id="a"></p><input><label for="b">c</label><button></button>'
    found = "; ".join(wrongs(html5lib.parse(page, namespaceHTMLElements=False)))
    for words in ("'a' stands 2 times", "finds no 'b'", "language", "a field has no name", "nobody can say"):
        assert words in found
    with pytest.raises(html5lib.html5parser.ParseError):
        html5lib.HTMLParser(strict=True).parse("<!doctype html><p><table><div></div></table>")


# What is only there once scripts have run, judged in the browser itself.
IN_BROWSER = """() => {
  const out = [], ids = new Map();
  for (const e of document.querySelectorAll('[id]')) ids.set(e.id, (ids.get(e.id) || 0) + 1);
  for (const [id, n] of ids) if (n > 1) out.push(id + ' stands ' + n + ' times');
  for (const key of ['for', 'list', 'aria-labelledby', 'aria-describedby', 'aria-controls'])
    for (const e of document.querySelectorAll('[' + key + ']'))
      for (const id of e.getAttribute(key).split(/\\s+/)) if (id && !ids.has(id)) out.push(key + ' finds no ' + id);
  for (const e of document.querySelectorAll('input:not([type=hidden]), select, textarea'))
    if (!e.labels.length && !e.getAttribute('aria-label') && !e.getAttribute('aria-labelledby')) out.push('no name: ' + e.outerHTML);
  for (const e of document.querySelectorAll('button, a, summary'))
    if (e.checkVisibility() && !e.textContent.trim() && !e.getAttribute('aria-label')) out.push('says nothing: ' + e.outerHTML);
  return out;
}"""


@pytest.mark.browser
def test_what_scripts_make_of_a_job_holds_together(page: Any, server: str) -> None:
    page.goto(f"{server}/job")
    page.evaluate(
        "localStorage.setItem('job', JSON.stringify({job: {}, pieces: [{pattern: 'wristband', measure: '17 cm', label: 'Ada'},"
        " {pattern: 'belt', measure: '9 m', strands: 4, label: 'Bo'}]}))"
    )
    page.reload()
    page.wait_for_selector(".o-say.wrong")
    page.click("#jobs summary")
    page.wait_for_selector("#job-list li")
    assert page.evaluate(IN_BROWSER) == []
