"""The wheel and an editable install both find patterns and templates."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import venv
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def run(*args: str | Path, cwd: Path | None = None) -> str:
    done = subprocess.run([str(a) for a in args], cwd=cwd, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of what git holds, away from the checkout."""
    folder = tmp_path_factory.mktemp("source") / "strapwork"
    ignore = shutil.ignore_patterns(".git", ".venv*", "build", "dist", "__pycache__", ".*_cache", "samples")
    shutil.copytree(ROOT, folder, ignore=ignore)
    return folder


def clean_environment(folder: Path) -> Path:
    """A new environment that sees this one's libraries but not this one's strapwork."""
    venv.create(folder, with_pip=False)
    site = next((folder / "lib").glob("python*/site-packages"))
    # A plain path in a .pth file brings the libraries, but not the .pth files
    # beside them, so no editable strapwork leaks in.
    (site / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return folder / "bin" / "python"


def install(python: Path, *what: str | Path) -> None:
    """By this environment's pip, into that one, which has none of its own."""
    run(sys.executable, "-m", "pip", "--python", python, "install", "--no-deps", "--no-index", "--no-compile", *what)


def check(python: Path, tmp_path: Path, inside: Path) -> None:
    asked = (
        "import strapwork; from strapwork.files.folders import folder; print(strapwork.__file__);"
        "print(*[(folder(name) / file).is_file() for name, file in (('patterns', 'wristband.toml'), ('templates', 'job.toml'))])"
    )
    where, found = run(python, "-c", asked, cwd=tmp_path).splitlines()
    assert Path(where).is_relative_to(inside)
    assert found == "True True"
    run(python, "-m", "strapwork", "draft", "wristband", "--measure", "172 mm", "--out", "band", cwd=tmp_path)
    assert (tmp_path / "band" / "wristband.pdf").read_bytes().startswith(b"%PDF")


def test_the_wheel_brings_its_data(source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import hatchling.build

    monkeypatch.chdir(source)
    wheel = hatchling.build.build_wheel(str(tmp_path))
    python = clean_environment(tmp_path / "env")
    install(python, tmp_path / wheel)
    check(python, tmp_path, tmp_path / "env")


def test_wheel_and_source_are_whole_and_the_same_whenever_they_are_built(
    source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import hatchling.build

    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    monkeypatch.chdir(source)
    built: list[list[bytes]] = []
    names: set[str] = set()
    for k in range(2):
        out = tmp_path / str(k)
        out.mkdir()
        made = [out / hatchling.build.build_wheel(str(out)), out / hatchling.build.build_sdist(str(out))]
        built.append([p.read_bytes() for p in made])
        with tarfile.open(made[1]) as sdist:
            names = {name.partition("/")[2] for name in sdist.getnames()}
        for path in source.rglob("*.py"):
            os.utime(path, (1e9 + k, 1e9 + k))
    assert built[0] == built[1]
    for folder in ("src", "patterns", "templates", "tests"):
        files = {p.relative_to(source).as_posix() for p in (source / folder).rglob("*") if p.is_file()}
        assert {f for f in files if "__pycache__" not in f and not f.endswith(".pyc")} <= names


def test_an_editable_install_finds_the_folders_at_the_top(source: Path, tmp_path: Path) -> None:
    python = clean_environment(tmp_path / "env")
    install(python, "--no-build-isolation", "-e", source)
    check(python, tmp_path, source)


def test_the_top_level_holds_exactly_what_it_should() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "patterns",
        "src",
        "tests",
        "templates",
        "samples",
        "LICENSE",
    }
    assert {t for t in top if not t.startswith(".")} <= allowed
