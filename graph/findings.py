"""Findings: what the rules say of the exposures, options, parts and record of a case."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from leastwise.graph.candidates import Candidate
from leastwise.graph.case import Case
from leastwise.graph.case_rdf import Rows, case_base, write_case, write_exposures, write_options
from leastwise.graph.concepts import Catalogue
from leastwise.graph.conditions import ConditionReader
from leastwise.graph.exposure import Exposure
from leastwise.graph.names import curie_of
from leastwise.graph.rules import VERDICT_EFFECTS, Rule, RuleBook
from leastwise.graph.shacl.triples import Triples

__all__ = ["CaseData", "Finding", "find"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule speaking of one thing; *focus* is the local name of that thing in the case."""

    rule: Rule
    focus: str
    message: str
    part: str = ""
    material: str = ""
    agent: str = ""
    via: str = ""
    claims: tuple[str, ...] = ()  # claims on the material, besides those the rule rests on

    @property
    def order(self) -> tuple[int, str, str]:
        """Sorts gravest first, then by rule and focus."""
        return (VERDICT_EFFECTS.index(self.rule.effect), self.rule.id, self.focus)


@dataclass(frozen=True)
class CaseData:
    """A case with its candidates and exposures, as the rules see it."""

    case: Case
    catalogue: Catalogue
    candidates: tuple[Candidate, ...]
    exposures: dict[str, tuple[Exposure, ...]]  # by option
    reader: ConditionReader

    @cached_property
    def triples(self) -> Triples:
        """Return the case laid over the knowledge, as columns."""
        knowledge = self.catalogue.knowledge.triples
        rows = Rows(knowledge.terms.child())
        write_case(self.case, rows)
        write_options(self.case, self.candidates, self.reader, rows)
        write_exposures(self.case, self.all_exposures(), rows)
        return rows.on(knowledge)

    def all_exposures(self) -> Iterator[Exposure]:
        """Yield every exposure of every option."""
        for exposures in self.exposures.values():
            yield from exposures

    @cached_property
    def _exposure_by_id(self) -> dict[str, Exposure]:
        return {e.id: e for e in self.all_exposures()}

    @cached_property
    def _candidate_by_id(self) -> dict[str, Candidate]:
        return {c.id: c for c in self.candidates}

    @cached_property
    def _part_name(self) -> dict[str, str]:
        return {part.id: part.name for part in self.case.parts}

    def option_of(self, focus: str) -> str:
        """Return the option that a focus belongs to, or an empty text for parts and record."""
        kind, _, rest = focus.partition("/")
        if kind == "option":
            return rest
        return self._exposure_by_id[rest].option if kind == "exposure" else ""

    def finding(self, rule: Rule, focus: str) -> Finding:
        """Return the finding of a rule on a focus, with its message filled in."""
        kind, _, rest = focus.partition("/")
        if kind == "exposure":
            e = self._exposure_by_id[rest]
            return Finding(
                rule, focus, self._say(rule, self._of_exposure(e)),
                e.part, e.material, e.agent, e.reach.via, e.sensitivity.claims,
            )  # fmt: skip
        if kind == "option":
            return Finding(
                rule, focus, self._say(rule, self._of_option(self._candidate_by_id[rest]))
            )
        if kind == "part":
            return Finding(rule, focus, self._say(rule, {"part": self._part_name[rest]}), part=rest)
        return Finding(rule, focus, self._say(rule, {"object": self.case.object.name}))

    def _of_exposure(self, e: Exposure) -> dict[str, str]:
        k = self.catalogue.knowledge
        way = [self._part_name[part] for part in e.reach.way[1:-1]]
        return {
            "agent": k.label(e.agent),
            "material": k.label(e.material),
            "part": self._part_name[e.part],
            "via": self._via(e, way),
            "technique": k.label(e.technique),
        }

    def _via(self, e: Exposure, between: list[str]) -> str:
        if e.on_target:
            return ""
        start = self._part_name[e.reach.way[0]]
        if len(e.reach.way) < 2:
            return ""
        return f", coming from {start}" + (f" by way of {', '.join(between)}" if between else "")

    def _of_option(self, c: Candidate) -> dict[str, str]:
        k = self.catalogue.knowledge
        states = {condition: self.reader.state(condition, c) for condition in c.technique.requires}
        denied = [k.label(one) for one, state in states.items() if state == "no"]
        silent = [k.label(one) for one, state in states.items() if state == "unknown"]
        tests = {state: k.label(test) for test, state in self.reader.missing_tests(c)}
        keys = [
            key for key in c.technique.equipment_keys if self.reader.has_equipment(key) != "yes"
        ]
        return {
            "technique": c.technique.label,
            "part": ", ".join(self._part_name[part] for part in c.parts),
            "damage": k.label(c.damage.damage),
            "condition": ", ".join(denied or silent),
            "test": ", ".join(tests.values()),
            "equipment": ", ".join(keys),
        }

    @staticmethod
    def _say(rule: Rule, names: dict[str, str]) -> str:
        text = rule.message
        for name, value in names.items():
            text = text.replace("{" + name + "}", value)
            text = text.replace("{" + name.capitalize() + "}", value[:1].upper() + value[1:])
        return text


def find(data: CaseData, book: RuleBook) -> dict[str, tuple[Finding, ...]]:
    """Return the findings by option; those on parts and on the record stand under "".

    Each list is sorted gravest first, then by rule and focus, so that it is the same every time.
    """
    base = f"<{case_base(data.case)}"
    found: dict[str, list[Finding]] = {}
    for shape, focus in sorted(set(_pairs(data, book))):
        rule = book.rules.get(shape)
        if rule is None or not focus.startswith(base):
            continue
        local = focus[len(base) : -1]
        found.setdefault(data.option_of(local), []).append(data.finding(rule, local))
    return {option: tuple(sorted(rows, key=lambda f: f.order)) for option, rows in found.items()}


def _pairs(data: CaseData, book: RuleBook) -> Iterable[tuple[str, str]]:
    """Return (rule, focus node) of every result; several results of one pair say one thing."""
    results = book.evaluate(data.triples)
    names = [curie_of(shape.node) for shape in results.compiled.shapes]
    terms = results.terms
    for shape, focus in zip(results.shape.tolist(), results.focus.tolist(), strict=True):
        yield names[shape], terms[focus]
