"""Signing in at the institution, against a service that runs here and can be told to lie."""

from __future__ import annotations

import base64
import hmac
import json
import time
from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from urllib.parse import parse_qs, urlsplit

import httpx
import pytest
from joserfc.jwk import RSAKey

from leastwise.api.app import create_app
from leastwise.api.settings import OidcSettings, Settings
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.graph import Adviser
from tests.accounts.people import BASE, enrol, send, signed_in, stranger
from tests.accounts.provider import CLIENT, SECRET, Service
from tests.apps import Apps
from tests.browser import served


@pytest.fixture(scope="module")
def running() -> Iterator[Service]:
    service = Service()
    with served(service.app) as address:
        service.issuer = address
        yield service


@pytest.fixture
def service(running: Service) -> Service:
    """The service, honest again."""
    fresh = Service()
    running.spoil, running.person = fresh.spoil, fresh.person
    running.key, running.sign = running.published, running.signed
    return running


@pytest.fixture
def settings(service: Service) -> Settings:
    return Settings(cache=None, shared=True, oidc=OidcSettings(service.issuer, CLIENT, SECRET))


@pytest.fixture
def app(apps: Apps, store: Store, settings: Settings) -> Any:
    return apps.over(store, settings)


def through(browser: Any, start: str = "/sign-in/elsewhere?next=/account") -> Any:
    """Go to the service and come back, as a browser does."""
    away = browser.get(start)
    assert away.status_code == 303, away.text
    back = httpx.get(away.headers["location"]).headers["location"]
    assert back.startswith(BASE)
    return browser.get(back.removeprefix(BASE))


def test_somebody_signs_in_and_has_an_account_of_a_reader(app: Any, store: Store) -> None:
    browser = stranger(app)
    assert "Sign in at your institution" in browser.get("/sign-in").text

    done = through(browser)

    assert (done.status_code, done.headers["location"]) == (303, "/account")
    assert "Anna Berg" in browser.get("/account").text
    account = AccountStore(store).account("anna-berg")
    assert account is not None
    assert (account.role, account.has_password) == ("reader", False)


def test_the_second_sign_in_opens_the_same_account_whatever_the_name(
    app: Any, store: Store, service: Service
) -> None:
    through(stranger(app))
    service.person |= {"preferred_username": "other", "email": "other@museum.example"}
    through(stranger(app))
    assert [one.name for one in AccountStore(store).accounts()] == ["anna-berg"]


def test_the_same_name_of_another_subject_opens_an_account_of_its_own(
    app: Any, store: Store, service: Service
) -> None:
    enrol(store, "anna-berg", "administrator")
    through(stranger(app))
    service.person |= {"sub": "another"}
    through(stranger(app))
    found = {one.name: one.role for one in AccountStore(store).accounts()}
    assert found == {
        "anna-berg": "administrator",
        "anna-berg-2": "reader",
        "anna-berg-3": "reader",
    }


LIES = {
    "wrong nonce": {"nonce": "of another request"},
    "no nonce": {"nonce": None},
    "expired": {"exp": int(time.time()) - 600, "iat": int(time.time()) - 900},
    "made in the future": {"iat": int(time.time()) + 9000},
    "wrong audience": {"aud": "another service"},
    "meant for several": {"aud": [CLIENT, "another service"]},
    "meant for another party": {"aud": [CLIENT, "x"], "azp": "x"},
    "wrong issuer": {"iss": "https://elsewhere.example"},
    "no subject": {"sub": None},
    "a number as subject": {"sub": 5},
}


@pytest.mark.parametrize("lie", LIES)
def test_an_identity_that_is_not_for_this_request_is_refused(
    app: Any, store: Store, service: Service, lie: str
) -> None:
    def spoil(claims: dict[str, Any]) -> None:
        claims.update(LIES[lie])
        for name in [name for name, value in claims.items() if value is None]:
            del claims[name]

    service.spoil = spoil
    browser = stranger(app)

    answer = through(browser)

    assert answer.status_code == 403
    assert "can&#39;t be believed" in answer.text
    assert browser.get("/account").status_code == 303
    assert AccountStore(store).accounts() == []


@pytest.mark.parametrize("how", ["another key", "a shared secret", "no signature"])
def test_an_identity_that_the_service_did_not_sign_is_refused(
    app: Any, store: Store, service: Service, how: str
) -> None:
    if how == "another key":
        service.key = RSAKey.generate_key(2048, {"kid": "one"})
    else:
        service.sign = lambda claims: by_hand(claims, service, how)

    answer = through(stranger(app))

    assert answer.status_code == 403
    assert AccountStore(store).accounts() == []


def by_hand(claims: dict[str, Any], service: Service, how: str) -> str:
    """Return a token without a signature, or with the published key as if it were a secret."""
    algorithm = "HS256" if how == "a shared secret" else "none"
    pieces = [plain({"alg": algorithm, "kid": "one"}), plain(claims)]
    secret = service.published.as_pem(private=False)
    code = hmac.digest(secret, ".".join(pieces).encode(), "sha256")
    return ".".join([*pieces, base64_of(code) if algorithm == "HS256" else ""])


