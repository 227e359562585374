"""Mutation score of the page's scripts: as mutants.py, for templates/static.  python tests/bench/script_mutants.py [NAME ...]

    --count N    mutants a script (8)
    --seed N     of the sample (1)
    --line N     of the sample only what is on this line; may be said more than once
    --also FILE  a test, or a file of them, that judges every mutant after those of TESTS; may be said more than once
    --show       also print every mutant that was killed
    --list       only print the sample

Only a browser runs these, so only the tests that drive one judge them: TESTS says which files of them, and the run takes
long.  Needs `pip install tree-sitter tree-sitter-javascript`, which nothing else here does.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent))

import spoiled
from mutants import LIMIT, Mutant, few, options, score

STATIC = "templates/static"
PIECE = ("tests/test_page.py", "tests/test_page_use.py", "tests/test_page_wrong.py", "tests/test_page_keys.py")
ORDER = ("tests/test_order_pages.py", "tests/test_page_rows.py", "tests/test_page_jobs.py", "tests/test_page_keys.py")
BRAID = ("tests/test_braid_page.py", "tests/test_page_keys.py")
TESTS: dict[str, tuple[str, ...]] = {
    "ask": (*PIECE, *ORDER),
    "braid": BRAID,
    "braid_atlas": BRAID,
    "braid_film": BRAID,
    "braid_wrong": BRAID,
    "job": ORDER,
    "order_files": ORDER,
    "order_grid": ORDER,
    "order_server": ORDER,
    "order_sizes": ORDER,
    "order_store": ORDER,
    "order_tables": ORDER,
    "piece": (*PIECE, "tests/test_page_goods.py"),
    "piece_keep": PIECE,
    "piece_view": (*PIECE, "tests/test_page_pinch.py"),
    "words": (*PIECE, *BRAID),
    "workshop": ORDER,
}
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
    args = options("names", 8).parse_args()
    spoiled.load_libraries()
    with spoiled.copy() as made:
        for name in args.names or TESTS:
            file, tests = f"{STATIC}/{name}.js", (*TESTS[name], *args.also)

            def judge(m: Mutant, file: str = file, tests: tuple[str, ...] = tests) -> tuple[str, str]:
                with made.changed(file, m.text):
                    # One file after the other, as the first that is red settles it.
                    runs = (made.run([t], LIMIT, ("-m", "browser", "-k", "not axe"))[0] for t in tests)
                    return next((v for v in runs if v != "green"), "green"), f"{len(tests)} files of tests"

            drawn = sample((made.folder / file).read_bytes(), args.count, random.Random(f"{args.seed} {name}"))
            score(f"{name}.js", drawn, args, judge)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
