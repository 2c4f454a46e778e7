"""Questions handed in at the desk: the same words as without it, limits told, answers kept."""

from __future__ import annotations

import gzip
import json
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.app import create_app
from leastwise.api.asking.asked import QUESTIONS, Asked
from leastwise.api.asking.desk import EACH, Desk, Refused, desk_of
from leastwise.api.asking.kept import Kept, digest_of
from leastwise.api.processes.pool import Ticket
from leastwise.api.settings import Settings
from leastwise.graph import Adviser, Case
from leastwise.graph.case.demo import read_demo


@pytest.fixture(scope="module")
def settings(cache: Path) -> Settings:
    return Settings(cache=cache, workers=1, work_seconds=120)


@pytest.fixture(scope="module")
def desk(adviser: Adviser, settings: Settings) -> Iterator[Desk]:
    with_worker = Desk(adviser, settings)
    yield with_worker
    with_worker.close()


@pytest.fixture(scope="module")
def door(adviser: Adviser, settings: Settings) -> Iterator[TestClient]:
    app = create_app(adviser, settings)
    with TestClient(app, base_url="http://127.0.0.1") as client:
        yield client
    desk_of(app).close()


@pytest.fixture
def record(make_case: Callable[..., Case]) -> dict[str, Any]:
    return make_case().model_dump(mode="json", exclude_defaults=True)


GIVEN: dict[str, dict[str, Any]] = {
    "why": {"why": "crushed/membrane-pack-suspended", "over": "crushed/steam"},
    "what-would-change": {"option": "crushed/steam", "most_runs": 20},
    "shares": {"draws": 200, "seed": 1},
    "scores": {"option": "crushed/steam"},
    "arguments": {"option": "crushed/steam", "preferred": True},
    "drawing": {"option": "crushed/steam"},
    "plan": {"undecided": True},
    "path": {"most_tests": 1},
    "export": {"as": "crm", "form": "turtle", "base": "https://leastwise.example/"},
}


@pytest.mark.slow
@pytest.mark.parametrize("question", QUESTIONS)
def test_a_worker_says_word_for_word_what_this_process_says(
    question: str, desk: Desk, adviser: Adviser, record: dict[str, Any]
) -> None:
    asked = Asked(question, json.dumps(record), is_json=True, given=GIVEN.get(question, {}))
    here = Desk(adviser, Settings(cache=None)).answer(asked, "", Ticket())

    assert desk.answer(asked, "", Ticket()) == here


def test_a_fault_of_the_record_comes_back_with_its_field(door: TestClient) -> None:
    answer = door.post("/options", json={"leastwise_case": 2, "title": 7})

    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    assert {"id", "title"} <= {one["path"] for one in answer.json()["errors"]}


def test_an_answer_is_kept_and_named_and_packed(door: TestClient, record: dict[str, Any]) -> None:
    plain = door.post("/options", json=record, headers={"accept-encoding": "identity"})
    other = door.post("/options", json=record | {"title": "another"})
    with door.stream("POST", "/options", json=record, headers={"accept-encoding": "gzip"}) as sent:
        packed = b"".join(sent.iter_raw())

    assert plain.headers["etag"] == sent.headers["etag"] != other.headers["etag"]
    assert sent.headers["content-encoding"] == "gzip"
    assert gzip.decompress(packed) == plain.content
    assert len(packed) < len(plain.content) / 4


def test_a_question_that_takes_too_long_is_ended(
    adviser: Adviser, settings: Settings, record: dict[str, Any]
) -> None:
    app = create_app(adviser, settings)
    with TestClient(app, base_url="http://127.0.0.1") as door:
        assert door.post("/options", json=record).status_code == 200
        hurried = desk_of(app).pool
        assert hurried is not None
        object.__setattr__(hurried.limits, "seconds", 0.001)
        answer = door.post("/options", json=record | {"title": "another"})
        object.__setattr__(hurried.limits, "seconds", 120.0)
        again = door.post("/options", json=record | {"title": "another"})
        desk_of(app).close()
        closed = door.post("/options", json=record | {"title": "a third"})

    assert answer.status_code == 504
    assert "LEASTWISE_WORK_SECONDS" in answer.json()["detail"]
    assert again.status_code == 200
    assert closed.status_code == 503
    assert int(closed.headers["retry-after"]) > 0


