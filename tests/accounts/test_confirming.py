"""Who makes a new way in shows again who it is, unless the sign-in was a short while ago."""

from __future__ import annotations

from typing import Any

import pytest

from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from tests.accounts.people import PASSWORD, Clock, enrol, send, signed_in

TOKEN = {"label": "nightly", "scopes": "USE", "lasts": "30"}
ASKED = "your last sign-in is a while ago"


@pytest.fixture
def later(app: Any, store: Store, clock: Clock) -> Any:
    """Return the browser of an administrator who signed in twenty minutes ago."""
    enrol(store, "anna", "administrator")
    enrol(store, "ben", "reader")
    browser = signed_in(app, "anna")
    clock.on(minutes=20)
    return browser


def test_a_token_takes_the_password_again_after_a_while(later: Any, store: Store) -> None:
    accounts = AccountStore(store)
    bare = send(later, "/account/tokens", **TOKEN)
    wrong = send(later, "/account/tokens", **TOKEN, confirm="another")
    assert (bare.status_code, wrong.status_code) == (422, 422)
    assert ASKED in bare.text
    assert "This is not your password." in wrong.text
    assert accounts.tokens("anna") == []

    assert send(later, "/account/tokens", **TOKEN, confirm=PASSWORD).status_code == 200
    assert len(accounts.tokens("anna")) == 1


def test_a_role_an_account_and_a_link_take_it_too(later: Any, store: Store) -> None:
    accounts = AccountStore(store)
    role = {"full_name": "Ben", "role": "administrator", "cohort": ""}
    new = {"name": "cleo", "full_name": "Cleo", "role": "administrator", "cohort": ""}
    for path, fields in (("/accounts/ben", role), ("/accounts", new), ("/accounts/ben/link", {})):
        refused = send(later, path, page="/accounts", **fields)
        assert refused.status_code == 422, path
        assert ASKED in refused.text, path
    ben = accounts.account("ben")
    assert ben is not None
    assert ben.role == "reader"
    assert accounts.account("cleo") is None

    name_alone = role | {"role": "reader", "full_name": "Benno"}
    assert send(later, "/accounts/ben", page="/accounts", **name_alone).status_code == 303
    for path, fields in (("/accounts/ben", role), ("/accounts", new), ("/accounts/ben/link", {})):
        done = send(later, path, page="/accounts", **fields, confirm=PASSWORD)
        assert done.status_code in (200, 303), path


def test_guesses_there_are_counted_as_at_the_door(later: Any) -> None:
    told = [send(later, "/account/tokens", **TOKEN, confirm=f"guess {n}").text for n in range(7)]

    assert "Too many attempts did not succeed" in told[-1]


def test_a_new_password_and_the_end_of_tokens_are_one_event(later: Any, store: Store) -> None:
    accounts = AccountStore(store)
    send(later, "/account/tokens", **TOKEN, confirm=PASSWORD)
    new = "nine thimbles under the stairs"
    done = send(later, "/account/password", old=PASSWORD, password=new, again=new, revoke="yes")

    assert done.status_code == 303
    assert accounts.tokens("anna") == []
    whats = [one.what for one in accounts.events("anna")]
    assert "password set; 1 tokens revoked" in whats
    assert not any(one.startswith("token revoked") for one in whats)
