"""rework, and indexes for lists and reports."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "rework",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("grind_id", sa.Integer(), nullable=False),
        sa.Column("standing", sa.String(length=32), nullable=False),
        sa.Column("asked_by_id", sa.Integer(), nullable=True),
        sa.Column("asked_words", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("decided_by", sa.String(length=120), nullable=False),
        sa.Column("decided_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("booking_id", sa.Integer(), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["grind_id"], ["grind.id"], name=op.f("fk_rework_grind_id_grind"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["asked_by_id"], ["person.id"], name=op.f("fk_rework_asked_by_id_person"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["booking_id"], ["booking.id"], name=op.f("fk_rework_booking_id_booking"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_rework")),
        sa.UniqueConstraint("booking_id", name=op.f("uq_rework_booking_id")),
    )
    op.create_index(op.f("ix_rework_grind_id"), "rework", ["grind_id"])
    op.create_index(op.f("ix_rework_asked_by_id"), "rework", ["asked_by_id"])
    op.create_index("ix_rework_standing_id", "rework", ["standing", "id"])
    op.create_index(op.f("ix_booking_item_stage"), "booking_item", ["stage"])
    op.create_index(op.f("ix_grind_ground_on"), "grind", ["ground_on"])
    op.add_column("workshop", sa.Column("rework_days", sa.Integer(), server_default="30", nullable=False))


def downgrade() -> None:
    op.drop_column("workshop", "rework_days")
    op.drop_index(op.f("ix_grind_ground_on"), "grind")
    op.drop_index(op.f("ix_booking_item_stage"), "booking_item")
    op.drop_table("rework")
