"""What happens to the maker's files when things go wrong: kills, full disks, locked files, two at once."""

from __future__ import annotations

import errno
import json
import multiprocessing
import os
import shutil
import signal
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from unittest import mock

import pytest

from strapwork.cli import main as cli
from strapwork.errors import InputError
from strapwork.files import output, staging, swap, update
from strapwork.files.lock import locked
from strapwork.order.names import file_stem
from tests import faults
from tests.faults import NEW, OLD, files_of, hashes, makers_own, run_in, set_up, state

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="children are killed by fork and SIGKILL")
needs_swap = pytest.mark.skipif(swap._exchange_call() is None, reason="this system cannot swap two folders")

BEFORE, AFTER = hashes(files_of("old", OLD)), hashes(files_of("new", NEW))
NEXT = ("market-kit.pdf",)


def one_of(part: dict[str, str], *wholes: dict[str, str]) -> bool:
    """Whether ``part`` holds files of one run only."""
    return any(part.items() <= whole.items() for whole in wholes)


def check_next_run(folder: Path, mine: dict[str, tuple[str, int]], swapping: bool = True) -> None:
    """The next run leaves itself, what is the maker's, and nothing else anywhere."""
    faults.write(folder, "next", NEXT, swapping)
    found = state(folder)
    assert run_in(found) == hashes(files_of("next", NEXT))
    assert makers_own(found) == mine
    assert [p.name for p in folder.parent.iterdir()] == [folder.name]


@needs_fork
@needs_swap
@pytest.mark.parametrize("how", faults.WAYS)
def test_a_kill_leaves_the_run_before_or_the_new_one_whole(tmp_path: Path, how: str) -> None:
    at, seen = 1 + faults.WAYS.index(how), set()
    while True:
        folder = set_up(tmp_path)
        mine, mode = makers_own(state(folder)), folder.stat().st_mode
        if not faults.killed(lambda f=folder: faults.write(f), at, how):
            break
        found = state(folder)
        assert run_in(found) in (BEFORE, AFTER), f"operation {at}"
        assert makers_own(found) == mine, f"operation {at}"
        assert folder.stat().st_mode == mode
        seen.add(run_in(found) == AFTER)
        check_next_run(folder, mine)
        at += 13
    assert seen == {False, True}  # some were killed early and some late


@needs_fork
@pytest.mark.parametrize("how", ["before", "after"])
def test_where_folders_cannot_be_swapped_a_kill_leaves_no_mix_and_the_next_run_mends_it(
    tmp_path: Path, how: str
) -> None:
    at = 1 + faults.WAYS.index(how)
    while True:
        folder = set_up(tmp_path)
        mine = makers_own(state(folder))
        if not faults.killed(lambda f=folder: faults.write(f, swapping=False), at, how):
            break
        found = state(folder)
        assert one_of(run_in(found), BEFORE, AFTER), f"operation {at}"
        if "numbers.json" in found:  # the numbers leave first and come last
            assert run_in(found) in (BEFORE, AFTER), f"operation {at}"
        assert makers_own(found) == mine
        # Asking alone mends it: to one of the two, whole.
        with pytest.raises(InputError, match="would be overwritten"):
            output.check_free(folder, ["numbers.json"], force=False)
        assert run_in(state(folder)) in (BEFORE, AFTER), f"operation {at}"
        check_next_run(folder, mine, swapping=False)
        at += 13


@needs_fork
@pytest.mark.parametrize("how", ["before", "within"])
def test_a_kill_of_the_first_run_leaves_no_folder_or_a_whole_one(tmp_path: Path, how: str) -> None:
    at = 1
    while True:
        shutil.rmtree(tmp_path)
        tmp_path.mkdir()
        folder = tmp_path / "market-kit"
        if not faults.killed(lambda f=folder: faults.write(f), at, how):
            break
        assert not folder.exists() or run_in(state(folder)) == AFTER, f"operation {at}"
        check_next_run(folder, {})
        at += 5


