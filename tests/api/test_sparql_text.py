"""A query as text: no way around what is refused, and no query that takes long to read."""

from __future__ import annotations

import timeit

import pyoxigraph
from hypothesis import given, settings
from hypothesis import strategies as st

from leastwise.api.sparql.text import check_query


def test_no_escape_spells_a_word() -> None:
    fault = check_query("SELECT * { \\u0053ERVICE <http://127.0.0.1/x> { ?s ?p ?o } }", ())

    assert fault is not None
    assert (fault.line, fault.column) == (1, 12)


_GLUE = st.sampled_from(
    ["SERVICE", "service", "true", "1", "1.", "?s", "ex:a", "<http://127.0.0.1:9/>", "'x'", "@en",
     "^^", "{", "}", ".", ";", " ", "#\n", "GRAPH", "SILENT", "_:b", "(", ")", "a", ":x", "1e0"]
)  # fmt: skip


@given(st.lists(_GLUE, max_size=12))
@settings(max_examples=400, deadline=None)
def test_what_the_engine_would_ask_elsewhere_is_refused(glued: list[str]) -> None:
    """Whatever is glued together, the engine asks another service only in a query we refuse."""
    query = (
        "PREFIX ex: <http://127.0.0.1:9/> PREFIX : <http://a/> SELECT * { " + "".join(glued) + "}"
    )
    store = pyoxigraph.Store()
    store.add(pyoxigraph.Quad(*[pyoxigraph.NamedNode("http://a/x")] * 3))
    try:
        rows = store.query(query)
        asked_elsewhere = False
        list(rows) if isinstance(rows, pyoxigraph.QuerySolutions) else None
    except OSError:
        asked_elsewhere = True  # nobody listens at port 9
    except (SyntaxError, ValueError, RuntimeError):
        asked_elsewhere = False

    if asked_elsewhere:
        assert check_query(query, ()) is not None


def test_reading_a_query_takes_time_as_it_is_long() -> None:
    """Sixteen times the length, far less than the 256 times that squaring would take."""

    def seconds(unit: str, length: int) -> float:
        query = unit * (length // len(unit))
        return min(timeit.repeat(lambda: check_query(query, ()), number=1, repeat=3))

    for unit in ("a.", "a-", "a:", "'a", '"""\\', "<a", "1.SELECT", "@a", "?a", "#", "_:"):
        assert seconds(unit, 64_000) < 80 * seconds(unit, 4_000) + 0.02, unit


def test_a_graph_that_is_named_by_a_prefix_is_looked_up() -> None:
    asked_for = "PREFIX g: <http://here/> SELECT * FROM {} {{ ?s ?p ?o }}"

    assert check_query(asked_for.format("g:one"), ("http://here/one",)) is None
    fault = check_query(asked_for.format("g:other"), ("http://here/one",))
    assert fault is not None
    assert "no graph g:other here" in fault.what
