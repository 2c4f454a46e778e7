"""Small cases, one point each: a graph that is both data and shapes, and the expected results.

A result is written "focus | path | value | shape | component | severity" in Turtle, "-" for
absent, the last part only if it is not sh:Violation. A case may say in `departs` why pySHACL
gives something else; the tests check that it does.
"""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

from tests.graph.shacl.support import EX, SH, Row, graph_of, path_of


class Case(NamedTuple):
    turtle: str
    expected: tuple[str, ...]
    departs: str = ""


def expected_rows(case: Case) -> Counter[Row]:
    rows: Counter[Row] = Counter()
    for line in case.expected:
        parts = [part.strip() for part in line.split("|")]
        focus, path, value, shape, component = parts[:5]
        severity = parts[5] if len(parts) > 5 else "sh:Violation"
        named = {"focus": focus, "path": path, "value": value, "shape": shape, "sev": severity}
        turtle = "; ".join(f"ex:{name} {term}" for name, term in named.items() if term != "-")
        graph = graph_of(f"ex:row {turtle} .")
        get = {name: graph.value(EX.row, EX[name]) for name in named}
        rows[
            Row(
                get["focus"],
                path_of(graph, get["path"]),
                get["value"],
                get["shape"],
                f"{component}ConstraintComponent",
                get["sev"] or SH.Violation,
            )
        ] += 1
    return rows


def case(turtle: str, *expected: str, departs: str = "") -> Case:
    return Case(turtle, expected, departs)
