"""What the book of reference states of its own coverage: each claim, grade, rule counted once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from leastwise.graph.knowledge.rules import VERDICT_EFFECTS
from leastwise.graph.reference.values import Reference

__all__ = ["BASES", "CONFIDENCES", "BookCounts", "CrossTable", "SchemeCount", "count_book"]

#: How a claim may be known, and how far it may be trusted; best first.
BASES = ("read", "memory", "practice")
CONFIDENCES = ("high", "moderate", "low")


@dataclass(frozen=True, slots=True)
class CrossTable:
    """Counts by two names; every thing counted stands in exactly one cell."""

    rows: tuple[str, ...]
    columns: tuple[str, ...]
    cells: tuple[tuple[int, ...], ...]

    @property
    def row_totals(self) -> tuple[int, ...]:
        """Return the sum of each row."""
        return tuple(sum(row) for row in self.cells)

    @property
    def column_totals(self) -> tuple[int, ...]:
        """Return the sum of each column."""
        return tuple(sum(row[i] for row in self.cells) for i in range(len(self.columns)))

    @property
    def total(self) -> int:
        """Return how many things were counted."""
        return sum(self.row_totals)


@dataclass(frozen=True, slots=True)
class SchemeCount:
    """How many concepts of a kind there are, and of how many something is claimed or read."""

    key: str
    label: str
    concepts: int
    with_claims: int
    with_read_claims: int


@dataclass(frozen=True, slots=True)
class BookCounts:
    """The counts that the page of coverage states.

    Attributes:
        grades: materials x graded agents, by whether a grade is claimed of the material itself,
            taken from a broader one, or unknown.
        damages_answered: kinds of damage for which some technique has a graded effect above 0.
        rules_read: rules that rest on at least one claim that was read in its source.

    """

    schemes: tuple[SchemeCount, ...]
    basis_by_confidence: CrossTable
    kind_by_basis: CrossTable
    grades: tuple[tuple[str, int], ...]
    sources: int
    sources_not_opened: int
    sources_low_authority: int
    sources_cited: int
    damages: int
    damages_answered: int
    techniques: int
    techniques_with_effects: int
    theme_by_effect: CrossTable
    rules_read: int
    disagreements: int
    contests: int


def count_book(book: Reference) -> BookCounts:
    """Return the counts of a book of reference; each claim is counted once."""
    claims, sources = book.claims.values(), book.sources.values()
    entries = book.entries.values()
    damages = [e for e in entries if e.scheme == "damage" and e.hinders]
    techniques = [e for e in entries if e.technique is not None]
    read = {c.id for c in claims if c.basis == "read"}
    return BookCounts(
        schemes=tuple(_schemes(book, read)),
        basis_by_confidence=_cross(((c.basis, c.confidence) for c in claims), BASES, CONFIDENCES),
        kind_by_basis=_cross(((c.kind, c.basis) for c in claims), (), BASES),
        grades=tuple(_grades(book)),
        sources=len(book.sources),
        sources_not_opened=sum(s.not_opened for s in sources),
        sources_low_authority=sum(s.low_authority for s in sources),
        sources_cited=sum(bool(s.claims) for s in sources),
        damages=len(damages),
        damages_answered=sum(any(book.claims[c].efficacy for c in e.effects) for e in damages),
        techniques=len(techniques),
        techniques_with_effects=sum(bool(e.effects) for e in techniques),
        theme_by_effect=_cross(
            ((r.rule.theme, r.rule.effect) for r in book.rules.values()), (), VERDICT_EFFECTS
        ),
        rules_read=sum(not read.isdisjoint(r.rule.rests_on) for r in book.rules.values()),
        disagreements=len(book.disagreements),
        contests=len(book.contests),
    )


def _schemes(book: Reference, read: set[str]) -> Iterable[SchemeCount]:
    for scheme in book.schemes:
        said = [
            {*e.claims, *e.sensitivities, *e.effects}
            for e in (book.entries[one] for one in scheme.entries)
        ]
        yield SchemeCount(
            scheme.key,
            scheme.label,
            len(said),
            sum(bool(claims) for claims in said),
            sum(not read.isdisjoint(claims) for claims in said),
        )


def _grades(book: Reference) -> Iterable[tuple[str, int]]:
    graded = {*book.graded_agents}
    counts = Counter(
        "unknown" if row.harm < 0 else "inherited" if row.inherited_from else "own"
        for entry in book.entries.values()
        if entry.scheme == "material"
        for row in entry.grades
        if row.concept in graded
    )
    for name in ("own", "inherited", "unknown"):
        yield name, counts[name]


def _cross(
    pairs: Iterable[tuple[str, str]], rows: tuple[str, ...], columns: tuple[str, ...]
) -> CrossTable:
    """Count pairs; names beyond those expected get a row or column of their own at the end."""
    counts = Counter((row or "not stated", column or "not stated") for row, column in pairs)
    rows = (*rows, *sorted({r for r, _ in counts} - {*rows}))
    columns = (*columns, *sorted({c for _, c in counts} - {*columns}))
    return CrossTable(
        rows, columns, tuple(tuple(counts[row, column] for column in columns) for row in rows)
    )
