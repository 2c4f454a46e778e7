"""Where in a Turtle file something is said: subject, property and value to a line number.

A parser gives triples without lines. This reads the same text once more, only far enough to tell
statements and words apart, so that a fault can be shown at its line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from leastwise.graph.names import EXAMPLES, PREFIXES, curie_of

__all__ = ["Statement", "read_prefixes", "read_statements", "subject_above", "syntax_mend"]

_TOKEN = re.compile(
    r"""(?P<skip>\s+|\#[^\n]*)
      | (?P<text>\"{3}(?:[^\\]|\\.)*?\"{3}|'{3}(?:[^\\]|\\.)*?'{3}
               |"(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*')
      | (?P<iri><[^<>\s]*>)
      | (?P<mark>\^\^|[\[\](){};,.])
      | (?P<word>(?:[^\s\[\](){};,.<>"'#^]|\.(?=[^\s\[\](){};,<>"'\#^]))+)
      | (?P<other>.)""",
    re.VERBOSE | re.DOTALL,
)
_PREFIX = re.compile(r"^[ \t]*@?prefix[ \t]+([\w.-]*):[ \t]*<([^>\n]*)>[ \t]*\.?", re.I | re.M)

#: What goes wrong in Turtle, by a phrase of the parser -> how to mend it.
SYNTAX = {
    "A dot is expected": "End the statement before this place with a full stop, or put a "
    "semicolon between two of its properties.",
    "Unexpected end of file": 'Close the text with " on the line where it starts.',
    "Unexpected end": "End the last statement with a full stop.",
    "Line jumps": 'Close the text with " on the same line.',
    "blank node property lists": "Close the bracket with ].",
    "is not a valid subject": "Put a semicolon, not a comma, between two properties.",
    "Invalid UTF-8": "Save the file as UTF-8; it holds a letter in another encoding.",
    "Invalid IRI": "Take the space or sign out of the address between < and >.",
}


@dataclass(frozen=True, slots=True)
class Statement:
    """One statement: its subject as CURIE, and its words as (CURIE or text, line)."""

    subject: str
    words: tuple[tuple[str, int], ...]

    @property
    def line(self) -> int:
        """The line on which the statement starts."""
        return self.words[0][1]

    def line_of(self, predicate: str | None, value: str | None) -> int:
        """Return the line of a property with a value; else of the value, the property, the start.

        Names are CURIEs, texts are lexical forms.
        """
        holder, just_value, just_predicate = None, None, None
        for word, line in self.words[1:]:
            if word == predicate:
                holder, just_predicate = predicate, just_predicate or line
            elif word in (";", "]", "["):
                holder = None if word == ";" else holder
            elif value is not None and word == value:
                if holder == predicate:
                    return line
                just_value = just_value or line
        return just_value or just_predicate or self.line


def read_prefixes(text: str) -> list[tuple[str, str, int]]:
    """Return the prefixes that a Turtle text declares, as (prefix, IRI, line)."""
    return [
        (m.group(1), m.group(2), text.count("\n", 0, m.start()) + 1) for m in _PREFIX.finditer(text)
    ]


def read_statements(text: str) -> Iterator[Statement]:
    """Yield the statements of a Turtle text, in order; what isn't Turtle gives no error."""
    prefixes = {prefix: iri for prefix, iri, _ in read_prefixes(text)}
    words: list[tuple[str, int]] = []
    depth, line = 0, 1
    for token in _TOKEN.finditer(_PREFIX.sub("", text)):
        kind, raw = token.lastgroup, token.group()
        if kind != "skip":
            depth += (raw in ("[", "(")) - (raw in ("]", ")")) if kind == "mark" else 0
            if raw == "." and depth == 0 and words:
                yield Statement(words[0][0], tuple(words))
                words = []
            else:
                words.append((_plain(kind, raw, prefixes), line))
        line += raw.count("\n")


def subject_above(text: str, line: int) -> str:
    """Return the subject of the statement in which a line stands, as it is written, or ``""``.

    For text that doesn't parse: a line that starts at the margin is taken to start a statement.
    """
    for one in reversed(text.splitlines()[:line]):
        start = re.match(r"[^\s@#\])}.;,]\S*", one)
        if start and start.group().lower() != "prefix":
            return start.group()
    return ""


def syntax_mend(fault: str) -> str:
    """Return how to mend what the parser found, or ``""`` for what is explained without it.

    A prefix of ours is: the reader of the file knows all lines that it lacks, not the first alone.

    >>> syntax_mend("The prefix house: has not been declared")
    'Add this line at the top: @prefix house: <…> .'
    """
    prefix = re.search(r"The prefix ([\w.-]*): has not been declared", fault)
    if prefix:
        name = prefix.group(1)
        is_ours = name in PREFIXES or name in EXAMPLES
        return "" if is_ours else f"Add this line at the top: @prefix {name}: <…> ."
    return next((mend for phrase, mend in SYNTAX.items() if phrase in fault), "")


def _plain(kind: str | None, raw: str, prefixes: dict[str, str]) -> str:
    if kind == "text":
        width = 3 if raw[:3] in ('"""', "'''") else 1
        return re.sub(r"\\(.)", r"\1", raw[width:-width])
    if kind == "iri":
        return curie_of(raw)
    prefix, colon, local = raw.partition(":")
    if kind == "word" and colon and prefix in prefixes:
        return curie_of(f"<{prefixes[prefix]}{local}>")
    return "rdf:type" if raw == "a" else raw
