"""What each component of SHACL Core reports: https://www.w3.org/TR/shacl/#core-components."""

from __future__ import annotations

import pytest

from tests.graph.shacl import cases_of_shapes, cases_of_values
from tests.graph.shacl.cases import expected_rows
from tests.graph.shacl.support import graph_of, ours, referee

CASES = cases_of_values.CASES | cases_of_shapes.CASES


def blank_values_alike(rows: object) -> object:
    """Blank nodes have no name to expect: replace each by a mark."""
    assert isinstance(rows, dict)
    out: dict[object, int] = {}
    for row, count in rows.items():
        value = "[]" if type(row.value).__name__ == "BNode" else row.value
        focus = "[]" if type(row.focus).__name__ == "BNode" else row.focus
        key = row._replace(value=value, focus=focus)
        out[key] = out.get(key, 0) + count
    return out


@pytest.mark.parametrize("name", CASES)
def test_results(name: str) -> None:
    graph = graph_of(CASES[name].turtle)
    found = ours(graph, graph)
    assert blank_values_alike(found) == blank_values_alike(expected_rows(CASES[name]))
    assert referee(graph, graph) == found
