"""Brings the tables of a store to the form that this program knows, one process at a time."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, inspect, text

from leastwise.api.store.engine import WAIT_S, is_sqlite
from leastwise.api.store.faults import StoreDamaged, StoreNewer, StoreOlder, place_of, told

__all__ = ["check_form", "head", "knows", "migrate", "move_to", "revision_of", "steps"]

#: Any fixed number; it names the lock under which the tables are altered.
MIGRATION_LOCK = 7_305_115


def check_form(engine: Engine) -> None:
    """Look whether a store that can only be read has the form that this program reads.

    Raises:
        StoreNewer: it was made by a newer program.
        StoreOlder: it would have to be brought to the newest form, which needs writing.
        StoreError: it can't be reached or read.

    """
    with told(engine.url), engine.connect() as connection:
        if not _is_current(connection):
            if revision_of(connection) is None and inspect(connection).get_table_names():
                raise StoreDamaged(place_of(engine.url))
            raise StoreOlder(place_of(engine.url), revision_of(connection) or "", head())


def migrate(engine: Engine) -> None:
    """Bring a store to the newest form, made if it is empty.

    Two processes that start at once don't get in each other's way: the second waits and then finds
    all done. A step that fails leaves the store as it was.

    Raises:
        StoreNewer: it was made by a newer program.
        StoreDamaged: it holds tables that are none of ours.
        StoreError: it can't be reached, written, or has no room.

    """
    with told(engine.url):
        with engine.connect() as connection:  # mostly there is nothing to do, and no lock is needed
            if _is_current(connection):
                return
        with engine.execution_options(writes=True).begin() as connection:
            if not is_sqlite(engine):
                connection.execute(
                    text("SELECT set_config('lock_timeout', :wait, true)"), {"wait": f"{WAIT_S}s"}
                )
                connection.execute(
                    text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": MIGRATION_LOCK}
                )
            if not _is_current(connection):
                _refuse_foreign(connection)
                move_to(connection, "head")


def move_to(connection: Connection, revision: str) -> None:
    """Take the tables up or down to a revision, inside the connection's transaction."""
    config = _config()
    config.attributes["connection"] = connection
    now = revision_of(connection)
    line = [*steps(), "base"]
    is_below = now is not None and revision != "head" and line.index(revision) > line.index(now)
    (command.downgrade if is_below else command.upgrade)(config, revision)


def revision_of(connection: Connection) -> str | None:
    """Return the revision of the tables, or None where there are none."""
    return MigrationContext.configure(connection).get_current_revision()


def head() -> str:
    """Return the newest revision that this program knows."""
    return str(_scripts().get_current_head())


def steps() -> list[str]:
    """Return all revisions, newest first."""
    return [step.revision for step in _scripts().walk_revisions()]


def knows(revision: str) -> bool:
    """Say whether this program knows a revision."""
    return revision in steps()


def _is_current(connection: Connection) -> bool:
    now = revision_of(connection)
    if now is not None and not knows(now):
        raise StoreNewer(place_of(connection.engine.url), now, head())
    return now == head()


def _refuse_foreign(connection: Connection) -> None:
    """Refuse to make tables beside those of another program."""
    there = {*inspect(connection).get_table_names()} - {"alembic_version"}
    # a PostgreSQL database may serve others too; a file of SQLite is ours alone
    is_foreign = there if connection.dialect.name == "sqlite" else "documents" in there
    if is_foreign and revision_of(connection) is None:
        raise StoreDamaged(place_of(connection.engine.url))


def _config() -> Config:
    config = Config()
    folder = str(Path(__file__).with_name("migrations")).replace("%", "%%")
    config.set_main_option("script_location", folder)
    config.set_main_option("path_separator", "os")
    return config


@cache
def _scripts() -> ScriptDirectory:
    """Return the steps that come with the program; they don't change while it runs."""
    return ScriptDirectory.from_config(_config())
