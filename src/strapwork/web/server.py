"""The server under the page: waitress with limits of our own on how long a connection may take.

waitress reads all connections in one thread and does not wait for any, but it
counts a connection as alive as long as a byte comes now and then, and takes no
new ones while too many are open.  Here a request has to be whole after a time,
an answer taken after a time, and where connections run out the one that has
been without a whole request for longest makes room.
"""

from __future__ import annotations

import logging
import select
import time
from typing import Any

from flask import Flask
from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.server import TcpWSGIServer
from waitress.task import ErrorTask, ThreadedTaskDispatcher

from strapwork.web import bodies, bounds, guard

LONGEST_REQUEST = 20.0  # seconds from its first byte to its last
LONGEST_ANSWER = 120.0  # seconds until an answer has been taken
SPARE = 8  # connections kept free

SETTINGS: dict[str, Any] = {
    # Every costly request has a thread, waiting or at work, and as many as a browser has connections are left.
    "threads": bounds.AT_ONCE + bounds.WAITING + 8,
    "connection_limit": 160,  # macOS gives a process 256 open files unless told otherwise
    "channel_timeout": 30,  # seconds that a connection may be idle
    "cleanup_interval": 1,
    "asyncore_use_poll": hasattr(select, "poll"),
    "max_request_header_size": bodies.LONGEST_QUERY + 20_000,
    "max_request_body_size": guard.MOST_UPLOAD + 1,
    "inbuf_overflow": guard.MOST_UPLOAD + 1,  # no body is ever put on disk
    "log_socket_errors": False,
    "clear_untrusted_proxy_headers": True,
    "expose_tracebacks": False,
    "ident": "strapwork",
}


class _Refusal(ErrorTask):  # type: ignore[misc]
    """The answer to what is no request at all, with the headers that every answer has."""

    def build_response_header(self) -> bytes:
        self.response_headers += [*guard.HEADERS.items(), ("Cache-Control", "no-store")]
        return bytes(super().build_response_header())


class _Channel(HTTPChannel):  # type: ignore[misc]
    """A connection that knows since when it owes something."""

    error_task_class = _Refusal
    gone = False

    def __init__(self, *args: Any, **kw: Any) -> None:
        self.asked_since = time.monotonic()
        self.answered_since: float | None = None
        super().__init__(*args, **kw)

    def received(self, data: bytes) -> bool:
        if self.request is None:
            self.asked_since = time.monotonic()
        return bool(super().received(data))

    @property
    def waits(self) -> bool:
        """Whether nothing is at work for it and nothing on its way to it."""
        return not self.gone and not self.requests and not self.total_outbufs_len

    def overdue(self, now: float) -> bool:
        """Whether a request has been coming, or an answer going, for too long."""
        if not self.total_outbufs_len:
            self.answered_since = None
        elif self.answered_since is None:
            self.answered_since = now
        elif now - self.answered_since > LONGEST_ANSWER:
            return True
        return self.waits and self.request is not None and now - self.asked_since > LONGEST_REQUEST

    def handle_close(self) -> None:
        self.gone = True
        super().handle_close()

    # A round of the loop that closed it must not ask the system about it any more.
    def readable(self) -> bool:
        return not self.gone and bool(super().readable())

    def writable(self) -> bool:
        return not self.gone and bool(super().writable())


class Server(TcpWSGIServer):  # type: ignore[misc]
    """A server that cuts off who takes too long."""

    channel_class = _Channel

    def readable(self) -> bool:
        if len(self._map) > self.adj.connection_limit - SPARE:
            self._make_room(len(self._map) - (self.adj.connection_limit - SPARE))
        return bool(super().readable())

    def _make_room(self, places: int) -> None:
        waiting = sorted((c for c in self.active_channels.values() if c.waits), key=lambda c: c.asked_since)
        for channel in waiting[:places]:
            channel.handle_close()

    def maintenance(self, now: float) -> None:
        super().maintenance(now)
        moment = time.monotonic()
        for channel in list(self.active_channels.values()):
            if channel.overdue(moment):
                channel.handle_close()


def create(app: Flask, host: str, port: int, **changed: Any) -> Server:
    """A server for an app, with our settings; ``run()`` serves until ``close()``."""
    # That requests wait is what a queue is for, and nothing that whoever reads the terminal could act on.
    logging.getLogger("waitress.queue").setLevel(logging.CRITICAL)
    adj = Adjustments(host=host, port=port, **{**SETTINGS, **changed})
    threads = ThreadedTaskDispatcher()
    threads.set_thread_count(adj.threads)
    together: dict[int, Any] = {}
    # A name such as localhost can be two addresses; both are in one loop.
    made = [Server(app, map=together, dispatcher=threads, adj=adj, sockinfo=info) for info in adj.listen]
    return made[0]
