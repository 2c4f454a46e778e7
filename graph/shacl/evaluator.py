"""Evaluation of compiled shapes over a data graph, a set of nodes at a time.

https://www.w3.org/TR/shacl/#validation
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from leastwise.graph.shacl.bits import Bits
from leastwise.graph.shacl.constraint import INSTANCE_PATH, Constraint, Rows
from leastwise.graph.shacl.nodes import Nodes, View
from leastwise.graph.shacl.ordering import Comparable, Family, OrderColumn, comparable
from leastwise.graph.shacl.path_evaluation import Pairs, PathWalker, distinct_ids
from leastwise.graph.shacl.paths import Chain, Step
from leastwise.graph.shacl.results import Results
from leastwise.graph.shacl.shape_based import Property
from leastwise.graph.shacl.shapes import CompiledShapes, Criterion, Demand, Targets
from leastwise.graph.shacl.terms import Flags, Ids, Positions, split_literal
from leastwise.graph.shacl.triples import Triples, distinct, spans

__all__ = ["evaluate"]

# A question about a part of a set costs as much as this many nodes more; if all the questions
# expected cost more than one about the whole set, that one is asked, and the answer kept.
_OVERHEAD = 1000
_NOT_A_LITERAL = Comparable(Family.NONE, 0.0, exact=False, value=None)


def evaluate(compiled: CompiledShapes, data: Triples) -> Results:
    """Validate a data graph against compiled shapes and return the results as columns.

    The data may be numbered in any term table; if it extends the table the shapes were numbered
    in, the shapes need no looking up. Nothing is kept in `compiled`; what is kept in `data` is the
    index of the predicates that the shapes mention.
    """
    evaluation = _Evaluation(compiled, data)
    blocks = [
        block
        for index in compiled.aimed
        for block in evaluation.validate(index, compiled.demands[index])
    ]
    return _results(compiled, evaluation, blocks)


@dataclass(frozen=True, slots=True, eq=False)
class _Block:
    """Results of one constraint of one shape; `place` is where the asked node stood in its set."""

    place: Positions
    focus: Ids
    value: Ids
    predicate: Ids
    shape: int
    constraint: int

    def moved(self, rows: Positions, place: Positions) -> _Block:
        """Return the given rows of the block, as results of asking about other places."""
        return replace(
            self,
            place=place,
            focus=self.focus[rows],
            value=self.value[rows],
            predicate=self.predicate[rows],
        )


class _Evaluation:
    """One run: the data graph with every conclusion drawn about it so far."""

    def __init__(self, compiled: CompiledShapes, data: Triples) -> None:
        self._compiled = compiled
        self.terms_table = data.terms
        self._constants = compiled.constants_in(data.terms)
        self._name_targets()
        self._walker = PathWalker(data.blocks, self._constants, len(self.terms_table))
        self._literals: dict[int, tuple[str, str, str] | None] = {}
        self._focus: dict[int, Nodes] = {}
        self._reached: dict[tuple[int, int], frozenset[int]] = {}

    def _name_targets(self) -> None:
        """Give an id to target nodes that the data does not mention: they are focus nodes still."""
        wanted = {i for targets in self._compiled.targets for i in targets.nodes}
        missing = sorted(i for i in wanted if self._constants[i] < 0)
        if missing:
            self.terms_table = self.terms_table.child()
            for i in missing:
                self._constants[i] = self.terms_table.intern(self._compiled.constants[i])

    # What constraints ask: see the protocol Engine.

    def constant(self, index: int) -> int:
        return self._constants[index]

    def view(self, nodes: Nodes, path: int) -> View:
        found = nodes.views.get(path)
        if found is None:
            found = nodes.views[path] = self._walk(nodes, path)
        return found

    def _walk(self, nodes: Nodes, path: int) -> View:
        if path < 0:
            return View.of_node_shape(nodes)
        pairs = self._pairs(nodes, self._compiled.paths[path].step)
        ids, place = distinct_ids(pairs.value, len(self.terms_table))
        return View(nodes.size, nodes, pairs.owner, place, Nodes(ids))

    def _pairs(self, nodes: Nodes, step: Step) -> Pairs:
        """Return what is reached from the nodes; steps that several paths begin with go once."""
        if not isinstance(step, Chain):
            return self._walker.pairs(step, nodes.ids)
        return self._begun(nodes, step.steps)

    def _begun(self, nodes: Nodes, steps: tuple[Step, ...]) -> Pairs:
        known = nodes.walked.get(steps)
        if known is None:
            if len(steps) == 1:
                known = self._walker.pairs(steps[0], nodes.ids)
            else:
                known = self._walker.then(self._begun(nodes, steps[:-1]), steps[-1])
            nodes.walked[steps] = known
        return known

    def conforms(self, criterion: int, nodes: Nodes, chosen: Positions | None) -> Flags:
        known = nodes.verdicts.get(criterion)
        if known is not None:
            return known if chosen is None else known[chosen]
        asked = self._compiled.criteria[criterion]
        if chosen is not None and self._is_few(chosen.size, asked.uses, nodes):
            return self._decide(asked, nodes, chosen)
        flags = nodes.verdicts[criterion] = self._decide(asked, nodes, None)
        return flags if chosen is None else flags[chosen]

    def _decide(self, criterion: Criterion, nodes: Nodes, chosen: Positions | None) -> Flags:
        if chosen is not None and criterion.path >= 0 and criterion.path not in nodes.views:
            uses = self._compiled.paths[criterion.path].uses
            if self._is_few(chosen.size, uses, nodes):  # not worth walking from the other nodes
                nodes, chosen = Nodes(nodes.ids[chosen]), None
        view = self.view(nodes, criterion.path)
        flags: Flags | None = None
        for index in criterion.constraints:
            constraint = self._compiled.constraints[index]
            if flags is None:
                flags = constraint.holds(self, view, chosen)
                continue
            alive = flags.nonzero()[0]
            if alive.size == 0:
                return flags
            verdict = constraint.holds(self, view, alive if chosen is None else chosen[alive])
            flags = np.zeros(flags.size, dtype=np.bool_)
            flags[alive[verdict]] = True
        size = nodes.size if chosen is None else chosen.size
        return np.ones(size, dtype=np.bool_) if flags is None else flags

    def meeting(self, criterion: int, nodes: Nodes, alive: Bits) -> Bits:
        known = nodes.meeting.get(criterion)
        if known is not None:
            return known & alive
        asked = self._compiled.criteria[criterion]
        if alive != nodes.every and self._is_few(alive.bit_count(), asked.uses, nodes):
            return self._among(asked, nodes, alive)
        found = nodes.meeting[criterion] = self._among(asked, nodes, nodes.every)
        return found & alive

    def _among(self, asked: Criterion, nodes: Nodes, alive: Bits) -> Bits:
        if alive != nodes.every and asked.path >= 0 and asked.path not in nodes.views:
            uses = self._compiled.paths[asked.path].uses
            if self._is_few(alive.bit_count(), uses, nodes):
                return nodes.flagged(alive, lambda chosen: self._decide(asked, nodes, chosen))
        view = self.view(nodes, asked.path)
        for index in asked.constraints:
            if not alive:
                break
            alive = self._compiled.constraints[index].among(self, view, alive)
        return alive

    @staticmethod
    def _is_few(number: int, uses: int, nodes: Nodes) -> bool:
        """Return whether asking of so many nodes, so often, costs less than asking of all once."""
        return (number + _OVERHEAD) * uses < nodes.size

    def named(self, criterion: int) -> tuple[int, ...] | None:
        return self._compiled.named[criterion]

    def terms(self, ids: Ids) -> Sequence[str]:
        return self.terms_table.take(ids)

    def literals(self, ids: Ids) -> Sequence[tuple[str, str, str] | None]:
        known = self._literals
        out = []
        for index in ids.tolist():
            if index not in known:
                term = self.terms_table[index]
                known[index] = split_literal(term) if term[0] == '"' else None
            out.append(known[index])
        return out

    def order(self, nodes: Nodes) -> OrderColumn:
        if nodes.order is None:
            parts = self.literals(nodes.ids)
            items = [_NOT_A_LITERAL if part is None else comparable(*part) for part in parts]
            nodes.order = OrderColumn.of(items)
        return nodes.order

    def outgoing(self, ids: Ids) -> tuple[Positions, Ids, Ids]:
        found: list[tuple[Positions, Ids, Ids]] = []
        for block in self._walker.blocks:
            s, p, o = block.outgoing()
            first = np.searchsorted(s, ids)
            counts = np.searchsorted(s, ids, side="right") - first
            rows = spans(first, counts)
            found.append((np.repeat(np.arange(ids.size), counts), p[rows], o[rows]))
        if not found:
            return np.empty(0, dtype=np.intp), ids[:0], ids[:0]
        place, p, o = (np.concatenate(columns) for columns in zip(*found, strict=True))
        order = np.lexsort((o, p, place))
        place, p, o = place[order], p[order], o[order]
        fresh = np.ones(place.size, dtype=np.bool_)
        fresh[1:] = (place[1:] != place[:-1]) | (p[1:] != p[:-1]) | (o[1:] != o[:-1])
        return place[fresh], p[fresh], o[fresh]

    # Results.

    def validate(self, index: int, demands: Sequence[Demand] = ()) -> Iterator[_Block]:
        """Yield the results of a shape (an index) that has targets, at these.

        None are possible, and nothing is asked, where a demand of the shape isn't met.
        """
        shape = self._compiled.shapes[index]
        nodes = self._focus.get(shape.targets)
        if nodes is None:
            ids = self._focus_ids(self._compiled.targets[shape.targets])
            nodes = self._focus[shape.targets] = Nodes(ids)
        for number, one in enumerate(demands):
            if not self._is_met(one, shape.targets, nodes, number):
                return
        yield from self._violations(index, nodes)

    def _is_met(self, demand: Demand, targets: int, nodes: Nodes, number: int) -> bool:
        """Return whether any node reaches what is demanded; True where that is dear to find out.

        The first demand is what the shape asks first, of all nodes; the others may come to be
        asked of a few, so that walking from all of them might be in vain.
        """
        known = self._reached.get((targets, demand.path))
        if known is None:
            if number and nodes.size > _OVERHEAD and demand.path not in nodes.views:
                return True
            ids = self.view(nodes, demand.path).nodes.ids
            known = self._reached[targets, demand.path] = frozenset(ids.tolist())
        return not known.isdisjoint(map(self._constants.__getitem__, demand.constants))

    def _focus_ids(self, targets: Targets) -> Ids:
        """Return the focus nodes of target declarations, ascending and distinct.

        https://www.w3.org/TR/shacl/#targets
        """
        found = [np.array([self._constants[i] for i in targets.nodes], dtype=np.int32)]
        classes = np.array([self._constants[i] for i in targets.classes], dtype=np.int32)
        classes = distinct(classes[classes >= 0])
        if classes.size:
            step = self._compiled.paths[INSTANCE_PATH].step
            found.append(self._walker.pairs(step, classes).value)
        for block in self._walker.blocks:
            found += [block.forward(self._constants[i]).left for i in targets.subjects_of]
            found += [block.backward(self._constants[i]).left for i in targets.objects_of]
        return distinct_ids(np.concatenate(found), len(self.terms_table))[0]

    def _violations(self, number: int, nodes: Nodes) -> Iterator[_Block]:
        """Yield the results of validating each of `nodes` against a shape (an index)."""
        shape = self._compiled.shapes[number]
        if shape.deactivated or nodes.size == 0:
            return
        view = self.view(nodes, shape.path)
        for index in shape.constraints:
            constraint = self._compiled.constraints[index]
            if constraint.__class__ is Property:
                for block in self._violations(constraint.shape, view.nodes):
                    yield block if view.identity else block.moved(*view.expand(block.place))
            else:
                yield from _block(constraint.rows(self, view), nodes, number, index)


def _block(rows: Rows, nodes: Nodes, shape: int, constraint: int) -> Iterator[_Block]:
    if rows.focus.size:
        none = np.full(rows.focus.size, -1, dtype=np.int32)
        value = none if rows.value is None else rows.value
        predicate = none if rows.predicate is None else rows.predicate
        focus = nodes.ids[rows.focus]
        yield _Block(rows.focus, focus, value, predicate, shape, constraint)


def _results(
    compiled: CompiledShapes, evaluation: _Evaluation, blocks: Sequence[_Block]
) -> Results:
    sizes = [block.focus.size for block in blocks]
    component_of = {name: index for index, name in enumerate(compiled.components)}

    def joined(columns: Sequence[Ids]) -> Ids:
        return np.concatenate([np.empty(0, dtype=np.int32), *columns])

    def repeated(values: Sequence[int]) -> Ids:
        return np.repeat(np.array(values, dtype=np.int32), sizes)

    constraints: Sequence[Constraint] = compiled.constraints
    predicate = joined([block.predicate for block in blocks])
    shapes = [compiled.shapes[block.shape] for block in blocks]
    path = repeated([shape.path for shape in shapes])
    return Results(
        compiled=compiled,
        terms=evaluation.terms_table,
        focus=joined([block.focus for block in blocks]),
        value=joined([block.value for block in blocks]),
        shape=repeated([block.shape for block in blocks]),
        constraint=repeated([block.constraint for block in blocks]),
        component=repeated(
            [component_of[constraints[block.constraint].component] for block in blocks]
        ),
        path=np.where(predicate < 0, path, -1).astype(np.int32),
        predicate=predicate,
        severity=repeated([shape.severity for shape in shapes]),
    )