@needs_fork
def test_a_kill_leaves_the_shelf_as_it_was_or_changed(tmp_path: Path) -> None:
    at, shelf = 1, tmp_path / "leathers.toml"
    text = '# mine\n[tan]\nthickness = "2 mm"\n'
    while True:
        shutil.rmtree(tmp_path)
        tmp_path.mkdir()
        shelf.write_text(text, encoding="utf-8")
        if not faults.killed(lambda: put(shelf, "dark"), at, "before"):
            break
        assert shelf.read_text(encoding="utf-8") in (text, text + '\n[dark]\nthickness = "3 mm"\n'), f"operation {at}"
        put(shelf, "pale")
        assert {p.name for p in tmp_path.iterdir()} == {"leathers.toml", "leathers.toml.bak"}
        assert "pale" in shelf.read_text(encoding="utf-8")
        at += 2


@pytest.mark.parametrize("swapping", [pytest.param(True, marks=needs_swap), False])
@pytest.mark.parametrize(
    ("fault", "forever"),
    [
        (lambda: OSError(errno.ENOSPC, "No space left on device"), True),
        (lambda: PermissionError(errno.EACCES, "Permission denied"), False),
        (KeyboardInterrupt, False),
        (lambda: SystemExit(143), False),
    ],
    ids=["disk full", "no permission", "Ctrl-C", "terminated"],
)
def test_a_run_that_fails_leaves_the_folder_as_it_was_and_nothing_beside_it(
    tmp_path: Path, fault: Callable[[], BaseException], forever: bool, swapping: bool
) -> None:
    at, stopped = 1, 0
    while True:
        folder = set_up(tmp_path)
        mine = makers_own(state(folder))
        act = faults.Failing(at, fault, forever)
        refused, raised = "", False
        with faults.harm(act):
            try:
                faults.write(folder, swapping=swapping)
            except InputError as e:
                refused = str(e)
            except (KeyboardInterrupt, SystemExit):
                raised = True
        if act.count < at:
            break
        found = state(folder)
        if refused:
            assert refused.startswith("--out: '")
            assert "cannot be written (" in refused
            assert run_in(found) == BEFORE, f"operation {at}"
        else:  # a fault that strikes when the run stands does not take it back
            assert run_in(found) in ((BEFORE, AFTER) if raised else (AFTER,)), f"operation {at}"
        if refused or raised:
            assert makers_own(found) == mine, f"operation {at}"
            assert [p.name for p in tmp_path.iterdir()] == ["market-kit"], f"operation {at}"
            stopped += 1
        check_next_run(folder, mine, swapping)
        at += 9
    assert stopped >= 3  # it has met a good part of the run


@needs_swap
def test_a_sheet_that_cannot_be_removed_stops_the_run_whole(tmp_path: Path) -> None:
    folder = set_up(tmp_path)
    try:
        locked_file = subprocess.run(["chattr", "+i", folder / "market-kit-B.svg"], check=False, capture_output=True)
    except FileNotFoundError:
        pytest.skip("no chattr here")
    if locked_file.returncode:
        pytest.skip("this disk or this user cannot lock a file")
    was = state(folder)
    try:
        with pytest.raises(InputError, match=r"cannot be written \(Operation not permitted\)"):
            faults.write(folder)
        assert state(folder) == was
    finally:
        subprocess.run(["chattr", "-i", folder / "market-kit-B.svg"], check=True)
    assert [p.name for p in tmp_path.iterdir()] == ["market-kit"]


def test_fewer_pieces_leave_none_of_the_earlier_sheets_and_all_that_is_the_makers(tmp_path: Path) -> None:
    folder = set_up(tmp_path)
    mine = makers_own(state(folder))
    number = folder.stat().st_ino
    done = faults.write(folder)
    assert run_in(state(folder)) == AFTER
    assert makers_own(state(folder)) == mine
    assert sorted(done.gone) == ["market-kit-B.svg", "market-kit-C.svg"]
    assert folder.stat().st_ino == number  # a window or a terminal that stands in the folder stays there
    assert (folder / "notes for Ines.txt").stat().st_nlink == 1


def test_a_sheet_that_the_maker_has_drawn_on_stays_and_is_named(tmp_path: Path) -> None:
    folder = set_up(tmp_path)
    (folder / "market-kit-C.svg").write_text("with Bruno's marks", encoding="utf-8")
    done = faults.write(folder)
    assert done.kept == ("market-kit-C.svg",)
    assert (folder / "market-kit-C.svg").read_text(encoding="utf-8") == "with Bruno's marks"
    assert not (folder / "market-kit-B.svg").exists()


