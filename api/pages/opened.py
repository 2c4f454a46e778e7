"""A case as a page needs it: the stored draft, whether it can be weighed, and its answer."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeVar

from fastapi import Request
from fastapi.responses import HTMLResponse

from leastwise.api.asking.weighty import look, work
from leastwise.api.http.state import adviser_of, shelf_of, store_of
from leastwise.api.pages.entry.checked import checked_of
from leastwise.api.pages.entry.overview import overview_of
from leastwise.api.pages.entry.said import sentence
from leastwise.api.pages.entry.words import place_in_words, step_of
from leastwise.api.pages.page import render
from leastwise.api.store import Document
from leastwise.api.store.words import as_text
from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.errors import CaseError, Problem
from leastwise.graph.proposal.report.make import case_digest

__all__ = [
    "Opened",
    "answer_of",
    "held",
    "not_yet",
    "open_document",
    "shelf_key",
    "shelved",
    "still_needed",
    "weighed",
]

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Opened:
    """A stored case.

    *case* is None while the draft can't be weighed yet; *problems* then says what is missing,
    with the path to each field (``parts[0].materials[1].material``).
    """

    document: Document
    case: Case | None
    problems: tuple[Problem, ...]
    digest: str  # of the case's content

    @property
    def id(self) -> str:
        """Return the id in the address."""
        return self.document.id


def open_document(request: Request, case: str) -> Opened:
    """Return a stored case, read against the knowledge.

    Raises:
        NotStored: there is no such case.

    """
    document = store_of(request).read(case, "case")
    adviser = adviser_of(request)

    def make() -> tuple[Case | None, tuple[Problem, ...], str]:
        try:
            found = case_from_data(document.body, adviser.knowledge)
        except CaseError as error:
            return None, tuple(error.problems), ""
        return found, (), case_digest(found)

    # a restored backup may hold another body under the same version
    body = hashlib.sha256(as_text(document.body).encode()).hexdigest()
    key = ("case", document.id, document.version, body, adviser.knowledge.digest)
    found, problems, digest = shelf_of(request).get(key, make)
    return Opened(document, found, problems, digest)


def shelved(
    request: Request,
    opened: Opened,
    what: str,
    make: Callable[..., T],
    *given: object,
    policy: str = "",
) -> T:
    """Return something worked out from a case, made once for each content and policy.

    *what* names it, with every parameter it depends on. *make* is a function of a module; it gets
    adviser, case and what is *given*, in a worker where there are some. The case must be fit to
    be weighed.

    Raises:
        Refused: it took too much, or too many ask.

    """
    adviser = adviser_of(request).under(policy)
    case = opened.case
    if case is None:  # the pages ask not_yet first
        raise CaseError(list(opened.problems))
    key = shelf_key(adviser, opened.digest, what)

    def made() -> T:
        return work(request, make, case, *given, policy=policy)

    return shelf_of(request).get(key, made, partial(look, request))


def shelf_key(adviser: Adviser, digest: str, what: str) -> tuple[str, ...]:
    """Return the key of something worked out from a case of that digest under a policy."""
    return (what, digest, adviser.policy.id, adviser.knowledge.digest, adviser.rules.digest)


def held(request: Request, opened: Opened, what: str, policy: str = "") -> Any:
    """Return something worked out from a case if it is on the shelf, else None."""
    adviser = adviser_of(request).under(policy)
    return shelf_of(request).peek(shelf_key(adviser, opened.digest, what))


def answer_of(request: Request, opened: Opened, policy: str = "") -> Answer:
    """Return the answer for a case that can be weighed."""
    return shelved(request, opened, "answer", weighed, policy=policy)


def weighed(adviser: Adviser, case: Case) -> Answer:
    """Return the answer for a case."""
    return adviser.weigh(case)


def not_yet(request: Request, opened: Opened, step: str, title: str) -> HTMLResponse:
    """Return the page that says what the record still lacks before this step can be shown."""
    return render(
        request,
        "not-yet.html",
        title=title,
        step=step,
        document=opened.document,
        **still_needed(request, opened),
    )


def still_needed(request: Request, opened: Opened) -> dict[str, Any]:
    """Return what a draft lacks as a template shows it: for each step, and what has no step."""
    document, knowledge = opened.document, adviser_of(request).knowledge
    checked = checked_of(request, document)
    view = overview_of(document, checked, knowledge)
    wrong: dict[str, list[tuple[str, str]]] = {}
    for one in checked.wrong:
        place = place_in_words(one.path, document.body, knowledge)
        wrong.setdefault(step_of(one.path), []).append((place, sentence(one)))
    return {
        "needed": [(s, s.lacks, wrong.get(s.key, [])) for s in view.steps if s.lacks or s.wrong],
        "further": view.further,
    }
