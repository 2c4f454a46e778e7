"""How complete the labels of each language are, by scheme, and who has checked them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.languages import tags_of

__all__ = ["LanguageReport", "SchemeLabels", "label_report"]


@dataclass(frozen=True, slots=True)
class SchemeLabels:
    """Of *of* concepts of a scheme *labelled* have a preferred label; *missing* are the others."""

    scheme: str
    label: str
    labelled: int
    of: int
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LanguageReport:
    """One language: its tag, how far its labels were checked and by whom, and its schemes."""

    tag: str
    status: str
    checked_by: str
    schemes: tuple[SchemeLabels, ...]

    @property
    def labelled(self) -> int:
        """Return how many concepts have a label."""
        return sum(one.labelled for one in self.schemes)

    @property
    def of(self) -> int:
        """Return how many concepts there are."""
        return sum(one.of for one in self.schemes)


def label_report(k: Knowledge) -> list[LanguageReport]:
    """Return a report for each language but English that has a set of labels, by tag."""
    members: dict[str, list[str]] = defaultdict(list)
    tags: dict[str, frozenset[str]] = {}
    for one in k.instances("skos:Concept"):
        tags[one] = frozenset(tags_of(k.objects(one, "skos:prefLabel")))
        for scheme in k.objects(one, "skos:inScheme")[:1]:
            members[scheme].append(one)
    found = []
    for labels in k.instances("lw:LabelSet"):
        tag = k.text(labels, "dcterms:language")
        schemes = tuple(_scheme(k, one, members[one], tags, tag) for one in sorted(members))
        status = k.label(k.object(labels, "lw:labelStatus") or "lw:unknown")
        found.append(LanguageReport(tag, status, k.text(labels, "dcterms:creator"), schemes))
    return sorted(found, key=lambda report: report.tag)


def _scheme(
    k: Knowledge, scheme: str, members: list[str], tags: dict[str, frozenset[str]], tag: str
) -> SchemeLabels:
    missing = tuple(one for one in members if tag not in tags[one])
    return SchemeLabels(scheme, k.label(scheme), len(members) - len(missing), len(members), missing)
