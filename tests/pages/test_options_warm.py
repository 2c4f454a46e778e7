"""The answer is made ready after a save, in the background, and nothing depends on it."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.pages import warm
from leastwise.api.pages import warmer as warmer_module
from leastwise.api.pages.options import options
from leastwise.api.store import Document
from leastwise.graph.answer import Answer
from leastwise.graph.weighing.advise import Adviser
from tests.pages.conftest import form_token

Keep = Callable[..., Document]


class Counting:
    """Counts how often a case is weighed, and can make that slow."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, slow: float = 0.0) -> None:
        self.times = 0
        true = Adviser.weigh

        def weigh(adviser: Adviser, case: Any) -> Answer:
            self.times += 1
            time.sleep(slow)
            return true(adviser, case)

        monkeypatch.setattr(Adviser, "weigh", weigh)


@pytest.mark.usefixtures("empty_shelf")
def test_after_a_save_the_page_finds_the_answer_made(
    app: Any, client: TestClient, keep: Keep, monkeypatch: pytest.MonkeyPatch
) -> None:
    counting = Counting(monkeypatch)
    warmer = warm.start_warming(app, rest=0.0)
    kept = keep()
    token = form_token(client)
    answer = client.post(
        f"/cases/{kept.id}/rename",
        data={"form_token": token, "version": kept.version, "title": "Another title"},
        follow_redirects=False,
    )
    assert answer.status_code == 303, answer.text
    assert warmer.idle(60)
    assert counting.times == 1
    assert "Another title" in client.get(f"/cases/{kept.id}/options?wait=true").text
    assert counting.times == 1
    assert "of weightings" in client.get(f"/cases/{kept.id}/options").text


def test_saves_in_a_row_are_weighed_once_and_too_many_cases_are_let_go() -> None:
    done: list[str] = []
    going, begun = threading.Event(), threading.Event()

    def work(case: str) -> None:
        begun.set()
        going.wait(30)
        done.append(case)

    warmer = warm.Warmer(work, rest=0.0)
    warmer.tell("first")
    assert begun.wait(30)
    for _ in range(5):
        warmer.tell("again")
    for number in range(warmer_module.MOST_WAITING):
        warmer.tell(f"case {number}")
    assert not warmer.idle(0.05)
    going.set()
    assert warmer.idle(30)
    assert done == ["first", *(f"case {n}" for n in range(warmer_module.MOST_WAITING))]


def test_a_failure_is_logged_and_the_next_case_is_weighed(
    caplog: pytest.LogCaptureFixture,
) -> None:
    done = []

    def work(case: str) -> None:
        if case == "bad":
            raise ZeroDivisionError
        done.append(case)

    with caplog.at_level(logging.ERROR, "leastwise.pages"):
        warmer = warm.Warmer(work, rest=0.0)
        warmer.tell("bad")
        warmer.tell("good")
        assert warmer.idle(30)
    assert done == ["good"]
    assert "case bad could not be weighed" in caplog.text


@pytest.mark.usefixtures("empty_shelf")
def test_an_answer_that_is_not_ready_is_told_at_once_and_fetched(
    app: Any, client: TestClient, keep: Keep, monkeypatch: pytest.MonkeyPatch
) -> None:
    counting = Counting(monkeypatch, slow=1.0)
    monkeypatch.setattr(options, "PATIENCE_S", 0.02)
    warm.start_warming(app)
    path = f"/cases/{keep().id}/options"
    soon = client.get(path)
    assert "is being weighed" in soon.text
    assert f'href="{path}?wait=true"' in soon.text
    whole = client.get(f"{path}?wait=true")
    assert "data-option" in whole.text
    assert counting.times == 1  # the second request waited for the work of the first
