"""Shared helpers: pieces of the workshop's own scenario, drafted once."""

from __future__ import annotations

import gc
import importlib
import os
import shutil
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from strapwork.piece import piece

# What is tested is imported where it is used: the process that only hands the tests out has no use for it, and the workers
# wait for that one.

ROOT = Path(__file__).resolve().parents[1]
SAMPLES = ROOT / "samples"

# Where Chromium has windows, each would load two pages for its address bar's suggestions, more than ours; the others are
# what Playwright leaves out, as the last such option counts.
NO_SUGGESTIONS = (
    "--disable-features=WebUIOmniboxPopup,WebUIOmniboxAimPopup,AvoidUnnecessaryBeforeUnloadCheckSync,HttpsUpgrades,"
    "DestroyProfileOnBrowserClose,HttpsFirstBalancedModeAutoEnable,LensOverlay,MediaRouter,PaintHolding,OptimizationHints,"
    "ThirdPartyStoragePartitioning,NetworkTimeServiceQuerying,AimEnabled,PreconnectToSearch"
)

PATIENCE = 90_000  # ms that a busy machine may take over one step of a page; what is there at once waits for nothing

settings.register_profile("suite", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("suite")


# What takes longest comes first: a worker that has one of these left at the end keeps the other waiting.  Before them come
# those that fork again and again, which costs four times as much when the worker has grown.
FIRST = (
    "a_kill_",
    "stopped_process",
    "axe_finds_nothing",
    "every_command_of_the_readme",
    "in_another_language",
    "a_sample_is_in_step",
    "the_wheel_brings",
    "goods_shows_its_lengths",
)


def pytest_sessionstart() -> None:
    """Let the second of two workers import the test files from the last to the first, before both collect them forwards.

    Where they meet, each takes what the other has compiled: rewriting the assertions is more than half of collecting.
    """
    if os.environ.get("PYTEST_XDIST_WORKER") != "gw1" or sys.dont_write_bytecode:
        return
    for path in sorted((ROOT / "tests").rglob("test_*.py"), reverse=True):
        # What cannot be imported is told when it is collected.
        with suppress(Exception, pytest.skip.Exception):
            importlib.import_module(".".join(path.relative_to(ROOT).with_suffix("").parts))


def pytest_collection_finish() -> None:
    # What has been imported stays: it is not looked through for garbage again and again, and young objects less often.
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


def pytest_sessionfinish() -> None:
    gc.freeze()  # pytest looks for garbage five times before it ends, which takes seconds over all that has been imported


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: next((at for at, name in enumerate(FIRST) if name in item.name), len(FIRST)))


