"""Mutation score of the page's scripts: as mutants.py, for templates/static.  python tests/bench/script_mutants.py [NAME ...]

    --count N    mutants a script (12)
    --seed N     of the sample (1)
    --seconds S  how long the tests chosen for one mutant may take together (40)
    --line N     of the sample only what is on this line; may be said more than once
    --also FILE  a test, or a file of them, that judges every mutant after those; may be said more than once
    --show       also print every mutant that was killed
    --list       only print the sample

Only a browser runs these, so only the tests that drive one judge them, chosen by what Chromium itself counted (see seen.py).
Needs `pip install tree-sitter tree-sitter-javascript`, which nothing else here does.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent))

import seen
import spoiled
from mutants import Mutant, few, judged, options, score

STATIC = "templates/static"
OPERATORS = {
    b"===": (b"!==",), b"!==": (b"===",), b"<": (b">=", b"<="), b"<=": (b">", b"<"), b">": (b"<=", b">="),
    b">=": (b"<", b">"), b"&&": (b"||",), b"||": (b"&&",), b"-": (b"+",), b"*": (b"/",), b"/": (b"*",), b"+": (b"-",),
}  # fmt: skip
TEXTS = ("string", "template_string")
Edit = tuple[int, int, bytes]


def edits(node: Any) -> Iterator[Edit]:
    """Everything that can be done to one node: from where to where, and what stands there then."""
    match node.type:
        case "binary_expression":
            op = node.child_by_field_name("operator")
            if not (op.text == b"+" and _words(node)):
                yield from ((op.start_byte, op.end_byte, other) for other in OPERATORS.get(op.text, ()))
        case "number":
            value = float(node.text)
            for changed in (value + 1, value * 2 if value else 0.5):
                yield node.start_byte, node.end_byte, f"{changed:g}".encode()
        case "true" | "false":
            yield node.start_byte, node.end_byte, b"false" if node.type == "true" else b"true"
        case "if_statement" | "ternary_expression":
            test = node.child_by_field_name("condition")
            bare = test.named_children[0] if test.type == "parenthesized_expression" else test
            yield bare.start_byte, bare.end_byte, b"!(" + bare.text + b")"
        case "return_statement" if node.named_children:
            yield node.named_children[0].start_byte, node.named_children[0].end_byte, b"undefined"
        case "unary_expression" if node.text.startswith(b"!"):
            yield node.start_byte, node.end_byte, node.child_by_field_name("argument").text
        case "arguments" if len(node.named_children) > 1:
            a, b = node.named_children[:2]
            if a.text != b.text:
                yield a.start_byte, b.end_byte, b.text + b", " + a.text


def _words(node: Any) -> bool:
    """Whether a sum is put together from words."""
    return node.type in TEXTS or (node.type == "binary_expression" and any(_words(n) for n in node.named_children))


def sample(code: bytes, count: int, rng: random.Random) -> list[Mutant]:
    """Some mutants of a script; each line at most twice."""
    import tree_sitter_javascript
    from tree_sitter import Language, Parser

    every: list[tuple[int, Edit]] = []
    waiting = [Parser(Language(tree_sitter_javascript.language())).parse(code).root_node]
    while waiting:
        node = waiting.pop()
        every += ((node.start_point[0] + 1, edit) for edit in edits(node))
        waiting += node.children
    lines = code.decode().splitlines()
    return [
        Mutant(
            line,
            f"{_short(code[start:end])}   (in: {lines[line - 1].strip()[:150]})",
            _short(put),
            (code[:start] + put + code[end:]).decode(),
        )
        for line, (start, end, put) in few(every, count, rng)
    ]


def _short(code: bytes) -> str:
    return " ".join(code.decode().split())[:150]


def main() -> int:
    p = options("names", 12)
    p.add_argument("--seconds", type=float, default=40.0)
    args = p.parse_args()
    known = seen.read()
    spoiled.load_libraries()
    with spoiled.copy() as made:
        for name in args.names or sorted(file.stem for file in (seen.ROOT / STATIC).glob("*.js")):
            file = f"{STATIC}/{name}.js"

            def judge(m: Mutant, name: str = name, file: str = file) -> tuple[str, str]:
                asked = [t for t in known.of(f"static/{name}", m.line) if t in known.browser]
                return judged(made, (file, m.text), asked, known, args)

            drawn = sample((made.folder / file).read_bytes(), args.count, random.Random(f"{args.seed} {name}"))
            score(f"{name}.js", drawn, args, judge)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
