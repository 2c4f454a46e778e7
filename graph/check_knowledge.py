"""Checks knowledge and rules: which file, which line, which subject, what is wrong, how to mend.

The form is checked by the shapes of shapes/knowledge.ttl; beyond them every name in our own
namespaces has to be defined somewhere, and every rule has to compile and to bring examples.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge import Knowledge, load_knowledge, shipped_files
from leastwise.graph.names import SCHEMES, curie_of
from leastwise.graph.rules import load_rule_book
from leastwise.graph.shacl import ShaclError, compile_shapes, evaluate
from leastwise.graph.shacl.terms import split_literal
from leastwise.graph.shacl.triples import Triples

__all__ = ["Fault", "check_files"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: file and line (0 if unknown), subject, what is wrong and how to mend it."""

    level: str  # error, warning
    file: str
    line: int
    subject: str
    what: str

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        return f"{place}: {self.level}: {self.subject}: {self.what}"


def check_files(paths: Sequence[Path]) -> tuple[list[Fault], str]:
    """Return the faults of *paths* (laid over the shipped knowledge) and a line that sums up.

    Without paths the shipped knowledge and rules are checked themselves.
    """
    own = _turtle_in(paths) if paths else []
    shipped = [*shipped_files("seed_data"), *shipped_files("shapes")]
    faults: list[Fault] = []
    readable = [path for path in (own or shipped) if not _unreadable(path, faults)]
    base = shipped if own else []
    knowledge = load_knowledge(files=[*base, *readable])
    checked = _Checked(knowledge, tuple(readable))
    faults += [*checked.shape_faults(), *checked.loose_names(), *checked.rule_faults()]
    faults.sort(key=lambda f: (f.file, f.line, f.subject, f.what))
    errors = sum(fault.level == "error" for fault in faults)
    summary = (
        f"{len(own or shipped)} files checked, {errors} errors, {len(faults) - errors} warnings."
    )
    return faults, summary


def _turtle_in(paths: Iterable[Path]) -> list[Path]:
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            inside = sorted(path.rglob("*.ttl"))
            if not inside:
                raise KnowledgeError(
                    str(path), "holds no .ttl files.", "Give a folder with Turtle."
                )
            found += inside
        elif path.is_file():
            found.append(path)
        else:
            raise KnowledgeError(str(path), "is not there.", "Give a Turtle file or a folder.")
    return found


def _unreadable(path: Path, faults: list[Fault]) -> bool:
    try:
        load_knowledge(files=[path])
    except KnowledgeError as error:
        line = re.search(r", line (\d+)", error.place)
        what = f"{error.what} {error.mend}".strip()
        faults.append(Fault("error", str(path), int(line.group(1)) if line else 0, "syntax", what))
        return True
    return False


@dataclass(frozen=True)
class _Checked:
    knowledge: Knowledge
    files: tuple[Path, ...]

    @cached_property
    def _places(self) -> dict[str, tuple[str, int]]:
        """Subject -> file and line where its own statements start."""
        places: dict[str, tuple[str, int]] = {}
        for path in self.files:
            text = path.read_text("utf-8")
            prefixes = dict(re.findall(r"@prefix\s+([\w-]*):\s*<([^>]*)>", text))
            for number, line in enumerate(text.splitlines(), 1):
                start = re.match(r"([\w-]*):([\w./%-]+)\s|<([^>]+)>\s", line + " ")
                if start and not line.startswith("@prefix"):
                    iri = start.group(3) or prefixes.get(start.group(1), "") + start.group(2)
                    places.setdefault(curie_of(f"<{iri}>"), (str(path), number))
        return places

    @cached_property
    def _owners(self) -> dict[str, str]:
        """Blank node -> the named subject that it hangs from."""
        parents: dict[str, str] = {}
        for subject in self._subjects:
            for objects in self.knowledge.predicates(subject).values():
                parents.update({o: subject for o in objects if o.startswith("_:")})
        return parents

    @cached_property
    def _subjects(self) -> list[str]:
        return list(self.knowledge._index)

    def _place(self, subject: str) -> tuple[str, tuple[str, int] | None]:
        while subject.startswith("_:") and subject in self._owners:
            subject = self._owners[subject]
        return subject, self._places.get(subject)

    def _fault(self, subject: str, what: str, level: str = "error") -> Iterator[Fault]:
        owner, place = self._place(subject)
        if place is not None:  # what stands in files that weren't asked about is not reported
            yield Fault(level, place[0], place[1], owner, what)

    def shape_faults(self) -> Iterator[Fault]:
        form = _own_form()
        results = evaluate(compile_shapes(form), self.knowledge.triples)
        seen: set[tuple[str, str]] = set()
        for row in results:
            subject = curie_of(row.focus) if row.focus[0] == "<" else row.focus
            what = " ".join(split_literal(m)[0] for m in row.messages) or f"{row.component} fails"
            if (subject, what) not in seen:
                seen.add((subject, what))
                yield from self._fault(subject, what)

    def loose_names(self) -> Iterator[Fault]:
        """Yield names in our namespaces that are used but defined nowhere."""
        for subject in self._subjects:
            for predicate, objects in self.knowledge.predicates(subject).items():
                for name in (predicate, *objects):
                    if _is_ours(name) and name not in self.knowledge:
                        yield from self._fault(
                            subject, f"{name} is used but not defined; mend its name or define it."
                        )

    def rule_faults(self) -> Iterator[Fault]:
        rules = [s for s in self._subjects if s.startswith("rule:") and s in self._places]
        files = sorted({Path(self._places[rule][0]) for rule in rules})
        for path in files:
            try:
                load_rule_book([path])
            except (KnowledgeError, ShaclError) as error:
                yield Fault("error", str(path), 0, "rules", str(error))
        for rule in rules:
            folder = Path(self._places[rule][0]).parent / "examples"
            name = rule.partition(":")[2]
            if not (folder / f"{name}.ttl").is_file():
                yield from self._fault(
                    rule,
                    f"has no example; add examples/{name}.ttl with flagged: and passing: nodes.",
                )


def _own_form() -> Triples:
    paths = [p for p in shipped_files("shapes") if p.name == "knowledge.ttl"]
    return load_knowledge(files=paths).triples


def _is_ours(name: str) -> bool:
    prefix = name.partition(":")[0]
    return name[:1] not in ('"', "_") and (prefix in SCHEMES or prefix == "lw")
