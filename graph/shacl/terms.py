r"""RDF terms as strings, and the table that numbers them.

A term is one string in the manner of canonical N-Triples::

    <http://example.org/a>                                   an IRI
    _:b1                                                     a blank node
    "lex"                                                    an xsd:string
    "lex"@en                                                 a language-tagged string
    "3"^^<http://www.w3.org/2001/XMLSchema#integer>          any other literal

Inside the quotation marks a backslash, a quotation mark, a line feed and a carriage
return are written ``\\``, ``\"``, ``\n`` and ``\r`` (and nothing else is escaped), so that
one term has exactly one string. Build literals with :func:`literal`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["Flags", "Ids", "Positions", "TermTable", "blank", "iri", "literal", "split_literal"]

Ids: TypeAlias = NDArray[np.int32]
Flags: TypeAlias = NDArray[np.bool_]
Positions: TypeAlias = NDArray[np.intp]

_XSD_STRING = "http://www.w3.org/2001/XMLSchema#string"
_LANG_STRING = "http://www.w3.org/1999/02/22-rdf-syntax-ns#langString"
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r"}
_UNESCAPES = {"\\\\": "\\", '\\"': '"', "\\n": "\n", "\\r": "\r"}
_TO_ESCAPE = re.compile(r'[\\"\n\r]')
_TO_UNESCAPE = re.compile(r'\\[\\"nr]')


def iri(text: str) -> str:
    """Return the term of the IRI `text`.

    >>> iri("http://example.org/a")
    '<http://example.org/a>'
    """
    return f"<{text}>"


def blank(label: str) -> str:
    """Return the term of the blank node `label`.

    >>> blank("b1")
    '_:b1'
    """
    return f"_:{label}"


def literal(lexical: str, datatype: str | None = None, language: str | None = None) -> str:
    """Return the term of a literal; `datatype` is a plain IRI without angle brackets.

    >>> literal("3", "http://www.w3.org/2001/XMLSchema#integer")
    '"3"^^<http://www.w3.org/2001/XMLSchema#integer>'
    >>> literal("say", language="en"), literal("x", "http://www.w3.org/2001/XMLSchema#string")
    ('"say"@en', '"x"')
    """
    quoted = '"' + _TO_ESCAPE.sub(lambda m: _ESCAPES[m.group()], lexical) + '"'
    if language:
        return f"{quoted}@{language}"
    if datatype is None or datatype == _XSD_STRING:
        return quoted
    return f"{quoted}^^<{datatype}>"


def split_literal(term: str) -> tuple[str, str, str]:
    """Return (lexical form, datatype IRI, language tag or ``""``) of a literal term.

    >>> split_literal('"say"@en')
    ('say', 'http://www.w3.org/1999/02/22-rdf-syntax-ns#langString', 'en')

    Raises:
        ValueError: if `term` is not a literal.

    """
    end = term.rfind('"')
    if end < 1 or term[0] != '"':
        raise ValueError(f"not a literal: {term}")
    lexical, rest = term[1:end], term[end + 1 :]
    if "\\" in lexical:
        lexical = _TO_UNESCAPE.sub(lambda m: _UNESCAPES[m.group()], lexical)
    if not rest:
        return lexical, _XSD_STRING, ""
    if rest[0] == "@":
        return lexical, _LANG_STRING, rest[1:]
    return lexical, rest[3:-1], ""


class TermTable:
    """Numbers terms 0, 1, 2, ... in order of first sight.

    A table may stand on a base: :meth:`child` gives, in constant time, a table that sees the
    base's terms under the same ids and puts new terms into itself only. The base may be shared
    by any number of children (and threads); terms it gains after the child was made are not
    seen by that child, so ids never clash.

    >>> base = TermTable(["<a>", "<b>"])
    >>> request = base.child()
    >>> request.intern("<b>"), request.intern("<c>"), len(base), len(request)
    (1, 2, 2, 3)
    >>> request[0], request[2]
    ('<a>', '<c>')
    """

    __slots__ = ("_base", "_ids", "_offset", "_own")

    def __init__(self, terms: Iterable[str] = (), base: TermTable | None = None) -> None:
        self._base = base
        self._offset = 0 if base is None else len(base)
        self._own: list[str] = list(dict.fromkeys(terms)) if base is None else []
        self._ids = {term: number for number, term in enumerate(self._own)}
        for term in () if base is None else terms:
            self.intern(term)

    def __len__(self) -> int:
        return self._offset + len(self._own)

    def __iter__(self) -> Iterator[str]:
        return iter(self._own) if self._base is None else map(self.__getitem__, range(len(self)))

    def __contains__(self, term: object) -> bool:
        return isinstance(term, str) and self.find(term) >= 0

    def __getitem__(self, index: int) -> str:
        """Return the term numbered `index`; IndexError below 0 or beyond the end."""
        table: TermTable | None = self
        if index < 0:
            raise IndexError(index)
        while table is not None:
            if index >= table._offset:
                return table._own[index - table._offset]
            table = table._base
        raise IndexError(index)

    def take(self, ids: Ids) -> list[str]:
        """Return the terms of an array of ids, in order."""
        if self._base is None:
            own = self._own
            return [own[i] for i in ids.tolist()]
        return [self[i] for i in ids.tolist()]

    def child(self) -> TermTable:
        """Return an empty table standing on this one (copy on write, constant time)."""
        return TermTable(base=self)

    def copy(self) -> TermTable:
        """Return a table of the same terms under the same ids, which grows by itself."""
        other = TermTable(base=self._base)
        other._offset, other._own, other._ids = self._offset, self._own.copy(), self._ids.copy()
        return other

    def extends(self, other: TermTable, length: int) -> bool:
        """Return whether the first `length` ids of `other` mean the same terms here."""
        table: TermTable | None = self
        seen = len(self)
        while table is not None:
            if table is other:
                return length <= seen
            seen, table = table._offset, table._base
        return False

    def find(self, term: str) -> int:
        """Return the id of `term`, or -1 if the table does not hold it."""
        found = self._ids.get(term, -1)
        table, limit = self._base, self._offset
        while found < 0 and table is not None:
            found = table._ids.get(term, -1)
            if found >= limit:  # the base gained it after this table was made
                found = -1
            limit = min(limit, table._offset)
            table = table._base
        return found

    def find_many(self, terms: Iterable[str]) -> Ids:
        """Return the ids of `terms` in order, -1 where unknown; shape (len(terms),)."""
        return np.fromiter((self.find(term) for term in terms), dtype=np.int32)

    def intern(self, term: str) -> int:
        """Return the id of `term`, giving it the next free one if it is new."""
        found = self.find(term)
        if found < 0:
            found = self._offset + len(self._own)
            self._ids[term] = found
            self._own.append(term)
        return found

    def add_new(self, terms: Iterable[str]) -> range:
        """Add terms that are certain to be in no table yet, each once; return their ids."""
        start = len(self)
        self._own += terms
        added = range(start, len(self))
        self._ids.update(zip(self._own[start - self._offset :], added, strict=True))
        return added

    def intern_many(self, terms: Iterable[str]) -> Ids:
        """Return the ids of `terms` in order, adding the new ones; shape (len(terms),)."""
        own = self._ids
        intern = self.intern
        ids = [own[term] if term in own else intern(term) for term in terms]
        return np.array(ids, dtype=np.int32)
