"""Damaged text, hollow triggers and what is none of ours are found; no bad backup is written."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.api.store.backup.verify import verify
from tests.store.conftest import body, filled
from tests.store.test_keeping import run, tamper

Opener = Callable[..., Store]


@pytest.fixture
def place(tmp_path: Path, opened: Opener) -> Path:
    """A store on SQLite with cases, photographs, words and accounts, all in its one file."""
    file = tmp_path / "a.sqlite"
    store = opened(str(file))
    filled(store)
    accounts = AccountStore(store)
    accounts.add("anna", full_name="Anna", role="administrator", who="console")
    accounts.tell("anna", "anna", "signed in (test)")
    store.create("case", body("a case", note="z" * 900), who="ann", what="begun")
    store.engine.dispose()
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")
    return file


def flip(place: Path, text: bytes) -> None:
    """Damage one byte in the middle of each place where *text* stands."""
    data = bytearray(place.read_bytes())
    assert text in data
    start = 0
    while (start := data.find(text, start)) >= 0:
        data[start + len(text) // 2] = 0xFF
        start += len(text)
    place.write_bytes(data)


@pytest.mark.parametrize("text", [b"z" * 900, b"Anna", b"signed in"])
def test_a_damaged_byte_is_told_with_its_row_and_the_rest_goes_on(place: Path, text: bytes) -> None:
    flip(place, text)

    output = run("verify", "--store", place, code=1).output

    assert "not whole" in output
    expected = "event " if text[:1] == b"z" else "of the accounts: was altered"
    assert expected in output
    assert text.decode()[:100] not in output  # what is kept isn't printed on a screen


@pytest.mark.parametrize("command", ["backup", "export-all"])
def test_a_damaged_store_is_no_traceback_and_no_backup(
    place: Path, tmp_path: Path, command: str
) -> None:
    good = tmp_path / "good"
    if command == "backup":
        run("backup", good, "--store", place)
    before = good.read_bytes() if good.exists() else b""
    flip(place, b"z" * 900)

    more = ["--replace"] if command == "backup" else []
    output = run(command, good, *more, "--store", place, code=2).output

    assert "isn't whole" in output or "damaged" in output
    assert (good.read_bytes() if good.is_file() else b"") == before


def test_a_date_that_is_none_is_told(place: Path) -> None:
    with closing(sqlite3.connect(place)) as connection:
        connection.execute("UPDATE documents SET changed = 'yesterday'")
        connection.commit()

    assert "one of the records: can't be read" in run("verify", "--store", place, code=1).output


@pytest.mark.parametrize(
    ("altered", "said"),
    [
        (
            "CREATE TRIGGER events_no_update BEFORE UPDATE ON events WHEN 0 "
            "BEGIN SELECT RAISE(ABORT, 'events are never altered'); END",
            "trigger events_no_update: was altered",
        ),
        (
            "CREATE TRIGGER events_no_update BEFORE UPDATE ON events BEGIN SELECT 1; END",
            "trigger events_no_update: was altered",
        ),
        (
            "CREATE TRIGGER ours AFTER UPDATE ON documents BEGIN "
            "UPDATE documents SET title = 'x' WHERE id = NEW.id; END",
            "trigger ours: is none of this program",
        ),
        ("CREATE TABLE other (a)", "table other: is none of this program"),
        ("CREATE VIEW seen AS SELECT * FROM events", "view seen: is none of this program"),
        ("DROP TABLE account_failures", "table account_failures: is missing"),
        ("DROP TABLE account_sessions", "table account_sessions: is missing"),
        ("DROP TABLE shares", "table shares: is missing"),
    ],
)
def test_what_is_hollow_or_none_of_ours_is_found(place: Path, altered: str, said: str) -> None:
    with closing(sqlite3.connect(place)) as connection:
        if "events_no_update" in altered:
            connection.execute("DROP TRIGGER events_no_update")
        connection.execute(altered)
        connection.commit()

    assert said in run("verify", "--store", place, code=1).output


def test_a_trigger_that_is_none_of_ours_is_found_on_postgresql(
    postgres: Any, opened: Opener
) -> None:
    store = opened(postgres.database())
    filled(store)
    assert verify(store).faults == ()
    tamper(
        store,
        "CREATE FUNCTION other() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN NEW.title := 'x'; RETURN NEW; END $$",
        "CREATE TRIGGER other BEFORE UPDATE ON documents FOR EACH ROW EXECUTE FUNCTION other()",
        "CREATE OR REPLACE FUNCTION events_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RETURN NEW; END $$",
    )

    told = [str(fault) for fault in verify(store).faults]

    assert any("trigger other of table documents: is none" in one for one in told)
    assert any("trigger events_no_update: was altered" in one for one in told)


@pytest.mark.parametrize("command", ["verify", "record"])
def test_an_empty_file_is_not_whole(tmp_path: Path, command: str) -> None:
    empty = tmp_path / "empty.sqlite"
    empty.touch()
    more = ["a-case"] if command == "record" else []

    result = run(command, *more, "--store", empty, code=1 if command == "verify" else 2)

    assert "the file is empty" in result.output
    assert empty.stat().st_size == 0
