"""The policy and weights that a case keeps, set on the page of options and followed by the rest."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from fastapi.testclient import TestClient

from leastwise.api.store import Document, Store
from tests.pages.conftest import form_token

Keep = Callable[..., Document]
HOUSE = "follows the house"


def send(client: TestClient, there: Document, version: int, **fields: str) -> Any:
    token = form_token(client, f"/cases/{there.id}/options")
    data = {"form_token": token, "version": str(version), **fields}
    return client.post(f"/cases/{there.id}/options/keep", data=data, follow_redirects=False)


def test_what_is_kept_is_followed_by_options_plan_and_proposal(
    client: TestClient, keep: Keep, store: Store
) -> None:
    there = keep("guild-banner")
    assert HOUSE in client.get(f"/cases/{there.id}/options").text

    answer = send(client, there, 1, policy="policy:display-driven", weights="visual-change:90")

    assert answer.status_code == 303
    kept = store.read(there.id, "case").body["weighing"]
    assert kept["policy"] == "policy:display-driven"
    assert kept["weights"]["visual-change"] == 90
    label = "with the weights of this case"
    for page in ("options", "plan?wait=true", "proposal?wait=true"):
        assert label in client.get(f"/cases/{there.id}/{page}").text, page


def test_the_house_can_be_followed_again(client: TestClient, keep: Keep, store: Store) -> None:
    there = keep("guild-banner")
    send(client, there, 1, policy="display-driven", weights="")
    assert HOUSE not in client.get(f"/cases/{there.id}/options").text

    assert send(client, there, 2, policy="", weights="").status_code == 303

    assert store.read(there.id, "case").body["weighing"] == {}
    assert HOUSE in client.get(f"/cases/{there.id}/options").text


def test_what_can_not_be_weighed_with_is_told_and_nothing_is_kept(
    client: TestClient, keep: Keep, store: Store
) -> None:
    there = keep("guild-banner")
    for fields, said in (
        ({"policy": "boldest", "weights": ""}, "policy:conservative"),
        ({"policy": "", "weights": "beauty:3"}, "visual-change"),
        ({"policy": "", "weights": "exposure:1000"}, "from 0 to 100"),
    ):
        answer = send(client, there, 1, **fields)
        assert answer.status_code == 422
        assert said in answer.text
    assert store.read(there.id, "case").version == 1


def test_keeping_again_what_is_shown_changes_nothing_of_it(
    client: TestClient, keep: Keep, store: Store
) -> None:
    there = keep("guild-banner")
    send(client, there, 1, policy="display-driven", weights="visual-change:90")
    before = store.read(there.id, "case").body["weighing"]
    shown = client.get(f"/cases/{there.id}/options").text
    form = shown[shown.index('id="weights-keep"') :]
    fields = {
        name: re.search(rf'name="{name}" value="([^"]*)"', form)[1]  # type: ignore[index]
        for name in ("policy", "weights")
    }

    send(client, there, 2, **fields)
    again = client.get(f"/cases/{there.id}/options").text

    after = store.read(there.id, "case").body["weighing"]
    total = [sum(one["weights"].values()) for one in (before, after)]
    for axis, points in before["weights"].items():
        assert abs(points / total[0] - after["weights"][axis] / total[1]) < 0.01, axis
    assert re.findall(r'data-option="[^"]+"', shown) == re.findall(r'data-option="[^"]+"', again)


def test_the_record_page_holds_it_too(client: TestClient, keep: Keep, store: Store) -> None:
    there = keep("guild-banner")
    send(client, there, 1, policy="display-driven", weights="")
    shown = client.get(f"/cases/{there.id}/aim").text
    assert "display first" in shown

    token = form_token(client, f"/cases/{there.id}/aim")
    fields = {"aim.purpose": "display", "weighing.policy": "conservative",
              "weighing.weights": "penetration 30", "weighing.why": "agreed with the curator",
              "form_token": token, "version": "2"}  # fmt: skip
    answer = client.post(f"/cases/{there.id}/aim", data=fields, follow_redirects=False)

    assert answer.status_code == 303
    kept = store.read(there.id, "case").body["weighing"]
    assert kept == {
        "policy": "policy:conservative",
        "weights": {"penetration": 30},
        "why": "agreed with the curator",
    }


def test_moved_sliders_are_what_is_kept(page: Any, keep: Keep, store: Store) -> None:
    there = keep("guild-banner")
    page.goto(f"/cases/{there.id}/options")
    page.locator("#weights-panel > summary").click()
    slider = page.locator("#w-visual-change")
    slider.fill("88")
    page.wait_for_function("document.documentElement.dataset.ranked")
    page.get_by_role("button", name="Keep this order with the case").click()
    page.wait_for_function("document.body.textContent.includes('Follow the house again')")

    assert store.read(there.id, "case").body["weighing"]["weights"]["visual-change"] == 88
