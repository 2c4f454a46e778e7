"""The engine: SQLite with a write-ahead log, foreign keys and full sync, or PostgreSQL."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Engine, create_engine, event, select, text
from sqlalchemy.engine import make_url
from sqlalchemy.orm import Session
from sqlalchemy.pool import StaticPool

from leastwise.api.store.tables import EventTable

__all__ = ["Engine", "lock_chain", "make_engine"]

START = "0" * 64
#: Any fixed number; it names the lock under which the chain of events grows.
CHAIN_LOCK = 7_305_114


def make_engine(url: str) -> Engine:
    """Return the engine for a URL such as ``sqlite:////home/me/leastwise.sqlite``."""
    parsed = make_url(url)
    if parsed.get_backend_name() != "sqlite":
        return create_engine(parsed, pool_pre_ping=True)
    in_memory = parsed.database in (None, "", ":memory:")
    options: dict[str, Any] = {"poolclass": StaticPool} if in_memory else {}
    engine = create_engine(
        parsed, connect_args={"check_same_thread": False, "timeout": 30}, **options
    )

    @event.listens_for(engine, "connect")
    def _set_up(connection: Any, _: object) -> None:
        connection.isolation_level = None  # SQLAlchemy begins; see _begin
        cursor = connection.cursor()
        if not in_memory:
            cursor.execute("PRAGMA journal_mode=WAL")
        cursor.execute("PRAGMA synchronous=FULL")
        cursor.execute("PRAGMA foreign_keys=ON")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        connection.exec_driver_sql("BEGIN")

    return engine


def lock_chain(session: Session) -> tuple[int, str]:
    """Take the right to write and return number and hash of the newest event."""
    if session.get_bind().dialect.name == "sqlite":
        # a read that turns into a write fails at once if another writes; so write from the start
        session.execute(text("UPDATE events SET number = number WHERE 1 = 0"))
    else:
        session.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": CHAIN_LOCK})
    wanted = select(EventTable.number, EventTable.hash).order_by(EventTable.number.desc()).limit(1)
    newest = session.execute(wanted).first()
    return (newest.number, newest.hash) if newest else (0, START)
