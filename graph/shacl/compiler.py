"""Compilation of a shapes graph: which nodes are shapes, what they say, whether it is well-formed.

https://www.w3.org/TR/shacl/#shapes
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from typing import Final, Generic, TypeVar

from leastwise.graph.shacl import (
    cardinality,
    logical,
    other,
    property_pair,
    shape_based,
    string_based,
    value_range,
    value_type,
)
from leastwise.graph.shacl.constraint import Constraint
from leastwise.graph.shacl.demands import demands_of, named_by
from leastwise.graph.shacl.discovery import find_shapes, refuse_other_languages
from leastwise.graph.shacl.errors import ShapesGraphError, UnsupportedConstruct
from leastwise.graph.shacl.path_syntax import read_path
from leastwise.graph.shacl.paths import (
    CompiledPath,
    Inverse,
    Path,
    Predicate,
    Repeat,
    Repetition,
    Sequence,
    path_text,
    to_step,
)
from leastwise.graph.shacl.reader import ShapeReader
from leastwise.graph.shacl.shape_based import Node, Property
from leastwise.graph.shacl.shapes import CompiledShapes, Criterion, Shape, Targets
from leastwise.graph.shacl.shapes_graph import ShapesGraph
from leastwise.graph.shacl.terms import split_literal
from leastwise.graph.shacl.triples import Triples
from leastwise.graph.shacl.vocabulary import (
    ANNOTATIONS,
    PARAMETERS,
    RDF_TYPE,
    RDFS_SUBCLASS_OF,
    SH,
    TARGETS,
    XSD,
    sh,
    short,
)

__all__ = ["compile_shapes"]

_SECTIONS: Final = (
    cardinality.read,
    other.read,
    value_type.read,
    value_range.read,
    string_based.read,
    property_pair.read,
    shape_based.read,
    logical.read,
)
_CLASSES: Final = Sequence(
    (Predicate(RDF_TYPE), Repetition(Predicate(RDFS_SUBCLASS_OF), Repeat.ZERO_OR_MORE))
)

_Item = TypeVar("_Item", bound=Hashable)


def compile_shapes(shapes: Triples) -> CompiledShapes:
    """Check a shapes graph and compile it.

    Raises:
        ShapesGraphError: if a shape is ill-formed.
        UnsupportedConstruct: if something outside SHACL Core is used.

    """
    graph = ShapesGraph(shapes)
    refuse_other_languages(graph)
    return _Compiler(graph).run()


class _Pool(Generic[_Item]):
    """Distinct items, numbered in order of first sight, with how often each was asked for."""

    __slots__ = ("_index", "items", "uses")

    def __init__(self) -> None:
        self._index: dict[_Item, int] = {}
        self.items: list[_Item] = []
        self.uses: list[int] = []

    def add(self, item: _Item) -> int:
        index = self._index.setdefault(item, len(self.items))
        if index == len(self.items):
            self.items.append(item)
            self.uses.append(0)
        self.uses[index] += 1
        return index


class _Compiler:
    """Collects the pieces; one per shapes graph."""

    def __init__(self, graph: ShapesGraph) -> None:
        self._graph = graph
        self._classes = graph.instances("<http://www.w3.org/2000/01/rdf-schema#Class>")
        self._typed = {name: graph.instances(sh(name)) for name in ("NodeShape", "PropertyShape")}
        self._open: list[str] = []
        self._done: dict[str, int] = {}
        self._shapes: list[Shape] = []
        self._constants: _Pool[str] = _Pool()
        self._paths: _Pool[Path] = _Pool()
        self._constraints: _Pool[Constraint] = _Pool()
        self._criteria: _Pool[tuple[int, tuple[int, ...]]] = _Pool()
        self._costs: list[int] = []
        self._references: dict[int, int] = {}
        self._targets: _Pool[Targets] = _Pool()
        self._severities: _Pool[str] = _Pool()
        self._paths.add(_CLASSES)  # CLASS_PATH and INSTANCE_PATH
        self._paths.add(Inverse(_CLASSES))

    def run(self) -> CompiledShapes:
        """Compile all shapes of the graph."""
        for node in find_shapes(self._graph):
            self.shape_index(node)
        paths = tuple(
            CompiledPath(path, to_step(path, self.constant), path_text(path), uses)
            for path, uses in zip(self._paths.items, self._paths.uses, strict=True)
        )
        constraints = tuple(self._constraints.items)
        constants = tuple(self._constants.items)
        terms = self._graph.terms
        criteria = tuple(
            Criterion(path, asked, self._references.get(index, 0))
            for index, (path, asked) in enumerate(self._criteria.items)
        )
        return CompiledShapes(
            shapes=tuple(self._shapes),
            aimed=tuple(
                index
                for index, shape in enumerate(self._shapes)
                if shape.targets >= 0 and not shape.deactivated
            ),
            demands=tuple(demands_of(shape, criteria, constraints) for shape in self._shapes),
            criteria=criteria,
            named=tuple(named_by(one, constraints) for one in criteria),
            constraints=constraints,
            paths=paths,
            targets=tuple(self._targets.items),
            components=tuple(dict.fromkeys(c.component for c in constraints)),
            severities=tuple(self._severities.items),
            constants=constants,
            constant_ids=tuple(terms.find_many(constants).tolist()),
            terms=terms,
            term_count=len(terms),
        )

    def constant(self, term: str) -> int:
        """Return the index of a constant, adding it if new."""
        return self._constants.add(term)

    def predicate_path(self, iri: str) -> int:
        """Return the path index of a predicate path."""
        return self._paths.add(Predicate(iri))

    def by_cost(self, criteria: Iterable[int]) -> tuple[int, ...]:
        """Return the criteria, the cheapest first."""
        return tuple(sorted(criteria, key=self._costs.__getitem__))

    def refer(self, shape: str, parameter: str, node: str) -> int:
        """Return the criterion of a shape that `shape` refers to through `parameter`."""
        if node[0] == '"':
            raise ShapesGraphError(
                shape, f"sh:{parameter}", node, "a shape (IRI or blank node)", "def-shape"
            )
        has_path = bool(self._graph.values(node, sh("path")))
        if parameter == "property" and not has_path:
            found, accepted = f"{node}, which has no sh:path", "a property shape"
            raise ShapesGraphError(
                shape, "sh:property", found, accepted, "syntax-rule-property-node"
            )
        if parameter == "node" and has_path:
            found, accepted = f"{node}, which has a sh:path", "a node shape"
            raise ShapesGraphError(shape, "sh:node", found, accepted, "syntax-rule-node-node")
        criterion = self._shapes[self.shape_index(node)].criterion
        self._references[criterion] = self._references.get(criterion, 0) + 1
        return criterion

    def shape_index(self, node: str) -> int:
        """Return the index of a shape, compiling it if need be."""
        if node in self._done:
            return self._done[node]
        if node in self._open:
            cycle = " -> ".join((*self._open[self._open.index(node) :], node))
            accepted = "a shape that does not refer to itself through other shapes"
            raise ShapesGraphError(node, "a shape reference", f"recursive ({cycle})", accepted,
                                   "shapes-recursion")  # fmt: skip
        self._open.append(node)
        shape = self._compile(ShapeReader(self._graph, node, self), node)
        self._open.pop()
        self._shapes.append(shape)
        self._done[node] = len(self._shapes) - 1
        return self._done[node]

    def _compile(self, reader: ShapeReader, node: str) -> Shape:
        _refuse_unknown(reader, node)
        path = self._path(reader, node)
        severities = reader.iris("severity", "severity", at_most=1)
        deactivated = reader.boolean("deactivated", "deactivated")
        if deactivated not in ("true", "false", ""):
            raise reader.ill_formed(
                "deactivated",
                f'"{deactivated}"',
                "true or false",
                "syntax-rule-deactivated-datatype",
            )
        targets = self._read_targets(reader, node)
        constraints = [constraint for section in _SECTIONS for constraint in section(reader)]
        return Shape(
            node=node,
            path=path,
            deactivated=deactivated == "true",
            severity=self._severities.add(severities[0] if severities else sh("Violation")),
            messages=tuple(_messages(reader)),
            targets=self._targets.add(targets) if targets else -1,
            constraints=tuple(self._constraints.add(constraint) for constraint in constraints),
            criterion=self._criterion(path, () if deactivated == "true" else constraints),
        )

    def _criterion(self, path: int, constraints: Iterable[Constraint]) -> int:
        """Return the criterion of a shape, shared with every shape that asks the same.

        For conformance sh:property asks of a value node what sh:node asks, and a node shape that
        asks nothing but that is the same as the shape it refers to.
        """
        asked = []
        for constraint in constraints:
            if isinstance(constraint, Property | Node):
                asked.append(self._constraints.add(Node(constraint.criterion, "")))
                only = constraint.criterion
            else:
                asked.append(self._constraints.add(constraint))
        kinds = self._constraints.items
        if path < 0 and len(set(asked)) == 1 and isinstance(kinds[asked[0]], Node):
            return only
        costs = {index: self._cost(kinds[index]) for index in asked}
        order = tuple(sorted(costs, key=lambda index: (costs[index], index)))
        criterion = self._criteria.add((path, order))
        if criterion == len(self._costs):
            simple = path < 0 or isinstance(self._paths.items[path], Predicate)
            self._costs.append(sum(costs.values()) + (0 if simple else 1))
        return criterion

    def _cost(self, constraint: Constraint) -> int:
        return constraint.cost + sum(self._costs[inner] for inner in constraint.asks())

    def _path(self, reader: ShapeReader, node: str) -> int:
        """Return the path index of a shape, after checking what kind of shape it is.

        https://www.w3.org/TR/shacl/#node-shapes, https://www.w3.org/TR/shacl/#property-shapes
        """
        paths = reader.values("path", "syntax-rule-path-maxCount", at_most=1)
        if paths and node in self._typed["NodeShape"]:
            raise reader.ill_formed(
                "path", paths[0], "no path on a sh:NodeShape", "syntax-rule-NodeShape-path-maxCount"
            )
        if not paths and node in self._typed["PropertyShape"]:
            raise reader.ill_formed(
                "path", "missing", "one path on a sh:PropertyShape",
                "syntax-rule-PropertyShape-path-minCount",
            )  # fmt: skip
        return self._paths.add(read_path(self._graph, node, paths[0])) if paths else -1

    def _read_targets(self, reader: ShapeReader, node: str) -> Targets:
        nodes = reader.values("targetNode", "targetNode")
        for term in nodes:
            if term[0] == "_":
                raise reader.ill_formed("targetNode", term, "an IRI or a literal", "targetNode")
        classes = reader.iris("targetClass", "targetClass")
        if node in self._classes:
            if node[0] != "<":
                anchor = "implicit-targetClass"
                raise ShapesGraphError(node, "rdf:type", "rdfs:Class", "an IRI as class", anchor)
            classes = [*classes, node]
        kinds = (
            nodes,
            classes,
            reader.iris("targetSubjectsOf", "targetSubjectsOf"),
            reader.iris("targetObjectsOf", "targetObjectsOf"),
        )
        return Targets(*(tuple(sorted({self.constant(t) for t in terms})) for terms in kinds))


def _refuse_unknown(reader: ShapeReader, node: str) -> None:
    """Refuse a property in the SHACL namespace that Core gives no meaning to on a shape."""
    known = PARAMETERS | ANNOTATIONS | set(TARGETS)
    for predicate in reader.predicates():
        if predicate.startswith(f"<{SH}") and predicate[len(SH) + 1 : -1] not in known:
            raise UnsupportedConstruct(node, short(predicate))


def _messages(reader: ShapeReader) -> Iterator[str]:
    for term in reader.values("message", "message"):
        if term[0] == '"':
            _, datatype, language = split_literal(term)
            if language or datatype == f"{XSD}string":
                yield term
                continue
        raise reader.ill_formed("message", term, "a string, with or without language", "message")
