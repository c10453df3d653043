"""Where each feed of a machine's own meters stands.

Revision: 0002, after 0001
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "feed_state",
        sa.Column("meter", sa.String(length=36), nullable=False),
        sa.Column("machine", sa.String(length=36), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("polled_ms", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("meter"),
    )


def downgrade() -> None:
    op.drop_table("feed_state")
