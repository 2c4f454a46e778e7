"""Claims and names in Markdown."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import TypeAlias

from leastwise.api.documents import words
from leastwise.api.documents.places import Places, anchor_of, web_address
from leastwise.graph.reference.values import ClaimEntry, Reference

__all__ = ["ClaimCards", "Lines", "text_of"]

Lines: TypeAlias = Iterator[str]


def text_of(text: str) -> str:
    """Return a text in which nothing is taken for Markdown or HTML, on one line."""
    flat = " ".join(text.split())
    flat = re.sub(r"([\\`*_\[\]<>|~])", r"\\\1", flat.replace("&", "&amp;"))
    return re.sub(r"^([#+=-]|\d+(?=[.)]))", r"\\\1", flat)


class ClaimCards:
    """Writes names as links, and claims with all that they state."""

    def __init__(self, book: Reference, places: Places) -> None:
        self.book = book
        self.places = places

    def name(self, here: str, one: str, *, capital: bool = False) -> str:
        """Return the label of a name as a link from *here*, if it has a place."""
        label = self.book.label(one)
        label = text_of(words.capital(label) if capital else label)
        to = self.places.href(here, one)
        return f"[{label}]({to})" if to else label

    def names(self, here: str, many: Iterable[str]) -> str:
        """Return names as links, separated by commas."""
        return ", ".join(self.name(here, one) for one in many)

    def card(self, here: str, one: str, *, anchored: bool = True) -> Lines:
        """Yield a claim with all that it states."""
        claim = self.book.claims[one]
        mark = f'<a id="{anchor_of(one)}"></a>' if anchored else ""
        title = text_of(self.book.label(one)) if anchored else self.name(here, one)
        kind = words.KIND.get(claim.kind, claim.kind)
        how = words.basis(claim.basis) + words.extent(claim.read_as)
        known = f"{kind}; {how}, {words.confidence(claim.confidence)}"
        yield f"{mark}**{title}** ({text_of(known)})"
        yield ""
        for note in self._notes(here, claim):
            yield f"> {note}  "
        yield ""

    def _notes(self, here: str, claim: ClaimEntry) -> Lines:
        yield text_of(claim.statement)
        yield from self._grade(here, claim)
        yield from self._figure(claim)
        if claim.better or claim.worse:
            better, worse = self.names(here, claim.better), self.names(here, claim.worse)
            yield f"Better: {better}; worse: {worse}; in respect of {text_of(claim.in_respect_of)}"
        for there, said in (
            (claim.beneficial, "The agent does this material good."),
            (claim.analogy, "Taken from a neighbouring field, by analogy."),
            (claim.needs_check, "Still to be checked against its source."),
        ):
            if there:
                yield said
        yield f"About: {self.names(here, claim.about)}"
        yield from self._origin(here, claim)

    def _grade(self, here: str, claim: ClaimEntry) -> Lines:
        if claim.severity is not None:
            word = words.HARM.get(claim.severity, "outside the scale")
            yield f"{self.names(here, claim.agents)}: {claim.severity} {word}"
        if claim.efficacy is not None:
            pair = f"{self.name(here, claim.technique)} on {self.name(here, claim.damage)}"
            yield f"{pair}: {words.efficacy(claim)}"
        if claim.under:
            yield f"Under: {text_of(claim.under)}"
        if claim.only_if:
            yield f"Only if: {text_of(claim.only_if.text)}"

    @staticmethod
    def _figure(claim: ClaimEntry) -> Lines:
        figure = [words.figure(claim), claim.formula, claim.at]
        if any(figure):
            yield "Figure: " + "; ".join(text_of(part) for part in figure if part)
        if claim.series:
            yield "Series: " + "; ".join(text_of(f"{a}: {b}") for a, b in claim.series)

    def _origin(self, here: str, claim: ClaimEntry) -> Lines:
        for one in claim.sources:
            source = self.book.sources[one]
            address = web_address(source.address)
            at = f" <{address}>" if address else ""
            yield f"Source {self.name(here, one)}: {text_of(source.citation)}{at}"
        if claim.rests_on:
            yield f"Rests on: {self.names(here, claim.rests_on)}"
        if not claim.sources and not claim.rests_on:
            yield f"Source: none named; this is {text_of(words.basis(claim.basis))}."
        if claim.disagrees_with:
            yield f"Disagrees with: {self.names(here, claim.disagrees_with)}"
