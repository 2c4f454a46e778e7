"""Search as you type."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from leastwise.api.pages.entry.find import KINDS, MOST, names_in
from leastwise.graph import Adviser
from leastwise.graph.case.reading import find_concept


def labels(kind: str, asked: str, adviser: Adviser) -> list[str]:
    return [one.label for one in names_in(kind, adviser.knowledge).find(asked)[0]]


def test_the_very_name_comes_first_then_what_begins_so(adviser: Adviser) -> None:
    found = labels("material", "silk", adviser)
    assert found[0] == "silk"
    assert len(found) > 1


def test_a_synonym_finds_its_concept_and_is_named(adviser: Adviser) -> None:
    found, _ = names_in("material", adviser.knowledge).find("tulle")
    assert (found[0].id, found[0].matched) == ("material:net", "tulle")


def test_a_name_that_is_spelled_nearly_so_is_found(adviser: Adviser) -> None:
    assert "wool" in labels("material", "woool", adviser)
    assert labels("test", "colorfastnes to watr", adviser)


def test_nothing_like_a_name_finds_nothing(adviser: Adviser) -> None:
    assert names_in("agent", adviser.knowledge).find("qqxxzz") == ([], 0)


@pytest.mark.parametrize("kind", ["material", "damage", "test", "agent"])
def test_whatever_is_chosen_is_what_the_record_understands(kind: str, adviser: Adviser) -> None:
    for one in names_in(kind, adviser.knowledge).things:
        assert find_concept(one.label, kind, adviser.knowledge) == one.id


@pytest.mark.parametrize("kind", list(KINDS))
def test_without_letters_the_kind_is_listed_from_a(kind: str, client: TestClient) -> None:
    said = client.get("/find", params={"kind": kind}).json()
    names = [one["label"].casefold() for one in said["matches"]]
    assert names == sorted(names)
    assert len(names) == min(MOST, said["total"])


@pytest.mark.parametrize("asked", ["<b>", "%", "\x00", "*" * 300, "é", "))((", "\\", "' or 1=1"])
def test_any_letters_give_an_answer(asked: str, client: TestClient) -> None:
    assert client.get("/find", params={"kind": "damage", "q": asked}).status_code == 200


def test_an_unknown_kind_is_refused_with_those_there_are(client: TestClient) -> None:
    answer = client.get("/find", params={"kind": "x"}, headers={"accept": "application/json"})
    assert answer.status_code == 422
    assert "material, damage, test" in answer.json()["detail"]


@pytest.mark.parametrize("asked", ["porcelain", "amber", "meerschaum", "zinc"])
def test_what_has_no_entry_is_not_taken_for_something_that_only_sounds_alike(
    asked: str, client: TestClient
) -> None:
    said = client.get("/find", params={"kind": "material", "q": asked}).json()
    assert [one for one in said["matches"] if one["near"]] == []
    assert said["other"]["id"] == "material:unidentified"


def test_a_guess_is_marked_and_a_find_is_not(client: TestClient) -> None:
    guesses = client.get("/find", params={"kind": "material", "q": "slik"}).json()["matches"]
    assert "silk" in [one["label"] for one in guesses]
    assert all(one["near"] for one in guesses)
    found = client.get("/find", params={"kind": "material", "q": "silk"}).json()
    assert not any(one["near"] for one in found["matches"])
    assert found["other"] is None


def test_one_letter_finds_only_what_begins_with_it(adviser: Adviser) -> None:
    for one in names_in("material", adviser.knowledge).find("x", most=999)[0]:
        said = f" {one.matched or one.label} {one.label} {one.id.partition(':')[2]}".casefold()
        assert any(word.startswith("x") for word in said.replace("(", " ").split())


def test_a_name_in_another_language_of_the_knowledge_finds_its_concept(adviser: Adviser) -> None:
    label = next(
        text
        for text in adviser.knowledge.objects("damage:crease", "skos:prefLabel")
        if text.endswith("@de")
    )
    word = label[1:].partition('"')[0]
    assert names_in("damage", adviser.knowledge).find(word)[0][0].id == "damage:crease"


@pytest.mark.parametrize("kind", ["damage", "test", "need"])
def test_what_has_no_name_may_be_entered_as_of_another_kind(kind: str, client: TestClient) -> None:
    found = client.get("/find", params={"kind": kind, "q": "zqxv"}).json()

    assert found["matches"] == []
    assert found["other"]["id"] == f"{kind}:other"


def test_what_a_test_showed_is_found_among_materials_and_damage(client: TestClient) -> None:
    def first(asked: str) -> list[str]:
        found = client.get("/find", params={"kind": "finding", "q": asked}).json()
        return [one["id"] for one in found["matches"][:3]]

    assert "material:silk" in first("silk")
    assert "damage:soot" in first("soot")
