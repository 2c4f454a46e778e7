"""What the shipped knowledge has to hold beyond its form: the queries of seed_data/checks.

A query in SPARQL names each ``?subject`` that breaks a law, perhaps with a ``?value``; its first
line says how grave that is and what is wrong. A collection's own folder isn't held to them: it
needn't speak German, say.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from leastwise.graph.names import curie_of

__all__ = ["Breach", "breaches", "check_queries"]

LEVELS = {"ERROR": "error", "WARN": "warning", "INFO": "warning"}


@dataclass(frozen=True, slots=True)
class Breach:
    """A subject that breaks a law; *value* is what of it does, empty if that isn't said."""

    level: str
    subject: str
    what: str
    value: str = ""


def check_queries() -> list[Path]:
    """Return the files of the queries, sorted."""
    return sorted(Path(str(resources.files("leastwise.seed_data"))).glob("checks/*.rq"))


def breaches(files: Sequence[Path]) -> Iterator[Breach]:
    """Yield who breaks a law in the Turtle of *files*, by query."""
    import pyoxigraph  # noqa: PLC0415 - only for this

    store = pyoxigraph.Store()
    for path in files:
        store.load(path=str(path), format=pyoxigraph.RdfFormat.TURTLE)
    for query in check_queries():
        text = query.read_text("utf-8")
        level, _, what = text.splitlines()[0].removeprefix("# ").partition(" ")
        found = store.query(text)
        assert isinstance(found, pyoxigraph.QuerySolutions)  # noqa: S101 - each is a SELECT
        names = {variable.value for variable in found.variables}
        for row in found:
            value = row["value"] if "value" in names else None
            yield Breach(
                LEVELS[level], _name(row["subject"]), what.strip(), _name(value) if value else ""
            )


def _name(term: object) -> str:
    """Return a name as a CURIE, a literal or a nameless node as it is written."""
    return curie_of(str(term)) if str(term)[0] == "<" else str(term)
