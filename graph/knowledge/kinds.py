"""What a force does to a thing of which only the group is known, told by the kinds in the group.

Who knows that beads are glass, and not yet whether the glass is stable, knows enough to sew beside
them: a needle does little to either kind. Chemistry differs from kind to kind, so that only agents
that act by force (``lw:byForce``: rubbing, a needle, pressure, bending, pull) are read this way.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.values import NOTHING_KNOWN, Sensitivity

__all__ = ["MODERATE", "of_all_kinds"]

#: The gravest that all kinds of a group may take; beyond it the kind has to be found out.
MODERATE: Final = 2


def of_all_kinds(
    catalogue: Catalogue, material: str, agent: str, part_damage: frozenset[str]
) -> Sensitivity:
    """Return the gravest that any kind of a group takes from a force.

    Nothing is known where the agent is no force, a kind is not graded, there are no kinds to look
    at, or one takes more than moderate harm.
    """
    k = catalogue.knowledge
    kinds = k.made(("kinds of", material), _kinds)
    if not kinds or not k.is_true(agent, "lw:byForce"):
        return NOTHING_KNOWN
    each = [(catalogue.sensitivity(kind, agent, part_damage), kind) for kind in kinds]
    gravest, kind = max(each, key=lambda one: (one[0].harm, one[1]))
    if gravest.harm > MODERATE or not all(one.known for one, _ in each):
        return NOTHING_KNOWN
    return replace(gravest, inherited_from=gravest.inherited_from or kind)


def _kinds(knowledge: Knowledge, key: tuple[str, str]) -> tuple[str, ...]:
    """Return the concepts right below a group."""
    return tuple(
        one
        for one in knowledge.instances("skos:Concept")
        if key[1] in knowledge.objects(one, "skos:broader")
    )
