"""Accounts for the tests: made without the slow hash, signed in without the form."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

from fastapi.testclient import TestClient

from leastwise.api.identity import signing_in
from leastwise.api.identity.passwords import hashed
from leastwise.api.identity.signing_in import Place
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore

PASSWORD = "seven bobbins on a shelf"  # noqa: S105 - of nobody
BASE = "http://127.0.0.1"


class Clock:
    """A clock that the test sets on."""

    def __init__(self) -> None:
        self.at = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at

    def on(self, **by: float) -> None:
        self.at += timedelta(**by)


@cache
def hash_once() -> str:
    return hashed(PASSWORD)


def enrol(store: Store, name: str, role: str = "contributor", cohort: str = "") -> AccountStore:
    accounts = AccountStore(store)
    made = accounts.add(
        name,
        full_name=name.title(),
        role=role,
        cohort=cohort,
        password=hash_once(),
        who="console",
    )
    assert made is not None
    return accounts


def stranger(app: Any, **headers: str) -> TestClient:
    """A browser without scripts that nobody has signed in with."""
    return TestClient(
        app, base_url=BASE, follow_redirects=False, headers={"accept": "text/html", **headers}
    )


def signed_in(app: Any, name: str, **headers: str) -> TestClient:
    """A browser in which an account is signed in already."""
    browser = stranger(app, **headers)
    secret = signing_in.begin(AccountStore(app.state.store), name, Place(), "test")
    browser.cookies.set("leastwise_session", secret, domain="127.0.0.1")
    return browser


def token_in(browser: TestClient, path: str = "/account") -> str:
    """Return the token of the forms on a page."""
    text = browser.get(path).text
    return text.partition('name="form-token" content="')[2].partition('"')[0]


def send(browser: TestClient, path: str, page: str = "/account", **fields: Any) -> Any:
    """Send a form of a page."""
    return browser.post(path, data={"form_token": token_in(browser, page), **fields})
