"""Findings: what the rules say of the exposures, options, parts and record of a case."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain
from typing import NamedTuple

from leastwise.graph.case.record import Case
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.rules import Rule, RuleBook
from leastwise.graph.meanings import BLOCKING, RuleEffect
from leastwise.graph.names import BASE
from leastwise.graph.sentences import agreed, is_plural, listed, sentence_case, the, the_all
from leastwise.graph.shacl import Results
from leastwise.graph.shacl.triples import Triples, distinct, pack, unpack
from leastwise.graph.weighing.candidates import Candidate, open_questions
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.earlier import waits_for_work
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.facts import (
    case_base,
    write_case,
    write_exposures,
    write_options,
)
from leastwise.graph.weighing.needs import NeedHere
from leastwise.graph.weighing.rows import Rows

__all__ = ["CaseData", "Finding", "Found", "find", "find_all"]

#: What is said where an agent may arrive by a contact that nobody recorded.
NOT_RECORDED = "rule:contact-not-recorded"
#: What a rule says of such an exposure is a question, if it would forbid or ask.
WOULD_MATTER = (RuleEffect.DEFEATS, RuleEffect.LEAVES_UNDECIDED)

_PLACEHOLDER = re.compile(r"\{([A-Za-z]+)\}")
_CASE_OF = re.compile(rf"<{re.escape(BASE)}case/[^/]+/")


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
    exposures: Mapping[OptionId, tuple[Exposure, ...]]  # by option
    reader: ConditionReader
    in_words: bool = True  # else only what blocks an option is looked for, and nothing is said
    _said: dict[tuple[object, ...], str] = field(default_factory=dict, repr=False, compare=False)
    _asked: dict[str, frozenset[str]] = field(default_factory=dict, repr=False, compare=False)
    _words: dict[tuple[str, str], str | None] = field(
        default_factory=dict, repr=False, compare=False
    )

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
        triples, (exposures,) = _written([self])
        return triples, exposures

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
            rule, f"exposure/{e.id}", self._on_exposure(rule, e) if self.in_words else "",
            e.part, e.material, e.agent, e.reach.via, e.sensitivity.claims, e,
        )  # fmt: skip

    def finding(self, rule: Rule, focus: str) -> Finding:
        """Return the finding of a rule on an option, a part or the record."""
        kind, _, rest = focus.partition("/")
        if not self.in_words:
            return Finding(rule, focus, "", part=rest if kind == "part" else "")
        if kind == "option":
            return Finding(rule, focus, self._on_option(rule, self._candidate_by_id[rest]))
        if kind == "part":
            names = {"part": the(self._part_name[rest]), "object": self._object()}
            said = self._say(rule, names, self._plural([rest]))
            return Finding(rule, focus, said, part=rest)
        return Finding(rule, focus, self._say(rule, {"object": self._object()}))

    def _object(self) -> str:
        return the(self.case.object.name)

    def _on_exposure(self, rule: Rule, e: Exposure) -> str:
        """Return the message on an exposure; each is put into words once."""
        technique = e.technique if "technique" in self._placeholders(rule) else ""
        key = (rule.id, e.agent, e.material, e.part, e.on_target, e.reach.way, technique)
        said = self._said.get(key)
        if said is None:
            plural = self._plural([e.part], material=e.material, agent=e.agent)
            said = self._said[key] = self._say(rule, self._of_exposure(e), plural)
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
            "part": the(self._part_name[e.part]),
            "via": self._via(e, way),
            "technique": k.label(e.technique),
            "object": self._object(),
        }

    def _via(self, e: Exposure, between: list[str]) -> str:
        if e.on_target:
            return ""
        start = self._part_name[e.reach.way[0]]
        if len(e.reach.way) < 2:
            return ""
        return f", coming from {the(start)}" + (f" by way of {the_all(between)}" if between else "")

    def _on_option(self, rule: Rule, c: Candidate) -> str:
        words = {name: self._word(name, c) for name in self._placeholders(rule)}
        return self._say(rule, words, self._plural(c.parts, damage=words.get("damage") or ""))

    def _plural(
        self, parts: Sequence[str], *, material: str = "", agent: str = "", damage: str = ""
    ) -> frozenset[str]:
        """Return the placeholders that stand for several things."""
        label = self.catalogue.knowledge.label
        several = {
            "part": len(parts) > 1 or is_plural(self._part_name[parts[0]]),
            "material": bool(material) and is_plural(label(material)),
            "agent": bool(agent) and is_plural(label(agent)),
            "damage": is_plural(damage),
        }
        return frozenset(name for name, holds in several.items() if holds)

    def _word(self, name: str, c: Candidate) -> str | None:
        """Return what a placeholder stands for on an option, or None; worked out once."""
        key = (c.id, name)
        if key not in self._words:
            k, reader = self.catalogue.knowledge, self.reader
            words: dict[str, Callable[[], str]] = {
                "object": self._object,
                "technique": lambda: c.technique.label,
                "part": lambda: the_all(self._part_name[part] for part in c.parts),
                "damage": lambda: self._problem(c),
                "condition": lambda: self._conditions(c),
                "open": lambda: _quoted(k.label(one) for one in open_questions(c, reader)),
                "failed": lambda: self._failed(c),
                "test": lambda: self._missing_tests(c),
                "work": lambda: _quoted(k.label(w) for w in waits_for_work(c)),
                "equipment": lambda: listed(
                    [o for o in c.technique.equipment_keys if reader.has_equipment(o) != "yes"]
                ),
            }
            self._words[key] = words[name]() if name in words else None
        return self._words[key]

    def _conditions(self, c: Candidate) -> str:
        k = self.catalogue.knowledge
        states = {condition: self.reader.state(condition, c) for condition in c.requires}
        denied = [k.label(one) for one, state in states.items() if state == "no"]
        silent = [k.label(one) for one, state in states.items() if state == "unknown"]
        return _quoted(denied or silent)

    def _failed(self, c: Candidate) -> str:
        """Return the conditions that the effect needs and the record denies."""
        return _quoted(self.catalogue.knowledge.label(one) for one in c.lacking)

    def _problem(self, c: Candidate) -> str:
        """Return the damage with its article; a need is a phrase, and quoted."""
        said = c.damage.in_words(self.catalogue.knowledge.label)
        return _quoted([said]) if isinstance(c.damage, NeedHere) else the(said)

    def _missing_tests(self, c: Candidate) -> str:
        k = self.catalogue.knowledge
        tests = {state: k.label(test) for test, state in self.reader.missing_tests(c)}
        return listed(list(tests.values()))

    @staticmethod
    def _say(
        rule: Rule, names: Mapping[str, str | None], plural: frozenset[str] = frozenset()
    ) -> str:
        """Fill the message in one go, so that braces in a name of the record stay as they are."""
        return _filled(rule.message, names, plural)


def _filled(template: str, names: Mapping[str, str | None], plural: frozenset[str]) -> str:
    """Return a template with its placeholders filled, as one sentence.

    The verb after a subject agrees with it, and what was put in between is closed by a comma.
    """
    first, *rest = _PLACEHOLDER.split(template)
    said, subject, before = [first], "", ""
    for name, text in zip(rest[::2], rest[1::2], strict=True):
        if not subject:
            subject, before = name.lower(), "".join(said)
        value = _value(names, name)
        said.append(value)
        if name == "via" and value and text.startswith(" "):
            said.append(",")
        if text in ("", " of "):
            said.append(text)
            continue
        said.append(agreed(before, text, plural=subject in plural))
        subject = ""
    return sentence_case("".join(said))


def _value(names: Mapping[str, str | None], name: str) -> str:
    """Return what a placeholder stands for; with a capital where its own name has one."""
    value = names.get(name)
    if value is not None:
        return value
    value = names.get(name.lower())
    return f"{{{name}}}" if value is None else sentence_case(value)


def _quoted(labels: Iterable[str]) -> str:
    """Return the labels of conditions as a list, each in quotation marks."""
    return listed([f"\u201c{label}\u201d" for label in labels])


#: Findings by option; those on parts and on the record stand under "".
Found = dict[str, tuple[Finding, ...]]


def find(data: CaseData, book: RuleBook) -> Found:
    """Return the findings by option; those on parts and on the record stand under "".

    Where an agent may arrive by a contact that nobody recorded, whatever a rule would forbid or
    ask there comes down to one question: how do the parts touch? Each list is sorted gravest
    first, then by rule and focus, so that it is the same every time.
    """
    return find_all([data], book)[0]


def find_all(batch: Sequence[CaseData], book: RuleBook) -> list[Found]:
    """Return the findings of several cases, or variants of one, from one evaluation.

    What each holds is what :func:`find` would say of it alone. The ids of the cases have to differ.
    Where none of them is put into words, only rules are asked that may block an option.
    """
    if not batch:
        return []
    triples, numbers = _written(batch)
    place = book.places
    asked = book.rules.get(NOT_RECORDED)
    sorters = [
        _Sorter(data, terms, place, asked) for data, terms in zip(batch, numbers, strict=True)
    ]
    by_case = {f"<{case_base(one.data.case)}": one for one in sorters}
    exposed = [one for one in sorters if one.terms]
    starts = [one.terms.start for one in exposed]
    in_words = any(data.in_words for data in batch)
    results = book.evaluate(triples, blocking=not in_words)
    for rule, focus in chain(_pairs(results, book), _in_sparql(triples, book)):
        if not (in_words or rule.effect in BLOCKING):
            continue
        number = bisect_right(starts, focus) - 1
        if number >= 0 and focus in exposed[number].terms:
            exposed[number].exposure(rule, focus)
        elif (found := _CASE_OF.match(term := results.terms[focus])) and found[0] in by_case:
            by_case[found[0]].other(rule, term[len(found[0]) : -1])
    return [one.found() for one in sorters]


def _written(batch: Sequence[CaseData]) -> tuple[Triples, list[range]]:
    """Return the cases of a batch laid over their knowledge, and the numbers of their exposures."""
    knowledge = batch[0].catalogue.knowledge.triples
    rows = Rows(knowledge.terms.child())
    numbers = []
    for data in batch:
        write_case(data.case, rows)
        write_options(data.case, data.candidates, data.reader, rows)
        numbers.append(write_exposures(data.case, data.all_exposures(), rows))
    return rows.on(knowledge), numbers


@dataclass
class _Sorter:
    """Gathers the findings of one case of a batch."""

    data: CaseData
    terms: range  # the numbers of its exposures
    place: Mapping[str, tuple[int, str]]
    asked: Rule | None  # what is said of a contact that nobody recorded
    _rows: dict[str, dict[tuple[tuple[int, str], str], Finding]] = field(
        default_factory=dict, repr=False, compare=False
    )

    @cached_property
    def _exposures(self) -> list[Exposure]:
        return [*self.data.all_exposures()]

    def exposure(self, rule: Rule, number: int) -> None:
        """Take in that a rule flags an exposure."""
        exposure = self._exposures[number - self.terms.start]
        if not exposure.reach.recorded:
            if rule.effect not in WOULD_MATTER:
                return
            rule = self.asked or rule
        self._keep(exposure.option, self.data.of_exposure(rule, exposure))

    def other(self, rule: Rule, focus: str) -> None:
        """Take in that a rule flags an option, a part or the record."""
        kind, _, rest = focus.partition("/")
        self._keep(rest if kind == "option" else "", self.data.finding(rule, focus))

    def _keep(self, option: str, finding: Finding) -> None:
        key = (self.place[finding.rule.id], finding.focus)
        self._rows.setdefault(option, {})[key] = finding

    def found(self) -> Found:
        """Return what was gathered, sorted."""
        # a rule and a focus come once, so that the findings themselves are never compared
        return {
            one: tuple(rows[key] for key in sorted(rows))
            for one, rows in sorted(self._rows.items())
        }


def _pairs(results: Results, book: RuleBook) -> Iterator[tuple[Rule, int]]:
    """Yield (rule, number of the focus node); several results of one pair say one thing."""
    shape_ids, focus_ids = unpack(distinct(pack(results.shape, results.focus)))
    for shape, focus in zip(shape_ids.tolist(), focus_ids.tolist(), strict=True):
        if (rule := book.named.get(shape)) is not None:
            yield rule, focus


def _in_sparql(triples: Triples, book: RuleBook) -> Iterator[tuple[Rule, int]]:
    """Yield the same of the rules that need SPARQL."""
    for name, focus in book.flagged_in_sparql(triples):
        if (rule := book.rules.get(name)) is not None:
            yield rule, focus
