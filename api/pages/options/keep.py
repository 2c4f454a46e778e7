"""Keeping with a case the policy and the weights by which its options are put in order."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response

from leastwise.api.asking.weighty import Weighty
from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.forms import Form, keep_section
from leastwise.api.pages.options.weights import WrongWeights, points_of, read_weights
from leastwise.graph.weighing.ranking import UnknownPolicy, policy_named

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {"POST /cases/{case}/options/keep": Action.WRITE_CASE}
MOST = 2000  # letters of a field


@router.post("/cases/{case}/options/keep")
def keep_weighing(request: Request, case: str, form: Form) -> Response:
    """Keep the policy and the weights that the form sends; both empty: as the house does it."""
    policy, weights = (str(form.get(name, ""))[:MOST].strip() for name in ("policy", "weights"))
    kept = _kept(request, policy, weights)
    why = str(form.get("why", ""))[:MOST].strip()
    if why and kept:
        kept["why"] = why
    after = f"/cases/{case}/options#weights-panel"
    return keep_section(
        request, case, form, {"weighing": kept}, "How options are put in order", after=after
    )


def _kept(request: Request, policy: str, weights: str) -> dict[str, Any]:
    """Return the field of the record; what can't be used is told with what would be."""
    if not policy and not weights:
        return {}
    try:
        named = policy_named(adviser_of(request).catalogue, policy)
        own = read_weights({"weights": weights}, points_of(named.weights))
    except (UnknownPolicy, WrongWeights) as error:
        raise HTTPException(422, str(error)) from error
    points = {axis.partition(":")[2]: n for axis, n in own.points.items()} if own else {}
    return {"policy": named.id, **({"weights": points} if points else {})}
