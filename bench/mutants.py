"""Plant small faults in the steps of weighing and see whether the tests beside them notice.

    python bench/mutants.py [--module NAME ...] [--count N] [--seed S] [--planted]

The faults are those of cosmic-ray (a general mutation tester; `pip install -e ".[bench]"`): a
comparison, a sign, a number, a boolean word, `and` for `or`, a condition denied, a loop that
isn't entered, a decorator taken away. It is their runner that is ours (`bench/planting.py` says
why). --count draws so many faults a module, else all are planted. --planted plants the twelve
faults of `bench/planted.toml` instead, each of which once went unnoticed or would be costly.

A fault that no test notices is printed with its line before and after. Those that change nothing
that anybody could see stand with the reason in `bench/mutants-equivalent.toml` and don't count.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import re
import sys
import tomllib
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path

from planting import Fault, Outcome, read_once, run

ROOT = Path(__file__).resolve().parents[1]
WEIGHING, KNOWLEDGE = "tests/graph/weighing", "tests/graph/knowledge"
#: Module -> the tests that stand beside it. The first nine are planted unless others are named.
NEAREST = {
    "weighing/exposure": [f"{WEIGHING}/test_exposure.py"],
    "weighing/contacts": [f"{WEIGHING}/test_contacts.py"],
    "knowledge/concepts": [f"{KNOWLEDGE}/test_concepts.py"],
    "weighing/conditions": [f"{WEIGHING}/test_conditions.py", f"{WEIGHING}/test_requirements.py"],
    "weighing/findings": [f"{WEIGHING}/test_findings.py"],
    "weighing/argument": [f"{WEIGHING}/test_argument.py"],
    "weighing/settle": [f"{WEIGHING}/test_settle.py"],
    "weighing/ranking": [f"{WEIGHING}/test_ranking.py"],
    "planning/choose": ["tests/graph/planning/test_choose.py"],
    "weighing/readings": [f"{WEIGHING}/test_conditions.py", f"{WEIGHING}/test_requirements.py"],
    "weighing/compose": [f"{WEIGHING}/test_compose.py"],
    "weighing/candidates": [f"{WEIGHING}/test_candidates.py"],
    "weighing/explain": [f"{WEIGHING}/test_explain.py"],
    "weighing/advise": [f"{WEIGHING}/test_advise.py"],
}
CORE = [*NEAREST][:9]
_PLAIN = (
    "AddNot", "ReplaceTrueWithFalse", "ReplaceFalseWithTrue", "ReplaceAndWithOr",
    "ReplaceOrWithAnd", "ReplaceBreakWithContinue", "ReplaceContinueWithBreak",
    "ExceptionReplacer", "NumberReplacer", "RemoveDecorator", "ZeroIterationForLoop",
    "ReplaceUnaryOperator_USub_UAdd", "ReplaceUnaryOperator_Delete_Not",
)  # fmt: skip
#: Of the many ways to replace a comparison or a sign, the edge and the opposite: others crash.
_COMPARED = (
    "Eq_NotEq", "NotEq_Eq", "Lt_LtE", "Lt_GtE", "LtE_Lt", "LtE_Gt", "Gt_GtE", "Gt_LtE", "GtE_Gt",
    "GtE_Lt", "Is_IsNot", "IsNot_Is",
)  # fmt: skip
_COUNTED = (
    "Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul", "Pow_Mul", "BitAnd_BitOr", "BitOr_BitAnd",
    "FloorDiv_Mul", "Mod_Mul",
)  # fmt: skip
OPERATORS = (
    *_PLAIN,
    *(f"ReplaceComparisonOperator_{one}" for one in _COMPARED),
    *(f"ReplaceBinaryOperator_{one}" for one in _COUNTED),
)


def source_of(module: str) -> str:
    """Return the source of a module below graph/."""
    return (ROOT / "graph" / f"{module}.py").read_text(encoding="utf-8")


def faults_of(module: str) -> Iterator[Fault]:
    """Yield every fault that the operators make of a module, each once."""
    from cosmic_ray.ast import ast_nodes, get_ast  # noqa: PLC0415 - not for --planted
    from cosmic_ray.mutating import mutate_code  # noqa: PLC0415 - as above
    from cosmic_ray.plugins import get_operator  # noqa: PLC0415 - as above

    sound = source_of(module)
    made = list(_turned_membership(sound))
    for name in OPERATORS:
        operator = get_operator(f"core/{name}")()
        places = sum(len([*operator.mutation_positions(n)]) for n in ast_nodes(get_ast(sound)))
        made += [(name, mutate_code(sound, operator, number)) for number in range(places)]
    seen = {_meaning(sound)}
    for name, changed in made:
        meaning = _meaning(changed) if changed else None
        if changed and meaning and meaning not in seen:
            seen.add(meaning)
            yield _fault(module, name, sound, changed)


def _turned_membership(source: str) -> Iterator[tuple[str, str]]:
    """Yield a source with each `in` turned to `not in`, and back, which cosmic-ray leaves alone."""
    lines = source.splitlines(keepends=True)
    starts = [sum(len(one) for one in lines[:n]) for n in range(len(lines))]
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Compare) and isinstance(node.ops[0], ast.In | ast.NotIn):
            end, begin = node.left, node.comparators[0]
            low = starts[(end.end_lineno or 1) - 1] + (end.end_col_offset or 0)
            high = starts[begin.lineno - 1] + begin.col_offset
            word = r"\bnot\s+in\b" if isinstance(node.ops[0], ast.NotIn) else r"\bin\b"
            other = "in" if isinstance(node.ops[0], ast.NotIn) else "not in"
            between = re.sub(word, other, source[low:high])
            yield "in turned", source[:low] + between + source[high:]


def _meaning(source: str) -> str | None:
    """Return a source without what is never run: annotations, and the `*` and `/` of signatures.

    None if it isn't Python.
    """
    try:
        tree = ast.parse(source)
        compile(source, "fault", "exec", dont_inherit=True)
    except SyntaxError:
        return None
    for node in ast.walk(tree):
        if isinstance(node, ast.arg | ast.AnnAssign):
            node.annotation = ast.Constant(None)
        elif isinstance(node, ast.FunctionDef):
            node.returns, a = None, node.args
            a.args = [*a.posonlyargs, *a.args, *a.kwonlyargs]
            a.defaults = [*a.defaults, *(one for one in a.kw_defaults if one)]
            a.posonlyargs, a.kwonlyargs, a.kw_defaults = [], [], []
    return ast.dump(tree)


def _fault(module: str, what: str, sound: str, changed: str) -> Fault:
    """Return a fault with the first line in which it differs."""
    old, new = sound.splitlines(), changed.splitlines()
    changes = SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    _, low, high, start, end = next(one for one in changes if one[0] != "equal")
    while low < high and not old[low].strip():
        low += 1  # a blank line that went with it
    was, becomes = old[low : low + 1], new[start:end]
    return Fault(module, low + 1, what, "".join(was).strip(), "".join(becomes).strip(), changed)


def planted() -> list[Fault]:
    """Return the faults of planted.toml; each has to change just one place of its module."""
    rows = tomllib.loads((ROOT / "bench/planted.toml").read_text(encoding="utf-8"))["fault"]
    return [_planted(row) for row in rows]


def _planted(row: dict[str, str]) -> Fault:
    sound = source_of(row["module"])
    if sound.count(row["was"]) != 1:
        sys.exit(f"planted.toml: {row['was']!r} stands {sound.count(row['was'])} times, not once")
    return _fault(row["module"], row["what"], sound, sound.replace(row["was"], row["becomes"]))


@dataclass(frozen=True)
class Known:
    """The faults that change nothing that anybody could see, by line and by change of words."""

    rows: frozenset[tuple[str, str, str]]
    words: tuple[tuple[str, str], ...]

    @classmethod
    def read(cls) -> Known:
        """Read mutants-equivalent.toml."""
        found = tomllib.loads((ROOT / "bench/mutants-equivalent.toml").read_text(encoding="utf-8"))
        return cls(
            frozenset((row["module"], row["was"], row["becomes"]) for row in found["equivalent"]),
            tuple((row["was"], row["becomes"]) for row in found["kind"]),
        )

    def holds(self, fault: Fault) -> bool:
        """Return whether a fault is among them."""
        one_line = (fault.module, fault.was, fault.becomes) in self.rows
        return one_line or any(
            was in fault.was and fault.was.replace(was, becomes) == fault.becomes
            for was, becomes in self.words
        )


def report(module: str, faults: list[Fault], known: Known) -> tuple[int, int, float]:
    """Plant the faults of one module; print and return how many were noticed, of how many."""
    counted = [one for one in faults if not known.holds(one)]
    name = f"leastwise.graph.{module.replace('/', '.')}"
    outcome: Outcome = run(name, NEAREST[module], counted, source_of(module))
    if outcome.failing:
        sys.exit(f"fail without any fault: {', '.join(outcome.failing)}")
    for one in outcome.missed:
        print(f"not noticed: graph/{module}.py:{one.line} {one.what}")
        print(f"  - {one.was}\n  + {one.becomes}")
    caught = len(counted) - len(outcome.missed)
    share = 100 * caught / max(1, len(counted))
    print(
        f"{module}: {caught} of {len(counted)} noticed ({share:.0f} %), "
        f"{len(faults) - len(counted)} equivalent, tests {outcome.seconds:.1f} s",
        flush=True,
    )
    return caught, len(counted), outcome.seconds


def main() -> None:
    """Plant the faults and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--module", nargs="*", default=CORE)
    parser.add_argument("--planted", action="store_true")
    asked = parser.parse_args()
    os.chdir(ROOT)
    by_module: dict[str, list[Fault]] = {}
    if asked.planted:
        for one in planted():
            by_module.setdefault(one.module, []).append(one)
    else:
        for module in asked.module:
            found = [*faults_of(module)]
            many = min(asked.count, len(found)) or len(found)
            by_module[module] = random.Random(asked.seed).sample(found, many)  # noqa: S311
    known = Known.read()
    read_once()
    rows = [_apart(module, faults, known) for module, faults in by_module.items()]
    caught, counted = sum(row[0] for row in rows), sum(row[1] for row in rows)
    print(
        f"{caught} of {counted} faults noticed ({100 * caught / max(1, counted):.0f} %); "
        f"the tests by themselves take {sum(row[2] for row in rows):.0f} s"
    )
    if asked.planted and caught < counted:
        sys.exit(1)


def _apart(module: str, faults: list[Fault], known: Known) -> tuple[int, int, float]:
    """Report in a process of its own, since pytest imports the tests of a run only once."""
    sys.stdout.flush()
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        try:
            os.write(writing, repr(report(module, faults, known)).encode())
            sys.stdout.flush()
            os._exit(0)
        except BaseException:
            traceback.print_exc()
            sys.stdout.flush()
            os._exit(1)
    os.close(writing)
    _, status = os.waitpid(child, 0)
    if status:
        sys.exit(1)
    with os.fdopen(reading) as answer:
        row: tuple[int, int, float] = ast.literal_eval(answer.read())
    return row


if __name__ == "__main__":
    main()
