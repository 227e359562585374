"""Long work in the background: started, watched, cancelled, and forgotten after a while."""

from __future__ import annotations

import secrets
import threading
import time
from dataclasses import dataclass, field

from strapwork.errors import InputError, StrapworkError
from strapwork.job import job as jobs
from strapwork.job.job import Result
from strapwork.order.order import Job

MOST_AT_ONCE = 2
MOST_KEPT = 8
LONGEST = 90.0
KEEP = 900.0
MOST_PIECES = 200


class Stopped(StrapworkError):
    """The user cancelled, or the time was up."""


@dataclass
class Task:
    """One job being made."""

    total: int
    began: float = field(default_factory=time.monotonic)
    done: int = 0
    error: str = ""
    result: Result | None = None
    cancelled: bool = False

    @property
    def state(self) -> str:
        if self.result is not None:
            return "done"
        if self.error:
            return "failed"
        return "cancelled" if self.cancelled else "working"


class Tasks:
    """The tasks of one server."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._tasks: dict[str, Task] = {}

    def start(self, job: Job) -> str:
        """Begin a job; returns its key.

        Raises:
            InputError: when it is too large or too much is going on.
        """
        if len(job.orders) > MOST_PIECES:
            raise InputError(
                "job",
                f"{len(job.orders)} pieces are too many for the page",
                f"keep it to {MOST_PIECES} or use the command line",
            )
        with self._lock:
            now = time.monotonic()
            for key in [k for k, t in self._tasks.items() if now - t.began > KEEP]:
                del self._tasks[key]
            if sum(t.state == "working" for t in self._tasks.values()) >= MOST_AT_ONCE:
                raise InputError("job", "two jobs are being made already", "wait for one of them or cancel it")
            finished = [k for k, t in self._tasks.items() if t.state != "working"]
            for key in finished[: max(0, len(self._tasks) - MOST_KEPT + 1)]:
                del self._tasks[key]
            key, task = secrets.token_urlsafe(12), Task(len(job.orders))
            self._tasks[key] = task
        threading.Thread(target=_work, args=(job, task), daemon=True).start()
        return key

    def get(self, key: str) -> Task | None:
        with self._lock:
            return self._tasks.get(key)

    def cancel(self, key: str) -> None:
        task = self.get(key)
        if task is not None:
            task.cancelled = True


def _work(job: Job, task: Task) -> None:
    def step(done: int) -> None:
        task.done = done
        if task.cancelled:
            raise Stopped
        if time.monotonic() - task.began > LONGEST:
            raise InputError(
                "job", f"the job takes longer than {LONGEST:.0f} seconds", "split it, or use the command line"
            )

    try:
        result = jobs.make(job, step)
        if not task.cancelled:
            task.result = result
    except Stopped:
        task.cancelled = True
    except InputError as e:
        task.error = str(e)
    except Exception:  # a fault of ours must not leave the page waiting
        task.error = "Something went wrong on our side while the job was made."
