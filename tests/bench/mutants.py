"""Mutation score: small wrong edits at random, and whether a test notices.  python tests/bench/mutants.py [MODULE ...]

    --count N    mutants a module (12)
    --seed N     of the sample (1)
    --seconds S  how long the tests chosen for one mutant may take together (15)
    --browser    also tests that need a browser, which take longest; without them a survivor has fewer judges
    --also FILE  a test, or a file of them, that judges every mutant after those; may be said more than once
    --line N     of the sample only what is on this line; may be said more than once
    --show       also print every mutant that was killed
    --list       only print the sample

A mutant changes one thing in one module of a copy of the project: a comparison, a sum, a number, a condition, what is
returned, the order of two arguments.  Tolerances below 1e-4 are let be.  It is judged by the tests that ran its line (see
seen.py), the shortest first, until one is red or their seconds are used up.  What takes six times as long as they should
counts as killed: a maker notices a tool that hangs.  A survivor is printed with its line before and after, to be judged by
a person: either a test is missing, or the change makes no difference.
"""

from __future__ import annotations

import argparse
import ast
import random
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

sys.path.insert(0, str(Path(__file__).resolve().parent))

import seen
import spoiled

LIMIT = 400.0  # seconds for --also, on a busy machine
ROOMS = ("braid", "cutter", "job", "paper", "web")
ALSO = (
    "piece/fit", "piece/strap", "piece/checks", "piece/clearances", "piece/load", "piece/altered", "order/doors", "order/resolve",
    "drawing/pdf", "drawing/dxf", "drawing/svg", "stock/take_up", "stock/learned", "geometry/shape", "files/values",
    "say/lengths", "say/braiding", "units", "printer/calibration", "printer/worth",
)  # fmt: skip
COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
EDGES: dict[type[ast.cmpop], type[ast.cmpop]] = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt}
SUMS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
}  # fmt: skip
Change = Callable[[ast.AST], None]
Site = TypeVar("Site", bound=tuple[Any, ...])


@dataclass(frozen=True)
class Mutant:
    """One change: its line, the code before and after, and the module's text with it."""

    line: int
    before: str
    after: str
    text: str


Judge = Callable[[Mutant], tuple[str, str]]  # the verdict, and how many tests gave it


def changes(node: ast.AST) -> Iterator[Change]:
    """Everything that can be done to one node, each as a change in place."""
    match node:
        case ast.Compare(ops=[op]):
            for table in (COMPARISONS, EDGES):
                if type(op) in table:
                    yield _set("ops", [table[type(op)]()])
        case ast.BinOp(op=op, right=right) if type(op) in SUMS and not _texts(node) and not _tiny(right):
            yield _set("op", SUMS[type(op)]())
        case ast.BoolOp(op=op):
            yield _set("op", ast.Or() if isinstance(op, ast.And) else ast.And())
        case ast.UnaryOp(op=ast.USub()):
            yield _set("op", ast.UAdd())
        case ast.Constant(value=bool() as value):
            yield _set("value", not value)
        case ast.Constant(value=int() | float() as value) if not _tiny(node):
            yield _set("value", value + 1)
            yield _set("value", value * 2 if value else 0.5)
        case ast.If(test=test) | ast.IfExp(test=test):
            yield _set("test", ast.UnaryOp(ast.Not(), test))
        case ast.Return(value=ast.expr() as value) if not isinstance(value, ast.Constant):
            yield _set("value", ast.Constant(None))
        case ast.Call(func=ast.Name(id="min" | "max" as name)):
            yield _set("func", ast.Name("max" if name == "min" else "min", ast.Load()))
        case ast.Call(args=[first, second, *rest]) if ast.dump(first) != ast.dump(second):
            yield _set("args", [second, first, *rest])


def _set(name: str, value: object) -> Change:
    return lambda node: setattr(node, name, value)


def _tiny(node: ast.AST) -> bool:
    """A tolerance for the last bits of a sum: a little more or less of it is no fault."""
    return isinstance(node, ast.Constant) and isinstance(node.value, float) and 0.0 < abs(node.value) < 1e-4


def _texts(node: ast.BinOp) -> bool:
    return any(isinstance(s, (ast.JoinedStr, ast.BinOp)) and "'" in ast.unparse(s) for s in (node.left, node.right))


def _left_alone(tree: ast.Module) -> set[int]:
    """Nodes that are no behaviour: annotations, and what is only read by type checkers."""
    out: set[int] = set()
    for node in ast.walk(tree):
        alone: list[ast.AST | None] = []
        if isinstance(node, ast.AnnAssign):
            alone.append(node.annotation)
        elif isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            alone += [node.returns, *(a.annotation for a in (*node.args.args, *node.args.kwonlyargs))]
        elif isinstance(node, ast.ClassDef) or (isinstance(node, ast.Call) and ast.unparse(node.func) == "dataclass"):
            alone += [*getattr(node, "decorator_list", []), *node.keywords]
        elif isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            alone.append(node)
        for part in alone:
            if part is not None:
                out |= {id(n) for n in ast.walk(part)}
    return out


