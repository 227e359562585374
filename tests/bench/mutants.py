"""Mutation score: small wrong edits at random, and whether a test notices.  python tests/bench/mutants.py [MODULE ...]

    --count N   mutants a module (12)
    --seed N    of the sample (1)
    --show      also print every mutant that was killed
    --limit S   seconds that one test file may take with one mutant (150)
    --no-browser  without tests that need a browser, which take longest; a survivor has fewer judges then
    --line N    of the sample only what is on this line; may be said more than once

A mutant changes one thing in one module of a copy of the project: a comparison, a sum, a number, a condition, what is
returned, the order of two arguments.  Tolerances below 1e-4 are let be.  Which tests look at a module is said here; all
of them have to be green without a mutant, then they run in that order until one is red.  What takes longer than the limit
counts as killed: a maker notices a tool that hangs; on a busy machine the limit has to be above what a slow test needs.  A
survivor is printed with its line before and after, to be judged by a person: either a test is missing, or the change
makes no difference.
"""

from __future__ import annotations

import argparse
import ast
import random
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import spoiled

LIMIT = 150.0
WORKED, DRAWN = "tests/outside/test_worked_examples.py", "tests/test_drawings.py"
TESTS: dict[str, tuple[str, ...]] = {
    "piece/fit": (WORKED, "tests/test_fit.py", "tests/test_findings.py"),
    "piece/strap": (WORKED, "tests/test_strap.py", "tests/test_causes.py", "tests/test_voice.py"),
    "piece/checks": ("tests/test_causes.py", "tests/test_findings.py"),
    "piece/clearances": ("tests/test_causes.py", "tests/test_findings.py"),
    "piece/load": ("tests/outside/test_leather_and_load.py", "tests/test_leather.py", "tests/test_findings.py"),
    "piece/altered": (WORKED, "tests/test_effects.py", "tests/test_strap.py", "tests/test_doors.py"),
    "cutter/kerf": ("tests/test_cutting.py",),
    "cutter/paths": ("tests/test_cutting.py", "tests/outside/test_cutter_files.py", "tests/test_lettering.py"),
    "order/doors": ("tests/test_doors.py", "tests/test_effects.py", "tests/test_order.py", "tests/test_people.py"),
    "order/resolve": ("tests/test_effects.py", "tests/test_doors.py", "tests/test_order.py", "tests/test_sizes.py"),
    "drawing/pdf": (DRAWN, "tests/outside/test_true_scale.py", "tests/test_effects.py", "tests/test_scripts.py"),
    "drawing/dxf": ("tests/outside/test_cutter_files.py", "tests/test_cutting.py"),
    "drawing/svg": (
        DRAWN,
        "tests/test_scripts.py",
        "tests/outside/test_true_scale.py",
        "tests/test_voice.py",
        "tests/test_cutting.py",
    ),
    "stock/take_up": ("tests/outside/test_take_up_posterior.py", "tests/test_leather.py"),
    "stock/learned": ("tests/test_leather.py", WORKED, "tests/outside/test_take_up_posterior.py", "tests/test_made.py"),
    "web/show": ("tests/test_shown.py", "tests/test_voice.py"),
    "web/form": (
        "tests/test_shown.py",
        "tests/test_page_wrong.py",
        "tests/test_effects.py",
        "tests/test_doors.py",
        "tests/test_page.py",
    ),
    "job/numbers": (
        "tests/test_numbers.py",
        "tests/test_effects.py",
        "tests/test_voice.py",
        "tests/outside/test_true_scale.py",
    ),
    "job/tried": ("tests/test_patterns.py",),
    "geometry/shape": ("tests/test_shape.py", "tests/test_cutting.py", WORKED, "tests/outside/test_cutter_files.py"),
    "job/job": (
        "tests/test_size.py",
        "tests/test_carried_order.py",
        "tests/test_cutting.py",
        "tests/test_effects.py",
        "tests/test_cli.py",
    ),
    "files/values": ("tests/test_doors.py", "tests/test_effects.py", "tests/test_readers.py", "tests/test_patterns.py"),
    "web/remedies": ("tests/test_page_wrong.py", "tests/test_page_use.py"),
    "cutter/beds": ("tests/test_cutting.py", "tests/test_size.py"),
    "braid/geometry": ("tests/test_braid_geometry.py", WORKED, "tests/outside/test_trade_rules.py"),
    "braid/passes": ("tests/test_braid.py", "tests/test_pictures.py"),
    "braid/plan": ("tests/test_braid.py", "tests/test_pictures.py", "tests/test_voice.py"),
    "braid/proof": ("tests/test_braid.py", "tests/outside/test_braid_theory.py", "tests/test_cli.py"),
    "braid/word": ("tests/test_braid_geometry.py", "tests/test_braid.py", "tests/test_cli.py"),
    "braid/lie": ("tests/test_rescue.py",),
    "braid/rescue": ("tests/test_rescue.py", "tests/outside/test_rescue_theory.py"),
    "say/lengths": ("tests/test_voice.py",),
    "say/braiding": ("tests/test_pictures.py", "tests/test_voice.py"),
    "units": (
        "tests/test_units.py",
        "tests/outside/test_units_and_paper.py",
        "tests/test_units_shown.py",
        "tests/test_leather.py",
    ),
    "paper/tiles": ("tests/test_sheets.py", "tests/test_sheets_filled.py", "tests/outside/test_true_scale.py"),
    "paper/packing": ("tests/test_sheets.py", "tests/test_sheets_filled.py"),
    "paper/broken": ("tests/test_sheets_filled.py", "tests/outside/test_true_scale.py"),
    "printer/calibration": ("tests/test_scale.py",),
    "printer/worth": ("tests/test_scale.py",),
}
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


