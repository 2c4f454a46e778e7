"""Checks one rule: its parts, that it is SHACL Core, and that it flags exactly its examples."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.rules import VERDICT_EFFECTS, read_rule
from leastwise.graph.knowledge.sparql_rules import SparqlRuleError, SparqlRules, set_apart
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.names import BASE, curie_of, term_of
from leastwise.graph.shacl import CompiledShapes, ShaclError, compile_shapes, evaluate
from leastwise.graph.shacl.triples import Triples

__all__ = ["PLACEHOLDERS", "RuleChecker", "RuleFault", "laid_over", "own_label"]

#: What a message may hold in braces; with a capital at the start of a sentence.
PLACEHOLDERS = (
    "agent",
    "condition",
    "damage",
    "equipment",
    "failed",
    "material",
    "object",
    "open",
    "part",
    "technique",
    "test",
    "via",
    "work",
)
FLAGGED = f"<{BASE}example/flagged/"
PASSING = f"<{BASE}example/passing/"
TARGETS = ("sh:targetClass", "sh:targetNode", "sh:targetSubjectsOf", "sh:targetObjectsOf")


@dataclass(frozen=True, slots=True)
class RuleFault:
    """What is wrong with a rule and how to mend it; *blocking* if the rule can't be asked."""

    what: str
    predicate: str | None = None
    blocking: bool = True


@dataclass(frozen=True)
class RuleChecker:
    """The rules of one file, with the knowledge that they read."""

    path: Path
    book: Knowledge
    knowledge: Knowledge

    def faults(self, rule: str) -> Iterator[RuleFault]:
        """Yield what is wrong with one rule of the file."""
        yield from self._parts(rule)
        try:
            core, in_sparql = set_apart(self._closure(rule))
            compiled = compile_shapes(core)
            in_sparql.read()
        except SparqlRuleError as error:
            yield RuleFault(f"{error}.", "sh:sparql")
            return
        except ShaclError as error:
            construct = getattr(error, "construct", None) or f"<{getattr(error, 'prop', '')}>"
            said = re.sub(r"^_:\w+: ", "", str(error))
            what = _in_curies(f"{said}. Say it with SHACL Core, as the rules beside it do.")
            yield RuleFault(what, curie_of(construct).strip("<>"))
            return
        if self._is_asked(rule):
            yield from self._example_faults(rule, compiled, in_sparql)

    def _is_asked(self, rule: str) -> bool:
        return any(self.book.objects(rule, target) for target in TARGETS)

    def _parts(self, rule: str) -> Iterator[RuleFault]:
        book = self.book
        effects = ", ".join(f"lw:{one}" for one in VERDICT_EFFECTS)
        if not book.text(rule, "sh:message"):
            yield RuleFault('It says nothing: add sh:message "…"@en.')
        if not book.objects(rule, "lw:verdictEffect"):
            yield RuleFault(f"It has no effect: add lw:verdictEffect, one of {effects}.")
        if book.text(rule, "sh:message") and book.objects(rule, "lw:verdictEffect"):
            try:
                read_rule(book, rule)
            except KnowledgeError as error:
                yield RuleFault(f"It {error.what} {error.mend}", "lw:verdictEffect")
        if not book.text(rule, "lw:theme"):
            yield RuleFault(
                'It has no theme: add lw:theme "…", such as "moisture".', blocking=False
            )
        if not self._is_asked(rule):
            yield RuleFault(
                "It is asked of nothing: add sh:targetClass lw:Exposure, lw:Option, lw:Part or "
                "lw:Case."
            )
        for name in re.findall(r"\{(\w+)\}", " ".join(book.texts(rule, "sh:message"))):
            if name.lower() not in PLACEHOLDERS:
                accepted = ", ".join(f"{{{one}}}" for one in PLACEHOLDERS)
                what = f"Nobody fills {{{name}}} in its message; expected {accepted}."
                yield RuleFault(what, "sh:message")

    @cached_property
    def _rows(self) -> dict[str, list[tuple[str, str, str]]]:
        terms = self.book.triples.terms
        rows: dict[str, list[tuple[str, str, str]]] = {}
        for s, p, o in zip(*(c.tolist() for c in self.book.triples.columns()), strict=True):
            rows.setdefault(terms[s], []).append((terms[s], terms[p], terms[o]))
        return rows

    def _closure(self, rule: str) -> Triples:
        """Return what the rule says, with the nameless nodes and shapes that it points to."""
        todo, seen = [term_of(rule)], set[str]()
        found: list[tuple[str, str, str]] = []
        while todo:
            node = todo.pop()
            if node not in seen:
                seen.add(node)
                found += self._rows.get(node, ())
                todo += [o for _, _, o in self._rows.get(node, ()) if o in self._rows]
        return Triples.from_terms(found)

    def _example_faults(
        self, rule: str, compiled: CompiledShapes, in_sparql: SparqlRules
    ) -> Iterator[RuleFault]:
        name = rule.partition(":")[2]
        path = self.path.parent / "examples" / f"{name}.ttl"
        if "/" not in name and path.is_file():  # a name never leads out of the folder
            try:
                triples, _ = load_triples([path], None)
            except KnowledgeError as error:
                yield RuleFault(f"Its example can't be read: {error}", blocking=False)
                return
            data = laid_over(self.knowledge.triples, triples)
            subjects = {triples.terms[i] for i in triples.s.tolist()}
        else:
            data = self.knowledge.triples
            mine = re.compile(rf"<{re.escape(BASE)}example/(flagged|passing)/{re.escape(name)}\b")
            subjects = {node for node in self._rows if mine.match(node)}
        flagged = {s for s in subjects if s.startswith(FLAGGED)}
        if not flagged or not any(s.startswith(PASSING) for s in subjects):
            what = (
                f"It has no example: add examples/{name}.ttl, or nodes flagged:{name} and "
                f"passing:{name} below the rule, which it must flag and must let pass."
            )
            yield RuleFault(what, blocking=False)
            return
        shape = term_of(rule)
        found = {row.focus for row in evaluate(compiled, data) if row.shape == shape}
        found |= {data.terms[focus] for _, focus in in_sparql.flagged(data)}
        found &= subjects
        for node in sorted(found ^ flagged):
            short = node.removeprefix(f"<{BASE}example/").rstrip(">").replace("/", ":", 1)
            said = "lets pass" if node in flagged else "flags"
            wanted = "flag it" if node in flagged else "let it pass"
            what = f"It {said} its example {short}, but should {wanted}; mend the one or the other."
            yield RuleFault(what, blocking=False)


def laid_over(base: Triples, own: Triples) -> Triples:
    """Return both; the nameless nodes of *own* get labels that *base* doesn't use."""
    terms = base.terms.child()
    names = [own_label(base, t) if t.startswith("_:") else t for t in own.terms]
    columns = [terms.intern_many(names[i] for i in column.tolist()) for column in own.columns()]
    return base.extended_with(terms, *columns)


def own_label(base: Triples, label: str) -> str:
    """Return the label that a nameless node gets when it is laid over *base*."""
    return f"_:own{len(base.terms)}-{label[2:]}"


def _in_curies(text: str) -> str:
    return re.sub(r"<([^<>\s]+)>", lambda m: curie_of(m.group()), text)
