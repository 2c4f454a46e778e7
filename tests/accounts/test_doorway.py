"""Which requests are let in at all, with which headers, and how the service is begun."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from leastwise.api.app import create_app
from leastwise.api.cli.app import app as commands
from leastwise.api.cli.commands.serving import check_administrator, settings_to_serve
from leastwise.api.settings import OidcSettings, Settings
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.graph import Adviser
from tests.accounts.people import BASE, PASSWORD, enrol, send, signed_in, stranger

ALONE = Settings(cache=None)
SHARED = Settings(cache=None, shared=True)


@pytest.fixture
def alone(adviser: Adviser, store: Store) -> TestClient:
    return TestClient(create_app(adviser, ALONE, store), base_url=BASE)


@pytest.mark.parametrize(
    "host", ["127.0.0.1:8400", "localhost", "LOCALHOST:1", "[::1]:8400", "127.3.2.1"]
)
def test_a_personal_machine_answers_to_loopback_names(alone: TestClient, host: str) -> None:
    assert alone.get("/health", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    ["evil.example", "127.0.0.1.evil.example", "localhost.evil.example", "", "10.0.0.1", "[::1"],
)
def test_a_name_that_points_here_from_elsewhere_is_refused(alone: TestClient, host: str) -> None:
    answer = alone.get("/health", headers={"host": host})
    if host == "[::1":  # no closing bracket is read as the address in it
        assert answer.status_code == 200
        return
    assert answer.status_code == 403
    assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"origin": BASE, "sec-fetch-site": "cross-site"},
    ],
)
@pytest.mark.parametrize("settings", [ALONE, SHARED], ids=["alone", "shared"])
def test_a_page_elsewhere_changes_nothing_here(
    adviser: Adviser, store: Store, settings: Settings, headers: dict[str, str]
) -> None:
    client = TestClient(create_app(adviser, settings, store), base_url=BASE)
    answer = client.post(
        "/physics/air", json={"temperature_c": 20, "rh_percent": 50}, headers=headers
    )
    assert answer.status_code == 403
    assert "not from elsewhere" in answer.text


@pytest.mark.parametrize(
    "headers", [{}, {"origin": BASE}, {"origin": BASE, "sec-fetch-site": "same-origin"}]
)
def test_programs_and_own_pages_are_let_in(alone: TestClient, headers: dict[str, str]) -> None:
    body = {"temperature_c": 20, "rh_percent": 50}
    assert alone.post("/physics/air", json=body, headers=headers).status_code == 200


def test_a_shared_service_with_an_address_answers_to_that_name(
    adviser: Adviser, store: Store
) -> None:
    settings = replace(SHARED, address="https://leastwise.museum.example")
    client = TestClient(create_app(adviser, settings, store), base_url=BASE)
    for host, status in (("leastwise.museum.example", 200), ("x.example", 403), ("127.0.0.1", 200)):
        assert client.get("/health", headers={"host": host}).status_code == status


def test_with_https_cookies_are_bound_to_the_host_and_hsts_is_said(
    adviser: Adviser, store: Store
) -> None:
    enrol(store, "anna")
    settings = replace(SHARED, secure_cookies=True)
    client = TestClient(
        create_app(adviser, settings, store),
        base_url="https://127.0.0.1",
        follow_redirects=False,
        headers={"accept": "text/html"},
    )
    done = send(client, "/sign-in", "/sign-in", name="anna", password=PASSWORD)

    assert done.status_code == 303
    cookie = done.headers["set-cookie"]
    assert cookie.startswith("__Host-leastwise_session=")
    for flag in ("HttpOnly", "Secure", "Path=/", "SameSite=lax"):
        assert flag in cookie
    assert "Domain" not in cookie
    assert done.headers["strict-transport-security"] == "max-age=31536000"
    page = client.get("/account")
    assert page.status_code == 200
    assert page.headers["cache-control"] == "no-store"


def test_without_https_no_hsts_is_said_and_static_files_may_be_kept(app: Any) -> None:
    answer = stranger(app).get("/static/leastwise.css")
    assert "strict-transport-security" not in answer.headers
    assert answer.headers.get("cache-control") != "no-store"


def test_the_api_wants_the_form_token_of_a_session(app: Any, store: Store) -> None:
    enrol(store, "anna")
    anna = signed_in(app, "anna", accept="application/json")
    body = {"temperature_c": 20, "rh_percent": 50}
    assert anna.post("/physics/air", json=body).status_code == 403
    token = re.search(
        'form-token" content="([0-9a-f]{64})"',
        anna.get("/account", headers={"accept": "text/html"}).text,
    )
    assert token
    answer = anna.post("/physics/air", json=body, headers={"x-form-token": token[1]})
    assert answer.status_code == 200


def test_somebody_unknown_gets_401_with_a_challenge_and_a_browser_the_sign_in_page(
    app: Any,
) -> None:
    program = stranger(app, accept="application/json").get("/schema")
    assert program.status_code == 401
    assert program.headers["www-authenticate"] == 'Bearer realm="leastwise"'
    assert stranger(app).post("/options").status_code == 401
    assert stranger(app).get("/schema").headers["location"] == "/sign-in?next=/schema"
    assert stranger(app).get("/health").status_code == 200


def test_there_are_no_accounts_on_a_personal_machine(alone: TestClient) -> None:
    for path in ("/sign-in", "/account", "/accounts"):
        assert alone.get(path).status_code == 404


# -- serve


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.1", "::", "museum.example"])  # noqa: S104
def test_a_public_address_needs_accounts(host: str) -> None:
    with pytest.raises(ValueError, match="add --shared"):
        settings_to_serve(ALONE, host=host, shared=False, behind_proxy="")


@pytest.mark.parametrize(
    ("host", "proxy", "address", "secure"),
    [
        ("127.0.0.1", "", "", False),
        ("::1", "", "", False),
        ("0.0.0.0", "", "http://lw.example", True),  # noqa: S104
        ("127.0.0.1", "127.0.0.1", "https://lw.example", True),
        ("127.0.0.1", "", "https://lw.example", True),
    ],
)
def test_cookies_travel_over_https_unless_all_stays_here(
    host: str, proxy: str, address: str, *, secure: bool
) -> None:
    given = replace(ALONE, address=address)
    found = settings_to_serve(given, host=host, shared=True, behind_proxy=proxy)
    assert (found.shared, found.secure_cookies) == (True, secure)


@pytest.mark.parametrize(("host", "proxy"), [("0.0.0.0", ""), ("127.0.0.1", "127.0.0.1")])  # noqa: S104
def test_where_others_reach_the_service_its_address_has_to_be_known(host: str, proxy: str) -> None:
    with pytest.raises(ValueError, match="LEASTWISE_ADDRESS"):
        settings_to_serve(ALONE, host=host, shared=True, behind_proxy=proxy)


def test_no_link_to_set_a_password_is_made_with_a_strangers_name(app: Any, store: Store) -> None:
    enrol(store, "chief", "administrator")
    enrol(store, "ben")
    chief = signed_in(app, "chief")
    page = chief.get("/accounts/ben")
    token = re.search('name="form_token" value="([^"]+)"', page.text)
    assert token
    elsewhere = {"host": "evil.example", "origin": "http://evil.example"}
    answer = chief.post("/accounts/ben/link", data={"form_token": token[1]}, headers=elsewhere)
    assert answer.status_code == 403
    assert "set-password" not in answer.text


def test_a_shared_service_is_not_begun_without_an_administrator(tmp_path: Path) -> None:
    env = {"LEASTWISE_STORE": str(tmp_path / "s.sqlite"), "LEASTWISE_CACHE": "off"}
    result = CliRunner(env=env).invoke(commands, ["serve", "--shared", "--port", "0"])
    assert result.exit_code == 2
    assert "leastwise accounts add NAME --role administrator" in result.output


def test_an_administrator_who_is_switched_off_does_not_count(store: Store) -> None:
    accounts = enrol(store, "chief", "administrator")
    check_administrator(store)
    enrol(store, "second", "administrator")
    accounts.set_active("chief", active=False, who="x")
    check_administrator(store)
    assert not accounts.set_active("second", active=False, who="x")


# -- accounts on the command line


@pytest.fixture
def run(tmp_path: Path) -> Any:
    env = {"LEASTWISE_STORE": str(tmp_path / "cli.sqlite")}

    def call(*args: str, typed: str = "") -> Any:
        return CliRunner(env=env).invoke(commands, ["accounts", *args], input=typed)

    call.store = f"sqlite:///{tmp_path / 'cli.sqlite'}"  # type: ignore[attr-defined]
    return call


def test_a_password_is_typed_twice_and_not_shown(run: Any) -> None:
    result = run("add", "Anna", "--role", "administrator", typed=f"{PASSWORD}\n{PASSWORD}\n")
    assert result.exit_code == 0, result.output
    assert PASSWORD not in result.output
    assert "anna" in run("list").output


def test_accounts_are_managed_on_the_command_line(run: Any, tmp_path: Path) -> None:
    file = tmp_path / "password"
    file.write_text(PASSWORD + "\n", "utf-8")
    assert (
        run("add", "anna", "--role", "administrator", "--password-file", str(file)).exit_code == 0
    )
    made = run("add", "ben", "--link", "--full-name", "Ben Adler", "--cohort", "spring")
    assert re.search(r"/set-password/[\w-]{43}", made.output)
    assert run("role", "ben", "knowledge-editor").exit_code == 0
    assert run("off", "ben").exit_code == 0
    assert run("link", "ben").exit_code == 2
    assert run("on", "ben").exit_code == 0
    assert run("unlock", "ben").exit_code == 0
    assert "/set-password/" in run("link", "ben").output
    listed = run("list", "--json").output
    assert '"role": "knowledge editor"' in listed
    store = Store.open(run.store)
    events = [event.what for event in AccountStore(store).events("ben")]
    store.engine.dispose()
    assert events == [
        "link to set a password made",
        "lock lifted",
        "switched on",
        "switched off",
        "changed: role contributor -> knowledge editor",
        "link to set a password made",
        "account made, contributor",
    ]


def test_cases_kept_alone_are_handed_over_to_an_account(run: Any) -> None:
    store = Store.open(run.store)
    case = store.create("case", {}, who="me", what="begun", title="x").id
    enrol(store, "anna")
    assert "1 cases are now anna's" in run("hand-over", "me", "anna").output
    assert store.read(case).owner == "anna"
    store.engine.dispose()


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("add", "anna", "--role", "boss"), "Expected one of"),
        (("add", "a b"), "Expected a name"),
        (("role", "nobody-here", "reader"), "there is no such account"),
        (("off", "nobody-here"), "there is no such account"),
        (("add", "anna", "--password-file", "/nowhere/at-all"), "can't be read"),
    ],
)
def test_a_mistake_is_one_sentence(run: Any, args: tuple[str, ...], said: str) -> None:
    result = run(*args)
    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output


def test_every_account_command_shows_an_example(run: Any) -> None:
    for name in ("add", "list", "role", "off", "on", "unlock", "link", "hand-over"):
        assert f"Example: leastwise accounts {name}" in run(name, "--help").output


# -- settings


def test_the_sign_in_service_is_set_up_by_the_environment(tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text("hidden\n", "utf-8")
    found = Settings.from_environment(
        {
            "LEASTWISE_OIDC_ISSUER": "https://login.museum.example",
            "LEASTWISE_OIDC_CLIENT": "lw",
            "LEASTWISE_OIDC_SECRET": str(secret),
            "LEASTWISE_OIDC_ROLE_CLAIM": "groups",
            "LEASTWISE_OIDC_ROLES": "chief=reviewer, lab=knowledge-editor",
        }
    ).oidc
    assert found == OidcSettings(
        "https://login.museum.example",
        "lw",
        "hidden",
        "groups",
        (("chief", "reviewer"), ("lab", "knowledge editor")),
    )


@pytest.mark.parametrize(
    "env",
    [
        {"LEASTWISE_OIDC_ISSUER": "http://login.example", "LEASTWISE_OIDC_CLIENT": "x"},
        {"LEASTWISE_OIDC_ISSUER": "https://login.example"},
        {
            "LEASTWISE_OIDC_ISSUER": "https://login.example",
            "LEASTWISE_OIDC_CLIENT": "x",
            "LEASTWISE_OIDC_SECRET": "/nowhere/at-all",
        },
        {
            "LEASTWISE_OIDC_ISSUER": "https://login.example",
            "LEASTWISE_OIDC_CLIENT": "x",
            "LEASTWISE_OIDC_ROLES": "chief",
        },
        {"LEASTWISE_OIDC_CLIENT": "x"},
        {"LEASTWISE_OIDC_FIRST_ROLE": "reader"},
        {"LEASTWISE_OIDC_ISSUER": "http://localhost.evil.example", "LEASTWISE_OIDC_CLIENT": "x"},
        {"LEASTWISE_OIDC_ISSUER": "https://", "LEASTWISE_OIDC_CLIENT": "x"},
        {
            "LEASTWISE_OIDC_ISSUER": "https://login.example",
            "LEASTWISE_OIDC_CLIENT": "x",
            "LEASTWISE_OIDC_FIRST_ROLE": "emperor",
        },
        {
            "LEASTWISE_OIDC_ISSUER": "https://login.example",
            "LEASTWISE_OIDC_CLIENT": "x",
            "LEASTWISE_OIDC_ROLES": "chief=king",
        },
        {"LEASTWISE_ADDRESS": "museum.example"},
    ],
)
def test_a_wrong_setting_is_told(env: dict[str, str]) -> None:
    with pytest.raises(ValueError, match="LEASTWISE_"):
        Settings.from_environment(env)
