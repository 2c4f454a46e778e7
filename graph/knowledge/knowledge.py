"""Loads the Turtle of a knowledge folder, once, and answers simple questions about it.

The loaded graph is not changed afterwards and is named by its content: the digest stands on
every answer, so that an answer can be repeated. Parsing takes a moment, so the numbered triples
can be kept in a cache folder; a cache that is stale, damaged or unreadable is made anew.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.indexed import Indexed, short
from leastwise.graph.knowledge.languages import choose, known_language, tags_of
from leastwise.graph.knowledge.turtle import load_triples, triples_over
from leastwise.graph.names import ENGLISH, term_of
from leastwise.graph.shacl.terms import split_literal
from leastwise.graph.shacl.triples import Triples

__all__ = [
    "Knowledge",
    "load_knowledge",
    "overlay_files",
    "shipped_files",
]

T = TypeVar("T")
K = TypeVar("K", bound=Hashable)


def shipped_files(package: str) -> list[Path]:
    """Return the Turtle files of a data package (``seed_data`` or ``shapes``), sorted.

    Examples, checks and demo cases are not among them.
    """
    root = Path(str(resources.files(f"leastwise.{package}")))
    found = [p for p in root.rglob("*.ttl") if "examples" not in p.relative_to(root).parts]
    if not found:
        raise KnowledgeError(str(root), "holds no Turtle files.", "Reinstall the package.")
    return sorted(found)


def overlay_files(folder: Path) -> tuple[list[Path], list[Path]]:
    """Return the Turtle files of a collection's own folder: knowledge, and rules.

    What lies below a ``rules`` folder are rules, what lies below ``examples`` is neither, and
    everything else is knowledge.

    Raises:
        KnowledgeError: the folder is not there, can't be read or holds no Turtle.

    """
    if not folder.is_dir():
        raise KnowledgeError(str(folder), "is not a folder.", "Give a folder of .ttl files.")
    try:
        list(folder.iterdir())  # rglob passes over what it may not read, without a word
    except OSError as error:
        what = f"can't be read ({error.strerror})."
        raise KnowledgeError(str(folder), what, "Check its permissions.") from error
    knowledge: list[Path] = []
    rules: list[Path] = []
    for path in sorted(folder.rglob("*.ttl")):
        rooms = path.relative_to(folder).parts[:-1]
        if "examples" not in rooms:
            (rules if "rules" in rooms else knowledge).append(path)
    if not knowledge and not rules:
        raise KnowledgeError(
            str(folder), "holds no .ttl files.", "Put Turtle into it, or leave the folder out."
        )
    return knowledge, rules


def load_knowledge(
    folders: Iterable[Path] = (),
    *,
    files: Iterable[Path] | None = None,
    cache: Path | None = None,
    language: str = ENGLISH,
) -> Knowledge:
    """Return the shipped knowledge with the Turtle of further *folders* laid over it.

    Args:
        folders: a collection's own folders of Turtle; nothing in them replaces shipped claims.
        files: the shipped files; for tests.
        cache: a folder for the numbered triples, or None for none.
        language: in which labels are shown where there are any; else they are English.

    Raises:
        KnowledgeError: a file is missing, unreadable or not Turtle; names file, line and mend.
        UnknownLanguage: nothing is labelled in that language; names those there are.

    """
    paths = list(shipped_files("seed_data") if files is None else files)
    triples, digest = load_triples(paths, cache)
    knowledge = Knowledge(triples, digest, tuple(paths))
    for folder in folders:
        knowledge = _laid_over(knowledge, overlay_files(folder)[0])
    return knowledge.speaking(language)


def _laid_over(beneath: Knowledge, files: list[Path]) -> Knowledge:
    """Return what further files say on top of a knowledge."""
    triples, digest = triples_over(beneath.triples, beneath.files, files)
    return Knowledge(triples, digest, (*beneath.files, *files), beneath=beneath)


@dataclass(frozen=True)
class Knowledge:
    """The loaded graph, read once and named by its content.

    Where it is laid over another, that stands *beneath*: its triples come first among these.

    >>> from leastwise.graph.knowledge.knowledge import load_knowledge
    >>> load_knowledge().label("agent:liquid-water")
    'liquid water'
    """

    triples: Triples = field(repr=False)
    digest: str
    files: tuple[Path, ...] = field(default=(), repr=False)
    language: str = ENGLISH
    beneath: Knowledge | None = field(default=None, repr=False, compare=False)
    indexed: Indexed | None = field(default=None, repr=False, compare=False)  # if it is at hand

    def speaking(self, language: str) -> Knowledge:
        """Return the same knowledge with its labels in another language.

        Raises:
            UnknownLanguage: nothing is labelled in that language; names those there are.

        """
        if language == self.language:  # which is known, and the tags of all labels are many
            return self
        tag = known_language(language, self.languages)
        if tag == self.language:
            return self
        return replace(self, language=tag, indexed=self._indexed)

    @property
    def languages(self) -> tuple[str, ...]:
        """Return the tags of the languages in which concepts have a preferred label, sorted."""
        concepts = self.instances("skos:Concept")
        return tags_of(term for one in concepts for term in self.objects(one, "skos:prefLabel"))

    @cached_property
    def _indexed(self) -> Indexed:
        beneath = self.beneath._indexed if self.beneath is not None else None
        return self.indexed or Indexed(self.triples, beneath)

    @cached_property
    def _index(self) -> dict[str, dict[str, list[str]]]:
        return self._indexed.by_subject  # at hand here too, since it is asked more than all else

    def __contains__(self, curie: object) -> bool:
        return curie in self._index

    def subjects(self) -> list[str]:
        """Return everything that something is said of, as CURIEs and blank node labels."""
        return list(self._index)

    def instances(self, kind: str) -> list[str]:
        """Return the subjects typed *kind*, as CURIEs in alphabetical order."""
        return self._indexed.by_class.get(kind, [])

    def objects(self, subject: str, predicate: str) -> list[str]:
        """Return the objects as CURIEs, blank node labels or literal terms, in file order."""
        return self._index.get(subject, {}).get(predicate, [])

    def object(self, subject: str, predicate: str) -> str | None:
        """Return the first object, or None."""
        found = self.objects(subject, predicate)
        return found[0] if found else None

    def texts(self, subject: str, predicate: str) -> list[str]:
        """Return the lexical forms of the literal objects."""
        return [split_literal(o)[0] for o in self.objects(subject, predicate) if o[:1] == '"']

    def text(self, subject: str, predicate: str, default: str = "") -> str:
        """Return the literal object in the language asked for, else English, else *default*."""
        found = self.objects(subject, predicate)
        if len(found) == 1:  # nearly always, and asked very often
            return split_literal(found[0])[0] if found[0][:1] == '"' else default
        chosen = choose(found, self.language)
        return default if chosen is None else chosen

    def number(self, subject: str, predicate: str) -> float | None:
        """Return the first literal object as a number, or None.

        Raises:
            KnowledgeError: the literal isn't a number.

        """
        found = self.texts(subject, predicate)
        try:
            return float(found[0]) if found else None
        except ValueError as error:
            what = f"{predicate} is {found[0]!r}, which isn't a number."
            raise KnowledgeError(subject, what, "Give a number.") from error

    def defaults(self, kind: str) -> list[str]:
        """Return the subjects typed *kind* that are marked as the default, in file order.

        The order is that of the marks, and a collection's own files come last: the last one, of
        the nearest layer, counts.
        """
        terms, kinds = self.triples.terms, frozenset(self.instances(kind))
        mark = terms.find(term_of("lw:isDefault"))
        marked = (block.s[block.p == mark].tolist() for block in self.triples.blocks)
        names = [short(terms[s]) for subjects in marked for s in subjects]
        found = dict.fromkeys(reversed([n for n in names if n in kinds]))  # the last mark of each
        return [name for name in reversed(found) if self.is_true(name, "lw:isDefault")]

    def is_true(self, subject: str, predicate: str) -> bool:
        """Return whether the object is the boolean true."""
        return self.text(subject, predicate) in ("true", "1")

    @cached_property
    def _made(self) -> dict[Hashable, Any]:
        return {}

    def made(self, key: K, make: Callable[[Knowledge, K], T]) -> T:
        """Return what *make* gives for a key, made once for this knowledge and language.

        For frozen values that every answer carries alike. The same key always goes with the
        same *make*.
        """
        found: T | None = self._made.get(key)
        if found is None:
            found = self._made[key] = make(self, key)
        return found

    @cached_property
    def _labels(self) -> dict[str, str]:
        return {}

    def label(self, curie: str) -> str:
        """Return the preferred label of a concept, or the local name if it has none.

        It is in the language asked for where there is one, else in English.
        """
        known = self._labels.get(curie)
        if known is None:
            known = self._labels[curie] = (
                self.text(curie, "skos:prefLabel")
                or self.text(curie, "rdfs:label")
                or curie.rpartition(":")[2].replace("-", " ")
            )
        return known

    def predicates(self, subject: str) -> dict[str, list[str]]:
        """Return everything said of a subject: predicate -> objects."""
        return self._index.get(subject, {})

    @cached_property
    def _ancestors(self) -> dict[str, tuple[str, ...]]:
        return self._indexed.ancestors

    def broader(self, concept: str) -> tuple[str, ...]:
        """Return the concept and all broader ones, nearest first, each once."""
        known = self._ancestors.get(concept)
        if known is None:
            found, level = [concept], [concept]
            while level:
                level = [
                    up
                    for one in level
                    for up in self.objects(one, "skos:broader")
                    if up not in found
                ]
                found += dict.fromkeys(level)
            known = self._ancestors[concept] = tuple(found)
        return known
