"""The page of one concept, claim, source, rule or term: all that is said of it, and by whom."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse

from leastwise.api.documents import words
from leastwise.api.documents.places import web_address
from leastwise.api.documents.sections import Section, concept_sections
from leastwise.api.http.state import store_of
from leastwise.api.identity.access import ALLOWED, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.knowledge.library import PLACES, Library, library_of
from leastwise.api.pages.page import render
from leastwise.api.pages.told_apart import looks_of
from leastwise.api.services.claim_questions import KINDS, questions_on
from leastwise.graph.errors import NotFound
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.reference.values import Entry, Fact
from leastwise.graph.shacl import split_literal

__all__ = ["FORMS", "concept_page", "knowledge_page", "missing_page"]

#: Ending of an address -> what it gives, in words.
FORMS = {".ttl": "Turtle", ".jsonld": "JSON-LD", ".json": "JSON"}
_MATCHES = {
    "skos:exactMatch": "the same as", "skos:closeMatch": "close to", "skos:broadMatch": "a kind of",
    "skos:narrowMatch": "broader than", "skos:relatedMatch": "related to",
}  # fmt: skip
_MEMBERS = 80


@dataclass(frozen=True, slots=True)
class TermValue:
    """A value of a property: a name with a page, or text, or the values of an inner node."""

    text: str
    name: str = ""
    address: str = ""
    inner: tuple[tuple[str, tuple[TermValue, ...]], ...] = ()


def knowledge_page(request: Request, template: str, **context: Any) -> HTMLResponse:
    """Return a page of knowledge with what all of them show."""
    library = library_of(request)
    shown: dict[str, Any] = {
        "step": "knowledge",
        "k": library,
        "book": library.book,
        "words": words,
        "places": PLACES,
    }
    return render(request, template, **shown | context)


def concept_page(
    request: Request,
    concept: str,
    *,
    typed: Mapping[str, str] | None = None,
    errors: Mapping[str, str] | None = None,
) -> HTMLResponse:
    """Return the page of a name; *typed* and *errors* are those of a question on a claim.

    Raises:
        NotFound: nothing is called so.

    """
    library = library_of(request)
    book, knowledge = library.book, library.adviser.knowledge
    shown = {"one": concept, "forms": FORMS, "web": web_address}
    if concept in book.entries:
        return _entry(request, library, book.entries[concept], shown)
    label = library.label(concept)
    if concept in book.claims:
        claim = book.claims[concept]
        template, title = "concept-claim.html", f"Claim {label}"
        more: dict[str, Any] = {
            "claim": claim,
            "chosen_in": knowledge.objects(concept, "lw:chosenIn"),
            "chosen_alike_in": knowledge.objects(concept, "lw:chosenAlikeIn"),
            "questions": questions_on(store_of(request), concept),
            "kinds": KINDS,
            "may_ask": Action.CREATE_CASE in ALLOWED[person_of(request).role],
            "typed": typed or {},
            "errors": errors or {},
        }
    elif concept in book.sources:
        template, title = "concept-source.html", f"Source {label}"
        more = {"source": book.sources[concept], "chosen": _chosen_by(knowledge, concept)}
    elif concept in book.rules:
        template, title = "concept-rule.html", words.capital(label)
        more = {"rule": book.rules[concept].rule, "looks_at": book.rules[concept].names}
    elif concept in knowledge and library.href(concept):
        template, title = "concept-term.html", words.capital(label)
        more = _term(library, concept)
    else:
        raise NotFound("concept", concept, _near(library, concept))
    rests = library.resting.get(concept, ())
    return knowledge_page(request, template, title=title, rests=rests, **shown, **more)


def _chosen_by(k: Knowledge, source: str) -> list[str]:
    """Return the effect claims whose technique a published treatment chose."""
    return [
        claim
        for claim in k.instances("lw:EffectClaim")
        for predicate in ("lw:chosenIn", "lw:chosenAlikeIn")
        if source in k.objects(claim, predicate)
    ]


def _facts(entry: Entry) -> list[Fact]:
    """Return the facts of an entry without its matches and what "How it is done" says already."""
    said = {"lw:skill"} if entry.technique else set()
    return [f for f in entry.facts if f.predicate not in _MATCHES and f.predicate not in said]


def _entry(request: Request, library: Library, entry: Entry, shown: dict[str, Any]) -> HTMLResponse:
    matches = [(_MATCHES[f.predicate], f.values) for f in entry.facts if f.predicate in _MATCHES]
    pairs = _disagreeing(library, entry)
    contests = [c for c in library.book.contests if entry.id in (c.material, c.agent)]
    return knowledge_page(
        request,
        "concept.html",
        title=words.capital(entry.label),
        entry=entry,
        facts=_facts(entry),
        matches=matches,
        sections=_sections(entry, disagree=bool(pairs or contests)),
        order=library.order.get(entry.id, ()),
        pairs=pairs,
        contests=contests,
        looks=looks_of(entry.id, library.adviser.knowledge, "here"),
        tree=library.adviser.knowledge.broader(entry.id)[1:],
        **shown,
    )


def _sections(entry: Entry, *, disagree: bool) -> list[Section]:
    """Return the sections of the page: cautions stand on top of it, disagreements before claims."""
    found = [s for s in concept_sections(entry) if s.anchor != "cautions"]
    if disagree:
        late = ("claims", "sensitivities", "mentions", "rests", "techniques", "tests", "rules")
        at = next((i for i, s in enumerate(found) if s.anchor in late), len(found))
        found.insert(at, Section("disagree", "Where claims disagree"))
    return found


def _disagreeing(library: Library, entry: Entry) -> list[tuple[str, str]]:
    mine = {*entry.claims, *entry.sensitivities, *entry.effects, *entry.mentions}
    return [pair for pair in library.book.disagreements if mine & {*pair}]


def _term(library: Library, one: str) -> dict[str, Any]:
    knowledge = library.adviser.knowledge
    members = knowledge.instances(one)
    if one.startswith("lw:") and not members:  # a scheme, or a value
        members = [s for s in library.book.entries if one in knowledge.objects(s, "skos:inScheme")]
    return {
        "comment": knowledge.text(one, "rdfs:comment") or knowledge.text(one, "lw:because"),
        "rows": _rows(library, one),
        "members": [m for m in members if library.href(m)][:_MEMBERS],
        "many": len(members),
    }


def _rows(
    library: Library, one: str, within: tuple[str, ...] = ()
) -> tuple[tuple[str, tuple[TermValue, ...]], ...]:
    known = library.adviser.knowledge.predicates(one)
    return tuple(
        (predicate, tuple(_value(library, term, (*within, one)) for term in terms))
        for predicate, terms in sorted(known.items())
        if predicate not in ("rdfs:comment", "rdfs:label", "skos:prefLabel")
    )


def _value(library: Library, term: str, within: tuple[str, ...]) -> TermValue:
    if term.startswith('"'):
        text, datatype, _ = split_literal(term)
        if datatype.endswith("#boolean"):
            text = "yes" if text in ("true", "1") else "no"
        return TermValue(text, address=web_address(text))
    if term.startswith("_:"):
        return TermValue("", inner=() if term in within else _rows(library, term, within))
    if library.href(term) and term in (library.adviser.knowledge):
        return TermValue(library.label(term), name=term)
    return TermValue(term, address=web_address(term))


def _near(library: Library, asked: str) -> list[str]:
    """Return names that are like the one asked for, or are found by its words."""
    book = library.book
    names = [*book.entries, *book.rules]  # the ids of claims and sources are found by their start
    alike = [name for name in names if name.partition(":")[0] == asked.partition(":")[0]]
    close = difflib.get_close_matches(asked, alike or names, n=4)
    plain = asked.rpartition(":")[2].replace("-", " ")
    found = [hit.id for hit in library.index.search(plain, most=4).hits]
    return list(dict.fromkeys([*close, *found]))[:6]


def missing_page(request: Request, concept: str) -> HTMLResponse:
    """Return the page for a name that isn't there, with those that are near it."""
    library = library_of(request)
    return knowledge_page(
        request,
        "concept-missing.html",
        title="Nothing is called so",
        status=404,
        asked=concept,
        near=_near(library, concept[:200]),
    )
