"""Every page in Firefox, by its own WebDriver BiDi:  python tests/bench/firefox.py FOLDER-FOR-PICTURES

Needs a Firefox on the path and the package websocket-client.  Each page is opened at three widths, the measure is typed, and
the result, what overflows, and all that the console says of errors are looked at; pictures go into the folder.  Then three tasks
are done: a job typed into its grid and made, the steps of a braid, and the mend of one that went wrong.
"""

from __future__ import annotations

import base64
import itertools
import json
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import websocket

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.page_states import SHELF

from strapwork.files.folders import Places
from strapwork.web import app, server

WIDTHS = ((390, 844), (820, 1100), (1280, 900))
PAGES = {
    "piece": "/?pattern=wristband&measure=172&leather=4-5+oz", "wrong": "/?measure=6+3/4+mm&strands=4", "job": "/job",
    "leathers": "/leathers", "sizes": "/sizes?of=5&count=40", "printers": "/printers", "prices": "/prices",
    "braid": "/braid?strands=3", "two-learners": "/braid?strands=3&learners=two", "atlas": "/braid/atlas?strands=5", "nothing": "/nothing",
}  # fmt: skip
TAB, ENTER, SPACE, RIGHT = "\ue004", "\ue007", " ", "\ue014"
WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
ROWS = """localStorage.setItem('job', JSON.stringify({job: {}, pieces: [
  {pattern: 'wristband', measure: '17 cm', label: 'Ada', person: 'Ines'}, {pattern: 'wristband', sizes: {S: '16 cm', M: '17 cm'}}]}))"""


class Firefox:
    """A session of WebDriver BiDi in one tab."""

    def __init__(self, address: str) -> None:
        self.line = websocket.create_connection(address, timeout=60, suppress_origin=True)
        self.numbers = itertools.count(1)
        self.faults: list[str] = []
        self.ask("session.new", capabilities={})
        self.ask("session.subscribe", events=["log.entryAdded", "network.responseCompleted"])
        self.tab = self.ask("browsingContext.getTree")["contexts"][0]["context"]

    def ask(self, method: str, **params: Any) -> Any:
        number = next(self.numbers)
        self.line.send(json.dumps({"id": number, "method": method, "params": params}))
        while True:
            got = json.loads(self.line.recv())
            if got.get("id") == number:
                if got["type"] == "error":
                    raise RuntimeError(f"{method}: {got['error']}: {got['message']}")
                return got["result"]
            self._note(got)

    def _note(self, event: dict[str, Any]) -> None:
        what = event.get("params", {})
        if event.get("method") == "log.entryAdded" and what["level"] in ("error", "warn"):
            self.faults.append(f"{what['level']}: {what.get('text')}")
        if event.get("method") == "network.responseCompleted" and what["response"]["status"] >= 400:
            self.faults.append(f"{what['response']['status']} {what['response']['url']}")

    def open(self, address: str) -> None:
        self.ask("browsingContext.navigate", context=self.tab, url=address, wait="complete")

    def size(self, width: int, height: int) -> None:
        self.ask("browsingContext.setViewport", context=self.tab, viewport={"width": width, "height": height})

    def run(self, script: str) -> Any:
        got = self.ask("script.evaluate", expression=script, target={"context": self.tab}, awaitPromise=True)
        if got["type"] == "exception":
            raise RuntimeError(got["exceptionDetails"]["text"])
        return got["result"].get("value")

    def until(self, script: str, seconds: float = 30.0) -> None:
        end = time.monotonic() + seconds
        while not self.run(f"Boolean({script})"):
            if time.monotonic() > end:
                raise RuntimeError(f"never so: {script}")
            time.sleep(0.1)

    def type(self, selector: str, text: str) -> None:
        self.run(f"document.querySelector({selector!r}).focus(); document.querySelector({selector!r}).select()")
        keys = [{"type": kind, "value": key} for key in text for kind in ("keyDown", "keyUp")]
        self.ask("input.performActions", context=self.tab, actions=[{"type": "key", "id": "keys", "actions": keys}])

    def press(self, keys: str) -> None:
        """Keys one after the other, to whatever has the focus; those of WebDriver for Tab, Enter and the like."""
        steps = [{"type": kind, "value": key} for key in keys for kind in ("keyDown", "keyUp")]
        self.ask("input.performActions", context=self.tab, actions=[{"type": "key", "id": "keys", "actions": steps}])

    def click(self, selector: str) -> None:
        """Click in the middle of an element, as a mouse does."""
        self.run(f"document.querySelector({selector!r}).scrollIntoView({{block: 'center'}})")
        found = self.ask("browsingContext.locateNodes", context=self.tab, locator={"type": "css", "value": selector})
        there = {"type": "element", "element": {"sharedId": found["nodes"][0]["sharedId"]}}
        steps = [
            {"type": "pointerMove", "x": 0, "y": 0, "origin": there},
            {"type": "pointerDown", "button": 0},
            {"type": "pointerUp", "button": 0},
        ]
        self.ask(
            "input.performActions", context=self.tab, actions=[{"type": "pointer", "id": "mouse", "actions": steps}]
        )

    def picture(self, path: Path) -> None:
        got = self.ask("browsingContext.captureScreenshot", context=self.tab, origin="viewport")
        path.write_bytes(base64.b64decode(got["data"]))


