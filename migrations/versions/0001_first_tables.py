"""The first tables: the record, set-up, who may come in, the scheduler.

Revision: 0001, after None
"""

from __future__ import annotations

from uuid import uuid4

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "day_roll",
        sa.Column("day", sa.String(length=10), nullable=False),
        sa.Column("rolled_ms", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("became_due", sa.Text(), nullable=False),
        sa.Column("standing", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("day"),
    )
    op.create_table(
        "definition",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("type", sa.String(length=20), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("position", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("definition", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_definition_position"), ["position"], unique=False)
        batch_op.create_index(batch_op.f("ix_definition_type"), ["type"], unique=False)

    op.create_table(
        "definition_revision",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("position", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("person", sa.String(length=36), nullable=False),
        sa.Column("ms", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.PrimaryKeyConstraint("id", "revision"),
    )
    op.create_table(
        "device",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=True),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("person", sa.String(length=36), nullable=True),
        sa.Column("created_at", sa.String(length=24), nullable=False),
        sa.Column("last_seen_at", sa.String(length=24), nullable=True),
        sa.Column("revoked_at", sa.String(length=24), nullable=True),
        sa.Column("owner_until", sa.String(length=24), nullable=True),
        sa.Column("seq_max", sa.Integer(), nullable=False),
        sa.Column("seq_missing", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("token_hash"),
    )
    op.create_table(
        "entry",
        sa.Column(
            "position",
            sa.BigInteger().with_variant(sa.Integer(), "sqlite"),
            autoincrement=False,
            nullable=False,
        ),
        sa.Column(
            "id",
            sa.String(length=36).with_variant(sa.String(length=36, collation="C"), "postgresql"),
            nullable=False,
        ),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column(
            "machine",
            sa.String(length=36).with_variant(sa.String(length=36, collation="C"), "postgresql"),
            nullable=True,
        ),
        sa.Column(
            "person",
            sa.String(length=36).with_variant(sa.String(length=36, collation="C"), "postgresql"),
            nullable=False,
        ),
        sa.Column(
            "device",
            sa.String(length=36).with_variant(sa.String(length=36, collation="C"), "postgresql"),
            nullable=False,
        ),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("ms", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("chain", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("position"),
        sa.UniqueConstraint("id"),
    )
    with op.batch_alter_table("entry", schema=None) as batch_op:
        batch_op.create_index("entry_by_kind", ["kind", "ms", "id"], unique=False)
        batch_op.create_index("entry_by_machine", ["machine", "ms", "id"], unique=False)
        batch_op.create_index("entry_by_time", ["ms", "id"], unique=False)

    op.create_table(
        "guess",
        sa.Column("key", sa.String(length=120), nullable=False),
        sa.Column("failed", sa.Integer(), nullable=False),
        sa.Column("last_at", sa.String(length=24), nullable=False),
        sa.Column("locked_until", sa.String(length=24), nullable=True),
        sa.PrimaryKeyConstraint("key"),
    )
    with op.batch_alter_table("guess", schema=None) as batch_op:
        batch_op.create_index("ix_guess_last_at", ["last_at"], unique=False)

    op.create_table(
        "mending",
        sa.Column(
            "entry",
            sa.String(length=36).with_variant(sa.String(length=36, collation="C"), "postgresql"),
            nullable=False,
        ),
        sa.Column(
            "target",
            sa.String(length=36).with_variant(sa.String(length=36, collation="C"), "postgresql"),
            nullable=False,
        ),
        sa.Column("ms", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("position", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.PrimaryKeyConstraint("entry"),
    )
    with op.batch_alter_table("mending", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_mending_target"), ["target"], unique=False)

    op.create_table(
        "owner_secret",
        sa.Column("person", sa.String(length=36), nullable=False),
        sa.Column("password_hash", sa.String(length=255), nullable=False),
        sa.Column("changed_at", sa.String(length=24), nullable=False),
        sa.PrimaryKeyConstraint("person"),
    )
    op.create_table(
        "quarantine",
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column(
            "device",
            sa.String(length=36).with_variant(sa.String(length=36, collation="C"), "postgresql"),
            nullable=False,
        ),
        sa.Column("received_ms", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column(
            "entry",
            sa.String(length=36).with_variant(sa.String(length=36, collation="C"), "postgresql"),
            nullable=True,
        ),
        sa.Column("payload", sa.Text(), nullable=False),
        sa.Column("problem", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("digest", "device"),
    )
    record_head = op.create_table(
        "record_head",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("chain", sa.String(length=64), nullable=False),
        sa.Column("server_seq", sa.Integer(), nullable=False),
        sa.Column("definitions_at", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("epoch", sa.String(length=36), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    empty = {"id": 1, "position": 0, "chain": "0" * 64, "server_seq": 0, "definitions_at": 0, "epoch": str(uuid4())}
    op.bulk_insert(record_head, [empty])
    lease = op.create_table(
        "scheduler_lease",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("holder", sa.String(length=80), nullable=False),
        sa.Column("until_ms", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.bulk_insert(lease, [{"id": 1, "holder": "", "until_ms": 0}])
    op.create_table(
        "state",
        sa.Column("subject", sa.String(length=44), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("ms", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column(
            "entry",
            sa.String(length=36).with_variant(sa.String(length=36, collation="C"), "postgresql"),
            nullable=False,
        ),
        sa.Column("folded", sa.Integer(), nullable=False),
        sa.Column("position", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.PrimaryKeyConstraint("subject"),
    )
    with op.batch_alter_table("state", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_state_position"), ["position"], unique=False)

    op.create_table(
        "state_checkpoint",
        sa.Column("subject", sa.String(length=44), nullable=False),
        sa.Column("ms", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), autoincrement=False, nullable=False),
        sa.Column(
            "entry",
            sa.String(length=36).with_variant(sa.String(length=36, collation="C"), "postgresql"),
            nullable=False,
        ),
        sa.Column("folded", sa.Integer(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("subject", "ms", "entry"),
    )
    op.create_table(
        "subject_entry",
        sa.Column("subject", sa.String(length=44), nullable=False),
        sa.Column("ms", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), autoincrement=False, nullable=False),
        sa.Column(
            "entry",
            sa.String(length=36).with_variant(sa.String(length=36, collation="C"), "postgresql"),
            nullable=False,
        ),
        sa.Column("position", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.PrimaryKeyConstraint("subject", "ms", "entry"),
    )
    op.create_table(
        "join_code",
        sa.Column("code_hash", sa.String(length=64), nullable=False),
        sa.Column("purpose", sa.String(length=8), nullable=False),
        sa.Column("created_at", sa.String(length=24), nullable=False),
        sa.Column("expires_at", sa.String(length=24), nullable=False),
        sa.Column("used_at", sa.String(length=24), nullable=True),
        sa.Column("used_by", sa.String(length=36), nullable=True),
        sa.ForeignKeyConstraint(
            ["used_by"],
            ["device.id"],
        ),
        sa.PrimaryKeyConstraint("code_hash"),
    )


def downgrade() -> None:
    op.drop_table("join_code")
    op.drop_table("subject_entry")
    op.drop_table("state_checkpoint")
    with op.batch_alter_table("state", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_state_position"))

    op.drop_table("state")
    op.drop_table("scheduler_lease")
    op.drop_table("record_head")
    op.drop_table("quarantine")
    op.drop_table("owner_secret")
    with op.batch_alter_table("mending", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_mending_target"))

    op.drop_table("mending")
    with op.batch_alter_table("guess", schema=None) as batch_op:
        batch_op.drop_index("ix_guess_last_at")

    op.drop_table("guess")
    with op.batch_alter_table("entry", schema=None) as batch_op:
        batch_op.drop_index("entry_by_time")
        batch_op.drop_index("entry_by_machine")
        batch_op.drop_index("entry_by_kind")

    op.drop_table("entry")
    op.drop_table("device")
    op.drop_table("definition_revision")
    with op.batch_alter_table("definition", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_definition_type"))
        batch_op.drop_index(batch_op.f("ix_definition_position"))

    op.drop_table("definition")
    op.drop_table("day_roll")
