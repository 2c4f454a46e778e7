"""Cases of the components that look at one value node, and of the counts."""

from __future__ import annotations

from tests.graph.shacl.cases import case

VALUE_TYPE = {
    "class: subclass, cycle of subclasses, literal, blank node": case(
        """
        ex:Sub rdfs:subClassOf ex:C . ex:C rdfs:subClassOf ex:Sub .
        ex:a a ex:Sub . ex:b a ex:Other . ex:f ex:p ex:a, ex:b, 3, ex:untyped .
        ex:S sh:targetNode ex:f ; sh:property ex:P . ex:P sh:path ex:p ; sh:class ex:C .
        """,
        "ex:f | ex:p | ex:b | ex:P | Class",
        "ex:f | ex:p | 3 | ex:P | Class",
        "ex:f | ex:p | ex:untyped | ex:P | Class",
    ),
    "class: two values are two constraints": case(
        """
        ex:a a ex:C . ex:b a ex:C, ex:D .
        ex:S a sh:NodeShape ; sh:targetNode ex:a, ex:b, ex:c ; sh:class ex:C, ex:D .
        """,
        "ex:a | - | ex:a | ex:S | Class",
        "ex:c | - | ex:c | ex:S | Class",
        "ex:c | - | ex:c | ex:S | Class",
    ),
    "datatype: another datatype, a language tag, an IRI": case(
        """
        ex:f ex:p 1, 1.0, "1", "1"@en, ex:one .
        ex:S sh:targetNode ex:f ; sh:path ex:p ; sh:datatype xsd:integer .
        """,
        "ex:f | ex:p | 1.0 | ex:S | Datatype",
        'ex:f | ex:p | "1" | ex:S | Datatype',
        'ex:f | ex:p | "1"@en | ex:S | Datatype',
        "ex:f | ex:p | ex:one | ex:S | Datatype",
    ),
    "datatype: rdf:langString": case(
        """
        ex:S sh:targetNode "x"@en, "x" ; sh:datatype rdf:langString .
        """,
        '"x" | - | "x" | ex:S | Datatype',
    ),
    "datatype: ill-formed byte, integer and boolean": case(
        """
        ex:f ex:p "300"^^xsd:byte, "-128"^^xsd:byte, "c"^^xsd:byte ; ex:q "1.0"^^xsd:integer .
        ex:f ex:r "TRUE"^^xsd:boolean, "1"^^xsd:boolean .
        ex:S sh:targetNode ex:f ; sh:property ex:P, ex:Q, ex:R .
        ex:P sh:path ex:p ; sh:datatype xsd:byte . ex:Q sh:path ex:q ; sh:datatype xsd:integer .
        ex:R sh:path ex:r ; sh:datatype xsd:boolean .
        """,
        'ex:f | ex:p | "300"^^xsd:byte | ex:P | Datatype',
        'ex:f | ex:p | "c"^^xsd:byte | ex:P | Datatype',
        'ex:f | ex:q | "1.0"^^xsd:integer | ex:Q | Datatype',
        'ex:f | ex:r | "TRUE"^^xsd:boolean | ex:R | Datatype',
    ),
    "datatype: days that do not exist": case(
        """
        ex:f ex:p "2024-02-29"^^xsd:date, "2023-02-29"^^xsd:date, "soon"^^xsd:date .
        ex:S sh:targetNode ex:f ; sh:path ex:p ; sh:datatype xsd:date .
        """,
        'ex:f | ex:p | "2023-02-29"^^xsd:date | ex:S | Datatype',
        'ex:f | ex:p | "soon"^^xsd:date | ex:S | Datatype',
    ),
    "datatype: an unknown datatype has no ill-formed literals": case(
        """
        ex:S sh:targetNode "anything"^^ex:dt ; sh:datatype ex:dt .
        """,
    ),
    "nodeKind: each of the six": case(
        """
        ex:f ex:p ex:i, "l", _:b .
        ex:S sh:targetNode ex:f ; sh:property ex:A, ex:B, ex:C, ex:D, ex:E, ex:F .
        ex:A sh:path ex:p ; sh:nodeKind sh:IRI . ex:B sh:path ex:p ; sh:nodeKind sh:Literal .
        ex:C sh:path ex:p ; sh:nodeKind sh:BlankNodeOrIRI .
        ex:D sh:path ex:p ; sh:nodeKind sh:BlankNodeOrLiteral .
        ex:E sh:path ex:q ; sh:nodeKind sh:BlankNode .
        ex:F sh:path ( ex:p ex:q ) ; sh:nodeKind sh:IRIOrLiteral . ex:i ex:q "x", ex:y .
        ex:S2 sh:targetNode ex:i, "l" ; sh:nodeKind sh:BlankNode .
        ex:S3 sh:targetObjectsOf ex:p ; sh:property ex:G .
        ex:G sh:path ex:q ; sh:nodeKind sh:IRIOrLiteral .
        """,
        'ex:f | ex:p | "l" | ex:A | NodeKind',
        "ex:f | ex:p | [] | ex:A | NodeKind",
        "ex:f | ex:p | ex:i | ex:B | NodeKind",
        "ex:f | ex:p | [] | ex:B | NodeKind",
        'ex:f | ex:p | "l" | ex:C | NodeKind',
        "ex:f | ex:p | ex:i | ex:D | NodeKind",
        "ex:i | - | ex:i | ex:S2 | NodeKind",
        '"l" | - | "l" | ex:S2 | NodeKind',
    ),
}

