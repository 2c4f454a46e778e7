"""Backup, restore, verify, export and import, by the commands that a person types."""

from __future__ import annotations

import json
import shutil
import sqlite3
import stat
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from sqlalchemy import text
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.api.store.backup.verify import verify
from tests.store.conftest import body, filled
from tests.store.test_migrations import contents
from tests.yaml_files import parse_yaml, read_yaml

Opener = Callable[..., Store]


def run(*args: str | Path, code: int = 0) -> Result:
    """Run a command and expect its exit code; never a traceback."""
    env = {"COLUMNS": "140", "NO_COLOR": "1", "LEASTWISE_STORE": "/nonexistent/never-used"}
    result = CliRunner(env=env).invoke(app, [str(one) for one in args])
    assert result.exit_code == code, result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result


def files(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def tamper(store: Store, *lines: str) -> None:
    """Alter the database past the program, as somebody with the file in hand could."""
    with store.session() as session:
        for line in lines:
            session.execute(text(line))


# -- export and import


def test_an_export_read_into_an_empty_store_gives_the_same_bytes_again(
    url: str, store: Store, another: Callable[[], str], opened: Opener, tmp_path: Path
) -> None:
    case, new = filled(store), another()

    run("export-all", tmp_path / "one", "--store", url)
    run("import-all", tmp_path / "one", "--store", new)
    run("export-all", tmp_path / "two", "--store", new)

    assert files(tmp_path / "one") == files(tmp_path / "two")
    found = opened(new)
    assert verify(found).faults == ()
    assert verify(found).head == verify(store).head
    assert contents(found.engine) == contents(store.engine)
    assert [row.id for row in found.cases(query="LACE")[0]] == [case]


def test_an_export_is_in_forms_that_any_program_reads(store: Store, tmp_path: Path) -> None:
    case = filled(store)
    run("export-all", tmp_path / "out", "--store", store.engine.url.database or "") if (
        store.engine.dialect.name == "sqlite"
    ) else run("export-all", tmp_path / "out", "--store", str(store.engine.url))
    place = tmp_path / "out" / "cases" / case

    record = json.loads((place / "record.json").read_text("utf-8"))
    events = [json.loads(line) for line in (place / "events.jsonl").read_bytes().splitlines()]
    shown = store.pictures(case)[0]

    assert record == read_yaml(place / "record.yaml")
    assert record == store.read(case).body
    assert [event["hash"] for event in events] == [
        event.hash for event in reversed(store.events_of_case(case))
    ]
    assert (place / "pictures" / f"{shown.id}.png").read_bytes() == b"first file"
    assert "first event follows 64 zeros" in (tmp_path / "out" / "README.txt").read_text("utf-8")


def test_the_readme_of_an_export_says_how_a_hash_is_made(store: Store, tmp_path: Path) -> None:
    """Works the chain out anew from the files alone, by what the readme says."""
    import hashlib  # noqa: PLC0415 - so that nothing of the program is used

    from leastwise.api.store.backup.exported import export_all  # noqa: PLC0415

    filled(store)
    export_all(store, tmp_path / "out")
    lines = [
        json.loads(line)
        for path in (tmp_path / "out").rglob("events.jsonl")
        for line in path.read_bytes().splitlines()
    ]

    def written(value: object) -> str:
        return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))

    before = "0" * 64
    for event in sorted(lines, key=lambda one: one["number"]):
        names = ("number", "document", "case", "kind", "version", "at", "who", "what", "title")
        fields = [str(event[name]) for name in (*names, "owner")]
        fields += ["removed" if event["removed"] else "", written(event["body"])]
        before = hashlib.sha256(written({"before": before, "fields": fields}).encode()).hexdigest()
        assert event["hash"] == before
    assert len(lines) == verify(store).events


def test_an_export_that_was_changed_is_not_read(tmp_path: Path, opened: Opener) -> None:
    store = opened(str(tmp_path / "a.sqlite"))
    case = filled(store)
    run("export-all", tmp_path / "out", "--store", tmp_path / "a.sqlite")
    new = tmp_path / "one" / "two" / "new.sqlite"
    events = f"cases/{case}/events.jsonl"

    def spoilt(change: Callable[[Path], object], said: str) -> None:
        shutil.rmtree(tmp_path / "bad", ignore_errors=True)
        shutil.copytree(tmp_path / "out", tmp_path / "bad")
        change(tmp_path / "bad")
        assert said in run("import-all", tmp_path / "bad", "--store", new, code=2).output
        assert not new.parent.exists()  # no store, and no folder made for it

    def replaced(old: bytes, by: bytes) -> Callable[[Path], object]:
        def change(folder: Path) -> None:
            data = (folder / events).read_bytes().replace(old, by)
            (folder / events).write_bytes(data)
            _manifest(folder, events, data)

        return change

    spoilt(lambda at: (at / events).write_bytes(b""), "SHA-256 is not the manifest's")
    spoilt(lambda at: (at / events).unlink(), "No such file")
    spoilt(lambda at: (at / "manifest.json").write_text("{}"), "can't be read")
    spoilt(lambda at: _manifest(at, "../../etc/passwd", b""), "outside the folder")
    spoilt(replaced(b'"ann"', b'"eve"'), "was altered")
    spoilt(replaced(b'"number": 2,', b'"number": 99,'), "is missing before it")
    spoilt(replaced(b'"who"', b'"hoo"'), "line 1: is not an event")


