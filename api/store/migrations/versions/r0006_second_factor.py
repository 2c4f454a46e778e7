"""A second factor for accounts: what its codes come from, and recovery codes as digests.

On the way down both are taken away, and accounts are opened by what opened them before. If the
tables come back, they are empty: one event says that what the earlier events tell of is gone.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from leastwise.api.store.migrations.versions import r0005_keys

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

NAMES = ("account_factors", "account_recovery_codes")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "account_factors",
        sa.Column("account", sa.String(64), sa.ForeignKey("accounts.name"), primary_key=True),
        sa.Column("secret", sa.String(64), nullable=False),
        sa.Column("begun", r0005_keys.INSTANT, nullable=False),
        sa.Column("since", r0005_keys.INSTANT, nullable=True),
        sa.Column("step", r0005_keys.WIDE, nullable=False),
    )
    op.create_table(
        "account_recovery_codes",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("account", sa.String(64), sa.ForeignKey("accounts.name"), nullable=False),
    )
    op.create_index("account_recovery_codes_by_account", "account_recovery_codes", ["account"])
    r0005_keys.tell_gone(op.get_bind(), NAMES)


def downgrade() -> None:
    """Take the tables away, with all that is in them."""
    for name in NAMES:
        op.drop_table(name)
