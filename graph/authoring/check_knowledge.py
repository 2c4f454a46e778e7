"""Checks knowledge and rules: which file, which line, which subject, what is wrong, how to mend it.

The form is checked by the shapes of shapes/knowledge.ttl; beyond them every name in our own
namespaces has to be defined somewhere, and every rule has to compile and to flag its examples.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from pathlib import Path

from leastwise.graph.authoring.check_rules import RuleChecker, laid_over, own_label
from leastwise.graph.authoring.overlays import find_overrides, rules_overridden
from leastwise.graph.authoring.queries import breaches
from leastwise.graph.authoring.turtle_files import Fault, is_unreadable, turtle_in
from leastwise.graph.authoring.turtle_places import (
    Statement,
    read_prefixes,
    read_statements,
)
from leastwise.graph.knowledge.knowledge import Knowledge, load_knowledge, shipped_files
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.names import PREFIXES, SCHEMES, curie_of
from leastwise.graph.sentences import counted
from leastwise.graph.shacl import ResultRow, compile_shapes, evaluate
from leastwise.graph.shacl.terms import split_literal
from leastwise.graph.shacl.triples import Triples

__all__ = ["Checker", "Fault", "check_files"]

#: Shapes whose breach would make an answer wrong or impossible, not only poorer in words.
BLOCKING = ("agent-use", "burden", "effect", "hours", "sensitivity", "technique", "test")
#: What a subject of a namespace usually is.
KINDS = {"rule": "sh:NodeShape", "claim": "lw:Claim", "source": "lw:Source"}


def check_files(
    paths: Sequence[Path], *, over: Sequence[Path] = (), cache: Path | None = None
) -> tuple[list[Fault], str]:
    """Return the faults of *paths* (laid over the shipped knowledge) and a line that sums up.

    Without paths the shipped knowledge and rules are checked themselves. What the folders *over*
    say is taken for given.

    Raises:
        KnowledgeError: a path is not there, or is a folder without Turtle.

    """
    checker = Checker.shipped(cache)
    if over:
        checker = checker.extended_with(turtle_in(over))
    faults, number = checker.check(paths) if paths else checker.check_shipped()
    errors = sum(fault.level == "error" for fault in faults)
    warnings = counted(len(faults) - errors, "warning")
    return faults, f"{counted(number, 'file')} checked: {counted(errors, 'error')}, {warnings}."


@dataclass(frozen=True)
class Checker:
    """The shipped knowledge and shapes, loaded once, to check any number of files against."""

    base: Knowledge

    @classmethod
    def shipped(cls, cache: Path | None = None) -> Checker:
        """Return a checker over what is shipped."""
        files = [*shipped_files("seed_data"), *shipped_files("shapes")]
        return cls(load_knowledge(files=files, cache=cache))

    def check_shipped(self) -> tuple[list[Fault], int]:
        """Return the faults of the shipped knowledge itself, and the number of its files.

        It is held to the queries of ``seed_data/checks`` too.
        """
        files = self.base.files
        checked = _Checked(self.base, self.base, files)
        return _in_order([*checked.faults(), *checked.breaches()]), len(files)

    def check(self, paths: Sequence[Path], *, overrides: bool = True) -> tuple[list[Fault], int]:
        """Return the faults of files and folders laid over it, and the number of files.

        With *overrides* what they override is told too, as warnings, where no fault keeps them out.

        Raises:
            KnowledgeError: a path is not there, or is a folder without Turtle.

        """
        files = turtle_in(paths)
        faults: list[Fault] = []
        readable = [path for path in files if not is_unreadable(path, faults)]
        if readable:
            own = load_knowledge(files=readable)
            merged = self._under(own)
            checked = _Checked(merged, own, tuple(readable), self.base)
            faults += checked.faults()
            if overrides and not any(fault.blocking for fault in faults):
                faults += checked.overrides()
        return _in_order(faults), len(files)

    def extended_with(self, files: Sequence[Path]) -> Checker:
        """Return a checker that takes these files, too, for given."""
        own = load_knowledge(files=files)
        return Checker(self._under(own))

    def _under(self, own: Knowledge) -> Knowledge:
        """Return what is shipped with *own* laid over it."""
        return Knowledge(laid_over(self.base.triples, own.triples), "", beneath=self.base)


def _in_order(faults: Iterable[Fault]) -> list[Fault]:
    return sorted(set(faults), key=lambda f: (f.file, f.line, f.subject, f.what))


@dataclass(frozen=True)
class _Checked:
    """*own* files laid over a base, merged into *knowledge*; only what stands in *files* counts."""

    knowledge: Knowledge
    own: Knowledge
    files: tuple[Path, ...]
    base: Knowledge = field(default_factory=lambda: Knowledge(Triples.from_terms([]), ""))

    def faults(self) -> list[Fault]:
        return [
            *self._prefix_faults(),
            *self._shape_faults(),
            *self._loose_names(),
            *self._kindless(),
            *self._circles(),
            *self._twin_labels(),
            *self._technique_faults(),
            *self._effect_faults(),
            *self._rule_faults(),
        ]

    def breaches(self) -> Iterator[Fault]:
        """Yield what the queries of ``seed_data/checks`` find in the shipped knowledge."""
        for one in breaches(shipped_files("seed_data")):
            got = f" Got {_name_for_people(one.value)}." if one.value else ""
            value = one.value if one.value[:1] == '"' else None
            yield from self._fault(one.subject, one.what + got, None, value, level=one.level)

    def overrides(self) -> Iterator[Fault]:
        """Yield what the files override of the base, as warnings."""
        mend = "Leave it if this is meant, else take it away."
        found = [
            *find_overrides(self.base, self.own, self.knowledge),
            *rules_overridden(self.base, self.own),
        ]
        for one in found:
            where = next((name for name in one.names if name in self._places), "")
            path, statement = self._places[where][0] if where else (self.files[0], None)
            line = statement.line if statement else 0
            yield Fault("warning", str(path), line, one.subject, f"{one.sentence} {mend}")

    @cached_property
    def _texts(self) -> dict[Path, str]:
        return {path: path.read_text("utf-8") for path in self.files}

    @cached_property
    def _places(self) -> dict[str, list[tuple[Path, Statement]]]:
        """Subject -> the statements that start with it, in the files asked about."""
        places: dict[str, list[tuple[Path, Statement]]] = {}
        for path, text in self._texts.items():
            for statement in read_statements(text):
                places.setdefault(statement.subject, []).append((path, statement))
        return places

    @cached_property
    def _owners(self) -> dict[str, str]:
        """Blank node -> the subject that it hangs from."""
        parents: dict[str, str] = {}
        for subject in self.knowledge.subjects():
            for objects in self.knowledge.predicates(subject).values():
                parents.update({o: subject for o in objects if o.startswith("_:")})
        return parents

    def _fault(  # noqa: PLR0913 - each is a column of the fault
        self,
        subject: str,
        what: str,
        predicate: str | None = None,
        value: str | None = None,
        *,
        level: str = "error",
        blocking: bool = False,
    ) -> Iterator[Fault]:
        while subject.startswith("_:") and subject in self._owners:
            subject = self._owners[subject]
        lexical = split_literal(value)[0] if value and value[0] == '"' else value
        places = self._places.get(subject)
        if places:  # what stands in files that weren't asked about is not reported
            wanted = predicate if lexical is None else lexical
            holding = [p for p in places if any(wanted == word for word, _ in p[1].words)]
            path, statement = (holding or places)[0]
            line = statement.line_of(predicate, lexical)
            yield Fault(level, str(path), line, subject, what, blocking)

    def _prefix_faults(self) -> Iterator[Fault]:
        for path, text in self._texts.items():
            for prefix, iri, line in read_prefixes(text):
                if prefix in PREFIXES and iri != PREFIXES[prefix]:
                    what = (
                        f"The prefix {prefix}: stands for <{iri}>, which is not our namespace. "
                        f"Write @prefix {prefix}: <{PREFIXES[prefix]}> ."
                    )
                    yield Fault("error", str(path), line, f"{prefix}:", what, blocking=True)

    def _shape_faults(self) -> Iterator[Fault]:
        for row in evaluate(compile_shapes(_own_form()), self.knowledge.triples):
            subject = curie_of(row.focus) if row.focus[0] == "<" else row.focus
            path = curie_of(row.path) if row.path else None
            if path == "lw:burdens" or self._is_said_elsewhere(subject, row):
                continue
            value = None if row.value is None or row.path is None else _name(row.value)
            what = " ".join(split_literal(m)[0] for m in row.messages)
            if value is not None and not value.startswith("_:"):
                what += f" Got {_name_for_people(value)}."
            blocking = any(f"form/{name}" in self._shape_of(row) for name in BLOCKING)
            yield from self._fault(subject, what, path, value, blocking=blocking)

    @staticmethod
    def _shape_of(row: ResultRow) -> str:
        return _form_owner().get(row.shape, row.shape)

    def _is_said_elsewhere(self, subject: str, row: ResultRow) -> bool:
        """Whether _loose_names says it (an undefined name) or overrides (a second value)."""
        if "ClassConstraint" in row.component and row.value is not None:
            name = _name(row.value)
            return _is_ours(name) and name not in self.knowledge
        if "OrConstraint" in row.component and self._shape_of(row).endswith("form/claim>"):
            k = self.knowledge  # a missing basis or an undefined source is told by itself
            sourced = k.objects(subject, "dcterms:source")
            return bool(sourced) or k.object(subject, "lw:basis") not in ("lw:read", "lw:memory")
        return subject in self.base and ("MaxCount" in row.component or "Unique" in row.component)

    def _loose_names(self) -> Iterator[Fault]:
        """Yield names in our namespaces that are used but defined nowhere."""
        known = self.knowledge
        for subject in self.own.subjects():
            for predicate, objects in self.own.predicates(subject).items():
                for name in (predicate, *objects):
                    if _is_ours(name) and name not in known:
                        what = f"{name} is used but not defined; mend its name or define it."
                        at = (name, None) if name == predicate else (predicate, name)
                        what += self._near(name)
                        yield from self._fault(self._merged(subject), what, *at, blocking=True)

    def _merged(self, subject: str) -> str:
        """Return the name that a subject of the files has in the merged knowledge."""
        if subject[:2] != "_:" or self.own is self.knowledge:
            return subject
        return own_label(self.base.triples, subject)

    def _near(self, name: str) -> str:
        prefix = name.partition(":")[0] + ":"
        names = [s for s in self.knowledge.subjects() if s.startswith(prefix)]
        close = difflib.get_close_matches(name, names, n=2, cutoff=0.75)
        return f" Did you mean {' or '.join(close)}?" if close else ""

    def _kindless(self) -> Iterator[Fault]:
        for subject in self.own.subjects():
            if subject.partition(":")[0] in SCHEMES and not self.knowledge.objects(
                subject, "rdf:type"
            ):
                near = self._near_shipped(subject)
                kind = KINDS.get(subject.partition(":")[0], "skos:Concept, lw:…")
                what = f"It doesn't say what it is; add `a {kind}`."
                yield from self._fault(subject, what + near, blocking=True)

    def _near_shipped(self, name: str) -> str:
        names = self.base.subjects()
        close = difflib.get_close_matches(name, names, n=1, cutoff=0.85)
        return f" If you meant the shipped {close[0]}, mend the name." if close else ""

    def _circles(self) -> Iterator[Fault]:
        """Yield concepts that are broader than themselves."""
        for subject in self.own.subjects():
            for up in self.own.objects(subject, "skos:broader"):
                if subject in self.knowledge.broader(up):
                    what = (
                        f"skos:broader goes in a circle: {up} is broader than {subject} and the "
                        "other way round; take one of the two away."
                    )
                    yield from self._fault(subject, what, "skos:broader", up, blocking=True)

    def _twin_labels(self) -> Iterator[Fault]:
        """Yield concepts whose preferred label another one of the same scheme has too."""
        holders: dict[tuple[str, str], dict[str, str]] = {}
        for subject in self.knowledge.instances("skos:Concept"):
            for label in self.knowledge.objects(subject, "skos:prefLabel"):
                scheme = self.knowledge.object(subject, "skos:inScheme") or ""
                holders.setdefault((scheme, label.casefold()), {})[subject] = label
        for twins in holders.values():
            for subject, label in sorted(twins.items()) if len(twins) > 1 else ():
                others = ", ".join(sorted(twins.keys() - {subject}))
                what = (
                    f"Its preferred label is that of {others} too; give one of them another "
                    "label, and this one as skos:altLabel if need be."
                )
                yield from self._fault(subject, what, "skos:prefLabel", label)

    def _technique_faults(self) -> Iterator[Fault]:
        k = self.knowledge
        axes = [a for a in k.instances("lw:Axis") if not k.is_true(a, "lw:traced")]
        answering = {k.object(e, "lw:technique") for e in k.instances("lw:EffectClaim")}
        acts = self.knowledge.instances("lw:EnablingAct")
        needs_none = {"technique:leave-and-monitor", *acts}
        for one in self.own.instances("lw:Technique"):
            graded = [k.object(node, "lw:axis") for node in k.objects(one, "lw:burdens")]
            missing = [axis for axis in axes if axis not in graded]
            if missing:
                what = (
                    f"lw:burdens lacks {', '.join(missing)}; add [ lw:axis {missing[0]} ; "
                    "lw:grade 0 ] with a grade from 0 (none) to 4 (worst)."
                )
                yield from self._fault(one, what, "lw:burdens", blocking=True)
            doubled = sorted({a for a in graded if a and graded.count(a) > 1})
            if doubled and one not in self.base:
                what = f"lw:burdens grades {', '.join(doubled)} twice; keep one grade."
                yield from self._fault(one, what, "lw:burdens", blocking=True)
            if one not in answering and one not in needs_none:
                what = (
                    "It answers no damage, so it never shows in an answer; add a claim "
                    f"`a lw:Claim, lw:EffectClaim` with lw:technique {one}."
                )
                yield from self._fault(one, what, level="warning")

    def _effect_faults(self) -> Iterator[Fault]:
        """Yield effects whose condition is said in words that no entry of a record answers."""
        k = self.knowledge
        for one in self.own.instances("lw:EffectClaim"):
            asked = k.objects(one, "lw:holdsIf") or k.objects(one, "lw:failsIf")
            if k.text(one, "lw:under") and not asked:
                what = (
                    "lw:under says a condition that nothing tests; add lw:holdsIf or lw:failsIf "
                    "with a condition of conditions.ttl, or call the words lw:inWords."
                )
                yield from self._fault(one, what, "lw:under", level="warning")

    def _rule_faults(self) -> Iterator[Fault]:
        by_file: dict[Path, list[str]] = {}
        for rule in (s for s in self.own.subjects() if s.startswith("rule:")):
            for path, _ in self._places.get(rule, ()):
                by_file.setdefault(path, []).append(rule)
        for path, rules in by_file.items():
            checker = RuleChecker(path, Knowledge(*load_triples([path], None)), self.knowledge)
            for rule in dict.fromkeys(rules):
                if rule in self.base and not checker.book.objects(rule, "rdf:type"):
                    continue  # a remark on a shipped rule; overrides lists it
                for one in checker.faults(rule):
                    yield from self._fault(rule, one.what, one.predicate, blocking=one.blocking)


def _own_form() -> Triples:
    paths = [p for p in shipped_files("shapes") if p.name == "knowledge.ttl"]
    return load_knowledge(files=paths).triples


@cache
def _form_owner() -> dict[str, str]:
    """Return the named shape that each nameless shape of the form belongs to."""
    form = Knowledge(_own_form(), "")
    owners: dict[str, str] = {}
    for name in form.instances("sh:NodeShape"):
        todo = [name]
        while todo:
            for objects in form.predicates(todo.pop()).values():
                inner = [o for o in objects if o.startswith("_:") and o not in owners]
                owners.update(dict.fromkeys(inner, name))
                todo += inner
    return owners


def _name(term: str) -> str:
    return curie_of(term) if term[0] == "<" else term


def _name_for_people(value: str) -> str:
    return repr(split_literal(value)[0]) if value[0] == '"' else value


def _is_ours(name: str) -> bool:
    prefix = name.partition(":")[0]
    return name[:1] not in ('"', "_") and (prefix in SCHEMES or prefix == "lw")
