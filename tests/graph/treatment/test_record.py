"""The running record of a treatment, and what a final record still lacks."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from leastwise.graph import Case
from leastwise.graph.treatment.record import (
    TreatmentError,
    due,
    missing_in,
    outcomes_of,
    treatment_from_data,
)

PACK = "crushed/membrane-pack"
DAY = "2026-11-25"


def _whole(**changes: Any) -> dict[str, Any]:
    record: dict[str, Any] = {
        "steps": [
            {"id": "s1", "planned": PACK, "what": "pack", "state": "done", "date": DAY, "by": "A"}
        ],
        "outcomes": [
            {
                "id": "o1",
                "part": "collar",
                "damage": "crushed",
                "technique": "technique:membrane-pack",
                "result": "met",
                "date": DAY,
                "by": "A",
            }
        ],
        "final": {
            "state_after": "lies flat",
            "changes": "crease reduced",
            "future_care": "store flat",
            "recorder": "A",
            "date": DAY,
        },
    }
    return record | changes


def test_a_record_that_holds_all_lacks_nothing(make_case: Callable[..., Case]) -> None:
    record = treatment_from_data(_whole(), make_case())
    assert missing_in(record, make_case(), ["before", "during", "after"], {PACK: "pack"}) == []


def test_an_empty_record_lacks_everything_and_each_lack_names_its_claim(
    make_case: Callable[..., Case],
) -> None:
    missing = missing_in(treatment_from_data({}), make_case(), [], {PACK: "pack"})
    assert {m.where for m in missing} >= {"steps", "photographs", "outcomes", "final.future_care"}
    assert all(m.claim.startswith("claim:E-2") for m in missing)


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ({"deviation": "shorter"}, "approval of the deviation"),
        ({"state": "stopped"}, "why pack was stopped"),
    ],
)
def test_a_deviation_needs_a_reason_and_approval(
    make_case: Callable[..., Case], step: dict[str, str], said: str
) -> None:
    steps = [_whole()["steps"][0] | step]
    record = treatment_from_data(_whole(steps=steps), make_case())
    missing = missing_in(record, make_case(), ["before", "during", "after"], {PACK: "pack"})
    assert len(missing) == 1
    assert said in missing[0].what


@pytest.mark.parametrize(
    ("path", "change"),
    [
        ("outcomes[0].part", {"part": "sleeve"}),
        ("outcomes[0].damage", {"damage": "stain"}),
        ("outcomes[0].result", {"result": "splendid"}),
        ("outcomes[0].date", {"date": "2026-02-30"}),
    ],
)
def test_a_wrong_entry_is_told_with_its_path(
    make_case: Callable[..., Case], path: str, change: dict[str, str]
) -> None:
    outcomes = [_whole()["outcomes"][0] | change]
    with pytest.raises(TreatmentError) as caught:
        treatment_from_data(_whole(outcomes=outcomes), make_case())
    assert [p.path for p in caught.value.problems] == [path]


def test_an_outcome_counts_for_the_materials_of_its_part(make_case: Callable[..., Case]) -> None:
    (one,) = outcomes_of(treatment_from_data(_whole()), make_case())
    assert (one.damage, one.materials, one.result) == ("damage:crease", ("material:silk",), "met")
    assert one.demo  # the case is invented, and so is its outcome


def test_what_is_overdue_comes_first_and_what_is_done_not_at_all() -> None:
    def ups(*days: str, done: str | None = None) -> Any:
        entries = [
            {"id": f"f{i}", "due": d, "what": "look", "done": done} for i, d in enumerate(days)
        ]
        return treatment_from_data({"follow_ups": entries})

    records = {"a": ups("2026-12-01", "2026-11-01"), "b": ups("2026-11-10", done=DAY)}
    found = due(records, date(2026, 11, 25))
    assert [(days, case) for days, case, _ in found] == [(-24, "a"), (6, "a")]
