"""What is refused: shapes that are ill-formed, and whatever SHACL Core does not define."""

from __future__ import annotations

import pytest

from leastwise.graph.shacl import ShaclError, ShapesGraphError, UnsupportedConstruct, check
from tests.graph.shacl.support import graph_of, quiet

# (what is wrong, property named in the error, Turtle)
ILL_FORMED = [
    ("minCount not an integer", "sh:minCount", 'ex:S sh:path ex:p ; sh:minCount "1" .'),
    ("minCount a decimal", "sh:minCount", "ex:S sh:path ex:p ; sh:minCount 1.0 ."),
    ("minCount an IRI", "sh:minCount", "ex:S sh:path ex:p ; sh:minCount ex:one ."),
    ("minCount ill-typed", "sh:minCount", 'ex:S sh:path ex:p ; sh:minCount "x"^^xsd:integer .'),
    ("two minCounts", "sh:minCount", "ex:S sh:path ex:p ; sh:minCount 1, 2 ."),
    ("minCount at a node shape", "sh:minCount", "ex:S sh:minCount 1 ."),
    ("maxCount at a node shape", "sh:maxCount", "ex:S sh:maxCount 1 ."),
    ("two maxCounts", "sh:maxCount", "ex:S sh:path ex:p ; sh:maxCount 1, 2 ."),
    ("class a literal", "sh:class", 'ex:S sh:class "C" .'),
    ("class a blank node", "sh:class", "ex:S sh:class [] ."),
    ("two datatypes", "sh:datatype", "ex:S sh:datatype xsd:string, xsd:integer ."),
    ("datatype a literal", "sh:datatype", 'ex:S sh:datatype "xsd:string" .'),
    ("nodeKind not one of six", "sh:nodeKind", "ex:S sh:nodeKind sh:Iri ."),
    ("two node kinds", "sh:nodeKind", "ex:S sh:nodeKind sh:IRI, sh:Literal ."),
    ("minInclusive an IRI", "sh:minInclusive", "ex:S sh:minInclusive ex:one ."),
    ("two bounds", "sh:maxExclusive", "ex:S sh:maxExclusive 1, 2 ."),
    ("minLength of a derived type", "sh:minLength", 'ex:S sh:minLength "1"^^xsd:byte .'),
    ("two maxLengths", "sh:maxLength", "ex:S sh:maxLength 1, 2 ."),
    ("pattern an integer", "sh:pattern", "ex:S sh:pattern 1 ."),
    ("pattern with a language", "sh:pattern", 'ex:S sh:pattern "a"@en .'),
    ("two patterns", "sh:pattern", 'ex:S sh:pattern "a", "b" .'),
    ("pattern not a regular expression", "sh:pattern", 'ex:S sh:pattern "(" .'),
    ("pattern with an unended class", "sh:pattern", 'ex:S sh:pattern "[a" .'),
    ("pattern with an empty class", "sh:pattern", 'ex:S sh:pattern "[]" .'),
    ("pattern with an unknown category", "sh:pattern", r'ex:S sh:pattern "\\p{Q}" .'),
    ("pattern with a bare category", "sh:pattern", r'ex:S sh:pattern "\\pL" .'),
    ("pattern with a Unicode block", "sh:pattern", r'ex:S sh:pattern "\\p{IsGreek}" .'),
    ("an unknown flag", "sh:pattern", 'ex:S sh:pattern "a" ; sh:flags "g" .'),
    ("two flags", "sh:flags", 'ex:S sh:pattern "a" ; sh:flags "i", "m" .'),
    ("languageIn not a list", "sh:languageIn", 'ex:S sh:languageIn "en" .'),
    ("languageIn of IRIs", "sh:languageIn", "ex:S sh:languageIn ( ex:en ) ."),
    ("two languageIns", "sh:languageIn", 'ex:S sh:languageIn ( "en" ), ( "de" ) .'),
    ("uniqueLang not a boolean", "sh:uniqueLang", 'ex:S sh:path ex:p ; sh:uniqueLang "yes" .'),
    ("uniqueLang twice", "sh:uniqueLang", "ex:S sh:path ex:p ; sh:uniqueLang true, false ."),
    ("uniqueLang at a node shape", "sh:uniqueLang", "ex:S sh:uniqueLang true ."),
    ("equals a literal", "sh:equals", 'ex:S sh:equals "p" .'),
    ("disjoint a path", "sh:disjoint", "ex:S sh:disjoint [ sh:inversePath ex:p ] ."),
    ("lessThan a literal", "sh:lessThan", "ex:S sh:path ex:p ; sh:lessThan 3 ."),
    ("lessThan at a node shape", "sh:lessThan", "ex:S sh:lessThan ex:p ."),
    ("lessThanOrEquals at a node shape", "sh:lessThanOrEquals", "ex:S sh:lessThanOrEquals ex:p ."),
    ("not a literal", "sh:not", 'ex:S sh:not "shape" .'),
    ("and not a list", "sh:and", "ex:S sh:and ex:T ."),
    ("or a broken list", "sh:or", "ex:S sh:or [ rdf:first ex:T ] ."),
    ("xone a forked list", "sh:xone", "ex:S sh:xone [ rdf:first ex:T, ex:U ; rdf:rest () ] ."),
    ("and of a literal", "sh:and", "ex:S sh:and ( 3 ) ."),
    ("in a circular list", "sh:in", "ex:S sh:in _:l . _:l rdf:first 1 ; rdf:rest _:l ."),
    ("in not a list", "sh:in", "ex:S sh:in ex:a ."),
    ("two ins", "sh:in", "ex:S sh:in ( 1 ), ( 2 ) ."),
    ("node a literal", "sh:node", "ex:S sh:node 1 ."),
    ("node a property shape", "sh:node", "ex:S sh:node [ sh:path ex:p ] ."),
    ("property a node shape", "sh:property", "ex:S sh:property [ sh:class ex:C ] ."),
    ("property a literal", "sh:property", 'ex:S sh:property "p" .'),
    (
        "two qualified value shapes",
        "sh:qualifiedValueShape",
        "ex:S sh:path ex:p ; sh:qualifiedMinCount 1 ; sh:qualifiedValueShape [], [] .",
    ),
    (
        "qualifiedMinCount a string",
        "sh:qualifiedMinCount",
        'ex:S sh:path ex:p ; sh:qualifiedMinCount "1" ; sh:qualifiedValueShape [] .',
    ),
    (
        "qualifiedValueShapesDisjoint a string",
        "sh:qualifiedValueShapesDisjoint",
        'ex:S sh:path ex:p ; sh:qualifiedValueShapesDisjoint "no" .',
    ),
    ("closed a string", "sh:closed", 'ex:S sh:closed "true" .'),
    ("closed twice", "sh:closed", "ex:S sh:closed true, false ."),
    ("ignoredProperties not a list", "sh:ignoredProperties",
     "ex:S sh:closed true ; sh:ignoredProperties ex:p ."),
    ("ignoredProperties of literals", "sh:ignoredProperties",
     'ex:S sh:closed true ; sh:ignoredProperties ( "p" ) .'),
    ("two severities", "sh:severity", "ex:S sh:class ex:C ; sh:severity sh:Info, sh:Warning ."),
    ("severity a literal", "sh:severity", 'ex:S sh:class ex:C ; sh:severity "high" .'),
    ("message an IRI", "sh:message", "ex:S sh:class ex:C ; sh:message ex:m ."),
    ("message a number", "sh:message", "ex:S sh:class ex:C ; sh:message 3 ."),
    ("deactivated a string", "sh:deactivated", 'ex:S sh:class ex:C ; sh:deactivated "no" .'),
    ("deactivated 1", "sh:deactivated", 'ex:S sh:deactivated "1"^^xsd:boolean ; sh:class ex:C .'),
    ("deactivated twice", "sh:deactivated", "ex:S sh:class ex:C ; sh:deactivated true, false ."),
    ("target node a blank node", "sh:targetNode", "ex:S sh:targetNode [] ."),
    ("target class a literal", "sh:targetClass", 'ex:S sh:targetClass "C" .'),
    ("targetSubjectsOf a literal", "sh:targetSubjectsOf", "ex:S sh:targetSubjectsOf 1 ."),
    ("targetObjectsOf a blank node", "sh:targetObjectsOf", "ex:S sh:targetObjectsOf [] ."),
    ("an implicit class without a name", "rdf:type", "[] a sh:NodeShape, rdfs:Class ."),
    ("a node shape with a path", "sh:path", "ex:S a sh:NodeShape ; sh:path ex:p ."),
    ("a property shape without a path", "sh:path", "ex:S a sh:PropertyShape ."),
    ("both kinds of shape", "sh:path", "ex:S a sh:NodeShape, sh:PropertyShape ; sh:path ex:p ."),
    ("two paths", "sh:path", "ex:S a sh:PropertyShape ; sh:path ex:p, ex:q ."),
    ("path a literal", "sh:path", 'ex:S a sh:PropertyShape ; sh:path "p" .'),
    ("path an empty node", "sh:path", "ex:S a sh:PropertyShape ; sh:path [] ."),
    ("path of one member", "sh:path", "ex:S a sh:PropertyShape ; sh:path ( ex:p ) ."),
    ("alternatives of one", "sh:path",
     "ex:S a sh:PropertyShape ; sh:path [ sh:alternativePath ( ex:p ) ] ."),
    ("alternatives not a list", "sh:path",
     "ex:S a sh:PropertyShape ; sh:path [ sh:alternativePath ex:p ] ."),
    ("path with two operators", "sh:path",
     "ex:S a sh:PropertyShape ; sh:path [ sh:inversePath ex:p ; sh:zeroOrMorePath ex:q ] ."),
    ("path with a remark", "sh:path",
     'ex:S a sh:PropertyShape ; sh:path [ sh:inversePath ex:p ; rdfs:comment "back" ] .'),
    ("path with an unknown operator", "sh:path",
     "ex:S a sh:PropertyShape ; sh:path [ sh:twoOrMorePath ex:p ] ."),
    ("path with a broken list", "sh:path",
     "ex:S a sh:PropertyShape ; sh:path [ rdf:first ex:p ] ."),
    ("path with a literal inside", "sh:path",
     "ex:S a sh:PropertyShape ; sh:path ( ex:p 3 ) ."),
    ("a recursive path", "sh:path",
     "ex:S a sh:PropertyShape ; sh:path _:p . _:p sh:inversePath _:p ."),
    ("a recursive path through a list", "sh:path",
     "ex:S a sh:PropertyShape ; sh:path _:p . _:p rdf:first ex:p ; rdf:rest ( _:p ) ."),
    ("a shape of itself", "a shape reference", "ex:S sh:node ex:S ."),
    ("shapes of one another", "a shape reference",
     "ex:S sh:not ex:T . ex:T sh:and ( ex:U ) . ex:U sh:property _:p . "
     "_:p sh:path ex:p ; sh:node ex:S ."),
    ("a recursive qualified shape", "a shape reference",
     "ex:S sh:path ex:p ; sh:qualifiedValueShape ex:S ; sh:qualifiedMinCount 1 ."),
]  # fmt: skip

