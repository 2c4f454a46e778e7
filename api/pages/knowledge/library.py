"""What the pages of knowledge read: the book of reference, its index and its ways, made once."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import cast
from urllib.parse import quote

from fastapi import Request
from markupsafe import Markup, escape

from leastwise.api.documents import words
from leastwise.api.documents.citations import titled
from leastwise.graph import Adviser
from leastwise.graph.names import SCHEMES
from leastwise.graph.reference.book import build_reference
from leastwise.graph.reference.counts import BookCounts, count_book
from leastwise.graph.reference.paths import PathGraph, Tie, build_paths, order_ties
from leastwise.graph.reference.search import Piece, SearchIndex, build_index
from leastwise.graph.reference.values import Reference
from leastwise.graph.reference.weakest import Weak, weakest

__all__ = ["PLACES", "Library", "Paging", "library_of"]

#: Scheme -> the word that stands for it in addresses.
PLACES = {
    "material": "materials", "damage": "damages", "technique": "techniques", "agent": "agents",
    "refused": "practices-not-to-use", "need": "needs", "equipment": "equipment",
    "test": "tests", "condition": "conditions", "caution": "cautions", "aim": "aims",
    "axis": "axes", "contact": "contacts", "policy": "policies", "other": "further",
}  # fmt: skip
KINDS = {
    "material": "material", "damage": "damage", "technique": "technique", "agent": "agent",
    "refused": "practice not to use", "need": "need", "equipment": "equipment",
    "test": "test", "condition": "condition", "caution": "caution", "aim": "aim",
    "axis": "burden axis", "contact": "kind of contact", "policy": "policy",
    "precedence": "order of work", "claim": "claim", "source": "source", "rule": "rule",
    "term": "vocabulary", "lw": "vocabulary", "other": "concept",
}  # fmt: skip
LINKED = frozenset((*SCHEMES, "lw"))


@dataclass(frozen=True)
class Library:
    """The knowledge of one adviser, as pages show it."""

    adviser: Adviser

    @cached_property
    def book(self) -> Reference:
        """Return the content of the book of reference."""
        return build_reference(self.adviser.knowledge, self.adviser.rules)

    @cached_property
    def index(self) -> SearchIndex:
        """Return the search index."""
        return build_index(self.book, self.adviser.knowledge)

    @cached_property
    def paths(self) -> PathGraph:
        """Return the graph of ties."""
        return build_paths(self.book, self.adviser.knowledge)

    @cached_property
    def counts(self) -> BookCounts:
        """Return what the knowledge states of its own coverage."""
        return count_book(self.book)

    @cached_property
    def order(self) -> dict[str, tuple[Tie, ...]]:
        """Return technique -> what comes before or after it, or can't follow it."""
        found: dict[str, list[Tie]] = {}
        for tie in order_ties(self.adviser.knowledge):
            for one in (tie.subject, tie.object):
                found.setdefault(one, []).append(tie)
        return {one: tuple(ties) for one, ties in found.items()}

    @cached_property
    def resting(self) -> dict[str, tuple[str, ...]]:
        """Return claim -> everything that rests on it, rules and inner nodes' owners included."""
        k = self.adviser.knowledge
        owners = {
            inner: subject
            for subject in k.subjects()
            for objects in k.predicates(subject).values()
            for inner in objects
            if inner.startswith("_:")
        }
        found: dict[str, dict[str, None]] = {}
        for subject in k.subjects():
            owner = subject
            while owner.startswith("_:") and owner in owners:
                owner = owners[owner]
            for claim in k.objects(subject, "lw:restsOn"):
                found.setdefault(claim, {})[owner] = None
        for one, entry in self.book.rules.items():
            for claim in entry.rule.rests_on:
                found.setdefault(claim, {})[one] = None
        return {claim: tuple(sorted(owners)) for claim, owners in found.items()}

    @cached_property
    def weakest(self) -> list[Weak]:
        """Return the claims, those first whose reading would pay most."""
        return weakest(self.book, self.adviser.knowledge)

    @cached_property
    def themes(self) -> dict[str, list[str]]:
        """Return theme -> rules, both in alphabetical order."""
        found: dict[str, list[str]] = {}
        for entry in self.book.rules.values():
            found.setdefault(entry.rule.theme or "other", []).append(entry.rule.id)
        return dict(sorted(found.items()))

    # How names, citations and messages look; asked for too often for macros.

    def label(self, one: str) -> str:
        """Return the label of a name, of whatever kind."""
        return self.book.labels.get(one) or self.adviser.knowledge.label(one)

    def href(self, one: str) -> str:
        """Return the address of a name's page, or "" if it has none."""
        prefix = one.partition(":")[0]
        return f"/concepts/{quote(one, safe=':')}" if prefix in LINKED else ""

    def name(self, one: str, capital: bool = False) -> Markup:
        """Return the label of a name as a link."""
        label = self.label(one)
        text, to = escape(words.capital(label) if capital else label), self.href(one)
        return Markup(f'<a href="{escape(to)}">{text}</a>') if to else text  # noqa: S704 - escaped

    def names(self, many: Iterable[str]) -> Markup:
        """Return names as links with commas between."""
        return Markup(", ").join(self.name(one) for one in many)

    def kind(self, one: str) -> str:
        """Return what kind of thing a name stands for, in a word."""
        entry = self.book.entries.get(one)
        return KINDS.get(entry.scheme if entry else one.partition(":")[0], "concept")

    @staticmethod
    def citation(text: str) -> Markup:
        """Return a citation with *titles* between asterisks in italics."""
        return titled(text)

    @staticmethod
    def message(text: str) -> Markup:
        """Return the message of a rule with its placeholders marked as variables."""
        return Markup(re.sub(r"\{(\w+)\}", r"<var>\1</var>", str(escape(text))))  # noqa: S704

    @staticmethod
    def marked(pieces: Iterable[Piece]) -> Markup:
        """Return a snippet with what was looked for marked; the text is escaped."""
        return Markup("").join(
            Markup("<mark>{}</mark>").format(p.text) if p.is_match else escape(p.text)
            for p in pieces
        )


@dataclass(frozen=True, slots=True)
class Paging:
    """One page of a long list; pages count from 1."""

    page: int
    size: int
    total: int

    @property
    def last(self) -> int:
        """Return the number of the last page, 1 at least."""
        return max(1, -(-self.total // self.size))

    @property
    def skip(self) -> int:
        """Return how many stand before this page."""
        return (self.page - 1) * self.size

    @classmethod
    def of(cls, page: int, size: int, total: int) -> Paging:
        """Return the page asked for, or the nearest that there is."""
        return cls(min(max(page, 1), max(1, -(-total // size))), size, total)


def library_of(request: Request) -> Library:
    """Return the library of the app's adviser; it stands on the app's state."""
    state = request.app.state
    if state.library.adviser is not state.adviser:  # the knowledge was exchanged
        state.library = Library(state.adviser)
    return cast(Library, state.library)
