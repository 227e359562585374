"""Which tests look at which line of the project.  python tests/bench/seen.py [FILE]

Runs the whole suite once under coverage, each test in a context of its own, and writes what was found as JSON
(``.seen.json`` of the checkout by default, which git ignores).  mutants.py chooses by it the tests that may notice a wrong
line, script_mutants.py those that may notice one of the page's scripts.  Takes twice as long as the suite.  Needs `pip install
coverage`, which nothing else here does.

What a test finds made by an earlier one (jobs and pictures are cached) it does not run again; so the tests of a line are those
that ran it, and after them the others of the same files.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
FILE = ROOT / ".seen.json"
SOURCE = "src/strapwork"
FOLDER = "--seen-in"


@dataclass(frozen=True)
class Seen:
    """Seconds of each test, the tests that need a browser, and by module (or script) and line the tests that ran it."""

    seconds: dict[str, float]
    browser: frozenset[str]
    lines: dict[str, dict[int, list[str]]]

    def of(self, module: str, line: int) -> list[str]:
        """Tests that ran a line, or where the line is run on import all that ran any of the module, the shortest first; then
        the others of the same files."""
        ran = self.lines.get(module, {})
        direct = set(ran.get(line, ())) or {t for tests in ran.values() for t in tests}
        files = {_file(t) for t in direct}
        beside = {t for t in self.seconds if _file(t) in files} - direct
        return [*sorted(direct, key=self._order), *sorted(beside, key=self._order)]

    def _order(self, test: str) -> tuple[bool, float]:
        return test in self.browser, self.seconds.get(test, 0.0)


def _file(test: str) -> str:
    return test.partition("::")[0]


def read(file: Path = FILE) -> Seen:
    """What an earlier run wrote."""
    if not file.exists():
        raise SystemExit(
            f"{file} is missing; write it with python tests/bench/seen.py, once and again after tests were added"
        )
    kept = json.loads(file.read_text(encoding="utf-8"))
    names = list(kept["seconds"])
    return Seen(
        kept["seconds"],
        frozenset(kept["browser"]),
        {m: {int(n): [names[k] for k in ks] for n, ks in lines.items()} for m, lines in kept["lines"].items()},
    )


# As a plugin of pytest, in each worker.


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(FOLDER, help="folder that takes what is found")


def pytest_configure(config: pytest.Config) -> None:
    if config.getoption(FOLDER) and hasattr(config, "workerinput"):
        config.pluginmanager.register(_Watch(Path(config.getoption(FOLDER)), config.workerinput["workerid"]))


class _Watch:
    """Notes the lines and the time of each test of one worker."""

    def __init__(self, folder: Path, worker: str) -> None:
        import coverage
        from tests.bench import seen_scripts

        self._file = folder / f"{worker}.json"
        self._seconds: dict[str, float] = {}
        self._browser: list[str] = []
        self._scripts: dict[str, dict[str, list[int]]] = {}
        self._pages = seen_scripts.Watch()
        self._measured = coverage.Coverage(
            data_file=str(folder / f"{worker}.coverage"), include=[str(ROOT / SOURCE / "*")], config_file=False
        )
        self._measured.start()

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self._measured.switch_context(item.nodeid)
        begun = time.perf_counter()
        yield
        self._seconds[item.nodeid] = time.perf_counter() - begun
        if item.get_closest_marker("browser") or "browser" in getattr(item, "fixturenames", ()):
            self._browser.append(item.nodeid)
            self._scripts[item.nodeid] = {name: sorted(lines) for name, lines in self._pages.taken().items()}
        self._measured.switch_context("")

    def pytest_sessionfinish(self) -> None:
        self._measured.stop()
        self._measured.save()
        noted = {"seconds": self._seconds, "browser": self._browser, "scripts": self._scripts}
        self._file.write_text(json.dumps(noted), encoding="utf-8")


def gathered(folder: Path) -> dict[str, Any]:
    """What all workers noted, as one."""
    from coverage import CoverageData

    seconds: dict[str, float] = {}
    browser: list[str] = []
    scripts: dict[str, dict[str, list[int]]] = {}
    for file in sorted(folder.glob("*.json")):
        noted = json.loads(file.read_text(encoding="utf-8"))
        seconds |= noted["seconds"]
        browser += noted["browser"]
        scripts |= noted["scripts"]
    at = {name: k for k, name in enumerate(seconds)}
    lines: dict[str, dict[int, set[int]]] = {}
    for test, ran in scripts.items():
        for name, numbers in ran.items():
            for line in numbers:
                lines.setdefault(name, {}).setdefault(line, set()).add(at[test])
    for file in sorted(folder.glob("*.coverage")):
        data = CoverageData(basename=str(file))
        data.read()
        for path in data.measured_files():
            module = Path(path).relative_to(ROOT / SOURCE).with_suffix("").as_posix()
            for line, contexts in data.contexts_by_lineno(path).items():
                lines.setdefault(module, {}).setdefault(line, set()).update(at[c] for c in contexts if c in at)
    return {
        "seconds": {name: round(s, 3) for name, s in seconds.items()},
        "browser": browser,
        "lines": {m: {n: sorted(tests) for n, tests in sorted(of.items())} for m, of in sorted(lines.items())},
    }


def main() -> int:
    file = Path(sys.argv[1]) if len(sys.argv) > 1 else FILE
    with tempfile.TemporaryDirectory() as folder:
        ended = subprocess.run(
            [sys.executable, "-m", "pytest", "-p", "tests.bench.seen", f"{FOLDER}={folder}"], cwd=ROOT, check=False
        )
        if ended.returncode:
            return ended.returncode
        file.write_text(json.dumps(gathered(Path(folder))), encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
