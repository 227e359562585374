"""How much may be asked of the page at a time: a place for every costly request, and a short queue before it.

Requests of one address share what the server has with those of others; whoever
asks for more is told to ask again, at once, and holds nothing meanwhile.
"""

from __future__ import annotations

import threading
import time
from collections import Counter

from strapwork.catalogue import tr
from strapwork.errors import InputError

AT_ONCE = 3  # costly requests worked on; the rest of the page has to stay quick beside them
WAITING = 13
OF_ONE = 8  # a browser opens six connections to a host
PATIENCE = 20.0  # seconds in the queue


class Busy(InputError):
    """There is too much going on.

    Args:
        own: whether it is the asker's own work that is too much, not everybody's.
    """

    def __init__(self, place: str, problem: str, remedy: str, own: bool = False) -> None:
        super().__init__(place, problem, remedy)
        self.own = own

    @property
    def status(self) -> int:
        """The answer's status: too many requests of one asker, or a server that is busy."""
        return 429 if self.own else 503


class Gate:
    """Places for work: few at once, some more waiting for theirs, and no more than ``of_one`` for one asker."""

    def __init__(
        self, at_once: int = AT_ONCE, waiting: int = WAITING, of_one: int = OF_ONE, patience: float = PATIENCE
    ) -> None:
        self.at_once, self.waiting, self.of_one, self.patience = at_once, waiting, of_one, patience
        self._working = 0
        self._queue: list[object] = []
        self._held: Counter[str] = Counter()
        self._moved = threading.Condition()

    def enter(self, asker: str) -> None:
        """Wait for a place and take it; it is given back with :meth:`leave`.

        Raises:
            Busy: when too many wait already, or none came free in time.
        """
        with self._moved:
            if self._held[asker] >= self.of_one:
                raise Busy(
                    tr("the page"), tr("too much is asked at once from here"), tr("ask again in a moment"), own=True
                )
            if self._working + len(self._queue) >= self.at_once + self.waiting:
                raise Busy(tr("the page"), tr("too much is asked at once"), tr("ask again in a moment"))
            self._held[asker] += 1
            mine = object()
            self._queue.append(mine)
            try:
                if not self._my_turn(mine):
                    self._forget(asker)
                    raise Busy(tr("the page"), tr("other work has not come to an end"), tr("ask again in a moment"))
            finally:
                self._queue.remove(mine)
                self._moved.notify_all()
            self._working += 1

    def _my_turn(self, mine: object) -> bool:
        until = time.monotonic() + self.patience
        while self._queue[0] is not mine or self._working >= self.at_once:
            left = until - time.monotonic()
            if left <= 0:
                return False
            self._moved.wait(left)
        return True

    def leave(self, asker: str) -> None:
        """Give a place back."""
        with self._moved:
            self._working -= 1
            self._forget(asker)
            self._moved.notify_all()

    def _forget(self, asker: str) -> None:
        self._held[asker] -= 1
        if not self._held[asker]:
            del self._held[asker]

    @property
    def held(self) -> int:
        """Places taken and waited for."""
        with self._moved:
            return sum(self._held.values())
