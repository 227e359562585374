"""The one family of errors the rest of the package raises.

A maker reads these sentences at the bench, so each one names the place, the
value that was found there and what to do instead.  ``InputError`` is what the
command line turns into exit code 2; anything else that escapes is a fault of
ours and ends with exit code 1.
"""

from __future__ import annotations

from dataclasses import dataclass

from strapwork.characters import spelled


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
        self.place = place
        self.problem = problem
        self.remedy = remedy
        super().__init__(f"{place}: {problem}; {remedy}.")

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
    text = str(value)[: limit + 1]
    text = "".join(ch if ch.isprintable() else spelled(ch) for ch in text)
    if len(text) > limit:
        text = text[: limit - 1] + "…"
    return f"'{text}'"
