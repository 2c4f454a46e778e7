"""Targets, paths, severities and what makes a node a shape."""

from __future__ import annotations

import pytest
from rdflib import RDF, BNode, Graph, Literal, URIRef
from rdflib.compare import isomorphic

from leastwise.graph.shacl import check
from tests.graph.shacl.cases import case, expected_rows
from tests.graph.shacl.support import EX, SH, graph_of, ours, referee, rows_of

TARGETS = {
    "targetNode: IRIs and literals, in the data or not": case(
        """
        ex:S sh:targetNode ex:a, 7, "x"@en ; sh:class ex:C .
        """,
        "ex:a | - | ex:a | ex:S | Class",
        "7 | - | 7 | ex:S | Class",
        '"x"@en | - | "x"@en | ex:S | Class',
    ),
    "targetClass: instances of subclasses": case(
        """
        ex:D rdfs:subClassOf ex:C . ex:E rdfs:subClassOf ex:D . ex:a a ex:C . ex:b a ex:E, ex:D .
        ex:c a ex:X . ex:S sh:targetClass ex:C ; sh:nodeKind sh:Literal .
        """,
        "ex:a | - | ex:a | ex:S | NodeKind",
        "ex:b | - | ex:b | ex:S | NodeKind",
    ),
    "implicit class target": case(
        """
        ex:C a rdfs:Class, sh:NodeShape ; sh:nodeKind sh:Literal . ex:D rdfs:subClassOf ex:C .
        ex:a a ex:C . ex:b a ex:D .
        """,
        "ex:a | - | ex:a | ex:C | NodeKind",
        "ex:b | - | ex:b | ex:C | NodeKind",
    ),
    "an owl:Class is an rdfs:Class if the graph says so": case(
        """
        ex:C a owl:Class, sh:NodeShape ; sh:nodeKind sh:Literal . ex:a a ex:C .
        owl:Class rdfs:subClassOf rdfs:Class .
        """,
        "ex:a | - | ex:a | ex:C | NodeKind",
    ),
    "targetSubjectsOf and targetObjectsOf": case(
        """
        ex:a ex:p 1, ex:b . ex:S sh:targetSubjectsOf ex:p ; sh:class ex:C .
        ex:T sh:targetObjectsOf ex:p ; sh:class ex:C .
        """,
        "ex:a | - | ex:a | ex:S | Class",
        "1 | - | 1 | ex:T | Class",
        "ex:b | - | ex:b | ex:T | Class",
    ),
    "a node found by several targets is one focus node": case(
        """
        ex:a a ex:C, ex:D ; ex:p ex:a .
        ex:S sh:targetNode ex:a ; sh:targetClass ex:C, ex:D ; sh:targetSubjectsOf ex:p ;
          sh:targetObjectsOf ex:p ; sh:nodeKind sh:Literal .
        """,
        "ex:a | - | ex:a | ex:S | NodeKind",
    ),
    "a referenced shape with targets of its own is validated twice": case(
        """
        ex:S sh:targetNode ex:a ; sh:property ex:P .
        ex:P sh:targetNode ex:a ; sh:path ex:p ; sh:minCount 1 .
        """,
        "ex:a | ex:p | - | ex:P | MinCount",
        "ex:a | ex:p | - | ex:P | MinCount",
    ),
    "a target of a property shape": case(
        "ex:S sh:targetNode ex:a ; sh:path ex:p ; sh:minCount 1 .",
        "ex:a | ex:p | - | ex:S | MinCount",
    ),
}

GRAPH = """
ex:a ex:p ex:b, ex:c . ex:b ex:p ex:d . ex:c ex:q ex:d, ex:e . ex:d ex:p ex:a . ex:x ex:p ex:a .
"""


def in_path(path: str, *reached: str) -> tuple[str, tuple[str, ...]]:
    return path, reached