def _manifest(folder: Path, name: str, data: bytes) -> None:
    import hashlib  # noqa: PLC0415 - as above

    path = folder / "manifest.json"
    said = json.loads(path.read_text("utf-8"))
    said["files"][name] = {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
    path.write_text(json.dumps(said), "utf-8")


def test_an_export_is_not_written_over_nor_read_into_what_is_there(
    tmp_path: Path, opened: Opener
) -> None:
    place = tmp_path / "a.sqlite"
    filled(opened(str(place)))
    run("export-all", tmp_path / "out", "--store", place)

    assert "is not empty" in run("export-all", tmp_path / "out", "--store", place, code=2).output
    assert "holds records" in run("import-all", tmp_path / "out", "--store", place, code=2).output


# -- backup and restore


HASHED = "$argon2id$of-a-password"


def enrol(store: Store) -> None:
    AccountStore(store).add("ann", full_name="Ann", role="reader", password=HASHED, who="console")


def without_the_restore(held: dict[str, Any]) -> dict[str, Any]:
    """Return what a store holds but for the event, and the note of it, that a restore adds."""
    events = [row for row in held["account_events"] if "restored from a" not in row]
    return {**held, "account_events": events, "account_events_newest": []}


def test_a_backup_brings_back_the_store_and_the_old_one_is_kept_beside(
    url: str, store: Store, opened: Opener, tmp_path: Path
) -> None:
    case, file = filled(store), tmp_path / "a.backup"
    enrol(store)
    before = contents(store.engine)
    run("backup", file, "--store", url)
    store.save(case, 2, body("later"), who="ann", what="after the backup")
    store.engine.dispose()

    assert "not touched" in run("restore", file, "--store", url, code=2).output
    said = run("restore", file, "--store", url, "--replace").output

    again = opened(url)
    now = contents(again.engine)
    assert without_the_restore(now) == without_the_restore(before)
    assert len(now["account_events"]) == len(before["account_events"]) + 1
    assert verify(again).faults == ()
    assert again.save(case, 2, body("goes on"), who="ann", what="x").version == 3
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    kept = said.split("The old store is kept as ")[1].strip().rstrip(".")
    if url.startswith("sqlite"):
        assert opened(kept).read(case).body == body("later")
    else:
        schema = kept.removeprefix("schema ")
        with again.reading() as session:
            wanted = text(f"SELECT body FROM {schema}.documents WHERE id = :id")  # noqa: S608
            assert "later" in session.execute(wanted, {"id": case}).scalar_one()


def test_a_backup_of_one_database_is_restored_into_the_other(
    url: str, store: Store, postgres: Any, opened: Opener, tmp_path: Path
) -> None:
    filled(store)
    enrol(store)
    target = postgres.database() if url.startswith("sqlite") else str(tmp_path / "new.sqlite")
    run("backup", tmp_path / "a.backup", "--store", url)

    run("restore", tmp_path / "a.backup", "--store", target)

    other = opened(target)
    now, before = contents(other.engine), contents(store.engine)
    assert without_the_restore(now) == without_the_restore(before)
    assert verify(other).faults == ()


def test_a_backup_made_while_others_write_is_whole(
    url: str, store: Store, another: Callable[[], str], opened: Opener, tmp_path: Path
) -> None:
    import threading  # noqa: PLC0415

    stop, made = threading.Event(), 0

    def write() -> None:
        nonlocal made
        while not stop.is_set():
            store.create("case", body(f"case {made}"), who="ann", what="begun")
            made += 1

    writer = threading.Thread(target=write)
    writer.start()
    try:
        while made < 5:
            stop.wait(0.01)
        run("backup", tmp_path / "a.backup", "--store", url)
        at_least = 5
    finally:
        stop.set()
        writer.join(30)
    new = another()
    run("restore", tmp_path / "a.backup", "--store", new)

    found = verify(opened(new))
    assert found.faults == ()
    assert at_least <= found.events <= made


def test_a_store_that_is_in_use_is_not_put_aside(tmp_path: Path, opened: Opener) -> None:
    place = tmp_path / "a.sqlite"
    store = opened(str(place))
    case = filled(store)
    run("backup", tmp_path / "a.backup", "--store", place)

    with store.reading() as session:
        session.execute(text("SELECT 1 FROM events"))
        said = run("restore", tmp_path / "a.backup", "--store", place, "--replace", code=2).output

    assert "is in use; stop 'leastwise serve'" in said
    assert store.read(case).version == 2
    assert sorted(one.name for one in tmp_path.iterdir() if "sqlite" in one.name) == [
        "a.sqlite", "a.sqlite-shm", "a.sqlite-wal",
    ]  # fmt: skip


def test_a_damaged_backup_is_refused_and_a_damaged_store_is_replaced(
    tmp_path: Path, opened: Opener
) -> None:
    place, file = tmp_path / "a.sqlite", tmp_path / "a.backup"
    store = opened(str(place))
    case = filled(store)
    run("backup", file, "--store", place)
    store.engine.dispose()
    whole, bad = file.read_bytes(), tmp_path / "bad.backup"

    bad.write_bytes(whole.replace(b"collar of lace", b"collar of wool"))
    said = run("restore", bad, "--store", place, "--replace", code=2).output
    assert "this backup is damaged (event 2" in said
    torn = bytearray(whole)
    torn[100:4000] = b"\xff" * 3900
    for data in (b"no backup at all", bytes(torn), whole[: len(whole) // 2], b""):
        bad.write_bytes(data)
        said = run("restore", bad, "--store", place, "--replace", code=2).output
        assert said.startswith(f"leastwise: {bad}: this backup ")
        assert "damaged" in said
        assert "Nothing was changed" in said or "nothing was changed" in said
        assert ".a.sqlite-" not in said  # the working copy, which nobody knows
        assert "in its place" not in said
    assert opened(str(place)).read(case).version == 2

    for one in opened(str(place)).engine, store.engine:
        one.dispose()
    place.write_bytes(b"torn" * 2000)
    run("restore", file, "--store", place, "--replace")
    assert opened(str(place)).read(case).version == 2


def test_a_dump_of_postgresql_that_was_changed_is_refused(
    postgres: Any, opened: Opener, tmp_path: Path
) -> None:
    import zipfile  # noqa: PLC0415

    url, file, bad = postgres.database(), tmp_path / "a.backup", tmp_path / "bad.backup"
    filled(opened(url))
    run("backup", file, "--store", url)
    with zipfile.ZipFile(file) as old, zipfile.ZipFile(bad, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b"collar of lace", b"collar of wool"))

    said = run("restore", bad, "--store", postgres.database(), code=2).output

    assert "documents.jsonl" in said
    assert "damaged" in said


def test_a_backup_is_written_over_only_when_asked(tmp_path: Path, opened: Opener) -> None:
    place, file = tmp_path / "a.sqlite", tmp_path / "a.backup"
    filled(opened(str(place)))
    run("backup", file, "--store", place)

    assert "already exists" in run("backup", file, "--store", place, code=2).output
    run("backup", file, "--store", place, "--replace")
    nowhere = run("backup", tmp_path / "no" / "a.backup", "--store", place, code=2)
    assert "No such file or directory" in nowhere.output


@pytest.mark.parametrize("command", ["backup", "verify", "export-all", "record"])
def test_a_store_that_is_not_there_is_told_and_not_made(tmp_path: Path, command: str) -> None:
    given = [] if command == "verify" else [tmp_path / "x"]

    said = run(command, *given, "--store", tmp_path / "none.sqlite", code=2).output

    assert "none.sqlite: the store can't be reached (there is no such file)" in said
    assert list(tmp_path.iterdir()) == []


# -- verify

LOOSE = {
    "sqlite": ["DROP TRIGGER events_no_update", "DROP TRIGGER events_no_delete"],
    "postgresql": [
        "ALTER TABLE events DISABLE TRIGGER events_no_update",
        "ALTER TABLE events DISABLE TRIGGER events_no_delete",
    ],
}


@pytest.mark.parametrize(
    ("altered", "said"),
    [
        ("UPDATE events SET body = '{}' WHERE number = 2", "event 2 (case "),
        ("UPDATE events SET who = 'eve' WHERE number = 3", "event 3 (words "),
        ("UPDATE events SET removed = true WHERE number = 1", "event 1 (case "),
        ("DELETE FROM events WHERE number = 4", "event 4 is missing before it"),
        ("DELETE FROM events WHERE number = 13", "though there"),
    ],
)
def test_an_altered_event_is_found_with_its_place(
    url: str, store: Store, altered: str, said: str
) -> None:
    filled(store)
    tamper(store, *LOOSE[store.engine.dialect.name], altered)

    output = run("verify", "--store", url, code=1).output

    assert "trigger events_no_update: is missing" in output
    assert said in output or "has no event" in output


@pytest.mark.parametrize(
    ("altered", "said"),
    [
        ("UPDATE documents SET title = 'Other' WHERE kind = 'case'", "not what its newest event"),
        ("UPDATE documents SET body = '{}' WHERE kind = 'words'", "not what its newest event says"),
        ("UPDATE documents SET removed = false", "is not what its newest event says"),
        ("DELETE FROM pictures", "its file is missing"),
        ("UPDATE shares SET \"right\" = 'write', account = 'eve'", "is not shared as its events"),
    ],
)
def test_what_does_not_agree_with_the_events_is_found(
    url: str, store: Store, altered: str, said: str
) -> None:
    filled(store)
    tamper(store, altered)

    assert said in run("verify", "--store", url, code=1).output


def test_an_altered_photograph_is_found(url: str, store: Store) -> None:
    filled(store)
    with store.session() as session:
        session.execute(text("UPDATE pictures SET data = :data"), {"data": b"another"})

    assert "is not the file that was added" in run("verify", "--store", url, code=1).output


def test_a_torn_file_is_found(tmp_path: Path, opened: Opener) -> None:
    place = tmp_path / "a.sqlite"
    store = opened(str(place))
    for n in range(30):
        store.create("case", body(f"case {n}", note="x" * 3000), who="ann", what="begun")
    store.engine.dispose()
    with closing(sqlite3.connect(place)) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")
    data = bytearray(place.read_bytes())
    page = data.rindex(b"x" * 1000) // 4096 * 4096
    data[page : page + 64] = b"\xff" * 64
    place.write_bytes(data)

    assert "not whole" in run("verify", "--store", place, code=1).output

    place.write_bytes(b"torn" * 2000)
    assert "not a store of Leastwise" in run("verify", "--store", place, code=1).output


def test_a_whole_store_is_told_with_the_hash_to_note_elsewhere(url: str, store: Store) -> None:
    filled(store)

    output = run("verify", "--store", url).output

    assert "whole. 13 events, 7 records, 2 photographs." in output
    assert verify(store).head in output


def test_a_server_that_does_not_wait_for_its_disk_is_warned_of(postgres: Any) -> None:
    url = postgres.database()
    Store.open(url).engine.dispose()
    postgres.sql("ALTER SYSTEM SET fsync = off")
    postgres.sql("SELECT pg_reload_conf()")
    try:
        for _ in range(50):  # the server reads its settings when it comes to it
            if postgres.sql("SHOW fsync") == "off":
                break
            time.sleep(0.1)
        output = run("verify", "--store", url).output
    finally:
        postgres.sql("ALTER SYSTEM RESET fsync")
        postgres.sql("SELECT pg_reload_conf()")

    assert "Warning: The server has fsync off" in output


# -- the record at any date


def test_the_record_is_printed_as_it_was_at_a_day_or_an_instant(url: str, opened: Opener) -> None:
    from datetime import UTC, datetime  # noqa: PLC0415

    days = iter(datetime(2026, 11, day, 12, tzinfo=UTC) for day in (24, 25))
    store = opened(url, clock=lambda: next(days))
    case = store.create("case", body("first"), who="ann", what="begun").id
    store.save(case, 1, body("second"), who="ben", what="x")

    def name_at(*when: str) -> str:
        printed = run("record", case, *when, "--store", url).stdout
        found = parse_yaml(printed)["object"]["name"]
        assert isinstance(found, str)
        return found

    assert name_at() == "second"
    assert name_at("--at", "2026-11-24") == "first"
    assert name_at("--at", "2026-11-25") == "second"
    assert name_at("--at", "2026-11-25T12:59+01:00") == "first"
    assert name_at("--at", "2026-11-25T12:00") == "second"
    for when, said in (
        ("2026-11-23", "as of 2026-11-23 23:59:59 UTC"),
        ("2026-11-24T23:59:59+14:00", "as of 2026-11-24 09:59:59 UTC"),
        ("0001-01-01T00:00+14:00", "expected a date from year 1"),
        ("9999-12-31T23:00-05:00", "expected a date from year 1"),
        ("soon", "expected a day"),
    ):
        assert said in run("record", case, "--at", when, "--store", url, code=2).output
