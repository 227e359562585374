"""Nothing lost: a thousand kills, full disks, stops and races.  python tests/bench/kills.py [KILLS]

Every line counts trials and what was found after them: the run before, whole;
the new run, whole; neither; things of the maker's own lost; things left after
the next run.  The last three have to be 0.
"""

from __future__ import annotations

import errno
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests import faults
from tests.faults import NEW, OLD, files_of, hashes, makers_own, run_in, set_up, state

from strapwork.errors import InputError
from strapwork.files import swap

BEFORE, AFTER = hashes(files_of("old", OLD)), hashes(files_of("new", NEW))
# Every call that opens or changes something; strace kills the process as it makes the k-th of them.
CALLS = (
    "openat,open,write,close,fsync,mkdir,rmdir,rename,renameat,renameat2,link,linkat,unlink,unlinkat,"
    "chmod,fchmod,fchmodat,utimensat,flock,syncfs"
)
CHILD = """
import os, sys
sys.path.insert(0, {source!r})
from pathlib import Path
from strapwork.files import output, swap
if not {swapping}:
    swap._exchange_call = lambda: None
os.close(os.open({marker!r}, os.O_CREAT | os.O_WRONLY))
output.write_all(Path({folder!r}), {files!r}, force=True)
"""


class Trials:
    """A count of what was found, judged the same way after every trial."""

    def __init__(self, name: str, partly: bool = False) -> None:
        self.name, self.partly, self.found, self.began = name, partly, Counter[str](), time.perf_counter()

    def judge(self, folder: Path, mine: dict[str, tuple[str, int]], swapping: bool = True) -> None:
        found = state(folder) if folder.exists() else {}
        runs = run_in(found)
        self.found["trials"] += 1
        if runs == (BEFORE if mine else {}):
            self.found["before"] += 1
        elif runs == AFTER:
            self.found["after"] += 1
        elif self.partly and any(runs.items() <= whole.items() for whole in (BEFORE, AFTER)):
            self.found["part of one"] += 1
        else:
            self.found["NEITHER"] += 1
        own = {k: v for k, v in makers_own(found).items() if not k.startswith(".strapwork")}
        self.found["LOST"] += own != mine
        faults.write(folder, "next", ("market-kit.pdf",), swapping)
        found = state(folder)
        clean = run_in(found) == hashes(files_of("next", ("market-kit.pdf",))) and makers_own(found) == mine
        self.found["LEFT"] += not clean or [p.name for p in folder.parent.iterdir()] != [folder.name]

    def say(self) -> None:
        f = self.found
        part = f", {f['part of one']} part of one run" if self.partly else ""
        print(
            f"{self.name:<46} {f['trials']:5d}: {f['before']} before, {f['after']} after{part}, {f['NEITHER']} neither, "
            f"{f['LOST']} lost, {f['LEFT']} left   ({time.perf_counter() - self.began:.0f} s)",
            flush=True,
        )


def every_operation(place: Path, kills: int) -> None:
    """Killed by SIGKILL at every operation that changes files, before it, after it and within a write."""
    while kills > 0:
        for name, swapping, first in (("swap", True, False), ("moves", False, False), ("first run", True, True)):
            trials = Trials(f"kill -9 at every operation, {name}", partly=not swapping)
            for how in faults.WAYS:
                at = 0
                while True:
                    at += 1
                    folder = set_up(place)
                    if first:
                        shutil.rmtree(folder)
                    mine = makers_own(state(folder))
                    if not faults.killed(lambda f=folder, s=swapping: faults.write(f, swapping=s), at, how):
                        break
                    trials.judge(folder, mine, swapping)
            trials.say()
            kills -= trials.found["trials"]


