"""Long work in the background: queued, worked on, watched, cancelled, and forgotten after a while.

A place is held until its work has really ended: a job that was cancelled goes
on to the next point at which it can stop, and counts until then.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections import deque
from dataclasses import dataclass, field, replace

from strapwork.catalogue import tr
from strapwork.errors import InputError, StrapworkError
from strapwork.job import job as jobs
from strapwork.job.job import Result
from strapwork.order.order import Job
from strapwork.web.bounds import Busy

MOST_AT_ONCE = 2
MOST_WAITING = 4
MOST_OF_ONE = 3
MOST_KEPT = 8
MOST_BYTES = 100_000_000
LONGEST = 90.0
KEEP = 900.0
MOST_PIECES = 200


class Stopped(StrapworkError):
    """The user cancelled, or the time was up."""


@dataclass
class Task:
    """One job being made; ``began`` is when it was asked for, then when work on it began, then when it ended."""

    total: int
    asker: str = ""
    began: float = field(default_factory=time.monotonic)
    done: int = 0
    error: str = ""
    result: Result | None = None
    cancelled: bool = False
    ended: bool = False

    @property
    def state(self) -> str:
        if self.cancelled:
            return "cancelled"
        if self.result is not None:
            return "done"
        return "failed" if self.error else "working"

    @property
    def bytes(self) -> int:
        return 0 if self.result is None else sum(map(len, self.result.files.values()))


class Tasks:
    """The tasks of one server."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._tasks: dict[str, Task] = {}
        self._waiting: deque[tuple[Job, Task]] = deque()
        self._workers = 0

    def start(self, job: Job, asker: str = "") -> str:
        """Put a job into the queue; returns its key.

        Args:
            job: what to make.
            asker: who asks, such as an address; of whose jobs only a few are taken.

        Raises:
            InputError: when it is too large.
            Busy: when too much is going on.
        """
        if len(job.orders) > MOST_PIECES:
            raise InputError(
                "job",
                tr("{orders} pieces are too many for the page", orders=len(job.orders)),
                tr("keep it to {most_pieces} or use the command line", most_pieces=MOST_PIECES),
            )
        with self._lock:
            self._tidy()
            unfinished = [t for t in self._tasks.values() if not t.ended]
            if sum(t.asker == asker for t in unfinished) >= MOST_OF_ONE:
                raise Busy(
                    "job",
                    tr("{most_of_one} jobs are being made already", most_of_one=MOST_OF_ONE),
                    tr("wait for one or cancel it"),
                    own=True,
                )
            if len(unfinished) >= MOST_AT_ONCE + MOST_WAITING:
                raise Busy(
                    "job",
                    tr("{unfinished} jobs are being made already", unfinished=len(unfinished)),
                    tr("ask again in a moment"),
                )
            key, task = secrets.token_urlsafe(12), Task(len(job.orders), asker)
            self._tasks[key] = task
            self._waiting.append((job, task))
            if self._workers < MOST_AT_ONCE:
                self._workers += 1
                threading.Thread(target=self._work, daemon=True).start()
        return key

    def get(self, key: str) -> Task | None:
        with self._lock:
            self._tidy()
            return self._tasks.get(key)

    def cancel(self, key: str) -> bool:
        """Stop a job, or drop what was made of it; whether there was one."""
        with self._lock:
            task = self._tasks.get(key)
            if task is None:
                return False
            task.cancelled, task.result = True, None
            for waiting in [w for w in self._waiting if w[1] is task]:
                self._waiting.remove(waiting)
                task.ended = True
            return True

    def _tidy(self) -> None:
        """Forget what is old, and the oldest of what is too much to keep."""
        now = time.monotonic()
        ended = sorted(((k, t) for k, t in self._tasks.items() if t.ended), key=lambda item: item[1].began)
        held = sum(t.bytes for _, t in ended)
        for place, (key, task) in enumerate(ended):
            many = len(ended) - place > MOST_KEPT or (held > MOST_BYTES and place < len(ended) - 1)
            if many or now - task.began > KEEP:
                held -= task.bytes
                del self._tasks[key]

    def _work(self) -> None:
        """Work the queue off, and end with it."""
        while True:
            with self._lock:
                if not self._waiting:
                    self._workers -= 1
                    return
                job, task = self._waiting.popleft()
                task.began = time.monotonic()
            _make(job, task)
            with self._lock:
                task.ended, task.began = True, time.monotonic()
                if task.cancelled:
                    task.result = None
                self._tidy()


def _make(job: Job, task: Task) -> None:
    def step(done: int) -> None:
        task.done = done
        if task.cancelled:
            raise Stopped
        if time.monotonic() - task.began > LONGEST:
            raise InputError(
                "job",
                tr("the job takes longer than {longest:.0f} seconds", longest=LONGEST),
                tr("split it, or use the command line"),
            )

    try:
        made = jobs.make(job, step, keep_sheets=False)
        # The files are what is fetched; pieces and sheets would fill memory many times over.
        task.result = replace(made, pieces=(), sheets=(), cutting=None, lists=None)
    except Stopped:
        task.cancelled = True
    except InputError as e:
        task.error = str(e)
    except Exception:  # a fault of ours must not leave the page waiting
        task.error = tr("Something went wrong on our side while the job was made.")
