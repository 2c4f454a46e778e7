"""A SPARQL query as text: what is refused before it runs, and what is wrong with it, in words."""

from __future__ import annotations

import re
from collections.abc import Container, Iterator, Mapping
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
    | (?P<name>[\w.-]*+:[\w.%:\\-]*)
    | (?P<word>[\w.-]++)
    | (?P<other>.)
    """,
    re.VERBOSE | re.DOTALL,
)
_WORD = re.compile(r"\w+")  # a run of words, such as ``1.SELECT``, is read once and then parted
_UPDATES = frozenset(
    "insert delete load clear drop create add move copy with".split()  # noqa: SIM905 - a list of words
)
_QUERIES = frozenset(("select", "ask", "construct", "describe"))
_ACCEPTED = "SELECT, ASK, CONSTRUCT and DESCRIBE"
_PLACE = re.compile(r"error at (\d+):(\d+): (.*)", re.DOTALL)
_Token = tuple[str, str, int]  # kind, text, offset
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
    prefixes = _declared(tokens)
    for number, (kind, text, at) in enumerate(tokens):
        lower = text.lower()
        if kind == "other" and text == "\\":  # an escape could spell any word
            return _at(query, at, "A backslash can stand in texts, IRIs and names only.")
        if _asks_elsewhere(tokens, number, prefixes):
            return _at(query, at, "SERVICE is refused: this service asks no other service.")
        if kind != "word":
            continue
        if not verb and lower not in ("prefix", "base"):
            verb = lower
            fault = _verb_fault(text)
            if fault:
                return _at(query, at, fault)
        if lower == "from":
            fault_of_graph = _graph_fault(query, tokens[number + 1 : number + 3], graphs, prefixes)
            if fault_of_graph is not None:
                return fault_of_graph
    return None if verb else QueryFault("The query is empty.")


def _verb_fault(verb: str) -> str:
    if verb.lower() in _UPDATES:
        return f"{verb.upper()} is an update, and this service only reads."
    if verb.lower() not in _QUERIES:
        return f"{verb[:40]} is no kind of query; expected {_ACCEPTED}."
    return ""


def _declared(tokens: list[_Token]) -> dict[str, str]:
    """Return prefix -> IRI as the query declares them."""
    return {
        name[1][:-1]: iri[1][1:-1]
        for word, name, iri in zip(tokens, tokens[1:], tokens[2:], strict=False)
        if word[1].lower() == "prefix" and name[1].endswith(":") and iri[0] == "iri"
    }


def _asks_elsewhere(tokens: list[_Token], number: int, prefixes: Container[str]) -> bool:
    """Return whether a token may begin a SERVICE pattern.

    The engine needs no space around the word: it reads ``SERVICEex:x { }`` as ``SERVICE ex:x { }``
    and ``1SERVICE`` or ``trueSERVICE`` as a value and then SERVICE. So the letters are refused
    wherever they stand in a bare word or in a prefix that isn't declared. A name of a declared
    prefix before a bracket may be either, unless it names the graph of GRAPH.
    """
    kind, text, _ = tokens[number]
    prefix = text.partition(":")[0]
    if kind not in ("word", "name") or "service" not in prefix.lower():
        return False
    before = tokens[number - 1][:2] if number else ("", "")
    is_named = before[0] == "word" and before[1].lower()
    if kind == "word" or (prefix not in prefixes and is_named != "prefix"):
        return True
    after = tokens[number + 1][1] if number + 1 < len(tokens) else ""
    return after == "{" and is_named != "graph"


def _tokens(query: str) -> Iterator[_Token]:
    for match in _TOKEN.finditer(query):
        kind = match.lastgroup or "other"
        if kind == "word":
            for part in _WORD.finditer(match.group()):
                yield kind, part.group(), match.start() + part.start()
        elif kind != "comment" and not match.group().isspace():
            yield kind, match.group(), match.start()


def _graph_fault(
    query: str, after: list[_Token], graphs: Container[str], prefixes: Mapping[str, str]
) -> QueryFault | None:
    for kind, text, at in after:
        if kind in ("iri", "name"):
            prefix, _, local = text.partition(":")
            iri = text[1:-1] if kind == "iri" else prefixes.get(prefix, f"{prefix}:") + local
            if iri not in graphs:
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
