"""The page of sizes: what ``strapwork sizes`` works out, with a picture of who fits."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from flask import Flask, render_template, request

from strapwork.bodies import girths, said, sizes
from strapwork.bodies.girths import Distribution
from strapwork.catalogue import tr
from strapwork.errors import InputError, shown
from strapwork.files.folders import Places
from strapwork.units import parse_length
from strapwork.web import form, plots
from strapwork.web.asked import text as text_of

USUAL = {"measure": "wrist", "of": "5", "who": "both", "by": "distance", "units": "mm"}
FIELDS = ("measure", "of", "who", "women", "reach", "step", "by", "count", "units", "list")
MOST_COUNT = 10_000
LONGEST = {"list": 20_000}
OTHERS_LONGEST = 60


def register(app: Flask, places: Places) -> None:
    """The route ``/sizes``."""

    @app.get("/sizes")
    def sizes_page() -> str:
        asked = {k: str(request.args.get(k, "")).strip() or USUAL.get(k, "") for k in FIELDS}
        adults = girths.find("adults", "bodies", places.patterns)
        page: dict[str, Any] = {"asked": asked, "girths": list(adults.girths), "problem": "", "found": None}
        try:
            for name in FIELDS:  # one cut short would be another measure, a list without its end other people
                text_of(asked, name, LONGEST.get(name, OTHERS_LONGEST))
            page |= answer(asked, adults)
        except InputError as e:
            page["problem"] = f"{_label(e.place)}: {form.sentence(e)}"
        return render_template("sizes.html", **page)


LABELS = {
    "of": tr("How many sizes"),
    "women": tr("Women in a hundred"),
    "reach": tr("A piece still fits within"),
    "step": tr("Whole steps of"),
    "count": tr("Split this many pieces"),
    "measure": tr("Girth"),
    "list": tr("Measures of your own"),
}


def _label(place: str) -> str:
    """A place as the page calls it."""
    name = place.removeprefix("--")
    return LABELS.get(name, place)


def _whole(text: str, key: str, most: int) -> int:
    if not re.fullmatch(r"\d{1,6}", text, re.ASCII) or int(text) > most:
        raise InputError(
            key, tr("{text} cannot be used", text=shown(text)), tr("give a whole number up to {most}", most=most)
        )
    return int(text)


def answer(asked: Mapping[str, str], adults: girths.Bodies) -> dict[str, Any]:
    """The sizes that the fields ask for, as the page shows them.

    Raises:
        InputError: naming the field that cannot be used.
    """
    units = asked["units"] if asked["units"] in ("mm", "in", "in16") else "mm"
    spread, what = _spread(asked, adults, units)
    of = _whole(asked["of"], "of", sizes.MOST_SIZES)
    count = _whole(asked["count"], "count", MOST_COUNT) if asked["count"] else None

    def length(key: str) -> float | None:
        return parse_length(asked[key], place=key, unit=units) if asked[key] else None

    reach, step = length("reach"), length("step")
    by = "reach" if asked["by"] == "reach" else "distance"
    if by == "reach" and reach is None:
        raise InputError("reach", tr("the reach is missing"), tr("say how far from its size a piece still fits"))
    if by == "reach" and step is not None:
        raise InputError("step", tr("whole steps do not go with the fewest out of reach"), tr("leave one of them out"))

    def run(n: int) -> sizes.Sizes:
        if by == "reach" and reach is not None:
            return sizes.most_in_reach(spread, n, reach)
        return sizes.best_sizes(spread, n, step)

    found = run(of)
    try:
        more: sizes.Sizes | None = run(of + 1)
    except InputError:
        more = None
    return {
        "found": found,
        "heading": said.heading(what, found),
        "rows": said.rows(found, count, units),
        "cut": count is not None,
        "said": said.sentences(by, found, more, reach, units),
        "picture": plots.who_fits(found, reach, units),
    }


def _spread(asked: Mapping[str, str], adults: girths.Bodies, units: str) -> tuple[Distribution, str]:
    if asked["list"]:
        measures = [
            parse_length(text, place=tr("line {n} of your list", n=n), unit=units)
            for n, line in enumerate(asked["list"].splitlines(), start=1)
            for text in filter(None, map(str.strip, line.split(";")))
        ]
        return girths.of_list(measures, source=tr("your list")), tr("your list")
    share = {"women": 1.0, "men": 0.0}.get(asked["who"])
    if asked["women"]:
        if share is not None:
            raise InputError("women", tr("a mix does not go with one sex alone"), tr("leave one of them out"))
        share = _whole(asked["women"], "women", 100) / 100.0
    return girths.spread(adults, asked["measure"], share, "measure"), asked["measure"]
