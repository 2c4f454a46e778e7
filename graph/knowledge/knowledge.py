"""Loads the Turtle of a knowledge folder, once, and answers simple questions about it.

The loaded graph is not changed afterwards and is named by its content: the digest stands on
every answer, so that an answer can be repeated. Parsing takes a moment, so the numbered triples
can be kept in a cache folder; a cache that is stale, damaged or unreadable is made anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.languages import choose, known_language, tags_of
from leastwise.graph.knowledge.prefixes import lines_to_add
from leastwise.graph.names import ENGLISH, curie_of, term_of
from leastwise.graph.shacl.terms import TermTable, split_literal
from leastwise.graph.shacl.triples import Triples

__all__ = [
    "Knowledge",
    "keep_file",
    "load_knowledge",
    "load_triples",
    "overlay_files",
    "shipped_files",
]

T = TypeVar("T")
K = TypeVar("K", bound=Hashable)

CACHE_FORMAT = b"leastwise-triples-1"


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
    for folder in folders:
        paths += overlay_files(folder)[0]
    triples, digest = load_triples(paths, cache)
    knowledge = Knowledge(triples, digest, tuple(paths))
    return knowledge.speaking(language)


@dataclass(frozen=True)
class Knowledge:
    """The loaded graph, read once and named by its content.

    >>> from leastwise.graph.knowledge.knowledge import load_knowledge
    >>> load_knowledge().label("agent:liquid-water")
    'liquid water'
    """

    triples: Triples = field(repr=False)
    digest: str
    files: tuple[Path, ...] = field(default=(), repr=False)
    language: str = ENGLISH

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
        other = replace(self, language=tag)
        for shared in ("_index", "_by_class", "_ancestors"):  # the graph is the same
            other.__dict__[shared] = getattr(self, shared)
        return other

    @property
    def languages(self) -> tuple[str, ...]:
        """Return the tags of the languages in which concepts have a preferred label, sorted."""
        concepts = self.instances("skos:Concept")
        return tags_of(term for one in concepts for term in self.objects(one, "skos:prefLabel"))

    @cached_property
    def _index(self) -> dict[str, dict[str, list[str]]]:
        """Subject -> predicate -> objects, as CURIEs and literal terms, in file order."""
        names = [_short(term) for term in self.triples.terms]
        index: dict[str, dict[str, list[str]]] = {}
        for block in self.triples.blocks:
            for s, p, o in zip(block.s.tolist(), block.p.tolist(), block.o.tolist(), strict=True):
                index.setdefault(names[s], {}).setdefault(names[p], []).append(names[o])
        return index

    @cached_property
    def _by_class(self) -> dict[str, list[str]]:
        classes: dict[str, list[str]] = {}
        for subject, values in self._index.items():
            for kind in values.get("rdf:type", ()):
                classes.setdefault(kind, []).append(subject)
        return {kind: sorted(members) for kind, members in classes.items()}

    def __contains__(self, curie: object) -> bool:
        return curie in self._index

    def subjects(self) -> list[str]:
        """Return everything that something is said of, as CURIEs and blank node labels."""
        return list(self._index)

    def instances(self, kind: str) -> list[str]:
        """Return the subjects typed *kind*, as CURIEs in alphabetical order."""
        return self._by_class.get(kind, [])

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
        names = [_short(terms[s]) for subjects in marked for s in subjects]
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
        return {}

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


def _short(term: str) -> str:
    return curie_of(term) if term[0] == "<" else term


def load_triples(paths: list[Path], cache: Path | None) -> tuple[Triples, str]:
    """Return the numbered triples of Turtle files and the digest that names their content."""
    contents = [(path, _read(path)) for path in paths]
    digest = _digest(contents)
    if cache is not None:
        kept = _from_cache(cache / f"{digest}.npz", digest)
        if kept is not None:
            return kept, digest
    triples = Triples.from_terms(_parse(contents))
    if cache is not None:
        _into_cache(cache / f"{digest}.npz", digest, triples)
    return triples, digest


def _digest(contents: list[tuple[Path, bytes]]) -> str:
    """Return a name of the content: 16 hexadecimal digits, the same wherever the files lie."""
    whole = hashlib.sha256()
    for path, content in contents:
        whole.update(path.name.encode() + b"\0" + hashlib.sha256(content).digest())
    return whole.hexdigest()[:16]


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise KnowledgeError(str(path), f"can't be read ({error.strerror}).", "") from error


def _parse(contents: Iterable[tuple[Path, bytes]]) -> Iterator[tuple[str, str, str]]:
    import pyoxigraph  # noqa: PLC0415 - only when the cache can't serve

    for number, (path, content) in enumerate(contents):
        labels: dict[str, str] = {}
        try:
            for quad in pyoxigraph.parse(content, format=pyoxigraph.RdfFormat.TURTLE):
                yield (
                    _steady(str(quad.subject), number, labels),
                    str(quad.predicate),
                    _steady(str(quad.object), number, labels),
                )
        except SyntaxError as error:
            place = f"{path}, line {error.lineno or '?'}"
            mend = lines_to_add(content) or "Correct that line and run again."
            raise KnowledgeError(place, f"not valid Turtle: {error.msg}.", mend) from error


def _steady(term: str, file_number: int, labels: dict[str, str]) -> str:
    """Give a blank node a label that is the same in every run."""
    if not term.startswith("_:"):
        return term
    return labels.setdefault(term, f"_:f{file_number}n{len(labels)}")


def _from_cache(path: Path, digest: str) -> Triples | None:
    """Return the cached triples, or None if they are missing, stale or damaged."""
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as kept:
            text, columns, seal = kept["terms"].tobytes(), kept["columns"], kept["seal"].tobytes()
    except Exception:
        return None
    if seal != _seal(digest, text, columns):
        return None
    terms = TermTable(text.decode().split("\x1f"))
    return Triples.from_columns(terms, columns[0], columns[1], columns[2])


def _into_cache(path: Path, digest: str, triples: Triples) -> None:
    """Write the cache."""
    text = "\x1f".join(triples.terms).encode()
    columns = np.concatenate([np.stack([b.s, b.p, b.o]) for b in triples.blocks], axis=1)

    def write(scratch: Path) -> None:
        np.savez(
            scratch,
            terms=np.frombuffer(text, dtype=np.uint8),
            columns=columns,
            seal=np.frombuffer(_seal(digest, text, columns), dtype=np.uint8),
        )

    keep_file(path, write)


def keep_file(path: Path, write: Callable[[Path], object]) -> None:
    """Let *write* make a file, which takes its place once it is whole.

    A folder that can't be written costs speed, not the answer.
    """
    scratch = path.with_suffix(f".{id(write)}.tmp{path.suffix}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write(scratch)
        scratch.replace(path)
    except OSError:
        with contextlib.suppress(OSError):
            scratch.unlink(missing_ok=True)


def _seal(digest: str, text: bytes, columns: NDArray[np.int32]) -> bytes:
    whole = hashlib.sha256(CACHE_FORMAT + digest.encode() + text)
    whole.update(np.ascontiguousarray(columns).tobytes())
    return whole.digest()
