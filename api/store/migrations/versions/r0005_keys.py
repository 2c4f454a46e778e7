"""The events of accounts tell what opens accounts; the newest event of the records is noted.

Sessions, tokens, links, identities and counts of failed attempts that are there already, and that
no event tells, are taken over as they are: one event "keys taken over" at the end of the chain. A
count of attempts gets a salt, under which the events name it. On the way down nothing of the chain
changes: an older program passes over what it doesn't know in the body of an event.
"""

from __future__ import annotations

import hashlib
import json
import secrets
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

WIDE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
INSTANT = sa.DateTime(timezone=True)
START = "0" * 64
Row = dict[str, Any]
EVENTS = sa.table(
    "account_events",
    sa.column("number", WIDE),
    sa.column("at", INSTANT),
    *(sa.column(name, sa.Text()) for name in ("who", "account", "what", "address", "before")),
    sa.column("hash", sa.Text()),
    sa.column("body", sa.Text()),
)
NEWEST = sa.table("account_events_newest", sa.column("number", WIDE), sa.column("hash", sa.Text()))
RECORDS = sa.table("events", sa.column("number", WIDE), sa.column("hash", sa.Text()))
FAILURES = sa.table(
    "account_failures",
    sa.column("key", sa.Text()),
    sa.column("count", sa.Integer()),
    sa.column("last", INSTANT),
    sa.column("salt", sa.Text()),
)


def _held(name: str, texts: tuple[str, ...], instants: tuple[str, ...]) -> sa.TableClause:
    columns = [sa.column(one, sa.Text()) for one in texts]
    return sa.table(name, *columns, *(sa.column(one, INSTANT) for one in instants))


#: Tables that the events tell in whole.
HELD = (
    _held(
        "account_sessions",
        ("digest", "handle", "account", "browser", "address"),
        ("begun", "seen"),
    ),
    _held(
        "account_tokens",
        ("digest", "handle", "account", "label", "scopes"),
        ("created", "expires", "used"),
    ),
    _held("account_links", ("digest", "account"), ("expires",)),
    _held("account_identities", ("issuer", "subject", "account"), ("linked",)),
)


