"""Experience: outcomes that were recorded here and those that others shared, as precedents."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fastapi import Request

from leastwise.api.http.state import adviser_of, shelf_of, store_of
from leastwise.api.identity.people import person_of
from leastwise.api.store import Document, Store
from leastwise.api.store.records.visible import documents_of_kind, versions_of_kind
from leastwise.graph import Adviser, Case
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.errors import LeastwiseError
from leastwise.graph.treatment.likeness import Features, Like, features_of, most_alike
from leastwise.graph.treatment.outcome_file import OutcomeFile
from leastwise.graph.treatment.pace import Job, Pace, jobs_of, paces
from leastwise.graph.treatment.precedents import (
    Key,
    Outcome,
    Precedent,
    count_precedents,
    results_by_key,
)
from leastwise.graph.treatment.record import outcomes_of, treatment_from_data

__all__ = ["LOG", "SHARED", "Experience", "PastCase", "experience_of"]

#: Kinds of records: the treatment record of a case, and a file that others shared.
LOG, SHARED = "log", "outcomes"


@dataclass(frozen=True)
class PastCase:
    """A case whose treatment has an outcome or finished work on record."""

    id: str
    title: str
    demo: bool
    owner: str
    features: Features
    outcomes: tuple[Outcome, ...]
    jobs: tuple[Job, ...] = ()


@dataclass(frozen=True)
class Experience:
    """What a person may learn from: own cases one may see, and what was shared with the house."""

    past: tuple[PastCase, ...]
    shared: tuple[tuple[Document, OutcomeFile], ...]
    precedents: tuple[Precedent, ...]
    here: Mapping[Key, int]  # how many outcomes of each count were recorded here
    paces: Mapping[tuple[str, bool], Pace]  # by technique and whether invented

    def to_give(self, account: str | None) -> list[Outcome]:
        """Return the outcomes that a person may give away: of own cases, and of no invented one.

        With *account* None, on a personal machine, every case is one's own.
        """
        return [
            outcome
            for case in self.past
            for outcome in case.outcomes
            if not outcome.demo and account in (None, case.owner)
        ]

    def pace_of(self, technique: str, case: Case) -> Pace | None:
        """Return how long a technique took here; for an invented case also what was invented."""
        found = self.paces.get((technique, False))
        return found or (self.paces.get((technique, True)) if case.demo else None)

    def of_technique(self, technique: str, damage: str, groups: Sequence[str]) -> list[Precedent]:
        """Return the precedents of a technique for a damage on any of *groups*."""
        return [
            p
            for p in self.precedents
            if p.technique == technique and p.damage == damage and p.group in groups
        ]

    def alike(self, case: Case, own_id: str, adviser: Adviser, most: int = 5) -> list[Like]:
        """Return the past cases most like *case*, with the reasons."""
        here = features_of(case, adviser.knowledge)
        others = {past.id: past.features for past in self.past if past.id != own_id}
        return most_alike(here, others, most)


def experience_of(request: Request) -> Experience:
    """Return the experience that the person behind a request may use."""
    person = person_of(request)
    account = None if person.sees_all else person.account
    store, adviser = store_of(request), adviser_of(request)
    # a new version of a record or of its case, and it is counted anew
    newest = (versions_of_kind(store, LOG, account), versions_of_kind(store, SHARED))
    key = ("experience", newest, adviser.knowledge.digest)
    return shelf_of(request).get(key, lambda: _gather(store, adviser, account))


def _gather(store: Store, adviser: Adviser, account: str | None) -> Experience:
    found = (_past(store, adviser, log) for log in documents_of_kind(store, LOG, account))
    treated = [one for one in found if one is not None]
    past = tuple(one for one in treated if one.outcomes)
    shared = documents_of_kind(store, SHARED)
    files = tuple((d, OutcomeFile.model_validate(d.body)) for d in shared)
    own = [o for case in past for o in case.outcomes]
    given = [o for _, file in files for o in file.as_outcomes()]
    k = adviser.knowledge
    here = {key: len(results) for key, results in results_by_key(own, k).items()}
    pace = paces(job for case in treated for job in case.jobs)
    return Experience(past, files, tuple(count_precedents([*own, *given], k)), here, pace)


def _past(store: Store, adviser: Adviser, log: Document) -> PastCase | None:
    """Return a past case, or None while its record can't be read or tells nothing."""
    document = store.read(log.case, "case")
    try:
        case = case_from_data(document.body, adviser.knowledge)
        record = treatment_from_data(log.body, case)
        outcomes = tuple(outcomes_of(record, case))
        jobs = tuple(jobs_of(record, case, adviser.catalogue))
    except LeastwiseError:
        return None
    if not outcomes and not jobs:
        return None
    features = features_of(case, adviser.knowledge)
    return PastCase(
        document.id, document.title, case.demo, document.owner, features, outcomes, jobs
    )
