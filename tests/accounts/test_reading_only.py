"""Somebody who may read a case is told that changes can't be kept, before typing them."""

from __future__ import annotations

from typing import Any

import pytest

from leastwise.api.store import Store
from tests.accounts.people import enrol, signed_in

SAID = "You can read this case, but not change it."


@pytest.mark.parametrize(("right", "told"), [("read", True), ("review", True), ("write", False)])
def test_the_pages_say_what_a_right_allows(app: Any, store: Store, right: str, told: bool) -> None:
    enrol(store, "anna")
    enrol(store, "ben", "reviewer")
    case = store.create("case", {"title": "Fan"}, who="anna", what="begun", title="Fan").id
    store.share(case, "ben", right, who="anna")
    page = f"/cases/{case}/object"
    assert (SAID in signed_in(app, "ben").get(page).text) is told
    assert SAID not in signed_in(app, "anna").get(page).text