# what ex:a reaches in GRAPH
PATHS = [
    in_path("ex:p", "ex:b", "ex:c"),
    in_path("[ sh:inversePath ex:p ]", "ex:d", "ex:x"),
    in_path("( ex:p ex:p )", "ex:d"),
    in_path("( ex:p [ sh:alternativePath ( ex:p ex:q ) ] )", "ex:d", "ex:e"),
    in_path("[ sh:zeroOrMorePath ex:p ]", "ex:a", "ex:b", "ex:c", "ex:d"),
    in_path("[ sh:oneOrMorePath ex:p ]", "ex:a", "ex:b", "ex:c", "ex:d"),
    in_path("[ sh:oneOrMorePath ex:q ]"),
    in_path("[ sh:zeroOrMorePath ex:q ]", "ex:a"),
    in_path("[ sh:zeroOrOnePath ex:p ]", "ex:a", "ex:b", "ex:c"),
    in_path("[ sh:zeroOrMorePath [ sh:inversePath ex:p ] ]", "ex:a", "ex:b", "ex:d", "ex:x"),
    in_path("[ sh:inversePath [ sh:oneOrMorePath ex:p ] ]", "ex:a", "ex:b", "ex:d", "ex:x"),
    in_path("( ex:p [ sh:zeroOrMorePath ( ex:q ex:p ) ] )", "ex:b", "ex:c", "ex:a"),
    in_path("[ sh:inversePath [ sh:inversePath ex:p ] ]", "ex:b", "ex:c"),
    in_path("[ sh:zeroOrOnePath [ sh:oneOrMorePath ex:p ] ]", "ex:a", "ex:b", "ex:c", "ex:d"),
    in_path(
        "[ sh:zeroOrMorePath [ sh:alternativePath ( ex:p [ sh:inversePath ex:q ] ) ] ]",
        "ex:a",
        "ex:b",
        "ex:c",
        "ex:d",
    ),
    in_path("( rdf:type ex:p )"),
]


@pytest.mark.parametrize("name", TARGETS)
def test_targets(name: str) -> None:
    graph = graph_of(TARGETS[name].turtle)
    found = ours(graph, graph)
    assert found == expected_rows(TARGETS[name])
    assert referee(graph, graph) == found


@pytest.mark.parametrize(("path", "reached"), PATHS)
def test_paths(path: str, reached: tuple[str, ...]) -> None:
    turtle = f"ex:S sh:targetNode ex:a ; sh:path {path} ; sh:nodeKind sh:Literal ."
    graph = graph_of(GRAPH + turtle)
    expected = case(turtle, *(f"ex:a | {path} | {end} | ex:S | NodeKind" for end in reached))
    found = ours(graph, graph)
    assert found == expected_rows(expected)
    assert referee(graph, graph) == found


STRANGE = {
    "a list with a further path property is a sequence": case(
        """
        ex:a ex:p ex:b . ex:b ex:q ex:c . ex:z ex:p ex:a .
        ex:S sh:targetNode ex:a ; sh:class ex:C ;
          sh:path [ rdf:first ex:p ; rdf:rest ( ex:q ) ; sh:inversePath ex:p ] .
        """,
        "ex:a | ( ex:p ex:q ) | ex:c | ex:S | Class",
    ),
    "even if the further path would be ill-formed": case(
        """
        ex:a ex:p ex:b . ex:b ex:q ex:c .
        ex:S sh:targetNode ex:a ; sh:class ex:C ;
          sh:path [ rdf:first ex:p ; rdf:rest ( ex:q ) ; sh:alternativePath ( ex:p ) ] .
        """,
        "ex:a | ( ex:p ex:q ) | ex:c | ex:S | Class",
    ),
    "a path node may be used twice": case(
        """
        ex:c ex:p ex:b . ex:b ex:p ex:a . _:i sh:inversePath ex:p .
        ex:S sh:targetNode ex:a ; sh:path ( _:i _:i ) ; sh:class ex:C .
        """,
        "ex:a | ( [ sh:inversePath ex:p ] [ sh:inversePath ex:p ] ) | ex:c | ex:S | Class",
    ),
    "an ill-formed path that no shape has is left alone": case(
        """
        ex:notAShape sh:path [ rdfs:comment "not a path" ] .
        _:loose sh:inversePath ex:p ; sh:zeroOrMorePath ex:q .
        ex:S sh:targetNode ex:a ; sh:class ex:C .
        """,
        "ex:a | - | ex:a | ex:S | Class",
    ),
}


@pytest.mark.parametrize("name", STRANGE)
def test_strange_paths(name: str) -> None:
    graph = graph_of(STRANGE[name].turtle)
    assert ours(graph, graph) == expected_rows(STRANGE[name])


