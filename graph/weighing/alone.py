"""The answer to one damage or need of a case, for who asks for no more than that."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from leastwise.graph.answer import (
    CaseSummary,
    ClaimView,
    DamageAnswer,
    KnowledgeStamp,
    PolicyView,
    SettledView,
    SourceView,
)
from leastwise.graph.encoding import to_json

__all__ = ["ProblemAnswer"]


@dataclass(frozen=True, slots=True)
class ProblemAnswer:
    """All that an answer says of the options of one damage or need, with its claims and sources.

    Whether the object can serve its purpose, and what comes first over all damages, is left to the
    whole answer.
    """

    case: CaseSummary
    stamp: KnowledgeStamp
    policy: PolicyView
    damage: DamageAnswer
    claims: Mapping[str, ClaimView]
    sources: Mapping[str, SourceView]
    cautions: Mapping[str, str]
    settled: tuple[SettledView, ...] = ()

    def as_json(self) -> str:
        """Return the answer as JSON: the same bytes for the same case, knowledge and rules."""
        return to_json(self) + "\n"
