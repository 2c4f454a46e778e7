"""Pages: what the knowledge holds, by kind, by source, by how it is known; search; ways; /docs."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from starlette.exceptions import HTTPException

from leastwise.api.documents.sections import grade_matrix, sources_in_order
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.knowledge import docs as knowledge_docs
from leastwise.api.pages.knowledge import path as knowledge_path
from leastwise.api.pages.knowledge import questions as knowledge_questions
from leastwise.api.pages.knowledge.concept import knowledge_page
from leastwise.api.pages.knowledge.library import KINDS, PLACES, Paging, library_of
from leastwise.graph.reference.values import ClaimEntry

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {
    "GET /knowledge": Action.USE,
    "GET /knowledge/search": Action.USE,
    "GET /knowledge/disagreements": Action.USE,
    "GET /knowledge/sources": Action.USE,
    "GET /knowledge/claims": Action.USE,
    "GET /knowledge/weakest": Action.USE,
    "GET /knowledge/coverage": Action.USE,
    "GET /knowledge/grades": Action.USE,
    "GET /knowledge/rules": Action.USE,
    "GET /knowledge/rules/{theme}": Action.USE,
    "GET /knowledge/vocabulary": Action.USE,
    "GET /knowledge/{place}": Action.USE,
    **knowledge_path.ACCESS,
    **knowledge_docs.ACCESS,
    **knowledge_questions.ACCESS,
}
SCHEME_OF = {place: scheme for scheme, place in PLACES.items()}
HITS, CLAIMS, PAIRS = 30, 40, 15
TITLES = {
    "memory": "What rests on memory",
    "practice": "What rests on common practice",
    "read": "What was read in its source",
}
BASES = tuple(TITLES)

router.include_router(knowledge_path.router)
router.include_router(knowledge_docs.router)
router.include_router(knowledge_questions.router)


@router.get("/knowledge")
def entrance(request: Request) -> HTMLResponse:
    """Show the kinds of things there are, and the ways across them."""
    library = library_of(request)
    return knowledge_page(
        request,
        "knowledge.html",
        title="What Leastwise knows",
        counts=library.counts,
        bases=dict(
            zip(
                library.counts.basis_by_confidence.rows,
                library.counts.basis_by_confidence.row_totals,
                strict=True,
            )
        ),
    )


@router.get("/knowledge/search")
def search(
    request: Request,
    q: Annotated[str, Query(max_length=300)] = "",
    kind: Annotated[str, Query(max_length=20)] = "",
    page: Annotated[int, Query(ge=1, le=10_000)] = 1,
) -> HTMLResponse:
    """Show what is found, best first."""
    library = library_of(request)
    kind = kind if kind in KINDS else ""
    found = library.index.search(q, kind, most=HITS, skip=(page - 1) * HITS)
    order = sorted(found.kinds, key=list(KINDS).index)
    return knowledge_page(
        request,
        "knowledge-search.html",
        title=f"Search: {q}" if q.strip() else "Search the knowledge",
        q=q,
        kind=kind,
        found=found,
        kinds=[(one, KINDS[one], found.kinds[one]) for one in order],
        paging=Paging(page, HITS, found.total),
    )


@router.get("/knowledge/disagreements")
def disagreements(
    request: Request, page: Annotated[int, Query(ge=1, le=10_000)] = 1
) -> HTMLResponse:
    """Show the claims that don't agree, side by side."""
    pairs = library_of(request).book.disagreements
    paging = Paging.of(page, PAIRS, len(pairs))
    return knowledge_page(
        request,
        "knowledge-disagreements.html",
        title="Disagreements",
        pairs=pairs[paging.skip : paging.skip + PAIRS],
        paging=paging,
    )


@router.get("/knowledge/sources")
def sources(
    request: Request, letter: Annotated[str, Query(max_length=3)] = ""
) -> HTMLResponse:  # fmt: skip
    """Show the sources of one letter, each with how many claims rest on it."""
    groups = dict(sources_in_order(library_of(request).book))
    letter = letter if letter in groups else next(iter(groups), "")
    return knowledge_page(
        request,
        "knowledge-sources.html",
        title="Sources",
        letters=[(one, len(group)) for one, group in groups.items()],
        letter=letter,
        shown=groups.get(letter, []),
    )