@contextmanager
def firefox() -> Iterator[Firefox]:
    """A Firefox of its own, with a profile that is thrown away."""
    found = shutil.which("firefox") or shutil.which("firefox-esr")
    if not found:
        sys.exit("No Firefox on this machine.")
    with tempfile.TemporaryDirectory() as profile:
        call = [found, "--headless", "--no-remote", "--profile", profile, "--remote-debugging-port", "0"]
        running = subprocess.Popen(call, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True)
        try:
            assert running.stderr is not None
            for line in running.stderr:
                at = re.search(r"WebDriver BiDi listening on (ws://\S+)", line)
                if at:
                    break
            else:
                sys.exit("Firefox offers no WebDriver BiDi.")
            threading.Thread(target=running.stderr.read, daemon=True).start()
            yield Firefox(f"{at.group(1)}/session")
        finally:
            running.terminate()
            running.wait(20)


def grid(fox: Firefox, base: str) -> None:
    """A job of two typed as in a spreadsheet, undone and redone, its order read and its files asked for.

    From cell to cell by arrow keys and on buttons by clicks: a window without a screen is never in front, tells its page of
    no field that is left and takes no Enter for a click.
    """
    fox.open(f"{base}/job")
    fox.run("localStorage.clear()")
    fox.open(f"{base}/job")
    fox.click("#pieces tr:first-child [data-key=label]")
    fox.press(f"Ines{RIGHT}{RIGHT}17 cm{ENTER}")
    fox.until("document.querySelector('#pieces tr:first-child .o-out').textContent.includes('250.1 mm')")
    fox.run("document.querySelector('#pieces tr:nth-child(2) [data-key=label]').focus()")
    fox.press(f"Bruno{RIGHT}{RIGHT}18.5 cm{ENTER}")
    fox.until("document.querySelector('#order').textContent.includes('Bruno')")
    fox.until("document.querySelector('#order-state').textContent.startsWith('As on')")
    fox.click("#undo")
    fox.until("document.querySelector('#pieces tr:nth-child(2) [data-key=measure]').value === ''")
    fox.click("#redo")
    fox.until("document.querySelector('#pieces tr:nth-child(2) [data-key=measure]').value === '18.5 cm'")
    fox.click("[data-make=pdf]")
    fox.until("document.querySelector('#state').textContent === 'Done.'")


def steps(fox: Firefox, base: str) -> None:
    """Through a set of three strands with the keys that a foot pedal sends."""
    fox.open(f"{base}/braid?strands=3&sets=2")
    fox.until("document.querySelector('.count').textContent.startsWith('Set 1 of 2')")
    for _ in range(7):
        fox.press(RIGHT)
    fox.until("document.querySelector('#where').textContent.startsWith('Step 8 of 8')")
    fox.press(SPACE)
    fox.until("document.querySelector('.count').textContent.startsWith('Set 2 of 2')")


def mend(fox: Firefox, base: str) -> None:
    """Something is wrong: one turn too many is said, and the way out is gone through to its end."""
    fox.open(f"{base}/braid?strands=3")
    fox.run("localStorage.clear()")
    fox.open(f"{base}/braid?strands=3")
    fox.until("!document.querySelector('.wrong').hidden")
    fox.click(".wrong")
    fox.until("document.querySelector('#wrong-dialog').open")
    for _ in range(5):
        fox.click("[data-part=done] [data-by='1']")
    fox.click("#wrong-go")
    fox.until("!document.querySelector('#wrong-answer').hidden")
    told = fox.run("document.querySelector('#mend-headline').textContent")
    assert "Not yet well" in told or "All is well" in told, told
    for _ in range(12):
        last = fox.run("document.querySelector('#mend-next').textContent === 'Go on braiding'")
        fox.click("#mend-next")
        if last:
            break
    fox.until("!document.querySelector('#wrong-dialog').open")


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as made:
        places = Places(None, SHELF, Path(made) / "printers.toml", Path(made) / "prices")
        running = server.create(app.create_app(places), "127.0.0.1", 0)
        threading.Thread(target=running.run, daemon=True).start()
        base = f"http://127.0.0.1:{running.effective_port}"
        with firefox() as fox:
            for width, height in WIDTHS:
                fox.size(width, height)
                for name, address in PAGES.items():
                    fox.faults.clear()
                    fox.open(base + address)
                    if name == "job":
                        fox.run(ROWS)
                        fox.open(base + address)
                        fox.until("document.querySelector('#order-state').textContent.startsWith('As on')")
                    if name == "piece":
                        fox.until("document.querySelector('form[data-state=new]') && typeof last === 'object' && last")
                        fox.type("#f-measure", "180 mm\ue007")
                        fox.until("last.q === query() && query().includes('180')")
                    if name == "wrong":
                        fox.until("document.querySelector('#w-strands button')")
                    time.sleep(0.5)
                    fox.picture(folder / f"{name}-{width}.png")
                    fox.run("1")  # what has been said meanwhile
                    own = [f for f in fox.faults if name != "nothing" or "404" not in f]
                    print(f"{width:5d} {name:13s} over the edge {fox.run(WIDE)} px, faults {own}")
            for task in (grid, steps, mend):
                fox.faults.clear()
                task(fox, base)
                fox.run("1")
                print(f"{task.__name__} done, faults {fox.faults}")
        running.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
