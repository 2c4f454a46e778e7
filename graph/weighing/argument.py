"""Arguments for and against an option, and the verdict that follows from them.

The arguments and the attacks between them form an abstract argumentation framework (Dung 1995,
Artificial Intelligence 77:321-357). Its grounded labelling is sceptical and unique, which suits
safety: an argument is *in* if all its attackers are out, *out* if one attacker is in, else
*undecided*.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from leastwise.graph.meanings import RuleEffect, TestState, Verdict
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.findings import Finding

if TYPE_CHECKING:
    import networkx as nx

__all__ = ["Argument", "ArgumentGraph", "argue", "grounded_labelling"]

#: Who attacks whom: argument -> what it attacks.
Attacks = dict[str, Iterable[str]]
IN, OUT, UNDECIDED = "in", "out", "undecided"
VERDICT_OF = {IN: Verdict.ACCEPTED, OUT: Verdict.DEFEATED, UNDECIDED: Verdict.UNDECIDED}

#: Harm from this grade on is worth an argument even where a barrier answers it.
WORTH_ARGUING = 2


class Argument(NamedTuple):
    """One argument: option, con, open (not known yet), hope (its good outcome) or answer.

    A named tuple, as findings are, since there are as many of them.
    """

    id: str
    kind: str
    text: str
    finding: Finding | None = None
    exposure: Exposure | None = None


@dataclass(frozen=True)
class ArgumentGraph:
    """The arguments of one option with their labels; *edges* are the attacks."""

    edges: nx.DiGraph[str] | Attacks
    arguments: Mapping[str, Argument]
    labels: Mapping[str, str]

    @cached_property
    def attacks(self) -> nx.DiGraph[str]:
        """Return the attacks as a graph; it is made when it is first asked for."""
        import networkx as nx  # noqa: PLC0415 - a fifth of a short command, and few ask for it

        return nx.DiGraph(self.edges)

    @property
    def verdict(self) -> Verdict:
        """Return accepted, defeated or undecided."""
        return VERDICT_OF[self.labels["option"]]

    def attackers(self, argument: str) -> list[Argument]:
        """Return the attackers of an argument, in alphabetical order of id."""
        return [self.arguments[a] for a in sorted(self.attacks.predecessors(argument))]


def grounded_labelling(attacks: nx.DiGraph[str] | Attacks) -> dict[str, str]:
    """Return the grounded labelling of an attack graph in time linear in its edges.

    An edge a -> b says that a attacks b; every argument is a node, and a key of a mapping.
    Source: Dung 1995, section 2.3 (grounded extension); labels after Caminada 2006.

    >>> grounded_labelling({"c": ["b"], "b": ["a"], "a": []})
    {'c': 'in', 'b': 'out', 'a': 'in'}
    >>> grounded_labelling({"a": ["b"], "b": ["a"]})
    {'a': 'undecided', 'b': 'undecided'}
    """
    labels: dict[str, str] = {}
    open_attackers = dict.fromkeys(attacks, 0)
    for node in attacks:
        for victim in attacks[node]:
            open_attackers[victim] += 1
    ready = [node for node, degree in open_attackers.items() if degree == 0]
    while ready:
        node = ready.pop()
        labels[node] = IN
        for victim in attacks[node]:
            if victim in labels:
                continue
            labels[victim] = OUT
            for freed in attacks[victim]:
                open_attackers[freed] -= 1
                if open_attackers[freed] == 0:  # none of its attackers is in, so it has no label
                    ready.append(freed)
    return {node: labels.get(node, UNDECIDED) for node in attacks}


def argue(
    claim_text: str, findings: Iterable[Finding], exposures: Iterable[Exposure]
) -> ArgumentGraph:
    """Return the argument graph of one option.

    A finding that defeats attacks the option unanswered. A finding that leaves undecided attacks
    it too, but stands in mutual attack with the hope that the test comes out well: neither wins
    until the test is done. What a barrier or a parting already stops is an attack that is
    answered. Cautions and records don't attack; they are carried beside the verdict.
    """
    arguments = {"option": Argument("option", "option", claim_text)}
    edges: Attacks = {"option": []}

    def attack(argument: Argument, *victims: str) -> None:
        arguments[argument.id] = argument
        edges[argument.id] = [*victims]

    for number, finding in enumerate(findings):
        key = f"finding-{number:03d}"
        if finding.rule.effect == RuleEffect.DEFEATS:
            attack(Argument(key, "con", finding.message, finding), "option")
        elif finding.rule.effect == RuleEffect.LEAVES_UNDECIDED:
            hope = Argument(f"{key}-hope", "hope", "It may turn out harmless once it is settled.")
            attack(Argument(key, "open", finding.message, finding), "option", hope.id)
            attack(hope, key)
    for number, exposure in enumerate(_answered(exposures)):
        key = f"stopped-{number:03d}"
        attack(Argument(key, "con", "", exposure=exposure), "option")
        attack(Argument(f"{key}-answer", "answer", exposure.stopped, exposure=exposure), key)
    return ArgumentGraph(edges, arguments, grounded_labelling(edges))


def _answered(exposures: Iterable[Exposure]) -> list[Exposure]:
    """Return the stopped exposures that would have mattered, one a part, material and agent."""
    return [
        e
        for e in exposures
        if e.stopped and (e.harm < 0 or e.harm >= WORTH_ARGUING or e.test_state == TestState.BAD)
    ]
