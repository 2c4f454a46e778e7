"""Turtle files as numbered triples, named by their content and kept in a cache folder.

Parsing takes a moment, so the triples of the same content are read from the cache; one that is
stale, damaged or unreadable is made anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.prefixes import lines_to_add
from leastwise.graph.shacl.terms import TermTable
from leastwise.graph.shacl.triples import Triples

__all__ = ["keep_file", "load_triples", "triples_over"]

CACHE_FORMAT = b"leastwise-triples-1"


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


def triples_over(
    beneath: Triples, known: Iterable[Path], files: Iterable[Path]
) -> tuple[Triples, str]:
    """Return triples with those of further files after them, and the digest of them all.

    Only *files* are parsed; *known* are those that the triples come from. It is what parsing all
    of them would give.
    """
    before, own = ([(path, _read(path)) for path in paths] for paths in (known, files))
    terms = beneath.terms.copy()
    added = Triples.from_terms(_parse(own, len(before)), terms)
    blocks = (*beneath.blocks, *added.blocks)
    s, p, o = (np.concatenate([getattr(block, name) for block in blocks]) for name in "spo")
    return Triples.from_columns(terms, s, p, o), _digest([*before, *own])


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


def _parse(
    contents: Iterable[tuple[Path, bytes]], first: int = 0
) -> Iterator[tuple[str, str, str]]:
    import pyoxigraph  # noqa: PLC0415 - only when the cache can't serve

    for number, (path, content) in enumerate(contents, first):
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
