"""Every page and state of it before the Nu Html Checker:  python tests/bench/valid.py vnu.jar

The checker (the W3C's, a jar that needs a Java) is not in the suite, which has html5lib's strict parser and a check of
references instead (``tests/test_page_valid.py``).  Style sheets are not judged: it knows no property of SVG 2.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tempfile
import threading
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.page_states import SHELF, served

from strapwork.files.folders import Places
from strapwork.web import app, server

ROWS = """localStorage.setItem('job', JSON.stringify({job: {}, pieces: [
  {pattern: 'wristband', measure: '17 cm', label: 'Ada', person: 'Ines'}, {pattern: 'belt', measure: '9 m', strands: 4, label: 'Bo'},
  {pattern: 'wristband', sizes: {S: '16 cm', M: '17 cm'}}]}))"""
IN_STEP = "() => document.querySelector('#order-state').textContent.startsWith('As on')"


def worked(page: Any, base: str) -> Iterator[str]:
    """States that scripts make, by name; each is shown when its name is given."""
    page.goto(f"{base}/?measure=172&leather=4-5+oz")
    page.wait_for_selector("form[data-state=new]")
    page.click("#pieces summary")
    yield "a piece, kept"
    page.goto(f"{base}/?measure=6+3/4+mm&strands=4")
    page.wait_for_selector("#w-strands button")
    yield "two wrong fields"
    page.goto(f"{base}/job")
    page.evaluate(ROWS)
    page.reload()
    page.wait_for_selector(".o-say.wrong")
    for part in ("#jobs", "#strips-part"):
        page.click(f"{part} summary")
    page.wait_for_selector("#job-list li")
    yield "a job with a wrong row"
    page.click("#pieces tr:nth-child(2) .o-acts button:nth-child(2)")
    page.wait_for_function(IN_STEP)
    yield "a job in order"
    page.goto(f"{base}/braid?strands=3&learners=two")
    page.click(".player .wrong >> nth=0")
    page.click("[data-way=slips]")
    page.wait_for_selector("#wrong-slips li")
    yield "slips"
    page.click("[data-way=done]")
    page.click("[data-part=done] [aria-label='One turn more']")
    page.click("#wrong-go")
    page.wait_for_selector("#wrong-answer:not([hidden])")
    yield "a mend"


def main(jar: str) -> None:
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        (folder / "prices").mkdir()
        shutil.copy(SHELF.parent / "prices.toml", folder / "prices" / "stall.toml")
        places = Places(None, SHELF, folder / "printers.toml", folder / "prices")
        page = app.create_app(places)
        names = {}
        for k, (name, text) in enumerate(served(page.test_client())):
            (folder / f"served-{k}.html").write_text(text)
            names[f"served-{k}.html"] = name
        running = server.create(page, "127.0.0.1", 0)
        threading.Thread(target=running.run, daemon=True).start()
        with sync_playwright() as play:
            opened = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
            tab = opened.new_page(viewport={"width": 1280, "height": 900})
            for k, name in enumerate(worked(tab, f"http://127.0.0.1:{running.effective_port}")):
                text = "<!doctype html>" + tab.evaluate("document.documentElement.outerHTML")
                (folder / f"worked-{k}.html").write_text(text)
                names[f"worked-{k}.html"] = name
            opened.close()
        call = ["java", "-jar", jar, "--format", "json", "--stdout", *(str(folder / name) for name in names)]
        said = json.loads(subprocess.run(call, capture_output=True, text=True, check=False).stdout)["messages"]
    found: dict[str, list[str]] = defaultdict(list)
    for one in said:
        found[f"{one['type']}: {one['message']}"].append(names[one["url"].rpartition("/")[2]])
    print(f"{len(names)} states, {len(said)} messages")
    for message, where in found.items():
        print(f"  {message}  ({len(where)} times, first in {where[0]!r})")


if __name__ == "__main__":
    main(sys.argv[1])