CARDINALITY = {
    "minCount and maxCount": case(
        """
        ex:f ex:p 1, 2 . ex:g ex:p 1, 2, 3 .
        ex:S sh:targetNode ex:f, ex:g, ex:h ; sh:property ex:P .
        ex:P sh:path ex:p ; sh:minCount 1 ; sh:maxCount 2 .
        """,
        "ex:g | ex:p | - | ex:P | MaxCount",
        "ex:h | ex:p | - | ex:P | MinCount",
    ),
    "counts: value nodes are a set": case(
        """
        ex:f ex:p ex:a, ex:b ; ex:q ex:a . ex:a ex:r ex:z . ex:b ex:r ex:z .
        ex:S sh:targetNode ex:f ; sh:property ex:P, ex:Q .
        ex:P sh:path ( ex:p ex:r ) ; sh:maxCount 1 ; sh:minCount 2 .
        ex:Q sh:path [ sh:alternativePath ( ex:p ex:q ) ] ; sh:maxCount 1 .
        """,
        "ex:f | ( ex:p ex:r ) | - | ex:P | MinCount",
        "ex:f | [ sh:alternativePath ( ex:p ex:q ) ] | - | ex:Q | MaxCount",
    ),
    "counts: 1 and 01 are two value nodes": case(
        """
        ex:f ex:p "1"^^xsd:integer, "01"^^xsd:integer .
        ex:S sh:targetNode ex:f ; sh:path ex:p ; sh:maxCount 1 .
        """,
        "ex:f | ex:p | - | ex:S | MaxCount",
    ),
    "minCount 0 asks nothing": case(
        "ex:S sh:targetNode ex:f ; sh:path ex:p ; sh:minCount 0 .",
    ),
}

RANGE = {
    "ranges: numbers of any type, and what is not a number": case(
        """
        ex:S sh:targetNode 3, 4, 4.0, 4.5e0, "5"^^xsd:byte, "4", ex:four, "x"^^xsd:integer ;
          sh:minExclusive 4 .
        """,
        "3 | - | 3 | ex:S | MinExclusive",
        "4 | - | 4 | ex:S | MinExclusive",
        "4.0 | - | 4.0 | ex:S | MinExclusive",
        '"4" | - | "4" | ex:S | MinExclusive',
        "ex:four | - | ex:four | ex:S | MinExclusive",
        '"x"^^xsd:integer | - | "x"^^xsd:integer | ex:S | MinExclusive',
    ),
    "ranges: the four bounds": case(
        """
        ex:f ex:p 1, 2, 3 . ex:S sh:targetNode ex:f ; sh:property ex:A, ex:B, ex:C, ex:D .
        ex:A sh:path ex:p ; sh:minInclusive 2 . ex:B sh:path ex:p ; sh:minExclusive 2 .
        ex:C sh:path ex:p ; sh:maxInclusive 2 . ex:D sh:path ex:p ; sh:maxExclusive 2 .
        """,
        "ex:f | ex:p | 1 | ex:A | MinInclusive",
        "ex:f | ex:p | 1 | ex:B | MinExclusive",
        "ex:f | ex:p | 2 | ex:B | MinExclusive",
        "ex:f | ex:p | 3 | ex:C | MaxInclusive",
        "ex:f | ex:p | 3 | ex:D | MaxExclusive",
        "ex:f | ex:p | 2 | ex:D | MaxExclusive",
    ),
    "ranges: moments with and without time zone do not compare": case(
        """
        ex:S sh:targetNode "2020-03-01T10:00:00Z"^^xsd:dateTime,
            "2020-03-01T12:00:00+03:00"^^xsd:dateTime, "2020-03-01T12:00:00"^^xsd:dateTime,
            "2020-03-01T10:00:00.5Z"^^xsd:dateTime ;
          sh:minInclusive "2020-03-01T10:00:00Z"^^xsd:dateTime .
        ex:T sh:targetNode "2020-03-01T10:00:00Z"^^xsd:dateTime,
            "2020-03-01T12:00:00"^^xsd:dateTime ;
          sh:minInclusive "2020-03-01T10:00:00"^^xsd:dateTime .
        """,
        '"2020-03-01T12:00:00+03:00"^^xsd:dateTime | - | '
        '"2020-03-01T12:00:00+03:00"^^xsd:dateTime | ex:S | MinInclusive',
        '"2020-03-01T12:00:00"^^xsd:dateTime | - | "2020-03-01T12:00:00"^^xsd:dateTime | ex:S '
        "| MinInclusive",
        '"2020-03-01T10:00:00Z"^^xsd:dateTime | - | "2020-03-01T10:00:00Z"^^xsd:dateTime | ex:T '
        "| MinInclusive",
    ),
    "ranges: dates and strings": case(
        """
        ex:S sh:targetNode "1899-12-31"^^xsd:date, "1900-01-01"^^xsd:date ;
          sh:minInclusive "1900-01-01"^^xsd:date .
        ex:T sh:targetNode "abc", "abd", "B" ; sh:maxExclusive "abd" .
        """,
        '"1899-12-31"^^xsd:date | - | "1899-12-31"^^xsd:date | ex:S | MinInclusive',
        '"abd" | - | "abd" | ex:T | MaxExclusive',
    ),
    "ranges: numbers too large for a double, and infinity": case(
        """
        ex:S sh:targetNode 9007199254740993, 9007199254740992, "INF"^^xsd:double,
            "-INF"^^xsd:double, "NaN"^^xsd:double ; sh:minExclusive 9007199254740992 .
        """,
        "9007199254740992 | - | 9007199254740992 | ex:S | MinExclusive",
        '"-INF"^^xsd:double | - | "-INF"^^xsd:double | ex:S | MinExclusive',
        '"NaN"^^xsd:double | - | "NaN"^^xsd:double | ex:S | MinExclusive',
    ),
}

