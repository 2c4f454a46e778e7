"""What a shape demands: passed over is only what can't say anything, whatever the data."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.shacl import CompiledShapes, Results, compile_shapes, evaluate
from leastwise.graph.shacl.rdf import encode
from tests.conftest import DEMOS
from tests.graph.shacl.support import graph_of

COLUMNS = ("focus", "value", "shape", "constraint", "component", "path", "predicate", "severity")
INSIDE = "ex:S a sh:NodeShape ; sh:targetClass ex:C ; sh:not [ %s ] ."
ASKED = "sh:property [ sh:path ex:p ; %s ]"


def compiled(turtle: str) -> CompiledShapes:
    return compile_shapes(encode(graph_of(turtle)))


def demanded(turtle: str) -> set[tuple[str, ...]]:
    """Return the local names of what the shapes of a graph demand, a tuple for each demand."""
    found = compiled(turtle)
    return {
        tuple(sorted(found.constants[one].rpartition("/")[2].rstrip(">") for one in demand[1]))
        for demands in found.demands
        for demand in demands
    }


@pytest.mark.parametrize(
    ("inside", "names"),
    [
        (ASKED % "sh:hasValue ex:a", {("a",)}),
        (ASKED % "sh:minCount 1 ; sh:in ( ex:a ex:b )", {("a", "b")}),
        (ASKED % "sh:in ( ex:a ex:b )", set()),
        (
            ASKED % "sh:qualifiedMinCount 1 ; sh:qualifiedValueShape [ sh:in ( ex:a ex:b ) ]",
            {("a", "b")},
        ),
        (ASKED % "sh:qualifiedMaxCount 1 ; sh:qualifiedValueShape [ sh:in ( ex:a ) ]", set()),
        (ASKED % "sh:not [ sh:hasValue ex:a ]", set()),
        (f"sh:and ( [ {ASKED % 'sh:hasValue ex:a'} ] [ {ASKED % 'sh:hasValue ex:b'} ] )",
         {("a",), ("b",)}),
        (f"sh:or ( [ {ASKED % 'sh:hasValue ex:a'} ] [ {ASKED % 'sh:hasValue ex:b'} ] )", set()),
    ],
)  # fmt: skip
def test_what_a_shape_demands(inside: str, names: set[tuple[str, ...]]) -> None:
    assert demanded(INSIDE % inside) == names


def test_a_shape_that_asks_two_things_demands_nothing() -> None:
    both = (INSIDE % (ASKED % "sh:hasValue ex:a")).removesuffix(".") + "; sh:nodeKind sh:Literal ."

    assert demanded(both) == set()


def columns(found: Results) -> list[list[int]]:
    return [np.asarray(getattr(found, name)).tolist() for name in COLUMNS]


@pytest.mark.parametrize("name", DEMOS)
def test_the_rules_say_the_same_with_all_of_them_asked(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    rules = adviser.rules.compiled
    data = adviser.steps(demo(name)).data.triples
    every = replace(rules, demands=((),) * len(rules.shapes))

    found = columns(evaluate(rules, data))

    assert found == columns(evaluate(every, data))
    assert len(found[0]) > 50
    assert sum(bool(one) for one in rules.demands) > 300
