"""What opens accounts is compared with the events too: no column of no table changes unseen."""

from __future__ import annotations

import itertools
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import inspect, select

from leastwise.api.store import Store
from leastwise.api.store.accounts.keys import NOTED, Allowed
from leastwise.api.store.accounts.records import Token
from leastwise.api.store.accounts.store import AccountStore
from leastwise.api.store.accounts.tables import AccountEventTable
from leastwise.api.store.backup.dump import tables
from leastwise.api.store.backup.verify import verify
from leastwise.api.store.migrate import migrate, move_to
from leastwise.api.store.tables import Utc
from tests.store.conftest import filled
from tests.store.test_keeping import tamper
from tests.store.test_verify_accounts import LOOSE, TIGHT

HASH = "$argon2id$one"
FEW = Allowed(5, first=30, longest=60)


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = datetime(2026, 11, 25, 12, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def accounts(url: str, store: Store, opened: Callable[..., Store], clock: Clock) -> AccountStore:
    """Return a store with everything in it, and every key used once."""
    return with_everything(opened(url, clock=clock), clock)


def with_everything(store: Store, clock: Clock) -> AccountStore:
    made = AccountStore(store)
    filled(made.store)
    made.add("anna", full_name="Anna", role="administrator", password=HASH, who="console")
    made.add("ben", full_name="Ben", role="reader", who="anna", identity=("https://a", "1"))
    made.claim_attempt({"name n": FEW, "address 10.0.0.1": FEW})
    made.claim_attempt({"name n": FEW, "address 10.0.0.1": FEW})
    made.forgive(whole="name n", one=["address 10.0.0.1"])
    made.claim_attempt({"name m": FEW})
    for number in range(2):
        made.begin_session(
            f"{number}" * 64, f"s{number}", "anna", browser="Firefox", address="10.0.0.1", how="x"
        )
    token = Token("t1", "ben", "nightly", frozenset({"use"}), clock.now,
                  clock.now + timedelta(days=9), None)  # fmt: skip
    made.add_token("a" * 64, token, who="ben", address="")
    made.add_link("b" * 64, "ben", clock.now + timedelta(days=1), who="anna", address="")
    clock.now += NOTED
    assert made.session_of("0" * 64) is not None
    assert made.token_of("a" * 64) is not None
    made.end_session("anna", "s1", who="anna", what="signed out", address="")
    made.begin_factor("anna", "A" * 32, address="")
    made.switch_factor_on("anna", "A" * 32, 7, ["d" * 64, "e" * 64], but="s0", address="")
    made.use_step("anna", "A" * 32, 8)
    made.use_recovery("anna", "e" * 64, address="")
    return made


def faults(accounts: AccountStore) -> list[str]:
    return [str(one) for one in verify(accounts.store).faults]


def test_what_the_program_does_with_keys_is_whole(accounts: AccountStore, clock: Clock) -> None:
    assert faults(accounts) == []
    accounts.revoke_token("ben", "t1", who="ben", address="")
    accounts.set_password("ben", HASH, who="ben", link="b" * 64)
    accounts.forgive_all("name m")
    accounts.end_sessions("anna", who="anna", address="")
    clock.now += timedelta(days=8)
    accounts.claim_attempt({"name o": FEW})  # the old counts go
    accounts.begin_session("c" * 64, "s3", "anna", browser="", address="", how="x")
    accounts.set_active("ben", active=False, who="anna")
    accounts.renew_recovery("anna", ["f" * 64], address="")
    accounts.begin_factor("ben", "B" * 32, address="")
    accounts.begin_factor("ben", "C" * 32, address="")
    accounts.take_factor("ben", who="anna")
    assert faults(accounts) == []
    accounts.take_factor("anna", who="anna")
    assert faults(accounts) == []


def test_use_and_counts_are_kept_but_not_listed(accounts: AccountStore) -> None:
    whats = [one.what for one in accounts.events()]

    assert "signed in (x)" in whats
    assert not {"key used", "attempt counted", "attempts forgiven"} & set(whats)
    assert verify(accounts.store).account_events == accounts.count_events() + 7


TRICKS = {
    "a token planted": (
        "INSERT INTO account_tokens (digest, handle, account, label, scopes, created, expires)"
        " VALUES ('ff', 'evil', 'anna', 'x', 'use', '2026-11-25 12:00:00', '2099-01-01 00:00:00')",
        "token evil of anna: has no event",
    ),
    "scopes widened": (
        "UPDATE account_tokens SET scopes = 'manage use'",
        "token t1 of ben: is not what the events of the accounts say: scopes",
    ),
    "an end put off": ("UPDATE account_tokens SET expires = '2099-01-01 00:00:00'", "expires"),
    "a token gone": ("DELETE FROM account_tokens", "token t1 of ben: is missing"),
    "a session forged": (
        "INSERT INTO account_sessions"
        " (digest, handle, account, begun, seen, browser, address)"
        " VALUES ('ee', 'evil', 'anna', '2026-11-25 12:00:00', '2026-11-25 12:00:00', '', '')",
        "session evil of anna: has no event",
    ),
    "a session taken along": ("UPDATE account_sessions SET account = 'ben'", "account"),
    "a link forged": (
        "INSERT INTO account_links (digest, account, expires)"
        " VALUES ('dd', 'anna', '2026-11-25 12:00:00')",
        "link to set a password dd of anna: has no event",
    ),
    "counts wiped": ("DELETE FROM account_failures", "is missing, though the events"),
    "a count lowered": ("UPDATE account_failures SET count = 0", "say: count"),
    "a second factor planted": (
        "UPDATE account_factors SET secret = 'BBBBBBBBBBBBBBBBBBBBBBBBBBBBBBBB'",
        "second factor anna of anna: is not what the events of the accounts say: secret_sha256",
    ),
    "a second factor gone": ("DELETE FROM account_factors", "second factor anna of anna: is miss"),
    "a code that may be used again": ("UPDATE account_factors SET step = 7", "say: step"),
    "a second factor made to count no more": (
        "UPDATE account_factors SET since = NULL", "say: since"),
    "a recovery code planted": (
        "INSERT INTO account_recovery_codes (digest, account) VALUES ('cc', 'anna')",
        "recovery code cc of anna: has no event",
    ),
    "the newest event cut with its record": (
        "DELETE FROM documents WHERE kind = 'cohort'",
        "those after event 12 are missing, up to 13",
    ),
}  # fmt: skip


@pytest.mark.parametrize("trick", TRICKS)
def test_a_key_altered_by_hand_is_found(accounts: AccountStore, trick: str) -> None:
    altered, said = TRICKS[trick]
    steps = [altered]
    if "documents" in altered:
        steps = [
            *(one.replace("account_events", "events") for one in LOOSE[dialect(accounts)]),
            "DELETE FROM events WHERE number = 13",
            altered,
            *(one.replace("account_events", "events").replace("events of accounts", "events")
              for one in TIGHT[dialect(accounts)]),
        ]  # fmt: skip
    tamper(accounts.store, *steps)

    assert any(said in one for one in faults(accounts)), faults(accounts)


def dialect(accounts: AccountStore) -> str:
    return accounts.store.engine.dialect.name


def columns() -> list[tuple[str, str]]:
    return [(table.name, column.name) for table in tables() for column in table.columns]


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a file of SQLite with everything in it, made once."""
    path, clock = tmp_path_factory.mktemp("whole") / "records.sqlite", Clock()
    store = Store.open(f"sqlite:///{path}", clock=clock)
    with_everything(store, clock)
    store.engine.dispose()
    return path


@pytest.mark.parametrize(("table", "column"), columns())
def test_a_column_altered_by_hand_is_found(
    whole: Path, tmp_path: Path, opened: Callable[..., Store], table: str, column: str
) -> None:
    path = tmp_path / "records.sqlite"
    shutil.copy(whole, path)
    with closing(sqlite3.connect(path)) as file:
        guard = file.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND name = ?",
            (f"{table}_no_update",),
        ).fetchall()
        for name, _ in guard:
            file.execute(f"DROP TRIGGER {name}")
        wanted = f"SELECT rowid, {column} FROM {table} ORDER BY rowid LIMIT 1"  # noqa: S608
        row, now = file.execute(wanted).fetchone()
        file.execute(f"UPDATE {table} SET {column} = ? WHERE rowid = ?", (other(now), row))  # noqa: S608
        for _, made in guard:
            file.execute(made)
        file.commit()

    assert verify(opened(f"sqlite:///{path}")).faults != ()


def test_a_date_that_was_damaged_is_named_with_its_table_and_row(
    whole: Path, tmp_path: Path, opened: Callable[..., Store]
) -> None:
    dates = [
        (table.name, column.name)
        for table in tables()
        for column in table.columns
        if isinstance(column.type, Utc)
    ]
    assert len(dates) > 12
    path, expected = tmp_path / "records.sqlite", []
    shutil.copy(whole, path)
    with closing(sqlite3.connect(path)) as file:
        guards = file.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        guards = guards.fetchall()
        for name, _ in guards:
            file.execute(f"DROP TRIGGER {name}")
        for (table, column), wrong in zip(dates, itertools.cycle(WRONG_DATES), strict=False):
            wanted = f"SELECT max(rowid) FROM {table} WHERE {column} IS NOT NULL"  # noqa: S608
            (row,) = file.execute(wanted).fetchone()
            file.execute(f"UPDATE {table} SET {column} = {wrong} WHERE rowid = {row}")  # noqa: S608
            expected.append(f"table {table}, row {row}: {column} is no date")
        for _, made in guards:
            file.execute(made)
        file.commit()

    told = [str(one) for one in verify(opened(f"sqlite:///{path}")).faults]

    assert {*expected} <= {*told}


#: As SQL: a byte that is no text, a month that is none, no text at all, a number.
WRONG_DATES = ("CAST(x'ff' AS TEXT)", "'2026-13-01 12:00:00.000000'", "''", "'2461369.5'")


def other(now: Any) -> Any:
    """Return another value than the one that a row holds, of the same kind."""
    if now is None:
        return "2026-01-01 00:00:00.000000"
    if isinstance(now, int):
        return 1 - now if now in (0, 1) else now + 1000
    if isinstance(now, bytes):
        return now + b"x"
    return now.replace("2026-11", "2026-10") if now.startswith("2026-11") else now + "x"


def test_a_second_factor_is_gone_where_an_older_form_came_between(accounts: AccountStore) -> None:
    for older in ("0005", "0004"):
        accounts.begin_factor("ben", "B" * 32, address="")
        with accounts.store.engine.execution_options(writes=True).begin() as connection:
            move_to(connection, older)
        migrate(accounts.store.engine)
        assert not accounts.has_factor("anna")
        assert faults(accounts) == []


def test_no_event_of_accounts_holds_a_secret_of_a_second_factor(accounts: AccountStore) -> None:
    with accounts.store.reading() as session:
        bodies = list(session.scalars(select(AccountEventTable.body)))
    assert any("secret_sha256" in one for one in bodies)
    assert not any("A" * 32 in one for one in bodies)


def test_keys_of_an_older_form_are_taken_over(accounts: AccountStore) -> None:
    with accounts.store.engine.execution_options(writes=True).begin() as connection:
        move_to(connection, "0004")
        assert "events_newest" not in inspect(connection).get_table_names()
    tamper(accounts.store, "UPDATE account_tokens SET label = 'of then'")

    migrate(accounts.store.engine)

    assert faults(accounts) == []
    assert accounts.events(limit=1)[0].what == "keys taken over"
    tamper(accounts.store, "UPDATE account_tokens SET label = 'nightly'")
    assert faults(accounts) != []
