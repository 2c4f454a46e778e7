"""What only the second form of a record can say outlives the pages, which show a part of it."""

from __future__ import annotations

import copy

import pytest
import yaml
from fastapi.testclient import TestClient

from leastwise.api.store import Store
from leastwise.graph import Adviser
from leastwise.graph.case.reading import case_from_data
from tests.graph.case.test_mutated import SOUND
from tests.pages.conftest import form_token
from tests.pages.entry_help import form_of, send


@pytest.fixture
def imported(client: TestClient) -> str:
    """Import a record that says all that a record can say, and return its address."""
    text = yaml.safe_dump(SOUND, sort_keys=False)
    fields = {"text": text, "form_token": form_token(client)}
    answer = client.post("/cases/import", data=fields, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].partition("?")[0]


@pytest.mark.parametrize("section", ["object", "parts", "damages", "tests", "aim", "contacts"])
def test_a_page_that_is_sent_unchanged_loses_nothing(
    section: str, imported: str, client: TestClient, store: Store, adviser: Adviser
) -> None:
    name = imported.rpartition("/")[2]
    before = copy.deepcopy(store.read(name).body)

    send(client, f"{imported}/{section}", form_of(client, f"{imported}/{section}"))

    after = case_from_data(store.read(name).body, adviser.knowledge)
    assert after == case_from_data(before, adviser.knowledge)


def test_what_is_imported_is_what_was_written(
    imported: str, store: Store, adviser: Adviser
) -> None:
    kept = store.read(imported.rpartition("/")[2]).body

    assert case_from_data(kept, adviser.knowledge) == case_from_data(SOUND, adviser.knowledge)


def test_a_heading_is_stated_on_the_page(
    imported: str, client: TestClient, store: Store, adviser: Adviser
) -> None:
    where = f"{imported}/parts"

    send(client, where, form_of(client, where) | {"parts.1.finish": "none"})

    case = case_from_data(store.read(imported.rpartition("/")[2]).body, adviser.knowledge)
    assert case.parts[1].finish == "none"