@router.get("/knowledge/claims")
def claims(
    request: Request,
    basis: Annotated[str, Query(max_length=20)] = "memory",
    page: Annotated[int, Query(ge=1, le=10_000)] = 1,
) -> HTMLResponse:
    """Show the claims that are known in one way: recalled, common practice, or read."""
    library = library_of(request)
    basis = basis if basis in BASES else "memory"

    def place(claim: ClaimEntry) -> tuple[str, str]:
        return (library.label(claim.about[0]).casefold() if claim.about else "~", claim.id)

    mine = sorted((c for c in library.book.claims.values() if c.basis == basis), key=place)
    paging = Paging.of(page, CLAIMS, len(mine))
    return knowledge_page(
        request,
        "knowledge-claims.html",
        title=TITLES[basis],
        basis=basis,
        bases=BASES,
        shown=mine[paging.skip : paging.skip + CLAIMS],
        paging=paging,
    )


@router.get("/knowledge/weakest")
def weakest(
    request: Request,
    basis: Annotated[str, Query(max_length=20)] = "",
    page: Annotated[int, Query(ge=1, le=10_000)] = 1,
) -> HTMLResponse:
    """Show the claims, those first whose reading would pay most."""
    library = library_of(request)
    basis = basis if basis in BASES else ""
    known = library.book.claims
    mine = [one for one in library.weakest if basis in ("", known[one.claim].basis)]
    paging = Paging.of(page, CLAIMS, len(mine))
    return knowledge_page(
        request,
        "knowledge-weakest.html",
        title="What is weakest",
        basis=basis,
        bases=BASES,
        shown=mine[paging.skip : paging.skip + CLAIMS],
        paging=paging,
    )


@router.get("/knowledge/coverage")
def coverage(request: Request) -> HTMLResponse:
    """Show how much the knowledge holds, counted from itself."""
    counts = library_of(request).counts
    return knowledge_page(request, "knowledge-coverage.html", title="Coverage", coverage=counts)


@router.get("/knowledge/grades")
def grades(request: Request) -> HTMLResponse:
    """Show each material against each agent."""
    rows = grade_matrix(library_of(request).book)
    title = "Grades of harm at a glance"
    return knowledge_page(request, "knowledge-grades.html", title=title, rows=rows)


@router.get("/knowledge/rules")
def rules(request: Request) -> HTMLResponse:
    """Show the themes of the rules."""
    return knowledge_page(request, "knowledge-rules.html", title="Rules", theme="", shown=[])


@router.get("/knowledge/rules/{theme}")
def rules_of(request: Request, theme: str) -> HTMLResponse:
    """Show the rules of one theme.

    Raises:
        HTTPException: 404, there is no such theme.

    """
    shown = library_of(request).themes.get(theme)
    if shown is None:
        raise HTTPException(404, f"There is no theme {theme!r}; see /knowledge/rules.")
    title = f"Rules on {theme}"
    return knowledge_page(request, "knowledge-rules.html", title=title, theme=theme, shown=shown)


@router.get("/knowledge/vocabulary")
def vocabulary(request: Request) -> HTMLResponse:
    """Show the classes and properties that the knowledge is written in."""
    k = library_of(request).adviser.knowledge
    own = sorted((s for s in k.subjects() if s.startswith("lw:")), key=str.casefold)
    classes = [s for s in own if "rdfs:Class" in k.objects(s, "rdf:type")]
    properties = [s for s in own if "rdf:Property" in k.objects(s, "rdf:type")]
    return knowledge_page(
        request,
        "knowledge-vocabulary.html",
        title="The vocabulary",
        groups=[
            ("Classes", classes),
            ("Properties", properties),
            ("Schemes and values", [s for s in own if s not in {*classes, *properties}]),
        ],
        comments={s: k.text(s, "rdfs:comment") for s in own},
    )


@router.get("/knowledge/{place}")
def scheme(request: Request, place: str) -> HTMLResponse:
    """Show the things of one kind, narrower ones below broader ones.

    Raises:
        HTTPException: 404, there is no such kind.

    """
    key = SCHEME_OF.get(place, place)
    found = next((s for s in library_of(request).book.schemes if s.key == key), None)
    if found is None:
        raise HTTPException(404, f"There is no kind of knowledge {place!r}; see /knowledge.")
    return knowledge_page(request, "knowledge-scheme.html", title=found.label, scheme=found)
