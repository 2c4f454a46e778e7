"""Findings: what the rules say of the exposures, options, parts and record of a case."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
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
from leastwise.graph.shacl import Results
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
    exposure: Exposure | None = None  # if it speaks of one


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
    _words: dict[tuple[str, str], str | None] = field(default_factory=dict, repr=False)

    @property
    def triples(self) -> Triples:
        """Return the case laid over the knowledge, as columns."""
        return self._written[0]

    @property
    def exposure_terms(self) -> range:
        """Return the numbers of the exposures' terms in those columns, in their order."""
        return self._written[1]

    @cached_property
    def _written(self) -> tuple[Triples, range]:
        knowledge = self.catalogue.knowledge.triples
        rows = Rows(knowledge.terms.child())
        write_case(self.case, rows)
        write_options(self.case, self.candidates, self.reader, rows)
        exposures = write_exposures(self.case, self.all_exposures(), rows)
        return rows.on(knowledge), exposures

    def all_exposures(self) -> Iterator[Exposure]:
        """Yield every exposure of every option."""
        for exposures in self.exposures.values():
            yield from exposures

    @cached_property
    def _candidate_by_id(self) -> dict[str, Candidate]:
        return {c.id: c for c in self.candidates}

    @cached_property
    def _part_name(self) -> dict[str, str]:
        return {part.id: part.name for part in self.case.parts}

    def of_exposure(self, rule: Rule, e: Exposure) -> Finding:
        """Return the finding of a rule on an exposure, with its message filled in."""
        return Finding(
            rule, f"exposure/{e.id}", self._on_exposure(rule, e),
            e.part, e.material, e.agent, e.reach.via, e.sensitivity.claims, e,
        )  # fmt: skip

    def finding(self, rule: Rule, focus: str) -> Finding:
        """Return the finding of a rule on an option, a part or the record."""
        kind, _, rest = focus.partition("/")
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
        return self._say(rule, {name: self._word(name, c) for name in self._placeholders(rule)})

    def _word(self, name: str, c: Candidate) -> str | None:
        """Return what a placeholder stands for on an option, or None; worked out once."""
        key = (c.id, name)
        if key not in self._words:
            k, reader = self.catalogue.knowledge, self.reader
            words: dict[str, Callable[[], str]] = {
                "technique": lambda: c.technique.label,
                "part": lambda: ", ".join(self._part_name[part] for part in c.parts),
                "damage": lambda: k.label(c.damage.damage),
                "condition": lambda: self._conditions(c),
                "test": lambda: self._missing_tests(c),
                "equipment": lambda: ", ".join(
                    one for one in c.technique.equipment_keys if reader.has_equipment(one) != "yes"
                ),
            }
            self._words[key] = words[name]() if name in words else None
        return self._words[key]

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
    def _say(rule: Rule, names: Mapping[str, str | None]) -> str:
        """Fill the message in one go, so that braces in a name of the record stay as they are."""

        def fill(found: re.Match[str]) -> str:
            name = found[1]
            value = names.get(name)
            if value is not None:
                return value
            value = names.get(name.lower())
            return found[0] if value is None else value[:1].upper() + value[1:]

        return _PLACEHOLDER.sub(fill, rule.message)


def find(data: CaseData, book: RuleBook) -> dict[str, tuple[Finding, ...]]:
    """Return the findings by option; those on parts and on the record stand under "".

    Each list is sorted gravest first, then by rule and focus, so that it is the same every time.
    """
    base, exposures = f"<{case_base(data.case)}", [*data.all_exposures()]
    results, numbers = book.evaluate(data.triples), data.exposure_terms
    place = {rule: (VERDICT_EFFECTS.index(one.effect), rule) for rule, one in book.rules.items()}
    found: dict[str, list[tuple[tuple[int, str], str, Finding]]] = {}
    for name, focus in _pairs(results):
        rule = book.rules.get(name)
        if rule is None:
            continue
        if focus in numbers:
            exposure = exposures[focus - numbers.start]
            option, finding = exposure.option, data.of_exposure(rule, exposure)
        else:
            term = results.terms[focus]
            if not term.startswith(base):
                continue
            finding = data.finding(rule, term[len(base) : -1])
            option = finding.focus.removeprefix("option/")
            if option == finding.focus:
                option = ""  # a part, or the record
        found.setdefault(option, []).append((place[name], finding.focus, finding))
    # a rule and a focus come once, so that the findings themselves are never compared
    return {option: tuple(f for _, _, f in sorted(found[option])) for option in sorted(found)}


def _pairs(results: Results) -> Iterator[tuple[str, int]]:
    """Yield (rule, number of the focus node); several results of one pair say one thing."""
    shapes, pairs = results.compiled.shapes, pack(results.shape, results.focus)
    shape_ids, focus_ids = unpack(distinct(pairs))
    named = {i: curie_of(shapes[i].node) for i in distinct(shape_ids).tolist()}
    for shape, focus in zip(shape_ids.tolist(), focus_ids.tolist(), strict=True):
        yield named[shape], focus
