"""The query service over the knowledge and the rules: what is offered, and how it is answered."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from fastapi import FastAPI

from leastwise.api.http.state import made_once
from leastwise.api.processes.pool import Busy, Ended, Pool, TookTooLong
from leastwise.api.settings import MEBIBYTE, Settings
from leastwise.api.sparql.examples import EXAMPLES
from leastwise.api.sparql.pool import COMMAND, QueryLimits, Setup
from leastwise.api.sparql.text import LONGEST, QueryFault, check_query, syntax_fault
from leastwise.graph import Adviser
from leastwise.graph.knowledge.knowledge import overlay_files, shipped_files
from leastwise.graph.knowledge.rules import shipped_rules
from leastwise.graph.names import BASE, LW, PREFIXES

__all__ = ["Answered", "Asked", "Refused", "SparqlService", "service_of"]

#: Seconds after which a client that was turned away may come again.
COME_AGAIN = 3


@dataclass(frozen=True, slots=True)
class Asked:
    """A query with the graphs asked for, and the forms in which an answer is taken ("" for none).

    *cut* shows a long result as far as it goes, instead of refusing it.
    """

    query: str
    results: str
    graph: str
    default: tuple[str, ...] = ()
    named: tuple[str, ...] = ()
    rows: int = 0  # 0 for what the settings allow
    cut: bool = False


@dataclass(frozen=True, slots=True)
class Answered:
    """The answer. *kind* is select, ask or graph; *rows* counts rows or triples."""

    kind: str
    body: bytes
    rows: int = 1
    cut: bool = False
    truth: bool = False


@dataclass(frozen=True, slots=True)
class Refused:
    """Why there is no answer: HTTP status, title, and what is wrong with the query."""

    status: int
    title: str
    fault: QueryFault


@dataclass(frozen=True)
class SparqlService:
    """Answers queries for one app."""

    adviser: Adviser
    settings: Settings

    @cached_property
    def limits(self) -> QueryLimits:
        """Return what one query may use."""
        s = self.settings
        return QueryLimits(s.sparql_seconds, s.sparql_memory * MEBIBYTE, rows=s.sparql_rows)

    @cached_property
    def prefixes(self) -> dict[str, str]:
        """Return the prefixes that need no declaration, under the base of published names."""
        return {prefix: self.under_base(iri) for prefix, iri in PREFIXES.items()}

    def under_base(self, text: str) -> str:
        """Return a name, or a query with names in it, under the base at which they are published.

        The vocabulary stays where it is.
        """
        if self.settings.base == BASE:
            return text
        kept = "\x00"
        return text.replace(LW, kept).replace(BASE, self.settings.base).replace(kept, LW)

    @cached_property
    def graphs(self) -> dict[str, str]:
        """Return the named graphs: IRI -> what is in it. The default graph holds them all."""
        return {
            self.settings.base + "graph/knowledge": "concepts, claims, sources and the vocabulary",
            self.settings.base + "graph/rules": "the rules, as SHACL shapes",
        }

    @cached_property
    def examples(self) -> dict[str, tuple[str, str]]:
        """Return the queries to begin with: key -> question in words, and query."""
        return {e.key: (e.question, self.under_base(e.query)) for e in EXAMPLES}

    @cached_property
    def _started(self) -> list[Pool]:
        return []

    @cached_property
    def pool(self) -> Pool:
        """Return the workers; none is started before the first query."""
        knowledge, rules = self.graphs
        files = self.adviser.knowledge.files or shipped_files("seed_data")
        own = [path for folder in self.settings.overlays for path in overlay_files(folder)[1]]
        graphs = {knowledge: list(files), rules: [*shipped_rules(), *own]}
        setup = Setup(graphs, self.prefixes, self.settings.base, BASE, LW)
        self._started.append(Pool(setup, COMMAND, self.limits))
        return self._started[0]

    def close(self) -> None:
        """End the workers, if there are any."""
        for pool in self._started:
            pool.close()

    def answer(self, asked: Asked) -> Answered | Refused:
        """Return the answer to a query, or why there is none; takes as long as the limit allows."""
        if len(asked.query) > LONGEST:
            what = f"The query has {len(asked.query)} characters; at most {LONGEST} are read."
            return Refused(413, "The query is too long", QueryFault(what))
        fault = check_query(asked.query, self.graphs)
        if fault is not None:
            return Refused(400, "The query is refused", fault)
        for graph in (*asked.default, *asked.named):
            if graph not in self.graphs:
                what = f"There is no graph <{graph}> here; there are {_listed(self.graphs)}."
                return Refused(400, "The query is refused", QueryFault(what))
        try:
            header, body = self.pool.ask(self._frame(asked))
        except (Busy, TookTooLong, Ended) as error:
            return self._over_limit(error)
        return self._read(header, body, asked)

    def _frame(self, asked: Asked) -> dict[str, Any]:
        return {
            "query": asked.query,
            "default": asked.default,
            "named": asked.named,
            "results": asked.results,
            "graph": asked.graph,
            "rows": min(asked.rows or self.limits.rows, self.limits.rows),
            "bytes": self.limits.size,
            "cut": asked.cut,
        }

    def _over_limit(self, error: Exception) -> Refused:
        limits = self.limits
        if isinstance(error, Busy):
            what = "Too many queries wait already; come again in a few seconds."
            return Refused(503, "Too many queries at once", QueryFault(what))
        if isinstance(error, TookTooLong):
            what = (
                f"The query took longer than {limits.seconds:g} s and was ended. Narrow it down: "
                "bind one more variable, or ask for fewer patterns at once."
            )
            return Refused(504, "The query took too long", QueryFault(what))
        what = (
            f"The query needed more than {limits.memory // MEBIBYTE} MiB of memory, or is nested "
            "too deeply, and was ended. Narrow it down, or leave out ORDER BY and GROUP_CONCAT."
        )
        return Refused(507, "The query needed too much", QueryFault(what))

    def _read(self, header: dict[str, Any], body: bytes, asked: Asked) -> Answered | Refused:
        status, limits = header["status"], self.limits
        if status == "ok":
            rows, cut = header.get("rows", 1), header.get("cut", False)
            return Answered(header["kind"], body, rows, cut, header.get("truth", False))
        if status == "syntax":
            fault = syntax_fault(header["message"], asked.query)
            return Refused(400, "The query can't be read", fault)
        if status == "too-long":
            what = (
                f"The result is over {limits.rows} rows or {limits.size // MEBIBYTE} MiB. "
                "Ask for it in pieces, with ORDER BY, LIMIT and OFFSET."
            )
            return Refused(413, "The result is too long", QueryFault(what))
        if status == "not-acceptable":
            return Refused(
                406, "No form of the result that you take", QueryFault(_FORMS[header["kind"]])
            )
        return Refused(400, "The query can't be answered", QueryFault(header["message"]))


_FORMS = {
    "results": "Accept: a SELECT or ASK is given as application/sparql-results+json, "
    "application/sparql-results+xml, text/csv or text/tab-separated-values.",
    "graph": "Accept: a CONSTRUCT or DESCRIBE is given as text/turtle, application/n-triples, "
    "application/rdf+xml or application/ld+json.",
}


def _listed(graphs: dict[str, str]) -> str:
    return " and ".join(f"<{graph}>" for graph in graphs)


def service_of(app: FastAPI) -> SparqlService:
    """Return the query service of an app, made when it is first asked for."""
    return made_once(app, "sparql", SparqlService)