# (construct named in the error, Turtle)
OUTSIDE = [
    ("sh:sparql", 'ex:S sh:targetNode ex:a ; sh:sparql [ sh:select "SELECT $this {}" ] .'),
    ("sh:rule", "ex:S sh:targetNode ex:a ; sh:rule [ a sh:TripleRule ] ."),
    ("sh:target", "ex:S sh:target [ a sh:SPARQLTarget ] ; sh:class ex:C ."),
    ("sh:js", 'ex:S sh:targetNode ex:a ; sh:js [ sh:jsFunctionName "f" ] .'),
    ("sh:expression", "ex:S sh:targetNode ex:a ; sh:expression [ sh:path ex:p ] ."),
    ("sh:values", "ex:S sh:property [ sh:path ex:p ; sh:values [ sh:path ex:q ] ] ."),
    ("sh:entailment", "ex:S sh:class ex:C . <urn:x> sh:entailment ex:Regime ."),
    ("sh:ConstraintComponent", "ex:Mine a sh:ConstraintComponent ."),
    ("sh:parameter", "ex:Mine sh:parameter [ sh:path ex:p ] ."),
    ("sh:SPARQLFunction", "ex:f a sh:SPARQLFunction ."),
    ("sh:SPARQLTargetType", "ex:T a sh:SPARQLTargetType ."),
    ("sh:mincount", "ex:S sh:path ex:p ; sh:minCount 1 ; sh:mincount 1 ."),
    ("sh:select", 'ex:S sh:class ex:C ; sh:select "SELECT" .'),
    ("sh:prefixes", "ex:S sh:class ex:C ; sh:prefixes ex:o ."),
    ("sh:memberShape", "ex:S sh:targetNode ex:a ; sh:memberShape [ sh:class ex:C ] ."),
]


