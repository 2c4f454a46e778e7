"""Cases of the components that compare properties, refer to shapes or stand apart."""

from __future__ import annotations

from tests.graph.shacl.cases import case

PAIRS = {
    "equals: both directions report the odd value": case(
        """
        ex:f ex:p 1, 2 ; ex:q 2, 3 . ex:g ex:p 1 ; ex:q 1 .
        ex:S sh:targetNode ex:f, ex:g ; sh:path ex:p ; sh:equals ex:q .
        """,
        "ex:f | ex:p | 1 | ex:S | Equals",
        "ex:f | ex:p | 3 | ex:S | Equals",
    ),
    "equals at a node shape": case(
        """
        ex:f ex:q ex:f, ex:g . ex:S sh:targetNode ex:f, ex:h ; sh:equals ex:q .
        """,
        "ex:f | - | ex:g | ex:S | Equals",
        "ex:h | - | ex:h | ex:S | Equals",
    ),
    "disjoint": case(
        """
        ex:f ex:p 1, 2 ; ex:q 2, 3 . ex:g ex:q ex:g .
        ex:S sh:targetNode ex:f, ex:g ; sh:path ex:p ; sh:disjoint ex:q .
        ex:T sh:targetNode ex:f, ex:g ; sh:disjoint ex:q .
        """,
        "ex:f | ex:p | 2 | ex:S | Disjoint",
        "ex:g | - | ex:g | ex:T | Disjoint",
    ),
    "lessThan: one result for each pair": case(
        """
        ex:f ex:p 1, 2, 5 ; ex:q 2, 3 . ex:g ex:p 4 .
        ex:S sh:targetNode ex:f, ex:g ; sh:path ex:p ; sh:lessThan ex:q .
        """,
        "ex:f | ex:p | 2 | ex:S | LessThan",
        "ex:f | ex:p | 5 | ex:S | LessThan",
        "ex:f | ex:p | 5 | ex:S | LessThan",
    ),
    "lessThan: what cannot be compared is not less": case(
        """
        ex:f ex:p 1, 2 ; ex:q "a", "b" . ex:S sh:targetNode ex:f ; sh:path ex:p ; sh:lessThan ex:q .
        """,
        "ex:f | ex:p | 1 | ex:S | LessThan",
        "ex:f | ex:p | 1 | ex:S | LessThan",
        "ex:f | ex:p | 2 | ex:S | LessThan",
        "ex:f | ex:p | 2 | ex:S | LessThan",
    ),
    "lessThanOrEquals": case(
        """
        ex:f ex:p 3, 4 ; ex:q 3.0 .
        ex:S sh:targetNode ex:f ; sh:path ex:p ; sh:lessThanOrEquals ex:q .
        """,
        "ex:f | ex:p | 4 | ex:S | LessThanOrEquals",
    ),
}

