"""The CIDOC CRM export: every name was read, every property stands between the right classes."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from rdflib import Graph, Literal, URIRef
from rdflib.namespace import RDF, RDFS, SKOS
from rdflib.term import Node

from leastwise.graph import Adviser, Case
from leastwise.graph.case.demo import demo_names, read_demo
from leastwise.graph.exchange.crm_export import CRM, crm_graph
from leastwise.graph.names import BASE, LW

#: Property -> (domain, range) as read in the CRM RDFS file of github.com/linked-art/linked.art,
#: docs/model/profile/ontologies/cidoc.rdf; None is a literal. Of P2 the name was read in its
#: patterns; domain E1 and range E55 are recalled. That P39 measures an E18 in version 7.1 was read
#: in classes that a program made from its RDFS; P1, P4, P14, P17, P82, P141 and P190 are recalled.
TABLE: dict[str, tuple[str, str | None]] = {
    "P2_has_type": ("E1", "E55"),
    "P32_used_general_technique": ("E7", "E55"),
    "P34_concerned": ("E14", "E18"),
    "P35_has_identified": ("E14", "E3"),
    "P1_is_identified_by": ("E1", "E41"),
    "P4_has_time-span": ("E2", "E52"),
    "P14_carried_out_by": ("E7", "E39"),
    "P17_was_motivated_by": ("E7", "E1"),
    "P39_measured": ("E16", "E18"),
    "P82_at_some_time_within": ("E52", None),
    "P141_assigned": ("E13", "E1"),
    "P190_has_symbolic_content": ("E90", None),
    "P40_observed_dimension": ("E16", "E54"),
    "P44_has_condition": ("E18", "E3"),
    "P45_consists_of": ("E18", "E57"),
    "P46_is_composed_of": ("E18", "E18"),
    "P56_bears_feature": ("E19", "E26"),
    "P70_documents": ("E31", "E1"),
    "P90_has_value": ("E54", None),
    "P91_has_unit": ("E54", "E58"),
    "P140_assigned_attribute_to": ("E13", "E1"),
    "P177_assigned_property_of_type": ("E13", "E55"),
}
#: Class used -> itself and the classes above it that the table needs. E22 under E18, E19 and E24
#: was read there; E14 and E16 under E13 and E7, E57 and E58 under E55 are recalled.
ABOVE = {
    "E3_Condition_State": {"E3", "E2"},
    "E13_Attribute_Assignment": {"E13", "E7", "E2"},
    "E14_Condition_Assessment": {"E14", "E13", "E7", "E2"},
    "E16_Measurement": {"E16", "E13", "E7", "E2"},
    "E22_Human-Made_Object": {"E22", "E24", "E19", "E18"},
    "E26_Physical_Feature": {"E26", "E18"},
    "E29_Design_or_Procedure": {"E29"},
    "E31_Document": {"E31"},
    "E33_Linguistic_Object": {"E33", "E73", "E90"},
    "E39_Actor": {"E39"},
    "E42_Identifier": {"E42", "E41", "E90"},
    "E52_Time-Span": {"E52"},
    "E54_Dimension": {"E54"},
    "E55_Type": {"E55"},
    "E57_Material": {"E57", "E55"},
    "E58_Measurement_Unit": {"E58", "E55"},
}


def export(adviser: Adviser, case: Case) -> Graph:
    return crm_graph(case, adviser.weigh(case), adviser.knowledge)


@pytest.fixture(scope="module", params=demo_names())
def graph(request: pytest.FixtureRequest, adviser: Adviser) -> Graph:
    return export(adviser, read_demo(request.param, adviser.knowledge))


def crm_names(graph: Graph) -> set[str]:
    return {n.removeprefix(CRM) for t in graph for n in t if isinstance(n, URIRef) and n in CRM}


def classes(graph: Graph, node: Node) -> set[str]:
    own = {str(c).removeprefix(CRM) for c in graph.objects(node, RDF.type) if c in CRM}
    return {"E1", *(up for one in own for up in ABOVE[one])} if own else set()


def case_iri(graph: Graph, local: str) -> URIRef:
    (record,) = graph.subjects(RDF.type, CRM.E31_Document)
    return URIRef(str(record).removesuffix("record") + local)


def test_only_names_that_were_read_are_used(graph: Graph) -> None:
    assert crm_names(graph) <= {*TABLE, *ABOVE}


def test_every_property_stands_between_its_domain_and_range(graph: Graph) -> None:
    for s, p, o in graph:
        if p not in CRM:
            continue
        domain, reach = TABLE[str(p).removeprefix(CRM)]
        assert domain in classes(graph, s), (s, p)
        assert isinstance(o, Literal) if reach is None else reach in classes(graph, o), (p, o)


def test_our_own_properties_stand_on_the_classes_that_the_vocabulary_names(
    graph: Graph, adviser: Adviser
) -> None:
    """A reasoner would make each subject one of its property's domain."""
    k = adviser.knowledge
    for subject, predicate in {(s, p) for s, p in graph.subject_predicates() if p.startswith(LW)}:
        term = f"lw:{predicate.removeprefix(LW)}"
        domain = k.object(term, "rdfs:domain")
        if domain is None or not domain.startswith("lw:"):
            continue  # of no one class
        types = graph.objects(subject, RDF.type)
        kinds = {f"lw:{one.removeprefix(LW)}" for one in types if one.startswith(LW)}
        above = kinds | {o for kind in kinds for o in k.objects(kind, "rdfs:subClassOf")}
        assert domain in above, (subject, term, kinds)


def test_a_proposal_is_a_procedure_and_no_event(graph: Graph) -> None:
    proposals = set(graph.subjects(RDF.type, URIRef(LW + "Option")))

    assert proposals
    assert all(classes(graph, one) == {"E1", "E29"} for one in proposals)
    assert "E11_Modification" not in crm_names(graph)


