"""Signing in: sessions, the lock with back-off, passwords, links."""

from __future__ import annotations

import contextlib
import re
import time
from typing import Any

import pytest
from argon2 import PasswordHasher, extract_parameters
from sqlalchemy import text

from leastwise.api.identity import attempts, signing_in
from leastwise.api.identity.errors import AccountError, SignInError, TooManyError
from leastwise.api.identity.passwords import hashed, is_outdated, matches
from leastwise.api.identity.rules import checked_name, checked_password
from leastwise.api.identity.signing_in import Place
from leastwise.api.identity.web import local_path
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from tests.accounts.people import PASSWORD, Clock, enrol, send, signed_in, stranger, token_in

HERE = Place("192.0.2.7", "a browser")


def fails(accounts: AccountStore, name: str, times: int, place: Place = HERE) -> None:
    """Fail once for real; the others are counted without the slow hash."""
    for _ in range(times - 1):
        attempts.claim(accounts, name, place.address, place.mark)
    with pytest.raises(SignInError, match="don't fit together"):
        signing_in.sign_in(accounts, name, "not the password", place)


def test_somebody_signs_in_and_goes_on_to_where_they_wanted(app: Any, store: Store) -> None:
    enrol(store, "anna")
    browser = stranger(app)

    away = browser.get("/account?done=x")
    assert away.status_code == 303
    assert away.headers["location"] == "/sign-in?next=/account%3Fdone%3Dx"
    page = browser.get(away.headers["location"]).text
    assert 'name="next" value="/account?done=x"' in page

    done = send(
        browser, "/sign-in", "/sign-in", name="Anna", password=PASSWORD, next="/account?done=x"
    )

    assert (done.status_code, done.headers["location"]) == (303, "/account?done=x")
    cookie = done.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert browser.get("/account").status_code == 200


def test_only_the_digest_of_a_session_is_kept(app: Any, store: Store) -> None:
    enrol(store, "anna")
    browser = signed_in(app, "anna")
    secret = browser.cookies["leastwise_session"]

    with store.reading() as session:
        rows = session.execute(text("SELECT * FROM account_sessions")).all()

    assert len(rows) == 1
    assert secret not in str(rows)
    assert len(secret) >= 43  # 256 bits in base 64


def test_a_session_from_before_is_ended_by_a_new_sign_in(app: Any, store: Store) -> None:
    accounts = enrol(store, "anna")
    browser = signed_in(app, "anna")
    before = browser.cookies["leastwise_session"]
    token = token_in(browser)

    done = browser.post(
        "/sign-in", data={"form_token": token, "name": "anna", "password": PASSWORD}
    )

    after = re.search("leastwise_session=([^;]+)", done.headers["set-cookie"])
    assert after
    assert after[1] != before
    assert len(accounts.sessions("anna")) == 1


@pytest.mark.parametrize(
    ("name", "password"),
    [("anna", "not the password"), ("nobody-here", PASSWORD), ("off", PASSWORD)],
)
def test_every_refusal_reads_the_same(app: Any, store: Store, name: str, password: str) -> None:
    enrol(store, "anna")
    enrol(store, "off").set_active("off", active=False, who="console")

    answer = send(stranger(app), "/sign-in", "/sign-in", name=name, password=password)

    assert answer.status_code == 422
    assert "Name and password don&#39;t fit together" in answer.text
    assert password not in answer.text


def test_an_unknown_name_takes_as_long_as_a_wrong_password(store: Store) -> None:
    accounts = enrol(store, "anna")
    signing_in.password_fits(accounts, "warm-up", "x", HERE)

    def took(name: str) -> float:
        best = 9.0
        for number in range(3):
            begun = time.perf_counter()
            signing_in.password_fits(accounts, name, "not it", Place(f"10.0.{number}.1"))
            best = min(best, time.perf_counter() - begun)
        return best

    known, unknown = took("anna"), took("nobody-here")

    assert 0.5 < known / unknown < 2


def test_after_five_failures_the_wait_doubles_up_to_an_hour(store: Store, clock: Clock) -> None:
    accounts = enrol(store, "anna")
    fails(accounts, "anna", 5)
    waits = []
    for _ in range(9):
        with pytest.raises(TooManyError) as refused:
            signing_in.sign_in(accounts, "anna", PASSWORD, HERE)
        waits.append(refused.value.seconds)
        clock.on(seconds=refused.value.seconds)
        attempts.claim(accounts, "anna", HERE.address)

    assert waits == [30, 60, 120, 240, 480, 960, 1920, 3600, 3600]
    clock.on(hours=1)
    assert signing_in.sign_in(accounts, "anna", PASSWORD, HERE)


