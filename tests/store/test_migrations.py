"""The steps that made the tables: up, down, at once from two processes, and never backwards."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Engine, MetaData, inspect, text
from sqlalchemy.exc import DBAPIError

from leastwise.api.store import Store, StoreDamaged, StoreError, StoreNewer, StoreUnreachable
from leastwise.api.store.accounts import tables as _accounts  # noqa: F401 - puts its tables on Base
from leastwise.api.store.accounts.store import AccountStore
from leastwise.api.store.backup.verify import verify
from leastwise.api.store.engine import make_engine
from leastwise.api.store.migrate import head, migrate, move_to, revision_of, steps
from leastwise.api.store.tables import Base
from tests.store.conftest import filled

OPEN = """
import sys
from leastwise.api.store import Store
sys.stdin.readline()
store = Store.open(sys.argv[1])
store.create("case", {}, who="me", what="begun")
store.engine.dispose()
"""
PLAIN = "$argon2id$of-a-password"


def contents(engine: Engine) -> dict[str, Any]:
    """Return every row of every table; instants without their zone, which SQLite forgets."""
    found = MetaData()
    with engine.connect() as connection:
        found.reflect(connection)
        return {
            table.name: sorted(
                repr(row)
                .replace(", tzinfo=datetime.timezone.utc", "")
                .replace(", tzinfo=zoneinfo.ZoneInfo(key='UTC')", "")
                for row in connection.execute(table.select())
            )
            for table in found.sorted_tables
            if table.name != "alembic_version"
        }


def test_the_steps_make_the_tables_that_the_program_works_with(store: Store) -> None:
    with store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []
        assert set(inspect(connection).get_table_names()) == {
            *Base.metadata.tables,
            "alembic_version",
        }


def test_an_opened_store_is_in_the_newest_form(store: Store) -> None:
    with store.engine.connect() as connection:
        assert revision_of(connection) == head()


def test_every_step_goes_down_and_up_again_with_the_records_unharmed(store: Store) -> None:
    case = filled(store)
    before, faults = contents(store.engine), verify(store).faults
    records = {"documents", "events", "pictures", "shares"}

    for step in steps()[1:]:  # newest first, but the one that it all began with
        with store.engine.execution_options(writes=True).begin() as connection:
            move_to(connection, step)
            assert revision_of(connection) == step
        kept = contents(store.engine)
        assert {name: kept[name] for name in records} == {n: before[n] for n in records}
    migrate(store.engine)

    assert contents(store.engine) == before
    assert verify(store).faults == faults == ()
    assert store.read(case).version == 2


FIRST = {
    "leastwise_case": 1,
    "object": {"name": "collar"},
    "parts": [{"id": "a", "name": "a", "materials": [{"material": "silk", "note": "«ø»"}]}],
    "aim": {"purpose": "display"},
}


def test_a_case_of_the_first_form_is_carried_over_and_the_chain_goes_on(store: Store) -> None:
    case = store.create("case", FIRST, who="ann", what="begun", title="A collar").id
    gone = store.create("case", FIRST, who="ann", what="begun", title="Gone").id
    store.remove(gone, who="ann")
    draft = store.create("case", {"title": "nothing yet"}, who="ann", what="begun").id
    words = store.create("words", {"aim": "x"}, who="ann", what="words", case=case).id
    _down(store, "0003")

    migrate(store.engine)

    now = store.read(case)
    assert now.body == FIRST | {"leastwise_case": 2}
    assert (now.version, now.changed_by, now.title) == (2, "leastwise", "A collar")
    assert store.as_of(case, version=1).body == FIRST
    assert [e.what for e in store.history(case)][-1:] == [
        "carried over to the second form of the record"
    ]
    assert store.bring_back(gone, who="ann").body["leastwise_case"] == 2
    assert (store.read(draft).version, store.read(words).version) == (1, 1)
    assert verify(store).faults == ()


def test_on_the_way_down_only_what_the_first_form_can_hold_is_turned_back(store: Store) -> None:
    plain = FIRST | {"leastwise_case": 2, "needs": []}
    plain["parts"] = [FIRST["parts"][0] | {"fibre": "named", "finish": "not-examined"}]  # type: ignore[index]
    richer = plain | {"aim": {"purpose": "wearing"}}
    stated = plain | {"parts": [FIRST["parts"][0] | {"colour": "none"}]}  # type: ignore[index]
    waxed = plain | {"damages": [{"id": "spill", "damage": "stain", "deposit": "wax"}]}
    all_of_them = (plain, richer, stated, waxed)
    ids = [store.create("case", one, who="ann", what="begun").id for one in all_of_them]

    _down(store, "0003")

    assert [store.read(one).body for one in ids] == [FIRST, richer, stated, waxed]
    assert [store.read(one).version for one in ids] == [2, 1, 1, 1]
    assert store.as_of(ids[0], version=1).body == plain
    migrate(store.engine)
    assert store.read(ids[0]).body == FIRST | {"leastwise_case": 2}
    assert verify(store).faults == ()


def _down(store: Store, step: str) -> None:
    with store.engine.execution_options(writes=True).begin() as connection:
        move_to(connection, step)


def test_accounts_of_an_older_form_are_taken_over_and_the_chain_goes_on(store: Store) -> None:
    accounts = AccountStore(store)
    accounts.add("anna", full_name="Anna Ü", role="administrator", password=PLAIN, who="console")
    accounts.add("ben", full_name="Ben", role="reader", who="anna", identity=("https://a", "1"))
    accounts.tell("ben", "ben", "signed in")
    before = contents(store.engine)["accounts"]
    for _ in range(2):
        events = accounts.count_events()
        with store.engine.execution_options(writes=True).begin() as connection:
            move_to(connection, "0002")
            assert "account_events_newest" not in inspect(connection).get_table_names()
        assert contents(store.engine)["accounts"] == before

        migrate(store.engine)

        taken = accounts.events(limit=3)
        assert [one.what for one in taken] == ["keys taken over", *["state taken over"] * 2]
        assert accounts.count_events() == events + 3
        assert accounts.broken_at() == 0
        assert verify(store).faults == ()
    with pytest.raises((DBAPIError, StoreError)), store.session() as session:
        session.execute(text("UPDATE account_events SET what = 'x'"))
    accounts.change("ben", full_name="Ben", role="tutor", cohort="", who="anna")
    assert verify(store).faults == ()


def test_a_chain_of_accounts_that_was_broken_is_not_mended_by_going_down(store: Store) -> None:
    accounts = AccountStore(store)
    accounts.add("anna", full_name="Anna", role="administrator", who="console")
    for n in range(3):
        accounts.tell("anna", "anna", f"deed {n}")
    loose = (
        "DROP TRIGGER account_events_no_update"
        if store.engine.dialect.name == "sqlite"
        else "ALTER TABLE account_events DISABLE TRIGGER account_events_no_update"
    )
    with store.session() as session:
        session.execute(text(loose))
        session.execute(text("UPDATE account_events SET what = 'nothing' WHERE number = 3"))
        if store.engine.dialect.name == "sqlite":  # the way down wants it there
            session.execute(
                text(
                    "CREATE TRIGGER account_events_no_update BEFORE UPDATE ON account_events"
                    " BEGIN SELECT RAISE(ABORT, 'events of accounts are never altered'); END"
                )
            )
    with store.engine.execution_options(writes=True).begin() as connection:
        move_to(connection, "0002")
    migrate(store.engine)

    assert accounts.broken_at() == 3
    assert "event 3 of the accounts" in str(verify(store).faults[0])


def test_the_first_step_goes_down_to_nothing_and_up_again(store: Store) -> None:
    filled(store)
    with store.engine.execution_options(writes=True).begin() as connection:
        move_to(connection, "base")
        assert inspect(connection).get_table_names() == ["alembic_version"]

    migrate(store.engine)

    filled(store)
    assert verify(store).faults == ()


def test_a_step_that_is_broken_off_leaves_the_store_as_it_was(store: Store) -> None:
    filled(store)
    before = contents(store.engine)

    with store.engine.connect() as connection:
        move_to(connection, "base")
        connection.rollback()

    assert contents(store.engine) == before


@pytest.mark.slow
def test_processes_that_start_at_once_make_one_store(
    url: str, opened: Callable[..., Store]
) -> None:
    processes = [
        subprocess.Popen(  # noqa: S603 - our own command
            [sys.executable, "-c", OPEN, url], stdin=subprocess.PIPE, stderr=subprocess.PIPE
        )
        for _ in range(3)
    ]
    for one in processes:
        assert one.stdin is not None
        one.stdin.write(b"\n")
        one.stdin.flush()
    for one in processes:
        assert (one.communicate(timeout=120)[1], one.returncode) == (b"", 0)

    store = opened(url)
    assert store.cases()[1] == 3
    assert verify(store).faults == ()


def test_a_store_of_a_newer_program_is_refused_and_left_alone(url: str, store: Store) -> None:
    with store.session() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '9999'"))

    with pytest.raises(StoreNewer, match=r"made by a newer Leastwise \(its form is '9999'"):
        Store.open(url)

    with store.reading() as session:
        assert session.execute(text("SELECT version_num FROM alembic_version")).scalar() == "9999"


def test_a_file_of_another_program_is_refused_and_left_alone(tmp_path: Path) -> None:
    foreign, words = tmp_path / "foreign.sqlite", tmp_path / "words.txt"
    with closing(sqlite3.connect(foreign)) as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
    words.write_text("This is no database at all, and has never been one. " * 100)

    for path in (foreign, words):
        before = path.read_bytes()
        with pytest.raises(StoreDamaged, match="not a store of Leastwise"):
            Store.open(str(path))
        assert path.name == "foreign.sqlite" or path.read_bytes() == before
    with closing(sqlite3.connect(foreign)) as connection:
        names = connection.execute("SELECT name FROM sqlite_master").fetchall()
    assert names == [("recipes",)]


def test_a_store_that_has_to_be_there_is_not_made(tmp_path: Path) -> None:
    with pytest.raises(StoreUnreachable, match="there is no such file"):
        Store.open(str(tmp_path / "none.sqlite"), make=False)

    assert list(tmp_path.iterdir()) == []


def test_a_folder_whose_name_holds_signs_of_its_own_is_no_hindrance(
    tmp_path: Path, opened: Callable[..., Store]
) -> None:
    path = tmp_path / "100% wool? #1 & ö" / "a b.sqlite"

    assert opened(str(path)).cases() == ([], 0)
    assert path.is_file()


def test_a_postgresql_database_that_serves_others_too_is_no_hindrance(
    postgres: Any, opened: Callable[..., Store]
) -> None:
    url = postgres.database()
    engine = make_engine(url)
    with engine.begin() as connection:
        connection.execute(text("CREATE TABLE recipes (name TEXT)"))
    engine.dispose()

    assert opened(url).cases() == ([], 0)


def test_the_steps_make_one_line() -> None:
    assert json.dumps(steps()) == json.dumps(sorted(steps(), reverse=True))
