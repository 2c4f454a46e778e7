"""A restore opens nothing that was closed since the backup, and says in the chain that it was."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text

from leastwise.api.identity import attempts, signing_in
from leastwise.api.identity.secret import digest
from leastwise.api.identity.signing_in import Place
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.api.store.backup.verify import verify
from leastwise.api.store.migrate import move_to
from tests.store.conftest import filled
from tests.store.test_keeping import run
from tests.store.test_migrations import contents

Opener = Callable[..., Store]


@pytest.fixture
def keys(store: Store) -> tuple[AccountStore, dict[str, str]]:
    """Return a store with one of everything that opens an account."""
    filled(store)
    accounts = AccountStore(store)
    accounts.add("anna", full_name="Anna", role="administrator", who="console")
    attempts.claim(accounts, "anna", "192.0.2.1")
    accounts.begin_factor("anna", "A" * 32, address="")
    accounts.switch_factor_on("anna", "A" * 32, 7, ["d" * 64, "e" * 64], but="", address="")
    return accounts, {
        "session": digest(signing_in.begin(accounts, "anna", Place("192.0.2.1", "x"), "test")),
        "token": digest(
            signing_in.make_token(
                accounts,
                "anna",
                label="bench",
                scopes=frozenset({"USE"}),
                expires=accounts.now() + timedelta(days=1),
            )
        ),
        "link": digest(signing_in.make_link(accounts, "anna", who="console")),
    }


def test_what_was_ended_after_the_backup_stays_ended(
    url: str, keys: tuple[AccountStore, dict[str, str]], opened: Opener, tmp_path: Path
) -> None:
    accounts, open_ = keys
    file = tmp_path / "a.backup"
    head, events = verify(accounts.store).head, accounts.count_events()
    run("backup", file, "--store", url)
    accounts.store.engine.dispose()

    said = run("restore", file, "--store", url, "--replace").output

    assert "Ended: 1 sessions, 1 links to set a password, 2 recovery codes, failed" in said
    assert "Tokens: 1 revoked." in said
    again = AccountStore(opened(url))
    assert again.session_of(open_["session"]) is None
    assert again.token_of(open_["token"]) is None
    assert again.link_of(open_["link"]) is None
    kept = contents(again.store.engine)
    ended = ("sessions", "tokens", "links", "failures", "recovery_codes")
    assert [kept[f"account_{name}"] for name in ended] == [[]] * 5
    assert again.has_factor("anna")
    newest, before = again.events(limit=2)
    assert (newest.who, newest.account) == ("console", "")
    assert newest.what == "restored from a.backup, up to event 13 of the records"
    assert (before.account, before.what) == ("anna", "token revoked: bench (restore)")
    assert again.count_events() == events + 2
    found = verify(again.store)
    assert (found.faults, found.head) == ((), head)
    checked = run("verify", "--store", url).output
    assert f"Restored last: {newest.at:%Y-%m-%d %H:%M:%S} UTC, {newest.what}" in checked
    with again.store.reading() as session:
        wanted = text("SELECT body FROM account_events ORDER BY number DESC LIMIT 1")
        assert hashlib.sha256(file.read_bytes()).hexdigest() in session.execute(wanted).scalar_one()


def test_tokens_are_kept_where_that_is_asked_for(
    url: str, keys: tuple[AccountStore, dict[str, str]], opened: Opener, tmp_path: Path
) -> None:
    accounts, open_ = keys
    run("backup", tmp_path / "a.backup", "--store", url)
    accounts.store.engine.dispose()

    said = run(
        "restore", tmp_path / "a.backup", "--store", url, "--replace", "--keep-tokens"
    ).output

    assert "Tokens: 0 revoked, 1 kept." in said
    again = AccountStore(opened(url))
    assert again.token_of(open_["token"]) is not None
    assert again.session_of(open_["session"]) is None
    assert verify(again.store).faults == ()


def test_a_hash_noted_after_the_backup_is_missed_after_the_restore(
    url: str, keys: tuple[AccountStore, dict[str, str]], tmp_path: Path
) -> None:
    accounts, _ = keys
    run("backup", tmp_path / "a.backup", "--store", url)
    accounts.tell("anna", "anna", "signed out")
    noted = verify(accounts.store)
    accounts.store.engine.dispose()
    run("restore", tmp_path / "a.backup", "--store", url, "--replace")

    one = ("--noted", noted.head)
    assert "event 13 of the records" in run("verify", *one, "--store", url).output
    both = (*one, "--noted", noted.accounts_head)
    assert "an older backup was restored" in run("verify", *both, "--store", url, code=1).output


def test_a_backup_of_an_older_form_is_restored_and_its_accounts_are_taken_over(
    url: str,
    keys: tuple[AccountStore, dict[str, str]],
    another: Callable[[], str],
    opened: Opener,
    tmp_path: Path,
) -> None:
    from leastwise.api.store.backup.backup import backup  # noqa: PLC0415

    accounts, new = keys[0], another()
    with accounts.store.engine.execution_options(writes=True).begin() as connection:
        move_to(connection, "0002")
    if url.startswith("sqlite"):  # a dump is always of the newest form of its program
        backup(accounts.store, tmp_path / "a.backup")
        run("restore", tmp_path / "a.backup", "--store", new)
        again = AccountStore(opened(new))
        assert verify(again.store).faults == ()
        assert "state taken over" in {one.what for one in again.events()}
    else:
        opened(url)  # brings it to the newest form, with what was there
        assert verify(accounts.store).faults == ()


def test_a_dump_with_a_table_that_nobody_knows_is_refused(
    postgres: object, tmp_path: Path, opened: Opener
) -> None:
    import json  # noqa: PLC0415
    import zipfile  # noqa: PLC0415

    url, file, bad = postgres.database(), tmp_path / "a.backup", tmp_path / "b.backup"  # type: ignore[attr-defined]
    filled(opened(url))
    run("backup", file, "--store", url)
    with zipfile.ZipFile(file) as old, zipfile.ZipFile(bad, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name == "head.json":
                said = json.loads(data)
                said["tables"]["strange"] = hashlib.sha256(b"{}\n").hexdigest()
                data = json.dumps(said).encode()
            new.writestr(name, data)
        new.writestr("strange.jsonl", b"{}\n")

    for target in (postgres.database(), str(tmp_path / "new.sqlite")):  # type: ignore[attr-defined]
        output = run("restore", bad, "--store", target, code=2).output
        assert "b.backup, strange.jsonl: this backup can't be read" in output
    assert not (tmp_path / "new.sqlite").exists()
