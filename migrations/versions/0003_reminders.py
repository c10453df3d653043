"""The scheduler's jobs, reminders and what became of them, push subscriptions and calendar addresses.

Revision: 0003, after 0002
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def big() -> sa.types.TypeEngine:
    """SQLite only counts a plain INTEGER."""
    return sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "scheduled_job",
        sa.Column("name", sa.String(length=40), nullable=False),
        sa.Column("next_ms", big(), nullable=True),
        sa.Column("trigger", sa.String(length=120), nullable=False),
        sa.Column("ended_ms", big(), nullable=True),
        sa.Column("failed_ms", big(), nullable=True),
        sa.Column("said", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("name"),
    )
    op.create_table(
        "reminder",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("need", sa.String(length=240), nullable=False),
        sa.Column("person", sa.String(length=36), nullable=False),
        sa.Column("kind", sa.String(length=12), nullable=False),
        sa.Column("weight", sa.String(length=8), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("opened_ms", big(), nullable=False),
        sa.Column("told_ms", big(), nullable=True),
        sa.Column("snoozed_ms", big(), nullable=True),
        sa.Column("closed_ms", big(), nullable=True),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("need", "person"),
    )
    op.create_index("reminder_by_person", "reminder", ["person", "closed_ms"])
    op.create_table(
        "reminder_foretold",
        sa.Column("task", sa.String(length=36), nullable=False),
        sa.Column("cycle", sa.String(length=80), nullable=False),
        sa.Column("earliest", sa.String(length=10), nullable=False),
        sa.Column("likely", sa.String(length=10), nullable=False),
        sa.Column("latest", sa.String(length=10), nullable=False),
        sa.Column("moved", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("task"),
    )
    op.create_table(
        "reminder_delivery",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("person", sa.String(length=36), nullable=False),
        sa.Column("channel", sa.String(length=10), nullable=False),
        sa.Column("target", sa.String(length=254), nullable=False),
        sa.Column("reminders", sa.Text(), nullable=False),
        sa.Column("payload", sa.Text(), nullable=False),
        sa.Column("made_ms", big(), nullable=False),
        sa.Column("outcome", sa.String(length=10), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("next_ms", big(), nullable=False),
        sa.Column("ended_ms", big(), nullable=True),
        sa.Column("said", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("reminder_delivery_waiting", "reminder_delivery", ["outcome", "next_ms"])
    op.create_index("reminder_delivery_log", "reminder_delivery", ["person", "made_ms"])
    op.create_table(
        "push_subscription",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("device", sa.String(length=36), nullable=False),
        sa.Column("person", sa.String(length=36), nullable=False),
        sa.Column("endpoint", sa.String(length=1000), nullable=False),
        sa.Column("p256dh", sa.String(length=100), nullable=False),
        sa.Column("auth", sa.String(length=40), nullable=False),
        sa.Column("made_ms", big(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("endpoint"),
    )
    op.create_index("ix_push_subscription_device", "push_subscription", ["device"])
    op.create_index("ix_push_subscription_person", "push_subscription", ["person"])
    op.create_table(
        "calendar_address",
        sa.Column("person", sa.String(length=36), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("made_ms", big(), nullable=False),
        sa.Column("fetched_ms", big(), nullable=True),
        sa.PrimaryKeyConstraint("person"),
        sa.UniqueConstraint("token_hash"),
    )


def downgrade() -> None:
    for table in (
        "calendar_address", "push_subscription", "reminder_delivery", "reminder_foretold", "reminder", "scheduled_job"
    ):  # fmt: skip
        op.drop_table(table)
