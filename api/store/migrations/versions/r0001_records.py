"""Records, their events in one chain, photographs and shares.

Events are append-only: triggers refuse to alter or delete one.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

WIDE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
INSTANT = sa.DateTime(timezone=True)
REFUSAL = "events are never altered"

SQLITE = [
    f"CREATE TRIGGER events_no_{deed.lower()} BEFORE {deed} ON events "
    f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
    for deed in ("UPDATE", "DELETE")
]
POSTGRESQL = [
    "CREATE FUNCTION events_refuse() RETURNS trigger LANGUAGE plpgsql AS "
    f"$$ BEGIN RAISE EXCEPTION '{REFUSAL}'; END $$",
    *(
        f"CREATE TRIGGER events_no_{deed.lower()} BEFORE {deed} ON events "
        "FOR EACH STATEMENT EXECUTE FUNCTION events_refuse()"
        for deed in ("UPDATE", "DELETE", "TRUNCATE")
    ),
]


def upgrade() -> None:
    """Make the tables."""
    _documents()
    _events()
    _beside()
    for line in SQLITE if op.get_bind().dialect.name == "sqlite" else POSTGRESQL:
        op.execute(line)


def downgrade() -> None:
    """Take the tables away, with all that is in them."""
    for name in ("shares", "pictures", "events", "documents"):
        op.drop_table(name)
    if op.get_bind().dialect.name != "sqlite":
        op.execute("DROP FUNCTION events_refuse()")


def _documents() -> None:
    op.create_table(
        "documents",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("case_id", sa.String(32), sa.ForeignKey("documents.id"), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("owner", sa.String(64), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("search", sa.Text(), nullable=False),
        sa.Column("object", sa.Text(), nullable=False),
        sa.Column("purpose", sa.String(32), nullable=False),
        sa.Column("demo", sa.Boolean(), nullable=False),
        sa.Column("removed", sa.Boolean(), nullable=False),
        sa.Column("created", INSTANT, nullable=False),
        sa.Column("changed", INSTANT, nullable=False),
        sa.Column("changed_by", sa.String(64), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
    )
    op.create_index("documents_by_case", "documents", ["case_id", "kind"])
    op.create_index("documents_by_kind", "documents", ["kind", "removed", "changed"])
    op.create_index("documents_by_owner", "documents", ["owner", "kind"])


def _events() -> None:
    op.create_table(
        "events",
        sa.Column("number", WIDE, primary_key=True, autoincrement=False),
        sa.Column("document_id", sa.String(32), sa.ForeignKey("documents.id"), nullable=False),
        sa.Column("case_id", sa.String(32), nullable=False),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", INSTANT, nullable=False),
        sa.Column("who", sa.String(64), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("owner", sa.String(64), nullable=False),
        sa.Column("removed", sa.Boolean(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("before", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sa.UniqueConstraint("document_id", "version", name="events_once"),
    )
    op.create_index("events_by_case", "events", ["case_id", "number"])


def _beside() -> None:
    op.create_table(
        "pictures",
        sa.Column("id", sa.String(32), sa.ForeignKey("documents.id"), primary_key=True),
        sa.Column("case_id", sa.String(32), sa.ForeignKey("documents.id"), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("stage", sa.String(16), nullable=False),
        sa.Column("media_type", sa.String(64), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("added", INSTANT, nullable=False),
        sa.Column("added_by", sa.String(64), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
    )
    op.create_index("pictures_by_case", "pictures", ["case_id"])
    op.create_table(
        "shares",
        sa.Column("case_id", sa.String(32), sa.ForeignKey("documents.id"), primary_key=True),
        sa.Column("account", sa.String(64), primary_key=True),
        sa.Column("right", sa.String(16), nullable=False),
    )