def upgrade() -> None:
    """Note the newest event of the records, and take over what opens accounts."""
    op.create_table(
        "events_newest",
        sa.Column("only", sa.Integer(), primary_key=True, autoincrement=False),
        sa.Column("number", WIDE, nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
    )
    connection = op.get_bind()
    last = connection.execute(_last(RECORDS)).first()
    if last is not None:
        noted = sa.table(
            "events_newest",
            sa.column("only", sa.Integer()),
            sa.column("number", WIDE),
            sa.column("hash", sa.Text()),
        )
        connection.execute(noted.insert().values(only=1, number=last.number, hash=last.hash))
    with op.batch_alter_table("account_failures") as table:
        table.add_column(sa.Column("salt", sa.String(32), nullable=False, server_default=""))
    for (key,) in connection.execute(sa.select(FAILURES.c.key)).all():
        salted = FAILURES.update().where(FAILURES.c.key == key)
        connection.execute(salted.values(salt=secrets.token_hex(16)))
    with op.batch_alter_table("account_failures") as table:
        table.alter_column("salt", server_default=None)
    _take_over(connection)


def downgrade() -> None:
    """Take note and salts away."""
    op.drop_table("events_newest")
    with op.batch_alter_table("account_failures") as table:
        table.drop_column("salt")


def _take_over(connection: sa.Connection) -> None:
    """Add an event that tells every row that the events don't tell as it is."""
    known: dict[str, dict[str, Row]] = {}
    bodies = sa.select(EVENTS.c.body).where(EVENTS.c.body != "").order_by(EVENTS.c.number)
    for (body,) in connection.execute(bodies):
        _follow(known, body)
    now = _rows(connection)
    told: dict[str, dict[str, Row | None]] = {}
    for table in now.keys() | known.keys():
        held, said = now.get(table, {}), known.get(table, {})
        changed: dict[str, Row | None] = {k: v for k, v in held.items() if said.get(k) != v}
        changed |= dict.fromkeys(said.keys() - held.keys())
        if changed:
            told[table] = changed
    if told:
        _add(connection, _text({"keys": told}))


def tell_gone(connection: sa.Connection, names: tuple[str, ...]) -> None:
    """Add an event that the rows of tables are gone, where the events tell of any."""
    known: dict[str, dict[str, Row]] = {}
    bodies = sa.select(EVENTS.c.body).where(EVENTS.c.body != "").order_by(EVENTS.c.number)
    for (body,) in connection.execute(bodies):
        _follow(known, body)
    told = {name: dict.fromkeys(known[name]) for name in names if known.get(name)}
    if told:
        _add(connection, _text({"keys": told}))


def _add(connection: sa.Connection, body: str) -> None:
    last = connection.execute(_last(EVENTS)).first()
    number, before = (last.number, last.hash) if last else (0, START)
    event = {
        "number": number + 1, "at": datetime.now(UTC), "who": "leastwise", "account": "",
        "what": "keys taken over", "address": "", "before": before, "body": body,
    }  # fmt: skip
    event["hash"] = _hash(event)
    connection.execute(EVENTS.insert().values(event))
    if not number:
        noted = sa.table(
            "account_events_newest",
            sa.column("only", sa.Integer()),
            sa.column("number", WIDE),
            sa.column("hash", sa.Text()),
        )
        connection.execute(noted.insert().values(only=1, number=1, hash=event["hash"]))
    moved = NEWEST.update().where(NEWEST.c.number == number, NEWEST.c.hash == before)
    connection.execute(moved.values(number=event["number"], hash=event["hash"]))


def _rows(connection: sa.Connection) -> dict[str, dict[str, Row]]:
    """Return every row by table and name, as ``held.py`` says them."""
    found: dict[str, dict[str, Row]] = {}
    for table in HELD:
        rows = found.setdefault(table.name, {})
        for row in connection.execute(sa.select(table)).mappings():
            said = {key: _plain(value) for key, value in row.items() if key != "digest"}
            rows[row.get("digest") or f"{row['issuer']} {row['subject']}"] = said
    counts = found.setdefault("account_failures", {})
    for row in connection.execute(sa.select(FAILURES)).mappings():
        name = hashlib.sha256(f"{row['salt']} {row['key']}".encode()).hexdigest()
        counts[name] = {"count": row["count"], "last": _plain(row["last"])}
    return found


def _follow(known: dict[str, dict[str, Row]], body: str) -> None:
    try:
        said = json.loads(body)
    except ValueError:  # altered by hand
        return
    keys = said.get("keys") if isinstance(said, dict) else None
    for table, rows in (keys if isinstance(keys, dict) else {}).items():
        held = known.setdefault(table, {})
        for name, one in rows.items():
            if one is None:
                held.pop(name, None)
                continue
            row = held.setdefault(name, {})
            if "more" in one:
                row["count"] = max(row.get("count", 0) + one["more"], 0)
            row |= {key: value for key, value in one.items() if key != "more"}


def _last(table: sa.TableClause) -> sa.Select[Any]:
    return sa.select(table.c.number, table.c.hash).order_by(table.c.number.desc()).limit(1)


def _hash(event: Row) -> str:
    fields = [str(event["number"]), _plain(event["at"])]
    fields += [event[name] for name in ("who", "account", "what", "address", "body")]
    said = {"before": event["before"], "fields": fields}
    return hashlib.sha256(_text(said).encode()).hexdigest()


def _plain(value: object) -> object:
    """Return an instant in UTC as text; SQLite forgets the zone."""
    if not isinstance(value, datetime):
        return value
    at = value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
    return at.isoformat()


def _text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
