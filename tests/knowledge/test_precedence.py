"""The order of work, and the techniques and effects that it rests on."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import product
from pathlib import Path

import networkx as nx
import pytest
from rdflib import RDF, SKOS, Graph, Namespace, URIRef

from leastwise.graph import Adviser

SEED = Path(__file__).parents[2] / "seed_data"
LW = Namespace("https://w3id.org/leastwise/ns#")
BASE = "https://w3id.org/leastwise/"
TECHNIQUE = Namespace(BASE + "technique/")


@pytest.fixture(scope="module")
def graph() -> Graph:
    """Return the techniques, the claims and the order of work as an RDF graph."""
    found = Graph()
    files = [SEED / "precedence.ttl", *(SEED / "techniques").glob("*.ttl")]
    for path in [*files, *(SEED / "claims").glob("*.ttl")]:
        found.parse(path)
    return found


def narrower(graph: Graph, concept: URIRef) -> set[URIRef]:
    """Return the techniques that *concept* is or holds."""
    found = graph.transitive_subjects(SKOS.broader, concept)
    return {one for one in found if (one, RDF.type, LW.Technique) in graph}


def orders(graph: Graph) -> Iterable[tuple[URIRef, URIRef, URIRef]]:
    """Yield (node, before, after) for concrete techniques."""
    for node in graph.subjects(RDF.type, LW.Precedence):
        before = narrower(graph, graph.value(node, LW.before))
        after = narrower(graph, graph.value(node, LW.after))
        yield from ((node, a, b) for a, b in product(before, after) if a != b)


@pytest.fixture(scope="module")
def order(graph: Graph) -> nx.DiGraph:
    """Return the order among concrete techniques."""
    found = nx.DiGraph()
    for node, before, after in orders(graph):
        found.add_edge(before, after, node=node)
    return found


def nodes(graph: Graph) -> set[URIRef]:
    return {*graph.subjects(RDF.type, LW.Precedence), *graph.subjects(RDF.type, LW.Conflict)}


def test_there_are_enough_orders_and_conflicts_and_each_has_its_reason(graph: Graph) -> None:
    assert len(set(graph.subjects(RDF.type, LW.Precedence))) >= 25
    assert len(set(graph.subjects(RDF.type, LW.Conflict))) >= 8
    for node in nodes(graph):
        assert len(str(graph.value(node, LW.because))) > 20, node


def test_an_order_rests_on_claims_that_exist_or_says_practice(graph: Graph) -> None:
    for node in nodes(graph):
        basis = graph.value(node, LW.basis)
        claims = list(graph.objects(node, LW.restsOn))
        bases = {graph.value(claim, LW.basis) for claim in claims}
        assert basis in {LW.read, LW.practice}, node
        assert None not in bases, f"{node} rests on a claim that is not there"
        if basis == LW.read:
            assert bases == {LW.read}, f"{node} says read and rests on {bases}"


def test_groups_and_techniques_of_an_order_resolve(graph: Graph) -> None:
    for node in nodes(graph):
        ends = [graph.value(node, p) for p in (LW.before, LW.after, LW.rulesOut)]
        known = [end for end in ends if end is not None]
        assert len(known) == 2, node
        for end in known:
            assert narrower(graph, end), f"{node}: {end} holds no technique"


def test_the_order_runs_in_no_circle(order: nx.DiGraph) -> None:
    circles = [
        [str(one).removeprefix(BASE) for one in circle] for circle in nx.simple_cycles(order)
    ]

    assert circles == []


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("surface-cleaning", "humidification"),
        ("surface-cleaning", "wet-cleaning"),
        ("surface-cleaning", "solvent-cleaning"),
        ("humidification", "stitched-support"),
        ("wet-cleaning", "stitched-support"),
        ("wet-cleaning", "adhesive-support"),
        ("stitched-support", "mount"),
        ("pest-treatment", "storage"),
        ("hand-realignment", "encapsulation"),
        ("unpicking-repair", "full-stitched-support"),
        ("immersion-washing", "bleaching"),
        ("low-temperature", "screened-vacuum"),
    ],
)
def test_the_order_of_the_trade_holds(
    graph: Graph, order: nx.DiGraph, before: str, after: str
) -> None:
    for a, b in product(narrower(graph, TECHNIQUE[before]), narrower(graph, TECHNIQUE[after])):
        assert nx.has_path(order, a, b), f"{a} before {b}"


def test_a_conflict_that_nothing_lifts_never_contradicts_the_order(
    graph: Graph, order: nx.DiGraph
) -> None:
    for node in graph.subjects(RDF.type, LW.Conflict):
        if graph.value(node, LW.unless) is None:
            before = narrower(graph, graph.value(node, LW.before))
            after = narrower(graph, graph.value(node, LW.rulesOut))
            for a, b in product(before, after):
                assert a == b or not order.has_edge(a, b), f"{node}: {a} is to come before {b}"


def test_a_wanted_wet_treatment_is_ruled_out_once_an_adhesive_is_in_place(graph: Graph) -> None:
    ruled_out = {
        (a, b)
        for node in graph.subjects(RDF.type, LW.Conflict)
        for a in narrower(graph, graph.value(node, LW.before))
        for b in narrower(graph, graph.value(node, LW.rulesOut))
    }

    assert (TECHNIQUE["adhesive-lining"], TECHNIQUE["immersion-washing"]) in ruled_out
    assert (TECHNIQUE["membrane-pack-flat"], TECHNIQUE["pressure-mount"]) in ruled_out
    assert (TECHNIQUE["laid-couching"], TECHNIQUE["brick-couching"]) not in ruled_out


def test_testing_is_a_condition_and_no_step_of_the_order(graph: Graph) -> None:
    ends = {o for p in (LW.before, LW.after, LW.rulesOut) for o in graph.objects(None, p)}

    assert all(str(end).startswith(str(TECHNIQUE)) for end in ends)


def test_there_are_at_least_65_techniques_and_each_but_leaving_alone_answers_a_damage(
    adviser: Adviser,
) -> None:
    answering = {e.technique for found in adviser.catalogue.effects.values() for e in found}

    assert len(adviser.catalogue.techniques) >= 65
    acts = {t.id for t in adviser.catalogue.techniques.values() if t.supplies}
    idle = set(adviser.catalogue.techniques) - answering - acts
    assert idle == {"technique:leave-and-monitor"}


@pytest.mark.parametrize("kind", ["hydrocarbon", "alcohol", "ketone"])
def test_a_local_solvent_brings_its_own_solvent_and_no_other(adviser: Adviser, kind: str) -> None:
    technique = adviser.catalogue.techniques[f"technique:local-solvent-{kind}"]

    solvents = {use.agent for use in technique.brings if "solvent" in use.agent}

    assert solvents == {f"agent:solvent-{kind}"}
    assert "technique:local-solvent" not in adviser.catalogue.techniques


def test_every_effect_says_under_what_condition_and_on_what_evidence(adviser: Adviser) -> None:
    k = adviser.knowledge
    for found in adviser.catalogue.effects.values():
        for effect in found:
            kind = k.text(effect.id, "lw:evidenceKind")
            bases = {k.object(claim, "lw:basis") for claim in effect.rests_on}
            assert effect.under, effect.id
            assert kind in {"measured", "case reports", "practice"}, effect.id
            assert kind == "practice" or "lw:read" in bases, f"{effect.id} says {kind}"
            assert effect.low <= effect.efficacy, effect.id


def test_weak_evidence_always_gives_a_lower_end(adviser: Adviser) -> None:
    k = adviser.knowledge
    for found in adviser.catalogue.effects.values():
        for effect in found:
            weak = effect.confidence == "low" or k.text(effect.id, "lw:evidenceKind") == "practice"
            if weak and effect.efficacy:
                assert effect.low < effect.efficacy, effect.id
