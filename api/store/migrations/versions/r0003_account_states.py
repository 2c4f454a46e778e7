"""Events of accounts hold what the account then is; the newest of them is noted beside.

Accounts that are there already are taken over as they are: an event "state taken over" for each,
at the end of the chain. The way down turns the hashes back to those of the older form, since a
body can't be left out of a hash; a chain that was broken stays broken from the same place on.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

WIDE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
INSTANT = sa.DateTime(timezone=True)
START = "0" * 64
EVENTS = sa.table(
    "account_events",
    sa.column("number", WIDE),
    sa.column("at", INSTANT),
    *(sa.column(name, sa.Text()) for name in ("who", "account", "what", "address", "before")),
    sa.column("hash", sa.Text()),
    sa.column("body", sa.Text()),
)
ACCOUNTS = sa.table(
    "accounts",
    *(sa.column(name, sa.Text()) for name in ("name", "full_name", "role", "cohort", "password")),
    sa.column("active", sa.Boolean()),
    sa.column("created", INSTANT),
)
IDENTITIES = sa.table(
    "account_identities",
    *(sa.column(name, sa.Text()) for name in ("issuer", "subject", "account")),
)
NEWEST = sa.table(
    "account_events_newest",
    sa.column("only", sa.Integer()),
    sa.column("number", WIDE),
    sa.column("hash", sa.Text()),
)
REFUSALS = {
    "sqlite": (
        "DROP TRIGGER IF EXISTS account_events_no_update",
        "CREATE TRIGGER account_events_no_update BEFORE UPDATE ON account_events "
        "BEGIN SELECT RAISE(ABORT, 'events of accounts are never altered'); END",
    ),
    "postgresql": (
        "ALTER TABLE account_events DISABLE TRIGGER account_events_no_update",
        "ALTER TABLE account_events ENABLE TRIGGER account_events_no_update",
    ),
}


def upgrade() -> None:
    """Add the body, take the accounts over, and note the newest event."""
    op.add_column("account_events", sa.Column("body", sa.Text(), nullable=False, server_default=""))
    op.create_table(
        "account_events_newest",
        sa.Column("only", sa.Integer(), primary_key=True, autoincrement=False),
        sa.Column("number", WIDE, nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
    )
    connection, now = op.get_bind(), datetime.now(UTC)
    last = connection.execute(
        sa.select(EVENTS.c.number, EVENTS.c.hash).order_by(EVENTS.c.number.desc()).limit(1)
    ).first()
    number, before = (last.number, last.hash) if last else (0, START)
    for name, body in _states(connection):
        number += 1
        event = {
            "number": number, "at": now, "who": "leastwise", "account": name,
            "what": "state taken over", "address": "", "before": before, "body": body,
        }  # fmt: skip
        before = event["hash"] = _hash(event, body)
        connection.execute(EVENTS.insert().values(event))
    if number:
        connection.execute(NEWEST.insert().values(only=1, number=number, hash=before))


def downgrade() -> None:
    """Take the bodies away, and what the hashes owe to them."""
    connection = op.get_bind()
    off, on = REFUSALS[connection.dialect.name]
    op.execute(off)
    old = new = START  # hash of the event before, as it was and as it is in the older form
    rows = connection.execute(sa.select(EVENTS).order_by(EVENTS.c.number)).mappings().all()
    for number, row in enumerate(rows, 1):
        event = dict(row)
        if (event["number"], event["before"]) != (number, old) or event["hash"] != _hash(
            event, event["body"]
        ):
            break  # what was altered must not be made to look whole
        old, event["before"] = event["hash"], new
        new = _hash(event, "")
        connection.execute(
            EVENTS.update()
            .where(EVENTS.c.number == number)
            .values(before=event["before"], hash=new)
        )
    op.execute(on)
    op.execute("ALTER TABLE account_events DROP COLUMN body")
    op.drop_table("account_events_newest")


def _states(connection: sa.Connection) -> Iterator[tuple[str, str]]:
    """Give name and state of each account, in the form that ``account_state.py`` reads."""
    held: dict[str, list[list[str]]] = {}
    for row in connection.execute(sa.select(IDENTITIES)):
        held.setdefault(row.account, []).append([row.issuer, row.subject])
    for row in connection.execute(sa.select(ACCOUNTS).order_by(ACCOUNTS.c.name)).all():
        secret = hashlib.sha256(row.password.encode()).hexdigest() if row.password else ""
        state = {
            "active": row.active,
            "cohort": row.cohort,
            "created": _instant(row.created),
            "full_name": row.full_name,
            "identities": sorted(held.get(row.name, [])),
            "password_sha256": secret,
            "role": row.role,
        }
        yield row.name, _text({"account": state})


def _hash(event: dict[str, Any], body: str) -> str:
    fields = [str(event["number"]), _instant(event["at"])]
    fields += [event[name] for name in ("who", "account", "what", "address")]
    said = {"before": event["before"], "fields": [*fields, body] if body else fields}
    return hashlib.sha256(_text(said).encode()).hexdigest()


def _instant(at: datetime) -> str:
    """Return an instant in UTC; SQLite forgets the zone."""
    return (at.replace(tzinfo=UTC) if at.tzinfo is None else at.astimezone(UTC)).isoformat()


def _text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