STRINGS = {
    "lengths: literals, IRIs and blank nodes": case(
        """
        ex:f ex:p "abc", 12345, ex:i, [] .
        ex:S sh:targetNode ex:f ; sh:property ex:A, ex:B .
        ex:A sh:path ex:p ; sh:minLength 5 . ex:B sh:path ex:p ; sh:maxLength 5 .
        """,
        'ex:f | ex:p | "abc" | ex:A | MinLength',
        "ex:f | ex:p | [] | ex:A | MinLength",
        "ex:f | ex:p | ex:i | ex:B | MaxLength",
        "ex:f | ex:p | [] | ex:B | MaxLength",
    ),
    "lengths count characters, not bytes or escapes": case(
        r"""
        ex:S sh:targetNode "a\nb", "\U0001F9F5\U0001F9F5\U0001F9F5", "a\"b\\" ; sh:maxLength 3 .
        """,
        r'"a\"b\\" | - | "a\"b\\" | ex:S | MaxLength',
    ),
    "pattern: anywhere, flags, numbers, IRIs, blank nodes": case(
        """
        ex:f ex:p "Jo", "bJ", "jo", 2, ex:Jo, [] .
        ex:S sh:targetNode ex:f ; sh:property ex:A, ex:B, ex:C .
        ex:A sh:path ex:p ; sh:pattern "^J" . ex:B sh:path ex:p ; sh:pattern "^J" ; sh:flags "i" .
        ex:C sh:path ex:p ; sh:pattern "Jo|2" .
        """,
        'ex:f | ex:p | "bJ" | ex:A | Pattern',
        'ex:f | ex:p | "jo" | ex:A | Pattern',
        "ex:f | ex:p | 2 | ex:A | Pattern",
        "ex:f | ex:p | ex:Jo | ex:A | Pattern",
        "ex:f | ex:p | [] | ex:A | Pattern",
        'ex:f | ex:p | "bJ" | ex:B | Pattern',
        "ex:f | ex:p | 2 | ex:B | Pattern",
        "ex:f | ex:p | ex:Jo | ex:B | Pattern",
        "ex:f | ex:p | [] | ex:B | Pattern",
        'ex:f | ex:p | "bJ" | ex:C | Pattern',
        'ex:f | ex:p | "jo" | ex:C | Pattern',
        "ex:f | ex:p | [] | ex:C | Pattern",
    ),
    "languageIn: prefixes of tags, in any case": case(
        """
        ex:f ex:p "a"@en, "b"@en-NZ, "c"@mi, "d", ex:e, "f"@eng .
        ex:S sh:targetNode ex:f ; sh:path ex:p ; sh:languageIn ( "EN" "de" ) .
        """,
        'ex:f | ex:p | "c"@mi | ex:S | LanguageIn',
        'ex:f | ex:p | "d" | ex:S | LanguageIn',
        "ex:f | ex:p | ex:e | ex:S | LanguageIn",
        'ex:f | ex:p | "f"@eng | ex:S | LanguageIn',
    ),
    "uniqueLang: one result for each repeated tag": case(
        """
        ex:f ex:p "a"@en, "b"@EN, "c"@en, "d"@de, "e"@de, "f"@fr, "g", "h" .
        ex:S sh:targetNode ex:f ; sh:path ex:p ; sh:uniqueLang true .
        ex:T sh:targetNode ex:f ; sh:path ex:p ; sh:uniqueLang false .
        """,
        "ex:f | ex:p | - | ex:S | UniqueLang",
        "ex:f | ex:p | - | ex:S | UniqueLang",
    ),
}

CASES = VALUE_TYPE | CARDINALITY | RANGE | STRINGS
