"""Output that reaches every terminal, pipe and file: plain forms where a code page is poor, JSON in UTF-8 always.

``streams`` stands round a whole run, so that a reader that went away or a full
disk is met there and not while the interpreter shuts down; ``say_json`` writes
what other programs read, ``complain`` the one sentence for a person.
"""

from __future__ import annotations

import codecs
import errno
import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TextIO

from strapwork.characters import spelled
from strapwork.errors import InputError

HANDLER = "strapwork-plain"

_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EFBIG)

# What we print ourselves, in forms that every code page has.
_PLAIN = {
    "−": "-", "–": "-", "—": "-", "‐": "-", "‑": "-", "·": "-", "•": "*", "…": "...", "→": "->", "←": "<-",
    "↑": "^", "↓": "v", "×": "x", "÷": "/", "±": "+-", "°": " deg", "≤": "<=", "≥": ">=", "≈": "~", "≠": "!=",
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3",
    "²": "2", "³": "3", "µ": "u", "π": "pi", "‘": "'", "’": "'", "“": '"', "”": '"', "„": '"', "«": '"', "»": '"',
    "′": "'", "″": '"', "\u00a0": " ", "\u2009": " ", "\u202f": " ",
}  # fmt: skip


def plain(text: str, start: int = 0, end: int | None = None) -> str:
    """``text[start:end]`` in ASCII: signs by their plain forms, every other character by its number."""
    out: list[str] = []
    for k in range(start, len(text) if end is None else end):
        ch = text[k]
        form = ch if ch.isascii() else _PLAIN.get(ch) or spelled(ch)
        # "17½" is seventeen and a half, not 171 halves.
        fraction = form[:1].isdigit() and "/" in form and k > 0 and text[k - 1].isdigit()
        out.append(f" {form}" if fraction else form)
    return "".join(out)


def _replace(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return plain(error.object, error.start, error.end), error.end


def prepare_streams() -> None:
    """Let standard output and error take every character, in whatever encoding they have.

    Names keep what the encoding has; the rest of a name is written by number, so
    that two names stay two.
    """
    codecs.register_error(HANDLER, _replace)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=HANDLER)


@contextmanager
def streams() -> Iterator[None]:
    """Everything that a run prints, from the first word to the last handed over.

    Raises:
        BrokenPipeError: when the reader has gone; nothing is left to do then.
        InputError: when what stands behind standard output takes no more, such as a full disk.
    """
    prepare_streams()
    try:
        yield
        for stream in _open_streams():
            stream.flush()
    except OSError as e:
        ours = _let_go(probe=e.errno in _FULL)
        if _is_closed_pipe(e):
            raise BrokenPipeError(errno.EPIPE, os.strerror(errno.EPIPE)) from e
        if not ours:
            raise  # some other file's trouble
        raise InputError(
            "standard output", f"it cannot be written ({e.strerror or e})", "make room, or send it elsewhere"
        ) from e
    except BaseException:
        _let_go()
        raise


def say_json(text: str) -> None:
    """Write JSON text to standard output as UTF-8, whatever the terminal's encoding is."""
    out = sys.stdout
    if out is None:
        return
    data = text if text.endswith("\n") else text + "\n"
    raw = getattr(out, "buffer", None)
    if raw is None:
        out.write(data)
        return
    out.flush()
    # A lone surrogate has no UTF-8; JSON has its own way to write one, with the same meaning.
    raw.write(data.encode("utf-8", "backslashreplace"))


def complain(sentence: str) -> None:
    """One line on standard error; silence where nobody can read it."""
    try:
        print(sentence, file=sys.stderr, flush=True)
    except (OSError, ValueError):
        _let_go()


def _is_closed_pipe(error: OSError) -> bool:
    # Windows calls a pipe without a reader an invalid argument.
    return isinstance(error, BrokenPipeError) or (
        os.name == "nt" and error.errno == errno.EINVAL and error.filename is None
    )


def _open_streams() -> list[TextIO]:
    return [s for s in (sys.stdout, sys.stderr) if s is not None and not s.closed]


def _let_go(probe: bool = False) -> bool:
    """Send what a stuck stream still holds nowhere, so that shutting down does not fail on it again.

    An unbuffered stream holds nothing back; ``probe`` finds it out by one more line end.
    """
    stuck = False
    for stream in _open_streams():
        try:
            if probe:
                stream.write("\n")
            stream.flush()
        except OSError:
            stuck = True
            with suppress(OSError, ValueError):  # no file of the system's: nothing to redirect
                nowhere = os.open(os.devnull, os.O_WRONLY)
                os.dup2(nowhere, stream.fileno())
                os.close(nowhere)
    return stuck
