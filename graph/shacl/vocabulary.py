"""IRIs, as terms, of the vocabularies that SHACL Core is written in."""

from __future__ import annotations

from typing import Final

__all__ = [
    "ANNOTATIONS",
    "LIST_OF_SHAPES",
    "OUTSIDE_CORE",
    "OUTSIDE_CORE_CLASSES",
    "PARAMETERS",
    "RDFS_CLASS",
    "RDFS_SUBCLASS_OF",
    "RDF_FIRST",
    "RDF_NIL",
    "RDF_REST",
    "RDF_TYPE",
    "SH",
    "SHAPE_VALUED",
    "TARGETS",
    "XSD",
    "sh",
    "short",
]

SH: Final = "http://www.w3.org/ns/shacl#"
XSD: Final = "http://www.w3.org/2001/XMLSchema#"
_RDF: Final = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
_RDFS: Final = "http://www.w3.org/2000/01/rdf-schema#"

RDF_TYPE: Final = f"<{_RDF}type>"
RDF_FIRST: Final = f"<{_RDF}first>"
RDF_REST: Final = f"<{_RDF}rest>"
RDF_NIL: Final = f"<{_RDF}nil>"
RDFS_SUBCLASS_OF: Final = f"<{_RDFS}subClassOf>"
RDFS_CLASS: Final = f"<{_RDFS}Class>"

# Names below are local names in the sh: namespace.
TARGETS: Final = ("targetNode", "targetClass", "targetSubjectsOf", "targetObjectsOf")

# https://www.w3.org/TR/shacl/#core-components
PARAMETERS: Final = frozenset(
    [
        "and",
        "class",
        "closed",
        "datatype",
        "disjoint",
        "equals",
        "flags",
        "hasValue",
        "ignoredProperties",
        "in",
        "languageIn",
        "lessThan",
        "lessThanOrEquals",
        "maxCount",
        "maxExclusive",
        "maxInclusive",
        "maxLength",
        "minCount",
        "minExclusive",
        "minInclusive",
        "minLength",
        "node",
        "nodeKind",
        "not",
        "or",
        "pattern",
        "property",
        "qualifiedMaxCount",
        "qualifiedMinCount",
        "qualifiedValueShape",
        "qualifiedValueShapesDisjoint",
        "uniqueLang",
        "xone",
    ]
)
SHAPE_VALUED: Final = ("property", "node", "not", "qualifiedValueShape")
LIST_OF_SHAPES: Final = ("and", "or", "xone")

# What a shape may carry besides parameters and targets. The second line does not take part in
# validation: https://www.w3.org/TR/shacl/#nonValidation
ANNOTATIONS: Final = frozenset(
    [
        "path",
        "severity",
        "message",
        "deactivated",
        "name",
        "description",
        "order",
        "group",
        "defaultValue",
        "declare",
        "shapesGraph",
        "suggestedShapesGraph",
    ]
)

# Properties that change what a shapes graph means, wherever they stand: SHACL-SPARQL
# (https://www.w3.org/TR/shacl/#part2), entailment (https://www.w3.org/TR/shacl/#shacl-rdfs),
# SHACL Advanced Features and SHACL-JS.
OUTSIDE_CORE: Final = (
    "sparql",
    "parameter",
    "target",
    "rule",
    "expression",
    "values",
    "js",
    "entailment",
    "filterShape",
    "validator",
    "nodeValidator",
    "propertyValidator",
    "returnType",
    "reifierShape",
    "shape",
)
OUTSIDE_CORE_CLASSES: Final = (
    "ConstraintComponent",
    "Function",
    "JSConstraint",
    "JSFunction",
    "JSRule",
    "JSTarget",
    "JSTargetType",
    "Rule",
    "SPARQLConstraint",
    "SPARQLFunction",
    "SPARQLRule",
    "SPARQLTarget",
    "SPARQLTargetType",
    "Target",
    "TargetType",
    "TripleRule",
)


def sh(name: str) -> str:
    """Return the term of a name in the SHACL namespace."""
    return f"<{SH}{name}>"


def short(term: str) -> str:
    """Return `term` with a leading SHACL namespace written as ``sh:``, for messages."""
    return f"sh:{term[len(SH) + 1 : -1]}" if term.startswith(f"<{SH}") else term