OF_SHAPES = {
    "deactivated shapes take everything": case(
        """
        ex:S sh:targetNode ex:a ; sh:deactivated true ; sh:class ex:C .
        ex:T sh:targetNode ex:a ; sh:property [ sh:path ex:p ; sh:minCount 1 ;
          sh:deactivated true ] ; sh:not ex:S .
        """,
        "ex:a | - | ex:a | ex:T | Not",
    ),
    "deactivated false": case(
        "ex:S sh:targetNode ex:a ; sh:deactivated false ; sh:class ex:C .",
        "ex:a | - | ex:a | ex:S | Class",
    ),
    "a deactivated property shape still permits its predicate": case(
        """
        ex:a ex:p 1 . ex:S sh:targetNode ex:a ; sh:closed true ;
          sh:property [ sh:path ex:p ; sh:deactivated true ; sh:maxCount 0 ] .
        """,
    ),
    "severities, of any IRI": case(
        """
        ex:S sh:targetNode ex:a ; sh:class ex:C ; sh:severity sh:Warning .
        ex:T sh:targetNode ex:a ; sh:class ex:C ; sh:severity ex:Grave ;
          sh:property [ sh:path ex:p ; sh:maxCount 1 ] .
        """,
        "ex:a | - | ex:a | ex:S | Class | sh:Warning",
        "ex:a | - | ex:a | ex:T | Class | ex:Grave",
    ),
    "properties that do not validate": case(
        """
        ex:S sh:targetNode ex:a ; sh:property ex:P ; ex:note "n" ; rdfs:label "l" .
        ex:P sh:path ex:p ; sh:name "n"@en, "m" ; sh:description "d" ; sh:order 1.5 ;
          sh:group ex:G ; sh:defaultValue ex:d ; sh:minCount 1 . ex:G a sh:PropertyGroup .
        """,
        "ex:a | ex:p | - | ex:P | MinCount",
    ),
    "reports and manifests in the same graph are no shapes": case(
        """
        ex:S sh:targetNode ex:a ; sh:class ex:C .
        [] a sh:ValidationReport ; sh:conforms false ; sh:result [ a sh:ValidationResult ;
          sh:focusNode ex:a ; sh:sourceShape ex:S ; sh:resultPath ex:p ; sh:value ex:a ;
          sh:resultSeverity sh:Violation ; sh:resultMessage "m" ; sh:detail [] ;
          sh:sourceConstraintComponent sh:ClassConstraintComponent ] .
        ex:prefixes sh:declare [ sh:prefix "ex" ; sh:namespace "http://example.org/" ] ;
          owl:imports ex:elsewhere .
        """,
        "ex:a | - | ex:a | ex:S | Class",
    ),
    "shapes may be instances of subclasses of the shape classes": case(
        """
        ex:Kind rdfs:subClassOf sh:PropertyShape .
        ex:S a ex:Kind ; sh:targetNode ex:a ; sh:path ex:p ; sh:minCount 1 .
        """,
        "ex:a | ex:p | - | ex:S | MinCount",
    ),
}


@pytest.mark.parametrize("name", OF_SHAPES)
def test_shapes(name: str) -> None:
    graph = graph_of(OF_SHAPES[name].turtle)
    found = ours(graph, graph)
    assert found == expected_rows(OF_SHAPES[name])
    assert referee(graph, graph) == found


def test_classes_are_read_in_the_data_graph_and_shapes_in_the_shapes_graph() -> None:
    data = graph_of("ex:a a ex:D . ex:D rdfs:subClassOf ex:C . ex:T sh:targetNode ex:b .")
    shapes = graph_of(
        """
        ex:S sh:targetClass ex:C ; sh:nodeKind sh:Literal . ex:E rdfs:subClassOf ex:C .
        ex:b a ex:C . ex:T sh:class ex:F .
        """
    )
    assert [row.focus for row in ours(data, shapes)] == [EX.a]
    assert ours(data, shapes) == referee(data, shapes)


def test_the_report_speaks_the_report_vocabulary() -> None:
    graph = graph_of(
        """
        ex:a ex:p 1 . ex:S sh:targetNode ex:a ; sh:message "in brief"@en, "kurz"@de ;
          sh:property ex:P ; sh:class ex:C . ex:P sh:path ( ex:p ex:q ) ; sh:minCount 1 .
        """
    )
    expected = graph_of(
        """
        [] a sh:ValidationReport ; sh:conforms false ;
          sh:result [ a sh:ValidationResult ; sh:focusNode ex:a ; sh:value ex:a ;
            sh:sourceShape ex:S ; sh:sourceConstraintComponent sh:ClassConstraintComponent ;
            sh:resultSeverity sh:Violation ; sh:resultMessage "in brief"@en, "kurz"@de ] ;
          sh:result [ a sh:ValidationResult ; sh:focusNode ex:a ;
            sh:resultPath ( ex:p ex:q ) ; sh:sourceShape ex:P ;
            sh:sourceConstraintComponent sh:MinCountConstraintComponent ;
            sh:resultSeverity sh:Violation ; sh:resultMessage "Fewer than 1 values" ] .
        """
    )
    assert isomorphic(check(graph, graph), expected)


