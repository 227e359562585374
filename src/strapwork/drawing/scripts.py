"""Lines in scripts that the usual typeface lacks: chosen faces, reading order, shaped glyphs.

The faces are Noto's, as plain files from the packages of the extra ``scripts``;
HarfBuzz joins and places the glyphs, python-bidi orders what runs from right to
left.  Without the extra nothing here is called, and :mod:`strapwork.drawing.fonts`
writes such characters out by number.

A line as a whole runs from left to right, since the words round a name do.
Names from right to left keep their own order within it; numbers and words that
merely follow them stay where they were written, so that "3 x" and "x 3" differ.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from importlib.util import find_spec
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING
from unicodedata import bidirectional

from strapwork.characters import ZWJ, clusters, is_tag, is_unseen

if TYPE_CHECKING:
    import uharfbuzz as hb

PACKAGES = ("manimgx_fonts", "manimgx_fonts_cjk")
WEIGHT, STRONG_WEIGHT = 400, 600
# After the faces of one script each: what is looked into last, in this order.
_PICTURES = "NotoEmoji[wght].ttf"
_LAST = (_PICTURES, "NotoSansSymbols[wght].ttf", "NotoSansCJK-VF.otf.ttc")
_CLOSERS = {")": "(", "]": "[", "}": "{", "»": "«"}


class Face:
    """One font file, opened on first use."""

    def __init__(self, regular: Path, strong: Path | None = None) -> None:
        self.path = regular
        self._strong = strong

    def font(self, strong: bool) -> hb.Font:
        """The HarfBuzz font, at its own number of units to the em."""
        return self._heavy if strong else self._normal

    @cached_property
    def _normal(self) -> hb.Font:
        return self._open(self.path, WEIGHT)

    @cached_property
    def _heavy(self) -> hb.Font:
        return self._open(self._strong or self.path, STRONG_WEIGHT)

    def _open(self, path: Path, weight: int) -> hb.Font:
        import uharfbuzz as hb

        made = hb.Font(hb.Face(hb.Blob.from_file_path(str(path))))
        made.set_variations({"wght": weight})
        return made

    def has(self, ch: str) -> bool:
        return self._normal.get_nominal_glyph(ord(ch)) is not None


@dataclass(frozen=True, slots=True)
class Cluster:
    """What is drawn for one or several characters that were shaped together.

    Attributes:
        text: those characters, in reading order.
        face, strong: where the glyphs come from.
        glyphs: glyph number and place in em of each, from the cluster's own origin.
        advance: in em.
    """

    text: str
    face: int
    strong: bool
    glyphs: tuple[tuple[int, float, float], ...]
    advance: float


@dataclass(frozen=True, slots=True)
class Line:
    """A shaped line: its clusters from left to right, and its width in em."""

    clusters: tuple[Cluster, ...]
    width: float


def available() -> bool:
    """Whether the extra ``scripts`` is installed, libraries and fonts."""
    return bool(_available())


@cache
def _available() -> tuple[Path, ...]:
    if find_spec("uharfbuzz") is None or find_spec("bidi") is None:
        return ()
    found: list[Path] = []
    for package in PACKAGES:
        spec = find_spec(package)
        if spec is not None and spec.origin is not None:
            found += Path(spec.origin).parent.glob("*.tt[fc]")
    files = [f for f in found if "Italic" not in f.name]
    # The plain family first: it has more of Latin than the usual typeface.
    return tuple(
        sorted(files, key=lambda f: (_LAST.index(f.name) if f.name in _LAST else -1, f.name.replace("[", " ")))
    )


@cache
def faces() -> tuple[Face, ...]:
    """Every face, in the order in which it is asked; the usual typeface first."""
    from strapwork.drawing import fonts

    return (Face(fonts.file(False), fonts.file(True)), *(Face(f) for f in _available()))


def _pictorial(cluster: str) -> bool:
    """Whether a cluster asks for a picture: joined, chosen by a variation selector, a flag or a keycap."""
    return not cluster[0].isalpha() and any(
        c in (ZWJ, "\ufe0f", "\u20e3") or is_tag(c) or "\U0001f1e6" <= c <= "\U0001f1ff" for c in cluster
    )


@lru_cache(maxsize=8192)
def face_of(cluster: str) -> int | None:
    """The first face that has all of a cluster, by its number; None when none has."""
    needed = [c for c in cluster if not is_unseen(c)]
    order = list(range(len(faces())))
    if _pictorial(cluster):
        order.sort(key=lambda k: faces()[k].path.name != _PICTURES)
    return next((k for k in order if all(faces()[k].has(c) for c in needed)), None)


@lru_cache(maxsize=2048)
def line(text: str, strong: bool) -> Line:
    """``text``, every character of which has a face, shaped and in the order in which it is seen."""
    # A mark that its letter's face lacks is set from another face, by itself.
    parts = [p for c in clusters(text) for p in ((c,) if face_of(c) is not None else c) if not _drops(p)]
    levels = _levels(parts)
    language = _language(text)
    out: list[Cluster] = []
    for face, level, shown in _runs(parts, levels):
        out += _shaped(shown, face, strong, level % 2 == 1, language)
    return Line(tuple(out), sum(c.advance for c in out))


def _drops(part: str) -> bool:
    return len(part) == 1 and is_unseen(part)


def _runs(parts: list[str], levels: list[int]) -> list[tuple[int, int, str]]:
    """Stretches of one face and direction, as seen from left to right: face, level, text."""
    order = list(range(len(parts)))
    for low in range(max(levels, default=0), 0, -1):  # Unicode Standard Annex 9, rule L2
        k = 0
        while k < len(order):
            end = k
            while end < len(order) and levels[order[end]] >= low:
                end += 1
            order[k:end] = reversed(order[k:end])
            k = max(end, k + 1)
    out: list[tuple[int, int, str]] = []
    for (face, level), members in groupby(order, key=lambda k: (face_of(parts[k]) or 0, levels[k])):
        out.append((face, level, "".join(parts[k] for k in sorted(members))))
    return out


def _levels(parts: list[str]) -> list[int]:
    """The embedding level of every cluster: 0, or within a phrase from right to left 1 and, for numbers, 2."""
    kinds = [bidirectional(p[0]) for p in parts]
    levels = [0] * len(parts)
    for a, b in _phrases(parts, kinds):
        levels[a:b] = _phrase_levels([p[0] for p in parts[a:b]])
    return levels


def _phrases(parts: list[str], kinds: list[str]) -> list[tuple[int, int]]:
    """Where phrases from right to left begin and end.

    A phrase runs from its first letter to its last, over spaces, signs and
    numbers between them, and takes in brackets of which it has the other half.
    """
    out: list[tuple[int, int]] = []
    start, end = -1, -1
    for k, kind in enumerate([*kinds, "L"]):
        if kind in ("R", "AL", "AN"):
            start = k if start < 0 else start
            end = k + 1
        elif kind == "L" and start >= 0:
            out.append((start, end))
            start = -1
    grown = []
    for a, b in out:
        first, last = a, b
        while last < len(parts) and parts[last] in _CLOSERS and _open(parts[first:last], parts[last]):
            last += 1
        while first > 0 and any(parts[first - 1] == o and _unopened(parts[a:b], c, o) for c, o in _CLOSERS.items()):
            first -= 1
        grown.append((first, last))
    return grown


def _open(parts: list[str], closer: str) -> bool:
    return parts.count(_CLOSERS[closer]) > parts.count(closer)


def _unopened(parts: list[str], closer: str, opener: str) -> bool:
    return parts.count(closer) > parts.count(opener)


def _phrase_levels(letters: list[str]) -> list[int]:
    from bidi import algorithm

    storage = algorithm.get_empty_storage()
    storage["base_level"] = 1
    algorithm.get_embedding_levels("".join(letters), storage)
    algorithm.explicit_embed_and_overrides(storage)
    algorithm.resolve_weak_types(storage)
    algorithm.resolve_neutral_types(storage, False)
    algorithm.resolve_implicit_levels(storage, False)
    levels = [int(c["level"]) for c in storage["chars"]]
    return levels if len(levels) == len(letters) else [1] * len(letters)


def _language(text: str) -> str:
    """Whose forms of the shared ideographs to draw, as far as the line tells."""
    if any("\u3040" <= c <= "\u30ff" for c in text):
        return "ja"
    if any("\uac00" <= c <= "\ud7a3" or "\u1100" <= c <= "\u11ff" for c in text):
        return "ko"
    shared = "".join(c for c in text if "\u3400" <= c <= "\u9fff")
    for language, codec in (("ja", "cp932"), ("zh-Hans", "gb2312"), ("zh-Hant", "big5")):
        try:
            shared.encode(codec)
        except UnicodeEncodeError:
            continue
        return language
    return "zh-Hans"


def _shaped(text: str, face: int, strong: bool, from_right: bool, language: str) -> list[Cluster]:
    import uharfbuzz as hb

    font = faces()[face].font(strong)
    em = float(font.face.upem)
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if from_right else "ltr"
    if language:
        buffer.language = language
    hb.shape(font, buffer, {})
    out: list[Cluster] = []
    glyphs = list(zip(buffer.glyph_infos, buffer.glyph_positions, strict=True))
    starts = sorted({info.cluster for info, _ in glyphs})
    ends = dict(zip(starts, [*starts[1:], len(text)], strict=True))
    for at, members in groupby(glyphs, key=lambda g: g[0].cluster):
        x, placed = 0.0, []
        for info, position in members:
            placed.append((info.codepoint, (x + position.x_offset) / em, position.y_offset / em))
            x += position.x_advance
        part = text[at : ends[at]]
        if from_right:
            # Readers turn a line from the right round letter by letter: marks stand before their letter, drawing nothing.
            out += [Cluster(mark, face, strong, (), 0.0) for mark in reversed(part[1:])]
            part = part[:1]
        out.append(Cluster(part, face, strong, tuple(placed), x / em))
    return out


__all__ = ["Cluster", "Face", "Line", "available", "face_of", "faces", "line"]
