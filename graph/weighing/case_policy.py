"""The policy of a case: the one that is asked for, else its own, else that of the house."""

from __future__ import annotations

from dataclasses import replace

from leastwise.graph.case.record import Case
from leastwise.graph.errors import CaseError, Problem
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.weighing.ranking import PLACES, Policy, policy_named

__all__ = ["OWN_WEIGHTS", "policy_for"]

#: What a policy is called whose weights the case has moved.
OWN_WEIGHTS = "with the weights of this case"


def policy_for(catalogue: Catalogue, named: str, case: Case) -> Policy:
    """Return the policy by which the options of *case* are put in order.

    *named* is one that somebody asks for now; it goes before what the case keeps. The weights of
    a case are points: an axis that isn't named keeps the policy's, and the shares count.

    Raises:
        UnknownPolicy: the knowledge holds no such policy.
        CaseError: no axis is left with any weight.

    """
    if named:
        return policy_named(catalogue, named)
    own = case.weighing
    policy = policy_named(catalogue, own.policy)
    if not own.weights:
        return policy
    points = {
        axis: own.weights.get(axis.partition(":")[2], 100 * weight)
        for axis, weight in policy.weights.items()
    }
    total = sum(points.values())
    if not total:
        raise CaseError([Problem("weighing.weights", "0 for every axis", "more than 0 for one")])
    weights = {axis: round(n / total, PLACES) for axis, n in points.items()}
    if weights == policy.weights:
        return policy
    return replace(policy, label=f"{policy.label}, {OWN_WEIGHTS}", weights=weights)
