"""Accounts on SQLite and on PostgreSQL: the same answers, the same refusals, many at once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from leastwise.api.identity import attempts, signing_in
from leastwise.api.identity.errors import TooManyError
from leastwise.api.identity.secret import digest
from leastwise.api.identity.signing_in import Place
from leastwise.api.store import Store, StoreError
from leastwise.api.store.accounts.cases import cases_owned_by, hand_over
from leastwise.api.store.accounts.store import AccountStore


def enrol(store: Store, name: str, role: str = "contributor", cohort: str = "") -> AccountStore:
    accounts = AccountStore(store)
    assert accounts.add(name, full_name=name, role=role, cohort=cohort, who="console")
    return accounts


def test_what_opens_an_account_is_kept_found_and_taken_away(store: Store) -> None:
    accounts = enrol(store, "anna", "administrator")
    session = digest(signing_in.begin(accounts, "anna", Place("192.0.2.1", "x"), "test"))
    token = digest(
        signing_in.make_token(
            accounts,
            "anna",
            label="x",
            scopes=frozenset({"USE", "READ_CASE"}),
            expires=accounts.now() + timedelta(days=1),
        )
    )
    link = digest(signing_in.make_link(accounts, "anna", who="console"))
    assert accounts.link_identity(("https://login.example", "1"), "anna", address="")
    enrol(store, "ben", "administrator")

    found = accounts.token_of(token)
    assert found is not None
    assert found.scopes == {"USE", "READ_CASE"}
    assert accounts.session_of(session) is not None
    assert accounts.link_of(link) == "anna"
    assert accounts.identity("https://login.example", "1") == "anna"
    assert not accounts.link_identity(("https://login.example", "1"), "ben", address="")

    assert accounts.set_active("anna", active=False, who="ben")
    assert accounts.session_of(session) is None
    assert accounts.token_of(token) is None
    assert accounts.link_of(link) is None
    assert accounts.broken_at() == 0


def test_many_guesses_at_once_are_no_more_than_the_allowed(store: Store) -> None:
    accounts = enrol(store, "anna")

    def guess(_: int) -> bool:
        try:
            attempts.claim(accounts, "anna", "192.0.2.1")
        except TooManyError:
            return False
        return True

    with ThreadPoolExecutor(8) as pool:
        tried = list(pool.map(guess, range(40)))

    assert sum(tried) == attempts.AT_AN_ADDRESS.most


def test_events_written_at_once_are_one_chain(store: Store) -> None:
    accounts = enrol(store, "anna")
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda n: accounts.tell("anna", "anna", f"deed {n}"), range(40)))
    assert accounts.count_events() == 41
    assert accounts.broken_at() == 0


@pytest.mark.parametrize(
    "deed", ["UPDATE account_events SET what = 'x'", "DELETE FROM account_events"]
)
def test_events_of_accounts_are_never_altered(store: Store, deed: str) -> None:
    enrol(store, "anna")
    with pytest.raises((DBAPIError, StoreError)), store.session() as session:
        session.execute(text(deed))


def test_two_administrators_can_not_switch_each_other_off_at_once(store: Store) -> None:
    accounts = enrol(store, "anna", "administrator")
    enrol(store, "ben", "administrator")
    with ThreadPoolExecutor(2) as pool:
        done = list(
            pool.map(
                lambda pair: accounts.set_active(pair[0], active=False, who=pair[1]),
                [("anna", "ben"), ("ben", "anna")],
            )
        )
    assert sorted(done) == [False, True]
    assert accounts.has_administrator()


def test_a_case_changes_hands_and_a_tutor_lists_those_of_the_cohort(store: Store) -> None:
    accounts = enrol(store, "tutor", "tutor", "spring")
    enrol(store, "pupil", cohort="spring")
    enrol(store, "guest")
    case = store.create("case", {"title": "x"}, who="guest", what="begun", title="x").id
    store.share(case, "pupil", "read", who="guest")
    assert store.cases(account="tutor")[1] == 0

    hand_over(accounts, [case], "pupil", who="guest")

    assert store.cases(account="tutor")[1] == 1
    assert cases_owned_by(accounts, "pupil") == [(case, "x")]
    assert store.shares(case) == {}
    assert store.read(case).owner == "pupil"
    assert store.history(case)[-1].owner == "pupil"


def test_accounts_are_found_by_any_word(store: Store) -> None:
    accounts = enrol(store, "anna", "knowledge editor")
    enrol(store, "ben", "reader", "Spring 2026")
    assert [one.name for one in accounts.accounts("knowledge")] == ["anna"]
    assert [one.name for one in accounts.accounts("spring BEN")] == ["ben"]
    assert accounts.accounts("%") == []
