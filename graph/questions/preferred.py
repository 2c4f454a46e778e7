"""Preferred extensions of a small argument graph: every way of seeing it that holds together.

The grounded labelling is sceptical and decides the verdict. The preferred extensions are the
largest admissible sets: free of conflict, and attacking whatever attacks them (Dung 1995,
Artificial Intelligence 77:321-357, definitions 6 and 7). There may be several; each is a story
that can be defended. Finding them takes time that grows steeply, so that the size is bounded.
"""

from __future__ import annotations

from dataclasses import dataclass

import networkx as nx

from leastwise.graph.errors import LeastwiseError
from leastwise.graph.meanings import Verdict
from leastwise.graph.weighing.argument import Argument, ArgumentGraph

__all__ = [
    "MOST_ARGUMENTS",
    "ArgumentView",
    "ArgumentsView",
    "TooManyArguments",
    "preferred_extensions",
    "view_arguments",
]

MOST_ARGUMENTS = 20


class TooManyArguments(LeastwiseError):  # noqa: N818 - reads as what happened
    """An argument graph that is too large for preferred extensions."""

    def __init__(self, number: int) -> None:
        self.number = number
        super().__init__(
            f"arguments: {number} are not accepted; accepted for preferred extensions are at most "
            f"{MOST_ARGUMENTS}. The grounded labelling stands for any number."
        )


def preferred_extensions(attacks: nx.DiGraph[str]) -> list[frozenset[str]]:
    """Return the preferred extensions, in the alphabetical order of their sorted members.

    An edge a -> b says that a attacks b. There is always at least one; it may be empty.

    >>> [sorted(e) for e in preferred_extensions(nx.DiGraph([("a", "b"), ("b", "a")]))]
    [['a'], ['b']]
    >>> preferred_extensions(nx.DiGraph([("a", "b"), ("b", "c"), ("c", "a")]))
    [frozenset()]

    Raises:
        TooManyArguments: the graph holds more than MOST_ARGUMENTS.

    """
    if len(attacks) > MOST_ARGUMENTS:
        raise TooManyArguments(len(attacks))
    # the most entangled first, so that hopeless branches end early
    nodes = sorted(attacks, key=lambda n: (-attacks.degree(n), n))
    bit = {node: 1 << i for i, node in enumerate(nodes)}
    out = [sum(bit[v] for v in attacks.successors(n)) for n in nodes]
    into = [sum(bit[v] for v in attacks.predecessors(n)) for n in nodes]
    found = _maximal_admissible(out, into)
    named = [frozenset(n for n in nodes if bit[n] & extension) for extension in found]
    return sorted(named, key=sorted)


def _maximal_admissible(out: list[int], into: list[int]) -> list[int]:
    """Return the largest admissible sets as bit masks.

    Each argument is first taken, then left out, so that a set comes before all of its subsets;
    what is part of a set already found need not be looked at.
    """
    number = len(out)
    rest = [sum(1 << j for j in range(i, number)) for i in range(number + 1)]
    reach = [0] * (number + 1)
    for i in reversed(range(number)):
        reach[i] = reach[i + 1] | out[i]
    found: list[int] = []

    def extend(i: int, chosen: int, struck: int, strikers: int) -> None:
        """Decide argument i; *strikers* attack what is chosen and have to be struck back."""
        if strikers & ~struck & ~reach[i]:
            return  # nothing that is left could defend the choice
        most = chosen | (rest[i] & ~struck & ~strikers)
        if any(most & ~known == 0 for known in found):
            return
        if i == number:
            found.append(chosen)
            return
        me = 1 << i
        if not (struck | strikers) & me and not out[i] & (chosen | me):
            extend(i + 1, chosen | me, struck | out[i], strikers | into[i])
        extend(i + 1, chosen, struck, strikers)

    extend(0, 0, 0, 0)
    return found


@dataclass(frozen=True, slots=True)
class ArgumentView:
    """One argument in words, its grounded label and what it attacks."""

    id: str
    kind: str
    text: str
    label: str
    attacks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ArgumentsView:
    """The arguments on one option; *preferred* is None where it wasn't asked for."""

    option: str
    verdict: Verdict
    arguments: tuple[ArgumentView, ...]
    preferred: tuple[tuple[str, ...], ...] | None


def view_arguments(option: str, graph: ArgumentGraph, *, preferred: bool = False) -> ArgumentsView:
    """Return the arguments on an option as plain values.

    Raises:
        TooManyArguments: preferred extensions are asked for of a graph that is too large.

    """
    extensions = None
    if preferred:
        extensions = tuple(tuple(sorted(e)) for e in preferred_extensions(graph.attacks))
    arguments = [
        ArgumentView(
            a.id, a.kind, _words(a), graph.labels[a.id], tuple(sorted(graph.attacks[a.id]))
        )
        for _, a in sorted(graph.arguments.items())
    ]
    return ArgumentsView(option, graph.verdict, tuple(arguments), extensions)


def _words(argument: Argument) -> str:
    e = argument.exposure
    if e is None:
        return argument.text
    return (
        f"a {e.stopped} keeps it away" if argument.text else f"{e.agent} would reach {e.material}"
    )
