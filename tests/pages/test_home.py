"""The home page, the overview of a case, its export and import."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.pages.home import PAGE
from leastwise.api.store import Document, Store
from leastwise.graph import Adviser, parse_case, read_demo
from tests.conftest import DEMOS
from tests.pages.conftest import form_token
from tests.pages.entry_help import read_form
from tests.yaml_files import parse_yaml


def post(client: TestClient, path: str, data: dict[str, Any], **more: Any) -> Any:
    token = form_token(client)
    return client.post(path, data={"form_token": token, **data}, follow_redirects=False, **more)


def test_with_no_case_the_page_says_how_to_begin(client: TestClient) -> None:
    page = client.get("/").text
    assert "No case yet" in page
    assert page.count('name="demo"') == len(DEMOS)


def test_a_case_is_begun_from_title_and_object(client: TestClient, store: Store) -> None:
    answer = post(client, "/cases", {"title": " Gown ", "name": "evening gown"})
    assert answer.status_code == 303
    rows, total = store.cases()
    assert total == 1
    assert (rows[0].title, rows[0].object) == ("Gown", "evening gown")
    assert answer.headers["location"] == f"/cases/{rows[0].id}/object"
    assert "evening gown" in client.get("/").text


def test_a_case_without_a_title_is_not_begun_and_what_was_typed_stays(
    client: TestClient, store: Store
) -> None:
    answer = post(client, "/cases", {"title": " ", "name": "evening gown"})
    assert answer.status_code == 422
    page = read_form(answer.text, "/cases")
    assert "title-error" in page.ids
    assert "name-error" not in page.ids
    assert dict(page.fields)["name"] == "evening gown"
    assert store.cases()[1] == 0


def test_only_so_many_cases_stand_on_a_page_and_search_finds_the_others(
    client: TestClient, store: Store
) -> None:
    for n in range(PAGE + 3):
        body = {"title": f"Case {n:03}", "object": {"name": "cope" if n == 1 else "gown"}}
        store.create("case", body, who="me", what="begun", title=str(body["title"]))
    first, second = client.get("/").text, client.get("/?page=2").text
    assert "Page 1 of 2" in first
    assert "Case 000" not in first
    assert "Case 000" in second
    found = client.get("/?q=cope").text
    assert "Case 001" in found
    assert "Case 002" not in found
    assert "No case holds all of these words" in client.get("/?q=nothing+such").text
    assert "There is no page 9" in client.get("/?page=9").text


def test_cases_are_cards_that_say_how_far_they_are(client: TestClient, store: Store) -> None:
    post(client, "/cases", {"title": "Gown", "name": "evening gown"})
    post(client, "/cases/from-demo", {"demo": "guild-banner"})
    cards = client.get("/").text.partition('class="case-cards"')[2].partition("</ul>")[0]
    banner, gown = cards.split('<li class="case-card">')[1:]
    assert "Record begun, no parts yet" in gown
    assert "no picture yet" in gown
    assert "Recorded, not yet before reviewers" in banner
    assert 'class="sketch object-sketch"' in banner
    assert "invented" in banner


@pytest.mark.parametrize("demo", DEMOS)
def test_an_invented_case_is_copied_and_can_be_weighed(
    demo: str, client: TestClient, store: Store, adviser: Adviser
) -> None:
    answer = post(client, "/cases/from-demo", {"demo": demo})
    page = client.get(answer.headers["location"]).text
    assert "invented" in page
    assert "can be weighed" not in page
    assert "complete enough to be weighed" in page
    body = store.cases()[0][0]
    assert body.demo
    assert "error" not in answer.headers
    read_demo(demo, adviser.knowledge)


def test_an_unknown_invented_case_is_told_beside_the_list(client: TestClient) -> None:
    answer = post(client, "/cases/from-demo", {"demo": "none"})
    assert answer.status_code == 422
    assert "nothing is called" in answer.text


@pytest.mark.parametrize("ending", ["json", "yaml"])
@pytest.mark.parametrize("demo", DEMOS)
def test_what_is_exported_can_be_imported_and_is_the_same(
    demo: str, ending: str, client: TestClient, store: Store, adviser: Adviser
) -> None:
    begun = post(client, "/cases/from-demo", {"demo": demo})  # what is implied is not kept
    document = store.read(begun.headers["location"].removeprefix("/cases/"))
    text = client.get(f"/cases/{document.id}/record.{ending}").text
    data = json.loads(text) if ending == "json" else parse_yaml(text)
    assert data == document.body
    answer = post(client, "/cases/import", {}, files={"file": (f"a.{ending}", text.encode())})
    assert answer.status_code == 303
    imported = store.read(answer.headers["location"].removeprefix("/cases/"))
    assert imported.body == document.body
    knowledge = adviser.knowledge
    assert parse_case(json.dumps(imported.body), knowledge) == read_demo(demo, knowledge)
    pasted = post(client, "/cases/import", {"text": text})
    assert store.read(pasted.headers["location"].removeprefix("/cases/")).body == document.body


def test_the_export_is_the_record_that_the_program_reads(
    client: TestClient, keep: Callable[..., Document], adviser: Adviser
) -> None:
    document = keep("guild-banner")
    text = client.get(f"/cases/{document.id}/record.yaml").text
    assert parse_case(text, adviser.knowledge) == read_demo("guild-banner", adviser.knowledge)


def test_a_record_with_problems_tells_each_with_its_path_and_may_be_a_draft(
    client: TestClient, store: Store
) -> None:
    text = (
        "title: Gown\nparts:\n  - {id: hem, name: hem, materials: [{material: silck}]}\n"
        "made: 2026-01-01\n"
    )
    answer = post(client, "/cases/import", {"text": text})
    assert answer.status_code == 422
    for path in ("parts[0].materials[0].material", "object", "aim", "leastwise_case", "made"):
        assert f"<code>{path}</code>" in answer.text
    assert dict(read_form(answer.text, "/cases/import").fields)["text"] == text
    assert store.cases()[1] == 0
    kept = post(client, "/cases/import", {"text": text, "as_draft": "yes"})
    body = store.read(kept.headers["location"].removeprefix("/cases/")).body
    assert body["parts"][0]["materials"][0]["material"] == "silck"
    assert body["made"] == "2026-01-01"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Choose a file, or paste the record"),
        ("   ", "Choose a file, or paste the record"),
        ("{ not json", "line 1, column 3"),
        ("a: [1", "line "),
        ("- 1\n- 2\n", "mapping of fields"),
        ("a: &x 1\nb: *x\n", "alias"),
        ("[" * 100 + "]" * 100, "deep"),
        ('{"a":' * 60 + "1" + "}" * 60, "deep"),
        ("date: 2026-02-30", "YAML"),
        ('{"big": 1' + "0" * 40 + "}", "a whole number of 41 digits"),
    ],
)
def test_what_is_no_record_is_refused_with_a_sentence_and_kept_on_the_page(
    text: str, said: str, client: TestClient, store: Store
) -> None:
    answer = post(client, "/cases/import", {"text": text, "as_draft": "yes"})
    assert answer.status_code == 422
    assert said in answer.text
    assert dict(read_form(answer.text, "/cases/import").fields)["text"] == text
    assert store.cases()[1] == 0


def test_odd_values_of_a_file_become_what_the_store_can_keep(
    client: TestClient, store: Store
) -> None:
    text = (
        '{"title": "odd \\ud800 \\u0000 text", "n": NaN, "big": 999999999999999999'
        ', "deep": {"a": [true, null]}}'
    )
    answer = post(client, "/cases/import", {"text": text, "as_draft": "yes"})
    assert answer.status_code == 303
    where = answer.headers["location"]
    body = store.read(where.removeprefix("/cases/")).body
    assert body == {
        "title": "odd   text",
        "n": "nan",
        "big": "999999999999999999",
        "deep": {"a": [True, None]},
    }
    assert client.get(where).status_code == 200
    page = post(client, "/cases/import", {"text": "1: 2\n? [3]\n: !!set {a, b}", "as_draft": "yes"})
    assert page.status_code in (303, 422)


def test_a_file_that_is_not_text_is_refused(client: TestClient) -> None:
    files = {"file": ("a.yaml", b"\xff\xfe\x00")}
    answer = post(client, "/cases/import", {"text": "kept"}, files=files)
    assert answer.status_code == 422
    assert "not UTF-8" in answer.text
    assert "file-error" in answer.text


def test_the_overview_says_what_is_lacking_and_what_comes_next(
    client: TestClient, keep: Callable[..., Document]
) -> None:
    document = keep("festival-dancer")
    body = {**document.body, "aim": {"lux": "bright"}, "damages": []}
    page = client.get(f"/cases/{keep(body).id}").text
    assert "Can&#39;t be read: Light on the object" in page or "Can't be read: Light" in page
    assert "Needed: What the object is needed for" in page
    assert "no damage yet" in page
    assert "10 parts" in page
    assert "gelatin sequins" in page


def test_a_case_is_copied_renamed_and_removed_after_being_asked(
    client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("guild-banner")
    where = f"/cases/{document.id}"
    copied = post(client, f"{where}/copy", {}).headers["location"]
    copy = store.read(copied.removeprefix("/cases/"))
    assert copy.title == f"{document.title} (copy)"
    assert copy.body == {**document.body, "title": copy.title}
    refused = post(client, f"{where}/rename", {"title": " ", "version": "1"})
    assert refused.status_code == 422
    assert "title-error" in refused.text
    post(client, f"{where}/rename", {"title": "Banner", "version": "1"})
    assert store.read(document.id).title == "Banner"
    assert store.read(document.id).body["title"] == "Banner"
    asked = client.get(f"{where}/remove")
    assert "Banner" in asked.text
    assert store.cases()[1] == 2
    assert post(client, f"{where}/remove", {}).headers["location"] == "/"
    assert client.get(where).status_code == 404
    assert store.cases()[1] == 1


def test_nothing_is_changed_without_the_token_of_a_form(
    client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("guild-banner")
    form_token(client)
    for path in (
        "/cases",
        "/cases/from-demo",
        "/cases/import",
        f"/cases/{document.id}/copy",
        f"/cases/{document.id}/rename",
        f"/cases/{document.id}/remove",
        f"/cases/{document.id}/merge",
        f"/cases/{document.id}/history/1",
    ):
        assert client.post(path, data={"title": "x", "name": "y"}).status_code == 403, path
    assert store.cases()[1] == 1
