"""Geometry read back out of a PDF's content streams, with pypdf and nothing of ours."""

from __future__ import annotations

import io
from dataclasses import dataclass, field

from pypdf import PdfReader
from pypdf.generic import ContentStream

MM = 25.4 / 72.0


@dataclass
class Drawn:
    """One painted path in page mm: its layer and the points of its subpaths (curves by end points and middles)."""

    layer: str
    subpaths: list[list[tuple[float, float]]] = field(default_factory=list)
    curved: bool = False

    def box(self) -> tuple[float, float, float, float]:
        pts = [p for s in self.subpaths for p in s]
        xs, ys = [p[0] for p in pts], [p[1] for p in pts]
        return min(xs), min(ys), max(xs), max(ys)


def _mul(m: tuple[float, ...], n: tuple[float, ...]) -> tuple[float, ...]:
    a, b, c, d, e, f = m
    g, h, i, j, k, q = n
    return (a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k, e * h + f * j + q)


def read(data: bytes, page: int) -> list[Drawn]:
    """All painted paths of a page, in mm from its lower left corner."""
    reader = PdfReader(io.BytesIO(data))
    p = reader.pages[page]
    names = {
        str(k): str(v.get_object()["/Name"])
        for k, v in p["/Resources"]["/Properties"].items()  # type: ignore[index,union-attr]
    }
    ctm: tuple[float, ...] = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    stack: list[tuple[float, ...]] = []
    layers: list[str] = []
    out: list[Drawn] = []
    current = Drawn("")

    def at(x: float, y: float) -> tuple[float, float]:
        a, b, c, d, e, f = ctm
        return (a * x + c * y + e) * MM, (b * x + d * y + f) * MM

    for operands, op in ContentStream(p.get_contents(), reader).operations:
        v = [float(o) for o in operands if isinstance(o, (int, float))]
        name = op.decode()
        if name == "q":
            stack.append(ctm)
        elif name == "Q":
            ctm = stack.pop()
        elif name == "cm":
            ctm = _mul(tuple(v), ctm)
        elif name == "BDC":
            layers.append(names[str(operands[1])])
        elif name == "EMC":
            layers.pop()
        elif name == "m":
            current.subpaths.append([at(*v)])
        elif name == "l":
            current.subpaths[-1].append(at(*v))
        elif name == "c":
            x0 = current.subpaths[-1][-1]
            pts = [at(v[0], v[1]), at(v[2], v[3]), at(v[4], v[5])]
            current.curved = True
            # The middle of a cubic Bezier curve: (P0 + 3 P1 + 3 P2 + P3) / 8.
            mid = tuple((x0[k] + 3 * pts[0][k] + 3 * pts[1][k] + pts[2][k]) / 8 for k in (0, 1))
            current.subpaths[-1] += [(mid[0], mid[1]), pts[2]]
        elif name == "re":
            x, y, w, h = v
            current.subpaths.append([at(x, y), at(x + w, y), at(x + w, y + h), at(x, y + h), at(x, y)])
        elif name in ("S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "n"):
            if name != "n" and current.subpaths:
                current.layer = layers[-1] if layers else ""
                out.append(current)
            current = Drawn("")
    return out
