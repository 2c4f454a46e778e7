"""Outcomes as a file that institutions may share: what was tried on what, and what came of it.

It holds no name, no number, no place, no day and no title: only technique, damage, groups of
material and result, in an order that tells nothing, so that a case can't be told from it. *giver*
is a hash that stands for the place it comes from and says nothing of it, so that what one place
gives twice is not counted twice.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from leastwise.graph.case.reading import as_problems, load_text
from leastwise.graph.errors import CaseError, Problem
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.treatment.precedents import Grouping, Outcome

__all__ = ["OutcomeFile", "OutcomeFileError", "parse_outcomes", "share_outcomes"]

Curie = Annotated[str, Field(pattern=r"^[a-z]+:[A-Za-z0-9-]{1,100}$")]
MOST = 20_000


class OutcomeFileError(CaseError):
    """A sharing file that can't be read; carries every problem found."""


class SharedOutcome(BaseModel):
    """One outcome, without anything that tells whose it was."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    technique: Curie
    damage: Curie
    groups: list[Curie] = Field(min_length=1, max_length=40)
    result: Literal["met", "partly", "not-met", "harm"]
    demo: bool = False


class OutcomeFile(BaseModel):
    """A sharing file: *collection* is whatever name the givers chose; it may be empty."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    leastwise_outcomes: Literal[1] = Field(description="version of this format")
    collection: Annotated[str, Field(max_length=200)] = ""
    knowledge: Annotated[str, Field(max_length=64)] = ""
    giver: Annotated[str, Field(pattern=r"^[0-9a-f]{0,64}$")] = ""
    outcomes: list[SharedOutcome] = Field(max_length=MOST)

    @property
    def content(self) -> str:
        """Return a hash of the outcomes, whatever their order and whoever gave them."""
        rows = sorted(one.model_dump_json() for one in self.outcomes)
        return hashlib.sha256("\n".join(rows).encode()).hexdigest()

    def as_outcomes(self) -> list[Outcome]:
        """Return the outcomes as they are counted; a group counts as itself."""
        return [
            Outcome(o.technique, o.damage, tuple(o.groups), o.result, o.demo) for o in self.outcomes
        ]


def share_outcomes(
    outcomes: Iterable[Outcome], knowledge: Knowledge, collection: str = "", giver: str = ""
) -> str:
    """Return a sharing file as JSON; sorted, so that the order tells nothing."""
    grouping = Grouping(knowledge)
    rows: list[dict[str, Any]] = [
        {
            "technique": one.technique,
            "damage": one.damage,
            "groups": list(grouping.groups(one.materials)),
            "result": one.result,
            "demo": one.demo,
        }
        for one in outcomes
    ]
    rows.sort(key=lambda row: json.dumps(row, sort_keys=True))
    whole = {
        "leastwise_outcomes": 1,
        "collection": collection,
        "giver": giver,
        "knowledge": knowledge.digest,
        "outcomes": rows,
    }
    return json.dumps(whole, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def parse_outcomes(text: str, knowledge: Knowledge) -> OutcomeFile:
    """Return a sharing file that was read from JSON.

    Raises:
        OutcomeFileError: every problem with its path, unknown concepts among them.

    """
    try:
        found = OutcomeFile.model_validate(load_text(text, is_json=True))
    except CaseError as error:
        raise OutcomeFileError(list(error.problems)) from error
    except ValidationError as error:
        raise OutcomeFileError(as_problems(error)) from error
    strange = [
        Problem(f"outcomes[{i}].{field}", name, f"a {kind} of the knowledge")
        for i, one in enumerate(found.outcomes)
        for field, kind, names in (
            ("technique", "technique", [one.technique]),
            ("damage", "damage", [one.damage]),
            ("groups", "material", one.groups),
        )
        for name in names
        if not name.startswith(f"{kind}:") or name not in knowledge
    ]
    if strange:
        raise OutcomeFileError(strange[:50])
    return found
