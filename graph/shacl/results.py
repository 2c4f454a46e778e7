"""Validation results as columns."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from leastwise.graph.shacl.terms import Ids, TermTable

if TYPE_CHECKING:
    from leastwise.graph.shacl.shapes import CompiledShapes

__all__ = ["ResultRow", "Results"]


class ResultRow(NamedTuple):
    """One validation result, spelled out in term strings."""

    focus: str
    path: str | None  # a predicate as "<iri>", another path in SPARQL notation
    value: str | None
    shape: str
    component: str
    severity: str
    messages: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Results:
    """The results of one evaluation: parallel int32 columns, one row per sh:ValidationResult.

    Attributes:
        compiled: the shapes evaluated; the other columns point into its tuples.
        terms: the term table that numbers `focus`, `value` and `predicate` (it extends the
            data's table, by the nodes named only in sh:targetNode).
        focus: term id of the focus node.
        value: term id of the value node, or -1.
        shape: index into `compiled.shapes` (the source shape).
        constraint: index into `compiled.constraints` (the component with its parameters).
        component: index into `compiled.components` (IRI terms).
        path: index into `compiled.paths`, or -1.
        predicate: term id of the predicate sh:closed objects to, otherwise -1.
        severity: index into `compiled.severities` (IRI terms).

    """

    compiled: CompiledShapes
    terms: TermTable
    focus: Ids
    value: Ids
    shape: Ids
    constraint: Ids
    component: Ids
    path: Ids
    predicate: Ids
    severity: Ids

    @property
    def conforms(self) -> bool:
        """Whether there is no result at all, of whatever severity.

        https://www.w3.org/TR/shacl/#results-validation-report
        """
        return self.focus.size == 0

    def __len__(self) -> int:
        return int(self.focus.size)

    def __iter__(self) -> Iterator[ResultRow]:
        return (self.row(i) for i in range(len(self)))

    def row(self, index: int) -> ResultRow:
        """Return result number `index` spelled out; IndexError beyond the end."""
        shape = self.compiled.shapes[self.shape[index]]
        value, path, predicate = (int(c[index]) for c in (self.value, self.path, self.predicate))
        where = self.compiled.paths[path].text if path >= 0 else None
        return ResultRow(
            focus=self.terms[int(self.focus[index])],
            path=self.terms[predicate] if predicate >= 0 else where,
            value=self.terms[value] if value >= 0 else None,
            shape=shape.node,
            component=self.compiled.components[self.component[index]],
            severity=self.compiled.severities[self.severity[index]],
            messages=shape.messages,
        )
