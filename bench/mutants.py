"""Plant small faults in the steps of weighing and see whether the tests beside them notice.

    python bench/mutants.py [--count N] [--seed S] [--module NAME ...]

Each fault changes one place of one module: a comparison, a sign, a number, a boolean word, a
constant, or takes a `not` away. It is planted in a copy of the package, never in the tree, and
the tests nearest to the module run over the copy until the first one fails. Without --count all
faults are planted. A fault that no test notices is printed with its place; some of them change
nothing that anybody could see, so the figure is a lower bound.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
WEIGHING = "tests/graph/weighing"
#: Module -> the tests that stand beside it.
NEAREST = {
    "weighing/contacts": [f"{WEIGHING}/test_contacts.py"],
    "weighing/exposure": [f"{WEIGHING}/test_exposure.py"],
    "weighing/settle": [f"{WEIGHING}/test_settle.py"],
    "weighing/conditions": [f"{WEIGHING}/test_requirements.py", f"{WEIGHING}/test_conditions.py"],
    "weighing/findings": [f"{WEIGHING}/test_findings.py", f"{WEIGHING}/test_certainty.py"],
    "weighing/argument": [f"{WEIGHING}/test_argument.py"],
    "weighing/ranking": [f"{WEIGHING}/test_ranking.py", f"{WEIGHING}/test_scores.py"],
    "weighing/compose": [f"{WEIGHING}/test_compose.py", f"{WEIGHING}/test_demo_cases.py"],
    "knowledge/concepts": [
        "tests/graph/knowledge/test_sensitivity.py",
        f"{WEIGHING}/test_exposure.py",
    ],
    "planning/choose": ["tests/graph/planning/test_choose.py"],
}
COMPARED = {
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE,
    ast.GtE: ast.Gt, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
COUNTED = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd}


@dataclass(frozen=True)
class Mutant:
    """One fault: the source with it, and where it stands."""

    module: str
    line: int
    what: str
    source: str


class _Change(ast.NodeTransformer):
    """Changes the one place with the number *at*; counts the places on the way."""

    def __init__(self, at: int) -> None:
        self.at, self.number, self.line, self.what = at, -1, 0, ""

    def _here(self, node: ast.AST, what: str) -> bool:
        self.number += 1
        if self.number != self.at:
            return False
        self.line, self.what = getattr(node, "lineno", 0), what
        return True

    def visit_Compare(self, node: ast.Compare) -> ast.AST:
        other = COMPARED.get(type(node.ops[0]))
        if other and self._here(node, f"{type(node.ops[0]).__name__} to {other.__name__}"):
            node.ops[0] = other()
        return self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> ast.AST:
        other = COUNTED.get(type(node.op))
        if other and self._here(node, f"{type(node.op).__name__} to {other.__name__}"):
            node.op = other()
        return self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> ast.AST:
        if self._here(node, "and for or"):
            node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        return self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> ast.AST:
        if isinstance(node.op, ast.Not) and self._here(node, "not taken away"):
            return self.generic_visit(node.operand)
        return self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> ast.AST:
        if isinstance(node.value, bool):
            if self._here(node, f"{node.value} turned"):
                return ast.copy_location(ast.Constant(not node.value), node)
        elif isinstance(node.value, int) and self._here(node, f"{node.value} one more"):
            return ast.copy_location(ast.Constant(node.value + 1), node)
        return node

    def visit_Expr(self, node: ast.Expr) -> ast.AST:
        is_text = isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
        return node if is_text else self.generic_visit(node)  # docstrings stay


def mutants(module: str) -> Iterator[Mutant]:
    """Yield every fault of a module."""
    source = (ROOT / "graph" / f"{module}.py").read_text(encoding="utf-8")
    number = 0
    while True:
        change = _Change(number)
        tree = ast.fix_missing_locations(change.visit(ast.parse(source)))
        if not change.what:
            return
        yield Mutant(module, change.line, change.what, ast.unparse(tree))
        number += 1


def noticed(mutant: Mutant, package: Path) -> bool:
    """Return whether a test beside the module fails when the fault is planted in the copy."""
    path = package / "graph" / f"{mutant.module}.py"
    sound = path.read_text(encoding="utf-8")
    path.write_text(mutant.source, encoding="utf-8")
    try:
        return _run(NEAREST[mutant.module], package) != 0
    finally:
        path.write_text(sound, encoding="utf-8")


def _run(tests: list[str], package: Path) -> int:
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *tests]
    environment = {**os.environ, "PYTHONPATH": str(package.parent), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(  # noqa: S603 - our own interpreter and tests
            command, cwd=ROOT, env=environment, capture_output=True, timeout=300, check=False
        )
    except subprocess.TimeoutExpired:
        return 1  # a fault that hangs is noticed
    return done.returncode


def main() -> None:
    """Plant the faults and print the figure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--module", nargs="*", default=list(NEAREST))
    asked = parser.parse_args()
    found = [one for module in asked.module for one in mutants(module)]
    if asked.count:
        found = random.Random(asked.seed).sample(found, min(asked.count, len(found)))  # noqa: S311
    with tempfile.TemporaryDirectory() as folder:
        package = Path(folder) / "leastwise"
        package.mkdir()
        shutil.copytree(ROOT / "graph", package / "graph")
        for name in ("api", "seed_data", "shapes"):
            (package / name).symlink_to(ROOT / name)
        for module in {one.module for one in found}:
            if _run(NEAREST[module], package) != 0:
                sys.exit(f"the tests beside {module} fail without any fault")
        missed = []
        for one in found:
            if not noticed(one, package):
                missed.append(one)
                print(f"not noticed: graph/{one.module}.py:{one.line}: {one.what}", flush=True)
    caught = len(found) - len(missed)
    print(f"{caught} of {len(found)} faults noticed ({100 * caught / max(1, len(found)):.0f} %)")


if __name__ == "__main__":
    main()
