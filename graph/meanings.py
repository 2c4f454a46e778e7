"""What a word of an answer may be: verdicts, effects, stances, remedies, states.

Each is written in JSON as its value, so that a program reads the same word.
"""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum

__all__ = [
    "ASKING",
    "BLOCKING",
    "HarmState",
    "Remedy",
    "RuleEffect",
    "Stance",
    "TestState",
    "Verdict",
]


class RuleEffect(StrEnum):
    """What a finding does to an option, gravest first."""

    DEFEATS = "defeats"
    LEAVES_UNDECIDED = "leavesUndecided"
    CAUTIONS = "cautions"
    RECORDS = "records"


#: The effects that keep an option from being accepted.
BLOCKING = (RuleEffect.DEFEATS, RuleEffect.LEAVES_UNDECIDED)
#: The effects whose findings name what would lift them: a caution may ask for a look or a test too.
ASKING = (*BLOCKING, RuleEffect.CAUTIONS)


class Verdict(StrEnum):
    """What the arguments on an option come to, best first."""

    ACCEPTED = "accepted"
    UNDECIDED = "undecided"
    DEFEATED = "defeated"

    @property
    def decided_by(self) -> RuleEffect | None:
        """The effect of the findings that the verdict comes from; None for one accepted."""
        return _DECIDES.get(self)


_DECIDES = {
    Verdict.DEFEATED: RuleEffect.DEFEATS,
    Verdict.UNDECIDED: RuleEffect.LEAVES_UNDECIDED,
}


class Stance(StrEnum):
    """How a reason stands to the option, or to the reason above it."""

    FOR = "for"
    AGAINST = "against"
    OPEN = "open"
    ALTHOUGH = "although"
    ANSWERED_BY = "answered by"
    WOULD_CHANGE_IT = "would change it"
    WOULD_SETTLE_IT = "would settle it"
    BECAUSE = "because"
    CONDITION = "condition"
    CARE = "care"
    FIRST = "first"
    MANNER = "manner"
    BURDEN = "burden"
    COMPUTED = "computed"
    ORDER = "order"


class Remedy(StrEnum):
    """What kind of thing would lift a finding."""

    TEST = "test"
    IDENTITY = "identity"  # a test that tells what a material is
    BARRIER = "barrier"
    PARTING = "parting"
    MEANS = "means"
    RECORD = "record"  # what the record has to say
    ENTRY = "entry"  # an entry of the record that is tried

    @property
    def is_test(self) -> bool:
        """Whether something has to be found out, which may come out either way."""
        return self in (Remedy.TEST, Remedy.IDENTITY)


class TestState(StrEnum):
    """What tests say of an agent or a condition, the worst first."""

    __test__ = False  # not a pytest class

    BAD = "bad"
    INCONCLUSIVE = "inconclusive"
    GOOD = "good"
    UNTESTED = "untested"

    @classmethod
    def worst_of(cls, states: Collection[str]) -> TestState:
        """Return the worst of some states; untested where there is none."""
        if not states:  # nearly always
            return cls.UNTESTED
        return next((one for one in cls if one in states), cls.UNTESTED)


class HarmState(StrEnum):
    """How well it is known what an agent does to a material."""

    KNOWN = "known"
    CONTESTED = "contested"  # sources lie two grades apart
    UNKNOWN = "unknown"
