"""How much the knowledge holds: counts and shares, from the loaded graph itself."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from leastwise.graph.knowledge.concepts import Agent, Catalogue
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.weighing.advise import Adviser

__all__ = ["Coverage", "Share", "measure"]

#: Classes of what a part is made of; what an intervention adds is counted by itself.
MATERIAL_CLASSES = ("lw:Fibre", "lw:Finish", "lw:Colourant", "lw:Component", "lw:Structure")
SUPPORTS = "lw:SupportMaterial"
#: What stands for an author whose name was not seen.
UNNAMED = ("Anon.", "various authors", "various makers")


@dataclass(frozen=True, slots=True)
class Share:
    """Of *of* pairs or things *known* are known; *inherited* of them from a broader concept."""

    known: int
    inherited: int
    of: int

    @property
    def share(self) -> float:
        """The known part, 0 to 1."""
        return round(self.known / self.of, 4) if self.of else 0.0


@dataclass(frozen=True, slots=True)
class Coverage:
    """Counts of what the knowledge and the rules hold; dictionaries are by their key.

    *claims* counts statements that somebody can look up or question. *grade_cells* are counted
    apart: a grade of one material for one agent that names no source, one cell of a table that we
    filled in. *statements* counts each numbered statement once, however many agents it was
    entered for. *grades* are the pairs of material and graded agent. A source is *incomplete*
    without an author or body, a title, or a year or the word that it has none.
    """

    claims: int
    grade_cells: int
    statements: int
    claims_by_sheet: Mapping[str, int]
    claims_by_basis: Mapping[str, int]
    claims_by_confidence: Mapping[str, int]
    claims_by_extent_read: Mapping[str, int]
    claims_by_kind: Mapping[str, int]
    claims_that_disagree: int
    claims_to_check: int
    techniques: int
    technique_groups: int
    techniques_without_effect: int
    materials_and_structures: int
    materials_by_kind: Mapping[str, int]
    support_materials: int
    damages: int
    damages_without_option: int
    tests: int
    cautions: int
    conditions: int
    agents: int
    sources: int
    sources_not_opened: int
    sources_incomplete: tuple[str, ...]
    sources_undated: int
    sources_unnamed: tuple[str, ...]
    sources_without_doi: tuple[str, ...]
    rules: int
    rules_by_theme: Mapping[str, int]
    rules_by_severity: Mapping[str, int]
    grades: Share
    grades_by_agent: Mapping[str, Share]
    grades_contested: int


def measure(adviser: Adviser) -> Coverage:
    """Return what the knowledge and the rules of an adviser hold."""
    k, catalogue, rules = adviser.knowledge, adviser.catalogue, adviser.rules.rules.values()
    cells = {c for c in k.instances("lw:SensitivityClaim") if not k.object(c, "dcterms:source")}
    claims = [c for c in k.instances("lw:Claim") if c not in cells]
    by_agent = _grades(k, catalogue)
    answering = {e.technique for effects in catalogue.effects.values() for e in effects}
    techniques = set(catalogue.techniques)
    acts = {one.id for one in catalogue.techniques.values() if one.supplies}
    groups = {s for s in k.instances("skos:Concept") if s.startswith("technique:")} - techniques
    return Coverage(
        claims=len(claims),
        grade_cells=len(cells),
        statements=len({k.text(c, "lw:sheetId") or c for c in claims}),
        claims_by_sheet=_counted(_sheet(k, c) for c in claims),
        claims_by_basis=_counted(_value(k, c, "lw:basis") for c in claims),
        claims_by_confidence=_counted(_value(k, c, "lw:confidence") for c in claims),
        claims_by_extent_read=_by_extent_read(k, claims),
        claims_by_kind=_counted(_claim_kind(k, c) for c in claims),
        claims_that_disagree=len(_disagreeing(k, claims)),
        claims_to_check=sum(k.is_true(c, "lw:needsCheck") for c in claims),
        techniques=len(techniques),
        technique_groups=len(groups),
        techniques_without_effect=len(techniques - answering - acts),
        materials_and_structures=len({m for kind in MATERIAL_CLASSES for m in k.instances(kind)}),
        materials_by_kind=_materials_by_kind(k),
        support_materials=len(k.instances(SUPPORTS)),
        damages=len(catalogue.damages),
        damages_without_option=sum(not _is_answered(k, catalogue, d) for d in catalogue.damages),
        tests=len(catalogue.tests),
        cautions=len(k.instances("lw:Caution")),
        conditions=len(k.instances("lw:Condition")),
        agents=len(catalogue.agents),
        **_sources(k),
        rules=len(rules),
        rules_by_theme=_counted(rule.theme for rule in rules),
        rules_by_severity=_counted(rule.severity for rule in rules),
        grades=_sum(by_agent.values()),
        grades_by_agent=by_agent,
        grades_contested=_contested(k, catalogue),
    )


def _sources(k: Knowledge) -> dict[str, Any]:
    """Return the fields of a coverage that tell of sources."""
    sources = k.instances("lw:Source")
    return {
        "sources": len(sources),
        "sources_not_opened": sum(k.is_true(s, "lw:notOpened") for s in sources),
        "sources_incomplete": _sources_that(k, lambda s: not _is_complete(k, s)),
        "sources_undated": sum(k.is_true(s, "lw:undated") for s in sources),
        "sources_unnamed": _sources_that(k, lambda s: k.text(s, "dcterms:creator") in UNNAMED),
        "sources_without_doi": _sources_that(k, lambda s: not k.text(s, "lw:hasDoi")),
    }


def _sources_that(k: Knowledge, holds: Callable[[str], bool]) -> tuple[str, ...]:
    return tuple(sorted(s for s in k.instances("lw:Source") if holds(s)))


def _is_complete(k: Knowledge, source: str) -> bool:
    dated = k.text(source, "dcterms:date") or k.is_true(source, "lw:undated")
    return bool(k.text(source, "dcterms:creator") and k.text(source, "dcterms:title") and dated)


def _counted(values: Iterable[str]) -> dict[str, int]:
    return dict(sorted(Counter(values).items(), key=lambda item: (-item[1], item[0])))


def _by_extent_read(k: Knowledge, claims: Iterable[str]) -> dict[str, int]:
    read = (c for c in claims if k.object(c, "lw:basis") == "lw:read")
    return _counted(_value(k, c, "lw:readAs") for c in read)


def _materials_by_kind(k: Knowledge) -> dict[str, int]:
    return {kind.removeprefix("lw:"): len(k.instances(kind)) for kind in MATERIAL_CLASSES}


def _value(k: Knowledge, claim: str, predicate: str) -> str:
    return (k.object(claim, predicate) or "none").removeprefix("lw:")


def _sheet(k: Knowledge, claim: str) -> str:
    """Return the letter of the fact sheet that a claim was entered from, or ``own``."""
    return k.text(claim, "lw:sheetId").partition("-")[0] or "own"


def _claim_kind(k: Knowledge, claim: str) -> str:
    kinds = [one for one in k.objects(claim, "rdf:type") if one not in ("lw:Claim", "prov:Entity")]
    return k.text(claim, "lw:claimKind") or (
        kinds[0].removeprefix("lw:").removesuffix("Claim").lower() if kinds else "other"
    )


def _disagreeing(k: Knowledge, claims: Iterable[str]) -> set[str]:
    """Return the claims of which a disagreement is written down, on either side of it."""
    pairs = [(c, other) for c in claims for other in k.objects(c, "lw:disagreesWith")]
    return {claim for pair in pairs for claim in pair}


def _materials(k: Knowledge) -> list[str]:
    return sorted({m for kind in MATERIAL_CLASSES for m in k.instances(kind)})


def _grades(k: Knowledge, catalogue: Catalogue) -> dict[str, Share]:
    """Return, for each agent that materials should be graded for, how many are.

    What nobody has identified carries no grade, and a pair that means nothing needs none.
    """
    told = [m for m in _materials(k) if m not in catalogue.uncertain_materials]
    found = {}
    for agent in sorted(catalogue.agents.values(), key=_by_id):
        if agent.graded:
            asked = [m for m in told if agent.means_nothing_for.isdisjoint(k.broader(m))]
            known = [s for m in asked if (s := catalogue.sensitivity(m, agent.id)).known]
            inherited = sum(bool(s.inherited_from) for s in known)
            found[agent.id] = Share(len(known), inherited, len(asked))
    return found


def _by_id(agent: Agent) -> str:
    return agent.id


def _contested(k: Knowledge, catalogue: Catalogue) -> int:
    graded = [a.id for a in catalogue.agents.values() if a.graded]
    return sum(catalogue.sensitivity(m, a).contested for m in _materials(k) for a in graded)


def _sum(shares: Iterable[Share]) -> Share:
    shares = list(shares)
    return Share(
        sum(s.known for s in shares), sum(s.inherited for s in shares), sum(s.of for s in shares)
    )


def _is_answered(k: Knowledge, catalogue: Catalogue, damage: str) -> bool:
    return any(catalogue.effects.get(kind) for kind in k.broader(damage))