LOGIC = {
    "not: what it says nothing about is not reported": case(
        """
        ex:a a ex:C . ex:S sh:targetNode ex:a, ex:b ; sh:not [ sh:class ex:C ], [ sh:class ex:D ] .
        """,
        "ex:a | - | ex:a | ex:S | Not",
    ),
    "not of a property shape": case(
        """
        ex:a ex:p 1 . ex:S sh:targetNode ex:a, ex:b ; sh:not [ sh:path ex:p ; sh:minCount 1 ] .
        """,
        "ex:a | - | ex:a | ex:S | Not",
    ),
    "and: one result however many members fail": case(
        """
        ex:a a ex:C . ex:b a ex:C, ex:D .
        ex:S sh:targetNode ex:a, ex:b, ex:c ; sh:and ( [ sh:class ex:C ] [ sh:class ex:D ] ) .
        """,
        "ex:a | - | ex:a | ex:S | And",
        "ex:c | - | ex:c | ex:S | And",
    ),
    "or at a property shape": case(
        """
        ex:f ex:p 1, "a", "b"@en .
        ex:S sh:targetNode ex:f ; sh:path ex:p ;
          sh:or ( [ sh:datatype xsd:integer ] [ sh:datatype xsd:string ] ) .
        """,
        'ex:f | ex:p | "b"@en | ex:S | Or',
    ),
    "xone: none and two": case(
        """
        ex:a a ex:C . ex:b a ex:C, ex:D .
        ex:S sh:targetNode ex:a, ex:b, ex:c ; sh:xone ( [ sh:class ex:C ] [ sh:class ex:D ] ) .
        """,
        "ex:b | - | ex:b | ex:S | Xone",
        "ex:c | - | ex:c | ex:S | Xone",
    ),
    "xone: the same shape twice": case(
        """
        ex:a a ex:C . ex:T sh:class ex:C .
        ex:S sh:targetNode ex:a, ex:b ; sh:xone ( ex:T ex:T ) .
        """,
        "ex:a | - | ex:a | ex:S | Xone",
        "ex:b | - | ex:b | ex:S | Xone",
    ),
    "two lists are two constraints": case(
        """
        ex:S sh:targetNode ex:a ; sh:or ( [ sh:class ex:C ] ), ( [ sh:class ex:D ] ) .
        """,
        "ex:a | - | ex:a | ex:S | Or",
        "ex:a | - | ex:a | ex:S | Or",
    ),
}

SHAPES = {
    "node: the value node, not the inner results": case(
        """
        ex:f ex:p ex:a, ex:b . ex:a ex:q 1 . ex:T sh:property [ sh:path ex:q ; sh:minCount 1 ] .
        ex:S sh:targetNode ex:f ; sh:property ex:P . ex:P sh:path ex:p ; sh:node ex:T .
        """,
        "ex:f | ex:p | ex:b | ex:P | Node",
    ),
    "property: the inner results with the value node as focus": case(
        """
        ex:f ex:p ex:a, ex:b . ex:g ex:p ex:b . ex:a ex:q 1 .
        ex:S sh:targetNode ex:f, ex:g ; sh:property ex:P . ex:P sh:path ex:p ; sh:property ex:Q .
        ex:Q sh:path ex:q ; sh:minCount 1 ; sh:severity sh:Info .
        """,
        "ex:b | ex:q | - | ex:Q | MinCount | sh:Info",
        "ex:b | ex:q | - | ex:Q | MinCount | sh:Info",
    ),
    "property: three levels": case(
        """
        ex:f ex:p ex:a, ex:b . ex:a ex:p ex:c . ex:b ex:p ex:c . ex:c ex:p ex:d .
        ex:S sh:targetNode ex:f ; sh:property ex:P . ex:P sh:path ex:p ; sh:property ex:Q .
        ex:Q sh:path ex:p ; sh:property ex:R . ex:R sh:path ex:p ; sh:maxCount 0 .
        """,
        "ex:c | ex:p | - | ex:R | MaxCount",
        "ex:c | ex:p | - | ex:R | MaxCount",
    ),
    "node: a shape nothing is said of takes every value": case(
        "ex:S sh:targetNode ex:a ; sh:node ex:Nothing .",
    ),
    "qualified: too few and too many": case(
        """
        ex:f ex:p ex:a, ex:b, ex:c . ex:a a ex:C . ex:b a ex:C .
        ex:S sh:targetNode ex:f, ex:g ; sh:property ex:P .
        ex:P sh:path ex:p ; sh:qualifiedValueShape [ sh:class ex:C ] ;
          sh:qualifiedMinCount 1 ; sh:qualifiedMaxCount 1 .
        """,
        "ex:f | ex:p | - | ex:P | QualifiedMaxCount",
        "ex:g | ex:p | - | ex:P | QualifiedMinCount",
    ),
    "qualified: a value with two roles counts for neither": case(
        """
        ex:f ex:p ex:a, ex:b . ex:a a ex:C . ex:b a ex:C, ex:D .
        ex:S sh:targetNode ex:f ; sh:property ex:P, ex:Q .
        ex:P sh:path ex:p ; sh:qualifiedValueShape [ sh:class ex:C ] ; sh:qualifiedMinCount 1 ;
          sh:qualifiedMaxCount 1 ; sh:qualifiedValueShapesDisjoint true .
        ex:Q sh:path ex:p ; sh:qualifiedValueShape [ sh:class ex:D ] ; sh:qualifiedMinCount 1 ;
          sh:qualifiedValueShapesDisjoint true .
        """,
        "ex:f | ex:p | - | ex:Q | QualifiedMinCount",
    ),
    "qualified: siblings are found through every parent": case(
        """
        ex:f ex:p ex:a . ex:a a ex:C, ex:D .
        ex:S sh:targetNode ex:f ; sh:property ex:P . ex:Other sh:property ex:P, ex:Q .
        ex:P sh:path ex:p ; sh:qualifiedValueShape [ sh:class ex:C ] ; sh:qualifiedMinCount 1 ;
          sh:qualifiedValueShapesDisjoint true .
        ex:Q sh:path ex:p ; sh:qualifiedValueShape [ sh:class ex:D ] ; sh:qualifiedMinCount 1 .
        """,
        "ex:f | ex:p | - | ex:P | QualifiedMinCount",
    ),
}