def test_the_lock_holds_for_names_that_nobody_has_and_survives_a_restart(
    store: Store, clock: Clock
) -> None:
    fails(AccountStore(store), "nobody-here", 5)

    again = AccountStore(Store.open(str(store.engine.url), clock))
    with pytest.raises(TooManyError):
        signing_in.sign_in(again, "nobody-here", PASSWORD, HERE)
    again.store.engine.dispose()


def test_a_stranger_elsewhere_keeps_nobody_out(store: Store) -> None:
    accounts = enrol(store, "anna")
    fails(accounts, "anna", 5, Place("203.0.113.9"))

    with pytest.raises(TooManyError):
        signing_in.sign_in(accounts, "anna", PASSWORD, Place("203.0.113.9"))
    assert signing_in.sign_in(accounts, "anna", PASSWORD, HERE)


def test_an_address_that_tries_many_names_only_slows_its_house_down(
    store: Store, clock: Clock
) -> None:
    accounts = enrol(store, "anna")
    for number in range(attempts.FROM_AN_ADDRESS.most):
        attempts.claim(accounts, f"guess-{number}", HERE.address)
    waits = []
    for number in range(20):
        with pytest.raises(TooManyError) as refused:
            attempts.claim(accounts, f"another-{number}", HERE.address)
        waits.append(refused.value.seconds)
        clock.on(seconds=refused.value.seconds)
        attempts.claim(accounts, f"another-{number}", HERE.address)
    assert waits == [5] * 20

    with pytest.raises(TooManyError) as refused:
        signing_in.sign_in(accounts, "anna", PASSWORD, HERE)
    assert refused.value.seconds <= 5
    assert signing_in.sign_in(accounts, "anna", PASSWORD, Place("192.0.2.8"))
    clock.on(seconds=5)
    assert signing_in.sign_in(accounts, "anna", PASSWORD, HERE)


def test_guesses_from_many_addresses_are_slowed_down_to_one_a_minute(
    store: Store, clock: Clock
) -> None:
    accounts = enrol(store, "anna")
    for number in range(50):
        attempts.claim(accounts, "anna", f"198.51.100.{number}")

    with pytest.raises(TooManyError) as refused:
        attempts.claim(accounts, "anna", "198.51.100.77")
    assert refused.value.seconds == 60
    clock.on(seconds=60)
    attempts.claim(accounts, "anna", "198.51.100.77")


def mark_given(app: Any, name: str) -> str:
    """Return the mark of a browser that has signed in on the page."""
    browser = stranger(app)
    send(browser, "/sign-in", "/sign-in", name=f" {name.upper()} ", password=PASSWORD)
    return str(browser.cookies["leastwise_known"])


def test_a_browser_that_signed_in_before_is_kept_out_by_nobody(app: Any, store: Store) -> None:
    accounts = enrol(store, "anna")
    mark = mark_given(app, "anna")
    known = Place("203.0.113.9", "a browser", mark)
    for number in range(60):  # a crowd guesses, also beside it
        with contextlib.suppress(TooManyError):
            attempts.claim(accounts, "anna", f"203.0.113.{number}")
    fails_at = Place("203.0.113.9")
    with pytest.raises(TooManyError):
        signing_in.sign_in(accounts, "anna", PASSWORD, fails_at)

    assert signing_in.sign_in(accounts, "anna", PASSWORD, known)
    fails(accounts, "anna", 5, known)  # but it is counted by itself
    with pytest.raises(TooManyError):
        signing_in.sign_in(accounts, "anna", PASSWORD, known)


def test_a_mark_is_of_one_account_and_ends_with_the_password(app: Any, store: Store) -> None:
    accounts = enrol(store, "anna")
    enrol(store, "ben")
    mark = mark_given(app, "anna")

    assert attempts._is_known(accounts, "anna", mark)
    assert not attempts._is_known(accounts, "ben", mark)
    assert not any(
        attempts._is_known(accounts, "anna", other)
        for other in ("", ".", "x", f"x{mark}", mark[:-1], mark.partition(".")[0], "\ud800.\ud800")
    )
    accounts.set_password("anna", "another hash", who="anna")
    assert not attempts._is_known(accounts, "anna", mark)


def test_success_forgets_the_failures_of_the_name(store: Store) -> None:
    accounts = enrol(store, "anna")
    for _ in range(3):
        fails(accounts, "anna", 4)
        signing_in.sign_in(accounts, "anna", PASSWORD, HERE)


