"""A version that met another is set aside until it is decided, so that leaving loses nothing."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any

from fastapi.testclient import TestClient

from leastwise.api.services.setting_aside import aside_of
from leastwise.api.store import Document, Store
from tests.pages.conftest import form_token


def _clash(client: TestClient, store: Store, case: Document) -> Any:
    """Save another title in between, then send mine without scripts."""
    theirs = {**case.body, "title": "Their title"}
    store.save(case.id, case.version, theirs, who="b", what="title", title="Their title")
    fields = {"form_token": form_token(client), "version": str(case.version)}
    page = client.get(f"/cases/{case.id}/object").text
    for name, value in re.findall(r'<input[^>]*name="([^"]+)"[^>]*value="([^"]*)"', page):
        fields.setdefault(name, value)
    fields["title"] = "My own title"
    return client.post(f"/cases/{case.id}/object", data=fields)


def test_what_is_left_undecided_is_found_on_the_page_of_the_case(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    case = keep()
    assert _clash(client, store, case).status_code == 409
    (aside,) = aside_of(store, case.id, "me")
    assert aside.body["mine"]["title"] == "My own title"
    assert "waits for a decision" in client.get(f"/cases/{case.id}").text
    page = client.get(f"/cases/{case.id}/aside/{aside.id}")
    assert page.status_code == 200
    assert "My own title" in page.text
    assert "Their title" in page.text


def test_a_decision_lets_it_go(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    case = keep()
    page = _clash(client, store, case).text
    fields = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', page))
    fields = {k: html.unescape(v) for k, v in fields.items()} | {"choice.0": "mine"}
    answer = client.post(f"/cases/{case.id}/merge", data=fields)
    assert answer.status_code == 200
    assert store.read(case.id).title == "My own title"
    assert aside_of(store, case.id, "me") == []


def test_it_can_be_thrown_away_and_nobody_elses_can(
    client: TestClient, store: Store, keep: Callable[..., Document]
) -> None:
    case = keep()
    _clash(client, store, case)
    (aside,) = aside_of(store, case.id, "me")
    token = {"form_token": form_token(client)}
    assert client.post(f"/cases/{case.id}/aside/none/remove", data=token).status_code == 404
    client.post(f"/cases/{case.id}/aside/{aside.id}/remove", data=token)
    assert "waits for a decision" not in client.get(f"/cases/{case.id}").text
    assert store.history(aside.id)[0].body["mine"]["title"] == "My own title"
