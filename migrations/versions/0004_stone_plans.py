"""Stone plans, pins, and what the stones are dressed for; weights of bookings and steps that pairs have had."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "stone_plan",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("asked_by_id", sa.Integer(), nullable=True),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("automatic", sa.Boolean(), nullable=False),
        sa.Column("status", sa.String(length=32), nullable=False),
        sa.Column("seconds", sa.Double(), nullable=False),
        sa.Column("seed", sa.Integer(), nullable=False),
        sa.Column("buffer_days", sa.Integer(), nullable=False),
        sa.Column("problem", sa.JSON(), nullable=False),
        sa.Column("lots", sa.JSON(), nullable=False),
        sa.Column("notes", sa.JSON(), nullable=False),
        sa.Column("changes", sa.JSON(), nullable=True),
        sa.Column("against_id", sa.Integer(), nullable=True),
        sa.Column("progress", sa.JSON(), nullable=True),
        sa.Column("result", sa.JSON(), nullable=True),
        sa.Column("claimed_by", sa.String(length=80), nullable=False),
        sa.Column("heartbeat_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("cancel_asked", sa.Boolean(), nullable=False),
        sa.Column("accepted_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("accepted_by_id", sa.Integer(), nullable=True),
        sa.Column("fault", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["accepted_by_id"],
            ["person.id"],
            name=op.f("fk_stone_plan_accepted_by_id_person"),
            ondelete="SET NULL",
        ),
        sa.ForeignKeyConstraint(
            ["against_id"],
            ["stone_plan.id"],
            name=op.f("fk_stone_plan_against_id_stone_plan"),
            ondelete="SET NULL",
        ),
        sa.ForeignKeyConstraint(
            ["asked_by_id"], ["person.id"], name=op.f("fk_stone_plan_asked_by_id_person"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stone_plan")),
    )
    with op.batch_alter_table("stone_plan", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stone_plan_accepted_at"), ["accepted_at"], unique=False)
        batch_op.create_index("ix_stone_plan_status_asked_at", ["status", "asked_at"], unique=False)

    op.create_table(
        "stone_state",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("grinder", sa.Integer(), nullable=False),
        sa.Column("layer", sa.String(length=80), nullable=False),
        sa.Column("pairs_left", sa.Integer(), nullable=False),
        sa.Column("noted_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("noted_by_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["noted_by_id"],
            ["person.id"],
            name=op.f("fk_stone_state_noted_by_id_person"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stone_state")),
        sa.UniqueConstraint("grinder", name=op.f("uq_stone_state_grinder")),
    )
    op.create_table(
        "pin",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_item_id", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("grinder", sa.Integer(), nullable=False),
        sa.Column("pinned_by_id", sa.Integer(), nullable=True),
        sa.Column("pinned_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["booking_item_id"],
            ["booking_item.id"],
            name=op.f("fk_pin_booking_item_id_booking_item"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["pinned_by_id"], ["person.id"], name=op.f("fk_pin_pinned_by_id_person"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pin")),
        sa.UniqueConstraint("booking_item_id", name=op.f("uq_pin_booking_item_id")),
    )
    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.add_column(sa.Column("weight", sa.Integer(), server_default="1", nullable=False))

    with op.batch_alter_table("booking_item", schema=None) as batch_op:
        batch_op.add_column(sa.Column("steps_done", sa.Integer(), server_default="0", nullable=False))

    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.add_column(sa.Column("plan_seconds", sa.Integer(), server_default="10", nullable=False))
        batch_op.add_column(sa.Column("plan_buffer_days", sa.Integer(), server_default="1", nullable=False))


def downgrade() -> None:
    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.drop_column("plan_buffer_days")
        batch_op.drop_column("plan_seconds")

    with op.batch_alter_table("booking_item", schema=None) as batch_op:
        batch_op.drop_column("steps_done")

    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.drop_column("weight")

    op.drop_table("pin")
    op.drop_table("stone_state")
    with op.batch_alter_table("stone_plan", schema=None) as batch_op:
        batch_op.drop_index("ix_stone_plan_status_asked_at")
        batch_op.drop_index(batch_op.f("ix_stone_plan_accepted_at"))

    op.drop_table("stone_plan")
