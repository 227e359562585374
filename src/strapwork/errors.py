"""The one family of errors the rest of the package raises.

A maker reads these sentences at the bench, so each one names the place, the
value that was found there and what to do instead.  ``InputError`` is what the
command line turns into exit code 2; anything else that escapes is a fault of
ours and ends with exit code 1.
"""

from __future__ import annotations

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


def shown(value: object, limit: int = 40) -> str:
    """``value`` as a short quoted text that is safe to print in a sentence."""
    text = str(value)[: limit + 1]
    text = "".join(ch if ch.isprintable() else spelled(ch) for ch in text)
    if len(text) > limit:
        text = text[: limit - 1] + "…"
    return f"'{text}'"
