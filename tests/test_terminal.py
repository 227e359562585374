"""Words and numbers reach every terminal, pipe and file."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strapwork.cli import terminal

LINE = "wrist −3 → 17½ × 2 · “Ada” … 14.3°"
# A run as the command line makes it: streams round everything, one sentence for what cannot be helped.
WRAPPER = """
import sys
from strapwork.cli import terminal
from strapwork.errors import InputError

def main():
    try:
        with terminal.streams():
            exec(sys.argv[1])
    except InputError as e:
        terminal.complain(f"strapwork: {e}")
        return 2
    except BrokenPipeError:
        return 0
    return 0

raise SystemExit(main())
"""


def command(code: str) -> list[str]:
    return [sys.executable, "-c", WRAPPER, code]


def settings_for(encoding: str) -> dict[str, str]:
    own = {k: v for k, v in os.environ.items() if k != "PYTHONUNBUFFERED"}
    return {**own, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0", "PYTHONPATH": os.pathsep.join(sys.path)}


def run(code: str, encoding: str = "utf-8", **more: object) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(command(code), env=settings_for(encoding), capture_output=True, timeout=60, **more)  # type: ignore[call-overload,no-any-return]


@pytest.mark.parametrize(
    ("encoding", "seen"),
    [
        ("utf-8", LINE),
        ("cp1252", "wrist -3 -> 17½ × 2 · “Ada” … 14.3°"),
        ("cp437", 'wrist -3 -> 17½ x 2 · "Ada" ... 14.3°'),
        ("ascii", 'wrist -3 -> 17 1/2 x 2 - "Ada" ... 14.3 deg'),
    ],
)
def test_signs_take_a_plain_form_where_the_code_page_has_none(encoding: str, seen: str) -> None:
    done = run(f"print({LINE!r}); print({LINE!r}, file=sys.stderr)", encoding)
    assert done.returncode == 0
    assert done.stdout.decode(encoding).strip() == seen
    assert done.stderr.decode(encoding).strip() == seen


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii", "utf-8"])
def test_names_stay_apart_on_every_terminal(encoding: str) -> None:
    names = ["山田", "山本", "René", "Rene", "Łukasz", "Lukasz", "👍🏻", "👍🏿", "a\udce9", "a\udcea", "محمد"]
    done = run(f"[print(n) for n in {names!r}]", encoding)
    assert done.returncode == 0, done.stderr
    rows = done.stdout.decode(encoding).split()
    assert len(rows) == len(set(rows)) == len(names)
    if encoding != "utf-8":
        assert rows[:2] == ["<U+5C71><U+7530>", "<U+5C71><U+672C>"]


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii"])
def test_a_whole_report_reaches_a_poor_terminal(encoding: str, tmp_path: Path) -> None:
    asked = [
        "draft",
        "wristband",
        "--measure",
        "172 mm",
        "--label",
        "山田 René",
        "--out",
        str(tmp_path / "out"),
        "--card=none",
    ]
    done = run(f"from strapwork.cli.main import main; sys.exit(main({asked!r}))", encoding)
    assert (done.returncode, done.stderr) == (0, b"")
    rows = done.stdout.decode(encoding).splitlines()
    assert rows[0].startswith("<U+5C71><U+7530> Ren" + ("<U+00E9>" if encoding == "ascii" else "é"))
    assert rows[-1] == "Print at 100 % and measure the 50 mm square before you cut."
    assert (tmp_path / "out" / "wristband.pdf").exists()


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii", "utf-8"])
def test_json_is_utf_8_whatever_the_terminal_is(encoding: str) -> None:
    data = {"label": "山田 −3 → ½", "broken": "\udce9"}
    code = f"import json; print('before'); terminal.say_json(json.dumps({data!r}, ensure_ascii=False)); print('after')"
    done = run(code, encoding)
    assert done.returncode == 0, done.stderr
    before, middle, after = done.stdout.split(b"\n")[:3]
    assert (before.strip(), after.strip()) == (b"before", b"after")
    assert json.loads(middle.decode("utf-8")) == data


MUCH = ["print('x' * 200_000)", "print('x')", "terminal.say_json('[1]' + ' ' * 200_000)"]


@pytest.mark.parametrize("unbuffered", ["", "1"])
@pytest.mark.parametrize("code", MUCH)
def test_a_reader_that_went_away_is_no_fault(code: str, unbuffered: str) -> None:
    env = {**settings_for("utf-8"), "PYTHONUNBUFFERED": unbuffered}
    p = subprocess.Popen(command(code), env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert p.stdout is not None
    assert p.stderr is not None
    p.stdout.close()
    stderr = p.stderr.read()
    assert p.wait(timeout=60) == 0
    assert stderr == b""


def test_a_refusal_after_the_reader_went_away_is_still_a_refusal() -> None:
    code = "print('x'); raise InputError('--measure', 'it is missing', 'give one')"
    p = subprocess.Popen(command(code), env=settings_for("utf-8"), stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert p.stdout is not None
    assert p.stderr is not None
    p.stdout.close()
    assert p.stderr.read().decode().strip() == "strapwork: --measure: it is missing; give one."
    assert p.wait(timeout=60) == 2


def test_nobody_to_complain_to_changes_no_exit_code() -> None:
    code = "raise InputError('--measure', 'it is missing', 'give one')"
    p = subprocess.Popen(command(code), env=settings_for("utf-8"), stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert p.stdout is not None
    assert p.stderr is not None
    p.stderr.close()
    assert p.stdout.read() == b""
    assert p.wait(timeout=60) == 2


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize("unbuffered", ["", "1"])
@pytest.mark.parametrize("code", MUCH)
def test_a_full_disk_behind_the_output_is_said_in_one_sentence(code: str, unbuffered: str) -> None:
    env = {**settings_for("utf-8"), "PYTHONUNBUFFERED": unbuffered}
    with open("/dev/full", "wb") as full:
        done = subprocess.run(command(code), env=env, stdout=full, stderr=subprocess.PIPE, timeout=60)
    assert done.returncode == 2
    words = done.stderr.decode().strip()
    assert words.startswith("strapwork: standard output: it cannot be written (")
    assert words.endswith("; make room, or send it elsewhere.")
    assert "\n" not in words


@pytest.mark.skipif(os.name == "nt", reason="needs a shell that closes streams")
def test_closed_streams_are_borne() -> None:
    code = "print('x'); terminal.say_json('[]'); terminal.complain('y')"
    for closed in (">&-", "2>&-", ">&- 2>&-"):
        line = '"$@" ' + closed
        done = subprocess.run(["sh", "-c", line, "sh", *command(code)], env=settings_for("utf-8"), timeout=60)
        assert done.returncode == 0, closed


def test_troubles_with_other_files_are_not_taken_for_the_terminals() -> None:
    done = run("open('/nowhere/at/all')")
    assert b"FileNotFoundError" in done.stderr
    assert done.returncode == 1


@given(st.text(st.characters(exclude_categories=())))
def test_plain_forms_are_ascii_and_leave_ascii_alone(text: str) -> None:
    seen = terminal.plain(text)
    assert seen.isascii()
    if text.isascii():
        assert seen == text
