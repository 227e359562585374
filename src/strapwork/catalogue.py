"""The catalogue of words: every sentence that a maker reads goes through here, so that it can be translated.

English is written where it is said and is the key of its translation, as gettext has it.  ``locale/strapwork.pot`` lists
all of it; a language is a ``strapwork.po`` made from that list, compiled beside it (see "Words and their translation" in
DEVELOPERS.md).  Which language is spoken is decided once, when the program starts, by what the system says (``LANGUAGE``,
``LC_ALL``, ``LC_MESSAGES``, ``LANG``), so sentences may also be put together while modules load.
"""

from __future__ import annotations

import gettext
from pathlib import Path

DOMAIN = "strapwork"
FOLDER = Path(__file__).resolve().parent / "locale"
spoken = gettext.translation(DOMAIN, FOLDER, fallback=True)


def tr(text: str, /, **parts: object) -> str:
    """A sentence in the maker's language, with its parts filled in.

    Args:
        text: the English, with ``{name}`` where a part goes; its braces are doubled only if there are parts.
        parts: what goes there, by name, so that another language may put them in another order.

    >>> tr("{width} wide, {length} long", width="12 mm", length="40 mm")
    '12 mm wide, 40 mm long'
    """
    said = spoken.gettext(text)
    return said.format(**parts) if parts else said


def trn(one: str, many: str, count: int, /, **parts: object) -> str:
    """The same where it depends on a count; a language may have more forms than the two of English.

    >>> [trn("{n} slit", "{n} slits", n, n=n) for n in (1, 2)]
    ['1 slit', '2 slits']
    """
    said = spoken.ngettext(one, many, count)
    return said.format(**parts) if parts else said


def marked(text: str) -> str:
    """English that is told apart by what it says, and so stays as it is here; :func:`tr` has it where it is shown."""
    return text


# Words that code tells things apart by and that people read as well.
TOLD_APART = (
    marked("start"), marked("finish"), marked("cap"), marked("stud"), marked("grain"), marked("flesh"),
    marked("snap"), marked("magnetic-snap"), marked("rivet"), marked("screw-post"), marked("eyelet"), marked("buckle"),
    marked("ring"), marked("hook"), marked("hole"), marked("keeper"), marked("adjustment"), marked("relief"),
    marked("snap cap"), marked("magnetic-snap cap"), marked("rivet cap"), marked("screw-post cap"), marked("eyelet cap"),
    marked("buckle bar"), marked("ring bar"), marked("hook bar"), marked("buckle tongue"),
    marked("stop"), marked("caution"), marked("note"), marked("right"), marked("left"), marked("front"), marked("back"),
    marked("round"), marked("pointed"), marked("clipped"), marked("square"), marked("fold"),
    marked("soft"), marked("medium"), marked("firm"), marked("vegetable"), marked("chrome"), marked("combination"),
    marked("unknown"), marked("slip"), marked("hardware"), marked("leather"),
)  # fmt: skip


def language() -> str:
    """The language that is spoken, as HTML names it (BCP 47), such as ``"en"`` or ``"pt-BR"``."""
    return spoken.info().get("language", "").replace("_", "-") or "en"
