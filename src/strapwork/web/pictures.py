"""Pictures on their way to the page's server, part by part, so that no request is larger than any other may be.

They are held in memory until they are read, few at a time and none for long;
none is ever put on disk.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from strapwork.catalogue import tr
from strapwork.errors import InputError
from strapwork.web.bounds import Busy

PLACE = "Picture"
LARGEST = 20_000_000  # bytes
MOST_PIXELS = 40_000_000  # a sheet of A4 at 600 dots per inch
MOST_AT_ONCE = 2
LIFE = 60.0  # seconds after the last part of one that nobody goes on with


@dataclass
class _Coming:
    """A picture of which some is there."""

    size: int
    raw: bytearray = field(default_factory=bytearray)
    last: float = 0.0


class Pictures:
    """Those that are coming, by a key that nobody can guess."""

    def __init__(self) -> None:
        self._coming: dict[str, _Coming] = {}
        self._lock = threading.Lock()
        self._one = threading.Semaphore(1)

    def begin(self, size: int) -> str:
        """A place for a picture of ``size`` bytes; returns its key.

        Raises:
            InputError: for one that is too large, or (Busy) where others are coming.
        """
        if not 0 < size <= LARGEST:
            raise InputError(
                PLACE,
                tr("a picture of {size:.1f} MB cannot be read here", size=size / 1e6),
                tr("keep it to {largest:g} MB", largest=LARGEST / 1e6),
            )
        with self._lock:
            now = time.monotonic()
            self._coming = {k: c for k, c in self._coming.items() if now - c.last < LIFE}
            if len(self._coming) >= MOST_AT_ONCE:
                raise Busy(PLACE, tr("other pictures are being read"), tr("ask again in a moment"))
            key = secrets.token_urlsafe(12)
            self._coming[key] = _Coming(size, last=now)
            return key

    def add(self, key: str, part: bytes) -> int:
        """Add the next part; returns how many bytes are there.

        Raises:
            InputError: for a picture that was given up, or a part that is more than was said.
        """
        with self._lock:
            coming = self._coming.get(key)
            if coming is None or len(coming.raw) + len(part) > coming.size:
                self._coming.pop(key, None)
                raise InputError(PLACE, tr("the picture did not come whole"), tr("send it again"))
            coming.raw += part
            coming.last = time.monotonic()
            return len(coming.raw)

    @contextmanager
    def whole(self, key: str) -> Iterator[bytes]:
        """A picture that has come whole, to be read while nobody else reads one; it is forgotten with that.

        Raises:
            InputError: for one that has not.
        """
        with self._lock:
            coming = self._coming.pop(key, None)
        if coming is None or len(coming.raw) != coming.size:
            raise InputError(PLACE, tr("the picture did not come whole"), tr("send it again"))
        with self._one:
            yield bytes(coming.raw)
