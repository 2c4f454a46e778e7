"""Random small data graphs and shapes graphs that use every component and every kind of path.

Two flavours keep clear of where pySHACL departs from the recommendation (test_departures.py has
those, one by one):

* "mixed" has literals of all kinds, no sh:lessThan and no bounds that are strings or of the
  datatype of an ill-typed value;
* "ordered" has numbers and strings only, and compares them.

Neither has sequences below an inverse path, sh:minLength 0 or language ranges of several parts
that are not whole tags.
"""

from __future__ import annotations

from random import Random

from leastwise.graph.shacl import iri, literal

EX = "http://example.org/"
SH = "http://www.w3.org/ns/shacl#"
XSD = "http://www.w3.org/2001/XMLSchema#"
RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
TYPE = iri(RDF + "type")
SUBCLASS = iri("http://www.w3.org/2000/01/rdf-schema#subClassOf")

Rows = list[tuple[str, str, str]]


def ex(name: str) -> str:
    return iri(EX + name)


def sh(name: str) -> str:
    return iri(SH + name)


def typed(lexical: str, name: str) -> str:
    return literal(lexical, XSD + name)


NODES = [ex(f"n{i}") for i in range(5)] + ["_:b0", "_:b1"]
CLASSES = [ex(name) for name in "ABC"]
LINKS = [ex("r"), ex("s")]
VALUES = [ex("p"), ex("q")]
NUMBERS = [
    *(typed(lexical, "integer") for lexical in ("1", "2", "3", "10")),
    typed("1.5", "decimal"),
    typed("2.0", "decimal"),
    typed("2.5E0", "double"),
    typed("3", "byte"),
]
STRINGS = [literal(text) for text in ("", "a", "b", "abc", "Abd")]
TAGGED = [literal(text, language=tag) for text in "ab" for tag in ("en", "en-us", "fr")]
MOMENTS = [
    typed("2020-01-01", "date"),
    typed("2021-06-30", "date"),
    typed("2020-01-01T00:00:00", "dateTime"),
    typed("2020-01-01T12:30:00Z", "dateTime"),
    typed("2020-01-01T12:30:00+05:00", "dateTime"),
    typed("2020-01-01T12:30:01.5Z", "dateTime"),
]
ODD = [
    typed("true", "boolean"),
    typed("false", "boolean"),
    typed("300", "byte"),
    typed("none", "integer"),
    typed("2020-13-01", "date"),
    literal("x", EX + "datatype"),
]
DATATYPES = ["integer", "decimal", "double", "byte", "string", "date", "dateTime", "boolean"]
KINDS = ["BlankNode", "IRI", "Literal", "BlankNodeOrIRI", "BlankNodeOrLiteral", "IRIOrLiteral"]
PATTERNS = [("^a", ""), ("b", ""), ("^A", "i"), ("c$|[0-9]", ""), ("example", "")]


