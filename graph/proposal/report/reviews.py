"""What was decided and signed in Review of the frozen versions of a proposal, as frozen values.

A signature stands for the version that was signed and for no other. It approves the present text
only while the newest frozen version says the same as the present text; where it doesn't, the
values say why not. The store is unknown here: the door that holds it fills the values.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from leastwise.graph.sentences import listed

__all__ = ["Given", "Reviewed", "Reviews", "in_a_row"]


@dataclass(frozen=True, slots=True)
class Given:
    """One outcome or signature.

    *at* is the minute in words, *instant* the same in ISO 8601, *role* in words. *words* are the
    outcome in our words or, of a signature, the name and role as they were signed; *sha256* is the
    hash that was signed.
    *approves* says whether a signature stands for the version as it is, without changes to come.
    """

    id: str
    what: Literal["outcome", "signature"]
    who: str
    at: str
    instant: str
    role: str
    words: str
    reasons: str = ""
    sha256: str = ""
    approves: bool = False


@dataclass(frozen=True, slots=True)
class Reviewed:
    """A frozen version with what was decided and signed of it, oldest first.

    *differs* names what has changed since it was frozen; empty while its hash is that of the
    present text. *holds* says whether what is stored still has the hash it was frozen with.
    """

    case: str
    number: int
    sha256: str
    by: str
    at: str
    case_version: int
    words_version: int
    knowledge: str
    state: str
    given: tuple[Given, ...] = ()
    differs: tuple[str, ...] = ()
    withdrawn: bool = False
    holds: bool = True

    @property
    def name(self) -> str:
        """Return how it is called."""
        return f"version {self.number}"

    @property
    def signatures(self) -> tuple[Given, ...]:
        """Return the signatures."""
        return tuple(one for one in self.given if one.what == "signature")

    @property
    def changed_since(self) -> str:
        """Return what has changed since it was frozen, as the end of a sentence."""
        return f"{in_a_row(self.differs)} changed since"


@dataclass(frozen=True, slots=True)
class Reviews:
    """All frozen versions of a proposal, oldest first."""

    versions: tuple[Reviewed, ...] = ()

    @property
    def approval(self) -> Given | None:
        """Return the signature that approves the present text, if there is one."""
        if not self.versions or self._fault():
            return None
        newest = self.versions[-1]
        return next(
            (s for s in reversed(newest.signatures) if s.approves and s.sha256 == newest.sha256),
            None,
        )

    @property
    def why_not(self) -> str:
        """Return why the present text isn't approved, as a sentence without its full stop."""
        if not self.versions:
            return "to be signed before the work begins"
        newest = self.versions[-1]
        fault = self._fault()
        if fault:
            return fault
        if not newest.signatures:
            earlier = [one for one in self.versions[:-1] if one.signatures]
            words = f"{newest.name}, the newest, is not signed ({newest.state})"
            if earlier:
                words += f"; the signature for {earlier[-1].name} is for an earlier text"
            return words
        if any(s.sha256 != newest.sha256 for s in newest.signatures):
            return f"the signature under {newest.name} names another hash than that of its text"
        return f"{newest.name} was signed with changes that are still to be made in the text"

    def _fault(self) -> str:
        """Return what keeps any signature under the newest version from counting."""
        newest = self.versions[-1]
        if newest.withdrawn:
            return f"{newest.name}, the newest, was withdrawn from review"
        if not newest.holds:
            return f"what is stored of {newest.name} no longer has the hash it was frozen with"
        if not newest.differs:
            return ""
        if newest.signatures:
            return f"the signature is given for {newest.name}, {newest.changed_since}"
        earlier = [one for one in self.versions[:-1] if one.signatures]
        if earlier:
            return (
                f"the signature is given for {earlier[-1].name}; {newest.name}, the newest, is not "
                f"signed, and {newest.changed_since}"
            )
        return f"{newest.name} is not signed, and {newest.changed_since}"


def in_a_row(things: Sequence[str]) -> str:
    """Return things, each in the singular, with their verb, as the middle of a sentence.

    >>> in_a_row(["the record (version 1 then, 2 now)"])
    'the record (version 1 then, 2 now) has'
    >>> in_a_row(["the record", "the set of rules", "the knowledge"])
    'the record, the set of rules and the knowledge have'
    """
    return f"{listed(things)} {'has' if len(things) == 1 else 'have'}"
