"""A SPARQL query as text: what is refused before it runs, and what is wrong with it, in words."""

from __future__ import annotations

import re
from collections.abc import Container, Iterator
from dataclasses import dataclass

__all__ = ["LONGEST", "QueryFault", "check_query", "syntax_fault"]

#: Characters of a query that are read.
LONGEST = 64 * 1024

_TOKEN = re.compile(
    r"""
    (?P<iri><[^<>"{}|^`\\\x00-\x20]*>)
    | (?P<comment>\#[^\r\n]*)
    | (?P<text>\"\"\"(?:\"{0,2}(?:[^"\\]|\\.))*\"\"\" | '''(?:'{0,2}(?:[^'\\]|\\.))*'''
        | "(?:[^"\\\r\n]|\\.)*" | '(?:[^'\\\r\n]|\\.)*')
    | (?P<variable>[?$]\w+)
    | (?P<language>@[A-Za-z]+(?:-[A-Za-z0-9]+)*)
    | (?P<name>[\w.-]*:[\w.%:\\-]*)
    | (?P<word>\w+)
    | (?P<other>.)
    """,
    re.VERBOSE | re.DOTALL,
)
_UPDATES = frozenset(
    "insert delete load clear drop create add move copy with".split()  # noqa: SIM905 - a list of words
)
_QUERIES = frozenset(("select", "ask", "construct", "describe"))
_ACCEPTED = "SELECT, ASK, CONSTRUCT and DESCRIBE"
_PLACE = re.compile(r"error at (\d+):(\d+): (.*)", re.DOTALL)
_SHOWN = 30  # characters of what can't stand where it is


@dataclass(frozen=True, slots=True)
class QueryFault:
    """What is wrong with a query; *line* and *column* count from 1, 0 where that is unknown."""

    what: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        place = f"Line {self.line}, column {self.column}: " if self.line else ""
        return f"{place}{self.what}"


def check_query(query: str, graphs: Container[str]) -> QueryFault | None:
    """Return why a query is refused, or None if it may run.

    Refused are updates, SERVICE (this service asks no other) and graphs that are not in *graphs*.
    """
    verb, tokens = "", list(_tokens(query))
    for number, (kind, text, at) in enumerate(tokens):
        lower = text.lower()
        if _asks_elsewhere(tokens, number):
            return _at(query, at, "SERVICE is refused: this service asks no other service.")
        if kind != "word":
            continue
        if not verb and lower not in ("prefix", "base"):
            verb = lower
            if verb in _UPDATES:
                what = f"{text.upper()} is an update, and this service only reads."
                return _at(query, at, what)
            if verb not in _QUERIES:
                what = f"{text[:40]} is no kind of query; expected {_ACCEPTED}."
                return _at(query, at, what)
        if lower == "from":
            fault = _graph_fault(query, tokens[number + 1 : number + 3], graphs)
            if fault is not None:
                return fault
    return None if verb else QueryFault("The query is empty.")


def _asks_elsewhere(tokens: list[tuple[str, str, int]], number: int) -> bool:
    """Return whether a token begins a SERVICE pattern.

    The engine needs no space behind the word: it reads ``SERVICEex:x { }`` as ``SERVICE ex:x { }``.
    A name before a bracket is nothing else, unless it names the graph of GRAPH.
    """
    kind, text, _ = tokens[number]
    if not text.lower().startswith("service"):
        return False
    if kind == "word":
        return True
    after = tokens[number + 1][1] if number + 1 < len(tokens) else ""
    before = tokens[number - 1][:2] if number else ("", "")
    names_a_graph = before[0] == "word" and before[1].lower() == "graph"
    return kind == "name" and after == "{" and not names_a_graph


def _tokens(query: str) -> Iterator[tuple[str, str, int]]:
    for match in _TOKEN.finditer(query):
        kind = match.lastgroup or "other"
        if kind != "comment" and not match.group().isspace():
            yield kind, match.group(), match.start()


def _graph_fault(
    query: str, after: list[tuple[str, str, int]], graphs: Container[str]
) -> QueryFault | None:
    for kind, text, at in after:
        if kind == "iri":
            if text[1:-1] not in graphs:
                return _at(query, at, f"There is no graph {text} here.")
            return None
        if text.lower() != "named":
            return None
    return None


def _at(query: str, offset: int, what: str) -> QueryFault:
    before = query[:offset]
    return QueryFault(what, before.count("\n") + 1, offset - (before.rfind("\n") + 1) + 1)


def syntax_fault(message: str, query: str) -> QueryFault:
    """Return what the engine says of a query, with its place.

    >>> str(syntax_fault("error at 1:9: expected one of GRAPH, OPTIONAL", "SELECT * }"))
    "Line 1, column 9: this can't stand here: }"
    """
    found = _PLACE.match(message)
    if found is None:
        return _without_place(message, query)
    line, column, said = int(found[1]), int(found[2]), found[3]
    bare = re.sub(r"\[[^\]]*\]", "", said.removeprefix("expected one of "))
    items = [one.strip() for one in re.sub(r'"(?:[^"\\]|\\.)*"', "", bare).split(",")]
    told = [one for one in items if re.match(r"[A-Z]\w* \w*", one)]
    if told:  # the engine names what is wrong among what it expects
        return QueryFault(f"{told[0].rstrip('.')}.", line, column)
    return QueryFault(_at_place(query, line, column), line, column)


def _at_place(query: str, line: int, column: int) -> str:
    """Return what stands at the place; what the engine expects there is long and leads astray."""
    lines = query.split("\n")
    rest = lines[line - 1][column - 1 :].strip() if line <= len(lines) else ""
    if not rest and not "".join(lines[line:]).strip():
        return "the query can't end here; something is missing, or is one bracket too many."
    shown = rest if len(rest) <= _SHOWN else f"{rest[:_SHOWN]}…"
    return f"this can't stand here: {shown}" if rest else "something is missing at the end of it."


def _without_place(message: str, query: str) -> QueryFault:
    """Return a fault that the engine gives no place for, at the name that it speaks of."""
    what = message.strip().rstrip(".") + "."
    name = re.search(r"[\"'`?]([\w.:-]+)", message)
    at = query.find(name[1]) if name else -1
    return _at(query, at, what) if at >= 0 else QueryFault(what)
