"""GET /concepts/{id}: one concept, claim, source or rule with all that is said of it."""

from __future__ import annotations

from fastapi import APIRouter, Request
from leastwise.api.state import adviser_of, settings_of
from leastwise.graph.concept_view import ConceptView, view_concept

__all__ = ["router"]

router = APIRouter(tags=["concepts"])


@router.get(
    "/concepts/{concept}",
    summary="What the knowledge says of a concept",
    responses={404: {"description": "No such concept; names near to it are given (RFC 9457)"}},
)
def concept(concept: str, request: Request) -> ConceptView:
    """Return a concept by CURIE (`material:silk`, `claim:M-093`) with the claims about it."""
    adviser = adviser_of(request)
    return view_concept(concept, adviser.knowledge, adviser.rules, settings_of(request).base)
