"""Which nodes of a shapes graph are shapes, and whether it stays within SHACL Core."""

from __future__ import annotations

from leastwise.graph.shacl.errors import ShapesGraphError, UnsupportedConstruct
from leastwise.graph.shacl.shapes_graph import NotAListError, ShapesGraph
from leastwise.graph.shacl.vocabulary import (
    LIST_OF_SHAPES,
    OUTSIDE_CORE,
    OUTSIDE_CORE_CLASSES,
    PARAMETERS,
    RDF_TYPE,
    SH,
    SHAPE_VALUED,
    TARGETS,
    sh,
)

__all__ = ["find_shapes", "refuse_other_languages"]


def find_shapes(graph: ShapesGraph) -> list[str]:
    """Return all shapes of the graph, in the order of their terms.

    https://www.w3.org/TR/shacl/#shapes: the instances of sh:NodeShape and sh:PropertyShape, the
    subjects of targets and of parameters, and the shapes that other shapes refer to.
    """
    found = graph.instances(sh("NodeShape")) | graph.instances(sh("PropertyShape"))
    for name in (*TARGETS, *sorted(PARAMETERS)):
        found.update(subject for subject, _ in graph.pairs(sh(name)))
    for name in SHAPE_VALUED:
        found.update(value for _, value in graph.pairs(sh(name)) if value[0] != '"')
    for name in LIST_OF_SHAPES:
        for shape, head in graph.pairs(sh(name)):
            found.update(_shape_members(graph, shape, name, head))
    return sorted(found)


def _shape_members(graph: ShapesGraph, shape: str, name: str, head: str) -> list[str]:
    anchor = f"{name.capitalize()}ConstraintComponent"
    try:
        members = graph.members(head)
    except NotAListError as error:
        raise ShapesGraphError(
            shape, f"sh:{name}", str(error), "a SHACL list of shapes", anchor
        ) from error
    return [member for member in members if member[0] != '"']


def refuse_other_languages(graph: ShapesGraph) -> None:
    """Refuse constructs of SHACL-SPARQL, the Advanced Features and SHACL-JS, wherever they stand.

    What the SHACL vocabulary says of its own terms is left alone, should it be in the graph.

    Raises:
        UnsupportedConstruct: naming the node and the property or class.

    """
    for name in OUTSIDE_CORE:
        for subject, _ in graph.pairs(sh(name)):
            if not subject.startswith(f"<{SH}"):
                raise UnsupportedConstruct(subject, f"sh:{name}")
    beyond = {sh(name): name for name in OUTSIDE_CORE_CLASSES}
    for subject, found in graph.pairs(RDF_TYPE):
        if found in beyond and not subject.startswith(f"<{SH}"):
            raise UnsupportedConstruct(subject, f"sh:{beyond[found]}")
