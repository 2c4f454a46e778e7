"""What stands on the pages of the book, in which order, in every form of it."""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.api.documents import words
from leastwise.graph.reference.counts import BASES
from leastwise.graph.reference.values import Entry, GradeRow, Reference, SourceEntry

__all__ = [
    "Section",
    "concept_sections",
    "grade_matrix",
    "sources_in_order",
    "unsourced",
]


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a page: its anchor and its heading."""

    anchor: str
    title: str


def concept_sections(entry: Entry) -> list[Section]:
    """Return the sections that the page of a concept has; empty ones are left out."""
    grades = "Materials it acts on" if entry.scheme == "agent" else "Grades of harm"
    of_damage = entry.scheme == "damage"
    effects = "What answers it" if of_damage else "What it does for which damage"
    found = [
        (entry.technique is not None, "doing", "How it is done"),
        (entry.technique is not None, "brings", "What it brings to the object"),
        (entry.technique is not None, "before", "What has to hold before"),
        (entry.technique is not None and entry.technique.cautions, "cautions", "Cautions"),
        (entry.hinders, "hinders", "How far it stands in the way"),
        (entry.effects, "effects", effects),
        (entry.grades, "grades", grades),
        (entry.claims, "claims", "Claims"),
        (entry.sensitivities, "sensitivities", "Claims behind the grades"),
        (entry.mentions, "mentions", "Claims that name it"),
        (entry.rests_on, "rests", "What this entry rests on"),
        (entry.techniques, "techniques", "Techniques that use it"),
        (entry.practices, "practices", "Practices not to use"),
        (entry.tests, "tests", "Tests that have to do with it"),
        (entry.rules, "rules", "Rules that mention it"),
    ]
    return [Section(anchor, title) for there, anchor, title in found if there]


def sources_in_order(book: Reference) -> list[tuple[str, list[SourceEntry]]]:
    """Return the sources by the first letter of their citation, in alphabetical order."""
    groups: dict[str, list[SourceEntry]] = {}
    for source in sorted(book.sources.values(), key=_by_citation):
        first = _sort_text(source.citation)[:1].upper()
        groups.setdefault(first if "A" <= first <= "Z" else "0-9", []).append(source)
    return sorted(groups.items())


def _sort_text(citation: str) -> str:
    return citation.casefold().lstrip("\"'*([\N{LEFT DOUBLE QUOTATION MARK} ")


def _by_citation(source: SourceEntry) -> tuple[str, str]:
    return _sort_text(source.citation), source.id


def unsourced(book: Reference) -> list[tuple[str, str, list[tuple[str, list[str]]]]]:
    """Return the claims that name no source: basis, its words, and claims by what they're about."""
    found: dict[str, dict[str, list[str]]] = {}
    for claim in book.claims.values():
        if not claim.sources:
            about = claim.about[0] if claim.about else ""
            found.setdefault(claim.basis, {}).setdefault(about, []).append(claim.id)
    order = [*BASES, *sorted({*found} - {*BASES})]
    return [
        (
            basis,
            words.basis(basis),
            sorted(found[basis].items(), key=lambda item: (book.label(item[0]).casefold(), item)),
        )
        for basis in order
        if basis in found
    ]


def grade_matrix(book: Reference) -> list[tuple[str, list[GradeRow]]]:
    """Return each material with its grades for the agents that all are graded for."""
    materials = next((s.entries for s in book.schemes if s.key == "material"), ())
    rows = []
    for one in materials:
        by_agent = {row.concept: row for row in book.entries[one].grades}
        rows.append((one, [by_agent[agent] for agent in book.graded_agents]))
    return rows
