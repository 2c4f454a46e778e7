"""Property paths: as written (for reports) and as steps (for evaluation).

https://www.w3.org/TR/shacl/#property-paths
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import TypeAlias

__all__ = [
    "Alternative",
    "Chain",
    "Choice",
    "Closure",
    "CompiledPath",
    "Hop",
    "Inverse",
    "Optional",
    "Path",
    "Predicate",
    "Repeat",
    "Repetition",
    "Sequence",
    "Step",
    "path_text",
    "to_step",
]


class Repeat(Enum):
    """How often the inner path of a :class:`Repetition` may be followed."""

    ZERO_OR_MORE = "*"
    ONE_OR_MORE = "+"
    ZERO_OR_ONE = "?"


@dataclass(frozen=True, slots=True)
class Predicate:
    """https://www.w3.org/TR/shacl/#property-path-predicate."""

    iri: str


@dataclass(frozen=True, slots=True)
class Sequence:
    """https://www.w3.org/TR/shacl/#property-path-sequence."""

    members: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Alternative:
    """https://www.w3.org/TR/shacl/#property-path-alternative."""

    members: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Inverse:
    """https://www.w3.org/TR/shacl/#property-path-inverse."""

    inner: Path


@dataclass(frozen=True, slots=True)
class Repetition:
    """Zero-or-more, one-or-more and zero-or-one paths.

    https://www.w3.org/TR/shacl/#property-path-zero-or-more
    """

    inner: Path
    repeat: Repeat


Path: TypeAlias = Predicate | Sequence | Alternative | Inverse | Repetition


@dataclass(frozen=True, slots=True)
class Hop:
    """Follow one predicate (an index into the constants), forwards or backwards."""

    predicate: int
    backward: bool


@dataclass(frozen=True, slots=True)
class Chain:
    """Follow the steps one after the other."""

    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """Follow any of the steps."""

    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Closure:
    """Follow the step any number of times, at least once unless `reflexive`."""

    step: Step
    reflexive: bool


@dataclass(frozen=True, slots=True)
class Optional:
    """Stay, or follow the step once."""

    step: Step


Step: TypeAlias = Hop | Chain | Choice | Closure | Optional


@dataclass(frozen=True, slots=True)
class CompiledPath:
    """A distinct path of the shapes graph.

    Attributes:
        source: the path as written.
        step: the same path with every inverse moved to its predicates.
        text: the path in SPARQL notation.
        uses: how many property shapes have it.

    """

    source: Path
    step: Step
    text: str
    uses: int


def path_text(path: Path) -> str:
    """Return `path` in SPARQL 1.1 property path notation.

    >>> path_text(Sequence((Predicate("<p>"), Repetition(Inverse(Predicate("<q>")), Repeat("*")))))
    '<p>/(^<q>)*'
    """
    match path:
        case Predicate(iri):
            return iri
        case Sequence(members):
            return "/".join(
                path_text(m) if isinstance(m, Repetition | Inverse) else _inner_text(m)
                for m in members
            )
        case Alternative(members):
            return "|".join(_inner_text(member) for member in members)
        case Inverse(inner):
            return f"^{_inner_text(inner)}"
        case Repetition(inner, repeat):
            return f"{_inner_text(inner)}{repeat.value}"


def _inner_text(path: Path) -> str:
    text = path_text(path)
    return text if isinstance(path, Predicate) else f"({text})"


def to_step(path: Path, constant: Callable[[str], int], *, backward: bool = False) -> Step:
    """Return the step of `path`, or of its inverse if `backward`.

    The inverse of a sequence is the reversed sequence of the inverses, as in SPARQL 1.1
    section 18.4; pushing inverses down leaves only single predicates to be walked backwards.
    """
    match path:
        case Predicate(iri):
            return Hop(constant(iri), backward)
        case Inverse(inner):
            return to_step(inner, constant, backward=not backward)
        case Sequence(members):
            steps = [to_step(member, constant, backward=backward) for member in members]
            return Chain(tuple(steps[::-1] if backward else steps))
        case Alternative(members):
            return Choice(tuple(to_step(m, constant, backward=backward) for m in members))
        case Repetition(inner, repeat):
            step = to_step(inner, constant, backward=backward)
            if repeat is Repeat.ZERO_OR_ONE:
                return Optional(step)
            return Closure(step, repeat is Repeat.ZERO_OR_MORE)
