"""Somebody who may read a case is told that changes can't be kept, before typing them."""

from __future__ import annotations

from typing import Any

import pytest

from leastwise.api.store import Store
from tests.accounts.people import enrol, signed_in

READS, REVIEWS = "You can read this case, but not change it.", "You can read and review this case"


@pytest.mark.parametrize(("right", "told"), [("read", READS), ("review", REVIEWS), ("write", "")])
def test_the_pages_say_what_a_right_allows(app: Any, store: Store, right: str, told: str) -> None:
    enrol(store, "anna")
    enrol(store, "ben", "reviewer")
    case = store.create("case", {"title": "Fan"}, who="anna", what="begun", title="Fan").id
    store.share(case, "ben", right, who="anna")
    page = f"/cases/{case}/object"
    said = signed_in(app, "ben").get(page).text
    assert [one for one in (READS, REVIEWS) if one in said] == ([told] if told else [])
    own = signed_in(app, "anna").get(page).text
    assert READS not in own
    assert REVIEWS not in own
