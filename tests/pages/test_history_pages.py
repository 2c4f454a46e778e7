"""The history of a case, and two stale forms put together."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st

from leastwise.api.pages.entry.merge import resolved
from leastwise.api.pages.entry.words import changes_between, place_in_words
from leastwise.api.store import Document, Store
from leastwise.graph import Adviser
from tests.pages.entry_help import form_of, read_form, send


def told(before: dict[str, Any], after: dict[str, Any], adviser: Adviser) -> list[tuple[str, ...]]:
    found = changes_between(before, after, adviser.knowledge)
    return [(one.where, one.before, one.after) for one in found]


def test_changes_are_told_in_words(keep: Callable[..., Document], adviser: Adviser) -> None:
    body = keep("festival-dancer").body
    after = deepcopy(body)
    after["aim"]["lux"] = "unknown"
    after["parts"][0]["lies_flat"] = "yes"
    after["damages"][0]["extent"] = {"value": 3, "unit": "cm2"}
    after["parts"].append({"id": "sash", "name": "sash", "materials": []})
    del after["parts"][9]
    said = told(body, after, adviser)
    assert ("Light on the object", "50", "unknown") in said
    where = "part 1 (top tier of the overskirt): can it be laid flat without strain?"
    assert (where, "no", "yes") in said
    assert any(w == "damage 1 (crease): extent" and a == "3 cm²" for w, _, a in said)
    assert ("part 10 (sash)", "", "sash") in said
    assert ("part 10 (belt)", "belt", "") in said
    assert len(said) == 5


def test_a_contact_is_told_by_the_names_of_its_parts(adviser: Adviser) -> None:
    parts = [{"id": "outer-1", "name": "outer satin"}, {"id": "lining-1", "name": "lining"}]
    touch = {"between": ["outer-1", "lining-1"], "kind": "stitched", "barrier": "unknown"}
    split = {"id": "d", "damage": "damage:split", "parts": ["lining-1"]}
    before = {"parts": parts, "damages": [split]}
    after = {
        "parts": parts,
        "contacts": [touch],
        "damages": [split | {"parts": ["outer-1", "lining-1"]}],
    }
    assert told(before, after, adviser) == [
        ("damage 1 (split): on which parts", "lining", "outer satin, lining"),
        ("contact 1 (outer satin and lining)", "", "outer satin and lining, kind stitched"),
    ]


def test_two_ways_of_saying_nothing_are_no_change(adviser: Adviser) -> None:
    assert told({"aim": {"lux": "unknown", "note": ""}}, {"aim": {}}, adviser) == []
    assert told({}, {"parts": [], "means": {}}, adviser) == []


def test_rows_moved_are_told_as_another_order(adviser: Adviser) -> None:
    rows = [{"id": "a", "name": "a"}, {"id": "b", "name": "b"}]
    assert told({"parts": rows}, {"parts": rows[::-1]}, adviser) == [
        ("parts", "another order", "this order")
    ]


ODD = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=4),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["parts", "id", "name", "aim", "x"]), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(
    before=st.dictionaries(st.sampled_from(["parts", "aim", "tests"]), ODD, max_size=3), after=ODD
)
@settings(deadline=None)
def test_any_two_drafts_can_be_compared(
    adviser: Adviser, before: dict[str, Any], after: Any
) -> None:
    knowledge = adviser.knowledge
    changes_between(before, after if isinstance(after, dict) else {"aim": after}, knowledge)
    place_in_words("parts[3].materials[1].material", before, knowledge)


def test_the_history_shows_who_changed_what_and_brings_a_version_back(
    client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("furnishing-panel")
    where = f"/cases/{document.id}"
    send(client, f"{where}/aim", form_of(client, f"{where}/aim"), **{"aim.lux": "123"})
    body = deepcopy(store.read(document.id).body)
    body["object"]["keeper"] = "Another house"
    store.save(document.id, 2, body, who="B. Weaver", what="Object and record")
    page = client.get(f"{where}/history").text
    assert "B. Weaver" in page
    assert "Another house" in page
    assert "<ins>123</ins>" in page
    old = client.get(f"{where}/history/1").text
    assert "As it was in version 1" in old
    fields = dict(read_form(old, "/history/1").fields)
    assert fields["version"] == "3"
    answer = client.post(f"{where}/history/1", data=fields)
    assert answer.status_code == 200
    now = store.read(document.id)
    assert (now.version, now.body) == (4, document.body)
    assert "Version 1 brought back" in answer.text
    assert client.get(f"{where}/history/9").status_code == 404
    assert client.get(f"{where}/history/0").status_code == 422


def test_saves_that_follow_each_other_closely_are_shown_as_one(
    client: TestClient, keep: Callable[..., Document]
) -> None:
    document = keep("furnishing-panel")
    path = f"/cases/{document.id}/aim"
    for lux in ("1", "12", "123"):
        send(client, path, form_of(client, path), **{"aim.lux": lux})
    page = client.get(f"/cases/{document.id}/history").text
    assert page.count("<h3>") == 2
    assert "<ins>123</ins>" in page
    assert "<ins>12</ins>" not in page


def test_two_stale_forms_of_different_entries_are_put_together(
    client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("furnishing-panel")
    path = f"/cases/{document.id}/parts"
    mine, theirs = form_of(client, path), form_of(client, path)
    send(client, path, theirs, **{"parts.0.note": "theirs"})
    answer = send(client, path, mine, **{"parts.1.note": "mine"})
    assert answer.status_code == 200
    assert "put together" in answer.text
    parts = store.read(document.id).body["parts"]
    assert (parts[0]["note"], parts[1]["note"]) == ("theirs", "mine")


def test_a_script_is_told_that_the_page_has_to_be_loaded_anew(
    client: TestClient, keep: Callable[..., Document]
) -> None:
    document = keep("furnishing-panel")
    where = f"/cases/{document.id}"
    json = {"accept": "application/json"}
    parts, aim = form_of(client, f"{where}/parts"), form_of(client, f"{where}/aim")
    send(client, f"{where}/parts", form_of(client, f"{where}/parts"), **{"parts.0.note": "theirs"})
    said = client.post(f"{where}/aim", data=aim | {"aim.lux": "9"}, headers=json).json()
    assert (said["together"], said["anew"], said["version"]) == ("me", False, 3)
    said = client.post(f"{where}/parts", data=parts | {"parts.1.note": "m"}, headers=json).json()
    assert (said["anew"], said["version"]) == (True, 4)
    clash = client.post(f"{where}/parts", data=parts | {"parts.0.note": "x"}, headers=json)
    assert clash.status_code == 409
    assert clash.json()["places"] == ["parts.0.note"]


@pytest.mark.parametrize(
    ("choice", "stands"), [("mine", "mine"), ("theirs", "theirs"), ("base", None)]
)
def test_where_both_changed_the_same_entry_a_person_decides_and_nothing_is_lost(
    choice: str, stands: str | None, client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("furnishing-panel")
    path = f"/cases/{document.id}/parts"
    mine, theirs = form_of(client, path), form_of(client, path)
    send(client, path, theirs, **{"parts.0.note": "theirs <b>", "parts.1.note": "only theirs"})
    page = send(client, path, mine, **{"parts.0.note": "mine & only", "parts.2.note": "only mine"})
    assert page.status_code == 409
    assert "theirs &lt;b&gt;" in page.text
    assert "mine &amp; only" in page.text
    fields = dict(read_form(page.text, "/merge").fields)
    assert fields["choice.0"] == "mine"
    answer = send(client, f"/cases/{document.id}/merge", fields, **{"choice.0": choice})
    assert answer.status_code == 200
    assert str(answer.url.path) == path
    parts = store.read(document.id).body["parts"]
    said = {"mine": "mine & only", "theirs": "theirs <b>"}.get(stands or "")
    assert parts[0]["note"] == (said or document.body["parts"][0]["note"])
    assert (parts[1]["note"], parts[2]["note"]) == ("only theirs", "only mine")


def test_whoever_saves_while_one_decides_is_put_together_as_well(
    client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("furnishing-panel")
    path = f"/cases/{document.id}/parts"
    mine, theirs = form_of(client, path), form_of(client, path)
    send(client, path, theirs, **{"parts.0.note": "theirs"})
    page = send(client, path, mine, **{"parts.0.note": "mine"})
    fields = dict(read_form(page.text, "/merge").fields)
    send(client, path, form_of(client, path), **{"parts.1.note": "third"})
    send(client, f"/cases/{document.id}/merge", fields)
    parts = store.read(document.id).body["parts"]
    assert (parts[0]["note"], parts[1]["note"]) == ("mine", "third")


def test_a_broken_merge_form_is_refused_with_a_sentence(
    client: TestClient, keep: Callable[..., Document]
) -> None:
    document = keep("furnishing-panel")
    path = f"/cases/{document.id}/merge"
    token = form_of(client, f"/cases/{document.id}/aim")["form_token"]
    good = {"form_token": token, "version": "1", "base": "1", "mine": "{}"}
    for wrong in (
        {"mine": "["},
        {"mine": "3"},
        {"base": "x"},
        {"version": ""},
        {"mine": "[" * 9999},
    ):
        assert client.post(path, data=good | wrong).status_code == 422, wrong


def test_what_one_removed_and_the_other_changed_can_be_kept_or_removed() -> None:
    base = {"parts": [{"id": "a", "name": "a"}, {"id": "b", "name": "b"}]}
    theirs = {"parts": [{"id": "a", "name": "changed"}, {"id": "b", "name": "b"}]}
    mine = {"parts": [{"id": "b", "name": "b"}]}
    assert resolved(base, theirs, mine, {"choice.0": "theirs"}) == theirs
    assert resolved(base, theirs, mine, {"choice.0": "mine"}) == mine
    assert resolved(base, theirs, mine, {"choice.0": "base"}) == base


def test_two_new_rows_of_one_short_name_can_both_be_kept() -> None:
    theirs = {"parts": [{"id": "hem", "name": "hem of the skirt"}]}
    mine = {"parts": [{"id": "hem", "name": "hem of the coat"}]}
    both = resolved({"parts": []}, theirs, mine, {"choice.0": "both"})
    assert both["parts"] == [
        {"id": "hem", "name": "hem of the coat"},
        {"id": "hem-2", "name": "hem of the skirt"},
    ]