def sites(text: str) -> list[tuple[int, int, int]]:
    """Every change that can be made to a module: its line, its node in the order of the walk, and which change of it."""
    tree = ast.parse(text)
    alone = _left_alone(tree)
    return [
        (getattr(node, "lineno", 1), k, n)
        for k, node in enumerate(ast.walk(tree))
        if id(node) not in alone
        for n in range(len(list(changes(node))))
    ]


def mutant(text: str, line: int, k: int, n: int) -> Mutant:
    """The module with one change."""
    tree = ast.parse(text)
    node = next(node for at, node in enumerate(ast.walk(tree)) if at == k)
    before = ast.unparse(node).splitlines()[0]
    list(changes(node))[n](node)
    after = ast.unparse(node).splitlines()[0]
    where = text.splitlines()[line - 1].strip()
    return Mutant(line, f"{before}   (in: {where})", after, ast.unparse(ast.fix_missing_locations(tree)))


def few(every: list[Site], count: int, rng: random.Random) -> list[Site]:
    """Some of the places, each of which begins with its line; each line at most twice."""
    rng.shuffle(every)
    chosen: list[Site] = []
    for site in every:
        if sum(c[0] == site[0] for c in chosen) < 2:
            chosen.append(site)
        if len(chosen) == count:
            break
    return sorted(chosen)


def sample(text: str, count: int, rng: random.Random) -> list[Mutant]:
    """Some mutants of a module."""
    return [mutant(text, *site) for site in few(sites(text), count, rng)]


def options(what: str, count: int) -> argparse.ArgumentParser:
    """What every sample is asked by; ``what`` it is drawn of."""
    p = argparse.ArgumentParser()
    p.add_argument(what, nargs="*")
    p.add_argument("--count", type=int, default=count)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--also", action="append", default=[])
    p.add_argument("--line", type=int, action="append")
    p.add_argument("--show", action="store_true")
    p.add_argument("--list", action="store_true")
    return p


def score(name: str, drawn: Sequence[Mutant], args: argparse.Namespace, judge: Judge) -> None:
    """Have the mutants of one sample judged, and print what became of them."""
    if args.line:
        drawn = [m for m in drawn if m.line in args.line]
    killed = 0
    for m in drawn:
        said = f"{name}:{m.line}  {m.before}  ->  {m.after}"
        if args.list:
            print(f"  {said}")
            continue
        verdict, judges = judge(m)
        killed += verdict != "green"
        if verdict == "green" or args.show:
            print(f"  {f'SURVIVED {judges}' if verdict == 'green' else f'killed ({verdict})'}  {said}", flush=True)
    if not args.list:
        print(f"{name}: {killed} of {len(drawn)} killed", flush=True)


def modules() -> list[str]:
    """Every module that the score is asked of."""
    root = seen.ROOT / seen.SOURCE
    rooms = [f"{room}/{file.stem}" for room in ROOMS for file in sorted((root / room).glob("*.py"))]
    return [m for m in (*rooms, *ALSO) if sites((root / f"{m}.py").read_text(encoding="utf-8"))]


def chosen(tests: Sequence[str], seconds: dict[str, float], most: float) -> list[str]:
    """As many of the tests as the time allows, but one at least."""
    out: list[str] = []
    for test in tests:
        most -= seconds.get(test, 0.0)
        if most < 0.0 and out:
            break
        out.append(test)
    return out


def judged(
    made: spoiled.Copy, change: tuple[str, str], asked: Sequence[str], known: seen.Seen, args: argparse.Namespace
) -> tuple[str, str]:
    """What the tests asked, as many as the time allows, and those of --also say of a file with another text."""
    tests = chosen(asked, known.seconds, args.seconds)
    limit = 30.0 + 6.0 * sum(known.seconds.get(t, 0.0) for t in tests)
    with made.changed(*change):
        verdict = made.run(tests, limit)[0] if tests else "green"
        if verdict == "green" and args.also:
            verdict = made.run(args.also, LIMIT)[0]
    return verdict, f"{len(tests)} of {len(asked)} tests"


def main() -> int:
    p = options("modules", 12)
    p.add_argument("--seconds", type=float, default=15.0)
    p.add_argument("--browser", action="store_true")
    args = p.parse_args()
    known = seen.read()
    spoiled.load_libraries()
    with spoiled.copy() as made:
        for module in args.modules or modules():
            file = f"src/strapwork/{module}.py"

            def judge(m: Mutant, module: str = module, file: str = file) -> tuple[str, str]:
                asked = [t for t in known.of(module, m.line) if args.browser or t not in known.browser]
                return judged(made, (file, m.text), asked, known, args)

            text = (made.folder / file).read_text(encoding="utf-8")
            score(module, sample(text, args.count, random.Random(f"{args.seed} {module}")), args, judge)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
