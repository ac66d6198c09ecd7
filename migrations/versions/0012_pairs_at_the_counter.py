"""pairs at the counter.

Pairs that are ground already have waited since their grind was written down, and whoever brought them was told.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "check_in",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=True),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("technician", sa.String(length=120), nullable=False),
        sa.Column("brought_by", sa.String(length=120), nullable=False),
        sa.Column("belongs_together", sa.Boolean(), nullable=True),
        sa.Column("conditions", sa.JSON(), nullable=False),
        sa.Column("flatness", sa.String(length=32), nullable=True),
        sa.Column("gap_um", sa.Integer(), nullable=True),
        sa.Column("tip_um", sa.Integer(), nullable=True),
        sa.Column("middle_um", sa.Integer(), nullable=True),
        sa.Column("tail_um", sa.Integer(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["item_id"],
            ["booking_item.id"],
            name=op.f("fk_check_in_item_id_booking_item"),
            ondelete="SET NULL",
        ),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_check_in_pair_id_pair")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_check_in")),
        sa.UniqueConstraint("item_id", name=op.f("uq_check_in_item_id")),
    )
    with op.batch_alter_table("check_in", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_check_in_pair_id"), ["pair_id"], unique=False)

    op.create_table(
        "handback",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("technician", sa.String(length=120), nullable=False),
        sa.Column("taken_by", sa.String(length=120), nullable=False),
        sa.Column("checks", sa.JSON(), nullable=False),
        sa.Column("care", sa.JSON(), nullable=False),
        sa.Column("remarks", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["item_id"],
            ["booking_item.id"],
            name=op.f("fk_handback_item_id_booking_item"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_handback")),
        sa.UniqueConstraint("item_id", name=op.f("uq_handback_item_id")),
    )
    op.create_table(
        "stop",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("stopped_by_id", sa.Integer(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("thinnest_um", sa.Integer(), nullable=True),
        sa.Column("removal_um", sa.Integer(), nullable=True),
        sa.Column("minimum_um", sa.Integer(), nullable=True),
        sa.Column("may_go_on", sa.Boolean(), nullable=False),
        sa.Column("answer", sa.String(length=32), nullable=True),
        sa.Column("answered_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("answered_by_id", sa.Integer(), nullable=True),
        sa.Column("structure_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["answered_by_id"], ["person.id"], name=op.f("fk_stop_answered_by_id_person"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["booking_item.id"], name=op.f("fk_stop_item_id_booking_item"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["stopped_by_id"], ["person.id"], name=op.f("fk_stop_stopped_by_id_person"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["structure_id"], ["structure.id"], name=op.f("fk_stop_structure_id_structure")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stop")),
    )
    with op.batch_alter_table("stop", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stop_answered_by_id"), ["answered_by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_stop_item_id"), ["item_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_stop_stopped_by_id"), ["stopped_by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_stop_structure_id"), ["structure_id"], unique=False)

    op.create_table(
        "photo",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("check_in_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("mimetype", sa.String(length=32), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["check_in_id"], ["check_in.id"], name=op.f("fk_photo_check_in_id_check_in"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_photo_pair_id_pair")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photo")),
    )
    with op.batch_alter_table("photo", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_photo_check_in_id"), ["check_in_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_photo_pair_id"), ["pair_id"], unique=False)

    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.add_column(sa.Column("ready_told_at", sa.DateTime(timezone=True), nullable=True))
        batch_op.add_column(sa.Column("reminders", sa.Integer(), server_default="0", nullable=False))
        batch_op.add_column(sa.Column("reminded_at", sa.DateTime(timezone=True), nullable=True))
        batch_op.create_index(batch_op.f("ix_booking_ready_told_at"), ["ready_told_at"], unique=False)

    with op.batch_alter_table("booking_item", schema=None) as batch_op:
        batch_op.add_column(sa.Column("waiting_since", sa.DateTime(timezone=True), nullable=True))
        batch_op.add_column(
            sa.Column("shelf", sa.String(length=40), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(sa.Column("unground", sa.Boolean(), server_default=sa.false(), nullable=False))
        batch_op.create_index("ix_booking_item_stage_waiting_since", ["stage", "waiting_since"], unique=False)

    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.add_column(sa.Column("remind_days", sa.Integer(), server_default="7", nullable=False))

    op.execute(
        """UPDATE booking_item SET waiting_since = COALESCE(
            (SELECT grind.created_at FROM grind WHERE grind.item_id = booking_item.id),
            (SELECT booking.updated_at FROM booking WHERE booking.id = booking_item.booking_id)
        ) WHERE stage = 'ground'"""
    )
    op.execute(
        """UPDATE booking SET ready_told_at = updated_at WHERE status = 'confirmed'
        AND EXISTS (SELECT 1 FROM booking_item i WHERE i.booking_id = booking.id AND i.stage = 'ground')
        AND NOT EXISTS (
            SELECT 1 FROM booking_item i WHERE i.booking_id = booking.id AND i.stage NOT IN ('ground', 'handed_back')
        )"""
    )


def downgrade() -> None:
    # What was not known before stands as what it was before that.
    op.execute("UPDATE booking_item SET stage = 'checked_in' WHERE stage = 'stopped'")
    op.execute("UPDATE booking_item SET stage = 'ground' WHERE stage = 'unground'")
    op.execute(
        "DELETE FROM booking_event WHERE event IN ('corrected', 'stopped', 'lighter', 'taken_back', 'goes_on', 'reminded')"
    )
    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.drop_column("remind_days")

    with op.batch_alter_table("booking_item", schema=None) as batch_op:
        batch_op.drop_index("ix_booking_item_stage_waiting_since")
        batch_op.drop_column("unground")
        batch_op.drop_column("shelf")
        batch_op.drop_column("waiting_since")

    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_booking_ready_told_at"))
        batch_op.drop_column("reminded_at")
        batch_op.drop_column("reminders")
        batch_op.drop_column("ready_told_at")

    with op.batch_alter_table("photo", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_photo_pair_id"))
        batch_op.drop_index(batch_op.f("ix_photo_check_in_id"))

    op.drop_table("photo")
    with op.batch_alter_table("stop", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_stop_structure_id"))
        batch_op.drop_index(batch_op.f("ix_stop_stopped_by_id"))
        batch_op.drop_index(batch_op.f("ix_stop_item_id"))
        batch_op.drop_index(batch_op.f("ix_stop_answered_by_id"))

    op.drop_table("stop")
    op.drop_table("handback")
    with op.batch_alter_table("check_in", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_check_in_pair_id"))

    op.drop_table("check_in")