def plain(given: dict[str, Any]) -> str:
    return base64_of(json.dumps(given).encode())


def base64_of(given: bytes) -> str:
    return base64.urlsafe_b64encode(given).decode().rstrip("=")


@pytest.mark.parametrize("how", ["wrong state", "no state", "another browser", "another issuer"])
def test_an_answer_to_another_request_is_refused(app: Any, store: Store, how: str) -> None:
    browser = stranger(app)
    away = browser.get("/sign-in/elsewhere")
    back = httpx.get(away.headers["location"]).headers["location"].removeprefix(BASE)
    state = parse_qs(urlsplit(back).query)["state"][0]
    if how == "wrong state":
        back = back.replace(state, "x" * len(state))
    elif how == "no state":
        back = back.replace(f"state={state}", "")
    elif how == "another browser":
        browser = stranger(app)
    else:
        back = back.partition("&iss=")[0] + "&iss=https%3A%2F%2Felsewhere.example"

    assert browser.get(back).status_code == 403
    assert AccountStore(store).accounts() == []


def test_a_code_is_good_once(app: Any, store: Store) -> None:
    browser = stranger(app)
    away = browser.get("/sign-in/elsewhere")
    back = httpx.get(away.headers["location"]).headers["location"].removeprefix(BASE)
    kept = dict(browser.cookies)
    assert browser.get(back).status_code == 303

    again = stranger(app)
    again.cookies.update(kept)

    assert again.get(back).status_code == 403


def test_a_stolen_code_is_worth_nothing_without_the_verifier(app: Any) -> None:
    victim, thief = stranger(app), stranger(app)
    code = parse_qs(
        urlsplit(
            httpx.get(victim.get("/sign-in/elsewhere").headers["location"]).headers["location"]
        ).query
    )["code"][0]
    own = urlsplit(thief.get("/sign-in/elsewhere").headers["location"]).query
    state = parse_qs(own)["state"][0]

    answer = thief.get(f"/sign-in/elsewhere/back?code={code}&state={state}")

    assert answer.status_code == 403
    assert "did not accept the code" in answer.text


def test_an_account_that_is_switched_off_stays_out(app: Any, store: Store) -> None:
    enrol(store, "chief", "administrator")
    through(stranger(app))
    AccountStore(store).set_active("anna-berg", active=False, who="chief")

    answer = through(stranger(app))

    assert answer.status_code == 403
    assert "switched off" in answer.text


def test_an_account_that_is_there_is_connected_by_its_own_person(
    app: Any, store: Store, service: Service
) -> None:
    accounts = enrol(store, "anna", "reviewer")
    browser = signed_in(app, "anna")
    page = send(browser, "/account/connect")
    link = page.text.partition('main-action" href="')[2].partition('"')[0].replace("&amp;", "&")
    back = httpx.get(link).headers["location"].removeprefix(BASE)

    assert browser.get(back).headers["location"] == "/account?done=connected"

    assert accounts.identity(service.issuer, "248289") == "anna"
    through(stranger(app))
    assert [one.name for one in accounts.accounts()] == ["anna"]


def test_roles_come_from_a_claim_where_it_is_set_up_so(
    adviser: Adviser, store: Store, service: Service, settings: Settings
) -> None:
    assert settings.oidc is not None
    oidc = replace(
        settings.oidc, role_claim="groups", roles=(("lab", "contributor"), ("chief", "reviewer"))
    )
    app = create_app(adviser, replace(settings, oidc=oidc), store)
    for groups, role in (
        (["lab"], "contributor"),
        (["lab", "chief"], "reviewer"),
        (["x"], "reviewer"),
    ):
        service.person |= {"groups": groups}
        through(stranger(app))
        account = AccountStore(store).account("anna-berg")
        assert account is not None
        assert account.role == role


def test_nobody_new_is_let_in_where_it_is_set_up_so(
    adviser: Adviser, store: Store, settings: Settings
) -> None:
    assert settings.oidc is not None
    closed = replace(settings, oidc=replace(settings.oidc, first_role="none"))
    answer = through(stranger(create_app(adviser, closed, store)))
    assert answer.status_code == 403
    assert AccountStore(store).accounts() == []


def test_a_service_that_is_away_is_told_and_the_password_still_works(
    adviser: Adviser, store: Store
) -> None:
    oidc = OidcSettings("http://127.0.0.1:9", CLIENT)
    app = create_app(adviser, Settings(cache=None, shared=True, oidc=oidc), store)
    answer = stranger(app).get("/sign-in/elsewhere")
    assert answer.status_code == 503
    assert "does not answer" in answer.text
    assert 'name="password"' in answer.text
