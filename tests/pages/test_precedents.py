"""Counts of past treatments as pages: beside the knowledge, never instead of it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.store import Document, Store
from tests.browser import axe_faults, overflow
from tests.pages.conftest import form_token

PACK = "technique:membrane-pack-suspended"


def _log(store: Store, case: Document, *results: str) -> Document:
    parts = ["top-tier", "middle-tier", "lower-tier"]
    outcomes = [
        {
            "id": f"o{i}",
            "part": parts[i],
            "damage": "crushed-tiers",
            "technique": PACK,
            "result": result,
            "date": "2026-11-20",
            "by": "A. Conservator",
        }
        for i, result in enumerate(results)
    ]
    return store.create(
        "log", {"outcomes": outcomes}, who="me", what="log", case=case.id, title="log"
    )


def _real(store: Store, case: Document) -> Document:
    body = {**case.body, "demo": False}
    return store.save(case.id, case.version, body, who="me", what="no demo")


def test_outcomes_of_the_log_are_counted_and_invented_ones_say_so(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    _log(store, keep("festival-dancer"), "met", "harm")
    text = client.get("/precedents").text
    assert "1 of 2" in text
    assert "invented" in text
    assert "too few to lean on" in text


def test_a_new_outcome_is_counted_at_once(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    log = _log(store, keep("festival-dancer"), "met")
    assert "1 of 1" in client.get("/precedents").text
    body = json.loads(json.dumps(log.body))
    body["outcomes"][0]["result"] = "harm"
    store.save(log.id, 1, body, who="me", what="changed")
    assert "0 of 1" in client.get("/precedents").text


def test_a_case_shows_past_cases_like_it_with_reasons_and_not_itself(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    past, here = keep("festival-dancer"), keep("festival-dancer")
    _log(store, past, "met")
    _log(store, here, "met")
    text = client.get(f"/cases/{here.id}/precedents").text
    assert f"/cases/{past.id}/log" in text
    assert f"/cases/{here.id}/log" not in text.split("Past cases like this one")[1]
    assert "100 %" in text


def test_an_option_shows_its_precedents_beside_the_knowledge(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    past, here = keep("festival-dancer"), keep("festival-dancer")
    option = f"/cases/{here.id}/options/crushed-tiers/membrane-pack-suspended"
    assert 'id="past"' not in client.get(option).text
    _log(store, past, "met", "met", "harm")
    text = client.get(option).text
    assert "2 of 3" in text.split('id="past"')[1]
    assert "change no verdict" in text


def test_verdicts_are_the_same_whatever_came_of_past_treatments(
    client: TestClient, store: Store, keep: Callable[..., Document], adviser: Any
) -> None:
    case = keep("festival-dancer")
    before = client.post("/options", json=case.body, headers={"accept": "application/json"}).text
    _log(store, case, "met", "met", "met")
    client.get(f"/cases/{case.id}/precedents")
    after = client.post("/options", json=case.body, headers={"accept": "application/json"}).text
    assert before == after


def test_what_is_shared_can_be_brought_in_and_taken_out_again(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    case = _real(store, keep("festival-dancer"))
    _log(store, case, "met", "partly")
    shared = client.get("/precedents/outcomes.json?collection=Northern+coast")
    assert case.title not in shared.text
    assert "A. Conservator" not in shared.text
    assert "2026" not in shared.text
    token = form_token(client)
    files = {"file": ("o.json", shared.content, "application/json")}
    answer = client.post("/precedents/shared", files=files, data={"form_token": token})
    assert "Northern coast" in answer.text
    assert "2 of 4" in answer.text
    record = answer.text.split("/precedents/shared/")[1].split("/")[0]
    answer = client.post(f"/precedents/shared/{record}/remove", data={"form_token": token})
    assert "1 of 2" in answer.text


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"[1]", b'{"leastwise_outcomes": 1}'])
def test_a_file_that_is_none_is_told_beside_its_field(client: TestClient, content: bytes) -> None:
    files = {"file": ("<b>.json", content, "application/json")}
    data = {"form_token": form_token(client)}
    answer = client.post("/precedents/shared", files=files, data=data)
    assert answer.status_code == 422
    assert 'id="file-error"' in answer.text
    assert "<b>" not in answer.text


def test_a_form_from_elsewhere_is_refused(client: TestClient) -> None:
    files = {"file": ("o.json", b"{}", "application/json")}
    assert client.post("/precedents/shared", files=files).status_code == 403


def test_the_pages_are_accessible_and_nothing_sticks_out(
    page: Any, store: Store, keep: Callable[..., Document]
) -> None:
    past, here = keep("festival-dancer"), keep("festival-dancer")
    _log(store, past, "met", "partly", "harm")
    for width in (1280, 820, 390):
        page.set_viewport_size({"width": width, "height": 900})
        for path in ("/precedents", f"/cases/{here.id}/precedents"):
            page.goto(path)
            assert axe_faults(page) == []
            assert overflow(page) == []