@pytest.fixture(scope="session")
def draft() -> Callable[..., piece.Piece]:
    """Draft one piece from texts, as the command line does."""
    from strapwork.files.folders import Places
    from strapwork.order import doors
    from strapwork.piece import piece
    from tests.helpers import HERE

    def make(
        pattern: str, measure: str, leather: str | None = None, temper: str = "medium", **more: object
    ) -> piece.Piece:
        asked = {k: v for k, v in more.items() if v is not None}
        if leather is not None:
            asked |= {"leather": leather, "temper": temper}
        texts = {"pattern": pattern, "measure": measure, "units": "mm", **asked}
        return piece.work_out(doors.of_texts(texts, HERE, Places()).orders[0])

    return make


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of a Chromium, rather one without the windows round the page, which costs a third of the time; the absence of any
    is loud, and in CI a failure."""
    for name in ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome"):
        path = shutil.which(name)
        if path:
            return path
    if os.environ.get("CI"):
        pytest.fail("CI must have a Chromium; .ci/run installs it")
    print("WARNING: no Chromium on this machine, browser checks are skipped", file=sys.stderr)
    pytest.skip("no Chromium on this machine")


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    from strapwork.files.folders import Places
    from strapwork.web import app
    from strapwork.web import server as servers

    made = servers.create(app.create_app(Places(None, SAMPLES / "leathers.toml")), "127.0.0.1", 0)
    thread = threading.Thread(target=made.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{made.effective_port}"
    made.close()


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    from tests.contexts import Contexts

    with sync_playwright() as play:
        # One process for the pages of a context, instead of a second that is started for the next page to come.
        flags = ["--no-sandbox", "--disable-gpu", "--renderer-process-limit=1", NO_SUGGESTIONS]
        opened = play.chromium.launch(executable_path=chromium, args=flags)
        opened.new_context = Contexts(opened.new_context, PATIENCE).take
        yield opened
        opened.close()


def watched(opened: Any) -> list[str]:
    """Everything that goes wrong on a page without a person being told, as it happens."""
    faults: list[str] = []
    opened.on("pageerror", lambda e: faults.append(f"script error: {e}"))
    opened.on("console", lambda m: faults.append(f"console: {m.text}") if m.type == "error" else None)
    opened.on("requestfailed", lambda q: faults.append(f"request failed: {q.url}") if not _taken_away(q) else None)
    opened.on("response", lambda r: faults.append(f"{r.status} {r.url}") if r.status >= 400 else None)
    return faults


def _taken_away(request: Any) -> bool:
    """A download leaves its request, and an answer nobody waits for is dropped when the page moves on."""
    return "ERR_ABORTED" in (request.failure or "")


def alerts(opened: Any) -> list[str]:
    """Messages of trouble that a person sees."""
    return list(
        opened.evaluate(
            "() => [...document.querySelectorAll('[role=alert], .problem')]"
            ".filter(e => e.checkVisibility() && e.textContent.trim()).map(e => e.textContent.trim())"
        )
    )


# Style sheets are not fetched once more for axe: of its rules only one that is off by default reads them.
ALL_RULES = {"resultTypes": ["violations"], "preload": False}
# What a colour scheme decides; all else is judged in the other scheme.
COLOURS = ALL_RULES | {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
# As axe has it (WCAG 2.2, 1.4.3) but for one thing: words beside which a style sheet puts something are judged as well.  axe
# leaves them to a person, and looks for such things behind every word and all round it, which is half of its time.
CONTRAST = {
    "id": "color-contrast",
    "options": {
        "ignorePseudo": True,
        "ignoreUnicode": True,
        "ignoreLength": False,
        "boldValue": 700,
        "boldTextPt": 14,
        "largeTextPt": 18,
        "contrastRatio": {"normal": {"expected": 4.5}, "large": {"expected": 3}},
        "shadowOutlineEmMax": 0.2,
        "textStrokeEmMin": 0.03,
    },
}


def axe(page: Any, options: dict[str, Any] | None = None) -> str:
    """What axe finds, as a report; empty for nothing.

    It is put into a page once, not for every state.  The lines inside a drawing are nothing that it judges (its name and
    its letters are, and stay); walking through thousands of them takes longest, so they are taken out first.
    """
    from axe_playwright_python.sync_playwright import Axe, AxeResults

    page.evaluate("document.querySelectorAll('svg :is(path, polygon, polyline, line, defs)').forEach(e => e.remove())")
    if page.evaluate("typeof axe === 'undefined'"):
        page.evaluate(Axe().axe_script)
        page.evaluate("contrast => axe.configure({ checks: [contrast] })", CONTRAST)
    found = AxeResults(page.evaluate("how => axe.run(document, how)", options or ALL_RULES))
    return str(found.generate_report()) if found.violations_count else ""


def axe_in_both(page: Any, options: dict[str, Any] | None = None) -> str:
    """What axe finds in a page that is light, by all rules, and then in its dark colours, by those of colour."""
    found = axe(page, options)
    page.emulate_media(color_scheme="dark")
    framed(page)
    found += axe(page, COLOURS)
    page.emulate_media(color_scheme="light")
    return found


def until(page: Any, condition: str, arg: Any = None) -> None:
    """Until a condition, a function of the page's own script, holds.

    Playwright's ``wait_for_function`` does the same after it has put another 300 kB of scripts into the page.  Neither frames
    nor timers nor the date are asked for: where a test plays the page's clock, they stand still.
    """
    from playwright.sync_api import Error

    asked = f"""async arg => {{ const holds = {condition};
        for (let look = 0; look < 100; look++) {{
            if (holds(arg)) return true;
            await scheduler.postTask(() => {{}}, {{ delay: 10 }}); }}
        return false; }}"""
    end = time.monotonic() + PATIENCE / 1000
    while time.monotonic() < end:
        try:
            if page.evaluate(asked, arg):
                return
        except Error as e:
            if "context was destroyed" not in e.message:  # where another page comes, that one is asked
                raise
    raise AssertionError(f"waited in vain until {condition}")


def settled(opened: Any) -> None:
    """Until the page of one piece shows the answer to what its fields say, drawn for the width there is, and waits for no
    other: an answer on its way would draw everything anew."""
    until(
        opened,
        """() => typeof watchWidth === 'function' && typeof last === 'object' && last && last.asked === asked && last.q === query() && (!last.answer.ok || real
        || (Math.abs(room() - drawnFor) < 9 && parseFloat(picture().getAttribute('width')) === drawnFor))""",
    )


def resized(opened: Any, width: int, height: int) -> None:
    """Give the page another size, and let it answer: 'resize' and what watches a size come with the next frame."""
    opened.set_viewport_size({"width": width, "height": height})
    until(opened, "size => innerWidth === size[0] && innerHeight === size[1]", arg=[width, height])
    framed(opened)


def framed(opened: Any) -> None:
    """Until what is known now has been drawn."""
    opened.evaluate("() => new Promise(go => requestAnimationFrame(() => requestAnimationFrame(go)))")


@contextmanager
def watched_page(browser: Any, **context: Any) -> Iterator[Any]:
    """A page in a context of its own; whatever goes wrong on it, or is said to have, fails the test."""
    made = browser.new_context(**context)
    opened = made.new_page()
    faults = watched(opened)
    yield opened
    shown = alerts(opened)
    made.close()
    assert faults == []
    assert shown == []


@contextmanager
def told_page(browser: Any, **context: Any) -> Iterator[Any]:
    """A page in a context of its own that may be refused something and is told so; a script error fails the test."""
    made = browser.new_context(**context)
    opened = made.new_page()
    faults: list[str] = []
    opened.on("pageerror", lambda e: faults.append(str(e)))
    yield opened
    made.close()
    assert faults == []


def told(page: Any, section: str, words: str) -> None:
    """Until the line of trouble of a section says these words; it is not there where it says none."""
    until(
        page,
        """([section, words]) => { const line = document.querySelector(`[data-problem=${section}]`);
            return line.textContent === words && line.hidden === (words === ''); }""",
        arg=[section, words],
    )


@pytest.fixture
def page(browser: Any, server: str) -> Iterator[Any]:
    with watched_page(browser, accept_downloads=True, viewport={"width": 1280, "height": 900}) as opened:
        yield opened
