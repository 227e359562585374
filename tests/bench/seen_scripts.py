"""Which lines of the page's scripts a browser test ran, as Chromium itself counts them.  For seen.py."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

STATIC = Path(__file__).resolve().parents[2] / "templates" / "static"
Lines = dict[str, set[int]]


class Watch:
    """Counts in every page that is opened from now on, and takes what it counted before a page goes."""

    def __init__(self) -> None:
        from playwright.sync_api import Browser, BrowserContext, Page

        self._open: dict[Any, Any] = {}
        self._ran: Lines = {}
        for maker in (Browser, BrowserContext):
            self._after(maker, "new_page", self._begin)
        for leave in ("close", "goto", "reload"):  # what ran in a document is not always known when the next is there
            self._before(Page, leave, self._take)
        self._before(BrowserContext, "close", lambda context: [self._take(page) for page in context.pages])

    def taken(self) -> Lines:
        """The lines of each script that ran since this was asked last."""
        for page in [*self._open]:
            self._take(page)
        ran, self._ran = self._ran, {}
        return ran

    def _begin(self, page: Any) -> None:
        session = page.context.new_cdp_session(page)
        session.send("Profiler.enable")
        session.send("Profiler.startPreciseCoverage", {"callCount": True, "detailed": True})
        self._open[page] = session

    def _take(self, page: Any) -> None:
        session = self._open.get(page)
        if session is None:
            return
        if page.is_closed():
            del self._open[page]
            return
        for script in session.send("Profiler.takePreciseCoverage")["result"]:
            name = script["url"].partition("?")[0].rpartition("/")[2]
            if (STATIC / name).suffix == ".js" and (STATIC / name).is_file():
                self._ran.setdefault(f"static/{Path(name).stem}", set()).update(
                    lines(script["functions"], STATIC / name)
                )

    @staticmethod
    def _after(owner: type, name: str, act: Callable[[Any], object]) -> None:
        old = getattr(owner, name)

        def new(self: Any, *args: Any, **more: Any) -> Any:
            made = old(self, *args, **more)
            act(made)
            return made

        setattr(owner, name, new)

    @staticmethod
    def _before(owner: type, name: str, act: Callable[[Any], object]) -> None:
        old = getattr(owner, name)

        def new(self: Any, *args: Any, **more: Any) -> Any:
            act(self)
            return old(self, *args, **more)

        setattr(owner, name, new)


def lines(functions: list[dict[str, Any]], file: Path) -> Iterator[int]:
    """The lines of which some part ran: an inner range counts for its own place, not the one round it."""
    text = file.read_text(encoding="utf-8")
    ran = bytearray(len(text))
    for function in functions:
        for part in function["ranges"]:
            start, end = part["startOffset"], min(part["endOffset"], len(text))
            ran[start:end] = bytes([part["count"] > 0]) * (end - start)
    at = 0
    for number, line in enumerate(text.splitlines(keepends=True), 1):
        if any(r and not c.isspace() for r, c in zip(ran[at : at + len(line)], line, strict=True)):
            yield number
        at += len(line)
