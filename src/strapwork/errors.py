"""The one family of errors the rest of the package raises.

A maker reads these sentences at the bench, so each one names the place, the
value that was found there and what to do instead.  ``InputError`` is what the
command line turns into exit code 2; anything else that escapes is a fault of
ours and ends with exit code 1.
"""

from __future__ import annotations

from dataclasses import dataclass

from strapwork.characters import spelled

# A path may be long and is what the maker looks for; a clause as long as this is a list of choices.
_LONGEST_PLACE = 300
_LONGEST_CLAUSE = 1000


class StrapworkError(Exception):
    """Base of every error that Strapwork raises on purpose."""


class InputError(StrapworkError):
    """Something the user gave cannot be used.

    Args:
        place: where the value stands, e.g. ``"--measure"`` or
            ``"market.toml, pieces[2].measure"``.
        problem: what is wrong with it, naming the value.
        remedy: what would work.
    """

    def __init__(self, place: str, problem: str, remedy: str) -> None:
        # Names and values come from outside: whatever they hold, the sentence stays one line that a terminal can show.
        self.place = printable(place, _LONGEST_PLACE, from_both_ends=True)
        self.problem = printable(problem, _LONGEST_CLAUSE)
        self.remedy = printable(remedy, _LONGEST_CLAUSE)
        super().__init__(f"{self.place}: {self.problem}; {self.remedy}.")

    def at(self, place: str) -> InputError:
        """The same error, reported at a more useful place."""
        return InputError(place, self.problem, self.remedy)


class CannotDraw(StrapworkError):
    """A pen was sent something that its kind of file has no form for: a fault of ours, not of the maker's."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where something was asked for, and how its keys are called there.

    Attributes:
        whole: how messages name it, e.g. ``"market.toml, pieces[2]"``.
        form: how a key of it is named, with ``{key}`` (or ``{option}``, with hyphens) where its name goes.
        given: keys that were given as options instead.
    """

    whole: str
    form: str
    given: frozenset[str] = frozenset()

    def key(self, name: str) -> str:
        """The place of one key, e.g. ``"market.toml, pieces[2].width"`` or ``"--width"``."""
        form = "--{option}" if name in self.given else self.form
        return form.replace("{key}", name).replace("{option}", name.replace("_", "-"))

    def __str__(self) -> str:
        return self.whole

    @staticmethod
    def file(path: str) -> Place:
        """A whole file."""
        return Place(path, f"{path}, {{key}}")

    @staticmethod
    def part(whole: str) -> Place:
        """A table inside a file."""
        return Place(whole, f"{whole}.{{key}}")


def shown(value: object, limit: int = 40) -> str:
    """``value`` as a short quoted text that is safe to print in a sentence."""
    if isinstance(value, int) and value.bit_length() > 1000:
        return "'a number of hundreds of digits'"  # Python refuses to write out the very long ones
    return f"'{printable(str(value), limit)}'"


def printable(text: str, limit: int, from_both_ends: bool = False) -> str:
    """``text`` without control, direction-changing or broken characters, and no longer than ``limit``.

    Args:
        from_both_ends: shorten in the middle, as suits a path, instead of at the end.
    """
    shown = [ch if ch.isprintable() else spelled(ch) for ch in text]  # a piece is never cut in two
    if sum(map(len, shown)) <= limit:
        return "".join(shown)
    tail = limit // 3 if from_both_ends else 0
    return _fitting(shown, limit - 1 - tail) + "…" + _fitting(shown[::-1], tail, backwards=True)


def _fitting(pieces: list[str], limit: int, backwards: bool = False) -> str:
    """As many of the first pieces as fit in ``limit`` characters, in the order of the text."""
    taken: list[str] = []
    for piece in pieces:
        limit -= len(piece)
        if limit < 0:
            break
        taken.append(piece)
    return "".join(reversed(taken) if backwards else taken)
