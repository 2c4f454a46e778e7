"""The process in which queries run: ``python -m leastwise.api.sparql.worker``, over its pipes.

A query can't be stopped from within, so it runs where it can be ended from outside. The worker
loads the triples once, then gives up the right to open anything more: no file, no socket. It ends
when its pipe closes, and an alarm of the system ends it in the middle of a query that outlives
its limit, even if nobody is left to do so.
"""

from __future__ import annotations

import re
import signal
import sys
from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Any

import pyoxigraph as ox

from leastwise.api.processes.frames import Reply, read_frame, write_frame
from leastwise.api.processes.limits import limit_memory, ring
from leastwise.api.sparql.results import Most, TooLongError, write_rows, write_truth

__all__ = ["main"]

_RDF = {
    "turtle": ox.RdfFormat.TURTLE,
    "ntriples": ox.RdfFormat.N_TRIPLES,
    "rdfxml": ox.RdfFormat.RDF_XML,
    "jsonld": ox.RdfFormat.JSON_LD,
}


def main() -> None:
    """Load what the first frame names, then answer one query after the other."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which ends us
    pipe_in, pipe_out = sys.stdin.buffer, sys.stdout.buffer
    first = read_frame(pipe_in)
    if first is None:
        return
    setup = first[0]
    limit_memory(int(setup["memory"]))
    store = _load(setup)
    _open_nothing_more()
    write_frame(pipe_out, {"status": "ready", "triples": len(store)})
    while (frame := read_frame(pipe_in)) is not None:
        ring(float(setup["seconds"]) + 2.0)
        header, body = _answer(store, frame[0], setup)
        ring(0.0)
        write_frame(pipe_out, header, body)


def _open_nothing_more() -> None:
    """Allow no descriptor beyond the three pipes: a query can reach no file and no network."""
    if sys.platform != "win32":
        import resource  # noqa: PLC0415 - not on every system

        resource.setrlimit(resource.RLIMIT_NOFILE, (3, 3))


def _load(setup: dict[str, Any]) -> ox.Store:
    """Return the store: everything in the default graph, and each part in a graph of its own."""
    store = ox.Store()
    for graph, files in setup["graphs"].items():
        named = ox.NamedNode(graph)
        for path in files:
            triples = [
                (_moved(t.subject, setup), t.predicate, _moved(t.object, setup))
                for t in ox.parse(path=path, format=ox.RdfFormat.TURTLE, rename_blank_nodes=True)
            ]
            store.bulk_extend(
                ox.Quad(s, p, o, at) for at in (ox.DefaultGraph(), named) for s, p, o in triples
            )
    return store


def _moved(term: Any, setup: dict[str, Any]) -> Any:
    """Return the term under the base at which names are published; the vocabulary stays."""
    base, shipped, kept = setup["base"], setup["shipped_base"], setup["vocabulary"]
    if base == shipped or not isinstance(term, ox.NamedNode):
        return term
    if term.value.startswith(shipped) and not term.value.startswith(kept):
        return ox.NamedNode(base + term.value.removeprefix(shipped))
    return term


def _answer(store: ox.Store, asked: dict[str, Any], setup: dict[str, Any]) -> Reply:
    try:
        found = store.query(
            asked["query"],
            prefixes=setup["prefixes"],
            default_graph=[ox.NamedNode(one) for one in asked["default"]] or _given(asked),
            named_graphs=[ox.NamedNode(one) for one in asked["named"]] if _chosen(asked) else None,
        )
        return _written(found, asked, setup["prefixes"])
    except SyntaxError as error:
        return {"status": "syntax", "message": str(error)}, b""
    except TooLongError:
        return {"status": "too-long"}, b""
    except MemoryError:
        return {"status": "memory"}, b""
    except (OSError, ValueError, RuntimeError) as error:
        return {"status": "failed", "message": str(error)}, b""


def _chosen(asked: dict[str, Any]) -> bool:
    return bool(asked["default"] or asked["named"])


def _given(asked: dict[str, Any]) -> Any:
    """Return an empty default graph where only named graphs were asked for, else the default."""
    return [] if asked["named"] else None


def _written(found: Any, asked: dict[str, Any], prefixes: dict[str, str]) -> Reply:
    most = Most(asked["rows"], asked["bytes"], asked["cut"])
    if isinstance(found, ox.QueryTriples):
        return _graph(found, asked, prefixes, most)
    form = asked["results"]
    if not form:
        return {"status": "not-acceptable", "kind": "results"}, b""
    if isinstance(found, ox.QueryBoolean):
        truth = bool(found)
        return {"status": "ok", "kind": "ask", "truth": truth}, write_truth(form, truth)
    names = [variable.value for variable in found.variables]
    rows = ([solution[i] for i in range(len(names))] for solution in found)
    body, count, cut = write_rows(form, names, rows, most)
    return {"status": "ok", "kind": "select", "rows": count, "cut": cut}, body


def _graph(
    found: Iterable[Any], asked: dict[str, Any], prefixes: dict[str, str], most: Most
) -> Reply:
    form = asked["graph"]
    if not form:
        return {"status": "not-acceptable", "kind": "graph"}, b""
    if form == "table":
        rows = ([t.subject, t.predicate, t.object] for t in found)
        body, count, cut = write_rows("json", ("subject", "predicate", "object"), rows, most)
        return {"status": "ok", "kind": "graph", "rows": count, "cut": cut}, body
    triples = sorted(set(_at_most(found, asked["rows"])), key=str)
    used = _used(prefixes, triples)
    body = ox.serialize(triples, format=_RDF[form], prefixes=used) or b""
    if len(body) > asked["bytes"]:
        raise TooLongError
    return {"status": "ok", "kind": "graph", "rows": len(triples), "cut": False}, body


def _at_most(found: Iterable[Any], most: int) -> Iterator[Any]:
    for number, triple in enumerate(found):
        if number >= most:
            raise TooLongError
        yield triple


def _used(prefixes: dict[str, str], triples: list[Any]) -> dict[str, str]:
    terms = chain.from_iterable((t.subject, t.predicate, t.object) for t in triples)
    starts = {
        re.sub(r"[^/#]*$", "", one.value)
        for term in terms
        for one in (term, getattr(term, "datatype", None))
        if isinstance(one, ox.NamedNode)
    }
    return {prefix: iri for prefix, iri in prefixes.items() if iri in starts}


if __name__ == "__main__":
    try:
        main()
    except (BrokenPipeError, KeyboardInterrupt):
        sys.exit(0)
