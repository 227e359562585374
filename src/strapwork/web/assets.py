"""Scripts and styles have an address that changes with them, so that a browser fetches each only once."""

from __future__ import annotations

import hashlib
from pathlib import Path

KEPT = 365 * 24 * 3600  # seconds that a browser may keep one without asking: what is changed is at another address


def address(folder: Path) -> str:
    """Where the files of ``folder`` are served: below a mark of all they hold.

    Scripts that take in others name them beside themselves, so one mark for all is enough.
    """
    held = hashlib.sha256()
    for path in sorted(p for p in folder.iterdir() if p.is_file()):
        held.update(path.name.encode() + b"\0" + hashlib.sha256(path.read_bytes()).digest())
    return f"/static/{held.hexdigest()[:12]}"
