"""The referee: on random graphs the results are those of pySHACL, row by row."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
import rdflib
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from rdflib import Graph

from leastwise.graph.shacl import Triples
from leastwise.graph.shacl.rdf import decode
from tests.graph.shacl.random_graphs import Maker
from tests.graph.shacl.support import Row, ours, quiet, referee

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

COMPONENTS = {
    f"{name}ConstraintComponent"
    for name in [
        "And",
        "Class",
        "Closed",
        "Datatype",
        "Disjoint",
        "Equals",
        "HasValue",
        "In",
        "LanguageIn",
        "LessThan",
        "LessThanOrEquals",
        "MaxCount",
        "MaxExclusive",
        "MaxInclusive",
        "MaxLength",
        "MinCount",
        "MinExclusive",
        "MinInclusive",
        "MinLength",
        "Node",
        "NodeKind",
        "Not",
        "Or",
        "Pattern",
        "QualifiedMaxCount",
        "QualifiedMinCount",
        "UniqueLang",
        "Xone",
    ]
}
PATHS = ("sequence", "alternative", "inverse", "zeroOrMore", "oneOrMore", "zeroOrOne")


def pair_of_graphs(rng: Random, flavour: str) -> tuple[Graph, Graph]:
    maker = Maker(rng, flavour)
    data, shapes = maker.data(), maker.shapes_graph()
    with quiet():
        return decode(Triples.from_terms(data)), decode(Triples.from_terms(shapes))


def both(rng: Random, flavour: str) -> tuple[Counter[Row], Counter[Row]]:
    data, shapes = pair_of_graphs(rng, flavour)
    before = rdflib.DAWG_LITERAL_COLLATION
    # rdflib's own order puts unlike literals in a sequence; SPARQL's < raises an error on them
    rdflib.DAWG_LITERAL_COLLATION = flavour == "mixed"
    try:
        return ours(data, shapes), referee(data, shapes)
    finally:
        rdflib.DAWG_LITERAL_COLLATION = before


@pytest.mark.slow
@settings(
    max_examples=120,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(st.randoms(use_true_random=False), st.sampled_from(("mixed", "ordered")))
@example(Random(3), "mixed")  # noqa: S311 - not a secret
def test_random_graphs_give_the_results_of_pyshacl(rng: Random, flavour: str) -> None:
    found, expected = both(rng, flavour)
    assert found == expected


@pytest.mark.slow
def test_a_fixed_sample_agrees_and_makes_every_component_and_path_fire() -> None:
    fired: Counter[str] = Counter()
    walked: Counter[str] = Counter()
    for seed in range(800):
        found, expected = both(Random(seed), ("mixed", "ordered")[seed % 2])  # noqa: S311
        assert found == expected, f"seed {seed}"
        fired.update(row.component for row in found)
        for row in found:
            walked.update(name for name in PATHS if name in str(row.path))
            walked["sequence"] += isinstance(row.path, tuple) and len(row.path) > 1
    assert set(fired) == COMPONENTS
    assert min(fired.values()) >= 3, fired
    assert set(walked) == set(PATHS), walked
