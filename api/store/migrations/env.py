"""Runs the migrations on the connection that ``api/store/migrate.py`` hands over.

To add a step: change the tables (in ``tables.py``, or in a module of your own on the same
``Base``, imported below), then write ``versions/r0002_accounts.py`` after the pattern of
``versions/r0001_records.py``: ``revision = "0002"``, ``down_revision = "0001"`` (the newest step
before yours), ``upgrade()`` and ``downgrade()`` with ``op.create_table`` and the like. Steps are a
single line; number yours after the newest and name no two alike. A step that alters a column wants
``with op.batch_alter_table(...)``, since SQLite can't alter one in place. Types are written out
(``sa.DateTime(timezone=True)``), so that a step stays as it was when the program changes.
``python -m pytest tests/store/test_migrations.py`` says whether tables and steps agree, and runs
every step up and down with data. A step that was released is never changed again.
"""

from __future__ import annotations

from alembic import context

from leastwise.api.store.accounts import tables as _accounts  # noqa: F401 - puts its tables on Base
from leastwise.api.store.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    transactional_ddl=True,  # SQLite as we open it, and PostgreSQL: all of it or nothing
    render_as_batch=True,
)
context.run_migrations()
