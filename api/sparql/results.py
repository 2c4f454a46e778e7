"""Writes what a query found: SPARQL 1.1 results as JSON, XML, CSV or TSV, within a limit.

Runs in the worker process, so it imports nothing of the graph and no web framework.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape, quoteattr

import pyoxigraph as ox

__all__ = [
    "GRAPH_FORMS",
    "RESULT_FORMS",
    "Most",
    "Row",
    "TooLongError",
    "write_rows",
    "write_truth",
]

#: Media type of results of SELECT and ASK -> name of the form; the first one is the default.
RESULT_FORMS = {
    "application/sparql-results+json": "json",
    "application/sparql-results+xml": "xml",
    "text/csv": "csv",
    "text/tab-separated-values": "tsv",
    "application/json": "json",
    "application/xml": "xml",
}
#: Media type of a graph (CONSTRUCT and DESCRIBE) -> name of the form; the first is the default.
GRAPH_FORMS = {
    "text/turtle": "turtle",
    "application/n-triples": "ntriples",
    "application/rdf+xml": "rdfxml",
    "application/ld+json": "jsonld",
    "application/json": "jsonld",
    "application/xml": "rdfxml",
}
Row = Sequence[Any]  # pyoxigraph terms, None where a variable is unbound
_XSD_STRING = "http://www.w3.org/2001/XMLSchema#string"
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_HEAD = '<?xml version="1.0"?>\n<sparql xmlns="http://www.w3.org/2005/sparql-results#">'


class TooLongError(Exception):
    """The result is over the limit of rows or bytes."""


class _Sheet:
    """Pieces of text, counted in bytes."""

    def __init__(self, most: int) -> None:
        self._pieces: list[bytes] = []
        self._left = most

    def add(self, text: str) -> None:
        """Add a piece.

        Raises:
            TooLongError: it no longer fits.

        """
        piece = text.encode("utf-8", "replace")
        self._left -= len(piece)
        if self._left < 0:
            raise TooLongError
        self._pieces.append(piece)

    def whole(self) -> bytes:
        """Return all that was added."""
        return b"".join(self._pieces)


@dataclass(frozen=True, slots=True)
class Most:
    """How long a result may be; one that is longer is cut off if *cut*, else refused."""

    rows: int
    size: int  # bytes
    cut: bool


def write_rows(
    form: str, names: Sequence[str], rows: Iterator[Row], most: Most
) -> tuple[bytes, int, bool]:
    """Return the rows in one of the forms of RESULT_FORMS, how many they are, whether cut off.

    Raises:
        TooLongError: they are too many and not to be cut off, or too many bytes.

    """
    start, line, end = _WRITERS[form](names)
    sheet, count = _Sheet(most.size), 0
    sheet.add(start)
    for row in rows:
        if count >= most.rows:
            if not most.cut:
                raise TooLongError
            sheet.add(end)
            return sheet.whole(), count, True
        sheet.add(line(row, count))
        count += 1
    sheet.add(end)
    return sheet.whole(), count, False


def write_truth(form: str, truth: bool) -> bytes:
    """Return the answer of an ASK; CSV and TSV have no form for it and give the bare word."""
    word = "true" if truth else "false"
    if form == "json":
        return f'{{"head":{{}},"boolean":{word}}}'.encode()
    if form == "xml":
        return f"{_HEAD}<head/><boolean>{word}</boolean></sparql>".encode()
    return f"{word}\r\n".encode() if form == "csv" else f"{word}\n".encode()


_Writer = tuple[str, Callable[[Row, int], str], str]


def _json(names: Sequence[str]) -> _Writer:
    def line(row: Row, number: int) -> str:
        bound = {n: _json_term(t) for n, t in zip(names, row, strict=True) if t is not None}
        return (",\n" if number else "") + json.dumps(bound, ensure_ascii=False)

    head = json.dumps({"vars": list(names)})
    return f'{{"head":{head},"results":{{"bindings":[\n', line, "\n]}}\n"


def _json_term(term: Any) -> dict[str, Any]:
    if isinstance(term, ox.NamedNode):
        return {"type": "uri", "value": term.value}
    if isinstance(term, ox.BlankNode):
        return {"type": "bnode", "value": term.value}
    if isinstance(term, ox.Literal):
        found = {"type": "literal", "value": term.value}
        if term.language:
            found["xml:lang"] = term.language
        elif term.datatype.value != _XSD_STRING:
            found["datatype"] = term.datatype.value
        return found
    parts = (("subject", term.subject), ("predicate", term.predicate), ("object", term.object))
    return {"type": "triple", "value": {name: _json_term(part) for name, part in parts}}


def _xml(names: Sequence[str]) -> _Writer:
    def line(row: Row, _: int) -> str:
        bound = (
            f"<binding name={quoteattr(n)}>{_xml_term(t)}</binding>"
            for n, t in zip(names, row, strict=True)
            if t is not None
        )
        return f"<result>{''.join(bound)}</result>\n"

    head = "".join(f"<variable name={quoteattr(name)}/>" for name in names)
    return f"{_HEAD}<head>{head}</head><results>\n", line, "</results></sparql>\n"


def _xml_term(term: Any) -> str:
    if isinstance(term, ox.NamedNode):
        return f"<uri>{_xml_text(term.value)}</uri>"
    if isinstance(term, ox.BlankNode):
        return f"<bnode>{_xml_text(term.value)}</bnode>"
    if isinstance(term, ox.Literal):
        mark = ""
        if term.language:
            mark = f" xml:lang={quoteattr(term.language)}"
        elif term.datatype.value != _XSD_STRING:
            mark = f" datatype={quoteattr(term.datatype.value)}"
        return f"<literal{mark}>{_xml_text(term.value)}</literal>"
    parts = (("subject", term.subject), ("predicate", term.predicate), ("object", term.object))
    inner = "".join(f"<{name}>{_xml_term(part)}</{name}>" for name, part in parts)
    return f"<triple>{inner}</triple>"


def _xml_text(text: str) -> str:
    """Return text that XML 1.0 can hold; what it can't is shown as the replacement character."""
    return escape(_NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text), {"\r": "&#13;"})


def _csv(names: Sequence[str]) -> _Writer:
    def line(row: Row, _: int) -> str:
        return written([_bare(term) for term in row])

    def written(cells: Sequence[str]) -> str:
        buffer = io.StringIO()
        csv.writer(buffer, lineterminator="\r\n").writerow(cells)
        return buffer.getvalue()

    return written(names), line, ""


def _bare(term: Any) -> str:
    if term is None:
        return ""
    return term.value if isinstance(term, ox.NamedNode | ox.Literal) else str(term)


def _tsv(names: Sequence[str]) -> _Writer:
    def line(row: Row, _: int) -> str:
        cells = ("" if t is None else str(t).replace("\t", "\\t") for t in row)
        return "\t".join(cells) + "\n"

    return "\t".join(f"?{name}" for name in names) + "\n", line, ""


_WRITERS: dict[str, Callable[[Sequence[str]], _Writer]] = {
    "json": _json, "xml": _xml, "csv": _csv, "tsv": _tsv,
}  # fmt: skip
