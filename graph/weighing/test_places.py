"""Where a test means something: on the part itself, on what carries it, or once in a piece."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from leastwise.graph.case.record import Case
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.weighing.readings import STRUCTURE

__all__ = ["TestPlaces"]


@dataclass(frozen=True)
class TestPlaces:
    """The parts of one case on which its tests can be made."""

    __test__ = False  # not a pytest class

    case: Case
    catalogue: Catalogue
    _known: dict[tuple[str, tuple[str, ...]], tuple[str, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )

    @cached_property
    def made_of(self) -> dict[str, frozenset[str]]:
        """Return what each part is made of, with all that is broader."""
        k = self.catalogue.knowledge
        return {
            p.id: frozenset(up for m in p.materials for up in k.broader(m.material))
            for p in self.case.parts
        }

    def fits(self, test: str, part: str) -> bool:
        """Return whether a part holds something that a test is for."""
        return self.catalogue.tests[test].fits(self.made_of[part])

    def carrying(self, test: str, parts: tuple[str, ...]) -> tuple[str, ...]:
        """Return the parts themselves that a test is for, else those they touch; none if none."""
        known = self._known.get((test, parts))
        if known is None:
            known = self._known[test, parts] = self._looked_up(test, parts)
        return known

    def _looked_up(self, test: str, parts: tuple[str, ...]) -> tuple[str, ...]:
        touched = dict.fromkeys(
            end
            for contact in self.case.contacts
            if contact.parting != "done" and not set(parts).isdisjoint(contact.between)
            for end in contact.between
            if end not in parts
        )
        for some in (parts, tuple(touched)):
            if fitting := tuple(one for one in some if self.fits(test, one)):
                return fitting
        return ()

    def anywhere(self, test: str, parts: tuple[str, ...]) -> tuple[str, ...]:
        """Return where a test means something: as :meth:`carrying`, else in all of the object."""
        found = self.carrying(test, parts)
        return found or tuple(part for part in self.made_of if self.fits(test, part)) or parts

    def in_piece(self, test: str, part: str, piece: tuple[str, ...]) -> str:
        """Return the one part of a piece on which a test of the whole piece is made.

        A closure is tried at its fastenings; where none is recorded, at what most hangs on.
        """
        fitting = [one for one in piece if self.fits(test, one)]
        return min(fitting or [part], key=lambda one: self._aptness(test, one))

    def _aptness(self, test: str, part: str) -> tuple[bool, int]:
        meant = self.catalogue.tests[test].applies_to & self.made_of[part]
        its_own = bool(meant - {STRUCTURE})
        return not its_own, -sum(part in contact.between for contact in self.case.contacts)
