"""crates of clubs, and when a part of an order was told to be ready."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "crate",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("opened_by", sa.String(length=120), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("closed_by", sa.String(length=120), server_default=sa.text("''"), nullable=False),
        sa.Column("found", sa.Integer(), server_default="0", nullable=False),
        sa.Column("of", sa.Integer(), server_default="0", nullable=False),
        sa.Column("missing", sa.Text(), server_default=sa.text("''"), nullable=False),
        sa.ForeignKeyConstraint(
            ["booking_id"], ["booking.id"], name=op.f("fk_crate_booking_id_booking"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_crate")),
    )
    op.create_index(op.f("ix_crate_booking_id"), "crate", ["booking_id"])
    op.create_index(op.f("ix_crate_closed_at"), "crate", ["closed_at"])
    op.create_table(
        "crate_extra",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("crate_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=True),
        sa.Column("words", sa.Text(), server_default=sa.text("''"), nullable=False),
        sa.Column("elsewhere_id", sa.Integer(), nullable=True),
        sa.Column("key", sa.String(length=40), server_default=sa.text("''"), nullable=False),
        sa.Column("state", sa.String(length=32), nullable=False),
        sa.Column("noted_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("noted_by", sa.String(length=120), nullable=False),
        sa.ForeignKeyConstraint(
            ["crate_id"], ["crate.id"], name=op.f("fk_crate_extra_crate_id_crate"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["pair_id"], ["pair.id"], name=op.f("fk_crate_extra_pair_id_pair"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["elsewhere_id"],
            ["booking.id"],
            name=op.f("fk_crate_extra_elsewhere_id_booking"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_crate_extra")),
        sa.UniqueConstraint("crate_id", "pair_id", name=op.f("uq_crate_extra_crate_id_pair_id")),
    )
    op.create_index(op.f("ix_crate_extra_pair_id"), "crate_extra", ["pair_id"])
    op.create_index(op.f("ix_crate_extra_elsewhere_id"), "crate_extra", ["elsewhere_id"])
    op.add_column("booking", sa.Column("part_told_at", sa.DateTime(timezone=True), nullable=True))


def downgrade() -> None:
    # What has no name before.
    op.execute("DELETE FROM booking_event WHERE event = 'crate_unpacked'")
    op.drop_column("booking", "part_told_at")
    op.drop_table("crate_extra")
    op.drop_table("crate")
