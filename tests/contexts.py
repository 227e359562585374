"""Browser contexts that are used again: what a test has left in one is taken out, what the browser has fetched stays.

A context costs a process of its own, in which all scripts are compiled anew.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

MOST = 4  # kept at a time, each with a process


class Contexts:
    """The contexts of a browser, by what they were asked to be like."""

    def __init__(self, new: Callable[..., Any], patience: float) -> None:
        self._new, self._patience = new, patience
        self._kept: dict[str, tuple[Any, Callable[[], None]]] = {}

    def take(self, **how: Any) -> Any:
        """A context as Playwright makes it, or one like it that another test has closed."""
        asked = json.dumps(how, sort_keys=True)
        kept = self._kept.pop(asked, None)
        return kept[0] if kept else self._made(asked, how)

    def _made(self, asked: str, how: dict[str, Any]) -> Any:
        made = self._new(**how)
        made.set_default_timeout(self._patience)
        keeper = made.new_page()  # a page that stays, and with it the process
        inside = made.new_cdp_session(keeper)
        origins: set[str] = set()
        made.on("page", lambda page: page.on("framenavigated", lambda frame: origins.add(_origin(frame.url))))
        end, install = made.close, made.clock.install
        played: list[bool] = []

        def close() -> None:
            if played or asked in self._kept:  # no way leads back from a clock that was played
                end()
                return
            for page in made.pages:
                if page is not keeper:
                    page.close()
            made.set_offline(False)
            made.clear_cookies()
            for origin in origins:
                inside.send("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "all"})
            origins.clear()
            self._kept[asked] = made, end
            if len(self._kept) > MOST:
                self._kept.pop(next(iter(self._kept)))[1]()

        def play(*given: Any, **more: Any) -> None:
            played.append(True)
            install(*given, **more)

        made.close, made.clock.install = close, play
        return made


def _origin(address: str) -> str:
    parts = urlsplit(address)
    return f"{parts.scheme}://{parts.netloc}"