@dataclass(frozen=True)
class Mutant:
    """One change: its line, the code before and after, and the module's text with it."""

    line: int
    before: str
    after: str
    text: str


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


def sample(text: str, count: int, rng: random.Random) -> list[Mutant]:
    """Some mutants of a module; each line at most twice."""
    every = sites(text)
    rng.shuffle(every)
    chosen: list[tuple[int, int, int]] = []
    for site in every:
        if sum(c[0] == site[0] for c in chosen) < 2:
            chosen.append(site)
        if len(chosen) == count:
            break
    return [mutant(text, *site) for site in sorted(chosen)]


def main() -> int:
    p = argparse.ArgumentParser()
    p.add_argument("modules", nargs="*")
    p.add_argument("--count", type=int, default=12)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--show", action="store_true")
    p.add_argument("--limit", type=float, default=LIMIT)
    p.add_argument("--no-browser", action="store_true")
    p.add_argument("--line", type=int, action="append")
    args = p.parse_args()
    also = ("-m", "not browser") if args.no_browser else ()
    spoiled.load_libraries()
    with spoiled.copy() as made:
        for module in args.modules or TESTS:
            file = f"src/strapwork/{module}.py"
            text = (made.folder / file).read_text(encoding="utf-8")
            killed = 0
            for t in TESTS[module]:
                verdict, said = made.run([t], args.limit, also)
                if verdict != "green":
                    raise SystemExit(f"{t} is {verdict} without any mutant:\n{said}")
            chosen = sample(text, args.count, random.Random(f"{args.seed} {module}"))
            if args.line:
                chosen = [m for m in chosen if m.line in args.line]
            for m in chosen:
                with made.changed(file, m.text):
                    # One file after the other, as the first that is red settles it.
                    verdict = next(
                        (v for t in TESTS[module] if (v := made.run([t], args.limit, also)[0]) != "green"), "green"
                    )
                killed += verdict != "green"
                if verdict == "green" or args.show:
                    word = "SURVIVED" if verdict == "green" else f"killed ({verdict})"
                    print(f"  {word}  {module}:{m.line}  {m.before}  ->  {m.after}", flush=True)
            print(f"{module}: {killed} of {len(chosen)} killed", flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
