"""String-based constraint components: lengths, sh:pattern, sh:languageIn, sh:uniqueLang.

https://www.w3.org/TR/shacl/#core-components-string
"""

from __future__ import annotations

import re
from abc import abstractmethod
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np

from leastwise.graph.shacl.constraint import Constraint, Engine, FocusConstraint, TermConstraint
from leastwise.graph.shacl.nodes import Nodes, View
from leastwise.graph.shacl.reader import ShapeReader
from leastwise.graph.shacl.regex import translate
from leastwise.graph.shacl.terms import Flags, Positions, split_literal
from leastwise.graph.shacl.vocabulary import sh

__all__ = ["LanguageIn", "MaxLength", "MinLength", "Pattern", "UniqueLang", "read"]


def _strings(engine: Engine, nodes: Nodes) -> list[str | None]:
    """Return SPARQL's str() of each node, None for a blank node."""
    return [
        parts[0] if parts is not None else term[1:-1] if term[0] == "<" else None
        for term, parts in zip(engine.terms(nodes.ids), engine.literals(nodes.ids), strict=True)
    ]


@dataclass(frozen=True, slots=True)
class _StringTest(TermConstraint):
    @abstractmethod
    def fits(self, text: str) -> bool:
        """Return whether a string is acceptable."""

    def test(self, engine: Engine, nodes: Nodes) -> Flags:
        fits = self.fits
        strings = _strings(engine, nodes)
        # a blank node always violates, whatever the length asked for
        return np.array([text is not None and fits(text) for text in strings], dtype=np.bool_)


@dataclass(frozen=True, slots=True)
class MinLength(_StringTest):
    """https://www.w3.org/TR/shacl/#MinLengthConstraintComponent."""

    length: int
    component: ClassVar[str] = sh("MinLengthConstraintComponent")

    def fits(self, text: str) -> bool:
        """Return whether a string is acceptable."""
        return len(text) >= self.length

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value has fewer than {self.length} characters"


@dataclass(frozen=True, slots=True)
class MaxLength(_StringTest):
    """https://www.w3.org/TR/shacl/#MaxLengthConstraintComponent."""

    length: int
    component: ClassVar[str] = sh("MaxLengthConstraintComponent")

    def fits(self, text: str) -> bool:
        """Return whether a string is acceptable."""
        return len(text) <= self.length

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value has more than {self.length} characters"


@dataclass(frozen=True, slots=True)
class Pattern(_StringTest):
    """https://www.w3.org/TR/shacl/#PatternConstraintComponent."""

    pattern: str
    flags: str
    regex: re.Pattern[str] = field(compare=False)
    component: ClassVar[str] = sh("PatternConstraintComponent")
    cost: ClassVar[int] = 4

    def fits(self, text: str) -> bool:
        """Return whether a string is acceptable."""
        return self.regex.search(text) is not None

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value does not match the pattern {self.pattern!r}"


@dataclass(frozen=True, slots=True)
class LanguageIn(TermConstraint):
    """https://www.w3.org/TR/shacl/#LanguageInConstraintComponent."""

    ranges: tuple[str, ...]  # in lower case
    component: ClassVar[str] = sh("LanguageInConstraintComponent")

    def test(self, engine: Engine, nodes: Nodes) -> Flags:
        """Return which nodes are acceptable."""
        parts = engine.literals(nodes.ids)
        return np.array([p is not None and self._matches(p[2]) for p in parts], dtype=np.bool_)

    def _matches(self, language: str) -> bool:
        """Apply basic filtering, https://www.rfc-editor.org/rfc/rfc4647#section-3.3.1."""
        tag = language.lower()
        return bool(tag) and any(
            wanted in ("*", tag) or tag.startswith(f"{wanted}-") for wanted in self.ranges
        )

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return f"Value has no language tag in ({' '.join(self.ranges)})"


@dataclass(frozen=True, slots=True)
class UniqueLang(FocusConstraint):
    """https://www.w3.org/TR/shacl/#UniqueLangConstraintComponent."""

    component: ClassVar[str] = sh("UniqueLangConstraintComponent")

    def failing(self, engine: Engine, view: View) -> Positions:
        """Return a focus node once for each language that several of its value nodes have."""
        codes: dict[str, int] = {"": 0}
        code = np.array(
            [
                0 if parts is None else codes.setdefault(parts[2].lower(), len(codes))
                for parts in engine.literals(view.nodes.ids)
            ],
            dtype=np.int64,
        )
        language = code[view.node]
        tagged = language > 0
        keys = view.owner[tagged] * len(codes) + language[tagged]
        found, counts = np.unique(keys, return_counts=True)
        repeated: Positions = (found[counts > 1] // len(codes)).astype(np.intp)
        return repeated

    def describe(self, constants: Sequence[str]) -> str:
        """Say what is violated."""
        return "Several values have the same language tag"


def read(reader: ShapeReader) -> Iterator[Constraint]:
    """Read the components of this section off a shape."""
    for length in reader.integers("minLength", "MinLengthConstraintComponent"):
        yield MinLength(length)
    for length in reader.integers("maxLength", "MaxLengthConstraintComponent"):
        yield MaxLength(length)
    yield from _read_pattern(reader)
    for members in reader.lists("languageIn", "LanguageInConstraintComponent", at_most=1):
        yield LanguageIn(
            tuple(
                reader.checked_string("languageIn", term, "LanguageInConstraintComponent").lower()
                for term in members
            )
        )
    reader.only_in_property_shapes("uniqueLang", "UniqueLangConstraintComponent")
    # sameTerm($uniqueLang, true): the literal "1" of the same datatype does not do
    if reader.boolean("uniqueLang", "UniqueLangConstraintComponent") == "true":
        yield UniqueLang()


def _read_pattern(reader: ShapeReader) -> Iterator[Constraint]:
    # a component with several parameters takes one value of each:
    # https://www.w3.org/TR/shacl/#syntax-rule-multiple-parameters
    component = "PatternConstraintComponent"
    patterns = reader.values("pattern", component, at_most=1)
    flags = reader.values("flags", component, at_most=1)
    flag_text = "".join(reader.checked_string("flags", term, component) for term in flags)
    for term in patterns:
        text = reader.checked_string("pattern", term, component)
        try:
            regex = translate(text, flag_text)
        except ValueError as error:
            shown = f"{term}, flags {flag_text!r} ({error})"
            raise reader.ill_formed(
                "pattern", shown, "a regular expression and flags of SPARQL's REGEX", component
            ) from error
        yield Pattern(split_literal(term)[0], flag_text, regex)
