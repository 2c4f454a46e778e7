"""Findings: what the rules say of the exposures, options, parts and record of a case."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from leastwise.graph.candidates import Candidate
from leastwise.graph.case import Case
from leastwise.graph.case_rdf import Rows, case_base, write_case, write_exposures, write_options
from leastwise.graph.concepts import Catalogue
from leastwise.graph.conditions import ConditionReader
from leastwise.graph.exposure import Exposure
from leastwise.graph.names import curie_of
from leastwise.graph.rules import VERDICT_EFFECTS, Rule, RuleBook
from leastwise.graph.shacl.triples import Triples, distinct, pack, unpack

__all__ = ["CaseData", "Finding", "find"]

_PLACEHOLDER = re.compile(r"\{([A-Za-z]+)\}")


class Finding(NamedTuple):
    """One rule speaking of one thing; *focus* is the local name of that thing in the case.

    A named tuple, as exposures are, since there are as many of them.
    """

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
    _said: dict[tuple[object, ...], str] = field(default_factory=dict, repr=False)
    _asked: dict[str, frozenset[str]] = field(default_factory=dict, repr=False)

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

    def exposure(self, name: str) -> Exposure:
        """Return the exposure of that id."""
        return self._exposure_by_id[name]

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
                rule, focus, self._on_exposure(rule, e),
                e.part, e.material, e.agent, e.reach.via, e.sensitivity.claims,
            )  # fmt: skip
        if kind == "option":
            return Finding(rule, focus, self._on_option(rule, self._candidate_by_id[rest]))
        if kind == "part":
            return Finding(rule, focus, self._say(rule, {"part": self._part_name[rest]}), part=rest)
        return Finding(rule, focus, self._say(rule, {"object": self.case.object.name}))

    def _on_exposure(self, rule: Rule, e: Exposure) -> str:
        """Return the message on an exposure; each is put into words once."""
        technique = e.technique if "technique" in self._placeholders(rule) else ""
        key = (rule.id, e.agent, e.material, e.part, e.on_target, e.reach.way, technique)
        said = self._said.get(key)
        if said is None:
            said = self._said[key] = self._say(rule, self._of_exposure(e))
        return said

    def _placeholders(self, rule: Rule) -> frozenset[str]:
        asked = self._asked.get(rule.id)
        if asked is None:
            found = _PLACEHOLDER.findall(rule.message)
            asked = self._asked[rule.id] = frozenset(name.lower() for name in found)
        return asked

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

    def _on_option(self, rule: Rule, c: Candidate) -> str:
        k = self.catalogue.knowledge
        words: dict[str, Callable[[], str]] = {
            "technique": lambda: c.technique.label,
            "part": lambda: ", ".join(self._part_name[part] for part in c.parts),
            "damage": lambda: k.label(c.damage.damage),
            "condition": lambda: self._conditions(c),
            "test": lambda: self._missing_tests(c),
            "equipment": lambda: ", ".join(
                key for key in c.technique.equipment_keys if self.reader.has_equipment(key) != "yes"
            ),
        }
        asked = self._placeholders(rule)
        return self._say(rule, {name: say() for name, say in words.items() if name in asked})

    def _conditions(self, c: Candidate) -> str:
        k = self.catalogue.knowledge
        states = {condition: self.reader.state(condition, c) for condition in c.technique.requires}
        denied = [k.label(one) for one, state in states.items() if state == "no"]
        silent = [k.label(one) for one, state in states.items() if state == "unknown"]
        return ", ".join(denied or silent)

    def _missing_tests(self, c: Candidate) -> str:
        k = self.catalogue.knowledge
        tests = {state: k.label(test) for test, state in self.reader.missing_tests(c)}
        return ", ".join(tests.values())

    @staticmethod
    def _say(rule: Rule, names: dict[str, str]) -> str:
        """Fill the message in one go, so that braces in a name of the record stay as they are."""

        def fill(found: re.Match[str]) -> str:
            name = found[1]
            if name in names:
                return names[name]
            value = names.get(name.lower())
            return found[0] if value is None else value[:1].upper() + value[1:]

        return _PLACEHOLDER.sub(fill, rule.message)


def find(data: CaseData, book: RuleBook) -> dict[str, tuple[Finding, ...]]:
    """Return the findings by option; those on parts and on the record stand under "".

    Each list is sorted gravest first, then by rule and focus, so that it is the same every time.
    """
    base = f"<{case_base(data.case)}"
    found: dict[str, list[Finding]] = {}
    for shape, focus in _pairs(data, book):
        rule = book.rules.get(shape)
        if rule is None or not focus.startswith(base):
            continue
        local = focus[len(base) : -1]
        found.setdefault(data.option_of(local), []).append(data.finding(rule, local))
    return {option: tuple(sorted(found[option], key=_order)) for option in sorted(found)}


def _order(finding: Finding) -> tuple[int, str, str]:
    return finding.order


def _pairs(data: CaseData, book: RuleBook) -> Iterable[tuple[str, str]]:
    """Return (rule, focus node) of the results; several results of one pair say one thing."""
    results = book.evaluate(data.triples)
    shapes, pairs = results.compiled.shapes, pack(results.shape, results.focus)
    shape_ids, focus_ids = unpack(distinct(pairs))
    named = {i: curie_of(shapes[i].node) for i in distinct(shape_ids).tolist()}
    terms = results.terms
    for shape, focus in zip(shape_ids.tolist(), focus_ids.tolist(), strict=True):
        yield named[shape], terms[focus]