OTHER = {
    "closed: predicate as path, object as value": case(
        """
        ex:f a ex:C ; ex:p 1 ; ex:q 2, 3 ; ex:r 4 .
        ex:S sh:targetNode ex:f ; sh:closed true ; sh:ignoredProperties ( rdf:type ex:r ) ;
          sh:property [ sh:path ex:p ], [ sh:path [ sh:inversePath ex:q ] ] .
        """,
        "ex:f | ex:q | 2 | ex:S | Closed",
        "ex:f | ex:q | 3 | ex:S | Closed",
    ),
    "closed at a property shape: the triples of the value node": case(
        """
        ex:f ex:p ex:a, ex:b, 7 . ex:g ex:p ex:a . ex:a ex:q 1 ; ex:p 2 .
        ex:S sh:targetNode ex:f, ex:g ; sh:path ex:p ; sh:closed true ;
          sh:property [ sh:path ex:q ] .
        """,
        "ex:f | ex:p | 2 | ex:S | Closed",
        "ex:g | ex:p | 2 | ex:S | Closed",
    ),
    "closed 1": case(
        'ex:f ex:p 1 . ex:S sh:targetNode ex:f ; sh:closed "1"^^xsd:boolean .',
        "ex:f | ex:p | 1 | ex:S | Closed",
    ),
    "closed false": case("ex:f ex:p 1 . ex:S sh:targetNode ex:f ; sh:closed false ."),
    "hasValue: one result, without a value": case(
        """
        ex:f ex:p ex:a, ex:b . ex:g ex:p ex:b .
        ex:S sh:targetNode ex:f, ex:g ; sh:path ex:p ; sh:hasValue ex:a, ex:b .
        ex:T sh:targetNode ex:f, ex:g ; sh:hasValue ex:f .
        """,
        "ex:g | ex:p | - | ex:S | HasValue",
        "ex:g | - | - | ex:T | HasValue",
    ),
    "hasValue compares terms, not numbers": case(
        """
        ex:f ex:p 1 . ex:S sh:targetNode ex:f ; sh:path ex:p ; sh:hasValue 1.0 .
        """,
        "ex:f | ex:p | - | ex:S | HasValue",
    ),
    "in": case(
        """
        ex:f ex:p ex:a, ex:b, 1, "1", true .
        ex:S sh:targetNode ex:f ; sh:path ex:p ; sh:in ( ex:a 1 true ) .
        """,
        "ex:f | ex:p | ex:b | ex:S | In",
        'ex:f | ex:p | "1" | ex:S | In',
    ),
}

CASES = PAIRS | LOGIC | SHAPES | OTHER