def test_an_administrator_lifts_a_lock(app: Any, store: Store) -> None:
    enrol(store, "chief", "administrator")
    accounts = enrol(store, "anna")
    fails(accounts, "anna", 5)
    chief = signed_in(app, "chief")
    assert "Locked for" in chief.get("/accounts/anna").text

    assert send(chief, "/accounts/anna/unlock").status_code == 303

    assert signing_in.sign_in(accounts, "anna", PASSWORD, HERE)


def test_a_session_ends_after_twelve_idle_hours_and_after_seven_days(
    app: Any, store: Store, clock: Clock
) -> None:
    enrol(store, "anna")
    idle, busy = signed_in(app, "anna"), signed_in(app, "anna")
    for _ in range(13):
        clock.on(hours=11)
        assert busy.get("/account").status_code == 200
    assert idle.get("/account").status_code == 303

    clock.on(hours=11)
    clock.on(days=7, hours=-14 * 11)
    assert busy.get("/account").status_code == 303


def test_signing_out_needs_the_token_and_ends_the_session(app: Any, store: Store) -> None:
    accounts = enrol(store, "anna")
    browser = signed_in(app, "anna")

    assert browser.post("/sign-out").status_code == 403
    assert browser.get("/sign-out").status_code == 405
    assert send(browser, "/sign-out").status_code == 303

    assert accounts.sessions("anna") == []


def test_a_form_token_of_another_session_is_refused(app: Any, store: Store) -> None:
    enrol(store, "anna")
    mine, other = signed_in(app, "anna"), signed_in(app, "anna")
    answer = mine.post("/sign-out", data={"form_token": token_in(other)})
    assert answer.status_code == 403


def test_a_new_password_signs_every_other_browser_out(app: Any, store: Store) -> None:
    enrol(store, "anna")
    here, there = signed_in(app, "anna"), signed_in(app, "anna")
    new = "eight spools and a thimble"

    wrong = send(here, "/account/password", old="not it at all", password=new, again=new)
    assert wrong.status_code == 422
    assert "not the password that you have" in wrong.text
    different = send(here, "/account/password", old=PASSWORD, password=new, again=new + "s")
    assert "not the same" in different.text
    done = send(here, "/account/password", old=PASSWORD, password=new, again=new)
    here.cookies.update(done.cookies)

    assert done.status_code == 303
    assert there.get("/account").status_code == 303
    assert here.get("/account").status_code == 200
    assert signing_in.sign_in(AccountStore(store), "anna", new, HERE)


@pytest.mark.parametrize(("ticked", "left"), [({"revoke": "yes"}, 0), ({}, 1)])
def test_a_new_password_revokes_the_tokens_unless_that_is_unticked(
    app: Any, store: Store, ticked: dict[str, str], left: int
) -> None:
    accounts = enrol(store, "anna")
    enrol(store, "ben")
    for name in ("anna", "ben"):
        made = send(
            signed_in(app, name), "/account/tokens", label="import", scopes="USE", lasts="90"
        )
        assert made.status_code == 200
    here, new = signed_in(app, "anna"), "eight spools and a thimble"
    page = here.get("/account").text
    assert 'name="revoke" value="yes" checked' in page
    done = send(here, "/account/password", old=PASSWORD, password=new, again=new, **ticked)
    assert done.status_code == 303
    assert len(accounts.tokens("anna")) == left
    assert len(accounts.tokens("ben")) == 1


def test_one_of_the_own_browsers_is_signed_out_and_nobody_elses(app: Any, store: Store) -> None:
    accounts = enrol(store, "anna")
    enrol(store, "ben")
    here, there, ben = signed_in(app, "anna"), signed_in(app, "anna"), signed_in(app, "ben")
    handles = {one.handle for one in accounts.sessions("anna")}
    token = token_in(here)
    digest = signing_in.digest(there.cookies["leastwise_session"])
    found = accounts.session_of(digest)
    assert found is not None
    assert found.handle in handles

    theirs = accounts.sessions("ben")[0].handle
    assert send(here, f"/account/sessions/{theirs}/end").status_code == 404
    answer = here.post(f"/account/sessions/{found.handle}/end", data={"form_token": token})

    assert answer.status_code == 303
    assert there.get("/account").status_code == 303
    assert here.get("/account").status_code == 200
    assert ben.get("/account").status_code == 200


