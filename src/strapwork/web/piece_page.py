"""The page of one piece: what it is made of as it is served, and the answer to every change of a field.

Both come from the same parts (``templates/parts.html``), so that a page without scripts shows what one with
them shows.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from flask import Flask
from markupsafe import Markup

from strapwork.catalogue import tr
from strapwork.files.folders import Places
from strapwork.order import doors
from strapwork.stock import patterns as pattern_files
from strapwork.stock.patterns import Pattern
from strapwork.web import form, remedies, show, strap_view

PARTS = (
    "lengths", "count", "strap", "scale", "braid", "worn", "rows", "band", "braiding", "hardware", "with", "places", "load",
    "findings", "sheets", "head",
)  # fmt: skip
DRAWN = ("strap", "braid", "worn", "spots")
# In sight at all times; the rest of the fields is behind a word.
FIRST = ("pattern", "measure", "units", "leather")
# Title, fields by name, and the groups of the description whose other fields come along.
MORE: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...] = (
    (tr("The leather"), ("temper", "tannage", "backing", "price_per_m2", "tensile_n_per_mm2"), ()),
    (tr("Strap, braid and fit"), (), ("strap", "braid")),
    (tr("Name, paper and machine"), (), ("name", "paper", "cutter")),
)


def answer(app: Flask, args: Mapping[str, str], places: Places) -> dict[str, Any]:
    """The answer to a change: notes, messages with their remedies, and the parts of the page that show the piece."""
    got = form.read(args, places)
    data = _shown(got, args)
    found = remedies.of(got, places)
    # Pictures and tables travel once, as parts.
    return {name: value for name, value in data.items() if name not in DRAWN} | {
        "parts": _parts(app, data),
        "remedies": {
            name: [{"words": r.words, "field": r.field, "text": r.text} for r in some] for name, some in found.items()
        },
        "unfinished": [name for name in got.errors if remedies.unfinished(got.values.get(name, ""))],
        "absent": got.absent,
        "idle": got.idle,
        "general": _general(got),
    }


def _general(got: form.Read) -> str:
    """What is wrong with the whole, and with keys that have no field on the page."""
    fields = {*FIRST, *(name for group in _more() for name in group["names"])}
    kept = [f"{doors.ONE_PIECE_KEYS[n].label}: {text}" for n, text in got.errors.items() if n not in fields]
    return " ".join(filter(None, [got.general, *kept]))


def page(app: Flask, args: Mapping[str, str], places: Places) -> dict[str, Any]:
    """What the template of the page needs."""
    values = form.values_of(args)
    every = pattern_files.all_patterns(places.patterns)
    chosen = next((r for r in every if r.name == values["pattern"]), every[0])
    values |= {"pattern": chosen.name, "units": values["units"] or form.USUAL["units"]}
    got = form.read({**values}, places)
    data = _shown(got, args)
    keys = doors.ONE_PIECE_KEYS
    return {
        "values": values,
        "goods": [(r, show.goods_picture(r, places.patterns)) for r in every],
        "pattern": chosen,
        "how": show.how_to_measure(chosen),
        "keys": keys,
        "numeric": [name for name in keys if "whole" in form.kinds_of(name)],
        "offers": form.choices(places, chosen),
        "kept": [key.label.lower() for name, key in keys.items() if key.hidden and values[name]],
        "left_out": [keys[name].label.lower() for name in got.left_out],
        "got": got,
        "general": _general(got),
        "ways": remedies.of(got, places),
        "query": urlencode(filled(form.asked(got.values))),
        "more": _more(),
        "more_open": any(name not in FIRST for name in got.errors),
        "filled": sum(bool(values[name]) for group in _more() for name in group["names"] if name not in got.absent),
        "parts": _parts(app, data),
        "braid": {"strands": values["strands"] or str(chosen.braid.strands), "hand": values["hand"]},
    }


def about(pattern: Pattern, places: Places) -> dict[str, Any]:
    """What changes on the page with the goods."""
    return {
        "title": pattern.title,
        "what": pattern.measure.called,
        "how": pattern.measure.how,
        "drawing": show.how_to_measure(pattern),
        "hardware": form.hardware_for(pattern, places),
    }


def filled(values: Mapping[str, str]) -> dict[str, str]:
    """The fields that say something, for an address."""
    return {name: text for name, text in values.items() if text}


def _shown(got: form.Read, args: Mapping[str, str]) -> dict[str, Any]:
    wide, scale = strap_view.asked_width(args.get("view", "")), strap_view.asked_scale(args.get("scale", ""))
    return show.preview(got, wide, scale)


def _parts(app: Flask, data: Mapping[str, Any]) -> dict[str, Markup]:
    """The parts as markup; none where there is no piece to show."""
    if "lengths" not in data:
        return {}
    # Four rivets alike are one line.
    alike = Counter(data["hardware"])
    data = {
        **data,
        "hardware": [
            tr("{line} ({many} times)", line=line, many=many) if many > 1 else line for line, many in alike.items()
        ],
    }
    module = app.jinja_env.get_template("parts.html").module
    return {name: Markup(getattr(module, name)(data)).strip() for name in PARTS}


def _more() -> list[dict[str, Any]]:
    """The fields that are behind a word, in their groups."""
    out = []
    taken = {*FIRST, *MORE[0][1]}
    for title, named, groups in MORE:
        others = (
            name
            for name, key in doors.ONE_PIECE_KEYS.items()
            if key.group in groups and not key.hidden and name not in taken
        )
        out.append({"title": title, "names": (*named, *others)})
    return out
