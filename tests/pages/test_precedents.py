"""Counts of past treatments as pages: beside the knowledge, never instead of it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.store import Document, Store
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.planning.make import make_plan
from leastwise.graph.treatment.outcome_file import share_outcomes
from leastwise.graph.treatment.precedents import Outcome
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
    assert "too few to rely on" in text


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


def test_the_file_to_share_tells_nobody_s_object_and_holds_no_invented_outcome(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    case = _real(store, keep("festival-dancer"))
    _log(store, case, "met", "partly")
    _log(store, keep("festival-dancer"), "harm")
    shared = client.get("/precedents/outcomes.json?collection=Northern+coast")
    for telling in (case.title, case.id, "A. Conservator", "2026"):
        assert telling not in shared.text
    assert [one["result"] for one in shared.json()["outcomes"]] == ["met", "partly"]


def _from_elsewhere(adviser: Any, results: list[str], giver: str = "ab" * 32) -> bytes:
    told = [Outcome(PACK, "damage:crease", ("material:silk",), r) for r in results]  # type: ignore[arg-type]
    return share_outcomes(told, adviser.knowledge, "Northern coast", giver).encode()


def _bring(client: TestClient, content: bytes) -> Any:
    files = {"file": ("o.json", content, "application/json")}
    data = {"form_token": form_token(client)}
    return client.post("/precedents/shared", files=files, data=data)


def test_what_others_shared_is_counted_apart_and_can_be_taken_out_again(
    client: TestClient, store: Store, keep: Callable[..., Document], adviser: Any
) -> None:
    case = _real(store, keep("festival-dancer"))
    _log(store, case, "met", "partly")
    answer = _bring(client, _from_elsewhere(adviser, ["met", "met", "not-met"]))
    assert "Northern coast" in answer.text
    assert "3 of 5" in answer.text
    assert "(2 recorded here, 3 shared by others)" in answer.text
    record = answer.text.split("/precedents/shared/")[1].split("/")[0]
    data = {"form_token": form_token(client)}
    answer = client.post(f"/precedents/shared/{record}/remove", data=data)
    assert "1 of 2" in answer.text
    assert "shared by others" not in answer.text


def test_no_outcome_is_counted_twice(
    client: TestClient, store: Store, keep: Callable[..., Document], adviser: Any
) -> None:
    case = _real(store, keep("festival-dancer"))
    _log(store, case, "met", "met")
    own = client.get("/precedents/outcomes.json").content
    answer = _bring(client, own)
    assert (answer.status_code, "given out here" in answer.text) == (409, True)
    theirs = _from_elsewhere(adviser, ["met", "harm"])
    assert _bring(client, theirs).status_code == 200
    same = _bring(client, _from_elsewhere(adviser, ["harm", "met"], giver="cd" * 32))
    assert (same.status_code, "same outcomes are there already" in same.text) == (409, True)
    newer = _bring(client, _from_elsewhere(adviser, ["met", "harm", "met"]))
    assert (newer.status_code, "take the older out first" in newer.text) == (409, True)
    assert "3 of 4" in client.get("/precedents").text


def test_a_precedent_of_a_defeated_option_says_that_it_is_defeated(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    past, here = keep("festival-dancer"), keep("festival-dancer")
    log = _log(store, past, "met", "met")
    body = json.loads(json.dumps(log.body))
    body["outcomes"][0]["technique"] = "technique:steam"
    store.save(log.id, 1, body, who="me", what="changed")
    text = client.get(f"/cases/{here.id}/precedents").text
    pack, steam = (
        text.index("crushed-tiers/membrane-pack-suspended"),
        text.index("crushed-tiers/steam"),
    )
    assert pack < steam
    assert "</svg>defeated</span>" in text[steam:]
    assert "No outcome lifts this." in text[steam:]
    assert "</svg>defeated</span>" not in text[:steam]


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


def test_hours_of_finished_work_stand_beside_those_that_are_reckoned(
    client: TestClient, store: Store, keep: Callable[..., Document], adviser: Adviser
) -> None:
    body = read_demo("guild-banner", adviser.knowledge).model_dump(mode="json")
    for part in body["parts"]:
        part["size"] = {"length_cm": 100, "width_cm": 80}
    case = keep(body)
    record = case_from_data(case.body, adviser.knowledge)
    step = next(s for s in make_plan(record, adviser).steps if "on" in s.hours_basis.split())
    done = [
        {"id": "s0", "planned": step.options[0], "what": step.label, "state": "done",
         "date": "2026-11-20", "by": "A. Conservator", "hours": 3 * step.hours[1]}
    ]  # fmt: skip
    assert "How long it took" not in client.get("/precedents").text
    assert "times as long as estimated" not in client.get(f"/cases/{case.id}/plan?wait=true").text

    store.create("log", {"steps": done}, who="me", what="log", case=case.id, title="log")

    text = client.get("/precedents").text
    assert "How long it took" in text
    assert step.label in text[text.index("How long it took") :]
    plan = client.get(f"/cases/{case.id}/plan?wait=true").text
    assert "1 job took" in plan
    assert "(invented)" in plan[plan.index("1 job took") - 60 : plan.index("1 job took")]