def test_a_worker_over_other_knowledge_answers_nothing(
    adviser: Adviser, settings: Settings, record: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = Desk(adviser, settings)
    monkeypatch.setattr("leastwise.api.asking.desk.digests_of", lambda _: ["another", "knowledge"])
    try:
        with pytest.raises(Refused, match="start it again"):
            desk.answer(Asked("weigh", json.dumps(record), is_json=True), "", Ticket())
    finally:
        desk.close()


def test_the_same_question_is_worked_out_once(
    adviser: Adviser, record: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    desk, worked, go = Desk(adviser, Settings(cache=None)), [], threading.Event()

    def slowly(_: Adviser, asked: Asked) -> str:
        worked.append(asked)
        go.wait(20)
        return "an answer"

    monkeypatch.setattr("leastwise.api.asking.desk.answer", slowly)
    asked, came = Asked("weigh", json.dumps(record), is_json=True), []
    crowd = [
        threading.Thread(target=lambda: came.append(desk.answer(asked, "", Ticket())))
        for _ in range(5)
    ]
    for one in crowd:
        one.start()
    go.set()
    for one in crowd:
        one.join()

    assert came == [b"an answer"] * 5
    assert len(worked) == 1


def test_one_person_does_not_fill_the_queue_alone(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(desk._asking, "somebody", EACH)
    asked = Asked("weigh", "{}", is_json=True)

    with pytest.raises(Refused) as refused:
        desk.answer(asked, "somebody", Ticket())
    assert refused.value.told.status == 429
    with pytest.raises(Refused) as refused:
        desk.answer(asked, "somebody else", Ticket())
    assert refused.value.told.status == 422


def test_what_is_kept_has_an_end() -> None:
    kept = Kept(most=100)
    for number in range(10):
        kept.keep(str(number), b"x" * 30)
    kept.get("7")
    kept.keep("large", b"x" * 101)
    kept.keep("new", b"x" * 40)

    assert kept.held <= 100
    there = [name for name in (*map(str, range(10)), "large", "new") if kept.get(name)]
    assert there == ["7", "9", "new"]  # 8 went: 7 was asked for after it


def test_every_difference_gives_another_name() -> None:
    first = Asked("weigh", "{}", is_json=True)
    names = {
        digest_of(first, "k"),
        digest_of(first, "other knowledge"),
        digest_of(Asked("plan", "{}", is_json=True), "k"),
        digest_of(Asked("weigh", "{} ", is_json=True), "k"),
        digest_of(Asked("weigh", "{}", is_json=False), "k"),
        digest_of(Asked("weigh", "{}", is_json=True, policy="policy:least"), "k"),
        digest_of(Asked("weigh", "{}", is_json=True, given={"option": "crushed/steam"}), "k"),
    }

    assert len(names) == 7


def many(record: dict[str, Any], damages: int, parts: int) -> dict[str, Any]:
    """Return a record with so many damages, each of them on all parts."""
    one, part = record["damages"][0], record["parts"][0]
    ids = [f"part-{number}" for number in range(parts)]
    return record | {
        "parts": [part | {"id": name, "name": name} for name in ids],
        "damages": [one | {"id": f"d-{number}", "parts": ids} for number in range(damages)],
        "contacts": [],
        "tests": [],
    }


def test_a_case_of_too_many_damages_and_parts_is_refused_with_the_number(
    door: TestClient, record: dict[str, Any]
) -> None:
    whole = many(record, 51, 10)
    refused = door.post("/options", json=whole)
    first = door.post("/options/find-out-first", json=whole)
    alone = door.post("/options?damage=d-7", json=whole)
    unknown = door.post("/options?damage=d-99", json=whole)

    assert (refused.status_code, first.status_code) == (422, 422)
    assert refused.json()["errors"] == [
        {
            "path": "damages",
            "given": "51 damages and needs on 10 parts",
            "accepted": "at most 500 for damages and needs times parts over HTTP; ask for one at a "
            "time (POST /options?damage=ID), or use the command line, which takes more",
        }
    ]
    assert alone.status_code == 200
    assert alone.json()["damage"]["id"] == "d-7"
    assert len(alone.content) < 1_000_000
    assert unknown.status_code == 404


def test_a_damage_alone_is_answered_as_in_the_whole_answer(adviser: Adviser) -> None:
    case = read_demo("festival-dancer", adviser.knowledge)
    whole = adviser.weigh(case)
    for damage in whole.damages:
        alone = adviser.weigh_one(read_demo("festival-dancer", adviser.knowledge), damage.id)

        assert alone.damage == damage
        assert alone.claims.items() <= whole.claims.items()
        assert alone.sources.items() <= whole.sources.items()
        assert (alone.stamp, alone.policy, alone.case) == (whole.stamp, whole.policy, whole.case)
