"""The objects of a PDF as it lies in memory, found by its cross-reference table (ISO 32000-1, 7.3 and 7.5).

For reading back what was just made: that costs a run next to nothing so, where
loading a whole PDF library costs as much as a tenth of it.  PDFs that a maker
hands us, which anyone may have written, are read with pypdf.
"""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass
from typing import Any

_SPACE = rb"(?:\s|%[^\r\n]*[\r\n])*"
_TOKEN = re.compile(
    _SPACE + rb"(?:(?P<mark><<|>>|\[|\])|/(?P<name>[^\s/<>\[\](){}%]*)|(?P<ref>\d+)\s+\d+\s+R\b"
    rb"|(?P<number>[+-]?(?:\d+\.?\d*|\.\d+))|<(?P<hex>[0-9A-Fa-f\s]*)>|(?P<word>true|false|null)|(?P<text>\())"
)
_TEXT = re.compile(rb"[^()\\]+|[()]|\\(?:[0-7]{1,3}|\r\n|.)", re.DOTALL)
_ESCAPES = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f", b"\n": b"", b"\r": b"", b"\r\n": b""}
_WORDS = {b"true": True, b"false": False, b"null": None}
_ROW = re.compile(rb"(\d{10}) (\d{5}) ([nf])")
DEEPEST = 50


class Broken(ValueError):
    """What is read is not put together as a PDF is."""


@dataclass(frozen=True, slots=True)
class Name:
    """A name, without its slash."""

    text: str


@dataclass(frozen=True, slots=True)
class Ref:
    """A reference to the object of this number."""

    number: int


class Document:
    """A PDF; what cannot be followed raises :class:`Broken`."""

    def __init__(self, raw: bytes) -> None:
        self._raw = raw
        self._at: dict[int, int] = {}
        begin = raw.rfind(b"startxref")
        found = re.match(rb"startxref\s+(\d+)\s+%%EOF", raw[begin:]) if begin >= 0 else None
        if found is None:
            raise Broken("there is no end")
        at = self._rows(int(found.group(1)))
        self.trailer = self.table(self._value(at, 0)[0])

    def _rows(self, at: int) -> int:
        """Read the table of where objects are; give where the trailer begins."""
        if self._raw[at : at + 4] != b"xref":
            raise Broken("there is no table of objects where the end says")
        at += 4
        while section := re.compile(rb"\s*(\d+) (\d+)\s*").match(self._raw, at):
            first, count = int(section.group(1)), int(section.group(2))
            at = section.end()
            for number in range(first, first + count):
                row = _ROW.match(self._raw, at)
                if row is None:
                    raise Broken("the table of objects is cut short")
                if row.group(3) == b"n":
                    self._at[number] = int(row.group(1))
                at += 20
        begin = re.compile(rb"\s*trailer").match(self._raw, at)
        if begin is None:
            raise Broken("there is no trailer")
        return begin.end()

    def value(self, of: Any) -> Any:
        """A value, or the object that it refers to."""
        for _ in range(DEEPEST):
            if not isinstance(of, Ref):
                return of
            of = self._value(self._begin(of), 0)[0]
        raise Broken("objects refer to each other in a ring")

    def table(self, of: Any) -> dict[str, Any]:
        """A dictionary, or the one that is referred to."""
        got = self.value(of)
        if not isinstance(got, dict):
            raise Broken("a dictionary is missing")
        return got

    def content(self, of: Any) -> bytes:
        """What a stream holds."""
        if not isinstance(of, Ref):
            raise Broken("a stream is missing")
        about, at = self._value(self._begin(of), 0)
        begin = re.compile(rb"\s*stream(?:\r\n|\n)").match(self._raw, at)
        length = self.value(about.get("Length")) if isinstance(about, dict) else None
        if begin is None or not isinstance(length, int):
            raise Broken("a stream is missing")
        raw = self._raw[begin.end() : begin.end() + length]
        for kind in self._filters(about):
            if kind != "FlateDecode":
                raise Broken(f"a stream is written as {kind}")
            try:
                raw = zlib.decompress(raw)
            except zlib.error as e:
                raise Broken("a stream is damaged") from e
        return raw

    def _filters(self, about: dict[str, Any]) -> list[str]:
        said = self.value(about.get("Filter"))
        return [n.text for n in (said if isinstance(said, list) else [said]) if isinstance(n, Name)]

    def _begin(self, ref: Ref) -> int:
        at = self._at.get(ref.number, -1)
        head = re.compile(rb"\s*%d \d+ obj\b" % ref.number).match(self._raw, at) if at >= 0 else None
        if head is None:
            raise Broken(f"object {ref.number} is not where the table says")
        return head.end()

    def _value(self, at: int, deep: int) -> tuple[Any, int]:
        """The value that begins at a place, and where it ends."""
        token = _TOKEN.match(self._raw, at)
        if token is None or deep > DEEPEST:
            raise Broken(f"nothing can be read at byte {at}")
        kind, text, at = str(token.lastgroup), token.group(str(token.lastgroup)), token.end()
        if kind == "mark":
            return self._many(text, at, deep)
        if kind == "text":
            return self._text(at)
        if kind == "number":
            return (float(text) if b"." in text else int(text)), at
        if kind == "hex":
            digits = b"".join(text.split())
            return bytes.fromhex((digits + b"0" * (len(digits) % 2)).decode()), at
        if kind == "name":
            return Name(_named(text)), at
        return (Ref(int(text)) if kind == "ref" else _WORDS[text]), at

    def _many(self, mark: bytes, at: int, deep: int) -> tuple[Any, int]:
        """A list or a dictionary, from after its opening mark."""
        closing = {b"[": b"]", b"<<": b">>"}.get(mark)
        if closing is None:
            raise Broken(f"nothing can be read at byte {at}")
        end = re.compile(_SPACE + re.escape(closing))
        items: list[Any] = []
        while (last := end.match(self._raw, at)) is None:
            item, at = self._value(at, deep + 1)
            items.append(item)
        if mark == b"[":
            return items, last.end()
        if len(items) % 2 or not all(isinstance(k, Name) for k in items[::2]):
            raise Broken(f"a dictionary before byte {at} has no name for a value")
        return {k.text: v for k, v in zip(items[::2], items[1::2], strict=True)}, last.end()

    def _text(self, at: int) -> tuple[bytes, int]:
        """A string in brackets, from after the first."""
        out: list[bytes] = []
        deep = 1
        for part in _TEXT.finditer(self._raw, at):
            got = part.group()
            deep += (got == b"(") - (got == b")")
            if deep == 0:
                return b"".join(out), part.end()
            if got[:1] == b"\\":
                rest = got[1:]
                got = bytes([int(rest, 8) & 255]) if rest.isdigit() else _ESCAPES.get(rest, rest)
            out.append(got)
        raise Broken("a string does not end")


def _named(text: bytes) -> str:
    return re.sub(rb"#([0-9A-Fa-f]{2})", lambda m: bytes([int(m.group(1), 16)]), text).decode("latin-1")
