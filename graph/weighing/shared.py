"""What readers of several variants of a case have worked out, kept for all of them.

Variants of a case, and a case after acts, share most pieces of the record: a copy with one more
test holds the same parts and contacts. What rests on some pieces alone is the same wherever these
pieces are the same ones, so it is worked out once. Whoever keeps something here names the pieces
that it rests on; a mark stands for them.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import Any, TypeVar

from leastwise.graph.case.record import Case, Tri

__all__ = ["Shared", "with_pieces_of"]

T = TypeVar("T")
PIECES = tuple(Case.model_fields)


class Shared:
    """Things worked out from pieces of records; lives as long as one weighing."""

    def __init__(self) -> None:
        #: (condition, part, problem, technique, mark) -> the answer
        self.states: dict[tuple[str, str, str, str, int], Tri] = {}
        self._made: dict[Hashable, Any] = {}
        self._marks: dict[tuple[int, ...], int] = {}
        self._numbers: dict[Hashable, int] = {}
        self._kept: list[Sequence[object]] = []  # so that no other piece gets the place of one

    def mark(self, pieces: Sequence[object]) -> int:
        """Return a number that is the same for the same pieces: these very ones, not equal ones."""
        key = tuple(map(id, pieces))
        known = self._marks.get(key)
        if known is None:
            known = self._marks[key] = len(self._kept)
            self._kept.append(pieces)
        return known

    def mark_of(self, case: Case, names: frozenset[str]) -> int:
        """Return the mark of pieces of a record by their names."""
        return self.mark([getattr(case, name) for name in sorted(names)])

    def number(self, key: Hashable) -> int:
        """Return a number that is the same for the same key, and quicker to compare."""
        known = self._numbers.get(key)
        if known is None:
            known = self._numbers[key] = len(self._numbers)
        return known

    def made(self, key: Hashable, make: Callable[[], T]) -> T:
        """Return what *make* gives for a key, made once; the key holds the marks it rests on."""
        found: T | None = self._made.get(key)
        if found is None:
            found = self._made[key] = make()
        return found


def with_pieces_of(base: Case, case: Case) -> Case:
    """Return a case that was read anew with the very pieces of *base* wherever it has equal ones.

    What was worked out from them is then known to be the same.
    """
    return case.model_copy(
        update={name: _same(getattr(base, name), getattr(case, name)) for name in PIECES}
    )


def _same(old: Any, new: Any) -> Any:
    """Return the old piece if the new one is equal to it; of a list, each element."""
    if old == new:
        return old
    if isinstance(old, list | tuple) and isinstance(new, list | tuple) and len(old) == len(new):
        return [a if a == b else b for a, b in zip(old, new, strict=True)]
    return new
