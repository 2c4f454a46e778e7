"""Entering a case: what is typed is kept, what can't be read is told beside its field."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.pages.entry.entry import SECTIONS
from leastwise.api.store import Document, Store
from leastwise.graph import Adviser
from leastwise.graph.case.reading import case_from_data
from tests.conftest import DEMOS
from tests.pages.conftest import form_token
from tests.pages.entry_help import form_of, read_form, send

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)> {{ 1234*1001 }} \u202e &amp;"


@pytest.fixture
def begun(client: TestClient, store: Store) -> str:
    """Return the address of a case that was just begun."""
    token = form_token(client)
    answer = client.post(
        "/cases",
        data={"form_token": token, "title": "Gown", "name": "evening gown"},
        follow_redirects=False,
    )
    return str(answer.headers["location"]).removesuffix("/object")


def body_of(store: Store, address: str) -> dict[str, Any]:
    return store.read(address.removeprefix("/cases/"), "case").body


@pytest.mark.parametrize("demo", DEMOS)
def test_a_section_sent_as_it_stands_changes_nothing(
    demo: str, client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    document = keep(demo)
    for step in SECTIONS:
        path = f"/cases/{document.id}/{step}"
        answer = send(client, path, form_of(client, path))
        assert answer.status_code == 200
    now = store.read(document.id)
    assert now.body == document.body
    assert now.version == 1


def test_every_field_of_the_format_can_be_entered(
    client: TestClient, begun: str, store: Store, adviser: Adviser
) -> None:
    parts = {
        "parts.0.name": "bodice",
        "parts.0.materials.0.material": "tulle",
        "parts.0.materials.0.identified": "certain",
        "parts.0.materials.0.note": "by burning",
        "parts.0.lies_flat": "yes",
        "parts.0.bears_needle": "not-applicable",
        "parts.0.note": "two lines\nof note",
    }
    send(client, f"{begun}/parts", form_of(client, f"{begun}/parts"), **parts)
    damage = {
        "damages.0.damage": "hard fold",
        "damages.0.parts[]": ["", "bodice"],
        "damages.0.extent.value": "12,5",
        "damages.0.extent.unit": "cm",
        "damages.0.severity": "slight",
        "damages.0.evidence": "no",
    }
    send(client, f"{begun}/damages", form_of(client, f"{begun}/damages"), **damage)
    test = {
        "tests.0.test": "water spot test",
        "tests.0.part": "bodice",
        "tests.0.material": "tulle",
        "tests.0.result": "good",
        "tests.0.date": "2026-11-20",
        "tests.0.by": "A. B.",
    }
    send(client, f"{begun}/tests", form_of(client, f"{begun}/tests"), **test)
    aim = {
        "significance.statement": "worn at the dance",
        "significance.keep": "the hem\n\nthe stain",
        "significance.curator_agrees": "yes",
        "aim.purpose": "display",
        "aim.mounting": "flat",
        "aim.degrees_from_vertical": "90",
        "aim.months_is": "not-applicable",
        "aim.lux": "50",
        "means.hours": "7.5",
        "means.equipment.0": "Heated spatula",
        "means.equipment.1": "my own lamp",
    }
    fields = form_of(client, f"{begun}/aim")
    answer = send(client, f"{begun}/aim", fields | aim)
    assert "can't be read" not in answer.text
    body = body_of(store, begun)
    assert body["parts"] == [
        {
            "id": "bodice",
            "name": "bodice",
            "lies_flat": "yes",
            "bears_needle": "not-applicable",
            "note": "two lines\nof note",
            "materials": [
                {"material": "material:net", "identified": "certain", "note": "by burning"}
            ],
        }
    ]
    assert body["damages"] == [
        {
            "id": "crease-bodice",
            "damage": "damage:crease",
            "parts": ["bodice"],
            "extent": {"value": 12.5, "unit": "cm"},
            "severity": "slight",
            "evidence": "no",
        }
    ]
    assert body["tests"][0]["test"] == "test:colourfastness-water"
    assert "agent" not in body["tests"][0]
    assert body["significance"]["keep"] == ["the hem", "the stain"]
    assert body["aim"] == {
        "purpose": "display",
        "mounting": "flat",
        "degrees_from_vertical": 90,
        "months": "not-applicable",
        "lux": 50,
    }
    assert body["means"] == {"hours": 7.5, "equipment": ["heated-spatula", "my own lamp"]}
    case = case_from_data(body, adviser.knowledge)
    assert case.aim.hours_per_day == "unknown"


WRONG = {
    "object": {
        "title": "x" * 201,
        "object.made_from": "about 1920",
        "record.date": "2026-02-31",
        "object.identifier": "n" * 201,
    },
    "parts": {
        "parts.0.name": "y" * 201,
        "parts.0.materials.0.material": "silck",
        "parts.0.id": "Not A Slug",
    },
    "damages": {"damages.0.damage": "creese", "damages.0.extent.value": "a hand"},
    "tests": {
        "tests.0.test": "water spott test",
        "tests.0.material": "zzzz",
        "tests.0.agent": "watr",
        "tests.0.date": "yesterday",
    },
    "aim": {
        "aim.lux": "bright",
        "aim.months": "-3",
        "means.hours": "a few",
        "aim.days_per_year": "400",
    },
}


@pytest.mark.parametrize("step", WRONG)
def test_what_cannot_be_read_is_kept_as_typed_and_told_beside_its_field(
    step: str, client: TestClient, begun: str
) -> None:
    path = f"{begun}/{step}"
    answer = send(client, path, form_of(client, path) | WRONG[step])
    assert answer.status_code == 200
    page = read_form(answer.text, path)
    kept = dict(page.fields)
    described = {
        a.get("name"): a.get("aria-describedby", "")
        for tag, a in page.tags
        if tag in ("input", "textarea", "select") and a.get("aria-invalid") == "true"
    }
    for name, typed in WRONG[step].items():
        assert kept[name] == typed
        assert f"{name}-error" in page.ids, name
        assert f"{name}-error" in described[name]
    assert described.keys() == WRONG[step].keys()
    assert len(page.ids) == len(set(page.ids))


def test_what_nobody_has_filled_in_is_missing_and_no_error(client: TestClient, begun: str) -> None:
    for step in SECTIONS:
        page = client.get(f"{begun}/{step}").text
        assert 'class="error"' not in page
    overview = client.get(begun).text
    assert "Needed: " in overview
    assert 'class="error"' not in overview


@pytest.mark.parametrize("step", list(SECTIONS))
def test_hostile_text_in_every_field_is_shown_as_text(
    step: str, client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("festival-dancer")
    path = f"/cases/{document.id}/{step}"
    fields = form_of(client, path)
    plain = {
        name: [*value, HOSTILE] if isinstance(value, list) else HOSTILE
        for name, value in fields.items()
        if (
            name not in ("form_token", "version")
            and not name.endswith(("_row", "parts[]", "materials[]"))
        )
        or name.endswith(".parts[]")
    }
    assert send(client, path, fields | plain).status_code == 200
    assert store.read(document.id).version == 2
    for where in (step, "", "history", "history/2", "parts", "damages", "tests"):
        answer = client.get(f"/cases/{document.id}/{where}".rstrip("/"))
        assert answer.status_code == 200
        assert "<script>alert" not in answer.text
        assert "<img src=x" not in answer.text
        assert "1235234" not in answer.text
    again = form_of(client, path)
    text = {name: again[name] for name in plain if isinstance(plain[name], str) and name in again}
    assert HOSTILE in text.values()


def test_unknown_is_one_tap_and_wins_over_the_figure_that_still_stands_there(
    client: TestClient, begun: str, store: Store
) -> None:
    path = f"{begun}/aim"
    send(client, path, form_of(client, path), **{"aim.lux": "50"})
    assert body_of(store, begun)["aim"]["lux"] == 50
    send(client, path, form_of(client, path), **{"aim.lux_is": "unknown"})
    assert body_of(store, begun)["aim"]["lux"] == "unknown"
    fields = form_of(client, path)
    assert fields["aim.lux"] == ""
    assert fields["aim.lux_is"] == "unknown"
    send(client, path, fields, **{"aim.lux": "80"})
    assert body_of(store, begun)["aim"]["lux"] == 80


def test_no_equipment_is_something_else_than_unknown_equipment(
    client: TestClient, begun: str, store: Store
) -> None:
    path = f"{begun}/aim"
    send(client, path, form_of(client, path), **{"means.equipment_is": "listed"})
    assert body_of(store, begun)["means"]["equipment"] == []
    send(client, path, form_of(client, path), **{"means.equipment_is": "unknown"})
    assert body_of(store, begun)["means"]["equipment"] == "unknown"


def test_rows_are_added_moved_and_removed_without_scripts(
    client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("furnishing-panel")
    path = f"/cases/{document.id}/parts"
    names = [part["name"] for part in document.body["parts"]]

    def now() -> list[str]:
        return [row.get("name", "") for row in store.read(document.id).body["parts"]]

    send(client, path, form_of(client, path), add="parts")
    assert now() == [*names, ""]
    answer = send(client, path, form_of(client, path), **{f"parts.{len(names)}.name": "Fringe"})
    assert answer.status_code == 200
    assert store.read(document.id).body["parts"][-1]["id"] == "fringe"
    send(client, path, form_of(client, path), up=f"parts.{len(names)}")
    assert now() == [*names[:-1], "Fringe", names[-1]]
    send(client, path, form_of(client, path), remove=f"parts.{len(names) - 1}")
    assert now() == names
    send(client, path, form_of(client, path), add="parts.0.materials")
    materials = store.read(document.id).body["parts"][0]["materials"]
    assert materials == [*document.body["parts"][0]["materials"], {}]
    send(client, path, form_of(client, path), remove=f"parts.0.materials.{len(materials) - 1}")
    assert store.read(document.id).body == document.body


def test_adding_beside_the_empty_row_shows_two(client: TestClient, begun: str) -> None:
    send(client, f"{begun}/damages", form_of(client, f"{begun}/damages"), add="damages")
    assert "damages.1.damage" in form_of(client, f"{begun}/damages")


@pytest.mark.parametrize("way", ["add", "remove", "up", "down"])
@pytest.mark.parametrize("what", ["", "parts.9", "parts.9.materials", "x", "tests", "parts.0.x.1"])
def test_a_row_that_is_not_there_changes_nothing(
    way: str, what: str, client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    document = keep("furnishing-panel")
    path = f"/cases/{document.id}/parts"
    answer = send(client, path, form_of(client, path), **{way: what})
    assert answer.status_code == 200
    parts = store.read(document.id).body["parts"]
    assert parts[: len(document.body["parts"])] == document.body["parts"]


def test_a_short_name_stays_when_the_name_changes_and_takes_its_mentions_along_when_it_changes(
    client: TestClient, keep: Callable[..., Document], store: Store, adviser: Adviser
) -> None:
    document = keep("festival-dancer")
    path = f"/cases/{document.id}/parts"
    send(client, path, form_of(client, path), **{"parts.0.name": "uppermost tier"})
    assert store.read(document.id).body["parts"][0]["id"] == "top-tier"
    send(client, path, form_of(client, path), **{"parts.0.id": "first-tier"})
    body = store.read(document.id).body
    case = case_from_data(body, adviser.knowledge)  # every mention fits
    assert "first-tier" in {part.id for part in case.parts}
    assert "top-tier" not in str(body["contacts"])


def test_what_the_format_does_not_know_stays_in_the_draft(
    client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    body = deepcopy(keep("furnishing-panel").body)
    body["parts"][0]["colour"] = "madder red"
    body["parts"][0]["materials"][0]["lot"] = {"number": 3}
    document = keep(body)
    path = f"/cases/{document.id}/parts"
    page = client.get(path).text
    assert "The format has no such field." in page
    send(client, path, form_of(client, path), **{"parts.0.note": "seen"})
    kept = store.read(document.id).body["parts"][0]
    assert kept["colour"] == "madder red"
    assert kept["materials"][0]["lot"] == {"number": 3}


@pytest.mark.parametrize(
    "body",
    [
        {"title": 5, "parts": "x", "object": [], "aim": None, "damages": [1, None, {"parts": 3}]},
        {"parts": [{"materials": {"a": 1}, "lies_flat": {"x": []}, "id": 7, "name": None}]},
        {"damages": [{"extent": [], "parts": [{}]}], "tests": {"a": 1}, "means": {"equipment": 4}},
        {"aim": {"lux": True, "months": [1]}, "significance": {"keep": "one"}, "contacts": [[]]},
        {},
    ],
)
def test_a_draft_may_hold_anything_and_every_page_can_show_it(
    body: dict[str, Any], client: TestClient, store: Store
) -> None:
    document = store.create("case", body, who="me", what="imported", title="odd")
    for step in ("", "/history", "/record.json", "/record.yaml", *(f"/{s}" for s in SECTIONS)):
        assert client.get(f"/cases/{document.id}{step}").status_code == 200, step
    for step in SECTIONS:
        path = f"/cases/{document.id}/{step}"
        assert send(client, path, form_of(client, path)).status_code == 200


def test_a_form_without_its_token_or_version_is_refused(client: TestClient, begun: str) -> None:
    fields = form_of(client, f"{begun}/object")
    assert send(client, f"{begun}/object", fields, form_token="x" * 43).status_code == 403
    for version in ("", "x", "-1", "9" * 30):
        assert send(client, f"{begun}/object", fields, version=version).status_code == 422
    assert send(client, f"{begun}/object", fields, version="99").status_code == 404


def test_a_form_leads_on_only_within_this_place(client: TestClient, begun: str) -> None:
    fields = form_of(client, f"{begun}/object")
    for wanted, there in (
        (f"{begun}/parts", f"{begun}/parts"),
        ("https://elsewhere.example/", f"{begun}/object"),
        ("//elsewhere.example/", f"{begun}/object"),
        ("/\\elsewhere.example/", f"{begun}/object"),
    ):
        answer = client.post(
            f"{begun}/object", data=fields | {"next": wanted}, follow_redirects=False
        )
        assert answer.status_code == 303
        assert answer.headers["location"] == there


def test_a_script_gets_version_time_and_errors_by_field(client: TestClient, begun: str) -> None:
    path = f"{begun}/aim"
    answer = client.post(
        path,
        data=form_of(client, path) | {"aim.lux": "bright"},
        headers={"accept": "application/json"},
    )
    said = answer.json()
    assert answer.status_code == 200
    assert said["version"] == 2
    assert said["errors"].keys() == {"aim.lux"}
    assert said["left"] > 0
    assert said["saved_at"].startswith("20")
    assert (said["together"], said["anew"]) == ("", False)


def test_a_material_without_an_entry_becomes_unidentified_and_keeps_its_word(
    client: TestClient, begun: str, store: Store
) -> None:
    where = f"{begun}/parts"
    fields = form_of(client, where) | {
        "parts.0.name": "sticks",
        "parts.0.materials.0.material": "meerschaum",
        "parts.0.materials.0.note": "outer two",
    }
    page = send(client, where, fields).text
    assert "where none fits, unidentified material" in page
    assert 'name="unidentified" value="parts.0.materials.0"' in page
    for step in ("contacts", "aim"):
        assert "1 can't be read" in client.get(f"{begun}/{step}").text
    for step in ("options", "plan"):
        needed = client.get(f"{begun}/{step}").text
        assert "meerschaum" in needed
        assert f'href="{begun}/parts"' in needed

    send(client, where, form_of(client, where), unidentified="parts.0.materials.0")

    (material,) = store.read(begun.rpartition("/")[2]).body["parts"][0]["materials"]
    assert material["material"] == "material:unidentified"
    assert material["identified"] == "unknown"
    assert material["note"] == "meerschaum; outer two"
    assert "can't be read" not in client.get(f"{begun}/contacts").text


@pytest.mark.parametrize("row", ["parts.9.materials.0", "parts.0.materials.9", "tests.0", "x"])
def test_a_material_that_is_not_there_is_not_turned_into_another(
    row: str, client: TestClient, begun: str, store: Store
) -> None:
    where = f"{begun}/parts"
    fields = form_of(client, where) | {"parts.0.materials.0.material": "silk"}
    assert send(client, where, fields, unidentified=row).status_code == 200
    assert (
        store.read(begun.rpartition("/")[2]).body["parts"][0]["materials"][0]["material"]
        == "material:silk"
    )


def test_a_record_that_is_not_complete_is_not_offered_to_be_frozen(
    client: TestClient, begun: str
) -> None:
    page = client.get(f"{begun}/review").text
    assert "not complete enough to be frozen" in page
    assert "Freeze for review" not in page
    assert f'href="{begun}/parts"' in page


def test_what_was_removed_can_be_brought_back_for_a_minute(
    client: TestClient, keep: Callable[..., Document], store: Store
) -> None:
    case = keep()
    address = f"/cases/{case.id}/damages"
    assert "Undo" not in client.get(address).text
    send(client, address, form_of(client, address), remove="damages.1")
    page = client.get(address).text
    assert len(store.read(case.id, "case").body["damages"]) == 2
    assert "Undo</button>" in page
    form = read_form(page, f"/cases/{case.id}/history/1")
    back = client.post(
        f"/cases/{case.id}/history/1", data=dict(form.fields), follow_redirects=False
    )
    assert back.headers["location"] == address
    assert len(store.read(case.id, "case").body["damages"]) == 3
    assert "Undo" not in client.get(address).text