def test_sheets_of_a_run_that_kept_no_record_go_by_their_names(tmp_path: Path) -> None:
    folder = set_up(tmp_path)
    numbers = json.loads((folder / "numbers.json").read_text(encoding="utf-8"))
    del numbers["files"]
    (folder / "numbers.json").write_text(json.dumps(numbers), encoding="utf-8")
    faults.write(folder)
    assert run_in(state(folder)) == AFTER


@pytest.mark.parametrize(
    "name", ["../outside.txt", "photos/fair/stall.jpg", "photos", "/etc/hostname", ".hidden", "..", "", "a\u0000b", 7]
)
def test_numbers_that_list_what_is_not_the_runs_remove_nothing(tmp_path: Path, name: object) -> None:
    folder = set_up(tmp_path)
    (tmp_path / "outside.txt").write_text("mine", encoding="utf-8")
    (folder / ".hidden").write_text("mine", encoding="utf-8")
    (folder / "numbers.json").write_text(json.dumps({"sheets": [{"file": name}, name, None]}), encoding="utf-8")
    mine = makers_own(state(folder))
    faults.write(folder)
    assert makers_own(state(folder)) == mine
    assert (tmp_path / "outside.txt").exists()


@pytest.mark.parametrize("numbers", [b"", b"not json", b"[" * 9999, b"\xff\xfe", b'{"sheets": [', b"[1e999]"])
def test_damaged_numbers_stop_the_run_before_it_mixes_with_another(tmp_path: Path, numbers: bytes) -> None:
    folder = set_up(tmp_path)
    (folder / "numbers.json").write_bytes(numbers)
    was = state(folder)
    with pytest.raises(InputError, match=r"numbers.json' is damaged, .*; move what is there away, or give another"):
        faults.write(folder)
    assert state(folder) == was
    assert [p.name for p in tmp_path.iterdir()] == ["market-kit"]


@pytest.mark.parametrize("numbers", [b"[1, 2]", b'{"sheets": 3}', b'{"files": {}}', b"null", b"7"])
def test_numbers_that_are_not_ours_are_overwritten_and_nothing_else_goes(tmp_path: Path, numbers: bytes) -> None:
    folder = set_up(tmp_path)
    (folder / "numbers.json").write_bytes(numbers)
    faults.write(folder)
    assert run_in(state(folder)) == {**{k: v for k, v in BEFORE.items() if k != "numbers.json"}, **AFTER}


def test_another_kind_of_run_leaves_the_job_alone(tmp_path: Path) -> None:
    folder = set_up(tmp_path)
    output.write_all(folder, {"braid-3.pdf": b"card", "braid-3-1.svg": b"card"}, force=False)
    assert run_in(state(folder)) == BEFORE
    assert (folder / "braid-3.pdf").read_bytes() == b"card"


def test_a_folder_reached_by_a_link_is_written_through_it(tmp_path: Path) -> None:
    set_up(tmp_path / "desk")
    os.symlink("desk/market-kit", tmp_path / "kit")
    paths = output.write_all(tmp_path / "kit", files_of("new", NEW), force=True)
    assert paths[0] == tmp_path / "kit" / "market-kit.pdf"
    assert (tmp_path / "kit").is_symlink()
    assert run_in(state(tmp_path / "desk" / "market-kit")) == AFTER


def test_the_folder_one_stands_in_can_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = set_up(tmp_path)
    monkeypatch.chdir(folder)
    faults.write(Path())
    assert sorted(NEW) == sorted(n for n in os.listdir() if n in NEW)


def test_a_folder_with_too_much_in_it_is_not_linked_but_still_written_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = set_up(tmp_path)
    mine = makers_own(state(folder))
    monkeypatch.setattr(swap, "MOST_CARRIED", 2)
    faults.write(folder)
    assert (run_in(state(folder)), makers_own(state(folder))) == (AFTER, mine)


