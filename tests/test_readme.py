"""README.md as a newcomer follows it: every command, in order, in one folder that begins as a fresh clone."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
from pathlib import Path

import pytest

from strapwork.cli import main as cli

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
SET_UP = ("python3", "pip", "pytest")  # what the tests themselves run on
# Runs until it is stopped; wants a picture of a sheet that someone printed; is made in test_atlas.py and takes long.
NOT_HERE = re.compile(r"strapwork serve|strapwork scale --picture|strapwork braid --atlas")


def commands() -> list[list[str]]:
    """The words of every command of the README, in order."""
    out = []
    for line in re.findall(r"^    (\S.*)$", README, re.M):
        for part in line.split(" && "):
            words = shlex.split(part, comments=True)
            name = Path(words[0]).name
            if name in ("strapwork", "mkdir", "cp") and not NOT_HERE.search(part):
                out.append([name, *words[1:]])
            elif name.startswith("strap"):
                assert NOT_HERE.search(part)
    return out


def test_every_command_of_the_readme_works_in_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for folder in ("patterns", "samples"):
        shutil.copytree(ROOT / folder, tmp_path / "clone" / folder)
    monkeypatch.chdir(tmp_path / "clone")
    for name in ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "APPDATA", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    done = commands()
    assert len(done) > 30
    for words in done:
        if words[0] == "strapwork":
            status = cli.main(words[1:])
            told = capsys.readouterr()
            assert status == 0, f"{shlex.join(words)}: {told.err}"
        else:
            subprocess.run(words, check=True)
    again = json_of(Path("again"))
    assert again == json_of(Path("market-kit")), "what is made of a PDF is what the PDF was made of"


def json_of(folder: Path) -> str:
    """The fingerprint of the numbers in a folder."""
    found = re.search(r'"fingerprint": "(\w+)"', (folder / "numbers.json").read_text(encoding="utf-8"))
    assert found
    return found[1]


def test_every_folder_and_file_that_the_readme_names_is_there() -> None:
    for name in re.findall(r"(?<![\w/-])(?:samples|patterns)/[\w./-]*\w", README):
        assert (ROOT / name).exists(), name
    shown = re.findall(r"!\[[^\]]+\]\(([^)]+)\)|<img src=\"([^\"]+)\"", README)
    assert shown
    for names in shown:
        assert (ROOT / "".join(names)).is_file(), names
