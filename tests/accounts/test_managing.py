"""Managing accounts, sharing cases, tokens for programs; and what happened is kept."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from leastwise.api.identity import signing_in
from leastwise.api.identity.signing_in import Place
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.api.store.backup.verify import verify
from leastwise.api.store.faults import StoreError
from tests.accounts.people import PASSWORD, Clock, enrol, send, signed_in, stranger, token_in
from tests.browser import axe_faults, overflow, served


def keep(store: Store, owner: str, title: str = "A collar") -> str:
    return store.create("case", {"title": title}, who=owner, what="begun", title=title).id


def test_the_last_administrator_can_not_be_switched_off_or_made_less(
    app: Any, store: Store
) -> None:
    accounts = enrol(store, "chief", "administrator")
    chief = signed_in(app, "chief")

    off = send(chief, "/accounts/chief/off")
    less = send(chief, "/accounts/chief", full_name="C", role="reader", cohort="")

    assert (off.status_code, less.status_code) == (422, 422)
    assert "Somebody has to manage the accounts" in off.text
    account = accounts.account("chief")
    assert account is not None
    assert (account.active, account.role) == (True, "administrator")


def test_an_account_that_is_switched_off_is_out_at_once(app: Any, store: Store) -> None:
    accounts = enrol(store, "chief", "administrator")
    enrol(store, "anna")
    anna = signed_in(app, "anna")
    token = make_token(accounts, "anna", "USE")
    program = stranger(app, authorization=f"Bearer {token}", accept="application/json")
    assert program.get("/schema").status_code == 200

    assert send(signed_in(app, "chief"), "/accounts/anna/off").status_code == 303

    assert anna.get("/account").status_code == 303
    assert program.get("/schema").status_code == 401


def make_token(accounts: AccountStore, name: str, *scopes: str, days: int = 30) -> str:
    return signing_in.make_token(
        accounts,
        name,
        label="a program",
        scopes=frozenset(scopes),
        expires=accounts.now() + timedelta(days=days),
    )


def test_a_token_is_shown_once_and_only_its_digest_is_kept(app: Any, store: Store) -> None:
    accounts = enrol(store, "anna")
    anna = signed_in(app, "anna")

    made = send(anna, "/account/tokens", label="import", scopes="USE", lasts="90")
    token = re.search(r"lwt_[\w-]{43}", made.text)

    assert token
    assert token[0] not in anna.get("/account").text
    with store.reading() as session:
        assert token[0] not in str(session.execute(text("SELECT * FROM account_tokens")).all())
    program = stranger(app, authorization=f"Bearer {token[0]}", accept="application/json")
    assert program.get("/schema").status_code == 200
    assert accounts.tokens("anna")[0].used is not None

    handle = accounts.tokens("anna")[0].handle
    assert send(anna, f"/account/tokens/{handle}/revoke").status_code == 303
    refused = program.get("/schema")
    assert refused.status_code == 401
    assert refused.headers["www-authenticate"].startswith("Bearer")


def test_a_token_runs_out(app: Any, store: Store, clock: Clock) -> None:
    token = make_token(enrol(store, "anna"), "anna", "USE", days=30)
    program = stranger(app, authorization=f"Bearer {token}", accept="application/json")
    clock.on(days=29, hours=23)
    assert program.get("/schema").status_code == 200
    clock.on(hours=1)
    assert program.get("/schema").status_code == 401


def test_a_token_can_not_be_made_for_more_than_the_role_allows(app: Any, store: Store) -> None:
    enrol(store, "anna", "reader")
    answer = send(
        signed_in(app, "anna"), "/account/tokens", label="x", scopes="ADMINISTER", lasts="30"
    )
    assert answer.status_code == 422
    assert AccountStore(store).tokens("anna") == []


def test_a_token_of_a_role_that_was_lessened_does_no_more_than_the_role(
    app: Any, store: Store
) -> None:
    accounts = enrol(store, "anna")
    token = make_token(accounts, "anna", "CREATE_CASE")
    accounts.change("anna", full_name="A", role="reader", cohort="", who="console")
    program = stranger(app, authorization=f"Bearer {token}", accept="application/json")
    assert program.post("/cases").status_code == 403


@pytest.mark.parametrize("given", ["Bearer lwt_wrong", "Bearer", "Basic YTpi", "lwt_x", "Bearer x"])
def test_another_authorization_is_refused(app: Any, given: str) -> None:
    answer = stranger(app, authorization=given, accept="application/json").get("/schema")
    assert answer.status_code == 401


def test_a_case_is_shared_and_no_longer_shared(app: Any, store: Store) -> None:
    enrol(store, "anna")
    enrol(store, "ben", "reviewer")
    case = keep(store, "anna")
    anna, ben = signed_in(app, "anna"), signed_in(app, "ben")
    page = f"/cases/{case}/share"
    assert ben.get(page).status_code == 404

    assert send(anna, page, page, account="ben", right="read").status_code == 303
    assert store.shares(case) == {"ben": "read"}
    assert ben.get(page).status_code == 403
    assert "Ben" in anna.get(page).text

    assert send(anna, page, page, account="ben", right="none").status_code == 303
    assert ben.get(page).status_code == 404
    assert [e.what for e in AccountStore(store).events("ben") if case in e.what] == [
        f"case {case}: no longer shared",
        f"case {case}: shared to read",
    ]


@pytest.mark.parametrize(
    ("account", "right"), [("nobody-here", "read"), ("ben", "own"), ("anna", "read"), ("", "")]
)
def test_sharing_wrongly_is_told_beside_the_field(
    app: Any, store: Store, account: str, right: str
) -> None:
    enrol(store, "anna")
    enrol(store, "ben")
    case = keep(store, "anna")
    page = f"/cases/{case}/share"
    answer = send(signed_in(app, "anna"), page, page, account=account, right=right)
    assert answer.status_code == 422
    assert 'class="error"' in answer.text
    assert store.shares(case) == {}


def test_a_case_gets_a_new_owner_and_the_old_one_keeps_a_right(app: Any, store: Store) -> None:
    enrol(store, "anna")
    enrol(store, "ben")
    case = keep(store, "anna")
    page = f"/cases/{case}/share"
    anna = signed_in(app, "anna")
    unsure = send(anna, f"{page}/transfer", page, to="ben", keeps="read")
    assert unsure.status_code == 422

    done = send(anna, f"{page}/transfer", page, to="ben", keeps="read", sure="yes")

    assert done.status_code == 303
    assert store.read(case).owner == "ben"
    assert store.shares(case) == {"anna": "read"}
    assert store.history(case)[-1].what == "handed over from anna to ben"


def test_an_administrator_sees_titles_and_hands_cases_over_but_does_not_read_them(
    app: Any, store: Store
) -> None:
    enrol(store, "chief", "administrator")
    enrol(store, "anna")
    enrol(store, "ben")
    case = keep(store, "anna", "A <collar>")
    chief = signed_in(app, "chief")

    assert chief.get(f"/cases/{case}").status_code == 404
    assert "A &lt;collar&gt;" in chief.get("/accounts/anna").text
    assert send(chief, "/accounts/anna/hand-over", to="ben").status_code == 303

    assert store.read(case).owner == "ben"
    assert chief.get(f"/cases/{case}").status_code == 404


def test_a_tutor_sees_the_cases_of_the_cohort_and_reviews_them(app: Any, store: Store) -> None:
    enrol(store, "tutor", "tutor", "spring")
    enrol(store, "other", "tutor", "autumn")
    enrol(store, "none", "tutor", "")
    enrol(store, "peer", "reviewer", "spring")
    enrol(store, "pupil", "contributor", "spring")
    enrol(store, "guest", "contributor", "")
    case, elsewhere = keep(store, "pupil"), keep(store, "guest")

    listed = {
        name: {row.id for row in store.cases(account=name)[0]}
        for name in ("tutor", "other", "none", "peer", "pupil")
    }

    assert listed == {
        "tutor": {case}, "other": set(), "none": set(), "peer": set(), "pupil": {case}
    }  # fmt: skip
    assert signed_in(app, "tutor").get(f"/cases/{case}/history").status_code == 200
    assert signed_in(app, "tutor").get(f"/cases/{case}/share").status_code == 403
    assert signed_in(app, "tutor").get(f"/cases/{elsewhere}/history").status_code == 404
    assert signed_in(app, "other").get(f"/cases/{case}/history").status_code == 404
    assert signed_in(app, "peer").get(f"/cases/{case}/history").status_code == 404


def test_what_happened_is_shown_to_administrators_and_is_one_chain(app: Any, store: Store) -> None:
    accounts = enrol(store, "chief", "administrator")
    chief = signed_in(app, "chief")
    send(chief, "/accounts", name="anna", full_name="Anna", role="reader", cohort="")
    send(chief, "/accounts/anna", full_name="Anna", role="tutor", cohort="spring")
    signing_in.password_fits(accounts, "anna", "wrong", Place("192.0.2.5"))

    page = chief.get("/accounts/-/events").text

    for told in ("account made, reader", "role reader -&gt; tutor", "sign-in failed", "192.0.2.5"):
        assert told in page
    assert accounts.broken_at() == 0
    with pytest.raises((DBAPIError, StoreError)), store.session() as session:
        session.execute(text("UPDATE account_events SET what = 'nothing' WHERE number = 2"))
    with store.session() as session:
        session.execute(text("DROP TRIGGER account_events_no_update"))
        session.execute(text("UPDATE account_events SET what = 'nothing' WHERE number = 2"))
    assert accounts.broken_at() == 2
    assert "event 2 of the accounts" in {fault.place for fault in verify(store).faults}


def test_accounts_are_found_by_part_of_a_name(app: Any, store: Store) -> None:
    enrol(store, "chief", "administrator")
    enrol(store, "anna")
    page = signed_in(app, "chief").get("/accounts?q=ann").text
    assert 'href="/accounts/anna"' in page
    assert 'href="/accounts/chief"' not in page


def test_the_pages_have_no_fault_of_access_and_nothing_sticks_out(
    app: Any, store: Store, browser: Any
) -> None:
    accounts = enrol(store, "chief", "administrator")
    enrol(store, "ben", "reviewer")
    case = keep(store, "chief")
    store.share(case, "ben", "review", who="chief")
    make_token(accounts, "chief", "USE")
    secret = signing_in.begin(accounts, "chief", Place("192.0.2.4", "Mozilla/5.0 Firefox"), "test")
    with served(app) as site:
        page = browser.new_page(base_url=site)
        for address in (
            "/sign-in",
            "",
            "/account",
            "/accounts",
            "/accounts/ben",
            "/accounts/-/events",
            f"/cases/{case}/share",
        ):
            if not address:
                page.context.add_cookies(
                    [{"name": "leastwise_session", "value": secret, "url": site}]
                )
                continue
            for width in (1280, 390):
                page.set_viewport_size({"width": width, "height": 900})
                page.goto(address)
                assert overflow(page) == [], address
            assert axe_faults(page) == [], address
        page.close()


def test_a_person_signs_in_with_a_real_browser(app: Any, store: Store, browser: Any) -> None:
    enrol(store, "anna")
    with served(app) as site:
        page = browser.new_page(base_url=site)
        page.goto("/account")
        page.get_by_label("Name of the account").fill("anna")
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url("**/account")
        page.get_by_role("button", name="Sign out").first.click()
        page.wait_for_url("**/sign-in?done=out")
        page.close()


def test_the_token_of_a_form_differs_by_session(app: Any, store: Store) -> None:
    enrol(store, "anna")
    assert token_in(signed_in(app, "anna")) != token_in(signed_in(app, "anna"))
