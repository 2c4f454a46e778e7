"""Prefixes that a Turtle file uses and doesn't declare, told as the lines that it lacks."""

from __future__ import annotations

import re
from typing import Final

from leastwise.graph.names import EXAMPLES, PREFIXES

__all__ = ["lines_to_add"]

_KNOWN: Final = PREFIXES | EXAMPLES
_DECLARED: Final = re.compile(r"^\s*@?prefix\s+([\w-]*):", re.IGNORECASE | re.MULTILINE)
#: Quoted texts, IRIs and comments are passed over, so that only names are left.
_USED: Final = re.compile(
    r"""
    \"\"\".*?\"\"\" | "(?:[^"\\]|\\.)*" | <[^>\s]*> | \#[^\n]*
    | (?<![\w:-])([a-z][\w-]*):(?=\w)
    """,
    re.VERBOSE | re.DOTALL,
)


def lines_to_add(content: bytes) -> str:
    """Return the lines of prefixes of ours that a file lacks, as a sentence; "" if it lacks none.

    >>> lines_to_add(b'material:silk skos:prefLabel "claim:x"@en .')[:51]
    'Add at its top: @prefix material: <https://w3id.org'
    """
    text = content.decode("utf-8", "replace")
    missing = {name for name in _USED.findall(text) if name in _KNOWN} - {*_DECLARED.findall(text)}
    lines = [f"@prefix {name}: <{_KNOWN[name]}> ." for name in sorted(missing)]
    return f"Add at its top: {' '.join(lines)}" if lines else ""
