"""pySHACL is the referee: the same results for every shape in shapes/ on the demo cases.

It takes minutes over all options of a case, so that each case is held to it by every thirtieth of
its options, each case by others; ``python bench/rules.py`` compares a whole case.
"""

from __future__ import annotations

import contextlib
import io
import logging
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pyshacl
import pytest
import rdflib
from pyshacl.constraints.constraint_component import ConstraintComponent
from rdflib import SH

from leastwise.graph import Adviser, Case
from leastwise.graph.knowledge.knowledge import shipped_files
from leastwise.graph.knowledge.rules import FORM_FILES
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.shacl import check
from leastwise.graph.shacl.rdf import decode
from leastwise.graph.weighing.candidates import find_candidates
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.contacts import ContactNetwork
from leastwise.graph.weighing.exposure import ExposureTracer
from leastwise.graph.weighing.findings import CaseData
from tests.conftest import DEMOS

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

Result = tuple[str, ...]


#: Of so many options of a case one is put before the referee.
EVERY = 30


def data_of(case: Case, adviser: Adviser) -> CaseData:
    start = DEMOS.index(case.id) * EVERY // len(DEMOS)
    candidates = tuple(find_candidates(case, adviser.catalogue))[start::EVERY]
    tracer = ExposureTracer(case, adviser.catalogue, ContactNetwork.of(case, adviser.catalogue))
    exposures = {c.id: tuple(tracer.trace(c)) for c in candidates}
    reader = ConditionReader(case, adviser.catalogue)
    return CaseData(case, adviser.catalogue, candidates, exposures, reader)


def results_of(report: rdflib.Graph, shapes: rdflib.Graph, data: rdflib.Graph) -> set[Result]:
    """Return the results as text; blank nodes by what the graphs say of them."""
    said = (report, shapes, data)
    return {
        (
            _say(said, report.value(r, SH.focusNode)),
            _say(said, report.value(r, SH.resultPath)),
            _say(said, report.value(r, SH.value)),
            _say(said, report.value(r, SH.sourceShape)),
            str(report.value(r, SH.sourceConstraintComponent)),
            str(report.value(r, SH.resultSeverity)),
        )
        for r in report.subjects(rdflib.RDF.type, SH.ValidationResult)
    }


def _say(graphs: tuple[rdflib.Graph, ...], node: rdflib.term.Node | None) -> str:
    """Name a node; a blank node by what it says, since its label is the engine's own."""
    if not isinstance(node, rdflib.BNode):
        return "" if node is None else node.n3()
    rows = (row for graph in graphs for row in graph.predicate_objects(node))
    inner = sorted({(p.n3(), _say(graphs, o)) for p, o in rows})
    return str(inner) if inner else "a blank node"


@pytest.fixture(autouse=True)
def _without_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """Spare the referee its sentences, which take half of its time and aren't compared."""
    monkeypatch.setattr(ConstraintComponent, "make_v_result_description", lambda *_, **__: "")
    for name, module in [*sys.modules.items()]:
        if name.startswith("pyshacl.constraints.") and hasattr(module, "stringify_node"):
            monkeypatch.setattr(module, "stringify_node", lambda *_, **__: "")


def by_pyshacl(data: rdflib.Graph, shapes: rdflib.Graph) -> set[Result]:
    logging.disable(logging.CRITICAL)
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            _, report, _ = pyshacl.validate(data, shacl_graph=shapes)
    finally:
        logging.disable(logging.NOTSET)
    return results_of(report, shapes, data)


def shapes_in(files: list[Path]) -> rdflib.Graph:
    return decode(load_triples(files, None)[0])


@pytest.fixture(scope="module")
def rules() -> rdflib.Graph:
    return shapes_in([p for p in shipped_files("shapes") if p.name not in FORM_FILES])


@pytest.fixture(scope="module", params=DEMOS)
def data(request: pytest.FixtureRequest, adviser: Adviser, demo: Callable[[str], Case]) -> Any:
    return decode(data_of(demo(request.param), adviser).triples)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_the_rules_agree_with_pyshacl_on_a_demo_case(
    data: rdflib.Graph, rules: rdflib.Graph
) -> None:
    ours = results_of(check(data, rules), rules, data)

    assert ours == by_pyshacl(data, rules)
    assert len(ours) > 10


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_a_demo_case_has_the_form_of_a_record(data: rdflib.Graph) -> None:
    form = shapes_in([p for p in shipped_files("shapes") if p.name == "case.ttl"])

    ours = results_of(check(data, form), form, data)

    assert ours == by_pyshacl(data, form) == set()


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_the_form_of_knowledge_agrees_with_pyshacl_on_damaged_knowledge(adviser: Adviser) -> None:
    """A part of the knowledge with pieces taken out, so that there is something to report."""
    whole = decode(adviser.knowledge.triples)
    lw = rdflib.Namespace("https://w3id.org/leastwise/ns#")
    for predicate in (lw.statement, lw.basis, lw.dose, lw.minutes, rdflib.SKOS.definition):
        for number, triple in enumerate(sorted(whole.triples((None, predicate, None)))):
            if number % 7 == 0:
                whole.remove(triple)
    claims = sorted(whole.subjects(rdflib.RDF.type, lw.Claim))
    for claim in claims[::2] + claims[1::4]:
        whole.remove((claim, None, None))
    form = shapes_in([p for p in shipped_files("shapes") if p.name == "knowledge.ttl"])

    ours = results_of(check(whole, form), form, whole)

    assert ours == by_pyshacl(whole, form)
    assert len(ours) > 100