def by_strace(place: Path, kills: int) -> None:
    """A process of its own, killed by the system as it enters its k-th call."""
    if shutil.which("strace") is None:
        print("kill -9 at every system call: no strace here")
        return
    root = Path(__file__).resolve().parents[2]
    for swapping in (True, False):
        trials = Trials(f"kill -9 at system calls, {'swap' if swapping else 'moves'}", partly=not swapping)
        folder = set_up(place)
        marker = str(place.parent / "marker")
        script = CHILD.format(
            source=str(root / "src"),
            folder=str(folder),
            swapping=swapping,
            marker=marker,
            files=files_of("new", NEW),
        )
        log = place.parent / "strace.txt"
        command = [sys.executable, "-c", script]
        subprocess.run(["strace", "-qq", "-o", log, "-e", f"trace={CALLS}", *command], check=True)
        lines = log.read_text(encoding="utf-8").splitlines()
        start = next(k for k, line in enumerate(lines) if marker in line) + 1
        # strace counts the calls of each name for itself.
        names = [line.partition("(")[0] for line in lines]
        steps = [(name, names[: k + 1].count(name)) for k, name in enumerate(names) if k >= start]
        for name, at in random.Random(swapping).sample(steps, min(kills // 2, len(steps))):
            folder = set_up(place)
            mine = makers_own(state(folder))
            kill = f"inject={name}:signal=KILL:when={at}"
            done = subprocess.run(
                ["strace", "-qq", "-o", os.devnull, "-e", f"trace={name}", "-e", kill, *command],
                check=False,
                stderr=subprocess.DEVNULL,
            )
            if done.returncode:
                trials.judge(folder, mine, swapping)
        trials.say()


def at_any_moment(place: Path, rounds: int) -> None:
    """Children that write run after run, ended at a random moment by each signal."""
    rng = random.Random(7)
    for what, number in (("kill -9", signal.SIGKILL), ("SIGINT", signal.SIGINT), ("SIGTERM", signal.SIGTERM)):
        trials, beside, codes = Trials(f"{what} at a random moment, swap"), 0, Counter[int]()
        for _ in range(rounds):
            folder = set_up(place)
            mine = makers_own(state(folder))
            child = faults.endless(folder)
            time.sleep(rng.uniform(0.0, 0.25))
            codes[faults.end(child, number)] += 1
            beside += len(list(place.iterdir())) > 1
            trials.judge(folder, mine)
        trials.say()
        print(f"    exit codes {dict(codes)}; {beside} left something hidden until the next run")


def failing_disk(place: Path) -> None:
    """Every operation fails once, or a disk is full from then on."""
    for what, number, forever in (("a full disk", errno.ENOSPC, True), ("a locked file", errno.EBUSY, False)):
        for swapping in (True, False):
            trials, at, refused = Trials(f"{what} from every operation, {'swap' if swapping else 'moves'}"), 0, 0
            while True:
                at += 1
                folder = set_up(place)
                mine = makers_own(state(folder))
                act = faults.Failing(at, lambda n=number: OSError(n, os.strerror(n)), forever)
                with faults.harm(act):
                    try:
                        faults.write(folder, swapping=swapping)
                    except InputError:
                        refused += 1
                if act.count < at:
                    break
                trials.judge(folder, mine, swapping)
            trials.say()
            print(f"    {refused} refused in one sentence, the rest wrote the run")


def small_disk(place: Path) -> None:
    """A real disk with room for a few blocks or a few names more, where this user may mount one."""
    place.mkdir(exist_ok=True)
    trials, refused = Trials("a real disk, nearly full"), 0
    for blocks, names in [(k, 1000) for k in range(14)] + [(1000, k) for k in range(20)]:
        options = f"size=8m,nr_inodes={1000 if names == 1000 else names + 16}"
        if subprocess.run(["mount", "-t", "tmpfs", "-o", options, "tmpfs", place], check=False).returncode:
            print("a real disk that is nearly full: no right to mount one here")
            return
        try:
            folder = set_up(place / "disk")
            mine = makers_own(state(folder))
            ballast = place / "ballast"
            room = os.statvfs(place)
            ballast.write_bytes(bytes(max(0, room.f_bavail - blocks) * room.f_bsize if blocks < 1000 else 0))
            try:
                faults.write(folder)
            except InputError:
                refused += 1
            ballast.unlink()
            subprocess.run(["mount", "-o", "remount,nr_inodes=1000", place], check=True)
            trials.judge(folder, mine)
        finally:
            subprocess.run(["umount", place], check=True)
    trials.say()
    print(f"    {refused} refused in one sentence")


def many_writers_and_a_reader(place: Path, seconds: float) -> None:
    """Two write in turn without a pause; one reads all the while and looks for a mix."""
    folder = set_up(place)
    mine = makers_own(state(folder))
    children = [faults.endless(folder), faults.endless(folder)]
    seen, end = Counter[str](), time.monotonic() + seconds
    while time.monotonic() < end:
        try:
            first = (folder / "numbers.json").read_bytes()
            inode = os.stat(folder).st_mtime_ns
            found = run_in(state(folder))
            # A look that a change overtook saw two folders, not one; it is taken again.
            if first != (folder / "numbers.json").read_bytes() or inode != os.stat(folder).st_mtime_ns:
                seen["overtaken"] += 1
                continue
        except FileNotFoundError:
            seen["overtaken"] += 1
            continue
        seen["whole" if found in (BEFORE, AFTER) else "MIXED"] += 1
    for child in children:
        faults.end(child, signal.SIGKILL)
    trials = Trials("two writers and a reader, then kill -9")
    trials.judge(folder, mine)
    trials.say()
    print(f"    the reader saw {seen['whole']} whole runs, {seen['MIXED']} mixed, {seen['overtaken']} looks overtaken")


def main() -> None:
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    where = Path(tempfile.mkdtemp(prefix="kills-"))
    print(f"Python {sys.version.split()[0]}, folders can be swapped here: {swap._exchange_call() is not None}")
    try:
        place = where / "place"
        every_operation(place, kills)
        by_strace(place, kills // 2)
        at_any_moment(place, kills // 12)
        failing_disk(place)
        many_writers_and_a_reader(place, 15.0)
        small_disk(where / "disk")
    finally:
        shutil.rmtree(where)


if __name__ == "__main__":
    main()
