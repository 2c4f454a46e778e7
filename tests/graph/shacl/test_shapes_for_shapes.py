"""The working group's shapes for shapes graphs, against what is accepted and refused here.

pySHACL brings them along: https://www.w3.org/ns/shacl-shacl#.
"""

from __future__ import annotations

from pathlib import Path

import pyshacl
import pytest
from rdflib import Graph

from tests.graph.shacl import test_components, test_departures, test_errors, test_shapes
from tests.graph.shacl.support import graph_of, ours, referee

ACCEPTED = (
    test_components.CASES
    | test_shapes.TARGETS
    | test_shapes.STRANGE
    | test_shapes.OF_SHAPES
    | test_departures.CASES
)
# The draft those shapes were written for allowed qualified value shapes in property shapes only;
# the final working group test core/node/qualified-001 has them in node shapes.
LATER = "qualified value shapes count the focus node of a node shape"


@pytest.fixture(scope="module")
def shapes_for_shapes() -> Graph:
    assets = Path(pyshacl.__file__).parent / "assets"
    return Graph().parse(assets / "shacl-shacl.ttl", format="turtle")


def test_the_shapes_for_shapes_are_well_formed_by_themselves(shapes_for_shapes: Graph) -> None:
    assert not ours(shapes_for_shapes, shapes_for_shapes)


@pytest.mark.parametrize("name", sorted(set(ACCEPTED) - {LATER}))
def test_what_is_accepted_here_conforms(name: str, shapes_for_shapes: Graph) -> None:
    assert not ours(graph_of(ACCEPTED[name].turtle), shapes_for_shapes)


@pytest.mark.slow
def test_ill_formed_shapes_give_the_results_of_pyshacl(shapes_for_shapes: Graph) -> None:
    found = 0
    for name, _, turtle in test_errors.ILL_FORMED:
        if name == "in a circular list":  # pySHACL fails
            continue
        data = graph_of(turtle)
        rows = ours(data, shapes_for_shapes)
        found += bool(rows)
        assert rows == referee(data, shapes_for_shapes), name
    assert found > 60
