"""Search as you type."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from leastwise.api.pages.entry_find import KINDS, MOST, names_in
from leastwise.graph import Adviser
from leastwise.graph.case_io import find_concept


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
