"""Accounts that were altered past the program are found, on both databases."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import text

from leastwise.api.store import Store
from leastwise.api.store.accounts.state import state_in
from leastwise.api.store.accounts.store import AccountStore
from leastwise.api.store.backup.verify import verify
from tests.store.conftest import body, filled
from tests.store.test_keeping import run, tamper

OLD, NEW = "$argon2id$one", "$argon2id$another"
LOOSE = {
    "sqlite": [f"DROP TRIGGER account_events_no_{deed}" for deed in ("update", "delete")],
    "postgresql": [
        f"ALTER TABLE account_events DISABLE TRIGGER account_events_no_{deed}"
        for deed in ("update", "delete")
    ],
}
#: The same triggers again, as somebody would who wants to be unseen.
TIGHT = {
    "sqlite": [
        f"CREATE TRIGGER account_events_no_{deed} BEFORE {deed.upper()} ON account_events"
        " BEGIN SELECT RAISE(ABORT, 'events of accounts are never altered'); END"
        for deed in ("update", "delete")
    ],
    "postgresql": [
        f"ALTER TABLE account_events ENABLE TRIGGER account_events_no_{deed}"
        for deed in ("update", "delete")
    ],
}


@pytest.fixture
def accounts(store: Store) -> AccountStore:
    """Return a store in which every change of an account has happened once."""
    filled(store)
    made = AccountStore(store)
    made.add("anna", full_name="Anna", role="administrator", password=OLD, who="console")
    made.add("ben", full_name="Ben", role="reader", who="anna", identity=("https://a", "1"))
    made.add("cleo", full_name="Cleo", role="reader", who="anna")
    made.change("cleo", full_name="Cleo C", role="tutor", cohort="spring", who="anna")
    made.set_active("cleo", active=False, who="anna")
    made.set_active("cleo", active=True, who="anna")
    made.set_password("ben", OLD, who="ben")
    made.rehash("ben", OLD, NEW)
    made.link_identity(("https://b", "2"), "ben", address="")
    made.tell("ben", "ben", "signed in (test)")
    return made


def test_accounts_that_were_changed_by_the_program_are_whole(
    url: str, accounts: AccountStore
) -> None:
    found = verify(accounts.store)

    assert found.faults == ()
    assert found.account_events == accounts.count_events() == 10
    assert found.accounts_head == accounts.events(limit=1)[0].hash
    output = run("verify", "--store", url).output
    assert found.head in output
    assert f"{found.accounts_head} (event 10 of the accounts)" in output
    told = json.loads(run("verify", "--json", "--noted", found.head, "--store", url).stdout)
    assert (told["whole"], told["head"], told["account_events"]) == (True, found.head, 10)
    assert [one["is_there"] for one in told["noted"]] == [True]


@pytest.mark.parametrize(
    ("altered", "said"),
    [
        (
            "UPDATE accounts SET role = 'administrator' WHERE name = 'ben'",
            "account ben: is not what event 9 of the accounts says: role",
        ),
        ("UPDATE accounts SET password = 'x' WHERE name = 'anna'", "says: password"),
        ("UPDATE accounts SET password = 'x' WHERE name = 'cleo'", "account cleo: is not what"),
        ("UPDATE accounts SET active = false WHERE name = 'anna'", "whether it is switched on"),
        ("UPDATE accounts SET cohort = 'autumn' WHERE name = 'cleo'", "says: cohort"),
        ("UPDATE accounts SET full_name = 'Else' WHERE name = 'cleo'", "says: name"),
        ("UPDATE accounts SET created = '2020-01-01' WHERE name = 'cleo'", "says: date"),
        ("DELETE FROM accounts WHERE name = 'cleo'", "account cleo: is missing, though there"),
        (
            "INSERT INTO accounts (name, full_name, role, cohort, password, active, created)"
            " VALUES ('eve', 'Eve', 'administrator', '', 'x', true, '2026-11-25 12:00:00.000000')",
            "account eve: has no event that says how it came about",
        ),
        (
            "INSERT INTO account_identities (issuer, subject, account, linked)"
            " VALUES ('https://evil', '1', 'anna', '2026-11-25 12:00:00.000000')",
            "account anna: is not what event 1 of the accounts says: sign-in elsewhere",
        ),
        ("UPDATE account_identities SET account = 'anna'", "sign-in elsewhere"),
        ("DELETE FROM account_identities", "account ben: is not what"),
        ("DELETE FROM account_events_newest", "the note of the newest of them is missing"),
    ],
)
def test_an_account_altered_by_hand_is_found(
    url: str, accounts: AccountStore, altered: str, said: str
) -> None:
    tamper(accounts.store, altered)

    assert said in run("verify", "--store", url, code=1).output


@pytest.mark.parametrize(
    ("altered", "said"),
    [
        ("DELETE FROM account_events WHERE number = 10", "those after event 9 are missing"),
        ("DELETE FROM account_events WHERE number > 8", "up to 10"),
        ("DELETE FROM account_events WHERE number = 5", "event 5 is missing before it"),
        ("DELETE FROM account_events", "those after event 0 are missing, up to 10"),
        ("UPDATE account_events SET what = 'x' WHERE number = 4", "event 4 of the accounts: was"),
        ("UPDATE account_events SET body = '' WHERE number = 2", "event 2 of the accounts: was"),
        ("UPDATE account_events SET body = '[' WHERE number = 2", "event 2 of the accounts: was"),
        ("UPDATE account_events SET body = '{}' WHERE number = 10", "event 10 of the accounts"),
    ],
)
def test_an_event_of_accounts_altered_by_hand_is_found_though_the_triggers_are_there_again(
    url: str, accounts: AccountStore, altered: str, said: str
) -> None:
    dialect = accounts.store.engine.dialect.name
    tamper(accounts.store, *LOOSE[dialect], altered, *TIGHT[dialect])

    output = run("verify", "--store", url, code=1).output

    assert said in output
    assert "trigger" not in output


def test_an_event_cut_off_at_the_end_is_still_missed_after_the_next_one(
    url: str, accounts: AccountStore
) -> None:
    dialect = accounts.store.engine.dialect.name
    cut = "DELETE FROM account_events WHERE number = 10"
    tamper(accounts.store, *LOOSE[dialect], cut, *TIGHT[dialect])
    accounts.tell("anna", "anna", "signed in (test)")
    accounts.tell("anna", "anna", "signed in (test)")

    said = run("verify", "--store", url, code=1).output

    assert "event 10 is not the one that was noted as the newest" in said


def test_triggers_of_account_events_that_are_gone_are_found(
    url: str, accounts: AccountStore
) -> None:
    tamper(accounts.store, *LOOSE[accounts.store.engine.dialect.name])

    output = run("verify", "--store", url, code=1).output

    assert "trigger account_events_no_update: is missing" in output
    assert "trigger account_events_no_delete: is missing" in output


def test_the_next_change_of_an_account_does_not_vouch_for_what_was_altered(
    accounts: AccountStore,
) -> None:
    tamper(accounts.store, "UPDATE accounts SET role = 'administrator' WHERE name = 'ben'")
    accounts.set_password("ben", OLD, who="ben")
    accounts.set_active("ben", active=False, who="anna")

    assert [str(fault) for fault in verify(accounts.store).faults] == [
        "account ben: is not what event 12 of the accounts says: role"
    ]
    accounts.change("ben", full_name="Ben", role="reader", cohort="", who="anna")
    assert verify(accounts.store).faults == ()


def test_no_event_of_accounts_holds_a_hash_of_a_password(accounts: AccountStore) -> None:
    with accounts.store.reading() as session:
        rows = session.execute(text("SELECT what, body FROM account_events ORDER BY number")).all()

    states = [state_in(row.body) for row in rows]
    assert [state is not None for state in states] == [True] * 9 + [False]
    assert not any("argon2" in row.what + row.body for row in rows)
    assert states[8] is not None
    assert states[8]["identities"] == [["https://a", "1"], ["https://b", "2"]]


# -- hashes that were noted


def test_a_hash_that_was_noted_is_found_in_either_chain_or_told_as_missing(
    url: str, accounts: AccountStore
) -> None:
    store = accounts.store
    head, other = verify(store).head, verify(store).accounts_head
    case = store.create("case", body(), who="ann", what="begun").id
    accounts.tell("anna", "anna", "signed in (test)")

    output = run("verify", "--noted", head.upper(), "--noted", other, "--store", url).output
    assert f"Noted {head}: event 13 of the records, {store.read(case).created:%Y-%m-%d}" in output
    assert f"Noted {other}: event 10 of the accounts, " in output

    output = run("verify", "--noted", head, "--noted", "ab" * 32, "--store", url, code=1).output
    assert f"Noted {'ab' * 32}: is in neither chain" in output
    start = run("verify", "--noted", "0" * 64, "--store", url).output
    assert "was noted before there was any event" in start
    assert "event 13 of the records" in output
    assert "expected the 64 signs" in run("verify", "--noted", "x", "--store", url, code=2).output


# -- what was derived

SHOT = "name, stage, size, date or person are not what its event says"


@pytest.mark.parametrize(
    ("altered", "said"),
    [
        ("UPDATE documents SET search = 'x' WHERE kind = 'case'", "from its record: search"),
        ("UPDATE documents SET object = 'x' WHERE kind = 'case'", "from its record: object"),
        ("UPDATE documents SET purpose = 'x' WHERE kind = 'case'", "from its record: purpose"),
        ("UPDATE documents SET demo = false WHERE kind = 'case'", "from its record: demo"),
        ("UPDATE documents SET search = 'x' WHERE kind = 'words'", "from its record: search"),
        ("UPDATE pictures SET name = 'x'", SHOT),
        ("UPDATE pictures SET stage = 'after'", SHOT),
        ("UPDATE pictures SET added_by = 'eve'", SHOT),
        ("UPDATE pictures SET width = 9", SHOT),
    ],
)
def test_what_lists_and_photographs_show_beside_the_record_is_compared(
    url: str, store: Store, altered: str, said: str
) -> None:
    filled(store)
    tamper(store, altered)

    assert said in run("verify", "--store", url, code=1).output


def test_a_body_that_is_none_is_a_fault_and_no_traceback(url: str, store: Store) -> None:
    filled(store)
    tamper(store, "UPDATE documents SET body = '['")

    assert "is not what its newest event says" in run("verify", "--store", url, code=1).output


def test_accounts_of_the_program_stay_whole_whatever_is_done_with_them(
    accounts: AccountStore,
) -> None:
    """The same change again, a name that is taken, the last administrator: no event comes of it."""
    assert accounts.add("anna", full_name="x", role="reader", who="x") is None
    assert not accounts.set_active("anna", active=False, who="anna")
    assert not accounts.change("anna", full_name="x", role="reader", cohort="", who="anna")
    assert accounts.change("ben", full_name="Ben", role="reader", cohort="", who="anna")
    assert accounts.link_identity(("https://a", "1"), "ben", address="")
    accounts.rehash("ben", OLD, "$argon2id$late")
    assert accounts.count_events() == 10
    assert verify(accounts.store).faults == ()
