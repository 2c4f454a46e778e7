"""The PROV-O export: what an answer was made from, the same in every run."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from rdflib import Graph, Literal, URIRef
from rdflib.compare import isomorphic
from rdflib.namespace import DCTERMS, PROV, RDF, SKOS

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer
from leastwise.graph.exchange.prov_export import prov_graph
from leastwise.graph.names import BASE, LW, iri_of


@pytest.fixture(scope="module")
def case(demo: Callable[[str], Case]) -> Case:
    return demo("furnishing-panel")


@pytest.fixture(scope="module")
def answer(adviser: Adviser, case: Case) -> Answer:
    return adviser.weigh(case)


@pytest.fixture(scope="module")
def graph(case: Case, answer: Answer) -> Graph:
    return prov_graph(case, answer)


def activity(graph: Graph) -> URIRef:
    (act,) = graph.subjects(RDF.type, PROV.Activity)
    assert isinstance(act, URIRef)
    return act


def test_the_answer_came_from_the_record_by_one_activity_of_the_software(
    graph: Graph, answer: Answer
) -> None:
    act = activity(graph)
    (made,) = graph.subjects(RDF.type, PROV.Collection)
    (agent,) = graph.objects(act, PROV.wasAssociatedWith)

    assert (made, PROV.wasGeneratedBy, act) in graph
    assert URIRef(f"{BASE}case/furnishing-panel/record") in graph.objects(made, PROV.wasDerivedFrom)
    assert (agent, RDF.type, PROV.SoftwareAgent) in graph
    assert (agent, DCTERMS.hasVersion, Literal(answer.stamp.program)) in graph


def test_knowledge_and_rules_are_named_by_their_digests(graph: Graph, answer: Answer) -> None:
    used = set(graph.objects(activity(graph), PROV.used))
    digests = {str(d) for one in used for d in graph.objects(one, DCTERMS.identifier)}

    assert digests == {answer.stamp.knowledge, answer.stamp.rules}


def test_every_claim_of_the_answer_was_used_and_leads_to_its_source(
    graph: Graph, answer: Answer
) -> None:
    used = set(graph.objects(activity(graph), PROV.used))

    assert answer.claims
    assert {URIRef(iri_of(claim)) for claim in answer.claims} <= used
    for claim, view in answer.claims.items():
        origins = set(graph.objects(URIRef(iri_of(claim)), PROV.wasDerivedFrom))
        assert origins == ({URIRef(iri_of(view.source))} if view.source else set())


def test_the_policy_is_the_plan_of_the_software(graph: Graph, answer: Answer) -> None:
    (how,) = graph.objects(activity(graph), PROV.qualifiedAssociation)

    assert (how, PROV.hadPlan, URIRef(iri_of(answer.policy.id))) in graph
    assert (how, PROV.agent, URIRef(f"{BASE}software/leastwise")) in graph


def test_every_option_stands_with_its_verdict_and_grounds(graph: Graph, answer: Answer) -> None:
    for option in answer.options():
        me = URIRef(f"{BASE}case/furnishing-panel/option/{option.id}")
        grounds = set(graph.objects(me, PROV.wasDerivedFrom))

        assert (me, URIRef(LW + "verdict"), URIRef(LW + option.verdict)) in graph
        assert {URIRef(iri_of(view.rule)) for view in option.findings} <= grounds


def test_every_name_of_prov_is_one_that_prov_defines(graph: Graph) -> None:
    names = {n for t in graph for n in t if isinstance(n, URIRef) and n.startswith(str(PROV))}

    assert names
    assert not [name for name in names if name not in PROV]  # rdflib's list of what there is
    assert URIRef(f"{PROV}wasMadeUp") not in PROV


def test_the_same_answer_gives_the_same_graph_and_no_clock(
    case: Case, answer: Answer, graph: Graph
) -> None:
    assert isomorphic(graph, prov_graph(case, answer))
    assert not list(graph.subject_objects(PROV.endedAtTime))


def test_a_time_is_told_only_when_it_is_passed_in(case: Case, answer: Answer) -> None:
    at = datetime(2026, 1, 2, 3, 4, tzinfo=UTC)
    graph = prov_graph(case, answer, at=at)

    assert [t.toPython() for t in graph.objects(None, PROV.endedAtTime)] == [at]


def test_another_answer_has_another_name(
    adviser: Adviser, case: Case, answer: Answer, graph: Graph
) -> None:
    other = adviser.weigh(case.model_copy(update={"title": "Another title"}))

    assert activity(prov_graph(case, other)) != activity(graph)


def test_an_invented_case_says_so(graph: Graph) -> None:
    notes = {str(note) for note in graph.objects(None, SKOS.note)}

    assert any("invented" in note for note in notes)
