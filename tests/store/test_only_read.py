"""A store that can only be read: on a medium or a mount where nothing can be written."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.api.store.backup.verify import verify
from leastwise.api.store.migrate import move_to
from tests.store.conftest import filled
from tests.store.test_faults import mounted
from tests.store.test_keeping import files, run

Opener = Callable[..., Store]


@contextmanager
def only_read(place: Path, at: Path) -> Iterator[Path]:
    """Show a folder a second time, where nobody can write, not even root."""
    with mounted(at, "--bind", str(place)):
        subprocess.run(  # noqa: S603 - our own command
            ["mount", "-o", "remount,ro,bind", str(at)],  # noqa: S607
            check=True,
        )
        yield at


def with_store(place: Path | str, *args: str, code: int = 0) -> Result:
    """Run a command that takes its store from the environment."""
    env = {"LEASTWISE_STORE": str(place), "COLUMNS": "140", "NO_COLOR": "1"}
    result = CliRunner(env=env).invoke(app, list(args))
    assert result.exit_code == code, result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result


@pytest.fixture
def kept(tmp_path: Path) -> tuple[Path, str, str]:
    """Return the folder of a store that nobody has open, a case in it, and the newest hash."""
    place = tmp_path / "writable"
    place.mkdir()
    store = Store.open(str(place / "a.sqlite"))
    case = filled(store)
    AccountStore(store).add("anna", full_name="Anna", role="administrator", who="console")
    head = verify(store).head
    store.engine.dispose()
    assert [one.name for one in place.iterdir()] == ["a.sqlite"]
    return place, case, head


def test_reading_commands_read_it_and_leave_nothing_beside_it(
    kept: tuple[Path, str, str], tmp_path: Path, opened: Opener
) -> None:
    place, case, head = kept
    with only_read(place, tmp_path / "read-only") as folder:
        store = folder / "a.sqlite"
        checked = run("verify", "--noted", head, "--store", store).output
        run("backup", tmp_path / "a.backup", "--store", store)
        run("export-all", tmp_path / "out", "--store", store)
        printed = run("record", case, "--store", store).output
        listed = json.loads(with_store(store, "accounts", "list", "--json").stdout)

    assert "whole. 13 events, 7 records, 2 photographs." in checked
    assert "collar of lace" in printed
    assert [one["name"] for one in listed] == ["anna"]
    assert list(files(place)) == ["a.sqlite"]
    run("restore", tmp_path / "a.backup", "--store", tmp_path / "b.sqlite")
    assert verify(opened(str(tmp_path / "b.sqlite"))).head == head
    run("export-all", tmp_path / "again", "--store", tmp_path / "b.sqlite")
    assert files(tmp_path / "out") == files(tmp_path / "again")


def test_what_is_not_yet_in_the_file_is_never_left_out_unsaid(
    kept: tuple[Path, str, str], tmp_path: Path, opened: Opener
) -> None:
    place, case, _ = kept
    store = opened(str(place / "a.sqlite"))
    store.save(case, 2, {"new": True}, who="ann", what="in the log only")

    with only_read(place, tmp_path / "read-only") as folder:
        # both parts of the log are there, so that it can be read with it
        assert "new: true" in run("record", case, "--store", folder / "a.sqlite").output
    copy = tmp_path / "copy"
    copy.mkdir()
    for ending in ("", "-wal"):
        shutil.copyfile(place / f"a.sqlite{ending}", copy / f"a.sqlite{ending}")
    with only_read(copy, tmp_path / "read-only-2") as folder:
        said = run("verify", "--store", folder / "a.sqlite", code=2).output
    assert "lie beside it in a.sqlite-wal" in " ".join(said.split())
    assert "Copy all files of the store" in " ".join(said.split())


def test_commands_that_write_say_so_in_words_of_a_command(
    kept: tuple[Path, str, str], tmp_path: Path
) -> None:
    place, _, _ = kept
    with only_read(place, tmp_path / "read-only") as folder:
        store = folder / "a.sqlite"
        outputs = [
            with_store(store, "accounts", "off", "anna", code=2).output,
            run("restore", store, "--store", folder / "b.sqlite", code=2).output,
        ]
        served = with_store(store, "serve", code=2).output

    for said in (*outputs, served):
        assert "form" not in said.replace("Leastwise", "")
        assert "this change" not in said
    assert "can't be written, so this was not done. Nothing that was kept before" in outputs[0]
    assert "nothing can be written there" in served
    assert "'leastwise serve' doesn't begin" in served


def test_a_store_of_an_older_form_that_can_only_be_read_is_told(
    kept: tuple[Path, str, str], tmp_path: Path
) -> None:
    place, _, _ = kept
    store = Store.open(str(place / "a.sqlite"))
    with store.engine.execution_options(writes=True).begin() as connection:
        move_to(connection, "0002")
    store.engine.dispose()

    with only_read(place, tmp_path / "read-only") as folder:
        said = run("verify", "--store", folder / "a.sqlite", code=2).output

    assert "can only be read, and has an older form ('0002'" in said
    run("verify", "--store", place / "a.sqlite")


def test_a_postgresql_that_may_only_be_read_is_verified_and_not_served(
    postgres: Any, opened: Opener, tmp_path: Path
) -> None:
    url = postgres.database()
    store = opened(url)
    filled(store)
    postgres.sql(f"ALTER DATABASE {store.engine.url.database} SET default_transaction_read_only=on")
    store.engine.dispose()

    assert "whole." in run("verify", "--store", url).output
    run("backup", tmp_path / "a.backup", "--store", url)
    assert "'leastwise serve' doesn't begin" in with_store(url, "serve", code=2).output