def test_a_folder_with_nothing_beside_it_that_can_be_written_is_written_from_inside(tmp_path: Path) -> None:
    folder = set_up(tmp_path)
    mine = makers_own(state(folder))
    allowed = os.access

    def access(path: os.PathLike[str], mode: int) -> bool:
        return Path(path) != tmp_path and allowed(path, mode)

    with mock.patch("os.access", access):
        faults.write(folder)
    assert (run_in(state(folder)), makers_own(state(folder))) == (AFTER, mine)
    assert [p.name for p in tmp_path.iterdir()] == ["market-kit"]


def test_a_folder_that_may_not_be_changed_is_left_alone(tmp_path: Path) -> None:
    folder = set_up(tmp_path)
    was = state(folder)
    allowed = os.access
    with (
        mock.patch("os.access", lambda path, mode: Path(path) != folder and allowed(path, mode)),
        pytest.raises(InputError, match=r"cannot be written \(Permission denied\); choose a folder that you may write"),
    ):
        faults.write(folder)
    assert state(folder) == was


def test_a_folder_that_stands_where_a_sheet_would_is_named(tmp_path: Path) -> None:
    folder = set_up(tmp_path)
    (folder / "order.csv").mkdir()
    was = state(folder)
    with pytest.raises(InputError, match=r"order.csv' is a folder"):
        faults.write(folder)
    assert state(folder) == was


@pytest.mark.parametrize("folder", ["x" * 300, "a/" * 3000, "a\0b", "file/below", "file"])
def test_names_that_cannot_be_get_one_sentence(tmp_path: Path, folder: str) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    for act in (
        lambda: output.check_free(tmp_path / folder, ["numbers.json"], force=False),
        lambda: output.write_all(tmp_path / folder, files_of("new", NEW), force=True),
        lambda: output.write_all(tmp_path / folder, {"job.toml": b"x"}, force=False),
    ):
        with pytest.raises(InputError) as e:
            act()
        assert str(e.value).startswith("--out: '")
        assert "\n" not in str(e.value)
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def test_a_name_too_long_for_a_sheet_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="give a shorter name"):
        output.write_all(tmp_path / "out" / "kit", {"a.pdf": b"1", "b" * 300 + ".pdf": b"2"}, force=False)
    assert list(tmp_path.iterdir()) == []


def test_two_writers_at_once_leave_one_run(tmp_path: Path) -> None:
    folder = set_up(tmp_path)
    mine = makers_own(state(folder))
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        waiting = [pool.apply_async(faults.write_many, (str(folder), tag, 6)) for tag in ("old", "new")]
        busy = [w.get(timeout=120) for w in waiting]
    assert busy == [0, 0]  # each waits its turn
    assert run_in(state(folder)) in (BEFORE, AFTER)
    check_next_run(folder, mine)


def test_the_second_of_two_first_runs_is_refused_without_force(tmp_path: Path) -> None:
    folder = tmp_path / "market-kit"
    output.check_free(folder, list(NEW), force=False)  # both looked before either wrote
    output.write_all(folder, files_of("new", NEW), force=False)
    with pytest.raises(InputError, match="would be overwritten"):
        output.write_all(folder, files_of("old", OLD), force=False)
    assert run_in(state(folder)) == AFTER


def test_a_writer_who_waits_too_long_is_told_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = set_up(tmp_path)
    monkeypatch.setattr(staging, "WAIT", 0.2)
    root = staging.root_beside(folder)
    root.mkdir()
    with locked(root / "lock", 0), pytest.raises(InputError, match="is being written by someone else; try again"):
        faults.write(folder)
    assert run_in(state(folder)) == BEFORE
    check_next_run(folder, makers_own(state(folder)))


@needs_swap
def test_what_the_maker_saves_during_a_run_stays(tmp_path: Path) -> None:
    folder = set_up(tmp_path)
    real, saved = swap.exchange, []

    def save_then(a: Path, b: Path) -> bool:
        k = len(saved) + 1
        saved.append(k)
        (folder / f"late-{k}.txt").write_text(f"before step {k}", encoding="utf-8")
        new = folder / "notes.new"
        new.write_text(f"saved anew before step {k}", encoding="utf-8")
        os.utime(new, (2e9 + k, 2e9 + k))
        os.replace(new, folder / "notes for Ines.txt")
        return real(a, b)

    with mock.patch.object(swap, "exchange", save_then):
        faults.write(folder)
    assert saved == [1, 2]
    assert {p.name for p in folder.glob("late-*")} == {"late-1.txt", "late-2.txt"}
    assert (folder / "notes for Ines.txt").read_text(encoding="utf-8") == "saved anew before step 2"
    assert run_in(state(folder)) == AFTER


