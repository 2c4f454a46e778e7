"""Reviewers' arguments in the argument graph, and the verdict that follows with them.

A reviewer may attack the option (a further argument against it), what a rule says of it (a
rebuttal), or what another reviewer said. The arguments enter a copy of the option's graph, the
grounded labelling is made anew (Dung 1995, as in ``argument.py``), and the result is shown as
the reviewers', beside ours and never instead of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import networkx as nx

from leastwise.graph.weighing.argument import Argument, ArgumentGraph, grounded_labelling
from leastwise.graph.weighing.findings import Finding

__all__ = [
    "OPTION",
    "ReviewedVerdict",
    "ReviewerArgument",
    "Standing",
    "finding_key",
    "reviewed",
    "with_reviewers",
]

OPTION = "option"


@dataclass(frozen=True, slots=True)
class ReviewerArgument:
    """One argument of a reviewer.

    *attacks* is ``option``, a finding by :func:`finding_key`, or the id of another reviewer's
    argument. *claims* are claims of the knowledge that it rests on; there may be none.
    """

    id: str
    by: str
    attacks: str
    text: str
    claims: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Standing:
    """A reviewer's argument with its label: *in*, *out*, *undecided*, or *lost* (no target)."""

    id: str
    by: str
    text: str
    label: str


@dataclass(frozen=True, slots=True)
class ReviewedVerdict:
    """The verdict of the knowledge alone, and with the reviewers' arguments."""

    option: str
    ours: str
    theirs: str
    standing: tuple[Standing, ...]
    in_words: str


def finding_key(finding: Finding) -> str:
    """Return what a finding is known by from one weighing to the next.

    The ways by which an agent arrives are left out: a rebuttal holds for all of them.
    """
    return "|".join((finding.rule.id, finding.part, finding.material, finding.agent))


def with_reviewers(
    graph: ArgumentGraph, added: Sequence[ReviewerArgument]
) -> tuple[ArgumentGraph, list[str]]:
    """Return the graph with the reviewers' arguments, and the ids of those that find no target."""
    attacks: nx.DiGraph[str] = graph.attacks.copy()
    arguments = dict(graph.arguments)
    targets: dict[str, list[str]] = {OPTION: ["option"]}
    for name, argument in graph.arguments.items():
        if argument.finding is not None:
            targets.setdefault(finding_key(argument.finding), []).append(name)
    for one in added:
        targets[one.id] = [_name(one)]
    lost = []
    for one in added:
        if one.attacks not in targets:
            lost.append(one.id)
            continue
        arguments[_name(one)] = Argument(_name(one), "reviewer", one.text)
        attacks.add_edges_from((_name(one), victim) for victim in targets[one.attacks])
    # what attacks only an argument that found no target has nothing to attack either
    while True:
        adrift = [
            one
            for one in added
            if one.id not in lost
            and any(_name(other) not in arguments for other in added if other.id == one.attacks)
        ]
        if not adrift:
            break
        for one in adrift:
            lost.append(one.id)
            del arguments[_name(one)]
            attacks.remove_node(_name(one))
    attacks.remove_nodes_from([node for node in attacks if node not in arguments])
    return ArgumentGraph(attacks, arguments, grounded_labelling(attacks)), lost


def reviewed(
    option: str, graph: ArgumentGraph, added: Sequence[ReviewerArgument]
) -> ReviewedVerdict:
    """Return both verdicts on an option, with how each reviewer's argument stands."""
    theirs, lost = with_reviewers(graph, added)
    standing = [
        Standing(one.id, one.by, one.text, "lost" if one.id in lost else theirs.labels[_name(one)])
        for one in added
    ]
    return ReviewedVerdict(
        option,
        graph.verdict,
        theirs.verdict,
        tuple(standing),
        _words(graph.verdict, theirs.verdict, added),
    )


def _name(one: ReviewerArgument) -> str:
    return f"reviewer-{one.id}"


def _words(ours: str, theirs: str, added: Sequence[ReviewerArgument]) -> str:
    if not added:
        return f"{ours[0].upper()}{ours[1:]}; no reviewer has argued otherwise."
    people = list(dict.fromkeys(one.by for one in added))
    who = " and ".join([", ".join(people[:-1]), people[-1]] if len(people) > 1 else people)
    if ours == theirs:
        return f"{ours[0].upper()}{ours[1:]} by the knowledge, and still so with what {who} says."
    return f"{ours[0].upper()}{ours[1:]} by the knowledge; {theirs} with what {who} says."
