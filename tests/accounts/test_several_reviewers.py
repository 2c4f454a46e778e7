"""Several reviewers of one version: nobody's no is outvoted, and nobody signs in another's name."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.api.services.reviewing import DECISIONS, gravest, reviews_of
from leastwise.api.store import Store
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from tests.accounts.people import enrol, send, signed_in


@pytest.fixture
def version(app: Any, store: Store, adviser: Adviser) -> str:
    """Anna freezes the dancer's proposal and shares it with two reviewers; return its path."""
    enrol(store, "anna")
    enrol(store, "rob", "reviewer")
    enrol(store, "ben", "reviewer")
    body = read_demo("festival-dancer", adviser.knowledge).model_dump(mode="json")
    case = store.create("case", body, who="anna", what="begun", title=body["title"])
    for reviewer in ("rob", "ben"):
        store.share(case.id, reviewer, "review", who="anna")
    anna = signed_in(app, "anna")
    assert send(anna, f"/cases/{case.id}/review", note="").status_code == 303
    return f"/cases/{case.id}/review/1"


def _decide(app: Any, who: str, version: str, decision: str) -> None:
    app.state.store._clock.on(minutes=1)  # what was said first is known by its time
    done = send(
        signed_in(app, who), f"{version}/decision", decision=decision, text=f"{who} says why"
    )
    assert done.status_code == 303


def _state(store: Store, version: str) -> str:
    (review,) = reviews_of(store, version.split("/")[2])
    return review.state


def test_a_no_stands_whoever_agrees_later_until_its_reviewer_changes_it(
    app: Any, store: Store, version: str
) -> None:
    _decide(app, "rob", version, "not-agreed")
    _decide(app, "ben", version, "agreed")
    assert _state(store, version) == "not-agreed"
    assert (
        send(
            signed_in(app, "ben"), f"{version}/signature", text="Ben", sha256=_hash(store, version)
        ).status_code
        == 409
    )
    _decide(app, "rob", version, "agreed-with-changes")
    assert _state(store, version) == "agreed-with-changes"
    _decide(app, "rob", version, "agreed")
    assert _state(store, version) == "agreed"


def _hash(store: Store, version: str) -> str:
    (review,) = reviews_of(store, version.split("/")[2])
    return review.frozen.sha256


def test_a_signature_carries_the_name_of_the_account_that_gave_it(
    app: Any, store: Store, version: str
) -> None:
    _decide(app, "rob", version, "agreed")
    ben = signed_in(app, "ben")
    signed = send(ben, f"{version}/signature", text="Prof. Rob", sha256=_hash(store, version))
    assert signed.status_code == 303
    page = ben.get(version).text
    assert "Ben (Prof. Rob)" in page


@given(st.lists(st.sampled_from(list(DECISIONS))))
def test_what_several_decisions_come_to_does_not_depend_on_their_order(said: list[str]) -> None:
    assert gravest(said) == gravest(reversed(said))
    assert gravest([*said, "not-agreed"]) == "not-agreed"
    if said and set(said) == {"agreed"}:
        assert gravest(said) == "agreed"


def test_who_reviews_is_told_so_and_is_not_offered_to_withdraw(
    app: Any, store: Store, version: str
) -> None:
    enrol(store, "rita", "reader")
    store.share(version.split("/")[2], "rita", "read", who="anna")
    told = {name: signed_in(app, name).get(version).text for name in ("anna", "rob", "rita")}
    assert "You can read and review this case" in told["rob"]
    assert "You can read this case, but not change it" in told["rita"]
    assert 'role="status">You can' not in told["anna"]
    assert [name for name, text in told.items() if f'action="{version}/withdraw"' in text] == [
        "anna"
    ]