@needs_fork
@needs_swap
def test_after_a_kill_the_maker_may_do_as_they_like_before_the_next_run(tmp_path: Path) -> None:
    folder = set_up(tmp_path)
    assert faults.killed(lambda: faults.write(folder), 1, "after", only="exchange")
    assert run_in(state(folder)) == AFTER  # the twin stands there, and the folder itself is hidden
    (folder / "notes for Ines.txt").unlink()
    (folder / "photos" / "fair" / "stall.jpg").write_bytes(b"another")
    (folder / "new.txt").write_text("new", encoding="utf-8")
    (folder / "photos").rename(folder / "pictures")
    faults.write(folder, "next", NEXT)
    assert (folder / "new.txt").read_text(encoding="utf-8") == "new"
    assert (folder / "pictures" / "fair" / "stall.jpg").read_bytes() == b"another"
    assert run_in(state(folder)) == hashes(files_of("next", NEXT))
    assert [p.name for p in tmp_path.iterdir()] == ["market-kit"]


def put(path: Path, name: str) -> None:
    def change(table: dict[str, object]) -> None:
        table["thickness"] = "3 mm"

    update.update_toml(path, name, change, "# Leathers, one table each.\n", lambda: None)


SHELF = "# Tern & Tackle\n\n[zeta]  # last year's\nthickness = '2 mm'\n\n[alpha]\nthickness = \"1.8 mm\" # soft side\n"


@pytest.mark.parametrize(
    "text", [SHELF, SHELF.rstrip("\n"), SHELF.replace("\n", "\r\n"), "\ufeff" + SHELF, "", "\ufeff"]
)
def test_line_ends_comments_order_and_the_mark_at_the_front_stay(tmp_path: Path, text: str) -> None:
    shelf = tmp_path / "leathers.toml"
    shelf.write_bytes(text.encode())
    put(shelf, "new")
    after = shelf.read_bytes().decode()
    assert after.startswith(text)
    end = "\r\n" if "\r\n" in text else "\n"
    assert after[len(text) :].strip("\r\n") == f'[new]{end}thickness = "3 mm"'
    assert after.count("\n") == after.count(end)
    assert (tmp_path / "leathers.toml.bak").read_bytes() == text.encode()


def test_links_mode_and_owner_of_the_shelf_stay(tmp_path: Path) -> None:
    real = tmp_path / "dotfiles" / "leathers.toml"
    real.parent.mkdir()
    real.write_text(SHELF, encoding="utf-8")
    real.chmod(0o640)
    link = tmp_path / "leathers.toml"
    link.symlink_to("dotfiles/leathers.toml")
    put(link, "new")
    assert os.readlink(link) == "dotfiles/leathers.toml"
    assert "[new]" in real.read_text(encoding="utf-8")
    assert real.stat().st_mode & 0o777 == 0o640
    assert (real.parent / "leathers.toml.bak").stat().st_mode & 0o777 == 0o640
    assert sorted(p.name for p in real.parent.iterdir()) == ["leathers.toml", "leathers.toml.bak"]