def test_a_link_sets_a_password_once(app: Any, store: Store) -> None:
    chief_accounts = enrol(store, "chief", "administrator")
    chief = signed_in(app, "chief")
    page = send(chief, "/accounts", name="Dora", full_name="Dora <b>", role="reader", cohort="")
    assert "Dora &lt;b&gt;" in chief.get("/accounts").text
    link = re.search(r"http://127\.0\.0\.1(/set-password/[\w-]+)", page.text)
    assert link
    browser = stranger(app)

    few = "short"
    short = send(browser, link[1], link[1], password=few, again=few)
    assert "12 to 256 characters" in short.text
    done = send(browser, link[1], link[1], password=PASSWORD, again=PASSWORD)
    assert done.status_code == 303

    assert send(browser, link[1], "/sign-in", password=PASSWORD, again=PASSWORD).status_code == 404
    assert signing_in.sign_in(chief_accounts, "dora", PASSWORD, HERE)


def test_a_link_runs_out_after_three_days_and_a_newer_one_replaces_it(
    app: Any, store: Store, clock: Clock
) -> None:
    accounts = enrol(store, "anna")
    old = signing_in.make_link(accounts, "anna", who="console")
    new = signing_in.make_link(accounts, "anna", who="console")
    with pytest.raises(AccountError, match="ran out"):
        signing_in.set_by_link(accounts, old, "another good password", HERE)
    clock.on(days=3)
    with pytest.raises(AccountError, match="ran out"):
        signing_in.set_by_link(accounts, new, "another good password", HERE)


def test_hashes_are_argon2id_as_rfc_9106_recommends_for_little_memory() -> None:
    parameters = extract_parameters(hashed(PASSWORD))
    found = (parameters.memory_cost, parameters.time_cost, parameters.parallelism)
    # RFC 9106, section 4, second recommended option: t=3, p=4, m=2^16 KiB
    assert all(a >= b for a, b in zip(found, (2**16, 3, 4), strict=True))
    assert parameters.type.name == "ID"


def test_a_weaker_hash_is_made_anew_at_the_next_sign_in(store: Store) -> None:
    accounts = AccountStore(store)
    weak = PasswordHasher(time_cost=1, memory_cost=8192, parallelism=1).hash(PASSWORD)
    accounts.add("anna", full_name="Anna", role="reader", password=weak, who="console")
    assert is_outdated(weak)

    signing_in.sign_in(accounts, "anna", PASSWORD, HERE)

    assert not is_outdated(accounts.password("anna"))
    assert matches(PASSWORD, accounts.password("anna"))


def test_the_same_letters_typed_another_way_are_the_same_password() -> None:
    assert matches("caf\u00e9 and twelve looms", hashed("cafe\u0301 and twelve looms"))


@pytest.mark.parametrize(
    "password",
    [
        "short",
        "x" * 257,
        "aaaaaaaaaaaaaa",
        "abababababab",
        "qwertyuiop123",
        "1234567890qwertz",
        "abcdefghijklmnop",
        "annabergannaberg",
        "Anna Berg 1",
        "passwordpassword",
        "letmeinletmein",
        "Password2024!",
        "administrator",
        "conservator1",
        "changeme1234",
        "leastwise2026!",
        "anna-berg-1985",
        "password" * 20,
    ],
)
def test_weak_passwords_are_refused(password: str) -> None:
    with pytest.raises(AccountError):
        checked_password(password, "anna", "Anna Berg")


@pytest.mark.parametrize(
    "password",
    [
        "a needle for every seam",
        "seven silver stitches",
        "Kq7-vexing-Loom",
        "x9 " * 2 + "looms" * 50,
    ],
)
def test_what_is_hard_to_guess_is_accepted(password: str) -> None:
    assert checked_password(password, "anna", "Anna Berg") == password


def test_a_refusal_says_how_to_do_better() -> None:
    with pytest.raises(AccountError, match=r"easy to guess\. Repeats .* Three words or more"):
        checked_password("passwordpassword", "anna")


@pytest.mark.parametrize("name", ["", "a", "me", "console", "-x", "a b", "a/b", "x" * 49, "ä" * 4])
def test_names_that_can_not_be_told_apart_are_refused(name: str) -> None:
    with pytest.raises(AccountError):
        checked_name(name)


def test_names_are_one_without_case(store: Store) -> None:
    enrol(store, checked_name("Anna"))
    again = AccountStore(store).add(checked_name("ANNA"), full_name="", role="reader", who="x")
    assert again is None


@pytest.mark.parametrize(
    "given",
    ["//x.example", "/\\x.example", "https://x.example", "/\tx", "javascript:1", "", None, "/[x"],
)
def test_after_signing_in_nobody_is_sent_elsewhere(given: object) -> None:
    assert local_path(given) in ("/", "/[x")
