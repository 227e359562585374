"""A slow machine for the browser tests: python -m pytest -n 0 -p tests.bench.slow tests/test_page.py ...

    --slow-pages N      pages run N times as slowly (6), as Chromium's own throttling does it
    --late-answers S    what the page asks for while it is in use is answered S seconds late (0.4)
    --busy N            processes that keep a core busy meanwhile (2)

A test that looks at once at what only comes with an answer, a timer or a stored value is red here, and now and then on
any busy machine.
"""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest

# What pages ask for while they are in use; not what a page is loaded from.
ASKED = ("/preview", "/pattern/", "/job/", "/jobs", "/braid/rescue", "/braid/slips", "/leathers/", "/prices/", "/file/")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--slow-pages", type=float, default=6.0)
    parser.addoption("--late-answers", type=float, default=0.4)
    parser.addoption("--busy", type=int, default=2)


def _turn() -> None:
    while True:
        pass


def _late(made: Any, seconds: float) -> None:
    answer = made.wsgi_app

    def late(environ: dict[str, Any], start: Callable[..., Any]) -> Any:
        if environ["PATH_INFO"].startswith(ASKED):
            time.sleep(seconds)
        return answer(environ, start)

    made.wsgi_app = late


def _throttled(new_page: Callable[..., Any], rate: float) -> Callable[..., Any]:
    def made(self: Any, **more: Any) -> Any:
        page = new_page(self, **more)
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": rate})
        return page

    return made


@pytest.fixture(scope="session", autouse=True)
def slow_machine(request: pytest.FixtureRequest) -> Iterator[None]:
    from playwright.sync_api import Browser, BrowserContext

    from strapwork.web import server

    say = request.config.getoption
    create = server.create

    def late(made: Any, *more: Any) -> Any:
        _late(made, say("--late-answers"))
        return create(made, *more)

    at_once = [multiprocessing.Process(target=_turn, daemon=True) for _ in range(say("--busy"))]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(server, "create", late)
        for kind in (Browser, BrowserContext):
            patch.setattr(kind, "new_page", _throttled(kind.new_page, say("--slow-pages")))
        for p in at_once:
            p.start()
        yield
        for p in at_once:
            p.kill()