def test_one_generation_is_kept_and_only_where_something_changed(tmp_path: Path) -> None:
    shelf = tmp_path / "leathers.toml"
    put(shelf, "one")
    assert [p.name for p in tmp_path.iterdir()] == ["leathers.toml"]  # there was nothing to keep
    first = shelf.read_bytes()
    put(shelf, "two")
    second = shelf.read_bytes()
    put(shelf, "two")
    assert (shelf.read_bytes(), (tmp_path / "leathers.toml.bak").read_bytes()) == (second, first)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"[tan\n", r"not valid TOML: .*\(at line 1, column 5"),
        (b'[tan]\nthickness = "2 mm\n', r"\(at line 2, column 18\)"),
        (b"[tan]\nthickness = [1,\n", r"\(at line 3, column 1, where the text ends\)"),
        (b"[tan]\n# \xe9t\xe9\n", r"not UTF-8 text \(at line 2, column 3\)"),
        (b"[tan]\nx = 1\nx = 2\n", r"\(at line 3, column 6\)"),
    ],
)
def test_a_damaged_shelf_is_named_with_line_and_column_and_never_overwritten(
    tmp_path: Path, raw: bytes, words: str
) -> None:
    shelf = tmp_path / "leathers.toml"
    shelf.write_bytes(raw)
    with pytest.raises(InputError, match=words) as e:
        put(shelf, "new")
    assert str(e.value).startswith(f"{shelf}: ")
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {"leathers.toml": raw}


def test_a_shelf_that_the_maker_has_protected_stays_as_it_is(tmp_path: Path) -> None:
    shelf = tmp_path / "leathers.toml"
    shelf.write_text(SHELF, encoding="utf-8")
    allowed = os.access
    with (
        mock.patch("os.access", lambda path, mode: Path(path) != shelf and allowed(path, mode)),
        pytest.raises(InputError, match=r"it cannot be written \(Permission denied\)"),
    ):
        put(shelf, "new")
    assert {p.name: p.read_text(encoding="utf-8") for p in tmp_path.iterdir()} == {"leathers.toml": SHELF}


def test_a_starter_replaced_by_force_keeps_its_link_and_mode(tmp_path: Path) -> None:
    real = tmp_path / "kept" / "job.toml"
    real.parent.mkdir()
    real.write_bytes(b"old")
    real.chmod(0o600)
    (tmp_path / "job.toml").symlink_to("kept/job.toml")
    output.write_all(tmp_path, {"job.toml": b"new"}, force=True)
    assert (tmp_path / "job.toml").is_symlink()
    assert (real.read_bytes(), real.stat().st_mode & 0o777) == (b"new", 0o600)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["job.toml", "kept"]


def test_a_job_made_again_with_fewer_pieces_leaves_no_sheet_of_the_first(tmp_path: Path) -> None:
    job = tmp_path / "market.toml"
    piece = '[[pieces]]\nlabel = "{0}"\npattern = "key-fob"\nmeasure = "90 mm"\n'
    job.write_text('title = "Market"\n' + "".join(piece.format(n) for n in ("Ines", "Bruno")), encoding="utf-8")
    args = ["make", str(job), "--out", str(tmp_path / "out"), "--format", "svg", "--card", "alone"]
    assert cli.main(args) == 0
    (tmp_path / "out" / "notes.txt").write_text("mine", encoding="utf-8")
    first = {p.name for p in (tmp_path / "out").iterdir()}
    job.write_text('title = "Market"\n' + piece.format("Ines"), encoding="utf-8")
    assert cli.main([*args, "--force"]) == 0
    second = {p.name for p in (tmp_path / "out").iterdir()}
    assert second < first
    listed = json.loads((tmp_path / "out" / "numbers.json").read_text(encoding="utf-8"))["sheets"]
    assert second == {"numbers.json", "notes.txt", *(s["file"] for s in listed)}


@needs_fork
@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_a_stopped_process_leaves_nothing(tmp_path: Path, number: int, code: int) -> None:
    """A child that writes run after run, stopped as a maker's Ctrl-C or a shutdown would."""
    folder = set_up(tmp_path)
    mine = makers_own(state(folder))
    for k in range(8):
        child = faults.endless(folder)
        time.sleep(0.011 * k)
        assert faults.end(child, number) == code
        assert run_in(state(folder)) in (BEFORE, AFTER)
        assert makers_own(state(folder)) == mine
    check_next_run(folder, mine)


@pytest.mark.parametrize("name", ["con", "NUL", "Aux", "com1", "LPT9", "prn"])
def test_a_job_named_like_a_device_gets_a_name_that_every_system_takes(name: str) -> None:
    """Reserved on Windows with any ending (Microsoft, "Naming Files, Paths, and Namespaces"; list from memory)."""
    assert file_stem(name) == f"{name.lower()}-job"
    assert file_stem(f"{name} box") == f"{name.lower()}-box"