@pytest.mark.parametrize(("prop", "turtle"), [row[1:] for row in ILL_FORMED],
                         ids=[row[0] for row in ILL_FORMED])  # fmt: skip
def test_ill_formed_shapes_are_refused(prop: str, turtle: str) -> None:
    graph = graph_of(turtle)
    with quiet(), pytest.raises(ShapesGraphError) as caught:
        check(graph, graph)
    error = caught.value
    assert error.prop == prop
    assert error.shape
    assert error.found
    assert error.accepted
    assert error.paragraph.startswith("https://www.w3.org/TR/shacl/#")
    assert all(part in str(error) for part in (error.shape, prop, error.found, error.accepted))


@pytest.mark.parametrize(("construct", "turtle"), OUTSIDE, ids=[row[0] for row in OUTSIDE])
def test_what_core_does_not_define_is_refused(construct: str, turtle: str) -> None:
    graph = graph_of(turtle)
    with pytest.raises(UnsupportedConstruct) as caught:
        check(graph, graph)
    assert caught.value.construct == construct
    assert caught.value.shape in str(caught.value)
    assert construct in str(caught.value)


def test_the_error_names_the_shape() -> None:
    graph = graph_of("ex:S sh:property ex:P . ex:P sh:path ex:p ; sh:maxCount ex:many .")
    with pytest.raises(ShapesGraphError, match=r"<http://example\.org/P>: sh:maxCount is"):
        check(graph, graph)


def test_a_cycle_is_spelled_out() -> None:
    graph = graph_of("ex:S sh:not ex:T . ex:T sh:not ex:S .")
    with pytest.raises(ShapesGraphError, match=r"\(.*S> -> .*T> -> .*S>\)"):
        check(graph, graph)


def test_both_errors_are_shacl_errors() -> None:
    assert issubclass(ShapesGraphError, ShaclError)
    assert issubclass(UnsupportedConstruct, ShaclError)


def test_errors_come_whatever_the_data() -> None:
    with pytest.raises(ShapesGraphError):
        check(graph_of(""), graph_of("ex:S sh:deactivated true ; sh:datatype xsd:string, ex:d ."))


def test_the_vocabulary_itself_may_be_in_the_shapes_graph() -> None:
    graph = graph_of(
        """
        sh:InConstraintComponent a sh:ConstraintComponent ; sh:parameter sh:In-in .
        sh:In-in a sh:Parameter ; sh:path sh:in .
        ex:S sh:targetNode ex:a ; sh:nodeKind sh:IRI .
        """
    )
    assert "true" in check(graph, graph).serialize(format="nt")
