"""The page's words in the maker's language: for the templates, and for what its scripts say."""

from __future__ import annotations

import gettext
import json
import re
from pathlib import Path
from typing import Any

from flask import Flask
from markupsafe import Markup

from strapwork import catalogue
from strapwork.catalogue import tr

# A sentence of a script, or one of something counted; scripts write them in double quotes, in one piece.
_SAID = re.compile(r'\b(trn?)\("((?:[^"\\]|\\.)*)"(?:, "((?:[^"\\]|\\.)*)")?')


def install(app: Flask) -> None:
    """Give the templates ``tr``, ``{% trans %}`` for a sentence with markup inside, and ``spoken`` for a word that is data."""
    app.jinja_env.add_extension("jinja2.ext.i18n")
    app.jinja_env.install_gettext_callables(  # type: ignore[attr-defined]
        catalogue.spoken.gettext, catalogue.spoken.ngettext, newstyle=True
    )
    app.jinja_env.globals["tr"] = in_html
    app.jinja_env.filters["spoken"] = tr

    app.jinja_env.globals["language"] = catalogue.language()
    app.jinja_env.globals["script_words"] = for_scripts(Path(app.static_folder or ""))


def in_html(text: str, /, **parts: object) -> Markup:
    """A sentence of a template; it is ours, while its parts are escaped."""
    said = Markup(tr(text))
    return said.format(**parts) if parts else said


def for_scripts(folder: Path) -> dict[str, Any]:
    """What ``words.js`` needs: the translations of what the scripts in ``folder`` say, by their English.

    A counted sentence has all its forms, and ``forms`` says which one each count up to 199 takes; no language's rule looks
    at more than the last two digits beyond that.  Empty where English is spoken.
    """
    if not isinstance(catalogue.spoken, gettext.GNUTranslations):
        return {}
    form_of = [catalogue.spoken.plural(n) for n in range(200)]  # type: ignore[attr-defined]  # of its Plural-Forms
    samples = [form_of.index(k) for k in range(max(form_of) + 1)]
    texts: dict[str, str | list[str]] = {}
    for path in sorted(folder.glob("*.js")):
        for kind, *quoted in _SAID.findall(path.read_text(encoding="utf-8")):
            one, many = (json.loads(f'"{q}"') for q in quoted)
            texts[one] = [catalogue.spoken.ngettext(one, many, n) for n in samples] if kind == "trn" else tr(one)
    return {"texts": texts, "forms": form_of}