@pytest.mark.parametrize("severity", ["sh:Info", "sh:Warning", "ex:mild"])
def test_any_result_of_any_severity_makes_conforms_false(severity: str) -> None:
    graph = graph_of(f"ex:S sh:targetNode ex:a ; sh:class ex:C ; sh:severity {severity} .")
    report = check(graph, graph)
    assert list(report.objects(None, SH.conforms)) == [Literal(False)]
    assert list(report.objects(None, SH.resultSeverity)) == [graph.value(EX.S, SH.severity)]


def test_a_report_without_results_conforms() -> None:
    graph = graph_of("ex:S sh:targetNode ex:a ; sh:nodeKind sh:IRI .")
    expected = graph_of("[] a sh:ValidationReport ; sh:conforms true .")
    assert isomorphic(check(graph, graph), expected)


def test_a_report_survives_being_written_and_read() -> None:
    graph = graph_of(
        r"""
        ex:f ex:p "two\nlines \"and\" a \\", "x"@en, 3, ex:i .
        ex:S sh:targetNode ex:f ; sh:path [ sh:zeroOrOnePath [ sh:inversePath ex:p ] ] ;
          sh:nodeKind sh:Literal . ex:T sh:targetNode ex:f ; sh:path ex:p ; sh:in () .
        """
    )
    report = check(graph, graph)
    again = Graph().parse(data=report.serialize(format="turtle"), format="turtle")
    assert isomorphic(report, again)
    assert rows_of(again) == rows_of(report) == referee(graph, graph)


def test_every_result_has_a_message_and_the_parts_that_are_due() -> None:
    graph = graph_of(
        """
        ex:f ex:p 1, "a"@en, "b"@en, ex:i ; ex:q 0 .
        ex:S sh:targetNode ex:f ; sh:path ex:p ; sh:class ex:C ; sh:datatype xsd:date ;
          sh:nodeKind sh:BlankNode ; sh:minCount 9 ; sh:maxCount 1 ; sh:minExclusive 5 ;
          sh:maxExclusive 0 ; sh:minInclusive 5 ; sh:maxInclusive 0 ; sh:minLength 99 ;
          sh:maxLength 0 ; sh:pattern "^z" ; sh:languageIn ( "fr" ) ; sh:uniqueLang true ;
          sh:equals ex:q ; sh:lessThan ex:q ; sh:lessThanOrEquals ex:q ; sh:disjoint ex:p ;
          sh:not [ sh:nodeKind sh:Literal ] ; sh:and ( [ sh:class ex:C ] ) ; sh:hasValue 7 ;
          sh:or ( [ sh:class ex:C ] ) ; sh:xone ( [ sh:class ex:C ] ) ; sh:in ( 7 ) ;
          sh:node [ sh:class ex:C ] ; sh:qualifiedValueShape [ sh:nodeKind sh:IRIOrLiteral ] ;
          sh:qualifiedMinCount 9 ; sh:qualifiedMaxCount 0 .
        ex:T sh:targetNode ex:f ; sh:closed true .
        """
    )
    report = check(graph, graph)
    results = list(report.subjects(RDF.type, SH.ValidationResult))
    once = (
        SH.focusNode,
        SH.sourceShape,
        SH.sourceConstraintComponent,
        SH.resultSeverity,
        SH.resultMessage,
        SH.resultPath,
    )
    assert len({report.value(r, SH.sourceConstraintComponent) for r in results}) == 28
    for result in results:
        assert {len(list(report.objects(result, name))) for name in once} == {1}
        assert len(list(report.objects(result, SH.value))) <= 1
        assert all(str(m).strip() for m in report.objects(result, SH.resultMessage))


def test_blank_nodes_keep_their_identity() -> None:
    data, shapes = Graph(), Graph()
    node, shape = BNode(), BNode()
    data.add((node, EX.p, Literal(1)))
    shapes.add((shape, SH.targetSubjectsOf, EX.p))
    shapes.add((shape, SH.nodeKind, SH.IRI))
    (row,) = ours(data, shapes)
    assert (row.focus, row.value, row.shape) == (node, node, shape)


def test_the_graphs_are_left_as_they_were() -> None:
    graph = graph_of("ex:a ex:p 1 . ex:S sh:targetNode ex:b ; sh:class ex:C .")
    before = set(graph)
    check(graph, graph)
    assert set(graph) == before
    assert URIRef("http://example.org/b") not in set(graph.subjects())
