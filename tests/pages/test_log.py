"""The treatment log: entries kept as typed, checked beside their field, never lost to another."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.services.treatment_log import LogWriter, log_of
from leastwise.api.store import Document, Store
from leastwise.graph import Adviser
from leastwise.graph.case.reading import case_from_data
from tests.browser import axe_faults, overflow
from tests.pages.conftest import form_token

HOSTILE = "<script>alert(1)</script>\"' &amp; \u202e"
STEP = {
    "planned": "",
    "what": "laid the pack",
    "state": "done",
    "date": "2026-11-24",
    "by": "A. Conservator",
    "hours": "1,5",
    "deviation": "",
    "approved_by": "",
    "note": HOSTILE,
}


READING = {"quantity": "rh", "value": "45", "unit": "%", "date": "2026-11-24"}


def _post(client: TestClient, path: str, **fields: str) -> Any:
    return client.post(path, data={**fields, "form_token": form_token(client)})


def test_a_step_is_kept_with_day_and_name_and_hostile_text_is_text(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    case = keep()
    answer = _post(client, f"/cases/{case.id}/log/steps", **STEP)
    assert answer.status_code == 200
    assert "<script>alert" not in answer.text
    log = log_of(store, case.id)
    assert log is not None
    (step,) = log.body["steps"]
    assert (step["hours"], step["note"], step["date"]) == (1.5, HOSTILE, "2026-11-24")


@pytest.mark.parametrize(
    ("listing", "fields", "wrong"),
    [
        ("steps", STEP | {"date": "24.11.2026"}, "date"),
        ("steps", STEP | {"by": ""}, "by"),
        ("steps", STEP | {"hours": "long"}, "hours"),
        (
            "readings",
            {"quantity": "rh", "value": "wet", "unit": "%", "date": "2026-11-24"},
            "value",
        ),
        ("materials", {"what": "", "manner": "added", "date": "2026-11-24"}, "what"),
        ("follow_ups", {"due": "", "what": "look"}, "due"),
    ],
)
def test_a_wrong_field_is_told_beside_it_and_what_was_typed_is_kept(
    client: TestClient,
    store: Store,
    keep: Callable[..., Document],
    listing: str,
    fields: dict[str, str],
    wrong: str,
) -> None:
    case = keep()
    answer = _post(client, f"/cases/{case.id}/log/{listing}", **fields)
    assert answer.status_code == 422
    assert f'id="{listing}-{wrong}-error"' in answer.text
    for text in fields.values():
        if text and text != HOSTILE:
            assert text in answer.text
    assert log_of(store, case.id) is None


def test_an_entry_that_another_changed_is_shown_with_both_and_nothing_is_lost(
    client: TestClient, store: Store, keep: Callable[..., Document], adviser: Adviser
) -> None:
    case = keep()
    _post(client, f"/cases/{case.id}/log/steps", **STEP)
    log = log_of(store, case.id)
    assert log is not None
    before = {k: v for k, v in log.body["steps"][0].items() if k != "id"}
    writer = LogWriter(store, case_from_data(case.body, adviser.knowledge), case.id, "B")
    writer.change("steps", "s1", before, before | {"what": "took the pack off"})
    mine = STEP | {"what": "turned the pack", "before": json.dumps(before)}
    answer = _post(client, f"/cases/{case.id}/log/steps/s1", **mine)
    assert answer.status_code == 409
    assert "took the pack off" in answer.text
    assert "turned the pack" in answer.text
    log = log_of(store, case.id)
    assert log is not None
    assert log.body["steps"][0]["what"] == "took the pack off"


def test_a_practice_not_to_use_is_told_at_the_entry_with_its_reason_and_the_gentler_way(
    client: TestClient, keep: Callable[..., Document], adviser: Adviser
) -> None:
    case = keep()
    typed = STEP | {"note": "", "deviation": "The folds were pressed out with a warm iron."}
    page = _post(client, f"/cases/{case.id}/log/steps", **typed).text
    assert page.count("not-to-use") == 1
    told = page.partition("not-to-use")[2].partition("</p>")[0]
    assert "pressed out with a warm iron" in told
    assert adviser.knowledge.text("refused:ironing", "skos:definition") in told
    for gentler in adviser.knowledge.objects("refused:ironing", "lw:insteadUse"):
        assert f'href="/concepts/{gentler}"' in told
    assert "not-to-use" in client.get(f"/cases/{case.id}/log/record").text


def test_what_was_taken_away_or_not_done_is_not_told(
    client: TestClient, keep: Callable[..., Document]
) -> None:
    case = keep()
    undone = STEP | {"note": "", "what": "removed the sticky tape with a spatula"}
    assert "not-to-use" not in _post(client, f"/cases/{case.id}/log/steps", **undone).text
    left = STEP | {"note": "", "what": "ironing", "state": "not-done", "deviation": ""}
    assert "not-to-use" not in _post(client, f"/cases/{case.id}/log/steps", **left).text
    removed = {"what": "masking tape", "manner": "removed", "date": "2026-11-24"}
    assert "not-to-use" not in _post(client, f"/cases/{case.id}/log/materials", **removed).text
    added = {"what": "masking tape", "manner": "added", "date": "2026-11-24"}
    assert "not-to-use" in _post(client, f"/cases/{case.id}/log/materials", **added).text


def test_an_entry_can_be_struck_out_and_the_history_keeps_it(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    case = keep()
    _post(client, f"/cases/{case.id}/log/steps", **STEP)
    page = client.get(f"/cases/{case.id}/log/steps/s1").text
    assert "laid the pack" in page
    log = log_of(store, case.id)
    assert log is not None
    before = json.dumps({k: v for k, v in log.body["steps"][0].items() if k != "id"})
    _post(client, f"/cases/{case.id}/log/steps/s1", **STEP, before=before, strike="yes")
    bodies = [event.body for event in store.history(log.id)]
    assert [len(body["steps"]) for body in bodies] == [1, 0]


def test_many_who_add_at_once_lose_nothing(
    store: Store, keep: Callable[..., Document], adviser: Adviser
) -> None:
    kept = keep()
    case = case_from_data(kept.body, adviser.knowledge)

    def work(name: str) -> None:
        for _ in range(5):
            LogWriter(store, case, kept.id, name).add(
                "follow_ups", {"due": "2027-01-01", "what": name}
            )

    threads = [threading.Thread(target=work, args=(f"t{i}",)) for i in range(4)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    log = log_of(store, kept.id)
    assert log is not None
    ids = [row["id"] for row in log.body["follow_ups"]]
    assert len(ids) == len(set(ids)) == 20


def test_the_final_record_says_what_is_missing_until_it_is_there(
    client: TestClient, keep: Callable[..., Document]
) -> None:
    case = keep()
    assert "advised for future care" in client.get(f"/cases/{case.id}/log/record").text
    final = {
        "state_after": "stable",
        "changes": "tiers stand",
        "future_care": "keep padded",
        "recorder": "A",
        "date": "2026-11-25",
        "before": "{}",
    }
    _post(client, f"/cases/{case.id}/log/final", **final)
    text = client.get(f"/cases/{case.id}/log/record").text
    assert "advised for future care" not in text
    assert "keep padded" in text
    again = final | {"future_care": "another", "before": "{}"}
    assert _post(client, f"/cases/{case.id}/log/final", **again).status_code == 409


def test_follow_ups_of_all_cases_stand_in_one_list(
    client: TestClient, keep: Callable[..., Document]
) -> None:
    case = keep()
    _post(client, f"/cases/{case.id}/log/follow_ups", due="2020-01-01", what="look at the seam")
    text = client.get("/follow-ups").text
    assert "look at the seam" in text
    assert "overdue" in text


def test_the_log_is_accessible_and_prints(
    page: Any, client: TestClient, keep: Callable[..., Document]
) -> None:
    case = keep()
    _post(client, f"/cases/{case.id}/log/steps", **STEP)
    for value, time in (("45", "10:00"), ("55", "11:00"), ("60", "12:30")):
        reading = READING | {"value": value, "time": time}
        _post(client, f"/cases/{case.id}/log/readings", **reading)
    for path in ("log", "log/record", "log/steps/s1"):
        for width in (1280, 820, 390):
            page.set_viewport_size({"width": width, "height": 900})
            page.goto(f"/cases/{case.id}/{path}")
            assert axe_faults(page) == []
            assert overflow(page) == []
