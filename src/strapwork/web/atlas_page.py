"""The atlas on the page: the braids of one right and one left turn, for a few strands."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from strapwork.braid import atlas as all_braids
from strapwork.braid import patterns
from strapwork.braid import plan as plans
from strapwork.braid.word import mirrored
from strapwork.catalogue import tr
from strapwork.paper import any_braid
from strapwork.say import atlas as say_atlas
from strapwork.say import braiding
from strapwork.web import show
from strapwork.web.braid_page import within

ATLAS_LENGTH = 110.0  # mm of the pictures

_making = threading.Lock()


def atlas(args: Mapping[str, str]) -> dict[str, Any]:
    """One page of the atlas: the braids of one right and one left turn."""
    most = all_braids.MOST_STRANDS[1]
    strands = within(args.get("strands", ""), all_braids.LEAST_STRANDS, most) or all_braids.LEAST_STRANDS
    left = args.get("hand") == "left"
    with _making:
        said, entries = _atlas(strands, left)
    choices = list(range(all_braids.LEAST_STRANDS, most + 1))
    return {"strands": strands, "left": left, "choices": choices, "said": said, "entries": entries}


@lru_cache(maxsize=10)
def _atlas(strands: int, left: bool) -> tuple[list[str], list[dict[str, Any]]]:
    a = all_braids.atlas(strands, 1)
    said = say_atlas.summary(a) if a.entries else [*say_atlas.summary(a), say_atlas.NONE]
    return said, [_entry(e, left) for e in a.worked_out()]


def _entry(e: all_braids.Entry, left: bool) -> dict[str, Any]:
    n = e.strands
    pattern, schedule = say_atlas.handed(e, left)
    turns = patterns.turns_of(n, pattern)
    back = patterns.turns_of(n, patterns.turned_over(pattern))
    face = any_braid.drawing(n, turns * e.repeats, ATLAS_LENGTH)
    turned = any_braid.drawing(n, back * e.repeats, ATLAS_LENGTH, tuple(range(n, 0, -1)))
    if schedule is not None and e.fewest_known:
        tab = [braiding.tab_pass(p, n) for p in schedule]
    else:
        tab = [say_atlas.passes_in_words(e, schedule)]
    groups = [] if e.brunnian else sorted(say_atlas.group(e, g, left) for g in e.least_braided)
    plain = plans.standard(n).pattern
    return {
        "name": e.name,
        "pattern": " ".join(pattern),
        "turns": [say_atlas.turn_in_words(t) for t in turns],
        "set": e.turns,
        "tab": tab,
        "tangle": "" if e.least_tangle is None else f"{e.least_tangle:.2f}",
        "together": groups,
        "notes": [note[:1].upper() + note[1:] for note in say_atlas.notes(e, left)],
        "face": show.inline(face, tr("The face of braid {name}", name=e.name), 1.0),
        "back": show.inline(turned, tr("The back of braid {name}, turned over", name=e.name), 1.0),
        "steps": turns in (plain, mirrored(n, plain)) or back in (plain, mirrored(n, plain)),
    }