class Maker:
    """Makes one pair of graphs from a source of randomness."""

    def __init__(self, rng: Random, flavour: str) -> None:
        self.rng = rng
        self.ordered = flavour == "ordered"
        self.literals = NUMBERS + STRINGS
        if not self.ordered:
            self.literals = self.literals + TAGGED * 4 + MOMENTS + ODD
        self.shapes: Rows = []
        self.count = 0

    def data(self) -> Rows:
        rng = self.rng
        rows: Rows = [(ex("B"), SUBCLASS, ex("A"))]
        if rng.random() < 0.3:
            rows.append((ex("A"), SUBCLASS, ex("B")))  # a cycle
        for _ in range(rng.randrange(2, 6)):
            rows.append((rng.choice(NODES), TYPE, rng.choice(CLASSES)))
        for _ in range(rng.randrange(3, 10)):
            rows.append((rng.choice(NODES), rng.choice(LINKS), rng.choice(NODES)))
        for _ in range(rng.randrange(8, 24)):
            value = rng.choice(self.literals)
            if not self.ordered and rng.random() < 0.2:
                value = rng.choice(NODES)
            hub = rng.choice(NODES[:4]) if rng.random() < 0.5 else NODES[0]
            rows.append((hub, rng.choice(VALUES), value))
        return rows

    def shapes_graph(self) -> Rows:
        for number in range(self.rng.randrange(1, 4)):
            shape = ex(f"S{number}")
            if self.rng.random() < 0.5:
                self.fill_node_shape(shape, 0)
            else:
                self.fill_property_shape(shape, 0)
            self.targets(shape)
        return self.shapes

    def add(self, subject: str, name: str, value: str) -> None:
        self.shapes.append((subject, sh(name), value))

    def fresh(self) -> str:
        self.count += 1
        return f"_:x{self.count}"

    def targets(self, shape: str) -> None:
        rng = self.rng
        for _ in range(rng.randrange(1, 3)):
            kind = rng.choice(("Node", "Node", "Class", "SubjectsOf", "ObjectsOf", "implicit"))
            if kind == "Node":
                hub = rng.random() < 0.6
                term = NODES[0] if hub else rng.choice(NODES[:5] + self.literals)
                self.add(shape, "targetNode", term)
            elif kind == "Class":
                self.add(shape, "targetClass", rng.choice(CLASSES))
            elif kind == "implicit":
                rdfs_class = iri("http://www.w3.org/2000/01/rdf-schema#Class")
                self.shapes.append((shape, TYPE, rdfs_class))
                self.shapes.append((shape, TYPE, self.type_of(shape)))
            else:
                self.add(shape, f"target{kind}", rng.choice(LINKS + VALUES))

    def type_of(self, shape: str) -> str:
        is_property = any(s == shape and p == sh("path") for s, p, _ in self.shapes)
        return sh("PropertyShape" if is_property else "NodeShape")

    def header(self, shape: str) -> None:
        if self.rng.random() < 0.15:
            self.add(shape, "severity", self.rng.choice((sh("Warning"), sh("Info"), ex("odd"))))
        if self.rng.random() < 0.05:
            self.add(shape, "deactivated", typed("true", "boolean"))
        if self.rng.random() < 0.1:
            self.add(shape, "message", literal("so it is", language="en"))

    def fill_node_shape(self, shape: str, depth: int) -> None:
        self.header(shape)
        for _ in range(self.rng.randrange(1, 3)):
            self.constraint(shape, depth, path=None)

    def fill_property_shape(self, shape: str, depth: int) -> None:
        self.header(shape)
        path = self.rng.choice(VALUES) if self.rng.random() < 0.3 else self.path(2)
        self.add(shape, "path", path)
        for _ in range(self.rng.randrange(1, 3)):
            self.constraint(shape, depth, path=path)

    def a_shape(self, depth: int, kind: str = "any") -> str:
        shape = self.fresh()
        if kind == "property" or (kind == "any" and self.rng.random() < 0.5):
            self.fill_property_shape(shape, depth + 1)
        else:
            self.fill_node_shape(shape, depth + 1)
        return shape

    def a_list(self, members: list[str]) -> str:
        head = iri(RDF + "nil")
        for member in reversed(members):
            node = self.fresh()
            self.shapes.append((node, iri(RDF + "first"), member))
            self.shapes.append((node, iri(RDF + "rest"), head))
            head = node
        return head

    def path(self, depth: int, *, inverted: bool = False) -> str:
        rng = self.rng
        kind = rng.choice(("hop", "hop", "seq", "alt", "inv", "star", "plus", "opt"))
        if depth == 0 or kind == "hop" or (inverted and kind == "seq"):
            return rng.choice(LINKS + VALUES + ([TYPE] if rng.random() < 0.1 else []))
        if kind in ("seq", "alt"):
            parts = [self.path(depth - 1, inverted=inverted) for _ in range(rng.randrange(2, 4))]
            members = self.a_list(parts)
            if kind == "seq":
                return members
            return self.one("alternativePath", members)
        if kind == "inv":
            return self.one("inversePath", self.path(depth - 1, inverted=True))
        names = {"star": "zeroOrMorePath", "plus": "oneOrMorePath", "opt": "zeroOrOnePath"}
        return self.one(names[kind], self.path(depth - 1, inverted=inverted))

    def one(self, name: str, value: str) -> str:
        node = self.fresh()
        self.add(node, name, value)
        return node

    def once(self, shape: str, name: str, value: str) -> None:
        """Add a value of a property that may have only one."""
        if not any(s == shape and p == sh(name) for s, p, _ in self.shapes):
            self.add(shape, name, value)

    def number(self, top: int) -> str:
        return typed(str(self.rng.randrange(top)), "integer")

    def constraint(self, shape: str, depth: int, path: str | None) -> None:
        options = ["type", "range", "string", "pair", "other"]
        if depth < 3:
            options += ["logic", "logic", "shape", "shape"]
        if path is not None:
            options += ["count", "many"]
        if path in VALUES:
            options += ["pair", "pair", "many", "many", "many"]
        getattr(self, "add_" + self.rng.choice(options))(shape, depth, path)

    def add_type(self, shape: str, depth: int, path: str | None) -> None:
        match self.rng.randrange(3):
            case 0:
                self.add(shape, "class", self.rng.choice(CLASSES))
            case 1:
                self.once(shape, "datatype", iri(XSD + self.rng.choice(DATATYPES)))
            case _:
                self.once(shape, "nodeKind", sh(self.rng.choice(KINDS)))

    def add_count(self, shape: str, depth: int, path: str | None) -> None:
        self.once(shape, self.rng.choice(("minCount", "maxCount")), self.number(3))

    def add_range(self, shape: str, depth: int, path: str | None) -> None:
        bounds = NUMBERS[:-1] + (STRINGS if self.ordered else MOMENTS + ODD[:1])
        side, kind = self.rng.choice(("min", "max")), self.rng.choice(("Inclusive", "Exclusive"))
        self.once(shape, side + kind, self.rng.choice(bounds))

    def add_string(self, shape: str, depth: int, path: str | None) -> None:
        match self.rng.randrange(4):
            case 0:
                self.once(shape, "minLength", typed(str(self.rng.randrange(1, 4)), "integer"))
            case 1:
                self.once(shape, "maxLength", self.number(20))
            case 2:
                pattern, flags = self.rng.choice(PATTERNS)
                self.once(shape, "pattern", literal(pattern))
                if flags:
                    self.once(shape, "flags", literal(flags))
            case _:
                tags = self.rng.sample(("en", "fr", "en-US", "de", "*"), 2)
                self.once(shape, "languageIn", self.a_list([literal(tag) for tag in tags]))

    def add_pair(self, shape: str, depth: int, path: str | None) -> None:
        names = ["equals", "disjoint", "disjoint"]
        if self.ordered and path in VALUES:
            names += ["lessThan", "lessThanOrEquals"] * 3
        name = self.rng.choice(names)
        predicates = VALUES if name.startswith("less") else VALUES + LINKS
        self.add(shape, name, self.rng.choice(predicates))

    def add_many(self, shape: str, depth: int, path: str | None) -> None:
        if self.rng.random() < 0.6 or depth >= 3:
            self.once(shape, "uniqueLang", typed("true", "boolean"))
            return
        self.once(shape, "qualifiedValueShape", self.a_shape(depth))
        for name in self.rng.sample(("qualifiedMinCount", "qualifiedMaxCount"), 2)[:1]:
            self.once(shape, name, self.number(3))
        if self.rng.random() < 0.5:
            self.once(shape, "qualifiedValueShapesDisjoint", typed("true", "boolean"))

    def add_logic(self, shape: str, depth: int, path: str | None) -> None:
        name = self.rng.choice(("not", "and", "or", "xone"))
        if name == "not":
            self.add(shape, "not", self.a_shape(depth))
            return
        members = [self.a_shape(depth) for _ in range(self.rng.randrange(1, 4))]
        if name == "xone" and self.rng.random() < 0.2:
            members.append(members[0])
        self.add(shape, name, self.a_list(members))

    def add_shape(self, shape: str, depth: int, path: str | None) -> None:
        if self.rng.random() < 0.3:
            self.add(shape, "node", self.a_shape(depth, "node"))
            return
        for _ in range(self.rng.randrange(1, 3)):
            self.add(shape, "property", self.a_shape(depth, "property"))

    def add_other(self, shape: str, depth: int, path: str | None) -> None:
        terms = NODES + self.literals
        match self.rng.randrange(3):
            case 0:
                self.add(shape, "hasValue", self.rng.choice(terms))
            case 1:
                chosen = self.rng.sample(terms, self.rng.randrange(1, 6))
                self.once(shape, "in", self.a_list(chosen))
            case _:
                self.once(shape, "closed", typed("true", "boolean"))
                if self.rng.random() < 0.7:
                    ignored = self.rng.sample([TYPE, *LINKS, *VALUES], 2)
                    self.once(shape, "ignoredProperties", self.a_list(ignored))
