"""The rules: SHACL shapes of shapes/ with what they mean for an option, compiled once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.kept_shapes import compiled_shapes
from leastwise.graph.knowledge.knowledge import Knowledge, shipped_files
from leastwise.graph.knowledge.rule_reads import TestReading, readings_of_tests
from leastwise.graph.knowledge.sparql_rules import SparqlRules, set_apart
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.meanings import BLOCKING, RuleEffect
from leastwise.graph.names import curie_of
from leastwise.graph.shacl import CompiledShapes, Results, ShaclError, evaluate
from leastwise.graph.shacl.triples import Triples

__all__ = ["VERDICT_EFFECTS", "Rule", "RuleBook", "load_rule_book", "read_rule", "shipped_rules"]

#: Shapes of form, not of harm: they are checked elsewhere.
FORM_FILES = ("case.ttl", "knowledge.ttl")

#: What a finding may do to an option, gravest first.
VERDICT_EFFECTS = tuple(RuleEffect)


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule. Severity is the local name of sh:Violation, sh:Warning or sh:Info."""

    id: str
    severity: str
    effect: RuleEffect
    theme: str
    message: str
    cautions: tuple[str, ...]
    lifted_by: tuple[str, ...]
    rests_on: tuple[str, ...]
    note: str
    waits_for: str = ""  # lw:Means or lw:Permission where it is not harm that it speaks of
    asks_of: tuple[str, ...] = ()  # materials: what lifts it is asked of all parts of them


@dataclass(frozen=True)
class RuleBook:
    """All rules, and their shapes compiled against the knowledge they read."""

    rules: Mapping[str, Rule]
    compiled: CompiledShapes
    digest: str
    in_sparql: SparqlRules = field(default_factory=SparqlRules)  # of a collection, seldom
    written: Knowledge | None = field(default=None, repr=False, compare=False)  # as triples

    def evaluate(self, data: Triples, *, blocking: bool = False) -> Results:
        """Return the results of the rules of SHACL Core over cases laid over the knowledge.

        With *blocking* only those are asked that may defeat an option or leave it undecided.
        """
        return evaluate(self._blocking if blocking else self.compiled, data)

    @cached_property
    def places(self) -> Mapping[str, tuple[int, str]]:
        """Return for each rule what sorts its findings: the gravest first, then by name."""
        return {rule: (VERDICT_EFFECTS.index(one.effect), rule) for rule, one in self.rules.items()}

    @cached_property
    def named(self) -> Mapping[int, Rule]:
        """Return the rules by the numbers of their shapes."""
        shapes, rules = self.compiled.shapes, self.rules
        names = ((index, curie_of(shapes[index].node)) for index in self.compiled.aimed)
        return {index: rules[name] for index, name in names if name in rules}

    @cached_property
    def _blocking(self) -> CompiledShapes:
        mine = (index for index, rule in self.named.items() if rule.effect in BLOCKING)
        return replace(self.compiled, aimed=tuple(mine))

    @cached_property
    def reads_tests(self) -> tuple[TestReading, ...] | None:
        """Return what the rules that may block an option read of tests; None if that isn't known.

        What a query in SPARQL reads isn't.
        """
        if self.written is None or self.in_sparql:
            return None
        mine = (name for name, one in self.rules.items() if one.effect in BLOCKING)
        return readings_of_tests(self.written, self.compiled, mine)

    def flagged_in_sparql(self, data: Triples) -> list[tuple[str, int]]:
        """Return (rule, number of its focus node) for the rules that need SPARQL, if any do.

        Raises:
            KnowledgeError: a query can't be asked.

        """
        try:
            return self.in_sparql.flagged(data)
        except ShaclError as error:
            raise KnowledgeError("rules/", f"{error}.", "Correct that rule.") from error

    @cached_property
    def themes(self) -> dict[str, list[Rule]]:
        """Return the rules by theme, each in alphabetical order."""
        found: dict[str, list[Rule]] = {}
        for rule in sorted(self.rules.values(), key=lambda r: r.id):
            found.setdefault(rule.theme, []).append(rule)
        return found


def shipped_rules() -> list[Path]:
    """Return the files of the shipped rules, without the shapes that state a form."""
    return [path for path in shipped_files("shapes") if path.name not in FORM_FILES]


def load_rule_book(
    extra: Iterable[Path] = (), *, files: Iterable[Path] | None = None, cache: Path | None = None
) -> RuleBook:
    """Return the shipped rules (or those of *files* instead) and the *extra* ones, compiled.

    Shapes that state the form of a record or of knowledge (FORM_FILES) aren't rules.

    Raises:
        KnowledgeError: a rule lacks its message or effect, or uses more than SHACL Core and
            ``sh:sparql`` at its own node.

    """
    paths = shipped_rules() if files is None else list(files)
    triples, digest = load_triples([*paths, *extra], cache)
    book = Knowledge(triples, digest)
    rules = {one: read_rule(book, one) for one in _rule_names(book)}
    core, in_sparql = set_apart(triples)
    try:
        compiled = compiled_shapes(core, digest, cache)
        in_sparql.read()
    except ShaclError as error:
        raise KnowledgeError("shapes/", f"{error}.", "Correct that shape.") from error
    return RuleBook(rules, compiled, digest, in_sparql, book)


def _rule_names(book: Knowledge) -> list[str]:
    return [one for one in book.instances("sh:NodeShape") if one.startswith("rule:")]


def read_rule(book: Knowledge, one: str) -> Rule:
    """Return one rule of a graph of rules.

    Raises:
        KnowledgeError: it lacks its message or effect, or severity and effect don't agree.

    """
    effect = (book.object(one, "lw:verdictEffect") or "").removeprefix("lw:")
    message = book.text(one, "sh:message")
    if effect not in VERDICT_EFFECTS or not message:
        raise KnowledgeError(
            one,
            "lacks its sh:message or its lw:verdictEffect.",
            f"Give both; the effect is one of {', '.join('lw:' + e for e in VERDICT_EFFECTS)}.",
        )
    severity = (book.object(one, "sh:severity") or "sh:Violation").removeprefix("sh:")
    if (severity == "Violation") != (effect == RuleEffect.DEFEATS):
        raise KnowledgeError(
            one,
            f"has severity {severity} and effect {effect}.",
            "Violation goes with lw:defeats, and only with it.",
        )
    return Rule(
        id=one,
        severity=severity,
        effect=RuleEffect(effect),
        theme=book.text(one, "lw:theme"),
        message=message,
        cautions=tuple(book.objects(one, "lw:caution")),
        lifted_by=tuple(book.objects(one, "lw:liftedBy")),
        rests_on=tuple(book.objects(one, "lw:restsOn")),
        note=book.text(one, "skos:note"),
        waits_for=book.object(one, "lw:waitsFor") or "",
        asks_of=tuple(book.objects(one, "lw:asksOfPartsOf")),
    )