def test_what_was_defeated_is_not_proposed_and_leaving_alone_is(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("festival-dancer")
    answer = adviser.weigh(case)
    graph = crm_graph(case, answer, adviser.knowledge)
    proposed = {
        str(s).partition("/option/")[2] for s in graph.subjects(RDF.type, URIRef(LW + "Option"))
    }

    assert proposed == {o.id for o in answer.options() if o.verdict != "defeated"}
    assert "crushed-tiers/leave-and-monitor" in proposed
    assert any(o.verdict == "defeated" for o in answer.options())


def test_condition_states_hang_on_parts_and_on_the_assessment(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("festival-dancer")
    graph = export(adviser, case)
    state = case_iri(graph, "damage/crushed-tiers")
    holders = {str(s).rpartition("/")[2] for s in graph.subjects(CRM.P44_has_condition, state)}

    assert holders == {"top-tier", "middle-tier", "lower-tier"}
    assert (state, CRM.P2_has_type, URIRef(BASE + "damage/crease")) in graph
    assert (case_iri(graph, "assessment"), CRM.P35_has_identified, state) in graph
    size = case_iri(graph, "damage/crushed-tiers/extent")
    assert [v.toPython() for v in graph.objects(size, CRM.P90_has_value)] == [70]


def test_materials_are_consisted_of_and_structures_are_types(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    graph = export(adviser, demo("festival-dancer"))
    tier = case_iri(graph, "part/top-tier")

    assert set(graph.objects(tier, CRM.P45_consists_of)) == {URIRef(BASE + "material/silk")}
    assert set(graph.objects(tier, CRM.P2_has_type)) == {
        URIRef(BASE + "material/net"),
        URIRef(BASE + "material/gathers"),
    }


def test_labels_come_in_every_language_and_matches_with_them(graph: Graph) -> None:
    damages = set(graph.objects(None, CRM.P2_has_type)) & {
        s for s in graph.subjects() if str(s).startswith(BASE + "damage/")
    }

    assert damages
    for one in damages:
        assert {label.language for label in graph.objects(one, SKOS.prefLabel)} >= {"en", "de"}
    assert list(graph.subject_objects(SKOS.closeMatch))


def test_an_invented_case_says_so(graph: Graph) -> None:
    for local in ("record", "object"):
        notes = " ".join(map(str, graph.objects(case_iri(graph, local), SKOS.note)))
        assert "invented" in notes.lower()


def test_a_real_case_is_not_called_invented(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    graph = export(adviser, make_case(demo=False))

    assert "nvented" not in graph.serialize(format="nt")


def test_a_test_that_was_done_assigns_its_result_to_its_part(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    done = {"test": "fibre-microscopy", "part": "collar", "result": "good", "date": "2026-01-31",
            "by": "A. Person"}  # fmt: skip
    graph = export(adviser, make_case(tests=[done]))
    me = case_iri(graph, "test/0")

    assert classes(graph, me) == {"E1", "E13", "E7", "E2"}
    assert (me, CRM.P140_assigned_attribute_to, case_iri(graph, "part/collar")) in graph
    assert (me, CRM.P141_assigned, URIRef(LW + "good")) in graph
    assert (me, CRM.P32_used_general_technique, URIRef(BASE + "test/fibre-microscopy")) in graph
    (span,) = graph.objects(me, CRM["P4_has_time-span"])
    assert str(graph.value(span, CRM.P82_at_some_time_within)) == "2026-01-31"
    assert str(graph.value(graph.value(me, CRM.P14_carried_out_by), RDFS.label)) == "A. Person"


def test_a_test_with_a_reading_is_a_measurement(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    done = {"test": "ph-of-the-cloth", "part": "collar", "reading": {"value": 4.5, "unit": "pH"}}
    done["test"] = adviser.knowledge.instances("lw:Test")[0].partition(":")[2]
    graph = export(adviser, make_case(tests=[done]))
    me = case_iri(graph, "test/0")

    assert "E16" in classes(graph, me)
    assert (me, CRM.P39_measured, case_iri(graph, "part/collar")) in graph
    (size,) = graph.objects(me, CRM.P40_observed_dimension)
    assert graph.value(size, CRM.P90_has_value).toPython() == 4.5  # type: ignore[union-attr]


def test_a_condition_was_assessed_at_a_time_by_somebody_and_its_extent_on_its_parts(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("festival-dancer")
    graph = export(adviser, case)
    looked, measured = (
        case_iri(graph, f) for f in ("assessment", "damage/crushed-tiers/measuring")
    )

    for act in (looked, measured):
        (actor,) = graph.objects(act, CRM.P14_carried_out_by)
        assert str(graph.value(actor, RDFS.label)) == case.record.recorder
        (span,) = graph.objects(act, CRM["P4_has_time-span"])
        assert str(graph.value(span, CRM.P82_at_some_time_within)) == str(case.record.date)
    state = case_iri(graph, "damage/crushed-tiers")
    assert (measured, CRM.P17_was_motivated_by, state) in graph
    parts = {str(one).rpartition("/")[2] for one in graph.objects(measured, CRM.P39_measured)}
    assert parts == {"top-tier", "middle-tier", "lower-tier"}


def test_what_is_unknown_is_left_out(adviser: Adviser, make_case: Callable[..., Case]) -> None:
    graph = export(adviser, make_case())
    thing = case_iri(graph, "object")
    words = set(graph.predicates(thing))

    assert words == {RDF.type, RDFS.label, SKOS.note, CRM.P2_has_type, CRM.P46_is_composed_of}
