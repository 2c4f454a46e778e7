"""Accounts: who may sign in, sessions, tokens, links, failures, identities, what happened.

What happened is append-only: triggers refuse to alter or delete an event.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

WIDE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
INSTANT = sa.DateTime(timezone=True)
REFUSAL = "events of accounts are never altered"

SQLITE = [
    f"CREATE TRIGGER account_events_no_{deed.lower()} BEFORE {deed} ON account_events "
    f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
    for deed in ("UPDATE", "DELETE")
]
POSTGRESQL = [
    "CREATE FUNCTION account_events_refuse() RETURNS trigger LANGUAGE plpgsql AS "
    f"$$ BEGIN RAISE EXCEPTION '{REFUSAL}'; END $$",
    *(
        f"CREATE TRIGGER account_events_no_{deed.lower()} BEFORE {deed} ON account_events "
        "FOR EACH STATEMENT EXECUTE FUNCTION account_events_refuse()"
        for deed in ("UPDATE", "DELETE", "TRUNCATE")
    ),
]
TABLES = (
    "account_events",
    "account_identities",
    "account_failures",
    "account_links",
    "account_tokens",
    "account_sessions",
    "accounts",
)


def upgrade() -> None:
    """Make the tables."""
    _accounts()
    _keys()
    _beside()
    for line in SQLITE if op.get_bind().dialect.name == "sqlite" else POSTGRESQL:
        op.execute(line)


def downgrade() -> None:
    """Take the tables away, with all that is in them."""
    for name in TABLES:
        op.drop_table(name)
    if op.get_bind().dialect.name != "sqlite":
        op.execute("DROP FUNCTION account_events_refuse()")


def _account() -> sa.Column[str]:
    return sa.Column("account", sa.String(64), sa.ForeignKey("accounts.name"), nullable=False)


def _accounts() -> None:
    op.create_table(
        "accounts",
        sa.Column("name", sa.String(64), primary_key=True),
        sa.Column("full_name", sa.Text(), nullable=False),
        sa.Column("role", sa.String(32), nullable=False),
        sa.Column("cohort", sa.String(64), nullable=False),
        sa.Column("password", sa.Text(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("created", INSTANT, nullable=False),
    )
    op.create_index("accounts_by_cohort", "accounts", ["cohort"])


def _keys() -> None:
    op.create_table(
        "account_sessions",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("handle", sa.String(32), nullable=False, unique=True),
        _account(),
        sa.Column("begun", INSTANT, nullable=False),
        sa.Column("seen", INSTANT, nullable=False),
        sa.Column("browser", sa.Text(), nullable=False),
        sa.Column("address", sa.String(64), nullable=False),
    )
    op.create_index("account_sessions_by_account", "account_sessions", ["account"])
    op.create_table(
        "account_tokens",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("handle", sa.String(32), nullable=False, unique=True),
        _account(),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("scopes", sa.Text(), nullable=False),
        sa.Column("created", INSTANT, nullable=False),
        sa.Column("expires", INSTANT, nullable=False),
        sa.Column("used", INSTANT, nullable=True),
    )
    op.create_index("account_tokens_by_account", "account_tokens", ["account"])
    op.create_table(
        "account_links",
        sa.Column("digest", sa.String(64), primary_key=True),
        _account(),
        sa.Column("expires", INSTANT, nullable=False),
    )
    op.create_index("account_links_by_account", "account_links", ["account"])


def _beside() -> None:
    op.create_table(
        "account_failures",
        sa.Column("key", sa.String(80), primary_key=True),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("last", INSTANT, nullable=False),
    )
    op.create_index("account_failures_by_last", "account_failures", ["last"])
    op.create_table(
        "account_identities",
        sa.Column("issuer", sa.String(255), primary_key=True),
        sa.Column("subject", sa.String(255), primary_key=True),
        _account(),
        sa.Column("linked", INSTANT, nullable=False),
    )
    op.create_table(
        "account_events",
        sa.Column("number", WIDE, primary_key=True, autoincrement=False),
        sa.Column("at", INSTANT, nullable=False),
        sa.Column("who", sa.String(64), nullable=False),
        sa.Column("account", sa.String(64), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("address", sa.String(64), nullable=False),
        sa.Column("before", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
    )
    op.create_index("account_events_by_account", "account_events", ["account", "number"])
